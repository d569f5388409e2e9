//! One thing wrong with a house, and where it is written.

use crate::source::{Place, Source};
use gauge::Fault;
use std::fmt;

/// A fault with the file and place it stands in.
#[derive(Debug, Clone, PartialEq)]
pub struct Problem {
    /// The file, by its name within the house's folder.
    pub file: &'static str,
    /// Bytes, line and column.
    pub place: Place,
    /// What is wrong, what is allowed, what may have been meant.
    pub fault: Fault,
}

impl Problem {
    /// Gives the problem of a fault found in `source`.
    pub fn new(file: &'static str, source: &Source, fault: Fault) -> Self {
        let place = source.place_of(&fault);
        Self { file, place, fault }
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}: {}", self.file, self.place.line, self.fault)
    }
}
