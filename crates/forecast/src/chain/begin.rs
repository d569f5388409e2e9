//! The beginning of a batch: which barley, which weather, and what is uncertain of them.

use super::Frame;
use crate::batch::Asked;
use crate::carry::Carry;
use crate::spread::Chain;
use gauge::{Fault, Record};
use house::plant::Weather;
use house::{Equipment, House};
use jiff::Timestamp;
use process::steep;

/// Gives the frame of what is asked.
pub(crate) fn frame<'h>(house: &'h House, asked: &Asked) -> Result<Frame<'h>, Vec<Fault>> {
    let mut faults = Vec::new();
    let make = house.make(&asked.make);
    if make.is_none() {
        faults.push(Fault::NotAllowed {
            field: "make".into(),
            found: asked.make.clone(),
            allowed: house.makes.makes.iter().map(|m| m.name.clone()).collect(),
        });
    }
    let usual = make.and_then(|m| m.barleys.first()).map(String::as_str);
    let wanted = asked.barley.as_deref().or(usual).unwrap_or_default();
    let barley = house.barley(wanted);
    if barley.is_none() && make.is_some() {
        faults.push(Fault::NotAllowed {
            field: "barley".into(),
            found: wanted.to_owned(),
            allowed: house.barleys.iter().map(|b| b.key.clone()).collect(),
        });
    }
    let (Some(make), Some(barley)) = (make, barley) else {
        return Err(faults);
    };
    let malting = asked.weather.unwrap_or_else(|| weather(house, asked.start));
    let later = asked.start.as_second() + 3600 * malting_hours(rest_days(house)) as i64;
    let mashing = asked
        .weather
        .unwrap_or_else(|| weather(house, Timestamp::from_second(later).unwrap_or(asked.start)));
    let kept = asked.cuts.iter().find(|kept| kept.make == make.key).map(Into::into);
    Ok(Frame { house, make, barley, malting, mashing, cask_years: asked.cask_years, kept })
}

/// Gives the batch before anything has happened to it: one steep of barley.
pub(crate) fn chain(frame: &Frame<'_>) -> Result<Chain, Fault> {
    let (_, own) = frame.first("a steep", |what| match what {
        Equipment::Steep(own, _) => Some(own),
        _ => None,
    })?;
    let analysis = &frame.barley.analysis;
    let mut chain = Chain::new(Carry {
        barley_kg: own.barley_kg,
        barley_moisture_wet: analysis.moisture_wet,
        corn_weight_g: analysis.corn_weight_g,
        nitrogen_pct_dry: analysis.nitrogen_pct_dry,
        germinative_energy_4ml_pct: analysis.germinative_energy_4ml_pct,
        germinative_energy_8ml_pct: analysis.germinative_energy_8ml_pct,
        ..Carry::default()
    });
    for field in steep::Charge::FIELDS.iter().filter(|field| field.sd > 0.0) {
        let key = if field.key == "moisture_wet" { "barley_moisture_wet" } else { field.key };
        chain.uncertain(&format!("barley: {}", field.label), key, field.sd);
    }
    Ok(chain)
}

/// The usual weather of a moment.
pub(crate) fn weather(house: &House, at: Timestamp) -> Weather {
    let day = jiff::tz::Offset::UTC.to_datetime(at).day_of_year();
    house.plant.climate.on(f64::from(day))
}

/// Days that malt rests in this house.
pub(crate) fn rest_days(house: &House) -> f64 {
    let bins = house.plant.vessels.iter();
    let weeks = bins.filter_map(|v| match &v.what {
        Equipment::Bin(bin, _) => Some(bin.rest_weeks),
        _ => None,
    });
    7.0 * weeks.fold(0.0, f64::max)
}

/// Hours from steeping to mashing, near enough to know the weather by: twelve days of malting
/// and the rest.
fn malting_hours(rest_days: f64) -> f64 {
    24.0 * (12.0 + rest_days)
}
