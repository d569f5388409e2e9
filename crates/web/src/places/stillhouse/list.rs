//! The last runs.

use super::now::make_name;
use crate::app::{App, Working};
use crate::places::vessel;
use crate::when;
use house::Ran;
use maud::{Markup, html};
use sheets::{Cell, Column, Table};

/// How many are listed.
const LISTED: usize = 16;

/// The last runs, each leading to its page.
pub(super) fn last_runs(app: &App, open: &Working, runs: &[Ran], chosen: Option<u32>) -> Markup {
    let mut table = Table::new(
        "",
        vec![
            Column::words("run", "run"),
            Column::words("make", "make"),
            Column::words("still", "still"),
            Column::words("charged", "charged"),
            Column::figures("charged_l", "charge", "L pure alcohol", 0),
            Column::figures("heart_l", "heart", "L", 0),
            Column::figures("heart_pct", "at", "% vol", 1),
            Column::figures("heart_pure_l", "pure alcohol", "L", 0),
            Column::figures("difference_l", "increase or deficiency", "L", 1),
        ],
    );
    let here = app.clock.here();
    for ran in runs.iter().take(LISTED) {
        let heart = ["heart", "low_wines", "middle"].iter().find_map(|name| ran.cut(name));
        let figure = |of: fn(&house::ran::Collected) -> f64| {
            heart.map_or_else(Cell::blank, |cut| of(cut).into())
        };
        let mut name = Cell::from(format!("Run {}", ran.run));
        name.link = Some(format!("/stillhouse/run/{}", ran.run));
        let make = make_name(open, &ran.make).to_owned();
        let make = if ran.transition { format!("{make}, transition") } else { make };
        table.row(vec![
            name,
            make.into(),
            vessel(open, &ran.still).into(),
            when::seen(&app.clock.local(ran.charged_at), &here).into(),
            ran.charged_l().into(),
            figure(|cut| cut.volume_20_l),
            figure(|cut| cut.strength_pct),
            figure(|cut| cut.pure_alcohol_l),
            if ran.ended() { ran.difference_l.into() } else { Cell::blank() },
        ]);
        if chosen == Some(ran.run)
            && let Some(row) = table.rows.last_mut()
        {
            row.kind = sheets::RowKind::Open;
        }
    }
    html! {
        section id="runs" {
            div.sec {
                h2 { "The last runs" }
                p { "of a run that is not cut, what came over" }
            }
            @if table.rows.is_empty() {
                p.empty { "No run is in the book yet. The first begins with its charge." }
            } @else { (crate::table::draw(&table)) }
        }
    }
}
