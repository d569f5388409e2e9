//! Rest in the bin, and the malt's analysis; then one mash of it is drawn.

use super::Frame;
use super::begin::rest_days;
use crate::carry::Carry;
use crate::figure::{Figure, Shown};
use crate::spread::{Both, Chain, Outcome, Part};
use gauge::{Fault, Record};
use house::Equipment;
use process::bin::{
    AllConstants, Analysis, AnalysisConstants, Charge, Constants, Layer, Lot, Making, Programme,
    analysis, run,
};

pub(crate) fn link(chain: &mut Chain, frame: &Frame<'_>) -> Result<(), Fault> {
    let (vessel, stage) = frame.first("a malt bin", |what| match what {
        Equipment::Bin(_, stage) => Some(stage),
        _ => None,
    })?;
    let days = rest_days(frame.house);
    let constants = Both(Constants::default(), analysis_constants(frame));
    let grist = &frame.make.mash.grist;
    let reads = [
        "dry_kg",
        "barley_dry_kg",
        "malt_moisture_wet",
        "phenols_mg_kg_dry",
        "nitrogen_pct_dry",
        "modification",
        "germinating",
        "cure_c",
        "cure_h",
    ];
    chain.link("bin", &reads, &constants, |carry, Both(own, of_analysis)| {
        let expected = analysis::expected(&making(carry), of_analysis);
        let layer = layer(carry, expected);
        let programme = Programme {
            days,
            draw_kg: grist.grist_kg.min(0.99 * carry.dry_kg),
            air_c: frame.mashing.air_c,
            air_relative_humidity: frame.mashing.relative_humidity,
            rest_d: days,
            ..Programme::default()
        };
        let constants = AllConstants { bin: own.clone(), analysis: of_analysis.clone() };
        let run = run(
            &Charge { layers: vec![layer], ..Charge::default() },
            stage,
            &programme,
            &constants,
        )?;
        let Some(lot) = run.out.drawn else {
            return Err(Fault::MissingPart { field: "bin".into(), wanted: "malt to draw" });
        };
        let yields = run.out.predicted_spirit_yield_l_t.unwrap_or(f64::NAN);
        let handed = Carry {
            grist_kg: lot.mass_kg,
            malt_moisture_wet: lot.moisture_wet,
            phenols_mg_kg_dry: lot.phenols_mg_kg_dry,
            extract_pct_dry: lot.extract_pct_dry,
            fermentability: lot.fermentability,
            predicted_l_t: yields,
            ..carry.clone()
        };
        let part = Part {
            title: vessel.name.clone(),
            vessel: vessel.key.clone(),
            figures: figures(&lot, carry, yields),
            hours: 24.0 * days,
            curves: run.curves,
            balance: run.balance,
            watched: &[],
        };
        Ok(Outcome::of(handed, part))
    })?;
    let label = "mash: weight of the grist";
    let sd = house::make::Grist::FIELDS[0].sd;
    chain.uncertain(label, "grist_kg", sd);
    Ok(())
}

/// A landrace never gives a modern malt's extract.
fn analysis_constants(frame: &Frame<'_>) -> AnalysisConstants {
    let usual = AnalysisConstants::default();
    match frame.barley.kind {
        "landrace" => AnalysisConstants { extract_most_pct_dry: 77.5, ..usual },
        _ => usual,
    }
}

fn making(carry: &Carry) -> Making {
    Making {
        nitrogen_pct_dry: carry.nitrogen_pct_dry,
        modification: carry.modification,
        malting_loss_fraction: 1.0 - carry.dry_kg / carry.barley_dry_kg,
        germinating_fraction: carry.germinating,
        cure_c: carry.cure_c,
        cure_h: carry.cure_h,
    }
}

fn layer(carry: &Carry, expected: Analysis) -> Layer {
    Layer {
        age_d: 0.0,
        dry_kg: carry.dry_kg,
        moisture_wet: carry.malt_moisture_wet,
        phenols_mg_kg_dry: carry.phenols_mg_kg_dry,
        nitrogen_pct_dry: carry.nitrogen_pct_dry,
        extract_pct_dry: expected.extract_pct_dry,
        fermentability: expected.fermentability,
    }
}

fn figures(lot: &Lot, carry: &Carry, yields: f64) -> Vec<Figure> {
    let malt_kg = carry.dry_kg / (1.0 - lot.moisture_wet);
    vec![
        Shown("rest_d", "rests", "d", 0).of(lot.youngest_d),
        Shown("malt_kg", "malt of the piece", "kg", 0).of(malt_kg),
        Shown("malt_t_t", "malt for a tonne of barley", "t/t", 3).of(malt_kg / carry.barley_kg),
        Shown("moisture_pct", "moisture", "%", 2).of(100.0 * lot.moisture_wet),
        Shown("phenols_mg_kg_dry", "phenols on dry malt", "mg/kg", 1).of(lot.phenols_mg_kg_dry),
        Shown("extract_pct_dry", "extract, dry", "%", 1).of(lot.extract_pct_dry),
        Shown("extract_pct", "extract as it is", "%", 1)
            .of(lot.extract_pct_dry * (1.0 - lot.moisture_wet)),
        Shown("fermentability_pct", "fermentability", "%", 1).of(100.0 * lot.fermentability),
        Shown("predicted_l_t", "predicted spirit yield", "L/t", 0).of(yields),
    ]
}
