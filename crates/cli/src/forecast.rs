//! `shiel forecast --make MAKE`: one batch from barley to cask, before it is made.

use crate::{from, json, out, status};
use clap::{Arg, ArgAction, ArgMatches};
use forecast::{Asked, Batch, Figure};
use gauge::Kind;
use sheets::figure;
use std::fmt::Write as _;

/// The command's face.
pub(crate) fn command() -> clap::Command {
    clap::Command::new("forecast")
        .about("Foretells one batch of a make, from barley to cask, with bands")
        .arg(Arg::new("make").long("make").value_name("MAKE").required(true).help("The make"))
        .arg(Arg::new("barley").long("barley").value_name("KIND").help("Another kind of barley"))
        .arg(from::date_flag("start", "Day on which the barley goes under water; today if none"))
        .arg(from::house_flag())
        .arg(Arg::new("json").long("json").action(ArgAction::SetTrue).help("Prints it as JSON"))
}

/// Does it.
pub(crate) fn run(matches: &ArgMatches) -> u8 {
    let Some(house) = from::house(matches) else { return status::FAULT };
    let name = matches.get_one::<String>("make").expect("it must be given");
    let Some(make) = house.make(name) else {
        let known: Vec<&str> = house.makes.makes.iter().map(|m| m.name.as_str()).collect();
        out::complain(&format!("{name} is not a make of this house; it has {}", known.join(", ")));
        return status::FAULT;
    };
    let start = from::moment(matches, "start").unwrap_or_else(jiff::Timestamp::now);
    let mut asked = Asked::usual(&make.key, start);
    asked.barley = matches.get_one::<String>("barley").cloned();
    match forecast::batch(&house, &asked) {
        Ok(batch) if matches.get_flag("json") => {
            out::say(&json::pretty(&json::value(&batch.node())));
            status::GOOD
        }
        Ok(batch) => {
            out::say(&shown(&batch, |key| house.called(key).to_owned()));
            status::GOOD
        }
        Err(faults) => {
            for fault in &faults {
                out::complain(&fault.to_string());
            }
            let none = faults.iter().all(|f| f.kind() == Kind::Reckoning);
            if none { status::NO_SOLUTION } else { status::FAULT }
        }
    }
}

fn shown(batch: &Batch, called: impl Fn(&str) -> String) -> String {
    let mut text = format!("{} from {}\n", batch.title, batch.barley.replace('_', " "));
    for step in &batch.steps {
        let (from, to) = (step.start_h, step.end_h);
        let vessel = called(&step.vessel);
        let _ = writeln!(text, "\n{}, {vessel}: hour {from:.0} to {to:.0}", step.title);
        step.figures.iter().for_each(|f| line(&mut text, f));
    }
    text.push_str("\nTogether\n");
    batch.totals.iter().for_each(|f| line(&mut text, f));
    text.push_str("\nWhere the rest went, litres of pure alcohol a tonne of malt as it is\n");
    line(&mut text, &batch.ceiling);
    batch.losses.iter().for_each(|loss| line(&mut text, &loss.l_t));
    text.push_str("\nBeside a figure, the band that holds it nine times in ten.\n");
    text
}

fn line(text: &mut String, f: &Figure) {
    let value = figure::unit(&figure::fixed(f.value, f.decimals), f.unit);
    let band = f.band.as_ref().map_or_else(String::new, |band| {
        let ends = (figure::fixed(band.low, f.decimals), figure::fixed(band.high, f.decimals));
        format!("  {} to {}", ends.0, ends.1)
    });
    let _ = writeln!(text, "  {:<46} {value:<18}{band}", f.label);
}
