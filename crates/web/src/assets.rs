//! The style sheet and the script, each with a mark of its content in its address, so that a
//! browser may keep it for ever and still never shows an old one.

use axum::extract::Path;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use std::hash::{DefaultHasher, Hash, Hasher};
use std::sync::LazyLock;

struct Asset {
    name: String,
    kind: &'static str,
    text: &'static str,
}

fn asset(stem: &str, ending: &str, kind: &'static str, text: &'static str) -> Asset {
    let mut hasher = DefaultHasher::new();
    text.hash(&mut hasher);
    Asset { name: format!("{stem}-{:016x}.{ending}", hasher.finish()), kind, text }
}

static STYLE: LazyLock<Asset> = LazyLock::new(|| {
    let text = include_str!("static/shiel.css");
    asset("shiel", "css", "text/css; charset=utf-8", text)
});
static SCRIPT: LazyLock<Asset> = LazyLock::new(|| {
    let text = include_str!("static/shiel.js");
    asset("shiel", "js", "text/javascript; charset=utf-8", text)
});

/// The address of the style sheet.
pub(crate) fn style() -> String {
    format!("/static/{}", STYLE.name)
}

/// The address of the script.
pub(crate) fn script() -> String {
    format!("/static/{}", SCRIPT.name)
}

/// Serves one of them.
pub(crate) async fn file(Path(name): Path<String>) -> Response {
    let found = [&*STYLE, &*SCRIPT].into_iter().find(|a| a.name == name);
    match found {
        Some(asset) => (
            [
                (header::CONTENT_TYPE, asset.kind),
                (header::CACHE_CONTROL, "public, max-age=31536000, immutable"),
            ],
            asset.text,
        )
            .into_response(),
        None => StatusCode::NOT_FOUND.into_response(),
    }
}
