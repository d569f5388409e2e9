//! The stills: a make's route with its foreshots and feints returning, in the steady state.
//!
//! What returns is as much, and as strong, as what went before it: a fixed point. All amounts are
//! for one mash; a still takes them in charges of its usual size, so a mash may come to one charge
//! and a half, and each charge runs its own hours with its own cuts.

use super::handling::Vents;
use super::{Frame, pure_l};
use crate::carry::Carry;
use crate::figure::{Figure, Shown};
use crate::spread::{Both, Chain, Outcome, Part, Tune};
use crate::stillhouse::cuts_of;
use gauge::{Fault, Grade, record};
use house::Equipment;
use house::make::Pass;
use numeric::fixed_point::{NoPoint, Search, anderson};
use process::still::{Charge, Conditions, Constants, Group, Moles, Programme, Run, Vessel, run};
use std::sync::OnceLock;

record! {
    /// What is not known of a head until it is fitted to the strength of the first running.
    pub(crate) struct Heads {
        /// Factor on the heat lost by every head.
        pub(crate) head_loss: f64 = Field::new("").label("heat lost by the heads, factor")
            .within(0.0, 5.0).or(1.0).fitted(0.25)
            .from(Grade::Design, "1 leaves the house's figures; each known to a quarter"),
    }
}

/// The constants of the still, of which those that move congeners alone stay: a batch carries
/// none, so their moves would cost a run each and move nothing.
#[derive(Debug, Clone)]
struct OfSpirit(Constants);

impl Tune for OfSpirit {
    fn uncertain(&self) -> Vec<(String, &'static str, f64)> {
        let mut all = self.0.uncertain();
        all.retain(|(_, key, _)| Group::ALL.iter().all(|group| group.factor_key() != *key));
        all
    }
    fn shift(&mut self, key: &'static str, by: f64) {
        self.0.shift(key, by);
    }
}

type Tuned = Both<OfSpirit, Both<Heads, Vents>>;

/// A pass that has run: how often for one mash, and one of its runs.
struct Passed<'h> {
    pass: &'h Pass,
    vessel: &'h house::Vessel,
    own: &'h house::vessel::Still,
    charge: Moles,
    charges: f64,
    run: Run,
}

pub(crate) fn link(chain: &mut Chain, frame: &Frame<'_>) -> Result<(), Fault> {
    let constants = Both(OfSpirit(Constants::default()), Both(Heads::default(), Vents::default()));
    let reads = ["wash_ethanol_mol", "wash_water_mol"];
    let first: OnceLock<Vec<f64>> = OnceLock::new();
    chain.link("still", &reads, &constants, |carry, tuned| {
        let wash = Moles { ethanol_mol: carry.wash_ethanol_mol, water_mol: carry.wash_water_mol };
        let (passed, returning) = settle(frame, wash, tuned, first.get())?;
        let _ = first.set(returning);
        let Both(_, Both(_, vents)) = tuned;
        Ok(Outcome {
            carry: handed(carry, frame, &passed, vents.vents),
            parts: passed.iter().map(|p| part(p, &frame.make.route.product)).collect(),
        })
    })
}

/// Where a part of a charge comes from, once names have been looked up.
enum From {
    Wash,
    /// A cut of an earlier pass.
    Earlier {
        pass: usize,
        cut: usize,
    },
    /// A cut that returns: its place among those that return.
    Returning(usize),
}

/// Runs the route until what returns no longer changes. Gives its passes and what returns.
fn settle<'h>(
    frame: &Frame<'h>,
    wash: Moles,
    tuned: &Tuned,
    start: Option<&Vec<f64>>,
) -> Result<(Vec<Passed<'h>>, Vec<f64>), Fault> {
    let passes = &frame.make.route.passes;
    let (charges, returning) = names(passes)?;
    let scale: Vec<f64> =
        returning.iter().flat_map(|_| [wash.ethanol_mol, wash.water_mol]).collect();
    let nothing = vec![0.0; scale.len()];
    let start = start.filter(|s| s.len() == scale.len()).unwrap_or(&nothing);
    let around = |z: &[f64]| -> Result<Vec<Passed<'h>>, Fault> {
        let mut passed: Vec<Passed<'h>> = Vec::with_capacity(passes.len());
        for (index, pass) in passes.iter().enumerate() {
            let mut charge = Moles::default();
            for (from, fraction) in &charges[index] {
                let stream = match from {
                    From::Wash => wash,
                    From::Earlier { pass, cut } => of_mash(&passed[*pass], *cut),
                    From::Returning(at) => {
                        Moles { ethanol_mol: z[2 * at], water_mol: z[2 * at + 1] }
                    }
                };
                charge = charge.plus(stream.times(*fraction));
            }
            passed.push(one_pass(frame, pass, charge, tuned)?);
        }
        Ok(passed)
    };
    if returning.is_empty() {
        return Ok((around(&[])?, Vec::new()));
    }
    let search = Search { tolerance: 1e-9, memory: 4, most: 80, not_negative: true };
    let found = anderson(search, start, &scale, |z, image| {
        let passed = around(z)?;
        for (at, (pass, cut)) in returning.iter().enumerate() {
            let stream = of_mash(&passed[*pass], *cut);
            image[2 * at] = stream.ethanol_mol;
            image[2 * at + 1] = stream.water_mol;
        }
        Ok(())
    });
    match found {
        Ok(found) => Ok((around(&found.point)?, found.point)),
        Err(NoPoint::Map(fault)) => Err(fault),
        Err(NoPoint::NotConverged { calls, residual }) => {
            Err(Fault::NotConverged { what: "steady state of the stills", steps: calls, residual })
        }
    }
}

/// Looks up every name of the route. Gives each pass's parts, and the cuts that return.
#[expect(clippy::type_complexity, reason = "two lists that are made and used in one place")]
fn names(passes: &[Pass]) -> Result<(Vec<Vec<(From, f64)>>, Vec<(usize, usize)>), Fault> {
    let find = |name: &str| -> Option<(usize, usize)> {
        passes.iter().enumerate().find_map(|(p, pass)| {
            let cut = name.strip_prefix(pass.name.as_str())?.strip_prefix('.')?;
            Some((p, pass.cuts.iter().position(|c| c.cut.name == cut)?))
        })
    };
    let mut returning: Vec<(usize, usize)> = Vec::new();
    let mut charges = Vec::with_capacity(passes.len());
    for (index, pass) in passes.iter().enumerate() {
        let mut parts = Vec::with_capacity(pass.charge.len());
        for part in &pass.charge {
            let from = match find(&part.from) {
                _ if part.from == "wash" => From::Wash,
                Some((pass, cut)) if pass < index => From::Earlier { pass, cut },
                Some(place) => {
                    let at = returning.iter().position(|r| *r == place).unwrap_or_else(|| {
                        returning.push(place);
                        returning.len() - 1
                    });
                    From::Returning(at)
                }
                None => {
                    let wanted = "a cut of this route";
                    return Err(Fault::MissingPart { field: part.from.clone().into(), wanted });
                }
            };
            parts.push((from, part.fraction));
        }
        charges.push(parts);
    }
    Ok((charges, returning))
}

/// What one cut of a pass comes to for one mash.
fn of_mash(passed: &Passed<'_>, cut: usize) -> Moles {
    passed.run.cuts[cut].distillate.times(passed.charges)
}

fn one_pass<'h>(
    frame: &Frame<'h>,
    pass: &'h Pass,
    charge: Moles,
    Both(OfSpirit(constants), Both(heads, _)): &Tuned,
) -> Result<Passed<'h>, Fault> {
    let still = pass.stills.first().and_then(|key| frame.house.vessel(key));
    let Some((vessel, (own, stage, conditions))) = still.and_then(|vessel| match &vessel.what {
        Equipment::Still(own, stage, conditions) => Some((vessel, (own, stage, conditions))),
        _ => None,
    }) else {
        return Err(Fault::MissingPart { field: "pass.still".into(), wanted: "a still" });
    };
    // A washback is charged whole, or in equal parts when the still is smaller. What gathers in a
    // receiver is charged by the usual charge, whatever one mash brings.
    let of_usual = charge.volume_20_l() / own.charge_l;
    let whole = pass.charge.iter().any(|part| part.from == "wash");
    let charges = if whole { (of_usual - 0.05).ceil().max(1.0) } else { of_usual };
    let mut filling = Charge::of_moles(charge.times(1.0 / charges));
    filling.filling.temperature_c = Some(own.charge_c);
    let vessel_of_stage =
        Vessel { head_loss_w_k: heads.head_loss * stage.head_loss_w_k, ..stage.clone() };
    let programme = Programme {
        conditions: Conditions {
            pressure_pa: frame.house.plant.site.pressure_pa,
            ..conditions.clone()
        },
        heat: Vec::new(),
        cuts: cuts_of(frame.make, pass, frame.kept),
    };
    let run = run(&filling, &vessel_of_stage, &programme, constants)?;
    Ok(Passed { pass, vessel, own, charge, charges, run })
}

/// The spirit, and what the stills cost of the litres promised.
fn handed(carry: &Carry, frame: &Frame<'_>, passed: &[Passed<'_>], vents: f64) -> Carry {
    let mut pot_ale_l = 0.0;
    let mut lees_l = 0.0;
    let mut spirit = Moles::default();
    for p in passed {
        let left_l = p.charges * p.run.residue.pure_alcohol_l();
        if p.pass.charge.iter().any(|part| part.from == "wash") {
            pot_ale_l += left_l;
        } else {
            lees_l += left_l;
        }
        for (place, cut) in p.pass.cuts.iter().enumerate() {
            if format!("{}.{}", p.pass.name, cut.cut.name) == frame.make.route.product {
                spirit = spirit.plus(of_mash(p, place));
            }
        }
    }
    let run_l = pure_l(spirit.ethanol_kg());
    Carry {
        spirit_pure_l: (1.0 - vents) * run_l,
        spirit_strength_pct: spirit.strength_pct(),
        lost_pot_ale_l: pot_ale_l,
        lost_lees_l: lees_l,
        lost_vents_l: vents * run_l,
        ..carry.clone()
    }
}

fn part(p: &Passed<'_>, product: &str) -> Part {
    let heart =
        p.pass.cuts.iter().position(|c| format!("{}.{}", p.pass.name, c.cut.name) == product);
    let heat_up_h = p.run.start.heat_up_s.unwrap_or(0.0) / 3600.0;
    let run_h = p.run.end_s() / 3600.0;
    let mut figures = vec![
        Shown("charge_20_l", "charge", "L at 20 °C", 0).of(p.charge.volume_20_l() / p.charges),
        Shown("charge_strength_pct", "strength of the charge", "% vol", 1)
            .of(p.charge.strength_pct()),
        Shown("charges_a_mash", "charges a mash", "", 2).of(p.charges),
        Shown("heat_up_h", "to the first running", "h", 1).of(heat_up_h),
        Shown("run_h", "runs", "h", 1).of(run_h),
        Shown("first_strength_pct", "first running", "% vol", 1)
            .of(p.run.start.distillate_strength_pct),
    ];
    match heart {
        Some(heart) => figures.extend(spirit_figures(p, heart)),
        None => figures.extend(whole_figures(p)),
    }
    figures.push(
        Shown("left_strength_pct", "left in the pot", "% vol", 2).of(p.run.residue.strength_pct()),
    );
    figures.push(Shown("heat_kwh", "heat of a charge", "kWh", 0).of(p.run.heat_kj / 3600.0));
    Part {
        title: format!("{}, {} run", p.vessel.name, p.pass.name),
        vessel: p.vessel.key.clone(),
        figures,
        hours: heat_up_h + run_h + p.own.turnaround_h,
        curves: p.run.curves.clone(),
        balance: p.run.balance.clone(),
        watched: &["distillate_strength_pct"],
    }
}

/// A run that is cut: foreshots, heart and feints of one charge.
fn spirit_figures(p: &Passed<'_>, heart: usize) -> Vec<Figure> {
    let cuts = &p.run.cuts;
    let sum = |cuts: &[process::still::CutRun]| {
        cuts.iter().fold(Moles::default(), |sum, cut| sum.plus(cut.distillate))
    };
    let (before, after) = (sum(&cuts[..heart]), sum(&cuts[heart + 1..]));
    let from_s = heart.checked_sub(1).map_or(0.0, |i| cuts[i].end_s);
    let from_pct = heart
        .checked_sub(1)
        .map_or(p.run.start.distillate_strength_pct, |i| cuts[i].distillate_strength_pct);
    let over = cuts[heart].distillate;
    vec![
        Shown("heart_from_min", "heart from", "min", 0).of(from_s / 60.0),
        Shown("heart_from_pct", "heart from", "% vol", 1).of(from_pct),
        Shown("heart_to_h", "heart to", "h", 1).of(cuts[heart].end_s / 3600.0),
        Shown("heart_to_pct", "heart to", "% vol", 1).of(cuts[heart].distillate_strength_pct),
        Shown("foreshots_20_l", "foreshots", "L at 20 °C", 0).of(before.volume_20_l()),
        Shown("heart_20_l", "heart", "L at 20 °C", 0).of(over.volume_20_l()),
        Shown("heart_strength_pct", "strength of the heart", "% vol", 1).of(over.strength_pct()),
        Shown("heart_pure_l", "pure alcohol in the heart", "L", 0).of(over.pure_alcohol_l()),
        Shown("feints_20_l", "feints", "L at 20 °C", 0).of(after.volume_20_l()),
        Shown("feints_strength_pct", "strength of the feints", "% vol", 1).of(after.strength_pct()),
        Shown("returned_pct", "foreshots and feints of the charge's alcohol", "%", 0)
            .of(100.0 * before.plus(after).ethanol_mol / (p.charge.ethanol_mol / p.charges)),
    ]
}

/// A run that is not cut.
fn whole_figures(p: &Passed<'_>) -> Vec<Figure> {
    let cuts = p.run.cuts.iter();
    let over = cuts.fold(Moles::default(), |sum, cut| sum.plus(cut.distillate));
    vec![
        Shown("over_20_l", "comes over", "L at 20 °C", 0).of(over.volume_20_l()),
        Shown("over_strength_pct", "its strength", "% vol", 1).of(over.strength_pct()),
        Shown("over_pure_l", "its pure alcohol", "L", 0).of(over.pure_alcohol_l()),
    ]
}
