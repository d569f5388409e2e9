//! The course of a mash, minute by minute: bed, gravity of what runs, pull, litres run off.

use crate::maltings::seen::later;
use jiff::Timestamp;
use process::mash::{Run, Step};

/// Minutes between points.
const EVERY_MIN: f64 = 5.0;

/// One moment of a mash.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TunPoint {
    /// When.
    pub at: Timestamp,
    /// Temperature of the bed.
    pub bed_c: f64,
    /// Its standard uncertainty.
    pub bed_sd: f64,
    /// Gravity of what runs off, 20/20; none while nothing runs.
    pub gravity: Option<f64>,
    /// Its standard uncertainty.
    pub gravity_sd: f64,
    /// Pull on the bed, cm of water; none where it is not reckoned.
    pub pull_cm: Option<f64>,
    /// Litres run off until then, at 20 °C.
    pub run_off_l: f64,
}

/// Which water is on at a minute, and where in it.
struct Place<'r> {
    index: usize,
    step: &'r Step,
    /// Share of the drain that has run, 0 while it stands.
    drained: f64,
}

/// The times of each water: when it is on, until when it stands, when it has drained.
pub(super) fn times(run: &Run, stands: &[(f64, f64)]) -> Vec<(f64, f64, f64)> {
    let mut from = 0.0;
    let one = |(stand, drain): &(f64, f64)| {
        let here = (from, from + stand, from + stand + drain);
        from = here.2;
        here
    };
    stands.iter().take(run.steps.len()).map(one).collect()
}

fn place<'r>(run: &'r Run, times: &[(f64, f64, f64)], min: f64) -> Option<Place<'r>> {
    let index = times.iter().position(|t| min < t.2).unwrap_or(times.len().checked_sub(1)?);
    let (_, stood, ends) = times[index];
    let drained = ((min - stood) / (ends - stood).max(1e-9)).clamp(0.0, 1.0);
    Some(Place { index, step: run.steps.get(index)?, drained })
}

/// Gravity of what runs at that moment. The first drain is even; a later one falls off as the
/// water pushes the worts before it, so that its mean is that of the whole drain.
fn running(run: &Run, at: &Place<'_>) -> f64 {
    let mean = at.step.run_off.plato();
    let Some(before) = at.index.checked_sub(1).and_then(|i| run.steps.get(i)) else {
        return at.step.run_off.gravity();
    };
    let held = before.held;
    let first = 100.0 * held.extract_kg / (held.water_kg + held.extract_kg).max(1e-9);
    let rate = falls(mean / first.max(1e-9));
    gauge::wort::kernel::gravity_of_plato(first * (-rate * at.drained).exp())
}

/// The rate at which `(1 − e^−k)/k` is the wanted mean, by Newton's steps held to 0 to 40.
fn falls(mean: f64) -> f64 {
    if mean >= 0.999 {
        return 0.0;
    }
    let (mut low, mut high) = (1e-6, 40.0);
    for _ in 0..60 {
        let k: f64 = 0.5 * (low + high);
        if -(-k).exp_m1() / k > mean { low = k } else { high = k }
    }
    0.5 * (low + high)
}

/// Gives the course every five minutes from mashing in to the last drain.
pub(super) fn points(run: &Run, stands: &[(f64, f64)], began: Timestamp) -> Vec<TunPoint> {
    let times = times(run, stands);
    let rows = (run.minutes / EVERY_MIN).ceil() as usize;
    let curve = |key: &str, min: f64| run.curves.at(key, min);
    (0..=rows)
        .filter_map(|row| {
            let min = (row as f64 * EVERY_MIN).min(run.minutes);
            let place = place(run, &times, min)?;
            let runs = place.drained > 0.0;
            let gravity = curve("run_off_gravity", min).filter(|g| *g > 0.9);
            let gravity = gravity.unwrap_or_else(|| running(run, &place));
            let whole: f64 = run.steps[..place.index].iter().map(|s| s.run_off.volume_20_l()).sum();
            let so_far = whole + place.drained * place.step.run_off.volume_20_l();
            Some(TunPoint {
                at: later(began, min / 60.0),
                bed_c: curve("bed_c", min)?,
                bed_sd: 0.0,
                gravity: runs.then_some(gravity),
                gravity_sd: 0.0,
                pull_cm: curve("pull_cm", min),
                run_off_l: curve("run_off_l", min).unwrap_or(so_far),
            })
        })
        .collect()
}

/// Adds the squares of how another course differs; [`rooted`] makes them standard uncertainties.
pub(super) fn add_squares(points: &mut [TunPoint], other: &[TunPoint]) {
    for (point, other) in points.iter_mut().zip(other) {
        point.bed_sd += (other.bed_c - point.bed_c).powi(2);
        if let (Some(a), Some(b)) = (point.gravity, other.gravity) {
            point.gravity_sd += (b - a).powi(2);
        }
    }
}

/// Roots of the summed squares.
pub(super) fn rooted(points: &mut [TunPoint]) {
    for point in points {
        point.bed_sd = point.bed_sd.sqrt();
        point.gravity_sd = point.gravity_sd.sqrt();
    }
}
