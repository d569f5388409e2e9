//! "Keep these cuts": the decision is noted in the book for the make, and holds from now on.

use super::Pairs;
use super::run::{Cutting, view, whole};
use crate::app::{App, Seen};
use crate::layout::Place;
use crate::places::put::put;
use crate::places::working;
use axum::extract::{Form, Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use std::sync::Arc;

/// Notes the cuts in the fields; what cannot be is said beside them, and nothing is lost.
pub(super) async fn keep(
    State(app): State<Arc<App>>,
    seen: Seen,
    Path(run): Path<String>,
    Form(pairs): Form<Pairs>,
) -> Response {
    let open = match working(&app, &seen, Place::Stillhouse) {
        Ok(open) => open,
        Err(page) => return *page,
    };
    let view = match view(&app, &open, &run) {
        Ok(view) => view,
        Err(refused) => return *refused,
    };
    let cuts = Cutting::of(&view, &pairs).and_then(|cutting| cutting.heart.map(|h| h.cuts));
    let Some(cuts) = cuts else {
        return whole(&app, &seen, &open, &view, &pairs, StatusCode::UNPROCESSABLE_ENTITY);
    };
    let exact = crate::form::bare_digits;
    let told = [
        ("make".to_owned(), view.ran.make.clone()),
        ("heart_from_min".to_owned(), exact(cuts.from_min)),
        ("heart_to_pct".to_owned(), exact(cuts.to_pct)),
        ("reason".to_owned(), format!("from run {}", view.ran.run)),
    ];
    let id = pairs.iter().find(|(k, _)| k == "id").map_or("", |(_, v)| v.as_str());
    match put(&app, &open, "cuts", &told, id) {
        Ok(serial) => {
            let back = format!(
                "/stillhouse/run/{}?from_min={}&to_pct={}&kept={serial}#cutting",
                view.ran.run,
                exact(cuts.from_min),
                exact(cuts.to_pct)
            );
            Redirect::to(&back).into_response()
        }
        Err(says) => {
            let mut pairs = pairs;
            pairs.push(("why".to_owned(), says));
            whole(&app, &seen, &open, &view, &pairs, StatusCode::UNPROCESSABLE_ENTITY)
        }
    }
}
