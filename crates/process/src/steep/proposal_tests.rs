//! Steepings proposed.

use super::*;
use crate::Manned;

fn barley(sensitive: f64) -> Charge {
    Charge {
        dry_kg: 8000.0,
        moisture_wet: 0.12,
        germinative_energy_8ml_pct: 97.0 - sensitive,
        ..Charge::default()
    }
}

fn vessel() -> Vessel {
    Vessel { fill_kg: 8500.0, ..Vessel::default() }
}

fn asked(sensitive: f64, wanted: &Wanted, manned: &Manned) -> Result<Proposal, gauge::Fault> {
    propose(&barley(sensitive), &vessel(), &Constants::default(), wanted, manned)
}

fn wanted(moisture_wet: f64) -> Wanted {
    Wanted { moisture_wet, ..Wanted::default() }
}

fn ends(proposal: &Proposal) -> Vec<f64> {
    let mut at_h = 0.0;
    let phases = proposal.programme.phases.iter();
    phases
        .map(|phase| {
            at_h += phase.stretch.hours;
            at_h
        })
        .collect()
}

fn waters(programme: &Programme) -> usize {
    programme.phases.iter().filter(|p| p.kind != Kind::Rest).count()
}

/// Common practice, no source: waters and rests of 8 to 16 h, 40 to 60 h in all, 43 to 46 %.
#[test]
fn a_usual_barley_is_steeped_as_is_usual() {
    for moisture in [0.43, 0.44, 0.45] {
        let wanted = Wanted { water_c: 14.0, air_c: 15.0, most_hours: 72.0, ..wanted(moisture) };
        let proposal = asked(5.0, &wanted, &Manned::default()).unwrap();
        let out = &proposal.run.out;
        println!("{:?} {:?}", proposal.says, proposal.binds);
        assert!(out.moisture_wet >= moisture - 5e-4, "{}", out.moisture_wet);
        assert!(out.moisture_wet < moisture + 0.006, "{}", out.moisture_wet);
        assert!((30.0..=72.0).contains(&out.hours), "{}", out.hours);
        assert!(!proposal.gently);
        let inner = &proposal.programme.phases[..proposal.programme.phases.len() - 1];
        for phase in inner {
            assert!((8.0..=16.0).contains(&phase.stretch.hours), "{phase:?}");
        }
        assert!(proposal.run.balance.open().is_empty());
    }
}

/// No programme of fewer waters comes to it: those of two with every length at its most.
#[test]
fn it_takes_no_more_waters_than_it_must() {
    let wanted = Wanted { most_hours: 90.0, ..wanted(0.44) };
    let proposal = asked(5.0, &wanted, &Manned::default()).unwrap();
    let many = waters(&proposal.programme);
    assert!(many >= 2);
    let phase = |kind| Phase { kind, stretch: Stretch { hours: 16.0, temperature_c: 13.0 } };
    let mut phases = vec![phase(Kind::Wet)];
    for _ in 2..many {
        phases.extend([phase(Kind::Rest), phase(Kind::Wet)]);
    }
    let fewer = Programme { phases, ..Programme::default() };
    let longest = run(&barley(5.0), &vessel(), &fewer, &Constants::default()).unwrap();
    assert!(longest.out.moisture_wet < 0.44 - 5e-4, "{}", longest.out.moisture_wet);
}

#[test]
fn a_barley_that_minds_water_gets_little_at_first_and_a_spray() {
    let wanted = Wanted { water_c: 15.0, air_c: 15.0, most_hours: 80.0, ..wanted(0.43) };
    let gentle = asked(35.0, &wanted, &Manned::default()).unwrap();
    println!("{:?} {:?}", gentle.says, gentle.binds);
    let phases = &gentle.programme.phases;
    assert!(gentle.gently && phases[0].stretch.hours <= 6.0);
    assert!(phases[1].stretch.hours >= 12.0);
    assert_eq!(phases.iter().filter(|p| p.kind == Kind::Wet).count(), 2);
    assert!(phases.iter().any(|p| p.kind == Kind::Spray));
    let usual = asked(5.0, &wanted, &Manned::default()).unwrap();
    let hard = barley(35.0);
    let as_usual = run(&hard, &vessel(), &usual.programme, &Constants::default()).unwrap();
    let gained = gentle.run.out.germinating_fraction - as_usual.out.germinating_fraction;
    assert!(gained > 0.05, "{gained}");
}

#[test]
fn every_act_falls_while_somebody_is_there() {
    // Six in the morning to ten at night; the first water at eight on a Monday.
    let manned = Manned::daily(8.0, 6.0, 22.0);
    for (sensitive, moisture) in [(5.0, 0.44), (30.0, 0.43)] {
        let wanted = Wanted { most_hours: 84.0, water_c: 15.0, ..wanted(moisture) };
        let proposal = asked(sensitive, &wanted, &manned).unwrap();
        println!("{:?} {:?}", proposal.says, proposal.binds);
        for end_h in ends(&proposal) {
            let hour = (8.0 + end_h) % 24.0;
            assert!((6.0..=22.0).contains(&hour), "an act at {hour}");
        }
        assert!(proposal.run.out.moisture_wet >= moisture - 5e-4);
    }
}

#[test]
fn what_cannot_be_reached_is_refused_with_what_would() {
    let cold = Wanted { water_c: 8.0, air_c: 8.0, most_hours: 40.0, ..wanted(0.45) };
    let fault = asked(5.0, &cold, &Manned::default()).unwrap_err();
    let says = fault.to_string();
    println!("{says}");
    assert_eq!(fault.field(), Some("wanted.moisture_wet"));
    assert!(says.contains("45.0 %") && says.contains("is the wettest"), "{says}");
    // What it says would do, does.
    let degrees: f64 =
        says.split("water of ").nth(1).unwrap().split(' ').next().unwrap().parse().unwrap();
    let hours = says
        .split("up to ")
        .nth(1)
        .map_or(40.0, |rest| rest.split(' ').next().unwrap().parse().unwrap());
    let eased = Wanted { water_c: degrees, most_hours: hours, ..cold };
    assert!(asked(5.0, &eased, &Manned::default()).is_ok());
    // Nobody there but for one hour of the week.
    let window = crate::manned::Window { from_week_h: 3.0, to_week_h: 3.5 };
    let manned = Manned { start_week_h: 8.0, windows: vec![window] };
    let says = asked(5.0, &wanted(0.43), &manned).unwrap_err().to_string();
    assert!(says.contains("shift") && says.contains("somebody there"), "{says}");
    let odd = Wanted { moisture_wet: f64::NAN, ..Wanted::default() };
    let fault = asked(5.0, &odd, &Manned::default()).unwrap_err();
    assert_eq!(fault.field(), Some("wanted.moisture_wet"));
    let odd = Wanted { least_period_h: 12.0, most_period_h: 10.0, ..wanted(0.43) };
    let fault = asked(5.0, &odd, &Manned::default()).unwrap_err();
    assert_eq!(fault.field(), Some("wanted.most_period_h"));
}
