//! The circuit: stills and receivers in which foreshots and feints go round.
//!
//! What the distiller does. The wash still's low wines are charged to the spirit still together
//! with the foreshots and feints of the run before, which are therefore distilled again, and again
//! in part. After a few charges the feints receiver settles: what goes in as alcohol of low wines
//! comes out as heart, but for what the pot ale and spent lees take. The first charges of a season
//! find the receiver empty and seem to lose: their alcohol has gone into the feints. A middle
//! still may take all of the low wines, or a part ("two and a half times").
//!
//! # Equations
//! A cycle runs every still once, in the order given. A still's charge is what flows to it: from
//! the wash and from stills before it in this cycle, from itself and stills after it in the last.
//! With `z` the contents of the receivers that carry over, a cycle is a map `G(z)`; the settled
//! circuit is its fixed point. Ethanol and water find it by Anderson's method
//! ([`numeric::fixed_point`]); congeners ride along and change nothing, so what the receivers hold
//! of each solves `c = M c + b` with the shares of the settled stills.
//!
//! Alcohol is followed as a Markov chain over the stills: `P_ij` the share of the alcohol charged
//! to still `i` that is charged to still `j` next, `s_i` the share that leaves as the product, `e`
//! where the wash enters. The mean number of distillations of the alcohol that becomes product is
//! `e (I-P)⁻² s / e (I-P)⁻¹ s`: with all of `P`, each return counts (`passes_with_recycle`); with
//! the returns struck out, the distinct stills on the way (`distinct_stills`), which is what the
//! trade calls twice, three times or two and a half times distilled.
//!
//! A season ([`season`]) turns cycle after cycle from empty receivers, one make after another:
//! feints that stand are mixed, put apart or worked off, the first runs' product has an account of
//! its own, and at the close the feints are charged alone until the coils are bare. A week's
//! charges are whole, and what does not make one stands over ([`weekly`]). A charge above its
//! still's ceiling wants `E (1 - x)/x - W` mol of water, `x` the ceiling's mole fraction.
//!
//! # Units and range
//! mol; litres at 20 °C; congeners as amounts for each unit in the wash. With `energy = false` each
//! still is a plain Rayleigh pot without reflux and without time; with `energy = true` every still
//! has a fire and a head, as in [`still`](crate::still). A circuit that sends back more than twenty
//! washes' alcohol is refused.
//!
//! # Error
//! That of the still. The fixed point is met to `tolerance`, each pot followed to 1e-10.
//!
//! # Source
//! J. G. Kemeny and J. L. Snell, *Finite Markov Chains*, 1960, for the chain; the still for the
//! rest.

mod account;
mod case;
mod ceiling;
mod cycle;
mod graph;
mod passes;
mod result;
mod season;
mod season_case;
#[cfg(test)]
mod season_tests;
mod settle;
#[cfg(test)]
mod tests;
mod walk;
mod weekly;

pub use case::{Case, Circuit};
pub use ceiling::Dilution;
pub use result::{Run, Stream, Work};
pub use season::{Change, Held, Kind, Phase, PhaseFigures, Row, Season, SeasonRun, season};
pub use settle::run;
pub use weekly::{Over, StillWeek, Week, WeekEnd, Weekly, weekly};

use gauge::Reader;

use crate::still::{Congener, Cut, HeatStep};

gauge::record! {
    /// One wash charge.
    pub struct Wash {
        /// Ethanol in it.
        pub ethanol_mol: f64 = Field::new("mol").label("ethanol").within(0.0, 1e8).extensive(),
        /// Water in it.
        pub water_mol: f64 = Field::new("mol").label("water").within(1e-3, 1e8).extensive(),
    }
}

/// What goes in: one wash charge a cycle.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Charge {
    /// The liquid.
    pub wash: Wash,
    /// Congeners and their amounts, in any unit.
    pub congeners: Vec<(&'static Congener, f64)>,
}

gauge::record! {
    /// Fire, head and charges of one still.
    pub struct Hearth {
        /// Heat into the liquid; must be given with `energy = true` unless heat steps begin at 0 s.
        pub heat_w: Option<f64> = Field::new("W").label("heat").within(1.0, 1e8).extensive(),
        /// Heat lost by the head for each kelvin above the air.
        pub head_loss_w_k: f64 = Field::new("W/K").label("heat lost by the head")
            .within(0.0, 1e5).or(0.0).extensive(),
        /// Air about the head.
        pub ambient_c: f64 = Field::new("°C").label("air in the still house")
            .within(-20.0, 45.0).or(20.0),
        /// Copper that warms and cools with the charge.
        pub copper_kg: f64 = Field::new("kg").label("copper that is heated")
            .within(0.0, 1e5).or(0.0).extensive(),
        /// Temperature at which a charge is let in: it tells the hours to the first running.
        pub temperature_c: Option<f64> = Field::new("°C").label("temperature of the charge")
            .within(0.0, 100.0),
        /// Litres of distillate that thin the film of old oils in the worm by a factor e.
        pub film_20_l: Option<f64> = Field::new("L at 20 °C").label("litres that wash the worm")
            .within(1e-3, 1e5).extensive(),
        /// Usual charge: what comes to the still in a cycle is taken in so many charges. Not given,
        /// all of it is one charge.
        pub charge_20_l: Option<f64> = Field::new("L at 20 °C").label("usual charge")
            .within(0.01, 1e6).extensive(),
        /// Least that covers the coils.
        pub least_charge_20_l: Option<f64> = Field::new("L at 20 °C").label("least over the coils")
            .within(0.0, 1e6).extensive(),
        /// Strength above which it is not charged: the demisting test wants a weak charge.
        pub charge_ceiling_pct: Option<f64> = Field::new("% vol").label("strongest charge")
            .within(5.0, 88.0),
    }
}

/// A share of a stream that flows into a still or a stock.
#[derive(Debug, Clone, PartialEq)]
pub struct Source {
    /// `wash`, or a still's cut or residue: `spirit.feints`.
    pub from: String,
    /// Which share of it.
    pub fraction: f64,
}

/// One still of the circuit.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Place {
    /// Its name, without a dot.
    pub name: String,
    /// What it is charged with.
    pub charge: Vec<Source>,
    /// Its fire, head and charges.
    pub hearth: Hearth,
    /// Changes of the fire, in order of time.
    pub heat: Vec<HeatStep>,
    /// Its cuts.
    pub cuts: Vec<Cut>,
    /// Whether a charge above its ceiling is brought down with water; else that is proposed.
    pub dilute: bool,
}

impl Place {
    /// A still of which only the name is known.
    pub fn named(name: &str) -> Self {
        Self { name: name.to_owned(), ..Self::default() }
    }
}

/// What becomes of the foreshots and feints that stand when a make follows another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Feints {
    /// They go into the next make's charges.
    Mixed,
    /// They stand in a receiver of their own until a make of their family runs again.
    Apart,
    /// They are run by themselves until they no longer cover the coils; the rest stands apart.
    WorkedOff,
}

impl Feints {
    /// As they are spelt in the files, in the order of the choices.
    pub const WORDS: [&'static str; 3] = ["mixed", "apart", "worked_off"];

    /// As it is spelt in the files.
    pub fn word(self) -> &'static str {
        match self {
            Self::Mixed => Self::WORDS[0],
            Self::Apart => Self::WORDS[1],
            Self::WorkedOff => Self::WORDS[2],
        }
    }

    /// Reads the word under `feints`; none where the families are to decide.
    pub fn read(reader: &mut Reader<'_>) -> Option<Self> {
        let [mixed, apart, worked_off] = Self::WORDS;
        let words = [BY_FAMILY, mixed, apart, worked_off];
        let word = reader.choice("feints", &words, Some(BY_FAMILY));
        [Self::Mixed, Self::Apart, Self::WorkedOff].into_iter().find(|feints| feints.word() == word)
    }
}

/// Mixed in one family, apart where the family changes.
const BY_FAMILY: &str = "by_family";

/// A receiver out of the circuit that takes a share of a stream.
#[derive(Debug, Clone, PartialEq)]
pub struct Stock {
    /// Its name.
    pub name: String,
    /// What flows into it.
    pub source: Source,
}

/// The stills and how they are joined.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Vessel {
    /// The stills, in the order in which a cycle runs them.
    pub stills: Vec<Place>,
    /// Receivers that take shares out of the circuit.
    pub stocks: Vec<Stock>,
}

gauge::record! {
    /// How the circuit is run and how closely it is settled.
    pub struct Turn {
        /// Pressure in the pots.
        pub pressure_pa: f64 = Field::new("Pa").label("pressure").within(2e4, 1.1e5).or(101_325.0),
        /// Cycles from empty receivers; 0 is the settled circuit.
        pub cycles: f64 = Field::new("").label("cycles from empty, 0 for settled")
            .within(0.0, 1000.0).or(0.0),
        /// Largest change of any amount from one cycle to the next, over its amount in the wash.
        pub tolerance: f64 = Field::new("").label("settled to").within(1e-12, 0.01).or(1e-8),
    }
}

/// What the hand decides.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Programme {
    /// Pressure, cycles, tolerance.
    pub turn: Turn,
    /// Whether fire, time and reflux are reckoned.
    pub energy: bool,
    /// The stream that is the product: `spirit.heart`.
    pub product: String,
}
