//! One cycle of the circuit: every still once.

use gauge::{Fault, Record};
use numeric::runge_kutta::Tolerance;

use super::graph::Graph;
use super::{Charge, Programme, Stream, Vessel};
use crate::still::pot::{Course, Fire, Pot, distil};
use crate::still::{Congener, Constants, HeatStep, Mixture, Moles, heat, result};
use crate::{Balance, Matter};

/// Amounts that flow together.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Amount {
    pub(super) moles: Moles,
    pub(super) congeners: Vec<f64>,
}

impl Amount {
    fn nothing(congeners: usize) -> Self {
        Self { moles: Moles::default(), congeners: vec![0.0; congeners] }
    }
    fn add(&mut self, other: &Self, share: f64) {
        self.moles = self.moles.plus(other.moles.times(share));
        for (sum, amount) in self.congeners.iter_mut().zip(&other.congeners) {
            *sum += share * amount;
        }
    }
}

/// What one cycle gives.
#[derive(Debug, Clone)]
pub(super) struct Cycle {
    /// What carried over into it.
    pub(super) carried_in: Vec<f64>,
    /// What carries over out of it.
    pub(super) carried_out: Vec<f64>,
    /// The charge of each still.
    pub(super) charges: Vec<Amount>,
    /// Every stream by number.
    pub(super) made: Vec<Amount>,
    /// Energy of all stills.
    energy: Balance,
}

/// The circuit ready to turn.
pub(super) struct Plant<'a> {
    charge: &'a Charge,
    vessel: &'a Vessel,
    graph: &'a Graph,
    mixture: Mixture,
    pressure_pa: f64,
    phenol_volatility: f64,
    congeners: Vec<&'static Congener>,
    /// The fire of each still; empty where energy is left out.
    fires: Vec<[HeatStep; 1]>,
}

/// A fixed point to 1e-8 wants pots followed more closely than that.
const TOLERANCE: Tolerance = Tolerance { relative: 1e-10, absolute: 1e-11 };

impl<'a> Plant<'a> {
    pub(super) fn new(
        charge: &'a Charge,
        vessel: &'a Vessel,
        programme: &Programme,
        constants: &Constants,
        graph: &'a Graph,
    ) -> Result<Self, Fault> {
        let mut fires = Vec::new();
        for (place, still) in vessel.stills.iter().enumerate() {
            if programme.energy {
                let Some(heat_w) = still.hearth.heat_w else {
                    return Err(missing_heat(place));
                };
                fires.push([HeatStep { from_s: 0.0, heat_w, place: None }]);
            }
        }
        Ok(Self {
            charge,
            vessel,
            graph,
            mixture: Mixture::new(constants),
            pressure_pa: programme.turn.pressure_pa,
            phenol_volatility: constants.phenol_volatility,
            congeners: charge.congeners.iter().map(|(c, _)| *c).collect(),
            fires,
        })
    }

    /// Empty receivers.
    pub(super) fn empty(&self) -> Vec<f64> {
        vec![0.0; self.graph.carried.len() * (2 + self.congeners.len())]
    }

    /// The amounts of the wash, by which a change of a carried amount is measured.
    pub(super) fn scale(&self) -> Vec<f64> {
        let wash = &self.charge.wash;
        let amounts = self.charge.congeners.iter().map(|(_, amount)| *amount);
        let one: Vec<f64> = [wash.ethanol_mol, wash.water_mol]
            .into_iter()
            .chain(amounts)
            .map(|amount| if amount > 0.0 { amount } else { 1.0 })
            .collect();
        one.repeat(self.graph.carried.len())
    }

    /// Runs every still once.
    pub(super) fn turn(&self, carried_in: &[f64]) -> Result<Cycle, Fault> {
        let kinds = self.congeners.len();
        let before = self.unpack(carried_in);
        let wash = Amount {
            moles: Moles {
                ethanol_mol: self.charge.wash.ethanol_mol,
                water_mol: self.charge.wash.water_mol,
            },
            congeners: self.charge.congeners.iter().map(|(_, amount)| *amount).collect(),
        };
        let mut made = vec![wash];
        let mut charges = Vec::with_capacity(self.vessel.stills.len());
        let mut energy = Balance::new();
        for place in 0..self.vessel.stills.len() {
            let mut charge = Amount::nothing(kinds);
            for flow in &self.graph.flows[place] {
                if flow.carried {
                    let carried = self.graph.carried.iter().position(|s| *s == flow.stream);
                    if let Some(at) = carried {
                        charge.add(&before[at], flow.fraction);
                    }
                } else {
                    charge.add(&made[flow.stream], flow.fraction);
                }
            }
            self.boil(place, &charge, &mut made, &mut energy)?;
            charges.push(charge);
        }
        let mut carried_out = Vec::with_capacity(carried_in.len());
        for stream in &self.graph.carried {
            let amount = &made[*stream];
            carried_out.extend([amount.moles.ethanol_mol, amount.moles.water_mol]);
            carried_out.extend(&amount.congeners);
        }
        Ok(Cycle { carried_in: carried_in.to_vec(), carried_out, charges, made, energy })
    }

    fn unpack(&self, carried: &[f64]) -> Vec<Amount> {
        carried
            .chunks(2 + self.congeners.len())
            .map(|part| Amount {
                moles: Moles { ethanol_mol: part[0], water_mol: part[1] },
                congeners: part[2..].to_vec(),
            })
            .collect()
    }

    /// Runs one still on its charge; an empty one gives nothing.
    fn boil(
        &self,
        place: usize,
        charge: &Amount,
        made: &mut Vec<Amount>,
        energy: &mut Balance,
    ) -> Result<(), Fault> {
        let still = &self.vessel.stills[place];
        let path = format!("still[{place}]");
        if charge.moles.total_mol() <= 0.0 {
            let streams = still.cuts.len() + 1;
            made.extend(std::iter::repeat_n(Amount::nothing(self.congeners.len()), streams));
            return Ok(());
        }
        crate::still::not_too_rich(charge.moles).map_err(|fault| match fault {
            Fault::Beyond { value, unit, side, limit, sets, .. } => Fault::Beyond {
                field: format!("{path}.charge").into(),
                value,
                unit,
                side,
                limit,
                sets,
            },
            other => other,
        })?;
        let pot = Pot {
            mixture: self.mixture,
            pressure_pa: self.pressure_pa,
            charge: charge.moles,
            congeners: &self.congeners,
            phenol_volatility: self.phenol_volatility,
            tolerance: TOLERANCE,
            fire: self.fires.get(place).map(|steps| Fire {
                steps,
                head_loss_w_k: still.hearth.head_loss_w_k,
                ambient_k: still.hearth.ambient_c + heat::ZERO_C_K,
                copper_j_k: 0.0,
            }),
        };
        let course = distil(&pot, &still.cuts).map_err(|fault| in_still(fault, &path))?;
        if pot.fire.is_some() {
            result::energy_lines(energy, &pot, &course);
        }
        gather(charge, &course, made);
        Ok(())
    }

    /// Largest change of a carried amount over its amount in the wash.
    pub(super) fn change(&self, cycle: &Cycle) -> f64 {
        let pairs = cycle.carried_in.iter().zip(&cycle.carried_out);
        let changes = pairs.zip(self.scale()).map(|((a, b), scale)| (b - a).abs() / scale);
        changes.fold(0.0, f64::max)
    }

    /// The streams by name, charges first in each still.
    pub(super) fn streams(&self, cycle: &Cycle) -> Vec<Stream> {
        let stream = |name: String, amount: &Amount| {
            let wash = self.charge.congeners.iter();
            let congeners = wash.zip(&amount.congeners).map(|((congener, all), amount)| {
                (*congener, if *all > 0.0 { amount / all } else { 0.0 })
            });
            Stream { name, moles: amount.moles, congeners: congeners.collect() }
        };
        let mut out = Vec::with_capacity(cycle.made.len() + cycle.charges.len());
        for (place, still) in self.vessel.stills.iter().enumerate() {
            out.push(stream(format!("{}.charge", still.name), &cycle.charges[place]));
            for (number, name) in self.graph.names.iter().enumerate() {
                if self.graph.maker[number] == Some(place) {
                    out.push(stream(name.clone(), &cycle.made[number]));
                }
            }
        }
        out
    }

    /// For each still the share of its charge's alcohol that carried over.
    pub(super) fn recycled(&self, cycle: &Cycle) -> Vec<(String, f64)> {
        let before = self.unpack(&cycle.carried_in);
        let mut out = Vec::with_capacity(self.vessel.stills.len());
        for (place, still) in self.vessel.stills.iter().enumerate() {
            let mut returned = 0.0;
            for flow in self.graph.flows[place].iter().filter(|flow| flow.carried) {
                if let Some(at) = self.graph.carried.iter().position(|s| *s == flow.stream) {
                    returned += flow.fraction * before[at].moles.ethanol_mol;
                }
            }
            let charged = cycle.charges[place].moles.ethanol_mol;
            out.push((still.name.clone(), if charged > 0.0 { returned / charged } else { 0.0 }));
        }
        out
    }

    /// Wash and what carried over in; product, residues, other cuts and what carries over out.
    pub(super) fn balance(&self, cycle: &Cycle) -> Balance {
        let mut balance = cycle.energy.clone();
        let before = self.unpack(&cycle.carried_in);
        let mut note = |matter: Matter, of: &dyn Fn(&Amount) -> f64| {
            balance.input(matter, "wash", of(&cycle.made[0]));
            for (stream, amount) in cycle.made.iter().enumerate() {
                // What no still takes has left the circuit.
                let left = (1.0 - self.graph.used[stream]) * of(amount);
                balance.output(matter, self.graph.goes(stream), left);
            }
            for flow in self.graph.flows.iter().flatten().filter(|flow| flow.carried) {
                if let Some(at) = self.graph.carried.iter().position(|s| *s == flow.stream) {
                    balance.input(matter, "carried in", flow.fraction * of(&before[at]));
                }
                let out = flow.fraction * of(&cycle.made[flow.stream]);
                balance.output(matter, "carried out", out);
            }
        };
        note(Matter::Water, &|a| a.moles.water_kg());
        note(Matter::PureAlcohol, &|a| a.moles.pure_alcohol_l());
        for (place, congener) in self.congeners.iter().enumerate() {
            note(Matter::Other(congener.key), &|a| a.congeners[place]);
        }
        balance
    }
}

fn gather(charge: &Amount, course: &Course, made: &mut Vec<Amount>) {
    let scaled = |shares: &[f64]| -> Vec<f64> {
        charge.congeners.iter().zip(shares).map(|(amount, share)| amount * share).collect()
    };
    for cut in &course.cuts {
        made.push(Amount { moles: cut.over, congeners: scaled(&cut.congeners) });
    }
    made.push(Amount { moles: course.residue, congeners: scaled(&course.left) });
}

fn missing_heat(place: usize) -> Fault {
    let field = super::Hearth::FIELDS.iter().find(|f| f.key == "heat_w");
    Fault::Missing {
        field: format!("still[{place}].heat_w").into(),
        unit: "W",
        low: field.map_or(f64::MIN, |f| f.low),
        high: field.map_or(f64::MAX, |f| f.high),
    }
}

/// A fault of one pot in the terms of the circuit's case.
fn in_still(fault: Fault, path: &str) -> Fault {
    match fault {
        Fault::Beyond { field, value, unit, side, limit, sets } if field == "still.heat_w" => {
            Fault::Beyond { field: format!("{path}.heat_w").into(), value, unit, side, limit, sets }
        }
        other => other.within(path),
    }
}
