//! Reducing, blending, obscuration.

use super::spirit::{BULK, R22, STRENGTH_PCT, TEMPERATURE, celsius};
use super::{Found, Measure, Run, Values, found, may, must, one_of, output};
use crate::alcoholometry::frozen;
use crate::mixing::{Amount, Lot, Wanted, blend, reduce};
use crate::obscuration::{SPECIFIC_VOLUME_CM3_G, Solids};
use crate::{BulkVolume, Fault, Field, Grade, Strength, VolumeAt20, Warning};

const VOLUME_20: Field =
    Field::new("volume_20_l", "L").label("Litres at 20 °C").within(0.0, 1e9).sd(0.5).extensive();
/// For bulk litres alone: litres at 20 °C have theirs in their name.
const BULK_TEMPERATURE: Field = TEMPERATURE.label("Temperature of the bulk litres");

/// The same fault under the key the figure was given by.
pub(super) fn named(fault: Fault, key: &'static str) -> Fault {
    match fault {
        Fault::OutOfRange { value, unit, low, high, .. } => {
            Fault::OutOfRange { field: key.into(), value, unit, low, high }
        }
        other => other,
    }
}

/// The lot that the figures tell, and a warning where it would be ice.
fn lot(v: &Values) -> Result<(Lot, Option<Warning>), Fault> {
    let strength = Strength::from_percent(v.get("strength_pct"))?;
    let mut ice = None;
    let amount = if let Some(litres) = v.maybe("volume_20_l") {
        Amount::At20(VolumeAt20::from_litres(litres)?)
    } else if let Some(litres) = v.maybe("bulk_l") {
        // Bulk litres whose temperature nobody noted are not litres of anything.
        let Some(degrees) = v.maybe("temperature_c") else {
            let Field { unit, low, high, .. } = BULK_TEMPERATURE;
            return Err(Fault::Missing { field: "temperature_c".into(), unit, low, high });
        };
        let at = celsius(degrees);
        ice = frozen(strength.mass_fraction(), at);
        Amount::Bulk(BulkVolume::new(litres, at)?)
    } else {
        Amount::MassKg(Fault::check("mass_kg", v.get("mass_kg"), "kg", 0.0..=1e9)?)
    };
    Ok((Lot { amount, strength }, ice))
}

pub(super) const REDUCE: Measure = Measure {
    key: "reduce",
    title: "Reducing",
    does: "Gives the water that brings a spirit down to a strength, and what comes of it.",
    inputs: &[
        one_of("amount", VOLUME_20),
        one_of("amount", BULK),
        must(BULK_TEMPERATURE.or(20.0)),
        must(STRENGTH_PCT),
        must(Field::new("target_pct", "% vol").label("Strength wanted").within(0.1, 100.0)),
        must(
            Field::new("water_temperature_c", "°C")
                .label("Temperature of the water")
                .within(0.0, 40.0)
                .or(20.0)
                .sd(0.3),
        ),
        must(
            Field::new("final_temperature_c", "°C")
                .label("Temperature when the result is read")
                .within(-20.0, 40.0)
                .or(20.0)
                .sd(0.15),
        ),
    ],
    outputs: &[
        output("water_kg", "kg", "Water to add", 2),
        output("water_20_l", "L", "Water to add, at 20 °C", 2),
        output("final_20_l", "L", "Litres that come of it, at 20 °C", 2),
        output("contraction_l", "L", "Contraction, at 20 °C", 3),
        output("water_l", "L", "Water to add, at its temperature", 2),
        output("final_l", "L", "Litres that come of it, at the final temperature", 2),
        output("pure_alcohol_l", "L", "Litres of pure alcohol, unchanged", 3),
    ],
    formula: "m_w = m₁ (p₁/p₂ − 1); V₂ = 1000 (m₁ + m_w) / ρ(p₂, t); \
              contraction = V₁ + V_w − V₂, all at 20 °C",
    letters: &[
        ("m₁, m_w", "mass of the spirit and of the water, kg"),
        ("p₁, p₂", "mass fraction of ethanol before and after"),
        ("V₁, V_w, V₂", "litres of spirit, of water, and after"),
        ("ρ(p, t)", "density in vacuum, kg/m³, by the general formula"),
    ],
    source: R22,
    caveat: "The density formula itself, to be taken as good to 0.05 kg/m³, is not counted. \
             Mixing warms the spirit; read the litres when it has cooled.",
    run: Run::One(reducing),
};

fn reducing(v: &Values) -> Result<Found, Fault> {
    let (spirit, ice) = lot(v)?;
    let target =
        Strength::from_percent(v.get("target_pct")).map_err(|fault| named(fault, "target_pct"))?;
    let final_at = celsius(v.get("final_temperature_c"));
    let water_at = celsius(v.get("water_temperature_c"));
    let r = reduce(&spirit, Wanted { target, water_at, final_at })?;
    let ice = ice.or_else(|| frozen(target.mass_fraction(), final_at));
    let values = [
        r.water_kg,
        r.water_20_l,
        r.final_20.litres(),
        r.contraction_l,
        r.water_l,
        r.final_l,
        r.pure_alcohol.litres(),
    ];
    Ok(found(values, ice.into_iter().collect()))
}

pub(super) const BLEND: Measure = Measure {
    key: "blend",
    title: "Blending",
    does: "Gives what lots of any strength make together, each at its own temperature.",
    inputs: &[
        one_of("amount", VOLUME_20),
        one_of("amount", BULK),
        one_of(
            "amount",
            Field::new("mass_kg", "kg").label("True mass").within(0.0, 1e9).sd(0.1).extensive(),
        ),
        may(BULK_TEMPERATURE),
        must(STRENGTH_PCT),
    ],
    outputs: &[
        output("mass_kg", "kg", "True mass", 3),
        output("volume_20_l", "L", "Litres at 20 °C", 2),
        output("strength_pct", "% vol", "Strength at 20 °C", 2),
        output("pure_alcohol_l", "L", "Litres of pure alcohol", 3),
        output("contraction_l", "L", "Contraction, at 20 °C", 3),
    ],
    formula: "M = Σ m; p = Σ m p / M; V = 1000 M / ρ(p, 20); q = 100 p ρ(p, 20) / ρ(1, 20)",
    letters: &[
        ("m", "mass of a lot, kg: litres times density at its temperature"),
        ("p", "mass fraction of ethanol"),
        ("ρ(p, t)", "density in vacuum, kg/m³, by the general formula"),
    ],
    source: R22,
    caveat: "The density formula itself, to be taken as good to 0.05 kg/m³, is not counted.",
    run: Run::Lots(|lots| {
        let mut warnings: Vec<Warning> = Vec::new();
        let mut parts = Vec::with_capacity(lots.len());
        for v in lots {
            let (part, ice) = lot(v)?;
            parts.push(part);
            if let Some(ice) = ice.filter(|_| warnings.is_empty()) {
                warnings.push(ice);
            }
        }
        let b = blend(&parts)?;
        let values = [
            b.mass_kg,
            b.volume_20.litres(),
            b.strength.percent(),
            b.pure_alcohol.litres(),
            b.contraction_l,
        ];
        Ok(found(values, warnings))
    }),
};

pub(super) const OBSCURATION: Measure = Measure {
    key: "obscuration",
    title: "Obscuration",
    does: "Gives the true strength of a spirit with solids in it, or what it would read as.",
    inputs: &[
        one_of(
            "strength",
            Field::new("apparent_pct", "% vol")
                .label("Apparent strength")
                .within(0.0, 100.0)
                .sd(0.05),
        ),
        one_of("strength", STRENGTH_PCT.label("True strength")),
        must(Field::new("solids_g_l", "g/L").label("Dissolved solids").within(0.0, 50.0).sd(0.05)),
        must(
            Field::new("specific_volume_cm3_g", "cm³/g")
                .label("Partial specific volume of the solids")
                .within(0.4, 0.9)
                .or(SPECIFIC_VOLUME_CM3_G)
                .sd(0.03)
                .from(Grade::Memory, "0.60 to 0.65; the upper end fits 27 CFR 30.32 at 50 % vol"),
        ),
    ],
    outputs: &[
        output("apparent_pct", "% vol", "Apparent strength", 2),
        output("strength_pct", "% vol", "True strength", 2),
        output("obscuration_pct", "% vol", "Obscuration", 3),
        output("density_kg_m3", "kg/m³", "Density at 20 °C, solids in it", 2),
    ],
    formula: "ρ = ρ(p, 20) + s (1 − ρ(p, 20) v/1000); apparent strength is that of ρ",
    letters: &[
        ("s", "dissolved solids, g/L"),
        ("v", "partial specific volume of the solids, cm³/g"),
        ("ρ(p, t)", "density in vacuum, kg/m³, by the general formula"),
    ],
    source: "Additive partial volumes, from memory; held against the factor of 27 CFR 30.32",
    caveat: "A prediction. For a legal strength the spirit is distilled.",
    run: Run::One(|v| {
        let solids = Solids {
            solids_g_l: v.get("solids_g_l"),
            specific_volume_cm3_g: v.get("specific_volume_cm3_g"),
        };
        let seen = match v.maybe("apparent_pct") {
            Some(percent) => crate::obscuration::real(
                Strength::from_percent(percent).map_err(|f| named(f, "apparent_pct"))?,
                solids,
            )?,
            None => crate::obscuration::apparent(
                Strength::from_percent(v.get("strength_pct"))?,
                solids,
            )?,
        };
        let values = [
            seen.apparent.percent(),
            seen.real.percent(),
            seen.obscuration_pct(),
            seen.density.kg_m3(),
        ];
        Ok(found(values, Vec::new()))
    }),
};
