//! What a washback should read, reckoned anew from its own setting.

use crate::batch::Batch;
use crate::chain::WORT_PH;
use crate::expect::{Expected, Forecasts, hours};
use crate::figure::Band;
use crate::spread::{Both, Tune};
use gauge::{Fault, record};
use house::make::Make;
use house::standing::Washback;
use house::{Equipment, House};
use jiff::Timestamp;
use process::Curves;
use process::ferment::{Charge, Constants, Programme, Vessel, Wort, Yeast, run};

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

/// The course of one washback from its own setting, with its uncertainty.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    set_at: Timestamp,
    curves: Curves,
    /// Standard uncertainty of the same columns.
    spread: Curves,
}

/// Hours between rows: on the straight line between them gravity errs by 1e-5 at most.
const EVERY_H: f64 = 0.5;
const COLUMNS: [&str; 2] = ["gravity", "temperature_c"];

impl Course {
    /// Follows a washback from what was noted when it was set, to the end of its longest time.
    ///
    /// Nothing when its make or vessel is not of this house, or what was noted cannot be.
    pub fn of(house: &House, forecasts: &Forecasts, back: &Washback) -> Option<Self> {
        let make = house.make(&back.make)?;
        let batch = forecasts.of_make(&make.key)?;
        let Equipment::Washback(own, stage) = &house.vessel(&back.vessel)?.what else {
            return None;
        };
        let stage = Vessel { fill_l: back.bulk_l, ..stage.clone() };
        let split = split(batch)?;
        let noted = Noted {
            set_c: back.set_c,
            original_gravity: back.original_gravity,
            fermentable_more: 0.0,
        };
        let base = Both(Constants::default(), Both(Yeast::default(), noted));
        let once = |tuned: &Tuned| once(tuned, make, &stage, &split, own.longest_h);
        let curves = once(&base).ok()?;
        let mut spread = Curves { columns: curves.columns.clone() };
        for column in &mut spread.columns[1..] {
            column.values.fill(0.0);
        }
        for (_, key, sd) in base.uncertain() {
            let mut moved = base.clone();
            moved.shift(key, sd);
            // At the edge of a constant's range the step is refused; it is left out then.
            let Ok(there) = once(&moved) else { continue };
            for (sum, (a, b)) in
                spread.columns.iter_mut().zip(curves.columns.iter().zip(&there.columns)).skip(1)
            {
                for (sum, (a, b)) in sum.values.iter_mut().zip(a.values.iter().zip(&b.values)) {
                    *sum += (b - a) * (b - a);
                }
            }
        }
        for column in &mut spread.columns[1..] {
            column.values.iter_mut().for_each(|variance| *variance = variance.sqrt());
        }
        Some(Self { set_at: back.set_at, curves, spread })
    }

    /// Gravity and temperature to expect at a moment; nothing before the setting and after the
    /// longest time.
    pub fn at(&self, at: Timestamp) -> Option<[Expected; 2]> {
        let hours = hours(self.set_at, at);
        let times = &self.curves.columns.first()?.values;
        if hours < 0.0 || hours > *times.last()? {
            return None;
        }
        let of = |key: &str| {
            let value = self.curves.at(key, hours)?;
            Some((value, Band::around(value, self.spread.at(key, hours)?)))
        };
        let (gravity, gravity_band) = of(COLUMNS[0])?;
        let (warm, warm_band) = of(COLUMNS[1])?;
        Some([
            Expected {
                key: COLUMNS[0],
                label: "gravity",
                unit: "",
                value: gravity,
                band: gravity_band,
                decimals: 4,
            },
            Expected {
                key: COLUMNS[1],
                label: "temperature",
                unit: "°C",
                value: warm,
                band: warm_band,
                decimals: 1,
            },
        ])
    }
}

/// Shares of the wort's extract, as the forecast of the make has them.
pub(crate) fn split(batch: &Batch) -> Option<Wort> {
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

pub(crate) fn extract(w: &Wort) -> f64 {
    w.glucose_kg_m3 + w.maltose_kg_m3 + w.maltotriose_kg_m3 + w.dextrin_kg_m3 + w.residual_kg_m3
}

pub(crate) fn scaled(w: &Wort, by: f64) -> Wort {
    Wort {
        glucose_kg_m3: by * w.glucose_kg_m3,
        maltose_kg_m3: by * w.maltose_kg_m3,
        maltotriose_kg_m3: by * w.maltotriose_kg_m3,
        dextrin_kg_m3: by * w.dextrin_kg_m3,
        residual_kg_m3: by * w.residual_kg_m3,
    }
}

/// Gravity and temperature from the setting on.
fn once(
    Both(constants, Both(yeast, noted)): &Tuned,
    make: &Make,
    stage: &Vessel,
    split: &Wort,
    hours: f64,
) -> Result<Curves, Fault> {
    let kg_m3 = gauge::wort::kernel::extract_kg_m3(noted.original_gravity);
    let mut wort = scaled(split, kg_m3);
    let more = (noted.fermentable_more * kg_m3).min(wort.residual_kg_m3);
    wort.maltose_kg_m3 += more;
    wort.residual_kg_m3 -= more;
    let pitch = &make.ferment.pitch;
    let dry_kg_m3 = 1000.0 * pitch.yeast_kg * pitch.yeast_dry / stage.fill_l;
    let charge = Charge { wort, yeast: Yeast { dry_kg_m3, ..yeast.clone() }, ph: WORT_PH };
    let programme = Programme { set_c: noted.set_c, hours, every_h: EVERY_H };
    let run = run(&charge, stage, &programme, constants)?;
    let mut columns = run.curves.columns;
    columns.retain(|c| c.key == "time_h" || COLUMNS.contains(&c.key.as_str()));
    columns.sort_by_key(|c| c.key != "time_h");
    Ok(Curves { columns })
}
