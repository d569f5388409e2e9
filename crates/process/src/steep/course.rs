//! The course of a steeping, step by step, with its ledger of water.

use super::figures::{Charge, Constants, Kind, Phase, Programme, Vessel};
use super::uptake::Uptake;
use super::{Out, Run};
use crate::floor::growth::{STARCH_HEAT_J_KG, STARCH_WATER, pace, vigour, wetness};
use crate::{Balance, Curves, Matter};
use gauge::fault::Side;
use gauge::{Fault, Warning};

/// Longest step; the film and the drinking change over hours.
const STEP_S: f64 = 60.0;
/// Rows of the curves.
const EVERY_H: f64 = 0.5;
/// Hours until the oxygen of still water is used up.
const AIR_LASTS_H: f64 = 1.0;
/// Of the hours without air, what blown air leaves.
const AERATED: f64 = 0.3;
/// Hours without air beyond which corns drown, and percentage points lost for each more.
const DROWNING: (f64, f64) = (30.0, 0.5);
/// Longest delay on the floor.
const LONGEST_LAG_H: f64 = 24.0;
/// Moisture beyond which the fitted curve has nothing to stand on.
const WETTEST: f64 = 0.48;
/// Customary limit at casting: 65 °F (Haley and Stokes, MBAA TQ 1987).
const WARMEST_C: f64 = 18.3;
/// Difference of germinative energies from which care is wanted.
const SENSITIVE: f64 = 25.0;

/// Steeps to the end of the programme.
pub(super) fn steep(
    charge: &Charge,
    vessel: &Vessel,
    programme: &Programme,
    constants: &Constants,
) -> Result<Run, Fault> {
    let mut course = Course::new(charge, vessel, constants);
    for (index, phase) in programme.phases.iter().enumerate() {
        course.phase(index, phase)?;
    }
    Ok(course.finish())
}

/// Kilograms counted since the start.
#[derive(Debug, Clone, Copy, Default)]
struct Ledger {
    filled: f64,
    drained: f64,
    evaporated: f64,
    made: f64,
    leached: f64,
    respired: f64,
}

struct Course<'a> {
    charge: &'a Charge,
    vessel: &'a Vessel,
    c: &'a Constants,
    uptake: Uptake,
    time_h: f64,
    wet_h: f64,
    clock: f64,
    wetted: bool,
    dry_kg: f64,
    /// Water within the corns.
    corn_kg: f64,
    /// Water clinging to them.
    film_kg: f64,
    /// Water about them.
    free_kg: f64,
    temperature_c: f64,
    airless_h: f64,
    ledger: Ledger,
    ends: Vec<f64>,
    warmest_c: f64,
    curves: Curves,
}

impl<'a> Course<'a> {
    fn new(charge: &'a Charge, vessel: &'a Vessel, c: &'a Constants) -> Self {
        let dry_kg = charge.dry_kg * (1.0 - c.skimmed_fraction);
        Self {
            charge,
            vessel,
            c,
            uptake: Uptake::new(charge, c),
            time_h: 0.0,
            wet_h: 0.0,
            clock: 0.0,
            wetted: false,
            dry_kg,
            corn_kg: dry_kg * charge.moisture_wet / (1.0 - charge.moisture_wet),
            film_kg: 0.0,
            free_kg: 0.0,
            temperature_c: f64::NAN,
            airless_h: 0.0,
            ledger: Ledger::default(),
            ends: Vec::new(),
            warmest_c: f64::NEG_INFINITY,
            curves: Curves::new([
                ("time_h", "h"),
                ("moisture_wet", "kg/kg"),
                ("moisture_dry", "kg/kg"),
                ("surface_water_dry", "kg/kg"),
                ("temperature_c", "°C"),
                ("airless_h", "h"),
            ]),
        }
    }

    fn phase(&mut self, index: usize, phase: &Phase) -> Result<(), Fault> {
        let wet = phase.kind == Kind::Wet;
        if wet {
            self.ledger.filled += self.vessel.fill_kg;
            self.free_kg += self.vessel.fill_kg;
            self.temperature_c = phase.stretch.temperature_c;
        } else if self.temperature_c.is_nan() {
            self.temperature_c = phase.stretch.temperature_c;
        }
        if self.curves.rows() == 0 {
            self.row();
        }
        let (start_h, hours) = (self.time_h, phase.stretch.hours);
        let rows = (hours / EVERY_H - 1e-9).ceil().max(1.0);
        for i in 0..rows as u32 {
            let to_h = (f64::from(i + 1) * EVERY_H).min(hours);
            let span_s = (start_h + to_h - self.time_h) * 3600.0;
            let steps = (span_s / STEP_S - 1e-9).ceil().max(1.0);
            for _ in 0..steps as u32 {
                self.step(phase, self.time_h - start_h, span_s / steps);
            }
            self.time_h = start_h + to_h;
            self.row();
        }
        if wet {
            self.drain(index)?;
        }
        self.ends.push(self.corn_kg / (self.corn_kg + self.dry_kg));
        Ok(())
    }

    /// Lets the water off; a film stays on the corns.
    fn drain(&mut self, index: usize) -> Result<(), Fault> {
        let film = self.c.film_dry * self.dry_kg;
        self.free_kg -= film - self.film_kg;
        self.film_kg = film;
        if self.free_kg < 0.0 {
            return Err(Fault::Beyond {
                field: "steep.fill_kg".into(),
                value: self.vessel.fill_kg,
                unit: "kg",
                side: Side::AtLeast,
                limit: self.vessel.fill_kg - self.free_kg,
                sets: format!("what the corns drink and carry off in phase[{index}]").into(),
            });
        }
        self.ledger.drained += self.free_kg;
        self.free_kg = 0.0;
        Ok(())
    }

    fn step(&mut self, phase: &Phase, in_phase_h: f64, dt_s: f64) {
        let wet = phase.kind == Kind::Wet;
        let dt_h = dt_s / 3600.0;
        let (dry_before, corn_before) = (self.dry_kg, self.corn_kg);
        let respired = self.respired(wet) * dt_s;
        let made = STARCH_WATER * respired;
        let leached = if wet { self.leached(dt_h) } else { 0.0 };
        self.dry_kg -= respired + leached;
        self.ledger.respired += respired;
        self.ledger.leached += leached;
        self.ledger.made += made;

        // The corn's clock runs while its skin is wet.
        let ahead = self.clock + self.uptake.clock_1_s(self.temperature_c) * dt_s;
        let wanted = self.uptake.moisture_dry(ahead) * self.dry_kg;
        let drunk = wanted - corn_before - made;
        if wet {
            self.wetted = true;
            self.clock = ahead;
            self.corn_kg = wanted;
            self.free_kg -= drunk;
            self.wet_h += dt_h;
            if in_phase_h + 0.5 * dt_h > AIR_LASTS_H {
                let blown = 1.0 - (1.0 - AERATED) * self.vessel.aeration;
                self.airless_h += blown * ((self.temperature_c - 15.0) / 10.0).exp2() * dt_h;
            }
        } else if self.wetted && drunk <= self.film_kg {
            self.clock = ahead;
            self.corn_kg = wanted;
            self.film_kg -= drunk;
        } else {
            // What is left of the film goes in, and what breathing makes stays in.
            self.corn_kg += self.film_kg + made;
            self.film_kg = 0.0;
        }
        if !wet {
            let off = (self.c.drying_1_h * dt_h * self.dry_kg).min(self.film_kg);
            self.film_kg -= off;
            self.ledger.evaporated += off;
            self.warm(phase, respired, dry_before, dt_s);
        }
        self.time_h += dt_h;
        self.warmest_c = self.warmest_c.max(self.temperature_c);
    }

    /// Dry matter breathed away, kg/s; an unwoken corn breathes as on the first day.
    fn respired(&self, wet: bool) -> f64 {
        let share = if wet {
            self.c.wet_respiration + (1.0 - self.c.wet_respiration) * self.vessel.aeration
        } else {
            1.0
        };
        let moisture_wet = self.corn_kg / (self.corn_kg + self.dry_kg);
        let rate = self.c.respiration_1_d * vigour(0.0) * pace(self.temperature_c);
        share * rate * wetness(moisture_wet) * self.dry_kg / 86_400.0
    }

    /// Dry matter leached in `dt_h` under water.
    fn leached(&self, dt_h: f64) -> f64 {
        let whole = self.charge.dry_kg * (1.0 - self.c.skimmed_fraction) * self.c.leached_fraction;
        let left = |wet_h: f64| (-wet_h / self.c.leaching_h).exp();
        whole * (left(self.wet_h) - left(self.wet_h + dt_h))
    }

    /// The heat of breathing in a rest.
    fn warm(&mut self, phase: &Phase, respired: f64, dry_kg: f64, dt_s: f64) {
        let water = (self.corn_kg + self.film_kg) / dry_kg;
        let capacity = 1651.0 + 4186.0 * water;
        let made = respired / dt_s / dry_kg * STARCH_HEAT_J_KG;
        let lost = self.c.rest_loss_w_kg_k * (self.temperature_c - phase.stretch.temperature_c);
        self.temperature_c += dt_s * (made - lost) / capacity;
    }

    fn row(&mut self) {
        let (dry, corn) = (self.dry_kg, self.corn_kg);
        self.curves.push(&[
            self.time_h,
            corn / (corn + dry),
            corn / dry,
            self.film_kg / dry,
            self.temperature_c,
            self.airless_h,
        ]);
    }

    fn finish(self) -> Run {
        let (dry, corn) = (self.dry_kg, self.corn_kg);
        let germinating_fraction = self.growing_pct() / 100.0;
        let out = Out {
            dry_kg: dry,
            barley_dry_kg: self.charge.dry_kg,
            moisture_wet: corn / (corn + dry),
            moisture_dry: corn / dry,
            surface_water_dry: self.film_kg / dry,
            temperature_c: self.temperature_c,
            nitrogen_pct_dry: self.charge.nitrogen_pct_dry,
            germinating_fraction,
            lag_h: (self.c.airless_lag * self.airless_h).min(LONGEST_LAG_H),
            hours: self.time_h,
            water_used_kg: self.ledger.filled,
            drained_kg: self.ledger.drained,
            phase_moisture_wet: self.ends.clone(),
        };
        let warnings = self.warnings(&out);
        Run { balance: self.balance(), out, curves: self.curves, warnings }
    }

    /// Corns that grow, %.
    fn growing_pct(&self) -> f64 {
        let u = self.airless_h;
        let (few, many) =
            (self.charge.germinative_energy_8ml_pct, self.charge.germinative_energy_4ml_pct);
        let shown = -(-(u / self.c.airless_h).powi(2)).exp_m1();
        let drowned = DROWNING.1 * (u - DROWNING.0).max(0.0);
        (many - (many - few) * shown - drowned).max(0.0)
    }

    fn balance(&self) -> Balance {
        let start = self.charge.dry_kg;
        let damp = self.charge.moisture_wet / (1.0 - self.charge.moisture_wet);
        let skimmed = start * self.c.skimmed_fraction;
        let l = &self.ledger;
        let mut b = Balance::new();
        b.input(Matter::DryMatter, "barley", start)
            .output(Matter::DryMatter, "steeped barley", self.dry_kg)
            .lost(Matter::DryMatter, "skimmed", skimmed)
            .lost(Matter::DryMatter, "leached", l.leached)
            .lost(Matter::DryMatter, "breathed", l.respired)
            .input(Matter::Water, "barley", start * damp)
            .input(Matter::Water, "run in", l.filled)
            .input(Matter::Water, "made by breathing", l.made)
            .output(Matter::Water, "steeped barley", self.corn_kg)
            .output(Matter::Water, "clinging", self.film_kg)
            .lost(Matter::Water, "skimmed", skimmed * damp)
            .lost(Matter::Water, "drained", l.drained)
            .lost(Matter::Water, "evaporated", l.evaporated);
        b
    }

    fn warnings(&self, out: &Out) -> Vec<Warning> {
        let mut warnings = Vec::new();
        let mut warn = |code, says: String| warnings.push(Warning { code, says });
        if out.moisture_wet > WETTEST {
            let pct = 100.0 * out.moisture_wet;
            warn("beyond the fit", format!("{pct:.1} % is wetter than the fit was made for."));
        }
        if self.warmest_c > WARMEST_C {
            let warmest = self.warmest_c;
            let says = format!("The corn reached {warmest:.1} °C; {WARMEST_C} is the custom.");
            warn("warm", says);
        }
        let sensitive =
            self.charge.germinative_energy_4ml_pct - self.charge.germinative_energy_8ml_pct;
        if sensitive > SENSITIVE {
            let says = format!(
                "4 ml less 8 ml is {sensitive:.0}: keep the first water under 6 h, rest longer."
            );
            warn("water-sensitive", says);
        }
        warnings
    }
}
