//! Barley dried for store: the published limits, the balance, and what is told.

use super::super::{Air, Constants, Peat, Setting, Solve, Vessel};
use super::{Wet, harmful_air_on_c, store_dry};
use gauge::Fault;
use gauge::moist_air::kernel::wet_bulb_c;

fn setting() -> Setting {
    Setting {
        air: Air { ambient_c: 14.0, ..Air::default() },
        humidity_ratio: 0.008,
        peat: Peat::default(),
        turns: Vec::new(),
        solve: Solve::default(),
    }
}

fn lot() -> Wet {
    Wet { mass_kg: 24_000.0, moisture_wet: 0.165, ..Wet::default() }
}

fn kiln() -> Vessel {
    Vessel {
        area_m2: 52.0,
        wall_loss_w_k: 120.0,
        fan_kg_s: Some(9.4),
        burner_w: Some(560_000.0),
        ..Vessel::default()
    }
}

/// The two limits of the abstract of Sasaki and Kanzaki (1972).
#[test]
fn the_published_limits_of_the_depression_are_met() {
    for (moisture_dry, limit_dk) in [(0.30, 19.2), (0.90, 15.0), (0.20, 19.2)] {
        let t = harmful_air_on_c(moisture_dry, &setting());
        let depression = t - wet_bulb_c(t, 0.008, 101_325.0);
        assert!((depression - limit_dk).abs() < 1e-3, "{moisture_dry}: {depression}");
    }
}

#[test]
fn a_wet_lorry_is_dried_in_safe_air_and_weighs_what_its_dry_matter_says() {
    let dried = store_dry(&lot(), &kiln(), &setting(), &Constants::default()).expect("a lot");
    println!(
        "{} loads of {:.2} m, {:.1} °C (harm {:.1}), {:.1} h each, oil {:.0} kg",
        dried.loads, dried.depth_m, dried.air_on_c, dried.harm_c, dried.hours, dried.oil_kg
    );
    assert!(dried.safe && dried.air_on_c <= dried.harm_c - 2.0 + 1e-9);
    // m2 = m1 (1 - w1)/(1 - w2).
    let plain = 24_000.0 * (1.0 - 0.165) / (1.0 - 0.12);
    assert!((dried.mass_kg / plain - 1.0).abs() < 1e-4, "{} {plain}", dried.mass_kg);
    assert!((dried.evaporated_kg - (24_000.0 - dried.mass_kg)).abs() < 1.0);
    assert!(dried.run.balance.open().is_empty());
    // No corn is hotter than the air.
    let hottest = dried.run.state.grain_c.iter().copied().fold(f64::MIN, f64::max);
    assert!(hottest <= dried.air_on_c + 0.05);
    // The first load takes more than a shift and less than two days, or it were no use.
    assert!((4.0..48.0).contains(&dried.hours), "{}", dried.hours);
}

#[test]
fn wetter_barley_bears_less_heat() {
    let harms = [0.3, 0.5, 0.7, 0.9].map(|m| harmful_air_on_c(m, &setting()));
    assert!(harms.windows(2).all(|w| w[1] < w[0]), "{harms:?}");
}

#[test]
fn a_small_kiln_takes_more_loads() {
    let shallow = Vessel { deepest_m: Some(0.3), ..kiln() };
    let dried = store_dry(&lot(), &shallow, &setting(), &Constants::default()).expect("a lot");
    assert!(dried.depth_m <= 0.3);
    assert_eq!(dried.loads, 3);
    assert!((dried.all_hours - 3.0 * dried.hours).abs() < 1e-9);
}

#[test]
fn what_cannot_be_is_told_with_what_would() {
    let dry = Wet { moisture_wet: 0.115, ..lot() };
    let fault = store_dry(&dry, &kiln(), &setting(), &Constants::default()).expect_err("dry");
    assert!(fault.to_string().contains("store it as it is"), "{fault}");

    let cold = Wet { air_on_c: Some(16.0), ..lot() };
    let fault = store_dry(&cold, &kiln(), &setting(), &Constants::default()).expect_err("cold");
    assert_eq!(fault.field(), Some("lot.to_moisture_wet"));
    assert!(matches!(fault, Fault::Unworkable { .. }));

    let hot = Wet { air_on_c: Some(60.0), ..lot() };
    let dried = store_dry(&hot, &kiln(), &setting(), &Constants::default()).expect("a lot");
    assert!(!dried.safe);
}
