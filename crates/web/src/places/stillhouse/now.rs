//! What stands in the stillhouse now: the stills, and low wines and feints in stock.

use crate::app::{App, Working};
use crate::layout::Live;
use crate::places::vessel;
use crate::when;
use house::Standing;
use maud::{Markup, html};
use sheets::{Column, Table, figure};

/// The line beneath the name of the place.
pub(in crate::places) fn live(app: &App, open: &Working) -> Live {
    let standing = open.book.standing_without_casks(app.clock.now());
    let says = match standing.as_ref().map(|s| s.stills.as_slice()) {
        Ok([]) => "stills at rest".to_owned(),
        Ok([one]) => format!("run {} on", one.run),
        Ok(many) => format!("{} stills on", many.len()),
        Err(_) => String::new(),
    };
    Live { says, wanted: false }
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
    html! {
        section id="stills" {
            div.sec { h2 { "The stills" } }
            div.scroll { table {
                thead { tr {
                    th scope="col" { "still" }
                    th scope="col" { "what it runs" }
                    th.r scope="col" { "charged, L pure alcohol" }
                    th scope="col" { "since" }
                    th scope="col" {}
                } }
                tbody { @for still in open.house.vessels("still") {
                    @let run = standing.stills.iter().find(|run| run.vessel == still.key);
                    tr {
                        th scope="row" { (vessel(open, &still.key)) }
                        @match run {
                            Some(run) => {
                                td {
                                    a href={ "/stillhouse/run/" (run.run) } { "Run " (run.run) }
                                    ", " (make_name(open, &run.make))
                                }
                                td.r { (figure::fixed(run.pure_alcohol_l, 0)) }
                                td { (when::seen(&app.clock.local(run.since), &here)) }
                                td { a href={ "/stillhouse/note/" (still.key) } { "Note a strength" } }
                            },
                            None => {
                                td { "at rest" }
                                td.r {}
                                td {}
                                td { a href={ "/stillhouse/sheet/" (still.key) } { "Charge sheet" } }
                            },
                        }
                    }
                } }
            } }
        }
    }
}

/// What a make is called.
pub(super) fn make_name<'h>(open: &'h Working, key: &'h str) -> &'h str {
    open.house.make(key).map_or(key, |make| make.name.as_str())
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
    let stocked = standing.receivers.iter().filter(|r| r.pure_alcohol_l.abs() > 0.5);
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
            div.sec { h2 { "Held in stock" } }
            @if table.rows.is_empty() {
                p.empty { "Chargers and receivers are empty." }
            } @else { (crate::table::draw(&table)) }
        }
    }
}
