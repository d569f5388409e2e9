//! The charge sheet for the next charge of a still: what goes in, what to expect, where to cut;
//! to be printed and written on.

use super::Pairs;
use super::now::make_name;
use crate::app::{App, Seen, Working};
use crate::caution::{self, Hazard};
use crate::fail;
use crate::layout::{Page, Place, page};
use crate::places::today::unreadable;
use crate::places::{frame, vessel, working};
use crate::when;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use forecast::Figure;
use forecast::stillhouse::{self, Expected, Sheet};
use gauge::Fault;
use house::{Make, Standing};
use maud::{Markup, html};
use sheets::figure::{self, NARROW};
use sheets::{Column, Table};
use std::sync::Arc;

/// The makes a still runs.
pub(super) fn makes<'h>(open: &'h Working, still: &str) -> Vec<&'h Make> {
    let runs = |make: &&Make| make.route.passes.iter().any(|p| p.stills.iter().any(|s| s == still));
    open.house.makes.makes.iter().filter(runs).collect()
}

/// What is expected of the next charge, kept while nothing changes.
pub(super) fn next(
    open: &Working,
    standing: &Standing,
    make: &str,
    still: &str,
) -> Result<Arc<Expected>, Fault> {
    let (fits, _) = open.stillhouse.heads();
    let fitted = super::view::fitted(open, standing.at);
    let key = (make.to_owned(), still.to_owned(), open.book.last().serial, fits);
    let kept = standing.cuts.iter().find(|cuts| cuts.make == make);
    open.stillhouse.sheets.get(key, || Expected::of_next(&open.house, make, still, kept, &fitted))
}

/// The next charge: of what stands there; else the usual one, and why nothing can be charged now.
struct Next {
    make: Option<String>,
    sheet: Option<Sheet>,
    usual: Option<Arc<Expected>>,
    says: Vec<String>,
}

impl Next {
    fn of(open: &Working, standing: &Standing, still: &str, wanted: Option<&str>) -> Self {
        let fitted = super::view::fitted(open, standing.at);
        let mut says = Vec::new();
        match stillhouse::sheet(&open.house, standing, still, wanted, &fitted) {
            Ok(sheet) => {
                return Self {
                    make: Some(sheet.make.clone()),
                    says: sheet.says.clone(),
                    sheet: Some(sheet),
                    usual: None,
                };
            }
            Err(none) => says.push(none.says()),
        }
        let now = standing.at;
        let last = super::view::runs(open, now).ok().and_then(|runs| {
            runs.iter().find(|run| run.still == still).map(|run| run.make.clone())
        });
        let first = || makes(open, still).first().map(|make| make.key.clone());
        let make = wanted.map(str::to_owned).or(last).or_else(first);
        let usual = make.as_deref().and_then(|make| match next(open, standing, make, still) {
            Ok(usual) => Some(usual),
            Err(fault) => {
                says.push(fault.to_string());
                None
            }
        });
        Self { make, sheet: None, usual, says }
    }

    fn draw(&self, app: &App, open: &Working, standing: &Standing) -> Markup {
        let run = self.sheet.as_ref().map(|s| &s.expected).or(self.usual.as_deref());
        html! {
            @if self.sheet.is_none() && run.is_some() {
                p.answer { "The usual charge is shown." }
            }
            @for says in &self.says { p.note { (crate::places::called_sentence(says)) } }
            @if let Some(run) = run { (sheet(app, open, standing, (run, self.sheet.as_ref()))) }
            @else { p.empty { "The next charge cannot be foretold." } }
        }
    }
}

/// The sheet.
pub(super) async fn show(
    State(app): State<Arc<App>>,
    seen: Seen,
    Path(still): Path<String>,
    Query(pairs): Query<Pairs>,
) -> Response {
    let open = match working(&app, &seen, Place::Stillhouse) {
        Ok(open) => open,
        Err(page) => return *page,
    };
    if open.house.vessels("still").all(|known| known.key != still) {
        return fail::refused(StatusCode::NOT_FOUND, "The house has no still of this name.");
    }
    let standing = match open.standing(app.clock.now()) {
        Ok(standing) => standing,
        Err(fault) => return unreadable(&fault),
    };
    let wanted = pairs.iter().find(|(k, _)| k == "make").map(|(_, v)| v.as_str());
    let makes = makes(&open, &still);
    let wanted = wanted.and_then(|key| makes.iter().find(|m| m.key == key)).map(|m| m.key.as_str());
    let next = Next::of(&open, &standing, &still, wanted);
    let Some(make) = next.make.as_deref().or_else(|| makes.first().map(|m| m.key.as_str())) else {
        return fail::refused(StatusCode::NOT_FOUND, "No make of the house runs in this still.");
    };
    let name = vessel(&open, &still);
    let body = next.draw(&app, &open, &standing);
    let title = format!("Charge sheet, {}", crate::form::lower(&name));
    let line = html! {
        p { (make_name(&open, make)) ", " (when::day(&app.clock.here())) }
        div.acts {
            @for other in makes.iter().filter(|m| m.key != make) {
                a.act href={ "/stillhouse/sheet/" (still) "?make=" (other.key) } { (other.name) }
            }
            button.act.main type="button" data-print hidden { "Print the sheet" }
        }
    };
    let here = Page { place: Some(Place::Stillhouse), title: &title, line, body };
    page(&app, &seen, &frame(&app), &here).into_response()
}

fn shown(one: &Figure, unit: &str) -> Markup {
    html! {
        i { (figure::fixed(one.value, one.decimals)) }
        span.u { (NARROW) (unit) }
        @if let Some(band) = &one.band {
            " " span.u.small {
                "± " i { (figure::fixed((band.high - band.low) / 2.0, one.decimals)) }
            }
        }
    }
}

fn sheet(
    app: &App,
    open: &Working,
    standing: &Standing,
    (run, at_hand): (&Expected, Option<&Sheet>),
) -> Markup {
    html! {
        div.sheet {
            section {
                div.sec { h2 { "What goes in" } }
                (goes_in(open, standing, run, at_hand))
            }
            section {
                div.sec { h2 { "What to expect" } p { "± is nine times in ten" } }
                (expect(run))
            }
            section {
                div.sec { h2 { "At the safe" } p { "written by hand" } }
                (readings(run))
            }
            section {
                div.sec { h2 { "Collected" } }
                (collected(run))
            }
            section.stack-s4 {
                (caution::draw_spirit(run.strength_at(0.0).value))
                @if run.pass == "wash" { (caution::draw(Hazard::Foaming)) }
                (caution::draw(Hazard::Still))
                (caution::draw(Hazard::Vacuum))
                (caution::draw(Hazard::NotForDrinking))
            }
            p.only-print.note {
                "Printed " (when::day(&app.clock.here())) ", " (when::clock(&app.clock.here())) "."
            }
        }
    }
}

fn goes_in(open: &Working, standing: &Standing, run: &Expected, at_hand: Option<&Sheet>) -> Markup {
    let make = open.house.make(&run.make);
    let pass = make.and_then(|m| m.route.passes.iter().find(|p| p.name == run.pass));
    let pure = run.charge.volume_20_l * run.charge.strength_pct / 100.0;
    let held = standing.receivers.iter().filter(|r| r.pure_alcohol_l > 0.5);
    let stock: Vec<_> =
        held.filter(|r| run.pass != "wash" && r.vessel != "spirit_receiver").collect();
    html! {
        dl.figs {
            div {
                dt { "charge" }
                dd {
                    i { (figure::fixed(run.charge.volume_20_l, 0)) }
                    span.u { (NARROW) "L at 20 °C" }
                }
            }
            div {
                dt { "at" }
                dd { i { (figure::fixed(run.charge.strength_pct, 1)) } span.u { (NARROW) "% vol" } }
            }
            div {
                dt { "pure alcohol" }
                dd { i { (figure::fixed(pure, 0)) } span.u { (NARROW) "L" } }
            }
        }
        @if let Some(pass) = pass {
            p {
                (make_name(open, &run.make)) ", " (run.pass) " run, of "
                @for (i, part) in pass.charge.iter().enumerate() {
                    @if i > 0 { @if i + 1 == pass.charge.len() { " and " } @else { ", " } }
                    @if part.fraction < 1.0 {
                        (figure::fixed(100.0 * part.fraction, 0)) (NARROW) "% of "
                    }
                    (part.from.rsplit('.').next().unwrap_or(&part.from).replace('_', " "))
                }
                "."
            }
        }
        @if let Some(sheet) = at_hand { (parts(open, sheet)) }
        @if at_hand.is_none() && !stock.is_empty() {
            p.note {
                "In stock now: "
                @for (i, one) in stock.iter().enumerate() {
                    @if i > 0 { "; " }
                    (crate::form::lower(&vessel(open, &one.vessel))) " "
                    (figure::fixed(one.volume_20_l, 0)) (NARROW) "L at "
                    (figure::fixed(one.strength_pct, 1)) (NARROW) "% vol"
                }
                "."
            }
        }
    }
}

/// What is drawn from where, and what stays there.
fn parts(open: &Working, sheet: &Sheet) -> Markup {
    let mut table = Table::new(
        "",
        vec![
            Column::words("from", "from"),
            Column::figures("volume_20_l", "litres at 20 °C", "L", 0).reckoned(),
            Column::figures("strength_pct", "at", "% vol", 1),
            Column::figures("pure_alcohol_l", "pure alcohol", "L", 0).reckoned(),
            Column::figures("stays_20_l", "stays there", "L", 0).reckoned(),
        ],
    );
    for part in &sheet.parts {
        table.row(vec![
            vessel(open, &part.from).into(),
            part.volume_20_l.into(),
            part.strength_pct.into(),
            part.pure_alcohol_l.into(),
            part.stays_20_l.into(),
        ]);
    }
    html! {
        (crate::table::draw(&table))
        @if sheet.water_20_l > 0.5 {
            p {
                "And " i { (figure::fixed(sheet.water_20_l, 0)) } (NARROW) "L of water"
                @if let Some(ceiling) = sheet.ceiling_pct {
                    ", to stay under " (figure::bare(ceiling)) (NARROW) "% vol"
                }
                "."
            }
        }
    }
}

/// First strength, foreshots until, cut strength, litres, end.
fn expect(run: &Expected) -> Markup {
    let heart = run.kept.and_then(|kept| run.heart(kept).ok());
    let end_s = run.trace.end_s();
    let row = |name: &str, value: Markup| {
        html! { tr { th scope="row" { (name) } td.r { (value) } td.blank {} } }
    };
    let litres = |s: process::still::Spirit| {
        html! {
            i { (figure::fixed(s.volume_20_l, 0)) } span.u { (NARROW) "L at " }
            i { (figure::fixed(s.strength_pct, 1)) } span.u { (NARROW) "% vol" }
        }
    };
    html! {
        div.scroll { table {
            thead { tr {
                th {}
                th.r scope="col" { "expected" }
                th scope="col" { "found" }
            } }
            tbody {
                (row("First running, after the heat is on", shown(&run.heat_up(), "h")))
                (row("First strength", shown(&run.strength_at(60.0), "% vol")))
                (row("Flow then", shown(&run.flow_at(60.0), "L/min")))
                (row("Head then", shown(&run.head_at(60.0), "°C")))
                @if let (Some(kept), Some(heart)) = (run.kept, &heart) {
                    (row("Foreshots until", html! {
                        (figure::bare(kept.from_min))
                        span.u { (NARROW) "min after the first running" }
                    }))
                    (row("Strength then", shown(&run.strength_at(60.0 * kept.from_min), "% vol")))
                    (row("Foreshots", litres(heart.foreshots)))
                    (row("Heart until", html! {
                        (figure::bare(kept.to_pct)) span.u { (NARROW) "% vol" }
                    }))
                    @if let Some(h) = heart.figure("heart_to_h") {
                        (row("That is, after the first running", shown(h, "h")))
                    }
                    @for (name, key, unit) in [
                        ("Heart", "heart_20_l", "L at 20 °C"),
                        ("Its strength", "heart_strength_pct", "% vol"),
                        ("Its pure alcohol", "heart_pure_l", "L"),
                    ] {
                        @if let Some(f) = heart.figure(key) { (row(name, shown(f, unit))) }
                    }
                    (row("Feints", litres(heart.feints)))
                } @else {
                    (row("Comes over", shown(&run.over_at(end_s), "L at 20 °C")))
                }
                (row("End, after the first running", html! {
                    i { (figure::fixed(end_s / 3600.0, 1)) } span.u { (NARROW) "h" }
                }))
                (row("Strength at the end", shown(&run.strength_at(end_s), "% vol")))
            }
        } }
    }
}

/// Empty ruled fields beside what is expected at that time.
fn readings(run: &Expected) -> Markup {
    let end_s = run.trace.end_s();
    let places = [0.0, 0.05, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8, 0.9, 1.0];
    html! {
        div.scroll { table {
            thead { tr {
                th scope="col" { "after" }
                th.r scope="col" { "expected, % vol" }
                th scope="col" { "clock" }
                th scope="col" { "hydrometer" }
                th scope="col" { "°C" }
                th scope="col" { "head, °C" }
                th scope="col" { "L/min" }
            } }
            tbody { @for share in places {
                @let at = (end_s * share / 300.0).round() * 300.0;
                tr.write {
                    th scope="row" { (figure::fixed(at / 60.0, 0)) (NARROW) "min" }
                    td.r { i { (figure::fixed(run.strength_at(at.min(end_s)).value, 1)) } }
                    td.blank {} td.blank {} td.blank {} td.blank {} td.blank {}
                }
            } }
        } }
    }
}

fn collected(run: &Expected) -> Markup {
    let names: &[&str] = if run.kept.is_some() {
        &["Foreshots", "Heart", "Feints", "Left in the pot"]
    } else {
        &["Collected", "Left in the pot"]
    };
    html! {
        div.scroll { table {
            thead { tr {
                th {}
                th scope="col" { "clock" } th scope="col" { "litres" } th scope="col" { "°C" }
                th scope="col" { "% vol" } th scope="col" { "into" } th scope="col" { "by" }
            } }
            tbody { @for name in names {
                tr.write {
                    th scope="row" { (name) }
                    td.blank {} td.blank {} td.blank {} td.blank {} td.blank {} td.blank {}
                }
            } }
        } }
    }
}

/// The sheets of all stills, one line each, for the page of the stillhouse.
pub(super) fn all(open: &Working) -> Markup {
    html! {
        section id="sheets" {
            div.sec { h2 { "Charge sheets" } p { "for the next charge of each still" } }
            div.acts {
                @for still in open.house.vessels("still") {
                    a.act href={ "/stillhouse/sheet/" (still.key) } { (vessel(open, &still.key)) }
                }
            }
        }
    }
}
