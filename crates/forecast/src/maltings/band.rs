//! How sure a piece is: its ready moment and its temperatures, with what its readings say taken in.

use super::grown::{Course, GRAIN_SD_C, Grown};
use super::learning::Learning;
use gauge::{Grade, record};
use process::floor::{Charge, Constants, Programme, Run};

record! {
    /// What a piece hangs on beside its breathing. The heat it makes and the heat it loses act
    /// together on its temperature, so the factor on the breathing stands for both.
    struct Unsure {
        /// Of the pace of softening, from barley to barley.
        softening: f64 = Field::new("").label("softening").within(0.0, 0.5).or(0.04)
            .from(Grade::Design, "the house judges ready by its own corns"),
        /// Of the moisture as cast, wet basis.
        moisture_wet: f64 = Field::new("").label("moisture as cast").within(0.0, 0.05).or(0.005)
            .from(Grade::Memory, "half a per cent between samples of one steep"),
        /// Of the air over the floor beside the usual weather, K.
        air_c: f64 = Field::new("K").label("air over the floor").within(0.0, 10.0).or(0.8)
            .from(Grade::Design, "shutters hold it"),
    }
}
/// What the moved courses say: of the ready moment, h, and of the temperature at each row, K.
pub(super) struct Spread {
    pub(super) ready_sd_h: f64,
    pub(super) grain_sd_c: Vec<f64>,
}

/// One thing that is not known exactly, moved by its standard uncertainty.
struct Moved {
    constants: Constants,
    charge: Charge,
    programme: Programme,
}

/// By how much a course moves with one thing: the ready moment, h, the temperature hour by hour,
/// K, and at each reading over its own standard uncertainty.
struct Difference {
    ready_h: f64,
    grain_dk: Vec<f64>,
    readings: Vec<f64>,
}

/// The band of a piece. What the readings say of the things moved is taken off beforehand: with
/// differences `J` at the readings, in their standard uncertainties, the things moved have the
/// covariance `(1 + J'J)⁻¹` in theirs, and a figure that moves by `d` has the variance
/// `d'(1 + J'J)⁻¹d`.
pub(super) fn spread(grown: &Grown<'_>, course: &Course, ready_h: f64) -> Spread {
    let moved = moved(grown, course);
    let noted = grown.noted();
    let one = |m: &Moved| grown.moved(&m.constants, &m.charge, &m.programme, ready_h).ok();
    let (same, others) = moved.split_at(1);
    let Some(here) = one(&same[0]) else {
        return Spread { ready_sd_h: 0.0, grain_sd_c: vec![0.0; course.rows.len()] };
    };
    let difference = |m: &Moved| Some(Difference::between(&here, &one(m)?, &noted));
    let differences: Vec<Difference> = std::thread::scope(|scope| {
        let hands: Vec<_> = others
            .chunks(others.len().div_ceil(2).max(1))
            .map(|some| scope.spawn(|| some.iter().filter_map(difference).collect::<Vec<_>>()))
            .collect();
        hands.into_iter().flat_map(|hand| hand.join().unwrap_or_default()).collect()
    });
    let learned = Learning::of(differences.iter().map(|d| d.readings.as_slice()));
    let along = |of: &dyn Fn(&Difference) -> f64| {
        learned.variance(&differences.iter().map(of).collect::<Vec<_>>())
    };
    let hourly: Vec<f64> =
        (0..here.curves.rows()).map(|row| along(&|d| d.grain_dk[row]).sqrt()).collect();
    let times = here.curves.columns.first().map_or(&[][..], |c| c.values.as_slice());
    let at = |time_h: f64| {
        let next = times.partition_point(|t| *t < time_h).min(times.len() - 1);
        let (a, b) = (next.saturating_sub(1), next);
        let span = times[b] - times[a];
        let share = if span > 0.0 { ((time_h - times[a]) / span).clamp(0.0, 1.0) } else { 0.0 };
        hourly[a] + share * (hourly[b] - hourly[a])
    };
    Spread {
        ready_sd_h: along(&|d| d.ready_h).sqrt().hypot(grown.made.uneven_h()),
        grain_sd_c: course.rows.iter().map(|row| at(row.time_h)).collect(),
    }
}

impl Difference {
    fn between(here: &Run, there: &Run, noted: &[(f64, f64)]) -> Self {
        let column = |run: &Run| run.curves.get("temperature_c").unwrap_or_default().to_vec();
        let grain_dk: Vec<f64> =
            column(here).iter().zip(column(there)).map(|(a, b)| b - a).collect();
        let at = |run: &Run, h: f64| run.curves.at("temperature_c", h).unwrap_or(f64::NAN);
        let off = |(h, _): &(f64, f64)| (at(there, *h) - at(here, *h)) / GRAIN_SD_C;
        Self { ready_h: later_by(here, there), readings: noted.iter().map(off).collect(), grain_dk }
    }
}

/// How much later a moved piece is ready, h: what is missing of its softening over the pace there.
fn later_by(here: &Run, there: &Run) -> f64 {
    let end_h = here.out.hours;
    if let Some(ready_h) = there.out.ready_h.filter(|ready_h| *ready_h < end_h - 1e-6) {
        return ready_h - end_h;
    }
    let at = |hour: f64| there.curves.at("modification", hour).unwrap_or(f64::NAN);
    let pace = (at(end_h) - at(end_h - 6.0)) / 6.0;
    let missing = here.out.modification - there.out.modification;
    // Softening slows as it goes on: `1 − X` falls by its own share.
    let left = 1.0 - there.out.modification;
    let hours = -(1.0 - (missing / left).clamp(0.0, 0.95)).ln() * left / pace;
    if hours.is_finite() { hours.clamp(0.0, 200.0) } else { 0.0 }
}

/// The piece as it is, then the things it hangs on most, each moved up by its standard uncertainty.
/// The turns are those of the best course: only the piece differs.
fn moved(grown: &Grown<'_>, course: &Course) -> Vec<Moved> {
    let mut fixed = grown.programme.clone();
    fixed.turns.clone_from(&course.turns);
    fixed.hand.turn_from_h = Some(499.0);
    let same = || Moved {
        constants: grown.constants.clone(),
        charge: grown.charge.clone(),
        programme: fixed.clone(),
    };
    let mut out = vec![same()];
    let mut breathes = same();
    breathes.constants.respiration_1_d *= grown.respiration.before_sd.exp();
    out.push(breathes);
    let unsure = Unsure::default();
    let mut softer = same();
    softer.constants.modification_1_d *= 1.0 + unsure.softening;
    out.push(softer);
    let mut wetter = same();
    wetter.charge.moisture_wet = (wetter.charge.moisture_wet + unsure.moisture_wet).min(0.54);
    out.push(wetter);
    let mut warmer = same();
    for knot in &mut warmer.programme.air {
        knot.air_c += unsure.air_c;
    }
    warmer.programme.hand.floor_c += unsure.air_c;
    out.push(warmer);
    out
}
