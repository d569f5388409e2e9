//! The book: accounts, movements, entries, and noting one.

use super::{answer, fault, faults, node, open, reckon};
use crate::app::App;
use axum::body::Bytes;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::Response;
use book::{Account, BookFault, Commodity, EntryView, Moment, Noting, Role, StoreFault};
use jiff::Timestamp;
use serde::Deserialize;
use serde_json::{Value, json};
use std::sync::Arc;

/// The most entries in one answer.
const MOST: usize = 500;

fn store(trouble: &StoreFault) -> Response {
    fault(StatusCode::SERVICE_UNAVAILABLE, trouble.to_string())
}

fn instant(text: Option<&String>, otherwise: Timestamp) -> Result<Timestamp, Box<Response>> {
    let Some(text) = text else { return Ok(otherwise) };
    text.parse().map_err(|_| {
        let says = format!("\"{text}\" is no instant with an offset");
        Box::new(fault(StatusCode::UNPROCESSABLE_ENTITY, says))
    })
}

/// Which thing, and when.
#[derive(Debug, Deserialize)]
pub(super) struct Asked {
    commodity: Option<String>,
    at: Option<String>,
    from: Option<String>,
    until: Option<String>,
}

/// What every account holds at a moment.
pub(super) async fn accounts(State(app): State<Arc<App>>, Query(asked): Query<Asked>) -> Response {
    let working = match open(&app) {
        Ok(working) => working,
        Err(refused) => return *refused,
    };
    let at = match instant(asked.at.as_ref(), app.clock.now()) {
        Ok(at) => at,
        Err(refused) => return *refused,
    };
    match working.book.holdings(at) {
        Ok(holdings) => {
            let wanted = asked.commodity.as_deref();
            let list: Vec<Value> = holdings
                .iter()
                .filter(|h| wanted.is_none_or(|w| w == h.commodity.key()))
                .map(|h| {
                    json!({
                        "account": h.account.to_string(),
                        "commodity": h.commodity.key(),
                        "amount": h.amount.to_string(),
                    })
                })
                .collect();
            answer(StatusCode::OK, &json!({ "at": at.to_string(), "accounts": list }))
        }
        Err(trouble) => store(&trouble),
    }
}

/// The movements of one account.
pub(super) async fn movements(
    State(app): State<Arc<App>>,
    Path((place, name)): Path<(String, String)>,
    Query(asked): Query<Asked>,
) -> Response {
    let working = match open(&app) {
        Ok(working) => working,
        Err(refused) => return *refused,
    };
    let Ok(account) = format!("{place}/{name}").parse::<Account>() else {
        return fault(StatusCode::NOT_FOUND, "No account has this name.");
    };
    let key = asked.commodity.as_deref().unwrap_or("pure_alcohol_l");
    let Some(commodity) = Commodity::from_key(key) else {
        return fault(StatusCode::UNPROCESSABLE_ENTITY, format!("\"{key}\" is no commodity"));
    };
    let now = app.clock.now();
    let span = instant(asked.from.as_ref(), Timestamp::UNIX_EPOCH)
        .and_then(|from| Ok((from, instant(asked.until.as_ref(), now)?)));
    let span = match span {
        Ok(span) => span,
        Err(refused) => return *refused,
    };
    let statement = match working.book.statement(&account, commodity, span) {
        Ok(statement) => statement,
        Err(trouble) => return store(&trouble),
    };
    let list: Vec<Value> = statement
        .movements
        .iter()
        .map(|m| {
            json!({
                "serial": m.serial,
                "happened_at": m.happened_at.to_string(),
                "kind": m.kind,
                "amount": m.amount.to_string(),
                "running": m.running.to_string(),
                "others": m.others.iter().map(ToString::to_string).collect::<Vec<_>>(),
                "contra_of": m.contra_of,
                "contra_by": m.contra_by,
            })
        })
        .collect();
    let body = json!({
        "account": account.to_string(), "commodity": commodity.key(),
        "opening": statement.opening.to_string(), "closing": statement.closing.to_string(),
        "movements": list,
    });
    answer(StatusCode::OK, &body)
}

/// From where on, and how many.
#[derive(Debug, Deserialize)]
pub(super) struct After {
    after: Option<u64>,
    most: Option<usize>,
}

/// Entries that follow a serial.
pub(super) async fn entries(State(app): State<Arc<App>>, Query(asked): Query<After>) -> Response {
    let working = match open(&app) {
        Ok(working) => working,
        Err(refused) => return *refused,
    };
    let most = asked.most.unwrap_or(100).min(MOST);
    match working.book.entries_after(asked.after.unwrap_or(0), most) {
        Ok(entries) => {
            let list: Vec<Value> = entries.iter().map(shown).collect();
            let last = working.book.last().serial;
            answer(StatusCode::OK, &json!({ "last": last, "entries": list }))
        }
        Err(trouble) => store(&trouble),
    }
}

/// One entry.
pub(super) async fn entry(State(app): State<Arc<App>>, Path(serial): Path<u64>) -> Response {
    let working = match open(&app) {
        Ok(working) => working,
        Err(refused) => return *refused,
    };
    match working.book.entry(serial) {
        Ok(Some(entry)) => answer(StatusCode::OK, &shown(&entry)),
        Ok(None) => fault(StatusCode::NOT_FOUND, format!("There is no entry {serial}.")),
        Err(trouble) => store(&trouble),
    }
}

fn shown(entry: &EntryView) -> Value {
    let postings: Vec<Value> = entry
        .postings
        .iter()
        .map(|p| {
            json!({
                "account": p.account.to_string(),
                "commodity": p.commodity.key(),
                "amount": p.amount.to_string(),
            })
        })
        .collect();
    json!({
        "serial": entry.serial,
        "id": entry.heading.id,
        "kind": entry.kind,
        "version": entry.version,
        "happened_at": entry.heading.happened_at.to_string(),
        "noted_at": entry.heading.noted_at.to_string(),
        "writer": entry.heading.writer,
        "role": entry.heading.role.key(),
        "postings": postings,
        "data": node::value(&entry.data),
        "contra_of": entry.contra_of,
        "contra_by": entry.contra_by,
        "marks": entry.marks,
        "hash_before": hex(&entry.hash_before),
        "hash": hex(&entry.hash),
    })
}

fn hex(bytes: &[u8]) -> String {
    book::hash::hex(bytes)
}

/// What is sent to be noted.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Sent {
    id: String,
    kind: String,
    happened_at: Option<String>,
    writer: Option<String>,
    role: Option<String>,
    data: Value,
}

/// Notes one entry. The same id sent twice is one entry.
pub(super) async fn note(State(app): State<Arc<App>>, body: Bytes) -> Response {
    let working = match open(&app) {
        Ok(working) => working,
        Err(refused) => return *refused,
    };
    let sent: Sent = match serde_json::from_slice(&body) {
        Ok(sent) => sent,
        Err(why) => return fault(StatusCode::UNPROCESSABLE_ENTITY, why.to_string()),
    };
    let role = sent.role.as_deref().map_or(Some(Role::Hand), Role::from_key);
    let Some(role) = role else {
        return fault(StatusCode::UNPROCESSABLE_ENTITY, "The role is none of the house's.");
    };
    let zone = app.clock.here().time_zone().clone();
    let now = Moment::in_zone(app.clock.now(), &zone);
    let happened = sent.happened_at.as_ref().map_or(Ok(now), |text| text.parse::<Moment>());
    let noted = happened.and_then(|happened| {
        let noting = Noting::new(&sent.kind, node::node(&sent.data))?.id(&sent.id);
        let writer = sent.writer.as_deref().unwrap_or("by JSON");
        working.book.note(&noting.at(happened).noted(now).by(writer, role))
    });
    match noted {
        Ok(noted) => {
            let status = if noted.again { StatusCode::OK } else { StatusCode::CREATED };
            let body = json!({
                "serial": noted.serial, "again": noted.again, "marks": noted.marks,
            });
            answer(status, &body)
        }
        Err(BookFault::Store(trouble)) => store(&trouble),
        Err(BookFault::Figures(found)) => {
            faults(StatusCode::UNPROCESSABLE_ENTITY, found.iter().map(reckon::told))
        }
        Err(other) => fault(StatusCode::UNPROCESSABLE_ENTITY, other.to_string()),
    }
}
