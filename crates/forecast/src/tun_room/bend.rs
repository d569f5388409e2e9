//! A washback bent to its readings.
//!
//! Vigour, waking and how far it ferments, with the noted setting and gravity, by Gauss and
//! Newton's steps with priors. With fewer than four readings of gravity only vigour and how far
//! it ferments are let go, and the priors hold what those readings cannot tell.

use super::working::{BENT, Moved, PRIOR_SD, Working};
use crate::maltings::factor::Factor;
use crate::maltings::seen::hours;
use gauge::Fault;
use house::standing::Washback;
use jiff::Timestamp;
use numeric::least_squares::{Belief, Found, Unknown, fit};
use process::ferment::Run;
use std::convert::Infallible;

/// Of a noted gravity: the reading, and what the model leaves out.
const READING_SD: f64 = 0.0005;
const MODEL_SD: f64 = 0.0008;
/// Of a noted temperature: thermometer, a wash that is not mixed, and the model, °C.
const TEMPERATURE_SD_C: f64 = 0.6;
/// Of a noted pH, the model's most of all.
const PH_SD: f64 = 0.15;
/// Of the moment it was noted, h.
const MOMENT_H: f64 = 0.1;
/// So many gravities let all be bent.
const ENOUGH: usize = 4;
/// Steps of the search, and its difference in prior standard uncertainties.
const STEPS: usize = 3;
const SLOPE: f64 = 0.25;

/// A reading of gravity or temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Reading {
    pub(super) hour: f64,
    pub(super) value: f64,
    pub(super) column: &'static str,
}

/// A washback with its readings in it.
#[derive(Debug, Clone)]
pub(crate) struct Bent {
    pub(crate) run: Run,
    pub(super) factors: Vec<Factor>,
    /// Vigour, waking and how far it ferments: each shift with its standard uncertainty.
    pub(super) shifts: [(f64, f64); 3],
    /// Runs that each differ by one independent standard uncertainty.
    pub(crate) others: Vec<Run>,
    pub(super) readings: Vec<Reading>,
}

pub(super) fn readings(back: &Washback, at: Timestamp) -> Vec<Reading> {
    let each = |list: &[house::standing::Reading], column: &'static str| {
        let here = list.iter().filter(|r| r.at <= at && r.at >= back.set_at);
        let one = |r: &house::standing::Reading| Reading {
            hour: hours(back.set_at, r.at),
            value: r.value,
            column,
        };
        here.map(one).collect::<Vec<_>>()
    };
    let mut out = each(&back.gravity, "gravity");
    out.extend(each(&back.temperature_c, "temperature_c"));
    out.sort_by(|a, b| a.hour.total_cmp(&b.hour));
    out
}

/// Noted pH, which tells causes apart and bends nothing.
pub(super) fn acid(back: &Washback, at: Timestamp) -> Vec<Reading> {
    let here = back.ph.iter().filter(|r| r.at <= at && r.at >= back.set_at);
    let one = |r: &house::standing::Reading| Reading {
        hour: hours(back.set_at, r.at),
        value: r.value,
        column: "ph",
    };
    here.map(one).collect()
}

/// Standard uncertainty of a reading beside a run.
pub(super) fn sd_of(run: &Run, reading: &Reading) -> f64 {
    let at = |h: f64| run.curves.at(reading.column, h).unwrap_or(0.0);
    let slope = (at(reading.hour + 0.5) - at(reading.hour - 0.5)) * MOMENT_H;
    let own = match reading.column {
        "gravity" => READING_SD.hypot(MODEL_SD),
        "ph" => PH_SD,
        _ => TEMPERATURE_SD_C,
    };
    own.hypot(slope)
}

/// What the run has less what was noted, over `sds`.
pub(super) fn residuals(run: &Run, readings: &[Reading], sds: &[f64]) -> Vec<f64> {
    let one = |(r, sd): (&Reading, &f64)| {
        (run.curves.at(r.column, r.hour).unwrap_or(f64::NAN) - r.value) / sd
    };
    readings.iter().zip(sds).map(one).collect()
}

/// Bends a washback to what was noted until `at`.
pub(crate) fn bend(working: &Working<'_>, back: &Washback, at: Timestamp) -> Result<Bent, Fault> {
    let readings = readings(back, at);
    let gravities = readings.iter().filter(|r| r.column == "gravity").count();
    // Which may move: vigour and the end always, waking once there are enough.
    let free: [bool; BENT] = [true, gravities >= ENOUGH, true, true, true];
    let mut at = [0.0; BENT];
    let mut found: Option<(Vec<Found>, Vec<Vec<f64>>)> = None;
    let mut run = working.run(&Moved::default())?;
    if !readings.is_empty() {
        for _ in 0..STEPS {
            let Some(new) = step(working, &run, &readings, &at, free) else { break };
            let most = (0..BENT).map(|i| (new.0[i].value - at[i]).abs() / working.prior_sd[i]);
            let moved = most.fold(0.0, f64::max);
            at = std::array::from_fn(|i| new.0[i].value);
            found = Some(new);
            run = working.run(&Moved::of(&at))?;
            if moved < 0.02 {
                break;
            }
        }
    }
    let covariance =
        found.as_ref().map_or_else(|| prior(working), |(_, covariance)| covariance.clone());
    let others = directions(&covariance)
        .into_iter()
        .filter_map(|by| {
            let moved: Vec<f64> = at.iter().zip(&by).map(|(a, b)| a + b).collect();
            working.run(&Moved::of(&moved)).ok()
        })
        .collect();
    let labels = [
        ("vigour", "vigour of the yeast"),
        ("wake", "how soon it wakes"),
        ("fermentable", "how far it ferments"),
    ];
    let factors = labels
        .iter()
        .enumerate()
        .map(|(i, (key, label))| {
            let factor = Factor::believed(key, label, working.prior_sd[i]);
            let mut factor = match found.as_ref().filter(|_| free[i]) {
                Some((found, _)) => factor.found(&found[i]),
                None => factor,
            };
            // Beside the house's file, not beside what is usual of the house.
            factor.value *= working.usual[i].exp();
            factor
        })
        .collect();
    let shifts = std::array::from_fn(|i| (at[i], covariance[i][i].sqrt()));
    Ok(Bent { run, factors, shifts, others, readings })
}

/// What is usual of the house: vigour, waking and how far its worts ferment, each shift with how
/// far one washback ordinarily lies from it.
pub(super) type Usual = [(f64, f64); 3];

/// Ordinary differences from one washback to the next, from memory of the trade.
const SPREAD: [f64; 3] = [0.06, 0.15, 0.005];

/// What other washbacks have shown to be usual. Where they have told little the belief stands, and
/// more counts as ordinary.
pub(super) fn usual(others: &[&Bent]) -> Usual {
    std::array::from_fn(|i| {
        let believed = 1.0 / PRIOR_SD[i].powi(2);
        let (mut weights, mut sum) = (believed, 0.0);
        for bent in others {
            let (value, sd) = bent.shifts[i];
            // What a washback took from its prior alone it does not tell anew.
            let told = 1.0 / sd.powi(2) - believed;
            if told > 1e-3 * believed {
                let weight = 1.0 / (1.0 / told + SPREAD[i] * SPREAD[i]);
                weights += weight;
                sum += weight * value / (sd.powi(2) * told);
            }
        }
        (sum / weights, SPREAD[i].hypot(1.0 / weights.sqrt()))
    })
}

fn prior(working: &Working<'_>) -> Vec<Vec<f64>> {
    let sd = working.prior_sd;
    let row = |i: usize| (0..BENT).map(|j| if i == j { sd[i].powi(2) } else { 0.0 }).collect();
    (0..BENT).map(row).collect()
}

/// One of Gauss and Newton's steps.
fn step(
    working: &Working<'_>,
    run: &Run,
    readings: &[Reading],
    at: &[f64; BENT],
    free: [bool; BENT],
) -> Option<(Vec<Found>, Vec<Vec<f64>>)> {
    let sds: Vec<f64> = readings.iter().map(|r| sd_of(run, r)).collect();
    let last = readings.iter().map(|r| r.hour).fold(0.0, f64::max) + 1.5;
    let here = residuals(run, readings, &sds);
    let slopes: Vec<Vec<f64>> = (0..BENT)
        .map(|i| {
            if !free[i] {
                return Some(vec![0.0; here.len()]);
            }
            let by = SLOPE * working.prior_sd[i];
            let mut moved = *at;
            moved[i] += by;
            let there = working.run_for(&Moved::of(&moved), last.max(2.0)).ok()?;
            let there = residuals(&there, readings, &sds);
            Some(here.iter().zip(&there).map(|(a, b)| (b - a) / by).collect())
        })
        .collect::<Option<_>>()?;
    let unknowns: Vec<Unknown> = working
        .prior_sd
        .iter()
        .zip(at)
        .map(|(sd, start)| Unknown {
            start: *start,
            ..Unknown::believed(Belief { mean: 0.0, sd: *sd }).within(-4.0 * sd..=4.0 * sd)
        })
        .collect();
    let straight = |x: &[f64]| -> Result<Vec<f64>, Infallible> {
        let one = |(row, e): (usize, &f64)| {
            e + (0..BENT).map(|j| slopes[j][row] * (x[j] - at[j])).sum::<f64>()
        };
        Ok(here.iter().enumerate().map(one).collect())
    };
    let fit = fit(&unknowns, straight).ok()?;
    Some((fit.found, fit.covariance))
}

/// Columns of Cholesky's root: independent moves whose squares sum to the covariance.
fn directions(covariance: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let n = covariance.len();
    let mut root = vec![vec![0.0; n]; n];
    for i in 0..n {
        for j in 0..=i {
            let known: f64 = (0..j).map(|k| root[i][k] * root[j][k]).sum();
            let left = covariance[i][j] - known;
            root[i][j] = if i == j {
                left.max(0.0).sqrt()
            } else if root[j][j] > 0.0 {
                left / root[j][j]
            } else {
                0.0
            };
        }
    }
    (0..n).map(|j| (0..n).map(|i| root[i][j]).collect()).collect()
}
