//! Fermenting: from worts in the washback to wash for the still.

use super::handling::Residues;
use super::{Frame, PURE_L_A_KG_EXTRACT, pure_l};
use crate::carry::Carry;
use crate::figure::{Figure, Shown};
use crate::spread::{Both, Chain, Outcome, Part};
use gauge::Fault;
use house::Equipment;
use process::ferment::{Charge, Constants, Programme, Run, Vessel, Wort, Yeast, run};
use process::still::{ETHANOL_G_MOL, WATER_G_MOL};

/// pH of unboiled malt worts.
pub(crate) const WORT_PH: f64 = 5.45;
/// Rows of the curves.
const EVERY_H: f64 = 1.0;

pub(crate) fn link(chain: &mut Chain, frame: &Frame<'_>) -> Result<(), Fault> {
    let (vessel, stage) = frame.first("a washback", |what| match what {
        Equipment::Washback(_, stage) => Some(stage),
        _ => None,
    })?;
    let pitch = &frame.make.ferment.pitch;
    let programme = Programme { every_h: EVERY_H, ..frame.make.ferment.programme.clone() };
    let constants = Both(Constants::default(), Both(Yeast::default(), Residues::default()));
    let reads = [
        "wort_20_l",
        "glucose_kg_m3",
        "maltose_kg_m3",
        "maltotriose_kg_m3",
        "dextrin_kg_m3",
        "residual_kg_m3",
        "set_c",
    ];
    chain.link("ferment", &reads, &constants, |carry, Both(constants, Both(yeast, left))| {
        let dry_kg_m3 = pitch.yeast_kg * pitch.yeast_dry / (carry.wort_20_l / 1000.0);
        let yeast = Yeast { dry_kg_m3, ..yeast.clone() };
        let charge = Charge { wort: wort(carry), yeast, ph: WORT_PH };
        let washback = Vessel { fill_l: carry.wort_20_l, ..stage.clone() };
        let programme = Programme { set_c: carry.set_c, ..programme.clone() };
        let run = run(&charge, &washback, &programme, constants)?;
        let handed = handed(carry, &run, constants, left.residues);
        let part = Part {
            title: vessel.name.clone(),
            vessel: vessel.key.clone(),
            figures: figures(&run, carry, constants, &programme),
            hours: programme.hours,
            curves: run.curves,
            balance: run.balance,
            watched: &["gravity", "temperature_c"],
        };
        Ok(Outcome::of(handed, part))
    })
}

/// The wash, and what the fermenting cost of the litres promised.
fn handed(carry: &Carry, run: &Run, constants: &Constants, residues: f64) -> Carry {
    let (wash, end) = (&run.wash, &run.end);
    let wort_m3 = carry.wort_20_l / 1000.0;
    let kept = 1.0 - residues;
    let ethanol_kg = wort_m3 * end.ethanol_kg_m3;
    let gas_l = pure_l(wort_m3 * end.ethanol_lost_kg_m3);
    let sour_kg_m3 = end.lactic_kg_m3 + end.bacteria_kg_m3;
    let unfermented_kg_m3 = end.real_extract_kg_m3(constants) - end.lactic_kg_m3;
    let fermented_kg_m3 = end.wort_extract_kg_m3 - unfermented_kg_m3 - sour_kg_m3;
    let by_balling_l = |kg_m3: f64| wort_m3 * kg_m3 * PURE_L_A_KG_EXTRACT;
    let water_kg = wash.mass_kg - wash.solids_kg - ethanol_kg;
    Carry {
        wash_ethanol_mol: kept * 1000.0 * ethanol_kg / ETHANOL_G_MOL,
        wash_water_mol: kept * 1000.0 * water_kg / WATER_G_MOL,
        lost_unfermented_l: by_balling_l(unfermented_kg_m3),
        lost_bacteria_l: by_balling_l(sour_kg_m3),
        lost_yield_l: by_balling_l(fermented_kg_m3) - pure_l(ethanol_kg) - gas_l,
        lost_gas_l: gas_l,
        lost_residues_l: residues * pure_l(ethanol_kg),
        ..carry.clone()
    }
}

fn figures(run: &Run, carry: &Carry, constants: &Constants, programme: &Programme) -> Vec<Figure> {
    let (wash, end) = (&run.wash, &run.end);
    let gas_kg_h = carry.wort_20_l / 1000.0 * run.peak_carbon_dioxide_kg_m3_h;
    vec![
        Shown("original_gravity", "original gravity", "", 4).of(end.original_gravity),
        Shown("set_c", "set at", "°C", 1).of(programme.set_c),
        Shown("hours", "stands", "h", 0).of(programme.hours),
        Shown("peak_c", "warmest", "°C", 1).of(run.peak_c),
        Shown("peak_at_h", "warmest at", "h", 0).of(run.peak_at_h),
        Shown("final_gravity", "final gravity", "", 4).of(wash.gravity),
        Shown("strength_pct", "strength of the wash", "% vol", 2).of(wash.strength_pct),
        Shown("bulk_l", "wash", "L", 0).of(wash.bulk_l),
        Shown("pure_alcohol_l", "pure alcohol in the wash", "L", 0).of(wash.pure_alcohol_l),
        Shown("ph", "pH", "", 2).of(end.ph(constants)),
        Shown("peak_carbon_dioxide_kg_h", "most carbon dioxide", "kg/h", 0).of(gas_kg_h),
    ]
}

pub(crate) fn wort(carry: &Carry) -> Wort {
    Wort {
        glucose_kg_m3: carry.glucose_kg_m3,
        maltose_kg_m3: carry.maltose_kg_m3,
        maltotriose_kg_m3: carry.maltotriose_kg_m3,
        dextrin_kg_m3: carry.dextrin_kg_m3,
        residual_kg_m3: carry.residual_kg_m3,
    }
}
