//! Air and drying of one kilning bent to the air-off noted so far.
//!
//! Before the break the air-off stands at the wet bulb whatever the fan does, so early readings
//! teach little and the factors stay as believed; near the break they teach most, and mostly the
//! sum of the two.
//!
//! # Source
//! Gauss and Newton's steps with priors; covariance `(J'J + P⁻¹)⁻¹` at the end.

use super::laden::{Grain, Laden, Moved};
use crate::maltings::factor::Factor;
use crate::maltings::seen::hours;
use crate::stillhouse::head::Learned;
use house::malted::Malted;
use process::kiln::Run;

/// How well the air flow is known beside what the fan is set to.
const AIR_SD: f64 = 0.15;
/// How well the rate of drying is known.
const DRYING_SD: f64 = 0.20;
/// Of a noted air-off: thermometer 0.4 K, and what the model leaves out 0.8 K.
const OFF_SD_C: f64 = 0.9;
/// Of the moment it was noted, h.
const MOMENT_H: f64 = 0.15;
/// Of a noted moisture, wet basis: a handful does not speak for a bed.
const SAMPLE_SD_WET: f64 = 0.015;
/// The grain and the walls warm up first; readings before this teach nothing, h.
const FROM_H: f64 = 1.0;
/// Steps of the search and the difference that gives slopes.
const STEPS: usize = 3;
const SLOPE: f64 = 0.06;
/// Farthest a factor is bent, in standard uncertainties.
const FARTHEST: f64 = 3.0;

/// The two factors with their covariance.
#[derive(Debug, Clone)]
pub(crate) struct Bent {
    pub(crate) at: [f64; 2],
    /// Covariance of the logarithms.
    pub(crate) covariance: [[f64; 2]; 2],
    pub(crate) used: usize,
}

impl Bent {
    /// As believed before any reading.
    fn believed() -> Self {
        let covariance = [[AIR_SD * AIR_SD, 0.0], [0.0, DRYING_SD * DRYING_SD]];
        Self { at: [0.0; 2], covariance, used: 0 }
    }
    pub(crate) fn moved(&self) -> Moved {
        Moved { ln_air: self.at[0], ln_drying: self.at[1], ..Moved::default() }
    }
    /// Two independent moves whose squares sum to the covariance (Cholesky's columns).
    pub(crate) fn directions(&self) -> [Moved; 2] {
        let [[a, b], [_, d]] = self.covariance;
        let first = a.sqrt();
        let along = b / first;
        let rest = (d - along * along).max(0.0).sqrt();
        let [x, y] = self.at;
        [
            Moved { ln_air: x + first, ln_drying: y + along, ..Moved::default() },
            Moved { ln_air: x, ln_drying: y + rest, ..Moved::default() },
        ]
    }
    pub(crate) fn factors(&self) -> [Factor; 2] {
        let one = |key, label, place: usize, before_sd: f64| {
            let variance = self.covariance[place][place];
            let learned = (1.0 - variance / (before_sd * before_sd)).clamp(0.0, 1.0);
            Factor {
                value: self.at[place].exp(),
                sd: variance.sqrt(),
                learned,
                says: Learned::of(learned),
                ..Factor::believed(key, label, before_sd)
            }
        };
        [
            one("air", "air through the bed", 0, AIR_SD),
            one("drying", "rate of drying", 1, DRYING_SD),
        ]
    }
}

/// What a reading is of.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Of {
    AirOff,
    Moisture,
}

#[derive(Debug, Clone, Copy)]
struct Reading {
    time_h: f64,
    value: f64,
    of: Of,
}

fn readings(laden: &Laden<'_>, malted: &Malted, now_h: f64) -> Vec<Reading> {
    let Some(kiln) = &malted.kiln else {
        return Vec::new();
    };
    let each = |list: &[house::standing::Reading], of: Of| {
        let reading = |r: &house::standing::Reading| Reading {
            time_h: hours(laden.lit_at, r.at),
            value: r.value,
            of,
        };
        list.iter().map(reading).collect::<Vec<_>>()
    };
    let mut out = each(&kiln.air_off_c, Of::AirOff);
    out.extend(each(&kiln.moisture_wet, Of::Moisture));
    out.retain(|r| r.time_h >= FROM_H && r.time_h <= now_h + 1e-6);
    out.sort_by(|a, b| a.time_h.total_cmp(&b.time_h));
    out
}

/// Residuals over their standard uncertainty.
fn residuals(run: &Run, readings: &[Reading]) -> Vec<f64> {
    let one = |r: &Reading| match r.of {
        Of::AirOff => {
            let at = |h: f64| run.curves.at("air_off_c", h).unwrap_or(f64::NAN);
            let slope = (at(r.time_h + MOMENT_H) - at(r.time_h - MOMENT_H)) / 2.0;
            (at(r.time_h) - r.value) / OFF_SD_C.hypot(slope)
        }
        Of::Moisture => {
            let dry = run.curves.at("mean_moisture_dry", r.time_h).unwrap_or(f64::NAN);
            (dry / (1.0 + dry) - r.value) / SAMPLE_SD_WET
        }
    };
    readings.iter().map(one).collect()
}

fn squares(residuals: &[f64], at: [f64; 2]) -> f64 {
    let priors = (at[0] / AIR_SD).powi(2) + (at[1] / DRYING_SD).powi(2);
    residuals.iter().map(|e| e * e).sum::<f64>() + priors
}

/// Bends both factors to what was noted until `now_h` hours after lighting.
pub(crate) fn bend(laden: &Laden<'_>, malted: &Malted, now_h: f64) -> Bent {
    let readings = readings(laden, malted, now_h);
    let mut bent = Bent::believed();
    let Some(last) = readings.last() else {
        return bent;
    };
    let end_h = last.time_h + 2.0 * MOMENT_H;
    let follow = |at: [f64; 2]| {
        let moved = Moved { ln_air: at[0], ln_drying: at[1], ..Moved::default() };
        laden.run(Grain::Coarse, &moved, end_h).ok().map(|run| residuals(&run, &readings))
    };
    let Some(mut here) = follow(bent.at) else {
        return bent;
    };
    for _ in 0..STEPS {
        let [x, y] = bent.at;
        let both = std::thread::scope(|scope| {
            let other = scope.spawn(|| follow([x + SLOPE, y]));
            let drying = follow([x, y + SLOPE]);
            (other.join().ok().flatten(), drying)
        });
        let (Some(air), Some(drying)) = both else {
            break;
        };
        let slope = |there: &[f64]| -> Vec<f64> {
            there.iter().zip(&here).map(|(b, a)| (b - a) / SLOPE).collect()
        };
        let slopes = [slope(&air), slope(&drying)];
        let (step, covariance) = normal(&slopes, &here, bent.at);
        bent.covariance = covariance;
        bent.used = readings.len();
        let Some((at, there)) = shorter(&bent, step, &here, &follow) else {
            break;
        };
        let moved = (at[0] - x).abs().max((at[1] - y).abs());
        bent.at = at;
        here = there;
        if moved < 0.01 {
            break;
        }
    }
    bent
}

/// The step if it lessens the squares, else half of it, else a quarter.
fn shorter(
    bent: &Bent,
    step: [f64; 2],
    here: &[f64],
    follow: &impl Fn([f64; 2]) -> Option<Vec<f64>>,
) -> Option<([f64; 2], Vec<f64>)> {
    let now = squares(here, bent.at);
    [1.0, 0.5, 0.25].into_iter().find_map(|share| {
        let held = |value: f64, sd: f64| value.clamp(-FARTHEST * sd, FARTHEST * sd);
        let at = [
            held(bent.at[0] + share * step[0], AIR_SD),
            held(bent.at[1] + share * step[1], DRYING_SD),
        ];
        let there = follow(at)?;
        (squares(&there, at) < now).then_some((at, there))
    })
}

/// `(J'J + P⁻¹) d = −(J'e + P⁻¹ θ)`, and the inverse of its left side.
fn normal(slopes: &[Vec<f64>; 2], here: &[f64], at: [f64; 2]) -> ([f64; 2], [[f64; 2]; 2]) {
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    let weights = [1.0 / (AIR_SD * AIR_SD), 1.0 / (DRYING_SD * DRYING_SD)];
    let a = dot(&slopes[0], &slopes[0]) + weights[0];
    let b = dot(&slopes[0], &slopes[1]);
    let d = dot(&slopes[1], &slopes[1]) + weights[1];
    let whole = a * d - b * b;
    let inverse = [[d / whole, -b / whole], [-b / whole, a / whole]];
    let pull = [0, 1].map(|j| -(dot(&slopes[j], here) + weights[j] * at[j]));
    let step = [0, 1].map(|j| inverse[j][0] * pull[0] + inverse[j][1] * pull[1]);
    (step, inverse)
}
