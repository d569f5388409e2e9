//! Bench: the reckonings one by one, live as figures are typed, each with its formula, its source
//! and how sure it is. By address alone it works too: `/bench/reduce?volume_20_l=1000&…`.

mod asked;
mod draw;
mod example;

use crate::app::{App, Seen};
use crate::fail;
use crate::layout::{Page, Place, page};
use crate::places::frame;
use asked::Asked;
use axum::Router;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use gauge::measure::{self, Measure};
use maud::html;
use std::sync::Arc;

pub(crate) fn router() -> Router<Arc<App>> {
    Router::new().route("/bench", get(first)).route("/bench/{key}", get(show))
}

/// How many reckonings there are.
pub(crate) fn count() -> usize {
    measure::all().len()
}

async fn first(State(app): State<Arc<App>>, seen: Seen) -> Response {
    match measure::all().first() {
        Some(measure) => whole(&app, &seen, measure, &Asked::example(measure)),
        None => fail::refused(StatusCode::NOT_FOUND, "No reckonings stand here."),
    }
}

async fn show(
    State(app): State<Arc<App>>,
    seen: Seen,
    Path(key): Path<String>,
    Query(pairs): Query<Vec<(String, String)>>,
) -> Response {
    let Some(measure) = measure::find(&key) else {
        return fail::refused(StatusCode::NOT_FOUND, "No reckoning has this name.");
    };
    let pairs: Vec<(String, String)> = pairs.into_iter().filter(|(k, _)| k != "light").collect();
    let asked = if pairs.is_empty() { Asked::example(measure) } else { Asked::of(measure, &pairs) };
    if seen.part {
        return draw::parts(measure, &asked).into_response();
    }
    whole(&app, &seen, measure, &asked)
}

fn whole(app: &App, seen: &Seen, chosen: &'static Measure, asked: &Asked) -> Response {
    let body = html! {
        div.three {
            nav.index aria-label="Reckonings" { ul {
                @for measure in measure::all() {
                    li { a href={ "/bench/" (measure.key) }
                        aria-current=[(measure.key == chosen.key).then_some("page")] {
                        (measure.title)
                    } }
                }
            } }
            (draw::reckoning(chosen, asked))
        }
    };
    let line = html! { p { "the reckonings one by one, each with its source" } };
    let page_ = Page { place: Some(Place::Bench), title: "Bench", line, body };
    page(app, seen, &frame(app), &page_).into_response()
}
