//! One folder a place.

mod bench;

use crate::app::{App, Seen};
use crate::layout::{Frame, Page, Place, page};
use axum::Router;
use axum::extract::State;
use axum::routing::get;
use maud::{Markup, html};
use std::sync::Arc;

/// Every address of every place.
pub(crate) fn router() -> Router<Arc<App>> {
    Router::new().route("/places", get(all)).merge(bench::router())
}

/// The full list with the live lines: where the thumb bar leads.
async fn all(State(app): State<Arc<App>>, seen: Seen) -> Markup {
    let frame = Frame::default();
    let body = html! {
        ul.all-places {
            @for place in Place::ALL {
                li { a href=(place.address()) { b { (place.name()) } } }
            }
        }
    };
    let places = Page { place: None, title: "Places", line: html! {}, body };
    page(&app, &seen, &frame, &places)
}
