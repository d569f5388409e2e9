//! The reckonings.

use super::{answer, fault, faults, node};
use axum::extract::{Path, Query};
use axum::http::StatusCode;
use axum::response::Response;
use gauge::measure::{self, Input, Measure, Need};
use gauge::{Fault, Node};
use serde_json::{Value, json};

/// All of them, with their inputs and outputs.
pub(super) async fn list() -> Response {
    let all: Vec<Value> = measure::all().iter().map(described).collect();
    answer(StatusCode::OK, &json!({ "reckonings": all }))
}

fn described(measure: &Measure) -> Value {
    let inputs: Vec<Value> = measure.inputs.iter().map(input).collect();
    let outputs: Vec<Value> = measure
        .outputs
        .iter()
        .map(|o| json!({ "key": o.key, "label": o.label, "unit": o.unit }))
        .collect();
    json!({
        "key": measure.key, "title": measure.title, "does": measure.does,
        "inputs": inputs, "outputs": outputs,
        "formula": measure.formula, "source": measure.source, "caveat": measure.caveat,
    })
}

/// The group of which one is wanted, where the figure belongs to one.
fn group(need: Need) -> Option<&'static str> {
    match need {
        Need::OneOf(group) => Some(group),
        Need::Must | Need::MayBeLeft => None,
    }
}

fn input(input: &Input) -> Value {
    match input {
        Input::Figure { field, need } => json!({
            "key": field.key, "label": field.label, "unit": field.unit,
            "low": field.low, "high": field.high, "default": field.default,
            "one_of": group(*need),
            "may_be_left": matches!(need, Need::MayBeLeft),
        }),
        Input::Choice { key, label, words } => {
            json!({ "key": key, "label": label, "words": words })
        }
    }
}

/// One, reckoned from the figures in the address; with `lots` of them where it takes several,
/// those of the second as `key.2`.
pub(super) async fn one(
    Path(key): Path<String>,
    Query(pairs): Query<Vec<(String, String)>>,
) -> Response {
    let Some(measure) = measure::find(&key) else {
        return fault(StatusCode::NOT_FOUND, "No reckoning has this name.");
    };
    let mut lots: Vec<Vec<(String, Node)>> = vec![Vec::new()];
    for (name, text) in &pairs {
        let (key, lot) = match name.rsplit_once('.') {
            Some((key, lot)) => (key, lot.parse::<usize>().unwrap_or(1).clamp(1, 100)),
            None => (name.as_str(), 1),
        };
        while lots.len() < lot {
            lots.push(Vec::new());
        }
        let figure = sheets::figure::typed(text).map(Node::Number);
        let value = figure.unwrap_or_else(|| Node::Text(text.clone()));
        lots[lot - 1].push((key.to_owned(), value));
    }
    let given: Vec<Node> = lots.into_iter().map(Node::Part).collect();
    let outcome = match measure.reckon_lots(&given) {
        Ok(outcome) => outcome,
        Err(found) => return faults(StatusCode::UNPROCESSABLE_ENTITY, found.iter().map(told)),
    };
    let values: serde_json::Map<String, Value> =
        outcome.values.iter().map(|(k, v)| ((*k).to_owned(), node::value(v))).collect();
    let known: serde_json::Map<String, Value> = measure
        .uncertainty_lots(&given, true)
        .unwrap_or_default()
        .iter()
        .map(|k| (k.key.to_owned(), json!(k.standard_uncertainty)))
        .collect();
    let warnings: Vec<&str> = outcome.warnings.iter().map(|w| w.says.as_str()).collect();
    let body = json!({ "values": values, "standard_uncertainty": known, "warnings": warnings });
    answer(StatusCode::OK, &body)
}

/// A fault with its field.
pub(super) fn told(fault: &Fault) -> (Option<String>, String) {
    (fault.field().map(str::to_owned), fault.to_string())
}
