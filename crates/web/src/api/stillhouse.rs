//! Runs, their hearts, circuits and charge sheets: what the Stillhouse shows.

use super::{answer, fault, faults, open};
use crate::app::App;
use crate::places::stillhouse_api::{self as place, Refused};
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::Response;
use serde_json::Value;
use std::sync::Arc;

type Pairs = Vec<(String, String)>;

/// The answer, or why there is none.
pub(super) fn told(found: Result<Value, Refused>) -> Response {
    match found {
        Ok(value) => answer(StatusCode::OK, &value),
        Err(Refused::Missing(says)) => fault(StatusCode::NOT_FOUND, says),
        Err(Refused::Wrong(found)) => faults(StatusCode::UNPROCESSABLE_ENTITY, found),
        Err(Refused::NotNow(says)) => fault(StatusCode::SERVICE_UNAVAILABLE, says),
    }
}

/// The last runs.
pub(super) async fn runs(State(app): State<Arc<App>>) -> Response {
    match open(&app) {
        Ok(working) => told(place::runs(&app, &working)),
        Err(refused) => *refused,
    }
}

/// One run.
pub(super) async fn run(State(app): State<Arc<App>>, Path(run): Path<String>) -> Response {
    match open(&app) {
        Ok(working) => told(place::run(&app, &working, &run)),
        Err(refused) => *refused,
    }
}

/// What the heart of a run would be.
pub(super) async fn heart(
    State(app): State<Arc<App>>,
    Path(run): Path<String>,
    Query(pairs): Query<Pairs>,
) -> Response {
    match open(&app) {
        Ok(working) => told(place::heart(&app, &working, &run, &pairs)),
        Err(refused) => *refused,
    }
}

/// A make's circuit.
pub(super) async fn circuit(
    State(app): State<Arc<App>>,
    Path(make): Path<String>,
    Query(pairs): Query<Pairs>,
) -> Response {
    match open(&app) {
        Ok(working) => told(place::circuit(&app, &working, &make, &pairs)),
        Err(refused) => *refused,
    }
}

/// The next charge of a still.
pub(super) async fn next(
    State(app): State<Arc<App>>,
    Path(still): Path<String>,
    Query(pairs): Query<Pairs>,
) -> Response {
    match open(&app) {
        Ok(working) => told(place::next(&app, &working, &still, &pairs)),
        Err(refused) => *refused,
    }
}
