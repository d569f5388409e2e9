//! A washback put together for reckoning, and how it is moved.

use crate::chain::WORT_PH;
use crate::expect::Forecasts;
use crate::mash_house::{Others, TunFitted, as_noted};
use crate::washback::{extract, scaled, split};
use gauge::Fault;
use house::standing::Washback;
use house::vessel::Washback as Own;
use house::{Equipment, House, Make, Standing};
use process::Curves;
use process::ferment::{Charge, Constants, Programme, Run, Vessel, Wort, Yeast, run};

/// Followed so far beyond the longest time, h.
const BEYOND_H: f64 = 12.0;
/// Rows of the curves, h.
const EVERY_H: f64 = 1.0;

/// Shifts of what is not known exactly; nought is as believed.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Moved {
    /// Logarithm of the factor on the yeast's vigour.
    pub(crate) ln_vigour: f64,
    /// Logarithm of the factor on the rate at which it wakes.
    pub(crate) ln_wake: f64,
    /// Share of the extract that ferments beyond what was expected.
    pub(crate) fermentable: f64,
    /// Of the setting temperature.
    pub(crate) set_c: f64,
    /// Of the original gravity.
    pub(crate) gravity: f64,
    /// Logarithm of the factor on the yeast.
    pub(crate) ln_yeast: f64,
    /// Logarithm of the factor on the bacteria.
    pub(crate) ln_bacteria: f64,
}

/// How many shifts are bent to readings, and what is believed of each: nought, with this standard
/// uncertainty. Vigour and waking from memory of the trade; the share that ferments from the
/// malt's analysis; the last two are the reading of thermometer and saccharometer.
pub(crate) const BENT: usize = 5;
pub(crate) const PRIOR_SD: [f64; BENT] = [0.15, 0.35, 0.008, 0.3, 0.0004];

impl Moved {
    /// Of the shifts that are bent.
    pub(crate) fn of(at: &[f64]) -> Self {
        let get = |i: usize| at.get(i).copied().unwrap_or(0.0);
        Self {
            ln_vigour: get(0),
            ln_wake: get(1),
            fermentable: get(2),
            set_c: get(3),
            gravity: get(4),
            ..Self::default()
        }
    }
}

/// All that a washback is reckoned from.
#[derive(Debug, Clone)]
pub(crate) struct Working<'h> {
    pub(crate) make: &'h Make,
    pub(crate) own: &'h Own,
    pub(crate) vessel: Vessel,
    /// Shares of the wort's extract.
    pub(crate) share: Wort,
    pub(crate) original_gravity: f64,
    pub(crate) set_c: f64,
    pub(crate) yeast_kg: f64,
    pub(crate) bulk_l: f64,
    /// Usual shifts of the house: vigour, waking, how far its worts ferment.
    pub(crate) usual: [f64; 3],
    /// Standard uncertainty of what is bent, before its own readings.
    pub(crate) prior_sd: [f64; BENT],
}

impl<'h> Working<'h> {
    /// Puts a washback together.
    pub(crate) fn of(
        house: &'h House,
        forecasts: &Forecasts,
        standing: &Standing,
        back: &Washback,
    ) -> Result<Self, Fault> {
        let wanted = "a make and a washback of this house";
        let missing = || Fault::MissingPart { field: "washback".into(), wanted };
        let make = house.make(&back.make).ok_or_else(missing)?;
        let found = house.vessel(&back.vessel).ok_or_else(missing)?;
        let Equipment::Washback(own, stage) = &found.what else { return Err(missing()) };
        let of_make = || split(forecasts.of_make(&make.key)?);
        let share = own_split(house, standing, back).or_else(of_make).ok_or_else(missing)?;
        let yeast_kg = back.yeast_kg.unwrap_or(make.ferment.pitch.yeast_kg);
        let water = gauge::water::density_kg_m3;
        let fill_l = back.bulk_l * water(back.set_c) / water(20.0);
        Ok(Self {
            make,
            own,
            vessel: Vessel { fill_l, ..stage.clone() },
            share,
            original_gravity: back.original_gravity,
            set_c: back.set_c,
            yeast_kg,
            bulk_l: back.bulk_l,
            usual: [0.0; 3],
            prior_sd: PRIOR_SD,
        })
    }

    /// Hours that its course is followed.
    pub(crate) fn hours(&self) -> f64 {
        self.own.longest_h + BEYOND_H
    }

    /// Follows it to the end of its longest time and some hours more.
    pub(crate) fn run(&self, moved: &Moved) -> Result<Run, Fault> {
        self.run_for(moved, self.hours())
    }

    /// Follows it for so many hours.
    pub(crate) fn run_for(&self, moved: &Moved, hours: f64) -> Result<Run, Fault> {
        let kg_m3 = gauge::wort::kernel::extract_kg_m3(self.original_gravity + moved.gravity);
        let mut wort = scaled(&self.share, kg_m3);
        let more = ((self.usual[2] + moved.fermentable) * kg_m3)
            .clamp(-0.5 * wort.maltose_kg_m3, 0.95 * wort.residual_kg_m3);
        wort.maltose_kg_m3 += more;
        wort.residual_kg_m3 -= more;
        let pitched_kg = self.yeast_kg * moved.ln_yeast.exp() * self.make.ferment.pitch.yeast_dry;
        let usual = Yeast::default();
        let yeast = Yeast {
            dry_kg_m3: 1000.0 * pitched_kg / self.vessel.fill_l,
            bacteria_kg_m3: usual.bacteria_kg_m3 * moved.ln_bacteria.exp(),
            ..usual
        };
        let charge = Charge { wort, yeast, ph: WORT_PH };
        let usual = Constants::default();
        let constants = Constants {
            vigour: usual.vigour * (self.usual[0] + moved.ln_vigour).exp(),
            wake_per_h: usual.wake_per_h * (self.usual[1] + moved.ln_wake).exp(),
            ..usual
        };
        let mut programme: Programme = self.make.ferment.programme.clone();
        programme.set_c = self.set_c + moved.set_c;
        (programme.hours, programme.every_h) = (hours, EVERY_H);
        run(&charge, &self.vessel, &programme, &constants)
    }

    /// Cubic metres set, at 20 °C.
    pub(crate) fn fill_m3(&self) -> f64 {
        self.vessel.fill_l / 1000.0
    }
}

/// Shares of the worts that its own mash gave, where that was noted.
fn own_split(house: &House, standing: &Standing, back: &Washback) -> Option<Wort> {
    let mashed = standing.mashed.iter().find(|m| m.mash == back.mash && m.mashed_in.is_some())?;
    let fitted = TunFitted::believed(house);
    let run = as_noted(house, Others::of(standing), &fitted, mashed).ok()?.mash().ok()?;
    let wort = run.wort();
    let whole = extract(&wort);
    Some(scaled(&wort, 1.0 / whole))
}

/// Strength of the wash at a moment, % vol, from a run's curves.
pub(crate) fn strength_at(curves: &Curves, hour: f64) -> f64 {
    curves.at("alcohol_pct", hour).unwrap_or(f64::NAN)
}
