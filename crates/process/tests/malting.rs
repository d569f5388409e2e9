//! Barley to rested malt, each stage taking what the one before gives. Ranges are common practice
//! of the trade, no source; no constant was set to meet them.

use process::bin::{self, AllConstants, AnalysisConstants, Emptying, Layer, Making, Measures};
use process::floor::{self, Hand};
use process::kiln::{self, Air, AirKnot, Peat, Solve};
use process::steep::{self, Kind, Phase, Stretch};

fn steeped() -> steep::Run {
    let phase = |kind, hours| Phase { kind, stretch: Stretch { hours, temperature_c: 13.5 } };
    let programme = steep::Programme {
        phases: vec![
            phase(Kind::Wet, 8.0),
            phase(Kind::Rest, 14.0),
            phase(Kind::Wet, 9.0),
            phase(Kind::Rest, 10.0),
            phase(Kind::Wet, 5.0),
        ],
        ..steep::Programme::default()
    };
    let barley = steep::Charge { dry_kg: 8096.0, moisture_wet: 0.12, ..steep::Charge::default() };
    let vessel = steep::Vessel { fill_kg: 8500.0, ..steep::Vessel::default() };
    steep::run(&barley, &vessel, &programme, &steep::Constants::default())
        .expect("a customary batch runs")
}

#[test]
fn barley_becomes_rested_malt() {
    let steeped = steeped();
    let laid = floor::Programme {
        // In weather of 12 °C the piece is laid thick: over three quarters of its floor.
        hand: Hand { covered_fraction: 0.75, ..Hand::default() },
        ..floor::Programme::default()
    };
    let place = floor::Vessel { area_m2: 185.0 };
    let cast = floor::Charge::cast(&steeped.out);
    let piece = floor::run(&cast, &place, &laid, &floor::Constants::default())
        .expect("a customary batch runs");

    let wire = kiln::Vessel { area_m2: 52.0, ..kiln::Vessel::default() };
    let knot = |at_h, temperature_c| AirKnot {
        at_h,
        temperature_c,
        humidity_ratio: 0.0065,
        flow_kg_m2_s: None,
    };
    let kilned = kiln::Programme {
        air: Air { flow_kg_m2_s: 0.104, ..Air::default() },
        on: vec![knot(0.0, 55.0), knot(20.0, 55.0), knot(22.0, 68.0)],
        turns: Vec::new(),
        peat: Peat::default(),
        solve: Solve { hours: 28.0, ..Solve::default() },
    };
    let bed = kiln::Charge::spread(&piece.out, 52.0);
    let dried = kiln::run(&bed, &wire, &kilned, &kiln::Constants::default())
        .expect("a customary batch runs");

    let constants = AnalysisConstants::default();
    let analysis = bin::analysis::expected(&Making::of(&piece.out, &dried.out), &constants);
    let layers = vec![Layer::laid(&piece.out, &dried.out, &analysis)];
    let charge = bin::Charge { layers, ..bin::Charge::default() };
    let vessel = bin::Vessel {
        measures: Measures { holds_kg: 16_000.0, area_m2: 7.0 },
        emptying: Emptying::Sinking,
    };
    let draw = bin::Programme { days: 28.0, draw_kg: 2500.0, ..bin::Programme::default() };
    let rested = bin::run(&charge, &vessel, &draw, &AllConstants::default())
        .expect("a customary batch runs");

    for balance in [&steeped.balance, &piece.balance, &dried.balance, &rested.balance] {
        assert!(balance.open().is_empty(), "{:?}", balance.open());
    }
    let within = |what: &str, value: f64, low: f64, high: f64| {
        println!("{what}: {value:.3}, practice {low} to {high}");
        assert!((low..=high).contains(&value), "{what}: {value}, practice {low} to {high}");
    };
    within("out of steep, %", 100.0 * steeped.out.moisture_wet, 40.0, 47.0);
    within("days on the floor", piece.out.hours / 24.0, 6.0, 12.0);
    within("green malt, %", 100.0 * piece.out.moisture_wet, 40.0, 47.0);
    within("bed, m", bed.depth_m, 0.3, 0.6);
    within("malt, %", 100.0 * dried.out.moisture_wet, 2.0, 6.0);
    let barley_t = 8.096 / 0.88;
    within("malt a tonne of barley, kg", dried.out.mass_kg / barley_t, 780.0, 860.0);
    let predicted = rested.out.predicted_spirit_yield_l_t.expect("a customary batch runs");
    within("predicted litres a tonne", predicted, 380.0, 430.0);
}
