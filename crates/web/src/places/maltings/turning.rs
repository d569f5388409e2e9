//! The fewest turns that hold a piece under its ceiling inside the watches, beside the usual ones.

use super::desk::Seen as Maltings;
use crate::app::{App, Working};
use crate::places::{called, called_sentence};
use crate::when;
use forecast::maltings::Floored;
use house::Malted;
use jiff::Timestamp;
use maud::{Markup, html};
use process::floor::TurnPlan;
use sheets::figure;

/// What is proposed for a piece on its floor.
pub(super) fn section(
    app: &App,
    open: &Working,
    (maltings, malted): (&Maltings, &Malted),
    floored: &Floored,
) -> Markup {
    html! {
        h3 { "Fewest turns" }
        @match &*maltings.turning(open, malted) {
            Ok(plan) => (proposed(app, floored, plan)),
            Err(fault) => p { (called_sentence(&crate::places::why_not(fault))) },
        }
    }
}

fn proposed(app: &App, floored: &Floored, plan: &TurnPlan) -> Markup {
    let here = app.clock.here();
    let moment = |hours: f64| after(floored.laid_at, hours);
    let at = |hours: f64| when::seen(&app.clock.local(moment(hours)), &here);
    let ahead = |at_h: f64| moment(at_h) > floored.at;
    let turns: Vec<_> = plan.turns.iter().filter(|turn| ahead(turn.at_h)).collect();
    let spreads: Vec<_> = plan.spreads.iter().filter(|spread| ahead(spread.at_h)).collect();
    let on_call = |at_h: f64| plan.on_call_h.iter().any(|h| (h - at_h).abs() < 0.01);
    html! {
        p {
            i { (turns.len()) } " turns hold it under "
            (figure::unit(&figure::fixed(floored.ceiling_c, 1), "°C")) " until it is ready; its \
            warmest would be " i { (figure::unit(&figure::fixed(plan.highest_c, 1), "°C")) }
            ", in the middle " i { (figure::unit(&figure::fixed(plan.highest_core_c, 1), "°C")) }
            ". Ready " i { (at(plan.ready.at_h)) } ", from " (at(plan.ready.from_h)) " to "
            (at(plan.ready.to_h)) "."
        }
        @for says in &plan.binds { p.note { (called_sentence(says)) } }
        details.how {
            summary { (turns.len()) " turns proposed" }
            div { div.scroll { table {
                thead { tr { th scope="col" { "at" } th scope="col" { "what" } } }
                tbody {
                    @for turn in &turns { tr {
                        th scope="row" { i { (at(turn.at_h)) } }
                        td {
                            (called(turn.how.word()))
                            @if on_call(turn.at_h) { ", by the one on call" }
                        }
                    } }
                    @for spread in &spreads { tr {
                        th scope="row" { i { (at(spread.at_h)) } }
                        td {
                            "Spread over "
                            (figure::unit(&figure::fixed(100.0 * spread.covered_fraction, 0), "%"))
                            " of the floor"
                        }
                    } }
                }
            } } }
        }
    }
}

fn after(laid_at: Timestamp, hours: f64) -> Timestamp {
    let second = laid_at.as_second() + (3600.0 * hours).round() as i64;
    Timestamp::from_second(second).unwrap_or(laid_at)
}
