//! Anywhere inside its ranges a stage from mill to washback answers or says why not: it never
//! panics, never gives a figure that is no number, and closes its balance.
//!
//! Method. Each figure that the example writes down, and each constant it leaves to its default, is
//! drawn anew with even odds from its whole range; the rest stays. What ranges alone do not rule
//! out (a mash no water can strike) is refused with a fault, which is an answer.

use gauge::{Node, Scale, Sort};
use process::{Face, faces};
use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};
use std::cell::Cell;

const STAGES: [&str; 5] = ["mill", "mash", "conversion", "cool", "ferment"];
const CASES: u32 = 300;

fn node(value: toml::Value) -> Node {
    match value {
        toml::Value::Float(v) => Node::Number(v),
        toml::Value::Integer(v) => Node::Number(v as f64),
        toml::Value::Boolean(v) => Node::Flag(v),
        toml::Value::String(v) => Node::Text(v),
        toml::Value::Datetime(v) => Node::Text(v.to_string()),
        toml::Value::Array(items) => Node::List(items.into_iter().map(node).collect()),
        toml::Value::Table(t) => Node::part(t.into_iter().map(|(k, v)| (k, node(v)))),
    }
}

/// Paths of the figures outside lists, with their ranges.
fn figures(face: &Face, case: &Node) -> Vec<(String, f64, f64)> {
    let described = (face.describe)();
    let single = described.into_iter().filter(|d| !d.path.contains("[]"));
    single
        .filter_map(|d| match d.sort {
            // An amount alone at the end of its range says nothing about the stage.
            Sort::Figure(f) | Sort::Optional(f) if f.scale == Scale::Intensive => {
                let given = case.at(&d.path).is_some() || f.default.is_some();
                given.then_some((d.path, f.low, f.high))
            }
            _ => None,
        })
        .collect()
}

fn set(case: &mut Node, path: &str, value: f64) {
    if let Some(place) = case.at_mut(path) {
        *place = Node::Number(value);
    }
}

#[test]
fn any_case_inside_the_ranges_is_answered() {
    for face in faces().into_iter().filter(|f| STAGES.contains(&f.key)) {
        let table: toml::Table = face.example.parse().expect("the example is TOML");
        let case = node(toml::Value::Table(table));
        let figures = figures(&face, &case);
        let one = (any::<bool>(), 0.0..=1.0_f64);
        let draws = proptest::collection::vec(one, figures.len());
        let config = Config { cases: CASES, failure_persistence: None, ..Config::default() };
        let rng = TestRng::deterministic_rng(RngAlgorithm::ChaCha);
        let answered = Cell::new(0_u32);
        let outcome = TestRunner::new_with_rng(config, rng).run(&draws, |draws| {
            let mut drawn = case.clone();
            for ((path, low, high), (redraw, share)) in figures.iter().zip(&draws) {
                if *redraw {
                    set(&mut drawn, path, low + share * (high - low));
                }
            }
            match (face.run)(&drawn) {
                Ok(report) => {
                    answered.set(answered.get() + 1);
                    let open = report.balance.open();
                    prop_assert!(open.is_empty(), "does not close: {open:?}");
                    for column in &report.curves.columns {
                        let sound = column.values.iter().all(|v| v.is_finite());
                        prop_assert!(sound, "{} holds what is no number", column.key);
                    }
                }
                Err(faults) => {
                    let lost = faults.iter().find(|f| f.field().is_none());
                    prop_assert!(lost.is_none(), "gives up: {lost:?}");
                }
            }
            Ok(())
        });
        if let Err(fault) = outcome {
            panic!("{}: {fault}", face.key);
        }
        println!("{}: {} of {CASES} cases answered with figures", face.key, answered.get());
        assert!(answered.get() > CASES / 10, "{}: almost nothing is answered", face.key);
    }
}
