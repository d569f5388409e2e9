//! Steeping: from barley in store to a piece that can be cast.

use super::Frame;
use crate::carry::Carry;
use crate::figure::Shown;
use crate::spread::{Chain, Outcome, Part};
use gauge::Fault;
use house::Equipment;
use process::steep::{Charge, Constants, run};

pub(crate) fn link(chain: &mut Chain, frame: &Frame<'_>) -> Result<(), Fault> {
    let (vessel, (own, stage)) = frame.first("a steep", |what| match what {
        Equipment::Steep(own, stage) => Some((own, stage)),
        _ => None,
    })?;
    let reads = [
        "barley_kg",
        "barley_moisture_wet",
        "corn_weight_g",
        "nitrogen_pct_dry",
        "germinative_energy_4ml_pct",
        "germinative_energy_8ml_pct",
    ];
    chain.link("steep", &reads, &Constants::default(), |carry, constants| {
        let charge = Charge {
            dry_kg: carry.barley_kg * (1.0 - carry.barley_moisture_wet),
            moisture_wet: carry.barley_moisture_wet,
            corn_weight_g: carry.corn_weight_g,
            nitrogen_pct_dry: carry.nitrogen_pct_dry,
            germinative_energy_4ml_pct: carry.germinative_energy_4ml_pct,
            germinative_energy_8ml_pct: carry.germinative_energy_8ml_pct,
        };
        let run = run(&charge, stage, &frame.barley.steep, constants)?;
        let out = &run.out;
        let handed = Carry {
            barley_dry_kg: out.barley_dry_kg,
            dry_kg: out.dry_kg,
            moisture_dry: out.moisture_dry,
            surface_water_dry: out.surface_water_dry,
            grain_c: out.temperature_c,
            germinating: out.germinating_fraction,
            lag_h: out.lag_h,
            ..carry.clone()
        };
        let figures = vec![
            Shown("barley_kg", "barley", "kg", 0).of(carry.barley_kg),
            Shown("hours", "steeped", "h", 0).of(out.hours),
            Shown("clean_h", "cast and clean", "h", 0).of(own.clean_h),
            Shown("moisture_pct", "moisture when cast", "%", 1).of(100.0 * out.moisture_wet),
            Shown("germinating_pct", "corns that will grow", "%", 1)
                .of(100.0 * out.germinating_fraction),
            Shown("lag_h", "set back", "h", 1).of(out.lag_h),
            Shown("water_used_kg", "water", "kg", 0).of(out.water_used_kg),
        ];
        let part = Part {
            title: vessel.name.clone(),
            vessel: vessel.key.clone(),
            figures,
            hours: out.hours,
            curves: run.curves,
            balance: run.balance,
            watched: &[],
        };
        Ok(Outcome::of(handed, part))
    })
}
