//! What a washback should read, reckoned anew from its own setting and bent to its readings.

use crate::batch::Batch;
use crate::expect::{Expected, Forecasts, hours};
use crate::figure::Band;
use crate::maltings::seen::later;
use crate::tun_room::{Begun, all_beside, begun_all, bent_beside, latest_h, ready_h};
use house::standing::Washback;
use house::{House, Standing};
use jiff::Timestamp;
use process::Curves;
use process::ferment::{Run, Wort};

/// The course of one washback from its own setting, with its uncertainty.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    set_at: Timestamp,
    curves: Curves,
    /// Standard uncertainty of the same columns.
    spread: Curves,
    ready_h: Option<f64>,
    latest_h: f64,
}

const COLUMNS: [&str; 2] = ["gravity", "temperature_c"];

impl Course {
    /// Follows a washback from what was noted of it until `at`, that moment left out, to the end
    /// of its longest time.
    ///
    /// Nothing when its make or vessel is not of this house, or what was noted cannot be.
    pub fn of(
        house: &House,
        forecasts: &Forecasts,
        standing: &Standing,
        back: &Washback,
        at: Timestamp,
    ) -> Option<Self> {
        let mut before = back.clone();
        before.gravity.retain(|r| r.at < at);
        before.temperature_c.retain(|r| r.at < at);
        let (own, _) = bent_beside(house, forecasts, standing, &before, at).ok()?;
        Some(Self::begun(&own))
    }

    /// The courses of all washbacks at once, by the numbers of their mashes.
    pub fn of_all(
        house: &House,
        forecasts: &Forecasts,
        standing: &Standing,
        at: Timestamp,
    ) -> Vec<(u32, Self)> {
        let alone = begun_all(house, forecasts, standing, standing.washbacks.iter(), at);
        let beside = all_beside(&alone, at);
        beside.iter().map(|(own, _)| (own.back.mash, Self::begun(own))).collect()
    }

    fn begun(own: &Begun<'_>) -> Self {
        let bent = &own.bent;
        let curves = watched(&bent.run);
        let mut spread = curves.clone();
        for column in &mut spread.columns[1..] {
            column.values.fill(0.0);
        }
        for other in bent.others.iter().map(watched) {
            for (sum, (a, b)) in
                spread.columns.iter_mut().zip(curves.columns.iter().zip(&other.columns)).skip(1)
            {
                for (sum, (a, b)) in sum.values.iter_mut().zip(a.values.iter().zip(&b.values)) {
                    *sum += (b - a) * (b - a);
                }
            }
        }
        for column in &mut spread.columns[1..] {
            column.values.iter_mut().for_each(|variance| *variance = variance.sqrt());
        }
        let longest_h = own.working.own.longest_h;
        Self {
            set_at: own.back.set_at,
            ready_h: ready_h(&bent.run.curves),
            latest_h: latest_h(&bent.run.curves).map_or(longest_h, |h| h.min(longest_h)),
            curves,
            spread,
        }
    }

    /// When it is ready; nothing where it is not within its longest time.
    pub fn ready(&self) -> Option<Timestamp> {
        self.ready_h.map(|hour| later(self.set_at, hour))
    }

    /// The latest that it is distilled.
    pub fn latest(&self) -> Timestamp {
        later(self.set_at, self.latest_h)
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
fn watched(run: &Run) -> Curves {
    let mut columns = run.curves.columns.clone();
    columns.retain(|c| c.key == "time_h" || COLUMNS.contains(&c.key.as_str()));
    columns.sort_by_key(|c| c.key != "time_h");
    Curves { columns }
}
