//! `season.toml`: the year's calendar, the watches, who may do what, and the laydown.

use crate::vessel::WEEKDAYS;
use gauge::{Fault, Reader, Record, record};
use jiff::civil::Date;

record! {
    /// How the season runs.
    pub struct Calendar {
        /// Weeks from opening the maltings to the first mash.
        pub malting_lead_weeks: f64 = Field::new("weeks").label("malting before mashing")
            .within(0.0, 12.0),
        /// Malt standing in bins on the day malting opens, as it is.
        pub opening_malt_kg: f64 = Field::new("kg").label("malt at opening").within(0.0, 1e7)
            .or(0.0).extensive(),
        /// Bins it stands in.
        pub opening_bins: f64 = Field::new("").label("bins it stands in").within(0.0, 200.0)
            .or(0.0),
        /// Weeks of rest at midwinter.
        pub holiday_weeks: f64 = Field::new("weeks").label("midwinter").within(0.0, 12.0),
        /// Weeks of silence from midsummer.
        pub silent_weeks: f64 = Field::new("weeks").label("silent season").within(0.0, 40.0),
        /// Mashes a week.
        pub week_mashes: f64 = Field::new("").label("mashes a week").within(1.0, 60.0),
    }
}
record! {
    /// The watches.
    pub struct Watch {
        /// How many a day.
        pub a_day: f64 = Field::new("").label("watches a day").within(1.0, 4.0),
        /// How long one is.
        pub hours_h: f64 = Field::new("h").label("a watch").within(4.0, 24.0),
        /// Hour of the week, from Monday midnight, at which they begin.
        pub begins_week_h: f64 = Field::new("h").label("begin").within(0.0, 168.0),
        /// Hour of the week at which they end.
        pub ends_week_h: f64 = Field::new("h").label("end").within(0.0, 168.0),
    }
}

/// A day of the calendar.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Day {
    /// One date.
    On(Date),
    /// The same day each year.
    Yearly {
        /// Month, 1 to 12.
        month: i8,
        /// Day of the month.
        day: i8,
    },
    /// So many weeks after the day of first start.
    WeeksFromStart(i32),
}

impl Day {
    /// The first date on or after `from` that this day means; `started` is the day of first start.
    pub fn next(self, from: Date, started: Date) -> Option<Date> {
        match self {
            Self::On(date) => Some(date),
            Self::Yearly { month, day } => (0..2).find_map(|years| {
                let date = Date::new(from.year() + years, month, day).ok()?;
                (date >= from).then_some(date)
            }),
            Self::WeeksFromStart(weeks) => {
                let days = jiff::Span::new().try_weeks(weeks).ok()?;
                started.checked_add(days).ok()
            }
        }
    }

    /// Reads `2027-03-31` or `03-31`.
    pub fn parse(text: &str) -> Option<Self> {
        if let Ok(date) = text.parse::<Date>() {
            return Some(Self::On(date));
        }
        let (month, day) = text.split_once('-')?;
        let (month, day) = (month.parse().ok()?, day.parse().ok()?);
        // A leap year, so that the last of February is a day.
        Date::new(2024, month, day).ok().map(|_| Self::Yearly { month, day })
    }

    fn read(r: &mut Reader<'_>, key: &'static str) -> Self {
        let text = r.word(key);
        Self::parse(&text).unwrap_or_else(|| {
            if !text.is_empty() {
                r.fault(Fault::NotAllowed {
                    field: key.into(),
                    found: text,
                    allowed: vec!["a date such as 2027-03-31, or 03-31 for each year".to_owned()],
                });
            }
            Self::Yearly { month: 1, day: 1 }
        })
    }
}

record! {
    /// How much of an order.
    pub struct Amount {
        /// Pure alcohol to be filled.
        pub pure_alcohol_l: f64 = Field::new("L").label("pure alcohol").within(1.0, 1e8)
            .extensive(),
        /// Weeks after the day of first start at which it is due, instead of a date.
        pub due_week: Option<f64> = Field::new("weeks").label("due").within(0.0, 520.0),
    }
}

/// One order of the laydown.
#[derive(Debug, Clone, PartialEq)]
pub struct Order {
    /// Its name.
    pub id: String,
    /// The make.
    pub make: String,
    /// Kind of cask.
    pub cask: String,
    /// For whom: the house, a broker, a club.
    pub owner: String,
    /// Litres of pure alcohol.
    pub pure_alcohol_l: f64,
    /// When it is due.
    pub due: Day,
    /// Whether it is a wish that came late.
    pub late_wish: bool,
}

impl Order {
    fn read(r: &mut Reader<'_>) -> Self {
        let amount = Amount::read(r);
        let dated = r.has("due");
        if dated == amount.due_week.is_some() {
            r.fault(Fault::OneOf {
                field: "".into(),
                keys: vec!["due", "due_week"],
                given: if dated { 2 } else { 0 },
            });
        }
        let due = match amount.due_week {
            Some(weeks) if !dated => Day::WeeksFromStart(weeks as i32),
            _ if dated => Day::read(r, "due"),
            _ => Day::Yearly { month: 1, day: 1 },
        };
        Self {
            id: r.word("id"),
            make: r.word("make"),
            cask: r.word("cask"),
            owner: r.word("owner"),
            pure_alcohol_l: amount.pure_alcohol_l,
            due,
            late_wish: r.flag("late_wish", false),
        }
    }
}

record! {
    /// How many of a role there are.
    pub struct Crew {
        /// People.
        pub people: f64 = Field::new("").label("people").within(1.0, 1000.0).or(1.0),
    }
}

/// A role, and what it may do.
#[derive(Debug, Clone, PartialEq)]
pub struct Role {
    /// Spelling in the files: `hand`, `distiller`.
    pub key: String,
    /// How many.
    pub crew: Crew,
    /// Whether it may cut.
    pub may_cut: bool,
    /// What the one on call does between the watches.
    pub on_call: Vec<String>,
}

/// The whole of `season.toml`.
#[derive(Debug, Clone, PartialEq)]
pub struct Season {
    /// Figures of the year.
    pub calendar: Calendar,
    /// Day of the first mash.
    pub first_mash: Day,
    /// Day midwinter's rest begins.
    pub holiday: Day,
    /// Day the silent season begins.
    pub silent: Day,
    /// Days of the week with mashes, and how many on each.
    pub mash_days: Vec<(&'static str, usize)>,
    /// The hour of day of each mash, in turn.
    pub mash_hours: Vec<f64>,
    /// The watches.
    pub watch: Watch,
    /// Who works here.
    pub roles: Vec<Role>,
    /// The laydown.
    pub orders: Vec<Order>,
}

impl Season {
    /// Reads it; faults gather in the reader.
    pub fn read(r: &mut Reader<'_>) -> Self {
        const HOUR: gauge::Field = gauge::Field::new("mash_hours_h", "h").within(0.0, 24.0);
        const COUNT: gauge::Field = gauge::Field::new("mash_days", "").within(0.0, 12.0);
        Self {
            calendar: r.section("calendar", Calendar::read),
            first_mash: Day::read(r, "first_mash"),
            holiday: Day::read(r, "holiday"),
            silent: Day::read(r, "silent"),
            mash_days: weekdays(r, &COUNT),
            mash_hours: r.numbers("mash_hours_h", &HOUR),
            watch: r.section("watch", Watch::read),
            roles: crate::plant::keyed(r, "role", |r, key| Role {
                key: key.to_owned(),
                crew: Crew::read(r),
                may_cut: r.flag("may_cut", false),
                on_call: r.words("on_call"),
            }),
            orders: r.list("order", Order::read),
        }
    }
}

impl Default for Season {
    fn default() -> Self {
        let day = Day::Yearly { month: 1, day: 1 };
        Self {
            calendar: Calendar::default(),
            first_mash: day,
            holiday: day,
            silent: day,
            mash_days: Vec::new(),
            mash_hours: Vec::new(),
            watch: Watch::default(),
            roles: Vec::new(),
            orders: Vec::new(),
        }
    }
}

fn weekdays(r: &mut Reader<'_>, count: &gauge::Field) -> Vec<(&'static str, usize)> {
    let mut days = Vec::new();
    for (name, value) in r.named("mash_days", count) {
        match WEEKDAYS.iter().find(|day| **day == name) {
            Some(day) => days.push((*day, value as usize)),
            None => r.fault(Fault::Unknown {
                field: format!("mash_days.{name}").into(),
                near: gauge::tree::nearest(&name, WEEKDAYS.iter().copied()).map(str::to_owned),
            }),
        }
    }
    days
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_day_is_a_date_or_the_same_day_each_year() {
        let from: Date = "2026-11-25".parse().expect("a date");
        let next = |text: &str| Day::parse(text).and_then(|day| day.next(from, from));
        assert_eq!(next("2027-03-31"), "2027-03-31".parse().ok());
        assert_eq!(next("11-24"), "2027-11-24".parse().ok());
        assert_eq!(next("11-25"), "2026-11-25".parse().ok());
        assert_eq!(Day::parse("13-01"), None);
        assert_eq!(Day::parse("soon"), None);
        let late = Day::WeeksFromStart(11).next(from, from);
        assert_eq!(late, "2027-02-10".parse().ok());
    }
}
