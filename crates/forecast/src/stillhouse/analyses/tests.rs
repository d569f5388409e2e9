//! Hidden levels and volatilities, found again from what a laboratory would find of them.

use super::*;
use crate::stillhouse::chance::Chance;
use crate::stillhouse::{Cuts, Expected};
use house::quernholm;
use house::ran::{Analysis, Collected, Drawn};
use jiff::Timestamp;

/// A run of Ember whose groups go as `hidden` says: factor on level and on volatility.
fn ran(hidden: &Fitted, number: u32, chance: &mut Chance, keys: &[&str], of: &[&str]) -> Ran {
    let house = quernholm();
    let at: Timestamp = "2026-11-20T08:00:00Z".parse().expect("an instant");
    let strength_pct = 23.5 + 0.3 * chance.normal();
    let drawn = Drawn {
        from: "low_wines_receiver".to_owned(),
        at,
        volume_20_l: Some(4600.0),
        strength_pct: Some(strength_pct),
        pure_alcohol_l: 46.0 * strength_pct,
    };
    let mut ran = Ran {
        run: number,
        still: "spirit_still_2".to_owned(),
        make: "ember".to_owned(),
        charged_at: at,
        charged: vec![drawn],
        ..Ran::default()
    };
    let truth = Expected::of(&house, &ran, None, hidden).expect("a run");
    let heart = truth.heart(Cuts { from_min: 20.0, to_pct: 59.0 }).expect("a heart");
    for (name, spirit) in [("foreshots", heart.foreshots), ("heart", heart.heart)] {
        ran.cuts.push(Collected {
            cut: name.to_owned(),
            to: "a receiver".to_owned(),
            at,
            volume_20_l: spirit.volume_20_l,
            strength_pct: spirit.strength_pct,
            pure_alcohol_l: 0.01 * spirit.volume_20_l * spirit.strength_pct,
        });
    }
    for of in of {
        let mg_l = |key: &str| {
            let own = heart
                .congeners
                .iter()
                .filter(|c| c.key == key || (key == "phenols" && c.group == Group::Smoke));
            own.map(|c| match *of {
                "heart" => c.heart_mg_l,
                _ => 1e3 * c.charged_g * c.left / heart.residue.volume_20_l,
            })
            .sum::<f64>()
        };
        let found_mg_l = keys
            .iter()
            .map(|key| ((*key).to_owned(), mg_l(key) * (0.08 * chance.normal()).exp()))
            .collect();
        ran.analyses.push(Analysis { at, of: (*of).to_owned(), found_mg_l });
    }
    ran
}

fn hidden(level: f64, volatility: f64) -> Fitted {
    let mut hidden = Fitted::default();
    let smoke = &mut hidden.groups[place(Group::Smoke)];
    (smoke.level, smoke.volatility) = (level, volatility);
    hidden
}

fn fit_of(truth: &Fitted, runs: u32, keys: &[&str], of: &[&str], seed: u64) -> GroupFit {
    let mut chance = Chance::of(seed);
    let runs: Vec<Ran> = (0..runs).map(|n| ran(truth, n + 1, &mut chance, keys, of)).collect();
    let found = analyses(&quernholm(), &runs, None, &Fitted::default());
    for group in found.groups {
        println!("{:?}: {}", group.group, group.says());
    }
    *found.group(Group::Smoke)
}

#[test]
fn hearts_and_lees_together_find_level_and_volatility() {
    let smoke = fit_of(&hidden(1.2, 1.35), 6, &["phenols"], &["heart", "residue"], 1);
    println!("{smoke:?}");
    assert_eq!(smoke.known, Known::Fitted);
    assert!((smoke.level.ln() - 1.2_f64.ln()).abs() < 2.0 * smoke.level_sd, "{smoke:?}");
    let off = (smoke.volatility.ln() - 1.35_f64.ln()).abs();
    assert!(off < 2.0 * smoke.volatility_sd, "{smoke:?}");
    assert!(smoke.volatility_sd < 0.12, "six pairs leave little open: {smoke:?}");
}

/// A heart alone cannot tell a smoky malt from a light head, but its own smoke is known after.
#[test]
fn hearts_alone_fix_what_the_heart_holds_and_say_that_the_rest_is_open() {
    let truth = hidden(1.0, 1.4);
    let smoke = fit_of(&truth, 6, &["phenols"], &["heart"], 2);
    println!("{smoke:?}");
    assert!(smoke.correlation < -0.5, "{smoke:?}");
    let mut found = Fitted::default();
    found.groups[place(Group::Smoke)] = smoke;
    let house = quernholm();
    let next = |fitted: &Fitted| {
        let run = Expected::of_next(&house, "ember", "spirit_still_2", None, fitted);
        let run = run.expect("a run");
        let heart = run.heart(Cuts { from_min: 20.0, to_pct: 59.0 }).expect("a heart");
        heart.figure("smoke_mg_l").expect("smoke").clone()
    };
    let (real, believed, before) = (next(&truth), next(&found), next(&Fitted::default()));
    let width = |f: &crate::Figure| {
        let band = f.band.as_ref().expect("a band");
        (band.high / band.low).ln()
    };
    println!("true {:.2}, fitted {believed:?}, before {:.2}", real.value, before.value);
    assert!((believed.value / real.value - 1.0).abs() < 0.15, "{}", believed.value);
    assert!(width(&believed) < 0.4 * width(&before), "{} {}", width(&believed), width(&before));
}

#[test]
fn without_analyses_every_group_stays_a_shape() {
    let runs = [ran(&Fitted::default(), 1, &mut Chance::of(3), &[], &[])];
    let found = analyses(&quernholm(), &runs, None, &Fitted::default());
    assert_eq!(found, Fitted::default());
    assert!(found.groups.iter().all(|g| g.known == Known::Shape));
}

#[test]
fn only_the_groups_that_were_analysed_are_fitted() {
    let mut chance = Chance::of(4);
    let keys = ["3_methyl_1_butanol", "2_methyl_1_butanol", "1_propanol"];
    let runs: Vec<Ran> =
        (0..3).map(|n| ran(&Fitted::default(), n + 1, &mut chance, &keys, &["heart"])).collect();
    let found = analyses(&quernholm(), &runs, None, &Fitted::default());
    for group in found.groups {
        let wanted = if group.group == Group::Oil { Known::Fitted } else { Known::Shape };
        assert_eq!(group.known, wanted, "{group:?}");
    }
    let oil = found.group(Group::Oil);
    assert!((oil.level.ln()).abs() < 2.0 * oil.level_sd, "{oil:?}");
    assert_eq!(oil.analyses, 9);
}

/// A congener that is off by itself drags its group only so far, however often it is analysed.
#[test]
fn the_same_congener_again_and_again_does_not_make_the_group_sure() {
    let one = fit_of(&Fitted::default(), 1, &["phenol"], &["heart"], 5);
    let many = fit_of(&Fitted::default(), 8, &["phenol"], &["heart"], 5);
    println!("{one:?}\n{many:?}");
    assert!(many.volatility_sd > 0.9 * one.volatility_sd, "{many:?}");
}
