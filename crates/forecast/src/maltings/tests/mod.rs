//! The maltings with pieces made by hand, held against the stages themselves and against sense.

mod kiln;
mod store;

use super::grown::{Grown, Until};
use super::piece::Felt;
use super::*;
use house::malted::{Act, Drawn, Kilned as OnKiln, Laid, Malted, Turned, Turning, Water};
use house::standing::{Reading, Standing};
use house::{House, quernholm};
use jiff::Timestamp;
use seen::{hours, later};
use std::sync::LazyLock;

static HOUSE: LazyLock<House> = LazyLock::new(quernholm);
/// Hours in the steep.
const CAST_H: f64 = 46.0;

fn t0() -> Timestamp {
    "2026-11-10T06:00:00Z".parse().expect("an instant")
}

fn h(hours: f64) -> Timestamp {
    later(t0(), hours)
}

fn reading(at_h: f64, value: f64) -> Reading {
    Reading { at: h(at_h), value }
}

fn standing() -> Standing {
    Standing { at: t0(), ..Standing::default() }
}

/// Steeped at 0 h, cast at 46 h and turned every eight hours until `until_h`.
fn malted(make: &str, until_h: f64) -> Malted {
    let turns = (1..60)
        .map(|turn| CAST_H + 8.0 * f64::from(turn))
        .filter(|at_h| *at_h <= until_h)
        .map(|at_h| Turned { at: h(at_h), how: Turning::Full })
        .collect();
    Malted {
        piece: 61,
        make: make.into(),
        parts: vec![Drawn {
            lot: "two-row 6".into(),
            barley: "two_row".into(),
            dry_kg: 8096.0,
            moisture_wet: 0.12,
            at: t0(),
        }],
        steep: house::malted::Steeped {
            vessel: "steep_1".into(),
            at: t0(),
            ..house::malted::Steeped::default()
        },
        floor: Some(Laid {
            vessel: "floor_2".into(),
            at: h(CAST_H),
            dry_kg: 8096.0,
            wet_cast: false,
            turns,
            spreads: Vec::new(),
            grain_c: Vec::new(),
            acrospire: Vec::new(),
        }),
        ..Malted::default()
    }
}

fn of(malted: &Malted, at_h: f64) -> Floored {
    piece(&HOUSE, &standing(), malted, h(at_h)).expect("a usual piece")
}

/// Temperatures before four turns, moved by some kelvin from what is expected there.
fn with_readings(by_dk: f64) -> Malted {
    let plain = of(&malted("pale", 151.0), 151.0);
    let mut warm = malted("pale", 151.0);
    let noted = [78.0, 102.0, 126.0, 150.0].map(|at_h| {
        let expected = plain.at(h(at_h - 0.03)).expect("within the course").grain_c;
        reading(at_h, expected + by_dk)
    });
    warm.floor.as_mut().expect("laid").grain_c = noted.to_vec();
    warm
}

#[test]
fn a_piece_without_readings_is_the_floor_itself() {
    let malted = malted("pale", 140.0);
    let floored = of(&malted, 141.0);
    let grown = Grown::of(&HOUSE, &standing(), &malted, h(141.0)).expect("a usual piece");
    let course = grown.course(Until::Hour(240.0)).expect("followed");
    // The same turns written down, in one run of the stage.
    let mut programme = grown.programme.clone();
    programme.turns.clone_from(&course.turns);
    programme.hand.turn_from_h = Some(499.0);
    let run = grown
        .moved(&grown.constants, &grown.charge, &programme, 240.0)
        .expect("the stage takes it");
    let ready_h = run.out.ready_h.expect("it comes to it");
    let own = hours(h(CAST_H), floored.ready.likely);
    assert!((own - ready_h).abs() < 0.02, "{own} {ready_h}");
    for at_h in [10.0, 60.0, 130.0, 180.0] {
        let stage = run.curves.at("temperature_c", at_h).expect("a row");
        let here = course.at(at_h, |row| row.grain_c).expect("a row");
        assert!((stage - here).abs() < 0.02, "{at_h} h: {stage} {here}");
    }
    assert!((floored.respiration.value - 1.0).abs() < 1e-12);
    let usual = (7.0 * 24.0..11.0 * 24.0).contains(&own);
    assert!(usual, "{own} h: floors lie a week to eleven days");
}

#[test]
fn a_warmer_piece_is_ready_sooner_and_a_colder_one_later() {
    let at = 151.0;
    let [cold, same, warm] = [-1.5, 0.0, 1.5].map(|dk| of(&with_readings(dk), at));
    assert!(warm.ready.likely < same.ready.likely && same.ready.likely < cold.ready.likely);
    assert!(warm.respiration.value > 1.02 && cold.respiration.value < 0.98);
    assert!((same.respiration.value - 1.0).abs() < 0.02, "{:?}", same.respiration);
    // Priors hold: a reading has 0.8 K, so four do not carry all of 1.5 K.
    let after = warm.noted.last().expect("noted");
    assert!(after.expected > after.before && after.expected < after.value, "{after:?}");
}

#[test]
fn readings_narrow_the_band() {
    let (blind, told) = (of(&malted("pale", 151.0), 151.0), of(&with_readings(0.0), 151.0));
    println!("±{:.1} h without, ±{:.1} h with", blind.ready.reach_h(), told.ready.reach_h());
    assert!(told.ready.reach_h() < 0.9 * blind.ready.reach_h());
    assert!(told.now.grain_sd_c < blind.now.grain_sd_c);
}

#[test]
fn a_mixed_or_sensitive_piece_has_a_wider_band() {
    let plain = of(&malted("pale", 100.0), 100.0);
    let mut mixed = malted("pale", 100.0);
    mixed.parts[0].dry_kg = 4048.0;
    let wet = Drawn { barley: "two_row_wet".into(), lot: "wet".into(), ..mixed.parts[0].clone() };
    mixed.parts.push(wet);
    let mixed = of(&mixed, 100.0);
    assert!(mixed.ready.reach_h() > plain.ready.reach_h());
    assert_eq!((plain.uneven.as_deref(), mixed.lots.as_str()), (None, "two-row 6 and wet"));
    let why = mixed.uneven.expect("said");
    assert!(why.contains("water-sensitive") && why.contains("two barleys"), "{why}");
}

#[test]
fn an_unturned_piece_is_flagged_before_it_felts() {
    let malted = malted("pale", 103.0);
    // Last turned at 102 h; the house says twelve hours.
    let at = |at_h: f64| of(&malted, at_h);
    assert_eq!(at(108.0).felt, Felt::No);
    let soon = at(111.5);
    assert_eq!(soon.felt, Felt::Soon);
    assert!(soon.says[0].contains("felts after 12 h"), "{:?}", soon.says);
    assert!((hours(h(102.0), soon.felts_at) - 12.0).abs() < 1e-6);
    assert!(soon.flag_at < soon.felts_at);
    assert_eq!(at(114.5).felt, Felt::Past);
    let due = &soon.turns_due[0];
    assert!(due.at <= soon.felts_at, "{due:?}");
}

#[test]
fn a_noted_turn_cools_the_piece() {
    let mut skipped = malted("pale", 120.0);
    let turned = of(&skipped, 120.0);
    skipped.floor.as_mut().expect("laid").turns.pop();
    let unturned = of(&skipped, 120.0);
    assert!(unturned.now.grain_c > turned.now.grain_c + 0.3);
}

#[test]
fn noted_waters_and_moisture_bend_the_steep() {
    let mut plain = malted("pale", 0.0);
    plain.floor = None;
    let steep =
        |m: &Malted, at_h: f64| steeping(&HOUSE, &standing(), m, h(at_h)).expect("a usual steep");
    let before = steep(&plain, 20.0);
    assert!((hours(t0(), before.cast) - 46.0).abs() < 1e-6);
    // Drained two hours late: all that follows is two hours later.
    let mut late = plain.clone();
    late.steep.waters = vec![Water { at: h(11.0), act: Act::Drain, water_c: None }];
    let late = steep(&late, 20.0);
    assert!((hours(t0(), late.cast) - 48.0).abs() < 1e-6, "{:?}", late.stretches);
    assert!(late.stretches[0].noted && late.stretches[1].noted && !late.stretches[2].noted);
    // A wetter corn than reckoned drinks faster and is cast wetter.
    let mut wetter = plain.clone();
    let now = before.points.iter().find(|p| hours(t0(), p.at) >= 19.0).expect("a point");
    wetter.steep.moisture_wet = vec![reading(19.0, now.moisture_wet + 0.01)];
    let wetter = steep(&wetter, 20.0);
    assert!(wetter.drinking.value > 1.02, "{:?}", wetter.drinking);
    let moisture = |s: &Steeped| s.figures[0].value;
    assert!(moisture(&wetter) > moisture(&before) + 0.2);
    assert!(moisture(&wetter) < moisture(&before) + 1.5);
}
