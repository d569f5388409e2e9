//! One piece from its barley to its bin: what was noted of it and what was expected.

use super::Pairs;
use super::desk::Seen as Maltings;
use super::floors::{self, days, lot_name, make_name};
use super::noting::{self, Open};
use super::{kiln, steeps, turning};
use crate::app::{App, Seen, Working};
use crate::chart::{Curve, Mark, Panel, Plot, Point, Series};
use crate::fail;
use crate::layout::{Page, Place, page};
use crate::places::today::sent::Filled;
use crate::places::today::{asked, unreadable};
use crate::places::{called, called_sentence, frame, vessel, working};
use crate::when;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use forecast::Figure;
use forecast::maltings::{Factor, Floored, Noted, Steeped};
use house::Malted;
use jiff::Timestamp;
use maud::{Markup, html};
use sheets::figure::{self, NARROW};
use std::sync::Arc;

/// The page of a piece.
pub(super) async fn show(
    State(app): State<Arc<App>>,
    seen: Seen,
    Path(piece): Path<String>,
    Query(pairs): Query<Pairs>,
) -> Response {
    let open = match working(&app, &seen, Place::Maltings) {
        Ok(open) => open,
        Err(page) => return *page,
    };
    let maltings = match Maltings::at(&open, app.clock.now()) {
        Ok(maltings) => maltings,
        Err(fault) => return unreadable(&fault),
    };
    let known = piece.parse().ok().and_then(|n: u32| maltings.piece(&open, n));
    let Some(malted) = known else {
        let why = format!("No piece {piece} is in the book.");
        return fail::refused(StatusCode::NOT_FOUND, &why);
    };
    let ask = asked(&app, &open, &pairs).ok().flatten();
    let filled = Filled::of(&app, &pairs);
    let opened = ask.as_ref().map(|ask| Open { ask, filled: &filled });
    whole(&app, &seen, &open, (&maltings, &malted), (&pairs, opened), StatusCode::OK)
}

/// The page, with the form that is open in it.
pub(super) fn whole(
    app: &App,
    seen: &Seen,
    open: &Arc<Working>,
    (maltings, malted): (&Maltings, &Malted),
    (pairs, opened): (&Pairs, Option<Open<'_>>),
    status: StatusCode,
) -> Response {
    let body = html! {
        (noting::done(pairs))
        @if let Some(opened) = opened { (noting::form(opened)) }
        @if let Some(Ok(floored)) = maltings.floored(open, malted.piece) {
            (floor(app, open, floored, (maltings, malted)))
        } @else if let Some(laid) = &malted.floor {
            (was_laid(app, open, laid))
        }
        (on_kiln(app, open, maltings, malted))
        (stripped(app, open, malted))
        @match maltings.steeped(open, malted.piece) {
            Some(Ok(steeped)) => (steep(app, open, steeped, maltings.now())),
            _ => (was_steeped(app, open, malted)),
        }
        (barley(malted))
    };
    let title = format!("Piece {}", malted.piece);
    let line = html! {
        p { (make_name(open, &malted.make)) ", " (place(open, malted)) }
        p { a href="/maltings" { "the maltings" } }
    };
    let here = Page { place: Some(Place::Maltings), title: &title, line, body };
    (status, page(app, seen, &frame(app), &here)).into_response()
}

/// Where it is.
fn place(open: &Working, malted: &Malted) -> String {
    let bins: Vec<String> =
        malted.stripped.iter().map(|s| crate::form::lower(&vessel(open, &s.bin))).collect();
    if !bins.is_empty() {
        return format!("in {}", bins.join(" and "));
    }
    let at = malted
        .kiln
        .as_ref()
        .map(|k| &k.vessel)
        .or(malted.floor.as_ref().map(|f| &f.vessel))
        .unwrap_or(&malted.steep.vessel);
    format!("on {}", crate::form::lower(&vessel(open, at)))
}

fn floor(app: &App, open: &Working, floored: &Floored, of: (&Maltings, &Malted)) -> Markup {
    let turn = noting::address("turn", &floored.vessel, Some(floored.piece));
    let thin = noting::address("thin", &floored.vessel, Some(floored.piece));
    html! {
        section id="floor" {
            div.sec {
                h2 { (vessel(open, &floored.vessel)) }
                p { "cast " (when::seen(&app.clock.local(floored.laid_at), &app.clock.here())) }
                div.acts {
                    a.act href=(thin) { "Thin or thicken" }
                    a.act.main href=(turn) { "Note the turn" }
                }
            }
            @for says in &floored.says { p { (called_sentence(says)) } }
            (grown(floored).draw())
            div.half {
                (beside(app, "Grain temperature", "°C", &floored.noted))
                (figures("As it is loaded when ready", &floored.figures))
            }
            (factor(&floored.respiration))
            (turns(app, floored))
            (turning::section(app, open, of, floored))
        }
    }
}

/// Temperature with its band and the core, over softening and acrospire.
fn grown(floored: &Floored) -> Plot {
    let day = |at: Timestamp| days(floored.laid_at, at);
    let x: Vec<f64> = floored.points.iter().map(|p| day(p.at)).collect();
    let last = x.last().copied().unwrap_or(1.0).max(1.0);
    let reach = forecast::figure::NINE_IN_TEN;
    let curve = |of: &dyn Fn(&forecast::maltings::Point) -> f64, name: &str, series| Curve {
        series,
        x: x.clone(),
        y: floored.points.iter().map(of).collect(),
        name: name.to_owned(),
        ..Curve::default()
    };
    let mut grain = curve(&|p| p.grain_c, "grain", Series::First);
    let band = |p: &forecast::maltings::Point| {
        (p.grain_c - reach * p.grain_sd_c, p.grain_c + reach * p.grain_sd_c)
    };
    grain.band = floored.points.iter().map(band).collect();
    let strip = floors::strip(floored);
    let point = |&(x, y, far): &(f64, f64, bool)| Point { series: Series::First, x, y, far };
    let acrospires = floored.acrospires.iter().map(|one| Point {
        series: Series::Second,
        x: day(one.at),
        y: one.value,
        far: false,
    });
    let whole_days = last.floor() as u32;
    let word =
        |d: u32| if d == whole_days { figure::unit(&d.to_string(), "d") } else { d.to_string() };
    Plot {
        says: format!("Piece {}: grain temperature and growth over its days", floored.piece),
        from: 0.0,
        to: last,
        ticks: (0..=whole_days).map(|d| (f64::from(d), word(d))).collect(),
        marks: vec![
            Mark { x: day(floored.at), name: "now".to_owned(), now: true },
            Mark { x: day(floored.ready.likely), name: "ready".to_owned(), now: false },
        ],
        panels: vec![
            Panel {
                height: 170,
                unit: "grain, °C".to_owned(),
                curves: vec![curve(&|p| p.core_c, "core", Series::Second), grain],
                points: strip.noted.iter().map(point).collect(),
                ..Panel::default()
            },
            Panel {
                height: 90,
                unit: "softened and acrospire, of 1".to_owned(),
                curves: vec![
                    curve(&|p| p.modification, "softened", Series::First),
                    curve(&|p| p.acrospire, "acrospire", Series::Second),
                ],
                points: acrospires.collect(),
                from_zero: true,
                ..Panel::default()
            },
        ],
    }
}

/// Noted beside expected.
fn beside(app: &App, name: &str, unit: &str, all: &[Noted]) -> Markup {
    let here = app.clock.here();
    html! {
        div {
            @if all.is_empty() { p.empty { (name) ": nothing noted yet." } }
            @else {
                h3 { (name) ", " (unit) }
                div.scroll { table {
                    thead { tr {
                        th scope="col" { "at" }
                        th.r scope="col" { "expected" }
                        th.r scope="col" { "noted" }
                        th.r scope="col" { "apart" }
                    } }
                    tbody { @for one in all.iter().rev().take(12) { tr {
                        th scope="row" { (when::seen(&app.clock.local(one.at), &here)) }
                        td.r { i { (figure::fixed(one.before, 1)) } }
                        td.r { (figure::fixed(one.value, 1)) }
                        td.r { (figure::signed(one.value - one.before, 1)) }
                    } } }
                } }
            }
        }
    }
}

/// Reckoned figures with their bands.
fn figures(name: &str, all: &[Figure]) -> Markup {
    html! {
        div {
            h3 { (name) }
            div.scroll { table {
                tbody { @for one in all.iter().filter(|f| f.value.is_finite()) { tr {
                    th scope="row" { (called(one.label)) }
                    td.r {
                        i { (figure::fixed(one.value, one.decimals)) }
                        span.u { (NARROW) (one.unit) }
                        @if one.band.is_some() { " " span.u.small { (kiln::band(one)) } }
                    }
                } } }
            } }
        }
    }
}

/// What the readings bent, and how far that is known.
pub(super) fn factor(factor: &Factor) -> Markup {
    let half = forecast::figure::NINE_IN_TEN * factor.sd * factor.value;
    html! {
        p.note {
            (called(factor.label)) ": " i { (figure::fixed(factor.value, 2)) }
            " ± " i { (figure::fixed(half, 2)) } " of the usual; " (factor.says.word()) "."
        }
    }
}

fn turns(app: &App, floored: &Floored) -> Markup {
    let here = app.clock.here();
    let at = |moment: Timestamp| when::seen(&app.clock.local(moment), &here);
    html! {
        details.how {
            summary {
                (floored.turns_done.len()) " turns done, " (floored.turns_due.len()) " to come"
            }
            div { div.scroll { table {
                thead { tr {
                    th scope="col" { "at" } th scope="col" { "how" } th scope="col" { "why" }
                } }
                tbody {
                    @for due in &floored.turns_due { tr {
                        th scope="row" { i { (at(due.at)) } }
                        td { (called(floors::how(due.how))) }
                        td { (due.why) @if due.on_call { ", by the one on call" } }
                    } }
                    @for (done, how) in floored.turns_done.iter().rev() { tr {
                        th scope="row" { (at(*done)) }
                        td { (called(floors::how(*how))) }
                        td { "done" }
                    } }
                }
            } } }
        }
    }
}

fn was_laid(app: &App, open: &Working, laid: &house::malted::Laid) -> Markup {
    let here = app.clock.here();
    let at = |moment: Timestamp| when::seen(&app.clock.local(moment), &here);
    html! {
        section id="floor" {
            div.sec { h2 { (vessel(open, &laid.vessel)) } p { "cast " (at(laid.at)) } }
            p {
                (laid.turns.len()) " turns, " (laid.spreads.len()) " thinnings or thickenings, "
                (laid.grain_c.len()) " temperatures noted."
            }
        }
    }
}

fn on_kiln(app: &App, open: &Working, maltings: &Maltings, malted: &Malted) -> Markup {
    let Some(on) = &malted.kiln else { return html! {} };
    let here = maltings.standing.kiln.as_ref().is_some_and(|k| k.piece == malted.piece);
    html! {
        section id="kiln" {
            div.sec {
                h2 { (vessel(open, &on.vessel)) }
                p { "loaded " (when::seen(&app.clock.local(on.at), &app.clock.here())) }
                @if here { div.acts { a.act href="/maltings#kiln" { "See it on the kiln" } } }
            }
            @if let Some(Ok(kilned)) = maltings.kilned(open).filter(|_| here) {
                div.half {
                    (beside(app, "Air-off", "°C", &kilned.noted_off))
                    (figures("As it comes off", &kilned.figures))
                }
                @for one in &kilned.factors { (factor(one)) }
            } @else {
                p {
                    (on.air_off_c.len()) " air-off and " (on.air_on_c.len())
                    " air-on temperatures noted."
                }
            }
        }
    }
}

fn stripped(app: &App, open: &Working, malted: &Malted) -> Markup {
    let here = app.clock.here();
    let note = format!("/maltings/piece/{0}?note=laboratory&k.piece={0}#note", malted.piece);
    html! {
        @if !malted.stripped.is_empty() {
            section id="malt" {
                div.sec {
                    h2 { "Malt" }
                    div.acts { a.act href=(note) { "Note a malt analysis" } }
                }
                div.scroll { table.stack {
                    thead { tr {
                        th scope="col" { "stripped" } th scope="col" { "bin" }
                        th.r scope="col" { "t" } th.r scope="col" { "moisture, %" }
                        th.r scope="col" { "phenols, mg/kg" }
                    } }
                    tbody { @for one in &malted.stripped { tr {
                        th scope="row" { (when::seen(&app.clock.local(one.at), &here)) }
                        td data-head="bin" { (vessel(open, &one.bin)) }
                        td.r data-head="t" { (figure::fixed(one.kg / 1000.0, 2)) }
                        td.r data-head="moisture, %" {
                            (figure::fixed(100.0 * one.moisture_wet, 1))
                        }
                        td.r data-head="phenols, mg/kg" {
                            (figure::fixed(one.phenols_mg_kg_dry, 1))
                        }
                    } } }
                } }
                (analyses(app, malted))
            }
        }
    }
}

fn analyses(app: &App, malted: &Malted) -> Markup {
    let here = app.clock.here();
    let cell = |head: &str, value: Option<f64>, decimals: u8| {
        html! {
            td.r data-head=(head) { @if let Some(v) = value { (figure::fixed(v, decimals)) } }
        }
    };
    html! {
        @if malted.analyses.is_empty() { p.empty { "No laboratory has said anything of it yet." } }
        @else {
            div.scroll { table.stack {
                thead { tr {
                    th scope="col" { "laboratory" } th.r scope="col" { "moisture, %" }
                    th.r scope="col" { "phenols, mg/kg" } th scope="col" { "found by" }
                    th.r scope="col" { "extract, % dry" } th.r scope="col" { "NDMA, µg/kg" }
                    th scope="col" { "release" }
                } }
                tbody { @for one in &malted.analyses { tr {
                    th scope="row" { (when::seen(&app.clock.local(one.at), &here)) }
                    (cell("moisture, %", one.moisture_wet.map(|m| 100.0 * m), 1))
                    (cell("phenols, mg/kg", one.phenols_mg_kg_dry, 1))
                    td data-head="found by" { (one.method) }
                    (cell("extract, % dry", one.extract_pct_dry, 1))
                    (cell("NDMA, µg/kg", one.ndma_ug_kg, 1))
                    td data-head="release" {
                        @match one.release {
                            Some(true) => "released",
                            Some(false) => span.copper { "held" },
                            None => {},
                        }
                    }
                } } }
            } }
        }
    }
}

fn steep(app: &App, open: &Working, steeped: &Steeped, now: Timestamp) -> Markup {
    let here = app.clock.here();
    let at = |moment: Timestamp| when::seen(&app.clock.local(moment), &here);
    html! {
        section id="steep" {
            div.sec {
                h2 { (vessel(open, &steeped.vessel)) }
                p { "under water " (at(steeped.since)) ", to be cast " i { (at(steeped.cast)) } }
            }
            @for says in &steeped.says { p { (called_sentence(says)) } }
            (steeps::picture(steeped, now).draw())
            div.half {
                div.scroll { table {
                    thead { tr {
                        th scope="col" { "from" } th scope="col" { "" }
                        th.r scope="col" { "h" } th.r scope="col" { "°C" }
                        th.r scope="col" { "moisture at its end, %" }
                    } }
                    tbody { @for one in &steeped.stretches { tr {
                        th scope="row" {
                            @if one.noted { (at(one.from)) } @else { i { (at(one.from)) } }
                        }
                        td { (steeps::stretch(one)) }
                        td.r { (figure::fixed(when::ago(one.from, one.to) as f64 / 3600.0, 1)) }
                        td.r { (figure::fixed(one.temperature_c, 1)) }
                        td.r { i { (figure::fixed(100.0 * one.moisture_wet, 1)) } }
                    } } }
                } }
                (figures("As it is cast", &steeped.figures))
            }
            (factor(&steeped.drinking))
        }
    }
}

fn was_steeped(app: &App, open: &Working, malted: &Malted) -> Markup {
    let at = when::seen(&app.clock.local(malted.steep.at), &app.clock.here());
    html! {
        section id="steep" {
            div.sec { h2 { (vessel(open, &malted.steep.vessel)) } p { "under water " (at) } }
            p {
                (malted.steep.waters.len()) " changes of water and "
                (malted.steep.moisture_wet.len()) " moistures noted."
            }
        }
    }
}

fn barley(malted: &Malted) -> Markup {
    let whole: f64 = malted.parts.iter().map(|p| p.dry_kg).sum();
    html! {
        section id="barley" {
            div.sec { h2 { "Barley" } p { "shares by dry grain" } }
            div.scroll { table {
                thead { tr {
                    th scope="col" { "lot" } th.r scope="col" { "dry, t" }
                    th.r scope="col" { "moisture, %" } th.r scope="col" { "share, %" }
                } }
                tbody { @for part in &malted.parts { tr {
                    th scope="row" { (lot_name(&part.lot)) }
                    td.r { (figure::fixed(part.dry_kg / 1000.0, 2)) }
                    td.r { (figure::fixed(100.0 * part.moisture_wet, 1)) }
                    td.r { (figure::fixed(100.0 * part.dry_kg / whole.max(1e-9), 0)) }
                } } }
            } }
        }
    }
}
