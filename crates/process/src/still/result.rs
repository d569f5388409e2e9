//! What a run gives: the cuts, what is left, the balances, the curves.

use gauge::fault::Side;
use gauge::{Fault, Node, Warning};

use super::amount::{Moles, strength_pct};
use super::cut::Cut;
use super::heat::{Liquids, ZERO_C_K};
use super::pot::{Course, Moment, Passage, Pot};
use super::{Charge, Congener, Programme, Vessel};
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
    /// Seconds from charge to first running; given when the charge's temperature is.
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
    /// Heat the condenser takes to bring the distillate to 20 °C, kJ.
    pub condenser_kj: f64,
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
) -> Result<Run, Fault> {
    let heat_up_s = heat_up(pot, course, charge)?;
    let kinds = |shares: &[f64]| -> Vec<(&'static Congener, f64)> {
        pot.congeners.iter().copied().zip(shares.iter().copied()).collect()
    };
    let cuts: Vec<CutRun> = course
        .cuts
        .iter()
        .zip(&programme.cuts)
        .map(|(passage, cut)| CutRun::of(&cut.name, passage, pot.congeners))
        .collect();
    let over = cuts.iter().fold(Moles::default(), |sum, cut| sum.plus(cut.distillate));
    let cool = Liquids::at(ZERO_C_K + 20.0);
    let condensed_j = over.ethanol_mol * cool.ethanol + over.water_mol * cool.water;
    let first = &course.start;
    Ok(Run {
        start: Start {
            boiling_c: celsius(first.pot.bubble.boiling_k),
            head_c: celsius(first.leaving.top_k),
            distillate_strength_pct: strength_pct(first.leaving.y),
            distillate_rate_mol_s: first.leaving.rate * pot.charge.total_mol(),
            reflux_ratio: first.leaving.reflux,
            heat_up_s,
        },
        residue: course.residue,
        residue_congeners: kinds(&course.left),
        heat_kj: 1e-3 * course.heat_in_j,
        head_loss_kj: 1e-3 * course.heat_lost_j,
        condenser_kj: 1e-3 * (course.heat_over_j - condensed_j),
        curves: curves(&course.rows, pot.charge.total_mol()),
        balance: balance(pot, course, charge, &programme.cuts),
        warnings: warnings(course, vessel, programme),
        cuts,
    })
}

/// Time to bring charge and copper to the boil with the first fire; the pot's own loss belongs in
/// the heat given.
fn heat_up(pot: &Pot<'_>, course: &Course, charge: &Charge) -> Result<Option<f64>, Fault> {
    let (Some(at_c), Some(fire)) = (charge.filling.temperature_c, &pot.fire) else {
        return Ok(None);
    };
    let boiling_k = course.start.pot.bubble.boiling_k;
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
    let rise = Liquids::at(boiling_k).mixed(x) - Liquids::at(from_k).mixed(x);
    let joules = pot.charge.total_mol() * rise + fire.copper_j_k * (boiling_k - from_k);
    Ok(Some(joules / fire.steps[0].heat_w))
}

fn warnings(course: &Course, vessel: &Vessel, programme: &Programme) -> Vec<Warning> {
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
    let left = course.residue.volume_20_l();
    if let Some(least) = vessel.least_charge_20_l
        && left < least
    {
        out.push(Warning {
            code: "coils bare",
            says: format!("{left:.0} L stay in the pot at the end; {least:.0} L cover the coils"),
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
    balance
        .input(Matter::Energy, "boiling charge", held(pot.charge, &course.start))
        .input(Matter::Energy, "heat", 1e-3 * course.heat_in_j)
        .output(Matter::Energy, "vapour", 1e-3 * course.heat_over_j)
        .lost(Matter::Energy, "head", 1e-3 * course.heat_lost_j)
        .output(Matter::Energy, "residue", held(course.residue, end));
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
    for (place, (congener, amount)) in charge.congeners.iter().enumerate() {
        let matter = Matter::Other(congener.key);
        balance.input(matter, "charge", *amount);
        for (passage, cut) in course.cuts.iter().zip(cuts) {
            balance.output(matter, cut.name.clone(), amount * passage.congeners[place]);
        }
        balance.output(matter, "residue", amount * course.left[place]);
    }
    balance
}

fn curves(rows: &[Moment], charge_mol: f64) -> Curves {
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
    ]);
    for row in rows {
        let over = row.over.times(charge_mol);
        curves.push(&[
            row.time_s,
            row.pot.x,
            celsius(row.pot.bubble.boiling_k),
            celsius(row.leaving.top_k),
            strength_pct(row.leaving.y),
            row.leaving.rate * charge_mol,
            row.leaving.reflux,
            over.pure_alcohol_l(),
            over.volume_20_l(),
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
        Node::part([
            ("start", Node::part(begin)),
            ("cuts", Node::List(self.cuts.iter().map(CutRun::node).collect())),
            ("residue", residue),
            ("heat_kj", self.heat_kj.into()),
            ("head_loss_kj", self.head_loss_kj.into()),
            ("condenser_kj", self.condenser_kj.into()),
        ])
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
            distillate_strength_pct: strength_pct(passage.end.leaving.y),
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
