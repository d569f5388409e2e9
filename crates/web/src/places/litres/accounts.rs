//! All accounts over some days: what each held, what came in, what went out, what it holds.

use super::{Span, Verified, choose, counted, draw, file, store_failed};
use crate::app::{App, Seen, Working};
use crate::layout::Place;
use crate::places::{called, working};
use crate::table;
use axum::extract::{Query, State};
use axum::response::Response;
use book::{Account, Place as Sort, StoreFault};
use maud::html;
use sheets::{Cell, Column, Table, figure};
use std::collections::BTreeMap;
use std::sync::Arc;

/// The opening and closing of one line, and what moved.
#[derive(Debug, Default, Clone, Copy)]
struct Line {
    opening: i64,
    received: i64,
    issued: i64,
    closing: i64,
}

pub(super) async fn show(
    State(app): State<Arc<App>>,
    seen: Seen,
    Query(asked): super::AskedQuery,
    Query(verified): Query<Verified>,
) -> Response {
    let open = match working(&app, &seen, Place::Litres) {
        Ok(open) => open,
        Err(page) => return *page,
    };
    let span = asked.span(&app);
    let (held, ways) = match tables(&open, &span) {
        Ok(tables) => tables,
        Err(fault) => return store_failed(&fault),
    };
    let serial = figure::fixed(open.book.last().serial as f64, 0);
    let line = html! {
        p {
            @if open.book.trouble().is_some() { "the book is read-only" }
            @else if let Some(words) = verified.words(&app) { (words) }
            @else { (serial) " entries" }
        }
        div.acts {
            a.act href="/litres/entries" { "Entries" }
            form method="post" action="/litres/verify" { button.act { "Verify the chain" } }
        }
    };
    let body = html! {
        section { (choose("/litres", &span)) }
        section {
            div.sec {
                h2 { "What lies where, " (span.words()) }
                p { (counted(span.commodity)) }
                div.acts {
                    a.act href={ "/litres/accounts.csv" (span.query()) } { "As spreadsheet" }
                }
            }
            (table::draw(&held))
        }
        section {
            div.sec {
                h2 { "In, out and turned into another thing" }
                p { (counted(span.commodity)) }
            }
            (table::draw(&ways))
        }
    };
    draw(&app, &seen, "Litres", line, body)
}

pub(super) async fn csv(
    State(app): State<Arc<App>>,
    seen: Seen,
    Query(asked): super::AskedQuery,
) -> Response {
    let open = match working(&app, &seen, Place::Litres) {
        Ok(open) => open,
        Err(page) => return *page,
    };
    let span = asked.span(&app);
    match lines(&open, &span) {
        Ok(lines) => {
            let mut table = Table::new("", columns(&span));
            for (account, line) in &lines {
                table.row(cells(&account.to_string(), None, line));
            }
            file(&format!("accounts_{}_{}", span.first, span.last), &table)
        }
        Err(fault) => store_failed(&fault),
    }
}

fn columns(span: &Span) -> Vec<Column> {
    let unit = span.commodity.unit();
    let column = |key: &str, head: &str| {
        Column::figures(format!("{key}_{}", span.commodity.key()), head, unit, 1)
    };
    vec![
        Column::words("account", "account"),
        column("opening", "opening"),
        column("in", "in"),
        column("out", "out"),
        column("closing", "by book"),
    ]
}

fn cells(name: &str, link: Option<String>, line: &Line) -> Vec<Cell> {
    let first = Cell::from(name.to_owned());
    vec![
        link.map_or(first.clone(), |link| first.to(link)),
        line.opening.into(),
        line.received.into(),
        line.issued.into(),
        line.closing.into(),
    ]
}

/// Every account that holds something at either end, or through which something went.
fn lines(open: &Working, span: &Span) -> Result<BTreeMap<Account, Line>, StoreFault> {
    let mut lines: BTreeMap<Account, Line> = BTreeMap::new();
    for (at, opening) in [(span.from, true), (span.until, false)] {
        for holding in open.book.holdings(at)? {
            if holding.commodity != span.commodity {
                continue;
            }
            let line = lines.entry(holding.account).or_default();
            let micro = holding.amount.micro();
            *(if opening { &mut line.opening } else { &mut line.closing }) = micro;
        }
    }
    // A vessel that was filled and emptied within the days is empty at both ends, so every vessel
    // that the book knows is asked.
    for holding in open.book.holdings(span.until)? {
        if holding.account.place() == Sort::Vessel {
            lines.entry(holding.account).or_default();
        }
    }
    for (account, line) in &mut lines {
        // Thousands of casks lie still; where nothing changed there is nothing to read.
        if account.place() == Sort::Cask && line.opening == line.closing {
            continue;
        }
        let statement = open.book.statement(account, span.commodity, (span.from, span.until))?;
        line.received = statement.receipts().micro();
        line.issued = statement.issues().micro();
    }
    // What never held the thing asked about would only fill the page with noughts.
    lines.retain(|_, l| [l.opening, l.received, l.issued, l.closing].iter().any(|v| *v != 0));
    Ok(lines)
}

/// What holds something, and what things pass through.
fn tables(open: &Working, span: &Span) -> Result<(Table, Table), StoreFault> {
    let lines = lines(open, span)?;
    let mut held = Table::new("", columns(span));
    let mut ways = Table::new("", columns(span));
    let mut casks = (0_usize, Line::default());
    let mut sum = Line::default();
    for (account, line) in &lines {
        if account.place().holds() {
            add(&mut sum, line);
        }
        let link = format!("/litres/account/{account}{}", span.query());
        match account.place() {
            Sort::Cask => {
                casks.0 += usize::from(line.closing > 0);
                add(&mut casks.1, line);
            }
            Sort::Lot | Sort::Vessel => {
                held.row(cells(&called(account.name()), Some(link), line));
            }
            _ => {
                let name = format!("{}: {}", sort(account.place()), called(account.name()));
                let mut row = cells(&name, Some(link), line);
                let gap = account.place() == Sort::Deficiency && line.received != 0;
                row[2] = row[2].clone().wanted(gap);
                ways.row(row);
            }
        }
    }
    if casks.1.opening != 0 || casks.1.closing != 0 {
        let name = format!("{} casks", figure::fixed(casks.0 as f64, 0));
        held.row(cells(&name, None, &casks.1));
    }
    held.total(cells("All that is held", None, &sum));
    held.note(
        "Printed to one decimal, half to even; kept to a millionth. A working paper: the law and \
         the officer prevail.",
    );
    ways.note(
        "What leaves the house, what is turned into another thing, and what was found more or \
         less than the book said. Increase and deficiency are never netted.",
    );
    Ok((held, ways))
}

fn add(sum: &mut Line, line: &Line) {
    sum.opening += line.opening;
    sum.received += line.received;
    sum.issued += line.issued;
    sum.closing += line.closing;
}

/// What sort of account it is, in words.
pub(super) fn sort(place: Sort) -> &'static str {
    match place {
        Sort::Lot => "Lot",
        Sort::Vessel => "Vessel",
        Sort::Cask => "Cask",
        Sort::Outside => "Beyond the house",
        Sort::Convert => "Turned",
        Sort::Increase => "Increase",
        Sort::Deficiency => "Deficiency",
    }
}
