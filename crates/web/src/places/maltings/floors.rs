//! The floors: each piece as a strip over its days, what it wants next, and the form in which a
//! turn or a temperature is noted.

use super::desk::Seen;
use super::noting::{self, Open};
use crate::app::{App, Working};
use crate::caution::{self, Hazard};
use crate::chart::PieceStrip;
use crate::places::vessel;
use crate::when;
use forecast::maltings::Floored;
use forecast::maltings::piece::Felt;
use house::Vessel;
use house::standing::Piece;
use jiff::Timestamp;
use maud::{Markup, html};
use plan::Work;
use sheets::figure::{self, NARROW};

/// Days a strip shows at least.
const DAYS: f64 = 9.0;
/// Half the width of a band that holds nine in ten, in standard uncertainties; and how unsure a
/// hand's thermometer in a heap is, K.
const NINETY: f64 = forecast::figure::NINE_IN_TEN;
const READ_SD_C: f64 = 0.5;

/// All floors.
pub(super) fn section(app: &App, open: &Working, seen: &Seen, opened: Option<Open<'_>>) -> Markup {
    html! {
        section id="floors" {
            div.sec {
                h2 { "Floors" }
                p { "grain °C between turns; ticks are turns; band is ready" }
            }
            @for floor in open.house.vessels("floor") {
                (row(app, open, seen, floor, opened))
            }
            (caution::draw(Hazard::Grain))
        }
    }
}

/// One floor, with what lies on it.
pub(super) fn row(
    app: &App,
    open: &Working,
    seen: &Seen,
    floor: &Vessel,
    opened: Option<Open<'_>>,
) -> Markup {
    let piece = seen.standing.floors.iter().find(|p| p.vessel == floor.key);
    let name = vessel(open, &floor.key);
    let opened = opened.filter(|o| o.is_about(&floor.key));
    html! {
        div.piece-row id={ "f-" (floor.key) } data-part {
            @match piece {
                None => div { h3 { (name) } p.soft { "clear, free for the next piece" } },
                Some(piece) => (lying(app, open, seen, (piece, &name))),
            }
            @if let Some(opened) = opened { (noting::form(opened)) }
        }
    }
}

fn lying(app: &App, open: &Working, seen: &Seen, (piece, name): (&Piece, &str)) -> Markup {
    let found = seen.floored(open, piece.piece);
    let late = late(open, seen, &piece.vessel);
    html! {
        div {
            h3 { (name) ", " (piece_link(piece.piece)) }
            @match found {
                Some(Ok(floored)) => (said(app, open, floored, late)),
                _ => p.soft { (make_name(open, &piece.make)) ", " (lot_name(&piece.lot)) },
            }
        }
        div.strip {
            @match found {
                Some(Ok(floored)) => (strip(floored).draw()),
                Some(Err(fault)) => p.empty { "Nothing can be reckoned of it: " (fault) "." },
                None => p.empty { "The book does not know how it came here." },
            }
        }
        (acts(piece, late.is_some()))
    }
}

/// A piece by its number, to its page.
pub(super) fn piece_link(piece: u32) -> Markup {
    html! { a href={ "/maltings/piece/" (piece) } { "piece " (piece) } }
}

/// The turn that is late, where one is.
fn late<'s>(open: &Working, seen: &'s Seen, floor: &str) -> Option<&'s Work> {
    seen.turn(open, floor).filter(|work| work.late_min > 0)
}

/// What is said of a piece beneath its name.
fn said(app: &App, open: &Working, floored: &Floored, late: Option<&Work>) -> Markup {
    let day = days(floored.laid_at, floored.at).floor() + 1.0;
    let here = app.clock.here();
    let at = |moment: Timestamp| when::seen(&app.clock.local(moment), &here);
    html! {
        p.soft {
            (make_name(open, &floored.make)) ", " (lots_said(&floored.lots))
            ", day " (figure::bare(day))
        }
        @if let Some(late) = late {
            p.copper { "turn due " (at(late.at)) ", " (when::span(late.late_min * 60)) " late" }
        } @else if let Some(next) = floored.turns_due.first() {
            p.soft { "next " (how(next.how)) " " i { (at(next.at)) } }
        }
        @match floored.felt {
            Felt::No => {},
            Felt::Soon => p.copper { "felts at " (at(floored.felts_at)) " unless it is turned" },
            Felt::Past => p.copper { "unturned past " (at(floored.felts_at)) ": it felts" },
        }
        @if let Some(uneven) = &floored.uneven { p.soft { (uneven) } }
        (figs(app, floored))
    }
}

/// A moment known to some hours is not told to the minute.
fn to_the_hour(at: Timestamp) -> Timestamp {
    Timestamp::from_second((at.as_second() + 1800).div_euclid(3600) * 3600).unwrap_or(at)
}

/// A turn in a word.
pub(super) fn how(how: house::malted::Turning) -> &'static str {
    match how {
        house::malted::Turning::Full => "turn",
        house::malted::Turning::Plough => "ploughing",
    }
}

fn figs(app: &App, floored: &Floored) -> Markup {
    let ready = app.clock.local(to_the_hour(floored.ready.likely));
    html! {
        dl.figs {
            div {
                dt { "acrospire" }
                dd { i { (figure::fixed(floored.now.acrospire, 2)) } }
            }
            div {
                dt { "softened" }
                dd {
                    i { (figure::fixed(100.0 * floored.now.modification, 0)) }
                    span.u { (NARROW) "%" }
                }
            }
            div {
                dt { "ready" }
                dd {
                    i { (when::seen(&ready, &app.clock.here())) }
                    span.u { " ± " (figure::fixed(floored.ready.reach_h(), 0)) (NARROW) "h" }
                }
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

/// A lot as a person says it: `two_row_3` is the third lot of two-row.
pub(super) fn lot_name(lot: &str) -> String {
    match lot.rsplit_once('_') {
        Some((kind, number)) if number.parse::<u32>().is_ok() => {
            format!("{} lot {number}", kind.replace('_', "-"))
        }
        _ => match lot.parse::<u32>() {
            Ok(number) => format!("lot {number}"),
            Err(_) => lot.replace('_', " "),
        },
    }
}

/// Lots as the forecast names them, as a person says them.
pub(super) fn lots_said(lots: &str) -> String {
    let one = |part: &str| part.split(", ").map(lot_name).collect::<Vec<_>>().join(", ");
    lots.split(" and ").map(one).collect::<Vec<_>>().join(" and ")
}

/// A make as a person says it.
pub(super) fn make_name<'h>(open: &'h Working, key: &'h str) -> &'h str {
    open.house.make(key).map_or(key, |make| make.name.as_str())
}

/// Days from one moment to another.
pub(super) fn days(from: Timestamp, to: Timestamp) -> f64 {
    when::ago(from, to) as f64 / 86_400.0
}

/// The piece over its days.
pub(super) fn strip(floored: &Floored) -> PieceStrip {
    let day = |at: Timestamp| days(floored.laid_at, at);
    let noted = floored.noted.iter().map(|one| {
        let sd = floored.at(one.at).map_or(0.0, |p| p.grain_sd_c).hypot(READ_SD_C);
        (day(one.at), one.value, (one.value - one.expected).abs() > NINETY * sd)
    });
    PieceStrip {
        says: format!(
            "Piece {}: grain temperature over its days, turns done and to come, and when it is \
             ready",
            floored.piece
        ),
        days: DAYS.max(day(floored.ready.to).ceil()),
        now: day(floored.at),
        grain: floored.points.iter().map(|p| (day(p.at), p.grain_c)).collect(),
        noted: noted.collect(),
        ceiling_c: floored.ceiling_c,
        done: floored.turns_done.iter().map(|(at, _)| day(*at)).collect(),
        due: floored.turns_due.iter().map(|due| day(due.at)).collect(),
        ready: Some((day(floored.ready.from), day(floored.ready.to))),
    }
}

#[cfg(test)]
mod tests {
    use super::{lot_name, lots_said};

    #[test]
    fn a_lot_is_called_as_a_person_says_it() {
        assert_eq!(lot_name("two_row_3"), "two-row lot 3");
        assert_eq!(lot_name("7"), "lot 7");
        assert_eq!(lot_name("landrace"), "landrace");
        assert_eq!(lots_said("two_row_2 and two_row_3"), "two-row lot 2 and two-row lot 3");
    }
}
