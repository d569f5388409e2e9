//! What a reading should be, the moment before it is noted.

use crate::batch::{Asked, Batch};
use crate::chain::{WORT_PH, usual_weather};
use crate::figure::{Band, Step};
use crate::spread::{Both, Tune};
use gauge::{Fault, record};
use house::make::Make;
use house::standing::Washback;
use house::{Equipment, House, Standing};
use jiff::Timestamp;
use process::ferment::{Charge, Constants, Programme, Vessel, Wort, Yeast, run};

/// A batch of every make under the weather of one day, to look readings up in.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Forecasts {
    /// One batch a make, in the order of the house.
    pub batches: Vec<Batch>,
}

impl Forecasts {
    /// Foretells every make of the house under the usual weather of `at`.
    pub fn of(house: &House, at: Timestamp) -> Result<Self, Vec<Fault>> {
        let weather = Some(usual_weather(house, at));
        let makes = house.makes.makes.iter();
        let batches = makes
            .map(|make| crate::batch(house, &Asked { weather, ..Asked::usual(&make.key, at) }))
            .collect::<Result<_, _>>()?;
        Ok(Self { batches })
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
/// A washback is reckoned anew from what was noted when it was set; kiln, floors and stills are
/// read off the forecast of their make.
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
            washback(house, forecasts, back, at).map(|(gravity, _)| gravity)
        }
        What::WashTemperature(vessel) => {
            let back = standing.washbacks.iter().find(|w| w.vessel == vessel)?;
            washback(house, forecasts, back, at).map(|(_, temperature)| temperature)
        }
        What::AirOff => {
            let kilning = standing.kiln.as_ref()?;
            let step = forecasts.of_make(&kilning.make)?.step("kiln")?;
            let key = ("air_off_c", "air-off", "°C", 1);
            off_curve(step, "air_off_c", hours(kilning.since, at), key)
        }
        What::Grain(vessel) => {
            let piece = standing.floors.iter().find(|p| p.vessel == vessel)?;
            let step = forecasts.of_make(&piece.make)?.step("floor")?;
            let key = ("grain_c", "grain", "°C", 1);
            off_curve(step, "temperature_c", hours(piece.since, at), key)
        }
        What::Strength(vessel) => {
            let running = standing.stills.iter().find(|s| s.vessel == vessel)?;
            let step = forecasts.of_make(&running.make)?.run_in(house, vessel)?;
            let heat_up_h = step.figure("heat_up_h")?.value;
            let time_s = 3600.0 * (hours(running.since, at) - heat_up_h);
            let key = ("strength_pct", "strength at the safe", "% vol", 1);
            off_curve(step, "distillate_strength_pct", time_s, key)
        }
    }
}

fn hours(from: Timestamp, to: Timestamp) -> f64 {
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

record! {
    /// What was noted when a washback was set, and how well such readings are known.
    struct Noted {
        /// Setting temperature.
        set_c: f64 = Field::new("°C").sd(0.3),
        /// Original gravity.
        original_gravity: f64 = Field::new("").sd(0.0004),
        /// Share of the extract that ferments beyond what the forecast of the make has.
        fermentable_more: f64 = Field::new("").or(0.0).sd(0.006),
    }
}

type Tuned = Both<Constants, Both<Yeast, Noted>>;

/// Gravity and temperature to expect of a washback, from its own setting.
fn washback(
    house: &House,
    forecasts: &Forecasts,
    back: &Washback,
    at: Timestamp,
) -> Option<(Expected, Expected)> {
    let make = house.make(&back.make)?;
    let batch = forecasts.of_make(&make.key)?;
    let hours = hours(back.set_at, at);
    let Equipment::Washback(_, stage) = &house.vessel(&back.vessel)?.what else {
        return None;
    };
    if !(0.1..=1000.0).contains(&hours) {
        return None;
    }
    let stage = Vessel { fill_l: back.bulk_l, ..stage.clone() };
    let split = split(batch)?;
    let noted =
        Noted { set_c: back.set_c, original_gravity: back.original_gravity, fermentable_more: 0.0 };
    let base = Both(Constants::default(), Both(Yeast::default(), noted));
    let once = |tuned: &Tuned| once(tuned, make, &stage, &split, hours);
    let best = once(&base).ok()?;
    let mut variance = [0.0; 2];
    for (_, key, sd) in base.uncertain() {
        let mut moved = base.clone();
        moved.shift(key, sd);
        // At the edge of a constant's range the step is refused; it is left out then.
        if let Ok(there) = once(&moved) {
            for (sum, (a, b)) in variance.iter_mut().zip(best.iter().zip(there)) {
                *sum += (b - a) * (b - a);
            }
        }
    }
    let [gravity, temperature] = best;
    let [gravity_sd, temperature_sd] = variance.map(f64::sqrt);
    Some((
        Expected {
            key: "gravity",
            label: "gravity",
            unit: "",
            value: gravity,
            band: Band::around(gravity, gravity_sd),
            decimals: 4,
        },
        Expected {
            key: "temperature_c",
            label: "temperature",
            unit: "°C",
            value: temperature,
            band: Band::around(temperature, temperature_sd),
            decimals: 1,
        },
    ))
}

/// Shares of the wort's extract, as the forecast of the make has them.
fn split(batch: &Batch) -> Option<Wort> {
    let curves = &batch.step("ferment")?.curves;
    let first = |key| curves.get(key).and_then(|values| values.first().copied());
    let wort = Wort {
        glucose_kg_m3: first("glucose_kg_m3")?,
        maltose_kg_m3: first("maltose_kg_m3")?,
        maltotriose_kg_m3: first("maltotriose_kg_m3")?,
        dextrin_kg_m3: first("dextrin_kg_m3")?,
        residual_kg_m3: first("residual_kg_m3")?,
    };
    let whole = extract(&wort);
    Some(scaled(&wort, 1.0 / whole))
}

fn extract(w: &Wort) -> f64 {
    w.glucose_kg_m3 + w.maltose_kg_m3 + w.maltotriose_kg_m3 + w.dextrin_kg_m3 + w.residual_kg_m3
}

fn scaled(w: &Wort, by: f64) -> Wort {
    Wort {
        glucose_kg_m3: by * w.glucose_kg_m3,
        maltose_kg_m3: by * w.maltose_kg_m3,
        maltotriose_kg_m3: by * w.maltotriose_kg_m3,
        dextrin_kg_m3: by * w.dextrin_kg_m3,
        residual_kg_m3: by * w.residual_kg_m3,
    }
}

/// Gravity and temperature after `hours`.
fn once(
    Both(constants, Both(yeast, noted)): &Tuned,
    make: &Make,
    stage: &Vessel,
    split: &Wort,
    hours: f64,
) -> Result<[f64; 2], Fault> {
    let kg_m3 = gauge::wort::kernel::extract_kg_m3(noted.original_gravity);
    let mut wort = scaled(split, kg_m3);
    let more = (noted.fermentable_more * kg_m3).min(wort.residual_kg_m3);
    wort.maltose_kg_m3 += more;
    wort.residual_kg_m3 -= more;
    let pitch = &make.ferment.pitch;
    let dry_kg_m3 = 1000.0 * pitch.yeast_kg * pitch.yeast_dry / stage.fill_l;
    let charge = Charge { wort, yeast: Yeast { dry_kg_m3, ..yeast.clone() }, ph: WORT_PH };
    let hours = hours.max(0.5);
    let programme = Programme { set_c: noted.set_c, hours, every_h: hours };
    let run = run(&charge, stage, &programme, constants)?;
    Ok([run.wash.gravity, run.end.temperature_c])
}
