//! The figures of a steep: the barley, the vessel, water and air rests, the constants.

use gauge::{Fault, Grade, Record};

gauge::record! {
    /// The barley.
    pub struct Charge {
        /// Dry matter of clean barley.
        pub dry_kg: f64 = Field::new("kg").label("dry matter").within(1.0, 1e6).extensive(),
        /// Moisture, wet basis.
        pub moisture_wet: f64 = Field::new("kg/kg").label("moisture, wet basis")
            .within(0.06, 0.25).sd(0.003),
        /// Weight of a thousand corns as they are.
        pub corn_weight_g: f64 = Field::new("g").label("thousand-corn weight")
            .within(20.0, 70.0).or(45.0).sd(1.0)
            .from(Grade::Memory, "two-row 42 to 50 g, six-row landrace 28 to 38 g"),
        /// Nitrogen, % of dry matter: handed on.
        pub nitrogen_pct_dry: f64 = Field::new("%").label("nitrogen on dry matter")
            .within(0.8, 3.5).or(1.5).sd(0.03)
            .from(Grade::Published, "about 1.5 % best for pot-still malt, cereals note of 2019"),
        /// Germinative energy in 4 ml.
        pub germinative_energy_4ml_pct: f64 = Field::new("%").label("germinative energy, 4 ml")
            .within(0.0, 100.0).or(97.0).sd(1.5),
        /// Germinative energy in 8 ml.
        pub germinative_energy_8ml_pct: f64 = Field::new("%").label("germinative energy, 8 ml")
            .within(0.0, 100.0).or(92.0).sd(2.0),
    }
}

gauge::record! {
    /// The steep.
    pub struct Vessel {
        /// Water run in to cover the charge, each time.
        pub fill_kg: f64 = Field::new("kg").label("water to cover").within(1.0, 5e6).extensive(),
        /// Share of the time under water that air is blown through.
        pub aeration: f64 = Field::new("").label("air under water").within(0.0, 1.0).or(0.0),
    }
}

/// Under water, or drained and standing in air.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Under water.
    Wet,
    /// Drained.
    Rest,
    /// Drained, and sprayed so that the skin stays wet: it drinks, and has air.
    Spray,
}

impl Kind {
    /// The word in a case and in a house file.
    pub fn word(self) -> &'static str {
        match self {
            Self::Wet => "wet",
            Self::Rest => "rest",
            Self::Spray => "spray",
        }
    }
}

gauge::record! {
    /// How long and in what.
    pub struct Stretch {
        /// Hours of it.
        pub hours: f64 = Field::new("h").label("hours").within(0.1, 120.0),
        /// Temperature of the water, or of the air in a rest; of both in a spray.
        pub temperature_c: f64 = Field::new("°C").label("water or air").within(1.0, 30.0),
    }
}

/// One stretch of the programme.
#[derive(Debug, Clone, PartialEq)]
pub struct Phase {
    /// Under water or not.
    pub kind: Kind,
    /// How long and in what.
    pub stretch: Stretch,
}

/// What the hand sets: water and air by turns, ending with the casting on to the floor.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Programme {
    /// In order.
    pub phases: Vec<Phase>,
    /// Whether it is cast in its water, as a slurry; the water that carries it is not counted.
    pub wet_cast: bool,
}

impl Programme {
    /// The same to an hour from the first water, the phase it falls in cut short.
    #[must_use]
    pub fn until(&self, at_h: f64) -> Self {
        let mut left = at_h;
        let mut phases = Vec::with_capacity(self.phases.len());
        for phase in &self.phases {
            let hours = phase.stretch.hours.min(left);
            left -= hours;
            // A tenth of an hour is the shortest a phase may be.
            if hours >= 0.1 {
                let stretch = Stretch { hours, ..phase.stretch.clone() };
                phases.push(Phase { kind: phase.kind, stretch });
            }
        }
        Self { phases, wet_cast: false }
    }

    pub(super) fn check(&self) -> Result<(), Fault> {
        if self.phases.is_empty() {
            return Err(Fault::MissingPart { field: "phase".into(), wanted: "a list of phases" });
        }
        for (i, phase) in self.phases.iter().enumerate() {
            if let Some(fault) = phase.stretch.faults().into_iter().next() {
                return Err(fault.within(&format!("phase[{i}]")));
            }
        }
        Ok(())
    }
}

gauge::record! {
    /// The free constants.
    pub struct Constants {
        /// Moisture taken under the husk at the first wetting.
        pub gulp_dry: f64 = Field::new("kg/kg").within(0.0, 0.15).or(0.045).sd(0.01)
            .from(Grade::Published, "Becker, Cereal Chem. 37 (1960) 309, wheat at 22 °C"),
        /// Diffusion at 15 °C: one figure to fit a barley and a crop.
        pub diffusion_m2_s: f64 = Field::new("m²/s").within(1e-13, 3e-12).or(5.341e-13)
            .from(Grade::Computed, "fitted to a textbook steeping table held from memory")
            .fitted(0.5e-13),
        /// Activation of it.
        pub activation_j_mol: f64 = Field::new("J/mol").within(1e4, 1e5).or(48_500.0).sd(2500.0)
            .from(Grade::Published, "Mok and others 1983, whole barley, 11.6 kcal/mol"),
        /// Moisture the diffusion tends to; higher than any that is reached.
        pub saturation_dry: f64 = Field::new("kg/kg").within(0.7, 1.6).or(1.1256).sd(0.05)
            .from(Grade::Computed, "fitted with the diffusion; not beyond 48 % wet basis"),
        /// Radius of a corn of 33.44 g a thousand, dry.
        pub radius_mm: f64 = Field::new("mm").within(0.8, 2.0).or(1.35).sd(0.03)
            .from(Grade::Computed, "three times volume over surface, density 1250, roundness 0.7"),
        /// Water that clings to a drained corn.
        pub film_dry: f64 = Field::new("kg/kg").within(0.0, 0.2).or(0.08)
            .from(Grade::Memory, "0.05 to 0.12 after draining").fitted(0.02),
        /// What a rest dries of it each hour.
        pub drying_1_h: f64 = Field::new("kg/(kg h)").within(0.0, 0.05).or(0.001)
            .from(Grade::Memory, "with a fan drawing").fitted(0.0005),
        /// Dry matter leached in the end.
        pub leached_fraction: f64 = Field::new("kg/kg").within(0.0, 0.03).or(0.0065)
            .from(Grade::Memory, "0.5 to 1.0 % of dry matter").fitted(0.0015),
        /// Hours under water in which most of it goes.
        pub leaching_h: f64 = Field::new("h").within(1.0, 60.0).or(10.0)
            .from(Grade::Design, "first waters are the strongest").fitted(4.0),
        /// Light corns and dust skimmed off the first water.
        pub skimmed_fraction: f64 = Field::new("kg/kg").within(0.0, 0.05).or(0.004)
            .from(Grade::Memory, "0.2 to 1.0 %").fitted(0.002),
        /// Breathing of the growing corn at its height, 16 °C.
        pub respiration_1_d: f64 = Field::new("1/d").within(0.0, 0.03).or(0.008)
            .from(Grade::Design, "as on the floor; tuned to published losses").fitted(0.001),
        /// Share of the breathing that goes on under still water.
        pub wet_respiration: f64 = Field::new("").within(0.0, 1.0).or(0.3)
            .from(Grade::Design, "the oxygen of still water lasts about an hour").fitted(0.15),
        /// Heat a kilogram of dry matter gives to the air of a rest.
        pub rest_loss_w_kg_k: f64 = Field::new("W/(kg K)").within(0.0, 5.0).or(0.05)
            .from(Grade::Design, "a drawn rest warms by a few kelvin").fitted(0.03),
        /// Hours without air at 15 °C that show half of the sensitivity to water.
        pub airless_h: f64 = Field::new("h").within(2.0, 60.0).or(12.0)
            .from(Grade::Design, "a curve of our own").fitted(4.0),
        /// Delay on the floor for each hour without air.
        pub airless_lag: f64 = Field::new("h/h").within(0.0, 2.0).or(0.25)
            .from(Grade::Design, "after Davidson and Jangaard, J. ASBC 36 (1978) 51")
            .fitted(0.1),
        /// Water sprayed each hour, for a kilogram of dry matter.
        pub spray_1_h: f64 = Field::new("kg/(kg h)").within(0.0, 2.0).or(0.10)
            .from(Grade::Design, "more than the corn drinks, little runs off"),
        /// Hours for which a piece cast in its water breathes less.
        pub wet_cast_h: f64 = Field::new("h").within(0.0, 72.0).or(28.0)
            .from(Grade::Published, "Davidson and Jangaard, J. ASBC 36 (1978) 51: up to 28 h"),
        /// Delay of its height by that.
        pub wet_cast_lag_h: f64 = Field::new("h").within(0.0, 24.0).or(24.0)
            .from(Grade::Published, "Davidson and Jangaard, J. ASBC 36 (1978) 51: 24 h and more"),
        /// Oxygen that a kilogram of what is leached takes in a river: sugar's.
        pub oxygen_demand_kg_kg: f64 = Field::new("kg/kg").within(0.5, 2.0).or(1.067)
            .from(Grade::Computed, "C6H12O6 + 6 O2; first waters of 3 to 6 g/L are remembered"),
    }
}
