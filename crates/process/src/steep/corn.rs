//! What moves in a steep, and how it moves: water, dry matter and warmth over one step.

use super::figures::{Charge, Constants, Kind, Phase, Vessel};
use super::state::State;
use super::uptake::Uptake;
use crate::floor::growth::{STARCH_HEAT_J_KG, STARCH_WATER, pace, vigour, wetness};
use gauge::Fault;
use gauge::fault::Side;

/// Hours until the oxygen of still water is used up.
const AIR_LASTS_H: f64 = 1.0;
/// Of the hours without air, what blown air leaves.
const AERATED: f64 = 0.3;
const DRY_HEAT_J_KG_K: f64 = 1651.0;
const WATER_HEAT_J_KG_K: f64 = 4186.0;

/// What stays through a steeping.
#[derive(Clone, Copy)]
pub(super) struct Setting<'a> {
    pub(super) charge: &'a Charge,
    pub(super) vessel: &'a Vessel,
    pub(super) c: &'a Constants,
    pub(super) uptake: Uptake,
}

impl<'a> Setting<'a> {
    pub(super) fn new(charge: &'a Charge, vessel: &'a Vessel, c: &'a Constants) -> Self {
        Self { charge, vessel, c, uptake: Uptake::new(charge, c) }
    }
}

/// Kilograms counted since the beginning.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Ledger {
    pub(super) filled: f64,
    pub(super) sprayed: f64,
    pub(super) drained: f64,
    pub(super) evaporated: f64,
    pub(super) made: f64,
    pub(super) leached: f64,
    pub(super) respired: f64,
}

/// Joules counted over the hours out of water; under it the water takes and gives them.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Heat {
    pub(super) at_start: f64,
    pub(super) at_end: f64,
    pub(super) made: f64,
    pub(super) sprayed: f64,
    pub(super) of_starch: f64,
    pub(super) to_air: f64,
    pub(super) with_water: f64,
}

/// What moves.
#[derive(Debug, Clone, Copy)]
pub(super) struct Corn {
    pub(super) time_h: f64,
    pub(super) wet_h: f64,
    pub(super) clock: f64,
    pub(super) wetted: bool,
    pub(super) dry_kg: f64,
    /// Water within the corns.
    pub(super) drunk_kg: f64,
    /// Water clinging to them.
    pub(super) film_kg: f64,
    /// Water about them.
    pub(super) free_kg: f64,
    pub(super) temperature_c: f64,
    pub(super) airless_h: f64,
    pub(super) warmest_c: f64,
    pub(super) ledger: Ledger,
    pub(super) heat: Heat,
}

impl Corn {
    pub(super) fn new(state: &State) -> Self {
        Self {
            time_h: state.time_h,
            wet_h: state.wet_h,
            clock: state.clock,
            wetted: state.clock > 0.0,
            dry_kg: state.dry_kg,
            drunk_kg: state.dry_kg * state.moisture_wet / (1.0 - state.moisture_wet),
            film_kg: state.surface_water_dry * state.dry_kg,
            free_kg: state.standing_kg,
            temperature_c: state.temperature_c.unwrap_or(f64::NAN),
            airless_h: state.airless_h,
            warmest_c: state.temperature_c.unwrap_or(f64::NEG_INFINITY),
            ledger: Ledger::default(),
            heat: Heat::default(),
        }
    }

    pub(super) fn state(&self) -> State {
        State {
            time_h: self.time_h,
            dry_kg: self.dry_kg,
            moisture_wet: self.moisture_wet(),
            surface_water_dry: self.film_kg / self.dry_kg,
            standing_kg: self.free_kg,
            clock: self.clock,
            wet_h: self.wet_h,
            airless_h: self.airless_h,
            temperature_c: Some(self.temperature_c).filter(|t| t.is_finite()),
        }
    }

    pub(super) fn moisture_wet(&self) -> f64 {
        self.drunk_kg / (self.drunk_kg + self.dry_kg)
    }

    /// Lets the water of a phase in, where it has one; `fresh` unless it stands there already.
    pub(super) fn begin(&mut self, setting: &Setting<'_>, phase: &Phase, fresh: bool) {
        let wet = phase.kind == Kind::Wet;
        if wet && fresh {
            self.ledger.filled += setting.vessel.fill_kg;
            self.free_kg += setting.vessel.fill_kg;
        }
        if wet || self.temperature_c.is_nan() {
            self.temperature_c = phase.stretch.temperature_c;
        }
        if !wet {
            self.heat.at_start += self.held_j();
        }
    }

    /// Lets the water off at the end of a phase; a film stays on the corns.
    pub(super) fn end(
        &mut self,
        setting: &Setting<'_>,
        place: usize,
        kind: Kind,
    ) -> Result<(), Fault> {
        if kind != Kind::Wet {
            self.heat.at_end += self.held_j();
            return Ok(());
        }
        let film = setting.c.film_dry * self.dry_kg;
        self.free_kg -= film - self.film_kg;
        self.film_kg = film;
        if self.free_kg < 0.0 {
            return Err(Fault::Beyond {
                field: "steep.fill_kg".into(),
                value: setting.vessel.fill_kg,
                unit: "kg",
                side: Side::AtLeast,
                limit: setting.vessel.fill_kg - self.free_kg,
                sets: format!("what the corns drink and carry off in phase[{place}]").into(),
            });
        }
        self.ledger.drained += self.free_kg;
        self.free_kg = 0.0;
        Ok(())
    }

    /// One step in a phase that began `in_phase_h` before.
    pub(super) fn step(
        &mut self,
        setting: &Setting<'_>,
        phase: &Phase,
        in_phase_h: f64,
        dt_s: f64,
    ) {
        let wet = phase.kind == Kind::Wet;
        let dt_h = dt_s / 3600.0;
        let respired = self.respired(setting, wet) * dt_s;
        let made = STARCH_WATER * respired;
        let leached = if wet { self.leached(setting, dt_h) } else { 0.0 };
        self.dry_kg -= respired + leached;
        self.ledger.respired += respired;
        self.ledger.leached += leached;
        self.ledger.made += made;
        let corn_before = self.drunk_kg;

        // The corn's clock runs while its skin is wet.
        let ahead = self.clock + setting.uptake.clock_1_s(self.temperature_c) * dt_s;
        let wanted = setting.uptake.moisture_dry(ahead) * self.dry_kg;
        let drunk = wanted - corn_before - made;
        if wet {
            self.wetted = true;
            self.clock = ahead;
            self.drunk_kg = wanted;
            self.free_kg -= drunk;
            self.wet_h += dt_h;
            if in_phase_h + 0.5 * dt_h > AIR_LASTS_H {
                let blown = 1.0 - (1.0 - AERATED) * setting.vessel.aeration;
                self.airless_h += blown * ((self.temperature_c - 15.0) / 10.0).exp2() * dt_h;
            }
        } else {
            let sprayed = self.spray(setting, phase.kind, dt_h);
            if self.wetted && drunk <= self.film_kg {
                self.clock = ahead;
                self.drunk_kg = wanted;
                self.film_kg -= drunk;
            } else {
                // What is left of the film goes in, and what breathing makes stays in.
                self.drunk_kg += self.film_kg + made;
                self.film_kg = 0.0;
            }
            let off = (setting.c.drying_1_h * dt_h * self.dry_kg).min(self.film_kg);
            self.film_kg -= off;
            self.ledger.evaporated += off;
            let over = (self.film_kg - setting.c.film_dry * self.dry_kg).max(0.0);
            let over = if sprayed > 0.0 { over } else { 0.0 };
            self.film_kg -= over;
            self.ledger.drained += over;
            let moved = Moved { respired, made, sprayed, gone: off + over };
            self.warm(setting, phase, &moved, dt_s);
        }
        self.time_h += dt_h;
        self.warmest_c = self.warmest_c.max(self.temperature_c);
    }

    /// Water sprayed on in a step, kg.
    fn spray(&mut self, setting: &Setting<'_>, kind: Kind, dt_h: f64) -> f64 {
        if kind != Kind::Spray {
            return 0.0;
        }
        let sprayed = setting.c.spray_1_h * self.dry_kg * dt_h;
        self.wetted = true;
        self.film_kg += sprayed;
        self.ledger.sprayed += sprayed;
        sprayed
    }

    /// Dry matter breathed away, kg/s; an unwoken corn breathes as on the first day.
    fn respired(&self, setting: &Setting<'_>, wet: bool) -> f64 {
        let c = setting.c;
        let share = if wet {
            c.wet_respiration + (1.0 - c.wet_respiration) * setting.vessel.aeration
        } else {
            1.0
        };
        let rate = c.respiration_1_d * vigour(0.0) * pace(self.temperature_c);
        share * rate * wetness(self.moisture_wet()) * self.dry_kg / 86_400.0
    }

    /// Dry matter leached in `dt_h` under water.
    fn leached(&self, setting: &Setting<'_>, dt_h: f64) -> f64 {
        let c = setting.c;
        let whole = setting.charge.dry_kg * (1.0 - c.skimmed_fraction) * c.leached_fraction;
        let left = |wet_h: f64| (-wet_h / c.leaching_h).exp();
        whole * (left(self.wet_h) - left(self.wet_h + dt_h))
    }

    fn capacity_j_k(&self) -> f64 {
        DRY_HEAT_J_KG_K * self.dry_kg + WATER_HEAT_J_KG_K * (self.drunk_kg + self.film_kg)
    }

    fn held_j(&self) -> f64 {
        self.capacity_j_k() * self.temperature_c
    }

    /// The heat of breathing out of water. What dries off is taken to get its heat from the air
    /// that dries it, and leaves at the corn's own warmth.
    fn warm(&mut self, setting: &Setting<'_>, phase: &Phase, moved: &Moved, dt_s: f64) {
        let t = self.temperature_c;
        let air_c = phase.stretch.temperature_c;
        let made = STARCH_HEAT_J_KG * moved.respired;
        let lost = setting.c.rest_loss_w_kg_k * (t - air_c) * self.dry_kg * dt_s;
        let sprayed = WATER_HEAT_J_KG_K * moved.sprayed * (air_c - t);
        self.temperature_c += (made - lost + sprayed) / self.capacity_j_k();
        self.heat.made += made;
        self.heat.to_air += lost;
        self.heat.sprayed += WATER_HEAT_J_KG_K * moved.sprayed * air_c;
        // Starch goes at the corn's warmth, the water it makes comes at it.
        self.heat.of_starch +=
            (DRY_HEAT_J_KG_K * moved.respired - WATER_HEAT_J_KG_K * moved.made) * t;
        self.heat.with_water += WATER_HEAT_J_KG_K * moved.gone * t;
    }
}

/// What a step out of water moved, kg.
struct Moved {
    respired: f64,
    made: f64,
    sprayed: f64,
    gone: f64,
}
