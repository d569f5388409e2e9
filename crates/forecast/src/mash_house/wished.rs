//! The next mashes: what is wished of each before it is struck.

use super::setup::usual;
use crate::maltings::bins::{BinSeen, State, bins};
use crate::maltings::seen::{hours, later};
use house::{House, KeptMash, Standing};
use jiff::Timestamp;
use process::mash::Grist;

/// Worts that lie longer than this turn sour, h: they are drained before such a stop.
const SOUR_H: f64 = 24.0;

/// A mash by the calendar.
#[derive(Debug, Clone, PartialEq)]
pub struct When {
    /// Its number.
    pub mash: u32,
    /// The make, a key.
    pub make: String,
    /// When it is mashed in.
    pub at: Timestamp,
}

/// One water as it is wished.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WishedWater {
    /// Litres as they are run in, weak worts and all.
    pub volume_l: f64,
    /// Temperature; none for the first, whose follows from the heat of the mash.
    pub temperature_c: Option<f64>,
}

/// A stop before which the last worts are drained.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stop {
    /// The last mash before it.
    pub after_mash: u32,
    /// When that one's last worts are drained, near enough.
    pub at: Timestamp,
    /// Extract that is lost, kg.
    pub lost_kg: f64,
    /// The same in litres of pure alcohol, all of it fermented.
    pub lost_l: f64,
}

/// A mash as it is wished.
#[derive(Debug, Clone, PartialEq)]
pub struct Wished {
    /// Its number.
    pub mash: u32,
    /// The make, a key.
    pub make: String,
    /// When it is mashed in.
    pub at: Timestamp,
    /// Malt as it is.
    pub grist_kg: f64,
    /// Its moisture on a wet basis, 0 to 1.
    pub moisture_wet: f64,
    /// Extract by the laboratory, % of dry malt.
    pub extract_pct_dry: f64,
    /// Share of it that ferments.
    pub fermentability: f64,
    /// Whether a laboratory found those two; else they are those of a usual malt.
    pub tested: bool,
    /// The bins it is drawn from, keys, in the order in which it is drawn.
    pub bins: Vec<String>,
    /// Temperature of the mash.
    pub mash_c: f64,
    /// The waters, first to last.
    pub waters: Vec<WishedWater>,
    /// Setting temperature.
    pub set_c: f64,
    /// Pressed yeast.
    pub yeast_kg: f64,
    /// Hours until it is distilled.
    pub hours: f64,
    /// The washback, where one stands free.
    pub washback: Option<String>,
    /// Whether it is struck on the weak worts of the mash before.
    pub on_weak_worts: bool,
    /// The next mash whose last worts are drained, and when, near enough.
    pub stops: Option<(u32, Timestamp)>,
    /// Whether anything of it was decided otherwise than is usual.
    pub decided: bool,
}

/// Gives the mashes of a calendar as they are wished: as usual of their makes, with what was
/// decided for each, of the malt that lies in the bins.
///
/// # Units
/// As the fields say.
/// # Range
/// Makes of the house; others are left out.
/// # Error
/// Malt that no laboratory has tested is taken as usual, see [`Wished::tested`].
/// # Source
/// The house's files and its book.
pub fn coming(house: &House, standing: &Standing, when: &[When], at: Timestamp) -> Vec<Wished> {
    let mut out: Vec<Wished> = Vec::new();
    let seen = bins(house, standing, at);
    let mut drawn = vec![0.0; seen.len()];
    let mut free = free_backs(house, standing);
    let before = last_mash(house, standing);
    for (place, one) in when.iter().enumerate() {
        let Some(mut wished) = usual(house, &one.make, one.mash, one.at) else { continue };
        draw(&mut wished, &seen, &mut drawn);
        if let Some(kept) = standing.sheets.iter().rfind(|kept| kept.mash == one.mash) {
            decide(&mut wished, kept);
        }
        wished.washback = free.next();
        wished.on_weak_worts = match (place.checked_sub(1).map(|i| &when[i]), &before) {
            (Some(last), _) => follows((&last.make, last.at), one),
            (None, Some((make, began))) => {
                standing.weak_worts.is_some() || follows((make, *began), one)
            }
            (None, None) => standing.weak_worts.is_some(),
        };
        let drains = |i: usize| match when.get(i + 1) {
            Some(next) => !follows((&when[i].make, when[i].at), next),
            None => false,
        };
        let last = (place..when.len()).find(|i| drains(*i));
        wished.stops = last.map(|i| (when[i].mash, when[i].at));
        out.push(wished);
    }
    out
}

/// Whether a mash is struck on the last worts of the one before it.
fn follows(before: (&str, Timestamp), next: &When) -> bool {
    before.0 == next.make && hours(before.1, next.at) <= SOUR_H
}

/// The last mash that was begun: as it was noted, else by the last washback that was set.
fn last_mash(house: &House, standing: &Standing) -> Option<(String, Timestamp)> {
    let begun = standing.mashed.iter().filter_map(|m| Some((m, m.mashed_in.as_ref()?.at)));
    let noted = begun.max_by_key(|(_, at)| *at).map(|(mashed, at)| (mashed.make.clone(), at));
    let by_set = || {
        let set = standing.washbacks.iter().max_by_key(|back| back.set_at)?;
        let worts_h = house.make(&set.make)?.mash.worts_h();
        Some((set.make.clone(), later(set.set_at, -worts_h)))
    };
    noted.or_else(by_set)
}

fn free_backs(house: &House, standing: &Standing) -> impl Iterator<Item = String> + use<> {
    let filling = |key: &str| {
        let collected = standing.mashed.iter().flat_map(|m| &m.collected);
        collected.into_iter().any(|c| c.vessel == key)
    };
    let used = |key: &str| standing.washbacks.iter().any(|w| w.vessel == key) || filling(key);
    let free = house.vessels("washback").filter(|v| !used(&v.key)).map(|v| v.key.clone());
    free.collect::<Vec<_>>().into_iter()
}

/// What was decided for a mash instead of the usual.
pub(super) fn decide(wished: &mut Wished, kept: &KeptMash) {
    let usual = wished.clone();
    wished.mash_c = kept.mash_c.unwrap_or(wished.mash_c);
    for (water, litres) in wished.waters.iter_mut().zip(&kept.waters_l) {
        water.volume_l = *litres;
    }
    for (water, heat_c) in wished.waters.iter_mut().skip(1).zip(&kept.waters_c) {
        water.temperature_c = Some(*heat_c);
    }
    wished.set_c = kept.set_c.unwrap_or(wished.set_c);
    wished.yeast_kg = kept.yeast_kg.unwrap_or(wished.yeast_kg);
    wished.hours = kept.hours.unwrap_or(wished.hours);
    wished.decided = *wished != usual;
}

/// Draws a grist from the bins, those in use first, and takes the malt's figures from it.
fn draw(wished: &mut Wished, seen: &[BinSeen], drawn: &mut [f64]) {
    let mut order: Vec<usize> = (0..seen.len())
        .filter(|i| seen[*i].state.may_draw() && seen[*i].make.as_deref() == Some(&wished.make))
        .collect();
    order.sort_by_key(|i| match seen[*i].state {
        State::InUse => 0,
        State::UseNow => 1,
        State::UseNext => 2,
        _ => 3,
    });
    let usual = Grist::default();
    let (mut kg, mut dry, mut extract, mut ferments) = (0.0, 0.0, 0.0, 0.0);
    let mut all_tested = true;
    for bin in order {
        let mut skip = drawn[bin];
        for layer in &seen[bin].layers {
            let lies_kg = 1000.0 * layer.t;
            let left_kg = (lies_kg - skip).max(0.0);
            skip = (skip - lies_kg).max(0.0);
            let take_kg = left_kg.min(wished.grist_kg - kg);
            if take_kg <= 1e-6 {
                continue;
            }
            let found = layer.analysis.as_ref();
            let tested = found.and_then(|a| a.extract_pct_dry);
            all_tested &= tested.is_some();
            let dry_kg = take_kg * (1.0 - layer.moisture_wet);
            let of_malt = tested.unwrap_or(usual.extract_pct_dry);
            let share = found.and_then(|a| a.fermentability).unwrap_or(usual.fermentability);
            kg += take_kg;
            dry += dry_kg;
            extract += dry_kg * of_malt;
            ferments += dry_kg * of_malt * share;
            drawn[bin] += take_kg;
            if !wished.bins.contains(&seen[bin].bin) {
                wished.bins.push(seen[bin].bin.clone());
            }
        }
    }
    if kg > 0.5 * wished.grist_kg {
        wished.moisture_wet = 1.0 - dry / kg;
        wished.extract_pct_dry = extract / dry;
        wished.fermentability = ferments / extract;
        wished.tested = all_tested;
    }
}
