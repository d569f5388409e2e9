//! `shiel reckon MEASURE`: the reckonings of the bench one by one, by flags or over a CSV file.

mod batch;
mod row;
mod sink;

use crate::{json, out, status};
use clap::{Arg, ArgAction, ArgMatches};
use gauge::measure::{self, Input, Measure};
use gauge::{Fault, Node};
use row::Row;
use std::fmt::Write as _;

/// The command's face: one subcommand a measure, its flags from the measure's inputs.
pub(crate) fn command() -> clap::Command {
    clap::Command::new("reckon")
        .about("Strength, litres, reducing, worts, air: one reckoning, or a CSV file of them")
        .subcommand_required(true)
        .arg_required_else_help(true)
        .subcommands(measure::all().iter().map(face))
}

fn face(measure: &'static Measure) -> clap::Command {
    let mut command = clap::Command::new(measure.key)
        .about(measure.does)
        .after_help(format!("{}\n\nSource: {}", measure.formula, measure.source))
        .arg_required_else_help(true)
        .arg(
            Arg::new("csv")
                .long("csv")
                .value_name("FILE")
                .help("Reckons every row of a CSV file; - reads it from standard input"),
        )
        .arg(
            Arg::new("json")
                .long("json")
                .action(ArgAction::SetTrue)
                .help("Prints the result as JSON"),
        );
    if measure.key.contains('-') {
        command = command.alias(measure.key.replace('-', "_"));
    }
    for input in measure.inputs {
        command = command.arg(flag(input.key()).help(help(input)));
        if let Input::Figure { field, .. } = input {
            let key = format!("u_{}", field.key);
            command = command.arg(flag(&key).hide(true).help("Its standard uncertainty"));
        }
    }
    command
}

/// A flag by its key, which may be written with hyphens as well.
fn flag(key: &str) -> Arg {
    let hyphened = key.replace('_', "-");
    let arg =
        Arg::new(key.to_owned()).long(key.to_owned()).value_name("X").allow_hyphen_values(true);
    if hyphened == key { arg } else { arg.alias(hyphened) }
}

fn help(input: &Input) -> String {
    match input {
        Input::Choice { label, words, .. } => {
            format!("{label}: {} [default: {}]", words.join(", "), words[0])
        }
        Input::Figure { field, .. } => {
            let unit = if field.unit.is_empty() { "" } else { " " };
            let range = format!("{}{unit}{}", field.label, bracketed(field.unit));
            match field.default {
                Some(value) => format!("{range} [default: {value}]"),
                None => range,
            }
        }
    }
}

fn bracketed(unit: &str) -> String {
    if unit.is_empty() { String::new() } else { format!("({unit})") }
}

/// Does it.
pub(crate) fn run(matches: &ArgMatches) -> u8 {
    let Some((key, flags)) = matches.subcommand() else {
        return status::WRONG_USE;
    };
    let Some(measure) = measure::find(key) else {
        return status::WRONG_USE;
    };
    let given = given(measure, flags);
    match flags.get_one::<String>("csv") {
        Some(file) => batch::run(measure, file, &given, flags.get_flag("json")),
        None => single(measure, &given, flags.get_flag("json")),
    }
}

/// The flags that were given, as figures where they are figures.
fn given(measure: &Measure, flags: &ArgMatches) -> Vec<(String, Node)> {
    let keys = measure.inputs.iter().flat_map(|input| {
        let key = input.key().to_owned();
        let uncertainty = matches!(input, Input::Figure { .. }).then(|| format!("u_{key}"));
        std::iter::once(key).chain(uncertainty)
    });
    keys.filter_map(|key| {
        let text = flags.get_one::<String>(&key)?;
        let node = row::cell(text);
        Some((key, node))
    })
    .collect()
}

fn single(measure: &'static Measure, given: &[(String, Node)], as_json: bool) -> u8 {
    let row = Row::reckon(measure, &[Node::Part(given.to_vec())]);
    if as_json {
        let object = row.object(measure, given.iter().map(|(k, v)| (k.as_str(), json::value(v))));
        out::say(&json::pretty(&object));
    } else if row.faults.is_empty() {
        out::say(&shown(measure, &row));
    }
    if row.faults.is_empty() {
        return status::GOOD;
    }
    if !as_json {
        for fault in &row.faults {
            out::complain(&fault.to_string());
        }
    }
    // A flag that was left out, or two where one is wanted, is the command put wrongly; a figure
    // that cannot be is a fault of the figure.
    let wrong_use = |f: &Fault| matches!(f, Fault::Missing { .. } | Fault::OneOf { .. });
    if row.faults.iter().all(wrong_use) { status::WRONG_USE } else { status::FAULT }
}

fn shown(measure: &Measure, row: &Row) -> String {
    let wide = measure.outputs.iter().map(|o| o.key.chars().count()).max().unwrap_or(0);
    let mut text = String::new();
    for (output, (_, node)) in measure.outputs.iter().zip(&row.values) {
        let figure = match node {
            Node::Number(value) => format!("{value:.*}", output.decimals),
            Node::Text(word) => word.clone(),
            _ => "none".to_owned(),
        };
        let known = row.uncertainties.iter().find(|(key, _)| *key == output.key);
        let known = known.map(|(_, u)| format!("  u {u:.2e}")).unwrap_or_default();
        // Writing to a string cannot fail.
        let _ = writeln!(
            text,
            "{:wide$}  {figure:>12} {:8} {}{known}",
            output.key, output.unit, output.label
        );
    }
    for warning in &row.warnings {
        let _ = writeln!(text, "{}: {}", warning.code, warning.says);
    }
    text
}
