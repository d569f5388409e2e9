//! What happens: one folder a stage, pure physics. No plant file, no clock, no database.
//!
//! Every stage has the same face: a `Charge` (what goes in), a `Vessel` (the fixed facts of the
//! equipment), a `Programme` (what the hand decides), `Constants` (what a house may fit), and
//! `run(&Charge, &Vessel, &Programme, &Constants) -> Result<Run, Fault>`. A `Run` is what comes
//! out, its [`Curves`] and its [`Balance`]. [`stage::Stage`] is the same by case file.

pub mod balance;
pub mod conversion;
pub mod cool;
pub mod curves;
pub mod ferment;
pub mod flash;
pub mod manned;
pub mod mash;
pub mod mill;
#[cfg(test)]
mod reference;
mod sound;
pub mod stage;

pub mod bin;
pub mod cask;
pub mod circuit;
pub mod fill;
pub mod floor;
pub mod kiln;
pub mod reduce;
pub mod steep;
pub mod still;

pub use balance::{Balance, Matter};
pub use curves::Curves;
pub use manned::Manned;
pub use stage::{Face, Report, Stage, Watch};

/// Every stage, in the order in which barley becomes whisky. A new stage adds its line here.
pub fn faces() -> Vec<Face> {
    vec![
        stage::face::<steep::Steep>(),
        stage::face::<floor::Floor>(),
        stage::face::<kiln::Kiln>(),
        stage::face::<bin::Bin>(),
        stage::face::<mill::Mill>(),
        stage::face::<mash::Mash>(),
        stage::face::<conversion::Conversion>(),
        stage::face::<cool::Cool>(),
        stage::face::<ferment::Ferment>(),
        stage::face::<still::Still>(),
        stage::face::<circuit::Circuit>(),
        stage::face::<reduce::Reduce>(),
        stage::face::<fill::Fill>(),
        stage::face::<cask::Cask>(),
    ]
}

/// Every proposal that is made by case file, as [`faces`] lists the stages.
pub fn proposals() -> Vec<Face> {
    vec![
        stage::face::<kiln::ProposeDry>(),
        stage::face::<steep::ProposeSteep>(),
        stage::face::<floor::ProposeTurns>(),
        stage::face::<kiln::ProposeKiln>(),
        stage::face::<still::ProposeCut>(),
    ]
}
