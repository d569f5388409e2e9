//! The kiln sheet: what is on the wire, how it is fired, what to expect hour by hour, and ruled
//! fields to write in what was found.

use super::Pairs;
use super::desk::Seen as Maltings;
use super::floors::{lot_name, make_name};
use super::kiln;
use crate::app::{App, Seen, Working};
use crate::caution::{self, Hazard};
use crate::fail;
use crate::layout::{Page, Place, page};
use crate::places::today::unreadable;
use crate::places::{called_sentence, frame, working};
use crate::when;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use forecast::Figure;
use forecast::maltings::queue::Load;
use forecast::maltings::{self, Kilned};
use house::Malted;
use maud::{Markup, html};
use sheets::figure::{self, NARROW};
use std::sync::Arc;

/// Hours between the lines that are written on.
const EVERY_H: f64 = 2.0;

/// The piece of the sheet: the one asked for, the one on the kiln, else the next that waits.
fn chosen(open: &Working, seen: &Maltings, pairs: &Pairs) -> Option<u32> {
    let asked = pairs.iter().find(|(k, _)| k == "piece").and_then(|(_, v)| v.parse().ok());
    let on = seen.standing.kiln.as_ref().map(|on| on.piece);
    let next = || {
        seen.waiting(open).iter().find_map(|one| match one.load {
            Load::Piece(piece) => Some(piece),
            Load::Lot(_) => None,
        })
    };
    asked.or(on).or_else(next)
}

/// The sheet.
pub(super) async fn show(
    State(app): State<Arc<App>>,
    seen: Seen,
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
    let piece = chosen(&open, &maltings, &pairs);
    let malted = piece.and_then(|piece| maltings.malted(piece));
    let Some(malted) = malted else {
        let why = "No piece is on the kiln or on its way to it, so there is no sheet to print.";
        return fail::refused(StatusCode::NOT_FOUND, why);
    };
    let body = match course(&open, &maltings, malted) {
        Ok(kilned) => sheet(&app, malted, &kilned),
        Err(fault) => html! { p.empty { "Nothing can be reckoned of it: " (fault) "." } },
    };
    let title = format!("Kiln sheet, piece {}", malted.piece);
    let others = maltings.standing.malted.iter().filter(|m| m.floor.is_some());
    let line = html! {
        p { (make_name(&open, &malted.make)) ", " (when::day(&app.clock.here())) }
        div.acts {
            @for other in others.filter(|m| m.piece != malted.piece) {
                a.act href={ "/maltings/kiln/sheet?piece=" (other.piece) } {
                    "Piece " (other.piece)
                }
            }
            button.act.main type="button" data-print hidden { "Print the sheet" }
        }
    };
    let here = Page { place: Some(Place::Maltings), title: &title, line, body };
    page(&app, &seen, &frame(&app), &here).into_response()
}

/// Its course: as it goes on the kiln, or as if it were lit now.
fn course(open: &Working, seen: &Maltings, malted: &Malted) -> Result<Kilned, gauge::Fault> {
    let on = seen.standing.kiln.as_ref().is_some_and(|on| on.piece == malted.piece);
    if let Some(found) = seen.kilned(open).filter(|_| on) {
        return found.clone();
    }
    let kept = seen.firing(malted.piece);
    maltings::kilning(&open.house, &seen.standing, malted, kept, seen.now())
}

fn sheet(app: &App, malted: &Malted, kilned: &Kilned) -> Markup {
    html! {
        div.sheet {
            section { div.sec { h2 { "On the wire" } } (wire(malted, kilned)) }
            section {
                div.sec {
                    h2 { "The firing" }
                    p {
                        @if kilned.kept { "as kept for this piece" }
                        @else { "as the make is usually fired" }
                    }
                }
                (firing(kilned))
            }
            section {
                div.sec { h2 { "What to expect" } p { "± is nine times in ten" } }
                (expect(app, kilned))
            }
            section {
                div.sec { h2 { "By the clock" } p { "written by hand" } }
                (readings(app, kilned))
            }
            section { div.sec { h2 { "Stripped" } } (stripped()) }
            section.stack-s4 { (caution::draw(Hazard::Kiln)) (caution::draw(Hazard::Burner)) }
            p.only-print.note {
                "Printed " (when::day(&app.clock.here())) ", " (when::clock(&app.clock.here())) "."
            }
        }
    }
}

fn wire(malted: &Malted, kilned: &Kilned) -> Markup {
    let value = |key: &str| kilned.figure(key).map_or(f64::NAN, |f| f.value);
    let lots: Vec<String> = malted.parts.iter().map(|p| lot_name(&p.lot)).collect();
    html! {
        dl.figs {
            div {
                dt { "bed" }
                dd {
                    i { (figure::fixed(value("bed_dry_kg_m2"), 0)) }
                    span.u { (NARROW) "kg/m² dry" }
                }
            }
            div {
                dt { "moisture" }
                dd {
                    i { (figure::fixed(value("moisture_on_pct"), 1)) }
                    span.u { (NARROW) "%" }
                }
            }
            div { dt { "barley" } dd.words { (lots.join(" and ")) } }
        }
    }
}

/// The firing step by step.
fn firing(kilned: &Kilned) -> Markup {
    html! {
        ol.steps-said {
            @for says in kilned.firing.says() { li { (called_sentence(&says)) } }
            @for turn in &kilned.turns_h {
                li { "Turn the bed after " i { (figure::fixed(*turn, 1)) } (NARROW) "h." }
            }
        }
    }
}

fn shown(one: &Figure) -> Markup {
    html! {
        i { (figure::fixed(one.value, one.decimals)) } span.u { (NARROW) (one.unit) }
        @if one.band.is_some() { " " span.u.small { (kiln::band(one)) } }
    }
}

fn expect(app: &App, kilned: &Kilned) -> Markup {
    let here = app.clock.here();
    let row = |name: &str, value: Markup| {
        html! { tr { th scope="row" { (name) } td.r { (value) } td.blank {} } }
    };
    let moment = |when: forecast::maltings::Between| {
        html! {
            i { (when::seen(&app.clock.local(when.likely), &here)) }
            " " span.u.small { "± " (when::span((when.reach_h() * 3600.0) as i64)) }
        }
    };
    let keys = ["moisture_pct", "phenols_mg_kg_dry", "malt_kg", "oil_kg", "peat_kg", "fan_kwh"];
    html! {
        div.scroll { table {
            thead { tr { th {} th.r scope="col" { "expected" } th scope="col" { "found" } } }
            tbody {
                @if let Some(broke) = kilned.broke { (row("Break", moment(broke))) }
                (row("Finish", moment(kilned.finish)))
                @for one in keys.iter().filter_map(|key| kilned.figure(key)) {
                    (row(&crate::places::called(one.label), shown(one)))
                }
            }
        } }
    }
}

/// Empty ruled fields beside what is expected at that time.
fn readings(app: &App, kilned: &Kilned) -> Markup {
    let here = app.clock.here();
    let last = kilned.points.last().map_or(0.0, |p| p.time_h);
    let count = (last / EVERY_H).floor().max(0.0) as usize;
    let at = |h: f64| {
        kilned.points.iter().min_by(|a, b| (a.time_h - h).abs().total_cmp(&(b.time_h - h).abs()))
    };
    html! {
        div.scroll { table {
            thead { tr {
                th scope="col" { "clock" }
                th.r scope="col" { "hour" }
                th.r scope="col" { "air-on, set" }
                th.r scope="col" { "air-off, expected" }
                th scope="col" { "air-on" }
                th scope="col" { "air-off" }
                th scope="col" { "peat, kg" }
                th scope="col" { "oil, kg" }
                th scope="col" { "by" }
            } }
            tbody { @for i in 0..=count {
                @if let Some(point) = at(EVERY_H * i as f64) {
                    tr.write {
                        th scope="row" { (when::seen(&app.clock.local(point.at), &here)) }
                        td.r { (figure::fixed(point.time_h, 0)) }
                        td.r { i { (figure::fixed(point.air_on_c, 0)) } }
                        td.r {
                            i { (figure::fixed(point.air_off_c, 0)) }
                            @let reach = (point.air_off_high_c - point.air_off_low_c) / 2.0;
                            " " span.u.small { "± " (figure::fixed(reach, 0)) }
                        }
                        td.blank {} td.blank {} td.blank {} td.blank {} td.blank {}
                    }
                }
            } }
        } }
    }
}

fn stripped() -> Markup {
    html! {
        div.scroll { table {
            thead { tr {
                th {}
                th scope="col" { "clock" } th scope="col" { "kg" } th scope="col" { "moisture, %" }
                th scope="col" { "bin" } th scope="col" { "by" }
            } }
            tbody { @for name in ["Malt, dressed", "Rootlets and dust"] {
                tr.write {
                    th scope="row" { (name) }
                    td.blank {} td.blank {} td.blank {} td.blank {} td.blank {}
                }
            } }
        } }
    }
}
