//! The binary `shiel`: everything the program does, by command.
//!
//! A command is a [`Command`] in [`commands`]: what it is called and takes, and what it does. A
//! face holds no reckoning; it reads, calls a room below, and shows.

mod book_cmd;
mod case;
mod check;
mod forecast;
mod from;
mod json;
mod out;
mod propose;
mod reckon;
mod run;
mod serve;

use std::process::ExitCode;

/// Exit status, the same for every command.
pub(crate) mod status {
    /// All good.
    pub(crate) const GOOD: u8 = 0;
    /// A row, case or house file at fault.
    pub(crate) const FAULT: u8 = 1;
    /// Wrong use.
    pub(crate) const WRONG_USE: u8 = 2;
    /// No solution found.
    pub(crate) const NO_SOLUTION: u8 = 3;
    /// The store that keeps the book.
    pub(crate) const STORE: u8 = 4;
    /// The program's own bug.
    pub(crate) const OURS: u8 = 70;
}

/// One command.
struct Command {
    /// Its name, flags and help.
    face: fn() -> clap::Command,
    /// Does it and gives the exit status.
    does: fn(&clap::ArgMatches) -> u8,
}

/// All commands, in the order in which help lists them.
fn commands() -> Vec<Command> {
    vec![
        Command { face: book_cmd::book_command, does: book_cmd::book },
        Command { face: check::command, does: check::run },
        Command { face: forecast::command, does: forecast::run },
        Command { face: book_cmd::note_command, does: book_cmd::note },
        Command { face: run::command, does: run::run },
        Command { face: propose::command, does: propose::propose },
        Command { face: serve::command, does: serve::run },
        Command { face: serve::demo_command, does: serve::demo },
        Command { face: reckon::command, does: reckon::run },
    ]
}

fn main() -> ExitCode {
    let commands = commands();
    let shiel = clap::Command::new("shiel")
        .about("Barley to cask on one book: what to do, what it should give, where it went")
        .version(env!("CARGO_PKG_VERSION"))
        .subcommand_required(true)
        .arg_required_else_help(true)
        .subcommands(commands.iter().map(|c| (c.face)()));
    let matches = match shiel.try_get_matches() {
        Ok(matches) => matches,
        Err(fault) => {
            let asked = !fault.use_stderr();
            // A reader that has gone away is no reason to fail.
            let _ = fault.print();
            return ExitCode::from(if asked { status::GOOD } else { status::WRONG_USE });
        }
    };
    let Some((name, matches)) = matches.subcommand() else {
        return ExitCode::from(status::WRONG_USE);
    };
    let found = commands.iter().find(|c| (c.face)().get_name() == name);
    let does = || found.map_or(status::WRONG_USE, |c| (c.does)(matches));
    // Nothing outlives the command, so nothing can be seen half changed after a panic in it.
    let done = std::panic::catch_unwind(std::panic::AssertUnwindSafe(does));
    ExitCode::from(done.unwrap_or_else(|_| {
        eprintln!("That is a fault of the program, not of yours. Nothing was half written.");
        status::OURS
    }))
}
