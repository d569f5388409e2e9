//! The bins as standing columns: what lies where, how old and how smoky, what may be used next and
//! what must wait.

use super::desk::Seen;
use crate::app::{App, Working};
use crate::chart::{Column, Ink, Tier};
use crate::places::vessel;
use crate::{caution, when};
use forecast::maltings::{BinSeen, State};
use maud::{Markup, html};
use sheets::figure::{self, NARROW};

/// All bins.
pub(super) fn section(app: &App, open: &Working, seen: &Seen) -> Markup {
    let bins = seen.bins(open);
    let tallest = bins.iter().map(|bin| bin.holds_kg / 1000.0).fold(0.0, f64::max);
    html! {
        section id="bins" {
            div.sec {
                h2 { "Bins" }
                p {
                    @if bins.iter().all(|b| b.lowest_first) { "lowest layer leaves first" }
                    @else { "layers as they lie" }
                    "; " (figure::bare(tallest)) (NARROW) "t each"
                }
            }
            ul.bins {
                @for bin in bins {
                    li {
                        (column(open, bin).draw(tallest))
                        p { b { (vessel(open, &bin.bin)) } (beneath(app, bin)) }
                    }
                }
            }
            (key(open))
            @for bin in bins {
                @for says in &bin.says { p.note { (vessel(open, &bin.bin)) ": " (says) } }
            }
            (caution::draw(caution::Hazard::Bin))
        }
    }
}

fn column(open: &Working, bin: &BinSeen) -> Column {
    let tiers = bin.layers.iter().map(|layer| Tier {
        tonnes: layer.t,
        ink: ink(open, &layer.make),
        says: vec![
            figure::unit(&figure::fixed(layer.t, 1), "t"),
            figure::unit(&figure::fixed(layer.weeks, 0), "wk"),
        ],
        held: layer.held,
    });
    Column {
        says: format!(
            "{}, {}, {}",
            vessel(open, &bin.bin),
            figure::unit(&figure::fixed(bin.lies_kg / 1000.0, 1), "t"),
            bin.state.word()
        ),
        tiers: tiers.collect(),
        most_t: bin.holds_kg / 1000.0,
    }
}

/// Smoke in figures, and what may be done.
fn beneath(app: &App, bin: &BinSeen) -> Markup {
    let mut smoke: Vec<String> =
        bin.layers.iter().map(|l| figure::fixed(l.phenols_mg_kg_dry, 0)).collect();
    smoke.dedup();
    let none = smoke == ["0"];
    let wanted = matches!(bin.state, State::Held { .. });
    html! {
        @if bin.layers.is_empty() { span.small { "empty" } }
        @else if none { span.small { "no smoke" } }
        @else { span.small { i { (smoke.join("/")) } (NARROW) "mg/kg" } }
        @if let (Some(piece), true) = (bin.for_piece, bin.layers.is_empty()) {
            span.small.soft { "for piece " (piece) }
        } @else if !bin.layers.is_empty() {
            span.small.soft[!wanted].copper[wanted] { (bin.state.word()) }
        }
        @if let Some(by) = bin.use_by.filter(|_| bin.state.may_draw()) {
            span.small.soft { "use by " (when::date(&app.clock.local(by))) }
        }
    }
}

/// The ink of a make: its phenols against the smokiest of the house.
pub(super) fn ink(open: &Working, make: &str) -> Ink {
    let phenols = |m: &house::Make| m.aim.phenols_mg_kg_dry;
    let most = open.house.makes.makes.iter().map(phenols).fold(0.0, f64::max);
    open.house.make(make).map_or(Ink::Idle, |m| Ink::of(phenols(m), most))
}

/// Which ink is which make.
fn key(open: &Working) -> Markup {
    html! {
        p.key {
            @for make in &open.house.makes.makes {
                span {
                    svg aria-hidden="true" {
                        rect class=(ink(open, &make.key).class()) width="22" height="14" {}
                    }
                    (make.name)
                }
            }
        }
    }
}
