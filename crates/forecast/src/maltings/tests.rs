//! The maltings with pieces made by hand, held against the stages themselves and against sense.

use super::*;
use house::malted::{Drawn, Kilned as OnKiln, Laid, Malted, Turned, Turning};
use house::standing::Standing;
use house::{House, quernholm};
use jiff::Timestamp;
use seen::{hours, later};
use std::sync::LazyLock;

static HOUSE: LazyLock<House> = LazyLock::new(quernholm);

fn t0() -> Timestamp {
    "2026-11-10T06:00:00Z".parse().expect("an instant")
}

fn h(hours: f64) -> Timestamp {
    later(t0(), hours)
}

fn standing() -> Standing {
    Standing { at: t0(), ..Standing::default() }
}

/// Steeped at 0 h, cast at 46 h and turned every eight hours until `until_h`.
fn malted(make: &str, barley: &str, until_h: f64) -> Malted {
    let turns = (1..60)
        .map(|turn| 46.0 + 8.0 * f64::from(turn))
        .filter(|at_h| *at_h <= until_h)
        .map(|at_h| Turned { at: h(at_h), how: Turning::Full })
        .collect();
    Malted {
        piece: 61,
        make: make.into(),
        parts: vec![Drawn {
            lot: "two-row 6".into(),
            barley: barley.into(),
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
            at: h(46.0),
            dry_kg: 7990.0,
            wet_cast: false,
            turns,
            spreads: Vec::new(),
            grain_c: Vec::new(),
            acrospire: Vec::new(),
        }),
        ..Malted::default()
    }
}

fn on_kiln(make: &str) -> Malted {
    let mut malted = malted(make, "two_row", 250.0);
    malted.kiln = Some(OnKiln {
        vessel: "kiln".into(),
        at: h(250.0),
        dry_kg: 7600.0,
        air_on_c: Vec::new(),
        air_off_c: Vec::new(),
        moisture_wet: Vec::new(),
        peat_kg: Vec::new(),
        oil_kg: Vec::new(),
        bed_c: Vec::new(),
        turns: Vec::new(),
    });
    malted
}

#[test]
fn figures_of_a_piece_are_shown() {
    let start = std::time::Instant::now();
    let piece = piece(&HOUSE, &standing(), &malted("pale", "two_row", 100.0), h(101.0));
    println!("{:?}", start.elapsed());
    let piece = piece.expect("a usual piece");
    println!("ready {:?} reach {:.1} h", piece.ready, piece.ready.reach_h());
    for f in &piece.figures {
        println!("{} {:.3} {}", f.label, f.value, f.unit);
    }
    println!("{:?}", piece.turns_due.iter().take(3).collect::<Vec<_>>());
    for p in piece.points.iter().step_by(9) {
        println!(
            "{:6.2} {:5.2} ±{:.2} core {:5.2} {:.3} {:.3} {:.3} {:.3} {:.0}",
            hours(h(46.0), p.at),
            p.grain_c,
            p.grain_sd_c,
            p.core_c,
            p.moisture_wet,
            p.modification,
            p.acrospire,
            p.depth_m,
            p.malt_dry_kg
        );
    }
    println!("{:?}", piece.says);
}

#[test]
fn figures_of_a_kilning_are_shown() {
    for make in ["pale", "feather", "ember"] {
        let malted = on_kiln(make);
        let start = std::time::Instant::now();
        let kilned = kilning(&HOUSE, &standing(), &malted, None, h(260.0));
        println!("{make} {:?}", start.elapsed());
        let kilned = kilned.expect("a usual kilning");
        for f in &kilned.figures {
            let band = f.band.as_ref().map(|b| (b.low, b.high));
            println!("{} {:.3} {} {band:?}", f.label, f.value, f.unit);
        }
        for p in kilned.points.iter().step_by(12) {
            println!(
                "{:5.1} on {:.1} off {:.1} ({:.1} to {:.1}) {:.3} oil {:.0} peat {:.0} ph {:.1}",
                p.time_h,
                p.air_on_c,
                p.air_off_c,
                p.air_off_low_c,
                p.air_off_high_c,
                p.moisture_wet,
                p.oil_kg,
                p.peat_kg,
                p.phenols_mg_kg_dry
            );
        }
        println!("{:?} {:?} {:?}", kilned.broke, kilned.finish, kilned.says);
    }
}
