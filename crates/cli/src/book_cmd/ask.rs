//! `shiel book`: what the accounts hold, whether the chain holds, and making the derived anew.

use super::{book_flag, folder, holder, json_flag, refuse};
use crate::{json, out, status};
use book::{Book, Holding, StoreFault, hash};
use clap::ArgMatches;
use jiff::Timestamp;
use serde_json::json;
use sheets::{Cell, Column, Table};

/// The command's face.
pub(crate) fn command() -> clap::Command {
    let sub = |name: &'static str, about: &'static str| {
        clap::Command::new(name).about(about).arg(book_flag()).arg(json_flag())
    };
    clap::Command::new("book")
        .about("Asks the book")
        .subcommand_required(true)
        .arg_required_else_help(true)
        .subcommand(
            sub("accounts", "What every account holds, in dry grain, extract and pure alcohol")
                .arg(
                    clap::Arg::new("csv")
                        .long("csv")
                        .action(clap::ArgAction::SetTrue)
                        .help("Prints the table as CSV"),
                ),
        )
        .subcommand(sub("verify", "Reads the whole journal and holds every entry to its hash"))
        .subcommand(sub("rebuild", "Makes what is derived anew and prints its digest"))
}

/// Does it.
pub(crate) fn run(matches: &ArgMatches) -> u8 {
    let Some((name, matches)) = matches.subcommand() else { return status::WRONG_USE };
    let folder = match folder(matches) {
        Ok(folder) => folder,
        Err(status) => return status,
    };
    // Only the rebuilding writes; the others may look while somebody else works.
    let opened = if name == "rebuild" {
        Book::open(&folder, &holder("a command that rebuilds"))
    } else {
        Book::open_read_only(&folder)
    };
    let answer = opened.and_then(|book| match name {
        "accounts" => accounts(&book, matches),
        "verify" => verify(&book, matches.get_flag("json")),
        _ => rebuild(&book, matches.get_flag("json")),
    });
    answer.unwrap_or_else(|fault| refuse(&fault))
}

fn accounts(book: &Book, matches: &ArgMatches) -> Result<u8, StoreFault> {
    let holdings = book.holdings(Timestamp::MAX)?;
    if matches.get_flag("json") {
        let rows: Vec<_> = holdings
            .iter()
            .map(|h| {
                json!({
                    "account": h.account.to_string(),
                    "commodity": h.commodity.key(),
                    // As everywhere in the book: a whole number of millionths, as text.
                    "amount_micro": h.amount.micro().to_string(),
                })
            })
            .collect();
        out::say(&json::pretty(&json!({ "serial": book.last().serial, "accounts": rows })));
        return Ok(status::GOOD);
    }
    let table = table(&holdings);
    out::say(&if matches.get_flag("csv") { table.csv() } else { table.text() });
    Ok(status::GOOD)
}

fn table(holdings: &[Holding]) -> Table {
    let columns = vec![
        Column::words("account", "account"),
        Column::words("commodity", "of what"),
        Column::figures("amount", "holds", "", 3),
        Column::words("unit", "unit"),
    ];
    let mut table = Table::new("Accounts", columns);
    for holding in holdings {
        table.row(vec![
            Cell::from(holding.account.to_string()),
            Cell::from(holding.commodity.label()),
            Cell::from(holding.amount.units()),
            Cell::from(holding.commodity.unit()),
        ]);
    }
    table
}

fn verify(book: &Book, as_json: bool) -> Result<u8, StoreFault> {
    let found = book.verify()?;
    let broken = found.broken.as_ref().map(ToString::to_string);
    if as_json {
        let answer = json!({
            "entries": found.entries,
            "serial": found.last.serial,
            "hash": hash::hex(&found.last.hash),
            "broken": broken,
        });
        out::say(&json::pretty(&answer));
    } else if let Some(broken) = &broken {
        out::complain(&format!("The chain is broken: {broken}."));
    } else {
        let (entries, end) = (found.entries, hash::hex(&found.last.hash));
        out::say(&format!(
            "{entries} entries, every one as it was sealed. The chain ends in {end}.\n"
        ));
    }
    Ok(if broken.is_some() { status::STORE } else { status::GOOD })
}

fn rebuild(book: &Book, as_json: bool) -> Result<u8, StoreFault> {
    let made = book.rebuild()?;
    let (before, after) = (hash::hex(&made.before), hash::hex(&made.after));
    if as_json {
        let answer = json!({ "entries": made.entries, "before": before, "digest": after });
        out::say(&json::pretty(&answer));
    } else {
        let same = if before == after { "as before" } else { "not what stood there before" };
        out::say(&format!("{after}\n"));
        out::complain(&format!("{} entries folded, {same}.", made.entries));
    }
    Ok(status::GOOD)
}
