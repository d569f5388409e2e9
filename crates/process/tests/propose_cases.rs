//! Proposals by case file: each example is answered, with its curve and what a case may hold.

mod shared;

use gauge::Node;
use process::proposals;
use shared::example;

#[test]
fn the_example_of_the_cut_is_answered() {
    let face = proposals().into_iter().find(|face| face.key == "cut").expect("a proposal of cuts");
    let report = (face.run)(&example(&face)).expect("its own example");
    let number = |path: &str| report.result.at(path).and_then(Node::number);
    let (smoke, strength) = (number("phenols_mg_l"), number("heart.strength_pct"));
    assert!(smoke.is_some_and(|s| s <= 30.001), "{smoke:?}");
    assert!(strength.is_some_and(|s| s >= 65.999), "{strength:?}");
    assert!(number("present.heart_to_pct").is_some_and(|s| (s - 62.0).abs() < 1e-6));
    // Hearts too short to keep to the limit on a solvent are not drawn.
    assert!((20..=25).contains(&report.curves.rows()), "{}", report.curves.rows());
    assert_eq!(report.balance.open(), vec![]);
    let keys: Vec<String> = (face.describe)().into_iter().map(|d| d.path).collect();
    for key in ["wanted.most_phenols_mg_l", "wanted.limit[].most_g_hl", "charge.volume_20_l"] {
        assert!(keys.iter().any(|k| k == key), "{key} not in {keys:?}");
    }
}

#[test]
fn a_heart_that_no_cut_is_called_is_refused_with_the_cuts_there_are() {
    let face = proposals().into_iter().find(|face| face.key == "cut").expect("a proposal of cuts");
    let mut case = example(&face);
    if let Some(Node::Part(entries)) = case.at_mut("wanted") {
        entries.push(("heart".to_owned(), Node::from("hart")));
    }
    let faults = (face.run)(&case).expect_err("no such cut");
    assert_eq!(faults[0].field(), Some("wanted.heart"));
}

#[test]
fn the_example_of_the_steep_is_answered() {
    let face = proposals().into_iter().find(|face| face.key == "steep").expect("a proposal");
    let report = (face.run)(&example(&face)).expect("its own example");
    let number = |path: &str| report.result.at(path).and_then(Node::number);
    let moisture = number("moisture_wet").expect("a figure");
    assert!((0.4295..0.44).contains(&moisture), "{moisture}");
    assert!(number("phase[0].hours").is_some_and(|h| h <= 6.0), "a sensitive lot");
    assert_eq!(report.balance.open(), vec![]);
    let keys: Vec<String> = (face.describe)().into_iter().map(|d| d.path).collect();
    for key in ["wanted.most_hours", "manned.window[].from_week_h", "barley.dry_kg"] {
        assert!(keys.iter().any(|k| k == key), "{key} not in {keys:?}");
    }
}

#[test]
fn the_example_of_the_turns_is_answered() {
    let face = proposals().into_iter().find(|face| face.key == "turns").expect("a proposal");
    let report = (face.run)(&example(&face)).expect("its own example");
    let number = |path: &str| report.result.at(path).and_then(Node::number);
    assert!(number("highest_c").is_some_and(|c| c <= 18.01));
    let (from, ready) = (number("ready_from_h"), number("ready_h"));
    assert!(from < ready && ready < number("ready_to_h"), "{from:?} {ready:?}");
    assert!(number("turn[0].at_h").is_some_and(|h| h <= 12.0));
    assert_eq!(report.balance.open(), vec![]);
    let keys: Vec<String> = (face.describe)().into_iter().map(|d| d.path).collect();
    for key in ["wanted.ceiling_c", "state.temperature_c", "turn[].how", "air[].air_c"] {
        assert!(keys.iter().any(|k| k == key), "{key} not in {keys:?}");
    }
}

#[test]
fn the_example_of_the_firing_is_answered_and_tells_how_far_it_is() {
    let face = proposals().into_iter().find(|face| face.key == "kiln").expect("a proposal");
    let mut told = 0;
    let report = (face.run_watched)(&example(&face), &mut |share| {
        assert!((0.0..=1.0).contains(&share));
        told += 1;
        true
    });
    let report = report.expect("its own example");
    let number = |path: &str| report.result.at(path).and_then(Node::number);
    assert!(told > 20, "{told}");
    let (moisture, smoke) = (number("out.moisture_wet"), number("out.phenols_mg_kg_dry"));
    assert!(moisture.is_some_and(|m| m <= 0.045), "{moisture:?}");
    assert!(smoke.is_some_and(|s| (s - 5.0).abs() < 0.05), "{smoke:?}");
    let (fuel, present) = (number("out.fuel_mj"), number("present.fuel_mj"));
    assert!(fuel < present, "{fuel:?} {present:?}");
    assert!(number("firing.hours").is_some_and(|h| h <= 33.0 + 1e-9));
    assert!(number("earliest_h").is_some_and(|h| (10.0..25.0).contains(&h)));
    let binds = report.result.at("binds[0].says");
    assert!(matches!(binds, Some(Node::Text(_))), "{binds:?}");
    assert_eq!(report.balance.open(), vec![]);
    let keys: Vec<String> = (face.describe)().into_iter().map(|d| d.path).collect();
    for key in ["firing.peat_kg_t", "wanted.by_h", "weights.electricity", "plant.fan_kg_s"] {
        assert!(keys.iter().any(|k| k == key), "{key} not in {keys:?}");
    }
}

#[test]
fn the_example_of_the_drying_is_answered() {
    let face = proposals().into_iter().find(|face| face.key == "dry").expect("a proposal");
    let report = (face.run)(&example(&face)).expect("its own example");
    let number = |path: &str| report.result.at(path).and_then(Node::number);
    assert!(number("air_on_c") < number("harm_c"));
    // m2 = m1 (1 - w1)/(1 - w2).
    let mass = number("mass_kg").expect("a figure");
    assert!((mass / (24_000.0 * 0.835 / 0.88) - 1.0).abs() < 1e-4, "{mass}");
    assert_eq!(report.balance.open(), vec![]);
}
