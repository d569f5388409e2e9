//! A steeping and a turning proposed: what a page waits for. No peer: nothing general does this.

use process::floor::{self, Turning};
use process::manned::Window;
use process::{Manned, steep};

fn main() {
    let all_week = vec![Window { from_week_h: 0.0, to_week_h: 168.0 }];
    let always = Manned { start_week_h: 8.0, windows: all_week };
    steeps(&always);
    turns(&always);
}

fn steeps(always: &Manned) {
    let barley = steep::Charge { dry_kg: 8096.0, moisture_wet: 0.12, ..steep::Charge::default() };
    let sensitive = steep::Charge { germinative_energy_8ml_pct: 62.0, ..barley.clone() };
    let vessel = steep::Vessel { fill_kg: 8500.0, ..steep::Vessel::default() };
    let wanted = steep::Wanted { moisture_wet: 0.45, most_hours: 84.0, ..steep::Wanted::default() };
    let c = steep::Constants::default();
    for (what, charge) in [("usual barley", &barley), ("water-sensitive", &sensitive)] {
        let ours = bench::seconds(|| steep::propose(charge, &vessel, &c, &wanted, always));
        bench::report(&format!("steep proposed: {what}"), ours, Some(0.05), None);
    }
}

fn turns(always: &Manned) {
    let cast = floor::Charge {
        dry_kg: 8000.0,
        moisture_wet: 0.44,
        temperature_c: 15.0,
        ..floor::Charge::default()
    };
    let place = floor::Vessel { area_m2: 185.0 };
    let plain = Turning::default();
    let thinned = Turning {
        ceiling_c: 17.0,
        most_covered_fraction: Some(1.0),
        least_covered_fraction: Some(0.6),
        on_call_weighs: Some(3.0),
        ..plain.clone()
    };
    let mut laid = floor::Programme::default();
    laid.hand.covered_fraction = 0.8;
    let c = floor::Constants::default();
    let shifts = Manned::daily(8.0, 6.0, 22.0);
    let cases = [
        ("day shifts", &plain, &shifts),
        ("always somebody", &plain, always),
        ("thinned, on call", &thinned, &shifts),
    ];
    for (what, wanted, manned) in cases {
        let ours =
            bench::seconds(|| floor::propose(&cast, &place, &laid, &c, wanted, manned, None));
        bench::report(&format!("turns proposed: {what}"), ours, Some(0.2), None);
    }
}
