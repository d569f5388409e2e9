//! What was noted this watch, and what has drifted from what was expected.

use super::row::{NINETY, Num, State, Work, draw};
use crate::app::{App, Working};
use crate::figures::Face;
use crate::{form, places, when};
use book::{EntryView, StoreFault};
use gauge::Node;
use maud::{Markup, html};
use sheets::figure;

/// Entries looked through: a watch notes some dozens.
const LOOK_BACK: u64 = 200;
/// A watch, in seconds.
const WATCH_S: i64 = 8 * 3600;
/// How far back a drift is looked for.
const DRIFT_S: i64 = 36 * 3600;

/// The latest entries, newest first.
pub(super) fn latest(open: &Working) -> Result<Vec<EntryView>, StoreFault> {
    let last = open.book.last().serial;
    let mut entries =
        open.book.entries_after(last.saturating_sub(LOOK_BACK), LOOK_BACK as usize)?;
    entries.reverse();
    Ok(entries)
}

/// What was noted in the last eight hours.
pub(super) fn this_watch(app: &App, open: &Working, latest: &[EntryView]) -> Markup {
    let now = app.clock.now();
    let mut rows = Vec::new();
    for entry in latest {
        let ago = when::ago(entry.heading.noted_at.timestamp(), now);
        if (0..WATCH_S).contains(&ago) && entry.contra_by.is_none() && rows.len() < 12 {
            rows.push(draw(&done(app, open, entry), &html! {}));
        }
    }
    html! {
        section id="noted" data-part {
            h2.day { "Noted this watch" }
            @if rows.is_empty() { p.empty { "Nothing yet." } }
            @else { ol { @for row in &rows { (row) } } }
        }
    }
}

/// An entry as a row: noted, expected and apart.
pub(super) fn done(app: &App, open: &Working, entry: &EntryView) -> Work {
    let at = app.clock.local(entry.heading.happened_at.timestamp());
    let kind = book::kind(&entry.kind).map_or(entry.kind.as_str(), |k| k.title);
    let vessel = ["vessel", "from", "to"].iter().find_map(|key| match entry.data.get(key) {
        Some(Node::Text(text)) => Some(text.as_str()),
        _ => None,
    });
    let place = vessel.map_or(String::new(), |v| places::vessel(open, v));
    Work {
        row: format!("e{}", entry.serial),
        clock: when::clock(&at),
        state: State::Done,
        title: if place.is_empty() { kind.to_owned() } else { format!("{kind}, {place}") },
        says: String::new(),
        nums: nums(entry),
        act: Some((
            format!("/litres/entry/{}", entry.serial),
            format!("Entry {}", figure::fixed(entry.serial as f64, 0)),
        )),
        make: None,
    }
}

/// The first figure of a reading against what was expected of it; else its first figures.
fn nums(entry: &EntryView) -> Vec<Num> {
    let Node::Part(all) = &entry.data else {
        return Vec::new();
    };
    let described = book::kind(&entry.kind).map(book::Kind::describe).unwrap_or_default();
    let mut out = Vec::new();
    for (key, node) in all {
        let Some(value) = node.number() else { continue };
        let field = described.iter().find(|d| d.path == *key).and_then(|d| match &d.sort {
            gauge::Sort::Figure(f) | gauge::Sort::Optional(f) => Some(*f),
            _ => None,
        });
        let Some(field) = field else { continue };
        let (scale, unit, decimals) = shown_as(key, field.unit);
        let label = form::lower(&form::label(&field));
        let expected = entry.data.at(&format!("expected.{key}")).and_then(Node::number);
        out.push(Num {
            label: if expected.is_some() { format!("{label}, noted") } else { label },
            written: figure::fixed(value * scale, decimals),
            unit: unit.to_owned(),
            face: Face::Noted,
        });
        if let Some(expected) = expected {
            out.push(Num {
                label: "expected".to_owned(),
                written: figure::fixed(expected * scale, decimals),
                unit: unit.to_owned(),
                face: Face::Reckoned,
            });
            out.push(Num {
                label: "apart".to_owned(),
                written: figure::signed((value - expected) * scale, decimals),
                unit: unit.to_owned(),
                face: Face::Noted,
            });
            break;
        }
    }
    out.truncate(4);
    out
}

/// How a kept figure is shown: factor, unit, decimals.
pub(super) fn shown_as<'a>(key: &str, unit: &'a str) -> (f64, &'a str, u8) {
    if key.ends_with("gravity") {
        (1000.0, "", 1)
    } else if key == "moisture_wet" {
        (100.0, "%", 1)
    } else if matches!(key, "piece" | "mash" | "run" | "bulk_l" | "kg") {
        (1.0, unit, 0)
    } else {
        (1.0, unit, 1)
    }
}

/// What was noted outside its band of late, one line for each vessel and figure.
pub(super) fn drifted(app: &App, open: &Working, latest: &[EntryView]) -> Markup {
    let now = app.clock.now();
    let mut seen: Vec<(String, String)> = Vec::new();
    let mut lines = Vec::new();
    for entry in latest.iter().filter(|e| e.kind == "reading" && e.contra_by.is_none()) {
        let at = entry.heading.happened_at.timestamp();
        if when::ago(at, now) > DRIFT_S {
            continue;
        }
        let Some(Node::Text(vessel)) = entry.data.get("vessel") else { continue };
        let Some(Node::Part(expected)) = entry.data.get("expected") else { continue };
        for (key, expected) in expected {
            let place = (vessel.clone(), key.clone());
            if seen.contains(&place) {
                continue;
            }
            seen.push(place);
            let noted = entry.data.get(key).and_then(Node::number);
            let sd = entry.data.at(&format!("expected_sd.{key}")).and_then(Node::number);
            if let (Some(noted), Some(expected), Some(sd)) = (noted, expected.number(), sd)
                && (noted - expected).abs() > NINETY * sd
            {
                lines.push(line(app, open, entry, (key, noted, expected)));
            }
        }
    }
    html! {
        section id="drifted" data-part {
            div.sec { h2 { "Drifted from expectation" } }
            @if lines.is_empty() { p.empty { "Nothing that was read lies outside its band." } }
            @for line in lines.iter().take(6) { (line) }
        }
    }
}

fn line(
    app: &App,
    open: &Working,
    entry: &EntryView,
    (key, noted, expected): (&str, f64, f64),
) -> Markup {
    let measure = book::kind::measures().iter().find(|m| m.key == key);
    let (scale, unit, decimals) = shown_as(key, measure.map_or("", |m| m.unit));
    let label = measure.map_or_else(|| places::called(key), form::label);
    let Some(Node::Text(vessel)) = entry.data.get("vessel") else {
        return html! {};
    };
    let way = if noted > expected { "high" } else { "low" };
    let at = app.clock.local(entry.heading.happened_at.timestamp());
    let write = |v: f64| figure::unit(&figure::fixed(v * scale, decimals), unit);
    html! {
        div.drift {
            h3 { (places::vessel(open, vessel)) ": " (form::lower(&label)) " is " (way) }
            p {
                "Noted " (write(noted)) " at " (when::seen(&at, &app.clock.here()))
                ", expected " i { (write(expected)) } "."
            }
        }
    }
}
