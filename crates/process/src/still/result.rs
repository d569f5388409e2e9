//! What a run gives: the cuts, what is left, the balances, the curves.

use gauge::fault::Side;
use gauge::{Fault, Node, Warning};

use super::amount::{Moles, strength_pct};
use super::cut::Cut;
use super::equilibrium::WATER_G_MOL;
use super::heat::{Liquids, ZERO_C_K, of_mixing};
use super::pot::{Course, Moment, Passage, Pot};
use super::{Charge, Congener, Constants, Programme, Vessel};
use crate::{Balance, Curves, Matter};

/// The still when the first spirit runs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Start {
    /// Boiling point of the charge, °C.
    pub boiling_c: f64,
    /// Temperature at which vapour leaves the head, °C.
    pub head_c: f64,
    /// Strength at the safe, % vol at 20 °C.
    pub distillate_strength_pct: f64,
    /// How fast it runs, mol/s.
    pub distillate_rate_mol_s: f64,
    /// Condensate over the vapour that enters the head.
    pub reflux_ratio: f64,
    /// Seconds from charge to first running, head warmed and condenser filled; given when the
    /// charge's temperature is.
    pub heat_up_s: Option<f64>,
}

/// One cut that has run.
#[derive(Debug, Clone, PartialEq)]
pub struct CutRun {
    /// Its name.
    pub name: String,
    /// Its end, seconds from the first running.
    pub end_s: f64,
    /// Mole fraction of ethanol in the pot at its end.
    pub pot_mole_fraction: f64,
    /// Boiling point of the pot at its end, °C.
    pub pot_c: f64,
    /// Strength at the safe at its end, % vol at 20 °C.
    pub distillate_strength_pct: f64,
    /// All that came over in it.
    pub distillate: Moles,
    /// Each congener and the share of the charge's amount that came over in it.
    pub congeners: Vec<(&'static Congener, f64)>,
}

/// A whole run.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// The still at the first running.
    pub start: Start,
    /// The cuts, in order.
    pub cuts: Vec<CutRun>,
    /// Pot ale or spent lees.
    pub residue: Moles,
    /// Each congener and the share of the charge's amount left behind.
    pub residue_congeners: Vec<(&'static Congener, f64)>,
    /// Heat put into the pot from the first running on, kJ.
    pub heat_kj: f64,
    /// Heat lost by the head, kJ.
    pub head_loss_kj: f64,
    /// What stands in condenser and tail at the end, and of each congener its share there.
    pub held: Moles,
    /// Congeners there, as shares of the charge's amount.
    pub held_congeners: Vec<(&'static Congener, f64)>,
    /// What was lost as vapour.
    pub vapour_lost: Moles,
    /// Open steam let in, kg.
    pub steam_kg: f64,
    /// Heat the condenser takes to bring the distillate to its temperature, kJ.
    pub condenser_kj: f64,
    /// Cooling water for it, m³.
    pub cooling_water_m3: f64,
    /// The course of the run.
    pub curves: Curves,
    /// Water, pure alcohol, energy and each congener.
    pub balance: Balance,
    /// What to know.
    pub warnings: Vec<Warning>,
}

pub(super) fn celsius(kelvin: f64) -> f64 {
    kelvin - ZERO_C_K
}

/// Puts a course into the terms of the stage.
pub(super) fn gather(
    pot: &Pot<'_>,
    course: &Course,
    charge: &Charge,
    vessel: &Vessel,
    programme: &Programme,
    constants: &Constants,
) -> Result<Run, Fault> {
    let heat_up_s = heat_up(pot, course, charge, (vessel, constants))?;
    let kinds = |shares: &[f64]| -> Vec<(&'static Congener, f64)> {
        pot.congeners.iter().copied().zip(shares.iter().copied()).collect()
    };
    let cuts: Vec<CutRun> = course
        .cuts
        .iter()
        .zip(&programme.cuts)
        .map(|(passage, cut)| CutRun::of(&cut.name, passage, pot.congeners))
        .collect();
    let out = lost(pot, course);
    let condenser_kj = 1e-3 * condensed_j(pot, course, vessel);
    let first = &course.start;
    Ok(Run {
        start: Start {
            boiling_c: celsius(course.boiling.pot.bubble.boiling_k),
            head_c: celsius(first.leaving.top_k),
            distillate_strength_pct: strength_pct(first.safe_y),
            distillate_rate_mol_s: first.safe_rate * pot.charge.total_mol(),
            reflux_ratio: first.leaving.reflux,
            heat_up_s,
        },
        residue: course.residue,
        residue_congeners: kinds(&course.left),
        heat_kj: 1e-3 * course.heat_in_j,
        head_loss_kj: 1e-3 * course.heat_lost_j,
        held: course.held,
        held_congeners: kinds(&course.held_congeners),
        vapour_lost: out,
        steam_kg: 1e-3 * WATER_G_MOL * course.steam_mol,
        condenser_kj,
        cooling_water_m3: 1e-3 * condenser_kj / water_takes_kj_kg(vessel),
        curves: curves(pot, &course.rows, vessel),
        balance: balance(pot, course, charge, &programme.cuts),
        warnings: warnings(pot, course, vessel, programme),
        cuts,
    })
}

/// What left the head and was never condensed.
fn lost(pot: &Pot<'_>, course: &Course) -> Moles {
    let steam = Moles { ethanol_mol: 0.0, water_mol: course.steam_mol };
    let left = pot.charge.plus(steam).plus(course.residue.times(-1.0));
    left.times(pot.fittings.vapour_loss)
}

/// Heat that a kilogram of cooling water takes up, kJ: 4.18 kJ/kg/K.
fn water_takes_kj_kg(vessel: &Vessel) -> f64 {
    4.18 * (vessel.water_off_c - vessel.water_on_c)
}

/// Heat of the liquid that leaves the condenser, J/mol.
fn condensate(pot: &Pot<'_>, y: f64, vessel: &Vessel) -> f64 {
    let at_k = ZERO_C_K + vessel.distillate_c;
    Liquids::at(at_k).mixed(y) + if pot.fittings.mixing { of_mixing(y, at_k) } else { 0.0 }
}

/// Heat the condenser takes over a whole run, J. Each cut mixes as one liquid.
fn condensed_j(pot: &Pot<'_>, course: &Course, vessel: &Vessel) -> f64 {
    let taken = (1.0 - pot.fittings.vapour_loss) * course.heat_over_j;
    let liquids = course.cuts.iter().map(|cut| cut.over).chain([course.held]);
    let left: f64 = liquids
        .filter(|liquid| liquid.total_mol() > 0.0)
        .map(|liquid| liquid.total_mol() * condensate(pot, liquid.fraction(), vessel))
        .sum();
    taken - left
}

/// Time to bring charge, copper and head to the boil with the first fire, and to fill condenser
/// and tail; the pot's own loss belongs in the heat given.
fn heat_up(
    pot: &Pot<'_>,
    course: &Course,
    charge: &Charge,
    (vessel, constants): (&Vessel, &Constants),
) -> Result<Option<f64>, Fault> {
    let (Some(at_c), Some(fire)) = (charge.filling.temperature_c, &pot.fire) else {
        return Ok(None);
    };
    let boiling_k = course.boiling.pot.bubble.boiling_k;
    let from_k = at_c + ZERO_C_K;
    if from_k > boiling_k {
        return Err(Fault::Beyond {
            field: "charge.temperature_c".into(),
            value: at_c,
            unit: "°C",
            side: Side::AtMost,
            limit: celsius(boiling_k),
            sets: "the boiling point of the charge".into(),
        });
    }
    let x = pot.charge.fraction();
    let mixed = |t_k| if pot.fittings.mixing { of_mixing(x, t_k) } else { 0.0 };
    let rise = Liquids::at(boiling_k).mixed(x) - Liquids::at(from_k).mixed(x) + mixed(boiling_k)
        - mixed(from_k);
    let head_j_k = 1e3 * constants.copper_kj_kg_k * vessel.head_copper_kg;
    let joules = pot.charge.total_mol() * rise
        + fire.copper_j_k * (boiling_k - from_k)
        + head_j_k * (course.boiling.leaving.top_k - fire.ambient_k).max(0.0);
    Ok(Some(joules / fire.steps[0].heat_w + course.filled_s))
}

fn warnings(
    pot: &Pot<'_>,
    course: &Course,
    vessel: &Vessel,
    programme: &Programme,
) -> Vec<Warning> {
    let mut out: Vec<Warning> = course
        .empty
        .iter()
        .map(|place| Warning {
            code: "empty cut",
            says: format!(
                "{} is empty: the distillate was below its mark when it began",
                programme.cuts[*place].name
            ),
        })
        .collect();
    if vessel.residence_l > 0.0 && pot.fittings.hold_20_l <= 0.0 {
        out.push(Warning {
            code: "no lag",
            says: format!(
                "{} L in condenser and tail lag too little to be followed and are left out",
                vessel.residence_l
            ),
        });
    }
    let left = course.residue.volume_20_l();
    if let Some(least) = vessel.least_charge_20_l
        && left < least
    {
        out.push(Warning {
            code: "coils bare",
            says: format!(
                "{left:.0} L stay in the pot at the end; {least:.0} L cover the coils. Charge \
                 {:.0} L more, or end the run sooner",
                (least - left).max(1.0)
            ),
        });
    }
    out
}

/// Notes the energy of one course: charge and fire in, vapour and residue out, the head's loss.
pub(crate) fn energy_lines(balance: &mut Balance, pot: &Pot<'_>, course: &Course) {
    let copper = pot.fire.as_ref().map_or(0.0, |f| f.copper_j_k);
    let held = |liquid: Moles, moment: &Moment| {
        let copper = copper * (moment.pot.bubble.boiling_k - ZERO_C_K);
        1e-3 * (liquid.total_mol() * moment.pot.heat + copper)
    };
    let end = course.cuts.last().map_or(&course.start, |cut| &cut.end);
    let lost = pot.fittings.vapour_loss;
    balance
        .input(Matter::Energy, "boiling charge", held(pot.charge, &course.boiling))
        .input(Matter::Energy, "heat", 1e-3 * course.heat_in_j)
        .output(Matter::Energy, "vapour", 1e-3 * (1.0 - lost) * course.heat_over_j)
        .lost(Matter::Energy, "head", 1e-3 * course.heat_lost_j)
        .output(Matter::Energy, "residue", held(course.residue, end));
    if course.steam_mol > 0.0 {
        let steam_kj = 1e-3 * course.steam_mol * pot.fittings.steam_j_mol;
        balance.input(Matter::Energy, "steam", steam_kj);
    }
    if lost > 0.0 {
        balance.lost(Matter::Energy, "vapour lost", 1e-3 * lost * course.heat_over_j);
    }
}

fn balance(pot: &Pot<'_>, course: &Course, charge: &Charge, cuts: &[Cut]) -> Balance {
    let mut balance = Balance::new();
    balance
        .input(Matter::Water, "charge", pot.charge.water_kg())
        .output(Matter::Water, "residue", course.residue.water_kg())
        .input(Matter::PureAlcohol, "charge", pot.charge.pure_alcohol_l())
        .output(Matter::PureAlcohol, "residue", course.residue.pure_alcohol_l());
    energy_lines(&mut balance, pot, course);
    for (passage, cut) in course.cuts.iter().zip(cuts) {
        balance.output(Matter::Water, cut.name.clone(), passage.over.water_kg()).output(
            Matter::PureAlcohol,
            cut.name.clone(),
            passage.over.pure_alcohol_l(),
        );
    }
    let steam = Moles { ethanol_mol: 0.0, water_mol: course.steam_mol };
    if course.steam_mol > 0.0 {
        balance.input(Matter::Water, "steam", steam.water_kg());
    }
    let hold = pot.fittings.hold_20_l > 0.0;
    if hold {
        balance.output(Matter::Water, HELD, course.held.water_kg()).output(
            Matter::PureAlcohol,
            HELD,
            course.held.pure_alcohol_l(),
        );
    }
    let vapour = lost(pot, course);
    let share = pot.fittings.vapour_loss;
    if share > 0.0 {
        balance.lost(Matter::Water, LOST, vapour.water_kg()).lost(
            Matter::PureAlcohol,
            LOST,
            vapour.pure_alcohol_l(),
        );
    }
    for (place, (congener, amount)) in charge.congeners.iter().enumerate() {
        let matter = Matter::Other(congener.key);
        balance.input(matter, "charge", *amount);
        for (passage, cut) in course.cuts.iter().zip(cuts) {
            balance.output(matter, cut.name.clone(), amount * passage.congeners[place]);
        }
        balance.output(matter, "residue", amount * course.left[place]);
        let formed = course.formed[place];
        if formed > 0.0 {
            balance.input(matter, "formed", amount * formed);
        }
        if hold {
            balance.output(matter, HELD, amount * course.held_congeners[place]);
        }
        if share > 0.0 {
            let gone = 1.0 + formed - course.left[place];
            balance.lost(matter, LOST, amount * share * gone);
        }
    }
    balance
}

/// What stands in condenser and tail at the end, and what is lost as vapour, in a balance.
const HELD: &str = "condenser and tail";
const LOST: &str = "vapour lost";

fn curves(pot: &Pot<'_>, rows: &[Moment], vessel: &Vessel) -> Curves {
    let charge_mol = pot.charge.total_mol();
    let mut curves = Curves::new([
        ("time_s", "s"),
        ("pot_mole_fraction", ""),
        ("pot_c", "°C"),
        ("head_c", "°C"),
        ("distillate_strength_pct", "% vol"),
        ("distillate_rate_mol_s", "mol/s"),
        ("reflux_ratio", ""),
        ("cumulative_pure_alcohol_l", "L"),
        ("cumulative_volume_20_l", "L at 20 °C"),
        ("flow_l_min", "L/min at 20 °C"),
        ("condenser_kw", "kW"),
        ("cooling_water_kg_s", "kg/s"),
    ]);
    let kept = 1.0 - pot.fittings.vapour_loss;
    for row in rows {
        let over = row.over.times(charge_mol);
        let rate = row.safe_rate * charge_mol;
        let a_mole = Moles { ethanol_mol: row.safe_y, water_mol: 1.0 - row.safe_y };
        let leaving = &row.leaving;
        let duty_j = leaving.heat - condensate(pot, leaving.y, vessel);
        let condenser_kw = 1e-3 * kept * leaving.rate * charge_mol * duty_j;
        curves.push(&[
            row.time_s,
            row.pot.x,
            celsius(row.pot.bubble.boiling_k),
            celsius(leaving.top_k),
            strength_pct(row.safe_y),
            rate,
            leaving.reflux,
            over.pure_alcohol_l(),
            over.volume_20_l(),
            60.0 * rate * a_mole.volume_20_l(),
            condenser_kw,
            condenser_kw / water_takes_kj_kg(vessel),
        ]);
    }
    curves
}

fn shares(congeners: &[(&'static Congener, f64)]) -> Node {
    Node::part(congeners.iter().map(|(c, share)| (c.key, Node::from(*share))))
}

impl Run {
    /// As the contract names it.
    pub fn node(&self) -> Node {
        let start = &self.start;
        let mut begin = vec![
            ("boiling_c", Node::from(start.boiling_c)),
            ("head_c", start.head_c.into()),
            ("distillate_strength_pct", start.distillate_strength_pct.into()),
            ("distillate_rate_mol_s", start.distillate_rate_mol_s.into()),
            ("reflux_ratio", start.reflux_ratio.into()),
        ];
        if let Some(heat_up_s) = start.heat_up_s {
            begin.push(("heat_up_s", heat_up_s.into()));
        }
        let residue = Node::part([
            ("ethanol_mol", Node::from(self.residue.ethanol_mol)),
            ("water_mol", self.residue.water_mol.into()),
            ("volume_20_l", self.residue.volume_20_l().into()),
            ("strength_pct", self.residue.strength_pct().into()),
            ("pure_alcohol_l", self.residue.pure_alcohol_l().into()),
            ("congeners", shares(&self.residue_congeners)),
        ]);
        let mut out = vec![
            ("start", Node::part(begin)),
            ("cuts", Node::List(self.cuts.iter().map(CutRun::node).collect())),
            ("residue", residue),
            ("heat_kj", self.heat_kj.into()),
            ("head_loss_kj", self.head_loss_kj.into()),
            ("condenser_kj", self.condenser_kj.into()),
            ("cooling_water_m3", self.cooling_water_m3.into()),
        ];
        let amounts = |moles: Moles, congeners: &[(&'static Congener, f64)]| {
            Node::part([
                ("ethanol_mol", Node::from(moles.ethanol_mol)),
                ("water_mol", moles.water_mol.into()),
                ("pure_alcohol_l", moles.pure_alcohol_l().into()),
                ("congeners", shares(congeners)),
            ])
        };
        if self.held.total_mol() > 0.0 {
            out.push(("held", amounts(self.held, &self.held_congeners)));
        }
        if self.vapour_lost.total_mol() > 0.0 {
            out.push(("vapour_lost", amounts(self.vapour_lost, &[])));
        }
        if self.steam_kg > 0.0 {
            out.push(("steam_kg", self.steam_kg.into()));
        }
        Node::part(out)
    }
    /// The cut called `name`.
    pub fn cut(&self, name: &str) -> Option<&CutRun> {
        self.cuts.iter().find(|cut| cut.name == name)
    }
    /// Seconds from the first running to the end of the last cut.
    pub fn end_s(&self) -> f64 {
        self.cuts.last().map_or(0.0, |cut| cut.end_s)
    }
}

impl CutRun {
    /// The cut called `name` as it has run.
    pub(super) fn of(name: &str, passage: &Passage, congeners: &[&'static Congener]) -> Self {
        Self {
            name: name.to_owned(),
            end_s: passage.end.time_s,
            pot_mole_fraction: passage.end.pot.x,
            pot_c: celsius(passage.end.pot.bubble.boiling_k),
            distillate_strength_pct: strength_pct(passage.end.safe_y),
            distillate: passage.over,
            congeners: congeners.iter().copied().zip(passage.congeners.iter().copied()).collect(),
        }
    }
    /// The share of the charge's amount of the congener spelt `key` that came over in it.
    pub fn congener(&self, key: &str) -> Option<f64> {
        self.congeners.iter().find(|(c, _)| c.key == key).map(|(_, share)| *share)
    }
    pub(super) fn node(&self) -> Node {
        Node::part([
            ("name", Node::from(self.name.as_str())),
            ("end_s", self.end_s.into()),
            ("pot_mole_fraction", self.pot_mole_fraction.into()),
            ("pot_c", self.pot_c.into()),
            ("distillate_strength_pct", self.distillate_strength_pct.into()),
            ("ethanol_mol", self.distillate.ethanol_mol.into()),
            ("water_mol", self.distillate.water_mol.into()),
            ("volume_20_l", self.distillate.volume_20_l().into()),
            ("strength_pct", self.distillate.strength_pct().into()),
            ("pure_alcohol_l", self.distillate.pure_alcohol_l().into()),
            ("congeners", shares(&self.congeners)),
        ])
    }
}
