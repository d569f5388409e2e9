//! The kiln: what is on it, its course by depth and time, and what was noted of it.

use super::desk::Seen;
use super::floors::make_name;
use super::noting::{self, Open};
use super::now::hour;
use super::picture;
use crate::app::{App, Working};
use crate::places::vessel;
use crate::when;
use forecast::Figure;
use forecast::maltings::{Between, Kilned};
use jiff::Timestamp;
use maud::{Markup, html};
use sheets::figure::{self, NARROW};

/// The kiln's key.
pub(super) fn key(open: &Working) -> &str {
    open.house.vessels("kiln").next().map_or("kiln", |v| v.key.as_str())
}

/// The kiln, or that it is empty.
pub(super) fn section(app: &App, open: &Working, seen: &Seen, opened: Option<Open<'_>>) -> Markup {
    html! { section id="kiln" { (part(app, open, seen, opened)) } }
}

/// All of it that answers when something of it is noted.
pub(super) fn part(app: &App, open: &Working, seen: &Seen, opened: Option<Open<'_>>) -> Markup {
    let key = key(open);
    let opened = opened.filter(|o| o.is_about(key));
    html! {
        div id={ "f-" (key) } data-part {
            @match &seen.standing.kiln {
                None => {
                    div.sec { h2 { (vessel(open, key)) } }
                    p.empty { "Empty: the next piece can be loaded." }
                },
                Some(on) => {
                    (head(app, open, on))
                    @if let Some(opened) = opened { (noting::form(opened)) }
                    @match seen.kilned(open) {
                        Some(Ok(kilned)) => (drawn(app, kilned, on.dry_kg)),
                        Some(Err(fault)) => p.empty {
                            "Nothing can be reckoned of it: " (fault) "."
                        },
                        None => p.empty { "The book does not know how it came here." },
                    }
                },
            }
            @if let (Some(opened), None) = (opened, &seen.standing.kiln) { (noting::form(opened)) }
        }
    }
}

fn head(app: &App, open: &Working, on: &house::standing::Kilning) -> Markup {
    let at = when::seen(&app.clock.local(on.since), &app.clock.here());
    let turn = noting::address("turn", &on.vessel, Some(on.piece));
    html! {
        div.sec {
            h2 {
                (vessel(open, &on.vessel)) ", piece " (on.piece) ", " (make_name(open, &on.make))
                ", hour " (hour(on.since, app.clock.now()))
            }
            p { "loaded " (at) }
            div.acts {
                a.act href="/maltings/kiln/sheet" { "Kiln sheet" }
                a.act href=(turn) { "Note a turn" }
                a.act.main href=(noting::address("reading", &on.vessel, None)) { "Note a reading" }
            }
        }
    }
}

fn drawn(app: &App, kilned: &Kilned, booked_kg: f64) -> Markup {
    // The book learns what malting cost only when the malt is weighed.
    let dry_kg = kilned.green.as_ref().map_or(booked_kg, |green| green.dry_kg);
    html! {
        (figs(app, kilned, dry_kg))
        (readout(app, kilned))
        (picture::picture(app, kilned).draw())
        @for says in &kilned.says { p.note { (crate::places::called_sentence(says)) } }
        (course(app, kilned))
    }
}

/// A moment with its band: `04:20`, and `Fri, ± 50 min` beneath.
fn moment(app: &App, name: &str, when: Option<Between>) -> Markup {
    html! {
        div {
            dt { (name) }
            @match when {
                Some(when) => {
                    dd { i { (when::seen(&app.clock.local(when.likely), &app.clock.here())) } }
                    dd { "± " (when::span((when.reach_h() * 3600.0) as i64)) }
                },
                None => { dd { "none" } dd { "not in this run" } },
            }
        }
    }
}

/// The figures that decide.
fn figs(app: &App, kilned: &Kilned, dry_kg: f64) -> Markup {
    let value = |key: &str| kilned.figure(key).map(|f| f.value);
    let on_pct = value("moisture_on_pct").unwrap_or(0.0);
    let now = kilned.now();
    let phenols = kilned.figure("phenols_mg_kg_dry");
    html! {
        dl.figs.kiln {
            div {
                dt { "in" }
                dd {
                    i { (figure::fixed(dry_kg / 1000.0 / (1.0 - on_pct / 100.0).max(0.1), 1)) }
                    span.u { (NARROW) "t" }
                }
                dd { i { (figure::fixed(on_pct, 1)) } (NARROW) "% moisture" }
            }
            @if let Some(now) = now {
                div {
                    dt { "moisture now" }
                    dd {
                        i { (figure::fixed(100.0 * now.moisture_wet, 0)) }
                        span.u { (NARROW) "%" }
                    }
                    dd { "mean of the bed" }
                }
            }
            (moment(app, "break", kilned.broke))
            (moment(app, "finish", Some(kilned.finish)))
            div {
                dt { "malt out" }
                dd {
                    i { (figure::fixed(value("malt_kg").unwrap_or(f64::NAN) / 1000.0, 1)) }
                    span.u { (NARROW) "t" }
                }
                dd {
                    i { (figure::fixed(value("moisture_pct").unwrap_or(f64::NAN), 1)) }
                    (NARROW) "% moisture"
                }
            }
            @if let Some(phenols) = phenols.filter(|f| f.value > 0.05) {
                div {
                    dt { "phenols" }
                    dd { i { (figure::fixed(phenols.value, 1)) } span.u { (NARROW) "mg/kg" } }
                    dd { (band(phenols)) }
                }
            }
        }
    }
}

/// `± 1.3`.
pub(super) fn band(figure: &Figure) -> Markup {
    html! {
        @if let Some(band) = &figure.band {
            "± " (figure::fixed((band.high - band.low) / 2.0, figure.decimals))
        }
    }
}

/// The line of figures above the picture: now, beside what was noted last.
fn readout(app: &App, kilned: &Kilned) -> Markup {
    let Some(now) = kilned.now() else { return html! {} };
    let here = app.clock.here();
    let last = kilned.noted_off.last();
    let peat = kilned.noted_peat.last();
    let oil = kilned.noted_oil.last();
    html! {
        p.readout {
            span { (when::clock(&here)) }
            span { "air-on " (reckoned(now.air_on_c, 1, "°C")) }
            span { "air-off " (reckoned(now.air_off_c, 1, "°C")) }
            @if let Some(last) = last {
                span {
                    "last noted " (figure::fixed(last.value, 1)) span.u { (NARROW) "°C" } " "
                    (when::seen(&app.clock.local(last.at), &here))
                }
            }
            @if now.peat_kg > 0.5 || peat.is_some() {
                span { "peat " (fuel(now.peat_kg, peat.map(|p| (p.at, p.value)), kilned.at)) }
            }
            span { "oil " (fuel(now.oil_kg, oil.map(|p| (p.at, p.value)), kilned.at)) }
        }
    }
}

fn reckoned(value: f64, decimals: u8, unit: &str) -> Markup {
    html! { i { (figure::fixed(value, decimals)) } span.u { (NARROW) (unit) } }
}

/// Fuel so far: as noted within the hour, else as reckoned.
fn fuel(reckoned_kg: f64, noted: Option<(Timestamp, f64)>, now: Timestamp) -> Markup {
    html! {
        @match noted.filter(|(at, _)| when::ago(*at, now) < 3600) {
            Some((_, kg)) => { (figure::fixed(kg, 0)) span.u { (NARROW) "kg" } },
            None => (reckoned(reckoned_kg, 0, "kg")),
        }
    }
}

/// The readings of the picture as a table, one step away.
fn course(app: &App, kilned: &Kilned) -> Markup {
    let here = app.clock.here();
    let every = 2.0;
    let mut next = 0.0;
    let mut rows = Vec::new();
    for point in &kilned.points {
        if point.time_h + 1e-9 >= next {
            rows.push(point);
            next = point.time_h + every;
        }
    }
    html! {
        details.how {
            summary { "The course as a table" }
            div { div.scroll { table.stack {
                thead { tr {
                    th scope="col" { "at" }
                    th.r scope="col" { "hour" }
                    th.r scope="col" { "air-on, °C" }
                    th.r scope="col" { "air-off, °C" }
                    th.r scope="col" { "moisture, %" }
                    th.r scope="col" { "phenols, mg/kg" }
                    th.r scope="col" { "peat, kg" }
                    th.r scope="col" { "oil, kg" }
                } }
                tbody { @for point in rows { tr {
                    th scope="row" { (when::seen(&app.clock.local(point.at), &here)) }
                    @for (head, value, decimals) in [
                        ("hour", point.time_h, 0),
                        ("air-on, °C", point.air_on_c, 0),
                        ("air-off, °C", point.air_off_c, 1),
                        ("moisture, %", 100.0 * point.moisture_wet, 1),
                        ("phenols, mg/kg", point.phenols_mg_kg_dry, 1),
                        ("peat, kg", point.peat_kg, 0),
                        ("oil, kg", point.oil_kg, 0),
                    ] {
                        td.r data-head=(head) { i { (figure::fixed(value, decimals)) } }
                    }
                } } }
            } } }
        }
    }
}
