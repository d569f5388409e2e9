//! The gravity that a saccharometer shows in worts and wash of known make-up.

use gauge::alcoholometry::kernel as spirit;
use gauge::wort::attenuation::{Gravities, Method, attenuate};
use gauge::wort::kernel as wort;
use gauge::{Fault, Gravity};
use numeric::roots::{Bracket, NoRoot, brent};

/// Most extract the wort table reaches, kg/m³: a gravity of 1.13.
pub(super) const MOST_EXTRACT_KG_M3: f64 = 330.0;

/// Gives the gravity, 20/20, of wort that holds `extract_kg_m3`.
///
/// c = P(S)/100 · 998.20 S, solved for S.
pub(super) fn of_wort(extract_kg_m3: f64) -> Result<f64, Fault> {
    let bracket = Bracket { low: 0.999, high: 1.14, tolerance: 1e-13 };
    brent(bracket, |s| wort::extract_kg_m3(s) - extract_kg_m3).map_err(|none| match none {
        NoRoot::SameSign { .. } => Fault::Beyond {
            field: "wort".into(),
            value: extract_kg_m3,
            unit: "kg/m³",
            side: gauge::fault::Side::AtMost,
            limit: MOST_EXTRACT_KG_M3,
            sets: "the end of the table of worts".into(),
        },
        NoRoot::NotConverged { steps, residual, .. } => {
            Fault::NotConverged { what: "gravity of the wort", steps, residual }
        }
    })
}

/// What a cubic metre of the original wort holds by now, kg.
#[derive(Debug, Clone, Copy)]
#[expect(clippy::struct_field_names, reason = "the ending is the unit")]
pub(super) struct MakeUp {
    pub(super) extract_kg: f64,
    pub(super) ethanol_kg: f64,
    pub(super) water_kg: f64,
}

/// Gives the gravity, 20/20, of liquid made up so.
///
/// The volumes are added: that of ethanol and water together from the alcoholometric tables, that
/// of the extract as the table of worts has it at the same share by mass. At no ethanol it is the
/// table of worts exactly, at no extract the alcoholometric table.
///
/// # Error
/// What sugar and ethanol do to each other's volume is left out: up to 0.3 degrees of gravity
/// against a fit to handbook densities of 5 to 10 % ethanol (the stand-in beside it).
pub(super) fn of_wash(made: &MakeUp) -> f64 {
    let mass = made.extract_kg + made.ethanol_kg + made.water_kg;
    let x = made.extract_kg / mass;
    // The integrator's rounding may leave a trace below nought, which the table refuses.
    let q = (made.ethanol_kg / (made.ethanol_kg + made.water_kg)).clamp(0.0, 1.0);
    let alone = spirit::density_kg_m3(q, 20.0) / spirit::density_kg_m3(0.0, 20.0);
    let with_extract = 1.0 / wort::gravity_of_plato(100.0 * x);
    1.0 / ((1.0 - x) / alone + with_extract - (1.0 - x))
}

/// A stand-in fitted to handbook densities at 5, 6 and 10 % ethanol and 10 and 15 °P (from memory),
/// of real extract and ethanol in kg/m³ of wort. The reference runs use it.
pub(super) fn stand_in(extract_kg_m3: f64, ethanol_kg_m3: f64) -> f64 {
    let e = ethanol_kg_m3;
    1.0 + 3.850e-4 * extract_kg_m3 - 1.903e-4 * e + 2.44e-7 * e * e
}

/// Alcohol of the wash, % vol, by Balling's quotient from the two gravities; none where a gravity
/// is outside the table.
pub(super) fn balling_pct(original_gravity: f64, gravity: f64) -> Option<f64> {
    let original = Gravity::from_specific(original_gravity).ok()?;
    let present = Gravity::from_specific(gravity).ok()?;
    let found = attenuate(Gravities { original, present }, Method::Quotient).ok()?;
    Some(found.alcohol.percent())
}
