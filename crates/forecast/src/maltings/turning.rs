//! The fewest turns that hold a piece under its ceiling until it is ready, inside the watches.

use super::grown::{Grown, Until};
use super::seen::hours;
use gauge::Fault;
use house::{House, Malted, Standing};
use jiff::Timestamp;
use process::floor::{TurnPlan, Turning, propose};
use process::manned::{Manned, Window};

/// How many manned turns one on call weighs [design].
const ON_CALL_WEIGHS: f64 = 3.0;

/// Gives the turning of a piece from `at` on: its hours count from casting.
///
/// # Units
/// As the fields say.
/// # Range
/// As [`process::floor::propose`]; a piece that no turning holds is its fault, which says what
/// would.
/// # Error
/// That of the piece's own reckoning; whole hours.
/// # Source
/// A search of the stage.
pub fn turning(
    house: &House,
    standing: &Standing,
    malted: &Malted,
    at: Timestamp,
) -> Result<TurnPlan, Fault> {
    let grown = Grown::of(house, standing, malted, at)?.fitted();
    let state = (grown.now_h > 0.1)
        .then(|| grown.course(Until::Hour(grown.now_h)).map(|course| course.state))
        .transpose()?;
    let on_call = house.season.roles.iter().any(|r| r.on_call.iter().any(|act| act == "turning"));
    let wanted = Turning {
        ceiling_c: grown.programme.hand.turn_above_c,
        felt_h: grown.own.felt_h,
        on_call_weighs: on_call.then_some(ON_CALL_WEIGHS),
        ..Turning::default()
    };
    let manned = manned(house, grown.laid.at);
    propose(
        &grown.charge,
        grown.stage,
        &grown.programme,
        &grown.constants,
        &wanted,
        &manned,
        state.as_ref(),
    )
}

/// The watches of the house about a moment.
pub(crate) fn manned(house: &House, at: Timestamp) -> Manned {
    let watch = &house.season.watch;
    let (from_week_h, to_week_h) = (watch.begins_week_h, watch.ends_week_h);
    let windows = vec![Window { from_week_h, to_week_h }];
    Manned { start_week_h: week_hour(house, at), windows }
}

/// Hours since the last Monday midnight of the house.
pub(crate) fn week_hour(house: &House, at: Timestamp) -> f64 {
    // The fifth of January 1970 was a Monday.
    let monday = Timestamp::from_second(4 * 86_400).unwrap_or(at);
    (hours(monday, at) + house.plant.site.utc_offset_h).rem_euclid(168.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_week_begins_on_monday() {
        let house = house::quernholm();
        let at = |text: &str| week_hour(&house, text.parse().expect("an instant"));
        assert!((at("2026-11-23T06:30:00Z") - 6.5).abs() < 1e-9);
        assert!((at("2026-11-29T23:00:00Z") - 167.0).abs() < 1e-9);
    }
}
