//! The steep: barley is put under water and stood in air by turns until it wakes.
//!
//! Dry barley holds about 12 % water and sleeps. Under water it first gulps what runs in under
//! the husk, then drinks slowly, warm water faster than cold and small corns faster than large.
//! At 30 % it begins to breathe. Water holds little air, and a corn kept under too long drowns;
//! so the water is drained and the corn stands in air, wet outside, still drinking the film on
//! its skin. After two or three waters and some two days it holds 43 to 46 %, shows a white tip
//! (the *chit*), and is cast on to the floor.
//!
//! # Equations
//! `M = M1 + (M_∞ − M1) X(τ)`, `dτ/dt = D(T)/R²`, `X` the filling of a sphere ([`filled`]),
//! `M1` the moisture after the gulp. In a rest the same goes on while the film `F` lasts; then τ
//! stands still; under a spray the film is made up again. A drained corn carries `F = F_max`.
//! Breathing as on the floor ([`crate::floor::growth`]), a share of it under water; in a rest
//! `(1651 + 4186 (M + F)) dT/dt = r H − U (T − T_air)`. Hours without air,
//! `u = ∫ 2^((T−15)/10) dt` over wet time after the first hour of each water, give the share that
//! grows: `G = GE4 − (GE4 − GE8)(1 − exp[−(u/u₀)²]) − 0.5 max(0, u − 30)`, and a delay.
//! # Units
//! As in the fields. Moisture `_dry` is on dry matter, `_wet` on the whole.
//! # Range
//! 5 to 25 °C, 25 to 48 % moisture, corns of 28 to 50 g a thousand.
//! # Error
//! 0.6 % moisture against the table it is fitted to, itself from memory: scale `diffusion_m2_s`
//! to the first out-of-steep moisture of a crop. Drowning is a design.
//! # Source
//! Becker, Cereal Chem. 37 (1960) 309 (the gulp); Mok and others (1983) (activation); the steeping
//! table of malting textbooks, from memory. Under
//! water no energy is balanced, for the water takes it; over the rests it is, what dries off
//! taking its heat from the air that dries it. Wet cast: Davidson and Jangaard (1978).

mod corn;
mod course;
mod face;
mod figures;
pub mod intake;
#[cfg(test)]
mod intake_tests;
mod proposal;
#[cfg(test)]
mod proposal_tests;
mod report;
mod state;
#[cfg(test)]
mod tests;
mod uptake;

pub use face::{Case, Steep};
pub use figures::{Charge, Constants, Kind, Phase, Programme, Stretch, Vessel};
pub use proposal::case::{ProposeSteep, SteepCase};
pub use proposal::{Proposal, Wanted, propose};
pub use state::{Noted, State, bent_to};
pub use uptake::{Uptake, filled};

use crate::sound::sound;
use crate::{Balance, Curves};
use corn::Setting;
use gauge::{Fault, Warning};

/// Barley as it is cast.
#[derive(Debug, Clone, PartialEq)]
pub struct Out {
    /// Dry matter.
    pub dry_kg: f64,
    /// Dry matter of the barley that went in.
    pub barley_dry_kg: f64,
    /// Moisture of the corn, wet basis.
    pub moisture_wet: f64,
    /// Moisture of the corn on dry matter.
    pub moisture_dry: f64,
    /// Water clinging outside, on dry matter.
    pub surface_water_dry: f64,
    /// Grain temperature.
    pub temperature_c: f64,
    /// Nitrogen, as it came.
    pub nitrogen_pct_dry: f64,
    /// Share of the corns that grow, 0 to 1.
    pub germinating_fraction: f64,
    /// Points by which fewer corns grew in 8 ml of water than in 4 ml.
    pub sensitivity_pct: f64,
    /// Hours without air, at 15 °C.
    pub airless_h: f64,
    /// Delay on the floor.
    pub lag_h: f64,
    /// Hours for which it breathes less there, having been cast in its water.
    pub held_back_h: f64,
    /// Hours from the first water to casting.
    pub hours: f64,
    /// Water run in and sprayed on.
    pub water_used_kg: f64,
    /// Water drained and run off.
    pub drained_kg: f64,
    /// Oxygen that what was leached takes in the effluent.
    pub oxygen_demand_kg: f64,
    /// Each water as it was drained, in order.
    pub waters: Vec<Water>,
    /// Moisture of the corn at the end of each phase, wet basis.
    pub phase_moisture_wet: Vec<f64>,
}

/// One water as it was drained.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Water {
    /// How much of it.
    pub drained_kg: f64,
    /// Oxygen that what was leached into it takes.
    pub oxygen_demand_kg: f64,
}

impl Water {
    /// The demand in a cubic metre (or grams in a litre), the water taken at 1000 kg/m³.
    pub fn oxygen_demand_kg_m3(&self) -> f64 {
        1000.0 * self.oxygen_demand_kg / self.drained_kg
    }
}

/// A steeping.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// What is cast.
    pub out: Out,
    /// The corn as it stands at the end: what [`resume`] takes.
    pub state: State,
    /// Its course.
    pub curves: Curves,
    /// Dry matter, water, and the heat of rests.
    pub balance: Balance,
    /// What to know.
    pub warnings: Vec<Warning>,
}

/// Gives the course and end of a steeping.
///
/// # Units
/// As in the fields of its arguments.
/// # Range
/// As in the fields; outside them, `Fault::OutOfRange`. The water must cover what the corn
/// drinks and carries off, else `Fault::Beyond`.
/// # Error
/// See the page of this module.
/// # Source
/// See the page of this module.
pub fn run(
    charge: &Charge,
    vessel: &Vessel,
    programme: &Programme,
    constants: &Constants,
) -> Result<Run, Fault> {
    check(charge, vessel, programme, constants)?;
    let state = State::dry(charge, constants);
    course::steep(&state, Setting::new(charge, vessel, constants), programme)
}

/// Gives the rest of a steeping from the corn as it stands.
///
/// # Units
/// As in the fields of its arguments; the programme counts from the first water, and what it says
/// of the time before `state.time_h` is passed over.
/// # Range
/// As [`run`]; the state within its own fields.
/// # Error
/// As [`run`]. Waters and balance count from the state on.
/// # Source
/// As [`run`].
pub fn resume(
    state: &State,
    charge: &Charge,
    vessel: &Vessel,
    programme: &Programme,
    constants: &Constants,
) -> Result<Run, Fault> {
    check(charge, vessel, programme, constants)?;
    sound("state", state)?;
    course::steep(state, Setting::new(charge, vessel, constants), programme)
}

fn check(
    charge: &Charge,
    vessel: &Vessel,
    programme: &Programme,
    constants: &Constants,
) -> Result<(), Fault> {
    sound("barley", charge)?;
    sound("steep", vessel)?;
    sound("constants", constants)?;
    programme.check()
}
