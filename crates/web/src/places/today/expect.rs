//! What stands in the vessels now, and what is expected of it.

use crate::app::Working;
use crate::places::Maltings;
use forecast::{Forecasts, What};
use house::Standing;
use jiff::Timestamp;
use std::convert::Infallible;
use std::sync::Arc;

/// The standing of the house, and what the forecast says of it.
#[derive(Debug, Clone)]
pub(crate) struct Outlook {
    /// What stands there.
    pub(crate) standing: Arc<Standing>,
    /// What the makes should give; empty until it is reckoned.
    pub(crate) forecasts: Arc<Forecasts>,
    /// Whether the forecasts are there.
    pub(crate) foretold: bool,
    open: Arc<Working>,
}

impl Outlook {
    /// What stands there at `now`.
    pub(crate) fn at(open: &Arc<Working>, now: Timestamp) -> Result<Self, book::StoreFault> {
        let standing = open.standing(now)?;
        let forecasts = open.forecasts(now);
        Ok(Self {
            standing,
            foretold: forecasts.is_some(),
            forecasts: forecasts.unwrap_or_default(),
            open: open.clone(),
        })
    }

    /// What is expected of a figure of a vessel, with its standard uncertainty, as the book keeps
    /// it.
    pub(crate) fn expected(&self, vessel: &str, key: &str, at: Timestamp) -> Option<(f64, f64)> {
        let what = match (self.open.house.vessel(vessel)?.what.kind(), key) {
            ("washback", "gravity") => What::Gravity(vessel),
            ("washback", "temperature_c") => What::WashTemperature(vessel),
            ("kiln", "air_off_c") => What::AirOff,
            ("floor", "grain_c") => What::Grain(vessel),
            ("still", "strength_pct") => What::Strength(vessel),
            _ => return None,
        };
        let found = forecast::expect(&self.open.house, &self.standing, &self.forecasts, what, at)?;
        Some((found.value, found.band.sd))
    }

    /// The work that is due.
    pub(crate) fn due(&self, now: Timestamp) -> Arc<Vec<plan::Work>> {
        due(&self.open, (&self.standing, &self.forecasts), now)
    }
}

/// The work that is due, reckoned once for each entry and each minute.
pub(crate) fn due(
    open: &Working,
    (standing, forecasts): (&Standing, &Forecasts),
    now: Timestamp,
) -> Arc<Vec<plan::Work>> {
    let reckoned = || match Maltings::at(open, now) {
        Ok(seen) => {
            let span = plan::Span { now, hours: HOURS };
            plan::due_of(&open.house, standing, forecasts, seen.today(open), span)
        }
        Err(_) => plan::due(&open.house, standing, forecasts, now, HOURS),
    };
    // Forecasts come late, after a start and each morning: with them the figures are there.
    let key = (standing.serial, now.as_second().div_euclid(60), forecasts.batches.len());
    let Ok(work) = open.dues.get(key, || Ok::<_, Infallible>(reckoned()));
    work
}

/// How far Today looks ahead.
pub(crate) const HOURS: f64 = 36.0;
