//! Work of pieces that are reckoned anew from what was noted of them.

use super::turnaround_h;
use crate::clock::{hours, later};
use crate::due::{Act, Desk, KILN_READING_H, repeated, wanting};
use crate::kind::TaskKind;
use crate::readings::{AIR_OFF_C, GRAIN_C, MOISTURE_PCT};
use crate::work::{Number, Work};
use forecast::maltings::piece::Felt;
use forecast::maltings::queue::Load;
use forecast::maltings::{Floored, Kilned, Steeped, Waiting};
use forecast::{Band, Figure};
use house::malted::Turning;
use jiff::Timestamp;

/// A water later than this was done and not noted, h.
const FORGOTTEN_H: f64 = 6.0;

/// What is wanted of some figures, those that are there.
fn numbers<'f>(figures: &'f [Figure], keys: &[&str]) -> Vec<Number> {
    let find = |key: &&str| -> Option<&'f Figure> { figures.iter().find(|f| f.key == *key) };
    keys.iter().filter_map(find).filter(|f| f.value.is_finite()).map(Number::from).collect()
}

/// A reading to expect with its standard uncertainty.
fn expected(key: &'static str, label: &'static str, value: f64, band: (f64, f64)) -> Number {
    Number { key, label, unit: "°C", value, band: Some(band), decimals: 1, noted: false }
}

/// Waters and rests to come, and the casting.
pub(super) fn steep(desk: &Desk<'_>, s: &Steeped, out: &mut Vec<Work>) {
    let ahead = s.stretches.iter().enumerate().skip(1).filter(|(_, stretch)| !stretch.noted);
    for (index, stretch) in ahead {
        if hours(stretch.from, desk.now) > FORGOTTEN_H {
            continue;
        }
        let mut work = desk.work(&Act {
            kind: TaskKind::Steep,
            verb: if stretch.under_water { "fill" } else { "drain" },
            vessel: &s.vessel,
            make: Some(&s.make),
            lot: Some(s.piece),
            at: stretch.from,
            mark: format!("{}-{index}", s.piece),
        });
        let shown = ("temperature_c", "water or air", "°C", 1);
        work.figures = vec![Number::noted(shown, stretch.temperature_c)];
        work.caution = Some("grain");
        out.push(work);
    }
    let mut cast = desk.work(&Act {
        kind: TaskKind::Floor,
        verb: "cast",
        vessel: &s.vessel,
        make: Some(&s.make),
        lot: Some(s.piece),
        at: desk.clock.next_watch(s.cast),
        mark: format!("{}-cast", s.piece),
    });
    cast.figures = numbers(&s.figures, &["moisture_pct", "germinating_pct"]);
    cast.caution = Some("grain");
    out.push(wanting(cast, &[GRAIN_C]));
}

/// Readings of the kiln that is lit, turnings of its bed, and its stripping.
pub(super) fn kiln(desk: &Desk<'_>, k: &Kilned, out: &mut Vec<Work>, free: &mut Timestamp) {
    let strip_at = k.finish.likely;
    let act = |kind, verb, at, mark| Act {
        kind,
        verb,
        vessel: &k.vessel,
        make: Some(&k.make),
        lot: Some(k.piece),
        at,
        mark,
    };
    let last = k.noted_off.last().map_or(k.lit_at, |noted| noted.at);
    for at in repeated(later(last, KILN_READING_H), KILN_READING_H, desk) {
        if at >= strip_at {
            break;
        }
        let mark = format!("{}-{}", k.piece, at.as_second() / 60);
        let mut work = desk.work(&act(TaskKind::Reading, "note the air-off", at, mark));
        let moment = k.at(at.max(desk.now)).into_iter();
        work.figures = moment
            .map(|m| {
                let band = (m.air_off_low_c, m.air_off_high_c);
                expected("air_off_c", "air-off", m.air_off_c, band)
            })
            .collect();
        work.caution = Some("kiln");
        out.push(wanting(work, &[AIR_OFF_C]));
    }
    for (place, at_h) in k.turns_h.iter().enumerate() {
        let at = later(k.lit_at, *at_h);
        if hours(at, desk.now) > 0.01 || at >= strip_at {
            continue;
        }
        let mark = format!("{}-bed-{place}", k.piece);
        let mut turn = desk.work(&act(TaskKind::Turn, "turn the bed", at, mark));
        turn.caution = Some("kiln");
        out.push(turn);
    }
    let mark = format!("{}-strip", k.piece);
    let mut strip = desk.work(&act(TaskKind::Kiln, "strip", strip_at, mark));
    strip.figures = numbers(&k.figures, &["moisture_pct", "phenols_mg_kg_dry", "malt_kg"]);
    strip.caution = Some("kiln");
    strip.why = (hours(k.ends, strip_at) > 0.1)
        .then(|| format!("its firing ends {:.1} h before it is dry", hours(k.ends, strip_at)));
    *free = later(strip_at, turnaround_h(desk)).max(desk.now);
    out.push(wanting(strip, &[MOISTURE_PCT]));
}

/// Turns of a piece, flagged before it felts, and its loading.
pub(super) fn floor(desk: &Desk<'_>, f: &Floored, out: &mut Vec<Work>) {
    let waits = desk.today.queue.iter().find(|w| w.load == Load::Piece(f.piece));
    let load_at = waits.map_or(f.ready.likely, |w| w.kiln_at).max(desk.now);
    // Beyond ready it is turned as before until it is loaded.
    for (place, due) in f.turns_due.iter().enumerate() {
        let at = if place == 0 { due.at.min(f.felts_at) } else { due.at };
        if at >= load_at {
            break;
        }
        let mut work = desk.work(&Act {
            kind: TaskKind::Turn,
            verb: if due.how == Turning::Plough { "plough" } else { "turn" },
            vessel: &f.vessel,
            make: Some(&f.make),
            lot: Some(f.piece),
            at,
            mark: format!("{}-{}", f.piece, at.as_second() / 60),
        });
        work.figures = grain(f, at.max(desk.now)).into_iter().collect();
        if place == 0 {
            work.latest = Some(f.felts_at);
            work.why = (f.felt != Felt::No).then(|| f.says.first().cloned()).flatten();
        }
        work.caution = Some("grain");
        out.push(wanting(work, &[GRAIN_C]));
    }
    out.push(load(desk, f, waits, load_at));
}

fn grain(f: &Floored, at: Timestamp) -> Option<Number> {
    let point = f.at(at)?;
    let Band { low, high, .. } = Band::around(point.grain_c, point.grain_sd_c);
    Some(expected("grain_c", "grain", point.grain_c, (low, high)))
}

fn load(desk: &Desk<'_>, f: &Floored, waits: Option<&Waiting>, load_at: Timestamp) -> Work {
    let kiln = desk.house.vessels("kiln").next().map_or("kiln", |v| v.key.as_str());
    let mut load = desk.work(&Act {
        kind: TaskKind::Kiln,
        verb: "load",
        vessel: kiln,
        make: Some(&f.make),
        lot: Some(f.piece),
        at: load_at,
        mark: format!("{}-load", f.piece),
    });
    load.figures = numbers(&f.figures, &["moisture_pct", "modification_pct"]);
    load.figures.extend(desk.numbers(&f.make, "kiln", &["break_h", "hours"]));
    load.latest = Some(f.hold_until);
    load.why = waits.filter(|w| w.waits_h > 0.0).map(|w| {
        let wait =
            format!("it waits {:.0} h for the kiln, at {:.1} L an hour", w.waits_h, w.costs_l_h);
        w.says.first().map_or(wait.clone(), |says| format!("{wait}. {says}"))
    });
    load.caution = Some("kiln");
    load
}

/// Barley too wet to store, where the kiln would stand idle.
pub(super) fn dry(desk: &Desk<'_>, out: &mut Vec<Work>) {
    let kiln = desk.house.vessels("kiln").next().map_or("kiln", |v| v.key.as_str());
    for waiting in &desk.today.queue {
        let (Load::Lot(lot), Some(dried)) = (&waiting.load, &waiting.dried) else {
            continue;
        };
        let mut work = desk.work(&Act {
            kind: TaskKind::Kiln,
            verb: "dry",
            vessel: kiln,
            make: None,
            lot: None,
            at: waiting.kiln_at,
            mark: format!("{lot}-dry"),
        });
        let noted = |key, label, unit, value| Number::noted((key, label, unit, 0), value);
        work.figures = vec![
            noted("air_on_c", "air-on at most", "°C", dried.air_on_c),
            noted("loads", "loads", "", f64::from(dried.loads)),
            noted("hours", "each for", "h", dried.hours),
        ];
        work.why = waiting.says.first().cloned();
        work.caution = Some("kiln");
        out.push(work);
    }
}
