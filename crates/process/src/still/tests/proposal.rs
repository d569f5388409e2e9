//! Cuts proposed, beside a plain search through runs cut everywhere.

use super::super::*;
use super::{cut, programme, spirit_cuts};
use gauge::Fault;

fn smoky() -> Trace {
    let spirit = Spirit { volume_20_l: 6000.0, strength_pct: 24.0 };
    let mut charge = Charge::of_spirit(spirit);
    let grams =
        [("ethyl_acetate", 500.0), ("phenol", 120.0), ("guaiacol", 60.0), ("p_cresol", 40.0)];
    charge.congeners =
        grams.into_iter().map(|(name, g)| (Congener::named(name).unwrap(), g)).collect();
    let vessel = Vessel { head_loss_w_k: 300.0, ..Vessel::default() };
    let programme = programme(250e3, spirit_cuts());
    Trace::of(&charge, &vessel, &programme, &Constants::default()).unwrap()
}

fn limit(name: &str, most_g_hl: f64) -> Limit {
    Limit { congener: Congener::named(name).unwrap(), most_g_hl }
}

/// Phenols in mg/L and ethyl acetate in g/hL of pure alcohol of a heart that was read.
fn figures(trace: &Trace, heart: &CutRun) -> (f64, f64) {
    let grams = |wanted: &dyn Fn(&Congener) -> bool| -> f64 {
        let pairs = trace.congeners().iter().zip(&heart.congeners);
        pairs.filter(|((c, _), _)| wanted(c)).map(|((_, g), (_, share))| g * share).sum()
    };
    let phenols = 1e3 * grams(&Congener::phenol) / heart.distillate.volume_20_l();
    let acetate = grams(&|c| c.key == "ethyl_acetate");
    (phenols, 100.0 * acetate / heart.distillate.pure_alcohol_l())
}

/// Cuts on a grid of minutes and tenths of a per cent: none that keeps to the wishes has more
/// alcohol than the proposal, and the best of them has nearly as much.
#[test]
fn no_cut_on_a_grid_is_better_than_the_one_proposed() {
    let trace = smoky();
    let wanted = Wanted {
        most_phenols_mg_l: Some(32.0),
        least_strength_pct: Some(66.0),
        limits: vec![limit("ethyl_acetate", 8.0)],
        ..Wanted::default()
    };
    let proposal = propose(&trace, &wanted, None).unwrap();
    let (phenols, acetate) = figures(&trace, &proposal.heart);
    assert!(phenols <= 32.0 * (1.0 + 1e-6), "{phenols}");
    assert!(acetate <= 8.0 * (1.0 + 1e-6), "{acetate}");
    assert!(proposal.heart.distillate.strength_pct() >= 66.0 - 1e-5);
    let got = proposal.heart.distillate.pure_alcohol_l();
    let mut best: f64 = 0.0;
    for minute in 1..120 {
        for tenth in (500..740).step_by(2) {
            let cuts = [
                cut("foreshots", Until::TimeS(60.0 * f64::from(minute))),
                cut("heart", Until::StrengthPct(0.1 * f64::from(tenth))),
            ];
            let heart = trace.read(&cuts).unwrap().cuts.swap_remove(1);
            let (phenols, acetate) = figures(&trace, &heart);
            let keeps = heart.distillate.ethanol_mol > 0.0
                && phenols <= 32.0
                && acetate <= 8.0
                && heart.distillate.strength_pct() >= 66.0;
            if keeps {
                best = best.max(heart.distillate.pure_alcohol_l());
            }
        }
    }
    println!("{got} L, best of the grid {best} L; {:?}", proposal.binds);
    assert!(best > 0.0 && got >= best * (1.0 - 1e-6), "{got} {best}");
    // A minute of foreshots and a fifth of a per cent are worth less than this.
    assert!(best >= 0.985 * got, "{got} {best}");
    assert_eq!(proposal.binds.len(), 2, "{:?}", proposal.binds);
}

#[test]
fn the_wish_that_binds_is_named() {
    let trace = smoky();
    let present = Some((1200.0, 62.0));
    let smoke = Wanted { most_phenols_mg_l: Some(25.0), ..Wanted::default() };
    let by_smoke = propose(&trace, &smoke, present).unwrap();
    assert_eq!(by_smoke.binds, ["phenols of at most 25 mg/L", "no heart before 20 min"]);
    let strength = Wanted { least_strength_pct: Some(70.0), ..Wanted::default() };
    let by_strength = propose(&trace, &strength, present).unwrap();
    assert_eq!(by_strength.binds[0], "a strength of at least 70 % vol");
    assert!((by_strength.heart.distillate.strength_pct() - 70.0).abs() < 1e-4);
    let floor = Wanted { least_phenols_mg_l: Some(5.0), ..Wanted::default() };
    let by_end = propose(&trace, &floor, present).unwrap();
    assert_eq!(by_end.binds[0], "the end of the run");
}

#[test]
fn the_present_cut_stands_on_the_curve_drawn() {
    let trace = smoky();
    let wanted = Wanted { most_phenols_mg_l: Some(25.0), ..Wanted::default() };
    let proposal = propose(&trace, &wanted, Some((1200.0, 62.0))).unwrap();
    let curve = &proposal.frontier;
    assert_eq!(curve.len(), 25);
    assert!(curve.windows(2).all(|p| p[0].pure_alcohol_l < p[1].pure_alcohol_l));
    assert!(curve.windows(2).all(|p| p[0].phenols_mg_l < p[1].phenols_mg_l));
    assert!(curve.windows(2).all(|p| p[0].strength_pct > p[1].strength_pct));
    let present = proposal.present.unwrap();
    let after = curve.iter().position(|p| p.heart_to_pct < 62.0).unwrap();
    let (a, b) = (&curve[after - 1], &curve[after]);
    let share = (a.heart_to_pct - 62.0) / (a.heart_to_pct - b.heart_to_pct);
    let smoke = a.phenols_mg_l + share * (b.phenols_mg_l - a.phenols_mg_l);
    assert!((smoke / present.phenols_mg_l - 1.0).abs() < 0.02, "{smoke} {present:?}");
}

#[test]
fn wishes_that_cannot_hold_together_are_told_with_what_would() {
    let trace = smoky();
    let wanted = Wanted {
        least_phenols_mg_l: Some(40.0),
        least_strength_pct: Some(70.0),
        ..Wanted::default()
    };
    let fault = propose(&trace, &wanted, None).expect_err("smoke comes late, strength early");
    println!("{fault}");
    let Fault::Unworkable { trouble, remedy, .. } = &fault else { panic!("{fault}") };
    assert!(trouble.contains("phenols of at least 40 mg/L"), "{trouble}");
    assert!(trouble.contains("a strength of at least 70 % vol together"), "{trouble}");
    // What it says would work does.
    let words: Vec<&str> = remedy.split_whitespace().collect();
    let after = |at: &str| {
        let place = words.iter().position(|w| *w == at).unwrap();
        let figure = words[place..].iter().find_map(|w| w.parse::<f64>().ok());
        figure.unwrap()
    };
    let eased = [
        Wanted { least_phenols_mg_l: Some(after("phenols")), ..wanted.clone() },
        Wanted { least_strength_pct: Some(after("strength")), ..wanted },
    ];
    for wanted in eased {
        assert!(propose(&trace, &wanted, None).is_ok(), "{remedy}");
    }
    let alone = Wanted { most_phenols_mg_l: Some(0.001), ..Wanted::default() };
    let fault = propose(&trace, &alone, Some((1200.0, 62.0))).expect_err("no smokeless heart");
    println!("{fault}");
    let absent = Wanted { limits: vec![limit("furfural", 1.0)], ..Wanted::default() };
    let fault = propose(&trace, &absent, None).expect_err("not in the charge");
    assert_eq!(fault.field(), Some("wanted.limit[0].congener"));
}
