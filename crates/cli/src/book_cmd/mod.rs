//! `shiel book accounts|verify|rebuild` and `shiel note KIND key=value …`.

mod ask;
mod note;

pub(crate) use ask::{command as book_command, run as book};
pub(crate) use note::{command as note_command, run as note};

use crate::{out, status};
use book::{BookFault, Holder, StoreFault};
use clap::{Arg, ArgAction, ArgMatches};
use gauge::Kind;
use std::path::PathBuf;

fn book_flag() -> Arg {
    Arg::new("book")
        .long("book")
        .value_name("DIR")
        .default_value("demo-book")
        .help("The folder of the book; the demo's if none")
}

fn json_flag() -> Arg {
    Arg::new("json").long("json").action(ArgAction::SetTrue).help("Prints the answer as JSON")
}

/// The folder of the book, when there is one in it: asking never begins a book.
fn folder(matches: &ArgMatches) -> Result<PathBuf, u8> {
    let folder = PathBuf::from(matches.get_one::<String>("book").expect("it has a default"));
    if folder.join("journal.sqlite").is_file() {
        return Ok(folder);
    }
    out::complain(&format!(
        "there is no book in {}; name its folder by --book, or begin one with `shiel serve`",
        folder.display()
    ));
    Err(status::STORE)
}

/// This process, as the book's holder.
pub(crate) fn holder(served: &str) -> Holder {
    Holder {
        pid: std::process::id(),
        host: std::env::var("HOSTNAME").unwrap_or_default(),
        since: jiff::ZonedDateTime::now().strftime("%Y-%m-%d %H:%M").to_string(),
        served: served.to_owned(),
    }
}

/// Says what is wrong with the store and gives the exit status.
pub(crate) fn refuse(fault: &StoreFault) -> u8 {
    out::complain(&match fault {
        StoreFault::Held(holder) => {
            format!("{holder}. One program at a time writes in it: use that one, or stop it first.")
        }
        other => other.to_string(),
    });
    status::STORE
}

fn refuse_noting(fault: &BookFault) -> u8 {
    if let BookFault::Store(store) = fault {
        return refuse(store);
    }
    out::complain(&fault.to_string());
    if fault.kind() == Kind::Ours { status::OURS } else { status::FAULT }
}
