//! Cuts proposed for a run of the built-in house, and a heart laid beside what it should hold.

use super::*;
use crate::stillhouse::fitted::{Fitted, Head};
use house::quernholm;
use house::ran::{Analysis, Collected};

fn ember(fitted: &Fitted) -> Expected {
    let run = Expected::of_next(&quernholm(), "ember", "spirit_still_2", None, fitted);
    run.expect("a run")
}

#[test]
fn the_usual_wish_keeps_the_smoke_and_gives_no_less_alcohol() {
    let run = ember(&Fitted::default());
    let wanted = run.usual_wanted(&[]).expect("a wish");
    let proposal = run.proposal(&wanted).expect("cuts");
    let present = proposal.present.expect("the present cut");
    println!("{wanted:?}\n{:?}\npresent {present:?}\n{:?}", proposal.short, proposal.binds);
    assert!(proposal.short.pure_alcohol_l >= present.pure_alcohol_l - 1e-6);
    let most = wanted.most_phenols_mg_l.expect("a wish on smoke");
    assert!(proposal.short.phenols_mg_l <= most * 1.001);
    let least = wanted.least_strength_pct.expect("a wish on strength");
    assert!(proposal.short.strength_pct >= least - 1e-3);
    assert!(proposal.frontier.len() > 3 && !proposal.binds.is_empty());
}

#[test]
fn analyses_of_the_last_runs_say_what_the_smoke_has_been() {
    let run = ember(&Fitted::default());
    let analysis = Analysis {
        of: "heart".to_owned(),
        found_mg_l: vec![("phenols".to_owned(), 9.0)],
        ..Analysis::default()
    };
    let ran = Ran { make: "ember".to_owned(), analyses: vec![analysis], ..Ran::default() };
    let wanted = run.usual_wanted(&[ran]).expect("a wish");
    assert!((wanted.most_phenols_mg_l.expect("a wish") - 9.9).abs() < 1e-9);
}

#[test]
fn a_make_without_smoke_has_no_wish_about_it() {
    let run = Expected::of_next(&quernholm(), "pale", "spirit_still_1", None, &Fitted::default());
    let wanted = run.expect("a run").usual_wanted(&[]).expect("a wish");
    assert_eq!((wanted.most_phenols_mg_l, wanted.least_phenols_mg_l), (None, None));
}

#[test]
fn a_heart_collected_late_says_at_what_strength_it_was_turned() {
    let heads = vec![Head { still: "spirit_still_2".to_owned(), head_loss_w_k: 150.0, sd: 8.0 }];
    let run = ember(&Fitted { heads, ..Fitted::default() });
    let kept = run.kept.expect("it is cut");
    let late_l = run.heart_pure_l(Cuts { to_pct: 55.0, ..kept }).expect("a heart");
    let heart = Collected {
        cut: "heart".to_owned(),
        to: "spirit_receiver".to_owned(),
        at: jiff::Timestamp::UNIX_EPOCH,
        volume_20_l: late_l / 0.66,
        strength_pct: 66.0,
        pure_alcohol_l: late_l,
    };
    let foretold = run.foretold(&Ran { cuts: vec![heart], ..Ran::default() }).expect("a heart");
    println!("{foretold:?} for {late_l:.1} L");
    assert!(foretold.fitted);
    assert!((foretold.found_to_pct.expect("a strength") - 55.0).abs() < 0.05);
    assert!((foretold.to_pct - 59.0).abs() < 1e-9);
    assert!(late_l - foretold.heart_pure_l > 20.0);
}
