//! What the heart between two cuts would be, read off a run that has been followed once.

use super::congeners::{GROUPS, place};
use super::fitted::Known;
use super::moved::{VOLATILITY, banded, spread};
use super::run::Expected;
use super::steady::by_group;
use crate::figure::{Figure, Shown};
use gauge::Fault;
use house::KeptCuts;
use process::still::{Cut, Group, Moles, Reading, Spirit, Trace, Until};

/// Where a heart begins and ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cuts {
    /// Foreshots until so many minutes after the first running.
    pub from_min: f64,
    /// Heart until the distillate has fallen to this, % vol.
    pub to_pct: f64,
}

impl From<&KeptCuts> for Cuts {
    fn from(kept: &KeptCuts) -> Self {
        Self { from_min: kept.heart_from_min, to_pct: kept.heart_to_pct }
    }
}

/// Where one group of congeners goes.
#[derive(Debug, Clone, PartialEq)]
pub struct Shares {
    /// The group.
    pub group: Group,
    /// Whether it is known by figures, or is a shape only.
    pub known: Known,
    /// Share of the charge's that comes before the heart.
    pub before: f64,
    /// In the heart.
    pub within: f64,
    /// After it.
    pub after: f64,
    /// Left in the pot.
    pub left: f64,
}

/// Where one congener goes, and what the heart holds of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Passenger {
    /// Its spelling.
    pub key: &'static str,
    /// Its group.
    pub group: Group,
    /// Grams in the charge.
    pub charged_g: f64,
    /// Share before the heart.
    pub before: f64,
    /// In it.
    pub within: f64,
    /// After it.
    pub after: f64,
    /// Left in the pot.
    pub left: f64,
    /// In the heart, mg/L.
    pub heart_mg_l: f64,
}

/// A heart.
#[derive(Debug, Clone, PartialEq)]
pub struct Heart {
    /// The cuts asked for.
    pub cuts: Cuts,
    /// Its figures, by key: `heart_20_l`, `heart_strength_pct`, `heart_pure_l`, `heart_from_pct`,
    /// `heart_to_h`, `smoke_mg_l`, `fruit_mg_l`, `oil_g_hl`, `solvent_g_hl`, `late_mg_l`,
    /// `returned_pct`.
    pub figures: Vec<Figure>,
    /// Groups, in the order in which they come over.
    pub groups: Vec<Shares>,
    /// Every congener.
    pub congeners: Vec<Passenger>,
    /// The heart.
    pub heart: Spirit,
    /// What comes before it.
    pub foreshots: Spirit,
    /// What comes after it, to the end of the run.
    pub feints: Spirit,
    /// What is left in the pot.
    pub residue: Spirit,
}

impl Heart {
    /// The figure under `key`.
    pub fn figure(&self, key: &str) -> Option<&Figure> {
        self.figures.iter().find(|figure| figure.key == key)
    }
}

/// Figures of a heart, and the group each hangs on by its level.
const FIGURES: [(Shown, Option<Group>); 11] = [
    (Shown("heart_20_l", "heart", "L at 20 °C", 0), None),
    (Shown("heart_strength_pct", "strength of the heart", "% vol", 1), None),
    (Shown("heart_pure_l", "pure alcohol in the heart", "L", 0), None),
    (Shown("heart_from_pct", "heart from", "% vol", 1), None),
    (Shown("heart_to_h", "heart to", "h", 1), None),
    (Shown("smoke_mg_l", "phenols", "mg/L", 1), Some(Group::Smoke)),
    (Shown("fruit_mg_l", "fruit", "mg/L", 1), Some(Group::Fruit)),
    (Shown("oil_g_hl", "oils", "g/hL pure alcohol", 0), Some(Group::Oil)),
    (Shown("solvent_g_hl", "first over", "g/hL pure alcohol", 0), Some(Group::Solvent)),
    (Shown("late_mg_l", "late over", "mg/L", 0), Some(Group::Late)),
    (Shown("returned_pct", "foreshots and feints of the charge's alcohol", "%", 0), None),
];

/// The run cut at the marks, then on to its end.
fn cut(trace: &Trace, cuts: Cuts) -> Result<Reading, Fault> {
    let cut = |name: &str, until| Cut { name: name.to_owned(), until };
    trace.read(&[
        cut("foreshots", Until::TimeS((60.0 * cuts.from_min).max(1.0))),
        cut("heart", Until::StrengthPct(cuts.to_pct)),
        cut("feints", Until::TimeS(trace.end_s())),
    ])
}

/// The values of [`FIGURES`] of one reading.
fn values(trace: &Trace, reading: &Reading, grams: &[f64]) -> [f64; 11] {
    let [foreshots, heart, feints] = [0, 1, 2].map(|at| &reading.cuts[at]);
    let litres = heart.distillate.volume_20_l();
    let pure_l = heart.distillate.pure_alcohol_l();
    let held = by_group(grams.len(), |at| grams[at] * heart.congeners[at].1);
    let mg_l = |group| 1e3 * held[place(group)] / litres;
    let g_hl = |group| 100.0 * held[place(group)] / pure_l;
    let returned = foreshots.distillate.plus(feints.distillate).ethanol_mol;
    [
        litres,
        heart.distillate.strength_pct(),
        pure_l,
        foreshots.distillate_strength_pct,
        heart.end_s / 3600.0,
        mg_l(Group::Smoke),
        mg_l(Group::Fruit),
        g_hl(Group::Oil),
        g_hl(Group::Solvent),
        mg_l(Group::Late),
        100.0 * returned / trace.charge().ethanol_mol,
    ]
}

pub(crate) fn heart(expected: &Expected, cuts: Cuts) -> Result<Heart, Fault> {
    let trace = &expected.trace;
    let reading = cut(trace, cuts)?;
    let base = values(trace, &reading, &expected.grams);
    let moved: Vec<(&'static str, [f64; 11])> = expected
        .moved
        .iter()
        .filter_map(|m| Some((m.label, values(&m.trace, &cut(&m.trace, cuts).ok()?, &m.grams))))
        .collect();
    let figures = FIGURES.iter().enumerate().map(|(at, (shown, group))| {
        let to = moved.iter().map(|(label, values)| (*label, values[at]));
        match group {
            Some(group) => of_group(expected, *group, shown.of(base[at]), to),
            None => banded(shown.of(base[at]), to),
        }
    });
    let congeners = passengers(expected, &reading);
    let spirit = |moles: Moles| {
        let strength_pct = if moles.ethanol_mol > 0.0 { moles.strength_pct() } else { 0.0 };
        Spirit { volume_20_l: moles.volume_20_l(), strength_pct }
    };
    Ok(Heart {
        cuts,
        figures: figures.collect(),
        groups: GROUPS.iter().map(|g| shares(expected, *g, &congeners)).collect(),
        congeners,
        heart: spirit(reading.cuts[1].distillate),
        foreshots: spirit(reading.cuts[0].distillate),
        feints: spirit(reading.cuts[2].distillate),
        residue: spirit(reading.residue),
    })
}

impl Expected {
    /// Pure alcohol of the heart between two cuts, L, without its band.
    pub(crate) fn heart_pure_l(&self, cuts: Cuts) -> Result<f64, Fault> {
        Ok(cut(&self.trace, cuts)?.cuts[1].distillate.pure_alcohol_l())
    }
}

/// A figure of a group of congeners. It is unsure by factors, so its band is that of its
/// logarithm and never reaches nought. The level in the wash moves it in proportion; level and
/// volatility that were fitted together are correlated: what the analyses fixed is their sum.
fn of_group(
    expected: &Expected,
    group: Group,
    mut figure: Figure,
    moved: impl Iterator<Item = (&'static str, f64)>,
) -> Figure {
    let value = figure.value;
    if value <= 0.0 {
        return figure;
    }
    let fit = expected.fitted.group(group);
    let mut parts: Vec<(&'static str, f64)> =
        moved.map(|(label, to)| (label, (to / value).ln())).collect();
    let with = fit.correlation * fit.level_sd;
    if let Some((_, change)) = parts.iter_mut().find(|(label, _)| *label == VOLATILITY) {
        *change += with;
    }
    parts.push((LEVEL, (fit.level_sd * fit.level_sd - with * with).max(0.0).sqrt()));
    // Reckoned about nought on the log scale, then carried back.
    figure.value = 0.0;
    let mut figure = spread(figure, &parts);
    figure.value = value;
    if let Some(band) = &mut figure.band {
        (band.low, band.high) = (value * band.low.exp(), value * band.high.exp());
        band.sd *= value;
    }
    figure
}

const LEVEL: &str = "how much the wash carries";

fn passengers(expected: &Expected, reading: &Reading) -> Vec<Passenger> {
    let litres = reading.cuts[1].distillate.volume_20_l();
    expected
        .congeners()
        .enumerate()
        .map(|(at, (congener, charged_g))| {
            let share = |cut: usize| reading.cuts[cut].congeners[at].1;
            Passenger {
                key: congener.key,
                group: congener.group,
                charged_g,
                before: share(0),
                within: share(1),
                after: share(2),
                left: reading.residue_congeners[at].1,
                heart_mg_l: 1e3 * charged_g * share(1) / litres,
            }
        })
        .collect()
}

/// Shares of a group by weight; of one that the wash does not carry, the plain mean.
fn shares(expected: &Expected, group: Group, congeners: &[Passenger]) -> Shares {
    let own: Vec<&Passenger> = congeners.iter().filter(|c| c.group == group).collect();
    let whole: f64 = own.iter().map(|c| c.charged_g).sum();
    let weigh = |c: &Passenger| {
        if whole > 0.0 { c.charged_g / whole } else { 1.0 / own.len().max(1) as f64 }
    };
    let mean = |of: fn(&Passenger) -> f64| own.iter().map(|c| weigh(c) * of(c)).sum();
    Shares {
        group,
        known: expected.known(group),
        before: mean(|c| c.before),
        within: mean(|c| c.within),
        after: mean(|c| c.after),
        left: mean(|c| c.left),
    }
}
