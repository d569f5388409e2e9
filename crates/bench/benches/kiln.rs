//! A kilning of 48 hours in a bed of 0.4 m, 40 cells and steps of 30 s, a row every half hour,
//! beside scipy's LSODA on the method of lines with as many cells; moistures and air-off of both
//! are held against each other on the way.

use process::Curves;
use process::kiln::{Air, AirKnot, Charge, Constants, Peat, Programme, Solve, Vessel, run};

fn main() {
    let charge = Charge {
        depth_m: 0.40,
        dry_bulk_kg_m3: 350.0,
        moisture_dry: 0.818182,
        temperature_c: 20.0,
        ..Charge::default()
    };
    let programme = Programme {
        air: Air { flow_kg_m2_s: 0.18, ..Air::default() },
        on: vec![AirKnot {
            at_h: 0.0,
            temperature_c: 60.0,
            humidity_ratio: 0.008,
            flow_kg_m2_s: None,
        }],
        turns: Vec::new(),
        peat: Peat::default(),
        solve: Solve { hours: 48.0, cells: 40.0, step_s: 30.0, every_h: 0.5, ..Solve::default() },
    };
    let (vessel, constants) = (Vessel::default(), Constants::default());
    let kilning =
        || run(&charge, &vessel, &programme, &constants).expect("a customary kilning runs");
    let curves = kilning().curves;
    let answers: Vec<f64> = [4.0, 8.0, 12.0, 16.0, 24.0]
        .iter()
        .map(|h| at(&curves, "mean_moisture_dry", *h))
        .chain([8.0, 12.0].iter().map(|h| at(&curves, "air_off_c", *h)))
        .collect();
    let ours = bench::seconds(kilning);
    let peer = bench::peer("kiln");
    let against = peer.as_ref().map(|p| (p, answers.as_slice()));
    bench::report("kiln: 48 h of a bed of 40 cells", ours, Some(25e-3), against);
}

fn at(curves: &Curves, key: &str, hours: f64) -> f64 {
    curves.at(key, hours).expect("a column of the kiln")
}
