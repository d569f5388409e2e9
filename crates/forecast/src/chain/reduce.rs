//! Reducing: new spirit of one mash to its filling strength.

use super::Frame;
use crate::carry::Carry;
use crate::figure::Shown;
use crate::spread::{Chain, Outcome, Part};
use gauge::Fault;
use house::Equipment;
use process::Curves;
use process::reduce::{Charge, Constants, Programme, run};

/// Hours to reduce, stand and prove again.
const HOURS: f64 = 4.0;

pub(crate) fn link(chain: &mut Chain, frame: &Frame<'_>) -> Result<(), Fault> {
    let (vessel, stage) = frame.first("a vat", |what| match what {
        Equipment::Vat(stage) => Some(stage),
        _ => None,
    })?;
    let water_temperature_c = frame.mashing.cold_water_c;
    let target_pct = frame.make.aim.filling_strength_pct;
    let reads = ["spirit_pure_l", "spirit_strength_pct"];
    chain.link("reduce", &reads, &Constants::default(), |carry, constants| {
        let charge = Charge {
            volume_20_l: Some(100.0 * carry.spirit_pure_l / carry.spirit_strength_pct),
            bulk_l: None,
            strength_pct: carry.spirit_strength_pct,
            ..Charge::default()
        };
        let programme = Programme { target_pct, water_temperature_c };
        let run = run(&charge, stage, &programme, constants)?;
        let reduction = &run.reduction;
        let reduced_20_l = reduction.final_20.litres();
        let handed = Carry { reduced_20_l, ..carry.clone() };
        let figures = vec![
            Shown("spirit_20_l", "new spirit", "L at 20 °C", 0)
                .of(charge.volume_20_l.unwrap_or(f64::NAN)),
            Shown("spirit_strength_pct", "its strength", "% vol", 1).of(charge.strength_pct),
            Shown("target_pct", "to be filled at", "% vol", 1).of(target_pct),
            Shown("water_kg", "water to add", "kg", 0).of(reduction.water_kg),
            Shown("reduced_20_l", "then", "L at 20 °C", 0).of(reduced_20_l),
            Shown("mixed_c", "warms to", "°C", 1).of(run.mixed_c),
        ];
        let part = Part {
            title: vessel.name.clone(),
            vessel: vessel.key.clone(),
            figures,
            hours: HOURS,
            curves: Curves::default(),
            balance: run.balance,
            watched: &[],
        };
        Ok(Outcome::of(handed, part))
    })
}
