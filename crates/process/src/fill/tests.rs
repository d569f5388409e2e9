//! Filling beside the printed table of safe fills, and what it must refuse.

use super::*;

fn filled(temperature_c: f64, warmest_c: f64) -> Run {
    let charge = Charge { volume_20_l: 1000.0, strength_pct: 63.5 };
    let casks = Casks { capacity_l: None, count: 10.0 };
    let vessel = Vessel { batches: vec![Batch { kind: "hogshead".to_owned(), casks }] };
    let programme = Programme { temperature_c, warmest_c };
    run(&charge, &vessel, &programme, &Constants::default()).unwrap()
}

/// Per cent of capacity before the margin, for 63.5 % vol: computed with OIML R 22, tol. 0.02.
#[test]
fn safe_fills_of_the_table() {
    let table = [
        (5.0, [98.69, 98.24, 97.79, 97.33]),
        (10.0, [99.12, 98.67, 98.21, 97.75]),
        (15.0, [99.55, 99.10, 98.64, 98.18]),
        (20.0, [100.00, 99.55, 99.08, 98.62]),
    ];
    for (at, row) in table {
        for (warmest, wanted) in [20.0, 25.0, 30.0, 35.0].into_iter().zip(row) {
            let got = filled(at, warmest).fill_pct + 0.5;
            assert!((got - wanted).abs() < 0.02, "{at} {warmest}: {got} {wanted}");
        }
    }
}

#[test]
fn what_fills_no_other_cask_stays_in_the_vat() {
    let run = filled(20.0, 20.0);
    // 250 L less half a per cent: four casks of 248.75 L, 5 L left.
    assert_eq!(run.casks[0].filled, 4);
    assert!((run.remnant_20_l - 5.0).abs() < 1e-9, "{}", run.remnant_20_l);
    assert!((run.casks[0].vacuity_l - 1.25).abs() < 1e-9);
    assert!((run.casks[0].pure_alcohol_l - 0.635 * 248.75).abs() < 1e-9);
    assert_eq!(run.balance.open(), vec![]);
}

/// A litre at 10 °C read as if at 20 °C is 1.00889 litres at 20 °C for 63.5 % vol: computed.
#[test]
fn cold_litres_are_more_at_twenty_degrees() {
    let run = filled(10.0, 25.0);
    let ratio = run.casks[0].volume_20_l / run.casks[0].fill_l;
    assert!((ratio - 1.00889).abs() < 1e-5, "{ratio}");
}

#[test]
fn an_unknown_kind_wants_its_capacity() {
    let charge = Charge { volume_20_l: 1000.0, strength_pct: 63.5 };
    let casks = Casks { capacity_l: None, count: 10.0 };
    let batch = Batch { kind: "tun".to_owned(), casks };
    let fault = |vessel: &Vessel| {
        run(&charge, vessel, &Programme::default(), &Constants::default()).expect_err("a refusal")
    };
    let one = Vessel { batches: vec![batch.clone()] };
    assert_eq!(fault(&one).field(), Some("cask[0].kind"));
    let mut nan = batch;
    nan.casks.capacity_l = Some(f64::NAN);
    assert_eq!(fault(&Vessel { batches: vec![nan] }).field(), Some("cask[0].capacity_l"));
    assert_eq!(fault(&Vessel::default()).field(), Some("cask"));
}

#[test]
fn a_cask_above_what_the_law_allows_is_told() {
    let charge = Charge { volume_20_l: 1000.0, strength_pct: 63.5 };
    let casks = Casks { capacity_l: Some(720.0), count: 1.0 };
    let vessel = Vessel { batches: vec![Batch { kind: "gorda".to_owned(), casks }] };
    let run = run(&charge, &vessel, &Programme::default(), &Constants::default()).unwrap();
    assert_eq!(run.warnings[0].code, "over 700 L");
}
