//! Expected runs of the built-in house: bands, cuts moved, smoke against what is remembered.

use super::*;
use crate::stillhouse::congeners::Retention;
use crate::stillhouse::moved::{BOILING, LOSS};
use house::quernholm;
use house::ran::Drawn;
use jiff::Timestamp;
use process::still::Group;

fn next(make: &str, still: &str) -> Expected {
    Expected::of_next(&quernholm(), make, still, None, &Fitted::default()).expect("a run")
}

fn value(heart: &Heart, key: &str) -> f64 {
    heart.figure(key).map_or(f64::NAN, |f| f.value)
}

/// From where, litres and strength where measured, pure alcohol.
type Part = (&'static str, Option<(f64, f64)>, f64);

fn ran(make: &str, still: &str, parts: &[Part]) -> Ran {
    let at: Timestamp = "2026-11-20T08:00:00Z".parse().expect("an instant");
    let drawn = |(from, measured, pure_alcohol_l): &Part| Drawn {
        from: (*from).to_owned(),
        at,
        volume_20_l: measured.map(|m| m.0),
        strength_pct: measured.map(|m| m.1),
        pure_alcohol_l: *pure_alcohol_l,
    };
    Ran {
        run: 7,
        make: make.to_owned(),
        still: still.to_owned(),
        charged_at: at,
        charged: parts.iter().map(drawn).collect(),
        ..Ran::default()
    }
}

fn ember() -> Ran {
    let feints = ("feints_receiver_2", Some((1500.0, 29.0)), 435.0);
    ran("ember", "spirit_still_2", &[("low_wines_receiver", Some((3100.0, 21.0)), 651.0), feints])
}

#[test]
fn a_usual_charge_is_strong_as_spirit_charges_are() {
    for (make, still) in
        [("pale", "spirit_still_1"), ("feather", "spirit_still_1"), ("ember", "spirit_still_2")]
    {
        let run = next(make, still);
        let heart = run.heart(run.kept.expect("it is cut")).expect("a heart");
        println!(
            "{make}: charge {:.0} L of {:.2} %; first {:.1} %; heart {:.0} L of {:.2} %, feints \
             {:.0} L of {:.1} %; smoke {:.2} mg/L fruit {:.1} mg/L oil {:.0} g/hL",
            run.charge.volume_20_l,
            run.charge.strength_pct,
            run.strength_at(0.0).value,
            heart.heart.volume_20_l,
            heart.heart.strength_pct,
            heart.feints.volume_20_l,
            heart.feints.strength_pct,
            value(&heart, "smoke_mg_l"),
            value(&heart, "fruit_mg_l"),
            value(&heart, "oil_g_hl"),
        );
        // Published: 24 to 28 % vol where the low wines are 21 to 25; Feather's pass a middle run.
        assert!((22.0..40.0).contains(&run.charge.strength_pct), "{make} {:?}", run.charge);
    }
}

/// What is remembered of peat: three tenths of the malt's phenols come to the spirit, 0.20 to
/// 0.45, and heavily peated new make holds 15 to 30 mg/L. The stills' model keeps less: its
/// phenols stay in pot ale and lees. The miss is told, not tuned away.
#[test]
fn the_smoke_of_ember_against_what_is_remembered() {
    let run = next("ember", "spirit_still_2");
    let heart = run.heart(run.kept.expect("it is cut")).expect("a heart");
    let smoke = heart.figure("smoke_mg_l").expect("smoke");
    let band = smoke.band.as_ref().expect("a band");
    let whole = Retention {
        malt_mg_kg: 34.0 * 0.955,
        kept: 1.0,
        pure_alcohol_l_t: 390.0,
        strength_pct: heart.heart.strength_pct,
    };
    let kept = smoke.value / whole.in_spirit_mg_l();
    println!(
        "34 mg/kg on dry malt: {:.2} mg/L ({:.2} to {:.2}) in new make, {:.3} of the malt's; {:?}",
        smoke.value, band.low, band.high, kept, band.because
    );
    for c in heart.congeners.iter().filter(|c| c.group == Group::Smoke) {
        println!("{} {:.3} mg/L, within {:.3} left {:.3}", c.key, c.heart_mg_l, c.within, c.left);
    }
    assert!(smoke.value > 1.0 && smoke.value < 30.0);
    assert!(kept < 0.45, "never more than the top of what is remembered: {kept}");
    let pale = next("pale", "spirit_still_1");
    let pale = pale.heart(pale.kept.expect("it is cut")).expect("a heart");
    assert_eq!(value(&pale, "smoke_mg_l"), 0.0);
}

#[test]
fn a_lower_cut_keeps_more_smoke_and_an_earlier_end_never_weakens_the_heart() {
    let run = Expected::of(&quernholm(), &ember(), None, &Fitted::default()).expect("a run");
    let mut last: Option<Heart> = None;
    for to_pct in [70.0, 68.0, 65.0, 62.0, 59.0, 55.0] {
        let heart = run.heart(Cuts { from_min: 20.0, to_pct }).expect("a heart");
        if let Some(last) = &last {
            assert!(value(&heart, "smoke_mg_l") > value(last, "smoke_mg_l"));
            assert!(value(&heart, "heart_strength_pct") < value(last, "heart_strength_pct"));
            assert!(value(&heart, "heart_pure_l") > value(last, "heart_pure_l"));
        }
        let pure = [heart.foreshots, heart.heart, heart.feints, heart.residue];
        let found: f64 = pure.iter().map(|s| 0.01 * s.volume_20_l * s.strength_pct).sum();
        let charged = 0.01 * run.charge.volume_20_l * run.charge.strength_pct;
        assert!((found / charged - 1.0).abs() < 1e-6, "{found} of {charged}");
        for c in &heart.congeners {
            let whole = c.before + c.within + c.after + c.left;
            assert!((whole - 1.0).abs() < 1e-6, "{}: {whole}", c.key);
        }
        last = Some(heart);
    }
}

#[test]
fn every_figure_of_a_heart_has_a_band_and_says_what_it_hangs_on() {
    let run = Expected::of(&quernholm(), &ember(), None, &Fitted::default()).expect("a run");
    let heart = run.heart(run.kept.expect("it is cut")).expect("a heart");
    for figure in &heart.figures {
        let band = figure.band.as_ref().unwrap_or_else(|| panic!("{} has no band", figure.key));
        println!(
            "{} {:.2} ({:.2} to {:.2}) {}: {:?}",
            figure.key, figure.value, band.low, band.high, figure.unit, band.because
        );
        assert!(0.0 < band.low && band.low < figure.value, "{figure:?}");
        assert!(figure.value < band.high, "{figure:?}");
    }
    let smoke = heart.figure("smoke_mg_l").and_then(|f| f.band.as_ref()).expect("a band");
    let labels: Vec<&str> = smoke.because.iter().map(|(label, _)| label.as_str()).collect();
    assert!(labels.contains(&VOLATILITY), "{labels:?}");
    let first = run.strength_at(0.0);
    let band = first.band.expect("a band");
    let labels: Vec<&str> = band.because[..2].iter().map(|(label, _)| label.as_str()).collect();
    assert!(labels.contains(&LOSS) && labels.contains(&BOILING), "{band:?}");
}

/// A fitted head leaves less to doubt.
#[test]
fn a_fitted_head_narrows_the_band_of_the_first_running() {
    let house = quernholm();
    let head = super::super::fitted::Head {
        still: "spirit_still_2".to_owned(),
        head_loss_w_k: 150.0,
        sd: 8.0,
    };
    let fitted = Fitted { heads: vec![head], ..Fitted::default() };
    let sd = |fitted: &Fitted| {
        let run = Expected::of(&house, &ember(), None, fitted).expect("a run");
        run.strength_at(60.0).band.expect("a band").sd
    };
    let (before, after) = (sd(&Fitted::default()), sd(&fitted));
    println!("first running: sd {before:.3} % vol, fitted {after:.3}");
    assert!(after < 0.5 * before);
}

#[test]
fn a_part_charged_whole_and_unmeasured_is_taken_at_its_usual_strength() {
    let house = quernholm();
    let measured = Expected::of(&house, &ember(), None, &Fitted::default()).expect("a run");
    let mut part = ember();
    part.charged[0].volume_20_l = None;
    part.charged[0].strength_pct = None;
    let whole = Expected::of(&house, &part, None, &Fitted::default()).expect("a run");
    println!("measured {:?}, by its alcohol {:?}", measured.charge, whole.charge);
    let off = whole.charge.strength_pct - measured.charge.strength_pct;
    assert!(off.abs() < 1.0, "{off}");
    let washback = ran("pale", "wash_still", &[("washback_1", None, 1010.0)]);
    let wash = Ran { ferment_h: Some(84.0), ..washback };
    let wash = Expected::of(&house, &wash, None, &Fitted::default()).expect("a run");
    assert!((wash.charge.volume_20_l - 12_900.0).abs() < 1.0, "{:?}", wash.charge);
    assert_eq!(wash.pass, "wash");
    assert_eq!(wash.kept, None);
}

#[test]
fn kept_cuts_take_the_place_of_the_house_files() {
    let kept = KeptCuts {
        make: "ember".to_owned(),
        heart_from_min: 25.0,
        heart_to_pct: 61.0,
        ..KeptCuts::default()
    };
    let house = quernholm();
    let run = Expected::of(&house, &ember(), Some(&kept), &Fitted::default()).expect("a run");
    assert_eq!(run.kept, Some(Cuts { from_min: 25.0, to_pct: 61.0 }));
}

#[test]
fn a_charge_that_leaves_the_coils_bare_is_refused_in_words() {
    let little =
        ran("ember", "spirit_still_2", &[("low_wines_receiver", Some((900.0, 21.0)), 189.0)]);
    let fault = Expected::of(&quernholm(), &little, None, &Fitted::default());
    let says = fault.err().map(|f| f.to_string()).unwrap_or_default();
    println!("{says}");
    assert!(says.contains("1600") || says.contains("1 600"), "{says}");
}
