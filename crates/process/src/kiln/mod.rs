//! The kiln: hot air driven up through a bed of green malt until it will keep.
//!
//! Green malt comes off the floor nearly half water. Spread on the wire it is dried from below.
//! At first the air leaves the bed cool and wet: the corns give up water as fast as the air can
//! carry it, and the top of the bed stays at the wet bulb however hot the fire. Peat is burnt
//! then, because only a moist corn takes up smoke. Hours later the dry layer comes through the
//! top: the air-off rises all at once (the *break*). From there each corn gives water only as
//! fast as it reaches its own surface, and hotter air is wanted to bring the malt under 5 %.
//! The enzymes are hurt by heat and water together, so the air is kept mild until after the break.
//!
//! # Equations
//! `s` kg dry matter a m² of floor above the wire, `M` kg water a kg dry matter, `T_g T_a` grain
//! and air °C, `W` humidity ratio, `G` dry air kg/(m² s), `r` drying rate 1/s:
//! ```text
//! dM/dt = −r            G dW/ds = r
//! G dh_a/ds = r (L0 + c_v T_g) − h_s (T_a − T_g)         h_a = c_a T_a + W (L0 + c_v T_a)
//! dH_g/dt = −G dh_a/ds  H_g = (c_s + c_w M) T_g − (L0 A/B)(1 − e^(−B M))
//! r = k(T_g) (M − M_s) = β [W_eq(M_s, T_g) − W]          a film in series with the corn
//! ```
//! The film makes free drying, the break and wetting of a cold top come out of one equation.
//! Enthalpy of grain is the integrated unknown rather than its temperature, so that water and
//! energy close to rounding; the temperature follows from it in closed form.
//! The bed is cut into equal cells, the air marched upward by the box rule, time by Heun's rule.
//!
//! # Range
//! Beds of 5 mm to 2 m, 0.02 to 1 kg/(m² s) of air, air-on up to 110 °C, 3 to 120 % moisture on
//! dry matter.
//! # Error
//! Against the converged reckoning of the same equations, 80 cells and 30 s: moisture 1e-4,
//! temperatures 0.05 K. Of the equations against a real kiln: the rate law is good to about
//! −40/+10 %, and a one-term law dries the tail too fast (see `tail_share`).
//! # Source
//! D. B. Brooker, F. W. Bakker-Arkema and C. W. Hall, *Drying Cereal Grains* (1974), for the form
//! of the deep-bed equations; B. K. Bala and J. L. Woods, "Simulation of deep bed malt drying",
//! J. Agric. Eng. Res. 30 (1984) 235, for malt's constants; J. R. O'Callaghan, D. J. Menzies and
//! P. H. Bailey, J. Agric. Eng. Res. 16 (1971) 223, for barley's rate. The film is our own.

mod bed;
mod course;
mod cubics;
mod depths;
mod drying;
mod face;
mod figures;
mod firing;
mod limits;
mod phases;
mod plant;
pub(crate) mod proposal;
mod reach;
mod smoke;
pub(crate) mod store_dry;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod tests_course;
#[cfg(test)]
mod tests_plant;
mod vessel;
mod warned;

pub use bed::State;
pub use depths::Depths;
pub use drying::{Laws, moisture_at_rest};
pub use face::{Case, Kiln};
pub use figures::{Air, AirKnot, Charge, Constants, Peat, Programme, Solve, Turn};
pub use firing::{Firing, Setting};
pub use phases::{Phase, PhaseKind};
pub use plant::{Resistance, bed_resistance_pa_m, direct_firing_water};
pub use proposal::case::{FiringCase, ProposeKiln};
pub use proposal::{Asked, Bind, Proposal, Short, Wanted, Weights, propose};
pub use reach::{Reach, reach};
pub use smoke::{Retention, blended_phenols, new_make_phenols_mg_l, peat_for};
pub use store_dry::case::{DryCase, ProposeDry};
pub use store_dry::{StoreDry, Wet, harmful_air_on_c, store_dry};
pub use vessel::Vessel;

use crate::sound::sound;
use crate::{Balance, Curves};
use gauge::{Fault, Warning};

/// What comes off the kiln, and what it took.
#[derive(Debug, Clone, PartialEq)]
pub struct Out {
    /// Dry matter of dressed malt: bed less rootlets and dust.
    pub dry_kg: f64,
    /// Mass of dressed malt as it is.
    pub mass_kg: f64,
    /// Dry matter of rootlets and dust taken off at dressing.
    pub rootlets_dry_kg: f64,
    /// Mean moisture, wet basis.
    pub moisture_wet: f64,
    /// Mean moisture on dry matter.
    pub moisture_dry: f64,
    /// Moisture of the lowest cell, on dry matter.
    pub bottom_moisture_dry: f64,
    /// Moisture of the top cell, on dry matter.
    pub top_moisture_dry: f64,
    /// Top less bottom, on dry matter.
    pub spread_dry: f64,
    /// Phenols on dry malt.
    pub phenols_mg_kg_dry: f64,
    /// Hours run.
    pub hours: f64,
    /// Hours of free drying: the air-off above 95 % relative humidity.
    pub free_h: f64,
    /// When the air-off first fell below 80 % relative humidity after the first hour.
    pub break_h: Option<f64>,
    /// When the mean moisture came to the wanted one.
    pub ready_h: Option<f64>,
    /// Hours in which some corn was hotter than its moisture allows its enzymes.
    pub enzymes_at_risk_h: f64,
    /// Caution index of nitrosamines, mg/m³ h: an order between firings, not a prediction. The
    /// house finds from its own analyses at which figure to act.
    pub ndma_index: f64,
    /// Highest air-on temperature.
    pub cure_c: f64,
    /// Hours within a kelvin of it.
    pub cure_h: f64,
    /// Water driven off.
    pub evaporated_kg: f64,
    /// Heat put into the air.
    pub heat_kwh: f64,
    /// The same for each tonne of dressed malt as it is.
    pub heat_gj_t: f64,
    /// Oil burnt.
    pub oil_kg: f64,
    /// Air-dry peat burnt.
    pub peat_kg: f64,
    /// Electricity of the fan.
    pub fan_kwh: f64,
}

/// A kilning.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// What comes off.
    pub out: Out,
    /// The bed as it stands at the end: what [`resume`] takes.
    pub state: State,
    /// Its course.
    pub curves: Curves,
    /// What the bed did when.
    pub phases: Vec<Phase>,
    /// The bed by depth over its course.
    pub depths: Depths,
    /// Water, energy, dry matter, phenols.
    pub balance: Balance,
    /// What to know.
    pub warnings: Vec<Warning>,
}

/// Gives the course and end of a kilning.
///
/// # Units
/// As in the fields of its arguments.
/// # Range
/// As in the fields; outside them, `Fault::OutOfRange`. Air-on must not be above saturation and
/// the cells must be thin beside the depth in which the air cools, else `Fault::Beyond`.
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
    let state = State::laid(charge, programme);
    resume(&state, charge, vessel, programme, constants)
}

/// Gives the rest of a kilning from the bed as it stands.
///
/// # Units
/// As in the fields of its arguments; the programme counts from the lighting of the kiln.
/// # Range
/// As [`run`]; the bed must have as many cells as the programme asks for.
/// # Error
/// As [`run`].
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
    let (cells, given) = (programme.cells(), state.moisture_dry.len());
    if given != cells || state.grain_c.len() != cells || state.phenols_mg_kg_dry.len() != cells {
        return Err(Fault::Beyond {
            field: "solve.cells".into(),
            value: programme.solve.cells,
            unit: "",
            side: gauge::fault::Side::AtMost,
            limit: given as f64,
            sets: "the cells of the bed as it stands".into(),
        });
    }
    Ok(course::dry(state, charge, vessel, programme, constants))
}

fn check(
    charge: &Charge,
    vessel: &Vessel,
    programme: &Programme,
    constants: &Constants,
) -> Result<(), Fault> {
    sound("bed", charge)?;
    sound("plant", vessel)?;
    sound("air", &programme.air)?;
    sound("peat", &programme.peat)?;
    sound("solve", &programme.solve)?;
    sound("constants", constants)?;
    limits::Limits { charge, vessel, programme, constants }.check()
}
