//! Sheets of the built-in house.

use super::*;
use house::quernholm;
use house::standing::{Reading, Receiver};
use jiff::Timestamp;

fn at() -> Timestamp {
    "2026-11-25T09:00:00Z".parse().expect("an instant")
}

fn receiver(vessel: &str, family: &str, volume_20_l: f64, strength_pct: f64) -> Receiver {
    Receiver {
        vessel: vessel.to_owned(),
        family: family.to_owned(),
        volume_20_l,
        strength_pct,
        pure_alcohol_l: 0.01 * volume_20_l * strength_pct,
    }
}

fn standing(receivers: Vec<Receiver>) -> Standing {
    let back = |vessel: &str, make: &str, hours: i64| Washback {
        vessel: vessel.to_owned(),
        mash: 90,
        make: make.to_owned(),
        set_at: at() - jiff::SignedDuration::from_hours(hours),
        bulk_l: 12_850.0,
        set_c: 19.0,
        original_gravity: 1.0575,
        yeast_kg: None,
        gravity: vec![Reading { at: at(), value: 0.9985 }],
        temperature_c: Vec::new(),
        ph: Vec::new(),
        declared_pct: None,
    };
    let washbacks = vec![back("washback_3", "ember", 40), back("washback_2", "pale", 84)];
    Standing { at: at(), washbacks, receivers, ..Standing::default() }
}

fn pale() -> Standing {
    standing(vec![
        receiver("low_wines_receiver", "pale", 9000.0, 21.2),
        receiver("feints_receiver_1", "pale", 4200.0, 31.0),
    ])
}

fn sheet_of(standing: &Standing, still: &str) -> Result<Sheet, NoSheet> {
    sheet(&quernholm(), standing, still, None, &Fitted::default())
}

fn shown(sheet: &Sheet) {
    println!("{} of {} in {}: {:?}", sheet.pass, sheet.make, sheet.still, sheet.charge);
    for part in &sheet.parts {
        println!("  {part:?}");
    }
    for f in &sheet.figures {
        let band = f.band.as_ref().map(|b| (b.low, b.high));
        println!("  {} {:.2} {} {band:?}", f.label, f.value, f.unit);
    }
    println!("  {:?}", sheet.says);
}

#[test]
fn a_spirit_still_is_charged_with_low_wines_and_feints_in_their_usual_shares() {
    let sheet = sheet_of(&pale(), "spirit_still_1").expect("a sheet");
    shown(&sheet);
    assert_eq!((sheet.make.as_str(), sheet.pass.as_str()), ("pale", "spirit"));
    assert_eq!(sheet.parts.len(), 2);
    let sum: f64 = sheet.parts.iter().map(|p| p.volume_20_l).sum();
    assert!((sum - 5200.0).abs() < 1.0, "{sum}");
    let feints = &sheet.parts[1];
    // As much goes in as came back of the run before: foreshots and feints of a usual run.
    let usual = Expected::of_next(&quernholm(), "pale", "spirit_still_1", None, &Fitted::default());
    let usual = usual.expect("a run");
    let heart = usual.heart(usual.kept.expect("it is cut")).expect("a heart");
    let back = heart.foreshots.volume_20_l + heart.feints.volume_20_l;
    assert!((feints.volume_20_l / back - 1.0).abs() < 0.02, "{feints:?} {back}");
    for key in ["first_strength_pct", "heart_h", "heart_20_l", "run_h", "heat_up_h"] {
        assert!(sheet.figure(key).is_some_and(|f| f.band.is_some()), "{key}");
    }
    let value = |key: &str| sheet.figure(key).map_or(f64::NAN, |f| f.value);
    assert!((value("heart_from_min") - 12.0).abs() < 1e-9);
    assert!((value("heart_to_pct") - 65.0).abs() < 1e-9);
    assert!((value("end_pct") - 1.0).abs() < 1e-6);
    let litres = value("foreshots_20_l") + value("heart_20_l") + value("feints_20_l");
    assert!(litres + value("left_20_l") > 0.97 * 5200.0, "{litres}");
}

#[test]
fn the_wash_still_takes_the_washback_that_has_stood_longest() {
    let sheet = sheet_of(&pale(), "wash_still").expect("a sheet");
    shown(&sheet);
    assert_eq!(sheet.parts[0].from, "washback_2");
    assert!((7.2..8.5).contains(&sheet.charge.strength_pct), "{:?}", sheet.charge);
    let over = sheet.figure("over_strength_pct").expect("low wines");
    assert!((18.0..25.0).contains(&over.value), "{over:?}");
}

#[test]
fn kept_cuts_stand_on_the_sheet() {
    let mut standing = pale();
    standing.cuts = vec![KeptCuts {
        make: "pale".to_owned(),
        heart_from_min: 15.0,
        heart_to_pct: 66.0,
        ..KeptCuts::default()
    }];
    let sheet = sheet_of(&standing, "spirit_still_1").expect("a sheet");
    assert!(sheet.figure("heart_to_pct").is_some_and(|f| (f.value - 66.0).abs() < 1e-9));
    assert!(sheet.figure("heart_from_min").is_some_and(|f| (f.value - 15.0).abs() < 1e-9));
}

#[test]
fn too_little_to_cover_the_coils_is_refused_with_what_is_wanting() {
    let little = standing(vec![receiver("low_wines_receiver", "pale", 900.0, 21.0)]);
    let none = sheet_of(&little, "spirit_still_1").expect_err("no sheet");
    assert_eq!(none.says(), "900 L stand, and 1800 L cover the coils: wait for 900 L more");
}

#[test]
fn with_nothing_standing_it_says_what_is_waited_for() {
    let empty = Standing { at: at(), ..Standing::default() };
    let spirit = sheet_of(&empty, "spirit_still_2").expect_err("no sheet");
    assert!(spirit.says().contains("no low wines"), "{}", spirit.says());
    let wash = sheet_of(&empty, "wash_still").expect_err("no sheet");
    assert!(wash.says().contains("no washback is set"), "{}", wash.says());
}

#[test]
fn a_charge_above_the_ceiling_is_brought_down_with_water() {
    let strong = standing(vec![
        receiver("low_wines_receiver", "pale", 3000.0, 26.0),
        receiver("feints_receiver_1", "pale", 6500.0, 42.0),
    ]);
    let sheet = sheet_of(&strong, "spirit_still_1").expect("a sheet");
    shown(&sheet);
    assert!((sheet.charge.strength_pct - 32.0).abs() < 1e-6, "{:?}", sheet.charge);
    assert!(sheet.charge.volume_20_l < 5200.01);
    assert!(sheet.water_20_l > 10.0);
    let pure: f64 = sheet.parts.iter().map(|p| p.pure_alcohol_l).sum();
    let charged = 0.01 * sheet.charge.volume_20_l * sheet.charge.strength_pct;
    assert!((pure / charged - 1.0).abs() < 1e-4, "{pure} {charged}");
    assert!(sheet.says[0].contains("of water go in"), "{:?}", sheet.says);
}

#[test]
fn embers_spirit_goes_to_its_own_still_with_its_own_feints() {
    let ember = standing(vec![
        receiver("low_wines_receiver", "ember", 6000.0, 21.0),
        receiver("feints_receiver_1", "pale", 4200.0, 31.0),
        receiver("feints_receiver_2", "ember", 2200.0, 27.0),
    ]);
    let sheet = sheet_of(&ember, "spirit_still_2").expect("a sheet");
    assert_eq!(sheet.make, "ember");
    assert!(sheet.parts.iter().all(|p| p.from != "feints_receiver_1"), "{:?}", sheet.parts);
}
