//! Reducing beside printed reductions, measured heats and what it must refuse.

use super::*;

const HEATS: &str = include_str!("../../../../tests/reference/ethanol_water_excess_enthalpy.csv");

fn reduced(volume_20_l: f64, strength_pct: f64, target_pct: f64) -> Run {
    let charge = Charge { volume_20_l: Some(volume_20_l), strength_pct, ..Charge::default() };
    let programme = Programme { target_pct, ..Programme::default() };
    run(&charge, &Vessel::default(), &programme, &Constants::default()).unwrap()
}

/// Computed with the formula of OIML R 22 (1975), printed to 0.01 L and kg: 0.02.
#[test]
fn water_and_contraction_of_known_reductions() {
    let cases = [
        (1000.0, 70.0, 1102.36, 107.84, 108.03, 5.67),
        (2000.0, 68.2, 2148.03, 155.73, 156.01, 7.98),
    ];
    for (litres, strength, made, water_kg, water_l, contraction) in cases {
        let run = reduced(litres, strength, 63.5);
        let found = &run.reduction;
        let pairs = [
            (found.final_20.litres(), made),
            (found.water_kg, water_kg),
            (found.water_20_l, water_l),
            (found.contraction_l, contraction),
        ];
        for (got, wanted) in pairs {
            assert!((got - wanted).abs() < 0.02, "{got} {wanted}");
        }
        assert_eq!(run.balance.open(), vec![]);
    }
}

/// Every measured heat of mixing of the table, at its own 20 J/mol.
#[test]
fn measured_heats_of_mixing_are_met() {
    let lines = HEATS.lines().filter(|l| !l.starts_with('#')).skip(1);
    let mut seen = 0;
    for line in lines {
        let row: Vec<&str> = line.split(',').collect();
        let figure = |i: usize| row[i].parse::<f64>().unwrap();
        let got = of_mixing(figure(3), figure(1));
        assert!((got - figure(4)).abs() < 20.0, "{line}: {got}");
        seen += 1;
    }
    assert!(seen >= 25, "{seen}");
}

/// Common practice, no source: 60 % to 40 % warms by 4 to 7 K. About 8 K is reckoned for pure
/// ethanol and water to mole fraction 0.15 at the heat measured at 25 °C.
#[test]
fn mixing_warms_as_it_should() {
    let rise = reduced(100.0, 60.0, 40.0).mixed_c - 20.0;
    println!("60 to 40 % vol: {rise:.2} K");
    assert!((2.0..=7.0).contains(&rise), "{rise}");
    let strong = reduced(100.0, 100.0, 36.1).mixed_c - 20.0;
    println!("pure ethanol to 36.1 % vol: {strong:.2} K");
    assert!((7.0..=10.0).contains(&strong), "{strong}");
}

#[test]
fn what_cannot_be_is_refused_by_name() {
    let charge = Charge { volume_20_l: Some(10.0), strength_pct: 60.0, ..Charge::default() };
    let fault = |charge: &Charge, vessel: &Vessel, target_pct: f64| {
        let programme = Programme { target_pct, ..Programme::default() };
        let refused = run(charge, vessel, &programme, &Constants::default());
        refused.expect_err("a refusal").field().map(str::to_owned)
    };
    let named = |field: &str| Some(field.to_owned());
    assert_eq!(fault(&charge, &Vessel::default(), 70.0), named("programme.target_pct"));
    let small = Vessel { vat_l: Some(5.0) };
    assert_eq!(fault(&charge, &small, 40.0), named("vat.vat_l"));
    let both = Charge { bulk_l: Some(10.0), ..charge.clone() };
    assert_eq!(fault(&both, &Vessel::default(), 40.0), named("charge"));
    assert_eq!(fault(&charge, &Vessel::default(), f64::NAN), named("programme.target_pct"));
}
