//! What the extract is made of: sugars from the conversion, and what was sugar before it.

use super::{Constants, Grist};
use crate::conversion::{
    self, GLUCOSE_KG_KG, Knot, MALTOSE_KG_KG, MALTOTRIOSE_KG_KG, Programme, State,
};
use gauge::Fault;

/// Shares of extract by mass; they sum to 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sugars {
    /// Glucose, fructose and sucrose.
    pub glucose: f64,
    /// Maltose.
    pub maltose: f64,
    /// Maltotriose.
    pub maltotriose: f64,
    /// Dextrin that the enzymes of the unboiled wort will open.
    pub dextrin: f64,
    /// The rest.
    pub residual: f64,
}

impl Sugars {
    /// Share that will ferment, given time.
    pub fn fermentability(&self) -> f64 {
        1.0 - self.residual
    }
}

/// What the malt can give, set by its analysis at the laboratory's mash (65 °C, 1 h, thin).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Potential {
    /// Extract that is neither starch nor sugar: protein, salts, gums, kg.
    solids_kg: f64,
    /// Sugar that was there before the mash, kg.
    sugar_kg: f64,
    /// Starch, kg of anhydroglucose.
    starch_kg: f64,
    /// Share of dextrin that no enzyme of the wort opens.
    dead: f64,
    /// Whether the analysis asked for a share outside 0 to 1.
    pub(super) beyond: bool,
    preformed_hexose: f64,
}

/// Laboratory mash: temperature, minutes, and beta-amylase unprotected in thin liquor.
const LABORATORY_C: f64 = 65.0;
const LABORATORY_MIN: f64 = 60.0;

impl Potential {
    /// Splits the analysis: extract into solids, sugar and starch; fermentability into the share
    /// of dextrin that is dead.
    pub(super) fn of(grist: &Grist, constants: &Constants) -> Result<Self, Fault> {
        let laboratory =
            conversion::Constants { beta_protection: 1.0, ..constants.enzymes.clone() };
        let hour = held(LABORATORY_C, LABORATORY_MIN);
        let enzymes = conversion::Charge::default();
        let state = conversion::resume(&State::fresh(&enzymes), &hour, &laboratory)?;
        let extract = grist.dry_kg * grist.extract_pct_dry / 100.0 * grist.extract_recovery;
        let solids_kg = constants.fitted.solids_of_extract * extract;
        let sugar_kg = constants.fitted.sugar_of_extract * extract;
        let starch_kg = (extract - solids_kg - sugar_kg) / (state.extract() / 100.0);
        let residual_kg = (1.0 - grist.fermentability) * extract;
        let dead = (residual_kg - solids_kg) / (starch_kg * state.dextrin / 100.0);
        Ok(Self {
            solids_kg,
            sugar_kg,
            starch_kg,
            dead: dead.clamp(0.0, 1.0),
            beyond: !(0.0..=1.0).contains(&dead),
            preformed_hexose: constants.fitted.preformed_hexose,
        })
    }

    /// Extract in solution when the conversion stands at `state`.
    pub(super) fn extract_kg(&self, state: &State) -> f64 {
        self.solids_kg + self.sugar_kg + self.starch_kg * state.extract() / 100.0
    }

    /// Water bound in it.
    pub(super) fn hydrolysis_kg(&self, state: &State) -> f64 {
        self.starch_kg * (state.extract() - (100.0 - state.starch)) / 100.0
    }

    /// What the extract is made of at `state`.
    pub(super) fn sugars(&self, state: &State) -> Sugars {
        let all = self.extract_kg(state);
        let from_starch = self.starch_kg / 100.0;
        let maltose_before = (1.0 - self.preformed_hexose) * self.sugar_kg;
        let glucose =
            self.preformed_hexose * self.sugar_kg + from_starch * GLUCOSE_KG_KG * state.glucose;
        let maltose = maltose_before + from_starch * MALTOSE_KG_KG * state.maltose;
        let maltotriose = from_starch * MALTOTRIOSE_KG_KG * state.maltotriose;
        let dextrin = from_starch * state.dextrin;
        Sugars {
            glucose: glucose / all,
            maltose: maltose / all,
            maltotriose: maltotriose / all,
            dextrin: (1.0 - self.dead) * dextrin / all,
            residual: (self.dead * dextrin + self.solids_kg) / all,
        }
    }
}

fn held(at_c: f64, minutes: f64) -> Programme {
    let knot = |at_min| Knot { at_min, temperature_c: at_c };
    Programme { temperature: vec![knot(0.0), knot(minutes)], every_min: minutes }
}

/// Carries the conversion on for `minutes` on the straight line between two temperatures.
pub(super) fn carry_on(
    state: &State,
    line: &Line,
    enzymes: &conversion::Constants,
) -> Result<State, Fault> {
    if line.minutes <= 0.0 {
        return Ok(*state);
    }
    let knots = [(0.0, line.from_c), (line.minutes, line.to_c)];
    let temperature =
        knots.into_iter().map(|(at_min, temperature_c)| Knot { at_min, temperature_c }).collect();
    let every_min = line.minutes.clamp(0.05, 1440.0);
    conversion::resume(state, &Programme { temperature, every_min }, enzymes)
}

/// A stretch of bed temperature.
#[derive(Debug, Clone, Copy)]
pub(super) struct Line {
    pub(super) minutes: f64,
    pub(super) from_c: f64,
    pub(super) to_c: f64,
}
