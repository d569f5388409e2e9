//! What a person reads when a run cannot be: the sentence says what is wrong and what would work.

use super::super::*;
use super::{charge, cut, programme, spirit_cuts};

fn refusal(charge: &Charge, vessel: &Vessel, programme: &Programme) -> String {
    let fault = run(charge, vessel, programme, &Constants::default()).expect_err("a refusal");
    println!("{fault}");
    fault.to_string()
}

#[test]
fn a_still_that_stalls_is_told_the_heat_that_does() {
    let good = charge(33_500.0, 284_000.0);
    let cold = Vessel { head_loss_w_k: 600.0, ..Vessel::default() };
    let says = refusal(&good, &cold, &programme(30e3, spirit_cuts()));
    assert_eq!(
        says,
        "still.heat_w: with 30 kW the still stalls, for the head condenses all that rises; \
         it needs at least 50 kW"
    );
    // It stalls late, too, when the pot has grown hot; the figure told lasts to the end.
    let says = refusal(&good, &cold, &programme(46e3, spirit_cuts()));
    assert!(says.contains("it needs at least 50 kW"), "{says}");
    let enough = run(&good, &cold, &programme(50e3, spirit_cuts()), &Constants::default());
    assert!(enough.is_ok(), "{enough:?}");
    let mut steamed = programme(30e3, spirit_cuts());
    steamed.conditions.heat_w = None;
    steamed.conditions.steam_kg_s = 0.002;
    let says = refusal(&good, &cold, &steamed);
    assert!(says.starts_with("still.steam_kg_s: with 0.002 kg/s of steam"), "{says}");
}

#[test]
fn cuts_that_cross_are_both_named() {
    let good = charge(33_500.0, 284_000.0);
    let plain = Vessel::default();
    let by = |cuts| refusal(&good, &plain, &programme(250e3, cuts));
    let times = vec![cut("foreshots", Until::TimeS(1200.0)), cut("heart", Until::TimeS(1100.0))];
    assert_eq!(
        by(times),
        "cut[1].until_time_s: heart would end at 1100 s, but foreshots before it ends at 1200 s; \
         end heart after that, or foreshots sooner"
    );
    let strengths =
        vec![cut("heart", Until::StrengthPct(62.0)), cut("feints", Until::StrengthPct(70.0))];
    let says = by(strengths);
    assert!(
        says.contains("feints would end at 70 % vol, but heart before it ends at 62"),
        "{says}"
    );
    // Of two kinds: what the run has come to by then is said.
    let mixed = vec![cut("heart", Until::StrengthPct(62.0)), cut("feints", Until::TimeS(600.0))];
    let says = by(mixed);
    assert!(says.contains("feints would end at 600 s, but heart before it ends at "), "{says}");
    let early = vec![cut("heart", Until::TimeS(600.0)), cut("feints", Until::VolumeL(5.0))];
    assert!(by(early).contains("feints would end at 5 L at 20 °C, but heart"));
}

#[test]
fn a_charge_that_no_still_takes_is_told_what_would_do() {
    let plain = programme(250e3, spirit_cuts());
    let strong = Charge::of_moles(Moles { ethanol_mol: 9.0, water_mol: 1.0 });
    let says = refusal(&strong, &Vessel::default(), &plain);
    assert_eq!(
        says,
        "charge: 97.4 % vol is stronger than any wash, low wines or feints, and hardly boils \
         apart; charge at most 88 % vol: water it down"
    );
    let good = charge(33_500.0, 284_000.0);
    let small = Vessel { most_charge_20_l: Some(5000.0), ..Vessel::default() };
    let says = refusal(&good, &small, &plain);
    assert!(says.contains("at most 5000 L at 20 °C, the most the still is charged with"), "{says}");
    let bare = Vessel { least_charge_20_l: Some(9000.0), ..Vessel::default() };
    let says = refusal(&good, &bare, &plain);
    assert!(says.contains("at least 9000 L at 20 °C, the charge that covers the coils"), "{says}");
}

#[test]
fn a_pressure_out_of_range_and_a_strength_above_all_say_what_is_allowed() {
    let mut high = programme(250e3, spirit_cuts());
    high.conditions.pressure_pa = 5e5;
    let says = refusal(&charge(33_500.0, 284_000.0), &Vessel::default(), &high);
    assert_eq!(says, "still.pressure_pa is 500000 Pa; allowed 20000 to 110000 Pa");
    let spirit = Spirit { volume_20_l: 100.0, strength_pct: 95.0 };
    let says =
        refusal(&Charge::of_spirit(spirit), &Vessel::default(), &programme(1e4, spirit_cuts()));
    assert!(says.contains("charge.strength_pct is 95 % vol; allowed 0 to 88 % vol"), "{says}");
}

/// A charge that covers the coils at first and not at the end runs, and says so in litres.
#[test]
fn coils_that_come_bare_before_the_end_are_a_warning_with_litres() {
    let vessel = Vessel { least_charge_20_l: Some(4000.0), ..Vessel::default() };
    let plain = programme(250e3, spirit_cuts());
    let run = run(&charge(33_500.0, 284_000.0), &vessel, &plain, &Constants::default()).unwrap();
    let warning = run.warnings.iter().find(|w| w.code == "coils bare").unwrap();
    println!("{}", warning.says);
    let left = format!("{:.0} L stay in the pot at the end; 4000 L", run.residue.volume_20_l());
    assert!(warning.says.starts_with(&left), "{}", warning.says);
}
