//! One test for all stages: what must hold for every one of them, whatever is inside.
//!
//! Method. Each stage gives a full example case and, by running its reading code on nothing, the
//! fields a case may hold. Every figure the example gives is moved by a few per cent at random
//! inside its range; then the balances must close. Doubling every extensive figure must double
//! what is extensive in the result and leave the rest. A figure out of its range, or not a
//! number, must be refused with its path, unit and range. A stage is enrolled by standing in
//! [`process::faces`].

mod shared;

use std::cell::Cell;

use gauge::{Described, Fault, Field, Node, Scale, Sort};
use process::{Face, faces};
use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};
use shared::example;

/// Random cases a stage: enough to move every figure both ways, few enough for a debug build.
const CASES: u32 = 12;
/// Furthest a figure is moved from the example, as a share of it.
const MOST_MOVE: f64 = 0.03;

/// The field of each figure that the example writes down, with the figure's own path.
fn figures(face: &Face, case: &Node) -> Vec<(String, Field)> {
    let mut found = Vec::new();
    walk(case, "", &mut |path| {
        if let Some(field) = field_at(&(face.describe)(), path) {
            found.push((path.to_owned(), field));
        }
    });
    found
}

fn walk(node: &Node, path: &str, see: &mut impl FnMut(&str)) {
    match node {
        Node::Number(_) => see(path),
        Node::Part(entries) => {
            for (key, value) in entries {
                let below = if path.is_empty() { key.clone() } else { format!("{path}.{key}") };
                walk(value, &below, see);
            }
        }
        Node::List(items) => {
            for (i, item) in items.iter().enumerate() {
                walk(item, &format!("{path}[{i}]"), see);
            }
        }
        _ => {}
    }
}

fn field_at(described: &[Described], path: &str) -> Option<Field> {
    let plain: String = {
        let mut out = String::new();
        let mut inside = false;
        for c in path.chars() {
            match c {
                '[' => {
                    out.push('[');
                    inside = true;
                }
                ']' => {
                    out.push(']');
                    inside = false;
                }
                c if !inside => out.push(c),
                _ => {}
            }
        }
        out
    };
    described.iter().find_map(|d| match &d.sort {
        Sort::Figure(field) | Sort::Optional(field) if d.path == plain => Some(*field),
        Sort::Named(field) => {
            let below = plain.strip_prefix(&d.path)?;
            (below.starts_with('.') || below == "[]").then_some(*field)
        }
        _ => None,
    })
}

fn set(case: &mut Node, path: &str, value: f64) {
    *case.at_mut(path).expect("a path taken from the case") = Node::Number(value);
}

fn run(face: &Face, case: &Node) -> Result<process::Report, Vec<Fault>> {
    (face.run)(case)
}

#[test]
fn there_are_stages_and_each_example_runs() {
    assert!(!faces().is_empty());
    for face in faces() {
        if let Err(faults) = run(&face, &example(&face)) {
            panic!("{}: its own example is refused: {faults:?}", face.key);
        }
    }
}

#[test]
fn balances_close_over_random_cases() {
    for face in faces() {
        let case = example(&face);
        let figures = figures(&face, &case);
        let moves = proptest::collection::vec(-MOST_MOVE..MOST_MOVE, figures.len());
        let config = Config { cases: CASES, failure_persistence: None, ..Config::default() };
        let rng = TestRng::deterministic_rng(RngAlgorithm::ChaCha);
        let mut runner = TestRunner::new_with_rng(config, rng);
        let closed = Cell::new(0_u32);
        let outcome = runner.run(&moves, |moves| {
            let mut moved = case.clone();
            for ((path, field), share) in figures.iter().zip(&moves) {
                let old = case.at(path).and_then(Node::number).expect("a figure");
                // Counts (cells, cycles) stay whole: a part of a cell is no case.
                if !countable(field) {
                    set(&mut moved, path, (old * (1.0 + share)).clamp(field.low, field.high));
                }
            }
            // A moved case may break a rule between figures; that is a refusal, not a failure.
            if let Ok(report) = run(&face, &moved) {
                let open = report.balance.open();
                prop_assert!(open.is_empty(), "does not close: {open:?}");
                prop_assert!(!report.balance.lines.is_empty(), "keeps no balance");
                closed.set(closed.get() + 1);
            }
            Ok(())
        });
        if let Err(fault) = outcome {
            panic!("{}: {fault}", face.key);
        }
        let closed = closed.get();
        assert!(closed >= CASES / 2, "{}: only {closed} of {CASES} random cases ran", face.key);
    }
}

/// A figure without a unit whose default is whole and above 1: a number of cells, cycles, turns;
/// or a share of a whole, which moved alone makes no whole with the others.
fn countable(field: &Field) -> bool {
    let count = field.unit.is_empty() && field.low.fract() == 0.0 && field.high > 1.0;
    count || field.key == "fraction"
}

#[test]
fn doubling_the_batch_doubles_what_is_extensive() {
    for face in faces() {
        let case = example(&face);
        let mut doubled = case.clone();
        let mut any = false;
        for (path, field) in figures(&face, &case) {
            if field.scale == Scale::Extensive {
                let old = case.at(&path).and_then(Node::number).expect("a figure");
                set(&mut doubled, &path, 2.0 * old);
                any = true;
            }
        }
        // Extensive figures that the example leaves to their defaults double as well.
        for d in (face.describe)() {
            if let Sort::Figure(field) | Sort::Optional(field) = d.sort {
                let unset = !d.path.contains("[]") && case.at(&d.path).is_none();
                if let (Scale::Extensive, true, Some(value)) = (field.scale, unset, field.default) {
                    set(&mut doubled, &d.path, 2.0 * value);
                }
            }
        }
        assert!(any, "{}: nothing in its example is extensive", face.key);
        let one = run(&face, &case).unwrap_or_else(|f| panic!("{}: {f:?}", face.key));
        let two = run(&face, &doubled).unwrap_or_else(|f| panic!("{}: doubled: {f:?}", face.key));
        for (a, b) in one.balance.lines.iter().zip(&two.balance.lines) {
            assert_eq!((a.matter, &a.name), (b.matter, &b.name), "{}", face.key);
            let scale = one.balance.lines.iter().filter(|l| l.matter == a.matter);
            let scale = scale.map(|l| l.amount.abs()).fold(0.0, f64::max);
            let miss = (b.amount - 2.0 * a.amount).abs();
            assert!(miss <= 1e-6 * scale, "{} {}: {} and {}", face.key, a.name, a.amount, b.amount);
        }
        walk(&one.result, "", &mut |path| {
            let value = |r: &process::Report| r.result.at(path).and_then(Node::number);
            let (Some(a), Some(b)) = (value(&one), value(&two)) else {
                return;
            };
            let times = if is_extensive(path) { 2.0 } else { 1.0 };
            let miss = (b - times * a).abs();
            assert!(
                miss <= 1e-6 * a.abs().max(1e-6),
                "{}: {path} goes from {a} to {b}, expected {times} times",
                face.key
            );
        });
    }
}

/// Told by the ending of the last key: amounts double, the rest stays.
fn is_extensive(path: &str) -> bool {
    const AMOUNTS: [&str; 10] =
        ["_kg", "_l", "_mol", "_kj", "_kwh", "_m3", "_mj", "_w", "_mol_s", "_kg_h"];
    const PER: [&str; 4] = ["_kg_m3", "l_t", "_mg_kg", "_l_kg"];
    let key = path.rsplit('.').next().unwrap_or(path);
    AMOUNTS.iter().any(|a| key.ends_with(a)) && !PER.iter().any(|p| key.ends_with(p))
}

#[test]
fn out_of_range_and_not_a_number_are_refused_by_name() {
    for face in faces() {
        let case = example(&face);
        for (path, field) in figures(&face, &case) {
            let mut wrong = vec![f64::NAN, f64::INFINITY];
            if field.low > f64::MIN {
                wrong.push(field.low - field.low.abs().max(1.0));
            }
            if field.high < f64::MAX {
                wrong.push(field.high + field.high.abs().max(1.0));
            }
            for value in wrong {
                let mut bad = case.clone();
                set(&mut bad, &path, value);
                let Err(faults) = run(&face, &bad) else {
                    panic!("{}: {path} = {value} is taken", face.key)
                };
                let named = faults
                    .iter()
                    .any(|f| matches!(f, Fault::OutOfRange { field, .. } if *field == *path));
                assert!(named, "{}: {path} = {value} gives {faults:?}", face.key);
            }
        }
    }
}

#[test]
fn a_key_nobody_reads_is_refused_with_the_near_one() {
    for face in faces() {
        let mut case = example(&face);
        let Node::Part(entries) = &mut case else { panic!("a case is a part") };
        let slip = format!("{}x", entries[0].0);
        let entry = (slip.clone(), entries[0].1.clone());
        entries.push(entry);
        let faults = run(&face, &case).expect_err("a slip of the hand");
        let near = faults
            .iter()
            .any(|f| matches!(f, Fault::Unknown { field, near: Some(_) } if *field == *slip));
        assert!(near, "{}: {faults:?}", face.key);
    }
}

#[test]
fn every_figure_says_its_unit_range_and_source() {
    for face in faces() {
        for d in (face.describe)() {
            if let Sort::Figure(field) | Sort::Optional(field) = d.sort {
                let name = format!("{} {}", face.key, d.path);
                assert!(field.low > f64::MIN && field.high < f64::MAX, "{name}: no range");
                assert!(field.low < field.high, "{name}: empty range");
                if let Some(value) = field.default {
                    assert!(field.check(value).is_ok(), "{name}: default outside its range");
                }
                assert!(!field.fitted || field.sd > 0.0, "{name}: fitted without uncertainty");
            }
        }
    }
}
