//! Hidden heads, and readings made of them with noise.

use super::*;
use crate::stillhouse::chance::Chance;
use house::quernholm;
use house::ran::{Drawn, Safe};

/// What is hidden.
#[derive(Clone, Copy)]
struct Hidden {
    loss_w_k: f64,
    heat: f64,
    hydrometer_pct: f64,
    /// By how much the first spirit ran later than reckoned, s.
    late_s: f64,
}

const PLAIN: Hidden = Hidden { loss_w_k: 260.0, heat: 1.0, hydrometer_pct: 0.0, late_s: 0.0 };

/// A run in spirit still 1 (260 W/K by the house file), with a reading every six minutes of the
/// first forty and every quarter of an hour after.
fn ran(hidden: Hidden, seed: u64) -> Ran {
    let house = quernholm();
    let lit: Timestamp = "2026-11-20T08:00:00Z".parse().expect("an instant");
    let mut chance = Chance::of(seed);
    let charged = vec![Drawn {
        from: "low_wines_receiver".to_owned(),
        at: lit,
        volume_20_l: Some(5200.0),
        strength_pct: Some(24.0),
        pure_alcohol_l: 1248.0,
    }];
    let mut ran = Ran {
        run: seed as u32,
        still: "spirit_still_1".to_owned(),
        make: "pale".to_owned(),
        charged_at: lit,
        charged,
        ..Ran::default()
    };
    let expected = Expected::of(&house, &ran, None, &Fitted::default()).expect("a run");
    let first = moved(expected.clock(&ran), hidden.late_s);
    let changed = Changed { loss_w_k: hidden.loss_w_k, heat: hidden.heat, charge_pct: 0.0 };
    let truth = Expected::only(&house, &ran, None, changed).expect("a run");
    let minutes = (1..7).map(|n| 6 * n).chain((4..14).map(|n| 15 * n));
    ran.readings = minutes
        .map(|min| {
            let time_s = 60.0 * f64::from(min);
            let pct = truth.point(time_s).strength_pct;
            let read = pct + hidden.hydrometer_pct + 0.08 * chance.normal();
            let strength_pct = Some(read);
            let at = moved(first, time_s + 30.0 * chance.normal());
            Safe { at, strength_pct, ..Safe::default() }
        })
        .collect();
    let heart = truth.find(&process::still::Until::StrengthPct(65.0)).expect("a mark");
    let mut before = Moles::default();
    for (name, time_s) in [("foreshots", 720.0), ("heart", heart.time_s)] {
        let over = truth.point(time_s).over;
        let cut = over.plus(before.times(-1.0));
        before = over;
        let volume_20_l = cut.volume_20_l() * (1.0 + 0.0015 * chance.normal());
        let strength_pct = cut.strength_pct() + hidden.hydrometer_pct;
        ran.cuts.push(Collected {
            cut: name.to_owned(),
            to: "a receiver".to_owned(),
            at: moved(first, time_s + 20.0 * chance.normal()),
            volume_20_l,
            strength_pct,
            pure_alcohol_l: 0.01 * volume_20_l * strength_pct,
        });
    }
    ran
}

fn fitted(hidden: Hidden, seed: u64) -> HeadFit {
    head(&quernholm(), &ran(hidden, seed), None, &Fitted::default()).expect("a fit")
}

fn told(fit: &HeadFit) {
    println!(
        "{:.0} ± {:.0} W/K (before {:.0} ± {:.0}, learned {:.2}), {} strong and {} later, chi² \
         {:.2}, misfit {:.2} -> {:.2} % vol, above {:+.2} ± {:.2}, clock ± {:.0} s",
        fit.head_loss_w_k,
        fit.sd,
        fit.before_w_k,
        fit.before_sd,
        fit.learned,
        fit.used,
        fit.later,
        fit.reduced_chi2,
        fit.misfit_before_pct,
        fit.misfit_after_pct,
        fit.stand_above_pct,
        fit.stand_above_sd,
        fit.first_running_sd_s
    );
}

#[test]
fn a_hidden_head_is_found_within_its_band() {
    let mut held = 0;
    for seed in 0..10 {
        let fit = fitted(Hidden { loss_w_k: 320.0, late_s: 200.0, ..PLAIN }, seed);
        told(&fit);
        held += u32::from((fit.head_loss_w_k - 320.0).abs() < 1.6449 * fit.sd);
        assert!((fit.head_loss_w_k - 320.0).abs() < 3.0 * fit.sd, "{}", fit.head_loss_w_k);
        assert!(fit.misfit_after_pct < fit.misfit_before_pct);
        assert_eq!(fit.used, 6);
    }
    println!("{held} of 10 within their nine-in-ten bands");
    assert!(held >= 7);
}

#[test]
fn a_head_as_the_house_file_has_it_stays() {
    let fit = fitted(PLAIN, 4);
    told(&fit);
    assert!((fit.head_loss_w_k - 260.0).abs() < 2.0 * fit.sd);
    assert!((0.3..2.5).contains(&fit.reduced_chi2), "{}", fit.reduced_chi2);
}

/// More steam shortens the run and thins the reflux; it is not taken for a smaller head.
#[test]
fn more_heat_is_not_taken_for_another_head() {
    let fit = fitted(Hidden { heat: 1.06, ..PLAIN }, 5);
    told(&fit);
    assert!((fit.head_loss_w_k - 260.0).abs() < 2.5 * fit.sd, "{}", fit.head_loss_w_k);
}

#[test]
fn without_a_hydrometer_at_fault_none_is_blamed() {
    let house = quernholm();
    let fits: Vec<HeadFit> = (0..6)
        .map(|seed| {
            let ran = ran(Hidden { loss_w_k: 320.0, ..PLAIN }, seed + 40);
            head(&house, &ran, None, &Fitted::default()).expect("a fit")
        })
        .collect();
    let all = together(&fits).expect("fits");
    println!("{all:?}");
    assert_eq!(all.hydrometer, None);
    let single = fits.iter().map(|f| f.sd).fold(f64::INFINITY, f64::min);
    assert!(all.head.sd < single, "{} of {single}", all.head.sd);
    assert!((all.head.head_loss_w_k - 320.0).abs() < 3.0 * all.head.sd, "{:?}", all.head);
}

#[test]
fn two_readings_are_too_few_and_it_says_what_is_needed() {
    let mut short = ran(PLAIN, 1);
    short.readings.truncate(2);
    let none = head(&quernholm(), &short, None, &Fitted::default());
    assert_eq!(none, Err(NotFitted::TooFew(2)));
    assert!(NotFitted::TooFew(2).says().contains("three are needed"));
}

#[test]
fn the_first_running_is_put_right_by_the_strengths() {
    let house = quernholm();
    let ran = ran(Hidden { late_s: 420.0, ..PLAIN }, 9);
    let expected = Expected::of(&house, &ran, None, &Fitted::default()).expect("a run");
    let mut running = ran.clone();
    running.cuts.clear();
    let by_heat = expected.clock(&running);
    let late = seconds(by_heat, expected.first_running_at(&running));
    println!(
        "later by {late:.0} s; by the foreshots {:.0} s",
        seconds(by_heat, expected.clock(&ran))
    );
    assert!((late - 420.0).abs() < 60.0, "{late}");
    assert!((seconds(by_heat, expected.clock(&ran)) - 420.0).abs() < 60.0);
}
