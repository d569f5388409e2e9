//! What stands in the stillhouse now: the stills, and low wines and feints in stock.

use super::view::View;
use crate::app::{App, Working};
use crate::layout::Live;
use crate::places::vessel;
use crate::when;
use house::{Ran, Standing};
use maud::{Markup, html};
use sheets::{Cell, Column, Table, figure};

/// The line beneath the name of the place.
pub(in crate::places) fn live(app: &App, open: &Working) -> Live {
    let now = app.clock.now();
    let says = match open.standing(now) {
        Ok(standing) if standing.stills.is_empty() => "stills at rest".to_owned(),
        Ok(standing) => {
            on(open, &standing, now).unwrap_or_else(|| match standing.stills.as_slice() {
                [one] => format!("run {} on", one.run),
                many => format!("{} stills on", many.len()),
            })
        }
        Err(_) => String::new(),
    };
    Live { says, wanted: false }
}

/// What the run that is cut is at: "heart on, 62.4 %".
fn on(open: &Working, standing: &Standing, now: jiff::Timestamp) -> Option<String> {
    let mut runs = standing.stills.iter().filter_map(|s| open.book.run(s.run, now).ok().flatten());
    let ran = runs.find(|ran| ran.ferment_h.is_none() && !ran.readings.is_empty())?;
    let strength = ran.strengths().last()?.value;
    let cut = match ran.cuts.last().map(|cut| cut.cut.as_str()) {
        None => "foreshots on",
        Some("foreshots") => "heart on",
        Some(_) => "feints on",
    };
    Some(format!("{cut}, {}\u{202f}%", figure::fixed(strength, 1)))
}

/// What is there, beside the name of the page.
pub(super) fn line(app: &App, open: &Working, standing: &Standing) -> String {
    let here = app.clock.here();
    let says: Vec<String> = standing
        .stills
        .iter()
        .map(|run| {
            let since = when::seen(&app.clock.local(run.since), &here);
            let still = crate::form::lower(&vessel(open, &run.vessel));
            format!("{still} charged {since}, run {}", run.run)
        })
        .collect();
    if says.is_empty() { "every still is at rest".to_owned() } else { says.join(" · ") }
}

/// The stills, each with what it runs.
pub(super) fn stills(app: &App, open: &Working, standing: &Standing) -> Markup {
    let here = app.clock.here();
    let mut table = Table::new(
        "",
        vec![
            Column::words("still", "still"),
            Column::words("run", "run"),
            Column::words("make", "make"),
            Column::figures("left", "still in it", "L pure alcohol", 0),
            Column::words("since", "charged"),
            Column::words("act", ""),
        ],
    );
    let linked = |says: String, to: String| {
        let mut cell = Cell::from(says);
        cell.link = Some(to);
        cell
    };
    for still in open.house.vessels("still") {
        let name = vessel(open, &still.key);
        let run = standing.stills.iter().find(|run| run.vessel == still.key);
        table.row(match run {
            Some(run) => vec![
                name.into(),
                linked(format!("Run {}", run.run), format!("/stillhouse/run/{}", run.run)),
                make_name(open, &run.make).into(),
                run.pure_alcohol_l.into(),
                when::seen(&app.clock.local(run.since), &here).into(),
                linked("Note a strength".to_owned(), format!("/stillhouse/note/{}", still.key)),
            ],
            None => vec![
                name.into(),
                "at rest".into(),
                Cell::blank(),
                Cell::blank(),
                Cell::blank(),
                linked("Charge sheet".to_owned(), format!("/stillhouse/sheet/{}", still.key)),
            ],
        });
    }
    html! {
        section id="stills" {
            div.sec { h2 { "The stills" } }
            (crate::table::draw(&table))
        }
    }
}

/// The run that is shown first: of those under way the one that is cut, else the last.
pub(super) fn chosen(standing: &Standing, runs: &[Ran]) -> Option<u32> {
    let on = |run: &&Ran| standing.stills.iter().any(|still| still.run == run.run);
    let under_way = || runs.iter().filter(on);
    let spirit = under_way().find(|run| run.ferment_h.is_none());
    let cut = runs.iter().find(|run| run.cut("heart").is_some());
    spirit.or(cut).or_else(|| under_way().next()).or_else(|| runs.first()).map(|run| run.run)
}

/// The circuits of the makes.
pub(super) fn circuits(app: &App, open: &Working) -> Markup {
    let mut table = Table::new(
        "",
        vec![
            Column::words("make", "make"),
            Column::figures("heart_pct", "heart", "% vol", 1).reckoned(),
            Column::figures("distinct", "distilled, returns left out", "times", 2).reckoned(),
            Column::figures("recycle", "returns counted", "times", 2).reckoned(),
            Column::figures("hours", "stills at work", "h a week", 0).reckoned(),
        ],
    );
    for make in &open.house.makes.makes {
        let mut name = Cell::from(make.name.clone());
        name.link = Some(format!("/stillhouse/circuit/{}", make.key));
        let mut cells = vec![name];
        match super::circuit::settled(app, open, &make.key, None) {
            Ok(now) => cells.extend([
                now.heart_pct.into(),
                now.distinct_stills.into(),
                now.passes_with_recycle.into(),
                now.still_hours_week.into(),
            ]),
            Err(_) => cells.extend((0..4).map(|_| Cell::blank())),
        }
        table.row(cells);
    }
    html! {
        section id="circuits" {
            div.sec { h2 { "The circuits, in balance" } p { "each in a week of nothing else" } }
            (crate::table::draw(&table))
        }
    }
}

/// What the make of a run is called, within a sentence.
pub(super) fn lower_make(open: &Working, view: &View) -> String {
    make_name(open, &view.ran.make).to_owned()
}

/// What a make is called.
pub(super) fn make_name<'h>(open: &'h Working, key: &'h str) -> &'h str {
    open.house.make(key).map_or(key, |make| make.name.as_str())
}

/// Whether a receiver holds what is still to be distilled.
pub(super) fn is_stock(open: &Working, receiver: &house::standing::Receiver) -> bool {
    let what = open.house.vessel(&receiver.vessel).map(|v| &v.what);
    let kind = match what {
        Some(house::Equipment::Receiver(_, holds)) => *holds != "spirit",
        Some(other) => other.kind() == "charger",
        None => false,
    };
    kind && receiver.pure_alcohol_l.abs() > 0.5
}

/// Low wines and feints held back, by vessel.
pub(super) fn stock(open: &Working, standing: &Standing) -> Markup {
    let mut table = Table::new(
        "",
        vec![
            Column::words("vessel", "in"),
            Column::figures("volume_20_l", "litres", "L", 0),
            Column::figures("strength_pct", "strength", "% vol", 1),
            Column::figures("pure_alcohol_l", "pure alcohol", "L", 0),
        ],
    );
    let stocked = standing.receivers.iter().filter(|r| is_stock(open, r));
    for one in stocked {
        table.row(vec![
            vessel(open, &one.vessel).into(),
            one.volume_20_l.into(),
            one.strength_pct.into(),
            one.pure_alcohol_l.into(),
        ]);
    }
    html! {
        section id="stock" {
            div.sec { h2 { "Held in stock" } p { "low wines and feints, by the book" } }
            @if table.rows.is_empty() {
                p.empty { "Chargers and receivers are empty." }
            } @else { (crate::table::draw(&table)) }
        }
    }
}
