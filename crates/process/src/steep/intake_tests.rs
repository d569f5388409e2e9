//! Whether a lot may go under water.

use super::intake::*;

fn counts(four: f64, eight: f64, alive: f64) -> Germination {
    Germination { energy_4ml_pct: four, energy_8ml_pct: eight, capacity_pct: Some(alive) }
}

/// Limits of the grades as British practice has them, from memory.
#[test]
fn sensitivity_has_its_grades() {
    let grade = |ws: f64| counts(97.0, 97.0 - ws, 98.0).sensitivity();
    assert_eq!(grade(9.0), Sensitivity::None);
    assert_eq!((grade(10.0), grade(25.0)), (Sensitivity::Slight, Sensitivity::Slight));
    assert_eq!((grade(26.0), grade(45.0)), (Sensitivity::Moderate, Sensitivity::Moderate));
    assert_eq!(grade(46.0), Sensitivity::Strong);
    assert!(counts(95.0, 97.0, 98.0).sensitivity_pct() < 1e-12, "a chance, not a gain");
}

/// By hand: ln 2/0.023 = 30.1 days halve the sleepers at 15 °C, twice as many the sensitivity.
#[test]
fn sleep_wears_off_and_faster_in_the_warm() {
    let keeping = Keeping::default();
    let lot = counts(70.0, 30.0, 98.0);
    let half_d = 2.0_f64.ln() / 0.023;
    let later = lot.after_days(half_d, 15.0, &keeping);
    assert!((later.energy_4ml_pct - 84.0).abs() < 1e-9, "{later:?}");
    let left = later.sensitivity_pct() / 40.0;
    assert!((left - 0.5_f64.sqrt()).abs() < 1e-9, "{left}");
    let warm = lot.after_days(half_d / 2.0, 25.0, &keeping);
    assert!((warm.energy_4ml_pct - 84.0).abs() < 1e-9, "{warm:?}");
    assert_eq!(lot.after_days(0.0, 15.0, &keeping), lot);
}

#[test]
fn the_day_to_test_again_is_the_day_it_should_pass() {
    let keeping = Keeping::default();
    for lot in [counts(70.0, 60.0, 98.0), counts(96.0, 40.0, 98.0), counts(80.0, 20.0, 97.0)] {
        let days = lot.retest_days(12.0, &keeping).unwrap();
        assert!(days > 0.0);
        let passes = |days: f64| {
            let then = lot.after_days(days, 12.0, &keeping);
            then.energy_4ml_pct >= 95.0 && then.sensitivity_pct() <= 45.0
        };
        assert!(passes(days + 0.01) && !passes(days - 0.01), "{lot:?} in {days} days");
        let Verdict::NotYet { retest_d, .. } = verdict(&lot, 12.0, &keeping) else {
            panic!("{lot:?} is not ready")
        };
        assert!((retest_d - days.ceil()).abs() < 1e-9);
    }
}

/// The rule of the testing page: dead corns never, sleepers hold and retest, 95 of a hundred pass.
#[test]
fn dead_corns_never_sleepers_later() {
    let keeping = Keeping::default();
    let says = |lot: Germination| verdict(&lot, 15.0, &keeping);
    assert_eq!(says(counts(95.0, 85.0, 97.0)), Verdict::MayMalt);
    assert!(matches!(says(counts(93.0, 85.0, 94.0)), Verdict::Never { .. }));
    assert!(matches!(says(counts(94.0, 85.0, 96.0)), Verdict::NotYet { .. }));
    // All that live is 95: the last sleeper never wakes by this law.
    let Verdict::Never { why } = says(counts(80.0, 70.0, 95.0)) else { panic!("never") };
    assert!(why.contains("no time in store"), "{why}");
    // In a cold store it would take longer than it keeps.
    let slow = verdict(&counts(40.0, 30.0, 95.2), -5.0, &keeping);
    let Verdict::Never { why } = slow else { panic!("{slow:?}") };
    assert!(why.contains("warmer"), "{why}");
    let uncounted = Germination { capacity_pct: None, ..counts(80.0, 70.0, 0.0) };
    let Verdict::NotYet { retest_d, .. } = says(uncounted) else { panic!("count them") };
    assert!(retest_d.abs() < 1e-12);
    let grown = Germination { capacity_pct: None, ..counts(97.0, 90.0, 0.0) };
    assert_eq!(says(grown), Verdict::MayMalt);
}

#[test]
fn lots_are_mixed_when_they_mind_water_alike() {
    let keeping = Keeping::default();
    let (mild, hard) = (counts(97.0, 92.0, 98.0), counts(97.0, 70.0, 98.0));
    assert!(mild.mixes_with(&counts(96.0, 83.0, 98.0), &keeping));
    assert!(!mild.mixes_with(&hard, &keeping));
    assert!(!mild.mixes_with(&counts(90.0, 85.0, 98.0), &keeping));
}
