//! Carries a batch and its uncertainty from stage to stage.
//!
//! What one stage hands to the next is one [`Carry`]. Beside its values go columns: how the whole
//! of it moves when one uncertain constant or reading moves by its standard uncertainty. A stage
//! is run once at its best figures, once more for each of its own uncertain constants, and once
//! for each handed figure that is uncertain and that it reads; the columns follow by the chain
//! rule. To first order that is the same as running the whole chain again for every constant, at
//! a small part of the cost.

use crate::carry::Carry;
use crate::figure::{Band, Figure, Step};
use gauge::{Fault, Record};
use process::curves::Column;
use process::{Balance, Curves};

/// A constant or reading that is not known exactly.
#[derive(Debug, Clone, PartialEq)]
struct Source {
    label: String,
}

/// One step as a stage gives it, before its bands are known.
#[derive(Debug, Clone)]
pub(crate) struct Part {
    pub(crate) title: String,
    pub(crate) vessel: String,
    pub(crate) figures: Vec<Figure>,
    pub(crate) curves: Curves,
    pub(crate) balance: Balance,
    /// Columns of the curves whose band is wanted at every row.
    pub(crate) watched: &'static [&'static str],
    pub(crate) hours: f64,
}

impl Part {
    /// Figures and watched curves in one row of numbers, read at the rows of `like`.
    fn shown(&self, like: &Self) -> Vec<f64> {
        let figure = |key| self.figures.iter().find(|f| f.key == key).map(|f| f.value);
        let mut out: Vec<f64> =
            like.figures.iter().map(|f| figure(f.key).unwrap_or(f64::NAN)).collect();
        let times = like.curves.columns.first().map_or(&[][..], |c| c.values.as_slice());
        for key in like.watched {
            out.extend(times.iter().map(|t| self.curves.at(key, *t).unwrap_or(f64::NAN)));
        }
        out
    }
}

/// What a stage gives in the chain: what it hands on, and its steps, one after another.
#[derive(Debug, Clone)]
pub(crate) struct Outcome {
    pub(crate) carry: Carry,
    pub(crate) parts: Vec<Part>,
}

impl Outcome {
    /// The outcome of a stage that is one step.
    pub(crate) fn of(carry: Carry, part: Part) -> Self {
        Self { carry, parts: vec![part] }
    }
    fn shown(&self, like: &Self) -> Vec<f64> {
        self.parts.iter().zip(&like.parts).flat_map(|(own, like)| own.shown(like)).collect()
    }
}

/// Constants of which each uncertain one may be moved by itself.
pub(crate) trait Tune: Clone + Sync {
    /// Label, key and standard uncertainty of those that are uncertain.
    fn uncertain(&self) -> Vec<(String, &'static str, f64)>;
    /// Moves one.
    fn shift(&mut self, key: &'static str, by: f64);
}

impl<R: Record + Clone + Sync> Tune for R {
    fn uncertain(&self) -> Vec<(String, &'static str, f64)> {
        self.figures()
            .into_iter()
            .filter(|(field, value)| field.sd > 0.0 && value.is_some())
            .map(|(field, _)| {
                let label = if field.label.is_empty() { field.key } else { field.label };
                (label.to_owned(), field.key, field.sd)
            })
            .collect()
    }
    fn shift(&mut self, key: &'static str, by: f64) {
        let old = self.figures().into_iter().find(|(f, _)| f.key == key).and_then(|(_, v)| v);
        if let Some(old) = old {
            self.set(key, old + by);
        }
    }
}

/// Two sets of constants that one stage reads; their keys must differ.
#[derive(Debug, Clone)]
pub(crate) struct Both<A, B>(pub(crate) A, pub(crate) B);

impl<A: Tune, B: Tune> Tune for Both<A, B> {
    fn uncertain(&self) -> Vec<(String, &'static str, f64)> {
        let mut out = self.0.uncertain();
        out.extend(self.1.uncertain());
        out
    }
    fn shift(&mut self, key: &'static str, by: f64) {
        self.0.shift(key, by);
        self.1.shift(key, by);
    }
}

/// No constants at all.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Exact;

impl Tune for Exact {
    fn uncertain(&self) -> Vec<(String, &'static str, f64)> {
        Vec::new()
    }
    fn shift(&mut self, _: &'static str, _: f64) {}
}

/// A batch on its way.
#[derive(Debug, Clone)]
pub(crate) struct Chain {
    pub(crate) carry: Carry,
    pub(crate) steps: Vec<Step>,
    pub(crate) clock_h: f64,
    sources: Vec<Source>,
    columns: Vec<Vec<f64>>,
    /// Best figures alone: no stage is run a second time.
    plain: bool,
}

impl Chain {
    /// A batch that begins with `carry`, of which nothing is yet uncertain.
    pub(crate) fn new(carry: Carry) -> Self {
        let (steps, sources, columns) = (Vec::new(), Vec::new(), Vec::new());
        Self { carry, steps, clock_h: 0.0, sources, columns, plain: false }
    }

    /// The same batch, of which only the best figures are wanted, without their bands.
    pub(crate) fn without_bands(self) -> Self {
        Self { plain: true, ..self }
    }

    /// Adds a reading that is uncertain: `key` of what is carried, by its standard uncertainty.
    pub(crate) fn uncertain(&mut self, label: &str, key: &str, sd: f64) {
        if let Some(place) = place_of(key).filter(|_| sd > 0.0) {
            let mut column = vec![0.0; Carry::FIELDS.len()];
            column[place] = sd;
            self.sources.push(Source { label: label.to_owned() });
            self.columns.push(column);
        }
    }

    /// How what is carried moves with one source, by its label: for tests of the chain rule.
    #[cfg(test)]
    pub(crate) fn moved_by(&self, label: &str, key: &str) -> Option<f64> {
        let at = self.sources.iter().position(|source| source.label == label)?;
        Some(self.columns[at][place_of(key)?])
    }

    /// Runs one stage. `reads` are the keys of what is carried that it looks at.
    pub(crate) fn link<C: Tune>(
        &mut self,
        stage: &'static str,
        reads: &[&'static str],
        constants: &C,
        run: impl Fn(&Carry, &C) -> Result<Outcome, Fault> + Sync,
    ) -> Result<(), Fault> {
        let base = run(&self.carry, constants)?;
        if self.plain {
            self.carry = base.carry;
            return Ok(());
        }
        let own = constants.uncertain();
        let handed = self.uncertain_among(reads);
        let mut moved: Vec<Move<C>> = Vec::with_capacity(own.len() + handed.len());
        for (_, key, sd) in &own {
            moved.push(Move::constant(&self.carry, constants, key, *sd));
        }
        for (index, sd) in &handed {
            moved.push(Move::handed(&self.carry, constants, *index, *sd));
        }
        let slopes = differences(&base, &moved, &run);
        let (of_own, of_handed) = slopes.split_at(own.len());
        let columns = self.carried_over(&base, &handed, of_handed);
        let mut figure_columns = columns.1;
        self.columns = columns.0;
        for ((label, _, _), slope) in own.into_iter().zip(of_own) {
            self.sources.push(Source { label: format!("{stage}: {label}") });
            self.columns.push(slope.carry.clone());
            figure_columns.push(slope.shown.clone());
        }
        self.steps_of(stage, &base, &figure_columns);
        self.carry = base.carry;
        Ok(())
    }

    /// Adds the steps of an outcome, with their bands.
    fn steps_of(&mut self, stage: &'static str, base: &Outcome, columns: &[Vec<f64>]) {
        let mut from = 0;
        for part in &base.parts {
            let shown = part.shown(part).len();
            let own: Vec<&[f64]> = columns.iter().map(|c| &c[from..from + shown]).collect();
            let (figures, spread) = self.banded(part, &own);
            from += shown;
            let start_h = self.clock_h;
            self.clock_h += part.hours;
            self.steps.push(Step {
                stage,
                title: part.title.clone(),
                vessel: part.vessel.clone(),
                start_h,
                end_h: self.clock_h,
                figures,
                curves: part.curves.clone(),
                spread,
                balance: part.balance.clone(),
            });
        }
    }

    /// The carried figures among `reads` that are uncertain, with their standard uncertainties.
    fn uncertain_among(&self, reads: &[&'static str]) -> Vec<(usize, f64)> {
        let mut out = Vec::new();
        for key in reads {
            let index = place_of(key).expect("a stage reads keys that are carried");
            let variance: f64 = self.columns.iter().map(|c| c[index] * c[index]).sum();
            if variance > 0.0 {
                out.push((index, variance.sqrt()));
            }
        }
        out
    }

    /// Columns so far, seen after this stage, and the same for its figures: what is handed moves
    /// the result, and what the stage does not touch goes by unmoved.
    fn carried_over(
        &self,
        base: &Outcome,
        handed: &[(usize, f64)],
        slopes: &[Slope],
    ) -> (Vec<Vec<f64>>, Vec<Vec<f64>>) {
        let before = values(&self.carry);
        let after = values(&base.carry);
        // A figure the stage leaves as it was, at its best figures and for every move of another,
        // goes by; one it sets is given by the slopes.
        let goes_by: Vec<bool> = (0..before.len())
            .map(|k| {
                let same = before[k].to_bits() == after[k].to_bits();
                same && slopes.iter().zip(handed).all(|(s, (i, sd))| {
                    let own = if *i == k { *sd } else { 0.0 };
                    (s.carry[k] - own).abs() <= 1e-9 * sd.abs()
                })
            })
            .collect();
        let mut columns = Vec::with_capacity(self.columns.len());
        let mut figures = Vec::with_capacity(self.columns.len());
        for column in &self.columns {
            let mut carried: Vec<f64> = column
                .iter()
                .zip(&goes_by)
                .map(|(change, by)| if *by { *change } else { 0.0 })
                .collect();
            let mut shown = vec![0.0; base.shown(base).len()];
            for ((index, sd), slope) in handed.iter().zip(slopes) {
                let share = column[*index] / sd;
                for (k, value) in carried.iter_mut().enumerate() {
                    if !goes_by[k] {
                        *value += share * slope.carry[k];
                    }
                }
                for (value, change) in shown.iter_mut().zip(&slope.shown) {
                    *value += share * change;
                }
            }
            columns.push(carried);
            figures.push(shown);
        }
        (columns, figures)
    }

    /// The figures with their bands, and the standard uncertainty of each watched curve.
    fn banded(&self, base: &Part, columns: &[&[f64]]) -> (Vec<Figure>, Curves) {
        let variance = |index: usize| -> f64 { columns.iter().map(|c| c[index] * c[index]).sum() };
        let mut figures = base.figures.clone();
        for (index, figure) in figures.iter_mut().enumerate() {
            let whole = variance(index);
            // Less than a millionth is the rounding of the stages' own solvers.
            if whole.sqrt() > 1e-6 * figure.value.abs() && figure.value.is_finite() {
                let mut because: Vec<(String, f64)> = self
                    .sources
                    .iter()
                    .zip(columns)
                    .map(|(source, c)| (source.label.clone(), c[index] * c[index] / whole))
                    .collect();
                because.sort_by(|a, b| b.1.total_cmp(&a.1));
                because.truncate(3);
                figure.band = Some(Band { because, ..Band::around(figure.value, whole.sqrt()) });
            }
        }
        let rows = base.curves.rows();
        let mut spread = Curves::default();
        if let Some(first) = base.curves.columns.first().filter(|_| !base.watched.is_empty()) {
            spread.columns.push(first.clone());
        }
        for (place, key) in base.watched.iter().enumerate() {
            let from = base.figures.len() + place * rows;
            let values = (from..from + rows).map(|index| variance(index).sqrt()).collect();
            if let Some(column) = base.curves.columns.iter().find(|c| c.key == *key) {
                spread.columns.push(Column { values, ..column.clone() });
            }
        }
        (figures, spread)
    }
}

/// The carry and constants of one extra run.
struct Move<C> {
    carry: Carry,
    constants: C,
    back: (Carry, C),
}

impl<C: Tune> Move<C> {
    fn constant(carry: &Carry, constants: &C, key: &'static str, sd: f64) -> Self {
        let (mut up, mut down) = (constants.clone(), constants.clone());
        up.shift(key, sd);
        down.shift(key, -sd);
        Self { carry: carry.clone(), constants: up, back: (carry.clone(), down) }
    }
    fn handed(carry: &Carry, constants: &C, index: usize, sd: f64) -> Self {
        let key = Carry::FIELDS[index].key;
        let value = values(carry)[index];
        let (mut up, mut down) = (carry.clone(), carry.clone());
        up.set(key, value + sd);
        down.set(key, value - sd);
        Self { carry: up, constants: constants.clone(), back: (down, constants.clone()) }
    }
}

/// How the carry and what is shown move for one standard uncertainty of one thing.
#[derive(Debug, Clone)]
struct Slope {
    carry: Vec<f64>,
    shown: Vec<f64>,
}

/// Runs every move, side by side, and gives the differences from `base`.
fn differences<C: Tune>(
    base: &Outcome,
    moves: &[Move<C>],
    run: &(impl Fn(&Carry, &C) -> Result<Outcome, Fault> + Sync),
) -> Vec<Slope> {
    const HANDS: usize = 4;
    let each = moves.len().div_ceil(HANDS).max(1);
    let slope = |m: &Move<C>| one_difference(base, m, run);
    std::thread::scope(|scope| {
        let parts: Vec<_> = moves
            .chunks(each)
            .map(|part| scope.spawn(move || part.iter().map(slope).collect::<Vec<_>>()))
            .collect();
        parts
            .into_iter()
            .flat_map(|part| match part.join() {
                Ok(slopes) => slopes,
                Err(panic) => std::panic::resume_unwind(panic),
            })
            .collect()
    })
}

/// One step up; at the edge of a field's range, one step down with its sign turned.
fn one_difference<C: Tune>(
    base: &Outcome,
    moved: &Move<C>,
    run: &impl Fn(&Carry, &C) -> Result<Outcome, Fault>,
) -> Slope {
    let (there, sign) = match run(&moved.carry, &moved.constants) {
        Ok(up) => (up, 1.0),
        Err(_) => match run(&moved.back.0, &moved.back.1) {
            Ok(down) => (down, -1.0),
            Err(_) => (base.clone(), 1.0),
        },
    };
    let (from, to) = (values(&base.carry), values(&there.carry));
    let carry = from.iter().zip(&to).map(|(a, b)| sign * (b - a)).collect();
    let shown = base.shown(base);
    let shown = shown
        .iter()
        .zip(there.shown(base))
        .map(|(a, b)| sign * (b - a))
        .map(|change| if change.is_finite() { change } else { 0.0 })
        .collect();
    Slope { carry, shown }
}

fn values(carry: &Carry) -> Vec<f64> {
    carry.figures().into_iter().map(|(_, value)| value.unwrap_or(0.0)).collect()
}

fn place_of(key: &str) -> Option<usize> {
    Carry::FIELDS.iter().position(|field| field.key == key)
}
