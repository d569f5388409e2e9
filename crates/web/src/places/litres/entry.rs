//! One entry opened: who, when, its postings, its readings, its contra and its place in the chain.

use super::{draw, store_failed};
use crate::app::{App, Seen};
use crate::fail;
use crate::layout::Place;
use crate::places::{called, working};
use crate::{form, table, when};
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use book::{Commodity, EntryView};
use gauge::{Field, Node, Sort};
use maud::{Markup, html};
use serde::Deserialize;
use sheets::{Cell, Column, Table, figure};
use std::sync::Arc;

/// A serial, as it is typed.
#[derive(Debug, Deserialize)]
pub(super) struct Wanted {
    serial: String,
}

/// Leads from a typed serial to its entry.
pub(super) async fn find(Query(wanted): Query<Wanted>) -> Response {
    match figure::typed(&wanted.serial) {
        Some(serial) if serial >= 1.0 => {
            Redirect::to(&format!("/litres/entry/{serial:.0}")).into_response()
        }
        _ => fail::refused(StatusCode::NOT_FOUND, "Entries are numbered from 1 without gaps."),
    }
}

pub(super) async fn show(
    State(app): State<Arc<App>>,
    seen: Seen,
    Path(serial): Path<u64>,
) -> Response {
    let open = match working(&app, &seen, Place::Litres) {
        Ok(open) => open,
        Err(page) => return *page,
    };
    let entry = match open.book.entry(serial) {
        Ok(Some(entry)) => entry,
        Ok(None) => {
            let why = format!("The book holds entries 1 to {}.", open.book.last().serial);
            return fail::refused(StatusCode::NOT_FOUND, &why);
        }
        Err(fault) => return store_failed(&fault),
    };
    let kind = book::kind(&entry.kind).map_or(entry.kind.as_str(), |k| k.title);
    let title = format!("Entry {}", figure::fixed(serial as f64, 0));
    let last = open.book.last().serial;
    let line = html! {
        p { (kind) }
        div.acts {
            @if serial > 1 { a.act href={ "/litres/entry/" (serial - 1) } { "The one before" } }
            @if serial < last { a.act href={ "/litres/entry/" (serial + 1) } { "The next" } }
        }
    };
    let body = html! {
        (put_right(&entry))
        div.two {
            div {
                section { div.sec { h2 { "Postings" } } (postings(&entry)) }
                section { div.sec { h2 { "Noted" } } (noted(&entry)) }
            }
            aside {
                section { div.sec { h2 { "Who and when" } } (table::draw(&heading(&app, &entry))) }
                section { div.sec { h2 { "Chain" } } (chain(&entry)) }
            }
        }
    };
    draw(&app, &seen, &title, line, body)
}

fn put_right(entry: &EntryView) -> Markup {
    let link = |serial: u64| {
        html! {
            a href={ "/litres/entry/" (serial) } { "entry " (figure::fixed(serial as f64, 0)) }
        }
    };
    html! {
        @if let Some(by) = entry.contra_by {
            p.answer { b { "Put right by " (link(by)) "." } " It no longer counts." }
        }
        @if let Some(of) = entry.contra_of {
            p.answer { b { "Puts right " (link(of)) "." } (reason(entry)) }
        }
        @for mark in &entry.marks { p { span.copper { "To ask about: " } (mark) } }
    }
}

fn reason(entry: &EntryView) -> Markup {
    html! {
        @if let Some(Node::Text(why)) = entry.data.get("reason").or_else(|| entry.data.get("why")) {
            " " (why)
        }
    }
}

fn heading(app: &App, entry: &EntryView) -> Table {
    let mut table = Table::new("", vec![Column::words("what", ""), Column::words("value", "")]);
    let now = app.clock.here();
    let at = |moment: book::Moment| when::seen(&app.clock.local(moment.timestamp()), &now);
    let role = entry.heading.role.key().replace('_', " ");
    table.row(vec!["happened".into(), at(entry.heading.happened_at).into()]);
    table.row(vec!["noted".into(), at(entry.heading.noted_at).into()]);
    table.row(vec!["by".into(), format!("{}, {role}", entry.heading.writer).into()]);
    table.row(vec!["id".into(), entry.heading.id.as_str().into()]);
    table
}

/// The postings of each thing, to the millionth, with their sum.
fn postings(entry: &EntryView) -> Markup {
    let moved = |c: &Commodity| entry.postings.iter().any(|p| p.commodity == *c);
    let things: Vec<Commodity> = Commodity::ALL.into_iter().filter(moved).collect();
    html! {
        @if things.is_empty() {
            p.empty { "Nothing moved. It is a note of what was seen or done." }
        }
        @for commodity in things { (table::draw(&legs(entry, commodity))) }
    }
}

fn legs(entry: &EntryView, commodity: Commodity) -> Table {
    let mut table = Table::new(
        commodity.label(),
        vec![
            Column::words("account", "account"),
            Column::figures("amount", "", commodity.unit(), 6).differences(),
        ],
    );
    let mut sum = 0_i64;
    for posting in entry.postings.iter().filter(|p| p.commodity == commodity) {
        let account = &posting.account;
        let name = match account.place() {
            book::Place::Vessel => called(account.name()),
            place => format!("{}: {}", super::accounts::sort(place), called(account.name())),
        };
        let link = format!("/litres/account/{account}?commodity={}", commodity.key());
        table.row(vec![Cell::from(name).to(link), posting.amount.micro().into()]);
        sum += posting.amount.micro();
    }
    table.total(vec!["sum".into(), sum.into()]);
    table
}

/// The figures and words of the entry, with what was expected of them where that was kept.
fn noted(entry: &EntryView) -> Markup {
    let described = book::kind(&entry.kind).map(book::Kind::describe).unwrap_or_default();
    let field = |key: &str| -> Option<Field> {
        described.iter().find(|d| d.path == key).and_then(|d| match &d.sort {
            Sort::Figure(field) | Sort::Optional(field) => Some(*field),
            _ => None,
        })
    };
    let Node::Part(all) = &entry.data else {
        return html! {};
    };
    let expected = |key: &str| entry.data.get("expected")?.get(key)?.number();
    html! {
        div.scroll { table {
            thead { tr {
                th scope="col" { "what" } th.r scope="col" { "expected" }
                th.r scope="col" { "noted" } th.r scope="col" { "apart" }
            } }
            tbody {
                @for (key, node) in all {
                    @if !matches!(key.as_str(), "expected" | "expected_sd") {
                        @let known = field(key);
                        (row(key, node, known, expected(key)))
                    }
                }
            }
        } }
        details.how {
            summary { "As it is kept" }
            div { p.hash { (entry.body) } }
        }
    }
}

fn row(key: &str, node: &Node, field: Option<Field>, expected: Option<f64>) -> Markup {
    let name = field.map_or_else(|| called(key), |f| form::label(&f));
    let unit = field.map_or("", |f| f.unit);
    let shown = |value: f64| figure::unit(&figure::bare(value), unit);
    html! {
        tr {
            th scope="row" { (name) }
            td.r data-head="expected" {
                @if let Some(expected) = expected { i { (figure::significant(expected, 5)) } }
            }
            td.r data-head="noted" {
                @match node {
                    Node::Number(value) => (shown(*value)),
                    Node::Text(text) => (text),
                    Node::Flag(flag) => (if *flag { "yes" } else { "no" }),
                    Node::List(items) => { (items.len()) " things" },
                    Node::Part(parts) => { (parts.len()) " figures" },
                    Node::Blank => {},
                }
            }
            td.r data-head="apart" {
                @if let (Some(expected), Node::Number(value)) = (expected, node) {
                    (figure::signed(value - expected, figure::decimals_for(expected, 5)))
                }
            }
        }
    }
}

fn chain(entry: &EntryView) -> Markup {
    html! {
        p.soft.small { "entry before" }
        p.hash { (grouped(&entry.hash_before)) }
        p.soft.small { "this entry" }
        p.hash { (grouped(&entry.hash)) }
    }
}

/// A hash in groups of four letters, so that two of them can be read side by side.
fn grouped(hash: &[u8; 32]) -> String {
    let pairs: Vec<String> = hash.chunks(2).map(|p| format!("{:02x}{:02x}", p[0], p[1])).collect();
    pairs.join(" ")
}
