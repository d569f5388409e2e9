//! What is read out of a kilning: phases, the bed by depth, what would dry it, the index.

use super::PhaseKind::{Break, Curing, Falling, Free, Ready};
use super::figures::{Air, Peat, Solve};
use super::*;

/// A bed of 0.4 m, air-on 60 °C for a day: case B of the reference.
fn case() -> Case {
    Case {
        charge: Charge {
            depth_m: 0.4,
            moisture_dry: 0.818182,
            temperature_c: 20.0,
            ..Charge::default()
        },
        vessel: Vessel::default(),
        programme: Programme {
            air: Air { flow_kg_m2_s: 0.18, ..Air::default() },
            on: vec![AirKnot { at_h: 0.0, temperature_c: 60.0, ..AirKnot::default() }],
            turns: Vec::new(),
            peat: Peat::default(),
            solve: Solve { hours: 24.0, ..Solve::default() },
        },
        constants: Constants::default(),
    }
}

fn dried(change: impl FnOnce(&mut Case)) -> Run {
    let mut case = case();
    change(&mut case);
    run(&case.charge, &case.vessel, &case.programme, &case.constants).unwrap()
}

/// Gentle until after the break, then hot.
fn with_cure(c: &mut Case) {
    let knot = |at_h, temperature_c| AirKnot { at_h, temperature_c, ..AirKnot::default() };
    c.programme.on = vec![knot(0.0, 55.0), knot(16.0, 55.0), knot(17.0, 68.0)];
}

#[test]
fn the_phases_follow_one_another_and_fill_the_run() {
    let run = dried(with_cure);
    let kinds: Vec<PhaseKind> = run.phases.iter().map(|p| p.kind).collect();
    assert_eq!(kinds, [Free, Break, Falling, Curing, Ready]);
    assert_eq!(run.phases[0].from_h, 0.0);
    assert_eq!(run.phases[4].to_h, 24.0);
    for pair in run.phases.windows(2) {
        assert_eq!(pair[0].to_h, pair[1].from_h);
    }
    let at = |key: &str, h: f64| run.curves.at(key, h).unwrap();
    let [free, broken, falling, curing, _] = run.phases[..] else { panic!("five phases") };
    // Each mark is where the curves have it, to a row of a quarter hour.
    assert!(at("air_off_relative_humidity", free.to_h - 0.25) > 0.95);
    assert!(at("air_off_relative_humidity", free.to_h + 0.25) < 0.95);
    assert_eq!(Some(broken.to_h), run.out.break_h);
    assert!(at("mean_moisture_dry", falling.to_h) <= 0.12 / 0.88 + 1e-3);
    assert!(at("air_on_c", curing.from_h + 0.05) > 66.9, "the cure is hot");
    assert_eq!(Some(curing.to_h), run.out.ready_h);
    // With the hottest air from the start, curing begins at 12 %.
    let steady = dried(|_| {});
    let curing = steady.phases.iter().find(|p| p.kind == Curing).unwrap();
    let mean = steady.curves.at("mean_moisture_dry", curing.from_h).unwrap();
    assert!((mean - 0.12 / 0.88).abs() < 2e-3, "{mean}");
}

#[test]
fn a_run_that_stops_early_has_the_phases_it_came_to() {
    let run = dried(|c| c.programme.solve.hours = 6.0);
    assert_eq!(run.phases.len(), 1, "{:?}", run.phases);
    assert_eq!(run.phases[0].kind, PhaseKind::Free);
    assert!((run.out.free_h - 6.0).abs() < 0.05, "{}", run.out.free_h);
}

#[test]
fn the_field_by_depth_is_the_run_itself() {
    let run = dried(|_| {});
    let depths = &run.depths;
    assert_eq!(depths.times_h, run.curves.get("time_h").unwrap());
    assert_eq!(depths.shares.len(), 24);
    for (row, mean) in depths.moisture_dry.iter().zip(run.curves.get("mean_moisture_dry").unwrap())
    {
        let of_layers = row.iter().sum::<f64>() / 24.0;
        assert!((of_layers - mean).abs() < 2e-3, "{of_layers} {mean}");
    }
    for (key, share) in [("moisture_dry_30", 0.3), ("moisture_dry_70", 0.7)] {
        let (curve, field) = (run.curves.at(key, 7.0), depths.moisture_at(share, 7.0));
        assert!((curve.unwrap() - field.unwrap()).abs() < 5e-3, "{key}");
    }
    // As coarse a bed as may be reckoned keeps its own cells.
    let thin = dried(|c| {
        c.charge.depth_m = 0.05;
        c.programme.solve.cells = 8.0;
    });
    assert_eq!(thin.depths.shares.len(), 8);
}

#[test]
fn the_front_rises_from_wire_to_top() {
    let run = dried(|_| {});
    let line = run.depths.contour(0.40);
    assert_eq!(line.first().unwrap().1, 0.0);
    assert_eq!(line.last().unwrap().1, 1.0);
    for pair in line.windows(2) {
        assert!(pair[1].0 > pair[0].0 && pair[1].1 > pair[0].1, "{pair:?}");
    }
    for (time_h, share) in &line[1..line.len() - 1] {
        let there = run.depths.moisture_at(*share, *time_h).unwrap();
        assert!((there - 0.40).abs() < 1e-9, "{there} at {time_h} h");
    }
    assert!(run.depths.contour(1.1).is_empty(), "drier from the start");
    assert!(run.depths.contour(0.01).is_empty(), "never as dry");
    // A turn brings the wet top down: the front falls back to the wire.
    let turned = dried(|c| c.programme.turns.push(Turn { at_h: 6.0, ..Turn::default() }));
    let after = turned.depths.contour(0.40).into_iter().find(|(t, _)| *t > 6.3);
    let before = line.iter().find(|(t, _)| *t > 6.3).unwrap();
    assert!(after.unwrap().1 < 0.5 * before.1, "{after:?} {before:?}");
}

/// All of the bed at a moisture `ΔM` lower sinks by `15.91 [1 − exp(−0.0996 ΔM)]` %.
#[test]
fn the_bed_sinks_as_it_dries() {
    let run = dried(|_| {});
    let height = |share, h| run.depths.height_m(share, h).unwrap();
    assert!((height(1.0, 0.0) - 0.4).abs() < 1e-12);
    assert!((height(0.5, 0.0) - 0.2).abs() < 1e-12);
    let lost: f64 = 100.0 * (0.818182 - 0.0335);
    let wanted = 0.4 * (1.0 - 0.1591 * (1.0 - (-0.0996 * lost).exp()));
    assert!((height(1.0, 24.0) - wanted).abs() < 1e-4, "{} {wanted}", height(1.0, 24.0));
    assert!(height(0.3, 6.0) < 0.3 * 0.4 && height(1.0, 6.0) > wanted, "the top is still wet");
}

#[test]
fn phenols_by_depth_are_those_of_the_bed() {
    let run = dried(|c| {
        c.programme.peat = Peat { hours: 4.0, peat_kg_t: 20.0, ..Peat::default() };
        c.programme.on[0].temperature_c = 50.0;
    });
    let layers = &run.depths.phenols_mg_kg_dry;
    // The foot dries first and takes least; above it the layers nearest the fire take most.
    let most = layers.iter().copied().fold(0.0, f64::max);
    assert!(most > 3.0 * layers[0] && most > 2.0 * layers[23], "{layers:?}");
    let mean = layers.iter().sum::<f64>() / 24.0;
    assert!((mean / run.out.phenols_mg_kg_dry - 1.0).abs() < 2e-3, "{mean}");
}

#[test]
fn malt_too_moist_is_told_how_long_it_wants() {
    let mut short = case();
    short.programme.solve.hours = 13.0;
    let Case { charge, vessel, programme, constants } = &short;
    let ended = run(charge, vessel, programme, constants).unwrap();
    assert!(ended.out.ready_h.is_none());
    let more = reach(&ended.state, charge, vessel, programme, constants).unwrap();
    assert_eq!(more.air_on_c, 60.0);
    let whole = dried(|_| {}).out.ready_h.unwrap();
    assert!((13.0 + more.hours_h - whole).abs() < 0.02, "{} of {whole}", more.hours_h);
    let report = <Kiln as crate::Stage>::report(&short).unwrap();
    let moist = report.warnings.iter().find(|w| w.code == "still moist").unwrap();
    assert!(moist.says.contains(&format!("{:.1} h more at 60 °C", more.hours_h)), "{}", moist.says);
}

#[test]
fn air_too_mild_ever_to_dry_it_is_told_what_would() {
    let mut mild = case();
    // At rest with this air malt holds more than 4.5 %.
    mild.programme.on[0].temperature_c = 40.0;
    mild.programme.on[0].humidity_ratio = 0.012;
    mild.programme.solve.hours = 30.0;
    let Case { charge, vessel, programme, constants } = &mild;
    let ended = run(charge, vessel, programme, constants).unwrap();
    let more = reach(&ended.state, charge, vessel, programme, constants).unwrap();
    assert!(more.air_on_c > 45.0 && more.hours_h <= 12.0, "{more:?}");
    assert!(more.says(40.0).contains("would not get there"), "{}", more.says(40.0));
    // It does.
    let mut hotter = mild.programme.clone();
    hotter.on.push(AirKnot { at_h: 30.0, ..hotter.on[0].clone() });
    hotter.on.push(AirKnot { at_h: 30.01, temperature_c: more.air_on_c, ..hotter.on[0].clone() });
    hotter.solve.hours = 30.0 + more.hours_h + 0.1;
    let run = run(charge, vessel, &hotter, constants).unwrap();
    assert!(run.out.ready_h.is_some(), "{}", run.out.moisture_wet);
}

/// By hand: 2 mg/m³ over the hours of free drying, 0.3 for sulphur, 0.05 for a stove.
#[test]
fn the_index_of_nitrosamines_orders_firings() {
    let index = |direct: f64, sulphur: f64| {
        let run = dried(|c| {
            c.vessel.nox_mg_m3 = 2.0;
            c.vessel.direct_fraction = direct;
            c.programme.air.sulphur_kg_t = sulphur;
            c.programme.solve.hours = 12.0;
        });
        (run.out.ndma_index, 2.0 * run.out.free_h)
    };
    for (direct, sulphur, share) in
        [(1.0, 0.0, 1.0), (1.0, 2.0, 0.3), (0.0, 0.0, 0.05), (0.0, 1.0, 0.015)]
    {
        let (found, hours) = index(direct, sulphur);
        assert!(hours > 10.0, "free drying of some hours, {hours}");
        assert!((found / hours - share).abs() < 1e-12, "{found} of {hours}");
    }
}

/// Errors at 40 cells and 30 s beside the converged reckoning, as measured: mean moisture 5.7e-5,
/// moisture by depth 4.4e-4, air-off 0.009 K. The bounds keep them from growing.
#[test]
fn errors_at_forty_cells_are_known() {
    let run = dried(|_| {});
    let (mut moisture, mut air, mut field) = (0.0_f64, 0.0_f64, 0.0_f64);
    for row in super::tests::rows("B_deep") {
        let figure = |column: &str| row.iter().find(|(head, _)| head == column).unwrap().1;
        let off = |key: &str, column: &str| {
            (run.curves.at(key, figure("t_h")).unwrap() - figure(column)).abs()
        };
        moisture = moisture.max(off("mean_moisture_dry", "M_mean_db"));
        air = air.max(off("air_off_c", "Ta_off_C"));
        for d in [10, 30, 50, 70, 90] {
            field = field.max(off(&format!("moisture_dry_{d}"), &format!("M_{d}")));
        }
    }
    assert!(moisture < 1e-4, "{moisture:e}");
    assert!(field < 5e-4, "{field:e}");
    assert!(air < 0.05, "{air}");
}
