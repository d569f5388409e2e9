//! What a steeping comes to: its figures, its ledgers of matter and heat, and what to know.

use super::corn::{Corn, Setting};
use super::figures::{Charge, Constants, Programme};
use super::state::State;
use super::{Out, Run, Water};
use crate::{Balance, Curves, Matter};
use gauge::Warning;

/// Hours without air beyond which corns drown, and percentage points lost for each more.
const DROWNING: (f64, f64) = (30.0, 0.5);
/// Longest delay on the floor.
const LONGEST_LAG_H: f64 = 24.0;
/// Moisture beyond which the fitted curve has nothing to stand on.
const WETTEST: f64 = 0.48;
/// Customary limit at casting: 65 °F (Haley and Stokes, MBAA TQ 1987).
const WARMEST_C: f64 = 18.3;
/// Difference of germinative energies from which care is wanted.
pub(super) const SENSITIVE: f64 = 25.0;

/// What a course kept beside the corn.
pub(super) struct Kept {
    pub(super) ends: Vec<f64>,
    pub(super) waters: Vec<Water>,
    pub(super) curves: Curves,
}

pub(super) fn run(
    state: &State,
    corn: &Corn,
    setting: &Setting<'_>,
    programme: &Programme,
    kept: Kept,
) -> Run {
    let (charge, c) = (setting.charge, setting.c);
    let germinating_fraction = growing_pct(charge, c, corn.airless_h) / 100.0;
    let (held_back_h, later_h) =
        if programme.wet_cast { (c.wet_cast_h, c.wet_cast_lag_h) } else { (0.0, 0.0) };
    let out = Out {
        dry_kg: corn.dry_kg,
        barley_dry_kg: charge.dry_kg,
        moisture_wet: corn.moisture_wet(),
        moisture_dry: corn.drunk_kg / corn.dry_kg,
        surface_water_dry: corn.film_kg / corn.dry_kg,
        temperature_c: corn.temperature_c,
        nitrogen_pct_dry: charge.nitrogen_pct_dry,
        germinating_fraction,
        sensitivity_pct: sensitivity_pct(charge),
        airless_h: corn.airless_h,
        lag_h: (c.airless_lag * corn.airless_h).min(LONGEST_LAG_H) + later_h,
        held_back_h,
        hours: corn.time_h,
        water_used_kg: corn.ledger.filled + corn.ledger.sprayed,
        drained_kg: corn.ledger.drained,
        oxygen_demand_kg: c.oxygen_demand_kg_kg * corn.ledger.leached,
        waters: kept.waters,
        phase_moisture_wet: kept.ends,
    };
    let warnings = warnings(&out, corn, charge);
    let balance = balance(state, corn, setting);
    Run { out, state: corn.state(), curves: kept.curves, balance, warnings }
}

/// Points by which fewer corns grow in 8 ml of water than in 4 ml.
pub(super) fn sensitivity_pct(charge: &Charge) -> f64 {
    (charge.germinative_energy_4ml_pct - charge.germinative_energy_8ml_pct).max(0.0)
}

/// Corns that grow, %.
pub(super) fn growing_pct(charge: &Charge, c: &Constants, airless_h: f64) -> f64 {
    let (few, many) = (charge.germinative_energy_8ml_pct, charge.germinative_energy_4ml_pct);
    let shown = -(-(airless_h / c.airless_h).powi(2)).exp_m1();
    let drowned = DROWNING.1 * (airless_h - DROWNING.0).max(0.0);
    (many - (many - few) * shown - drowned).max(0.0)
}

fn balance(state: &State, corn: &Corn, setting: &Setting<'_>) -> Balance {
    let Setting { charge, c, .. } = *setting;
    // The light corns are skimmed off the first water.
    let skimmed = if state.wet_h > 0.0 { 0.0 } else { charge.dry_kg * c.skimmed_fraction };
    let damp = state.moisture_wet / (1.0 - state.moisture_wet);
    let start = state.dry_kg + skimmed;
    let clinging = state.surface_water_dry * state.dry_kg;
    let (l, heat) = (&corn.ledger, &corn.heat);
    let kj = |joules: f64| joules / 1000.0;
    let mut b = Balance::new();
    b.input(Matter::DryMatter, "barley", start)
        .output(Matter::DryMatter, "steeped barley", corn.dry_kg)
        .lost(Matter::DryMatter, "skimmed", skimmed)
        .lost(Matter::DryMatter, "leached", l.leached)
        .lost(Matter::DryMatter, "breathed", l.respired)
        .input(Matter::Water, "barley", start * damp)
        .input(Matter::Water, "about it at the beginning", clinging + state.standing_kg)
        .input(Matter::Water, "run in", l.filled)
        .input(Matter::Water, "sprayed", l.sprayed)
        .input(Matter::Water, "made by breathing", l.made)
        .output(Matter::Water, "steeped barley", corn.drunk_kg)
        .output(Matter::Water, "clinging", corn.film_kg)
        .lost(Matter::Water, "skimmed", skimmed * damp)
        .lost(Matter::Water, "drained", l.drained)
        .lost(Matter::Water, "evaporated", l.evaporated)
        .input(Matter::Energy, "held when rests begin", kj(heat.at_start))
        .input(Matter::Energy, "breathing in rests", kj(heat.made))
        .input(Matter::Energy, "sprayed", kj(heat.sprayed))
        .output(Matter::Energy, "held when rests end", kj(heat.at_end))
        .lost(Matter::Energy, "held by starch less water made", kj(heat.of_starch))
        .lost(Matter::Energy, "to the air of rests", kj(heat.to_air))
        .lost(Matter::Energy, "with water dried and run off", kj(heat.with_water));
    b
}

fn warnings(out: &Out, corn: &Corn, charge: &Charge) -> Vec<Warning> {
    let mut warnings = Vec::new();
    let mut warn = |code, says: String| warnings.push(Warning { code, says });
    if out.moisture_wet > WETTEST {
        let pct = 100.0 * out.moisture_wet;
        warn("beyond the fit", format!("{pct:.1} % is wetter than the fit was made for."));
    }
    if corn.warmest_c > WARMEST_C {
        let warmest = corn.warmest_c;
        let says = format!("The corn reached {warmest:.1} °C; {WARMEST_C} is the custom.");
        warn("warm", says);
    }
    let sensitive = sensitivity_pct(charge);
    if sensitive > SENSITIVE {
        let says = format!(
            "4 ml less 8 ml is {sensitive:.0}: keep the first water under 6 h, rest longer."
        );
        warn("water-sensitive", says);
    }
    warnings
}

pub(super) fn columns() -> Curves {
    Curves::new([
        ("time_h", "h"),
        ("moisture_wet", "kg/kg"),
        ("moisture_dry", "kg/kg"),
        ("surface_water_dry", "kg/kg"),
        ("temperature_c", "°C"),
        ("airless_h", "h"),
    ])
}
