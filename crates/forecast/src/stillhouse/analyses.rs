//! Levels and volatilities fitted to what a laboratory found.
//!
//! For each group two logarithms are sought, of how much the wash carries and of how readily it
//! boils out, by least squares with what was believed before. The second is not straight, so the
//! run of every analysed charge is followed at five volatilities and read between; the first is.
//! A congener differs from its group by something of its own, the same in every analysis of it:
//! more analyses of one congener do not make its group surer without end.

use super::charged::{charged, pass_of};
use super::congeners::{GROUPS, place};
use super::fitted::{Fitted, GroupFit, Known};
use super::heart::Cuts;
use super::route::{pot, programme, volatile, with_head};
use super::steady::{self, Asked};
use gauge::Fault;
use house::{House, KeptCuts, Ran};
use numeric::least_squares::{Belief, Found, Unknown, fit};
use process::still::{CONGENERS, Charge, Cut, Group, Moles, Run, Spirit, Until, run};
use std::convert::Infallible;

/// Standard uncertainty of one analysis, as a share.
const LABORATORY: f64 = 0.10;
/// By how much a congener differs from what its group does, as a share: level and volatility.
const OWN: f64 = 0.25;
/// The same for a sum of phenols, which is the group.
const OWN_SUM: f64 = 0.05;
/// Volatilities at which the run is followed, in standard uncertainties of the logarithm.
const RUNGS: [f64; 5] = [-2.0, -1.0, 0.0, 1.0, 2.0];
/// An analysis that takes away less than this share of what was open has fitted nothing.
const LEARNED: f64 = 0.1;

/// One congener in one cut, over all analyses of it.
#[derive(Debug, Clone)]
struct Row {
    key: String,
    of: String,
    group: usize,
    /// Logarithm of found over modelled at each rung, summed over the analyses.
    off: [f64; 5],
    analyses: usize,
    own: f64,
}

/// Gives what the analyses of these runs teach, beside the heads that `before` knows.
///
/// # Units
/// Factors on the model's own levels and volatilities.
/// # Range
/// Any runs; one the model cannot follow teaches nothing.
/// # Error
/// As each group says: laboratory 10 %, a congener against its group 25 %, from memory.
/// # Source
/// Least squares with priors as [`numeric::least_squares`]; priors are the fields' own.
pub fn analyses(house: &House, runs: &[Ran], kept: Option<&KeptCuts>, before: &Fitted) -> Fitted {
    let start = Fitted { heads: before.heads.clone(), ..Fitted::default() };
    let mut rows: Vec<Row> = Vec::new();
    for ran in runs.iter().filter(|ran| !ran.analyses.is_empty()) {
        if let Ok(rungs) = followed(house, ran, kept, &start) {
            note(&mut rows, ran, &rungs);
        }
    }
    let groups = std::array::from_fn(|at| {
        let own: Vec<&Row> = rows.iter().filter(|row| row.group == at).collect();
        one_group(start.groups[at], &own)
    });
    Fitted { groups, ..start }
}

/// The run of a charge at one set of volatilities, and the grams it was charged with.
struct Rung {
    run: Run,
    grams: Vec<f64>,
}

fn followed(
    house: &House,
    ran: &Ran,
    kept: Option<&KeptCuts>,
    start: &Fitted,
) -> Result<Vec<Rung>, Fault> {
    let make = super::route::make(house, &ran.make)?;
    let pass = pass_of(make, ran)?;
    let kept = kept.filter(|kept| kept.make == ran.make);
    let still = Some(ran.still.as_str());
    let own = pot(house, &ran.still)?;
    let loss = start.head(&ran.still).map_or(own.vessel.head_loss_w_k, |h| h.head_loss_w_k);
    let vessel = with_head(own.vessel, loss);
    let cuts = cuts_as_noted(
        ran,
        super::route::cuts_of(make, &make.route.passes[pass], kept.map(Cuts::from)),
    );
    let programme = programme(house, own, cuts);
    let one = |rung: &f64| -> Result<Rung, Fault> {
        let factors = start.groups.map(|g| (rung * g.volatility_sd).exp());
        let constants = &volatile(factors);
        let (fitted, carried) = (start, true);
        let asked = Asked { house, make, pass, still, kept, fitted, constants, carried };
        let usual = steady::charge(&asked, charged(house, &asked, ran)?)?;
        let mut charge = Charge::of_moles(usual.charge);
        charge.congeners = CONGENERS.iter().map(|c| (c, 1.0)).collect();
        let run = run(&charge, &vessel, &programme, constants)?;
        Ok(Rung { run, grams: usual.grams })
    };
    RUNGS.iter().map(one).collect()
}

/// The cuts by the litres that were collected, which no clock and no hydrometer moves; the last
/// as the house has it.
fn cuts_as_noted(ran: &Ran, mut cuts: Vec<Cut>) -> Vec<Cut> {
    let last = cuts.len().saturating_sub(1);
    let mut over = Moles::default();
    for cut in &mut cuts[..last] {
        let Some(noted) = ran.cut(&cut.name) else {
            break;
        };
        let (volume_20_l, strength_pct) = (noted.volume_20_l, noted.strength_pct);
        over = over.plus(Moles::of_spirit(Spirit { volume_20_l, strength_pct }));
        cut.until = Until::VolumeL(over.volume_20_l());
    }
    cuts
}

/// Lays what was found beside what the rungs say.
fn note(rows: &mut Vec<Row>, ran: &Ran, rungs: &[Rung]) {
    for analysis in &ran.analyses {
        for (key, found) in &analysis.found_mg_l {
            let phenols = key == "phenols";
            let at = CONGENERS.iter().position(|c| c.key == key);
            let group = match at {
                Some(at) => place(CONGENERS[at].group),
                None if phenols => place(Group::Smoke),
                None => continue,
            };
            let mut off = [0.0; 5];
            for (off, rung) in off.iter_mut().zip(rungs) {
                *off = (found / modelled(rung, &analysis.of, at)).ln();
            }
            if off.iter().any(|o| !o.is_finite()) {
                continue;
            }
            let own = if phenols { OWN_SUM } else { OWN };
            let row = rows.iter_mut().find(|row| row.key == *key && row.of == analysis.of);
            if let Some(row) = row {
                row.off.iter_mut().zip(off).for_each(|(sum, off)| *sum += off);
                row.analyses += 1;
            } else {
                let (key, of) = (key.clone(), analysis.of.clone());
                rows.push(Row { key, of, group, off, analyses: 1, own });
            }
        }
    }
}

/// mg/L of one congener, or of all phenols, in a cut or in what was left.
fn modelled(rung: &Rung, of: &str, at: Option<usize>) -> f64 {
    let cut = rung.run.cut(of);
    let (litres, shares) = match cut {
        Some(cut) => (cut.distillate.volume_20_l(), &cut.congeners),
        None if of == "residue" => (rung.run.residue.volume_20_l(), &rung.run.residue_congeners),
        None => return f64::NAN,
    };
    let grams = |at: usize| rung.grams[at] * shares[at].1;
    let sum = match at {
        Some(at) => grams(at),
        None => {
            (0..CONGENERS.len()).filter(|at| CONGENERS[*at].group == Group::Smoke).map(grams).sum()
        }
    };
    1e3 * sum / litres
}

/// Fits level and volatility of one group.
fn one_group(prior: GroupFit, rows: &[&Row]) -> GroupFit {
    if rows.is_empty() {
        return prior;
    }
    let reach = |sd: f64| -3.0 * sd..=3.0 * sd;
    let believed = |sd: f64| Unknown::believed(Belief { mean: 0.0, sd }).within(reach(sd));
    let unknowns = [believed(prior.level_sd), believed(prior.volatility_sd)];
    let found = fit(&unknowns, |t| {
        let residual = |row: &&Row| {
            let n = row.analyses as f64;
            let sd = row.own.hypot(LABORATORY / n.sqrt());
            (t[0] - between(&row.off, t[1] / prior.volatility_sd) / n) / sd
        };
        Ok::<_, Infallible>(rows.iter().map(residual).collect())
    });
    let Ok(found) = found else {
        return prior;
    };
    let [level, volatility]: [Found; 2] = [found.found[0], found.found[1]];
    let analyses = rows.iter().map(|row| row.analyses).sum();
    if level.learned.max(volatility.learned) < LEARNED {
        return prior;
    }
    GroupFit {
        known: Known::Fitted,
        level: level.value.exp(),
        level_sd: level.sd,
        volatility: volatility.value.exp(),
        volatility_sd: volatility.sd,
        correlation: found.covariance[0][1] / (level.sd * volatility.sd),
        analyses,
        ..prior
    }
}

/// Found over modelled between the rungs, by the parabola through the nearest three.
fn between(off: &[f64; 5], at: f64) -> f64 {
    let place = at - RUNGS[0];
    let middle = (place.round() as usize).clamp(1, RUNGS.len() - 2);
    let u = place - middle as f64;
    let [a, b, c] = [middle - 1, middle, middle + 1].map(|rung| off[rung]);
    b + 0.5 * u * (c - a) + 0.5 * u * u * (a - 2.0 * b + c)
}

impl GroupFit {
    /// What is known of it, in words.
    pub fn says(&self) -> String {
        match self.known {
            Known::Shape => "a shape against the run: no analysis has fitted it".to_owned(),
            Known::Fitted => format!(
                "fitted to {} {}: {:.2} of the usual level, {:.2} of the model's volatility",
                self.analyses,
                if self.analyses == 1 { "figure" } else { "figures" },
                self.level,
                self.volatility
            ),
        }
    }
}

/// Names of the groups as they are spelt in figures: `smoke`, `fruit`, `oil`.
pub fn word(group: Group) -> &'static str {
    const WORDS: [&str; 5] = ["solvent", "fruit", "oil", "late", "smoke"];
    WORDS[place(GROUPS[place(group)])]
}

#[cfg(test)]
mod tests;
