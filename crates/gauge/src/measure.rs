//! The reckonings one by one: one table for the command line, the pages and whoever else asks.
//!
//! [`all`] lists every [`Measure`]. A measure says its key and title, what it does, its formula in
//! plain text with the letters explained, its source, its inputs and its outputs; and it reckons.
//! A face needs nothing else to draw a form, check it, run it and show the result:
//!
//! - **Inputs.** [`Input::Figure`] holds a [`Field`] (key, label, unit, range, default) and its
//!   [`Need`]: it must be given unless its field has a default, it may be left, or exactly one of
//!   those that share a group's name must be given.
//!   [`Input::Choice`] is a word from a few. Beside any figure `x` there may be `u_x`, its
//!   standard uncertainty; `field.sd` is what an ordinary instrument has, for a page to offer.
//! - **Values in** are a [`Node::Part`] of figures and words by key. A key nobody reads, a figure
//!   outside its range, none or two of a group: every fault at once, each with its key.
//! - **Values out** are [`Outcome::values`], pairs of key and [`Node`] in the order of
//!   [`Measure::outputs`]; [`Node::Blank`] where there is no figure. Warnings ride beside them.
//! - **Uncertainty** ([`Measure::uncertainty`]) is first order, by differences on the inputs that
//!   have a `u_x` (or, when asked, the usual one): for each output its standard uncertainty and
//!   the share of each input. What it leaves out the measure says in [`Measure::caveat`].
//! - A measure whose [`Measure::lots`] is true takes several parts, one a lot, and gives one
//!   outcome ([`Measure::reckon_lots`]); any other takes exactly one ([`Measure::reckon`]).
//!
//! ```
//! use gauge::{Node, measure};
//! let strength = measure::find("strength").unwrap();
//! let given = Node::part([
//!     ("density_kg_m3", Node::from(905.0)),
//!     ("temperature_c", Node::from(15.0)),
//!     ("u_density_kg_m3", Node::from(0.1)),
//! ]);
//! let found = strength.reckon(&given).unwrap();
//! assert!((found.number("strength_pct").unwrap() - 63.58253).abs() < 1e-4);
//! let known = strength.uncertainty(&given, false).unwrap();
//! assert_eq!(known[0].key, "strength_pct");
//! assert!((known[0].standard_uncertainty - 0.0437).abs() < 1e-3);
//! assert_eq!(known[0].shares[0].0, "density_kg_m3");
//! ```

mod air;
mod mixing;
mod spirit;
#[cfg(test)]
mod tests;
mod us;
mod values;
mod worts;

pub use values::Values;

use crate::measured::{Measured, propagate};
use crate::{Fault, Field, Node, Warning};

/// Whether an input must be given.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Need {
    /// Yes, unless its field has a default.
    Must,
    /// No: the measure says when it is wanted.
    MayBeLeft,
    /// Exactly one of the inputs that have this group's name.
    OneOf(&'static str),
}

/// One input of a measure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Input {
    /// A figure. The field's `sd` is the standard uncertainty of an ordinary instrument; 0 where
    /// the figure is decided.
    Figure {
        /// Key, label, unit, range, default.
        field: Field,
        /// Whether it must be given.
        need: Need,
    },
    /// A word from a few.
    Choice {
        /// Key.
        key: &'static str,
        /// What it is called on a page.
        label: &'static str,
        /// What may be given, the first being the default.
        words: &'static [&'static str],
    },
}

impl Input {
    /// The key, of either sort.
    pub const fn key(&self) -> &'static str {
        match self {
            Self::Figure { field, .. } => field.key,
            Self::Choice { key, .. } => key,
        }
    }
    /// What it is called on a page.
    pub const fn label(&self) -> &'static str {
        match self {
            Self::Figure { field, .. } => field.label,
            Self::Choice { label, .. } => label,
        }
    }
}

/// One result of a measure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Output {
    /// Key with the unit as its ending.
    pub key: &'static str,
    /// Unit as shown; empty for a pure number or a word.
    pub unit: &'static str,
    /// What it is called on a page.
    pub label: &'static str,
    /// Decimals a page shows. Tables and JSON keep the figure whole.
    pub decimals: usize,
}

/// What a reckoning gives.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// One for each output, in order.
    pub values: Vec<(&'static str, Node)>,
    /// "frozen" and the like. One whose code is the key of an input echoes that input.
    pub warnings: Vec<Warning>,
}

impl Outcome {
    /// The figure under `key`, where it is one.
    pub fn number(&self, key: &str) -> Option<f64> {
        self.values.iter().find(|(k, _)| *k == key)?.1.number()
    }
}

/// How well one output is known.
#[derive(Debug, Clone, PartialEq)]
pub struct Known {
    /// Key of the output.
    pub key: &'static str,
    /// Its standard uncertainty, in its unit.
    pub standard_uncertainty: f64,
    /// Keys of the uncertain inputs and the share of each in the variance, adding up to 1.
    pub shares: Vec<(&'static str, f64)>,
}

type RunOne = fn(&Values) -> Result<Found, Fault>;
type RunLots = fn(&[Values]) -> Result<Found, Fault>;

/// Figures or words in the order of the outputs, and warnings.
#[derive(Debug)]
struct Found {
    values: Vec<Node>,
    warnings: Vec<Warning>,
}

#[derive(Debug, Clone, Copy)]
enum Run {
    One(RunOne),
    Lots(RunLots),
}

/// One reckoning.
#[derive(Debug, Clone, Copy)]
pub struct Measure {
    /// The word on the command line and in an address.
    pub key: &'static str,
    /// What a page calls it.
    pub title: &'static str,
    /// What it gives, in one sentence.
    pub does: &'static str,
    /// Its inputs, in the order of a form.
    pub inputs: &'static [Input],
    /// Its outputs, in order.
    pub outputs: &'static [Output],
    /// The formula in plain text.
    pub formula: &'static str,
    /// Each letter of the formula and what it is.
    pub letters: &'static [(&'static str, &'static str)],
    /// Author, title, year.
    pub source: &'static str,
    /// What the uncertainty does not hold.
    pub caveat: &'static str,
    run: Run,
}

/// Every reckoning, in the order a page lists them.
pub fn all() -> &'static [Measure] {
    &ALL
}

static ALL: [Measure; 15] = [
    spirit::STRENGTH,
    spirit::DENSITY,
    spirit::ALCOHOLOMETER,
    spirit::VOLUME,
    spirit::WEIGH,
    mixing::REDUCE,
    mixing::BLEND,
    mixing::OBSCURATION,
    us::PROOF,
    worts::WORT,
    worts::SACCHAROMETER,
    worts::ATTENUATION,
    worts::SPIRIT_YIELD,
    air::MOIST_AIR,
    air::WATER,
];

/// The reckoning with this key.
pub fn find(key: &str) -> Option<&'static Measure> {
    ALL.iter().find(|measure| measure.key == key)
}

impl Measure {
    /// Whether it takes several lots to one outcome.
    pub const fn lots(&self) -> bool {
        matches!(self.run, Run::Lots(_))
    }

    /// The figures among its inputs.
    pub fn figures(&self) -> impl Iterator<Item = &'static Field> {
        self.inputs.iter().filter_map(|input| match input {
            Input::Figure { field, .. } => Some(field),
            Input::Choice { .. } => None,
        })
    }

    /// Reckons from one part of values; a measure of lots takes it as one lot.
    pub fn reckon(&self, given: &Node) -> Result<Outcome, Vec<Fault>> {
        self.reckon_lots(std::slice::from_ref(given))
    }

    /// Reckons from several lots. A measure that is not of lots takes exactly one.
    pub fn reckon_lots(&self, given: &[Node]) -> Result<Outcome, Vec<Fault>> {
        self.outcome(&self.read(given)?).map_err(|fault| vec![fault])
    }

    fn read(&self, given: &[Node]) -> Result<Vec<Values>, Vec<Fault>> {
        let mut faults = Vec::new();
        let mut lots = Vec::with_capacity(given.len());
        for (index, node) in given.iter().enumerate() {
            match Values::read(self.inputs, node) {
                Ok(values) => lots.push(values),
                Err(found) if given.len() > 1 => {
                    let place = format!("lot[{index}]");
                    faults.extend(found.into_iter().map(|fault| fault.within(&place)));
                }
                Err(found) => faults.extend(found),
            }
        }
        let wrong_count = given.is_empty() || (given.len() > 1 && !self.lots());
        if wrong_count {
            faults.push(Fault::MissingPart { field: "lot".into(), wanted: "one lot" });
        }
        if faults.is_empty() { Ok(lots) } else { Err(faults) }
    }

    fn outcome(&self, lots: &[Values]) -> Result<Outcome, Fault> {
        let found = match self.run {
            Run::One(run) => run(&lots[0])?,
            Run::Lots(run) => run(lots)?,
        };
        debug_assert_eq!(found.values.len(), self.outputs.len(), "{}", self.key);
        let keys = self.outputs.iter().map(|output| output.key);
        Ok(Outcome { values: keys.zip(found.values).collect(), warnings: found.warnings })
    }

    /// How well each figure among the outputs is known, from the `u_x` that are given, or where
    /// `usual` is asked for and none is given, from the usual instruments.
    pub fn uncertainty(&self, given: &Node, usual: bool) -> Result<Vec<Known>, Vec<Fault>> {
        self.uncertainty_lots(std::slice::from_ref(given), usual)
    }

    /// The same for several lots; inputs of one key are one share.
    pub fn uncertainty_lots(&self, given: &[Node], usual: bool) -> Result<Vec<Known>, Vec<Fault>> {
        let mut lots = self.read(given)?;
        let uncertain: Vec<(usize, &'static Field, Measured)> = lots
            .iter()
            .enumerate()
            .flat_map(|(lot, values)| {
                values.uncertain(usual).into_iter().map(move |(field, m)| (lot, field, m))
            })
            .collect();
        let inputs: Vec<Measured> = uncertain.iter().map(|(_, _, m)| *m).collect();
        let budgets = propagate(&inputs, |x| {
            for ((lot, field, _), value) in uncertain.iter().zip(x) {
                lots[*lot].set(field.key, *value);
            }
            let outcome = self.outcome(&lots)?;
            let figures = outcome.values.iter().map(|(_, node)| node.number().unwrap_or(f64::NAN));
            Ok::<_, Fault>(figures.collect())
        })
        .map_err(|fault| vec![fault])?;
        let mut known = Vec::new();
        for (output, budget) in self.outputs.iter().zip(budgets) {
            if budget.value.is_nan() || budget.standard_uncertainty.is_nan() {
                continue;
            }
            let mut shares: Vec<(&'static str, f64)> = Vec::new();
            for ((_, field, _), share) in uncertain.iter().zip(budget.shares()) {
                match shares.iter_mut().find(|(key, _)| *key == field.key) {
                    Some((_, sum)) => *sum += share,
                    None => shares.push((field.key, share)),
                }
            }
            known.push(Known {
                key: output.key,
                standard_uncertainty: budget.standard_uncertainty,
                shares,
            });
        }
        Ok(known)
    }
}

/// An input that must be given.
const fn must(field: Field) -> Input {
    Input::Figure { field, need: Need::Must }
}

/// An input that may be left.
const fn may(field: Field) -> Input {
    Input::Figure { field, need: Need::MayBeLeft }
}

/// One of a group.
const fn one_of(group: &'static str, field: Field) -> Input {
    Input::Figure { field, need: Need::OneOf(group) }
}

const fn output(
    key: &'static str,
    unit: &'static str,
    label: &'static str,
    decimals: usize,
) -> Output {
    Output { key, unit, label, decimals }
}

fn found<const N: usize>(values: [f64; N], warnings: Vec<Warning>) -> Found {
    Found { values: values.map(Node::from).to_vec(), warnings }
}
