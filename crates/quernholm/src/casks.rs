//! What lies in the warehouses from earlier years, and the regauges of some of it.

use crate::told::{Clock, Diary, Hours, field, to};
use std::collections::BTreeMap;

/// How many casks each year has numbered so far.
pub(crate) type Numbers = BTreeMap<i16, u32>;

/// Kinds of cask: key, litres, empty weight, share of the casks filled.
pub(crate) const KINDS: [(CaskKind, f64); 4] = [
    (CaskKind { key: "barrel", litres: 195.0, tare_kg: 46.0 }, 0.42),
    (CaskKind { key: "hogshead", litres: 245.0, tare_kg: 58.0 }, 0.42),
    (CaskKind { key: "butt", litres: 490.0, tare_kg: 112.0 }, 0.08),
    (CaskKind { key: "quarter", litres: 122.0, tare_kg: 34.0 }, 0.08),
];

/// One kind of cask.
#[derive(Debug, Clone, Copy)]
pub(crate) struct CaskKind {
    pub(crate) key: &'static str,
    pub(crate) litres: f64,
    pub(crate) tare_kg: f64,
}

const MAKES: [(&str, f64); 3] = [("pale", 0.55), ("feather", 0.1), ("ember", 0.35)];
const OWNERS: [(&str, f64); 3] = [("house", 0.7), ("broker", 0.22), ("club", 0.08)];
/// Weeks of six years.
const WEEKS: u32 = 313;
/// A regauge of every so many casks.
const EVERY: u32 = 170;
/// The two that leak, by their place in the order of filling, as shares of all.
const LEAKERS: [f64; 2] = [0.31, 0.72];

/// The next number of a year.
pub(crate) fn number(numbers: &mut Numbers, year: i16) -> String {
    let next = numbers.entry(year).or_insert(0);
    *next += 1;
    format!("{year}-{next:04}")
}

struct Old {
    cask: String,
    filled_h: Hours,
    litres: f64,
    strength_pct: f64,
    tall: bool,
}

/// Tells what lies there on the first day, and the regauges since. Gives how far each year has
/// numbered its casks.
pub(crate) fn lay_down(clock: &Clock, casks: u32, diary: &mut Diary) -> Numbers {
    let mut numbers = Numbers::new();
    let opening_h = -21.0 * 24.0 - 100.0;
    let leakers = LEAKERS.map(|share| (f64::from(casks) * share) as u32);
    for place in 0..casks {
        // Thursdays of six years, oldest first, silent in the middle of summer.
        let weeks_ago = WEEKS - place * (WEEKS - 5) / casks.max(1);
        let filled_h = working(clock, 3.0 * 24.0 + 10.0 - f64::from(weeks_ago) * 168.0);
        let old = tell_old(clock, filled_h, opening_h, &mut numbers, diary);
        let leaks = leakers.contains(&place);
        if leaks || place % EVERY == EVERY / 2 {
            regauge(&old, leaks, f64::from(place % 5), diary);
        }
    }
    numbers
}

/// The silent season has no fillings: they are moved seven weeks on.
fn working(clock: &Clock, at_h: Hours) -> Hours {
    let day = clock.day_of_year(at_h);
    if (172..=221).contains(&day) { at_h - 49.0 * 24.0 } else { at_h }
}

fn tell_old(
    clock: &Clock,
    filled_h: Hours,
    opening_h: Hours,
    numbers: &mut Numbers,
    diary: &mut Diary,
) -> Old {
    let cask = number(numbers, clock.year(filled_h));
    let kind = *diary.chance.pick(&KINDS);
    let make = *diary.chance.pick(&MAKES);
    let owner = *diary.chance.pick(&OWNERS);
    let tall = diary.chance.part() < 0.72;
    let litres = to(kind.litres * (1.0 + diary.chance.about(0.012)), 1);
    let strength_pct = to(62.8 + diary.chance.about(0.08), 1);
    let fields = vec![
        field("account", format!("cask/{cask}")),
        field("cask_kind", kind.key),
        field("make", make),
        field("owner", owner),
        field("warehouse", if tall { "tall_store" } else { "low_store" }),
        field("filled", clock.written(filled_h)),
        field("bulk_l", litres),
        field("strength_pct", strength_pct),
    ];
    diary.tell_late(filled_h, opening_h, "opening", fields);
    Old { cask, filled_h, litres, strength_pct, tall }
}

/// What the wood has breathed: more litres in the racked store, more strength in the earthy one.
fn regauge(old: &Old, leaks: bool, day: f64, diary: &mut Diary) {
    let at_h = 168.0 * 2.0 + day * 24.0 + 10.0 + diary.chance.part() * 4.0;
    let years = (at_h - old.filled_h) / 8766.0;
    let (litres_a_year, pct_a_year) = if old.tall { (0.0195, 0.24) } else { (0.0145, 0.52) };
    let leaked = if leaks { 0.27 } else { 0.0 };
    let left = (1.0 - litres_a_year * years * (1.0 + diary.chance.about(0.12))) * (1.0 - leaked);
    let strength = old.strength_pct - pct_a_year * years + diary.chance.about(0.1);
    diary.tell(
        at_h,
        "regauge",
        [
            field("cask", old.cask.as_str()),
            field("bulk_l", to(old.litres * left, 1)),
            field("temperature_c", 20.0),
            field("strength_pct", to(strength, 1)),
        ],
    );
}
