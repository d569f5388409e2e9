//! Times and spans in house style.

use jiff::{Timestamp, ZonedDateTime};

/// Gives the clock: `06:30`.
pub fn clock(at: &ZonedDateTime) -> String {
    format!("{:02}:{:02}", at.hour(), at.minute())
}

/// Gives the day: `Thu 22 October`.
pub fn day(at: &ZonedDateTime) -> String {
    at.strftime("%a %-d %B").to_string()
}

/// Gives the day in full: `Friday 23 October`.
pub fn long_day(at: &ZonedDateTime) -> String {
    at.strftime("%A %-d %B").to_string()
}

/// Gives a moment as seen from `now`: the clock today, the weekday within a week, else the date.
pub fn seen(at: &ZonedDateTime, now: &ZonedDateTime) -> String {
    let apart = (at.timestamp().as_second() - now.timestamp().as_second()).abs();
    if at.date() == now.date() {
        clock(at)
    } else if apart < 6 * 86_400 {
        at.strftime("%a %H:%M").to_string()
    } else if apart < 300 * 86_400 {
        at.strftime("%-d %b %H:%M").to_string()
    } else {
        at.strftime("%-d %b %Y").to_string()
    }
}

/// Gives the date: `22 Oct`.
pub fn date(at: &ZonedDateTime) -> String {
    at.strftime("%-d %b").to_string()
}

/// Gives a span in words: `37 min`, `11 h`, `2 h 20 min`, `3 days`.
pub fn span(seconds: i64) -> String {
    let minutes = (seconds.abs() + 30) / 60;
    let narrow = sheets::figure::NARROW;
    match minutes {
        0..60 => format!("{minutes}{narrow}min"),
        60..600 if minutes % 60 != 0 => {
            format!("{}{narrow}h {}{narrow}min", minutes / 60, minutes % 60)
        }
        60..2880 => format!("{}{narrow}h", (minutes + 30) / 60),
        _ => format!("{} days", (minutes + 720) / 1440),
    }
}

/// Gives how long before `now` the moment `at` was, in seconds; negative when it is to come.
pub fn ago(at: Timestamp, now: Timestamp) -> i64 {
    now.as_second() - at.as_second()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spans_are_said_as_a_hand_says_them() {
        let seen = |s| span(s).replace(sheets::figure::NARROW, " ");
        assert_eq!(seen(37 * 60), "37 min");
        assert_eq!(seen(140 * 60), "2 h 20 min");
        assert_eq!(seen(11 * 3600), "11 h");
        assert_eq!(seen(-11 * 3600 - 600), "11 h");
        assert_eq!(seen(3 * 86_400), "3 days");
    }

    #[test]
    fn a_moment_is_written_no_longer_than_it_must_be() {
        let at = |text: &str| -> ZonedDateTime { text.parse().expect("a moment") };
        let now = at("2026-10-22T05:52:00+01:00[Europe/London]");
        assert_eq!(seen(&at("2026-10-22T22:10:00+01:00[Europe/London]"), &now), "22:10");
        assert_eq!(seen(&at("2026-10-23T04:20:00+01:00[Europe/London]"), &now), "Fri 04:20");
        assert_eq!(seen(&at("2026-10-09T04:20:00+01:00[Europe/London]"), &now), "9 Oct 04:20");
    }
}
