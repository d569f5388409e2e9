//! The cask: spirit lies in oak, and alcohol and water leave through the staves.
//!
//! What the distiller sees. Each year some two per cent are gone: the angels' share. In a damp
//! store more alcohol than water goes and the strength falls; in dry air more water goes and it
//! rises. Warmth drives both, and a small cask has more wood for its litres. Spirit that has soaked
//! into the wood in the first days (in-drink) is not told here: it is still in the cask.
//!
//! # Equations
//! Each passes the wet stave by the difference of its vapour pressure inside and outside:
//! ```text
//! J_e = (P_e/d) (a_e(x) p_e(T) - y_e)       J_w = (P_w/d) (a_w(x) - RH) p_w(T)
//! A = k_A V^(2/3) (f + κ (1 - f))           f = contents over capacity
//! ```
//! Activities by van Laar's equation at 20 °C (A = 1.5125, B = 1.0915), vapour pressures by
//! Antoine's. Water may be taken up from damp air.
//!
//! # Units and range
//! kg, L and % vol at 20 °C, °C, days; 0 to 35 °C, relative humidity 0.3 to 1. Fitted for 35 to
//! 72 % vol and sound casks. The parcel is of like casks under like air.
//!
//! # Error
//! The two permeances are sure to some 40 % until a house's own regauges are fitted, and a cask
//! differs from its neighbours by 15 to 30 % (from memory). Trust trends; fit the level.
//!
//! # Source
//! Solution and diffusion as in J. G. Wijmans and R. W. Baker, J. Membr. Sci. 107 (1995) 1 (form
//! from memory). Permeances fitted by hand to published losses: I. Wisniewski, Whisky Magazine 55
//! (2006); Roussey et al., J. Food Eng. 291 (2021) 110233. Antoine constants from memory.

mod case;
#[cfg(test)]
mod tests;

pub use case::{Case, Cask};

use std::cell::Cell;

use gauge::fault::Side;
use gauge::{Fault, Grade, Node};
use numeric::runge_kutta::{DormandPrince, NoStep, Tolerance};

use crate::still::{ETHANOL_G_MOL, Moles, Spirit, WATER_G_MOL};
use crate::{Balance, Curves, Matter};

gauge::record! {
    /// What was filled.
    pub struct Charge {
        /// Litres at 20 °C in all casks together.
        pub volume_20_l: f64 = Field::new("L at 20 °C").label("volume at 20 °C")
            .within(1.0, 1e8).extensive(),
        /// Strength.
        pub strength_pct: f64 = Field::new("% vol").label("strength").within(1.0, 95.0),
    }
}

gauge::record! {
    /// A parcel of like casks.
    pub struct Vessel {
        /// How many.
        pub casks: f64 = Field::new("").label("casks").within(1.0, 1e6).or(1.0).extensive(),
        /// What one holds to the bung.
        pub capacity_l: f64 = Field::new("L").label("capacity of one").within(10.0, 1500.0),
        /// Thickness of the stave.
        pub stave_m: f64 = Field::new("m").label("thickness of the stave").within(0.01, 0.05)
            .or(0.027).from(Grade::Memory, "European casks 27 mm, American barrels 25 mm"),
    }
}

gauge::record! {
    /// How long, and in what air.
    pub struct Programme {
        /// Days in the cask.
        pub days: f64 = Field::new("d").label("days").within(1.0, 36_525.0),
        /// Mean temperature of the store; a season's swing of 6 K raises the loss by 3 %.
        pub temperature_c: f64 = Field::new("°C").label("temperature of the store")
            .within(0.0, 35.0).or(10.0).from(Grade::Memory, "a stone warehouse in a cool country"),
        /// Relative humidity of the air round the cask.
        pub relative_humidity: f64 = Field::new("").label("relative humidity of the store")
            .within(0.3, 1.0).or(0.78).from(Grade::Memory, "a stone warehouse in a cool country"),
        /// Vapour pressure of alcohol in that air.
        pub ethanol_in_air_pa: f64 = Field::new("Pa").label("alcohol in the air")
            .within(0.0, 2000.0).or(0.0),
        /// Days between rows of the curves.
        pub every_d: f64 = Field::new("d").label("a row every").within(1.0, 3660.0).or(30.4375),
    }
}

const BY_HAND: &str = "fitted by hand to published losses of casks: Whisky Magazine 55 (2006); \
    Roussey et al., J. Food Eng. 291 (2021) 110233";

gauge::record! {
    /// Free constants; the permeances are the site's own and want fitting to regauges.
    pub struct Constants {
        /// Permeance of wet oak to alcohol.
        pub ethanol_permeance: f64 = Field::new("1e-12 kg/m/s/Pa").label("permeance to alcohol")
            .within(0.1, 3.0).or(0.70).from(Grade::Computed, BY_HAND).fitted(0.28),
        /// Permeance of wet oak to water.
        pub water_permeance: f64 = Field::new("1e-12 kg/m/s/Pa").label("permeance to water")
            .within(1.0, 20.0).or(6.5).from(Grade::Computed, BY_HAND).fitted(2.6),
        /// Surface of a full cask over its capacity to the power of two thirds.
        pub shape: f64 = Field::new("").label("shape of the cask").within(5.3, 5.9).or(5.6)
            .from(Grade::Computed, "a cylinder 1.35 times as long as wide").fitted(0.1),
        /// How much the stave above the spirit passes, of what it passes below.
        pub above_spirit: f64 = Field::new("").label("staves above the spirit, factor")
            .within(0.0, 1.0).or(1.0).from(Grade::Memory, "an upper value; 0.5 to 1")
            .fitted(0.2),
    }
}

/// What lies in the casks, and what has left.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// What is left.
    pub contents: Moles,
    /// Pure alcohol gone through the staves, L: the angels' share.
    pub angels_pure_alcohol_l: f64,
    /// Water gone through the staves, kg; below nought where the cask took water up.
    pub water_lost_kg: f64,
    /// Mean loss of litres at 20 °C a year, % of what was filled, compounded.
    pub loss_pct_year: f64,
    /// Room in the casks, L.
    pub vacuity_l: f64,
    /// The course.
    pub curves: Curves,
    /// Water and pure alcohol.
    pub balance: Balance,
}

const YEAR_D: f64 = 365.25;
const DAY_S: f64 = 86_400.0;
/// Below this share of its capacity a cask is dry and the model has nothing to say.
const DRY: f64 = 0.02;
const TOLERANCE: Tolerance = Tolerance { relative: 1e-9, absolute: 1e-10 };

/// Fluxes through the stave, kg/m²/s, of alcohol and water.
pub(crate) struct Fluxes {
    pub(crate) ethanol: f64,
    pub(crate) water: f64,
}

/// Activities of alcohol and water at ethanol mole fraction `x`: van Laar at 20 °C, fitted to the
/// textbook partial pressures within 1.4 % in the mean; over 0 to 35 °C they move by under 3 %.
pub(crate) fn activities(x: f64) -> (f64, f64) {
    const A: f64 = 1.5125;
    const B: f64 = 1.0915;
    // ln γe = A / (1 + A x/(B (1-x)))², ln γw = B / (1 + B (1-x)/(A x))²: without quotients of
    // nought.
    let sum = B * (1.0 - x) + A * x;
    let ethanol = A * (B * (1.0 - x) / sum).powi(2);
    let water = B * (A * x / sum).powi(2);
    (x * ethanol.exp(), (1.0 - x) * water.exp())
}

/// Antoine's equation with constants for mmHg and °C, as Pa.
fn antoine_pa([a, b, c]: [f64; 3], at_c: f64) -> f64 {
    const PA_PER_MMHG: f64 = 133.322;
    PA_PER_MMHG * 10.0_f64.powf(a - b / (c + at_c))
}

/// Gives the fluxes for a liquid of mole fraction `x`.
pub(crate) fn fluxes(
    x: f64,
    vessel: &Vessel,
    programme: &Programme,
    constants: &Constants,
) -> Fluxes {
    let (ethanol, water) = activities(x);
    let at_c = programme.temperature_c;
    let ethanol_pa = ethanol * antoine_pa([8.20417, 1642.89, 230.300], at_c);
    let water_pa = antoine_pa([8.07131, 1730.63, 233.426], at_c);
    let per_m = 1e-12 / vessel.stave_m;
    Fluxes {
        ethanol: constants.ethanol_permeance * per_m * (ethanol_pa - programme.ethanol_in_air_pa),
        water: constants.water_permeance * per_m * (water - programme.relative_humidity) * water_pa,
    }
}

/// The state is of one cask: alcohol and water in it, and gone from it, kg.
fn moles([ethanol_kg, water_kg]: [f64; 2]) -> Moles {
    Moles { ethanol_mol: 1e3 * ethanol_kg / ETHANOL_G_MOL, water_mol: 1e3 * water_kg / WATER_G_MOL }
}

/// The cask has run dry.
struct Dry;

/// Lets a parcel of casks lie.
///
/// # Units
/// L and % vol at 20 °C, kg, days.
/// # Range
/// See the page above; more spirit than the casks hold is `Fault::Beyond`, a cask that runs dry
/// before its time `Fault::NeverReached`.
/// # Error
/// See the page above; the equations themselves are followed to 1e-9.
/// # Source
/// As on the page above.
pub fn run(
    charge: &Charge,
    vessel: &Vessel,
    programme: &Programme,
    constants: &Constants,
) -> Result<Run, Fault> {
    crate::sound::sound("charge", charge)?;
    crate::sound::sound("cask", vessel)?;
    crate::sound::sound("programme", programme)?;
    crate::sound::sound("constants", constants)?;
    let room_l = vessel.casks * vessel.capacity_l;
    // A cask filled cold holds a little more than its capacity at 20 °C.
    if charge.volume_20_l > room_l * MOST_FILL {
        return Err(Fault::Beyond {
            field: "charge.volume_20_l".into(),
            value: charge.volume_20_l,
            unit: "L at 20 °C",
            side: Side::AtMost,
            limit: room_l * MOST_FILL,
            sets: "what the casks hold".into(),
        });
    }
    let (volume_20_l, strength_pct) = (charge.volume_20_l, charge.strength_pct);
    let all = Moles::of_spirit(Spirit { volume_20_l, strength_pct });
    let lie = Lie { vessel, programme, constants, last_d: Cell::new(0.0) };
    let (end, curves) = lie.follow(all.times(1.0 / vessel.casks))?;
    let contents = moles([end[0], end[1]]).times(vessel.casks);
    let gone = moles([end[2], end[3]]).times(vessel.casks);
    let kept = contents.volume_20_l() / charge.volume_20_l;
    Ok(Run {
        contents,
        angels_pure_alcohol_l: gone.pure_alcohol_l(),
        water_lost_kg: gone.water_kg(),
        loss_pct_year: 100.0 * (1.0 - kept.powf(YEAR_D / programme.days)),
        vacuity_l: room_l - contents.volume_20_l(),
        curves,
        balance: balance(all, contents, gone),
    })
}

/// One cask lying.
struct Lie<'a> {
    vessel: &'a Vessel,
    programme: &'a Programme,
    constants: &'a Constants,
    /// The last day the cask was looked at, for the fault that it ran dry.
    last_d: Cell<f64>,
}

impl Lie<'_> {
    fn slope(&self, day: f64, y: &[f64], dy: &mut [f64]) -> Result<(), Dry> {
        self.last_d.set(day);
        let now = moles([y[0], y[1]]);
        let fill = now.volume_20_l() / self.vessel.capacity_l;
        // So written that what is not a number is dry as well.
        if !(fill > DRY && now.fraction() >= 0.0) {
            return Err(Dry);
        }
        let flux = fluxes(now.fraction(), self.vessel, self.programme, self.constants);
        let full_m2 = self.constants.shape * (1e-3 * self.vessel.capacity_l).powf(2.0 / 3.0);
        let wet = fill.min(1.0);
        let m2 = full_m2 * (wet + self.constants.above_spirit * (1.0 - wet));
        dy[0] = -flux.ethanol * m2 * DAY_S;
        dy[1] = -flux.water * m2 * DAY_S;
        (dy[2], dy[3]) = (-dy[0], -dy[1]);
        Ok(())
    }

    /// The state at the end and the rows on the way, those for all casks.
    fn follow(&self, one: Moles) -> Result<(Vec<f64>, Curves), Fault> {
        let (casks, days) = (self.vessel.casks, self.programme.days);
        let mut slope = |day: f64, y: &[f64], dy: &mut [f64]| self.slope(day, y, dy);
        let start = [one.ethanol_kg(), one.water_kg(), 0.0, 0.0];
        let mut curves = Curves::new([
            ("day", "d"),
            ("volume_20_l", "L at 20 °C"),
            ("strength_pct", "% vol"),
            ("pure_alcohol_l", "L"),
            ("angels_pure_alcohol_l", "L"),
        ]);
        let trouble = |stop: NoStep<Dry>| self.dried(&stop);
        let mut course =
            DormandPrince::start(TOLERANCE, 0.0, &start, &mut slope).map_err(trouble)?;
        for day in crate::sound::row_times(self.programme.every_d, days) {
            while course.at() < day {
                course.step(day, &mut slope).map_err(trouble)?;
            }
            let y = course.state();
            let now = moles([y[0], y[1]]).times(casks);
            let gone = moles([y[2], 0.0]).times(casks);
            curves.push(&[
                day,
                now.volume_20_l(),
                now.strength_pct(),
                now.pure_alcohol_l(),
                gone.pure_alcohol_l(),
            ]);
        }
        Ok((course.state().to_vec(), curves))
    }

    fn dried(&self, stop: &NoStep<Dry>) -> Fault {
        match stop {
            NoStep::Slope(Dry) => Fault::NeverReached {
                field: "programme.days".into(),
                wanted: self.programme.days,
                reached: self.last_d.get(),
                unit: "d",
            },
            NoStep::TooSmall { at } | NoStep::TooMany { at } => {
                Fault::NotConverged { what: "course of the cask", steps: 100_000, residual: *at }
            }
        }
    }
}

const MOST_FILL: f64 = 1.02;

fn balance(filled: Moles, contents: Moles, gone: Moles) -> Balance {
    let mut balance = Balance::new();
    balance
        .input(Matter::Water, "filled", filled.water_kg())
        .output(Matter::Water, "contents", contents.water_kg())
        .input(Matter::PureAlcohol, "filled", filled.pure_alcohol_l())
        .output(Matter::PureAlcohol, "contents", contents.pure_alcohol_l())
        .lost(Matter::PureAlcohol, "angels", gone.pure_alcohol_l());
    if gone.water_mol < 0.0 {
        balance.input(Matter::Water, "damp air", -gone.water_kg());
    } else {
        balance.lost(Matter::Water, "evaporated", gone.water_kg());
    }
    balance
}

impl Run {
    /// As a case's result.
    pub fn node(&self) -> Node {
        Node::part([
            ("volume_20_l", Node::from(self.contents.volume_20_l())),
            ("strength_pct", self.contents.strength_pct().into()),
            ("pure_alcohol_l", self.contents.pure_alcohol_l().into()),
            ("angels_pure_alcohol_l", self.angels_pure_alcohol_l.into()),
            ("water_lost_kg", self.water_lost_kg.into()),
            ("loss_pct_year", self.loss_pct_year.into()),
            ("vacuity_l", self.vacuity_l.into()),
        ])
    }
}
