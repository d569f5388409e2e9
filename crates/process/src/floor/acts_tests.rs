//! Acts written down one by one, and a piece taken up where it stands.

use super::*;

fn charge() -> Charge {
    Charge {
        dry_kg: 1000.0,
        moisture_wet: 0.44,
        surface_water_dry: 0.05,
        temperature_c: 14.0,
        ..Charge::default()
    }
}

fn vessel() -> Vessel {
    Vessel { area_m2: 1000.0 / (330.0 * 0.14) }
}

fn programme(hours: f64) -> Programme {
    let hand = Hand { hours: Some(hours), turn_above_c: 60.0, ..Hand::default() };
    Programme { hand, ..Programme::default() }
}

fn lain(programme: &Programme) -> Run {
    run(&charge(), &vessel(), programme, &Constants::default()).unwrap()
}

fn turn(at_h: f64, how: How) -> Turn {
    Turn { at_h, how }
}

#[test]
fn turns_written_down_are_the_turns_given_by_the_clock() {
    let by_clock = lain(&programme(60.0));
    let mut written = programme(60.0);
    written.turns = (1..=7).map(|i| turn(8.0 * f64::from(i), How::Turn)).collect();
    let one_by_one = lain(&written);
    assert_eq!((by_clock.out.turns, one_by_one.out.turns), (7, 7));
    assert!((by_clock.out.temperature_c - one_by_one.out.temperature_c).abs() < 1e-9);
    assert!((by_clock.out.dry_kg - one_by_one.out.dry_kg).abs() < 1e-9);
    assert!(one_by_one.balance.open().is_empty(), "{:?}", one_by_one.balance.open());
}

/// Noted turns to an hour, and from then on as the hand is used to turn.
#[test]
fn what_was_done_is_followed_by_what_is_usual() {
    let mut both = programme(60.0);
    both.turns = vec![turn(6.0, How::Turn), turn(13.0, How::Plough)];
    both.hand.turn_from_h = Some(20.0);
    // Due at 21 by the clock, and every eight hours after it: 21, 29, 37, 45, 53.
    assert_eq!(lain(&both).out.turns, 7);
    both.hand.turn_until_h = Some(40.0);
    let run = lain(&both);
    assert_eq!(run.out.turns, 5);
    assert!((run.out.unturned_h - 23.0).abs() < 1e-9, "{}", run.out.unturned_h);
    assert!(run.warnings.iter().any(|w| w.code == "felts"), "{:?}", run.warnings);
}

/// 0.6 and 0.3 of the warmth above the air; in damp air nothing dries, so it is that alone.
#[test]
fn a_plough_cools_by_half() {
    let fall = |how| {
        let mut once = programme(40.0);
        once.turns = vec![turn(39.0, how)];
        once.hand.air_relative_humidity = 1.0;
        let run = lain(&once);
        let at = |hour| run.curves.at("temperature_c", hour).unwrap();
        // The row of the hour of the turn is written after it.
        (at(38.0), at(39.0))
    };
    let ((before, turned), (_, ploughed)) = (fall(How::Turn), fall(How::Plough));
    let none = {
        let mut none = programme(40.0);
        none.turns = vec![turn(39.5, How::Turn)];
        none.hand.air_relative_humidity = 1.0;
        lain(&none).curves.at("temperature_c", 39.0).unwrap()
    };
    assert!(none > before, "it warms unturned");
    assert!((none - turned - 0.6 * (none - 12.0)).abs() < 1e-9, "{none} {turned}");
    assert!((none - ploughed - 0.3 * (none - 12.0)).abs() < 1e-9, "{none} {ploughed}");
}

#[test]
fn a_piece_taken_up_where_it_stands_goes_on_as_if_never_left() {
    let mut acts = programme(150.0);
    acts.sprinkles = vec![Sprinkle { at_h: 70.0, water_kg_t: 20.0, temperature_c: 10.0 }];
    acts.spreads = vec![Spread { at_h: 90.0, covered_fraction: 0.8 }];
    let whole = lain(&acts);
    let mut first = acts.clone();
    first.hand.hours = Some(63.25);
    let half = lain(&first);
    let c = Constants::default();
    let rest = resume(&half.state, &charge(), &vessel(), &acts, &c).unwrap();
    // The step that ends at the parting is a little shorter: Euler, not the same to the last bit.
    assert!((rest.out.temperature_c - whole.out.temperature_c).abs() < 1e-3);
    assert!((rest.out.dry_kg / whole.out.dry_kg - 1.0).abs() < 1e-6);
    assert!((rest.out.age_d - whole.out.age_d).abs() < 1e-4);
    assert!((rest.out.malting_loss_fraction - whole.out.malting_loss_fraction).abs() < 1e-6);
    assert_eq!(rest.out.turns, whole.out.turns);
    assert!((rest.out.carbon_dioxide_kg - whole.out.carbon_dioxide_kg).abs() < 1e-3);
    assert!(rest.balance.open().is_empty(), "{:?}", rest.balance.open());
    let times = rest.curves.get("time_h").unwrap();
    assert!((times[0] - 63.25).abs() < 1e-9 && (times[1] - 64.0).abs() < 1e-9, "{times:?}");
}

#[test]
fn a_noted_temperature_moves_what_is_ahead() {
    let mut until = programme(48.0);
    let state = lain(&until).state;
    until.hand.hours = None;
    until.hand.turn_above_c = 18.0;
    let c = Constants::default();
    let ahead = |state: &State| resume(state, &charge(), &vessel(), &until, &c).unwrap().out;
    let warmer = State { temperature_c: state.temperature_c + 4.0, ..state.clone() };
    let (as_reckoned, noted) = (ahead(&state), ahead(&warmer));
    assert!(noted.ready_h.unwrap() < as_reckoned.ready_h.unwrap() - 0.2);
    let unripe = State { turned_h: 50.0, ..state.clone() };
    let fault = resume(&unripe, &charge(), &vessel(), &until, &c).unwrap_err();
    assert_eq!(fault.field(), Some("state.turned_h"));
    let odd = State { temperature_c: f64::NAN, ..state.clone() };
    let fault = resume(&odd, &charge(), &vessel(), &until, &c).unwrap_err();
    assert_eq!(fault.field(), Some("state.temperature_c"));
    until.hand.hours = Some(20.0);
    let fault = resume(&state, &charge(), &vessel(), &until, &c).unwrap_err();
    assert_eq!(fault.field(), Some("hand.hours"));
}

#[test]
fn shutters_are_knots_of_the_air() {
    let still = lain(&programme(30.0));
    let knot = |at_h, air_c| AirKnot { at_h, air_c, air_relative_humidity: 0.85 };
    let with = |knots: Vec<AirKnot>| {
        let mut moved = programme(30.0);
        moved.air = knots;
        lain(&moved).out
    };
    let same = with(vec![knot(0.0, 12.0), knot(20.0, 12.0)]);
    assert!((same.temperature_c - still.out.temperature_c).abs() < 1e-12);
    let opened = with(vec![knot(10.0, 12.0), knot(11.0, 4.0)]);
    assert!(opened.temperature_c < still.out.temperature_c - 1.0, "{}", opened.temperature_c);
    let mut wrong = programme(30.0);
    wrong.air = vec![knot(10.0, 12.0), knot(10.0, 4.0)];
    let fault = run(&charge(), &vessel(), &wrong, &Constants::default()).unwrap_err();
    assert_eq!(fault.field(), Some("air[1].at_h"));
    wrong.air.clear();
    wrong.turns = vec![turn(f64::NAN, How::Turn)];
    let fault = run(&charge(), &vessel(), &wrong, &Constants::default()).unwrap_err();
    assert_eq!(fault.field(), Some("turn[0].at_h"));
}

/// What the room must carry off, summed over its curve, is what was given off in all.
#[test]
fn the_gas_of_each_hour_adds_up() {
    let run = lain(&programme(120.0));
    let rates = run.curves.get("carbon_dioxide_kg_h").unwrap();
    let sum: f64 = rates.windows(2).map(|w| 0.5 * (w[0] + w[1])).sum();
    assert!((sum / run.out.carbon_dioxide_kg - 1.0).abs() < 0.02, "{sum} {:?}", run.out);
    assert!(run.out.most_carbon_dioxide_kg_h >= rates.iter().copied().fold(0.0, f64::max));
    assert!(run.out.core_c > run.out.temperature_c);
}

/// Davidson and Jangaard (1978): a wet cast cuts breathing by 26 % at once, for up to 28 h.
#[test]
fn a_wet_cast_holds_the_breathing_back() {
    let charge_held = Charge { held_back_h: 28.0, ..charge() };
    let c = Constants::default();
    let held = run(&charge_held, &vessel(), &programme(60.0), &c).unwrap();
    let free = lain(&programme(60.0));
    let at = |run: &Run, hour| run.curves.at("carbon_dioxide_kg_h", hour).unwrap();
    let first = at(&held, 0.0) / at(&free, 0.0);
    assert!((first - 0.74).abs() < 1e-9, "{first}");
    assert!(at(&held, 20.0) < 0.80 * at(&free, 20.0));
    assert!(at(&held, 30.0) > 0.85 * at(&free, 30.0));
}
