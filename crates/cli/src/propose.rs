//! `shiel propose WHAT CASE.toml`: advice on a case file, by the framework of `run`. What it says
//! is beside the nose and changes nothing.

use crate::run;
use clap::ArgMatches;
use process::proposals;

/// The command's face.
pub(crate) fn command() -> clap::Command {
    run::of_faces("propose", "Proposes what a case might do better", &proposals())
}

/// Does it.
pub(crate) fn propose(matches: &ArgMatches) -> u8 {
    run::one_of(&proposals(), matches)
}
