//! What the tests of all stages share: an example case as a tree.

use gauge::Node;
use process::Face;

/// Gives the example of a stage as the tree that its reader takes apart.
pub(crate) fn example(face: &Face) -> Node {
    case(face.example)
}

/// The text of a case as that tree.
pub(crate) fn case(text: &str) -> Node {
    let table: toml::Table = text.parse().unwrap_or_else(|e| panic!("{text}: {e}"));
    node(toml::Value::Table(table))
}

fn node(value: toml::Value) -> Node {
    match value {
        toml::Value::Float(v) => Node::Number(v),
        toml::Value::Integer(v) => Node::Number(v as f64),
        toml::Value::Boolean(v) => Node::Flag(v),
        toml::Value::String(v) => Node::Text(v),
        toml::Value::Datetime(v) => Node::Text(v.to_string()),
        toml::Value::Array(items) => Node::List(items.into_iter().map(node).collect()),
        toml::Value::Table(table) => Node::part(table.into_iter().map(|(k, v)| (k, node(v)))),
    }
}
