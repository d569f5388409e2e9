//! When somebody is there: hours of the week in which an act of the hand may fall.

use gauge::{Fault, Reader, Record};

gauge::record! {
    /// A stretch of the week with somebody in the house.
    pub struct Window {
        /// Hour of the week it begins, from Monday midnight.
        pub from_week_h: f64 = Field::new("h").label("from the hour of the week")
            .within(0.0, 168.0),
        /// Hour of the week it ends; over 168 it runs into the next week.
        pub to_week_h: f64 = Field::new("h").label("to the hour of the week")
            .within(0.0, 336.0),
    }
}

gauge::record! {
    /// How the hours of a reckoning lie in the week.
    pub struct Start {
        /// Hour of the week at its beginning, from Monday midnight.
        pub start_week_h: f64 = Field::new("h").label("begins at the hour of the week")
            .within(0.0, 168.0).or(0.0),
    }
}

/// Hours of a reckoning in which somebody is there. Without windows, always.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Manned {
    /// Hour of the week at hour nought, from Monday midnight.
    pub start_week_h: f64,
    /// The stretches, in any order.
    pub windows: Vec<Window>,
}

/// A week.
const WEEK_H: f64 = 168.0;
/// Edges of a window belong to it, in hours.
const EDGE_H: f64 = 1e-6;

impl Manned {
    /// The same hours every day.
    pub fn daily(start_week_h: f64, from_day_h: f64, to_day_h: f64) -> Self {
        let day = |day: u32| 24.0 * f64::from(day);
        let window = |d| Window { from_week_h: day(d) + from_day_h, to_week_h: day(d) + to_day_h };
        Self { start_week_h, windows: (0..7).map(window).collect() }
    }

    /// Reads `[manned]` and `[[manned.window]]`.
    pub fn read(reader: &mut Reader<'_>) -> Self {
        reader.section("manned", |r| {
            let Start { start_week_h } = Start::read(r);
            Self { start_week_h, windows: r.list("window", Window::read) }
        })
    }

    /// Refuses a window that ends before it begins, or is longer than a week.
    pub(crate) fn check(&self) -> Result<(), Fault> {
        crate::sound::sound("manned", &Start { start_week_h: self.start_week_h })?;
        for (i, window) in self.windows.iter().enumerate() {
            let place = format!("manned.window[{i}]");
            crate::sound::sound(&place, window)?;
            let (from, to) = (window.from_week_h, window.to_week_h);
            if to <= from || to > from + WEEK_H {
                return Err(Fault::Unworkable {
                    field: format!("{place}.to_week_h").into(),
                    trouble: format!("the window from {from} to {to} is no part of a week"),
                    remedy: "give an end after the beginning, over 168 into the next week".into(),
                });
            }
        }
        Ok(())
    }

    /// Whether somebody is there at an hour of the reckoning.
    pub fn at(&self, time_h: f64) -> bool {
        let hour = (self.start_week_h + time_h).rem_euclid(WEEK_H);
        self.windows.is_empty()
            || self.windows.iter().any(|window| {
                let inside = |hour: f64| {
                    (window.from_week_h - EDGE_H..=window.to_week_h + EDGE_H).contains(&hour)
                };
                inside(hour) || inside(hour + WEEK_H)
            })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_window_may_run_into_the_next_week() {
        let night = Window { from_week_h: 160.0, to_week_h: 180.0 };
        let manned = Manned { start_week_h: 150.0, windows: vec![night] };
        assert!(manned.check().is_ok());
        let there: Vec<bool> =
            [9.0, 10.0, 20.0, 30.0, 31.0].iter().map(|h| manned.at(*h)).collect();
        assert_eq!(there, [false, true, true, true, false]);
        assert!(Manned::default().at(5.0), "without windows, always");
    }

    #[test]
    fn a_window_that_is_no_part_of_a_week_is_refused() {
        for (from_week_h, to_week_h) in [(10.0, 10.0), (10.0, 8.0), (0.0, 200.0)] {
            let windows = vec![Window { from_week_h, to_week_h }];
            let fault = Manned { start_week_h: 0.0, windows }.check().unwrap_err();
            assert_eq!(fault.field(), Some("manned.window[0].to_week_h"));
        }
    }
}
