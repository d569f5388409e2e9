//! The cuts proposed, and what each wish costs: litres against phenols.
//!
//! A proposal is advice beside the nose. It stands in its own column and on its own marks, and
//! only a hand puts it in the fields.

use super::Pairs;
use super::view::{Followed, View};
use crate::chart::{Curve, Label, Panel, Plot, Point, Series, nice_ticks};
use forecast::stillhouse::{Cuts, Heart};
use maud::{Markup, html};
use process::still::{Tradeoff, Wanted};
use sheets::figure::{self, NARROW};
use std::convert::Infallible;
use std::sync::Arc;

/// A proposal as it is shown.
#[derive(Debug)]
pub(super) struct Proposed {
    /// The cuts.
    pub(super) cuts: Cuts,
    /// The heart between them.
    pub(super) heart: Option<Heart>,
    binds: Vec<String>,
    frontier: Vec<Tradeoff>,
    wishes: Wanted,
}

/// What is wished for: as it was typed; where nothing was, as the last runs gave.
fn wishes_of(view: &View, followed: &Followed, pairs: &Pairs) -> Wanted {
    let typed = |key: &str, range: std::ops::RangeInclusive<f64>| {
        let text = pairs.iter().find(|(k, _)| k == key).map(|(_, v)| v.as_str())?;
        figure::typed(text).filter(|v| range.contains(v))
    };
    let asked = Wanted {
        least_strength_pct: typed("want_strength", 1.0..=94.0),
        most_phenols_mg_l: typed("want_phenols", 0.0..=1000.0),
        ..Wanted::default()
    };
    if asked == Wanted::default() {
        followed.run.usual_wanted(&view.before).unwrap_or_default()
    } else {
        asked
    }
}

fn said(wanted: &Wanted) -> String {
    let all = [
        wanted.least_strength_pct.map(|v| format!("at least {}", unit(v, 1, "% vol"))),
        wanted.least_phenols_mg_l.map(|v| format!("at least {} of phenols", unit(v, 1, "mg/L"))),
        wanted.most_phenols_mg_l.map(|v| format!("at most {} of phenols", unit(v, 1, "mg/L"))),
    ];
    let all: Vec<String> = all.into_iter().flatten().collect();
    all.join(", ")
}

fn unit(value: f64, decimals: u8, of: &str) -> String {
    figure::unit(&figure::fixed(value, decimals), of)
}

/// The proposal for what is wished, kept with the run; or why there is none.
pub(super) fn of(
    view: &View,
    followed: &Followed,
    pairs: &Pairs,
) -> Option<Result<Arc<Proposed>, String>> {
    followed.run.kept?;
    let wishes = wishes_of(view, followed, pairs);
    let bits = |v: Option<f64>| v.map(f64::to_bits);
    let key = (bits(wishes.least_strength_pct), bits(wishes.most_phenols_mg_l));
    let found = followed.proposals.get(key, || {
        let found = match followed.run.proposal(&wishes) {
            Ok(found) => found,
            Err(fault) => return Ok::<_, Infallible>(Err(format!("{fault}."))),
        };
        let cuts = Cuts {
            from_min: (found.heart_from_s / 60.0).round().max(1.0),
            to_pct: (found.heart_to_pct * 10.0).round() / 10.0,
        };
        let heart = followed.run.heart(cuts).ok();
        let (binds, frontier) = (found.binds, found.frontier);
        Ok(Ok(Arc::new(Proposed { cuts, heart, binds, frontier, wishes })))
    });
    found.ok().map(|found| (*found).clone())
}

/// The trade-off as a curve, the present cut marked on it, and what is wished for.
pub(super) fn section(
    view: &View,
    heart: Option<&Heart>,
    proposed: Result<&Proposed, &str>,
) -> Markup {
    let proposed = match proposed {
        Ok(proposed) => proposed,
        Err(why) => {
            return html! {
                section id="tradeoff" {
                    div.sec { h2 { "What a later cut costs" } }
                    p.empty { "No cut can be proposed: " (why) }
                }
            };
        }
    };
    html! {
        section id="tradeoff" {
            div.sec {
                h2 { "What a later cut costs" }
                p { "each place of the curve is one end of the heart" }
            }
            p {
                "For " (said(&proposed.wishes)) " the most spirit comes of a heart from "
                i { (figure::fixed(proposed.cuts.from_min, 0)) } (NARROW) "min until "
                i { (figure::fixed(proposed.cuts.to_pct, 1)) } (NARROW) "% vol"
                @if let Some(heart) = &proposed.heart {
                    ": " i { (figure::fixed(pure(heart), 0)) } (NARROW) "L pure alcohol"
                }
                "."
                @if !proposed.binds.is_empty() {
                    " It is held there by " (proposed.binds.join(", ")) "."
                }
            }
            (frontier(view, heart, Some(proposed)))
        }
    }
}

fn pure(heart: &Heart) -> f64 {
    heart.figure("heart_pure_l").map_or(0.0, |f| f.value)
}

/// The curve: it answers when a cut is moved.
pub(super) fn frontier(view: &View, heart: Option<&Heart>, proposed: Option<&Proposed>) -> Markup {
    let Some(proposed) = proposed else { return html! {} };
    let peated = proposed.frontier.iter().any(|t| t.phenols_mg_l > 0.05);
    let across = |t: &Tradeoff| if peated { t.phenols_mg_l } else { t.strength_pct };
    let mut along: Vec<&Tradeoff> = proposed.frontier.iter().collect();
    along.sort_by(|a, b| across(a).total_cmp(&across(b)));
    let mut panel = Panel {
        height: 170,
        unit: "L pure alcohol".to_owned(),
        curves: vec![Curve {
            x: along.iter().map(|t| across(t)).collect(),
            y: along.iter().map(|t| t.pure_alcohol_l).collect(),
            ..Curve::default()
        }],
        ..Panel::default()
    };
    let key = if peated { "smoke_mg_l" } else { "heart_strength_pct" };
    let at = |h: &Heart| h.figure(key).map(|f| (f.value, pure(h)));
    let named = [heart.and_then(at), proposed.heart.as_ref().and_then(at)];
    let (low, high) = ends(&panel);
    for t in spread(&along) {
        // Where a cut has its name, another would cover it.
        let close = |(x, _): (f64, f64)| (x - across(t)).abs() < 0.14 * (high - low);
        if named.into_iter().flatten().any(close) {
            continue;
        }
        let says = unit(t.heart_to_pct, 0, "%");
        let (x, y) = (across(t), t.pure_alcohol_l);
        panel.labels.push(Label { x, y, says, bold: false, above: false });
        panel.points.push(Point { series: Series::Third, x, y, far: false });
    }
    let cut = heart.and_then(at);
    let (low, high) = ends(&panel);
    let near = |(x, _): (f64, f64)| cut.is_some_and(|(c, _)| (c - x).abs() < 0.12 * (high - low));
    if let Some((x, y)) = proposed.heart.as_ref().and_then(at) {
        // Beside the present cut it stands beneath the curve.
        let (says, above) = ("proposed".to_owned(), !near((x, y)));
        panel.labels.push(Label { x, y, says, bold: false, above });
        panel.points.push(Point { series: Series::Second, x, y, far: false });
    }
    if let Some((x, y)) = cut {
        let says = "as cut".to_owned();
        panel.labels.push(Label { x, y, says, bold: true, above: true });
        panel.points.push(Point { series: Series::First, x, y, far: false });
    }
    let (low, high) = ends(&panel);
    let plot = Plot {
        says: format!(
            "Run {}: litres of pure alcohol in the heart against its {}, for ends of the heart \
             from early to late",
            view.ran.run,
            if peated { "phenols" } else { "strength" }
        ),
        from: low,
        to: high,
        ticks: ticks(low, high, if peated { "mg/L" } else { "% vol" }),
        marks: Vec::new(),
        panels: vec![panel],
    };
    html! { div id="frontier" data-part { (plot.draw()) } }
}

/// From where to where a panel reaches.
fn ends(panel: &Panel) -> (f64, f64) {
    let lines = panel.curves.iter().flat_map(|c| c.x.iter().copied());
    let all = panel.points.iter().map(|p| p.x).chain(lines);
    all.fold((f64::MAX, f64::MIN), |(l, h), x| (l.min(x), h.max(x)))
}

fn ticks(low: f64, high: f64, unit: &str) -> Vec<(f64, String)> {
    let (at, decimals) = nice_ticks(low, high);
    let last = at.len().saturating_sub(1);
    let word = |(i, v): (usize, f64)| {
        let text = figure::fixed(v, decimals);
        (v, if i == last { figure::unit(&text, unit) } else { text })
    };
    at.into_iter().enumerate().map(word).collect()
}

/// Four places along the curve to put a name to.
fn spread<'t>(along: &[&'t Tradeoff]) -> Vec<&'t Tradeoff> {
    let step = (along.len() / 5).max(1);
    along.iter().skip(step).step_by(step).take(4).copied().collect()
}

/// The fields of what is wished for: they belong to the form of the cuts.
pub(super) fn wishes(proposed: Option<&Proposed>, pairs: &Pairs) -> Markup {
    let text = |key: &str| pairs.iter().find(|(k, _)| k == key).map_or("", |(_, v)| v.as_str());
    let strength = proposed.and_then(|p| p.wishes.least_strength_pct);
    let phenols = proposed.and_then(|p| p.wishes.most_phenols_mg_l);
    let open = !text("want_strength").is_empty() || !text("want_phenols").is_empty();
    html! {
        details open[open] {
            summary { "What is wanted of the heart" }
            div.pair {
                (wish(["want_strength", "At least", "% vol"], text("want_strength"), strength))
                (wish(["want_phenols", "Phenols at most", "mg/L"], text("want_phenols"), phenols))
            }
        }
    }
}

fn wish([name, label, unit]: [&str; 3], typed: &str, taken: Option<f64>) -> Markup {
    let hint = format!("hint-{name}");
    html! {
        div.field {
            label for=(name) { (label) }
            div.entry {
                input id=(name) name=(name) value=(typed) inputmode="decimal" autocomplete="off"
                    aria-describedby=(hint);
                span.u { (unit) }
            }
            p.hint id=(hint) {
                @if let Some(taken) = taken { "now " (figure::fixed(taken, 1)) }
                @else { "no limit if left empty" }
            }
        }
    }
}
