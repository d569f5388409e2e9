//! Stillhouse: what runs, what any cut of it would give, the circuit it belongs to, and the sheet
//! of the next charge.

mod noting;
mod now;

use crate::app::{App, Seen};
use crate::caution::{self, Hazard};
use crate::layout::{Page, Place, page};
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
        .route("/stillhouse/note/{still}", get(noting::show))
        .route("/stillhouse/note", post(noting::note))
        .route("/stillhouse/check", get(noting::check))
}

async fn show(State(app): State<Arc<App>>, seen: Seen, Query(_): Query<Pairs>) -> Response {
    let open = match working(&app, &seen, Place::Stillhouse) {
        Ok(open) => open,
        Err(page) => return *page,
    };
    let standing = match open.book.standing_without_casks(app.clock.now()) {
        Ok(standing) => standing,
        Err(fault) => return unreadable(&fault),
    };
    let body = html! {
        div.two {
            div { (now::stills(&app, &open, &standing)) }
            aside {
                (now::stock(&open, &standing))
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
            (caution::draw(Hazard::NotForDrinking))
            (caution::draw(Hazard::Licence))
        }
    }
}
