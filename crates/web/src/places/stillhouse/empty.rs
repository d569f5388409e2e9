//! From empty, cycle by cycle: how a circuit comes to its balance.

use crate::chart::{Curve, Panel, Plot};
use crate::table;
use forecast::stillhouse::circuit_season::Cycle;
use maud::{Markup, html};
use sheets::{Column, Table, figure};

/// How many cycles are followed.
pub(super) const CYCLES: u32 = 16;

/// The curves, and the same as a table one step away.
pub(super) fn section(cycles: &[Cycle]) -> Markup {
    let x: Vec<f64> = cycles.iter().map(|c| f64::from(c.number)).collect();
    let panel = |height, unit: &str, y: Vec<f64>| Panel {
        height,
        unit: unit.to_owned(),
        curves: vec![Curve { x: x.clone(), y, ..Curve::default() }],
        from_zero: true,
        ..Panel::default()
    };
    let spirit = cycles.iter().map(|c| c.spirit_l).collect();
    let held = cycles.iter().map(Cycle::held_l).collect();
    let last = x.last().copied().unwrap_or(1.0);
    let plot = Plot {
        says: "New spirit of each cycle and what stands in the receivers after it, from empty"
            .to_owned(),
        from: 1.0,
        to: last,
        ticks: (1..=CYCLES)
            .filter(|n| *n == 1 || n % 4 == 0)
            .map(|n| (f64::from(n), figure::fixed(f64::from(n), 0)))
            .collect(),
        marks: Vec::new(),
        panels: vec![
            panel(110, "new spirit of a cycle, L pure alcohol", spirit),
            panel(64, "foreshots and feints that stand, L pure alcohol", held),
        ],
    };
    let mut rows = Table::new(
        "",
        vec![
            Column::figures("cycle", "cycle", "", 0),
            Column::figures("mashes", "mashes so far", "", 1).reckoned(),
            Column::figures("spirit_l", "new spirit", "L pure alcohol", 1).reckoned(),
            Column::figures("held_l", "stands", "L pure alcohol", 1).reckoned(),
        ],
    );
    for cycle in cycles {
        rows.row(vec![
            f64::from(cycle.number).into(),
            cycle.mashes.into(),
            cycle.spirit_l.into(),
            cycle.held_l().into(),
        ]);
    }
    html! {
        section id="empty" {
            div.sec {
                h2 { "From empty, cycle by cycle" }
                p { "receivers clean, no feints yet; a cycle is one round of whole charges" }
            }
            (plot.draw())
            details.how {
                summary { "The cycles as a table" }
                div { (table::draw(&rows)) }
            }
        }
    }
}
