use super::*;
use proptest::prelude::*;

fn node(pairs: &str) -> Node {
    Node::part(pairs.split(';').map(|pair| {
        let (key, value) = pair.split_once('=').unwrap();
        let value = value.parse::<f64>().map_or_else(|_| Node::from(value), Node::from);
        (key, value)
    }))
}

fn measure(key: &str) -> &'static Measure {
    find(key).unwrap_or_else(|| panic!("no measure {key}"))
}

#[test]
fn every_worked_case_comes_out() {
    let table = checks::reference("measure_checks.csv");
    let worst = table.check(|row| {
        let measure = measure(row.text("measure"));
        let given = node(row.text("given"));
        let output = row.text("output");
        let got = match output.strip_prefix("u_") {
            Some(key) => measure
                .uncertainty(&given, false)
                .unwrap()
                .iter()
                .find(|known| known.key == key)
                .map(|known| known.standard_uncertainty),
            None => measure.reckon(&given).unwrap().number(output),
        };
        (got.unwrap_or(f64::NAN), row.number("value"), row.number("tol"))
    });
    assert!(worst <= 1.0);
}

/// The three-lot blend of the check values; each lot at its own temperature.
#[test]
fn a_blend_is_by_mass_and_not_by_litres() {
    let lots = [
        node("bulk_l=200;strength_pct=63.5;temperature_c=10"),
        node("bulk_l=150;strength_pct=58;temperature_c=14"),
        node("bulk_l=80;strength_pct=70;temperature_c=18"),
    ];
    let out = measure("blend").reckon_lots(&lots).unwrap();
    let near = |key: &str, wanted: f64, tolerance: f64| {
        let got = out.number(key).unwrap();
        assert!((got - wanted).abs() < tolerance, "{key} {got}");
    };
    near("mass_kg", 390.5485, 1e-3);
    near("strength_pct", 62.80076, 1e-4);
    near("volume_20_l", 432.6121, 1e-3);
    near("pure_alcohol_l", 271.6837, 1e-3);
    near("contraction_l", 432.7033 - 432.6121, 2e-4);
}

#[test]
fn the_keys_of_the_contract_are_there() {
    let contract = [
        ("strength", "density_kg_m3 temperature_c basis tolerance_kg_m3", "strength_pct mass_pct"),
        ("density", "strength_pct mass_pct temperature_c", "density_kg_m3 density_air_kg_m3"),
        ("alcoholometer", "reading_pct temperature_c", "strength_pct"),
        ("volume", "bulk_l temperature_c strength_pct", "volume_20_l pure_alcohol_l"),
        ("weigh", "net_kg temperature_c strength_pct", "bulk_l volume_20_l pure_alcohol_l"),
        (
            "reduce",
            "volume_20_l bulk_l temperature_c strength_pct target_pct water_temperature_c \
             final_temperature_c",
            "water_kg water_20_l final_20_l contraction_l water_l final_l",
        ),
        (
            "blend",
            "volume_20_l bulk_l temperature_c mass_kg strength_pct",
            "mass_kg volume_20_l strength_pct pure_alcohol_l contraction_l",
        ),
        (
            "proof",
            "proof_us strength_pct wine_gallons bulk_l temperature_c",
            "proof_us strength_pct wine_gallons proof_gallons pure_alcohol_l",
        ),
        ("wort", "gravity plato density_kg_m3", "gravity plato density_kg_m3 extract_kg_m3"),
        (
            "attenuation",
            "original_gravity final_gravity method",
            "original_plato apparent_plato real_extract_plato apparent_attenuation_pct \
             real_attenuation_pct alcohol_mass_pct alcohol_pct method",
        ),
        (
            "moist-air",
            "temperature_c relative_humidity humidity_ratio wet_bulb_c dew_point_c pressure_pa",
            "saturation_pa vapour_pa humidity_ratio saturation_humidity_ratio relative_humidity \
             wet_bulb_c dew_point_c enthalpy_j_kg volume_m3_kg density_kg_m3 \
             degree_of_saturation",
        ),
    ];
    for (key, inputs, outputs) in contract {
        let measure = measure(key);
        for input in inputs.split_whitespace() {
            assert!(measure.inputs.iter().any(|i| i.key() == input), "{key} {input}");
        }
        for output in outputs.split_whitespace() {
            assert!(measure.outputs.iter().any(|o| o.key == output), "{key} {output}");
        }
    }
}

#[test]
fn every_measure_tells_a_page_what_it_needs() {
    for measure in all() {
        assert_eq!(all().iter().filter(|m| m.key == measure.key).count(), 1, "{}", measure.key);
        for text in [measure.title, measure.does, measure.formula, measure.source, measure.caveat] {
            assert!(!text.is_empty(), "{}", measure.key);
        }
        assert!(!measure.letters.is_empty() && !measure.outputs.is_empty());
        for input in measure.inputs {
            assert!(!input.label().is_empty(), "{} {}", measure.key, input.key());
        }
        for field in measure.figures() {
            assert!(field.low < field.high && field.high < f64::MAX, "{}", field.key);
        }
    }
}

#[test]
fn all_faults_of_a_form_come_at_once_each_with_its_key() {
    let given = node("density_kg_m3=10;temprature_c=20;basis=water;u_density_kg_m3=-1");
    let faults = measure("strength").reckon(&given).unwrap_err();
    let said: Vec<String> = faults.iter().map(Fault::to_string).collect();
    assert_eq!(
        said,
        [
            "nothing reads temprature_c; is it temperature_c?",
            "density_kg_m3 is 10 kg/m³; allowed 500 to 1500 kg/m³",
            "u_density_kg_m3 is \u{2212}1 kg/m³; allowed 0 to 1000 kg/m³",
            "temperature_c is missing; give \u{2212}20 to 40 °C",
            "basis is \"water\"; allowed vacuum, air",
        ]
    );
}

#[test]
fn one_of_a_group_is_wanted_and_neither_none_nor_two() {
    let density = measure("density");
    for given in ["temperature_c=20", "strength_pct=40;mass_pct=33;temperature_c=20"] {
        let faults = density.reckon(&node(given)).unwrap_err();
        assert!(matches!(faults[0], Fault::OneOf { .. }), "{given}");
    }
}

#[test]
fn a_blend_names_the_lot_at_fault() {
    let lots = [node("mass_kg=10;strength_pct=60"), node("mass_kg=10;strength_pct=160")];
    let faults = measure("blend").reckon_lots(&lots).unwrap_err();
    assert_eq!(faults[0].field(), Some("lot[1].strength_pct"));
    assert!(measure("blend").reckon_lots(&[]).is_err());
    assert!(measure("wort").reckon_lots(&[node("gravity=1.05"), node("gravity=1.05")]).is_err());
}

#[test]
fn bulk_litres_without_a_temperature_are_refused_in_a_blend() {
    let blend = measure("blend");
    let faults = blend.reckon(&node("bulk_l=100;strength_pct=60")).unwrap_err();
    assert!(matches!(&faults[0], Fault::Missing { field, .. } if field == "temperature_c"));
    assert!(blend.reckon(&node("volume_20_l=100;strength_pct=60")).is_ok());
}

#[test]
fn ethanol_is_a_hundred_and_water_nought_to_the_last_bit() {
    let at = |given: &str| measure("strength").reckon(&node(given)).unwrap().number("strength_pct");
    assert_eq!(at("density_kg_m3=789.2391232999;temperature_c=20"), Some(100.0));
    assert_eq!(at("density_kg_m3=998.20123;temperature_c=20"), Some(0.0));
}

#[test]
fn ice_and_tolerance_are_warned_of() {
    let code = |key: &str, given: &str| {
        measure(key).reckon(&node(given)).unwrap().warnings.first().map(|w| w.code)
    };
    assert_eq!(code("density", "mass_pct=10;temperature_c=-10"), Some("frozen"));
    assert_eq!(code("density", "mass_pct=30;temperature_c=-10"), None);
    let given = "density_kg_m3=998.3;temperature_c=20;tolerance_kg_m3=0.2";
    assert_eq!(code("strength", given), Some("tolerance_kg_m3"));
}

/// The weighed cask of the check values: u 0.1 kg, and a strength of known uncertainty; the shares
/// add up to one and the larger contribution has the larger share.
#[test]
fn shares_add_up_to_the_whole() {
    let given =
        node("net_kg=180;temperature_c=12;strength_pct=63.5;u_net_kg=0.1;u_strength_pct=0.1");
    let known = measure("weigh").uncertainty(&given, false).unwrap();
    let alcohol = known.iter().find(|k| k.key == "pure_alcohol_l").unwrap();
    let total: f64 = alcohol.shares.iter().map(|(_, share)| share).sum();
    assert!((total - 1.0).abs() < 1e-9);
    assert_eq!(alcohol.shares[1].0, "strength_pct");
    assert!(alcohol.shares[1].1 > 0.8);
    let usual = measure("weigh").uncertainty(&given, true).unwrap();
    assert_eq!(usual[0].shares.len(), 3);
}

#[test]
fn uncertainty_at_the_edge_of_the_domain_is_one_sided_and_finite() {
    let given = node("density_kg_m3=998.2012;temperature_c=20;u_density_kg_m3=0.1");
    let known = measure("strength").uncertainty(&given, false).unwrap();
    assert!(known[0].standard_uncertainty > 0.03 && known[0].standard_uncertainty < 0.2);
}

proptest! {
    /// Litres of pure alcohol are unchanged by reducing, and the water brings it to the strength:
    /// the blend of spirit and that water is the wanted one.
    #[test]
    fn reducing_keeps_the_alcohol_and_comes_to_the_strength(
        litres in 1.0..5000.0_f64, q in 1.0..97.0_f64, share in 0.05..1.0_f64, t in 0.0..40.0_f64,
    ) {
        let target = (q * share).max(0.5);
        let spirit = format!("bulk_l={litres};temperature_c={t};strength_pct={q}");
        let wanted = format!("{spirit};target_pct={target}");
        let out = measure("reduce").reckon(&node(&wanted)).unwrap();
        let lots = [
            node(&spirit),
            node(&format!("mass_kg={};strength_pct=0", out.number("water_kg").unwrap())),
        ];
        let mixed = measure("blend").reckon_lots(&lots).unwrap();
        let near = |key: &str, wanted: f64, scale: f64| {
            (mixed.number(key).unwrap() - wanted).abs() < 1e-9 * scale
        };
        let alcohol = out.number("pure_alcohol_l").unwrap();
        prop_assert!(near("pure_alcohol_l", alcohol, litres));
        prop_assert!(near("volume_20_l", out.number("final_20_l").unwrap(), litres * q / target));
        prop_assert!(near("strength_pct", target, 100.0));
    }

    /// What a balance shows for litres at a temperature leads back to those litres.
    #[test]
    fn dip_and_weight_agree(bulk in 1.0..5000.0_f64, q in 0.0..100.0_f64, t in -20.0..40.0_f64) {
        let by_dip = format!("bulk_l={bulk};temperature_c={t};strength_pct={q}");
        let dip = measure("volume").reckon(&node(&by_dip)).unwrap();
        let at = format!("temperature_c={t};strength_pct={q}");
        let density = measure("density").reckon(&node(&at)).unwrap();
        let net = bulk / 1000.0 * density.number("density_air_kg_m3").unwrap();
        let weighed = format!("net_kg={net};temperature_c={t};strength_pct={q}");
        let weight = measure("weigh").reckon(&node(&weighed)).unwrap();
        for key in ["volume_20_l", "pure_alcohol_l"] {
            let (a, b) = (dip.number(key).unwrap(), weight.number(key).unwrap());
            prop_assert!((a - b).abs() < 1e-9 * bulk);
        }
    }

    /// An alcoholometer reads what it should in the spirit that its reading leads to.
    #[test]
    fn a_glass_reading_leads_back_to_itself(reading in 5.0..95.0_f64, t in 5.0..35.0_f64) {
        use crate::glass::Glass;
        let at = crate::Celsius::from_degrees(t).unwrap();
        let shown = crate::Strength::from_percent(reading).unwrap();
        if let Ok(held) = Glass::SODA_LIME.alcoholometer(shown, at) {
            let again = Glass::SODA_LIME.shows(held.strength, at).unwrap();
            prop_assert!((again - reading).abs() < 1e-7);
        }
    }

    /// Proof to strength and back, and obscuration there and back.
    #[test]
    fn proof_and_obscuration_turn_about(q in 5.0..95.0_f64, solids in 0.0..5.0_f64) {
        let proof = measure("proof").reckon(&node(&format!("strength_pct={q};wine_gallons=1")));
        let degrees = proof.unwrap().number("proof_us").unwrap();
        let back = measure("proof").reckon(&node(&format!("proof_us={degrees};wine_gallons=1")));
        prop_assert!((back.unwrap().number("strength_pct").unwrap() - q).abs() < 1e-9);
        let hidden = format!("strength_pct={q};solids_g_l={solids}");
        let hidden = measure("obscuration").reckon(&node(&hidden)).unwrap();
        let apparent = hidden.number("apparent_pct").unwrap();
        let clear = format!("apparent_pct={apparent};solids_g_l={solids}");
        let clear = measure("obscuration").reckon(&node(&clear)).unwrap();
        prop_assert!((clear.number("strength_pct").unwrap() - q).abs() < 1e-8);
    }

    #[test]
    fn no_measure_panics_on_any_figures(
        figures in proptest::collection::vec(any::<f64>(), 12),
        kept in any::<u16>(),
    ) {
        for measure in all() {
            let pairs = measure.inputs.iter().zip(&figures).enumerate();
            let pairs = pairs.filter(|(i, _)| kept >> i & 1 == 1);
            let given = Node::part(pairs.map(|(_, (input, x))| (input.key(), Node::Number(*x))));
            let _ = measure.reckon(&given);
            let _ = measure.uncertainty(&given, true);
        }
    }

    #[test]
    fn within_their_ranges_measures_answer_or_say_why(
        share in proptest::collection::vec(0.0..=1.0_f64, 12),
    ) {
        for measure in all() {
            let mut seen = Vec::new();
            let mut pairs = Vec::new();
            for (input, share) in measure.inputs.iter().zip(&share) {
                if let Input::Figure { field, need } = input {
                    if let Need::OneOf(group) = need {
                        if seen.contains(group) { continue; }
                        seen.push(*group);
                    }
                    let span = field.high.min(1e5) - field.low;
                    pairs.push((field.key, Node::from(field.low + share * span)));
                }
            }
            match measure.reckon(&Node::part(pairs)) {
                Ok(out) => prop_assert_eq!(out.values.len(), measure.outputs.len()),
                Err(faults) => prop_assert!(!faults.is_empty()),
            }
        }
    }
}
