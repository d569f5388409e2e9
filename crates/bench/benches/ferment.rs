//! A washback of 120 hours, a row every six hours, beside scipy's implicit solver on the same
//! slopes at a like tolerance; both are held against each other at the end.

use gauge::Record;
use process::ferment::{Charge, Constants, Programme, Vessel, Wort, Yeast, run};

fn main() {
    let charge = Charge {
        wort: Wort {
            glucose_kg_m3: 11.0,
            maltose_kg_m3: 76.0,
            maltotriose_kg_m3: 20.0,
            dextrin_kg_m3: 18.0,
            residual_kg_m3: 18.0,
        },
        yeast: Yeast::default(),
        ph: 5.45,
    };
    let vessel = Vessel { fill_l: 12_900.0, ..Vessel::default() };
    let programme = Programme { set_c: 19.0, hours: 120.0, every_h: 6.0 };
    let constants = Constants::default();
    assert!(constants.faults().is_empty());
    let washback =
        || run(&charge, &vessel, &programme, &constants).expect("a customary washback runs");
    let end = washback().end;
    let answers = [
        end.temperature_c,
        end.ethanol_kg_m3,
        end.carbon_dioxide_kg_m3,
        end.dextrin_kg_m3,
        end.residual_kg_m3,
        end.yeast_active_kg_m3,
        end.lactic_kg_m3,
    ];
    let ours = bench::seconds(washback);
    let peer = bench::peer("ferment");
    let against = peer.as_ref().map(|p| (p, answers.as_slice()));
    bench::report("ferment: one washback of 120 h", ours, Some(2e-3), against);
}
