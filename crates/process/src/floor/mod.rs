//! The floor: steeped barley lies in a shallow piece and grows until it is malt.
//!
//! A living corn breathes: it burns its own starch and grows warm. Laid too deep, a piece runs
//! away; too thin, it stays cold and slow. The hand turns it with a wooden shovel, thins it in
//! warm weather and thickens it in cold, so that it stays near 16 °C, no rootlet mats with
//! another, and every corn has its turn in the air. Over a week the rootlets come, the shoot
//! creeps up under the husk, and the walls about the starch give way (*modification*). When the
//! shoot has grown three quarters of the corn or more the piece is ready for the kiln.
//!
//! # Equations
//! ```text
//! da/dt = φ(T) m(w)                          age a, days at 16 °C, from the end of the delay
//! dD/dt = −r D,  r = r_max f(a) φ(T) m(w) g  g: the share that grows, dead corns a tenth
//! heat  = 17.287 MJ a kg breathed            water made 0.556 kg, carbon dioxide 1.629 kg
//! d(root)/dt = 0.60 r D                      dX/dt = k_m E(a) (1 − X) da/dt
//! dH/dt = heat − [U_t (T − T_air) + U_f (T − T_floor) + e h_v] A,   A = D/(ρ_d d)
//! ```
//! `H = D (1651 + 4186 M) T` is integrated and `T` follows from it, so that energy closes. A turn
//! takes `φ_t (T − T_air)` of the warmth and dries a little; a plough half of that. The piece
//! keeps its depth between thinnings; between turns its middle is warmer than its mean. Euler's
//! rule at 60 s or less; turns, sprinklings and the end fall on their times.
//! # Units
//! As in the fields. Moisture `_dry` is on dry matter with rootlets, `_wet` on the whole.
//! # Range
//! 8 to 30 °C, 5 to 40 cm, an open floor (air enough for all to breathe).
//! # Error
//! The rates are designs, tuned to published losses; a house fits them to its own floors.
//! # Source
//! Loss: a trade balance of 1 t barley at 12 % to 830 kg malt at 5 %. Starch and its heat:
//! arithmetic and the heat of glucose. Turning: Wright, *Distillation of Alcohol from Farm
//! Products* (c. 1907).

#[cfg(test)]
mod acts_tests;
mod band;
mod course;
mod face;
mod figures;
pub mod growth;
pub mod heat;
mod piece;
mod proposal;
#[cfg(test)]
mod proposal_tests;
mod report;
mod state;
#[cfg(test)]
mod tests;
mod waiting;

pub use band::{Ready, ready};
pub use face::{Case, Floor};
pub use figures::{
    AirKnot, Charge, Constants, Hand, How, Programme, Spread, Sprinkle, Turn, Vessel,
};
pub use proposal::case::{ProposeTurns, TurnsCase};
pub use proposal::{TurnPlan, Turning, propose};
pub use state::State;
pub use waiting::{Waiting, waiting};

use crate::sound::sound;
use crate::{Balance, Curves};
use gauge::{Fault, Warning};
use piece::Setting;

/// Green malt as it is loaded on the kiln.
#[derive(Debug, Clone, PartialEq)]
pub struct Out {
    /// Dry matter with rootlets.
    pub dry_kg: f64,
    /// Share of it that is rootlets.
    pub rootlet_fraction: f64,
    /// Moisture, wet basis.
    pub moisture_wet: f64,
    /// Moisture on dry matter.
    pub moisture_dry: f64,
    /// Grain temperature, the mean.
    pub temperature_c: f64,
    /// That of the middle, did it lie on unturned.
    pub core_c: f64,
    /// Nitrogen of the barley.
    pub nitrogen_pct_dry: f64,
    /// Share of the corns that grew.
    pub germinating_fraction: f64,
    /// How far the corn is softened, 0 to 1.
    pub modification: f64,
    /// Length of the acrospire over the corn's.
    pub acrospire: f64,
    /// Share of corns outgrown.
    pub overgrown_fraction: f64,
    /// Malt dry matter without rootlets missing of the barley's.
    pub malting_loss_fraction: f64,
    /// Hours on the floor.
    pub hours: f64,
    /// When it was ready.
    pub ready_h: Option<f64>,
    /// Age in days at 16 °C.
    pub age_d: f64,
    /// Highest mean temperature.
    pub highest_c: f64,
    /// Highest temperature in the middle.
    pub highest_core_c: f64,
    /// Turns given.
    pub turns: u32,
    /// Longest it lay without a turn.
    pub unturned_h: f64,
    /// Depth at the beginning.
    pub depth_m: f64,
    /// Carbon dioxide given off since casting.
    pub carbon_dioxide_kg: f64,
    /// What it gives off at the end.
    pub carbon_dioxide_kg_h: f64,
    /// The most it gave off.
    pub most_carbon_dioxide_kg_h: f64,
    /// Water dried off.
    pub evaporated_kg: f64,
}

/// A piece from casting to loading.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// What is loaded.
    pub out: Out,
    /// The piece as it stands at the end: what [`resume`] takes.
    pub state: State,
    /// Its course.
    pub curves: Curves,
    /// Dry matter, water, energy.
    pub balance: Balance,
    /// What to know.
    pub warnings: Vec<Warning>,
}

/// Gives the course and end of a piece.
///
/// # Units
/// As in the fields of its arguments.
/// # Range
/// As in the fields; outside them, `Fault::OutOfRange`. Without `hours` the piece must come to
/// the wanted modification within 21 days, else `Fault::NeverReached`.
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
    let state = State::cast(charge, vessel, programme, constants);
    course::lie(&state, Setting { charge, vessel, programme, c: constants }, course::STEP_H)
}

/// Gives the rest of a piece's course from how it stands: reckoned, or with what was noted of it
/// written over.
///
/// # Units
/// As in the fields of its arguments; the programme counts from casting, and what it says of the
/// time before `state.time_h` is passed over.
/// # Range
/// As [`run`]; the state within its own fields. An end that lies before the state is
/// `Fault::Beyond`.
/// # Error
/// As [`run`]. Balance and `evaporated_kg` count from the state on.
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
    state.check()?;
    if let Some(hours) = programme.hand.hours.filter(|hours| *hours < state.time_h) {
        return Err(Fault::Beyond {
            field: "hand.hours".into(),
            value: hours,
            unit: "h",
            side: gauge::fault::Side::AtLeast,
            limit: state.time_h,
            sets: "the hours the piece has lain".into(),
        });
    }
    course::lie(state, Setting { charge, vessel, programme, c: constants }, course::STEP_H)
}

fn check(
    charge: &Charge,
    vessel: &Vessel,
    programme: &Programme,
    constants: &Constants,
) -> Result<(), Fault> {
    sound("piece", charge)?;
    sound("floor", vessel)?;
    sound("constants", constants)?;
    programme.check()
}
