//! Worts, wash and the yield of malt.

use super::mixing::named;
use super::spirit::celsius;
use super::{Found, Input, Measure, Run, Values, found, must, one_of, output};
use crate::spirit_yield::{Analysis, Laboratory, fermentability_pct, predict};
use crate::wort::attenuation::{Gravities, Method, attenuate};
use crate::wort::{at_20, gravity, kernel};
use crate::{Fault, Field, Gravity, Node, Plato};

const CUBIC: &str = "Cubic of the American Society of Brewing Chemists, as printed in an \
                     encyclopaedic article on degrees Brix";
const GRAVITY: Field =
    Field::new("gravity", "20/20").label("Gravity, 20/20").within(0.98, 1.13).sd(0.0003);
const ORIGINAL: Field = Field::new("original_gravity", "20/20")
    .label("Original gravity, 20/20")
    .within(0.98, 1.13)
    .sd(0.0003);
const FINAL: Field = Field::new("final_gravity", "20/20")
    .label("Final gravity, 20/20")
    .within(0.98, 1.13)
    .sd(0.0003);

pub(super) const WORT: Measure = Measure {
    key: "wort",
    title: "Worts",
    does: "Gives gravity, degrees Plato, density and extract of worts from any one of the first.",
    inputs: &[
        one_of("worts", GRAVITY),
        one_of("worts", Field::new("plato", "°P").label("Plato").within(-6.0, 30.2).sd(0.07)),
        one_of(
            "worts",
            Field::new("density_kg_m3", "kg/m³")
                .label("Density at 20 °C")
                .within(978.3, 1127.9)
                .sd(0.3),
        ),
    ],
    outputs: &[
        output("gravity", "20/20", "Gravity, 20/20", 4),
        output("plato", "°P", "Degrees Plato", 2),
        output("density_kg_m3", "kg/m³", "Density at 20 °C", 2),
        output("extract_kg_m3", "kg/m³", "Extract", 2),
    ],
    formula: "P = ((135.997 S − 630.272) S + 1111.14) S − 616.868; ρ = 998.20 S; \
              extract = ρ P/100",
    letters: &[
        ("S", "gravity, 20 °C over 20 °C"),
        ("P", "degrees Plato, % by mass"),
        ("ρ", "density at 20 °C, kg/m³"),
    ],
    source: CUBIC,
    caveat: "The cubic is good to 0.002 °P up to a gravity of 1.11.",
    run: Run::One(|v| {
        let s = if let Some(s) = v.maybe("gravity") {
            Gravity::from_specific(s)?
        } else if let Some(p) = v.maybe("plato") {
            gravity(Plato::from_degrees(p)?)
        } else {
            let density = v.get("density_kg_m3");
            Gravity::from_specific(density / kernel::WATER_20_KG_M3)?
        };
        let s = s.specific();
        let values = [
            s,
            v.maybe("plato").unwrap_or_else(|| kernel::plato_of_gravity(s)),
            kernel::density_kg_m3(s),
            kernel::extract_kg_m3(s),
        ];
        Ok(found(values, Vec::new()))
    }),
};

pub(super) const SACCHAROMETER: Measure = Measure {
    key: "saccharometer",
    title: "Saccharometer",
    does: "Gives the gravity at 20 °C of worts whose gravity was read warm or cold.",
    inputs: &[
        must(Field::new("reading", "20/20").label("Gravity as read").within(0.98, 1.13).sd(0.0003)),
        must(Field::new("temperature_c", "°C").label("Temperature").within(0.0, 60.0).sd(0.5)),
    ],
    outputs: &[
        output("gravity_20", "20/20", "Gravity at 20 °C", 4),
        output("plato", "°P", "Degrees Plato", 2),
    ],
    formula: "S₂₀ = R (1 − 25e-6 (t − 20)) ρ_w(20)/ρ_w(t) (1 + k P (t − 20)); \
              k = 3e-6 above 30 °C, else 0",
    letters: &[
        ("R", "gravity as read"),
        ("ρ_w(t)", "density of water, kg/m³"),
        ("P", "degrees Plato"),
        ("k", "what sugar swells more than water, from memory"),
    ],
    source: "ISO 1768:1975 for the glass; G. S. Kell, J. Chem. Eng. Data 20 (1975) 97 for water",
    caveat: "Above 30 °C one degree either way: cool the sample.",
    run: Run::One(|v| {
        let at = celsius(v.get("temperature_c"));
        let s = at_20(v.get("reading"), at).map_err(|fault| match fault {
            // Read within range and beyond it at 20 °C: the reading is what can be mended.
            Fault::OutOfRange { ref field, .. } if field == "gravity" => named(fault, "reading"),
            other => other,
        })?;
        let s = s.specific();
        Ok(found([s, kernel::plato_of_gravity(s)], Vec::new()))
    }),
};

pub(super) const ATTENUATION: Measure = Measure {
    key: "attenuation",
    title: "Attenuation",
    does: "Gives extract, attenuation and alcohol of wash from original and final gravity.",
    inputs: &[
        must(ORIGINAL),
        must(FINAL),
        Input::Choice { key: "method", label: "Reckoned by", words: &Method::WORDS },
    ],
    outputs: &[
        output("original_plato", "°P", "Original extract", 2),
        output("apparent_plato", "°P", "Apparent extract", 2),
        output("real_extract_plato", "°P", "Real extract", 2),
        output("apparent_attenuation_pct", "%", "Apparent attenuation", 1),
        output("real_attenuation_pct", "%", "Real attenuation", 1),
        output("alcohol_mass_pct", "% mass", "Alcohol by mass", 2),
        output("alcohol_pct", "% vol", "Alcohol at 20 °C", 2),
        output("method", "", "Reckoned by", 0),
    ],
    formula: "quotient: A = (OE − AE) / [(2.0665 − 0.010665 OE)(1.22 + 0.001 OE)], \
              OE = 100 (2.0665 A + RE) / (100 + 1.0665 A); \
              balling: RE = 0.1808 OE + 0.8192 AE, A = (OE − RE) / (2.0665 − 0.010665 OE); \
              alcohol = A S ρ_water / ρ_ethanol",
    letters: &[
        ("OE, AE, RE", "original, apparent and real extract, °P"),
        ("A", "ethanol, % by mass of the wash"),
        ("S", "final gravity"),
    ],
    source: "Nielsen, Kristiansen, Krieger Lassen and Erikstrøm, Balling's formula: scrutiny of a \
             brewing dogma; quotient and real extract from memory, the quotient checked against \
             31 printed factors",
    caveat: "The relation itself is good to 0.08 % vol; that is not counted.",
    run: Run::One(attenuation),
};

fn attenuation(v: &Values) -> Result<Found, Fault> {
    let original = Gravity::from_specific(v.get("original_gravity"))
        .map_err(|fault| named(fault, "original_gravity"))?;
    let present = Gravity::from_specific(v.get("final_gravity"))
        .map_err(|fault| named(fault, "final_gravity"))?;
    let method =
        if v.word("method") == Method::Balling.word() { Method::Balling } else { Method::Quotient };
    let a = attenuate(Gravities { original, present }, method)?;
    let figures = [
        a.original.degrees(),
        a.apparent.degrees(),
        a.real_extract_pct,
        a.apparent_pct,
        a.real_pct,
        a.alcohol_mass_pct,
        a.alcohol.percent(),
    ];
    let mut out = found(figures, Vec::new());
    out.values.push(Node::from(a.method.word()));
    Ok(out)
}

pub(super) const SPIRIT_YIELD: Measure = Measure {
    key: "spirit-yield",
    title: "Predicted spirit yield",
    does: "Gives the litres of pure alcohol a tonne of malt should yield, from its analysis.",
    inputs: &[
        must(
            Field::new("soluble_extract_pct", "%")
                .label("Soluble extract, as is")
                .within(0.0, 100.0)
                .sd(0.3),
        ),
        must(ORIGINAL.label("Gravity of the laboratory worts")),
        must(FINAL.label("The same fermented out")),
    ],
    outputs: &[
        output("fermentability_pct", "%", "Fermentability", 2),
        output("fermentable_extract_pct", "%", "Fermentable extract", 2),
        output("pure_alcohol_l_t", "L/t", "Litres of pure alcohol a tonne", 1),
    ],
    formula: "F = 81.4 (OG − FG) / (OG − 1); FE = SE F/100; yield = 6.06 FE",
    letters: &[
        ("OG, FG", "gravity of the laboratory worts, before and fermented out"),
        ("SE, FE", "soluble and fermentable extract, % of malt on one basis"),
        ("F", "fermentability, %"),
    ],
    source: "Bringhurst, Brosnan, McInnes and Steele, J. Inst. Brew. 102 (1996) 433, abstract; \
             the form of F from memory",
    caveat: "The laboratory's highest; 97 to 98 % of it is a good plant, from memory.",
    run: Run::One(|v| {
        let original = Gravity::from_specific(v.get("original_gravity"))
            .map_err(|fault| named(fault, "original_gravity"))?;
        let last = Gravity::from_specific(v.get("final_gravity"))
            .map_err(|fault| named(fault, "final_gravity"))?;
        let fermentability_pct = fermentability_pct(Laboratory { original, last })?;
        let soluble_extract_pct = v.get("soluble_extract_pct");
        let malt = predict(Analysis { soluble_extract_pct, fermentability_pct })?;
        let values = [fermentability_pct, malt.fermentable_extract_pct, malt.pure_alcohol_l_t];
        Ok(found(values, Vec::new()))
    }),
};
