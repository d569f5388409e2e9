//! The malting floor: from the cast piece to green malt ready for the kiln.

use super::Frame;
use crate::carry::Carry;
use crate::figure::{Figure, Shown};
use crate::spread::{Chain, Outcome, Part};
use gauge::Fault;
use house::Equipment;
use process::floor::{Charge, Constants, Hand, Out, Programme, run};

/// A floor on the ground is a little colder than the air over it.
const FLOOR_COLDER_DK: f64 = 1.0;

pub(crate) fn link(chain: &mut Chain, frame: &Frame<'_>) -> Result<(), Fault> {
    let (vessel, (own, stage)) = frame.first("a malting floor", |what| match what {
        Equipment::Floor(own, stage) => Some((own, stage)),
        _ => None,
    })?;
    let air_c = frame.malting.air_c.max(own.least_air_c);
    let programme = Programme {
        hand: Hand {
            air_c,
            air_relative_humidity: frame.malting.relative_humidity,
            floor_c: air_c - FLOOR_COLDER_DK,
            pressure_pa: frame.house.plant.site.pressure_pa,
            ..frame.barley.floor.hand.clone()
        },
        ..frame.barley.floor.clone()
    };
    let reads = [
        "dry_kg",
        "barley_dry_kg",
        "moisture_dry",
        "surface_water_dry",
        "grain_c",
        "germinating",
        "lag_h",
        "nitrogen_pct_dry",
    ];
    chain.link("floor", &reads, &constants(frame), |carry, constants| {
        let charge = Charge {
            dry_kg: carry.dry_kg,
            barley_dry_kg: Some(carry.barley_dry_kg),
            moisture_wet: carry.moisture_dry / (1.0 + carry.moisture_dry),
            surface_water_dry: carry.surface_water_dry,
            temperature_c: carry.grain_c,
            germinating_fraction: carry.germinating.min(1.0),
            lag_h: carry.lag_h,
            nitrogen_pct_dry: carry.nitrogen_pct_dry,
            ..Charge::default()
        };
        let run = run(&charge, stage, &programme, constants)?;
        let out = &run.out;
        let handed = Carry {
            dry_kg: out.dry_kg * (1.0 - out.rootlet_fraction),
            rootlets_kg: out.dry_kg * out.rootlet_fraction,
            moisture_dry: out.moisture_dry,
            surface_water_dry: 0.0,
            grain_c: out.temperature_c,
            modification: out.modification,
            ..carry.clone()
        };
        let part = Part {
            title: vessel.name.clone(),
            vessel: vessel.key.clone(),
            figures: figures(out, own),
            hours: out.hours,
            curves: run.curves,
            balance: run.balance,
            watched: &["temperature_c"],
        };
        Ok(Outcome::of(handed, part))
    })
}

/// An old barley's corns keep less well in step than a modern one's.
fn constants(frame: &Frame<'_>) -> Constants {
    let usual = Constants::default();
    match frame.barley.kind {
        "landrace" => Constants { acrospire_sd: 0.25, ..usual },
        _ => usual,
    }
}

fn figures(out: &Out, own: &house::vessel::Floor) -> Vec<Figure> {
    vec![
        Shown("hours", "on the floor", "h", 0).of(out.hours),
        Shown("clear_h", "clear and wash", "h", 0).of(own.clear_h),
        Shown("turns", "turns", "", 0).of(f64::from(out.turns)),
        Shown("depth_m", "depth as laid", "m", 2).of(out.depth_m),
        Shown("highest_c", "warmest", "°C", 1).of(out.highest_c),
        Shown("moisture_pct", "moisture of the green malt", "%", 1).of(100.0 * out.moisture_wet),
        Shown("modification_pct", "modification", "%", 0).of(100.0 * out.modification),
        Shown("acrospire", "acrospire, of the corn", "", 2).of(out.acrospire),
        Shown("malting_loss_pct", "lost of the barley's dry matter", "%", 1)
            .of(100.0 * out.malting_loss_fraction),
        Shown("carbon_dioxide_kg", "carbon dioxide", "kg", 0).of(out.carbon_dioxide_kg),
    ]
}
