//! `shiel demo` and `shiel serve HOUSE`: the pages on this machine, over one book.

mod demo;
mod pages;

pub(crate) use demo::{command as demo_command, run as demo};

use crate::{book_cmd, from, status};
use book::Book;
use clap::{Arg, ArgMatches, value_parser};
use pages::Pages;
use std::path::Path;
use std::sync::Arc;
use web::{App, Clock};

/// The command's face.
pub(crate) fn command() -> clap::Command {
    clap::Command::new("serve")
        .about("Serves a house's pages on this machine")
        .arg(
            Arg::new("house")
                .value_name("HOUSE")
                .required(true)
                .help("The house's folder, as `shiel check` reads it"),
        )
        .arg(
            Arg::new("book")
                .long("book")
                .value_name("DIR")
                .default_value("book")
                .help("The folder of the book; it is begun when it is not there"),
        )
        .arg(port_flag())
}

/// Does it.
pub(crate) fn run(matches: &ArgMatches) -> u8 {
    let Some(house) = from::house(matches) else { return status::FAULT };
    let folder = Path::new(matches.get_one::<String>("book").expect("it has a default"));
    let pages = match Pages::bind(port(matches)) {
        Ok(pages) => pages,
        Err(status) => return status,
    };
    let book = match open(folder, &pages.address()) {
        Ok(book) => book,
        Err(status) => return status,
    };
    let app = Arc::new(App::new(house.plant.name.clone(), Clock::wall()));
    app.open(web::Working::new(house, book));
    pages.serve(app)
}

fn port_flag() -> Arg {
    Arg::new("port")
        .long("port")
        .value_name("N")
        .value_parser(value_parser!(u16))
        .default_value("8470")
        .help("The port on this machine; 0 takes a free one")
}

fn port(matches: &ArgMatches) -> u16 {
    *matches.get_one::<u16>("port").expect("it has a default")
}

/// Opens a book for writing, or says who has it.
fn open(folder: &Path, served: &str) -> Result<Book, u8> {
    Book::open(folder, &book_cmd::holder(served)).map_err(|fault| book_cmd::refuse(&fault))
}
