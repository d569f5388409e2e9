//! The work that is due, as rows of the page.

use super::expect::Outlook;
use super::noted::shown_as;
use super::row::{Num, State, Work};
use crate::app::App;
use crate::figures::Face;
use crate::layout::escape;
use crate::places::called;
use crate::when;
use jiff::Timestamp;
use plan::{Number, TaskKind};
use sheets::figure;
use std::fmt::Write as _;

/// A row, when it is due, and what noting it asks for.
pub(super) struct Due {
    pub(super) work: Work,
    pub(super) at: Timestamp,
    pub(super) vessel: String,
    pub(super) make: Option<String>,
    pub(super) reading: bool,
}

/// All that is due, late ones first.
pub(super) fn rows(app: &App, outlook: &Outlook) -> Vec<Due> {
    let now = app.clock.now();
    outlook.due(now).iter().map(|one| row(app, one, now)).collect()
}

fn row(app: &App, one: &plan::Work, now: Timestamp) -> Due {
    let at = app.clock.local(one.at);
    let ahead = -when::ago(one.at, now);
    let state = if one.late_min > 0 {
        State::Late
    } else if ahead < 3600 {
        State::Due
    } else {
        State::Planned
    };
    let mut says = Vec::new();
    if one.late_min > 0 {
        says.push(format!("{} late", when::span(one.late_min * 60)));
    }
    if let Some(why) = &one.why {
        says.push(why.clone());
    }
    if let Some(latest) = one.latest {
        says.push(format!("by {}", when::seen(&app.clock.local(latest), &app.clock.here())));
    }
    let reading = one.kind == TaskKind::Reading;
    Due {
        work: Work {
            row: slug(&one.id),
            clock: when::clock(&at),
            state,
            title: title(one),
            says: says.join(", "),
            nums: one.figures.iter().take(4).map(num).collect(),
            act: noting(one).map(|address| {
                let act = match one.kind {
                    TaskKind::Turn => "Note the turn",
                    TaskKind::Reading | TaskKind::Kiln | TaskKind::Floor => "Note",
                    _ => "Open the sheet",
                };
                (address, act.to_owned())
            }),
            make: one.make.clone(),
        },
        at: one.at,
        vessel: one.vessel.clone(),
        make: one.make.clone(),
        reading: reading || one.kind == TaskKind::Turn,
    }
}

/// "Turn: floor 2, piece 34, Ember".
fn title(one: &plan::Work) -> String {
    let lot = one.lot.map(|n| format!("{} {n}", one.lot_word));
    let parts = [Some(one.vessel_name.clone()), lot, one.make_name.clone()];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    format!("{}: {}", called(one.act), parts.join(", "))
}

fn num(number: &Number) -> Num {
    let (scale, unit, decimals) = shown_as(number.key, number.unit);
    let decimals = if (scale - 1.0).abs() > 1e-9 { decimals } else { number.decimals };
    Num {
        label: number.label.to_owned(),
        written: figure::fixed(number.value * scale, decimals),
        // The foot says it of every volume; in a narrow column it would only break the line.
        unit: unit.trim_end_matches(" at 20 °C").to_owned(),
        face: if number.noted { Face::Noted } else { Face::Reckoned },
    }
}

/// Where its noting is asked for: the kind of entry, and what of it is known.
fn noting(one: &plan::Work) -> Option<String> {
    let vessel = ("vessel", one.vessel.clone());
    let lot = |key: &'static str| one.lot.map(|n| (key, n.to_string()));
    let make = one.make.clone().map(|m| ("make", m));
    let (kind, about) = match one.kind {
        TaskKind::Reading => ("reading", vec![Some(vessel)]),
        TaskKind::Turn => ("turn", vec![Some(vessel), lot("piece")]),
        TaskKind::Steep => ("steep", vec![Some(vessel), lot("piece"), make]),
        TaskKind::Floor => ("lay", vec![lot("piece")]),
        TaskKind::Kiln if one.act.contains("strip") => ("strip", vec![lot("piece")]),
        TaskKind::Kiln => ("load", vec![Some(vessel), lot("piece")]),
        TaskKind::Mill => ("draw", vec![lot("mash"), make]),
        TaskKind::Mash => ("mash", vec![Some(vessel), lot("mash"), make]),
        TaskKind::FillWashback => ("set", vec![Some(vessel), lot("mash"), make]),
        TaskKind::ChargeWash | TaskKind::ChargeMiddle | TaskKind::ChargeSpirit => {
            ("charge", vec![Some(vessel), make])
        }
        TaskKind::FillCasks => ("fill", vec![make]),
        TaskKind::Clean => ("clean", vec![Some(vessel)]),
        TaskKind::Rest | TaskKind::Ferment | TaskKind::WorkOffFeints => return None,
    };
    let mut address = format!("/today?note={kind}&row={}", slug(&one.id));
    for (key, value) in about.into_iter().flatten() {
        // Writing to a string cannot fail.
        let _ = write!(address, "&k.{key}={}", escape(&value));
    }
    address.push_str("#note");
    Some(address)
}

/// An id that may stand in a page: plain letters only.
fn slug(id: &str) -> String {
    let plain = |c: char| if c.is_ascii_alphanumeric() || c == '_' { c } else { '-' };
    format!("w-{}", id.chars().map(plain).collect::<String>())
}
