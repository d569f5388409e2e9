//! When a washback is ready, and how long it may wait.

use process::Curves;

/// Ready within so much of its lowest gravity: half a degree, our own choice.
const READY_GRAVITY: f64 = 0.0005;
/// Lactic acid past which a wash is called sour, kg/m³: our own choice, so that an ordinary wash
/// may wait some five days.
const SOUR_KG_M3: f64 = 4.0;
/// Share of the alcohol that may go before it has waited too long.
const ALCOHOL_LOST: f64 = 0.005;

/// The first hour from which the gravity stays within half a degree of its lowest.
pub(crate) fn ready_h(curves: &Curves) -> Option<f64> {
    let times = &curves.columns.first()?.values;
    let gravity = curves.get("gravity")?;
    let lowest = gravity.iter().copied().fold(f64::INFINITY, f64::min);
    let at = gravity.iter().position(|g| *g <= lowest + READY_GRAVITY)?;
    let Some(before) = at.checked_sub(1) else { return times.first().copied() };
    let share = (gravity[before] - lowest - READY_GRAVITY) / (gravity[before] - gravity[at]);
    Some(times[before] + share * (times[at] - times[before]))
}

/// The hour at which it has soured or lost alcohol; none within the run.
pub(crate) fn latest_h(curves: &Curves) -> Option<f64> {
    let times = &curves.columns.first()?.values;
    let lactic = curves.get("lactic_kg_m3")?;
    let ethanol = curves.get("ethanol_kg_m3")?;
    let mut most = 0.0_f64;
    for ((time, acid), alcohol) in times.iter().zip(lactic).zip(ethanol) {
        most = most.max(*alcohol);
        if *acid > SOUR_KG_M3 || (most > 0.0 && *alcohol < (1.0 - ALCOHOL_LOST) * most) {
            return Some(*time);
        }
    }
    None
}

/// The hour at which half of the fall is done.
pub(crate) fn middle_h(curves: &Curves) -> Option<f64> {
    let gravity = curves.get("gravity")?;
    let lowest = gravity.iter().copied().fold(f64::INFINITY, f64::min);
    let half = 0.5 * (gravity.first()? + lowest);
    let times = &curves.columns.first()?.values;
    let at = gravity.iter().position(|g| *g <= half)?;
    let Some(before) = at.checked_sub(1) else { return times.first().copied() };
    let share = (gravity[before] - half) / (gravity[before] - gravity[at]);
    Some(times[before] + share * (times[at] - times[before]))
}

/// Share of the fall done at an hour.
pub(crate) fn fallen(curves: &Curves, hour: f64) -> Option<f64> {
    let gravity = curves.get("gravity")?;
    let lowest = gravity.iter().copied().fold(f64::INFINITY, f64::min);
    let first = *gravity.first()?;
    Some((first - curves.at("gravity", hour)?) / (first - lowest).max(1e-9))
}
