//! A noted figure beside what was reckoned, and a moment that is not known to the minute.

use crate::figure::NINE_IN_TEN;
use house::standing::Reading;
use jiff::Timestamp;

/// A moment with its band: nine times in ten it lies between `from` and `to`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Between {
    /// Early end.
    pub from: Timestamp,
    /// Best guess.
    pub likely: Timestamp,
    /// Late end.
    pub to: Timestamp,
}

impl Between {
    /// A moment with its standard uncertainty in hours.
    pub(crate) fn around(likely: Timestamp, sd_h: f64) -> Self {
        let reach = NINE_IN_TEN * sd_h;
        Self { from: later(likely, -reach), likely, to: later(likely, reach) }
    }
    /// Half the width of the band, h.
    pub fn reach_h(&self) -> f64 {
        0.5 * hours(self.from, self.to)
    }
}

/// A noted figure and what the reckoning has for that moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Noted {
    /// When.
    pub at: Timestamp,
    /// What was noted.
    pub value: f64,
    /// What the reckoning gives, with the readings in it.
    pub expected: f64,
    /// What it gave before any reading of this piece.
    pub before: f64,
}

impl Noted {
    /// Readings beside two curves of the same thing.
    pub(crate) fn beside(
        readings: &[Reading],
        after: impl Fn(Timestamp) -> Option<f64>,
        before: impl Fn(Timestamp) -> Option<f64>,
    ) -> Vec<Self> {
        let one = |r: &Reading| {
            let (expected, before) = (after(r.at)?, before(r.at)?);
            Some(Self { at: r.at, value: r.value, expected, before })
        };
        readings.iter().filter_map(one).collect()
    }
}

/// `at` and so many hours.
pub(crate) fn later(at: Timestamp, hours: f64) -> Timestamp {
    if !hours.is_finite() {
        return at;
    }
    let millis = at.as_millisecond() + (3.6e6 * hours).round() as i64;
    Timestamp::from_millisecond(millis).unwrap_or(at)
}

/// Hours from one instant to another.
pub(crate) fn hours(from: Timestamp, to: Timestamp) -> f64 {
    (to.as_millisecond() - from.as_millisecond()) as f64 / 3.6e6
}

/// The two points of a course about a moment, and how far between them it lies, 0 to 1. `None`
/// outside the course.
pub(super) fn about<T>(
    points: &[T],
    when: impl Fn(&T) -> Timestamp,
    at: Timestamp,
) -> Option<(&T, &T, f64)> {
    let next = points.partition_point(|p| when(p) < at);
    let (a, b) = (points.get(next.saturating_sub(1))?, points.get(next)?);
    let span = hours(when(a), when(b));
    let share = if span > 0.0 { hours(when(a), at) / span } else { 1.0 };
    (0.0..=1.0).contains(&share).then_some((a, b, share))
}
