//! Mashes by the calendar: grinding, mashing in, worts set.

use super::stillhouse::Freed;
use super::{Act, Desk, wanting};
use crate::clock::{hours, later};
use crate::kind::TaskKind;
use crate::readings::{BULK_L, GRAVITY, MASH_C, SET_C};
use crate::work::{Number, Work};
use house::{Equipment, Make};
use jiff::Timestamp;

/// The malt is ground so long before it is mashed.
const GRIND_BEFORE_H: f64 = 2.5;
/// A mash that should have begun is shown as late for so long.
const LATE_H: f64 = 4.0;

pub(super) fn work(desk: &Desk<'_>, freed: Freed) -> Vec<Work> {
    let mut out = Vec::new();
    let mut backs = free_backs(desk, freed);
    let (Some(tun), Some((make, why))) = (desk.house.vessels("mash_tun").next(), make(desk)) else {
        return out;
    };
    let number = desk.standing.washbacks.iter().map(|w| w.mash).max().unwrap_or(0);
    let last_set = desk.standing.washbacks.iter().map(|w| w.set_at).max();
    let set_h = make.mash.worts_h();
    let from = later(desk.now, -LATE_H);
    // A mash whose worts are set already has been done.
    let done = |at: &Timestamp| last_set.is_some_and(|set| set >= later(*at, 0.5 * set_h));
    let calendar = desk.clock.mashes(from, desk.until).into_iter().filter(|at| !done(at));
    for (place, at) in calendar.enumerate() {
        let lot = number + 1 + place as u32;
        let act = |kind, act, vessel, at| Act {
            kind,
            verb: act,
            vessel,
            make: Some(&make.key),
            lot: Some(lot),
            at,
            mark: lot.to_string(),
        };
        if let Some(mill) = desk.house.vessels("mill").next() {
            let grind_at = later(at, -GRIND_BEFORE_H);
            let mut grind = desk.work(&act(TaskKind::Mill, "grind", &mill.key, grind_at));
            grind.figures =
                desk.numbers(&make.key, "mill", &["malt_kg", "husk_pct", "grits_pct", "flour_pct"]);
            grind.caution = Some("dust");
            if grind_at >= desk.now {
                out.push(grind);
            }
        }
        let mut mash = desk.work(&act(TaskKind::Mash, "mash in", &tun.key, at));
        let keys = ["strike_c", "grist_kg", "first_water_l", "mash_c"];
        mash.figures = desk.numbers(&make.key, "mash", &keys);
        mash.caution = Some("hot_liquor");
        mash.why = Some(why.clone());
        out.push(wanting(mash, &[MASH_C]));
        out.push(set(desk, make, (lot, later(at, set_h)), &mut backs));
    }
    out
}

/// Washbacks that stand empty, then those that come free, with the moment.
fn free_backs(desk: &Desk<'_>, freed: Freed) -> Vec<(String, Timestamp)> {
    let used = |key: &str| desk.standing.washbacks.iter().any(|w| w.vessel == key);
    let empty = desk.house.vessels("washback").filter(|v| !used(&v.key));
    let mut out: Vec<(String, Timestamp)> = empty.map(|v| (v.key.clone(), desk.now)).collect();
    out.extend(freed);
    out
}

fn set(
    desk: &Desk<'_>,
    make: &Make,
    (lot, at): (u32, Timestamp),
    backs: &mut Vec<(String, Timestamp)>,
) -> Work {
    let free = backs.iter().position(|(_, free)| *free <= at);
    let back = free.map(|place| backs.remove(place).0);
    let first = desk.house.vessels("washback").next().map_or("", |v| v.key.as_str());
    let mut work = desk.work(&Act {
        kind: TaskKind::FillWashback,
        verb: "set the worts",
        vessel: back.as_deref().unwrap_or(first),
        make: Some(&make.key),
        lot: Some(lot),
        at,
        mark: lot.to_string(),
    });
    if back.is_none() {
        work.why = Some("no washback is free by then".to_owned());
    }
    work.figures = desk.numbers(&make.key, "cool", &["set_c", "water_kg_s"]);
    let keys = ["original_gravity", "wort_20_l"];
    work.figures.extend(desk.numbers(&make.key, "mash", &keys));
    let shown = ("yeast_kg", "yeast", "kg", 0);
    work.figures.push(Number::noted(shown, make.ferment.pitch.yeast_kg));
    work.caution = Some("washback");
    wanting(work, &[GRAVITY, SET_C, BULK_L])
}

/// Which make is mashed next: the one that was mashed last, while its rested malt suffices; else
/// the one of which most rested malt stands.
fn make<'d>(desk: &'d Desk<'_>) -> Option<(&'d Make, String)> {
    let rest_h = desk.house.vessels("bin").find_map(|v| match &v.what {
        Equipment::Bin(own, _) => Some(168.0 * own.rest_weeks),
        _ => None,
    });
    let rest_h = rest_h.unwrap_or(0.0);
    let rested_kg = |make: &Make| -> f64 {
        let layers = desk.standing.bins.iter().flat_map(|bin| &bin.layers);
        layers
            .filter(|l| l.make == make.key && hours(l.since, desk.now) >= rest_h)
            .map(|l| l.dry_kg / (1.0 - l.moisture_wet))
            .sum()
    };
    let last = desk.standing.washbacks.iter().max_by_key(|w| w.set_at);
    if let Some(make) = last.and_then(|w| desk.make(&w.make))
        && rested_kg(make) >= make.mash.grist.grist_kg
    {
        return Some((make, format!("goes on with {}", make.name)));
    }
    let makes = desk.house.makes.makes.iter();
    let make = makes.max_by(|a, b| rested_kg(a).total_cmp(&rested_kg(b)))?;
    let tonnes = rested_kg(make) / 1000.0;
    if 1000.0 * tonnes < make.mash.grist.grist_kg {
        return Some((make, "no malt has rested long enough".to_owned()));
    }
    Some((make, format!("{tonnes:.1} t of its malt have rested")))
}
