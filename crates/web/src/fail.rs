//! The page when something failed: what, what is safe, what to do, and a number to quote.

use crate::assets;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use maud::{DOCTYPE, html};
use std::any::Any;
use std::sync::atomic::{AtomicU64, Ordering};

static NUMBER: AtomicU64 = AtomicU64::new(1);

/// A page for a request that cannot be answered, with the reason in words.
pub(crate) fn refused(status: StatusCode, why: &str) -> Response {
    let head = match status {
        StatusCode::NOT_FOUND => "Nothing stands here",
        StatusCode::FORBIDDEN => "Not from there",
        _ => "This page failed",
    };
    (status, bare(head, why, None)).into_response()
}

/// The page for an address that leads nowhere.
pub(crate) async fn not_found() -> Response {
    refused(StatusCode::NOT_FOUND, "No place, thing or time has this address.")
}

/// The page for a bug of ours in one request. The others go on.
pub(crate) fn panicked(_: Box<dyn Any + Send + 'static>) -> Response {
    let number = NUMBER.fetch_add(1, Ordering::Relaxed);
    let why = "Nothing was noted by this request; what was in the book is in the book. \
               Go back and try again; if it fails again, quote the number.";
    (StatusCode::INTERNAL_SERVER_ERROR, bare("This page failed", why, Some(number))).into_response()
}

fn bare(head: &str, why: &str, number: Option<u64>) -> maud::Markup {
    html! {
        (DOCTYPE)
        html lang="en-GB" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (head) }
                link rel="stylesheet" href=(assets::style());
            }
            body {
                main {
                    div.title { h1 { (head) } }
                    p.answer { (why) }
                    @if let Some(number) = number {
                        p { "Failure " (number) " since this program was started." }
                    }
                    p { a.act.main href="/today" { "To Today" } }
                }
            }
        }
    }
}
