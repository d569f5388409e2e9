//! Results as JSON. A figure that could not be had is null.

use gauge::Node;
use process::Report;
use serde_json::{Map, Value, json};

/// Gives a result tree as JSON, keys in the order they were given.
pub(crate) fn value(node: &Node) -> Value {
    match node {
        Node::Number(v) => json!(v),
        Node::Text(word) => json!(word),
        Node::Flag(flag) => json!(flag),
        Node::Blank => Value::Null,
        Node::List(items) => items.iter().map(value).collect(),
        Node::Part(entries) => {
            Value::Object(entries.iter().map(|(k, v)| (k.clone(), value(v))).collect())
        }
    }
}

/// Gives a stage's report: its result with `balance` and, where there are any, `warnings`.
pub(crate) fn report(report: &Report) -> Value {
    let mut map = match value(&report.result) {
        Value::Object(map) => map,
        other => Map::from_iter([("result".to_owned(), other)]),
    };
    map.insert("balance".to_owned(), value(&report.balance.node()));
    if !report.warnings.is_empty() {
        let warnings = report.warnings.iter().map(|w| json!({ "code": w.code, "says": w.says }));
        map.insert("warnings".to_owned(), warnings.collect());
    }
    Value::Object(map)
}

/// Gives the text of a JSON value, indented, with a newline at its end.
pub(crate) fn pretty(value: &Value) -> String {
    format!("{value:#}\n")
}
