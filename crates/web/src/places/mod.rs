//! One folder a place.

mod bench;
mod frame;
mod kept;
mod litres;
mod maltings;
mod put;
mod stillhouse;
mod today;

use crate::app::{App, Seen, Working};
use crate::jobs;
use crate::layout::{Page, Place, page};
use axum::Router;
use axum::extract::State;
use axum::response::{IntoResponse, Response};
use axum::routing::get;
pub(crate) use frame::frame;
pub(crate) use kept::Kept;
pub(crate) use maltings::api as maltings_api;
pub(crate) use maltings::desk::{Desk as Malting, Seen as Maltings};
use maud::{Markup, html};
use std::sync::Arc;
pub(crate) use stillhouse::api as stillhouse_api;
pub(crate) use stillhouse::view::{Desk as Stills, fitted};
pub(crate) use today::expect::due;

/// Every address of every place.
pub(crate) fn router() -> Router<Arc<App>> {
    Router::new()
        .route("/places", get(all))
        .merge(bench::router())
        .merge(litres::router())
        .merge(maltings::router())
        .merge(stillhouse::router())
        .merge(today::router())
}

/// The full list with the live lines: where the thumb bar leads.
async fn all(State(app): State<Arc<App>>, seen: Seen) -> Markup {
    let frame = frame(&app);
    let body = html! {
        ul.all-places {
            @for place in Place::ALL {
                @let live = frame.live.iter().find(|(p, _)| *p == place).map(|(_, l)| l);
                li { a href=(place.address()) {
                    b { (place.name()) }
                    @if let Some(live) = live {
                        span class=[live.wanted.then_some("copper")] { (live.says) }
                    }
                } }
            }
        }
    };
    page(&app, &seen, &frame, &Page { place: None, title: "Places", line: html! {}, body })
}

/// The book, or the page that says what it waits for.
pub(crate) fn working(app: &App, seen: &Seen, place: Place) -> Result<Arc<Working>, Box<Response>> {
    if let Some(working) = app.working() {
        return Ok(working);
    }
    if let Some(job) = app.jobs.running().or_else(|| app.jobs.last()) {
        return Err(Box::new(jobs::whole(app, seen, &job).into_response()));
    }
    let body = html! {
        p.empty { "No book is open yet. Bench works without one." }
        p { a.act.main href="/bench" { "To the bench" } }
    };
    let empty = Page { place: Some(place), title: place.name(), line: html! {}, body };
    Err(Box::new(page(app, seen, &frame(app), &empty).into_response()))
}

/// What a vessel is called.
pub(crate) fn vessel(open: &Working, key: &str) -> String {
    called(open.house.called(key))
}

/// What a room says, as a sentence.
pub(crate) fn called_sentence(says: &str) -> String {
    let mut letters = says.chars();
    let first = letters.next().map(char::to_uppercase);
    let said: String = first.into_iter().flatten().chain(letters).collect();
    if said.ends_with('.') { said } else { format!("{said}.") }
}

/// What a stage says cannot be, without the key of its case that it stands under.
pub(crate) fn why_not(fault: &gauge::Fault) -> String {
    match fault {
        gauge::Fault::Unworkable { trouble, remedy, .. } => format!("{trouble}; {remedy}"),
        other => other.to_string(),
    }
}

/// A key as a person says it: `washback_3` is "Washback 3".
pub(crate) fn called(key: &str) -> String {
    let words = key.replace('_', " ");
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
