//! In words: what holds a firing where it is, and why no firing keeps to all wishes.

use super::Bind;
use super::ends::Confirmed;
use super::point::{Knob, Span};
use super::search::{Search, worst};
use super::trial::{self, Trial, Wish};
use gauge::Fault;

/// How near to an end of its span a figure is said to be held there, as a share of the span.
const NEAR: f64 = 0.01;

fn unworkable(field: &'static str, trouble: String, remedy: String) -> Fault {
    Fault::Unworkable { field: field.into(), trouble, remedy }
}

/// Drier than the hottest air leaves malt at rest.
pub(super) fn too_dry(search: &Search<'_, '_>, least_wet: f64) -> Fault {
    let wanted = search.asked.wanted;
    let hotter = (1..=70)
        .map(|k| wanted.cure_most_c + f64::from(k))
        .find(|c| *c <= 110.0 && search.rest_wet(*c) < 0.97 * wanted.moisture_wet);
    let remedy = format!("ask for {:.1} % or more", (103.0 * least_wet * 10.0).ceil() / 10.0);
    unworkable(
        "wanted.moisture_wet",
        format!(
            "air-on of {:.0} °C in this weather leaves malt no drier than {:.1} %",
            wanted.cure_most_c,
            100.0 * least_wet
        ),
        match hotter {
            Some(c) => format!("{remedy}, or let the cure go to {c:.0} °C"),
            None => remedy,
        },
    )
}

/// More smoke than the hearth gives before the corns are dry.
pub(super) fn too_smoky(search: &Search<'_, '_>, most: f64, hours: f64) -> Fault {
    let rate = search.ground.peat_rate(&search.ground.start());
    let wanted = search.asked.wanted.phenols_mg_kg_dry;
    let enough = rate * wanted / most.max(1e-6) * 1.05;
    unworkable(
        "wanted.phenols_mg_kg_dry",
        format!(
            "{rate:.1} kg of peat an hour and tonne brings the malt to {most:.1} mg/kg at most, \
             after {hours:.0} h of smoke"
        ),
        format!("burn {enough:.1} kg an hour and tonne, or ask for {:.1} or less", 0.97 * most),
    )
}

/// Nothing keeps to the wishes, whatever time it is given.
pub(super) fn never(search: &Search<'_, '_>, best: &Trial) -> Fault {
    if let Some(fault) = &best.refused {
        return fault.clone();
    }
    if search.stopped() {
        return unworkable(
            "wanted",
            "stopped before a first firing was found that keeps to all wishes".into(),
            "let it search a little longer".into(),
        );
    }
    let (asked, by) = (search.asked, best.broken[worst(best) as usize]);
    match worst(best) {
        Wish::Enzymes => unworkable(
            "wanted.at_risk_most_h",
            format!(
                "in the gentlest firing found some corn is hotter than its moisture allows for \
                 {:.1} h",
                by + asked.wanted.at_risk_most_h
            ),
            "allow as much, cure cooler or for a shorter time, or load a thinner bed".into(),
        ),
        Wish::Burner => {
            let needs = best.burner_w_m2 * asked.vessel.area_m2 / 1000.0;
            unworkable(
                "plant.burner_w",
                format!("the least that does it is {needs:.0} kW"),
                "let the cure be cooler, or fire with a larger burner".into(),
            )
        }
        Wish::Phenols => {
            let wanted = asked.wanted.phenols_mg_kg_dry;
            let reached = wanted * (-by).exp();
            too_smoky(search, reached, best.point.at(Knob::Hours))
        }
        Wish::Hours | Wish::Moisture | Wish::Refused => unworkable(
            "wanted.moisture_wet",
            format!(
                "no firing of up to {:.0} h was found that comes to {:.1} %",
                search.ground.span(Knob::Hours).high,
                100.0 * asked.wanted.moisture_wet
            ),
            "give more air, a hotter cure or a thinner bed".into(),
        ),
    }
}

/// The latest end is before the soonest.
pub(super) fn too_soon(search: &Search<'_, '_>, soonest: &Trial, latest_h: f64) -> Fault {
    let wanted = search.asked.wanted;
    let soonest_h = (10.0 * soonest.point.at(Knob::Hours)).ceil() / 10.0;
    let mut remedy = format!("{soonest_h:.1} h would do, with full air");
    let hurried = soonest.point.with(Knob::Hours, latest_h);
    if let Ok(firing) = search.ground.firing(&hurried, soonest.peat_kg_t)
        && let Ok(run) = trial::coarsely(search.asked, &firing)
    {
        let reached = (1000.0 * run.out.moisture_wet).ceil() / 10.0;
        remedy = format!("{remedy}; in {latest_h:.1} h it would come to {reached:.1} %");
    }
    if wanted.phenols_mg_kg_dry > 0.0 && search.ground.smoke_open {
        remedy.push_str("; less smoke or a brisker hearth would be sooner too");
    }
    unworkable(
        "wanted.by_h",
        format!(
            "in {latest_h:.1} h no firing that keeps to the other wishes comes to {:.1} %",
            100.0 * wanted.moisture_wet
        ),
        remedy,
    )
}

fn at_high(span: Span, value: f64) -> bool {
    span.high > span.low && value >= span.high - NEAR * (span.high - span.low)
}

fn at_low(span: Span, value: f64) -> bool {
    span.high > span.low && value <= span.low + NEAR * (span.high - span.low)
}

/// What holds a confirmed firing where it is.
pub(super) fn binds(search: &mut Search<'_, '_>, confirmed: &Confirmed) -> Vec<Bind> {
    let mut out = Vec::new();
    let mut bind = |key, says: String| out.push(Bind { key, says });
    let trial = &confirmed.trial;
    let point = trial.point;
    let span = |search: &Search<'_, '_>, knob| search.ground.span(knob);
    if at_high(span(search, Knob::Hours), point.at(Knob::Hours)) {
        bind("by_h", latest_says(search, trial));
    }
    for (key, says) in plant_says(search, confirmed) {
        bind(key, says);
    }
    if at_high(span(search, Knob::CureC), point.at(Knob::CureC)) {
        bind(
            "cure_most_c",
            format!("The cure is as hot as is wanted, {:.0} °C.", point.at(Knob::CureC)),
        );
    }
    if at_low(span(search, Knob::CureC), point.at(Knob::CureC)) {
        bind(
            "cure_least_c",
            format!("The cure is as mild as is wanted, {:.0} °C.", point.at(Knob::CureC)),
        );
    }
    if at_low(span(search, Knob::CureH), point.at(Knob::CureH)) && !search.ground.begun.curing {
        bind(
            "cure_least_h",
            format!("The cure is as short as is wanted, {:.1} h.", point.at(Knob::CureH)),
        );
    }
    if at_high(span(search, Knob::Returned), point.at(Knob::Returned)) {
        bind(
            "returned_most",
            format!(
                "No more than {:.0} % of the air may be sent back, and only after the break.",
                100.0 * point.at(Knob::Returned)
            ),
        );
    }
    if enzymes_bind(search, trial) {
        bind(
            "enzymes",
            "Hotter drying or an earlier cure would put the enzymes of some corn at risk.".into(),
        );
    }
    out
}

/// What the latest end costs: a little more time, and the fuel it would save.
fn latest_says(search: &mut Search<'_, '_>, trial: &Trial) -> String {
    let hours = trial.point.at(Knob::Hours);
    let span = search.ground.span(Knob::Hours);
    search.ground.limit(Knob::Hours, span.low, span.high + 1.0);
    let now = search.probe(trial, Knob::Hours, 0.0);
    let later = search.probe(trial, Knob::Hours, 1.0);
    search.ground.limit(Knob::Hours, span.low, span.high);
    let saved = now.worth - later.worth;
    let says = format!("It must be done by {hours:.1} h");
    if later.keeps() && now.keeps() && saved > 0.0 {
        format!(
            "{says}; an hour more would save {saved:.0} MJ ({:.1} %).",
            100.0 * saved / now.worth
        )
    } else {
        format!("{says}.")
    }
}

/// Fan, burner, hearth, the least air.
fn plant_says(search: &Search<'_, '_>, confirmed: &Confirmed) -> Vec<(&'static str, String)> {
    let mut out = Vec::new();
    let trial = &confirmed.trial;
    let (point, ground) = (trial.point, &search.ground);
    let area_m2 = search.asked.vessel.area_m2;
    let smoking = ground.smoke && ground.smoke_open;
    let flows = [(Knob::Flow, true), (Knob::PeatFlow, smoking)];
    let flows = || flows.iter().filter(|(_, counts)| *counts).map(|(knob, _)| *knob);
    if flows().any(|knob| at_high(ground.span(knob), point.at(knob))) {
        let most = ground.span(Knob::Flow).high * area_m2;
        let of = if ground.fan { "the fan moves" } else { "is looked at, three times the usual" };
        out.push(("fan", format!("The air is the most {of}, {most:.1} kg/s.")));
    }
    if flows().any(|knob| at_low(ground.span(knob), point.at(knob))) {
        let least = ground.span(Knob::Flow).low * area_m2;
        out.push((
            "flow_least_kg_m2_s",
            format!("The air is the least at which the kiln draws, {least:.2} kg/s."),
        ));
    }
    if let Some(most) = ground.burner_w_m2
        && trial.burner_w_m2 >= 0.97 * most
    {
        let kw = most * area_m2 / 1000.0;
        out.push(("burner", format!("The burner gives all it can, {kw:.0} kW.")));
    }
    if smoking && at_high(ground.span(Knob::PeatRate), point.at(Knob::PeatRate)) {
        let rate = ground.peat_rate(&point);
        out.push(if rate >= 0.99 * ground.hearth_kg_t_h() {
            let says =
                format!("The hearth burns all the peat it can, {rate:.1} kg an hour and tonne.");
            ("peat_most_kg_t_h", says)
        } else {
            let says = format!(
                "More peat than {rate:.1} kg an hour and tonne would heat this air over {:.0} °C.",
                point.at(Knob::PeatC)
            );
            ("peat_heat", says)
        });
    }
    if ground.begun.drying && search.asked.wanted.phenols_mg_kg_dry > 0.0 {
        out.push((
            "smoke_past",
            format!(
                "The smoke is past: the malt will have {:.1} mg/kg.",
                confirmed.run.out.phenols_mg_kg_dry
            ),
        ));
    }
    out
}

/// Whether a step hotter in the drying, or longer in the cure, would break the guard.
fn enzymes_bind(search: &mut Search<'_, '_>, trial: &Trial) -> bool {
    if search.ground.begun.curing || search.asked.wanted.at_risk_most_h >= 400.0 {
        return false;
    }
    [(Knob::DryC, 1.0), (Knob::CureH, 0.5)].into_iter().any(|(knob, by)| {
        let there = search.probe(trial, knob, by);
        there.broken[Wish::Enzymes as usize] > 0.0
    })
}
