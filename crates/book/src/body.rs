//! The bytes of an entry: UTF-8 JSON, written once and never written again to verify.

use crate::account::{Account, Commodity};
use crate::amount::Amount;
use crate::entry::{Balanced, Entry, Heading, Posting, Role};
use crate::moment::Moment;
use gauge::Node;
use serde_json::{Map, Number, Value};

/// What a body says, once read.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Read {
    pub(crate) heading: Heading,
    pub(crate) kind: String,
    pub(crate) version: u32,
    pub(crate) postings: Vec<Posting>,
    pub(crate) data: Node,
}

/// Writes the body. Amounts are decimal strings of integers: JSON numbers are doubles and end at
/// 2^53.
pub(crate) fn write(entry: &Entry<Balanced>) -> Vec<u8> {
    let heading = entry.heading();
    let postings = entry.postings().iter().map(|posting| {
        let mut one = Map::new();
        one.insert("account".into(), posting.account.to_string().into());
        one.insert("commodity".into(), posting.commodity.key().into());
        one.insert("amount".into(), posting.amount.micro().to_string().into());
        Value::Object(one)
    });
    let mut body = Map::new();
    body.insert("id".into(), heading.id.as_str().into());
    body.insert("happened_at".into(), heading.happened_at.to_string().into());
    body.insert("noted_at".into(), heading.noted_at.to_string().into());
    body.insert("writer".into(), heading.writer.as_str().into());
    body.insert("role".into(), heading.role.key().into());
    body.insert("kind".into(), entry.kind().into());
    body.insert("version".into(), entry.version().into());
    body.insert("postings".into(), Value::Array(postings.collect()));
    body.insert("data".into(), value(entry.data()));
    Value::Object(body).to_string().into_bytes()
}

/// Reads a body; `None` when it is not one of ours.
pub(crate) fn read(bytes: &[u8]) -> Option<Read> {
    let body: Value = serde_json::from_slice(bytes).ok()?;
    let text = |key: &str| body.get(key)?.as_str().map(str::to_owned);
    let moment = |key: &str| text(key)?.parse::<Moment>().ok();
    let postings = body.get("postings")?.as_array()?;
    let postings: Option<Vec<Posting>> = postings
        .iter()
        .map(|one| {
            Some(Posting {
                account: one.get("account")?.as_str()?.parse::<Account>().ok()?,
                commodity: Commodity::from_key(one.get("commodity")?.as_str()?)?,
                amount: Amount::from_micro(one.get("amount")?.as_str()?.parse().ok()?),
            })
        })
        .collect();
    Some(Read {
        heading: Heading {
            id: text("id")?,
            happened_at: moment("happened_at")?,
            noted_at: moment("noted_at")?,
            writer: text("writer")?,
            role: Role::from_key(&text("role")?)?,
        },
        kind: text("kind")?,
        version: u32::try_from(body.get("version")?.as_u64()?).ok()?,
        postings: postings?,
        data: node(body.get("data")?),
    })
}

/// Whether a body is that of `id`, without reading it all: the id is written first.
pub(crate) fn begins_with_id(bytes: &[u8], id: &str) -> bool {
    let start = format!("{{\"id\":{}", Value::String(id.to_owned()));
    bytes.starts_with(start.as_bytes())
}

/// A tree as JSON.
pub(crate) fn value(node: &Node) -> Value {
    match node {
        Node::Number(figure) => Number::from_f64(*figure).map_or(Value::Null, Value::Number),
        Node::Text(text) => Value::String(text.clone()),
        Node::Flag(flag) => Value::Bool(*flag),
        Node::Part(entries) => {
            Value::Object(entries.iter().map(|(key, one)| (key.clone(), value(one))).collect())
        }
        Node::List(items) => Value::Array(items.iter().map(value).collect()),
        Node::Blank => Value::Null,
    }
}

/// JSON as a tree.
pub(crate) fn node(value: &Value) -> Node {
    match value {
        Value::Null => Node::Blank,
        Value::Bool(flag) => Node::Flag(*flag),
        Value::Number(figure) => figure.as_f64().map_or(Node::Blank, Node::Number),
        Value::String(text) => Node::Text(text.clone()),
        Value::Array(items) => Node::List(items.iter().map(node).collect()),
        Value::Object(map) => Node::Part(map.iter().map(|(k, v)| (k.clone(), node(v))).collect()),
    }
}
