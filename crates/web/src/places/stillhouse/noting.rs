//! What is read at the safe, noted in place: hydrometer and temperature, head, flow.

use super::Pairs;
use crate::app::{App, Seen, Working};
use crate::caution::{self, Hazard};
use crate::fail;
use crate::layout::{Page, Place, page};
use crate::places::today::ask::Ask;
use crate::places::today::row::{self, Sheet};
use crate::places::today::sent::{self, Ended, Filled};
use crate::places::today::{asked, unreadable};
use crate::places::{frame, vessel, working};
use axum::extract::{Form, Path, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};
use std::sync::Arc;

/// Where the form of the safe is sent.
pub(super) fn sheet(back: &str) -> Sheet {
    Sheet {
        to: "/stillhouse/note".to_owned(),
        check: "/stillhouse/check".to_owned(),
        back: back.to_owned(),
        picture: html! {},
    }
}

/// A reading of this still, as the form asks for it.
pub(super) fn of_still(still: &str) -> Pairs {
    vec![("kind".to_owned(), "reading".to_owned()), ("k.vessel".to_owned(), still.to_owned())]
}

/// The form by itself.
pub(super) async fn show(
    State(app): State<Arc<App>>,
    seen: Seen,
    Path(still): Path<String>,
) -> Response {
    let open = match working(&app, &seen, Place::Stillhouse) {
        Ok(open) => open,
        Err(page) => return *page,
    };
    if open.house.vessels("still").all(|known| known.key != still) {
        return fail::refused(StatusCode::NOT_FOUND, "The house has no still of this name.");
    }
    match asked(&app, &open, &of_still(&still)) {
        Ok(Some(ask)) => {
            whole(&app, &seen, &open, &ask, &Filled::empty(&app, "safe"), StatusCode::OK)
        }
        Ok(None) => fail::refused(StatusCode::NOT_FOUND, "Nothing is read of this still."),
        Err(fault) => unreadable(&fault),
    }
}

fn whole(
    app: &App,
    seen: &Seen,
    open: &Working,
    ask: &Ask,
    filled: &Filled,
    status: StatusCode,
) -> Response {
    let still = about(ask, "vessel");
    let name = vessel(open, &still);
    let body = html! {
        div.two {
            section {
                div.sec { h2 { "Read at the safe, " (crate::form::lower(&name)) } }
                (form(ask, filled, "/stillhouse"))
            }
            aside.stack-s4 {
                (caution::draw(Hazard::Spirit))
                (caution::draw(Hazard::NotForDrinking))
            }
        }
    };
    let line = html! { p { a href="/stillhouse" { "back to the stillhouse" } } };
    let here = Page { place: Some(Place::Stillhouse), title: "Note a strength", line, body };
    (status, page(app, seen, &frame(app), &here)).into_response()
}

/// The form, as it stands on a page of the stillhouse.
pub(super) fn form(ask: &Ask, filled: &Filled, back: &str) -> Markup {
    html! { div id="safe" data-part { (row::form(ask, filled, &sheet(back))) } }
}

fn about(ask: &Ask, key: &str) -> String {
    ask.about.iter().find(|(k, _)| k == key).map(|(_, v)| v.clone()).unwrap_or_default()
}

/// Notes what was sent: once, whatever is sent twice.
pub(super) async fn note(
    State(app): State<Arc<App>>,
    seen: Seen,
    Form(pairs): Form<Pairs>,
) -> Response {
    let open = match working(&app, &seen, Place::Stillhouse) {
        Ok(open) => open,
        Err(page) => return *page,
    };
    let ask = match asked(&app, &open, &pairs) {
        Ok(Some(ask)) => ask,
        Ok(None) => return fail::refused(StatusCode::NOT_FOUND, "Nothing of this can be noted."),
        Err(fault) => return unreadable(&fault),
    };
    match sent::note(&app, &open, &ask, Filled::of(&app, &pairs)) {
        Ended::InBook(noted) if seen.part => in_book(&ask, &noted).into_response(),
        Ended::InBook(_) => Redirect::to("/stillhouse").into_response(),
        Ended::Refused(filled) if seen.part => {
            (StatusCode::UNPROCESSABLE_ENTITY, form(&ask, &filled, "/stillhouse")).into_response()
        }
        Ended::Refused(filled) => {
            whole(&app, &seen, &open, &ask, &filled, StatusCode::UNPROCESSABLE_ENTITY)
        }
        Ended::NotNow(why) => {
            let header = [(header::RETRY_AFTER, "5")];
            (header, fail::refused(StatusCode::SERVICE_UNAVAILABLE, &why)).into_response()
        }
    }
}

/// What takes the place of the form once the reading is in the book.
fn in_book(ask: &Ask, noted: &book::Noted) -> Markup {
    let again = format!("/stillhouse/note/{}", about(ask, "vessel"));
    html! {
        div id="safe" data-part {
            p role="status" {
                @if noted.again { "It was in the book already, once: " } @else { "In the book: " }
                a href={ "/litres/entry/" (noted.serial) } {
                    "entry " (sheets::figure::fixed(noted.serial as f64, 0))
                }
                "."
                @if !noted.marks.is_empty() { " To ask about: " (noted.marks.join("; ")) "." }
            }
            p.acts {
                a.act.main href="/stillhouse" { "See it on the run" }
                a.act href=(again) { "Note another" }
            }
        }
    }
}
