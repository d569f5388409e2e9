//! The chain as a whole, in the built-in house.

use super::*;
use crate::chain::begin;
use house::quernholm;
use std::sync::LazyLock;

fn asked(make: &str) -> Asked {
    Asked::usual(make, "2026-10-15T06:00:00Z".parse().expect("an instant"))
}

/// The three makes of the house, foretold once for all tests.
fn foretold(make: &str) -> Batch {
    static ALL: LazyLock<Vec<Batch>> = LazyLock::new(|| {
        let house = quernholm();
        let makes = house.makes.makes.iter();
        makes
            .map(|make| match batch(&house, &asked(&make.key)) {
                Ok(batch) => batch,
                Err(faults) => panic!("{}: {faults:?}", make.key),
            })
            .collect()
    });
    ALL.iter().find(|b| b.make == make).expect("a make of the house").clone()
}

fn total(batch: &Batch, key: &str) -> f64 {
    batch.total(key).map_or(f64::NAN, |f| f.value)
}

fn figure(batch: &Batch, stage: &str, key: &str) -> f64 {
    batch.figure(stage, key).map_or(f64::NAN, |f| f.value)
}

/// Figures of the last still of the route: the one that is cut.
fn spirit_run(batch: &Batch, key: &str) -> f64 {
    let figure = batch.steps.iter().rev().find_map(|step| step.figure(key));
    figure.map_or(f64::NAN, |f| f.value)
}

#[test]
fn spirit_and_losses_add_up_to_what_the_extract_promised() {
    for make in ["pale", "feather", "ember"] {
        let batch = foretold(make);
        let lost: f64 = batch.losses.iter().map(|l| l.l_t.value).sum();
        let whole = total(&batch, "pure_alcohol_l_t") + lost;
        assert!((whole - batch.ceiling.value).abs() < 1e-9 * whole, "{make}: {whole}");
        let unaccounted = batch.losses.last().expect("rows");
        assert_eq!(unaccounted.key, "unaccounted");
        println!("{make}: unaccounted {:.5} L/t of {whole:.1}", unaccounted.l_t.value);
        assert!(unaccounted.l_t.value.abs() < 0.01, "{make}: {:?}", unaccounted.l_t);
    }
}

#[test]
fn every_step_of_every_make_closes_its_balances() {
    for make in ["pale", "feather", "ember"] {
        for step in foretold(make).steps {
            assert!(
                step.balance.open().is_empty(),
                "{make} {}: {:?}",
                step.title,
                step.balance.open()
            );
        }
    }
}

/// Common practice, no source: customary ranges of the trade, held against the house. No constant
/// of a model was moved to meet them; those that are not met are named here with their figure. The
/// demo's tun is invented, and cold: the first water over the mash says nothing for the model.
#[test]
fn common_practice_beside_the_forecast() {
    let known_misses: [&str; 0] = [];
    let mut misses = Vec::new();
    let mut check = |what: String, low: f64, high: f64, value: f64| {
        let hit = (low..=high).contains(&value);
        println!(
            "{what:50} {low:7.1} to {high:7.1}: {value:8.2}{}",
            if hit { "" } else { "  MISS" }
        );
        if !hit {
            misses.push(what);
        }
    };
    for (make, low, high) in
        [("pale", 380.0, 420.0), ("ember", 380.0, 420.0), ("feather", 290.0, 370.0)]
    {
        let b = foretold(make);
        let l_t = total(&b, "pure_alcohol_l_t");
        check(format!("pure alcohol a tonne of malt, {make}, L/t"), low, high, l_t);
        if make == "pale" {
            let mash_c = figure(&b, "mash", "mash_c");
            check(format!("mash, {make}, °C"), 62.0, 65.0, mash_c);
            let over = figure(&b, "mash", "strike_c") - mash_c;
            check(format!("first water over the mash, {make}, K"), 6.0, 8.0, over);
        }
        check(format!("worts set, {make}, °C"), 16.0, 22.0, figure(&b, "cool", "set_c"));
        check(format!("wash, {make}, % vol"), 6.0, 9.0, figure(&b, "ferment", "strength_pct"));
        if make != "feather" {
            // Feather is distilled two and two fifths times.
            let strength = spirit_run(&b, "heart_strength_pct");
            check(format!("second distillation, {make}, % vol"), 66.0, 73.0, strength);
        }
    }
    let filling = quernholm().make("pale").map_or(f64::NAN, |m| m.aim.filling_strength_pct);
    println!("{:50} {:7.1} customary: {filling:8.2}", "filling strength, % vol", 63.5);
    assert_eq!(misses, known_misses, "misses other than the known ones");
}

/// Published yields beside the forecast: from a maltster's article of 2020 (about 410), a small
/// plant's own figures (390 to 410, an old six-row 370), a newspaper's note of 1948 (361).
#[test]
fn published_yields_beside_the_forecast() {
    let product = yields::product_l_t(&yields::Product::default());
    println!("product form of a well run house: {product:.2} L/t (396.06)");
    assert!((product - 396.06).abs() < 0.05);
    for (published, what) in
        [(410.0, "modern malt, typical year"), (370.0, "old six-row, small plant"), (361.0, "1948")]
    {
        println!("published: {published:.0} L/t, {what}");
    }
    for make in ["pale", "feather", "ember"] {
        let batch = foretold(make);
        let (made, predicted) = (total(&batch, "pure_alcohol_l_t"), total(&batch, "predicted_l_t"));
        println!("{make}: {made:.1} L/t of {predicted:.1} predicted by the analysis");
        // The house's own product form, by the forecast's own shares, must meet its own chain.
        let lost =
            |key: &str| batch.losses.iter().find(|l| l.key == key).map_or(0.0, |l| l.l_t.value);
        let by_rows = batch.ceiling.value - batch.losses.iter().map(|l| l.l_t.value).sum::<f64>();
        assert!((by_rows - made).abs() < 1e-6);
        assert!(lost("unfermented") > lost("mash") && lost("mash") > lost("residues"));
        assert!((0.94..1.0).contains(&(made / predicted)), "{made} of {predicted}");
    }
}

/// The demo's own design: nine mashes a week at the present mix keep the kiln about 81 % busy and
/// the floors about 95 %, each within ten points.
#[test]
fn nine_mashes_a_week_keep_kiln_and_floors_as_busy_as_designed() {
    let house = quernholm();
    let mut kiln_h = 0.0;
    let mut floor_h = 0.0;
    // Shares are of the pure alcohol: a make that yields less wants more mashes for its share.
    let batches: Vec<(f64, Batch)> =
        house.makes.makes.iter().map(|m| (m.aim.share, foretold(&m.key))).collect();
    let mashes: f64 = batches.iter().map(|(s, b)| s / total(b, "pure_alcohol_l")).sum();
    for (share, b) in &batches {
        let week = house.season.calendar.week_mashes * share / total(b, "pure_alcohol_l") / mashes;
        let pieces = week / total(b, "mashes_a_piece");
        kiln_h += pieces * (figure(b, "kiln", "hours") + figure(b, "kiln", "turnaround_h"));
        floor_h += pieces * (figure(b, "floor", "hours") + figure(b, "floor", "clear_h"));
    }
    let floors = house.vessels("floor").count() as f64;
    let (kiln, floor) = (kiln_h / 168.0 * 100.0, floor_h / (168.0 * floors) * 100.0);
    println!("kiln busy {kiln:.1} % (designed 81), floors {floor:.1} % (designed 95)");
    assert!((kiln - 81.0).abs() <= 10.0, "kiln {kiln}");
    assert!((floor - 95.0).abs() <= 10.0, "floors {floor}");
}

/// The chain rule against the plain way: move one reading in the house and run everything again.
#[test]
fn a_band_agrees_with_running_the_whole_chain_again() {
    let mut house = quernholm();
    let label = "barley: nitrogen on dry matter";
    let sd = 0.03;
    let asked = asked("pale");
    let run = |house: &House| {
        let frame = begin::frame(house, &asked).expect("a frame");
        chain::run(&frame).expect("a chain")
    };
    let before = run(&house);
    let by_rule = before.moved_by(label, "spirit_pure_l").expect("a column");
    let barley = house.barleys.iter_mut().find(|b| b.key == "two_row").expect("the barley");
    barley.analysis.nitrogen_pct_dry += sd;
    let by_hand = run(&house).carry.spirit_pure_l - before.carry.spirit_pure_l;
    println!("nitrogen up {sd}: {by_rule:.4} L by the rule, {by_hand:.4} L by hand");
    assert!((by_rule - by_hand).abs() < 0.05 * by_hand.abs() + 0.02, "{by_rule} {by_hand}");
}

#[test]
fn bands_come_from_somewhere_and_hold_their_figure() {
    let batch = foretold("ember");
    let yields = batch.total("pure_alcohol_l_t").expect("a yield");
    let band = yields.band.as_ref().expect("a band");
    assert!(band.low < yields.value && yields.value < band.high);
    assert!(!band.because.is_empty());
    assert!((band.high - band.low - 2.0 * 1.6449 * band.sd).abs() < 1e-9);
    // A moved figure that bears on nothing leaves no band.
    assert!(batch.figure("kiln", "hours").is_some_and(|f| f.band.is_none()));
    let curve = batch.step("ferment").and_then(|s| s.on_curve("gravity", 30.0)).expect("a curve");
    assert!(curve.1 > 1e-4, "{curve:?}");
}

#[test]
fn an_unknown_make_is_refused_with_those_that_are_known() {
    let faults = batch(&quernholm(), &asked("embers")).expect_err("no such make");
    assert_eq!(
        faults[0].to_string(),
        "make is \"embers\"; allowed Pale, Feather, Ember; is it Ember?"
    );
}

#[test]
fn a_batch_leaves_with_its_steps_totals_and_losses() {
    let node = foretold("pale").node();
    for path in [
        "steps[5].figures.strike_c.value",
        "totals.pure_alcohol_l_t.band.low",
        "losses[9].pure_alcohol_l_t",
        "ceiling.value",
    ] {
        assert!(node.at(path).and_then(gauge::Node::number).is_some(), "{path}");
    }
}

fn standing(at: &str) -> house::Standing {
    use house::standing::{Kilning, Piece, Running, Standing, Washback};
    let at: jiff::Timestamp = at.parse().expect("an instant");
    let before = |hours: i64| at - jiff::SignedDuration::from_hours(hours);
    Standing {
        at,
        washbacks: vec![Washback {
            vessel: "washback_5".into(),
            mash: 41,
            make: "pale".into(),
            set_at: before(20),
            bulk_l: 12_400.0,
            set_c: 21.5,
            original_gravity: 1.0560,
            yeast_kg: None,
            gravity: Vec::new(),
            temperature_c: Vec::new(),
            ph: Vec::new(),
            declared_pct: None,
        }],
        kiln: Some(Kilning {
            vessel: "kiln".into(),
            piece: 12,
            make: "ember".into(),
            since: before(20),
            dry_kg: 7_600.0,
            air_off_c: Vec::new(),
        }),
        floors: vec![Piece {
            vessel: "floor_2".into(),
            piece: 13,
            lot: "a".into(),
            make: "pale".into(),
            since: before(70),
            turned: before(7),
            dry_kg: 8_000.0,
            grain_c: None,
        }],
        stills: vec![Running {
            vessel: "spirit_still_2".into(),
            run: 3,
            make: "ember".into(),
            since: before(4),
            pure_alcohol_l: 1_200.0,
        }],
        ..Standing::default()
    }
}

#[test]
fn a_reading_about_to_be_noted_has_its_expectation() {
    let house = quernholm();
    let batches = ["pale", "ember"].iter().map(|m| foretold(m)).collect();
    let forecasts = Forecasts { batches, ..Forecasts::default() };
    let mut standing = standing("2026-11-25T12:00:00Z");
    let ask = |standing: &house::Standing, what| {
        let found = expect(&house, standing, &forecasts, what, standing.at).expect("expected");
        println!("{what:?}: {:.4} ({:.4} to {:.4})", found.value, found.band.low, found.band.high);
        assert!(found.band.low < found.value && found.value < found.band.high, "{what:?}");
        found.value
    };
    let gravity = ask(&standing, What::Gravity("washback_5"));
    assert!((1.0..1.05).contains(&gravity));
    let warm = ask(&standing, What::WashTemperature("washback_5"));
    assert!((15.0..42.0).contains(&ask(&standing, What::AirOff)));
    assert!((10.0..20.0).contains(&ask(&standing, What::Grain("floor_2"))));
    assert!((40.0..80.0).contains(&ask(&standing, What::Strength("spirit_still_2"))));
    // What was noted at setting is used: set cooler, it is behind.
    standing.washbacks[0].set_c = 17.0;
    assert!(ask(&standing, What::WashTemperature("washback_5")) < warm - 2.0);
    assert!(ask(&standing, What::Gravity("washback_5")) > gravity + 0.005);
    let nobody = expect(&house, &standing, &forecasts, What::Gravity("washback_1"), standing.at);
    assert_eq!(nobody, None);
}
