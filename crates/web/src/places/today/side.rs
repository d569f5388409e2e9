//! The side column: 36 hours by vessel, and the picture of what is read.

use super::expect::{HOURS, Outlook};
use super::noted::shown_as;
use super::row::NINETY;
use super::work::Due;
use crate::app::{App, Working};
use crate::chart::{Bar, Curve, Ink, Lane, Lanes, Mark, Panel, Plot, Point, Series, hour_ticks};
use crate::when;
use house::House;
use jiff::Timestamp;
use maud::{Markup, html};

/// How far back the time lines begin, hours.
const BACK_H: f64 = 2.0;

/// Every vessel that is in use or wanted, on one clock.
pub(super) fn lanes(app: &App, open: &Working, outlook: &Outlook, due: &[Due]) -> Markup {
    let now = app.clock.now();
    let hours = |at: Timestamp| -(when::ago(at, now) as f64) / 3600.0;
    let mut lanes: Vec<Lane> = Vec::new();
    for (vessel, make, since, name) in held(outlook) {
        let ends = due.iter().find(|d| d.vessel == vessel && !d.reading).map(|d| hours(d.at));
        let from = hours(since).max(-BACK_H);
        let bar =
            Bar { from, to: ends.unwrap_or(HOURS).max(from), ink: ink(&open.house, &make), name };
        lane(&mut lanes, &vessel).bars.push(bar);
    }
    for one in due.iter().filter(|d| !d.reading) {
        let ink = one.make.as_deref().map_or(Ink::Idle, |make| ink(&open.house, make));
        let at = hours(one.at).max(0.0);
        let bar = Bar { from: at, to: (at + 0.75).min(HOURS), ink, name: String::new() };
        lane(&mut lanes, &one.vessel).bars.push(bar);
    }
    let order = |key: &str| open.house.plant.vessels.iter().position(|v| v.key == key);
    lanes.sort_by_key(|lane| order(&lane.name));
    for lane in &mut lanes {
        lane.name = crate::places::vessel(open, &lane.name);
    }
    let plot = Lanes {
        from: -BACK_H,
        to: HOURS,
        now: Some(0.0),
        ticks: ticks(app, now),
        lanes,
        width: 230.0,
    };
    html! {
        section {
            div.sec { h2 { "36 hours by vessel" } }
            @if plot.lanes.is_empty() { p.empty { "Every vessel is empty and nothing is due." } }
            @else { (plot.draw()) (key(&open.house)) }
        }
    }
}

fn lane<'l>(lanes: &'l mut Vec<Lane>, vessel: &str) -> &'l mut Lane {
    let at = lanes.iter().position(|lane| lane.name == vessel).unwrap_or_else(|| {
        lanes.push(Lane { name: vessel.to_owned(), bars: Vec::new() });
        lanes.len() - 1
    });
    &mut lanes[at]
}

/// What lies in each vessel: the vessel, its make, since when, and its name.
fn held(outlook: &Outlook) -> Vec<(String, String, Timestamp, String)> {
    let stand = &outlook.standing;
    let mut out = Vec::new();
    for s in &stand.steeps {
        out.push((s.vessel.clone(), s.make.clone(), s.since, s.piece.to_string()));
    }
    for p in &stand.floors {
        out.push((p.vessel.clone(), p.make.clone(), p.since, format!("piece {}", p.piece)));
    }
    if let Some(k) = &stand.kiln {
        out.push((k.vessel.clone(), k.make.clone(), k.since, format!("piece {}", k.piece)));
    }
    for w in &stand.washbacks {
        out.push((w.vessel.clone(), w.make.clone(), w.set_at, format!("mash {}", w.mash)));
    }
    for r in &stand.stills {
        out.push((r.vessel.clone(), r.make.clone(), r.since, format!("run {}", r.run)));
    }
    out
}

/// Rules at noon and midnight.
fn ticks(app: &App, now: Timestamp) -> Vec<(f64, String)> {
    let mut out = Vec::new();
    let start = app.clock.here();
    for hour in 1..=36_i64 {
        let Ok(at) = Timestamp::from_second((now.as_second() / 3600 + hour) * 3600) else {
            continue;
        };
        let local = app.clock.local(at);
        if local.hour() % 12 == 0 {
            let word = if local.hour() == 0 {
                local.strftime("%a").to_string()
            } else {
                when::clock(&local)
            };
            out.push((-(when::ago(at, start.timestamp()) as f64) / 3600.0, word));
        }
    }
    out
}

/// The ink of a make: its phenols against the smokiest of the house.
fn ink(house: &House, make: &str) -> Ink {
    let phenols = |m: &house::Make| m.aim.phenols_mg_kg_dry;
    let most = house.makes.makes.iter().map(phenols).fold(0.0, f64::max);
    house.make(make).map_or(Ink::Idle, |m| Ink::of(phenols(m), most))
}

fn key(house: &House) -> Markup {
    html! {
        p.key {
            @for make in &house.makes.makes {
                span {
                    svg aria-hidden="true" {
                        rect class=(ink(house, &make.key).class()) width="22" height="14" {}
                    }
                    (make.name)
                }
            }
        }
    }
}

/// The course of what is read: what the make usually does, and what was noted of this one.
pub(super) fn picture(app: &App, outlook: &Outlook, vessel: &str) -> Option<Markup> {
    let now = app.clock.now();
    let stand = &outlook.standing;
    let back = stand.washbacks.iter().find(|w| w.vessel == vessel)?;
    let step = outlook.forecasts.of_make(&back.make)?.step("ferment")?;
    let hours = |at: Timestamp| when::ago(back.set_at, at) as f64 / 3600.0;
    let x = step.curves.columns.first()?.values.clone();
    let (scale, _, _) = shown_as("gravity", "");
    let y: Vec<f64> = step.curves.get("gravity")?.iter().map(|g| g * scale).collect();
    let sd = step.spread.get("gravity");
    let band = sd.map_or(Vec::new(), |sd| {
        y.iter().zip(sd).map(|(y, sd)| (y - NINETY * scale * sd, y + NINETY * scale * sd)).collect()
    });
    let last = x.last().copied().unwrap_or(84.0);
    let points = back.gravity.iter().map(|reading| {
        let expected = step.on_curve("gravity", hours(reading.at));
        let far = expected.is_some_and(|(v, sd)| (reading.value - v).abs() > NINETY * sd);
        Point { series: Series::First, x: hours(reading.at), y: reading.value * scale, far }
    });
    let plot = Plot {
        says: format!(
            "Gravity of {vessel} against hours since setting: the make's usual course \
                       as a line with its band, what was noted as points"
        ),
        from: 0.0,
        to: last,
        ticks: hour_ticks(last),
        marks: vec![Mark { x: hours(now), name: "now".to_owned(), now: true }],
        panels: vec![Panel {
            height: 150,
            unit: "gravity, degrees".to_owned(),
            curves: vec![Curve { x, y, band, ..Curve::default() }],
            points: points.collect(),
            ..Panel::default()
        }],
    };
    Some(html! { div.wide { (plot.draw()) } })
}
