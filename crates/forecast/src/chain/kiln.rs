//! Kilning: from green malt on the wire to malt for the bin.

use super::Frame;
use crate::carry::Carry;
use crate::figure::Shown;
use crate::spread::{Both, Chain, Outcome, Part};
use gauge::Fault;
use gauge::moist_air::kernel as air;
use house::Equipment;
use process::kiln::{Air, AirKnot, Charge, Constants, Out, Programme, Solve, Turn, Vessel, run};

/// Cells of the bed and steps of time: the kiln's own page gives the error of so many.
const CELLS: f64 = 32.0;
const STEP_S: f64 = 75.0;
/// Hours in which the fire is brought from one phase to the next.
const RAMP_H: f64 = 0.5;

pub(crate) fn link(chain: &mut Chain, frame: &Frame<'_>) -> Result<(), Fault> {
    let (vessel, (own, stage)) = frame.first("a kiln", |what| match what {
        Equipment::Kiln(own, stage) => Some((own, stage)),
        _ => None,
    })?;
    let programme = programme(frame, stage);
    let constants = Both(Constants::default(), Charge::default());
    let reads = ["dry_kg", "rootlets_kg", "moisture_dry", "grain_c"];
    chain.link("kiln", &reads, &constants, |carry, Both(constants, bulk)| {
        let bed_kg = carry.dry_kg + carry.rootlets_kg;
        let charge = Charge {
            depth_m: bed_kg / (stage.area_m2 * bulk.dry_bulk_kg_m3),
            moisture_dry: carry.moisture_dry,
            temperature_c: carry.grain_c,
            rootlet_fraction: carry.rootlets_kg / bed_kg,
            ..bulk.clone()
        };
        let run = run(&charge, stage, &programme, constants)?;
        let out = &run.out;
        let handed = Carry {
            dry_kg: out.dry_kg,
            rootlets_kg: 0.0,
            moisture_dry: out.moisture_dry,
            malt_moisture_wet: out.moisture_wet,
            phenols_mg_kg_dry: out.phenols_mg_kg_dry,
            cure_c: out.cure_c,
            cure_h: out.cure_h,
            ..carry.clone()
        };
        let mut figures = vec![
            Shown("bed_dry_kg_m2", "bed, dry matter", "kg/m²", 0).of(bed_kg / stage.area_m2),
            Shown("moisture_on_pct", "moisture as loaded", "%", 1)
                .of(100.0 * charge.moisture_dry / (1.0 + charge.moisture_dry)),
            Shown("turnaround_h", "strip and load", "h", 1).of(own.turnaround_h),
        ];
        figures.extend(dried(out));
        let part = Part {
            title: vessel.name.clone(),
            vessel: vessel.key.clone(),
            figures,
            hours: out.hours,
            curves: run.curves,
            balance: run.balance,
            watched: &["air_off_c"],
        };
        Ok(Outcome::of(handed, part))
    })
}

fn dried(out: &Out) -> [crate::Figure; 9] {
    let never = f64::NAN;
    [
        Shown("break_h", "break", "h", 1).of(out.break_h.unwrap_or(never)),
        Shown("ready_h", "down to the wanted moisture", "h", 1).of(out.ready_h.unwrap_or(never)),
        Shown("hours", "kilning", "h", 1).of(out.hours),
        Shown("moisture_pct", "moisture of the malt", "%", 2).of(100.0 * out.moisture_wet),
        Shown("phenols_mg_kg_dry", "phenols on dry malt", "mg/kg", 1).of(out.phenols_mg_kg_dry),
        Shown("malt_kg", "malt, dressed", "kg", 0).of(out.mass_kg),
        Shown("oil_kg", "oil", "kg", 0).of(out.oil_kg),
        Shown("peat_kg", "peat", "kg", 0).of(out.peat_kg),
        Shown("heat_gj_t", "heat a tonne of malt", "GJ/t", 2).of(out.heat_gj_t),
    ]
}

/// The make's phases as knots of the air-on, each reached in half an hour.
fn programme(frame: &Frame<'_>, stage: &Vessel) -> Programme {
    let weather = frame.malting;
    let pressure_pa = frame.house.plant.site.pressure_pa;
    let vapour_pa = weather.relative_humidity * air::saturation_pa(weather.air_c);
    let humidity_ratio = air::humidity_ratio(vapour_pa, pressure_pa);
    let kilning = &frame.make.kiln;
    let mut on = Vec::with_capacity(2 * kilning.phases.len());
    let mut from_h = 0.0;
    for (index, phase) in kilning.phases.iter().enumerate() {
        let until_h = from_h + phase.figures.hours_h;
        let reached_h = if index == 0 { from_h } else { from_h + RAMP_H };
        let knot = |at_h: f64| AirKnot {
            at_h,
            temperature_c: phase.temperature_c,
            humidity_ratio,
            flow_kg_m2_s: Some(phase.figures.flow_kg_s / stage.area_m2),
        };
        on.push(knot(reached_h));
        if until_h > reached_h {
            on.push(knot(until_h));
        }
        from_h = until_h;
    }
    let flow = kilning.phases.first().map_or(f64::NAN, |p| p.figures.flow_kg_s);
    Programme {
        air: Air {
            flow_kg_m2_s: flow / stage.area_m2,
            pressure_pa,
            returned: kilning.returned,
            ambient_c: weather.air_c,
            ..Air::default()
        },
        on,
        turns: kilning.turns_h.iter().map(|at_h| Turn { at_h: *at_h, ..Turn::default() }).collect(),
        peat: kilning.peat.clone(),
        solve: Solve {
            hours: from_h,
            cells: CELLS,
            step_s: STEP_S,
            ready_moisture_wet: kilning.ready_moisture_wet,
            ..Solve::default()
        },
    }
}
