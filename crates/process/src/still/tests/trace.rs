//! A kept run read again, beside runs cut anew at the same marks.

use super::super::*;
use super::{cut, programme};

/// Numbers between 0 and 1 that are the same at every test.
pub(super) struct Dice(pub(super) u64);

impl Dice {
    pub(super) fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }
    pub(super) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next()
    }
}

pub(super) fn all_congeners(ethanol_mol: f64, water_mol: f64) -> Charge {
    let mut charge = Charge::of_moles(Moles { ethanol_mol, water_mol });
    charge.congeners = CONGENERS.iter().map(|congener| (congener, 1.0)).collect();
    charge
}

/// A charge, a still and a programme drawn by lot.
pub(super) fn drawn(dice: &mut Dice) -> (Charge, Vessel, Programme) {
    let mut charge =
        all_congeners(100.0 * dice.between(1.0, 40.0), 100.0 * dice.between(150.0, 300.0));
    charge.filling.temperature_c = (dice.next() > 0.5).then_some(20.0);
    let mol = charge.moles().unwrap().total_mol();
    let heat_w = mol * dice.between(0.5, 1.5);
    let vessel = Vessel {
        head_loss_w_k: if dice.next() > 0.3 { heat_w * dice.between(0.0, 3e-3) } else { 0.0 },
        copper_kg: 0.01 * mol * dice.next(),
        ..Vessel::default()
    };
    let mut programme = programme(heat_w, vec![cut("all", Until::StrengthPct(1.0))]);
    programme.conditions.pressure_pa = dice.between(85e3, 104e3);
    if dice.next() > 0.5 {
        let from_s = dice.between(500.0, 4000.0);
        programme.heat = vec![
            HeatStep {
                from_s,
                heat_w: heat_w * dice.between(0.6, 1.3),
                steam_kg_s: 0.0,
                place: Some(0),
            },
            HeatStep {
                from_s: 3.0 * from_s,
                heat_w: 1.5 * heat_w,
                steam_kg_s: 0.0,
                place: Some(1),
            },
        ];
    }
    (charge, vessel, programme)
}

fn cuts_drawn(dice: &mut Dice, trace: &Trace) -> Vec<Cut> {
    let first_pct = trace.start().distillate_strength_pct;
    let all_l = trace.find(&Until::StrengthPct(1.5)).unwrap().over_l;
    let foreshots = match (3.0 * dice.next()) as u32 {
        0 => Until::TimeS(trace.end_s() * dice.between(0.01, 0.1)),
        1 => Until::VolumeL(all_l * dice.between(0.01, 0.1)),
        _ => Until::ChargeFraction(dice.between(0.002, 0.008)),
    };
    let heart = Until::StrengthPct(first_pct * dice.between(0.4, 0.9));
    vec![cut("foreshots", foreshots), cut("heart", heart), cut("feints", Until::StrengthPct(1.0))]
}

/// How far two readings of one run lie apart, relative; a share below 1e-3 of the charge against
/// that.
pub(super) fn apart(read: &Reading, run: &Run) -> f64 {
    let mut worst: f64 = 0.0;
    let mut see = |what: &str, a: f64, b: f64, least: f64| {
        let miss = (a - b).abs() / b.abs().max(least);
        assert!(miss < 1e-6, "{what}: {a} {b}, {miss:e}");
        worst = worst.max(miss);
    };
    for (a, b) in read.cuts.iter().zip(&run.cuts) {
        see("time", a.end_s, b.end_s, 1.0);
        see("pot", a.pot_mole_fraction, b.pot_mole_fraction, 1e-9);
        see("strength", a.distillate_strength_pct, b.distillate_strength_pct, 1e-9);
        let least_l = 1e-6 * run.residue.volume_20_l();
        see("litres", a.distillate.volume_20_l(), b.distillate.volume_20_l(), least_l);
        see("alcohol", a.distillate.pure_alcohol_l(), b.distillate.pure_alcohol_l(), least_l);
        if b.distillate.total_mol() > 0.0 {
            see("mean", a.distillate.strength_pct(), b.distillate.strength_pct(), 1e-9);
        }
        for ((congener, a), (_, b)) in a.congeners.iter().zip(&b.congeners) {
            see(congener.key, *a, *b, 1e-3);
        }
    }
    see("left", read.residue.pure_alcohol_l(), run.residue.pure_alcohol_l(), 1e-9);
    for ((congener, a), (_, b)) in read.residue_congeners.iter().zip(&run.residue_congeners) {
        see(congener.key, *a, *b, 1e-3);
    }
    worst
}

#[test]
fn cuts_read_again_are_those_of_a_run_cut_there() {
    let mut dice = Dice(7);
    let constants = Constants::default();
    let mut worst: f64 = 0.0;
    for _ in 0..40 {
        let (charge, vessel, mut programme) = drawn(&mut dice);
        let trace = Trace::of(&charge, &vessel, &programme, &constants).unwrap();
        let cuts = cuts_drawn(&mut dice, &trace);
        programme.cuts.clone_from(&cuts);
        let wanted = run(&charge, &vessel, &programme, &constants).unwrap();
        worst = worst.max(apart(&trace.read(&cuts).unwrap(), &wanted));
    }
    println!("worst {worst:e}");
}

#[test]
fn the_points_of_a_kept_run_are_those_of_its_marks() {
    let charge = all_congeners(33_500.0, 284_000.0);
    let vessel = Vessel { head_loss_w_k: 600.0, ..Vessel::default() };
    let programme = programme(250e3, super::spirit_cuts());
    let trace = Trace::of(&charge, &vessel, &programme, &Constants::default()).unwrap();
    let points = trace.points();
    assert!((100..=220).contains(&points.len()), "{}", points.len());
    assert!(points.windows(2).all(|p| p[0].time_s < p[1].time_s));
    assert!(points.windows(2).all(|p| p[0].strength_pct > p[1].strength_pct));
    assert!((points[points.len() - 1].time_s / trace.end_s() - 1.0).abs() < 1e-9);
    for point in points.iter().step_by(17) {
        let again = trace.point(point.time_s);
        assert!((again.over_l - point.over_l).abs() < 1e-6 * trace.charge().volume_20_l());
        assert!((again.strength_pct - point.strength_pct).abs() < 1e-6);
        let by_strength = trace.find(&Until::StrengthPct(point.strength_pct)).unwrap();
        assert!((by_strength.time_s - point.time_s).abs() < 1e-5 * trace.end_s());
    }
    let before = trace.point(-5.0);
    assert_eq!(before.over_l, 0.0);
    assert!((before.strength_pct - trace.start().distillate_strength_pct).abs() < 1e-9);
    assert!((trace.point(1e9).time_s / trace.end_s() - 1.0).abs() < 1e-9);
}

#[test]
fn a_mark_beyond_the_end_of_a_kept_run_is_refused_by_name() {
    let charge = all_congeners(33_500.0, 284_000.0);
    let programme = programme(250e3, super::spirit_cuts());
    let trace = Trace::of(&charge, &Vessel::default(), &programme, &Constants::default()).unwrap();
    let fault = trace.find(&Until::StrengthPct(0.5)).expect_err("below the end");
    assert_eq!(fault.field(), Some("until_strength_pct"));
    let cuts = [cut("a", Until::TimeS(600.0)), cut("b", Until::TimeS(9e5))];
    let fault = trace.read(&cuts).expect_err("after the end");
    assert_eq!(fault.field(), Some("cut[1].until_time_s"));
    let cuts = [cut("a", Until::TimeS(600.0)), cut("b", Until::TimeS(500.0))];
    assert!(trace.read(&cuts).is_err());
}
