//! The settled circuit, and the circuit cycle by cycle from empty.
//!
//! Congeners are passengers: they change neither what boils nor when. So ethanol and water are
//! settled by themselves, by Anderson's method; then every still's shares are known and what each
//! congener's receivers hold is a small linear system, `c = M c + b`, solved outright. Smoke,
//! whose plain iteration shrinks slowest of all, then costs no cycles.

use gauge::{Fault, Record};
use numeric::fixed_point::{NoPoint, Search, anderson};

use super::cycle::{Amount, Boiled, Cycle, Plant, State, Turning};
use super::graph::Graph;
use super::passes::{Chain, solve};
use super::walk::let_down;
use super::{Charge, Programme, Run, Vessel, account, ceiling, result};
use crate::still::{Constants, Moles, Until};

/// How many earlier cycles Anderson's method remembers.
const MEMORY: usize = 4;
/// Most cycles on the way to the fixed point.
const MOST_CYCLES: u32 = 200;
/// Alcohol on its way round, over that of one wash, at which too little is said to leave: a circuit
/// of stills as they are worked holds about one.
const HEAVY: f64 = 20.0;

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
    let graph = Graph::new(vessel, &programme.product)?;
    let plant = Plant::new(charge, vessel, programme, constants, &graph)?;
    let cycles = programme.turn.cycles as u32;
    let (mut history, mut receivers) = (Vec::new(), Vec::new());
    let (last, count) = if cycles > 0 {
        let mut state = plant.empty();
        let mut last = None;
        for _ in 0..cycles {
            let cycle = plant.turn(&state, Turning::Washed)?;
            history.push(plant.streams(&cycle, false));
            let stands = let_down(&plant, &cycle.after).into_iter();
            receivers.push(stands.map(|(name, a)| plant.stream(name, &a, false)).collect());
            state.clone_from(&cycle.after);
            last = Some(cycle);
        }
        (last.ok_or_else(no_cycle)?, cycles)
    } else {
        let (last, calls) = settled(&plant, programme)?;
        covered(&plant, &last)?;
        (last, calls)
    };
    Ok(Run { history, receivers, ..of_last(&plant, &last, count) })
}

/// What the last cycle tells.
pub(super) fn of_last(plant: &Plant<'_>, last: &Cycle, cycles: u32) -> Run {
    let chain = Chain::new(plant.graph, last);
    let product = &last.made[plant.graph.product];
    Run {
        wash: plant.wash.moles,
        streams: plant.streams(last, false),
        passes_with_recycle: chain.mean_passes(false),
        distinct_stills: chain.mean_passes(true),
        product_per_wash_alcohol: product.moles.ethanol_mol / plant.wash.moles.ethanol_mol,
        recycled_fraction: plant.recycled(last),
        residual: plant.change(last),
        cycles,
        work: result::work(plant, last),
        dilutions: dilutions(plant, last),
        balance: account::of_cycle(plant, last),
        warnings: result::warnings(plant, last),
        history: Vec::new(),
        receivers: Vec::new(),
    }
}

pub(super) fn dilutions(plant: &Plant<'_>, cycle: &Cycle) -> Vec<ceiling::Dilution> {
    let stills = plant.vessel.stills.iter().zip(&cycle.charges).zip(&cycle.water);
    stills
        .filter_map(|((still, charge), water)| ceiling::dilution(still, charge.moles, *water))
        .collect()
}

/// The settled cycle, and after how many it was found.
fn settled(plant: &Plant<'_>, programme: &Programme) -> Result<(Cycle, u32), Fault> {
    let search = Search {
        tolerance: programme.turn.tolerance,
        memory: MEMORY,
        most: MOST_CYCLES,
        not_negative: true,
    };
    let bare = plant.bare();
    let wash = plant.wash.moles;
    let one = |amount: f64| if amount > 0.0 { amount } else { 1.0 };
    let scale = [one(wash.ethanol_mol), one(wash.water_mol)].repeat(plant.graph.carried.len());
    let state = |carried: &[f64]| State {
        carried: carried
            .chunks_exact(2)
            .map(|pair| Amount {
                moles: Moles { ethanol_mol: pair[0], water_mol: pair[1] },
                congeners: Vec::new(),
            })
            .collect(),
        ..bare.empty()
    };
    let mut heaviest = 0.0_f64;
    let mut last = None;
    let start = vec![0.0; scale.len()];
    let found = anderson(search, &start, &scale, |carried, image| {
        let cycle = bare.turn(&state(carried), Turning::Settled)?;
        for (pair, after) in image.chunks_exact_mut(2).zip(&cycle.after.carried) {
            pair.copy_from_slice(&[after.moles.ethanol_mol, after.moles.water_mol]);
        }
        heaviest = heaviest.max(heaviest_of(Some(&cycle)) / one(wash.ethanol_mol));
        last = Some(cycle);
        Ok(())
    });
    let fault = match found {
        Ok(_) if heaviest_of(last.as_ref()) > HEAVY * one(wash.ethanol_mol) => {
            Fault::NotConverged { what: "settled circuit", steps: MOST_CYCLES, residual: f64::NAN }
        }
        Ok(found) => {
            let carried = last.map_or(found.point, |last| {
                let moles = last.before.carried.iter().map(|amount| amount.moles);
                moles.flat_map(|moles| [moles.ethanol_mol, moles.water_mol]).collect()
            });
            return with_congeners_settled(plant, &state(&carried), programme, found.calls);
        }
        Err(NoPoint::Map(fault)) => fault,
        Err(NoPoint::NotConverged { calls, residual }) => {
            Fault::NotConverged { what: "settled circuit", steps: calls, residual }
        }
    };
    Err(last.filter(|_| heaviest > HEAVY).map_or(fault, |last| too_little_leaves(&bare, &last)))
}

/// Alcohol that a cycle sends round, mol.
fn heaviest_of(cycle: Option<&Cycle>) -> f64 {
    let carried = cycle.into_iter().flat_map(|cycle| &cycle.after.carried);
    carried.map(|amount| amount.moles.ethanol_mol).sum()
}

/// The settled cycle with its congeners. Followed with them a pot takes other steps, and differs
/// within its own tolerance: a plain cycle or two more, where that shows.
fn with_congeners_settled(
    plant: &Plant<'_>,
    at: &State,
    programme: &Programme,
    calls: u32,
) -> Result<(Cycle, u32), Fault> {
    const MOST: u32 = 8;
    let mut cycle = with_congeners(plant, at)?;
    let mut more = 1;
    while plant.change(&cycle) > programme.turn.tolerance && more < MOST {
        cycle = with_congeners(plant, &cycle.after)?;
        more += 1;
    }
    Ok((cycle, calls + more))
}

/// The same cycle with its congeners: what the receivers hold of each is solved for.
fn with_congeners(plant: &Plant<'_>, at: &State) -> Result<Cycle, Fault> {
    let kinds = plant.congeners.len();
    let mut before = plant.empty();
    for (amount, settled) in before.carried.iter_mut().zip(&at.carried) {
        amount.moles = settled.moles;
    }
    let mut cycle = plant.turn(&before, Turning::Settled)?;
    let count = before.carried.len();
    for kind in 0..kinds {
        let own = Passenger { plant, boiled: &cycle.boiled, kind };
        let unit =
            |at: usize| -> Vec<f64> { (0..count).map(|i| f64::from(u8::from(i == at))).collect() };
        let back = |made: &[f64]| -> Vec<f64> {
            plant.graph.carried.iter().map(|stream| made[*stream]).collect()
        };
        let alone = back(&own.round(plant.wash.congeners[kind], &vec![0.0; count]).1);
        let columns: Vec<Vec<f64>> =
            (0..count).map(|at| back(&own.round(0.0, &unit(at)).1)).collect();
        let matrix = (0..count)
            .map(|row| (0..count).map(|at| unit(row)[at] - columns[at][row]).collect())
            .collect();
        let carried = solve(matrix, alone);
        let (charges, made) = own.round(plant.wash.congeners[kind], &carried);
        for (amount, carried) in cycle.before.carried.iter_mut().zip(&carried) {
            amount.congeners[kind] = *carried;
        }
        for (amount, stream) in cycle.after.carried.iter_mut().zip(&plant.graph.carried) {
            amount.congeners[kind] = made[*stream];
        }
        for (charge, amount) in cycle.charges.iter_mut().zip(charges) {
            charge.congeners[kind] = amount;
        }
        for (stream, amount) in cycle.made.iter_mut().zip(made) {
            stream.congeners[kind] = amount;
        }
    }
    Ok(cycle)
}

/// One congener on its way through stills whose shares are known.
struct Passenger<'a> {
    plant: &'a Plant<'a>,
    boiled: &'a [Option<Boiled>],
    kind: usize,
}

impl Passenger<'_> {
    /// What of it is in each charge and in each stream.
    fn round(&self, wash: f64, carried: &[f64]) -> (Vec<f64>, Vec<f64>) {
        let graph = self.plant.graph;
        let mut charges = Vec::with_capacity(self.boiled.len());
        let mut made = vec![wash];
        for (place, flows) in graph.flows.iter().enumerate() {
            let flow = |flow: &super::graph::Flow| {
                let amount =
                    graph.carried_at(flow).map_or_else(|| made[flow.stream], |at| carried[at]);
                flow.fraction * amount
            };
            let charge: f64 = flows.iter().map(flow).sum();
            charges.push(charge);
            let streams = self.plant.vessel.stills[place].cuts.len() + 1;
            match &self.boiled[place] {
                Some(boiled) => {
                    made.extend(boiled.shares.iter().map(|s| charge * s.congeners[self.kind]));
                }
                None => made.extend(std::iter::repeat_n(0.0, streams)),
            }
        }
        (charges, made)
    }
}

/// A settled charge covers the coils.
fn covered(plant: &Plant<'_>, cycle: &Cycle) -> Result<(), Fault> {
    for (place, still) in plant.vessel.stills.iter().enumerate() {
        let Some(boiled) = &cycle.boiled[place] else { continue };
        let volume_20_l = cycle.charges[place].moles.times(1.0 / boiled.charges).volume_20_l();
        if let Some(least) = still.hearth.least_charge_20_l
            && volume_20_l < least
        {
            return Err(Fault::Beyond {
                field: format!("still[{place}].charge").into(),
                value: volume_20_l,
                unit: "L at 20 °C",
                side: gauge::fault::Side::AtLeast,
                limit: least,
                sets: "the charge that covers the coils".into(),
            });
        }
    }
    Ok(())
}

/// The still from which most comes back, and what keeps its alcohol in.
fn too_little_leaves(plant: &Plant<'_>, cycle: &Cycle) -> Fault {
    let share = |place: usize| {
        let charged = cycle.charges[place].moles.ethanol_mol;
        let back = plant.graph.carried.iter().filter(|s| plant.graph.maker[**s] == Some(place));
        let back: f64 = back
            .map(|stream| plant.graph.used[*stream] * cycle.made[*stream].moles.ethanol_mol)
            .sum();
        if charged > 0.0 { back / charged } else { 0.0 }
    };
    let stills = 0..plant.vessel.stills.len();
    let worst = stills.max_by(|a, b| share(*a).total_cmp(&share(*b))).unwrap_or(0);
    let still = &plant.vessel.stills[worst];
    let product = &plant.graph.names[plant.graph.product];
    let mark = still.cuts.iter().enumerate().find_map(|(number, cut)| match cut.until {
        Until::StrengthPct(pct) if *product == format!("{}.{}", still.name, cut.name) => {
            Some((number, pct))
        }
        _ => None,
    });
    let low = match mark {
        Some((_, pct)) => format!("let {product} run lower than {pct} % vol"),
        None => format!("let more of its charge run to {product}"),
    };
    Fault::Unworkable {
        field: mark
            .map_or_else(
                || format!("still[{worst}]"),
                |(number, _)| format!("still[{worst}].cut[{number}].until_strength_pct"),
            )
            .into(),
        trouble: format!(
            "of 100 L of alcohol charged to {} {:.1} return: more than {HEAVY} washes go round",
            still.name,
            100.0 * share(worst)
        ),
        remedy: format!("{low}, or take a share of what returns out by a [[stock]]"),
    }
}

fn no_cycle() -> Fault {
    Fault::NotConverged { what: "settled circuit", steps: 0, residual: f64::NAN }
}

pub(super) fn check(
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
            if let (Until::TimeS(time), false) = (cut.until, programme.energy) {
                return Err(timeless(format!("{path}.cut[{number}].until_time_s"), time));
            }
        }
        let hearth = &still.hearth;
        if let (Some(usual), Some(least)) = (hearth.charge_20_l, hearth.least_charge_20_l)
            && usual < least
        {
            return Err(Fault::Beyond {
                field: format!("{path}.charge_20_l").into(),
                value: usual,
                unit: "L at 20 °C",
                side: gauge::fault::Side::AtLeast,
                limit: least,
                sets: "the charge that covers the coils".into(),
            });
        }
    }
    Ok(())
}

/// Without fire there is no time to cut by.
pub(super) fn timeless(field: String, time_s: f64) -> Fault {
    Fault::NotAllowed {
        field: field.into(),
        found: format!("{time_s} s"),
        allowed: vec![
            "energy = true, for without heat there is no time".to_owned(),
            "until_strength_pct".to_owned(),
            "until_volume_l".to_owned(),
            "until_charge_fraction".to_owned(),
        ],
    }
}
