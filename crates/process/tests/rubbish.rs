//! Rubbish in: whatever stands in a case, a stage answers with faults and never falls over.
//!
//! Method. Each stage's example is damaged at random: figures replaced by awkward ones, parts by
//! words, keys dropped. A run that is given must have finite results where it says it has any.

mod shared;

use gauge::Node;
use process::faces;
use proptest::prelude::*;
use shared::example;

const AWKWARD: [f64; 10] =
    [0.0, -0.0, 1e-300, -1.0, 1.0, 1e9, 1e300, f64::INFINITY, f64::NAN, f64::EPSILON];

/// Visits every value below `node` in order and may change it.
fn visit(node: &mut Node, see: &mut impl FnMut(&mut Node)) {
    see(node);
    match node {
        Node::Part(entries) => entries.iter_mut().for_each(|(_, v)| visit(v, see)),
        Node::List(items) => items.iter_mut().for_each(|v| visit(v, see)),
        _ => {}
    }
}

#[derive(Debug, Clone)]
enum Damage {
    Figure(f64),
    Times(f64),
    Word,
    Emptied,
    Dropped,
}

fn damage() -> impl Strategy<Value = (usize, Damage)> {
    let what = prop_oneof![
        prop::sample::select(&AWKWARD[..]).prop_map(Damage::Figure),
        (0.01..100.0_f64).prop_map(Damage::Times),
        Just(Damage::Word),
        Just(Damage::Emptied),
        Just(Damage::Dropped),
    ];
    (0_usize..200, what)
}

fn spoil(case: &mut Node, damages: &[(usize, Damage)]) {
    for (at, damage) in damages {
        let mut count = 0;
        visit(case, &mut |_| count += 1);
        let at = at % count;
        let mut n = 0;
        visit(case, &mut |value| {
            if n == at {
                match (damage, &mut *value) {
                    (Damage::Figure(v), _) => *value = Node::Number(*v),
                    (Damage::Times(t), Node::Number(v)) => *v *= t,
                    (Damage::Word, _) => *value = Node::Text("what".to_owned()),
                    (Damage::Emptied, _) => *value = Node::Part(Vec::new()),
                    (Damage::Dropped, Node::Part(entries)) => drop(entries.pop()),
                    (Damage::Dropped, Node::List(items)) => drop(items.pop()),
                    _ => {}
                }
            }
            n += 1;
        });
    }
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 150,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn no_case_makes_a_stage_fall_over(damages in prop::collection::vec(damage(), 1..4)) {
        for face in faces() {
            let mut case = example(&face);
            spoil(&mut case, &damages);
            match (face.run)(&case) {
                Err(faults) => {
                    prop_assert!(!faults.is_empty(), "{}: refused without a word", face.key);
                }
                Ok(report) => {
                    let open = report.balance.open();
                    prop_assert!(open.is_empty(), "{}: {open:?} for {case:?}", face.key);
                }
            }
        }
    }
}
