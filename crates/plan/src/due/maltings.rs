//! Steeps, floors and kiln.

mod reckoned;

use super::{Act, Desk, KILN_READING_H, repeated, wanting};
use crate::clock::later;
use crate::kind::TaskKind;
use crate::readings::{AIR_OFF_C, GRAIN_C, MOISTURE_PCT};
use crate::work::{Number, Work};
use forecast::What;
use house::standing::{Piece, Steeping};
use house::{Barley, Equipment};
use jiff::Timestamp;

/// Work of the maltings. What is noted of a piece is reckoned anew; a piece of which the book has
/// no more than that it lies there goes by the forecast of its make.
pub(super) fn work(desk: &Desk<'_>) -> Vec<Work> {
    let mut out = Vec::new();
    for lies in &desk.standing.steeps {
        match desk.today.steeps.iter().find(|s| s.piece == lies.piece) {
            Some(steeped) => reckoned::steep(desk, steeped, &mut out),
            None => out.extend(steep(desk, lies)),
        }
    }
    let mut kiln_free = desk.now;
    match &desk.today.kilned {
        Some(kilned) => reckoned::kiln(desk, kilned, &mut out, &mut kiln_free),
        None => kiln(desk, &mut out, &mut kiln_free),
    }
    let mut pieces: Vec<&Piece> = desk.standing.floors.iter().collect();
    pieces.sort_by_key(|piece| piece.since);
    for piece in pieces {
        match desk.today.piece(piece.piece) {
            Some(floored) => reckoned::floor(desk, floored, &mut out),
            None => floor(desk, piece, &mut out, &mut kiln_free),
        }
    }
    reckoned::dry(desk, &mut out);
    out
}

fn barley<'a>(desk: &'a Desk<'_>, lot: &str, make: &str) -> Option<&'a Barley> {
    let lots = desk.standing.lots.iter();
    let of_lot = lots.filter(|l| l.lot == lot).find_map(|l| desk.house.barley(&l.barley));
    of_lot.or_else(|| desk.house.barley(desk.make(make)?.barleys.first()?))
}

/// Waters and air rests still to come, and the casting.
fn steep(desk: &Desk<'_>, s: &Steeping) -> Vec<Work> {
    let Some(barley) = barley(desk, &s.lot, &s.make) else {
        return Vec::new();
    };
    let mut out = Vec::new();
    let stretches = barley.steeping();
    for (index, stretch) in stretches.iter().enumerate().skip(1) {
        let at = later(s.since, stretch.from_h);
        // What stood in the past of a steep was done, or it would not lie as it does.
        if at < desk.now {
            continue;
        }
        let mut work = desk.work(&Act {
            kind: TaskKind::Steep,
            verb: if stretch.under_water { "fill" } else { "drain" },
            vessel: &s.vessel,
            make: Some(&s.make),
            lot: Some(s.piece),
            at,
            mark: format!("{}-{index}", s.piece),
        });
        let shown = ("temperature_c", "water or air", "°C", 1);
        work.figures = vec![Number::noted(shown, stretch.temperature_c)];
        work.caution = Some("grain");
        out.push(work);
    }
    let cast_h = stretches.last().map_or(0.0, |stretch| stretch.until_h);
    let mut cast = desk.work(&Act {
        kind: TaskKind::Floor,
        verb: "cast",
        vessel: &s.vessel,
        make: Some(&s.make),
        lot: Some(s.piece),
        at: desk.clock.next_watch(later(s.since, cast_h)),
        mark: format!("{}-cast", s.piece),
    });
    cast.figures = desk.numbers(&s.make, "steep", &["moisture_pct", "germinating_pct"]);
    cast.caution = Some("grain");
    out.push(wanting(cast, &[GRAIN_C]));
    out
}

/// Readings of the kiln that is lit, and its stripping.
fn kiln(desk: &Desk<'_>, out: &mut Vec<Work>, free: &mut Timestamp) {
    let Some(lit) = &desk.standing.kiln else {
        return;
    };
    let Some(make) = desk.make(&lit.make) else {
        return;
    };
    let strip_at = later(lit.since, make.kiln.hours());
    let last = lit.air_off_c.last().map_or(lit.since, |reading| reading.at);
    for at in repeated(later(last, KILN_READING_H), KILN_READING_H, desk) {
        if at >= strip_at {
            break;
        }
        let mut work = desk.work(&Act {
            kind: TaskKind::Reading,
            verb: "note the air-off",
            vessel: &lit.vessel,
            make: Some(&lit.make),
            lot: Some(lit.piece),
            at,
            mark: format!("{}-{}", lit.piece, at.as_second() / 60),
        });
        work.figures = desk.expected(What::AirOff, at.max(desk.now));
        work.caution = Some("kiln");
        out.push(wanting(work, &[AIR_OFF_C]));
    }
    let mut strip = desk.work(&Act {
        kind: TaskKind::Kiln,
        verb: "strip",
        vessel: &lit.vessel,
        make: Some(&lit.make),
        lot: Some(lit.piece),
        at: strip_at,
        mark: format!("{}-strip", lit.piece),
    });
    let keys = ["moisture_pct", "phenols_mg_kg_dry", "malt_kg"];
    strip.figures = desk.numbers(&lit.make, "kiln", &keys);
    strip.caution = Some("kiln");
    *free = later(strip_at, turnaround_h(desk)).max(desk.now);
    out.push(wanting(strip, &[MOISTURE_PCT]));
}

pub(super) fn turnaround_h(desk: &Desk<'_>) -> f64 {
    let kilns = desk.house.vessels("kiln");
    let hours = kilns.filter_map(|v| match &v.what {
        Equipment::Kiln(own, _) => Some(own.turnaround_h),
        _ => None,
    });
    hours.fold(0.0, f64::max)
}

/// Turns of a piece, and its loading on the kiln when both are ready.
fn floor(desk: &Desk<'_>, piece: &Piece, out: &mut Vec<Work>, kiln_free: &mut Timestamp) {
    let Some(barley) = barley(desk, &piece.lot, &piece.make) else {
        return;
    };
    let ready_h = desk.value(&piece.make, "floor", "hours").unwrap_or(204.0);
    let ready = later(piece.since, ready_h);
    let load_at = ready.max(*kiln_free);
    let every_h = barley.floor.hand.turn_every_h;
    for at in repeated(later(piece.turned, every_h), every_h, desk) {
        if at >= load_at {
            break;
        }
        let mut work = desk.work(&Act {
            kind: TaskKind::Turn,
            verb: "turn",
            vessel: &piece.vessel,
            make: Some(&piece.make),
            lot: Some(piece.piece),
            at,
            mark: format!("{}-{}", piece.piece, at.as_second() / 60),
        });
        work.figures = desk.expected(What::Grain(&piece.vessel), at.max(desk.now));
        work.caution = Some("grain");
        out.push(wanting(work, &[GRAIN_C]));
    }
    let kiln = desk.house.vessels("kiln").next().map_or("kiln", |v| v.key.as_str());
    let mut load = desk.work(&Act {
        kind: TaskKind::Kiln,
        verb: "load",
        vessel: kiln,
        make: Some(&piece.make),
        lot: Some(piece.piece),
        at: load_at,
        mark: format!("{}-load", piece.piece),
    });
    load.figures = desk.numbers(&piece.make, "floor", &["moisture_pct", "modification_pct"]);
    load.figures.extend(desk.numbers(&piece.make, "kiln", &["break_h", "hours"]));
    load.latest = desk.house.vessel(&piece.vessel).and_then(|v| match &v.what {
        Equipment::Floor(own, _) => Some(later(ready, own.hold_h)),
        _ => None,
    });
    load.why = (load_at > ready).then(|| "it waits for the kiln".to_owned());
    load.caution = Some("kiln");
    out.push(load);
    let on_kiln_h = desk.make(&piece.make).map_or(0.0, |make| make.kiln.hours());
    *kiln_free = later(load_at, on_kiln_h + turnaround_h(desk));
}
