//! The places a person stands in, as pages.
//!
//! Every page is drawn on the server and whole without script; one small script of ours makes forms
//! answer while figures are typed and keeps a reading that cannot be sent. No reckoning lives here:
//! what a page shows, a room below computes.

mod api;
pub mod app;
mod assets;
pub mod caution;
pub mod chart;
mod fail;
pub mod figures;
pub mod form;
mod guard;
pub mod jobs;
mod layout;
mod places;
pub mod table;
pub mod when;

pub use app::{App, Clock, Hosts, Working};
pub use jobs::{Job, Jobs, Progress};

use axum::Router;
use axum::http::StatusCode;
use axum::routing::get;
use std::future::Future;
use std::sync::Arc;
use std::time::Duration;
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::compression::CompressionLayer;
use tower_http::limit::RequestBodyLimitLayer;
use tower_http::timeout::TimeoutLayer;

/// The most bytes one request may bring: a reading with a remark is a few hundred.
const BODY_LIMIT: usize = 64 * 1024;

/// Every address of the program.
pub fn router(app: Arc<App>) -> Router {
    Router::new()
        .merge(places::router())
        .merge(api::router())
        .merge(jobs::router())
        .merge(layout::router())
        .route("/static/{file}", get(assets::file))
        .route("/favicon.ico", get(|| async { StatusCode::NO_CONTENT }))
        .fallback(fail::not_found)
        .layer(axum::middleware::from_fn_with_state(app.clone(), guard::check))
        .layer(RequestBodyLimitLayer::new(BODY_LIMIT))
        .layer(TimeoutLayer::with_status_code(StatusCode::GATEWAY_TIMEOUT, Duration::from_secs(30)))
        .layer(CatchPanicLayer::custom(fail::panicked))
        .layer(CompressionLayer::new())
        .with_state(app)
}

/// Serves the pages on `listener` until `shutdown` comes; requests under way are finished.
pub async fn serve(
    app: Arc<App>,
    listener: tokio::net::TcpListener,
    shutdown: impl Future<Output = ()> + Send + 'static,
) -> std::io::Result<()> {
    axum::serve(listener, router(app)).with_graceful_shutdown(shutdown).await
}
