//! The same by JSON: for scales, meters, sensors, and whoever reckons with a program of their own.
//! What is here is described at `/api/openapi.json`.

mod book;
mod maltings;
mod node;
mod reckon;
mod stillhouse;
mod work;

use crate::app::{App, Working};
use axum::Router;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{MethodRouter, get};
use serde_json::{Value, json};
use std::sync::Arc;

/// The description, written by hand.
const OPENAPI: &str = include_str!("openapi.json");

/// Every address and what answers it. The description is held against this list by a test.
fn addresses() -> Vec<(&'static str, MethodRouter<Arc<App>>)> {
    vec![
        ("/api/openapi.json", get(openapi)),
        ("/api/reckonings", get(reckon::list)),
        ("/api/reckonings/{key}", get(reckon::one)),
        ("/api/accounts", get(book::accounts)),
        ("/api/accounts/{place}/{name}/movements", get(book::movements)),
        ("/api/entries", get(book::entries).post(book::note)),
        ("/api/entries/{serial}", get(book::entry)),
        ("/api/maltings/pieces", get(maltings::pieces)),
        ("/api/maltings/pieces/{piece}", get(maltings::piece)),
        ("/api/maltings/kiln", get(maltings::kiln)),
        ("/api/maltings/queue", get(maltings::queue)),
        ("/api/maltings/bins", get(maltings::bins)),
        ("/api/maltings/lots", get(maltings::lots)),
        ("/api/maltings/gate", get(maltings::gate)),
        ("/api/stillhouse/runs", get(stillhouse::runs)),
        ("/api/stillhouse/runs/{run}", get(stillhouse::run)),
        ("/api/stillhouse/runs/{run}/heart", get(stillhouse::heart)),
        ("/api/stillhouse/circuits/{make}", get(stillhouse::circuit)),
        ("/api/stillhouse/charges/{still}", get(stillhouse::next)),
        ("/api/work", get(work::due)),
        ("/api/batches/{make}", get(work::batch)),
    ]
}

pub(crate) fn router() -> Router<Arc<App>> {
    addresses()
        .into_iter()
        .fold(Router::new(), |router, (address, answer)| router.route(address, answer))
}

async fn openapi() -> impl IntoResponse {
    ([(header::CONTENT_TYPE, "application/json")], OPENAPI)
}

/// An answer with a body.
fn answer(status: StatusCode, body: &Value) -> Response {
    ([(header::CONTENT_TYPE, "application/json")], body.to_string())
        .into_response()
        .with_status(status)
}

/// A response under another status.
trait WithStatus {
    fn with_status(self, status: StatusCode) -> Self;
}

impl WithStatus for Response {
    fn with_status(mut self, status: StatusCode) -> Self {
        *self.status_mut() = status;
        self
    }
}

/// Faults, each with the field that bears it where one does.
fn faults(
    status: StatusCode,
    faults: impl IntoIterator<Item = (Option<String>, String)>,
) -> Response {
    let list: Vec<Value> =
        faults.into_iter().map(|(field, says)| json!({ "field": field, "says": says })).collect();
    answer(status, &json!({ "faults": list }))
}

fn fault(status: StatusCode, says: impl Into<String>) -> Response {
    faults(status, [(None, says.into())])
}

/// The book, or the answer that there is none yet.
fn open(app: &App) -> Result<Arc<Working>, Box<Response>> {
    app.working().ok_or_else(|| {
        Box::new(fault(StatusCode::SERVICE_UNAVAILABLE, "No book is open yet; try again later."))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_address_is_described_and_every_description_is_answered() {
        let described: Value = serde_json::from_str(OPENAPI).expect("the description is JSON");
        assert_eq!(described["openapi"], "3.1.0");
        let paths = described["paths"].as_object().expect("paths");
        let mut described: Vec<&str> = paths.keys().map(String::as_str).collect();
        let mut answered: Vec<&str> = addresses().iter().map(|(a, _)| *a).collect();
        described.sort_unstable();
        answered.sort_unstable();
        assert_eq!(described, answered);
    }

    fn walk<'a>(value: &'a Value, out: &mut Vec<&'a str>) {
        match value {
            Value::Object(map) => {
                for (key, value) in map {
                    if let ("$ref", Value::String(to)) = (key.as_str(), value) {
                        out.push(to);
                    }
                    walk(value, out);
                }
            }
            Value::Array(items) => items.iter().for_each(|v| walk(v, out)),
            _ => {}
        }
    }

    #[test]
    fn every_reference_in_the_description_leads_somewhere() {
        let whole: Value = serde_json::from_str(OPENAPI).expect("the description is JSON");
        let mut references = Vec::new();
        walk(&whole, &mut references);
        assert!(!references.is_empty());
        for to in references {
            let pointer = to.strip_prefix('#').expect("a reference within the file");
            assert!(whole.pointer(pointer).is_some(), "{to}");
        }
    }
}
