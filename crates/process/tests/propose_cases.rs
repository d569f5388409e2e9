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
