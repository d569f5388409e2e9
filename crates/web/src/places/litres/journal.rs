//! The journal: entries as they were noted, the latest first.

use super::{draw, store_failed};
use crate::app::{App, Seen};
use crate::layout::Place;
use crate::places::{called, working};
use crate::{table, when};
use axum::extract::{Query, State};
use axum::response::Response;
use book::EntryView;
use gauge::Node;
use maud::html;
use serde::Deserialize;
use sheets::{Cell, Column, Table, figure};
use std::sync::Arc;

/// Entries on one page.
const PAGE: u64 = 60;

/// From where on.
#[derive(Debug, Deserialize)]
pub(super) struct Before {
    before: Option<u64>,
}

pub(super) async fn show(
    State(app): State<Arc<App>>,
    seen: Seen,
    Query(asked): Query<Before>,
) -> Response {
    let open = match working(&app, &seen, Place::Litres) {
        Ok(open) => open,
        Err(page) => return *page,
    };
    let last = open.book.last().serial;
    let end = asked.before.map_or(last, |b| b.saturating_sub(1)).min(last);
    let start = end.saturating_sub(PAGE);
    let entries = match open.book.entries_after(start, (end - start) as usize) {
        Ok(entries) => entries,
        Err(fault) => return store_failed(&fault),
    };
    let line = html! {
        p { (figure::fixed(last as f64, 0)) " entries, the latest first" }
        div.acts { a.act href="/litres" { "Accounts" } }
    };
    let body = html! {
        section {
            form.ins action="/litres/entry" method="get" {
                div.field {
                    label for="serial" { "Open entry" }
                    div.entry { input id="serial" name="serial" inputmode="numeric"; }
                    p.hint { "1 to " (figure::fixed(last as f64, 0)) }
                }
                div.acts { button.act { "Open it" } }
            }
        }
        section {
            div.sec { h2 { "Entries" } }
            (table::draw(&list(&app, &entries)))
            div.acts {
                @if start > 0 {
                    a.act href={ "/litres/entries?before=" (start + 1) } { "Earlier" }
                }
            }
        }
    };
    draw(&app, &seen, "Entries", line, body)
}

fn list(app: &App, entries: &[EntryView]) -> Table {
    let mut table = Table::new(
        "",
        vec![
            Column::words("entry", "entry"),
            Column::words("happened_at", "happened"),
            Column::words("kind", "what"),
            Column::words("about", "about"),
            Column::words("by", "by"),
            Column::words("state", ""),
        ],
    );
    let now = app.clock.here();
    for entry in entries.iter().rev() {
        let at = app.clock.local(entry.heading.happened_at.timestamp());
        let kind = book::kind(&entry.kind).map_or(entry.kind.as_str(), |k| k.title);
        let state = match (entry.contra_of, entry.contra_by, entry.marks.is_empty()) {
            (Some(of), _, _) => format!("puts right {}", figure::fixed(of as f64, 0)),
            (_, Some(by), _) => format!("put right by {}", figure::fixed(by as f64, 0)),
            (_, _, false) => "to ask about".to_owned(),
            _ => String::new(),
        };
        let asked = !entry.marks.is_empty() && entry.contra_by.is_none();
        table.row(vec![
            Cell::from(figure::fixed(entry.serial as f64, 0))
                .to(format!("/litres/entry/{}", entry.serial)),
            when::seen(&at, &now).into(),
            kind.into(),
            about(&entry.data).into(),
            entry.heading.writer.as_str().into(),
            Cell::from(state).wanted(asked),
        ]);
    }
    table
}

/// What an entry is about, in a few words: the vessels, lots and numbers it names.
fn about(data: &Node) -> String {
    let keys = ["vessel", "from", "to", "lot", "piece", "mash", "run", "cask", "account", "make"];
    let mut words = Vec::new();
    for key in keys {
        match data.get(key) {
            Some(Node::Text(text)) => words.push(called(text)),
            Some(Node::Number(n)) => words.push(format!("{key} {}", figure::bare(*n))),
            _ => {}
        }
    }
    words.truncate(3);
    words.join(", ")
}
