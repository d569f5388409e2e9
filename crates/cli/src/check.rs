//! `shiel check HOUSE`: reads a house's files and tells everything that is wrong with them.

use crate::{case, json, out, status};
use clap::{Arg, ArgAction, ArgMatches};
use house::problem::Problem;
use serde_json::json;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;

/// The command's face.
pub(crate) fn command() -> clap::Command {
    clap::Command::new("check")
        .about("Reads a house's files and tells everything that is wrong with them")
        .arg(
            Arg::new("house")
                .value_name("HOUSE")
                .required(true)
                .help("Folder with plant.toml, makes.toml, barleys.toml and season.toml"),
        )
        .arg(
            Arg::new("json")
                .long("json")
                .action(ArgAction::SetTrue)
                .help("Prints the faults as JSON"),
        )
}

/// Does it.
pub(crate) fn run(matches: &ArgMatches) -> u8 {
    let folder = matches.get_one::<String>("house").expect("it must be given");
    let folder = Path::new(folder);
    let loaded = house::load(folder);
    let problems = loaded.as_ref().err().map_or(&[][..], Vec::as_slice);
    if matches.get_flag("json") {
        out::say(&json::pretty(&as_json(problems)));
    } else if let Ok(house) = &loaded {
        out::say(&format!(
            "{}: {} vessels, {} makes, {} kinds of barley. Nothing is wrong with it.\n",
            house.plant.name,
            house.plant.vessels.len(),
            house.makes.makes.len(),
            house.barleys.len()
        ));
    } else {
        out::complain(&shown(folder, problems));
    }
    if loaded.is_ok() { status::GOOD } else { status::FAULT }
}

fn as_json(problems: &[Problem]) -> serde_json::Value {
    let faults: Vec<_> = problems
        .iter()
        .map(|p| {
            json!({
                "file": p.file,
                "line": p.place.line,
                "column": p.place.column,
                "field": p.fault.field(),
                "says": p.fault.to_string(),
            })
        })
        .collect();
    json!({ "ok": faults.is_empty(), "faults": faults })
}

/// Every problem in its place, and what follows from them.
pub(crate) fn shown(folder: &Path, problems: &[Problem]) -> String {
    let mut by_file: BTreeMap<&str, Vec<&Problem>> = BTreeMap::new();
    for problem in problems {
        by_file.entry(problem.file).or_default().push(problem);
    }
    let mut text = String::new();
    for (file, problems) in by_file {
        let path = folder.join(file);
        // A file that is missing has no text; its fault says so.
        let source = std::fs::read_to_string(&path).unwrap_or_default();
        let marks: Vec<_> =
            problems.iter().map(|p| (p.fault.to_string(), p.place.span.clone())).collect();
        text.push_str(&case::marked(&path.to_string_lossy(), &source, &marks));
    }
    let count = problems.len();
    let word = if count == 1 { "fault" } else { "faults" };
    let _ = write!(text, "{count} {word}. The house does not start until they are put right.");
    text
}
