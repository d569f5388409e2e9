//! Firings proposed, in a thin bed that runs in a moment.

use super::super::{
    Air, Charge, Constants, Firing, Out, Peat, Setting, Solve, State, Turn, Vessel, resume, run,
};
use super::trial::recut;
use super::{Asked, Proposal, Wanted, Weights, propose};
use gauge::{Fault, Record};

struct House {
    charge: Charge,
    vessel: Vessel,
    setting: Setting,
    usual: Firing,
    wanted: Wanted,
    weights: Weights,
    constants: Constants,
}

impl House {
    fn asked<'a>(&'a self, from: Option<&'a State>) -> Asked<'a> {
        Asked {
            charge: &self.charge,
            vessel: &self.vessel,
            setting: &self.setting,
            usual: &self.usual,
            wanted: &self.wanted,
            weights: &self.weights,
            constants: &self.constants,
            from,
        }
    }

    fn propose(&self) -> Result<Proposal, Fault> {
        propose(&self.asked(None), &mut |_| true)
    }

    /// What a firing comes to, and its fuel, by the kiln itself.
    fn kilned(&self, firing: &Firing) -> (Out, f64) {
        let mut setting = self.setting.clone();
        setting.solve.ready_moisture_wet = self.wanted.moisture_wet;
        let programme = firing.programme(&setting);
        let out = run(&self.charge, &self.vessel, &programme, &self.constants)
            .expect("a customary firing")
            .out;
        let fuel = out.oil_kg * self.vessel.oil_mj_kg * self.weights.oil
            + out.peat_kg * self.setting.peat.peat_mj_kg * self.weights.peat
            + out.fan_kwh * 3.6 * self.weights.electricity;
        (out, fuel)
    }
}

fn turn(at_h: f64) -> Turn {
    let mut turn = Turn::default();
    turn.set("at_h", at_h);
    turn
}

/// A bed of 0.15 m, unpeated, usually 14 h.
fn thin() -> House {
    House {
        charge: Charge {
            depth_m: 0.15,
            moisture_dry: 0.77,
            temperature_c: 18.0,
            ..Charge::default()
        },
        vessel: Vessel {
            area_m2: 10.0,
            wall_loss_w_k: 25.0,
            fan_kg_s: Some(1.8),
            burner_w: Some(100_000.0),
            ..Vessel::default()
        },
        setting: Setting {
            air: Air::default(),
            humidity_ratio: 0.0065,
            peat: Peat::default(),
            turns: Vec::new(),
            solve: Solve { cells: 20.0, step_s: 60.0, ..Solve::default() },
        },
        usual: Firing {
            dry_h: 10.0,
            flow_kg_m2_s: 0.09,
            cure_h: 4.0,
            returned: 0.5,
            ..Firing::default()
        },
        wanted: Wanted { by_h: Some(14.0), ..Wanted::default() },
        weights: Weights::default(),
        constants: Constants::default(),
    }
}

fn smoky() -> House {
    let mut house = thin();
    house.usual = Firing {
        peat_h: 4.0,
        peat_kg_t: 40.0,
        peat_c: 42.0,
        peat_flow_kg_m2_s: Some(0.07),
        dry_h: 9.0,
        ..house.usual
    };
    house.wanted = Wanted { phenols_mg_kg_dry: 8.0, by_h: Some(17.0), ..Wanted::default() };
    house
}

/// Method: every firing of a grid over drying, cure, air sent back and flow is run by the kiln
/// itself; those that keep to the wishes are held against the proposal. None may be cheaper by
/// more than 1 %, the error that the page of the proposal states.
#[test]
fn a_brute_search_finds_nothing_cheaper() {
    let house = thin();
    let found = house.propose().expect("wishes that hold together");
    let (out, fuel) = house.kilned(&found.firing);
    assert!((fuel - found.short.fuel_mj).abs() < 1e-6 * fuel);
    assert!(out.moisture_wet <= house.wanted.moisture_wet && out.ready_h.is_some());
    let mut best = f64::INFINITY;
    let mut kept = 0;
    for dry_c in [48.0, 51.0, 54.0, 56.0, 58.0] {
        for (cure_c, cure_h) in
            [(65.0, 3.0), (65.0, 5.0), (70.0, 3.0), (70.0, 5.0), (75.0, 3.0), (75.0, 5.0)]
        {
            for returned in [0.25, 0.5] {
                for step in 0..11 {
                    let firing = Firing {
                        dry_h: 14.0 - cure_h,
                        dry_c,
                        cure_h,
                        cure_c,
                        returned,
                        flow_kg_m2_s: 0.05 + 0.004 * f64::from(step),
                        ..house.usual.clone()
                    };
                    let (out, fuel) = house.kilned(&firing);
                    let keeps = out.moisture_wet <= house.wanted.moisture_wet
                        && out.enzymes_at_risk_h <= house.wanted.at_risk_most_h;
                    if keeps {
                        kept += 1;
                        best = best.min(fuel);
                    }
                }
            }
        }
    }
    println!("kept {kept}; best of the grid {best:.1} MJ, proposed {fuel:.1} MJ");
    assert!(kept > 50, "{kept}");
    assert!(best > 0.99 * fuel, "grid {best}, proposed {fuel}");
}

#[test]
fn the_proposal_is_cheaper_than_the_usual_firing_and_says_what_binds() {
    let house = thin();
    let found = house.propose().expect("wishes that hold together");
    let present = found.present.expect("the usual firing runs");
    assert!(found.short.fuel_mj < present.fuel_mj, "{:?} {present:?}", found.short);
    assert!(found.earliest_h < 14.0 && found.short.hours <= 14.0 + 1e-9);
    let keys: Vec<&str> = found.binds.iter().map(|bind| bind.key).collect();
    assert!(keys.contains(&"returned_most"), "{keys:?}");
    assert!(!keys.contains(&"fan") && !keys.contains(&"burner"), "{keys:?}");
}

#[test]
fn smoke_comes_out_as_wanted() {
    let house = smoky();
    let found = house.propose().expect("wishes that hold together");
    let (out, _) = house.kilned(&found.firing);
    assert!((out.phenols_mg_kg_dry / 8.0 - 1.0).abs() < 0.01, "{}", out.phenols_mg_kg_dry);
    assert!(found.firing.peat_rate_kg_t_h() <= 10.0 + 1e-9);
    // The air over the peat carries off its heat, as that of the usual firing does.
    let taken = |f: &Firing| (1020.0 * f.peat_flow() + 2.5) * (f.peat_c - 10.0);
    let given = |f: &Firing| f.peat_rate_kg_t_h() / 3600.0 * 13.5e6 * 0.15 * 0.35;
    assert!(taken(&house.usual) > given(&house.usual));
    assert!(taken(&found.firing) > 0.98 * given(&found.firing));
}

#[test]
fn an_end_too_soon_is_told_with_the_soonest_there_is() {
    let mut house = thin();
    house.wanted.by_h = Some(4.0);
    let fault = house.propose().expect_err("four hours are too few");
    assert_eq!(fault.field(), Some("wanted.by_h"));
    let says = fault.to_string();
    let soonest = says.split("; ").nth(1).and_then(|s| s.split(" h would do").next());
    let soonest: f64 = soonest.and_then(|s| s.parse().ok()).unwrap_or_else(|| panic!("{says}"));
    house.wanted.by_h = Some(soonest + 0.3);
    let found = house.propose().expect("what was said to do");
    assert!(found.binds.iter().any(|bind| bind.key == "by_h"), "{:?}", found.binds);
}

#[test]
fn what_no_firing_gives_is_told_with_what_would() {
    let mut house = thin();
    house.wanted.moisture_wet = 0.02;
    let dry = house.propose().expect_err("drier than the air leaves malt");
    assert_eq!(dry.field(), Some("wanted.moisture_wet"));

    let mut house = smoky();
    house.wanted.phenols_mg_kg_dry = 120.0;
    let smoke = house.propose().expect_err("more smoke than the hearth gives");
    assert_eq!(smoke.field(), Some("wanted.phenols_mg_kg_dry"));
    assert!(smoke.to_string().contains("or ask for"), "{smoke}");

    let mut house = thin();
    house.wanted.cure_least_c = 80.0;
    let cure = house.propose().expect_err("least above most");
    assert_eq!(cure.field(), Some("wanted.cure_least_c"));

    let mut house = thin();
    house.vessel.burner_w = Some(15_000.0);
    let burner = house.propose().expect_err("a burner for half the air");
    println!("{burner}");
    assert!(matches!(burner, Fault::Unworkable { .. }), "{burner}");
}

#[test]
fn of_a_lit_kiln_only_what_lies_ahead_is_moved() {
    let mut house = smoky();
    house.setting.turns = vec![turn(9.0)];
    let smoking = Firing { dry_h: 0.0, cure_h: 0.0, ..house.usual.clone() };
    let begun = Firing { dry_h: 3.0, ..smoking };
    let programme = begun.programme(&house.setting);
    let lit = run(&house.charge, &house.vessel, &programme, &house.constants)
        .expect("a customary firing");
    let found = propose(&house.asked(Some(&lit.state)), &mut |_| true).expect("time enough");
    let past = (found.firing.peat_h, found.firing.peat_kg_t, found.firing.peat_c);
    assert_eq!(past, (house.usual.peat_h, house.usual.peat_kg_t, house.usual.peat_c));
    assert!(found.firing.peat_h + found.firing.dry_h >= lit.state.time_h);
    assert!(found.binds.iter().any(|bind| bind.key == "smoke_past"), "{:?}", found.binds);
    let rest = resume(
        &lit.state,
        &house.charge,
        &house.vessel,
        &found.firing.programme(&house.setting),
        &house.constants,
    )
    .expect("the rest of it");
    assert!(rest.out.moisture_wet <= house.wanted.moisture_wet);
    assert!((rest.out.oil_kg - found.short.oil_kg).abs() < 1e-9);
}

#[test]
fn a_search_stopped_gives_the_best_so_far_or_says_so() {
    let house = thin();
    let mut shares = Vec::new();
    let none = propose(&house.asked(None), &mut |share| {
        shares.push(share);
        false
    });
    assert!(matches!(none, Err(Fault::Unworkable { .. })) || none.is_ok_and(|p| p.stopped));
    let mut calls = 0;
    let mut last = 0.0;
    let some = propose(&house.asked(None), &mut |share| {
        calls += 1;
        assert!((last..=1.0).contains(&share), "{share} after {last}");
        last = share;
        calls < 60
    });
    let some = some.expect("a firing is found by then");
    assert!(some.stopped);
    assert!(some.short.moisture_wet <= house.wanted.moisture_wet);
    assert!(some.short.hours <= 14.0 + 1e-9);
}

#[test]
fn air_comes_back_only_after_the_break() {
    let mut house = thin();
    house.setting.air.returned_below = 0.95;
    let found = house.propose().expect("wishes that hold together");
    let curves = &found.run.curves;
    let fresh = house.setting.humidity_ratio;
    let column = |key: &str| curves.get(key).expect("a column of the kiln").to_vec();
    let rows = column("time_h").into_iter().zip(column("air_on_humidity_ratio"));
    let back = rows.filter(|(_, ratio)| *ratio > 1.02 * fresh).map(|(time_h, _)| time_h);
    let first = back.fold(f64::INFINITY, f64::min);
    let broke = found.run.out.break_h.expect("a bed that is dried breaks");
    assert!(first > broke - 0.3, "air back at {first} h, break at {broke} h");
    assert!(first.is_finite());
}

#[test]
fn a_bed_cut_anew_holds_what_it_held() {
    let state = State {
        time_h: 3.0,
        moisture_dry: (0..40).map(|i| 0.1 + 0.01 * f64::from(i)).collect(),
        grain_c: (0..40).map(|i| 50.0 - f64::from(i) / 2.0).collect(),
        phenols_mg_kg_dry: (0..40).map(f64::from).collect(),
    };
    for cells in [4.0, 23.0, 40.0, 57.0] {
        let cut = recut(&state, cells);
        let mean = |v: &[f64]| v.iter().sum::<f64>() / v.len() as f64;
        assert_eq!(cut.moisture_dry.len(), cells as usize);
        assert!((mean(&cut.moisture_dry) - mean(&state.moisture_dry)).abs() < 1e-12);
        assert!((mean(&cut.phenols_mg_kg_dry) - mean(&state.phenols_mg_kg_dry)).abs() < 1e-12);
    }
}
