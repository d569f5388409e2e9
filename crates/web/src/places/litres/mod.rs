//! Litres: the book. Accounts, the movements of one, one entry opened with its postings and hash.

mod account;
mod accounts;
mod entry;
mod journal;

use crate::app::{App, Seen};
use crate::fail;
use crate::layout::{Page, Place, page};
use crate::places::{frame, working};
use axum::Router;
use axum::extract::{Query, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use book::{Commodity, StoreFault};
use jiff::Timestamp;
use jiff::civil::Date;
use maud::{Markup, html};
use serde::Deserialize;
use sheets::{Table, figure};
use std::sync::Arc;

pub(crate) fn router() -> Router<Arc<App>> {
    Router::new()
        .route("/litres", get(accounts::show))
        .route("/litres/accounts.csv", get(accounts::csv))
        .route("/litres/account/{place}/{name}", get(account::show))
        .route("/litres/account/{place}/{name}/movements.csv", get(account::csv))
        .route("/litres/entries", get(journal::show))
        .route("/litres/entry", get(entry::find))
        .route("/litres/entry/{serial}", get(entry::show))
        .route("/litres/verify", post(verify))
}

/// What is asked of an account: which thing, from when, until when.
#[derive(Debug, Default, Deserialize)]
pub(super) struct Asked {
    commodity: Option<String>,
    from: Option<String>,
    until: Option<String>,
}

/// The same, understood.
#[derive(Debug, Clone, Copy)]
pub(super) struct Span {
    pub(super) commodity: Commodity,
    pub(super) from: Timestamp,
    pub(super) until: Timestamp,
    /// First day, as it is typed.
    pub(super) first: Date,
    /// Last day, counted whole.
    pub(super) last: Date,
}

impl Asked {
    /// Days, first and last counted; the last seven when nothing is asked.
    pub(super) fn span(&self, app: &App) -> Span {
        let here = app.clock.here();
        let today = here.date();
        let day = |text: &Option<String>| text.as_ref().and_then(|t| t.parse::<Date>().ok());
        let last = day(&self.until).unwrap_or(today);
        let week = last.checked_sub(jiff::Span::new().days(6)).unwrap_or(last);
        let first = day(&self.from).unwrap_or(week).min(last);
        let zone = here.time_zone().clone();
        let start = |date: Date| {
            date.to_zoned_datetime(zone.clone()).map_or(Timestamp::UNIX_EPOCH, |z| z.timestamp())
        };
        // A statement counts what happened after its first moment, so it opens a moment early.
        let opens = start(first).as_microsecond() - 1;
        let after = last.tomorrow().map_or(app.clock.now(), start).as_microsecond() - 1;
        Span {
            commodity: self
                .commodity
                .as_deref()
                .and_then(Commodity::from_key)
                .unwrap_or(Commodity::PureAlcohol),
            from: Timestamp::from_microsecond(opens).unwrap_or(Timestamp::UNIX_EPOCH),
            until: Timestamp::from_microsecond(after).unwrap_or(Timestamp::UNIX_EPOCH),
            first,
            last,
        }
    }
}

impl Span {
    /// As a query, so that what is seen can be sent.
    pub(super) fn query(&self) -> String {
        format!("?commodity={}&from={}&until={}", self.commodity.key(), self.first, self.last)
    }
    /// In words.
    pub(super) fn words(&self) -> String {
        let day = |d: Date| d.strftime("%-d %B").to_string();
        if self.first == self.last {
            day(self.first)
        } else if self.first.month() == self.last.month() {
            format!("{} to {}", self.first.day(), day(self.last))
        } else {
            format!("{} to {}", day(self.first), day(self.last))
        }
    }
}

/// The choice of thing and days: an ordinary form, answered by the address.
pub(super) fn choose(action: &str, span: &Span) -> Markup {
    html! {
        form.ins.asked.noprint action=(action) method="get" {
            div.field {
                label for="commodity" { "Of what" }
                div.entry {
                    select id="commodity" name="commodity" {
                        @for commodity in [
                            Commodity::PureAlcohol, Commodity::Extract, Commodity::DryGrain
                        ] {
                            option value=(commodity.key()) selected[commodity == span.commodity] {
                                (commodity.label())
                            }
                        }
                    }
                }
            }
            div.field {
                label for="from" { "From" }
                div.entry { input id="from" type="date" name="from" value=(span.first); }
            }
            div.field {
                label for="until" { "Until" }
                div.entry { input id="until" type="date" name="until" value=(span.last); }
            }
            div.acts { button.act { "Show these days" } }
        }
    }
}

/// What a thing is counted in, at the head of a section.
pub(super) fn counted(commodity: Commodity) -> &'static str {
    match commodity {
        Commodity::PureAlcohol => "litres of pure alcohol at 20\u{202f}°C",
        Commodity::Extract => "kilograms of extract",
        Commodity::DryGrain => "kilograms of dry grain",
    }
}

/// The page of a part of Litres.
pub(super) fn draw(app: &App, seen: &Seen, title: &str, line: Markup, body: Markup) -> Response {
    let page_ = Page { place: Some(Place::Litres), title, line, body };
    page(app, seen, &frame(app), &page_).into_response()
}

/// A table as a file.
pub(super) fn file(name: &str, table: &Table) -> Response {
    let disposition = format!("attachment; filename=\"{name}.csv\"");
    (
        [
            (header::CONTENT_TYPE, "text/csv; charset=utf-8".to_owned()),
            (header::CONTENT_DISPOSITION, disposition),
        ],
        table.csv(),
    )
        .into_response()
}

/// The page when the store cannot be read.
pub(super) fn store_failed(fault: &StoreFault) -> Response {
    let why = format!("{fault}. Nothing was written. Open the book again, or ask for a backup.");
    fail::refused(StatusCode::INTERNAL_SERVER_ERROR, &why)
}

/// Reads the whole chain again, as a job.
async fn verify(State(app): State<Arc<App>>, seen: Seen) -> Response {
    let open = match working(&app, &seen, Place::Litres) {
        Ok(open) => open,
        Err(page) => return *page,
    };
    let number = app.jobs.start("Verify the chain", "/litres?verified=1", move |progress| {
        progress.tell(0.0, "Every entry is read and its hash worked out again.");
        let found = open.book.verify().map_err(|fault| fault.to_string())?;
        match found.broken {
            None => Ok(format!("{} entries, each as it was written.", found.entries)),
            Some(fault) => Err(fault.to_string()),
        }
    });
    Redirect::to(&format!("/jobs/{number}")).into_response()
}

/// What the page says once the chain was verified by hand.
#[derive(Debug, Default, Deserialize)]
pub(super) struct Verified {
    verified: Option<String>,
}

impl Verified {
    pub(super) fn words(&self, app: &App) -> Option<String> {
        self.verified.as_ref()?;
        let serial = app.working()?.book.last().serial;
        Some(format!("chain verified to {}", figure::fixed(serial as f64, 0)))
    }
}

pub(super) type AskedQuery = Query<Asked>;
