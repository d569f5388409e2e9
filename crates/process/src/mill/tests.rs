use super::*;

fn charge() -> Charge {
    Charge { dry_kg: 955.0, ..Charge::default() }
}

fn sieved(husk: f64, flour: f64) -> Programme {
    Programme { husk_fraction: Some(husk), flour_fraction: Some(flour), gap_mm: None }
}

fn grind(programme: &Programme) -> Result<Run, Fault> {
    run(&charge(), &Vessel::default(), programme, &Constants::default())
}

/// Mean sizes worked apart from this program: 20/70/10 0.469 mm, 21/74/5 0.589, 20/65/15 0.390.
#[test]
fn mean_size_of_three_grists() {
    for (husk, flour, mm) in [(0.20, 0.10, 0.469), (0.21, 0.05, 0.589), (0.20, 0.15, 0.390)] {
        let got = grind(&sieved(husk, flour)).unwrap().split.mean_mm(&Constants::default());
        assert!((got - mm).abs() < 6e-4, "{got}");
    }
}

#[test]
fn coarse_grist_gives_less_and_the_customary_one_99_per_cent() {
    let recovery = |husk, flour| grind(&sieved(husk, flour)).unwrap().extract_recovery;
    assert!((recovery(0.20, 0.10) - 0.990).abs() < 1e-12);
    // 0.010 + 0.10 x 0.05 + 0.04 x 0.03, by hand.
    assert!((recovery(0.25, 0.05) - (1.0 - 0.0162)).abs() < 1e-12);
    assert!(recovery(0.30, 0.10) < recovery(0.25, 0.10));
}

#[test]
fn the_reference_gap_is_the_customary_grist_and_wider_is_coarser() {
    let by_gap = |gap_mm| {
        grind(&Programme { gap_mm: Some(gap_mm), husk_fraction: None, flour_fraction: None })
            .unwrap()
            .split
    };
    let customary = by_gap(0.70);
    assert!((customary.husk - 0.20).abs() < 1e-12 && (customary.flour - 0.10).abs() < 1e-12);
    let wide = by_gap(0.9);
    assert!(wide.husk > customary.husk && wide.flour < customary.flour);
    for gap_mm in [0.3, 0.5, 1.5] {
        let s = by_gap(gap_mm);
        assert!(s.grits >= 0.0 && (s.husk + s.grits + s.flour - 1.0).abs() < 1e-12);
    }
}

#[test]
fn dust_is_lost_and_everything_closes() {
    let run = grind(&sieved(0.2, 0.1)).unwrap();
    assert!((run.dry_kg + run.dust_dry_kg - 955.0).abs() < 1e-9);
    assert!(run.dust_dry_kg > 0.0 && run.grist_c > 12.0 && run.grist_c < 18.0);
    assert!(run.balance.open().is_empty(), "{:?}", run.balance.open());
}

#[test]
fn a_gap_and_a_box_together_are_refused() {
    let both = Programme { gap_mm: Some(0.7), ..sieved(0.2, 0.1) };
    assert!(matches!(grind(&both), Err(Fault::OneOf { given: 2, .. })));
    let half = Programme { flour_fraction: None, ..sieved(0.2, 0.1) };
    assert!(matches!(grind(&half), Err(Fault::OneOf { .. })));
    let too_much = grind(&sieved(0.6, 0.45)).unwrap_err();
    assert_eq!(too_much.field(), Some("rollers.flour_fraction"));
}
