//! Milling: the malt of one mash to grist.

use super::Frame;
use crate::carry::Carry;
use crate::figure::Shown;
use crate::spread::{Chain, Outcome, Part};
use gauge::Fault;
use house::Equipment;
use process::mill::{Charge, Constants, run};

/// Malt never comes colder from the bins than this.
const COLDEST_MALT_C: f64 = 5.0;

pub(crate) fn link(chain: &mut Chain, frame: &Frame<'_>) -> Result<(), Fault> {
    let (vessel, (stage, rollers)) = frame.first("a mill", |what| match what {
        Equipment::Mill(_, stage, rollers) => Some((stage, rollers)),
        _ => None,
    })?;
    let malt_c = frame.mashing.air_c.max(COLDEST_MALT_C);
    let reads = ["grist_kg", "malt_moisture_wet"];
    chain.link("mill", &reads, &Constants::default(), |carry, constants| {
        let charge = Charge {
            dry_kg: carry.grist_kg * (1.0 - carry.malt_moisture_wet),
            moisture_wet: carry.malt_moisture_wet,
            malt_c,
        };
        let run = run(&charge, stage, rollers, constants)?;
        let handed = Carry {
            malt_kg: carry.grist_kg,
            grist_kg: run.dry_kg / (1.0 - run.moisture_wet),
            extract_recovery: run.extract_recovery,
            grist_c: run.grist_c,
            ..carry.clone()
        };
        let figures = vec![
            Shown("malt_kg", "malt", "kg", 0).of(carry.grist_kg),
            Shown("husk_pct", "husk", "%", 0).of(100.0 * run.split.husk),
            Shown("grits_pct", "grits", "%", 0).of(100.0 * run.split.grits),
            Shown("flour_pct", "flour", "%", 0).of(100.0 * run.split.flour),
            Shown("recovery_pct", "of the laboratory's extract to be had", "%", 1)
                .of(100.0 * run.extract_recovery),
            Shown("grist_c", "grist", "°C", 1).of(run.grist_c),
            Shown("grind_h", "grinds", "h", 1).of(run.grind_h),
        ];
        let part = Part {
            title: vessel.name.clone(),
            vessel: vessel.key.clone(),
            figures,
            hours: run.grind_h,
            curves: run.curves,
            balance: run.balance,
            watched: &[],
        };
        Ok(Outcome::of(handed, part))
    })
}
