//! The alcoholometry against printed tables: the handbook's, the pharmacopoeia's, Tralles', a
//! table of instrument readings, a table of dilutions, and the worked examples of law.
//!
//! Each row carries its own tolerance and the header of the file says why. Beside it the row has
//! what the formula gave in another language; that is held to half of its last digit.

use checks::{Row, reference};
use gauge::alcoholometry::kernel::{density_kg_m3, mass_fraction, mass_fraction_of_strength};
use gauge::buoyancy::{Buoyancy, Water};
use gauge::mixing::{Amount, Lot, blend};
use gauge::us::{GALLON_L, Gallons, ProofUs, SIXTY_F_C, proofed, true_proof};
use gauge::{BulkVolume, Celsius, DensityVacuum, MassFraction, Strength, VolumeAt20};

const TABLES: &str = "alcoholometric_tables.csv";
/// Before 1964 a millilitre was 1.000028 cm³ (from memory).
const OLD_LITRE: f64 = 1.000028;
const POUND_KG: f64 = 0.45359237;

/// Half of the last digit in which the row gives what the formula gave elsewhere.
fn half_digit(text: &str) -> f64 {
    let decimals = text.split_once('.').map_or(0, |(_, d)| d.len());
    // And a little for the last bit: a figure on the half is printed either way.
    0.5 * 10_f64.powf(-(decimals as f64)) * 1.001
}

/// Holds the rows of a table against the print, and against the formula's figure beside it.
#[track_caller]
fn hold(code: &str, keep: impl Fn(&Row) -> bool, got: impl Fn(&Row) -> f64) {
    let mut table = reference(TABLES).only("table", code);
    table.rows.retain(|row| keep(row));
    assert!(!table.rows.is_empty(), "{code} has no rows left");
    let worst = table.check(|row| (got(row), row.number("printed"), tolerance(row)));
    println!("{code}: {} rows, worst {worst:.2} of its tolerance", table.rows.len());
    table.check(|row| (got(row), row.number("r22"), half_digit(row.text("r22"))));
}

/// The tolerance of a row: a figure, or so many per cent of the printed one.
fn tolerance(row: &Row) -> f64 {
    let text = row.text("tol");
    let first = text.split_whitespace().next().unwrap_or_default();
    let figure: f64 = first.parse().unwrap_or_else(|_| panic!("line {}: {text}", row.line));
    if text.contains("% of value") { figure / 100.0 * row.number("printed") } else { figure }
}

fn celsius(row: &Row) -> Celsius {
    let degrees = row.number("input2");
    let at = match row.text("unit2") {
        "degF" => Celsius::from_fahrenheit(degrees),
        // The tables at "15.56" are at 60 °F.
        _ if degrees == 15.56 => Celsius::from_fahrenheit(60.0),
        _ => Celsius::from_degrees(degrees),
    };
    at.expect("a printed row is in the domain")
}

/// Mass fraction of a strength by volume at 60 °F, in per cent: half of its proof.
fn at_sixty(percent: f64) -> MassFraction {
    proof(2.0 * percent)
}

fn proof(degrees: f64) -> MassFraction {
    ProofUs::from_degrees(degrees).expect("a printed row is in the domain").mass_fraction()
}

/// Strength by volume at 60 °F, per cent.
fn sixty(p: f64) -> f64 {
    0.5 * ProofUs::of(MassFraction::from_fraction(p).expect("a printed row is in the domain"))
        .degrees()
}

fn specific_gravity_in_air(p: f64, at: Celsius) -> f64 {
    let t = at.degrees();
    let liquid =
        DensityVacuum::from_kg_m3(density_kg_m3(p, t)).expect("a printed row is in the domain");
    let water = Water { density_kg_m3: density_kg_m3(0.0, t) };
    Buoyancy::CUSTOMARY.specific_gravity(liquid, water)
}

fn everything(_: &Row) -> bool {
    true
}

#[test]
fn the_handbooks_densities_from_10_to_40_degrees() {
    for code in ["N", "P"] {
        hold(code, everything, |row| {
            let p = row.number("input1") / 100.0;
            density_kg_m3(p, row.number("input2")) / 1000.0 * OLD_LITRE
        });
    }
}

#[test]
fn the_pharmacopoeias_six_columns() {
    hold("U1", everything, |row| at_sixty(row.number("input1")).percent());
    for code in ["U2", "U3"] {
        hold(code, everything, |row| {
            specific_gravity_in_air(at_sixty(row.number("input1")).fraction(), celsius(row))
        });
    }
    hold("U4", everything, |row| sixty(row.number("input1") / 100.0));
    for code in ["U5", "U6"] {
        hold(code, everything, |row| {
            specific_gravity_in_air(row.number("input1") / 100.0, celsius(row))
        });
    }
}

#[test]
fn tralles_specific_gravities() {
    hold("T", everything, |row| {
        let p = at_sixty(row.number("input1")).fraction();
        density_kg_m3(p, celsius(row).degrees()) / 999.972
    });
}

/// An instrument true at 60 °F in spirit of known strength. Readings below nought, where the scale
/// is drawn on beyond water, are of no mixture and are left out; one row is an obvious misprint
/// and says so in its note.
#[test]
fn a_glass_instrument_reads_as_the_printed_table_says() {
    let reads = |row: &Row| {
        let at = celsius(row);
        let swollen = 1.0 - 25e-6 * (at.degrees() - SIXTY_F_C);
        let p = at_sixty(row.number("input1")).fraction();
        let p = mass_fraction(density_kg_m3(p, at.degrees()) / swollen, SIXTY_F_C);
        if p.is_nan() { f64::NAN } else { sixty(p) }
    };
    let kept = |row: &Row| !reads(row).is_nan() && !row.text("note").contains("ERROR");
    let all = reference(TABLES).only("table", "H").rows;
    let left_out: Vec<_> = all.iter().filter(|row| !kept(row)).collect();
    let on_the_scale = left_out.iter().filter(|row| row.number("printed") > 0.0);
    assert_eq!(on_the_scale.count(), 1, "the misprint alone");
    hold("H", kept, reads);
}

/// Volumes of water for 100 volumes of spirit, all at 60 °F. Three entries are marked suspect,
/// because their neighbours fit and they do not; they are not held to the print.
#[test]
fn dilutions_take_the_printed_water() {
    let water = |row: &Row| {
        let strong = at_sixty(row.number("input1")).fraction();
        let weak = at_sixty(row.number("input2")).fraction();
        let spirit_kg = 0.1 * density_kg_m3(strong, SIXTY_F_C);
        let water_kg = spirit_kg * (strong / weak - 1.0);
        1000.0 * water_kg / density_kg_m3(0.0, SIXTY_F_C)
    };
    hold("D", |row| !row.text("note").contains("suspect"), water);
    let all = reference(TABLES).only("table", "D");
    let suspects = all.rows.iter().filter(|row| row.text("note").contains("suspect"));
    assert_eq!(suspects.count(), 3);
}

/// Pounds in air of a gallon of spirit at 60 °F.
fn pounds(p: MassFraction) -> f64 {
    let liquid = DensityVacuum::from_kg_m3(density_kg_m3(p.fraction(), SIXTY_F_C))
        .expect("a printed row is in the domain");
    Buoyancy::CUSTOMARY.in_air(liquid).kg_m3() * GALLON_L / 1000.0 / POUND_KG
}

#[test]
fn weights_and_gallons_of_united_states_law() {
    let weight = |row: &Row| {
        let p = proof(row.number("input1"));
        let proof_gallons =
            proofed(p, Gallons::Wine(1.0)).expect("a printed row is in the domain").proof_gallons;
        match row.text("unit_printed") {
            "wine gal per lb in air" => 1.0 / pounds(p),
            "proof gal per lb in air" => proof_gallons / pounds(p),
            "lb in air per proof gal" => pounds(p) / proof_gallons,
            _ => pounds(p),
        }
    };
    for example in [
        "30.64 Table 4 example",
        "30.64 example (302.58 proof gal in 1000 lb)",
        "30.65 Table 5 example",
        "21.161",
    ] {
        hold(&format!("L:27 CFR {example}"), everything, weight);
    }
    hold("L:27 CFR 30.44(b) table", everything, |row| {
        pounds(proof(row.number("input1"))) * row.number("input2")
    });
    hold("L:27 CFR 30.67 Table 7 example", everything, |row| {
        let litres =
            BulkVolume::new(GALLON_L, celsius(row)).expect("a printed row is in the domain");
        proofed(proof(row.number("input1")), Gallons::Bulk(litres))
            .expect("a printed row is in the domain")
            .wine_gallons
    });
}

#[test]
fn readings_and_reductions_of_united_states_law() {
    hold("L:27 CFR 30.61 Table 1 example", everything, |row| {
        let shown =
            ProofUs::from_degrees(row.number("input1")).expect("a printed row is in the domain");
        true_proof(shown, celsius(row)).expect("a printed row is in the domain").degrees()
    });
    // Parts of water in 100 parts of spirit by volume at 60 °F.
    let parts = |degrees: f64| {
        let p = proof(degrees).fraction();
        100.0 * density_kg_m3(p, SIXTY_F_C) * (1.0 - p) / density_kg_m3(0.0, SIXTY_F_C)
    };
    hold("L:27 CFR 186.66 (now 30.66) Table 6 example", everything, |row| {
        parts(row.number("input1"))
    });
    // The old rule: (A₁/A₂) w₂ − w₁, which is the balance of mass.
    hold("L:27 CFR 186.66 reduction example", everything, |row| {
        let (strong, weak) = (row.number("input1"), row.number("input2"));
        strong / weak * parts(weak) - parts(strong)
    });
    // By the table of proof gallons in a pound, as the law does it: all weights are in air.
    let proof_gallons_lb = |degrees: f64| degrees / 100.0 / pounds(proof(degrees));
    hold("L:27 CFR 30.64 reduction example", everything, |row| {
        1000.0 * (proof_gallons_lb(200.0) / proof_gallons_lb(row.number("input2")) - 1.0)
    });
}

/// Proof spirit of the old United Kingdom: weighs 12/13 of the water of its volume at 51 °F.
#[test]
fn old_proof_spirit_and_what_mixes_to_it() {
    let at = Celsius::from_fahrenheit(51.0).expect("a printed row is in the domain").degrees();
    let p = mass_fraction(12.0 / 13.0 * density_kg_m3(0.0, at), at);
    let sg = |p: f64| density_kg_m3(p, SIXTY_F_C) / density_kg_m3(0.0, SIXTY_F_C);
    let code = "L:Cooley, Cyclopaedia of Practical Receipts, 6th ed., vol. I, alcoholometry (1880)";
    hold(code, everything, |_| sixty(p));
    hold("L:Cooley 1880", everything, |row| match row.text("unit_printed") {
        "%mass" => 100.0 * p,
        _ if row.text("input1").contains("mass alcohol") => sg(100.0 / 203.08),
        _ => sg(p),
    });
    hold("L:Cooley 1880 (contraction)", everything, |_| {
        let alcohol_kg = 0.1 * density_kg_m3(1.0, SIXTY_F_C);
        let water_kg = 0.0818 * density_kg_m3(0.0, SIXTY_F_C);
        let p = alcohol_kg / (alcohol_kg + water_kg);
        1000.0 * (alcohol_kg + water_kg) / density_kg_m3(p, SIXTY_F_C)
    });
}

#[test]
fn equal_litres_of_alcohol_and_water_shrink() {
    hold("C", everything, |row| {
        let t = row.number("input2");
        let (alcohol_kg, water_kg) = (0.1 * density_kg_m3(1.0, t), 0.1 * density_kg_m3(0.0, t));
        let p = alcohol_kg / (alcohol_kg + water_kg);
        1000.0 * (alcohol_kg + water_kg) / density_kg_m3(p, t)
    });
    // The same by the blend, at 20 °C: it keeps the alcohol and loses the same share of volume.
    let lot = |percent| Lot {
        amount: Amount::At20(
            VolumeAt20::from_litres(100.0).expect("a printed row is in the domain"),
        ),
        strength: Strength::from_percent(percent).expect("a printed row is in the domain"),
    };
    let both = blend(&[lot(100.0), lot(0.0)]).expect("a printed row is in the domain");
    assert!((both.pure_alcohol.litres() - 100.0).abs() < 1e-9);
    assert!((both.volume_20.litres() - 192.75).abs() < 0.4);
}

#[test]
fn printed_balling_factors_are_met() {
    use gauge::wort::attenuation::{Gravities, Method, attenuate};
    let table = reference("wort_tables.csv").only("table", "BF");
    table.check(|row| {
        let extract = gauge::Plato::from_degrees(row.number("input"))
            .expect("a printed row is in the domain");
        let present = gauge::Gravity::from_specific(0.999).expect("a printed row is in the domain");
        let of = Gravities { original: gauge::wort::gravity(extract), present };
        let a = attenuate(of, Method::Quotient).expect("a printed row is in the domain");
        let drop = a.original.degrees() - a.apparent.degrees();
        (a.alcohol_mass_pct / drop, row.number("printed"), row.number("tol"))
    });
}

/// Balling's balance against the means of 532 brews: it tests the relation and not the arithmetic.
/// The tolerance is the bias the source found, 0.23 °P at most.
#[test]
fn ballings_balance_meets_brews_within_its_known_bias() {
    let table = reference("wort_tables.csv").only("table", "CUT");
    table.check(|row| {
        let after = |word: &str| -> f64 {
            let rest =
                row.text("input").split(word).nth(1).expect("a printed row is in the domain");
            rest.split([' ', ';'])
                .next()
                .expect("a printed row is in the domain")
                .parse()
                .expect("a printed row is in the domain")
        };
        let (a, re) = (after(": A "), after("RE "));
        let oe = 100.0 * (2.0665 * a + re) / (100.0 + 1.0665 * a);
        (oe, row.number("printed"), row.number("tol"))
    });
}

/// Both ends of every band of the excise's table of gravity drops, and the tenth beyond it.
#[test]
fn the_excises_factors_change_at_the_printed_bands() {
    use gauge::wort::attenuation::{Gravities, by_excise_table};
    let strength = |drop: f64| {
        let specific = |s| gauge::Gravity::from_specific(s).expect("in the range of worts");
        let of = Gravities { original: specific(1.11), present: specific(1.11 - drop / 1000.0) };
        by_excise_table(of)
    };
    let table = reference("wort_tables.csv").only("table", "UKF");
    for place in [0, 1] {
        table.check(|row| {
            let ends = row.text("input").split_once("..").expect("a band");
            let drop: f64 = [ends.0, ends.1][place].parse().expect("a figure");
            // The lowest band begins at nought, where any factor gives nought.
            let drop = drop.max(0.1);
            let got = strength(drop).expect("a drop of the table") / drop;
            // A drop is a difference of two gravities: its last bits are not exact.
            (got, row.number("printed"), 1e-9)
        });
    }
    assert!(strength(100.9).is_err() && strength(-1.0).is_err());
}

/// Pairs at 20 °C of the formula itself, evaluated elsewhere: half of their last digit.
#[test]
fn strength_and_mass_are_the_known_pairs() {
    for (q, p) in [(20.0, 0.162135), (40.0, 0.332996), (50.0, 0.424257), (60.0, 0.520884)] {
        assert!((mass_fraction_of_strength(q) - p).abs() < 5.1e-7, "{q}");
    }
}
