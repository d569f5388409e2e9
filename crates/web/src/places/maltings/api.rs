//! The same by JSON: pieces, the kiln, what waits for it, bins, lots, and the answer of the gate.

use super::Pairs;
use super::desk::Seen;
use crate::app::{App, Working};
use crate::places::stillhouse_api::Refused;
use forecast::Figure;
use forecast::maltings::gate::{Decision, Does, Nose, Weighed, gate};
use forecast::maltings::lots::Verdict;
use forecast::maltings::queue::Load;
use forecast::maltings::{Between, Factor, Floored, Kilned, Noted, Steeped};
use house::Malted;
use house::malted::Turning;
use serde_json::{Map, Value, json};
use std::sync::Arc;

type Answer = Result<Value, Refused>;

fn seen(app: &App, open: &Working) -> Result<Arc<Seen>, Refused> {
    Seen::at(open, app.clock.now()).map_err(|fault| Refused::NotNow(format!("{fault}.")))
}

fn between(moment: &Between) -> Value {
    json!({
        "from": moment.from.to_string(), "likely": moment.likely.to_string(),
        "to": moment.to.to_string(),
    })
}

fn figures(all: &[Figure]) -> Value {
    let one = |f: &Figure| {
        let band = f.band.as_ref();
        let value = json!({
            "value": f.value, "unit": f.unit,
            "low": band.map(|b| b.low), "high": band.map(|b| b.high),
        });
        (f.key.to_owned(), value)
    };
    Value::Object(all.iter().map(one).collect::<Map<_, _>>())
}

fn noted(all: &[Noted]) -> Value {
    let one = |n: &Noted| {
        json!({
            "at": n.at.to_string(), "value": n.value, "expected": n.before,
            "after": n.expected,
        })
    };
    all.iter().map(one).collect()
}

fn factor(f: &Factor) -> Value {
    json!({
        "key": f.key, "value": f.value, "sd_ln": f.sd, "before_sd_ln": f.before_sd,
        "learned": f.learned,
    })
}

/// The pieces not yet stripped.
pub(crate) fn pieces(app: &App, open: &Working) -> Answer {
    let seen = seen(app, open)?;
    let list: Vec<Value> = seen.standing.malted.iter().map(short).collect();
    Ok(json!({ "at": seen.now().to_string(), "pieces": list }))
}

/// Where a piece is, in a word.
fn stage(malted: &Malted) -> &'static str {
    if !malted.stripped.is_empty() {
        "bin"
    } else if malted.kiln.is_some() {
        "kiln"
    } else if malted.floor.is_some() {
        "floor"
    } else {
        "steep"
    }
}

fn short(malted: &Malted) -> Value {
    let floor = malted.floor.as_ref();
    let kiln = malted.kiln.as_ref();
    json!({
        "piece": malted.piece, "make": malted.make, "stage": stage(malted),
        "lots": malted.parts.iter().map(|p| json!({
            "lot": p.lot, "dry_kg": p.dry_kg, "moisture_wet": p.moisture_wet,
        })).collect::<Vec<_>>(),
        "steeped_at": malted.steep.at.to_string(),
        "cast_at": floor.map(|f| f.at.to_string()),
        "loaded_at": kiln.map(|k| k.at.to_string()),
        "stripped": malted.stripped.iter().map(|s| json!({
            "bin": s.bin, "at": s.at.to_string(), "kg": s.kg, "moisture_wet": s.moisture_wet,
            "phenols_mg_kg_dry": s.phenols_mg_kg_dry,
        })).collect::<Vec<_>>(),
    })
}

const NO_PIECE: &str = "No piece of this number is in the book.";

/// One piece: what was noted, and what is expected of it where it lies.
pub(crate) fn piece(app: &App, open: &Working, piece: &str) -> Answer {
    let seen = seen(app, open)?;
    let number: u32 = piece.parse().map_err(|_| Refused::Missing(NO_PIECE))?;
    let malted = seen.piece(open, number).ok_or(Refused::Missing(NO_PIECE))?;
    let mut out = short(&malted);
    let on = seen.standing.kiln.as_ref().is_some_and(|k| k.piece == number);
    let reckoned = if let Some(found) = seen.kilned(open).filter(|_| on) {
        found.as_ref().map(kilned)
    } else if let Some(found) = seen.floored(open, number) {
        found.as_ref().map(floored)
    } else if let Some(found) = seen.steeped(open, number) {
        found.as_ref().map(steeped)
    } else {
        Ok(Value::Null)
    };
    out["expected"] = reckoned.unwrap_or_else(|fault| json!({ "why_not": fault.to_string() }));
    Ok(out)
}

fn floored(f: &Floored) -> Value {
    let word = |how: Turning| match how {
        Turning::Full => "turn",
        Turning::Plough => "plough",
    };
    let course = f.points.iter().map(|p| {
        json!({
            "at": p.at.to_string(), "grain_c": p.grain_c, "grain_sd_c": p.grain_sd_c,
            "core_c": p.core_c, "moisture_wet": p.moisture_wet, "modification": p.modification,
            "acrospire": p.acrospire, "depth_m": p.depth_m,
        })
    });
    json!({
        "floor": f.vessel, "ceiling_c": f.ceiling_c, "ready": between(&f.ready),
        "hold_until": f.hold_until.to_string(), "felts_at": f.felts_at.to_string(),
        "turns_done": f.turns_done.iter().map(|(at, how)| json!({
            "at": at.to_string(), "how": word(*how),
        })).collect::<Vec<_>>(),
        "turns_due": f.turns_due.iter().map(|due| json!({
            "at": due.at.to_string(), "how": word(due.how), "why": due.why,
            "on_call": due.on_call,
        })).collect::<Vec<_>>(),
        "noted_grain_c": noted(&f.noted), "figures": figures(&f.figures),
        "factors": [factor(&f.respiration)], "course": course.collect::<Vec<_>>(),
        "says": f.says,
    })
}

fn steeped(s: &Steeped) -> Value {
    json!({
        "steep": s.vessel, "moisture_now_wet": s.moisture_now_wet, "cast": s.cast.to_string(),
        "stretches": s.stretches.iter().map(|one| json!({
            "from": one.from.to_string(), "to": one.to.to_string(),
            "under_water": one.under_water, "temperature_c": one.temperature_c,
            "noted": one.noted, "moisture_wet": one.moisture_wet,
        })).collect::<Vec<_>>(),
        "noted_moisture_wet": noted(&s.noted), "figures": figures(&s.figures),
        "factors": [factor(&s.drinking)], "says": s.says,
    })
}

fn kilned(k: &Kilned) -> Value {
    let course = k.points.iter().map(|p| {
        json!({
            "at": p.at.to_string(), "time_h": p.time_h, "air_on_c": p.air_on_c,
            "air_off_c": p.air_off_c, "air_off_low_c": p.air_off_low_c,
            "air_off_high_c": p.air_off_high_c, "moisture_wet": p.moisture_wet,
            "phenols_mg_kg_dry": p.phenols_mg_kg_dry, "oil_kg": p.oil_kg, "peat_kg": p.peat_kg,
        })
    });
    json!({
        "kiln": k.vessel, "lit_at": k.lit_at.to_string(), "kept": k.kept,
        "firing": k.firing.says(), "break": k.broke.as_ref().map(between),
        "finish": between(&k.finish), "noted_air_on_c": noted(&k.noted_on),
        "noted_air_off_c": noted(&k.noted_off), "figures": figures(&k.figures),
        "factors": k.factors.iter().map(factor).collect::<Vec<_>>(),
        "course": course.collect::<Vec<_>>(), "says": k.says,
    })
}

/// What is on the kiln.
pub(crate) fn kiln(app: &App, open: &Working) -> Answer {
    let seen = seen(app, open)?;
    let Some(on) = &seen.standing.kiln else { return Ok(json!({ "piece": null })) };
    piece(app, open, &on.piece.to_string())
}

/// What waits for the kiln.
pub(crate) fn queue(app: &App, open: &Working) -> Answer {
    let seen = seen(app, open)?;
    let waiting = seen.waiting(open).iter().map(|w| {
        let (piece, lot) = match &w.load {
            Load::Piece(piece) => (Some(*piece), None),
            Load::Lot(lot) => (None, Some(lot.clone())),
        };
        json!({
            "piece": piece, "lot": lot, "make": w.make, "ready": between(&w.ready),
            "kiln_at": w.kiln_at.to_string(), "kiln_h": w.kiln_h, "waits_h": w.waits_h,
            "too_long": w.too_long, "lost_kg": w.lost_kg, "costs_l": w.costs_l,
            "costs_l_h": w.costs_l_h, "overgrown_pct": w.overgrown_pct, "says": w.says,
        })
    });
    Ok(json!({ "waiting": waiting.collect::<Vec<_>>() }))
}

/// What lies in the bins.
pub(crate) fn bins(app: &App, open: &Working) -> Answer {
    let seen = seen(app, open)?;
    let bins = seen.bins(open).iter().map(|bin| {
        json!({
            "bin": bin.bin, "holds_kg": bin.holds_kg, "lies_kg": bin.lies_kg,
            "make": bin.make, "state": bin.state.word(), "may_draw": bin.state.may_draw(),
            "use_by": bin.use_by.map(|at| at.to_string()), "for_piece": bin.for_piece,
            "layers": bin.layers.iter().map(|l| json!({
                "piece": l.piece, "make": l.make, "since": l.since.to_string(), "t": l.t,
                "moisture_wet": l.moisture_wet, "phenols_mg_kg_dry": l.phenols_mg_kg_dry,
                "phenols_then_mg_kg_dry": l.phenols_then_mg_kg_dry, "held": l.held,
                "parts": l.parts.iter().map(|p| json!({ "lot": p.lot, "share": p.share }))
                    .collect::<Vec<_>>(),
            })).collect::<Vec<_>>(),
            "says": bin.says,
        })
    });
    Ok(json!({ "bins": bins.collect::<Vec<_>>() }))
}

/// The lots in store.
pub(crate) fn lots(app: &App, open: &Working) -> Answer {
    let seen = seen(app, open)?;
    let lots = seen.lots(open).iter().map(|lot| {
        let (verdict, why, retest_d) = match &lot.verdict {
            Verdict::MayMalt => ("may_malt", None, None),
            Verdict::NotYet { why, retest_d } => ("not_yet", Some(why), *retest_d),
            Verdict::Never { why } => ("never", Some(why), None),
        };
        json!({
            "lot": lot.lot, "barley": lot.barley, "silo": lot.silo, "left_t": lot.left_t,
            "figures": figures(&lot.figures), "expected_l_t": figures(
                std::slice::from_ref(&lot.expected_l_t))[lot.expected_l_t.key],
            "verdict": verdict, "why": why, "retest_d": retest_d, "too_wet": lot.too_wet,
            "steep": lot.steep.as_ref().map(|steep| steep.programme.phases.iter().map(|phase| {
                json!({
                    "kind": phase.kind.word(), "hours": phase.stretch.hours,
                    "temperature_c": phase.stretch.temperature_c,
                })
            }).collect::<Vec<_>>()),
            "says": lot.says,
        })
    });
    Ok(json!({ "lots": lots.collect::<Vec<_>>() }))
}

/// A figure of an address, within reason.
fn number(pairs: &Pairs, key: &str) -> Result<Option<f64>, Refused> {
    let Some((_, text)) = pairs.iter().find(|(k, _)| k == key) else { return Ok(None) };
    let wrong = || Refused::Wrong(vec![(Some(key.to_owned()), format!("{text} is no figure."))]);
    let value = text.parse::<f64>().map_err(|_| wrong())?;
    if value.is_finite() { Ok(Some(value)) } else { Err(wrong()) }
}

/// What the gate says of a lorry.
pub(crate) fn at_the_gate(open: &Working, pairs: &Pairs) -> Answer {
    let word = |key: &str| pairs.iter().find(|(k, _)| k == key).map_or("", |(_, v)| v.as_str());
    let wanted = |key: &str| {
        number(pairs, key)?.ok_or_else(|| {
            Refused::Wrong(vec![(Some(key.to_owned()), format!("{key} is wanted."))])
        })
    };
    let weighed = Weighed {
        barley: word("barley").to_owned(),
        gross_kg: wanted("kg")?,
        moisture_wet: wanted("moisture_wet")?,
        nitrogen_pct_dry: number(pairs, "nitrogen_pct_dry")?,
        screenings_pct: number(pairs, "screenings_pct")?,
        admixture_pct: number(pairs, "admixture_pct")?,
        germinative_energy_4ml_pct: number(pairs, "germinative_energy_4ml_pct")?,
        insects: word("insects") == "yes",
        nose: Nose::named(word("nose")).unwrap_or_default(),
    };
    let found = gate(&open.house, &weighed).map_err(|fault| {
        Refused::Wrong(vec![(fault.field().map(str::to_owned), format!("{fault}."))])
    })?;
    let (decision, pct, why) = match &found.decision {
        Decision::Accept => ("accept", None, None),
        Decision::Deduct { pct } => ("deduct", Some(*pct), None),
        Decision::Hold { until } => ("hold", None, Some(until.clone())),
        Decision::Refuse { why } => ("refuse", None, Some(why.clone())),
    };
    let lines = found.lines.iter().map(|line| {
        let does = match line.does {
            Does::Passes => "passes",
            Does::Deducts { .. } => "deducts",
            Does::Dries => "dries",
            Does::Holds => "holds",
            Does::Refuses => "refuses",
            Does::NotKnown => "not_known",
        };
        json!({
            "key": line.key, "found": line.found, "allowed": line.allowed,
            "at_most": line.at_most, "unit": line.unit, "does": does,
        })
    });
    Ok(json!({
        "decision": decision, "deducted_pct": pct, "why": why, "paid_kg": found.paid_kg,
        "clean_kg": found.clean_kg, "dried_kg": found.dried_kg,
        "waits_for_test": found.waits_for_test, "lines": lines.collect::<Vec<_>>(),
        "says": found.says,
    }))
}
