//! Barley under water: how wet it is, its waters and rests by the clock, and when it can be cast.

use super::desk::Seen;
use super::floors::{lots_said, make_name, piece_link};
use super::noting::{self, Open};
use crate::app::{App, Working};
use crate::chart::{Curve, Mark, Panel, Plot, Point, Series, hour_ticks};
use crate::places::vessel;
use crate::when;
use forecast::maltings::{Steeped, Steeping};
use house::Vessel;
use house::standing::Steeping as Under;
use jiff::Timestamp;
use maud::{Markup, html};
use sheets::figure::{self, NARROW};

/// How unsure a moisture read by hand is, nine times in ten, points.
const READ_PCT: f64 = 1.0;

/// All steeps.
pub(super) fn section(app: &App, open: &Working, seen: &Seen, opened: Option<Open<'_>>) -> Markup {
    html! {
        section id="steeps" {
            div.sec {
                h2 { "Steeps" }
                p { "moisture of the corn, %; shaded is under water" }
            }
            @for steep in open.house.vessels("steep") { (row(app, open, seen, steep, opened)) }
        }
    }
}

/// One steep, with what lies in it.
pub(super) fn row(
    app: &App,
    open: &Working,
    seen: &Seen,
    steep: &Vessel,
    opened: Option<Open<'_>>,
) -> Markup {
    let under = seen.standing.steeps.iter().find(|s| s.vessel == steep.key);
    let name = vessel(open, &steep.key);
    let opened = opened.filter(|o| o.is_about(&steep.key));
    html! {
        div.piece-row id={ "f-" (steep.key) } data-part {
            @match under {
                None => div { h3 { (name) } p.soft { "empty" } },
                Some(under) => (lying(app, open, seen, (under, &name))),
            }
            @if let Some(opened) = opened { (noting::form(opened)) }
        }
    }
}

fn lying(app: &App, open: &Working, seen: &Seen, (under, name): (&Under, &str)) -> Markup {
    let found = seen.steeped(open, under.piece);
    let water = noting::address("water", &under.vessel, Some(under.piece));
    let read = noting::address("reading", &under.vessel, None);
    html! {
        div {
            h3 { (name) ", " (piece_link(under.piece)) }
            @match found {
                Some(Ok(steeped)) => (said(app, open, steeped)),
                _ => p.soft { (make_name(open, &under.make)) },
            }
        }
        div.strip {
            @match found {
                Some(Ok(steeped)) => (picture(steeped, seen.now()).draw()),
                Some(Err(fault)) => p.empty { "Nothing can be reckoned of it: " (fault) "." },
                None => p.empty { "The book does not know how it came here." },
            }
        }
        div.go {
            a.act href=(water) { "Note the water" }
            a.act href=(read) { "Note a reading" }
        }
    }
}

/// What a stretch is called.
pub(super) fn stretch(one: &Steeping) -> &'static str {
    if one.under_water { "wet" } else { "rest" }
}

fn said(app: &App, open: &Working, steeped: &Steeped) -> Markup {
    let here = app.clock.here();
    let now = here.timestamp();
    let at = |moment: Timestamp| when::seen(&app.clock.local(moment), &here);
    let next = steeped.stretches.iter().find(|s| s.from > now);
    html! {
        p.soft { (make_name(open, &steeped.make)) ", " (lots_said(&steeped.lots)) }
        @if let Some(next) = next {
            p.soft {
                (if next.under_water { "fill " } else { "drain " }) i { (at(next.from)) }
            }
        }
        dl.figs {
            div {
                dt { "moisture" }
                dd {
                    i { (figure::fixed(100.0 * steeped.moisture_now_wet, 1)) }
                    span.u { (NARROW) "%" }
                }
            }
            div { dt { "cast" } dd { i { (at(steeped.cast)) } } }
        }
        @for says in &steeped.says { p.note { (crate::places::called_sentence(says)) } }
    }
}

/// Moisture over the hours, what was noted upon it.
pub(super) fn picture(steeped: &Steeped, now: Timestamp) -> Plot {
    let hours = |at: Timestamp| when::ago(steeped.since, at) as f64 / 3600.0;
    let last = steeped.points.last().map_or(1.0, |p| hours(p.at)).max(1.0);
    let points = steeped.noted.iter().map(|one| {
        let (y, before) = (100.0 * one.value, 100.0 * one.before);
        Point { series: Series::First, x: hours(one.at), y, far: (y - before).abs() > READ_PCT }
    });
    let wet = steeped.stretches.iter().filter(|s| s.under_water);
    Plot {
        says: format!("Piece {} in its steep: moisture over the hours", steeped.piece),
        from: 0.0,
        to: last,
        ticks: hour_ticks(last),
        marks: vec![Mark { x: hours(now), name: "now".to_owned(), now: true }],
        panels: vec![Panel {
            height: 74,
            unit: String::new(),
            curves: vec![Curve {
                x: steeped.points.iter().map(|p| hours(p.at)).collect(),
                y: steeped.points.iter().map(|p| 100.0 * p.moisture_wet).collect(),
                ..Curve::default()
            }],
            points: points.collect(),
            shaded: wet.map(|s| (hours(s.from), hours(s.to).min(last))).collect(),
            ..Panel::default()
        }],
    }
}
