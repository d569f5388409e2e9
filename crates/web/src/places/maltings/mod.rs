//! Maltings: barley lots and how to steep them, pieces on their floors, the kiln, the bins, and
//! what waits for the kiln.

pub(crate) mod api;
mod asking;
mod bins;
mod constants;
pub(crate) mod desk;
mod floors;
mod intake;
mod kiln;
mod lots;
mod noting;
mod now;
mod picture;
mod piece;
mod proposal;
mod queue;
mod sheet;
mod steeps;
mod turning;

use crate::app::{App, Seen, Working};
use crate::caution::{self, Hazard};
use crate::layout::{Page, Place, page};
use crate::places::today;
use crate::places::today::{asked, sent::Filled, unreadable};
use crate::places::{frame, working};
use axum::Router;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use desk::Seen as Maltings;
use maud::html;
use noting::Open;
pub(super) use now::live;
use std::sync::Arc;

type Pairs = Vec<(String, String)>;

pub(crate) fn router() -> Router<Arc<App>> {
    Router::new()
        .route("/maltings", get(show))
        .route("/maltings/note", post(noting::note))
        .route("/maltings/check", get(today::check))
        .route("/maltings/intake", get(intake::show).post(intake::note))
        .route("/maltings/piece/{piece}", get(piece::show))
        .route("/maltings/kiln/proposal", get(proposal::look))
        .route("/maltings/kiln/stop", post(proposal::stop))
        .route("/maltings/kiln/firing", post(proposal::keep_it))
        .route("/maltings/kiln/sheet", get(sheet::show))
        .route("/maltings/intake/check", get(intake::check))
}

async fn show(State(app): State<Arc<App>>, seen: Seen, Query(pairs): Query<Pairs>) -> Response {
    let open = match working(&app, &seen, Place::Maltings) {
        Ok(open) => open,
        Err(page) => return *page,
    };
    let ask = asked(&app, &open, &pairs).ok().flatten();
    let filled = Filled::of(&app, &pairs);
    let opened = ask.as_ref().map(|ask| Open { ask, filled: &filled });
    whole(&app, &seen, &open, (&pairs, opened), StatusCode::OK)
}

/// The whole place as it is asked for, with the form that is open in it.
fn whole(
    app: &Arc<App>,
    seen: &Seen,
    open: &Arc<Working>,
    (pairs, opened): (&Pairs, Option<Open<'_>>),
    status: StatusCode,
) -> Response {
    let maltings = match Maltings::at(open, app.clock.now()) {
        Ok(maltings) => maltings,
        Err(fault) => return unreadable(&fault),
    };
    let body = html! {
        (noting::done(pairs))
        (floors::section(app, open, &maltings, opened))
        (steeps::section(app, open, &maltings, opened))
        div.two {
            div {
                (kiln::section(app, open, &maltings, opened))
                (proposal::section(app, open, &maltings, pairs))
            }
            aside {
                (queue::section(app, open, &maltings))
                section { (caution::draw(Hazard::Kiln)) }
            }
        }
        (bins::section(app, open, &maltings))
        (lots::section(app, open, &maltings))
        (constants::section())
    };
    let line = html! { p { (now::line(app, open, &maltings.standing)) } };
    let here = Page { place: Some(Place::Maltings), title: "Maltings", line, body };
    (status, page(app, seen, &frame(app), &here)).into_response()
}
