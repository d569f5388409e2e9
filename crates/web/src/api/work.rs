//! The work that is due, and what a batch should give.

use super::{answer, fault, node, open};
use crate::app::{App, Working};
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::Response;
use plan::{Number, Work};
use serde_json::{Value, json};
use std::sync::Arc;

/// The work of the next 36 hours, late ones first.
pub(super) async fn due(State(app): State<Arc<App>>) -> Response {
    let working = match open(&app) {
        Ok(working) => working,
        Err(refused) => return *refused,
    };
    let now = app.clock.now();
    let standing = match working.standing(now) {
        Ok(standing) => standing,
        Err(trouble) => return fault(StatusCode::SERVICE_UNAVAILABLE, trouble.to_string()),
    };
    let forecasts = working.forecasts(now);
    let foretold = forecasts.is_some();
    let forecasts = forecasts.unwrap_or_default();
    let work = crate::places::due(&working, (&standing, &forecasts), now);
    let list: Vec<Value> = work.iter().map(shown).collect();
    // Until the forecasts are reckoned the work stands without what is expected of it.
    answer(StatusCode::OK, &json!({ "at": now.to_string(), "foretold": foretold, "work": list }))
}

fn shown(work: &Work) -> Value {
    let figures: Vec<Value> = work.figures.iter().map(number).collect();
    json!({
        "id": work.id, "kind": work.kind.word(), "act": work.act, "vessel": work.vessel,
        "make": work.make, "number": work.lot, "at": work.at.to_string(),
        "latest": work.latest.map(|at| at.to_string()), "late_min": work.late_min,
        "figures": figures, "why": work.why,
    })
}

fn number(number: &Number) -> Value {
    json!({
        "key": number.key, "label": number.label, "unit": number.unit, "value": number.value,
        "low": number.band.map(|b| b.0), "high": number.band.map(|b| b.1),
        "noted": number.noted,
    })
}

/// What a batch of a make should give.
pub(super) async fn batch(State(app): State<Arc<App>>, Path(make): Path<String>) -> Response {
    let working: Arc<Working> = match open(&app) {
        Ok(working) => working,
        Err(refused) => return *refused,
    };
    let Some(known) = working.house.make(&make) else {
        return fault(StatusCode::NOT_FOUND, "The house has no make of this name.");
    };
    let Some(forecasts) = working.forecasts(app.clock.now()) else {
        return fault(StatusCode::SERVICE_UNAVAILABLE, "The forecast is being reckoned.");
    };
    match forecasts.of_make(&known.key) {
        Some(batch) => answer(StatusCode::OK, &node::value(&batch.node())),
        None => fault(StatusCode::UNPROCESSABLE_ENTITY, "This make cannot be foretold."),
    }
}
