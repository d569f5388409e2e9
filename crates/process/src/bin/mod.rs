//! The malt bin: dressed malt rests some weeks, then is drawn for the mill.
//!
//! Malt straight from the kiln mashes badly; three weeks in a dry bin settle it. Pieces lie in
//! layers, the first in at the bottom. A bin with a steep cone sinks as a whole and gives back
//! the oldest first; one with a flat bottom draws a funnel and gives the newest, so the old malt
//! never leaves. In a closed bin only the top few centimetres feel the air. Smoke fades a little
//! in the first month. Malt above 6 % is slack and grinds badly; above 8 % the mill refuses it. A
//! layer may be on hold until the laboratory's figure is in.
//!
//! # Equations
//! Skin of the top layer `dM/dt = k (M_e − M)`; phenols `c₀ [s + (1 − s) exp(−age/20 d)]`; a draw
//! takes a share from all layers alike and the rest in the bin's order; mixtures by mass. The
//! [`analysis`] that goes on with the malt and the spirit yield it predicts stand by themselves.
//! # Units
//! As in the fields. A stay's skin starts at the mean of its layer.
//! # Range
//! Malt of 1 to 16 % moisture.
//! # Error
//! Designs throughout; the mixing is exact.
//! # Source
//! Moisture at rest: ASAE D245, barley. Yield: Bringhurst and others, JIB 102 (1996) 433.

pub mod analysis;
mod face;
mod figures;
mod layers;
#[cfg(test)]
mod tests;

pub use analysis::{Analysis, AnalysisConstants, Making};
pub use face::{Bin, Case};
pub use figures::{Charge, Constants, Emptying, Layer, Measures, Programme, Vessel};
pub use layers::phenols_left;

use crate::sound::sound;
use crate::{Balance, Curves, Matter};
use gauge::fault::Side;
use gauge::{Fault, Warning};

/// Malt as drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lot {
    /// Dry matter.
    pub dry_kg: f64,
    /// Mass as it is.
    pub mass_kg: f64,
    /// Moisture, wet basis.
    pub moisture_wet: f64,
    /// Phenols on dry malt.
    pub phenols_mg_kg_dry: f64,
    /// Nitrogen, % of dry matter.
    pub nitrogen_pct_dry: f64,
    /// Soluble extract, % of dry malt.
    pub extract_pct_dry: f64,
    /// Share of it that ferments.
    pub fermentability: f64,
    /// Mean days since the kiln.
    pub mean_age_d: f64,
    /// Days since the kiln of the youngest malt in it.
    pub youngest_d: f64,
}

/// What comes out and what stays.
#[derive(Debug, Clone, PartialEq)]
pub struct Out {
    /// The draw; nothing when nothing was drawn.
    pub drawn: Option<Lot>,
    /// Predicted litres of pure alcohol a tonne of the draw as it is.
    pub predicted_spirit_yield_l_t: Option<f64>,
    /// Layers left, lowest first.
    pub left: Vec<Layer>,
}

/// A stay in the bin and a draw.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// What comes out and what stays.
    pub out: Out,
    /// Day by day: age and phenols of the mixture, moisture of the top layer.
    pub curves: Curves,
    /// Dry matter, water, phenols.
    pub balance: Balance,
    /// What to know.
    pub warnings: Vec<Warning>,
}

/// Moisture above which malt is slack, wet basis.
const SLACK_WET: f64 = 0.06;

/// The constants of a stay and of the analysis.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct AllConstants {
    /// Of the bin.
    pub bin: Constants,
    /// Of the yield that the analysis predicts.
    pub analysis: AnalysisConstants,
}

/// Gives what a bin holds after a stay, and the draw.
///
/// # Units
/// As in the fields of its arguments.
/// # Range
/// As in the fields; outside them, `Fault::OutOfRange`. More than the bin holds, or a draw of
/// more than lies in it, is `Fault::Beyond`; a draw that takes of a layer on hold, or malt too
/// moist to mill, is `Fault::Unworkable`.
/// # Error
/// See the page of this module.
/// # Source
/// See the page of this module.
pub fn run(
    charge: &Charge,
    vessel: &Vessel,
    programme: &Programme,
    constants: &AllConstants,
) -> Result<Run, Fault> {
    charge.check()?;
    sound("bin", &vessel.measures)?;
    sound("draw", programme)?;
    sound("constants", &constants.bin)?;
    sound("analysis", &constants.analysis)?;
    let before = charge.layers.clone();
    let mut after = before.clone();
    let moved = layers::lie(&mut after, &vessel.measures, programme, &constants.bin);
    fits(&before, &after, vessel, programme)?;
    released(charge, &after, vessel, programme, &constants.bin)?;
    let top_wet = after.last().map_or(0.0, |l| l.moisture_wet);
    let drawn = layers::draw(&mut after, vessel, programme.draw_kg, &constants.bin);
    let lot = layers::mixed(&drawn);
    millable(lot.as_ref(), programme)?;
    let predicted_spirit_yield_l_t = lot.map(|lot| {
        let analysis =
            Analysis { extract_pct_dry: lot.extract_pct_dry, fermentability: lot.fermentability };
        analysis.predicted_spirit_yield_l_t(lot.moisture_wet, &constants.analysis)
    });
    let warnings = warnings(lot.as_ref(), top_wet, programme);
    let balance = balance(&before, &drawn, &after, moved);
    let curves = curves(&before, vessel, programme, &constants.bin);
    Ok(Run {
        out: Out { drawn: lot, predicted_spirit_yield_l_t, left: after },
        curves,
        balance,
        warnings,
    })
}

fn fits(
    before: &[Layer],
    after: &[Layer],
    vessel: &Vessel,
    programme: &Programme,
) -> Result<(), Fault> {
    let mass = |layers: &[Layer]| layers.iter().map(Layer::mass_kg).sum::<f64>();
    let limit = vessel.measures.holds_kg;
    if mass(before) > limit {
        return Err(Fault::Beyond {
            field: "layer".into(),
            value: mass(before),
            unit: "kg",
            side: Side::AtMost,
            limit,
            sets: "what the bin holds".into(),
        });
    }
    let there = mass(after);
    if programme.draw_kg > there * (1.0 + 1e-9) {
        return Err(Fault::Beyond {
            field: "draw.draw_kg".into(),
            value: programme.draw_kg,
            unit: "kg",
            side: Side::AtMost,
            limit: there,
            sets: "what lies in the bin".into(),
        });
    }
    Ok(())
}

/// Refuses a draw that would take of a layer on hold.
fn released(
    charge: &Charge,
    after: &[Layer],
    vessel: &Vessel,
    programme: &Programme,
    c: &Constants,
) -> Result<(), Fault> {
    let taken = layers::taken(after, vessel, programme.draw_kg, c);
    let held = charge.held.iter().find(|place| taken.get(**place).is_some_and(|kg| *kg > 1e-6));
    let Some(place) = held else {
        return Ok(());
    };
    Err(Fault::Unworkable {
        field: "draw.draw_kg".into(),
        trouble: format!(
            "{:.0} kg of it would come from layer[{place}], which is on hold",
            taken[*place]
        ),
        remedy: "note the laboratory's figure and release it, or draw from another bin".into(),
    })
}

/// Refuses malt too moist for the mill.
fn millable(lot: Option<&Lot>, programme: &Programme) -> Result<(), Fault> {
    match lot {
        Some(lot) if lot.moisture_wet > programme.most_wet => Err(Fault::Unworkable {
            field: "draw.most_wet".into(),
            trouble: format!(
                "the malt drawn holds {:.1} % moisture, and the mill takes {:.1} % at the most",
                100.0 * lot.moisture_wet,
                100.0 * programme.most_wet
            ),
            remedy: "dry it on the kiln, or mix it with dry malt from another bin".into(),
        }),
        _ => Ok(()),
    }
}

fn balance(before: &[Layer], drawn: &[Layer], left: &[Layer], moved: layers::Moved) -> Balance {
    let sum = |layers: &[Layer], of: fn(&Layer) -> f64| layers.iter().map(of).sum::<f64>();
    let phenols = Matter::Other("phenols_g");
    let mut b = Balance::new();
    b.input(Matter::DryMatter, "in the bin", sum(before, |l| l.dry_kg))
        .output(Matter::DryMatter, "drawn", sum(drawn, |l| l.dry_kg))
        .output(Matter::DryMatter, "left", sum(left, |l| l.dry_kg))
        .input(Matter::Water, "in the bin", sum(before, Layer::water_kg))
        .input(Matter::Water, "from the air", moved.water_kg)
        .output(Matter::Water, "drawn", sum(drawn, Layer::water_kg))
        .output(Matter::Water, "left", sum(left, Layer::water_kg));
    if sum(before, Layer::phenols_g) > 0.0 {
        b.input(phenols, "in the bin", sum(before, Layer::phenols_g))
            .output(phenols, "drawn", sum(drawn, Layer::phenols_g))
            .output(phenols, "left", sum(left, Layer::phenols_g))
            .lost(phenols, "faded", moved.faded_g);
    }
    b
}

fn curves(before: &[Layer], vessel: &Vessel, programme: &Programme, c: &Constants) -> Curves {
    let mut curves = Curves::new([
        ("day", "d"),
        ("youngest_d", "d"),
        ("mean_moisture_wet", "kg/kg"),
        ("top_moisture_wet", "kg/kg"),
        ("phenols_mg_kg_dry", "mg/kg"),
    ]);
    for days in crate::sound::row_times((programme.days / 40.0).max(1.0), programme.days) {
        let mut layers = before.to_vec();
        let stay = Programme { days, ..programme.clone() };
        layers::lie(&mut layers, &vessel.measures, &stay, c);
        let top = layers.last().map_or(f64::NAN, |l| l.moisture_wet);
        if let Some(lot) = layers::mixed(&layers) {
            let row = [days, lot.youngest_d, lot.moisture_wet, top, lot.phenols_mg_kg_dry];
            curves.push(&row);
        }
    }
    curves
}

fn warnings(lot: Option<&Lot>, top_wet: f64, programme: &Programme) -> Vec<Warning> {
    let mut warnings = Vec::new();
    let mut warn = |code, says: String| warnings.push(Warning { code, says });
    if let Some(lot) = lot {
        if lot.youngest_d < programme.rest_d {
            let (youngest, wanted) = (lot.youngest_d, programme.rest_d);
            warn("young", format!("Some of it has rested {youngest:.0} days of {wanted:.0}."));
        }
        if lot.moisture_wet > SLACK_WET {
            let pct = 100.0 * lot.moisture_wet;
            warn("slack", format!("At {pct:.1} % moisture the malt is slack and grinds badly."));
        }
    }
    if top_wet > SLACK_WET {
        let pct = 100.0 * top_wet;
        warn("damp top", format!("The top layer has drawn moisture to {pct:.1} %."));
    }
    warnings
}
