//! Barley in store: what matters of each lot, how to steep it, and which may not be malted yet.

use super::desk::Seen;
use super::floors::{lot_name, make_name};
use crate::app::{App, Working};
use crate::caution::{self, Hazard};
use crate::when;
use forecast::maltings::Offer;
use forecast::maltings::lots::{LotSeen, Verdict};
use maud::{Markup, html};
use process::steep::Kind;
use sheets::figure;

/// The lots.
pub(super) fn section(app: &App, open: &Working, seen: &Seen) -> Markup {
    let lots = seen.lots(open);
    html! {
        section id="lots" {
            div.sec {
                h2 { "Barley lots" }
                p { "moisture as it lies, nitrogen on dry matter" }
                div.acts { a.act href="/maltings/intake" { "A lorry at the gate" } }
            }
            @if lots.is_empty() { p.empty { "No barley is in store." } }
            @else { (table(app, lots)) }
            @for lot in lots {
                @for says in &lot.says {
                    p.note { (lot_name(&lot.lot)) ": " (crate::places::called_sentence(says)) }
                }
            }
            (offers(open, seen))
            (caution::draw(Hazard::Mould))
        }
    }
}

fn table(app: &App, lots: &[LotSeen]) -> Markup {
    let head = ["left, t", "moisture, %", "nitrogen, %", "corn, g", "4 ml, 8 ml", "L/t expected"];
    html! {
        div.scroll { table.stack.lots {
            thead { tr {
                th scope="col" { "lot" }
                @for name in head { th.r scope="col" { (name) } }
                th scope="col" { "steep proposed, wet / rest h" }
            } }
            tbody { @for lot in lots {
                tr {
                    th scope="row" { (lot_name(&lot.lot)) }
                    td.r data-head=(head[0]) { (figure::fixed(lot.left_t, 1)) }
                    (found(lot, "moisture_pct", head[1], 1))
                    (found(lot, "nitrogen_pct_dry", head[2], 2))
                    (found(lot, "corn_weight_g", head[3], 0))
                    td.r data-head=(head[4]) { (germinated(lot)) }
                    td.r data-head=(head[5]) {
                        i { (figure::fixed(lot.expected_l_t.value, 0)) }
                        @if let Some(band) = &lot.expected_l_t.band {
                            " ± " (figure::fixed((band.high - band.low) / 2.0, 0))
                        }
                    }
                    td data-head="steep proposed, wet / rest h" { (steep(app, lot)) }
                }
            } }
        } }
    }
}

fn found(lot: &LotSeen, key: &str, head: &str, decimals: u8) -> Markup {
    let value = lot.figures.iter().find(|f| f.key == key).map(|f| f.value);
    html! {
        td.r data-head=(head) {
            @if let Some(value) = value { (figure::fixed(value, decimals)) }
        }
    }
}

/// Germinated in 4 ml and in 8 ml.
fn germinated(lot: &LotSeen) -> String {
    let of = |key: &str| lot.figures.iter().find(|f| f.key == key).map(|f| f.value);
    let both = [of("germinative_energy_4ml_pct"), of("germinative_energy_8ml_pct")];
    let both: Vec<String> = both.into_iter().flatten().map(|v| figure::fixed(v, 0)).collect();
    both.join(", ")
}

/// The steep proposed, or why there is none yet.
fn steep(app: &App, lot: &LotSeen) -> Markup {
    html! {
        @match &lot.verdict {
            Verdict::MayMalt => (proposed(lot)),
            Verdict::NotYet { why, retest_d } => {
                span.copper { "not yet" }
                ", " (why)
                @if let Some(days) = retest_d {
                    @let hours = jiff::SignedDuration::from_hours((24.0 * days) as i64);
                    @let day = app.clock.local(app.clock.now() + hours);
                    "; retest " i { (when::date(&day)) }
                }
            },
            Verdict::Never { why } => { span.copper { "not for malting" } ", " (why) },
        }
        @if lot.too_wet { " " span.copper { "too wet to store" } }
    }
}

/// "8 / 12 / 9 / 10 / 6": wet and rest by turns, a spray named.
fn proposed(lot: &LotSeen) -> Markup {
    let Some(steep) = &lot.steep else { return html! {} };
    html! {
        @for (i, phase) in steep.programme.phases.iter().enumerate() {
            @if i > 0 { " / " }
            i { (figure::bare((phase.stretch.hours * 2.0).round() / 2.0)) }
            @if phase.kind == Kind::Spray { " spray" }
        }
        @if steep.gently { ", gently" }
    }
}

/// What is offered, with its lots as a person says them.
fn named(offer: &Offer) -> String {
    // The longest first: one name may begin another.
    let mut keys: Vec<&str> = offer.parts.iter().map(|(key, _)| key.as_str()).collect();
    keys.sort_by_key(|key| std::cmp::Reverse(key.len()));
    keys.iter().fold(offer.says.clone(), |says, key| says.replace(key, &lot_name(key)))
}

/// A use for every remainder.
fn offers(open: &Working, seen: &Seen) -> Markup {
    let offers = seen.offers(open);
    html! {
        @if !offers.is_empty() {
            h3.after { "Remainders" }
            ul.offers {
                @for offer in offers {
                    li {
                        (crate::places::called_sentence(&named(offer)))
                        @if let Some(make) = &offer.make { " For " (make_name(open, make)) "." }
                    }
                }
            }
        }
    }
}
