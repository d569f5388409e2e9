//! The search for the heart, over a grid of the run and then about the best of it.

use gauge::Fault;

use super::rules::{Amounts, Measure, Rule, Rules, heart, short};
use super::{Tradeoff, heart_of};
use crate::still::cut::Until;
use crate::still::result::CutRun;
use crate::still::trace::{Point, Trace};

/// Places of the grid.
const GRID: usize = 240;
/// Hearts drawn for the trade-off.
const FRONTIER: usize = 25;
/// Rounds of the closer search, and places of each.
const ROUNDS: u32 = 7;
const CLOSER: usize = 5;
/// The first look at beginnings takes every so manieth place.
const COARSE: usize = 3;
/// How near to a bound a wish is said to hold the heart there.
const BINDING: f64 = 1e-4;

/// A heart by the places of its ends in the run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Found {
    pub(super) from: f64,
    pub(super) to: f64,
    pub(super) ethanol_mol: f64,
}

/// A run laid out to be searched.
pub(super) struct Search<'t> {
    trace: &'t Trace,
    rules: Rules,
    /// The earliest place at which a heart may begin, and the end of the run.
    earliest: f64,
    end: f64,
    /// Places from the earliest to the end, with what has come over up to each.
    grid: Vec<(f64, Amounts)>,
}

impl<'t> Search<'t> {
    pub(super) fn new(trace: &'t Trace, rules: Rules, from_s: f64) -> Result<Self, Fault> {
        let end = trace.end_place();
        let earliest = trace.place_at(from_s);
        if earliest >= 0.5 * end {
            return Err(Fault::Beyond {
                field: "wanted.least_from_s".into(),
                value: from_s,
                unit: "s",
                side: gauge::fault::Side::AtMost,
                limit: trace.time_at(0.5 * end).floor(),
                sets: "the first half of the run".into(),
            });
        }
        let mut one = Self { trace, rules, earliest, end, grid: Vec::with_capacity(GRID + 1) };
        for row in 0..=GRID {
            let at = earliest + (end - earliest) * row as f64 / GRID as f64;
            let amounts = one.amounts(at);
            one.grid.push((at, amounts));
        }
        Ok(one)
    }

    fn amounts(&self, at: f64) -> Amounts {
        self.trace.over_at(at, |moles, over| self.rules.amounts(moles, over))
    }

    pub(super) fn point(&self, at: f64) -> Point {
        self.trace.point_at(at)
    }

    /// The least room a heart leaves under any wish, and which wish that is.
    fn tightest(&self, from: &Amounts, to: &Amounts) -> (f64, usize) {
        let rooms = self.rules.all.iter().map(|r| r.room(Rules::value(r.measure, from, to)));
        let tightest = rooms.enumerate().min_by(|a, b| a.1.total_cmp(&b.1));
        tightest.map_or((f64::INFINITY, 0), |(rule, room)| (room, rule))
    }

    /// The latest end that keeps to all wishes for a heart that begins at `from`.
    fn latest(&self, from: f64) -> Option<Found> {
        let begun = self.amounts(from);
        let ends = self.grid.iter().rev().take_while(|(at, _)| *at > from + 1e-9 * self.end);
        let mut later: Option<(f64, (f64, usize))> = None;
        for (at, amounts) in ends {
            let here = self.tightest(&begun, amounts);
            let kept = match later {
                _ if here.0 >= 0.0 => Some(*at),
                // Two wishes that part here may leave a narrow way between two places.
                Some((last, there)) if there.1 != here.1 => {
                    self.between(&begun, (*at, here.1), (last, there.1))
                }
                _ => None,
            };
            if let Some(kept) = kept {
                let to = later.map_or(kept, |(broken, _)| self.last_kept(&begun, kept, broken));
                let over = self.amounts(to);
                return Some(Found { from, to, ethanol_mol: heart(&begun, &over).ethanol_mol });
            }
            later = Some((*at, here));
        }
        None
    }

    /// The place between two, at each of which another wish is the tightest, where both are as
    /// tight; none when it keeps to neither.
    fn between(&self, begun: &Amounts, low: (f64, usize), high: (f64, usize)) -> Option<f64> {
        let room = |rule: usize, to: &Amounts| {
            let rule = &self.rules.all[rule];
            rule.room(Rules::value(rule.measure, begun, to))
        };
        let (mut a, mut b) = (low.0, high.0);
        for _ in 0..30 {
            let middle = 0.5 * (a + b);
            let to = self.amounts(middle);
            if self.tightest(begun, &to).0 >= 0.0 {
                return Some(middle);
            }
            if room(low.1, &to) < room(high.1, &to) { a = middle } else { b = middle }
        }
        None
    }

    /// The last place that keeps to all wishes between one that does and one that does not.
    fn last_kept(&self, begun: &Amounts, kept: f64, broken: f64) -> f64 {
        let (mut kept, mut broken) = (kept, broken);
        for _ in 0..40 {
            let middle = 0.5 * (kept + broken);
            if self.tightest(begun, &self.amounts(middle)).0 >= 0.0 {
                kept = middle;
            } else {
                broken = middle;
            }
        }
        kept
    }

    /// The heart with the most alcohol; none keeps to all wishes.
    pub(super) fn best(&self) -> Option<Found> {
        let better = |best: Option<Found>, next: Option<Found>| match (best, next) {
            (Some(a), Some(b)) => Some(if b.ethanol_mol > a.ethanol_mol { b } else { a }),
            (a, b) => a.or(b),
        };
        let begins = self.grid.iter().step_by(COARSE).map(|(at, _)| *at);
        let begins = begins.take_while(|at| *at <= 0.5 * self.end);
        let mut best = begins.fold(None, |best, at| better(best, self.latest(at)));
        let mut width = (self.end - self.earliest) * COARSE as f64 / GRID as f64;
        for _ in 0..ROUNDS {
            let about = best?.from;
            for row in 0..=2 * CLOSER {
                let at = about + width * (row as f64 / CLOSER as f64 - 1.0);
                if at >= self.earliest && at <= 0.5 * self.end {
                    best = better(best, self.latest(at));
                }
            }
            width /= CLOSER as f64;
        }
        best
    }

    /// The wishes that hold a heart where it is, in words.
    pub(super) fn binding(&self, found: &Found) -> Vec<String> {
        let (from, to) = (self.amounts(found.from), self.amounts(found.to));
        let near = |rule: &&Rule| rule.room(Rules::value(rule.measure, &from, &to)) < BINDING;
        let mut out: Vec<String> =
            self.rules.all.iter().filter(near).map(|rule| rule.says(rule.bound)).collect();
        if found.to >= self.end * (1.0 - 1e-9) {
            out.push("the end of the run".to_owned());
        }
        if found.from - self.earliest <= 1e-5 * self.end {
            let from_s = self.trace.time_at(self.earliest);
            out.push(if from_s < 1.0 {
                "the first running".to_owned()
            } else {
                format!("no heart before {} min", short(from_s / 60.0))
            });
        }
        out
    }

    /// A heart in short.
    pub(super) fn short_of(&self, from_s: f64, heart: &CutRun) -> Tradeoff {
        let phenols_g: f64 = self
            .trace
            .congeners()
            .iter()
            .zip(&heart.congeners)
            .filter(|((congener, _), _)| congener.phenol())
            .map(|((_, grams), (_, share))| grams * share)
            .sum();
        Tradeoff {
            heart_from_s: from_s,
            heart_to_pct: heart.distillate_strength_pct,
            pure_alcohol_l: heart.distillate.pure_alcohol_l(),
            strength_pct: heart.distillate.strength_pct(),
            phenols_mg_l: 1e3 * phenols_g / heart.distillate.volume_20_l(),
        }
    }

    /// Hearts that end at strengths from near the first running down past `lowest_pct`.
    pub(super) fn frontier(&self, lowest_pct: f64) -> Vec<Tradeoff> {
        let first_pct = self.point(self.earliest).strength_pct;
        let last_pct = self.point(self.end).strength_pct;
        let low = (lowest_pct - 8.0).max(last_pct);
        let high = first_pct - 0.04 * (first_pct - low);
        let mut out = Vec::with_capacity(FRONTIER);
        for row in 0..FRONTIER {
            let to_pct = high + (low - high) * row as f64 / (FRONTIER - 1) as f64;
            let Ok(end) = self.trace.find(&Until::StrengthPct(to_pct)) else {
                continue;
            };
            let to = self.amounts(self.trace.place_at(end.time_s));
            if let Some(from) = self.soonest(&to) {
                let from_s = self.trace.time_at(from);
                // A mark that the run passes at once with a change of fire has no heart of its own.
                if let Ok(heart) = heart_of(self.trace, from_s, to_pct) {
                    out.push(self.short_of(from_s, &heart));
                }
            }
        }
        out
    }

    /// The earliest beginning for which a heart that ends there keeps to the limits on congeners.
    fn soonest(&self, to: &Amounts) -> Option<f64> {
        let limits = || self.rules.all.iter().filter(|r| matches!(r.measure, Measure::Congener(_)));
        let ends = to.moles.ethanol_mol;
        let open = |amounts: &Amounts| amounts.moles.ethanol_mol < ends * (1.0 - 1e-6);
        let first =
            self.grid.iter().position(|(_, from)| open(from) && Rules::kept(limits(), from, to))?;
        let Some(before) = first.checked_sub(1) else {
            return Some(self.earliest);
        };
        let (mut broken, mut kept) = (self.grid[before].0, self.grid[first].0);
        for _ in 0..30 {
            let middle = 0.5 * (broken + kept);
            if Rules::kept(limits(), &self.amounts(middle), to) {
                kept = middle;
            } else {
                broken = middle;
            }
        }
        Some(kept)
    }

    /// The value of one rule's measure that comes nearest to keeping it, among hearts that keep
    /// to the `others`.
    fn nearest(&self, rule: &Rule, others: &[&Rule]) -> Option<f64> {
        let mut best: Option<f64> = None;
        for (row, (at, from)) in self.grid.iter().enumerate() {
            if *at > 0.5 * self.end {
                break;
            }
            for (_, to) in &self.grid[row + 1..] {
                let value = Rules::value(rule.measure, from, to);
                let better = best.is_none_or(|b| rule.room(value) > rule.room(b));
                if better && Rules::kept(others.iter().copied(), from, to) {
                    best = Some(value);
                }
            }
        }
        best
    }

    /// Why no heart keeps to all wishes: the fewest that cannot hold together, and what would.
    pub(super) fn why_none(&self) -> Fault {
        let all: Vec<&Rule> = self.rules.all.iter().collect();
        let breaks = |set: &[&Rule]| {
            let (last, others) = set.split_last().expect("a set of at least one rule");
            self.nearest(last, others).is_none_or(|value| last.room(value) < 0.0)
        };
        let ones = all.iter().map(|rule| vec![*rule]);
        let twos = (0..all.len()).flat_map(|i| (i + 1..all.len()).map(move |j| (i, j)));
        let twos = twos.map(|(i, j)| vec![all[i], all[j]]);
        let set = ones.chain(twos).find(|set| breaks(set)).unwrap_or_else(|| all.clone());
        let mut ways = Vec::with_capacity(set.len());
        for (place, rule) in set.iter().enumerate() {
            let mut others = set.clone();
            others.remove(place);
            if let Some(value) = self.nearest(rule, &others) {
                let eased = outward(value, rule.at_most);
                // A wish the others leave untouched is not the one to ease.
                if rule.room(value) < 0.0 {
                    ways.push(rule.says(eased));
                }
            }
        }
        let wishes: Vec<String> = set.iter().map(|rule| rule.says(rule.bound)).collect();
        let trouble = if wishes.len() == 1 {
            format!("no cut of this run gives {}", wishes[0])
        } else {
            format!("no cut of this run gives {} together", wishes.join(" and "))
        };
        let remedy = if ways.is_empty() {
            "leave one of them out".to_owned()
        } else {
            format!("it can give {}", ways.join(", or "))
        };
        Fault::Unworkable { field: format!("wanted.{}", set[0].key).into(), trouble, remedy }
    }
}

/// Three digits, rounded to the side that is surely kept.
fn outward(value: f64, up: bool) -> f64 {
    if value.abs() < 1e-9 {
        return 0.0;
    }
    let unit = 10.0_f64.powf(value.abs().log10().floor() - 2.0);
    let counted = value / unit;
    // The grid is not the run: a little beyond its best is surely kept.
    unit * if up { (counted * 1.002).ceil() } else { (counted * 0.998).floor() }
}
