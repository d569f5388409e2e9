//! One account: what moved in and out of it, entry by entry.

use super::{Span, accounts, choose, counted, draw, file, store_failed};
use crate::app::{App, Seen, Working};
use crate::fail;
use crate::layout::Place;
use crate::places::{called, working};
use crate::{table, when};
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::Response;
use book::{Account, Statement, StoreFault};
use maud::html;
use sheets::{Cell, Column, Table, figure};
use std::sync::Arc;

pub(super) async fn show(
    State(app): State<Arc<App>>,
    seen: Seen,
    Path((place, name)): Path<(String, String)>,
    Query(asked): super::AskedQuery,
) -> Response {
    let open = match working(&app, &seen, Place::Litres) {
        Ok(open) => open,
        Err(page) => return *page,
    };
    let Ok(account) = format!("{place}/{name}").parse::<Account>() else {
        return fail::refused(StatusCode::NOT_FOUND, "No account has this name.");
    };
    let span = asked.span(&app);
    let statement = match statement(&open, &account, &span) {
        Ok(statement) => statement,
        Err(fault) => return store_failed(&fault),
    };
    let address = format!("/litres/account/{account}");
    let unit = span.commodity.unit();
    let shown = |micro: i64| figure::unit(&figure::millionths(micro, 1), unit);
    let table = movements(&app, &statement, &span);
    let line = html! {
        p { (accounts::sort(account.place()).to_lowercase()) ", " (counted(span.commodity)) }
        div.acts { a.act href={ "/litres" (span.query()) } { "All accounts" } }
    };
    let body = html! {
        section { (choose(&address, &span)) }
        section {
            div.sec {
                h2 { "Movements, " (span.words()) }
                div.acts {
                    a.act href={ (address) "/movements.csv" (span.query()) } { "As spreadsheet" }
                }
            }
            dl.figs {
                div { dt { "opening" } dd { (shown(statement.opening.micro())) } }
                div { dt { "in" } dd { (shown(statement.receipts().micro())) } }
                div { dt { "out" } dd { (shown(statement.issues().micro())) } }
                div { dt { "by book" } dd { (shown(statement.closing.micro())) } }
            }
            @if statement.movements.is_empty() {
                p.empty { "Nothing moved on these days." }
            } @else {
                (table::draw(&table))
            }
        }
    };
    draw(&app, &seen, &called(account.name()), line, body)
}

pub(super) async fn csv(
    State(app): State<Arc<App>>,
    seen: Seen,
    Path((place, name)): Path<(String, String)>,
    Query(asked): super::AskedQuery,
) -> Response {
    let open = match working(&app, &seen, Place::Litres) {
        Ok(open) => open,
        Err(page) => return *page,
    };
    let Ok(account) = format!("{place}/{name}").parse::<Account>() else {
        return fail::refused(StatusCode::NOT_FOUND, "No account has this name.");
    };
    let span = asked.span(&app);
    match statement(&open, &account, &span) {
        Ok(statement) => {
            let name: String = account
                .to_string()
                .chars()
                .map(|c| if c.is_ascii_alphanumeric() { c } else { '_' })
                .collect();
            file(&format!("{name}_{}_{}", span.first, span.last), &export(&statement, &span))
        }
        Err(fault) => store_failed(&fault),
    }
}

fn statement(open: &Working, account: &Account, span: &Span) -> Result<Statement, StoreFault> {
    open.book.statement(account, span.commodity, (span.from, span.until))
}

/// As a page shows it: days in house style, the latest last, each leading to its entry.
fn movements(app: &App, statement: &Statement, span: &Span) -> Table {
    let unit = span.commodity.unit();
    let mut table = Table::new(
        "",
        vec![
            Column::words("entry", "entry"),
            Column::words("happened_at", "happened"),
            Column::words("kind", "what"),
            Column::words("others", "with"),
            Column::figures("amount", "moved", unit, 1).differences(),
            Column::figures("running", "then held", unit, 1),
        ],
    );
    let now = app.clock.here();
    for movement in &statement.movements {
        let at = app.clock.local(movement.happened_at.timestamp());
        let kind = book::kind(&movement.kind).map_or(movement.kind.as_str(), |k| k.title);
        let words = match (movement.contra_of, movement.contra_by) {
            (Some(of), _) => format!("{kind}, puts right {}", figure::fixed(of as f64, 0)),
            (_, Some(by)) => format!("{kind}, put right by {}", figure::fixed(by as f64, 0)),
            _ => kind.to_owned(),
        };
        let others: Vec<String> = movement.others.iter().map(|a| called(a.name())).collect();
        table.row(vec![
            Cell::from(figure::fixed(movement.serial as f64, 0))
                .to(format!("/litres/entry/{}", movement.serial)),
            when::seen(&at, &now).into(),
            words.into(),
            others.join(", ").into(),
            movement.amount.micro().into(),
            movement.running.micro().into(),
        ]);
    }
    let sum = statement.closing.micro() - statement.opening.micro();
    table.total(vec![
        "all".into(),
        Cell::blank(),
        Cell::blank(),
        Cell::blank(),
        sum.into(),
        statement.closing.micro().into(),
    ]);
    table.note("Printed to one decimal, half to even; kept to a millionth.");
    table
}

/// As a file holds it: instants with their offset, accounts by name.
fn export(statement: &Statement, span: &Span) -> Table {
    let key = span.commodity.key();
    let unit = span.commodity.unit();
    let mut table = Table::new(
        "",
        vec![
            Column::words("serial", "serial"),
            Column::words("happened_at", "happened_at"),
            Column::words("kind", "kind"),
            Column::words("others", "others"),
            Column::figures(key, key, unit, 6),
            Column::figures(format!("running_{key}"), "running", unit, 6),
            Column::words("contra_of", "contra_of"),
            Column::words("contra_by", "contra_by"),
        ],
    );
    for movement in &statement.movements {
        let others: Vec<String> = movement.others.iter().map(ToString::to_string).collect();
        let serial = |s: Option<u64>| s.map_or_else(Cell::blank, |s| s.to_string().into());
        table.row(vec![
            movement.serial.to_string().into(),
            movement.happened_at.to_string().into(),
            movement.kind.as_str().into(),
            others.join(" ").into(),
            movement.amount.micro().into(),
            movement.running.micro().into(),
            serial(movement.contra_of),
            serial(movement.contra_by),
        ]);
    }
    table
}
