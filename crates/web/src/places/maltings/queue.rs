//! What waits for the kiln, and what each hour of it costs.

use super::desk::Seen;
use super::floors::{lot_name, make_name};
use crate::app::{App, Working};
use crate::when;
use forecast::maltings::Waiting;
use forecast::maltings::queue::Load;
use maud::{Markup, html};
use sheets::figure;

/// The queue.
pub(super) fn section(app: &App, open: &Working, seen: &Seen) -> Markup {
    let waiting = seen.waiting(open);
    html! {
        section id="queue" {
            div.sec { h2 { "Waiting for the kiln" } }
            @if waiting.is_empty() {
                p.empty { "Nothing will be ready for it yet." }
            } @else {
                (table(app, open, waiting))
                @for one in waiting {
                    @for (i, says) in one.says.iter().enumerate() {
                        p.note.copper[one.too_long && i == 0] { (says) }
                    }
                }
            }
        }
    }
}

fn table(app: &App, open: &Working, waiting: &[Waiting]) -> Markup {
    let here = app.clock.here();
    let at = |moment| when::seen(&app.clock.local(moment), &here);
    html! {
        div.scroll { table {
            thead { tr {
                th scope="col" { "piece" }
                th.r scope="col" { "ready" }
                th.r scope="col" { "waits, h" }
                th.r scope="col" { "costs, L" }
            } }
            tbody { @for one in waiting { tr {
                th scope="row" { (name(open, one)) }
                td.r { i { (at(one.ready.likely)) } }
                td.r {
                    @if one.too_long {
                        span.copper { i { (figure::fixed(one.waits_h, 0)) } }
                    } @else { i { (figure::fixed(one.waits_h, 0)) } }
                }
                td.r { i { (figure::fixed(one.costs_l, 0)) } }
            } } }
        } }
    }
}

/// What waits, in words.
pub(super) fn name(open: &Working, one: &Waiting) -> Markup {
    html! {
        @match &one.load {
            Load::Piece(piece) => {
                a href={ "/maltings/piece/" (piece) } { (piece) ", " (make_name(open, &one.make)) }
            },
            Load::Lot(lot) => { (lot_name(lot)) ", to dry" },
        }
    }
}
