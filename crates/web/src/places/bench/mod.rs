//! Bench: the reckonings one by one, each with its source.
use crate::app::App;
use axum::Router;
use std::sync::Arc;
pub(crate) fn router() -> Router<Arc<App>> {
    Router::new()
}
