//! `shiel note KIND key=value …`: one entry into the book.

use super::{book_flag, folder, holder, json_flag, refuse, refuse_noting};
use crate::{json, out, status};
use book::{Book, Moment, Noting, Role, kinds};
use clap::{Arg, ArgAction, ArgMatches};
use serde_json::json;

/// The command's face.
pub(crate) fn command() -> clap::Command {
    let word = |name: &'static str, value: &'static str, help: &'static str| {
        Arg::new(name).long(name).value_name(value).help(help)
    };
    clap::Command::new("note")
        .about("Notes one entry in the book")
        .arg(
            Arg::new("kind").value_name("KIND").required_unless_present("kinds").help("What it is"),
        )
        .arg(
            Arg::new("pairs")
                .value_name("KEY=VALUE")
                .num_args(0..)
                .help("Its figures and words, each under its key"),
        )
        .arg(
            Arg::new("kinds")
                .long("kinds")
                .action(ArgAction::SetTrue)
                .help("Lists the kinds of entry, or what KIND takes"),
        )
        .arg(book_flag())
        .arg(word("by", "NAME", "Who writes it").default_value("hand"))
        .arg(
            word("role", "ROLE", "In which role")
                .default_value("hand")
                .value_parser(Role::ALL.map(Role::key)),
        )
        .arg(word("at", "TIME", "When it happened, as 2026-03-04T10:12:00+00:00; now if none"))
        .arg(word("id", "ID", "An id of its own, so that telling it twice is one entry"))
        .arg(json_flag())
}

/// Does it.
pub(crate) fn run(matches: &ArgMatches) -> u8 {
    if matches.get_flag("kinds") {
        return list(matches.get_one::<String>("kind"));
    }
    let noting = match noting(matches) {
        Ok(noting) => noting,
        Err(status) => return status,
    };
    let folder = match folder(matches) {
        Ok(folder) => folder,
        Err(status) => return status,
    };
    let book = match Book::open(&folder, &holder("a command that notes one entry")) {
        Ok(book) => book,
        Err(fault) => return refuse(&fault),
    };
    match book.note(&noting) {
        Ok(noted) if matches.get_flag("json") => {
            let answer =
                json!({ "serial": noted.serial, "again": noted.again, "marks": noted.marks });
            out::say(&json::pretty(&answer));
            status::GOOD
        }
        Ok(noted) => {
            let told = if noted.again { "was in the book already" } else { "is in the book" };
            out::say(&format!("Entry {} {told}.\n", noted.serial));
            for mark in noted.marks {
                out::say(&format!("To ask about: {mark}.\n"));
            }
            status::GOOD
        }
        Err(fault) => refuse_noting(&fault),
    }
}

fn noting(matches: &ArgMatches) -> Result<Noting, u8> {
    let wrong = |says: String| {
        out::complain(&says);
        status::FAULT
    };
    let mut pairs = Vec::new();
    for pair in matches.get_many::<String>("pairs").into_iter().flatten() {
        let Some(pair) = pair.split_once('=') else {
            return Err(wrong(format!("\"{pair}\" is no KEY=VALUE")));
        };
        pairs.push(pair);
    }
    let word = |name: &str| matches.get_one::<String>(name).map(String::as_str);
    let kind = word("kind").unwrap_or_default();
    let now = Moment::in_zone(jiff::Timestamp::now(), &jiff::tz::TimeZone::system());
    let at = match word("at") {
        None => now,
        Some(text) => text.parse().map_err(|fault| wrong(format!("{fault}")))?,
    };
    let role = word("role").and_then(Role::from_key).expect("clap takes no other");
    let id = word("id").map_or_else(new_id, str::to_owned);
    Noting::from_pairs(kind, pairs)
        .map(|noting| noting.id(id).at(at).noted(now).by(word("by").unwrap_or_default(), role))
        .map_err(|fault| refuse_noting(&fault))
}

/// An id that no other process makes at the same time.
fn new_id() -> String {
    let now = jiff::Timestamp::now().as_nanosecond();
    format!("note-{now:x}-{:x}", std::process::id())
}

fn list(kind: Option<&String>) -> u8 {
    let Some(key) = kind else {
        for kind in kinds() {
            out::say(&format!("{:<12} {}\n", kind.key, kind.does));
        }
        return status::GOOD;
    };
    match book::kind(key) {
        Ok(kind) => {
            for described in kind.describe() {
                out::say(&format!("{:<24} {}\n", described.path, takes(&described.sort)));
            }
            status::GOOD
        }
        Err(fault) => refuse_noting(&fault),
    }
}

fn takes(sort: &gauge::Sort) -> String {
    use gauge::Sort;
    let range = |field: &gauge::Field| {
        let unit = if field.unit.is_empty() { String::new() } else { format!(" {}", field.unit) };
        format!("{} to {}{unit}", field.low, field.high)
    };
    match sort {
        Sort::Figure(field) => range(field),
        Sort::Optional(field) => format!("{}, may be left out", range(field)),
        Sort::Choice { allowed, .. } => allowed.join(" or "),
        Sort::Word(true) => "a word".to_owned(),
        Sort::Word(false) => "a word, may be left out".to_owned(),
        Sort::Flag(_) => "yes or no".to_owned(),
        Sort::Named(field) => format!("names, each {}", range(field)),
        Sort::List => "a list".to_owned(),
        Sort::Part => "a part".to_owned(),
    }
}
