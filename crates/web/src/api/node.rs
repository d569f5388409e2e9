//! Crossing between the program's trees and JSON.

use gauge::Node;
use serde_json::{Map, Value};

/// A tree as JSON. A figure that could not be had is null.
pub(super) fn value(node: &Node) -> Value {
    match node {
        Node::Number(figure) => Value::from(*figure),
        Node::Text(text) => Value::from(text.as_str()),
        Node::Flag(flag) => Value::from(*flag),
        Node::Part(entries) => {
            let all = entries.iter().map(|(key, node)| (key.clone(), value(node)));
            Value::Object(all.collect::<Map<_, _>>())
        }
        Node::List(items) => Value::Array(items.iter().map(value).collect()),
        Node::Blank => Value::Null,
    }
}

/// JSON as a tree.
pub(super) fn node(value: &Value) -> Node {
    match value {
        Value::Null => Node::Blank,
        Value::Bool(flag) => Node::Flag(*flag),
        Value::Number(figure) => figure.as_f64().map_or(Node::Blank, Node::from),
        Value::String(text) => Node::Text(text.clone()),
        Value::Array(items) => Node::List(items.iter().map(node).collect()),
        Value::Object(map) => {
            // What is null was not given.
            let given = map.iter().filter(|(_, v)| !v.is_null());
            Node::Part(given.map(|(key, v)| (key.clone(), node(v))).collect())
        }
    }
}
