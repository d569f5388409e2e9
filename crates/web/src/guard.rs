//! Who may write: a request that changes something must come from a page of this program, and
//! where nobody logs in it must be sent to this machine by one of its own names.

use crate::app::{App, Hosts};
use crate::fail;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode, Uri, header};
use axum::middleware::Next;
use axum::response::Response;
use std::sync::Arc;

/// Refuses what comes from elsewhere, and tells the browser what a page of ours may load.
pub(crate) async fn check(State(app): State<Arc<App>>, request: Request, next: Next) -> Response {
    // The verdict is taken before anything is awaited: a borrowed request is not `Send`.
    let verdict = verdict(app.hosts, request.method(), request.uri(), request.headers());
    let mut response = match verdict {
        Ok(()) => next.run(request).await,
        Err(why) => fail::refused(StatusCode::FORBIDDEN, why),
    };
    let headers = response.headers_mut();
    headers.insert(
        header::CONTENT_SECURITY_POLICY,
        HeaderValue::from_static(
            "default-src 'none'; style-src 'self'; script-src 'self'; connect-src 'self'; \
             img-src 'self' data:; form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
        ),
    );
    headers.insert(header::X_CONTENT_TYPE_OPTIONS, HeaderValue::from_static("nosniff"));
    headers.insert(header::REFERRER_POLICY, HeaderValue::from_static("same-origin"));
    response
}

fn verdict(
    hosts: Hosts,
    method: &Method,
    uri: &Uri,
    headers: &HeaderMap,
) -> Result<(), &'static str> {
    let text = |name| headers.get(name).and_then(|v: &HeaderValue| v.to_str().ok());
    // HTTP/2 has no Host header; there the authority of the address stands for it.
    let host =
        text(header::HOST).or_else(|| uri.authority().map(axum::http::uri::Authority::as_str));
    if hosts == Hosts::Loopback && !host.is_some_and(is_loopback) {
        return Err("This program answers only to this machine. Ask it at 127.0.0.1.");
    }
    if matches!(*method, Method::GET | Method::HEAD | Method::OPTIONS) {
        return Ok(());
    }
    let site = headers.get("sec-fetch-site").and_then(|v| v.to_str().ok());
    let origin = text(header::ORIGIN).map(|o| o.split_once("://").map_or(o, |(_, rest)| rest));
    let ours = match (site, origin) {
        (Some(site), _) => matches!(site, "same-origin" | "none"),
        (None, Some(origin)) => Some(origin) == host,
        // No browser: a scale or a meter that posts. There is no session to be borrowed.
        (None, None) => true,
    };
    if ours {
        Ok(())
    } else {
        Err("This came from another page. Note it on a page of this program.")
    }
}

fn is_loopback(host: &str) -> bool {
    let name = match host.strip_prefix('[') {
        Some(rest) => rest.split(']').next().unwrap_or(rest),
        None => host.rsplit_once(':').map_or(host, |(name, _)| name),
    };
    name.eq_ignore_ascii_case("localhost")
        || name.parse::<std::net::IpAddr>().is_ok_and(|ip| ip.is_loopback())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ask(method: &Method, pairs: &[(&'static str, &str)]) -> bool {
        let mut headers = HeaderMap::new();
        for (key, value) in pairs {
            headers.insert(*key, value.parse().expect("a header"));
        }
        verdict(Hosts::Loopback, method, &Uri::from_static("/today"), &headers).is_ok()
    }

    #[test]
    fn a_post_from_another_page_is_refused() {
        let host = ("host", "127.0.0.1:8080");
        let post = Method::POST;
        assert!(ask(&post, &[host]));
        assert!(ask(&post, &[host, ("sec-fetch-site", "same-origin")]));
        assert!(!ask(&post, &[host, ("sec-fetch-site", "cross-site")]));
        assert!(!ask(&post, &[host, ("sec-fetch-site", "same-site")]));
        assert!(ask(&post, &[host, ("origin", "http://127.0.0.1:8080")]));
        assert!(!ask(&post, &[host, ("origin", "http://elsewhere.test")]));
        assert!(!ask(&post, &[host, ("origin", "null")]));
    }

    #[test]
    fn a_name_that_is_not_this_machine_is_not_answered() {
        let get = Method::GET;
        for host in ["localhost:80", "127.0.0.1", "[::1]:8080", "127.0.0.9:1"] {
            assert!(ask(&get, &[("host", host)]), "{host}");
        }
        for host in ["elsewhere.test", "192.0.2.1:8080", "localhost.elsewhere.test:80"] {
            assert!(!ask(&get, &[("host", host)]), "{host}");
        }
        assert!(!ask(&get, &[]));
    }
}
