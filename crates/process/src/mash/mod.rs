//! Mashing: grist and hot water to worts, weak worts and draff.
//!
//! Grist and the first water meet in the mashing machine and fall into the tun together. The
//! water is some degrees hotter than the mash is to be: the cold malt, its slaking and the tun
//! itself take or give the difference, and the striking heat is that sum done beforehand. The
//! mash stands while the enzymes work, and the first worts run off through the plates. A second,
//! hotter water washes the bed; both worts go over the cooler into the washback. A third and
//! often a fourth, hotter still, take what is left; they are too weak to ferment and are struck
//! into the next mash. What stays on the plates is draff, and goes to the farm.
//!
//! # Equations
//! Striking heat and its inverse: `strike.rs`. Each water on the bed, with H the water held:
//! ```text
//! mixed       e' = (e + e_in) H'/(H + W)
//! displaced   e' = e phi(W/H, N) H'/H,   phi = (1/N) sum_i exp(-N th) sum_{j<i} (N th)^j / j!
//! bed         T  = (C_bed T_before + c_w W T_W)/(C_bed + c_w W),  then cooling to the room
//! draff       m  = dry malt - (extract - water bound in it)
//! ```
//! Extract is what the laboratory finds times what the grist will yield; its sugars come from the
//! conversion followed along the bed's own temperature, its dead dextrin from the laboratory's
//! fermentability. Specific heats are those of water, dry malt and their sum, so heat closes.
//!
//! # Units
//! kg, °C, kJ above 0 °C, L. A water's litres are as it is run in, at its own temperature.
//! # Range
//! Two to six waters; malt to 12 % moisture (the fits hold to 8 %); mash 45 to 75 °C.
//! # Error
//! Striking heat 0.1 K from the fits of malt heat, a kelvin from an unfitted tun. Gravities of the
//! drains a degree or two until `tanks` and the water held are fitted to them.
//! # Source
//! Malt heat: Pauls and Whites Brewing Room Book, 1984/85. Washing: mass balance; tanks in series
//! as in any text on reactors. Water held, tun heat, draff of 20 to 30 % dry matter: from memory
//! of the trade; draff of 23 % is printed in a feed table.

mod figures;
mod heat;
mod make_up;
mod report;
mod strike;
#[cfg(test)]
mod tests;
pub mod washing;

pub use figures::{
    Charge, Constants, Fitted, Grist, Liquor, Programme, To, Vessel, Water, WeakWorts,
};
pub use heat::EXTRACT_L_KG;
pub use make_up::Sugars;
pub use report::{Case, Mash};
pub use strike::{MashIn, mash_c, strike_c};
pub use washing::{How, Liquid};

use crate::conversion::{self, State};
use crate::sound::sound;
use crate::{Balance, Curves, Matter};
use gauge::fault::Side;
use gauge::{Fault, Warning};
use heat::Heat;
use make_up::{Line, Potential, carry_on};

/// A body of worts: what is in it and how warm it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Worts {
    /// Water and extract.
    pub liquid: Liquid,
    /// Temperature.
    pub temperature_c: f64,
}

impl Worts {
    /// Degrees Plato; 0 of no worts at all.
    pub fn plato(&self) -> f64 {
        let mass = self.mass_kg();
        if mass > 0.0 { 100.0 * self.liquid.extract_kg / mass } else { 0.0 }
    }
    /// Gravity 20/20.
    pub fn gravity(&self) -> f64 {
        gauge::wort::kernel::gravity_of_plato(self.plato())
    }
    /// Mass.
    pub fn mass_kg(&self) -> f64 {
        self.liquid.water_kg + self.liquid.extract_kg
    }
    /// Litres at 20 °C.
    pub fn volume_20_l(&self) -> f64 {
        1000.0 * self.mass_kg() / gauge::wort::kernel::density_kg_m3(self.gravity())
    }
    /// Litres as they are; worts swell as water does, within 0.2 % up to 80 °C.
    pub fn bulk_l(&self) -> f64 {
        let water = gauge::water::density_kg_m3;
        self.volume_20_l() * water(20.0) / water(self.temperature_c)
    }
}

/// What one water did.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// The water as it was run in.
    pub liquor: Worts,
    /// Bed temperature once it was in.
    pub bed_c: f64,
    /// Bed temperature when it had drained.
    pub drained_c: f64,
    /// What ran off.
    pub run_off: Worts,
    /// What the bed held then.
    pub held: Liquid,
    /// Where the drain went.
    pub to: To,
    /// The conversion at the middle of the drain.
    pub state: State,
}

/// What is left on the plates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Draff {
    /// Dry matter that did not dissolve.
    pub insoluble_kg: f64,
    /// Water held.
    pub water_kg: f64,
    /// Extract held and not washed out.
    pub extract_kg: f64,
}

impl Draff {
    /// Mass as it is carted.
    pub fn mass_kg(&self) -> f64 {
        self.insoluble_kg + self.water_kg + self.extract_kg
    }
    /// Moisture on a wet basis.
    pub fn moisture_wet(&self) -> f64 {
        self.water_kg / self.mass_kg()
    }
}

/// What comes out.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// Temperature of the first water.
    pub strike_c: f64,
    /// Temperature of the mash once it was in.
    pub mash_c: f64,
    /// Each water.
    pub steps: Vec<Step>,
    /// Worts for the washback, less what stays in the pipes.
    pub worts: Worts,
    /// What their extract is made of.
    pub sugars: Sugars,
    /// Enzymes that outlived the mash in them.
    pub enzyme_alpha: f64,
    /// The same.
    pub enzyme_beta: f64,
    /// Worts for the next mash.
    pub weak_worts: Worts,
    /// Draff.
    pub draff: Draff,
    /// Extract that went into solution here.
    pub extract_kg: f64,
    /// Extract by the laboratory.
    pub laboratory_extract_kg: f64,
    /// From mashing in to the last drain.
    pub minutes: f64,
    /// The course.
    pub curves: Curves,
    /// Dry matter, water, extract and heat.
    pub balance: Balance,
    /// What to know.
    pub warnings: Vec<Warning>,
}

impl Run {
    /// The worts as the washback takes them: kg in a cubic metre at 20 °C.
    pub fn wort(&self) -> crate::ferment::Wort {
        let extract_kg_m3 = 1000.0 * self.worts.liquid.extract_kg / self.worts.volume_20_l();
        crate::ferment::Wort {
            glucose_kg_m3: self.sugars.glucose * extract_kg_m3,
            maltose_kg_m3: self.sugars.maltose * extract_kg_m3,
            maltotriose_kg_m3: self.sugars.maltotriose * extract_kg_m3,
            dextrin_kg_m3: self.sugars.dextrin * extract_kg_m3,
            residual_kg_m3: self.sugars.residual * extract_kg_m3,
        }
    }
}

fn check(
    charge: &Charge,
    vessel: &Vessel,
    programme: &Programme,
    constants: &Constants,
) -> Result<(), Fault> {
    sound("grist", &charge.grist)?;
    sound("weak_worts", &charge.weak_worts)?;
    sound("tun", vessel)?;
    sound("constants", &constants.fitted)?;
    sound("enzymes", &constants.enzymes)?;
    if let Some(mash_c) = programme.mash_c {
        report::MASH_C.check(mash_c)?;
    }
    let waters = &programme.waters;
    if !(2..=6).contains(&waters.len()) || !waters.iter().any(|w| w.to == To::Washback) {
        let wanted = "a list of two to six waters, one at least to the washback,";
        return Err(Fault::MissingPart { field: "water".into(), wanted });
    }
    for (index, water) in waters.iter().enumerate() {
        sound(&format!("water[{index}]"), &water.liquor)?;
        if index > 0 && water.liquor.temperature_c.is_none() {
            let field = format!("water[{index}].temperature_c").into();
            return Err(Fault::Missing { field, unit: "°C", low: 20.0, high: 99.0 });
        }
    }
    let given = [programme.mash_c, waters[0].liquor.temperature_c];
    match given.iter().flatten().count() {
        1 => Ok(()),
        given => Err(Fault::OneOf {
            field: "".into(),
            keys: vec!["mash_c", "water[0].temperature_c"],
            given,
        }),
    }
}

/// Mashes once.
pub fn run(
    charge: &Charge,
    vessel: &Vessel,
    programme: &Programme,
    constants: &Constants,
) -> Result<Run, Fault> {
    check(charge, vessel, programme, constants)?;
    let potential = Potential::of(&charge.grist, constants)?;
    let mut heat = Heat::of(charge, vessel, programme, constants)?;
    let mut bed = Bed::fresh(charge);
    let mut steps = Vec::with_capacity(programme.waters.len());
    let mut curves = report::new_curves();
    let mut minutes = 0.0;
    for (index, water) in programme.waters.iter().enumerate() {
        let liquor = heat.liquor(index, charge, programme);
        let bed_c = heat.run_in(index, &liquor, &bed);
        let (stand, drain) = (water.liquor.stand_min, water.liquor.drain_min);
        curves.push(&report::row(minutes, bed_c, &bed.state, 0.0));
        let middle_c = heat.cool(stand + 0.5 * drain, &liquor, &bed);
        let line = Line { minutes: stand + 0.5 * drain, from_c: bed_c, to_c: middle_c };
        bed.state = carry_on(&bed.state, &line, &constants.enzymes)?;
        let state = bed.state;
        if index == 0 {
            bed.dissolve(&potential, charge, constants);
            heat.dissolved(&bed);
        }
        let held_kg = constants.held_kg_kg(index, programme.waters.len()) * heat.malt_kg;
        let drained = bed.drain(index, water, liquor.liquid, held_kg, constants)?;
        let drained_c = heat.cool(0.5 * drain, &liquor, &bed);
        let line = Line { minutes: 0.5 * drain, from_c: middle_c, to_c: drained_c };
        bed.state = carry_on(&bed.state, &line, &constants.enzymes)?;
        bed.liquid = drained.held;
        let run_off = Worts { liquid: drained.run_off, temperature_c: drained_c };
        heat.run_off(water.to, &run_off);
        curves.push(&report::row(minutes + line.minutes + stand, middle_c, &state, 0.0));
        minutes += stand + drain;
        curves.push(&report::row(minutes, drained_c, &bed.state, run_off.plato()));
        let (to, held) = (water.to, drained.held);
        steps.push(Step { liquor, bed_c, drained_c, run_off, held, to, state });
    }
    let course = Course { steps, bed, heat, minutes, curves };
    Ok(gather(charge, constants, &potential, course))
}

/// Mashes again and again with the same grist, each time on the weak worts of the mash before,
/// until they no longer change: the middle of a week. `charge.weak_worts` is where it starts.
///
/// Weak worts beyond what the first water takes are left over, and are in the result.
pub fn steady(
    charge: &Charge,
    vessel: &Vessel,
    programme: &Programme,
    constants: &Constants,
) -> Result<Run, Fault> {
    const MOST_MASHES: u32 = 60;
    let mut charge = charge.clone();
    let mut change = f64::INFINITY;
    for _ in 0..MOST_MASHES {
        let run = run(&charge, vessel, programme, constants)?;
        let weak = run.weak_worts.liquid;
        // A fiftieth of the first water stays fresh, so that its litres hold while they warm.
        let room = 0.98 * run.steps[0].liquor.liquid.water_kg;
        let share = if weak.water_kg > room { room / weak.water_kg } else { 1.0 };
        let next =
            WeakWorts { water_kg: share * weak.water_kg, extract_kg: share * weak.extract_kg };
        let before = &charge.weak_worts;
        change =
            (next.extract_kg - before.extract_kg).abs() + (next.water_kg - before.water_kg).abs();
        if change <= 1e-9 * charge.grist.dry_kg {
            return Ok(run);
        }
        charge.weak_worts = next;
    }
    Err(Fault::NotConverged {
        what: "week of mashes that repeats itself",
        steps: MOST_MASHES,
        residual: change,
    })
}

/// The bed on the plates.
#[derive(Debug, Clone)]
struct Bed {
    liquid: Liquid,
    /// Dry matter not in solution.
    insoluble_kg: f64,
    /// Extract that no water reaches.
    kept_kg: f64,
    /// Extract made.
    extract_kg: f64,
    /// Water bound in it.
    bound_kg: f64,
    state: State,
}

impl Bed {
    fn fresh(charge: &Charge) -> Self {
        let grist = &charge.grist;
        let enzymes = conversion::Charge {
            enzyme_alpha: grist.enzyme_alpha,
            enzyme_beta: grist.enzyme_beta,
            ..conversion::Charge::default()
        };
        Self {
            liquid: Liquid { water_kg: heat::malt_water_kg(grist), extract_kg: 0.0 },
            insoluble_kg: grist.dry_kg,
            kept_kg: 0.0,
            extract_kg: 0.0,
            bound_kg: 0.0,
            state: State::fresh(&enzymes),
        }
    }

    /// Extract goes into solution and binds water. What dissolves later is small and left out.
    fn dissolve(&mut self, potential: &Potential, charge: &Charge, constants: &Constants) {
        self.extract_kg = potential.extract_kg(&self.state);
        self.bound_kg = potential.hydrolysis_kg(&self.state);
        self.insoluble_kg = charge.grist.dry_kg - (self.extract_kg - self.bound_kg);
        self.kept_kg = constants.fitted.not_washable * self.extract_kg;
        self.liquid.water_kg -= self.bound_kg;
        self.liquid.extract_kg = self.extract_kg - self.kept_kg;
    }

    fn drain(
        &self,
        index: usize,
        water: &Water,
        liquor: Liquid,
        held_kg: f64,
        constants: &Constants,
    ) -> Result<washing::Drained, Fault> {
        let all = self.liquid.water_kg + liquor.water_kg;
        if held_kg >= all {
            return Err(Fault::Beyond {
                field: format!("water[{index}].volume_l").into(),
                value: water.liquor.volume_l,
                unit: "L",
                side: Side::AtLeast,
                limit: water.liquor.volume_l * held_kg / all,
                sets: "or the bed holds all of it and nothing drains".into(),
            });
        }
        let how = if index == 0 { How::Mixed } else { water.how };
        Ok(washing::drain(self.liquid, liquor, how, held_kg, constants.fitted.tanks))
    }
}

/// All that happened, before it is added up.
struct Course {
    steps: Vec<Step>,
    bed: Bed,
    heat: Heat,
    minutes: f64,
    curves: Curves,
}

fn sum(steps: &[Step], to: To) -> Liquid {
    let mut all = Liquid::default();
    for step in steps.iter().filter(|s| s.to == to) {
        all.water_kg += step.run_off.liquid.water_kg;
        all.extract_kg += step.run_off.liquid.extract_kg;
    }
    all
}

fn gather(charge: &Charge, constants: &Constants, potential: &Potential, course: Course) -> Run {
    let Course { steps, bed, heat, minutes, curves } = course;
    let left = constants.fitted.left_in_pipes;
    let drained = sum(&steps, To::Washback);
    let worts = Worts {
        liquid: Liquid {
            water_kg: (1.0 - left) * drained.water_kg,
            extract_kg: (1.0 - left) * drained.extract_kg,
        },
        temperature_c: heat.mean_c(To::Washback, &drained),
    };
    let weak = sum(&steps, To::Next);
    let weak_worts = Worts { liquid: weak, temperature_c: heat.mean_c(To::Next, &weak) };
    let draff = Draff {
        insoluble_kg: bed.insoluble_kg,
        water_kg: bed.liquid.water_kg,
        extract_kg: bed.liquid.extract_kg + bed.kept_kg,
    };
    let mean = |of: &dyn Fn(&State) -> f64| {
        let to_back = steps.iter().filter(|s| s.to == To::Washback);
        let part = |s: &Step| s.run_off.liquid.extract_kg * of(&s.state) / drained.extract_kg;
        to_back.map(part).sum::<f64>()
    };
    let sugars = Sugars {
        glucose: mean(&|s| potential.sugars(s).glucose),
        maltose: mean(&|s| potential.sugars(s).maltose),
        maltotriose: mean(&|s| potential.sugars(s).maltotriose),
        dextrin: mean(&|s| potential.sugars(s).dextrin),
        residual: mean(&|s| potential.sugars(s).residual),
    };
    let grist = &charge.grist;
    let mut balance = Balance::new();
    masses(&mut balance, charge, &steps, &Ends { worts, weak_worts, draff, left, bed: &bed });
    heat.balance(&mut balance, left, &draff);
    Run {
        strike_c: heat.strike_c,
        mash_c: steps[0].bed_c,
        enzyme_alpha: mean(&|s| s.enzyme_alpha),
        enzyme_beta: mean(&|s| s.enzyme_beta),
        sugars,
        worts,
        weak_worts,
        draff,
        extract_kg: bed.extract_kg,
        laboratory_extract_kg: grist.dry_kg * grist.extract_pct_dry / 100.0,
        minutes,
        curves,
        balance,
        warnings: report::warnings(steps[0].bed_c, potential.beyond),
        steps,
    }
}

/// Where everything is at the end.
struct Ends<'a> {
    worts: Worts,
    weak_worts: Worts,
    draff: Draff,
    left: f64,
    bed: &'a Bed,
}

fn masses(balance: &mut Balance, charge: &Charge, steps: &[Step], ends: &Ends<'_>) {
    let drained = sum(steps, To::Washback);
    let (bed, draff) = (ends.bed, &ends.draff);
    let recycled = charge.weak_worts.extract_kg;
    let (dry, water, extract) = (Matter::DryMatter, Matter::Water, Matter::Extract);

    balance.input(dry, "grist", charge.grist.dry_kg);
    balance.input(dry, "weak_worts", recycled);
    balance.input(dry, "water_bound", bed.bound_kg);
    balance.output(dry, "worts", ends.worts.liquid.extract_kg);
    balance.output(dry, "next_weak_worts", ends.weak_worts.liquid.extract_kg);
    balance.output(dry, "draff", draff.insoluble_kg + draff.extract_kg);
    balance.lost(dry, "pipes", ends.left * drained.extract_kg);

    balance.input(extract, "dissolved", bed.extract_kg);
    balance.input(extract, "weak_worts", recycled);
    balance.output(extract, "worts", ends.worts.liquid.extract_kg);
    balance.output(extract, "next_weak_worts", ends.weak_worts.liquid.extract_kg);
    balance.lost(extract, "draff", draff.extract_kg);
    balance.lost(extract, "pipes", ends.left * drained.extract_kg);

    let liquor: f64 = steps.iter().map(|s| s.liquor.liquid.water_kg).sum();
    balance.input(water, "waters", liquor);
    balance.input(water, "grist", heat::malt_water_kg(&charge.grist));
    balance.output(water, "worts", ends.worts.liquid.water_kg);
    balance.output(water, "next_weak_worts", ends.weak_worts.liquid.water_kg);
    balance.output(water, "draff", draff.water_kg);
    balance.output(water, "bound_in_extract", bed.bound_kg);
    balance.lost(water, "pipes", ends.left * drained.water_kg);
}
