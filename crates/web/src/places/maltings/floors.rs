//! The floors: each piece as a strip over its days, what it wants next, and the form in which a
//! turn or a temperature is noted.

use super::noting::{self, Open};
use crate::app::{App, Working};
use crate::caution::{self, Hazard};
use crate::chart::PieceStrip;
use crate::places::today::expect::Outlook;
use crate::places::vessel;
use crate::when;
use house::standing::Piece;
use house::{Equipment, Malted, Vessel};
use jiff::Timestamp;
use maud::{Markup, html};
use plan::{TaskKind, Work};

/// Days a strip shows at least.
const DAYS: f64 = 9.0;

/// All floors.
pub(super) fn section(
    app: &App,
    open: &Working,
    outlook: &Outlook,
    opened: Option<Open<'_>>,
) -> Markup {
    let due = outlook.due(app.clock.now());
    html! {
        section id="floors" {
            div.sec {
                h2 { "Floors" }
                p { "grain °C between turns; ticks are turns; band is ready" }
            }
            @for floor in open.house.vessels("floor") {
                (row(app, open, outlook, floor, &due, opened))
            }
            (caution::draw(Hazard::Grain))
        }
    }
}

/// One floor, with what lies on it.
pub(super) fn row(
    app: &App,
    open: &Working,
    outlook: &Outlook,
    floor: &Vessel,
    due: &[Work],
    opened: Option<Open<'_>>,
) -> Markup {
    let piece = outlook.standing.floors.iter().find(|p| p.vessel == floor.key);
    let name = vessel(open, &floor.key);
    let opened = opened.filter(|o| o.is_about(&floor.key));
    html! {
        div.piece-row id={ "f-" (floor.key) } data-part {
            @match piece {
                None => div { h3 { (name) } p.soft { "clear, free for the next piece" } },
                Some(piece) => {
                    (said(app, open, piece, &name, due))
                    div.strip { (strip(app, open, outlook, piece).draw()) }
                    (acts(piece, wanted(due, piece).is_some_and(|turn| turn.late_min > 0)))
                },
            }
            @if let Some(opened) = opened { (noting::form(opened)) }
        }
    }
}

/// The next turn of a piece.
fn wanted<'w>(due: &'w [Work], piece: &Piece) -> Option<&'w Work> {
    let mut turns = due.iter().filter(|w| w.kind == TaskKind::Turn && w.vessel == piece.vessel);
    turns.next()
}

fn said(app: &App, open: &Working, piece: &Piece, name: &str, due: &[Work]) -> Markup {
    let make = open.house.make(&piece.make).map_or(piece.make.as_str(), |m| m.name.as_str());
    let day = days(piece.since, app.clock.now()).floor() + 1.0;
    html! {
        div {
            h3 { (name) ", piece " (piece.piece) }
            p.soft { (make) ", lot " (lot_name(&piece.lot)) ", day " (sheets::figure::bare(day)) }
            @if let Some(turn) = wanted(due, piece) {
                @let at = when::seen(&app.clock.local(turn.at), &app.clock.here());
                @if turn.late_min > 0 {
                    p.copper { "turn due " (at) ", " (when::span(turn.late_min * 60)) " late" }
                } @else { p.soft { "next turn " (at) } }
            }
        }
    }
}

fn acts(piece: &Piece, late: bool) -> Markup {
    let turn = noting::address("turn", &piece.vessel, Some(piece.piece));
    let read = noting::address("reading", &piece.vessel, Some(piece.piece));
    html! {
        div.go {
            a.act.main[late] href=(turn) { "Note the turn" }
            a.act href=(read) { "Note a reading" }
        }
    }
}

/// A lot as a person says it.
pub(super) fn lot_name(lot: &str) -> String {
    lot.replace('_', " ")
}

/// Days from one moment to another.
pub(super) fn days(from: Timestamp, to: Timestamp) -> f64 {
    when::ago(from, to) as f64 / 86_400.0
}

fn strip(app: &App, open: &Working, outlook: &Outlook, piece: &Piece) -> PieceStrip {
    let now = app.clock.now();
    let known: Option<&Malted> = outlook.standing.malted.iter().find(|m| m.piece == piece.piece);
    let laid = known.and_then(|m| m.floor.as_ref());
    let noted = laid.map_or_else(
        || piece.grain_c.iter().map(|r| (days(piece.since, r.at), r.value, false)).collect(),
        |l| l.grain_c.iter().map(|r| (days(piece.since, r.at), r.value, false)).collect(),
    );
    let ceiling_c = open.house.vessel(&piece.vessel).map_or(21.0, |v| match &v.what {
        Equipment::Floor(..) => 21.0,
        _ => 20.0,
    });
    PieceStrip {
        says: format!("Piece {} on its floor", piece.piece),
        days: DAYS.max(days(piece.since, now).ceil()),
        now: days(piece.since, now),
        noted,
        ceiling_c,
        done: laid
            .map_or_else(Vec::new, |l| l.turns.iter().map(|t| days(piece.since, t.at)).collect()),
        ..PieceStrip::default()
    }
}
