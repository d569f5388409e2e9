//! A mash that is done: what ran off beside what was expected, and what it gave.

use super::course::points;
use super::lanes::stands;
use super::tun::TunFitted;
use super::under_way::{Others, as_noted, asked_of};
use crate::maltings::seen::hours;
use gauge::wort::kernel as wort;
use house::{House, Mashed};
use process::mash::To;

/// A mash that is done.
#[derive(Debug, Clone, PartialEq)]
pub struct Done {
    /// Its number.
    pub mash: u32,
    /// The make, a key.
    pub make: String,
    /// Expected gravity of what ran off: hours from mashing in, 20/20.
    pub points: Vec<(f64, f64)>,
    /// The same as noted.
    pub noted: Vec<(f64, f64)>,
    /// Extract that was set, of the laboratory's, %; none before it was set.
    pub recovered_pct: Option<f64>,
    /// The same as expected.
    pub expected_pct: f64,
    /// The mash as noted less as asked, °C.
    pub mash_apart_c: Option<f64>,
    /// Minutes that the worts came later than they should, where the bed was found set.
    pub set_bed: Option<f64>,
}

/// Gives a mash as it went. `others` are the mashes about it, for the weak worts it was struck on.
///
/// # Units
/// As the fields say.
/// # Range
/// A mash that was mashed in; none for others.
/// # Error
/// As [`super::sheet()`].
/// # Source
/// As [`super::sheet()`].
pub fn done(house: &House, fitted: &TunFitted, others: &[Mashed], mashed: &Mashed) -> Option<Done> {
    let began = mashed.mashed_in.as_ref()?;
    let others = Others { mashed: others, sheets: &[] };
    let setup = as_noted(house, others, fitted, mashed).ok()?;
    let asked = asked_of(house, others, mashed)?;
    let run = setup.mash().ok()?;
    let times = stands(&setup);
    let course = points(&run, &times, began.at);
    let recovered = mashed.set.as_ref().map(|set| {
        let water = gauge::water::density_kg_m3;
        let m3 = set.bulk_l * water(set.set_c) / water(20.0) / 1000.0;
        100.0 * m3 * wort::extract_kg_m3(set.original_gravity) / run.laboratory_extract_kg
    });
    let asked_h: f64 = {
        let to_back = run.steps.iter().zip(&times).filter(|(s, _)| s.to == To::Washback);
        to_back.map(|(_, (stand, drain))| (stand + drain) / 60.0).sum()
    };
    let last = mashed.collected.iter().map(|c| c.at).chain(mashed.set.as_ref().map(|s| s.at)).max();
    let late_min = last.map(|at| (60.0 * (hours(began.at, at) - asked_h)).max(0.0));
    Some(Done {
        mash: mashed.mash,
        make: mashed.make.clone(),
        points: course.iter().filter_map(|p| Some((hours(began.at, p.at), p.gravity?))).collect(),
        noted: mashed.run_off_gravity.iter().map(|r| (hours(began.at, r.at), r.value)).collect(),
        recovered_pct: recovered,
        expected_pct: 100.0 * run.worts.liquid.extract_kg / run.laboratory_extract_kg,
        mash_apart_c: began.mash_c.map(|c| c - asked.mash_c),
        set_bed: if mashed.set_bed.is_empty() { None } else { late_min },
    })
}
