//! What a reading should be, the moment before it is noted.

use crate::batch::{Asked, Batch};
use crate::chain::usual_weather;
use crate::figure::{Band, Step};
use crate::maltings;
use crate::stillhouse::{self, Fitted};
use crate::washback::Course;
use gauge::Fault;
use house::{House, KeptCuts, Standing};
use jiff::Timestamp;

/// A batch of every make under the weather of one day, to look readings up in.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Forecasts {
    /// One batch a make, in the order of the house.
    pub batches: Vec<Batch>,
    /// What the house's own runs have taught of heads and congeners.
    pub fitted: Fitted,
}

impl Forecasts {
    /// Foretells every make of the house under the usual weather of `at`.
    pub fn of(house: &House, at: Timestamp) -> Result<Self, Vec<Fault>> {
        Self::kept(house, at, &[], &Fitted::default())
    }
    /// The same with the cuts the house keeps to now, and with what has been fitted.
    pub fn kept(
        house: &House,
        at: Timestamp,
        cuts: &[KeptCuts],
        fitted: &Fitted,
    ) -> Result<Self, Vec<Fault>> {
        let weather = Some(usual_weather(house, at));
        let makes = house.makes.makes.iter();
        let batches = makes
            .map(|make| {
                let cuts = cuts.to_vec();
                crate::batch(house, &Asked { weather, cuts, ..Asked::usual(&make.key, at) })
            })
            .collect::<Result<_, _>>()?;
        Ok(Self { batches, fitted: fitted.clone() })
    }
    /// The batch of a make.
    pub fn of_make(&self, make: &str) -> Option<&Batch> {
        self.batches.iter().find(|batch| batch.make == make)
    }
}

/// Which reading, of which vessel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum What<'w> {
    /// Gravity of a washback.
    Gravity(&'w str),
    /// Temperature of a washback.
    WashTemperature(&'w str),
    /// Air-off of the kiln.
    AirOff,
    /// Grain of a piece on a floor.
    Grain(&'w str),
    /// Strength at the safe of a still that runs.
    Strength(&'w str),
}

/// What is expected.
#[derive(Debug, Clone, PartialEq)]
pub struct Expected {
    /// Key of the reading, with its unit.
    pub key: &'static str,
    /// What it is called.
    pub label: &'static str,
    /// Its unit as shown.
    pub unit: &'static str,
    /// The value.
    pub value: f64,
    /// Nine times in ten.
    pub band: Band,
    /// Decimals to show.
    pub decimals: u8,
}

/// Gives what a reading at `at` should be; nothing when the vessel is empty, the make unknown, or
/// the moment outside its course.
///
/// A washback is reckoned anew from what was noted of it before that moment, a run from the alcohol
/// it was charged with; a piece on kiln or floor from what was noted of it, where the book has
/// followed it, else off the forecast of its make.
pub fn expect(
    house: &House,
    standing: &Standing,
    forecasts: &Forecasts,
    what: What<'_>,
    at: Timestamp,
) -> Option<Expected> {
    match what {
        What::Gravity(vessel) => {
            let back = standing.washbacks.iter().find(|w| w.vessel == vessel)?;
            let [gravity, _] = Course::of(house, forecasts, standing, back, at)?.at(at)?;
            Some(gravity)
        }
        What::WashTemperature(vessel) => {
            let back = standing.washbacks.iter().find(|w| w.vessel == vessel)?;
            let [_, temperature] = Course::of(house, forecasts, standing, back, at)?.at(at)?;
            Some(temperature)
        }
        What::AirOff => {
            let kilning = standing.kiln.as_ref()?;
            if let Some(found) = off_of_kiln(house, standing, kilning.piece, at) {
                return Some(found);
            }
            let step = forecasts.of_make(&kilning.make)?.step("kiln")?;
            let key = ("air_off_c", "air-off", "°C", 1);
            off_curve(step, "air_off_c", hours(kilning.since, at), key)
        }
        What::Grain(vessel) => {
            let piece = standing.floors.iter().find(|p| p.vessel == vessel)?;
            if let Some(found) = grain_of(house, standing, piece.piece, at) {
                return Some(found);
            }
            let step = forecasts.of_make(&piece.make)?.step("floor")?;
            let key = ("grain_c", "grain", "°C", 1);
            off_curve(step, "temperature_c", hours(piece.since, at), key)
        }
        What::Strength(vessel) => {
            let running = standing.stills.iter().find(|s| s.vessel == vessel)?;
            let kept = standing.cuts.iter().find(|kept| kept.make == running.make);
            let fitted = &forecasts.fitted;
            let run = stillhouse::Expected::of_running(house, running, kept, fitted).ok()?;
            strength(&run, 3600.0 * hours(running.since, at) - run.heat_up_s)
        }
    }
}

/// What the safe should show so many seconds from the first running; nothing outside the run.
fn strength(run: &stillhouse::Expected, time_s: f64) -> Option<Expected> {
    if !(0.0..=run.trace.end_s()).contains(&time_s) {
        return None;
    }
    let figure = run.strength_at(time_s);
    let band = figure.band.unwrap_or(Band::around(figure.value, 0.0));
    let crate::Figure { key, label, unit, value, decimals, .. } = figure;
    Some(Expected { key, label, unit, value, band, decimals })
}

/// The air-off of a piece that the book has followed, reckoned anew.
fn off_of_kiln(house: &House, standing: &Standing, piece: u32, at: Timestamp) -> Option<Expected> {
    let malted = standing.malted.iter().find(|m| m.piece == piece && m.kiln.is_some())?;
    let kept = standing.firings.iter().rfind(|kept| kept.piece == piece);
    let moment = maltings::kilning(house, standing, malted, kept, at).ok()?.at(at)?;
    let sd = (moment.air_off_high_c - moment.air_off_c) / crate::figure::NINE_IN_TEN;
    let (key, label, unit, value, decimals) = ("air_off_c", "air-off", "°C", moment.air_off_c, 1);
    Some(Expected { key, label, unit, value, band: Band::around(value, sd), decimals })
}

/// The grain of a piece that the book has followed, reckoned anew.
fn grain_of(house: &House, standing: &Standing, piece: u32, at: Timestamp) -> Option<Expected> {
    let malted = standing.malted.iter().find(|m| m.piece == piece && m.floor.is_some())?;
    let point = maltings::piece(house, standing, malted, at).ok()?.at(at)?;
    let (key, label, unit, value, decimals) = ("grain_c", "grain", "°C", point.grain_c, 1);
    let band = Band::around(value, point.grain_sd_c);
    Some(Expected { key, label, unit, value, band, decimals })
}

pub(crate) fn hours(from: Timestamp, to: Timestamp) -> f64 {
    (to.as_millisecond() - from.as_millisecond()) as f64 / 3.6e6
}

fn off_curve(
    step: &Step,
    column: &str,
    at: f64,
    (key, label, unit, decimals): (&'static str, &'static str, &'static str, u8),
) -> Option<Expected> {
    let times = &step.curves.columns.first()?.values;
    if at < *times.first()? || at > *times.last()? {
        return None;
    }
    let (value, sd) = step.on_curve(column, at)?;
    Some(Expected { key, label, unit, value, band: Band::around(value, sd), decimals })
}
