//! Wishes as rules that a heart keeps or breaks.

use gauge::Fault;

use super::{Limit, Wanted};
use crate::still::amount::Moles;
use crate::still::trace::Trace;

/// Amounts that have come over up to a place of the run, or between two.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Amounts {
    pub(super) moles: Moles,
    pub(super) phenols_g: f64,
    /// Grams of each limited congener.
    pub(super) limited_g: Vec<f64>,
}

/// What a rule looks at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Measure {
    /// mg/L.
    Phenols,
    /// % vol.
    Strength,
    /// g/hL of pure alcohol of a limited congener, by its place.
    Congener(usize),
}

/// One wish.
#[derive(Debug, Clone)]
pub(super) struct Rule {
    pub(super) measure: Measure,
    pub(super) at_most: bool,
    pub(super) bound: f64,
    /// Its key in a case.
    pub(super) key: String,
    /// What it looks at, in words.
    pub(super) label: String,
    pub(super) unit: &'static str,
}

impl Rule {
    /// How far a value keeps inside the bound, as a share of it; below nought it breaks it.
    pub(super) fn room(&self, value: f64) -> f64 {
        let room = if self.at_most { self.bound - value } else { value - self.bound };
        room / self.bound.abs().max(1e-9)
    }
    /// In words, with a bound of its own or another.
    pub(super) fn says(&self, bound: f64) -> String {
        let side = if self.at_most { "at most" } else { "at least" };
        format!("{} of {side} {} {}", self.label, short(bound), self.unit)
    }
}

/// A figure to four digits, as a person would type it.
pub(super) fn short(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return "0".to_owned();
    }
    let digits = (3.0 - value.abs().log10().floor()).clamp(0.0, 9.0) as usize;
    let text = format!("{value:.digits$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// All wishes, and what is needed to look at a heart.
#[derive(Debug, Clone)]
pub(super) struct Rules {
    pub(super) all: Vec<Rule>,
    /// Place among the charge's congeners and grams charged, of phenols.
    phenols: Vec<(usize, f64)>,
    /// The same of each limited congener.
    limited: Vec<(usize, f64)>,
}

impl Rules {
    /// Those of `wanted`; a limited congener must be in the charge.
    pub(super) fn of(trace: &Trace, wanted: &Wanted) -> Result<Self, Fault> {
        let charged = trace.congeners();
        let place_of = |limit: &Limit| charged.iter().position(|(c, _)| *c == limit.congener);
        let mut all = Vec::new();
        let mut rule = |measure, at_most, key: &str, label: &str, unit, bound: Option<f64>| {
            all.extend(bound.map(|bound| Rule {
                measure,
                at_most,
                bound,
                key: key.to_owned(),
                label: label.to_owned(),
                unit,
            }));
        };
        let smoke = Measure::Phenols;
        rule(smoke, true, "most_phenols_mg_l", "phenols", "mg/L", wanted.most_phenols_mg_l);
        rule(smoke, false, "least_phenols_mg_l", "phenols", "mg/L", wanted.least_phenols_mg_l);
        let strength = wanted.least_strength_pct;
        rule(Measure::Strength, false, "least_strength_pct", "a strength", "% vol", strength);
        let mut limited = Vec::with_capacity(wanted.limits.len());
        for (at, limit) in wanted.limits.iter().enumerate() {
            let key = limit.congener.key;
            let Some(place) = place_of(limit) else {
                return Err(Fault::Unworkable {
                    field: format!("wanted.limit[{at}].congener").into(),
                    trouble: format!("the charge carries no {key}"),
                    remedy: format!("give its grams as charge.congeners.{key}"),
                });
            };
            limited.push((place, charged[place].1));
            let (path, unit) = (format!("limit[{at}].most_g_hl"), "g/hL of pure alcohol");
            rule(Measure::Congener(at), true, &path, key, unit, Some(limit.most_g_hl));
        }
        let smoky = charged.iter().enumerate().filter(|(_, (c, _))| c.phenol());
        let phenols = smoky.map(|(place, (_, grams))| (place, *grams)).collect();
        Ok(Self { all, phenols, limited })
    }

    /// What has come over up to a state of the run, whose shares `over` gives by place.
    pub(super) fn amounts(&self, moles: Moles, over: impl Fn(usize) -> f64) -> Amounts {
        let grams = |(place, grams): &(usize, f64)| grams * over(*place);
        Amounts {
            moles,
            phenols_g: self.phenols.iter().map(grams).sum(),
            limited_g: self.limited.iter().map(grams).collect(),
        }
    }

    /// The value of one measure of the heart between two amounts.
    pub(super) fn value(measure: Measure, from: &Amounts, to: &Amounts) -> f64 {
        let moles = heart(from, to);
        match measure {
            Measure::Phenols => 1e3 * (to.phenols_g - from.phenols_g) / moles.volume_20_l(),
            Measure::Strength => moles.strength_pct(),
            Measure::Congener(at) => {
                100.0 * (to.limited_g[at] - from.limited_g[at]) / moles.pure_alcohol_l()
            }
        }
    }

    /// Whether the heart between two amounts keeps to all of `rules`.
    pub(super) fn kept<'r>(
        mut rules: impl Iterator<Item = &'r Rule>,
        from: &Amounts,
        to: &Amounts,
    ) -> bool {
        rules.all(|rule| rule.room(Self::value(rule.measure, from, to)) >= 0.0)
    }
}

/// What came over between two places.
pub(super) fn heart(from: &Amounts, to: &Amounts) -> Moles {
    Moles {
        ethanol_mol: to.moles.ethanol_mol - from.moles.ethanol_mol,
        water_mol: to.moles.water_mol - from.moles.water_mol,
    }
}
