//! The same by JSON: runs, what any cut of one would give, circuits, and the next charge.

use super::run::Cutting;
use super::view::{self, View};
use super::{Pairs, circuit, sheet};
use crate::app::{App, Working};
use forecast::Figure;
use house::Ran;
use serde_json::{Value, json};
use std::sync::Arc;

/// Why there is no answer.
pub(crate) enum Refused {
    /// Nothing has this name or number.
    Missing(&'static str),
    /// What was asked cannot be, by field where one bears it.
    Wrong(Vec<(Option<String>, String)>),
    /// The book cannot be read now.
    NotNow(String),
}

type Answer = Result<Value, Refused>;

fn unread(fault: &book::StoreFault) -> Refused {
    Refused::NotNow(format!("{fault}."))
}

/// The last runs, newest first.
pub(crate) fn runs(app: &App, open: &Working) -> Answer {
    let runs = view::runs(open, app.clock.now()).map_err(|fault| unread(&fault))?;
    Ok(json!({ "runs": runs.iter().take(60).map(short).collect::<Vec<_>>() }))
}

fn short(ran: &Ran) -> Value {
    json!({
        "run": ran.run, "still": ran.still, "make": ran.make, "transition": ran.transition,
        "charged_at": ran.charged_at.to_string(), "ended": ran.ended(),
        "charged_pure_alcohol_l": ran.charged_l(),
        "cuts": ran.cuts.iter().map(|cut| json!({
            "cut": cut.cut, "to": cut.to, "at": cut.at.to_string(),
            "volume_20_l": cut.volume_20_l, "strength_pct": cut.strength_pct,
            "pure_alcohol_l": cut.pure_alcohol_l,
        })).collect::<Vec<_>>(),
        "difference_l": ran.difference_l,
    })
}

fn found(app: &App, open: &Working, run: &str) -> Result<Arc<Option<View>>, Refused> {
    let none = || Refused::Missing(NO_RUN);
    let number = run.parse().map_err(|_| none())?;
    View::of(open, number, app.clock.now()).map_err(|fault| unread(&fault))
}

const NO_RUN: &str = "No run of this number is in the book.";

/// One run: what was noted, and what is expected of it along its course.
pub(crate) fn run(app: &App, open: &Working, run: &str) -> Answer {
    let view = found(app, open, run)?;
    let view = view.as_ref().as_ref().ok_or(Refused::Missing(NO_RUN))?;
    let mut out = short(&view.ran);
    let readings = view.ran.readings.iter().map(|safe| {
        json!({
            "at": safe.at.to_string(), "strength_pct": safe.strength_pct,
            "reading_pct": safe.reading_pct, "temperature_c": safe.temperature_c,
            "head_c": safe.head_c, "flow_l_min": safe.flow_l_min,
        })
    });
    out["readings"] = readings.collect();
    out["expected"] = match &view.expected {
        Ok(followed) => {
            let run = &followed.run;
            let last = run.trace.end_s();
            let at = |i: i32| last * f64::from(i) / 60.0;
            let places = (0..=60).map(|i| {
                json!({
                    "time_s": at(i), "strength_pct": banded(&run.strength_at(at(i))),
                    "flow_l_min": banded(&run.flow_at(at(i))),
                    "head_c": banded(&run.head_at(at(i))),
                    "over_20_l": banded(&run.over_at(at(i))),
                })
            });
            json!({
                "first_running_at": followed.first.to_string(),
                "course": places.collect::<Vec<_>>(),
            })
        }
        Err(fault) => json!({ "why_not": fault.to_string() }),
    };
    Ok(out)
}

fn banded(figure: &Figure) -> Value {
    let band = figure.band.as_ref();
    json!({
        "value": figure.value, "low": band.map(|b| b.low), "high": band.map(|b| b.high),
    })
}

fn figures(all: &[Figure]) -> Value {
    let one = |f: &Figure| {
        let mut value = banded(f);
        value["unit"] = f.unit.into();
        (f.key.to_owned(), value)
    };
    Value::Object(all.iter().map(one).collect())
}

/// What the heart of a run would be between two cuts.
pub(crate) fn heart(app: &App, open: &Working, run: &str, pairs: &Pairs) -> Answer {
    let view = found(app, open, run)?;
    let view = view.as_ref().as_ref().ok_or(Refused::Missing(NO_RUN))?;
    let cutting = Cutting::of(view, pairs)
        .ok_or(Refused::Missing("This run is not cut, or nothing can be expected of it."))?;
    let Some(heart) = &cutting.heart else {
        let asked = &cutting.asked;
        let wrong = [("from_min", &asked.from_wrong), ("to_pct", &asked.to_wrong)];
        let told = wrong
            .into_iter()
            .filter_map(|(key, wrong)| Some((Some(key.to_owned()), wrong.as_ref()?.says.clone())));
        return Err(Refused::Wrong(told.collect()));
    };
    let congeners: Vec<Value> = heart
        .congeners
        .iter()
        .map(|c| {
            json!({
                "key": c.key, "before": c.before, "within": c.within, "after": c.after,
                "left": c.left,
                "fitted": cutting.followed.run.known(c.group)
                    == forecast::stillhouse::Known::Fitted,
            })
        })
        .collect();
    Ok(json!({
        "run": view.ran.run,
        "from_min": heart.cuts.from_min, "to_pct": heart.cuts.to_pct,
        "figures": figures(&heart.figures), "congeners": congeners,
    }))
}

/// A make's circuit in balance.
pub(crate) fn circuit(app: &App, open: &Working, make: &str, pairs: &Pairs) -> Answer {
    let known = open.house.make(make);
    let known = known.ok_or(Refused::Missing("The house has no make of this name."))?;
    let skip = match pairs.iter().find(|(k, _)| k == "skip") {
        None => None,
        Some((_, text)) => {
            let share = text.parse::<f64>().ok().filter(|s| (0.0..=1.0).contains(s));
            let says = "skip is a share from 0 to 1.".to_owned();
            Some(share.ok_or(Refused::Wrong(vec![(Some("skip".to_owned()), says)]))?)
        }
    };
    let now = circuit::settled(app, open, &known.key, skip)
        .map_err(|fault| Refused::Wrong(vec![(None, format!("{fault}."))]))?;
    let flows = now.flows.iter().map(|flow| {
        json!({
            "stream": flow.stream, "from": flow.from, "to": flow.to,
            "pure_alcohol_l": flow.pure_alcohol_l, "returns": flow.returns,
        })
    });
    Ok(json!({
        "make": now.make, "skip": now.skip, "flows": flows.collect::<Vec<_>>(),
        "heart_pct": now.heart_pct, "phenols_mg_l": now.phenols_mg_l,
        "distinct_stills": now.distinct_stills, "passes_with_recycle": now.passes_with_recycle,
        "feints_held_l": now.feints_held.pure_alcohol_l(),
        "still_hours_week": now.still_hours_week, "residual": now.residual,
    }))
}

/// What is expected of the next charge of a still.
pub(crate) fn next(app: &App, open: &Working, still: &str, pairs: &Pairs) -> Answer {
    if open.house.vessels("still").all(|known| known.key != still) {
        return Err(Refused::Missing("The house has no still of this name."));
    }
    let standing = open.standing(app.clock.now()).map_err(|fault| unread(&fault))?;
    let makes = sheet::makes(open, still);
    let wanted = pairs.iter().find(|(k, _)| k == "make").map(|(_, v)| v.as_str());
    let make = match wanted {
        Some(key) => makes.iter().find(|m| m.key == key),
        None => makes.first(),
    };
    let make = make.ok_or(Refused::Missing("No such make runs in this still."))?;
    let run = sheet::next(open, &standing, &make.key, still)
        .map_err(|fault| Refused::Wrong(vec![(None, format!("{fault}."))]))?;
    let heart = run.kept.and_then(|kept| run.heart(kept).ok());
    Ok(json!({
        "still": run.still, "make": run.make, "pass": run.pass,
        "charge_20_l": run.charge.volume_20_l, "charge_pct": run.charge.strength_pct,
        "heat_up_h": banded(&run.heat_up()),
        "first_strength_pct": banded(&run.strength_at(60.0)),
        "from_min": run.kept.map(|k| k.from_min), "to_pct": run.kept.map(|k| k.to_pct),
        "heart": heart.map(|h| figures(&h.figures)),
        "end_h": run.trace.end_s() / 3600.0,
    }))
}
