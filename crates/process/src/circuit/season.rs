//! A season: makes one after another in the same stills, cycle by cycle from empty receivers.
//!
//! The first charges fill the feints receiver and seem to lose. When another make follows, the
//! feints that stand are mixed into its charges, put apart for their own family, or worked off:
//! charged by themselves until they no longer cover the coils. The product of the first runs after
//! a change, and of working off, is transition spirit, with an account of its own. After the last
//! wash the feints outlast the low wines: they are charged alone, and what no longer covers the
//! coils stays as stock.

use gauge::{Fault, Record, Warning};

use super::cycle::{Cycle, Plant};
use super::graph::Graph;
use super::result::{Stream, Work, warnings};
use super::settle::{check, of_last};
use super::walk::{Walk, turn};
use super::{Charge, Feints, Hearth, Programme, Run, Turn, Vessel};
use crate::Balance;
use crate::still::{Congener, Constants, Moles};

gauge::record! {
    /// Figures of one phase of a season.
    pub struct PhaseFigures {
        /// Cycles of wash in it.
        pub cycles: f64 = Field::new("").label("cycles").within(1.0, 5000.0),
        /// Hours lost by the change before it.
        pub change_h: f64 = Field::new("h").label("change").within(0.0, 1000.0).or(0.0),
        /// Runs after the change whose product is transition spirit.
        pub transition_runs: f64 = Field::new("").label("transition runs").within(0.0, 50.0)
            .or(0.0),
    }
}

/// One make for some time.
#[derive(Debug, Clone, PartialEq)]
pub struct Phase {
    /// The make.
    pub name: String,
    /// The family whose feints it shares.
    pub family: String,
    /// Its wash.
    pub charge: Charge,
    /// Its stills, joined and cut as it wants them.
    pub vessel: Vessel,
    /// The stream that is its product.
    pub product: String,
    /// Cycles, hours of change, transition runs.
    pub figures: PhaseFigures,
    /// What becomes of the feints of the make before it; not given, its family decides.
    pub feints: Option<Feints>,
}

/// A season.
#[derive(Debug, Clone, PartialEq)]
pub struct Season {
    /// The makes in their order.
    pub phases: Vec<Phase>,
    /// Pressure in the pots, Pa.
    pub pressure_pa: f64,
    /// Whether fire, time and reflux are reckoned.
    pub energy: bool,
    /// Whether, after the last wash, the feints are charged alone until the coils are bare.
    pub close: bool,
}

/// Why a cycle was run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// With wash.
    Wash,
    /// Feints by themselves before another make.
    WorkedOff,
    /// Feints by themselves at the close.
    Close,
}

impl Kind {
    /// As a result spells it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Wash => "wash",
            Self::WorkedOff => "worked_off",
            Self::Close => "close",
        }
    }
}

/// What stands in a receiver.
#[derive(Debug, Clone, PartialEq)]
pub struct Held {
    /// The family it belongs to.
    pub family: String,
    /// What it is; congeners in the unit of the wash.
    pub stream: Stream,
}

/// One cycle of a season.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Its number, from 1.
    pub cycle: u32,
    /// The make.
    pub make: String,
    /// Why it was run.
    pub kind: Kind,
    /// Every charge, cut and residue; congeners in the unit of the wash.
    pub streams: Vec<Stream>,
    /// Each still's charges and hours.
    pub work: Vec<Work>,
    /// What stands in the receivers at its end.
    pub receivers: Vec<Held>,
    /// What of the product is the make's own.
    pub product: Moles,
    /// What of it is transition spirit.
    pub transition: Moles,
}

/// A change of make as it was done.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// The cycle before it.
    pub after_cycle: u32,
    /// From which make.
    pub from: String,
    /// To which.
    pub to: String,
    /// What became of the feints.
    pub feints: Feints,
    /// Hours lost.
    pub change_h: f64,
    /// Charges of feints alone.
    pub worked_off: u32,
}

/// What a season gives.
#[derive(Debug, Clone, PartialEq)]
pub struct SeasonRun {
    /// The cycles.
    pub rows: Vec<Row>,
    /// The product of each make, transition spirit left out; in the order they were first made.
    pub products: Vec<Stream>,
    /// Transition spirit.
    pub transition: Stream,
    /// What stands in the receivers at the end.
    pub stock: Vec<Held>,
    /// The changes of make.
    pub changes: Vec<Change>,
    /// The last cycle with wash, as a circuit's result.
    pub last: Run,
    /// Wash in; products, transition, residues, stock out.
    pub balance: Balance,
    /// What to know.
    pub warnings: Vec<Warning>,
}

impl SeasonRun {
    /// Hours lost by all changes.
    pub fn change_h(&self) -> f64 {
        self.changes.iter().map(|change| change.change_h).sum()
    }
}

/// Runs a season from empty receivers.
///
/// # Units
/// mol, L at 20 °C, % vol, h; congeners in the unit of the wash.
/// # Range
/// As of the circuit; working off and closing want the least charge of every still to which
/// something returns.
/// # Error
/// As of the circuit; pots followed to 1e-10.
/// # Source
/// As of the circuit.
pub fn season(season: &Season, constants: &Constants) -> Result<SeasonRun, Fault> {
    if season.phases.is_empty() {
        return Err(Fault::MissingPart { field: "phase".into(), wanted: "a list of makes" });
    }
    let kinds = all_congeners(season);
    let mut ready = Vec::with_capacity(season.phases.len());
    for (place, phase) in season.phases.iter().enumerate() {
        let one = prepared(season, phase, &kinds, constants);
        ready.push(one.map_err(|fault| within(season, place, fault))?);
    }
    let mut plants = Vec::with_capacity(ready.len());
    for (place, (phase, one)) in season.phases.iter().zip(&ready).enumerate() {
        let plant = Plant::new(&one.charge, &phase.vessel, &one.programme, constants, &one.graph);
        plants.push(plant.map_err(|fault| within(season, place, fault))?);
    }
    let mut walk = Walk::new(season, kinds.len());
    let mut state = plants[0].empty();
    let mut last = None;
    let mut warned: Vec<Warning> = Vec::new();
    for (place, phase) in season.phases.iter().enumerate() {
        if let Some(before) = place.checked_sub(1) {
            state = walk.change((before, place), &plants, state)?;
        }
        let mut left = if place > 0 { phase.figures.transition_runs } else { 0.0 };
        for _ in 0..phase.figures.cycles as u32 {
            let cycle = turn(season, &plants[place], (place, Kind::Wash), &state)?;
            walk.note(&plants, place, &cycle, Kind::Wash, &mut left);
            state.clone_from(&cycle.after);
            last = Some((place, cycle));
        }
        if let Some((_, cycle)) = &last {
            warned.extend(of_phase(phase, &plants[place], cycle));
        }
    }
    let end = plants.len() - 1;
    if season.close {
        state = walk.alone(&plants, end, state, Kind::Close)?.0;
    }
    let Some((place, cycle)) = last else {
        return Err(Fault::NotConverged { what: "cycle", steps: 0, residual: f64::NAN });
    };
    let last = of_last(&plants[place], &cycle, walk.rows.len() as u32);
    let mut run = walk.finish(&plants, end, &state, last);
    run.warnings = warned;
    run.warnings.dedup();
    Ok(run)
}

/// What the last cycle with wash of a phase has to say, under the name of its make.
fn of_phase(phase: &Phase, plant: &Plant<'_>, cycle: &Cycle) -> Vec<Warning> {
    let told = warnings(plant, cycle).into_iter();
    told.map(|w| Warning { says: format!("{}: {}", phase.name, w.says), ..w }).collect()
}

/// A fault of one phase; where there is only one, the case needs no list of them.
pub(super) fn within(season: &Season, place: usize, fault: Fault) -> Fault {
    if season.phases.len() > 1 { fault.within(&format!("phase[{place}]")) } else { fault }
}

/// A phase made ready: names looked up, congeners in the order of all.
struct Ready {
    charge: Charge,
    programme: Programme,
    graph: Graph,
}

fn all_congeners(season: &Season) -> Vec<&'static Congener> {
    let mut kinds: Vec<&'static Congener> = Vec::new();
    for (congener, _) in season.phases.iter().flat_map(|phase| &phase.charge.congeners) {
        if !kinds.iter().any(|known| known.key == congener.key) {
            kinds.push(congener);
        }
    }
    kinds
}

fn prepared(
    season: &Season,
    phase: &Phase,
    kinds: &[&'static Congener],
    constants: &Constants,
) -> Result<Ready, Fault> {
    if let Some(fault) = phase.figures.faults().into_iter().next() {
        return Err(fault);
    }
    let amount = |kind: &Congener| {
        let own = phase.charge.congeners.iter().find(|(c, _)| c.key == kind.key);
        own.map_or(0.0, |(_, amount)| *amount)
    };
    let charge = Charge {
        wash: phase.charge.wash.clone(),
        congeners: kinds.iter().map(|kind| (*kind, amount(kind))).collect(),
    };
    let programme = Programme {
        turn: Turn { pressure_pa: season.pressure_pa, ..Turn::default() },
        energy: season.energy,
        product: phase.product.clone(),
    };
    check(&charge, &phase.vessel, &programme, constants)?;
    let graph = Graph::new(&phase.vessel, &phase.product)?;
    let alone = season.close || season.phases.iter().any(|p| p.feints == Some(Feints::WorkedOff));
    for (place, flows) in graph.flows.iter().enumerate() {
        let hearth = &phase.vessel.stills[place].hearth;
        let returns = flows.iter().any(|flow| flow.carried);
        if alone && returns && hearth.least_charge_20_l.is_none() {
            let field = Hearth::FIELDS.iter().find(|f| f.key == "least_charge_20_l");
            return Err(Fault::Missing {
                field: format!("still[{place}].least_charge_20_l").into(),
                unit: "L at 20 °C",
                low: field.map_or(f64::MIN, |f| f.low),
                high: field.map_or(f64::MAX, |f| f.high),
            });
        }
    }
    Ok(Ready { charge, programme, graph })
}
