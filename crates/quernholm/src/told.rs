//! What is told to the book: one line for each thing that happened, with the hour on the wall.

use crate::Calendar;
use crate::chance::Chance;
use book::{BookFault, Moment, Noting, Role};
use gauge::Node;
use jiff::civil;
use jiff::tz::TimeZone;

/// Hours since the Monday on which the first mash was mashed, as the clock on the wall counts.
pub(crate) type Hours = f64;

/// The clock on Quernholm's wall.
#[derive(Debug, Clone)]
pub struct Clock {
    monday: civil::DateTime,
    zone: TimeZone,
    now_h: Hours,
}

/// Weeks of mashing before the week of first start.
const WEEKS: i64 = 9;

impl Clock {
    /// Counts back nine weeks from the day of first start.
    pub fn new(calendar: &Calendar) -> Self {
        let days = i64::from(calendar.today.weekday().to_monday_zero_offset()) + 7 * WEEKS;
        let monday = calendar.today.saturating_sub(jiff::Span::new().days(days));
        let hour = calendar.hour;
        let now_h = days as f64 * 24.0 + f64::from(hour.hour()) + f64::from(hour.minute()) / 60.0;
        Self {
            monday: monday.to_datetime(civil::Time::midnight()),
            zone: calendar.zone.clone(),
            now_h,
        }
    }
    /// The hour of first start.
    pub(crate) fn now_h(&self) -> Hours {
        self.now_h
    }
    /// The week of an hour; the first mash is in week 1.
    pub(crate) fn week(hours: Hours) -> i64 {
        (hours / 168.0).floor() as i64 + 1
    }
    /// The year of an hour.
    pub(crate) fn year(&self, hours: Hours) -> i16 {
        self.civil(hours).year()
    }
    /// The day of the year, from 1.
    pub(crate) fn day_of_year(&self, hours: Hours) -> i16 {
        self.civil(hours).date().day_of_year()
    }
    /// An hour as a field of an entry writes it.
    pub(crate) fn written(&self, hours: Hours) -> String {
        self.moment(hours).map(|moment| moment.to_string()).unwrap_or_default()
    }
    fn civil(&self, hours: Hours) -> civil::DateTime {
        let minutes = (hours * 60.0).round() as i64;
        self.monday.saturating_add(jiff::Span::new().minutes(minutes))
    }
    fn moment(&self, hours: Hours) -> Option<Moment> {
        let zoned = self.civil(hours).to_zoned_datetime(self.zone.clone()).ok()?;
        Some(Moment::in_zone(zoned.timestamp(), &self.zone))
    }
    /// Whether a manned act may be done: Monday 06:00 to Saturday 14:00.
    pub(crate) fn in_watch(hours: Hours) -> bool {
        (6.0..=134.0).contains(&hours.rem_euclid(168.0))
    }
    /// The next hour at which a manned act of this length may begin.
    pub(crate) fn next_in_watch(hours: Hours, length_h: f64) -> Hours {
        let in_week = hours.rem_euclid(168.0);
        let monday = hours - in_week;
        if in_week < 6.0 {
            monday + 6.0
        } else if in_week + length_h > 134.0 {
            monday + 168.0 + 6.0
        } else {
            hours
        }
    }
}

#[derive(Debug)]
struct Line {
    at_h: Hours,
    noted_h: Hours,
    kind: &'static str,
    fields: Vec<(String, Node)>,
    writer: &'static str,
    role: Role,
}

/// Hands of the three watches: roles, since the demo has no people.
const HANDS: [&str; 3] = ["hand, early watch", "hand, late watch", "hand, night watch"];
/// Who may cut and correct.
const DISTILLER: &str = "distiller";
/// Who fills casks.
const FILLER: &str = "filling store";
/// Minutes from the act to the pen.
const PEN_H: f64 = 4.0 / 60.0;

/// All that is told, in no order yet.
#[derive(Debug)]
pub(crate) struct Diary {
    lines: Vec<Line>,
    /// The one stream of chance.
    pub(crate) chance: Chance,
}

/// A field of a line.
pub(crate) fn field(key: &str, value: impl Into<Node>) -> (String, Node) {
    (key.to_owned(), value.into())
}

/// A figure as a person writes it, to so many decimals.
pub(crate) fn to(value: f64, decimals: i32) -> f64 {
    let scale = 10_f64.powi(decimals);
    (value * scale).round() / scale
}

impl Diary {
    pub(crate) fn new(seed: u64) -> Self {
        Self { lines: Vec::new(), chance: Chance::new(seed) }
    }

    /// Tells that something happened.
    pub(crate) fn tell<const N: usize>(
        &mut self,
        at_h: Hours,
        kind: &'static str,
        fields: [(String, Node); N],
    ) {
        self.tell_late(at_h, at_h + PEN_H, kind, fields.into());
    }

    /// Tells it at another time than it happened.
    pub(crate) fn tell_late(
        &mut self,
        at_h: Hours,
        noted_h: Hours,
        kind: &'static str,
        fields: Vec<(String, Node)>,
    ) {
        // Watches begin at 06:00.
        let watch = ((at_h - 6.0).rem_euclid(24.0) / 8.0) as usize;
        let (writer, role) = match kind {
            "fill" | "regauge" => (FILLER, Role::FillingStore),
            "opening" | "contra" | "run_off" | "receive" | "reduce" | "cuts" => {
                (DISTILLER, Role::Distiller)
            }
            _ => (HANDS[watch.min(2)], Role::Hand),
        };
        self.lines.push(Line { at_h, noted_h, kind, fields, writer, role });
    }

    /// Tells what the distiller did, whatever the watch.
    pub(crate) fn tell_as_distiller(
        &mut self,
        at_h: Hours,
        kind: &'static str,
        fields: Vec<(String, Node)>,
    ) {
        let noted_h = at_h + PEN_H;
        let (writer, role) = (DISTILLER, Role::Distiller);
        self.lines.push(Line { at_h, noted_h, kind, fields, writer, role });
    }

    /// Lets what matches have happened at another hour.
    pub(crate) fn put_earlier(
        &mut self,
        to_h: Hours,
        which: impl Fn(&str, Hours, &[(String, Node)]) -> bool,
    ) {
        for line in &mut self.lines {
            if which(line.kind, line.at_h, &line.fields) {
                line.at_h = to_h;
                line.noted_h = to_h + PEN_H;
            }
        }
    }

    /// When the last of what matches happened, up to an hour.
    pub(crate) fn last_before(
        &self,
        at_h: Hours,
        which: impl Fn(&str, &[(String, Node)]) -> bool,
    ) -> Option<Hours> {
        let lines = self.lines.iter().filter(|l| l.at_h <= at_h && which(l.kind, &l.fields));
        lines.map(|line| line.at_h).max_by(f64::total_cmp)
    }

    /// Takes back what matches: it has not happened.
    pub(crate) fn forget(&mut self, which: impl Fn(&str, Hours, &[(String, Node)]) -> bool) {
        self.lines.retain(|line| !which(line.kind, line.at_h, &line.fields));
    }

    /// Everything up to now, in the order in which it was noted.
    pub(crate) fn notings(mut self, clock: &Clock) -> Result<Vec<Noting>, BookFault> {
        self.lines.retain(|line| line.noted_h <= clock.now_h());
        self.lines.sort_by(|a, b| a.noted_h.total_cmp(&b.noted_h).then(a.at_h.total_cmp(&b.at_h)));
        // A contra names the entry it reverses by its serial, which is its place in this order.
        let wrong = self.lines.iter().position(|line| line.fields.iter().any(|(k, _)| k == WRONG));
        let mut out = Vec::with_capacity(self.lines.len());
        for (place, mut line) in self.lines.into_iter().enumerate() {
            line.fields.retain(|(key, _)| key != WRONG);
            if line.kind == "contra" {
                let serial = wrong.map_or(0.0, |w| w as f64 + 1.0);
                line.fields.push(field("of", Node::Number(serial)));
            }
            let moment = |hours: Hours| {
                clock.moment(hours).ok_or_else(|| BookFault::NotATime { text: hours.to_string() })
            };
            out.push(
                Noting::new(line.kind, Node::Part(line.fields))?
                    .id(format!("quernholm-{}", place + 1))
                    .at(moment(line.at_h)?)
                    .noted(moment(line.noted_h)?)
                    .by(line.writer, line.role),
            );
        }
        Ok(out)
    }
}

/// Marks the line that a contra reverses; it is not told to the book.
pub(crate) const WRONG: &str = "wrong";
