//! Lots, the gate, remainders and bins.

use super::*;
use crate::maltings::bins::State;
use crate::maltings::lots::Verdict;
use crate::maltings::remainders::Kind;
use house::standing::{Bin, Layer, Lot, LotAnalysis};

pub(super) fn lot(name: &str, barley: &str, kg: f64, moisture_wet: f64) -> Lot {
    Lot {
        lot: name.into(),
        barley: barley.into(),
        dry_kg: kg * (1.0 - moisture_wet),
        moisture_wet,
        nitrogen_pct_dry: Some(1.5),
        silo: "silo 1".into(),
        since: t0(),
        analysis: LotAnalysis {
            germinative_energy_4ml_pct: Some(98.0),
            germinative_energy_8ml_pct: Some(91.0),
            germinative_capacity_pct: Some(99.0),
            tested: Some(t0()),
            ..LotAnalysis::default()
        },
        held: None,
    }
}

fn seen_lot(lot: Lot) -> LotSeen {
    let standing = Standing { lots: vec![lot], ..standing() };
    lots(&HOUSE, &standing, h(24.0)).remove(0)
}

#[test]
fn a_lot_says_whether_it_may_be_malted_and_how() {
    let sound = seen_lot(lot("7", "two_row", 100_000.0, 0.12));
    assert_eq!(sound.verdict, Verdict::MayMalt);
    let steep = sound.steep.as_ref().expect("a steeping");
    let cast = steep.run.out.moisture_wet;
    println!("cast at {cast:.3} after {:.1} h", steep.run.out.hours);
    assert!((0.41..0.46).contains(&cast), "{cast}");
    let band = sound.expected_l_t.band.clone().expect("a band");
    println!("{:.0} ± {:.0} L/t", sound.expected_l_t.value, band.high - sound.expected_l_t.value);
    // 400 to 420 L/t for a modern malt, from memory; softened to 0.93 it is a little below.
    assert!((390.0..425.0).contains(&sound.expected_l_t.value), "{}", sound.expected_l_t.value);
    let mut sleeps = lot("8", "two_row", 50_000.0, 0.12);
    sleeps.analysis.germinative_energy_4ml_pct = Some(85.0);
    let sleeps = seen_lot(sleeps);
    assert!(matches!(sleeps.verdict, Verdict::NotYet { retest_d: Some(d), .. } if d > 1.0));
    assert!(sleeps.steep.is_none());
    let mut dead = lot("9", "two_row", 50_000.0, 0.12);
    dead.analysis.germinative_capacity_pct = Some(88.0);
    assert!(matches!(seen_lot(dead).verdict, Verdict::Never { .. }));
    let mut steely = lot("10", "two_row", 50_000.0, 0.12);
    steely.nitrogen_pct_dry = Some(1.8);
    let lost = sound.expected_l_t.value - seen_lot(steely).expected_l_t.value;
    // 5.4 points of 82 for a per cent of nitrogen: two per cent for 0.3.
    assert!((5.0..11.0).contains(&lost), "{lost}");
}

fn weighed() -> Weighed {
    Weighed {
        barley: "two_row".into(),
        gross_kg: 25_000.0,
        moisture_wet: 0.125,
        nitrogen_pct_dry: Some(1.5),
        screenings_pct: Some(3.0),
        admixture_pct: Some(1.0),
        germinative_energy_4ml_pct: Some(98.0),
        ..Weighed::default()
    }
}

fn answer(weighed: &Weighed) -> Gate {
    gate_on(&HOUSE, weighed, t0()).expect("a barley of the house")
}

#[test]
fn the_gate_accepts_deducts_holds_and_refuses() {
    assert_eq!(answer(&weighed()).decision, Decision::Accept);
    let terms = &HOUSE.barley("two_row").expect("a barley").contract;
    let over = Weighed {
        nitrogen_pct_dry: Some(terms.most_nitrogen_pct_dry + 0.1),
        screenings_pct: Some(terms.most_screenings_pct + 1.5),
        ..weighed()
    };
    let Decision::Deduct { pct } = answer(&over).decision else { panic!("deducted") };
    assert!((pct - (terms.nitrogen_deducts_pct + 1.5)).abs() < 1e-9, "{pct}");
    assert!((answer(&over).paid_kg - 25_000.0 * (1.0 - pct / 100.0)).abs() < 1e-6);
    let refuses = |w: &Weighed| matches!(answer(w).decision, Decision::Refuse { .. });
    assert!(refuses(&Weighed { insects: true, ..weighed() }));
    assert!(refuses(&Weighed { moisture_wet: terms.most_to_dry_wet + 0.01, ..weighed() }));
    assert!(refuses(&Weighed { nose: Nose::Smoky, ..weighed() }));
    let holds = |w: &Weighed| matches!(answer(w).decision, Decision::Hold { .. });
    assert!(holds(&Weighed { nose: Nose::Musty, ..weighed() }));
    assert!(holds(&Weighed { nitrogen_pct_dry: None, ..weighed() }));
    let untested = Weighed { germinative_energy_4ml_pct: None, ..weighed() };
    assert!(answer(&untested).waits_for_test && answer(&untested).decision == Decision::Accept);
    let nobody = Weighed { barley: "rye".into(), ..weighed() };
    assert!(gate(&HOUSE, &nobody).is_err());
}

#[test]
fn what_is_too_wet_is_dried_and_loses_water_only() {
    let wet = answer(&Weighed { moisture_wet: 0.165, ..weighed() });
    assert_eq!(wet.decision, Decision::Accept);
    let most = HOUSE.barley("two_row").expect("a barley").contract.most_moisture_wet;
    let dried = wet.dried_kg.expect("dried");
    assert!((dried * (1.0 - most) - wet.clean_dry_kg).abs() < 1e-6);
    let store = wet.dry.expect("a way to dry it");
    assert!(store.safe && store.air_on_c <= store.harm_c, "{} {}", store.air_on_c, store.harm_c);
}

#[test]
fn the_end_of_a_lot_is_offered_with_one_that_matches() {
    let end = lot("6", "two_row", 4_000.0, 0.12);
    let mut sensitive = lot("8", "two_row", 40_000.0, 0.12);
    sensitive.analysis.germinative_energy_8ml_pct = Some(60.0);
    let offers = |lots: Vec<Lot>| remainders(&HOUSE, &Standing { lots, ..standing() });
    let with = offers(vec![end.clone(), lot("7", "two_row", 40_000.0, 0.12), sensitive.clone()]);
    assert_eq!(with.len(), 1);
    assert_eq!((with[0].kind, with[0].parts[1].0.as_str()), (Kind::Mixture, "7"));
    assert!((with[0].parts[1].1 - 5_200.0).abs() < 1e-6, "{:?}", with[0].parts);
    let without = offers(vec![end, sensitive.clone()]);
    assert_eq!(without[0].kind, Kind::Stranded);
    let half = offers(vec![lot("6", "two_row", 5_000.0, 0.12), sensitive]);
    assert_eq!(half[0].kind, Kind::HalfPiece);
}

fn layer(make: &str, weeks: f64, dry_kg: f64) -> Layer {
    Layer {
        piece: 40,
        make: make.into(),
        since: h(-168.0 * weeks),
        dry_kg,
        moisture_wet: 0.045,
        phenols_mg_kg_dry: if make == "ember" { 40.0 } else { 0.0 },
        parts: Vec::new(),
        analysis: None,
        held: false,
    }
}

fn bin(vessel: &str, layers: Vec<Layer>) -> Bin {
    Bin { vessel: vessel.into(), layers }
}

#[test]
fn bins_are_drawn_oldest_first_rested_and_released() {
    let mut held = layer("ember", 5.0, 7_300.0);
    held.held = true;
    let standing = Standing {
        bins: vec![
            bin("bin_1", vec![layer("pale", 5.0, 7_300.0)]),
            bin("bin_2", vec![layer("pale", 6.0, 7_300.0), layer("pale", 1.0, 7_300.0)]),
            bin("bin_3", vec![layer("pale", 2.0, 7_300.0)]),
            bin("bin_4", vec![held]),
            bin("bin_5", vec![layer("ember", 4.0, 7_300.0)]),
            bin("bin_6", vec![layer("pale", 4.0, 3_000.0)]),
        ],
        ..standing()
    };
    let seen = bins(&HOUSE, &standing, t0());
    let words: Vec<String> = seen.iter().map(|bin| bin.state.word()).collect();
    let pct = |left: f64| 100.0 * left;
    assert_eq!(
        words[..7],
        [
            "waits for older malt",
            "use next",
            "rests 7 d",
            "held: it waits for the laboratory",
            "use now",
            "in use",
            "empty"
        ]
    );
    assert_eq!(seen[6].state, State::Empty);
    // 28 days: 0.9 + 0.1 exp(-28/20) of the smoke is left.
    let faded = pct(seen[4].layers[0].phenols_mg_kg_dry / 40.0);
    assert!((faded - pct(0.9 + 0.1 * (-28.0_f64 / 20.0).exp())).abs() < 1e-6, "{faded}");
    assert!((seen[0].lies_kg - 7_300.0 / (1.0 - seen[0].layers[0].moisture_wet)).abs() < 1e-6);
    let full = &seen[1];
    assert!((full.room_kg - (full.holds_kg - full.lies_kg)).abs() < 1e-9);
    assert!(full.layers[1].moisture_wet >= 0.045, "the top takes up moisture, or none");
}

#[test]
fn malt_of_two_makes_in_one_bin_is_told() {
    let mixed = bin("bin_1", vec![layer("pale", 5.0, 3_000.0), layer("ember", 4.0, 3_000.0)]);
    let standing = Standing { bins: vec![mixed], ..standing() };
    let seen = bins(&HOUSE, &standing, t0());
    assert!(seen[0].says[0].contains("Pale and Ember"), "{:?}", seen[0].says);
}
