//! The one face of a stage: what `run STAGE CASE.toml`, the forms, the schemas and the shared test
//! of all stages hold on to.

use crate::balance::Balance;
use crate::curves::Curves;
use gauge::{Described, Fault, Node, Reader, Warning};

/// What a stage gives for a case: the result as the contract names it, its curves, its balance.
#[derive(Debug, Clone, PartialEq)]
pub struct Report {
    /// The result, keys as in the contract. The face adds `balance` and `warnings`.
    pub result: Node,
    /// The course of the run.
    pub curves: Curves,
    /// What went in, came out and was lost.
    pub balance: Balance,
    /// What to know about figures that stand all the same.
    pub warnings: Vec<Warning>,
}

/// A stage by case file. A stage is enrolled by its line in [`crate::faces`].
pub trait Stage {
    /// The word on the command line.
    const KEY: &'static str;
    /// What a distiller calls it.
    const TITLE: &'static str;
    /// What it reckons, in one sentence.
    const DOES: &'static str;
    /// A full case.
    const EXAMPLE: &'static str;
    /// Charge, vessel, programme and constants together.
    type Case;
    /// Reads a case; faults gather in the reader.
    fn read(reader: &mut Reader<'_>) -> Self::Case;
    /// Runs it.
    fn report(case: &Self::Case) -> Result<Report, Vec<Fault>>;
    /// Runs it and tells how far it has come: for a stage that may take longer than a breath.
    fn report_watched(case: &Self::Case, _: &mut Watch<'_>) -> Result<Report, Vec<Fault>> {
        Self::report(case)
    }
}

/// Is told the share done of a long reckoning, 0 to 1, and answers whether to go on; where it says
/// no, the best so far is given.
pub type Watch<'w> = dyn FnMut(f64) -> bool + 'w;

/// A [`Stage`] with its type forgotten, so that all of them stand in one list.
#[derive(Clone, Copy)]
pub struct Face {
    /// The word on the command line.
    pub key: &'static str,
    /// What a distiller calls it.
    pub title: &'static str,
    /// What it reckons, in one sentence.
    pub does: &'static str,
    /// A full case.
    pub example: &'static str,
    /// The keys a case may hold.
    pub describe: fn() -> Vec<Described>,
    /// Reads and runs a case; every fault of the case at once.
    pub run: fn(&Node) -> Result<Report, Vec<Fault>>,
    /// The same, telling how far it has come.
    pub run_watched: fn(&Node, &mut Watch<'_>) -> Result<Report, Vec<Fault>>,
}

/// Gives the face of a stage.
pub fn face<S: Stage>() -> Face {
    Face {
        key: S::KEY,
        title: S::TITLE,
        does: S::DOES,
        example: S::EXAMPLE,
        describe: || Reader::describe(S::read),
        run: |node| {
            let mut reader = Reader::new(node);
            let case = S::read(&mut reader);
            S::report(&reader.finish(case)?)
        },
        run_watched: |node, watch| {
            let mut reader = Reader::new(node);
            let case = S::read(&mut reader);
            S::report_watched(&reader.finish(case)?, watch)
        },
    }
}
