//! A run with one thing moved at a time, and the bands that come of it.

use super::route::Pot;
use crate::figure::{Band, Figure};
use gauge::Fault;
use process::still::{Charge, Constants, Programme, Spirit, Trace, Vessel};

/// Standard uncertainty of the strength of a charge, % vol: a hydrometer.
const CHARGE_PCT: f64 = 0.1;
/// Of its litres, as a share: a dip and what clings.
const CHARGE: f64 = 0.003;
/// Of the heat, as a share: a steam gauge.
const HEAT: f64 = 0.05;
/// Of the heat lost by a head that has not been fitted, as a share.
pub(crate) const HEAD: f64 = 0.25;
/// What is moved by all volatilities at once.
pub(crate) const VOLATILITY: &str = "volatility of the congeners";
pub(crate) const BOILING: &str = "boiling of alcohol and water";
pub(crate) const LOSS: &str = "heat lost by the head";

/// The same run with one thing moved by its standard uncertainty.
#[derive(Debug, Clone)]
pub(crate) struct Moved {
    /// What was moved.
    pub(crate) label: &'static str,
    pub(crate) trace: Trace,
    pub(crate) grams: Vec<f64>,
    pub(crate) heat_up_s: f64,
}

/// What a run is made of, so that each of it may be moved.
#[derive(Clone)]
pub(crate) struct Parts {
    pub(crate) spirit: Spirit,
    pub(crate) vessel: Vessel,
    pub(crate) programme: Programme,
    pub(crate) constants: Constants,
}

pub(crate) fn run_of(parts: &Parts, own: Pot<'_>, grams: &[f64]) -> Result<(Trace, f64), Fault> {
    let mut charge = Charge::of_spirit(parts.spirit);
    charge.filling.temperature_c = Some(own.own.charge_c);
    charge.congeners =
        process::still::CONGENERS.iter().zip(grams).map(|(c, grams)| (c, *grams)).collect();
    let trace = Trace::of(&charge, &parts.vessel, &parts.programme, &parts.constants)?;
    let heat_up_s = trace.start().heat_up_s.unwrap_or(0.0);
    Ok((trace, heat_up_s))
}

/// Every run with one thing moved; one that would not run is left out of the band.
pub(crate) fn moves(parts: &Parts, loss_sd: f64, own: Pot<'_>, grams: &[f64]) -> Vec<Moved> {
    let mut all: Vec<(&'static str, Parts)> = Vec::with_capacity(5);
    let mut with = |label, change: &dyn Fn(&mut Parts)| {
        let mut moved = parts.clone();
        change(&mut moved);
        all.push((label, moved));
    };
    with(BOILING, &|p| p.constants.nrtl_a21 += nrtl_sd());
    with(LOSS, &|p| p.vessel.head_loss_w_k += loss_sd);
    with("heat", &|p| {
        let heat_w = p.programme.conditions.heat_w;
        p.programme.conditions.heat_w = heat_w.map(|heat| heat * (1.0 + HEAT));
    });
    with("strength of the charge", &|p| p.spirit.strength_pct += CHARGE_PCT);
    with("litres of the charge", &|p| p.spirit.volume_20_l *= 1.0 + CHARGE);
    let one = |(label, parts): &(&'static str, Parts)| {
        let (trace, heat_up_s) = run_of(parts, own, grams).ok()?;
        Some(Moved { label, trace, grams: grams.to_vec(), heat_up_s })
    };
    std::thread::scope(|scope| {
        let hands: Vec<_> = all
            .chunks(all.len().div_ceil(2))
            .map(|some| scope.spawn(move || some.iter().filter_map(one).collect::<Vec<_>>()))
            .collect();
        hands.into_iter().flat_map(|hand| hand.join().unwrap_or_default()).collect()
    })
}

/// What the boiling of alcohol and water leaves open the fit of the head has taken up: with
/// another equilibrium another head would have met the same strengths. So where the head is
/// fitted the one is moved with the other, and the strength ten minutes into the run stays.
pub(crate) fn held_to_the_fit(
    trace: &Trace,
    moved: &mut [Moved],
    parts: &Parts,
    loss_sd: f64,
    own: Pot<'_>,
) {
    const EARLY_S: f64 = 600.0;
    let early = |trace: &Trace| trace.point(EARLY_S).strength_pct;
    let change = |label| {
        let of = moved.iter().find(|m| m.label == label)?;
        Some(early(&of.trace) - early(trace))
    };
    let (Some(boiling), Some(loss)) = (change(BOILING), change(LOSS)) else {
        return;
    };
    let mut other = parts.clone();
    other.constants.nrtl_a21 += nrtl_sd();
    let held = other.vessel.head_loss_w_k - loss_sd * boiling / loss;
    other.vessel.head_loss_w_k = held.max(0.0);
    if let Some(place) = moved.iter().position(|m| m.label == BOILING)
        && let Ok((trace, heat_up_s)) = run_of(&other, own, &moved[place].grams)
    {
        moved[place].trace = trace;
        moved[place].heat_up_s = heat_up_s;
    }
}

fn nrtl_sd() -> f64 {
    use gauge::Record;
    let field = Constants::FIELDS.iter().find(|f| f.key == "nrtl_a21");
    field.map_or(0.0, |f| f.sd)
}

/// A figure with the band that its moved values make.
pub(crate) fn banded(figure: Figure, moved: impl Iterator<Item = (&'static str, f64)>) -> Figure {
    let parts: Vec<(&'static str, f64)> =
        moved.map(|(label, value)| (label, value - figure.value)).collect();
    spread(figure, &parts)
}

/// A figure with the band that changes of it, each by one standard uncertainty, make.
pub(crate) fn spread(mut figure: Figure, parts: &[(&'static str, f64)]) -> Figure {
    let known = parts.iter().filter(|(_, change)| change.is_finite());
    let variance: f64 = known.clone().map(|(_, change)| change * change).sum();
    if variance > 0.0 && figure.value.is_finite() {
        let mut because: Vec<(String, f64)> = known
            .map(|(label, change)| ((*label).to_owned(), change * change / variance))
            .collect();
        because.sort_by(|a, b| b.1.total_cmp(&a.1));
        because.truncate(3);
        figure.band = Some(Band { because, ..Band::around(figure.value, variance.sqrt()) });
    }
    figure
}
