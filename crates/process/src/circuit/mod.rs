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
//! circuit is its fixed point, found by Anderson's method ([`numeric::fixed_point`]).
//!
//! Alcohol is followed as a Markov chain over the stills: `P_ij` the share of the alcohol charged
//! to still `i` that is charged to still `j` next, `s_i` the share that leaves as the product, `e`
//! where the wash enters. The mean number of distillations of the alcohol that becomes product is
//! `e (I-P)⁻² s / e (I-P)⁻¹ s`: with all of `P`, each return counts (`passes_with_recycle`); with
//! the returns struck out, the distinct stills on the way (`distinct_stills`), which is what the
//! trade calls twice, three times or two and a half times distilled.
//!
//! # Units and range
//! mol; litres at 20 °C; congeners as amounts for each unit in the wash. With `energy = false` each
//! still is a plain Rayleigh pot without reflux and without time; with `energy = true` every still
//! has a fire and a head, as in [`still`](crate::still).
//!
//! # Error
//! That of the still. The fixed point is met to `tolerance`, each pot followed to 1e-10.
//!
//! # Source
//! J. G. Kemeny and J. L. Snell, *Finite Markov Chains*, 1960, for the chain; the still for the
//! rest.

mod case;
mod cycle;
mod graph;
mod passes;
#[cfg(test)]
mod tests;

pub use case::{Case, Circuit};

use gauge::{Fault, Node, Record};
use numeric::fixed_point::{NoPoint, Search, anderson};

use crate::still::{Congener, Constants, Cut, Moles};
use crate::{Balance, Curves};

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
    /// Fire and head of one still; not read where energy is left out.
    pub struct Hearth {
        /// Heat into the liquid; must be given with `energy = true`.
        pub heat_w: Option<f64> = Field::new("W").label("heat").within(1.0, 1e8).extensive(),
        /// Heat lost by the head for each kelvin above the air.
        pub head_loss_w_k: f64 = Field::new("W/K").label("heat lost by the head")
            .within(0.0, 1e5).or(0.0).extensive(),
        /// Air about the head.
        pub ambient_c: f64 = Field::new("°C").label("air in the still house")
            .within(-20.0, 45.0).or(20.0),
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
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// Its name, without a dot.
    pub name: String,
    /// What it is charged with.
    pub charge: Vec<Source>,
    /// Its fire and head.
    pub hearth: Hearth,
    /// Its cuts.
    pub cuts: Vec<Cut>,
}

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

/// Ethanol, water and congeners of one stream.
#[derive(Debug, Clone, PartialEq)]
pub struct Stream {
    /// `spirit.charge`, `spirit.heart`, `spirit.residue`.
    pub name: String,
    /// Ethanol and water.
    pub moles: Moles,
    /// Each congener's amount for one unit in the wash.
    pub congeners: Vec<(&'static Congener, f64)>,
}

/// What a circuit gives.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// Every charge, cut and residue of the last cycle.
    pub streams: Vec<Stream>,
    /// Mean distillations of the alcohol in the product, each return counted.
    pub passes_with_recycle: f64,
    /// Mean distinct stills on the way.
    pub distinct_stills: f64,
    /// Alcohol of the product over that of the wash.
    pub product_per_wash_alcohol: f64,
    /// For each still the share of its charge's alcohol that carried over from the last cycle.
    pub recycled_fraction: Vec<(String, f64)>,
    /// Largest change of any carried amount over its amount in the wash, in the last cycle.
    pub residual: f64,
    /// Cycles reckoned.
    pub cycles: u32,
    /// The streams after each cycle from empty; not kept for the settled circuit.
    pub history: Vec<Vec<Stream>>,
    /// Water, pure alcohol, congeners and, with energy, energy of the last cycle.
    pub balance: Balance,
}

impl Run {
    /// The stream called `name`.
    pub fn stream(&self, name: &str) -> Option<&Stream> {
        self.streams.iter().find(|s| s.name == name)
    }
    /// Curves over the cycles: for each stream its alcohol.
    pub fn curves(&self) -> Curves {
        let names = self.streams.iter().map(|s| format!("{}_pure_alcohol_l", s.name));
        let columns = std::iter::once(("cycle".to_owned(), ""));
        let mut curves = Curves::new(columns.chain(names.map(|name| (name, "L"))));
        for (place, streams) in self.history.iter().enumerate() {
            let alcohol = streams.iter().map(|s| s.moles.pure_alcohol_l());
            let row: Vec<f64> = std::iter::once((place + 1) as f64).chain(alcohol).collect();
            curves.push(&row);
        }
        curves
    }
    /// As the contract names it.
    pub fn node(&self) -> Node {
        let named = |pairs: &[(String, f64)]| {
            Node::part(pairs.iter().map(|(name, value)| (name.as_str(), Node::from(*value))))
        };
        let mut parts = vec![
            ("streams", stream_nodes(&self.streams)),
            ("passes_with_recycle", self.passes_with_recycle.into()),
            ("distinct_stills", self.distinct_stills.into()),
            ("product_per_wash_alcohol", self.product_per_wash_alcohol.into()),
            ("recycled_fraction", named(&self.recycled_fraction)),
            ("residual", self.residual.into()),
            ("cycles", f64::from(self.cycles).into()),
        ];
        if !self.history.is_empty() {
            let cycles = self.history.iter().enumerate().map(|(place, streams)| {
                let cycle = Node::from((place + 1) as f64);
                Node::part([("cycle", cycle), ("streams", stream_nodes(streams))])
            });
            parts.push(("history", Node::List(cycles.collect())));
        }
        Node::part(parts)
    }
}

fn stream_nodes(streams: &[Stream]) -> Node {
    Node::part(streams.iter().map(|s| {
        let congeners = s.congeners.iter().map(|(c, amount)| (c.key, Node::from(*amount)));
        let parts = [
            ("ethanol_mol", Node::from(s.moles.ethanol_mol)),
            ("water_mol", s.moles.water_mol.into()),
            ("volume_20_l", s.moles.volume_20_l().into()),
            ("strength_pct", s.moles.strength_pct().into()),
            ("pure_alcohol_l", s.moles.pure_alcohol_l().into()),
            ("congeners", Node::part(congeners)),
        ];
        (s.name.as_str(), Node::part(parts))
    }))
}

/// How many earlier cycles Anderson's method remembers.
const MEMORY: usize = 4;
/// Most cycles on the way to the fixed point.
const MOST_CYCLES: u32 = 500;

/// Runs the circuit: to its fixed point, or for a number of cycles from empty receivers.
///
/// # Units
/// mol, L at 20 °C, % vol; congeners for each unit in the wash.
/// # Range
/// The wash up to 0.70 mole fraction; shares of a stream sum to 1 or the rest goes to a stock.
/// # Error
/// See the page above.
/// # Source
/// As on the page above.
pub fn run(
    charge: &Charge,
    vessel: &Vessel,
    programme: &Programme,
    constants: &Constants,
) -> Result<Run, Fault> {
    check(charge, vessel, programme, constants)?;
    let graph = graph::Graph::new(vessel, &programme.product)?;
    let plant = cycle::Plant::new(charge, vessel, programme, constants, &graph)?;
    let cycles = programme.turn.cycles as u32;
    let mut history = Vec::new();
    let (last, residual, count) = if cycles > 0 {
        let mut carried = plant.empty();
        let mut last = None;
        for _ in 0..cycles {
            let cycle = plant.turn(&carried)?;
            history.push(plant.streams(&cycle));
            carried.clone_from(&cycle.carried_out);
            last = Some(cycle);
        }
        let Some(last) = last else { return Err(no_cycle()) };
        let residual = plant.change(&last);
        (last, residual, cycles)
    } else {
        settle(&plant, programme)?
    };
    let chain = passes::Chain::new(&graph, &last);
    Ok(Run {
        streams: plant.streams(&last),
        passes_with_recycle: chain.mean_passes(false),
        distinct_stills: chain.mean_passes(true),
        product_per_wash_alcohol: last.made[graph.product].moles.ethanol_mol
            / charge.wash.ethanol_mol,
        recycled_fraction: plant.recycled(&last),
        residual,
        cycles: count,
        history,
        balance: plant.balance(&last),
    })
}

fn settle(
    plant: &cycle::Plant<'_>,
    programme: &Programme,
) -> Result<(cycle::Cycle, f64, u32), Fault> {
    let search = Search {
        tolerance: programme.turn.tolerance,
        memory: MEMORY,
        most: MOST_CYCLES,
        not_negative: true,
    };
    let mut last = None;
    let found = anderson(search, &plant.empty(), &plant.scale(), |carried, image| {
        let cycle = plant.turn(carried)?;
        image.copy_from_slice(&cycle.carried_out);
        last = Some(cycle);
        Ok(())
    });
    match (found, last) {
        (Ok(found), Some(last)) => Ok((last, found.residual, found.calls)),
        (Err(NoPoint::Map(fault)), _) => Err(fault),
        (Err(NoPoint::NotConverged { calls, residual }), _) => {
            Err(Fault::NotConverged { what: "settled circuit", steps: calls, residual })
        }
        (Ok(_), None) => Err(no_cycle()),
    }
}

fn no_cycle() -> Fault {
    Fault::NotConverged { what: "settled circuit", steps: 0, residual: f64::NAN }
}

fn check(
    charge: &Charge,
    vessel: &Vessel,
    programme: &Programme,
    constants: &Constants,
) -> Result<(), Fault> {
    let first = |faults: Vec<Fault>| faults.into_iter().next();
    if let Some(fault) = first(charge.wash.faults()) {
        return Err(fault.within("wash"));
    }
    if let Some(fault) = first(programme.turn.faults()) {
        return Err(fault);
    }
    if let Some(fault) = first(constants.faults()) {
        return Err(fault.within("constants"));
    }
    for (place, still) in vessel.stills.iter().enumerate() {
        let path = format!("still[{place}]");
        if let Some(fault) = first(still.hearth.faults()) {
            return Err(fault.within(&path));
        }
        if still.cuts.is_empty() {
            return Err(Fault::MissingPart {
                field: format!("{path}.cut").into(),
                wanted: "a list of at least one cut",
            });
        }
        for (number, cut) in still.cuts.iter().enumerate() {
            cut.until.check(number).map_err(|fault| fault.within(&path))?;
        }
    }
    Ok(())
}
