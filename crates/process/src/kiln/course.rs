//! The course of a kilning: steps from mark to mark, rows of the curves, what comes off.

use super::bed::{Bed, Breath, State, at_share, mean};
use super::depths::Depths;
use super::drying::{AirState, Laws};
use super::figures::{Charge, Constants, Programme};
use super::phases::{Look, Marks, Nitrous, Told, ndma_index};
use super::plant::{Asked, Made, Plant, Taken, relative_humidity};
use super::smoke::{Burn, Smoke};
use super::vessel::Vessel;
use super::warned::Short;
use super::{Out, Run};
use crate::{Balance, Curves, Matter};

/// Hours before which the first breath of a cold bed is not called the break.
const BREAK_AFTER_H: f64 = 1.0;
/// Relative humidity of the air-off below which the bed has broken.
const BREAK_BELOW: f64 = 0.80;
/// Mean moisture, on dry matter, at which the falling rate ends: 12 % wet basis.
const FALLEN_DRY: f64 = 0.12 / 0.88;
/// Grain hotter than the first while moister than the second (kg/kg) risks its enzymes.
const RISKS: [(f64, f64); 2] = [(50.0, 0.30), (60.0, 0.14)];
/// Hours after which the air that fan or flue drives through the bed is reckoned anew, at most.
const AIR_EVERY_H: f64 = 0.25;
/// Shares of the dry matter from the wire at which the curves look into the bed.
const DEPTHS: [u32; 5] = [10, 30, 50, 70, 90];

/// Dries the bed from `state` to the programme's end.
pub(super) fn dry(
    state: &State,
    charge: &Charge,
    vessel: &Vessel,
    programme: &Programme,
    constants: &Constants,
) -> Run {
    let mut course = Course::new(state, charge, vessel, programme, constants);
    let marks = course.marks(state.time_h);
    course.row(state.time_h);
    for pair in marks.windows(2) {
        course.between(pair[0].0, pair[1].0);
        if pair[1].1 {
            course.row(pair[1].0);
        }
    }
    course.finish()
}

/// When something first happened, found on the straight line between two steps.
#[derive(Debug, Clone, Copy, Default)]
struct Crossing {
    before: Option<(f64, f64)>,
    at: Option<f64>,
}

impl Crossing {
    fn see(&mut self, time_h: f64, value: f64, below: f64) {
        if self.at.is_none() && value < below {
            self.at = Some(match self.before {
                Some((t, v)) => t + (time_h - t) * (v - below) / (v - value),
                None => time_h,
            });
        }
        self.before = Some((time_h, value));
    }
}

pub(super) struct Course<'a> {
    constants: &'a Constants,
    pub(super) plant: Plant<'a>,
    bed: Bed,
    smoke: Smoke,
    smoke_at_start: f64,
    water_at_start: f64,
    energy_at_start: f64,
    /// Air straight off the bed.
    off: AirState,
    /// Air under the roof.
    flue: AirState,
    /// What fan or flue drives through the bed as it stands, kg/(m² s).
    most_flow: f64,
    pub(super) short: Short,
    taken: Taken,
    peat_kg_t: f64,
    broke: Crossing,
    ready: Crossing,
    fallen: Crossing,
    told: Told,
    pub(super) start_h: f64,
    at_risk_h: f64,
    cure_c: f64,
    cure_h: f64,
    pub(super) most_parts: u32,
    curves: Curves,
    depths: Depths,
}

impl<'a> Course<'a> {
    fn new(
        state: &State,
        charge: &'a Charge,
        vessel: &'a Vessel,
        programme: &'a Programme,
        constants: &'a Constants,
    ) -> Self {
        let laws = Laws::new(constants, charge, programme.air.pressure_pa);
        let plant = Plant { vessel, charge, programme };
        let ds = plant.dry_kg_m2() / programme.cells() as f64;
        let smoke = Smoke::new(constants, ds, &state.phenols_mg_kg_dry);
        let mut bed = Bed::new(laws, ds, state);
        let first = programme.air_on(state.time_h);
        // Before the first breath nothing has come off to be sent back.
        let none = AirState::new(first.temperature_c, first.humidity_ratio);
        let made = plant.make(&Asked { on: first, flue: none, returning: false, peat: 0.0 });
        let flow = bed.laws.flow(first.flow_kg_m2_s * (1.0 - vessel.leak_fraction), ds);
        let (off, _) = bed.breathe(&Breath { on: made.on, flow });
        let flue = plant.flue(made.on, off);
        let end = programme.solve.hours;
        let inside = programme.on.iter().filter(|k| k.at_h <= end).map(|k| k.temperature_c);
        let cure_c = inside.fold(programme.air_on(end).temperature_c, f64::max);
        Self {
            constants,
            smoke_at_start: mean(&smoke.on_malt),
            water_at_start: bed.water(),
            energy_at_start: bed.energy(),
            plant,
            bed,
            smoke,
            off,
            flue,
            most_flow: f64::INFINITY,
            short: Short::default(),
            taken: Taken::default(),
            peat_kg_t: 0.0,
            broke: Crossing::default(),
            ready: Crossing::default(),
            fallen: Crossing::default(),
            told: Told::default(),
            start_h: state.time_h,
            at_risk_h: 0.0,
            cure_c,
            cure_h: 0.0,
            most_parts: 1,
            curves: columns(),
            depths: Depths::new(charge, programme.cells()),
        }
    }

    /// Times at which a step must end, and whether a row of the curves is wanted there.
    fn marks(&self, from_h: f64) -> Vec<(f64, bool)> {
        let programme = self.plant.programme;
        let (end, every) = (programme.solve.hours, programme.solve.every_h);
        let mut marks = vec![(from_h, false)];
        let rows = (end / every).floor() as u32;
        marks.extend((1..=rows).map(|i| (f64::from(i) * every, true)));
        marks.push((end, true));
        marks.extend(programme.on.iter().map(|k| (k.at_h, false)));
        marks.extend(programme.turns.iter().map(|t| (t.at_h, false)));
        let peat = &programme.peat;
        if peat.hours > 0.0 {
            marks.extend([(peat.from_h, false), (peat.from_h + peat.hours, false)]);
        }
        let vessel = self.plant.vessel;
        if vessel.fan_pa.is_some() || vessel.draws_by_flue() {
            let looks = (end / AIR_EVERY_H).floor() as u32;
            marks.extend((1..=looks).map(|i| (f64::from(i) * AIR_EVERY_H, false)));
        }
        marks.retain(|(t, _)| *t >= from_h && *t <= end);
        marks.sort_by(|a, b| a.0.total_cmp(&b.0));
        // Marks a millisecond apart are one.
        let mut out: Vec<(f64, bool)> = Vec::with_capacity(marks.len());
        for (time, row) in marks {
            match out.last_mut() {
                Some(last) if time - last.0 < 3e-7 => last.1 |= row,
                _ => out.push((time, row)),
            }
        }
        out
    }

    /// Steps from one mark to the next.
    fn between(&mut self, from_h: f64, to_h: f64) {
        let programme = self.plant.programme;
        if let Some(turn) = programme.turns.iter().find(|t| (t.at_h - from_h).abs() < 3e-7) {
            self.bed.turn(turn.mixed_fraction);
            self.smoke.turn(turn.mixed_fraction);
        }
        let moisture = &self.bed.column.moisture;
        self.most_flow = self.plant.most_flow(moisture, self.flue).unwrap_or(f64::INFINITY);
        let wanted = programme.air_on(from_h).flow_kg_m2_s;
        let flow = wanted.min(self.most_flow);
        let drop = self.plant.pressure_drop_pa(moisture, self.flue, flow);
        let span_s = (to_h - from_h) * 3600.0;
        self.taken.fan += self.plant.fan_w(drop, self.flue, flow) * span_s;
        if flow < 0.995 * wanted {
            self.short.flow_h += to_h - from_h;
            self.short.least_flow = self.short.least_flow.min(flow);
        }
        let steps = (span_s / programme.solve.step_s - 1e-9).ceil().max(1.0);
        for i in 0..steps as u32 {
            let time_h = from_h + span_s / 3600.0 * f64::from(i) / steps;
            let next_h = from_h + span_s / 3600.0 * f64::from(i + 1) / steps;
            self.step(time_h, next_h, span_s / steps);
        }
    }

    /// The air-on at a moment, of what the fire is asked for then, and what of it the bed gets.
    fn breath(&self, at_h: f64, peat: f64) -> (Made, Breath) {
        let air = &self.plant.programme.air;
        let mut on = self.plant.programme.air_on(at_h);
        on.flow_kg_m2_s = on.flow_kg_m2_s.min(self.most_flow);
        let returning = air.returned > 0.0
            && relative_humidity(self.flue, air.pressure_pa) < air.returned_below;
        let made = self.plant.make(&Asked { on, flue: self.flue, returning, peat });
        let through = on.flow_kg_m2_s * (1.0 - self.plant.vessel.leak_fraction);
        (made, Breath { on: made.on, flow: self.bed.laws.flow(through, self.bed.ds) })
    }

    fn step(&mut self, time_h: f64, next_h: f64, dt_s: f64) {
        let humidity = relative_humidity(self.off, self.plant.programme.air.pressure_pa);
        // The middle of the step says whether peat burns: its ends are marks.
        let peat = self.plant.peat_rate(0.5 * (time_h + next_h));
        let [(made, start), (later, end)] = [time_h, next_h].map(|at_h| self.breath(at_h, peat));
        let stepped = self.bed.step(&[start, end], dt_s);
        self.off = stepped.off;
        self.flue = self.plant.flue(start.on, stepped.off);
        self.most_parts = self.most_parts.max(stepped.parts);
        let air_on_c = 0.5 * (start.on.temperature_c + end.on.temperature_c);
        self.smoke.step(self.constants, &self.bed.column, Burn { peat, air_on_c }, dt_s);
        self.peat_kg_t += peat * dt_s;
        self.taken.heat += 0.5 * (made.heat + later.heat) * dt_s;
        self.taken.oil_kg += 0.5 * (made.oil + later.oil) * dt_s;
        self.short.see(&made, self.plant.programme.air_on(time_h).temperature_c, dt_s / 3600.0);
        self.look(time_h, next_h, humidity, air_on_c);
    }

    /// Notes the break, the wanted moisture, grain too hot for its moisture, the curing.
    fn look(&mut self, time_h: f64, next_h: f64, humidity: f64, air_on_c: f64) {
        if time_h >= BREAK_AFTER_H {
            self.broke.see(time_h, humidity, BREAK_BELOW);
        }
        let wet = self.plant.programme.solve.ready_moisture_wet;
        let mean = mean(&self.bed.column.moisture);
        self.ready.see(next_h, mean, wet / (1.0 - wet));
        self.fallen.see(next_h, mean, FALLEN_DRY);
        let hot = air_on_c > self.cure_c - 1.0;
        self.told.see(Look {
            from_h: time_h,
            to_h: next_h,
            air_off_humidity: humidity,
            broken: self.broke.at.is_some(),
            hot,
        });
        let column = &self.bed.column;
        let mut cells = column.grain_c.iter().zip(&column.moisture);
        if cells.any(|(t, m)| RISKS.iter().any(|(hot, moist)| t >= hot && m > moist)) {
            self.at_risk_h += next_h - time_h;
        }
        if hot {
            self.cure_h += next_h - time_h;
        }
    }

    fn row(&mut self, time_h: f64) {
        let pressure_pa = self.plant.programme.air.pressure_pa;
        let (made, breath) = self.breath(time_h, self.plant.peat_rate(time_h));
        let (off, _) = self.bed.breathe(&breath);
        let flue = self.plant.flue(made.on, off);
        let flow = self.plant.programme.air_on(time_h).flow_kg_m2_s.min(self.most_flow);
        let passed = self.bed.passed;
        let moisture = &self.bed.column.moisture;
        let drop = self.plant.pressure_drop_pa(moisture, flue, flow);
        let mut row = vec![
            time_h,
            mean(moisture),
            flue.temperature_c,
            flue.humidity_ratio,
            passed.water_off - passed.water_on,
        ];
        row.extend(DEPTHS.map(|d| at_share(moisture, f64::from(d) / 100.0)));
        row.extend(DEPTHS.map(|d| at_share(&self.bed.column.grain_c, f64::from(d) / 100.0)));
        row.extend([
            made.on.temperature_c,
            made.on.humidity_ratio,
            relative_humidity(flue, pressure_pa),
            (passed.energy_off - passed.energy_on) / 1000.0,
            made.heat,
            drop,
            mean(&self.smoke.on_malt),
            flow,
            self.taken.oil_kg,
        ]);
        self.curves.push(&row);
        self.depths.row(time_h, moisture);
    }

    fn finish(mut self) -> Run {
        self.depths.phenols_mg_kg_dry = self.depths.layers(&self.smoke.on_malt);
        let phases = self.told.phases(&Marks {
            start_h: self.start_h,
            end_h: self.plant.programme.solve.hours,
            broke_h: self.broke.at,
            dry_h: self.fallen.at,
            ready_h: self.ready.at,
        });
        let balance = self.balance();
        let out = self.out();
        let warnings = self.warnings(&out);
        let column = &self.bed.column;
        let state = State {
            time_h: self.plant.programme.solve.hours,
            moisture_dry: column.moisture.clone(),
            grain_c: column.grain_c.clone(),
            phenols_mg_kg_dry: self.smoke.on_malt.clone(),
        };
        Run { out, state, curves: self.curves, phases, depths: self.depths, balance, warnings }
    }

    /// Dry matter of the bed, and of what dressing takes and leaves.
    fn dressed(&self) -> Dressed {
        let bed = self.plant.dry_kg_m2() * self.plant.vessel.area_m2;
        let (root, dust) = (self.plant.charge.rootlet_fraction, self.constants.dust_fraction);
        Dressed {
            bed,
            rootlets: bed * root,
            dust: bed * (1.0 - root) * dust,
            malt: bed * (1.0 - root) * (1.0 - dust),
        }
    }

    fn out(&self) -> Out {
        let moisture = &self.bed.column.moisture;
        let area = self.plant.vessel.area_m2;
        let passed = self.bed.passed;
        let dressed = self.dressed();
        let moisture_dry = mean(moisture);
        let mass_kg = dressed.malt * (1.0 + moisture_dry);
        let joules = self.taken.heat * area;
        let (bottom, top) = (moisture[0], moisture[moisture.len() - 1]);
        let (vessel, air) = (self.plant.vessel, &self.plant.programme.air);
        Out {
            dry_kg: dressed.malt,
            mass_kg,
            rootlets_dry_kg: dressed.rootlets + dressed.dust,
            moisture_wet: moisture_dry / (1.0 + moisture_dry),
            moisture_dry,
            bottom_moisture_dry: bottom,
            top_moisture_dry: top,
            spread_dry: top - bottom,
            phenols_mg_kg_dry: mean(&self.smoke.on_malt),
            hours: self.plant.programme.solve.hours,
            free_h: self.told.free_h,
            break_h: self.broke.at,
            ready_h: self.ready.at,
            enzymes_at_risk_h: self.at_risk_h,
            ndma_index: ndma_index(&Nitrous {
                nox_mg_m3: vessel.nox_mg_m3,
                free_h: self.told.free_h,
                direct_fraction: vessel.direct_fraction,
                sulphur_kg_t: air.sulphur_kg_t,
            }),
            cure_c: self.cure_c,
            cure_h: self.cure_h,
            evaporated_kg: (passed.water_off - passed.water_on) * area,
            heat_kwh: joules / 3.6e6,
            heat_gj_t: joules / 1e9 / (mass_kg / 1000.0),
            oil_kg: self.taken.oil_kg * area,
            peat_kg: self.peat_kg_t * dressed.bed / 1000.0,
            fan_kwh: self.taken.fan * area / 3.6e6,
        }
    }

    fn balance(&self) -> Balance {
        let area = self.plant.vessel.area_m2;
        let passed = self.bed.passed;
        let dressed = self.dressed();
        let moisture = mean(&self.bed.column.moisture);
        let grams = dressed.bed / 1000.0;
        let mut b = Balance::new();
        b.input(Matter::DryMatter, "green malt", dressed.bed)
            .output(Matter::DryMatter, "malt", dressed.malt)
            .lost(Matter::DryMatter, "rootlets", dressed.rootlets)
            .lost(Matter::DryMatter, "dust", dressed.dust)
            .input(Matter::Water, "green malt", self.water_at_start * area)
            .input(Matter::Water, "air on", passed.water_on * area)
            .output(Matter::Water, "malt", dressed.malt * moisture)
            .lost(Matter::Water, "rootlets", dressed.rootlets * moisture)
            .lost(Matter::Water, "dust", dressed.dust * moisture)
            .lost(Matter::Water, "air off", passed.water_off * area)
            .input(Matter::Energy, "green malt", self.energy_at_start * area / 1000.0)
            .input(Matter::Energy, "air on", passed.energy_on * area / 1000.0)
            .output(Matter::Energy, "malt and rootlets", self.bed.energy() * area / 1000.0)
            .lost(Matter::Energy, "air off", passed.energy_off * area / 1000.0);
        if self.smoke.given > 0.0 || self.smoke_at_start > 0.0 {
            let phenols = Matter::Other("phenols_g");
            b.input(phenols, "on green malt", self.smoke_at_start * grams)
                .input(phenols, "peat smoke", self.smoke.given * grams)
                .output(phenols, "on malt", mean(&self.smoke.on_malt) * grams)
                .lost(phenols, "up the flue", self.smoke.not_taken * grams)
                .lost(phenols, "stripped", self.smoke.stripped * grams);
        }
        b
    }
}

/// Kilograms of dry matter.
struct Dressed {
    bed: f64,
    rootlets: f64,
    dust: f64,
    malt: f64,
}

fn columns() -> Curves {
    let mut keys: Vec<(String, &'static str)> = vec![
        ("time_h".into(), "h"),
        ("mean_moisture_dry".into(), "kg/kg"),
        ("air_off_c".into(), "°C"),
        ("air_off_humidity_ratio".into(), "kg/kg"),
        ("water_out_kg_m2".into(), "kg/m²"),
    ];
    keys.extend(DEPTHS.map(|d| (format!("moisture_dry_{d}"), "kg/kg")));
    keys.extend(DEPTHS.map(|d| (format!("grain_c_{d}"), "°C")));
    let more = [
        ("air_on_c", "°C"),
        ("air_on_humidity_ratio", "kg/kg"),
        ("air_off_relative_humidity", ""),
        ("enthalpy_gain_kj_m2", "kJ/m²"),
        ("heat_w_m2", "W/m²"),
        ("pressure_drop_pa", "Pa"),
        ("phenols_mg_kg_dry", "mg/kg"),
        ("flow_kg_m2_s", "kg/(m² s)"),
        ("oil_kg_m2", "kg/m²"),
    ];
    keys.extend(more.map(|(key, unit)| (key.to_owned(), unit)));
    Curves::new(keys)
}
