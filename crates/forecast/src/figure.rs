//! What a forecast shows: steps, figures and their bands.

use process::{Balance, Curves};

/// How sure a figure is: nine times in ten it lies between `low` and `high`.
///
/// Reckoned from the standard uncertainty of every constant and reading that the figure hangs on,
/// each carried through the whole chain by first-order differences. It holds what the models
/// know of their own constants, not what the models leave out.
#[derive(Debug, Clone, PartialEq)]
pub struct Band {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Standard uncertainty.
    pub sd: f64,
    /// What it comes from, the greatest share first: label and share of the variance.
    pub because: Vec<(String, f64)>,
}

/// The quantile that leaves one in twenty on each side of a normal distribution.
pub const NINE_IN_TEN: f64 = 1.6449;

impl Band {
    /// The band of a figure with this value and standard uncertainty.
    pub fn around(value: f64, sd: f64) -> Self {
        let reach = NINE_IN_TEN * sd;
        Self { low: value - reach, high: value + reach, sd, because: Vec::new() }
    }
}

/// One figure of a step.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// Key with its unit.
    pub key: &'static str,
    /// What it is called.
    pub label: &'static str,
    /// Unit as shown.
    pub unit: &'static str,
    /// The value.
    pub value: f64,
    /// Its band, where something uncertain bears on it.
    pub band: Option<Band>,
    /// Decimals to show.
    pub decimals: u8,
}

/// A name, label, unit and decimals, from which figures are made.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Shown(
    pub(crate) &'static str,
    pub(crate) &'static str,
    pub(crate) &'static str,
    pub(crate) u8,
);

impl Shown {
    pub(crate) fn of(self, value: f64) -> Figure {
        let Self(key, label, unit, decimals) = self;
        Figure { key, label, unit, value, band: None, decimals }
    }
}

/// One step of a batch.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Key of the stage: `steep`, `mash`, `still`.
    pub stage: &'static str,
    /// What a distiller calls it.
    pub title: String,
    /// The vessel, a key of the house.
    pub vessel: String,
    /// Hours from the start of the batch to its beginning.
    pub start_h: f64,
    /// Hours from the start of the batch to its end.
    pub end_h: f64,
    /// Its figures.
    pub figures: Vec<Figure>,
    /// Its course, where it has one.
    pub curves: Curves,
    /// Standard uncertainty of those of its curves that are noted by hand, row by row.
    pub spread: Curves,
    /// What went in, came out and was lost.
    pub balance: Balance,
}

impl Step {
    /// The figure under `key`.
    pub fn figure(&self, key: &str) -> Option<&Figure> {
        self.figures.iter().find(|f| f.key == key)
    }
    /// The value of a curve and its standard uncertainty at `x` of its first column.
    pub fn on_curve(&self, key: &str, x: f64) -> Option<(f64, f64)> {
        Some((self.curves.at(key, x)?, self.spread.at(key, x).unwrap_or(0.0)))
    }
}

/// A word with its first letter large, as at the head of a sentence.
pub(crate) fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}
