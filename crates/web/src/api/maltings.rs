//! Pieces, the kiln, bins, lots and the gate: what the Maltings show.

use super::open;
use super::stillhouse::told;
use crate::app::App;
use crate::places::maltings_api as place;
use axum::extract::{Path, Query, State};
use axum::response::Response;
use std::sync::Arc;

type Pairs = Vec<(String, String)>;

/// The pieces not yet stripped.
pub(super) async fn pieces(State(app): State<Arc<App>>) -> Response {
    match open(&app) {
        Ok(working) => told(place::pieces(&app, &working)),
        Err(refused) => *refused,
    }
}

/// One piece.
pub(super) async fn piece(State(app): State<Arc<App>>, Path(piece): Path<String>) -> Response {
    match open(&app) {
        Ok(working) => told(place::piece(&app, &working, &piece)),
        Err(refused) => *refused,
    }
}

/// What is on the kiln.
pub(super) async fn kiln(State(app): State<Arc<App>>) -> Response {
    match open(&app) {
        Ok(working) => told(place::kiln(&app, &working)),
        Err(refused) => *refused,
    }
}

/// What waits for the kiln.
pub(super) async fn queue(State(app): State<Arc<App>>) -> Response {
    match open(&app) {
        Ok(working) => told(place::queue(&app, &working)),
        Err(refused) => *refused,
    }
}

/// What lies in the bins.
pub(super) async fn bins(State(app): State<Arc<App>>) -> Response {
    match open(&app) {
        Ok(working) => told(place::bins(&app, &working)),
        Err(refused) => *refused,
    }
}

/// The lots in store.
pub(super) async fn lots(State(app): State<Arc<App>>) -> Response {
    match open(&app) {
        Ok(working) => told(place::lots(&app, &working)),
        Err(refused) => *refused,
    }
}

/// What the gate says of a lorry.
pub(super) async fn gate(State(app): State<Arc<App>>, Query(pairs): Query<Pairs>) -> Response {
    match open(&app) {
        Ok(working) => told(place::at_the_gate(&working, &pairs)),
        Err(refused) => *refused,
    }
}
