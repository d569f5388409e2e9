//! The house's clock: local days and hours, watches, mash days.

use house::House;
use house::vessel::WEEKDAYS;
use jiff::civil::{Date, DateTime};
use jiff::tz::Offset;
use jiff::{SignedDuration, Timestamp};

/// The clock of one house.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Clock<'h> {
    house: &'h House,
    offset: Offset,
}

impl<'h> Clock<'h> {
    pub(crate) fn of(house: &'h House) -> Self {
        let seconds = (house.plant.site.utc_offset_h * 3600.0) as i32;
        Self { house, offset: Offset::from_seconds(seconds).unwrap_or(Offset::UTC) }
    }
    fn local(&self, at: Timestamp) -> DateTime {
        self.offset.to_datetime(at)
    }
    /// The instant of an hour of a local day.
    pub(crate) fn at(&self, day: Date, hour: f64) -> Option<Timestamp> {
        let midnight = self.offset.to_timestamp(day.at(0, 0, 0, 0)).ok()?;
        midnight.checked_add(duration(hour)).ok()
    }
    /// The local days from the day of `from` to the day of `to`.
    pub(crate) fn days(&self, from: Timestamp, to: Timestamp) -> Vec<Date> {
        let (mut day, last) = (self.local(from).date(), self.local(to).date());
        let mut out = Vec::new();
        while day <= last && out.len() < 400 {
            out.push(day);
            match day.tomorrow() {
                Ok(next) => day = next,
                Err(_) => break,
            }
        }
        out
    }
    /// Name of the day of the week as the files spell it.
    pub(crate) fn weekday(day: Date) -> &'static str {
        WEEKDAYS[day.weekday().to_monday_zero_offset() as usize]
    }
    /// Hours since the last Monday midnight.
    pub(crate) fn week_hour(&self, at: Timestamp) -> f64 {
        let local = self.local(at);
        let days = f64::from(local.date().weekday().to_monday_zero_offset());
        24.0 * days + f64::from(local.hour()) + f64::from(local.minute()) / 60.0
    }
    /// Whether a manned act may begin at `at`.
    pub(crate) fn in_watch(&self, at: Timestamp) -> bool {
        let watch = &self.house.season.watch;
        (watch.begins_week_h..watch.ends_week_h).contains(&self.week_hour(at))
    }
    /// The first moment at or after `at` at which a manned act may begin.
    pub(crate) fn next_watch(&self, at: Timestamp) -> Timestamp {
        if self.in_watch(at) {
            return at;
        }
        let hour = self.week_hour(at);
        let begins = self.house.season.watch.begins_week_h;
        let wait = if hour < begins { begins - hour } else { begins + 168.0 - hour };
        at.checked_add(duration(wait)).unwrap_or(at)
    }
    /// Whether the house rests on that day: midwinter or the silent season.
    pub(crate) fn rests(&self, day: Date) -> bool {
        let season = &self.house.season;
        let calendar = &season.calendar;
        let inside = |begins: house::season::Day, weeks: f64| {
            let days = (7.0 * weeks) as i32;
            let Ok(back) = day.checked_sub(jiff::Span::new().days(days)) else {
                return false;
            };
            begins.next(back, back).is_some_and(|from| from <= day && from > back)
        };
        inside(season.holiday, calendar.holiday_weeks)
            || inside(season.silent, calendar.silent_weeks)
    }
    /// Every mash that the calendar has between two instants.
    pub(crate) fn mashes(&self, from: Timestamp, to: Timestamp) -> Vec<Timestamp> {
        let season = &self.house.season;
        let mut out = Vec::new();
        for day in self.days(from, to).into_iter().filter(|day| !self.rests(*day)) {
            let name = Self::weekday(day);
            let count = season.mash_days.iter().find(|(d, _)| *d == name).map_or(0, |(_, n)| *n);
            let hours = season.mash_hours.iter().take(count);
            out.extend(hours.filter_map(|hour| self.at(day, *hour)));
        }
        out.retain(|at| (from..=to).contains(at));
        out
    }
}

/// A length of time in hours.
pub(crate) fn duration(hours: f64) -> SignedDuration {
    SignedDuration::from_millis((hours * 3.6e6).round() as i64)
}

/// `at` and so many hours.
pub(crate) fn later(at: Timestamp, hours: f64) -> Timestamp {
    at.checked_add(duration(hours)).unwrap_or(at)
}

/// Hours from one instant to another.
pub(crate) fn hours(from: Timestamp, to: Timestamp) -> f64 {
    (to.as_millisecond() - from.as_millisecond()) as f64 / 3.6e6
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> Timestamp {
        text.parse().expect("an instant")
    }

    #[test]
    fn the_calendar_has_nine_mashes_a_week_and_none_at_midwinter() {
        let house = house::quernholm();
        let clock = Clock::of(&house);
        let week = clock.mashes(at("2026-11-23T00:00:00Z"), at("2026-11-30T00:00:00Z"));
        assert_eq!(week.len(), 9);
        assert_eq!(week[0], at("2026-11-23T06:30:00Z"));
        let midwinter = clock.mashes(at("2026-12-21T00:00:00Z"), at("2027-01-03T00:00:00Z"));
        assert!(midwinter.is_empty(), "{midwinter:?}");
        let after = clock.mashes(at("2027-01-04T00:00:00Z"), at("2027-01-05T00:00:00Z"));
        assert_eq!(after.len(), 2);
    }

    #[test]
    fn a_manned_act_waits_for_the_watch() {
        let house = house::quernholm();
        let clock = Clock::of(&house);
        let saturday = at("2026-11-28T15:00:00Z");
        assert!(!clock.in_watch(saturday));
        assert_eq!(clock.next_watch(saturday), at("2026-11-30T06:00:00Z"));
        assert_eq!(clock.next_watch(at("2026-11-25T03:00:00Z")), at("2026-11-25T03:00:00Z"));
    }
}
