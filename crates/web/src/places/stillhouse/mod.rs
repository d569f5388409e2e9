//! Stillhouse: what runs, what any cut of it would give, the circuit it belongs to, and the sheet
//! of the next charge.

mod account;
pub(crate) mod api;
mod around;
mod circuit;
mod empty;
mod head;
mod heart;
mod keep;
mod list;
mod nose;
mod noting;
mod now;
mod picture;
mod proposal;
mod run;
mod sheet;
pub(crate) mod view;

use crate::app::{App, Seen};
use crate::caution::{self, Hazard};
use crate::layout::{Page, Place, page};
use crate::places::today;
use crate::places::today::unreadable;
use crate::places::{frame, working};
use axum::Router;
use axum::extract::{Query, State};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use maud::{Markup, html};
pub(super) use now::live;
use std::sync::Arc;

type Pairs = Vec<(String, String)>;

pub(crate) fn router() -> Router<Arc<App>> {
    Router::new()
        .route("/stillhouse", get(show))
        .route("/stillhouse/run/{run}", get(run::show))
        .route("/stillhouse/run/{run}/look", get(run::look))
        .route("/stillhouse/run/{run}/cuts", post(keep::keep))
        .route("/stillhouse/run/{run}/nose", post(nose::note))
        .route("/stillhouse/run/{run}/head", post(head::act))
        .route("/stillhouse/circuit/{make}", get(circuit::show))
        .route("/stillhouse/sheet/{still}", get(sheet::show))
        .route("/stillhouse/note/{still}", get(noting::show))
        .route("/stillhouse/note", post(noting::note))
        .route("/stillhouse/check", get(today::check))
}

async fn show(State(app): State<Arc<App>>, seen: Seen, Query(mut pairs): Query<Pairs>) -> Response {
    let open = match working(&app, &seen, Place::Stillhouse) {
        Ok(open) => open,
        Err(page) => return *page,
    };
    pairs.retain(|(key, _)| run::is_asked(key));
    let now = app.clock.now();
    let read = open.standing(now).and_then(|standing| {
        let runs = view::runs(&open, now)?;
        let chosen = now::chosen(&standing, &runs);
        let view = chosen.map(|run| view::View::of(&open, run, now)).transpose()?;
        Ok((standing, runs, view))
    });
    let (standing, runs, view) = match read {
        Ok(read) => read,
        Err(fault) => return unreadable(&fault),
    };
    let view = view.as_deref().and_then(Option::as_ref);
    let body = html! {
        @if let Some(view) = view {
            (run::section(&app, &open, view, &runs, &pairs))
            (nose::section(&app, &open, view, &pairs))
        } @else {
            p.empty { "No run is in the book yet. The first begins with its charge." }
        }
        div.two {
            div {
                (now::stills(&app, &open, &standing))
                (now::stock(&open, &standing))
                (now::circuits(&app, &open))
                (list::last_runs(&app, &open, &runs, view.map(|v| v.ran.run)))
            }
            aside {
                (sheet::all(&open))
                (cautions())
            }
        }
    };
    let line = html! { p { (now::line(&app, &open, &standing)) } };
    let here = Page { place: Some(Place::Stillhouse), title: "Stillhouse", line, body };
    page(&app, &seen, &frame(&app), &here).into_response()
}

/// What stands beside all the work here.
fn cautions() -> Markup {
    html! {
        section.stack-s4 {
            (caution::draw(Hazard::Licence))
        }
    }
}
