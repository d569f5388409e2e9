//! Proof and gallons of the United States.

use super::spirit::{BULK, STRENGTH_PCT, TEMPERATURE, celsius};
use super::{Measure, Run, found, must, one_of, output};
use crate::alcoholometry::frozen;
use crate::us::{Gallons, ProofUs, SIXTY_F_C, proofed};
use crate::{BulkVolume, Field, Strength};

pub(super) const PROOF: Measure = Measure {
    key: "proof",
    title: "US proof and gallons",
    does: "Gives proof, wine gallons and proof gallons at 60 °F beside strength and litres.",
    inputs: &[
        one_of(
            "strength",
            Field::new("proof_us", "US proof").label("US proof").within(0.0, 200.0).sd(0.1),
        ),
        one_of("strength", STRENGTH_PCT),
        one_of(
            "amount",
            Field::new("wine_gallons", "gal")
                .label("Wine gallons at 60 °F")
                .within(0.0, 1e9)
                .sd(0.1)
                .extensive(),
        ),
        one_of("amount", BULK),
        must(TEMPERATURE.label("Temperature of the bulk litres").or(SIXTY_F_C)),
    ],
    outputs: &[
        output("proof_us", "US proof", "US proof", 2),
        output("strength_pct", "% vol", "Strength at 20 °C", 2),
        output("wine_gallons", "gal", "Wine gallons at 60 °F", 2),
        output("proof_gallons", "gal", "Proof gallons", 2),
        output("pure_alcohol_l", "L", "Litres of pure alcohol at 20 °C", 3),
    ],
    formula: "proof = 200 p ρ(p, 60 °F) / ρ(1, 60 °F); proof gallons = wine gallons × proof/100; \
              pure alcohol = V ρ(p, t) p / ρ(1, 20)",
    letters: &[
        ("ρ(p, t)", "density in vacuum, kg/m³, by the general formula"),
        ("p", "mass fraction of ethanol"),
        ("V", "litres at t"),
    ],
    source: "27 CFR 19.1 and 30.64 to 30.67; OIML R 22 (1975)",
    caveat: "Near 200 proof the statutory alcohol differs from the formula's by 8e-5; for a legal \
             record of the United States its own tables are to be used.",
    run: Run::One(|v| {
        let p = match v.maybe("proof_us") {
            Some(proof) => ProofUs::from_degrees(proof)?.mass_fraction(),
            None => Strength::from_percent(v.get("strength_pct"))?.mass_fraction(),
        };
        let mut warnings = Vec::new();
        let amount = if let Some(gallons) = v.maybe("wine_gallons") {
            Gallons::Wine(gallons)
        } else {
            let at = celsius(v.get("temperature_c"));
            warnings.extend(frozen(p, at));
            Gallons::Bulk(BulkVolume::new(v.get("bulk_l"), at)?)
        };
        let of = proofed(p, amount)?;
        let values = [
            of.proof.degrees(),
            of.strength.percent(),
            of.wine_gallons,
            of.proof_gallons,
            of.pure_alcohol.litres(),
        ];
        Ok(found(values, warnings))
    }),
};
