//! `plant.toml`: the house's name and site, its climate, and every vessel by key.

use crate::vessel::{Equipment, KINDS};
use gauge::tree::nearest;
use gauge::{Fault, Field, Grade, Reader, Record, record};

/// A vessel: its key in the files, what people call it, and what it is.
#[derive(Debug, Clone, PartialEq)]
pub struct Vessel {
    /// Spelling in files, entries and plans.
    pub key: String,
    /// What it is called: "washback 5".
    pub name: String,
    /// Its kind and figures.
    pub what: Equipment,
}

record! {
    /// Where the house stands.
    pub struct Site {
        /// Pressure of the air.
        pub pressure_pa: f64 = Field::new("Pa").label("air pressure").within(60e3, 110e3)
            .or(101325.0).from(Grade::House, "standard atmosphere unless the house says otherwise"),
        /// Hours that its clock is ahead of universal time.
        pub utc_offset_h: f64 = Field::new("h").label("clock").within(-12.0, 14.0).or(0.0),
    }
}

const COLD_WATER: Field = Field::new("cold_water_c", "°C").label("cold water").within(0.0, 40.0);
const AIR: Field = Field::new("air_c", "°C").label("outside air").within(-30.0, 45.0);
const HUMIDITY: Field =
    Field::new("relative_humidity", "").label("outside humidity").within(0.05, 1.0);

/// The weather of a usual year, one figure a month, January first.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Climate {
    /// Cold water as it reaches the coolers.
    pub cold_water_c: Vec<f64>,
    /// Outside air.
    pub air_c: Vec<f64>,
    /// Its relative humidity, 0 to 1.
    pub relative_humidity: Vec<f64>,
}

/// The weather of one day of a usual year.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weather {
    /// Cold water, °C.
    pub cold_water_c: f64,
    /// Outside air, °C.
    pub air_c: f64,
    /// Its relative humidity, 0 to 1.
    pub relative_humidity: f64,
}

impl Climate {
    /// The weather on a day of the year, 1 to 366, on straight lines between the middles of months.
    pub fn on(&self, day_of_year: f64) -> Weather {
        Weather {
            cold_water_c: between_months(&self.cold_water_c, day_of_year),
            air_c: between_months(&self.air_c, day_of_year),
            relative_humidity: between_months(&self.relative_humidity, day_of_year),
        }
    }

    fn read(r: &mut Reader<'_>) -> Self {
        let climate = Self {
            cold_water_c: r.numbers("cold_water_c", &COLD_WATER),
            air_c: r.numbers("air_c", &AIR),
            relative_humidity: r.numbers("relative_humidity", &HUMIDITY),
        };
        for (key, months) in [
            ("cold_water_c", &climate.cold_water_c),
            ("air_c", &climate.air_c),
            ("relative_humidity", &climate.relative_humidity),
        ] {
            if months.len() != 12 {
                r.fault(Fault::MissingPart {
                    field: key.into(),
                    wanted: "a list of twelve figures, January first,",
                });
            }
        }
        climate
    }
}

fn between_months(months: &[f64], day_of_year: f64) -> f64 {
    let count = months.len();
    if count == 0 {
        return f64::NAN;
    }
    let month = ((day_of_year - 0.5) / 365.25 * count as f64 - 0.5).rem_euclid(count as f64);
    let whole = month.floor();
    let here = (whole as usize).min(count - 1);
    let next = (here + 1) % count;
    months[here] + (month - whole) * (months[next] - months[here])
}

record! {
    /// Figures of a cask of one kind.
    pub struct CaskFigures {
        /// What it holds when full.
        pub volume_l: f64 = Field::new("L").label("cask").within(1.0, 1000.0),
        /// What it weighs empty.
        pub tare_kg: f64 = Field::new("kg").label("empty").within(0.5, 400.0),
    }
}

/// A kind of cask.
#[derive(Debug, Clone, PartialEq)]
pub struct CaskKind {
    /// Spelling in the files.
    pub key: String,
    /// What it is called.
    pub name: String,
    /// Its figures.
    pub figures: CaskFigures,
}

/// The whole of `plant.toml`.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Plant {
    /// What the house is called.
    pub name: String,
    /// Where it stands.
    pub site: Site,
    /// Its usual weather.
    pub climate: Climate,
    /// Every vessel, in the order of the file.
    pub vessels: Vec<Vessel>,
    /// Kinds of cask.
    pub casks: Vec<CaskKind>,
}

impl Plant {
    /// Reads it; faults gather in the reader.
    pub fn read(r: &mut Reader<'_>) -> Self {
        Self {
            name: r.word("name"),
            site: r.section("site", Site::read),
            climate: r.section("climate", Climate::read),
            vessels: keyed(r, "vessel", vessel),
            casks: keyed(r, "cask", |r, key| CaskKind {
                key: key.to_owned(),
                name: r.optional_word("name").unwrap_or_else(|| key.to_owned()),
                figures: CaskFigures::read(r),
            }),
        }
    }
}

/// Reads a vessel. One whose kind is misspelt is read as the kind it is nearest to, so that its
/// figures are still looked at; the misspelling is a fault all the same.
fn vessel(r: &mut Reader<'_>, key: &str) -> Vessel {
    let name = r.optional_word("name");
    let given = r.word("kind");
    let kind = KINDS.iter().copied().find(|kind| *kind == given);
    if kind.is_none() && !given.is_empty() {
        r.fault(Fault::NotAllowed {
            field: "kind".into(),
            found: given.clone(),
            allowed: KINDS.iter().map(|kind| (*kind).to_owned()).collect(),
        });
    }
    let meant = kind
        .or_else(|| nearest(&given, KINDS.iter().copied()))
        .or_else(|| KINDS.iter().copied().find(|kind| key.starts_with(kind)));
    Vessel {
        key: key.to_owned(),
        name: name.unwrap_or_else(|| key.replace('_', " ")),
        what: Equipment::read(r, meant.unwrap_or(KINDS[0])),
    }
}

/// Reads each part under `key`, whose names the house chooses.
pub(crate) fn keyed<T>(
    r: &mut Reader<'_>,
    key: &str,
    mut read: impl FnMut(&mut Reader<'_>, &str) -> T,
) -> Vec<T> {
    let names = r.names(key);
    r.section(key, |r| names.iter().map(|name| r.section(name, |r| read(r, name))).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_weather_turns_with_the_year_and_has_no_jump_at_new_year() {
        let climate = Climate {
            cold_water_c: vec![6., 6., 7., 8., 10., 12., 14., 16., 14., 12., 9., 7.],
            air_c: vec![5.0; 12],
            relative_humidity: vec![0.8; 12],
        };
        let august = climate.on(365.25 / 12.0 * 7.5 + 0.5).cold_water_c;
        assert!((august - 16.0).abs() < 1e-9, "{august}");
        let eve = climate.on(366.0).cold_water_c;
        let morning = climate.on(0.75).cold_water_c;
        assert!((eve - morning).abs() < 0.02, "{eve} {morning}");
    }
}
