//! The next hours of work by the clock, from what stands there.
//!
//! No plan is made here: each piece follows from what lies in a vessel, from the calendar and from
//! the forecast of its make. Where two pieces want one vessel, the older goes first.

mod filling;
mod maltings;
mod mashing;
mod stillhouse;
#[cfg(test)]
mod tests;

use crate::clock::Clock;
use crate::kind::TaskKind;
use crate::work::{Number, Work};
use forecast::maltings::Today;
use forecast::tun_room::Charging;
use forecast::{Batch, Forecasts, What, expect};
use gauge::Field;
use house::{House, Make, Standing};
use jiff::Timestamp;
pub use mashing::coming_mashes;

/// Hours between readings of the kiln's air-off.
pub(crate) const KILN_READING_H: f64 = 4.0;
/// Hours between readings of a washback: one a watch.
pub(crate) const WASH_READING_H: f64 = 8.0;
/// Hours between readings of a still that runs.
pub(crate) const STILL_READING_H: f64 = 1.0;

/// Gives the work that is due from `now` on for so many hours, late ones first.
pub fn due(
    house: &House,
    standing: &Standing,
    forecasts: &Forecasts,
    now: Timestamp,
    hours: f64,
) -> Vec<Work> {
    due_of(house, standing, forecasts, &Today::of(house, standing, now), Span { now, hours })
}

/// Gives the charges of wash among pieces of work, in the order of time, each with the moment at
/// which the next may follow.
pub fn charges(work: &[Work]) -> Vec<Charging> {
    let mut out: Vec<Charging> = work
        .iter()
        .filter(|w| w.kind == TaskKind::ChargeWash)
        .filter_map(|w| {
            let runs_h = w.figures.iter().find(|n| n.key == "run_h")?.value;
            let until = crate::clock::later(w.at, runs_h);
            Some(Charging { mash: w.lot?, at: w.at, until })
        })
        .collect();
    out.sort_by_key(|charge| charge.at);
    out
}

/// From when, and for how long.
#[derive(Debug, Clone, Copy)]
pub struct Span {
    /// From when on.
    pub now: Timestamp,
    /// Hours from then.
    pub hours: f64,
}

/// Gives the same where the maltings have been reckoned for that moment already.
pub fn due_of(
    house: &House,
    standing: &Standing,
    forecasts: &Forecasts,
    today: &Today,
    span: Span,
) -> Vec<Work> {
    let Span { now, hours } = span;
    let until = crate::clock::later(now, hours);
    let clock = Clock::of(house);
    let desk = Desk { house, standing, forecasts, today, now, until, clock };
    let mut work = maltings::work(&desk);
    let (stills, freed) = stillhouse::work(&desk);
    work.extend(stills);
    work.extend(mashing::work(&desk, freed));
    work.extend(filling::work(&desk));
    work.retain(|w| w.at <= until);
    for w in &mut work {
        w.late_min = ((now.as_second() - w.at.as_second()) / 60).max(0);
    }
    work.sort_by(|a, b| {
        let late = |w: &Work| (w.late_min == 0, w.at);
        late(a).cmp(&late(b)).then_with(|| a.id.cmp(&b.id))
    });
    work
}

/// What every part of the work looks at.
pub(crate) struct Desk<'a> {
    pub(crate) house: &'a House,
    pub(crate) standing: &'a Standing,
    pub(crate) forecasts: &'a Forecasts,
    pub(crate) today: &'a Today,
    pub(crate) now: Timestamp,
    pub(crate) until: Timestamp,
    pub(crate) clock: Clock<'a>,
}

/// What a piece of work is, where and when; the rest is filled in after.
pub(crate) struct Act<'s> {
    pub(crate) kind: TaskKind,
    pub(crate) verb: &'static str,
    pub(crate) vessel: &'s str,
    pub(crate) make: Option<&'s str>,
    pub(crate) lot: Option<u32>,
    pub(crate) at: Timestamp,
    /// What tells it from others of its kind in its vessel.
    pub(crate) mark: String,
}

impl Desk<'_> {
    /// A piece of work with nothing in it yet.
    pub(crate) fn work(&self, act: &Act<'_>) -> Work {
        let make = act.make.and_then(|make| self.house.make(make));
        Work {
            id: format!("{}-{}-{}", act.kind.word(), act.vessel, act.mark),
            kind: act.kind,
            act: act.verb,
            vessel: act.vessel.to_owned(),
            vessel_name: self.house.called(act.vessel).to_owned(),
            make: make.map(|m| m.key.clone()),
            make_name: make.map(|m| m.name.clone()),
            lot: act.lot,
            lot_word: self.lot_word(act),
            at: to_the_minute(act.at),
            latest: None,
            late_min: 0,
            figures: Vec::new(),
            needs: Vec::new(),
            caution: None,
            why: None,
        }
    }
    /// What the number of a piece of work counts: a washback's wash is still its mash when it is
    /// charged; what is noted of a still is of its run.
    fn lot_word(&self, act: &Act<'_>) -> &'static str {
        let vessel = self.house.vessel(act.vessel).map_or("", |v| v.what.kind());
        match (act.kind, vessel) {
            (TaskKind::ChargeWash, _) | (_, "mill" | "mash_tun" | "washback") => "mash",
            (_, "still") => "run",
            _ => "piece",
        }
    }
    /// The forecast of a make.
    pub(crate) fn batch(&self, make: &str) -> Option<&Batch> {
        self.forecasts.of_make(make)
    }
    /// A figure of a make's forecast.
    pub(crate) fn value(&self, make: &str, stage: &str, key: &str) -> Option<f64> {
        self.batch(make)?.figure(stage, key).map(|f| f.value)
    }
    /// Figures of a make's forecast, those that are there.
    pub(crate) fn numbers(&self, make: &str, stage: &str, keys: &[&str]) -> Vec<Number> {
        let step = self.batch(make).and_then(|batch| batch.step(stage));
        let figures = keys.iter().filter_map(|key| step?.figure(key));
        figures.map(Number::from).collect()
    }
    /// What a reading should be.
    pub(crate) fn expected(&self, what: What<'_>, at: Timestamp) -> Vec<Number> {
        let expected = expect(self.house, self.standing, self.forecasts, what, at);
        expected.iter().map(Number::from).collect()
    }
    /// The make of the house under a key.
    pub(crate) fn make(&self, key: &str) -> Option<&Make> {
        self.house.make(key)
    }
}

/// Every moment `every_h` apart from `first` on: the first whether late or not, the rest counted
/// on from now when it is late, none after `until`.
pub(crate) fn repeated(first: Timestamp, every_h: f64, desk: &Desk<'_>) -> Vec<Timestamp> {
    let mut out = vec![first];
    let mut next = crate::clock::later(first.max(desk.now), every_h);
    while next <= desk.until && out.len() < 200 {
        out.push(next);
        next = crate::clock::later(next, every_h);
    }
    out
}

/// Nobody does a piece of work to the second.
fn to_the_minute(at: Timestamp) -> Timestamp {
    Timestamp::from_second((at.as_second() + 30).div_euclid(60) * 60).unwrap_or(at)
}

/// With the readings it wants noted.
pub(crate) fn wanting(mut work: Work, needs: &[Field]) -> Work {
    work.needs = needs.to_vec();
    work
}
