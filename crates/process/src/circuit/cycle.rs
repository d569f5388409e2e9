//! One cycle of the circuit: every still once, each on what flows to it.

use std::cell::RefCell;

use gauge::{Fault, Record};
use numeric::runge_kutta::Tolerance;

use super::graph::Graph;
use super::{Charge, Place, Programme, Stream, Vessel, ceiling};
use crate::Balance;
use crate::still::fittings::Fittings;
use crate::still::heat::{self, Liquids};
use crate::still::pot::{Course, Fire, Pot, distil};
use crate::still::{Congener, Constants, HeatStep, Mixture, Moles, result};

/// Amounts that flow together.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Amount {
    pub(super) moles: Moles,
    pub(super) congeners: Vec<f64>,
}

impl Amount {
    pub(super) fn nothing(congeners: usize) -> Self {
        Self { moles: Moles::default(), congeners: vec![0.0; congeners] }
    }
    pub(super) fn add(&mut self, other: &Self, share: f64) {
        self.moles = self.moles.plus(other.moles.times(share));
        for (sum, amount) in self.congeners.iter_mut().zip(&other.congeners) {
            *sum += share * amount;
        }
    }
    pub(super) fn times(&self, share: f64) -> Self {
        let mut out = Self::nothing(self.congeners.len());
        out.add(self, share);
        out
    }
}

/// What a still makes of a charge: of each stream (cuts in order, then the residue) the shares of
/// the charge's ethanol, water and congeners.
#[derive(Debug, Clone)]
pub(super) struct Shares {
    pub(super) ethanol: f64,
    pub(super) water: f64,
    pub(super) congeners: Vec<f64>,
}

/// A still's work in one cycle.
#[derive(Debug, Clone)]
pub(super) struct Boiled {
    /// In how many charges.
    pub(super) charges: f64,
    /// One charge as it boiled.
    charge: Moles,
    /// What came of it.
    pub(super) shares: Vec<Shares>,
    /// Seconds to the first running and from there to the end of one charge, where there is a
    /// fire.
    pub(super) heat_up_s: Option<f64>,
    pub(super) run_s: Option<f64>,
    /// Energy of all charges.
    energy: Balance,
}

/// What stands in the receivers between two cycles.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct State {
    /// What carried over, by the graph's list of carried streams.
    pub(super) carried: Vec<Amount>,
    /// What waits before each still until its coils are covered, by the still's flows.
    pub(super) held: Vec<Vec<Amount>>,
}

/// How a cycle is turned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Turning {
    /// With its wash, all of it at once, whatever covers the coils.
    Settled,
    /// With its wash; a charge that does not cover the coils waits, unless the usual one is known.
    Washed,
    /// Without wash, one charge of each still from what stands in the receivers.
    Alone,
}

/// What one cycle gives.
#[derive(Debug, Clone)]
pub(super) struct Cycle {
    /// What carried over into it.
    pub(super) before: State,
    /// What carries over out of it.
    pub(super) after: State,
    /// The charge of each still as it boiled.
    pub(super) charges: Vec<Amount>,
    /// Every stream by number.
    pub(super) made: Vec<Amount>,
    /// Each still's work; none stood still.
    pub(super) boiled: Vec<Option<Boiled>>,
    /// Water added to each still's charge.
    pub(super) water: Vec<Moles>,
}

/// The circuit ready to turn.
pub(super) struct Plant<'a> {
    pub(super) vessel: &'a Vessel,
    pub(super) graph: &'a Graph,
    pub(super) wash: Amount,
    pub(super) congeners: Vec<&'static Congener>,
    mixture: Mixture,
    pressure_pa: f64,
    constants: &'a Constants,
    tolerance: Tolerance,
    /// The fire of each still; empty where energy is left out.
    fires: Vec<Vec<HeatStep>>,
    /// The last work of each still.
    last: RefCell<Vec<Option<Boiled>>>,
}

/// A charge this close to the last one is not boiled again: pots are followed to 1e-10.
const ALIKE: f64 = 1e-12;

impl<'a> Plant<'a> {
    pub(super) fn new(
        charge: &Charge,
        vessel: &'a Vessel,
        programme: &Programme,
        constants: &'a Constants,
        graph: &'a Graph,
    ) -> Result<Self, Fault> {
        let mut fires = Vec::new();
        for (place, still) in vessel.stills.iter().enumerate() {
            if programme.energy {
                fires.push(fire(still, place)?);
            }
        }
        // A fixed point wants pots followed more closely than it is met.
        let relative = (0.01 * programme.turn.tolerance).clamp(1e-10, 1e-8);
        let wash = Moles { ethanol_mol: charge.wash.ethanol_mol, water_mol: charge.wash.water_mol };
        Ok(Self {
            vessel,
            graph,
            wash: Amount {
                moles: wash,
                congeners: charge.congeners.iter().map(|(_, amount)| *amount).collect(),
            },
            congeners: charge.congeners.iter().map(|(c, _)| *c).collect(),
            mixture: Mixture::new(constants),
            pressure_pa: programme.turn.pressure_pa,
            constants,
            tolerance: Tolerance { relative, absolute: 0.1 * relative },
            fires,
            last: RefCell::new(vec![None; vessel.stills.len()]),
        })
    }

    /// The same without congeners: they ride along and change nothing.
    pub(super) fn bare(&self) -> Self {
        Self {
            wash: Amount { moles: self.wash.moles, congeners: Vec::new() },
            congeners: Vec::new(),
            fires: self.fires.clone(),
            mixture: self.mixture,
            last: RefCell::new(vec![None; self.vessel.stills.len()]),
            ..*self
        }
    }

    /// Empty receivers.
    pub(super) fn empty(&self) -> State {
        let nothing = || Amount::nothing(self.congeners.len());
        let held = self.graph.flows.iter();
        State {
            carried: self.graph.carried.iter().map(|_| nothing()).collect(),
            held: held.map(|flows| flows.iter().map(|_| nothing()).collect()).collect(),
        }
    }

    /// Runs every still once.
    pub(super) fn turn(&self, before: &State, turning: Turning) -> Result<Cycle, Fault> {
        let kinds = self.congeners.len();
        let stills = self.vessel.stills.len();
        let mut cycle = Cycle {
            before: before.clone(),
            after: before.clone(),
            charges: Vec::with_capacity(stills),
            made: vec![if turning == Turning::Alone {
                Amount::nothing(kinds)
            } else {
                self.wash.clone()
            }],
            boiled: Vec::with_capacity(stills),
            water: Vec::with_capacity(stills),
        };
        for place in 0..stills {
            let mut parts = before.held[place].clone();
            for (part, flow) in parts.iter_mut().zip(&self.graph.flows[place]) {
                match self.graph.carried_at(flow) {
                    Some(at) => part.add(&before.carried[at], flow.fraction),
                    None => part.add(&cycle.made[flow.stream], flow.fraction),
                }
            }
            let taken = self.taken(place, &parts, turning);
            let mut charge = Amount::nothing(kinds);
            for (part, waits) in parts.iter().zip(&mut cycle.after.held[place]) {
                charge.add(part, taken);
                *waits = part.times(1.0 - taken);
            }
            let still = &self.vessel.stills[place];
            let water = ceiling::water(still, charge.moles);
            charge.moles = charge.moles.plus(water);
            let boiled = if charge.moles.total_mol() > 0.0 {
                Some(self.boil(place, charge.moles, turning)?)
            } else {
                None
            };
            gather(&charge, boiled.as_ref(), still, &mut cycle.made);
            cycle.charges.push(charge);
            cycle.boiled.push(boiled);
            cycle.water.push(water);
        }
        let carried = self.graph.carried.iter().map(|stream| cycle.made[*stream].clone());
        cycle.after.carried = carried.collect();
        Ok(cycle)
    }

    /// Which share of what has come to a still is charged now.
    fn taken(&self, place: usize, parts: &[Amount], turning: Turning) -> f64 {
        let hearth = &self.vessel.stills[place].hearth;
        // With a usual charge, less than one gathers until it is one: it counts as that share.
        let gathers = turning == Turning::Washed && hearth.charge_20_l.is_some();
        if turning == Turning::Settled || gathers {
            return 1.0;
        }
        let all = parts.iter().fold(Moles::default(), |sum, part| sum.plus(part.moles));
        let volume_20_l = all.volume_20_l();
        if hearth.least_charge_20_l.is_some_and(|least| volume_20_l < least) {
            return 0.0;
        }
        match hearth.charge_20_l {
            Some(usual) if turning == Turning::Alone && volume_20_l > usual => usual / volume_20_l,
            _ => 1.0,
        }
    }

    /// In how many charges a still takes so much. Wash comes whole, in equal parts where the still
    /// is smaller; what gathers in receivers is charged by the usual charge.
    fn charges(&self, place: usize, volume_20_l: f64, turning: Turning) -> f64 {
        let Some(usual) = self.vessel.stills[place].hearth.charge_20_l else { return 1.0 };
        let of_usual = volume_20_l / usual;
        if turning == Turning::Alone {
            1.0
        } else if self.graph.flows[place].iter().any(|flow| flow.stream == 0) {
            (of_usual - 0.05).ceil().max(1.0)
        } else {
            of_usual
        }
    }

    /// Runs one still on its charges.
    fn boil(&self, place: usize, all: Moles, turning: Turning) -> Result<Boiled, Fault> {
        let charges = self.charges(place, all.volume_20_l(), turning);
        let charge = all.times(1.0 / charges);
        let alike = |a: f64, b: f64| (a - b).abs() <= ALIKE * b.abs();
        if let Some(last) = &self.last.borrow()[place]
            && alike(charge.ethanol_mol, last.charge.ethanol_mol)
            && alike(charge.water_mol, last.charge.water_mol)
            && alike(charges, last.charges)
        {
            return Ok(Boiled { charges, charge, ..last.clone() });
        }
        let boiled = self.boil_anew(place, charge, charges)?;
        self.last.borrow_mut()[place] = Some(boiled.clone());
        Ok(boiled)
    }

    fn boil_anew(&self, place: usize, charge: Moles, charges: f64) -> Result<Boiled, Fault> {
        let still = &self.vessel.stills[place];
        let path = format!("still[{place}]");
        crate::still::not_too_rich(charge).map_err(|fault| match fault {
            Fault::Beyond { value, unit, side, limit, sets, .. } => {
                let field = format!("{path}.charge").into();
                Fault::Beyond { field, value, unit, side, limit, sets }
            }
            Fault::Unworkable { trouble, remedy, .. } => {
                Fault::Unworkable { field: format!("{path}.charge").into(), trouble, remedy }
            }
            other => other,
        })?;
        let copper_kg = still.hearth.copper_kg;
        let pot = Pot {
            mixture: self.mixture,
            pressure_pa: self.pressure_pa,
            charge,
            congeners: &self.congeners,
            volatility: self.constants.volatility(),
            tolerance: self.tolerance,
            fittings: Fittings::default(),
            fire: self.fires.get(place).map(|steps| Fire {
                steps,
                head_loss_w_k: still.hearth.head_loss_w_k,
                ambient_k: still.hearth.ambient_c + heat::ZERO_C_K,
                copper_j_k: 1e3 * self.constants.copper_kj_kg_k * copper_kg,
            }),
        };
        let course = distil(&pot, &still.cuts).map_err(|fault| in_still(fault, &path))?;
        let mut energy = Balance::new();
        if pot.fire.is_some() {
            let mut one = Balance::new();
            result::energy_lines(&mut one, &pot, &course);
            energy.lines = one.lines;
            for line in &mut energy.lines {
                line.name = format!("{}: {}", still.name, line.name).into();
                line.amount *= charges;
            }
        }
        let end = course.cuts.last().map(|cut| cut.end.time_s);
        Ok(Boiled {
            charges,
            charge,
            shares: shares(charge, &course),
            heat_up_s: heat_up_s(still, &pot, &course),
            run_s: pot.fire.as_ref().and(end),
            energy,
        })
    }

    /// Largest change of a carried amount over its amount in the wash.
    pub(super) fn change(&self, cycle: &Cycle) -> f64 {
        let over = |amount: f64, wash: f64| if wash > 0.0 { amount / wash } else { amount };
        let mut most = 0.0_f64;
        for (before, after) in cycle.before.carried.iter().zip(&cycle.after.carried) {
            let (a, b, wash) = (before.moles, after.moles, self.wash.moles);
            most = most
                .max(over((b.ethanol_mol - a.ethanol_mol).abs(), wash.ethanol_mol))
                .max(over((b.water_mol - a.water_mol).abs(), wash.water_mol));
            for (kind, wash) in self.wash.congeners.iter().enumerate() {
                let change = (after.congeners[kind] - before.congeners[kind]).abs();
                most = most.max(over(change, *wash));
            }
        }
        most
    }

    /// The streams by name, charges first in each still; congeners by the unit in the wash, or as
    /// they are where `raw`.
    pub(super) fn streams(&self, cycle: &Cycle, raw: bool) -> Vec<Stream> {
        let mut out = Vec::with_capacity(cycle.made.len() + cycle.charges.len());
        for (place, still) in self.vessel.stills.iter().enumerate() {
            let name = format!("{}.charge", still.name);
            out.push(self.stream(name, &cycle.charges[place], raw));
            for (number, name) in self.graph.names.iter().enumerate() {
                if self.graph.maker[number] == Some(place) {
                    out.push(self.stream(name.clone(), &cycle.made[number], raw));
                }
            }
        }
        out
    }

    pub(super) fn stream(&self, name: String, amount: &Amount, raw: bool) -> Stream {
        let wash = self.congeners.iter().zip(&self.wash.congeners);
        let congeners = wash.zip(&amount.congeners).map(|((congener, all), amount)| {
            let unit = if raw { 1.0 } else { *all };
            (*congener, if unit > 0.0 { amount / unit } else { 0.0 })
        });
        Stream { name, moles: amount.moles, congeners: congeners.collect() }
    }

    /// For each still the share of its charge's alcohol that carried over.
    pub(super) fn recycled(&self, cycle: &Cycle) -> Vec<(String, f64)> {
        let mut out = Vec::with_capacity(self.vessel.stills.len());
        for (place, still) in self.vessel.stills.iter().enumerate() {
            let mut returned = 0.0;
            for flow in &self.graph.flows[place] {
                if let Some(at) = self.graph.carried_at(flow) {
                    returned += flow.fraction * cycle.before.carried[at].moles.ethanol_mol;
                }
            }
            let charged = cycle.charges[place].moles.ethanol_mol;
            out.push((still.name.clone(), if charged > 0.0 { returned / charged } else { 0.0 }));
        }
        out
    }

    /// Energy of every still in a cycle.
    pub(super) fn energy(cycle: &Cycle) -> Balance {
        let mut balance = Balance::new();
        for boiled in cycle.boiled.iter().flatten() {
            balance.lines.extend(boiled.energy.lines.iter().cloned());
        }
        balance
    }
}

fn shares(charge: Moles, course: &Course) -> Vec<Shares> {
    let of = |part: f64, all: f64| if all > 0.0 { part / all } else { 0.0 };
    let one = |moles: Moles, congeners: &[f64]| Shares {
        ethanol: of(moles.ethanol_mol, charge.ethanol_mol),
        water: of(moles.water_mol, charge.water_mol),
        congeners: congeners.to_vec(),
    };
    let cuts = course.cuts.iter().map(|cut| one(cut.over, &cut.congeners));
    cuts.chain(std::iter::once(one(course.residue, &course.left))).collect()
}

/// What came of a charge, stream by stream; of none, nothing.
fn gather(charge: &Amount, boiled: Option<&Boiled>, still: &Place, made: &mut Vec<Amount>) {
    let Some(boiled) = boiled else {
        let nothing = Amount::nothing(charge.congeners.len());
        made.extend(std::iter::repeat_n(nothing, still.cuts.len() + 1));
        return;
    };
    for shares in &boiled.shares {
        let amounts = charge.congeners.iter().zip(&shares.congeners);
        made.push(Amount {
            moles: Moles {
                ethanol_mol: charge.moles.ethanol_mol * shares.ethanol,
                water_mol: charge.moles.water_mol * shares.water,
            },
            congeners: amounts.map(|(amount, share)| amount * share).collect(),
        });
    }
}

/// Seconds until the first running, where the temperature of the charge is known: charge and
/// copper to the boil with the first fire.
fn heat_up_s(still: &Place, pot: &Pot<'_>, course: &Course) -> Option<f64> {
    let (at_c, fire) = (still.hearth.temperature_c?, pot.fire.as_ref()?);
    let boiling_k = course.start.pot.bubble.boiling_k;
    let from_k = (at_c + heat::ZERO_C_K).min(boiling_k);
    let x = pot.charge.fraction();
    let rise = Liquids::at(boiling_k).mixed(x) - Liquids::at(from_k).mixed(x);
    let joules = pot.charge.total_mol() * rise + fire.copper_j_k * (boiling_k - from_k);
    Some(joules / fire.steps[0].heat_w)
}

/// The fire of a still over its run.
fn fire(still: &Place, place: usize) -> Result<Vec<HeatStep>, Fault> {
    let programme = crate::still::Programme {
        conditions: crate::still::Conditions {
            heat_w: still.hearth.heat_w,
            ..crate::still::Conditions::default()
        },
        heat: still.heat.clone(),
        cuts: Vec::new(),
    };
    programme.steps().map_err(|fault| match fault {
        Fault::Missing { unit, .. } => {
            let field = super::Hearth::FIELDS.iter().find(|f| f.key == "heat_w");
            Fault::Missing {
                field: format!("still[{place}].heat_w").into(),
                unit,
                low: field.map_or(f64::MIN, |f| f.low),
                high: field.map_or(f64::MAX, |f| f.high),
            }
        }
        other => other.within(&format!("still[{place}]")),
    })
}

/// A fault of one pot in the terms of the circuit's case.
fn in_still(fault: Fault, path: &str) -> Fault {
    match fault {
        Fault::Beyond { field, value, unit, side, limit, sets } if field == "still.heat_w" => {
            Fault::Beyond { field: format!("{path}.heat_w").into(), value, unit, side, limit, sets }
        }
        Fault::Unworkable { field, trouble, remedy } if field.starts_with("still.") => {
            let key = field.trim_start_matches("still.");
            Fault::Unworkable { field: format!("{path}.{key}").into(), trouble, remedy }
        }
        other => other.within(path),
    }
}
