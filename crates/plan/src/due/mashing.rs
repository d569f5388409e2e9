//! Mashes by the calendar: grinding, mashing in, worts set.

use super::stillhouse::Freed;
use super::{Act, Desk, wanting};
use crate::clock::{Clock, hours, later};
use crate::kind::TaskKind;
use crate::readings::{BULK_L, GRAVITY, MASH_C, SET_C};
use crate::work::{Number, Work};
use forecast::Figure;
use forecast::mash_house::{self, When, Wished};
use house::{Equipment, House, Make, Standing};
use jiff::Timestamp;

/// The malt is ground so long before it is mashed.
const GRIND_BEFORE_H: f64 = 2.5;
/// A mash that should have begun is shown as late for so long.
const LATE_H: f64 = 4.0;

pub(super) fn work(desk: &Desk<'_>, freed: Freed) -> Vec<Work> {
    let mut out = Vec::new();
    let mut backs = free_backs(desk, freed);
    let next = next_make(desk.house, desk.standing, desk.now);
    let (Some(tun), Some((make, why))) = (desk.house.vessels("mash_tun").next(), next) else {
        return out;
    };
    let set_h = make.mash.worts_h();
    let hours_ahead = hours(desk.now, desk.until);
    let when = coming_mashes(desk.house, desk.standing, desk.now, hours_ahead);
    let fitted = mash_house::tun(desk.house, &desk.standing.mashed);
    let wished = mash_house::coming(desk.house, desk.standing, &when, desk.now);
    for one in &wished {
        let (lot, at) = (one.mash, one.at);
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
        if let Ok(strike) = mash_house::striking_heat(desk.house, desk.standing, &fitted, one) {
            told(&mut mash.figures, &strike);
        }
        let litres = one.waters.first().map_or(f64::NAN, |w| w.volume_l);
        say(&mut mash.figures, "first_water_l", litres);
        say(&mut mash.figures, "grist_kg", one.grist_kg);
        say(&mut mash.figures, "mash_c", one.mash_c);
        mash.caution = Some("hot_liquor");
        mash.why = Some(why.clone());
        out.push(wanting(mash, &[MASH_C]));
        out.push(set(desk, make, (one, later(at, set_h)), &mut backs));
    }
    out
}

/// Puts a figure of the sheet in the place of the make's.
fn told(figures: &mut [Number], figure: &Figure) {
    if let Some(own) = figures.iter_mut().find(|n| n.key == figure.key) {
        *own = Number::from(figure);
    }
}

/// Puts what is wished of a mash in the place of what is usual of its make.
fn say(figures: &mut [Number], key: &str, value: f64) {
    if let Some(own) = figures.iter_mut().find(|n| n.key == key) {
        (own.value, own.band) = (value, None);
    }
}

/// Gives the mashes that the calendar has from now on for so many hours, those not yet begun, with
/// their numbers; one that should have begun a few hours ago is among them.
///
/// # Units
/// Hours.
/// # Range
/// A house with a mash tun; nothing else.
/// # Error
/// The make is the one that would be mashed now: a change further on is not foreseen.
/// # Source
/// The house's calendar and its book.
pub fn coming_mashes(
    house: &House,
    standing: &Standing,
    now: Timestamp,
    ahead_h: f64,
) -> Vec<When> {
    let Some((make, _)) = next_make(house, standing, now) else { return Vec::new() };
    let clock = Clock::of(house);
    let set_h = make.mash.worts_h();
    let last_set = standing.washbacks.iter().map(|w| w.set_at).max();
    let begun = standing.mashed.iter().filter_map(|m| m.mashed_in.as_ref()).map(|m| m.at).max();
    let half_h = 0.5 * set_h;
    // A mash whose worts are set already has been done; so has one that was mashed in about then.
    let done = |at: &Timestamp| {
        last_set.is_some_and(|set| set >= later(*at, half_h))
            || begun.is_some_and(|in_at| in_at >= later(*at, -half_h))
    };
    let worked = standing.washbacks.iter().map(|w| w.mash);
    let number = worked.chain(standing.mashed.iter().map(|m| m.mash)).max().unwrap_or(0);
    let calendar = clock.mashes(later(now, -LATE_H), later(now, ahead_h));
    let left = calendar.into_iter().filter(|at| !done(at));
    (number + 1..).zip(left).map(|(mash, at)| When { mash, make: make.key.clone(), at }).collect()
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
    (wished, at): (&Wished, Timestamp),
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
        lot: Some(wished.mash),
        at,
        mark: wished.mash.to_string(),
    });
    if back.is_none() {
        work.why = Some("no washback is free by then".to_owned());
    }
    work.figures = desk.numbers(&make.key, "cool", &["set_c", "water_kg_s"]);
    let keys = ["original_gravity", "wort_20_l"];
    work.figures.extend(desk.numbers(&make.key, "mash", &keys));
    let shown = ("yeast_kg", "yeast", "kg", 0);
    work.figures.push(Number::noted(shown, wished.yeast_kg));
    work.caution = Some("washback");
    wanting(work, &[GRAVITY, SET_C, BULK_L])
}

/// Which make is mashed next: the one that was mashed last, while its rested malt suffices; else
/// the one of which most rested malt stands.
fn next_make<'h>(
    house: &'h House,
    standing: &Standing,
    now: Timestamp,
) -> Option<(&'h Make, String)> {
    let rest_h = house.vessels("bin").find_map(|v| match &v.what {
        Equipment::Bin(own, _) => Some(168.0 * own.rest_weeks),
        _ => None,
    });
    let rest_h = rest_h.unwrap_or(0.0);
    let rested_kg = |make: &Make| -> f64 {
        let layers = standing.bins.iter().flat_map(|bin| &bin.layers);
        layers
            .filter(|l| l.make == make.key && hours(l.since, now) >= rest_h)
            .map(|l| l.dry_kg / (1.0 - l.moisture_wet))
            .sum()
    };
    let last = standing.washbacks.iter().max_by_key(|w| w.set_at);
    if let Some(make) = last.and_then(|w| house.make(&w.make))
        && rested_kg(make) >= make.mash.grist.grist_kg
    {
        return Some((make, format!("goes on with {}", make.name)));
    }
    let makes = house.makes.makes.iter();
    let make = makes.max_by(|a, b| rested_kg(a).total_cmp(&rested_kg(b)))?;
    let tonnes = rested_kg(make) / 1000.0;
    if 1000.0 * tonnes < make.mash.grist.grist_kg {
        return Some((make, "no malt has rested long enough".to_owned()));
    }
    Some((make, format!("{tonnes:.1} t of its malt have rested")))
}
