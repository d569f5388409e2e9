//! What the last mashes have taught of the tun: its heat, the water its bed holds, how it washes,
//! and how much of the laboratory's extract it gives.
//!
//! Four factors, each with what was believed before, by Gauss and Newton's steps with priors: the
//! heat of the tun from the noted striking heat and mash, the rest from gravities and litres.

use super::under_way::{Others, as_noted, first_drain_gravity};
use crate::maltings::factor::Factor;
use gauge::Record;
use house::{Equipment, House, Mashed};
use numeric::least_squares::{Belief, Found, Unknown, fit};
use process::mash::{Constants, Fitted, Run, Vessel};
use std::convert::Infallible;

/// Of so many mashes the tun is fitted; older ones are left.
const MOST_MASHES: usize = 8;
/// Of a noted mash: thermometer, and a bed that is not mixed evenly, K.
const MASH_SD_C: f64 = 0.4;
/// Of a noted gravity, and what washing leaves out.
const GRAVITY_SD: f64 = 0.0008;
/// Of noted litres, as a share.
const LITRES_SD: f64 = 0.012;
/// How well extract from the malt is known before: mill, tun and laboratory differ.
const RECOVERY_SD: f64 = 0.010;
/// Step of the differences, in prior standard uncertainties.
const STEP: f64 = 0.3;

/// A tun as the house's own mashes have shown it.
#[derive(Debug, Clone, PartialEq)]
pub struct TunFitted {
    /// What was fitted.
    pub factors: Vec<Factor>,
    /// How many mashes spoke.
    pub mashes: u32,
    /// The tun with them in it.
    pub vessel: Vessel,
    /// The constants with them in them.
    pub constants: Constants,
    /// Factor on what the grist will yield.
    pub recovery: f64,
}

impl TunFitted {
    /// The tun of a house as its files have it.
    pub fn believed(house: &House) -> Self {
        let vessel = house.vessels("mash_tun").find_map(|v| match &v.what {
            Equipment::MashTun(_, stage) => Some(stage.clone()),
            _ => None,
        });
        let vessel = vessel.unwrap_or_default();
        let relative = |sd: f64, value: f64| sd / value.max(1e-9);
        let of =
            |key: &str| Fitted::FIELDS.iter().find(|f| f.key == key).expect("the stage has it").sd;
        let tun_sd =
            Vessel::FIELDS.iter().find(|f| f.key == "tun_kj_k").expect("the stage has it").sd;
        let fitted = Fitted::default();
        let factors = vec![
            Factor::believed("tun", "heat of the tun", relative(tun_sd, vessel.tun_kj_k).min(0.5)),
            Factor::believed(
                "held",
                "water held by the bed",
                relative(of("held_first_kg_kg"), fitted.held_first_kg_kg),
            ),
            Factor::believed("layers", "how the bed washes", relative(of("tanks"), fitted.tanks)),
            Factor::believed("recovery", "extract from the malt", RECOVERY_SD),
        ];
        let constants = Constants { fitted, ..Constants::default() };
        Self { factors, mashes: 0, vessel, constants, recovery: 1.0 }
    }

    /// The same with the logarithm of each factor as given.
    fn bent(&self, at: &[f64]) -> Self {
        let mut out = self.clone();
        for (place, by) in at.iter().enumerate() {
            bend(place, *by, &mut out.vessel, &mut out.constants, &mut out.recovery);
        }
        out
    }
}

/// Multiplies what one factor stands on by `exp(by)`.
pub(super) fn bend(
    place: usize,
    by: f64,
    vessel: &mut Vessel,
    constants: &mut Constants,
    recovery: &mut f64,
) {
    let (by, fitted) = (by.exp(), &mut constants.fitted);
    match place {
        0 => vessel.tun_kj_k *= by,
        1 => {
            fitted.held_first_kg_kg *= by;
            fitted.held_second_kg_kg *= by;
            fitted.held_third_kg_kg *= by;
            fitted.held_last_kg_kg *= by;
        }
        2 => fitted.tanks = (fitted.tanks * by).clamp(1.0, 20.0),
        _ => *recovery *= by,
    }
}

/// Fits the tun to the last mashes of which enough was noted.
///
/// # Units
/// As the fields say.
/// # Range
/// Mashes that were mashed in; the last eight of them.
/// # Error
/// Each factor carries its standard uncertainty.
/// # Source
/// Gauss and Newton's steps with priors, on the mash's own reckoning.
pub fn tun(house: &House, past: &[Mashed]) -> TunFitted {
    let believed = TunFitted::believed(house);
    let mut spoken: Vec<&Mashed> = past.iter().filter(|m| speaks(m)).collect();
    spoken.sort_by_key(|m| std::cmp::Reverse(m.mash));
    spoken.truncate(MOST_MASHES);
    if spoken.is_empty() {
        return believed;
    }
    let mut at = vec![0.0; believed.factors.len()];
    let mut found = Vec::new();
    for _ in 0..2 {
        match step(house, &believed, past, &spoken, &at) {
            Some(new) => {
                at = new.iter().map(|f| f.value).collect();
                found = new;
            }
            None => break,
        }
    }
    let mut out = believed.bent(&at);
    out.mashes = spoken.len() as u32;
    let factors = believed.factors.into_iter().zip(&found);
    out.factors = factors.map(|(factor, found)| factor.found(found)).collect();
    if out.factors.is_empty() {
        return TunFitted::believed(house);
    }
    out
}

fn speaks(mashed: &Mashed) -> bool {
    let heat =
        mashed.mashed_in.as_ref().is_some_and(|m| m.strike_c.is_some() && m.mash_c.is_some());
    heat || (mashed.mashed_in.is_some() && mashed.set.is_some())
}

/// One of Gauss and Newton's steps: the model made straight about `at`, and that fitted.
fn step(
    house: &House,
    believed: &TunFitted,
    all: &[Mashed],
    spoken: &[&Mashed],
    at: &[f64],
) -> Option<Vec<Found>> {
    let here = residuals(house, &believed.bent(at), all, spoken);
    if here.is_empty() {
        return None;
    }
    let slopes: Vec<Vec<f64>> = (0..at.len())
        .map(|place| {
            let by = STEP * believed.factors[place].before_sd;
            let mut moved = at.to_vec();
            moved[place] += by;
            let there = residuals(house, &believed.bent(&moved), all, spoken);
            // A mash that cannot be run with the moved tun leaves the rows without their partners.
            let same = there.len() == here.len();
            same.then(|| here.iter().zip(&there).map(|(a, b)| (b - a) / by).collect())
        })
        .collect::<Option<_>>()?;
    let unknowns: Vec<Unknown> = believed
        .factors
        .iter()
        .map(|factor| {
            let ends = 3.0 * factor.before_sd;
            Unknown::believed(Belief { mean: 0.0, sd: factor.before_sd }).within(-ends..=ends)
        })
        .collect();
    let straight = |x: &[f64]| -> Result<Vec<f64>, Infallible> {
        let one = |(row, e): (usize, &f64)| {
            e + slopes.iter().enumerate().map(|(j, s)| s[row] * (x[j] - at[j])).sum::<f64>()
        };
        Ok(here.iter().enumerate().map(one).collect())
    };
    fit(&unknowns, straight).ok().map(|fit| fit.found)
}

/// What each mash should have shown less what was noted, over its standard uncertainty. A mash that
/// cannot be run is left out.
fn residuals(house: &House, fitted: &TunFitted, all: &[Mashed], spoken: &[&Mashed]) -> Vec<f64> {
    let mut out = Vec::new();
    for mashed in spoken {
        let Ok(setup) = as_noted(house, Others { mashed: all, sheets: &[] }, fitted, mashed) else {
            continue;
        };
        let Ok(run) = setup.mash() else { continue };
        out.extend(heat(&setup, mashed));
        out.extend(worts(&run, mashed));
    }
    out
}

/// The noted mash beside that of the noted striking heat.
fn heat(setup: &super::Setup<'_>, mashed: &Mashed) -> Option<f64> {
    let noted = mashed.mashed_in.as_ref()?;
    let (strike_c, mash_c) = (noted.strike_c?, noted.mash_c?);
    let mut struck = setup.clone();
    struck.programme.mash_c = None;
    struck.programme.waters.first_mut()?.liquor.temperature_c = Some(strike_c);
    Some((super::heat::mash_in(&struck, strike_c) - mash_c) / MASH_SD_C)
}

fn worts(run: &Run, mashed: &Mashed) -> Vec<f64> {
    let mut out = Vec::new();
    let drained = run.steps.first().map_or(1.0, |s| s.run_off.gravity());
    if let Some(noted) = first_drain_gravity(mashed) {
        out.push((drained - noted) / GRAVITY_SD);
    }
    if let Some(set) = &mashed.set {
        let water = gauge::water::density_kg_m3;
        let set_20_l = set.bulk_l * water(set.set_c) / water(20.0);
        out.push((run.worts.gravity() - set.original_gravity) / GRAVITY_SD);
        out.push((run.worts.volume_20_l() / set_20_l - 1.0) / LITRES_SD);
    }
    if let Some(weak) = &mashed.weak_worts {
        out.push((run.weak_worts.gravity() - weak.gravity) / GRAVITY_SD);
    }
    out
}
