//! Strength, density, the glass, volume and weight.

use super::{Found, Input, Measure, Run, Values, found, must, one_of, output};
use crate::alcoholometry::{content_within, density, frozen};
use crate::buoyancy::{Buoyancy, Densities};
use crate::gauging::{Dip, Weight, by_dip, by_weight};
use crate::glass::Glass;
use crate::{Celsius, DensityInAir, DensityVacuum, Fault, Field, Grade, MassFraction, Strength};

pub(super) const R22: &str =
    "OIML R 22, International alcoholometric tables, 1975; Council Directive 76/766/EEC, annex";
const FORMULA_ONLY: &str =
    "The density formula itself, to be taken as good to 0.05 kg/m³, is not counted.";

/// An ordinary thermometer: ±0.3 K as a rectangle. Standard uncertainties of instruments here are
/// from memory; a house sets its own.
pub(super) const TEMPERATURE: Field = Field::new("temperature_c", "°C")
    .label("Temperature")
    .within(-20.0, 40.0)
    .sd(0.15)
    .from(Grade::Published, R22);
pub(super) const STRENGTH_PCT: Field =
    Field::new("strength_pct", "% vol").label("Strength at 20 °C").within(0.0, 100.0).sd(0.05);
pub(super) const BULK: Field = Field::new("bulk_l", "L")
    .label("Bulk litres, at the temperature")
    .within(0.0, 1e9)
    .sd(0.5)
    .extensive();
const AIR: Field = Field::new("air_kg_m3", "kg/m³")
    .label("Density of the air")
    .within(0.0, 2.0)
    .or(1.2)
    .from(Grade::Published, "OIML R 22 (1975), table XII");
const WEIGHTS: Field = Field::new("weights_kg_m3", "kg/m³")
    .label("Conventional density of the weights")
    .within(5e3, 2e4)
    .or(8000.0)
    .from(Grade::Published, "OIML R 22 (1975), table XII");
pub(super) const LETTERS: &[(&str, &str)] = &[
    ("ρ(p, t)", "density in vacuum, kg/m³, by the general formula"),
    ("p", "mass fraction of ethanol"),
    ("t", "temperature, °C"),
    ("q", "strength, % vol at 20 °C"),
];

pub(super) fn celsius(degrees: f64) -> Celsius {
    Celsius(degrees)
}

fn buoyancy(v: &Values) -> Result<Buoyancy, Fault> {
    let of = Densities { air_kg_m3: v.get("air_kg_m3"), weights_kg_m3: v.get("weights_kg_m3") };
    Buoyancy::new(of)
}

pub(super) const STRENGTH: Measure = Measure {
    key: "strength",
    title: "Strength from density",
    does: "Gives the strength at 20 °C of a spirit whose density and temperature were read.",
    inputs: &[
        must(
            Field::new("density_kg_m3", "kg/m³")
                .label("Density as read")
                .within(500.0, 1500.0)
                .sd(0.1),
        ),
        must(TEMPERATURE),
        Input::Choice { key: "basis", label: "The density is in", words: &["vacuum", "air"] },
        must(
            Field::new("tolerance_kg_m3", "kg/m³")
                .label("Tolerance of the instrument")
                .within(0.0, 5.0)
                .or(0.0),
        ),
        must(AIR),
        must(WEIGHTS),
    ],
    outputs: &[
        output("strength_pct", "% vol", "Strength at 20 °C", 2),
        output("mass_pct", "% mass", "Alcohol by mass", 3),
    ],
    formula: "ρ(p, t) = A₁ + Σ A_k p^(k−1) + Σ B_k (t−20)^k + Σ C_ik p^k (t−20)^i, solved for p; \
              q = 100 p ρ(p, 20) / ρ(1, 20)",
    letters: LETTERS,
    source: R22,
    caveat: FORMULA_ONLY,
    run: Run::One(|v| {
        let given = v.get("density_kg_m3");
        let read = match v.word("basis") {
            "air" => buoyancy(v)?.in_vacuum(DensityInAir::from_kg_m3(given)?),
            _ => DensityVacuum(given),
        };
        let at = celsius(v.get("temperature_c"));
        let found_in = content_within(read, at, v.get("tolerance_kg_m3"))
            .map_err(|fault| as_given(fault, given - read.kg_m3()))?;
        let values = [found_in.strength.percent(), found_in.mass_fraction.percent()];
        Ok(found(values, found_in.warnings))
    }),
};

/// A density refused in vacuum, told in the basis it was given in.
fn as_given(fault: Fault, shift: f64) -> Fault {
    match fault {
        Fault::OutOfRange { field, value, unit, low, high } => Fault::OutOfRange {
            field,
            value: value + shift,
            unit,
            low: low + shift,
            high: high + shift,
        },
        other => other,
    }
}

pub(super) const DENSITY: Measure = Measure {
    key: "density",
    title: "Density from strength",
    does: "Gives the density of a spirit at a temperature, in vacuum and in air.",
    inputs: &[
        one_of("strength", STRENGTH_PCT),
        one_of(
            "strength",
            Field::new("mass_pct", "% mass").label("Alcohol by mass").within(0.0, 100.0).sd(0.05),
        ),
        must(TEMPERATURE),
        must(AIR),
        must(WEIGHTS),
    ],
    outputs: &[
        output("density_kg_m3", "kg/m³", "Density in vacuum", 2),
        output("density_air_kg_m3", "kg/m³", "Density in air", 2),
    ],
    formula: "ρ(p, t) = A₁ + Σ A_k p^(k−1) + Σ B_k (t−20)^k + Σ C_ik p^k (t−20)^i; \
              ρ_air = (ρ − a) / (1 − a/ρ_w)",
    letters: &[
        ("ρ(p, t)", "density in vacuum, kg/m³, by the general formula"),
        ("p", "mass fraction of ethanol"),
        ("t", "temperature, °C"),
        ("a", "density of the air, kg/m³"),
        ("ρ_w", "conventional density of the weights, kg/m³"),
    ],
    source: R22,
    caveat: FORMULA_ONLY,
    run: Run::One(|v| {
        let p = match v.maybe("strength_pct") {
            Some(percent) => Strength::from_percent(percent)?.mass_fraction(),
            None => MassFraction::from_fraction(v.get("mass_pct") / 100.0)?,
        };
        let at = celsius(v.get("temperature_c"));
        let rho = density(p, at)?;
        let values = [rho.kg_m3(), buoyancy(v)?.in_air(rho).kg_m3()];
        Ok(found(values, frozen(p, at).into_iter().collect()))
    }),
};

pub(super) const ALCOHOLOMETER: Measure = Measure {
    key: "alcoholometer",
    title: "Glass alcoholometer",
    does: "Gives the strength at 20 °C from what a glass alcoholometer, true at 20 °C, shows.",
    inputs: &[
        must(Field::new("reading_pct", "% vol").label("Reading").within(0.0, 100.0).sd(0.1)),
        must(TEMPERATURE),
        must(
            Field::new("glass_expansion_per_k", "1/K")
                .label("Expansion of the glass by volume")
                .within(0.0, 1e-4)
                .or(25e-6)
                .from(Grade::Published, "ISO 1768:1975, soda-lime glass"),
        ),
    ],
    outputs: &[output("strength_pct", "% vol", "Strength at 20 °C", 2)],
    formula: "ρ = ρ(p(reading), 20) (1 − α (t − 20)), and the strength that density has at t",
    letters: &[
        ("ρ(p, t)", "density in vacuum, kg/m³, by the general formula"),
        ("α", "expansion of the glass by volume, 1/K"),
        ("t", "temperature, °C"),
    ],
    source: "OIML R 22 (1975), tables VIII and IX; ISO 1768:1975",
    caveat: FORMULA_ONLY,
    run: Run::One(|v| {
        let glass = Glass::new(v.get("glass_expansion_per_k"))?;
        let at = celsius(v.get("temperature_c"));
        let reading = Strength::from_percent(v.get("reading_pct"))
            .map_err(|fault| super::mixing::named(fault, "reading_pct"))?;
        let held = glass.alcoholometer(reading, at)?;
        Ok(found([held.strength.percent()], held.warnings))
    }),
};

pub(super) const VOLUME: Measure = Measure {
    key: "volume",
    title: "Litres by dip",
    does: "Gives litres at 20 °C and litres of pure alcohol from bulk litres at a temperature.",
    inputs: &[
        must(BULK),
        must(TEMPERATURE),
        must(STRENGTH_PCT),
        must(
            Field::new("vessel_expansion_per_k", "1/K")
                .label("Expansion of the vessel by volume; steel 36e-6")
                .within(0.0, 1e-3)
                .or(0.0)
                .from(Grade::Published, "OIML R 22 (1975), table XI, for steel"),
        ),
    ],
    outputs: &[
        output("volume_20_l", "L", "Litres at 20 °C", 2),
        output("pure_alcohol_l", "L", "Litres of pure alcohol", 3),
    ],
    formula: "V₂₀ = V (1 + β (t − 20)) ρ(p, t) / ρ(p, 20); pure alcohol = V₂₀ q/100",
    letters: &[
        ("V", "bulk litres by the vessel's table"),
        ("β", "expansion of the vessel by volume, 1/K"),
        ("ρ(p, t)", "density in vacuum, kg/m³, by the general formula"),
        ("q", "strength, % vol at 20 °C"),
    ],
    source: "OIML R 22 (1975), table XI",
    caveat: FORMULA_ONLY,
    run: Run::One(|v| {
        let at = celsius(v.get("temperature_c"));
        let q = Strength::from_percent(v.get("strength_pct"))?;
        let vessel_expansion_per_k = v.get("vessel_expansion_per_k");
        let dip = Dip { bulk_l: v.get("bulk_l"), at, vessel_expansion_per_k };
        let held = by_dip(dip, q)?;
        let values = [held.volume_20.litres(), held.pure_alcohol.litres()];
        Ok(found(values, frozen(q.mass_fraction(), at).into_iter().collect()))
    }),
};

pub(super) const WEIGH: Measure = Measure {
    key: "weigh",
    title: "Litres by weight",
    does: "Gives bulk litres, litres at 20 °C and litres of pure alcohol from a net weight in air.",
    inputs: &[
        must(
            Field::new("net_kg", "kg")
                .label("Net weight as the balance shows it")
                .within(0.0, 1e9)
                .sd(0.1)
                .extensive(),
        ),
        must(TEMPERATURE),
        must(STRENGTH_PCT),
        must(AIR),
        must(WEIGHTS),
    ],
    outputs: &[
        output("bulk_l", "L", "Bulk litres at the temperature", 2),
        output("volume_20_l", "L", "Litres at 20 °C", 2),
        output("pure_alcohol_l", "L", "Litres of pure alcohol", 3),
        output("mass_kg", "kg", "True mass", 3),
    ],
    formula: "m = W (1 − a/ρ_w) / (1 − a/ρ(p, t)); V₂₀ = 1000 m / ρ(p, 20); \
              pure alcohol = V₂₀ q/100",
    letters: &[
        ("W", "net weight as shown, kg"),
        ("a", "density of the air, kg/m³"),
        ("ρ_w", "conventional density of the weights, kg/m³"),
        ("ρ(p, t)", "density in vacuum, kg/m³, by the general formula"),
        ("q", "strength, % vol at 20 °C"),
    ],
    source: "OIML R 22 (1975), table XII",
    caveat: FORMULA_ONLY,
    run: Run::One(weigh),
};

fn weigh(v: &Values) -> Result<Found, Fault> {
    let at = celsius(v.get("temperature_c"));
    let q = Strength::from_percent(v.get("strength_pct"))?;
    let weight = Weight { net_kg: v.get("net_kg"), at, buoyancy: buoyancy(v)? };
    let held = by_weight(weight, q)?;
    let values =
        [held.bulk.litres(), held.volume_20.litres(), held.pure_alcohol.litres(), held.mass_kg];
    Ok(found(values, frozen(q.mass_fraction(), at).into_iter().collect()))
}
