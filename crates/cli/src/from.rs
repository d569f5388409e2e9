//! Which house, which book, which day: flags that several commands share.

use crate::{check, out};
use clap::{Arg, ArgMatches};
use house::House;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{Timestamp, ZonedDateTime};
use std::path::Path;

/// `--house DIR`; the demo's when it is not given.
pub(crate) fn house_flag() -> Arg {
    Arg::new("house").long("house").value_name("DIR").help("The house's folder; the demo's if none")
}

/// Reads the house, or tells everything that is wrong with it.
pub(crate) fn house(matches: &ArgMatches) -> Option<House> {
    let Some(folder) = matches.get_one::<String>("house") else { return Some(house::quernholm()) };
    let folder = Path::new(folder);
    match house::load(folder) {
        Ok(house) => Some(house),
        Err(problems) => {
            out::complain(&check::shown(folder, &problems));
            None
        }
    }
}

/// `--NAME DATE`, checked as it is read.
pub(crate) fn date_flag(name: &'static str, help: &'static str) -> Arg {
    Arg::new(name).long(name).value_name("DATE").help(help).value_parser(|text: &str| {
        text.parse::<Date>().map_err(|_| format!("{text} is not a date; write one like 2026-03-02"))
    })
}

/// The moment that a date flag gives, at six in the morning when the week's first watch begins.
pub(crate) fn moment(matches: &ArgMatches, name: &str) -> Option<Timestamp> {
    let date = matches.get_one::<Date>(name)?;
    let six = date.at(6, 0, 0, 0).to_zoned_datetime(TimeZone::system());
    six.ok().map(|zoned: ZonedDateTime| zoned.timestamp())
}
