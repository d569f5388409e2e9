//! `shiel run STAGE CASE.toml`: any stage of the process on a case file, one framework for all.

mod curves;
mod progress;
mod schema;
mod show;

use crate::{case, json, out, status};
use clap::{Arg, ArgAction, ArgMatches};
use gauge::{Fault, Kind};
use process::{Face, Report, faces};

/// The command's face.
pub(crate) fn command() -> clap::Command {
    of_faces("run", "Runs one stage of the process on a case file", &faces())
}

/// Does it.
pub(crate) fn run(matches: &ArgMatches) -> u8 {
    one_of(&faces(), matches)
}

/// A command with one subcommand a face: each takes a case and prints what it gives.
pub(crate) fn of_faces(name: &'static str, about: &'static str, faces: &[Face]) -> clap::Command {
    let flag = |name: &'static str, help: &'static str| {
        Arg::new(name).long(name).action(ArgAction::SetTrue).help(help)
    };
    clap::Command::new(name)
        .about(about)
        .subcommand_required(true)
        .arg_required_else_help(true)
        .subcommands(faces.iter().map(move |face| {
            clap::Command::new(face.key)
                .about(face.does)
                .arg(
                    Arg::new("case")
                        .value_name("CASE.toml")
                        .help("The case; - reads it from standard input")
                        .required_unless_present_any(["example", "schema"]),
                )
                .arg(flag("example", "Prints a full case"))
                .arg(flag("schema", "Prints the JSON Schema of a case"))
                .arg(flag("json", "Prints the result as JSON"))
                .arg(
                    Arg::new("curves")
                        .long("curves")
                        .value_name("FILE.csv")
                        .help("Writes the course of the run; - writes it to standard output"),
                )
        }))
}

/// Runs the face that was asked for.
pub(crate) fn one_of(faces: &[Face], matches: &ArgMatches) -> u8 {
    let Some((key, matches)) = matches.subcommand() else { return status::WRONG_USE };
    let Some(face) = faces.iter().find(|f| f.key == key) else { return status::WRONG_USE };
    if matches.get_flag("example") {
        out::say(face.example.trim_start());
        return status::GOOD;
    }
    if matches.get_flag("schema") {
        out::say(&json::pretty(&schema::of(face)));
        return status::GOOD;
    }
    let name = matches.get_one::<String>("case").map_or("-", String::as_str);
    let report = match read_and_run(face, name) {
        Ok(report) => report,
        Err(status) => return status,
    };
    if let Some(file) = matches.get_one::<String>("curves") {
        if let Err(says) = curves::write(&report.curves, file) {
            out::complain(&says);
            return status::FAULT;
        }
        if file == "-" {
            return status::GOOD;
        }
    }
    if matches.get_flag("json") {
        out::say(&json::pretty(&json::report(&report)));
    } else {
        out::say(&show::report(face, &report));
    }
    status::GOOD
}

fn read_and_run(face: &Face, name: &str) -> Result<Report, u8> {
    let case = case::read(name).map_err(|says| {
        out::complain(&says);
        status::FAULT
    })?;
    // A case whose syntax is broken is not run, but the faults of its figures are told as well.
    let outcome = progress::shown(|watch| (face.run_watched)(&case.source.node, watch));
    if !case.syntax.is_empty() {
        let faults: Vec<Fault> = outcome.err().unwrap_or_default();
        out::complain(&case.told(&faults));
        return Err(status::FAULT);
    }
    outcome.map_err(|faults| {
        out::complain(&case.told(&faults));
        let none = faults.iter().all(|f| f.kind() == Kind::Reckoning);
        if none { status::NO_SOLUTION } else { status::FAULT }
    })
}
