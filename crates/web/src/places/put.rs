//! A thing put in the book by a page of its own.

use crate::app::{App, Working};
use book::{BookFault, Moment, Noting, Role};

/// Puts a thing in the book, once, whatever is sent twice; gives its serial, or why not in words.
pub(crate) fn put(
    app: &App,
    open: &Working,
    kind: &str,
    told: &[(String, String)],
    id: &str,
) -> Result<u64, String> {
    let known = book::kind(kind).map_err(|fault| format!("{fault}."))?;
    let role = if known.writers.contains(&Role::Hand) {
        Role::Hand
    } else {
        known.writers.first().copied().unwrap_or(Role::Hand)
    };
    let zone = app.clock.here().time_zone().clone();
    let now = Moment::in_zone(app.clock.now(), &zone);
    let id = if id.is_empty() || id.len() > 100 { app.new_id() } else { id.to_owned() };
    let pairs = told.iter().map(|(k, v)| (k.as_str(), v.as_str()));
    let noted = Noting::from_pairs(kind, pairs).and_then(|noting| {
        let noting = noting.id(&id).at(now).noted(now);
        open.book.note(&noting.by(role.key().replace('_', " "), role))
    });
    noted.map(|noted| noted.serial).map_err(|fault| match fault {
        BookFault::Store(fault) => format!("{fault}. Nothing was noted; send it again."),
        fault => format!("{fault}."),
    })
}
