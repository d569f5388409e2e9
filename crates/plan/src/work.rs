//! One piece of work as Today shows it.

use crate::kind::TaskKind;
use forecast::{Expected, Figure};
use gauge::Field;
use jiff::Timestamp;

/// A figure that goes with a piece of work: what to set, or what to expect.
#[derive(Debug, Clone, PartialEq)]
pub struct Number {
    /// Key with its unit.
    pub key: &'static str,
    /// What it is called.
    pub label: &'static str,
    /// Unit as shown.
    pub unit: &'static str,
    /// The value.
    pub value: f64,
    /// Nine times in ten, from and to, where something uncertain bears on it.
    pub band: Option<(f64, f64)>,
    /// Decimals to show.
    pub decimals: u8,
    /// Whether it was noted rather than reckoned.
    pub noted: bool,
}

impl From<&Figure> for Number {
    fn from(f: &Figure) -> Self {
        Self {
            key: f.key,
            label: f.label,
            unit: f.unit,
            value: f.value,
            band: f.band.as_ref().map(|b| (b.low, b.high)),
            decimals: f.decimals,
            noted: false,
        }
    }
}

impl From<&Expected> for Number {
    fn from(e: &Expected) -> Self {
        Self {
            key: e.key,
            label: e.label,
            unit: e.unit,
            value: e.value,
            band: Some((e.band.low, e.band.high)),
            decimals: e.decimals,
            noted: false,
        }
    }
}

impl Number {
    /// A figure that is decided or noted and not reckoned.
    pub(crate) fn noted(shown: (&'static str, &'static str, &'static str, u8), value: f64) -> Self {
        let (key, label, unit, decimals) = shown;
        Self { key, label, unit, value, band: None, decimals, noted: true }
    }
}

/// One piece of work.
#[derive(Debug, Clone, PartialEq)]
pub struct Work {
    /// Its name: the same for the same work however often it is asked for.
    pub id: String,
    /// What it is.
    pub kind: TaskKind,
    /// What is to be done, in the trade's words: "turn", "note the air-off".
    pub act: &'static str,
    /// The vessel, a key of the house.
    pub vessel: String,
    /// What the vessel is called.
    pub vessel_name: String,
    /// Key of the make, where the work is for one.
    pub make: Option<String>,
    /// What the make is called.
    pub make_name: Option<String>,
    /// Number of the piece, mash or run.
    pub lot: Option<u32>,
    /// Which of them the number counts: "piece", "mash" or "run".
    pub lot_word: &'static str,
    /// When it is due.
    pub at: Timestamp,
    /// When it must be done at the latest, where there is such a time.
    pub latest: Option<Timestamp>,
    /// Minutes past its time; 0 when it is not late.
    pub late_min: i64,
    /// What to set and what to expect.
    pub figures: Vec<Number>,
    /// What wants noting when it is done.
    pub needs: Vec<Field>,
    /// Key of the caution that stands where it is noted.
    pub caution: Option<&'static str>,
    /// Why it stands here, where that is not plain.
    pub why: Option<String>,
}
