//! A turn, a temperature or a reading of the kiln, noted in place: the first tap opens the form
//! where the work is, the second notes it, and the piece is reckoned anew from it.

use super::desk::Seen;
use super::{Pairs, floors, kiln, steeps, whole};
use crate::app::{self, App, Working};
use crate::caution::{self, Hazard};
use crate::fail;
use crate::layout::{Place, escape};
use crate::places::today::ask::Ask;
use crate::places::today::row::{self, Sheet};
use crate::places::today::sent::{self, Ended, Filled};
use crate::places::today::{asked, unreadable};
use crate::places::working;
use axum::extract::{Form, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};
use std::sync::Arc;

/// The form that is open, and what stands in it.
#[derive(Clone, Copy)]
pub(super) struct Open<'a> {
    pub(super) ask: &'a Ask,
    pub(super) filled: &'a Filled,
}

impl Open<'_> {
    /// Whether it is about this vessel.
    pub(super) fn is_about(&self, vessel: &str) -> bool {
        self.vessel() == Some(vessel)
    }

    fn vessel(&self) -> Option<&str> {
        self.ask.about.iter().find(|(k, _)| k == "vessel").map(|(_, v)| v.as_str())
    }
}

/// Where a thing is noted: the place with the form open in it.
pub(super) fn address(kind: &str, vessel: &str, piece: Option<u32>) -> String {
    let piece = piece.filter(|_| kind != "reading");
    let piece = piece.map_or(String::new(), |n| format!("&k.piece={n}"));
    format!("/maltings?note={kind}&k.vessel={}{piece}#note", escape(vessel))
}

/// The form, as it stands in a row.
pub(super) fn form(open: Open<'_>) -> Markup {
    let back = open.vessel().map_or_else(String::new, |v| format!("#f-{v}"));
    let sheet = Sheet {
        to: "/maltings/note".to_owned(),
        check: "/maltings/check".to_owned(),
        back: format!("/maltings{back}"),
        picture: html! {},
    };
    html! {
        (row::form(open.ask, open.filled, &sheet))
        @if open.ask.kind.key == "turn" { (caution::draw(Hazard::Turning)) }
    }
}

/// Notes what was sent: once, whatever is sent twice.
pub(super) async fn note(
    State(app): State<Arc<App>>,
    seen: app::Seen,
    Form(pairs): Form<Pairs>,
) -> Response {
    let open = match working(&app, &seen, Place::Maltings) {
        Ok(open) => open,
        Err(page) => return *page,
    };
    let ask = match asked(&app, &open, &pairs) {
        Ok(Some(ask)) => ask,
        Ok(None) => return fail::refused(StatusCode::NOT_FOUND, "Nothing of this can be noted."),
        Err(fault) => return unreadable(&fault),
    };
    let vessel = ask.about.iter().find(|(k, _)| k == "vessel").map(|(_, v)| v.clone());
    match sent::note(&app, &open, &ask, Filled::of(&app, &pairs)) {
        Ended::InBook(noted) if vessel.is_none() => {
            let piece = ask.about.iter().find(|(k, _)| k == "piece").map(|(_, v)| v.as_str());
            let then = match piece {
                Some(piece) => format!("/maltings/piece/{piece}?noted={}", noted.serial),
                None => format!("/maltings?noted={}", noted.serial),
            };
            if seen.part {
                ([("x-then", then)], "").into_response()
            } else {
                Redirect::to(&then).into_response()
            }
        }
        Ended::InBook(noted) if seen.part => {
            answered(&app, &open, vessel.as_deref(), &noted).into_response()
        }
        Ended::InBook(noted) => {
            let back = format!("/maltings?noted={}#f-{}", noted.serial, vessel.unwrap_or_default());
            Redirect::to(&back).into_response()
        }
        Ended::Refused(filled) => {
            let opened = Some(Open { ask: &ask, filled: &filled });
            let status = StatusCode::UNPROCESSABLE_ENTITY;
            if seen.part {
                (status, again(&app, &open, vessel.as_deref(), opened)).into_response()
            } else {
                whole(&app, &seen, &open, (&Vec::new(), opened), status)
            }
        }
        Ended::NotNow(why) => {
            let header = [(header::RETRY_AFTER, "5")];
            (header, fail::refused(StatusCode::SERVICE_UNAVAILABLE, &why)).into_response()
        }
    }
}

/// The row of the vessel as it stands, with the form in it where one is given.
fn again(app: &App, open: &Arc<Working>, vessel: Option<&str>, opened: Option<Open<'_>>) -> Markup {
    let Ok(seen) = Seen::at(open, app.clock.now()) else { return html! {} };
    let known = vessel.and_then(|key| open.house.vessel(key));
    html! {
        @match known.map(|v| (v, v.what.kind())) {
            Some((floor, "floor")) => (floors::row(app, open, &seen, floor, opened)),
            Some((steep, "steep")) => (steeps::row(app, open, &seen, steep, opened)),
            _ => (kiln::part(app, open, &seen, opened)),
        }
    }
}

/// What takes the place of the form once the thing is in the book: the piece, reckoned anew.
fn answered(app: &App, open: &Arc<Working>, vessel: Option<&str>, noted: &book::Noted) -> Markup {
    html! {
        (again(app, open, vessel, None))
        (told(noted))
    }
}

/// What was done a moment ago; the place for it where nothing was.
pub(super) fn done(pairs: &Pairs) -> Markup {
    let serial = pairs.iter().find(|(k, _)| k == "noted").and_then(|(_, v)| v.parse::<u64>().ok());
    html! {
        p.told id="told" data-part role="status" {
            @if let Some(serial) = serial { "In the book: " (entry(serial)) "." }
        }
    }
}

fn entry(serial: u64) -> Markup {
    html! {
        a href={ "/litres/entry/" (serial) } {
            "entry " (sheets::figure::fixed(serial as f64, 0))
        }
    }
}

fn told(noted: &book::Noted) -> Markup {
    html! {
        p.told id="told" data-part role="status" {
            @if noted.again { "It was in the book already, once: " } @else { "In the book: " }
            (entry(noted.serial)) "."
            @if !noted.marks.is_empty() { " To ask about: " (noted.marks.join("; ")) "." }
        }
    }
}
