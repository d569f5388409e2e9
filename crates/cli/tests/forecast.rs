//! `shiel forecast` as a person types it.

use std::process::{Command, Output};

fn shiel(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_shiel")).args(args).output().expect("the binary is built")
}

#[test]
fn a_batch_is_told_from_barley_to_cask_and_its_losses_sum_to_the_ceiling() {
    let done = shiel(&["forecast", "--make", "Pale", "--start", "2026-03-02", "--json"]);
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    let batch: serde_json::Value = serde_json::from_slice(&done.stdout).expect("JSON");
    let steps = batch["steps"].as_array().expect("steps");
    let stages: Vec<&str> = steps.iter().filter_map(|s| s["stage"].as_str()).collect();
    for stage in ["steep", "floor", "kiln", "bin", "mill", "mash", "cool", "ferment", "still"] {
        assert!(stages.contains(&stage), "no {stage} in {stages:?}");
    }
    let figure = |v: &serde_json::Value| v.as_f64().expect("a figure");
    let lost: f64 = batch["losses"]
        .as_array()
        .expect("losses")
        .iter()
        .map(|loss| figure(&loss["pure_alcohol_l_t"]))
        .sum();
    let spirit = figure(&batch["totals"]["pure_alcohol_l_t"]["value"]);
    let ceiling = figure(&batch["ceiling"]["value"]);
    assert!((lost + spirit - ceiling).abs() < 1e-6 * ceiling, "{lost} + {spirit} is not {ceiling}");
}

#[test]
fn another_make_is_named_and_the_known_ones_told() {
    let done = shiel(&["forecast", "--make", "Umber"]);
    assert_eq!(done.status.code(), Some(1));
    let says = String::from_utf8_lossy(&done.stderr).into_owned();
    assert!(says.contains("Pale, Feather, Ember"), "{says}");
    assert_eq!(shiel(&["forecast"]).status.code(), Some(2));
}
