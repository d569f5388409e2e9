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
//! stands still. A drained corn carries `F = F_max`. Breathing as on the floor
//! ([`crate::floor::growth`]), a share of it under water; in a rest
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
//! table of malting textbooks, from memory. No energy is balanced here: the water takes it.

mod course;
mod face;
mod figures;
pub mod intake;
#[cfg(test)]
mod intake_tests;
#[cfg(test)]
mod tests;
mod uptake;

pub use face::{Case, Steep};
pub use figures::{Charge, Constants, Kind, Phase, Programme, Stretch, Vessel};
pub use uptake::{Uptake, filled};

use crate::sound::sound;
use crate::{Balance, Curves};
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
    /// Delay on the floor.
    pub lag_h: f64,
    /// Hours from the first water to casting.
    pub hours: f64,
    /// Water run in.
    pub water_used_kg: f64,
    /// Water drained.
    pub drained_kg: f64,
    /// Moisture of the corn at the end of each phase, wet basis.
    pub phase_moisture_wet: Vec<f64>,
}

/// A steeping.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// What is cast.
    pub out: Out,
    /// Its course.
    pub curves: Curves,
    /// Dry matter and water.
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
    sound("barley", charge)?;
    sound("steep", vessel)?;
    sound("constants", constants)?;
    programme.check()?;
    course::steep(charge, vessel, programme, constants)
}
