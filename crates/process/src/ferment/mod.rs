//! Fermentation: worts to wash in the washback.
//!
//! Worts are run in at 16 to 22 °C, set cooler in summer because the wash warms itself, and
//! yeasted while the washback fills. For some hours little shows. Then the head rises, the
//! gravity falls two or three degrees an hour and the temperature climbs by twelve to sixteen
//! degrees; past 35 °C the yeast dies faster than it works. After 44 hours or so the sugar is
//! gone. What follows decides the character: the enzymes that outlived the mash still open
//! dextrin, the gravity creeps below that of water, and on the dying yeast a late flora of lactic
//! bacteria grows. Nobody may lean over a washback that works: the gas lies in it when the head
//! has dropped.
//!
//! # Equations
//! Sixteen slopes (`system.rs`), all kg/m³ of wort as set, hours, rates stated at 30 °C:
//! ```text
//! f   = vigour exp[-(Ea/R)(1/T - 1/303.15)] / (1 + exp((T - T_hot)/w)),  phi = max(0, 1 - E/E_max)
//! r_G = q_G f phi X_A G/(K_G + G)
//! r_M = q_M f phi X_A M/(K_M + M) K_iG/(K_iG + G)
//! r_N = q_N f phi X_A N/(K_N + N) K_iG/(K_iG + G) K_iM/(K_iM + M)          r = r_G + r_M + r_N
//! E'  = Y_E r - v_E,  C' = Y_C r,  X_A' = a X_L + Y_X r - k_d X_A,  D' = -r_D
//! rho c T' = dH r - u (T - T_room) - 2430 v_W - 920 v_E
//! ```
//! with yeast waking and dying, bacteria that feed on residual extract once yeast is dead, and
//! ethanol and water carried off by bubbles taken as saturated. All sugar is reckoned as hexose, so
//! that with the water bound in each cut the sum of everything stays.
//!
//! # Units
//! h, °C, kg/m³ of the wort that was set, taken at 20 °C. `alcohol_pct` is of the wort's volume;
//! `strength_pct` in the result is of the wash's own.
//! # Range
//! Unboiled all-malt wort up to 330 kg/m³, set at 5 to 40 °C; 16 to 22 °C is where it was tuned.
//! # Error
//! The rates were tuned, not fitted: hours may be off by a quarter and the end by 0.2 % vol until
//! `vigour` and `dextrin_per_h` are fitted to the house's own gravities. Balling's relation from
//! the two gravities stands beside the alcohol in the result; it is good to 0.08 % vol itself.
//! # Source
//! Order of uptake and form: J. M. Engasser and others (1981), D. A. Gee and W. F. Ramirez, J.
//! Inst. Brew. 100 (1994) 321. Course: F. G. Priest on lactic bacteria in whisky fermentations;
//! R. A. Speers and others, J. Inst. Brew. 109 (2003) 229. Yields: Balling's balance as in
//! Nielsen and others, Balling's formula: scrutiny of a brewing dogma. Ethanol carried off: H. W.
//! Zimmermann, E. A. Rossi, E. Wick, Am. J. Enol. Vitic. 15 (1964) 63.

mod balance;
mod constants;
mod gravity;
#[cfg(test)]
mod published;
mod report;
mod state;
mod system;
#[cfg(test)]
mod tests;

pub use constants::Constants;
pub use report::{Case, Ferment};
pub use state::State;

use crate::sound::{no_step, row_times, sound, step_to};
use crate::{Balance, Curves};
use balance::Stretch;
use gauge::{Fault, Grade, Warning};
use numeric::runge_kutta::{DormandPrince, Tolerance};
use std::convert::Infallible;
use system::{Around, at};

/// Past this yeast dies quickly, °C: printed so in two overviews of fermentation.
pub const HOT_C: f64 = 35.0;

/// Cubic metres that a kilogram of carbon dioxide fills at 20 °C and 101.325 kPa: an ideal gas of
/// its molar mass.
pub const GAS_M3_KG: f64 = 24.055 / constants::GAS_KG_KMOL;

gauge::record! {
    /// Carbohydrate of the wort. The five together are its extract.
    pub struct Wort {
        /// Glucose, fructose and sucrose, as hexose.
        pub glucose_kg_m3: f64 = Field::new("kg/m³").label("Glucose").within(0.0, 250.0),
        /// Maltose.
        pub maltose_kg_m3: f64 = Field::new("kg/m³").label("Maltose").within(0.0, 250.0),
        /// Maltotriose.
        pub maltotriose_kg_m3: f64 = Field::new("kg/m³").label("Maltotriose").within(0.0, 250.0),
        /// Dextrin that the enzymes of the unboiled wort will open.
        pub dextrin_kg_m3: f64 = Field::new("kg/m³").label("Dextrin").within(0.0, 250.0),
        /// The rest: dead dextrin, protein, salts.
        pub residual_kg_m3: f64 = Field::new("kg/m³").label("Residual").within(0.0, 250.0),
    }
}

gauge::record! {
    /// What is pitched, and what comes with it.
    pub struct Yeast {
        /// Yeast, dry; pressed yeast is about 30 % dry.
        pub dry_kg_m3: f64 = Field::new("kg/m³").label("Yeast, dry").within(0.01, 20.0).or(1.10)
            .from(Grade::Memory, "50 kg of pressed yeast to 15 m³ of worts is printed"),
        /// Share of it that works at once.
        pub active_fraction: f64 = Field::new("").label("Active share").within(0.0, 1.0).or(0.3)
            .from(Grade::Memory, "from memory of the trade").fitted(0.1),
        /// Bacteria in the fresh wort, dry.
        pub bacteria_kg_m3: f64 = Field::new("kg/m³").label("Bacteria, dry").within(0.0, 1.0)
            .or(0.002).from(Grade::Memory, "from memory of the trade"),
    }
}

/// What goes in.
#[derive(Debug, Clone, PartialEq)]
pub struct Charge {
    /// The wort.
    pub wort: Wort,
    /// The yeast.
    pub yeast: Yeast,
    /// pH of the wort.
    pub ph: f64,
}

gauge::record! {
    /// The washback and the room it stands in.
    pub struct Vessel {
        /// Worts it was set with, at 20 °C.
        pub fill_l: f64 = Field::new("L").label("Worts set").within(1.0, 1e6).or(1000.0)
            .from(Grade::House, "a cubic metre unless given").extensive(),
        /// Temperature of the room.
        pub room_c: f64 = Field::new("°C").label("Room").within(-20.0, 45.0).or(12.0),
        /// Heat it loses: 3.6 U A/V. Wood about 10 to 15 for a large washback.
        pub heat_loss_kj_m3_h_k: f64 = Field::new("kJ/(m³ h K)").label("Heat loss")
            .within(0.0, 500.0).or(14.4)
            .from(Grade::Memory, "10 m³ with 25 m² of wood at 1.6 W/(m² K)").fitted(4.0),
        /// Pressure of the air.
        pub pressure_pa: f64 = Field::new("Pa").label("Air pressure").within(60e3, 120e3)
            .or(101_325.0),
    }
}

gauge::record! {
    /// What the hand decides.
    pub struct Programme {
        /// Temperature at which the worts are set.
        pub set_c: f64 = Field::new("°C").label("Setting").within(5.0, 40.0).or(19.0),
        /// How long it is left.
        pub hours: f64 = Field::new("h").label("Hours").within(0.5, 1000.0).or(120.0),
        /// Rows of the curves.
        pub every_h: f64 = Field::new("h").label("A row every").within(0.02, 1000.0).or(6.0),
    }
}

/// What comes out.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// The washback at the end.
    pub end: State,
    /// Its wash.
    pub wash: Wash,
    /// Highest temperature and when.
    pub peak_c: f64,
    /// Hours to the highest temperature, to the length of a step.
    pub peak_at_h: f64,
    /// Most carbon dioxide given off in an hour.
    pub peak_carbon_dioxide_kg_m3_h: f64,
    /// The course.
    pub curves: Curves,
    /// Extract, alcohol and heat.
    pub balance: Balance,
    /// What to know.
    pub warnings: Vec<Warning>,
}

/// What is charged into the wash still.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wash {
    /// Litres as they lie, at `temperature_c`.
    pub bulk_l: f64,
    /// Litres at 20 °C.
    pub volume_20_l: f64,
    /// Mass, yeast and all.
    pub mass_kg: f64,
    /// Temperature.
    pub temperature_c: f64,
    /// Gravity 20/20.
    pub gravity: f64,
    /// % vol at 20 °C of its own volume.
    pub strength_pct: f64,
    /// Litres of pure alcohol.
    pub pure_alcohol_l: f64,
    /// Real extract and all else that does not distil.
    pub solids_kg: f64,
}

/// Ferments a washback from its setting.
pub fn run(
    charge: &Charge,
    vessel: &Vessel,
    programme: &Programme,
    constants: &Constants,
) -> Result<Run, Fault> {
    sound("wort", &charge.wort)?;
    sound("yeast", &charge.yeast)?;
    report::PH.check(charge.ph).map_err(|fault| fault.within("washback"))?;
    sound("washback", programme)?;
    resume(&State::set(charge, programme.set_c)?, vessel, programme, constants)
}

const WHAT: &str = "course of the fermentation";
const TOLERANCE: Tolerance = Tolerance { relative: 1e-7, absolute: 1e-8 };
/// Longest step, so that the highest temperature is seen near enough, h.
const LONGEST_STEP_H: f64 = 0.5;

/// Carries a fermentation on from `state` to the end of the programme.
///
/// The state may be one of a run before, mended by readings; its `time_h` counts.
pub fn resume(
    state: &State,
    vessel: &Vessel,
    programme: &Programme,
    constants: &Constants,
) -> Result<Run, Fault> {
    sound("washback", vessel)?;
    sound("washback", programme)?;
    sound("constants", constants)?;
    let around = Around {
        room_c: vessel.room_c,
        heat_loss_kj_m3_h_k: vessel.heat_loss_kj_m3_h_k,
        pressure_pa: vessel.pressure_pa,
    };
    let mut gas_rate = 0.0;
    let mut slope = |_: f64, y: &[f64], dy: &mut [f64]| -> Result<(), Infallible> {
        system::slopes(constants, &around, y, dy);
        Ok(())
    };
    let mut course = DormandPrince::start(TOLERANCE, state.time_h, &state.slice(), &mut slope)
        .map_err(|stop| no_step(WHAT, &stop))?;
    let mut curves = report::new_curves();
    let mut here = *state;
    let (mut peak, mut peak_gas) = ((state.temperature_c, state.time_h), 0.0_f64);
    for row in row_times(programme.every_h, (programme.hours - state.time_h).max(0.0)) {
        let until = state.time_h + row;
        while course.at() < until {
            let limit = until.min(course.at() + LONGEST_STEP_H);
            step_to(&mut course, limit, WHAT, &mut slope)?;
            gas_rate = course.slope_here()[at::GAS];
            peak_gas = peak_gas.max(gas_rate);
            let now = course.state()[at::TEMPERATURE_C];
            if now > peak.0 {
                peak = (now, course.at());
            }
        }
        here = state.after(course.at(), course.state());
        curves.push(&report::row(&here, gas_rate, constants));
    }
    let stretch = Stretch { from: state, to: &here, to_room_kj_m3: course.state()[at::ROOM_KJ] };
    Ok(Run {
        wash: wash(&here, vessel, constants),
        peak_c: peak.0,
        peak_at_h: peak.1,
        peak_carbon_dioxide_kg_m3_h: peak_gas,
        curves,
        balance: balance::balance(&stretch, vessel, constants),
        warnings: warnings(peak.0),
        end: here,
    })
}

fn wash(end: &State, vessel: &Vessel, constants: &Constants) -> Wash {
    use gauge::alcoholometry::kernel as spirit;
    let m3 = vessel.fill_l / 1000.0;
    let gravity = end.gravity(constants);
    let yeast = end.yeast_lag_kg_m3 + end.yeast_active_kg_m3 + end.yeast_dead_kg_m3;
    // Yeast stays in the wash and grew from it: only the gas and what it carried are gone.
    let mass = gauge::wort::kernel::density_kg_m3(end.original_gravity)
        - end.carbon_dioxide_kg_m3
        - end.ethanol_lost_kg_m3
        - end.water_lost_kg_m3;
    let volume_20_l = m3 * 1000.0 * mass / gauge::wort::kernel::density_kg_m3(gravity);
    let pure_alcohol_l = m3 * 1000.0 * end.ethanol_kg_m3 / spirit::ETHANOL_KG_M3;
    let strength_pct = 100.0 * pure_alcohol_l / volume_20_l;
    // Wash swells as its ethanol and water do; its extract changes that by less than the dip shows.
    let mass_fraction = (end.ethanol_kg_m3 / mass).max(0.0);
    let swells = spirit::density_kg_m3(mass_fraction, 20.0)
        / spirit::density_kg_m3(mass_fraction, end.temperature_c.clamp(-20.0, 40.0));
    Wash {
        bulk_l: volume_20_l * swells,
        volume_20_l,
        mass_kg: m3 * mass,
        temperature_c: end.temperature_c,
        gravity,
        strength_pct,
        pure_alcohol_l,
        solids_kg: m3 * (end.real_extract_kg_m3(constants) + yeast + end.bacteria_kg_m3),
    }
}

fn warnings(peak_c: f64) -> Vec<Warning> {
    if peak_c > HOT_C {
        let past = format!("past {HOT_C:.0} °C the yeast dies quickly");
        let says = format!("The wash reaches {peak_c:.1} °C; {past}.");
        vec![Warning { code: "hot", says }]
    } else {
        Vec::new()
    }
}
