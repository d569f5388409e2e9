//! A firing proposed with the least fuel, for malt without smoke, with a light smoke and with a
//! heavy one: some hundred kilnings each. No peer: nothing general does this.

use process::kiln::{
    Air, Asked, Charge, Constants, Firing, Peat, Setting, Solve, Turn, Vessel, Wanted, Weights,
    propose,
};

fn main() {
    let charge = Charge {
        depth_m: 146.0 / 350.0,
        moisture_dry: 0.77,
        temperature_c: 18.0,
        ..Charge::default()
    };
    let vessel = Vessel {
        area_m2: 52.0,
        wall_loss_w_k: 120.0,
        fan_kg_s: Some(9.4),
        burner_w: Some(560_000.0),
        ..Vessel::default()
    };
    let plain = Firing {
        dry_h: 23.0,
        flow_kg_m2_s: 0.104,
        cure_h: 5.0,
        returned: 0.5,
        ..Firing::default()
    };
    let smoke = Firing { peat_c: 42.0, peat_flow_kg_m2_s: Some(0.077), ..plain.clone() };
    let light = Firing { peat_h: 4.0, peat_kg_t: 24.0, dry_h: 23.5, cure_h: 5.5, ..smoke.clone() };
    let heavy = Firing {
        peat_h: 30.0,
        peat_kg_t: 310.0,
        dry_h: 25.5,
        dry_c: 52.0,
        flow_kg_m2_s: 0.067,
        cure_h: 4.5,
        ..smoke
    };
    let cases = [
        ("no smoke, 28 h", plain, 0.0, [12.0, 20.0]),
        ("5 mg/kg, 33 h", light, 5.0, [14.0, 22.0]),
        ("34 mg/kg, 60 h", heavy, 34.0, [34.0, 44.0]),
    ];
    for (what, usual, phenols_mg_kg_dry, turns_h) in &cases {
        let setting = Setting {
            air: Air::default(),
            humidity_ratio: 0.0065,
            peat: Peat::default(),
            turns: turns_h.map(|at_h| Turn { at_h, ..Turn::default() }).to_vec(),
            solve: Solve::default(),
        };
        let wanted = Wanted { phenols_mg_kg_dry: *phenols_mg_kg_dry, ..Wanted::default() };
        let asked = Asked {
            charge: &charge,
            vessel: &vessel,
            setting: &setting,
            usual,
            wanted: &wanted,
            weights: &Weights::default(),
            constants: &Constants::default(),
            from: None,
        };
        let ours = bench::seconds(|| {
            propose(&asked, &mut |_| true).expect("wishes of a customary house hold together")
        });
        bench::report(&format!("firing proposed: {what}"), ours, Some(3.0), None);
    }
}
