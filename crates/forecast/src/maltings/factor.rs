//! A factor on a constant that the readings of one piece or one kilning bend.

use crate::stillhouse::head::Learned;
use numeric::least_squares::{Belief, Found};

/// A factor on a constant, 1 when the house is as its files say.
#[derive(Debug, Clone, PartialEq)]
pub struct Factor {
    /// Key: `respiration`, `air`, `drying`, `uptake`.
    pub key: &'static str,
    /// What it is called.
    pub label: &'static str,
    /// Its value.
    pub value: f64,
    /// Standard uncertainty of its logarithm.
    pub sd: f64,
    /// The same before any reading.
    pub before_sd: f64,
    /// Share of the prior variance that the readings took away, 0 to 1.
    pub learned: f64,
    /// The same in words.
    pub says: Learned,
}

impl Factor {
    /// As believed, before any reading.
    pub(crate) fn believed(key: &'static str, label: &'static str, before_sd: f64) -> Self {
        let says = Learned::StayedAtPrior;
        Self { key, label, value: 1.0, sd: before_sd, before_sd, learned: 0.0, says }
    }
    /// As found, its logarithm being what was fitted.
    pub(crate) fn found(self, found: &Found) -> Self {
        let (value, sd) = (found.value.exp(), found.sd);
        let (learned, says) = (found.learned, Learned::of(found.learned));
        Self { value, sd, learned, says, ..self }
    }
    /// What is believed of its logarithm before any reading.
    pub(crate) fn belief(&self) -> Belief {
        Belief { mean: 0.0, sd: self.before_sd }
    }
}
