//! The bins as standing columns: what lies where, how old and how smoky, what may be used next.

use super::now::layer_kg;
use crate::app::{App, Working};
use crate::chart::{Column, Ink, Tier};
use crate::places::vessel;
use crate::{caution, when};
use house::standing::{Bin, Layer};
use house::{Equipment, Standing};
use maud::{Markup, html};
use sheets::figure::{self, NARROW};

/// Seconds in a week.
const WEEK_S: f64 = 7.0 * 86_400.0;

/// All bins.
pub(super) fn section(app: &App, open: &Working, standing: &Standing) -> Markup {
    let bins: Vec<_> = open.house.vessels("bin").collect();
    let tallest = bins.iter().filter_map(|v| most_t(&v.what)).fold(0.0, f64::max);
    html! {
        section id="bins" {
            div.sec {
                h2 { "Bins" }
                p {
                    "first in lies at the bottom and leaves first; "
                    (figure::bare(tallest)) (NARROW) "t each"
                }
            }
            ul.bins {
                @for known in &bins {
                    @let held = standing.bins.iter().find(|b| b.vessel == known.key);
                    li {
                        (column(app, open, known, held).draw(tallest))
                        p {
                            b { (vessel(open, &known.key)) }
                            (beneath(held))
                        }
                    }
                }
            }
            (key(open))
            (caution::draw(caution::Hazard::Bin))
        }
    }
}

fn most_t(what: &Equipment) -> Option<f64> {
    match what {
        Equipment::Bin(_, bin) => Some(bin.measures.holds_kg / 1000.0),
        _ => None,
    }
}

fn weeks(app: &App, layer: &Layer) -> f64 {
    when::ago(layer.since, app.clock.now()) as f64 / WEEK_S
}

fn column(app: &App, open: &Working, known: &house::Vessel, held: Option<&Bin>) -> Column {
    let layers = held.map_or(&[][..], |bin| &bin.layers);
    let tiers = layers.iter().map(|layer| {
        let tonnes = layer_kg(layer) / 1000.0;
        Tier {
            tonnes,
            ink: ink(open, &layer.make),
            says: vec![
                figure::unit(&figure::fixed(tonnes, 1), "t"),
                figure::unit(&figure::fixed(weeks(app, layer), 0), "wk"),
            ],
            held: layer.held,
        }
    });
    let tiers: Vec<Tier> = tiers.collect();
    let total: f64 = tiers.iter().map(|t| t.tonnes).sum();
    Column {
        says: format!(
            "{}: {} in {} layers",
            vessel(open, &known.key),
            figure::unit(&figure::fixed(total, 1), "t"),
            tiers.len()
        ),
        tiers,
        most_t: most_t(&known.what).unwrap_or(total),
    }
}

/// Smoke in figures.
fn beneath(held: Option<&Bin>) -> Markup {
    let layers = held.map_or(&[][..], |bin| &bin.layers);
    let smoke: Vec<String> = layers.iter().map(|l| figure::fixed(l.phenols_mg_kg_dry, 0)).collect();
    html! {
        @if layers.is_empty() { span.small { "empty" } }
        @else { span.small { (smoke.join("/")) (NARROW) "mg/kg" } }
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
