//! The kiln's own limits: fan, flue, burner, depth; open fires and leaks.

use super::figures::{Air, Peat, Solve};
use super::*;

/// A bed of 0.4 m, air-on 60 °C, 0.18 kg/(m² s), twelve hours.
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
            solve: Solve { hours: 12.0, ..Solve::default() },
        },
        constants: Constants::default(),
    }
}

fn dried(change: impl FnOnce(&mut Case)) -> Result<Run, Fault> {
    let mut case = case();
    change(&mut case);
    run(&case.charge, &case.vessel, &case.programme, &case.constants)
}

fn limit(fault: &Fault) -> f64 {
    match fault {
        Fault::Beyond { limit, .. } => *limit,
        other => panic!("{other}"),
    }
}

fn says(run: &Run, code: &str) -> String {
    let found = run.warnings.iter().find(|w| w.code == code);
    found.unwrap_or_else(|| panic!("no {code} in {:?}", run.warnings)).says.clone()
}

#[test]
fn a_bed_deeper_than_the_kiln_is_told_what_would_lie_in_it() {
    let fault = dried(|c| {
        c.vessel.deepest_m = Some(0.3);
        c.vessel.area_m2 = 50.0;
    })
    .unwrap_err();
    assert_eq!(fault.field(), Some("bed.depth_m"));
    // 0.3 m of 350 kg/m³ on 50 m².
    assert!(fault.to_string().contains("5250 kg"), "{fault}");
    assert!(dried(|c| c.vessel.deepest_m = Some(0.4)).is_ok());
}

#[test]
fn moisture_that_reads_like_the_other_basis_is_asked_about() {
    let like = dried(|c| c.charge.moisture_dry = 0.45).unwrap();
    let told = says(&like, "moisture basis");
    // 0.45/0.55 on dry matter; 0.45/1.45 of the whole.
    assert!(told.contains("0.818") && told.contains("31.0 %"), "{told}");
    for fine in [0.70, 0.818182, 0.25] {
        let run = dried(|c| c.charge.moisture_dry = fine).unwrap();
        assert!(run.warnings.iter().all(|w| w.code != "moisture basis"), "{fine}");
    }
    let per_cent = dried(|c| c.charge.moisture_dry = 45.0).unwrap_err().to_string();
    assert!(per_cent.contains("is 0.45 ") && per_cent.contains("or 0.8182 "), "{per_cent}");
}

#[test]
fn air_on_above_saturation_is_told_the_most_it_holds() {
    let fault = dried(|c| {
        c.programme.on[0].temperature_c = 20.0;
        c.programme.on[0].humidity_ratio = 0.02;
    })
    .unwrap_err();
    assert_eq!(fault.field(), Some("air.on[0].humidity_ratio"));
    // 0.621945 × 2338.8/(101325 − 2338.8).
    assert!((limit(&fault) - 0.014695).abs() < 1e-6, "{fault}");
    assert!(fault.to_string().contains("saturated at 20.0 °C"), "{fault}");
}

#[test]
fn air_beyond_the_fan_is_told_the_most_it_moves() {
    let fan = |c: &mut Case| {
        c.vessel.area_m2 = 50.0;
        c.vessel.fan_kg_s = Some(8.0);
    };
    let fault = dried(fan).unwrap_err();
    assert_eq!(fault.field(), Some("air.flow_kg_m2_s"));
    assert!((limit(&fault) - 0.16).abs() < 1e-12, "{fault}");
    // A knot's own flow is named by its knot, and the general flow that no knot takes is not.
    let knot = dried(|c| {
        fan(c);
        c.programme.on[0].flow_kg_m2_s = Some(0.17);
    });
    assert_eq!(knot.unwrap_err().field(), Some("air.on[0].flow_kg_m2_s"));
    assert!(
        dried(|c| {
            fan(c);
            c.programme.on[0].flow_kg_m2_s = Some(8.0 / 50.0);
        })
        .is_ok()
    );
}

#[test]
fn a_bed_that_resists_more_than_the_fan_is_told_what_would_pass() {
    let with = |flow: f64, pa: f64| {
        dried(|c| {
            c.vessel.fan_pa = Some(pa);
            c.programme.air.flow_kg_m2_s = flow;
        })
    };
    let fault = with(0.18, 150.0).unwrap_err();
    assert_eq!(fault.field(), Some("air.flow_kg_m2_s"));
    let most = limit(&fault);
    assert!(with(0.999 * most, 150.0).is_ok(), "{most} passes");
    assert!(with(1.001 * most, 150.0).is_err(), "no more than {most} passes");
    // The dry bed and its warm air resist more than the wet one: the air falls and is told.
    let late = with(0.999 * most, 150.0).unwrap();
    let told = says(&late, "air short");
    assert!(told.contains("fan"), "{told}");
    let flow = late.curves.get("flow_kg_m2_s").unwrap();
    let drop = late.curves.get("pressure_drop_pa").unwrap();
    assert!(flow[48] < 0.97 * flow[0], "{} after {}", flow[48], flow[0]);
    assert!(drop.iter().all(|pa| *pa < 165.0), "{drop:?}");
}

#[test]
fn a_flue_draws_what_its_warm_column_bears() {
    let drawn = |flue_m: f64| {
        dried(|c| {
            c.charge.depth_m = 0.15;
            c.vessel.flue_m = Some(flue_m);
            c.programme.solve.hours = 16.0;
        })
        .unwrap()
    };
    let (low, high) = (drawn(6.0), drawn(14.0));
    assert_eq!(low.out.fan_kwh, 0.0, "no fan, no electricity");
    let at = |run: &Run, key: &str, h: f64| run.curves.at(key, h).unwrap();
    // By hand: ρ of the weather less ρ under the roof, times g and the height, is the drop.
    let density =
        |c: f64, w: f64| (1.0 + w) / (287.042 * (c + 273.15) * (1.0 + 1.607_858 * w) / 101_325.0);
    let (c, w) = (at(&high, "air_off_c", 15.0), at(&high, "air_off_humidity_ratio", 15.0));
    let draught = 9.81 * 14.0 * (density(10.0, 0.008) - density(c, w));
    let drop = at(&high, "pressure_drop_pa", 15.0);
    assert!((drop / draught - 1.0).abs() < 0.02, "{drop} Pa, draught {draught} Pa");
    assert!((8.0..40.0).contains(&drop), "some 13 to 20 Pa in old kilns, {drop}");
    for h in [6.0, 12.0] {
        assert!(at(&high, "flow_kg_m2_s", h) > at(&low, "flow_kg_m2_s", h), "taller draws more");
    }
    assert!(high.out.moisture_dry < low.out.moisture_dry, "more air never dries slower");
}

#[test]
fn a_burner_too_small_holds_the_air_on_it_can() {
    let short = dried(|c| c.vessel.burner_w = Some(7000.0)).unwrap();
    let told = says(&short, "burner short");
    let on = short.curves.at("air_on_c", 6.0).unwrap();
    // 7000 W into 0.18 kg/(m² s) of air of 10 °C and 0.008, c = 1006 + 1860 × 0.008.
    let by_hand = 10.0 + 7000.0 / (0.18 * (1006.0 + 1860.0 * 0.008));
    assert!((on - by_hand).abs() < 1e-6, "{on} for {by_hand}");
    assert!(told.contains(&format!("{by_hand:.1} °C")), "{told}");
    assert!((short.out.heat_kwh - 7.0 * 12.0).abs() < 1e-6, "{}", short.out.heat_kwh);
    let enough = dried(|c| c.vessel.burner_w = Some(9300.0)).unwrap();
    assert!(enough.warnings.iter().all(|w| w.code != "burner short"));
    assert_eq!(enough.out, dried(|_| {}).unwrap().out, "a burner large enough changes nothing");
}

/// 9187.9 W/m² by oil of 42.7 MJ/kg, nothing lost: 2.152e-4 kg/(m² s), 0.001375 wetter; 0.5 %.
#[test]
fn an_open_fire_makes_the_air_wetter() {
    let open = dried(|c| {
        c.vessel.direct_fraction = 1.0;
        c.vessel.burner_efficiency = 1.0;
    })
    .unwrap();
    let wetter = open.curves.get("air_on_humidity_ratio").unwrap()[4] - 0.008;
    assert!((wetter / 0.001375 - 1.0).abs() < 0.005, "{wetter}");
    let oil = open.out.oil_kg / (12.0 * 3600.0);
    assert!((oil / 2.152e-4 - 1.0).abs() < 0.005, "{oil}");
    // All of the oil's net heat is in the air: sensible heat of air, vapour and fire's vapour.
    let heat = 0.18 * (1006.0 * 50.0 + 1860.0 * (0.008 * 50.0 + wetter * 60.0));
    assert!((open.out.heat_kwh * 3.6e6 / (12.0 * 3600.0) / heat - 1.0).abs() < 1e-9);
    assert!(open.balance.open().is_empty(), "{:?}", open.balance.open());
}

#[test]
fn peat_gives_its_water_and_its_heat() {
    let peat = Peat { hours: 4.0, peat_kg_t: 30.0, ..Peat::default() };
    let smoked = dried(|c| c.programme.peat = peat.clone()).unwrap();
    // 30 kg a tonne of the 140 kg/m² in four hours; 0.30 + 0.70 × 0.55 of it is water.
    let rate = 30.0 * 0.14 / (4.0 * 3600.0);
    let wetter = smoked.curves.at("air_on_humidity_ratio", 2.0).unwrap() - 0.008;
    assert!((wetter - rate * 0.685 / 0.18).abs() < 1e-12, "{wetter}");
    let plain = dried(|_| {}).unwrap();
    let spared = (plain.out.oil_kg - smoked.out.oil_kg) * 0.85 * 42.7;
    // The peat's net heat less what its own vapour takes up to the air-on.
    let heat = 30.0 * 0.14 * (13.5 - 0.685 * 1860.0 * 60.0 / 1e6);
    assert!((spared / heat - 1.0).abs() < 1e-9, "{spared} MJ of {heat}");
    // A hearth that keeps half of its heat spares half of it, and wets the air as much.
    let half = dried(|c| {
        c.programme.peat = peat.clone();
        c.vessel.peat_heat_fraction = 0.5;
    })
    .unwrap();
    let spared = (plain.out.oil_kg - half.out.oil_kg) * 0.85 * 42.7;
    let heat = 30.0 * 0.14 * (0.5 * 13.5 - 0.685 * 1860.0 * 60.0 / 1e6);
    assert!((spared / heat - 1.0).abs() < 1e-9, "{spared} MJ of {heat}");
    assert_eq!(half.out.moisture_dry, smoked.out.moisture_dry);
    // Ten times the peat is more heat than the air takes.
    let hot = dried(|c| c.programme.peat = Peat { peat_kg_t: 300.0, ..peat }).unwrap();
    assert!(says(&hot, "peat too hot").contains("kW"));
}

#[test]
fn air_past_the_bed_is_heated_for_nothing() {
    let tight = dried(|_| {}).unwrap();
    let leaky = dried(|c| c.vessel.leak_fraction = 0.1).unwrap();
    assert!((leaky.out.heat_kwh / tight.out.heat_kwh - 1.0).abs() < 1e-9, "as much is heated");
    assert!(leaky.out.moisture_dry > tight.out.moisture_dry + 0.01, "less of it dries");
    // Less air through the bed is the same as a smaller flow that all goes through it.
    let slow = dried(|c| c.programme.air.flow_kg_m2_s = 0.9 * 0.18).unwrap();
    assert!((leaky.out.moisture_dry - slow.out.moisture_dry).abs() < 1e-12);
    let off = |run: &Run| run.curves.at("air_off_c", 4.0).unwrap();
    assert!(off(&leaky) > off(&slow) + 2.0, "the thermometer under the roof reads the mixture");
    assert!(leaky.balance.open().is_empty());
}

#[test]
fn a_turn_half_done_leaves_half_the_difference() {
    let turned = |share: f64| {
        dried(|c| {
            c.programme.turns.push(Turn { at_h: 6.0, mixed_fraction: share });
            c.programme.solve.hours = 6.0001;
        })
        .unwrap()
    };
    let spread = |run: &Run| run.out.top_moisture_dry - run.out.bottom_moisture_dry;
    let (none, half, whole) = (turned(0.0), turned(0.5), turned(1.0));
    assert!(spread(&none) > 0.6, "{}", spread(&none));
    assert!((spread(&half) / spread(&none) - 0.5).abs() < 1e-3, "{}", spread(&half));
    assert!(spread(&whole).abs() < 1e-3, "{}", spread(&whole));
}
