//! `shiel demo`: Quernholm at work, on a page of this machine. What `make run` calls.
//!
//! The first start makes nine weeks of history, on a page that shows how far it is. It is made in
//! a folder beside and moved into place when it is whole, so a start that is killed halfway leaves
//! nothing that a later one could take for a book.

use super::pages::Pages;
use super::{open, port, port_flag};
use crate::{from, out, status};
use book::Book;
use clap::{Arg, ArgAction, ArgMatches};
use house::House;
use jiff::Timestamp;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Instant;
use web::{App, Clock, Working};

/// The demo's hidden constants and errors are drawn from this; another gives another history.
const SEED: u64 = 20_260_302;

/// The command's face.
pub(crate) fn command() -> clap::Command {
    clap::Command::new("demo")
        .about("Opens the demo house, Quernholm, on a page of this machine")
        .arg(port_flag())
        .arg(
            Arg::new("folder")
                .long("folder")
                .value_name("DIR")
                .default_value("demo-book")
                .help("Where the demo's book is kept"),
        )
        .arg(from::date_flag("today", "The day it is in the demo; the real one if none"))
        .arg(
            Arg::new("fresh")
                .long("fresh")
                .action(ArgAction::SetTrue)
                .help("Throws the demo's book away and begins again"),
        )
}

/// Does it.
pub(crate) fn run(matches: &ArgMatches) -> u8 {
    let folder = PathBuf::from(matches.get_one::<String>("folder").expect("it has a default"));
    let making = beside(&folder);
    let clock = clock(from::moment(matches, "today"));
    let Ok(pages) = Pages::bind(port(matches)) else { return held_or_taken(&folder) };
    if matches.get_flag("fresh")
        && let Err(status) = throw_away(&folder, &pages.address())
    {
        return status;
    }
    let house = house::quernholm();
    let app = Arc::new(App::new(house.plant.name.clone(), clock.clone()));
    if is_book(&folder) {
        match open(&folder, &pages.address()) {
            Ok(book) => app.open(Working::new(house, book)),
            Err(status) => return status,
        }
    } else {
        // What an earlier start left half made is of no use; whoever is making it holds its lock.
        if let Err(status) = throw_away(&making, &pages.address()) {
            return status;
        }
        let book = match open(&making, &pages.address()) {
            Ok(book) => book,
            Err(status) => return status,
        };
        begin(
            &app,
            Making { book, house, folder, beside: making, served: pages.address() },
            &clock,
        );
    }
    pages.serve(app)
}

struct Making {
    book: Book,
    house: House,
    folder: PathBuf,
    beside: PathBuf,
    served: String,
}

/// Makes the history off the pages' path, then opens the book for them.
fn begin(app: &Arc<App>, making: Making, clock: &Clock) {
    let here = clock.here();
    let opened = Arc::clone(app);
    let now = clock.now();
    app.jobs.start("Making nine weeks of history", "/today", move |progress| {
        let Making { book, house, folder, beside, served } = making;
        let mut calendar = quernholm::Calendar::new(here.date(), here.time_zone().clone());
        calendar.hour = here.time();
        let mut tell = |share: f64| {
            progress.tell(share, "noting what was done from the first steep to this morning");
            !progress.stopped()
        };
        let made = quernholm::make_history(&book, &calendar, SEED, &mut tell)
            .map_err(|fault| fault.to_string())?;
        drop(book);
        std::fs::rename(&beside, &folder).map_err(|e| format!("{}: {e}", folder.display()))?;
        let book = open(&folder, &served).map_err(|_| "the book cannot be opened".to_owned())?;
        let working = Working::new(house, book);
        working.foretell(now);
        opened.open(working);
        Ok(format!("{} entries are in the book.", made.entries))
    });
}

/// A clock that begins at `today`, or the wall's.
fn clock(today: Option<Timestamp>) -> Clock {
    match today {
        None => Clock::wall(),
        Some(from) => {
            let begun = Instant::now();
            Clock::new(jiff::tz::TimeZone::system(), move || {
                from.saturating_add(
                    jiff::SignedDuration::try_from(begun.elapsed()).unwrap_or_default(),
                )
                .unwrap_or(from)
            })
        }
    }
}

fn beside(folder: &Path) -> PathBuf {
    let mut name = folder.file_name().unwrap_or_default().to_owned();
    name.push(".making");
    folder.with_file_name(name)
}

fn is_book(folder: &Path) -> bool {
    folder.join("journal.sqlite").is_file()
}

/// Throws a demo book away, unless somebody holds it or the folder holds anything else.
fn throw_away(folder: &Path, served: &str) -> Result<(), u8> {
    if !folder.exists() {
        return Ok(());
    }
    let ours = |name: &str| ["journal.", "derived."].iter().any(|start| name.starts_with(start));
    let others: Vec<String> = std::fs::read_dir(folder)
        .map(|entries| {
            entries.flatten().map(|e| e.file_name().to_string_lossy().into_owned()).collect()
        })
        .unwrap_or_default();
    if let Some(other) = others.iter().find(|name| !ours(name)) {
        out::complain(&format!(
            "{} is not thrown away: {other} in it is no part of a demo book",
            folder.display()
        ));
        return Err(status::FAULT);
    }
    // Taking the lock first: a book that somebody is writing is not thrown away.
    drop(open(folder, served)?);
    std::fs::remove_dir_all(folder).map_err(|e| {
        out::complain(&format!("{} cannot be thrown away: {e}", folder.display()));
        status::FAULT
    })
}

/// Why a second start cannot have the port: most often the first one is still running.
fn held_or_taken(folder: &Path) -> u8 {
    let place = if is_book(folder) { folder.to_owned() } else { beside(folder) };
    if is_book(&place) {
        // Says who holds it, when somebody does.
        return match open(&place, "") {
            Ok(_) => status::FAULT,
            Err(status) => status,
        };
    }
    status::FAULT
}
