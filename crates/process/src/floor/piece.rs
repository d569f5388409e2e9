//! What moves in a piece, and how it moves: matter, heat and age over one step, and the acts of
//! the hand that fall between two.

use gauge::moist_air::kernel;

use super::figures::{Charge, Constants, How, Programme, Vessel};
use super::growth::{
    STARCH_CARBON_DIOXIDE, STARCH_HEAT_J_KG, STARCH_WATER, pace, softening, vigour, wetness,
};
use super::heat::{
    DRY_HEAT_J_KG_K, Passing, WATER_HEAT_J_KG_K, capacity_j_kg_k, core_excess_dk, passing,
};
use super::state::State;

/// Heat of evaporation at 0 °C and of warming the vapour.
const EVAPORATION_J_KG: f64 = 2.501e6;
const VAPOUR_HEAT_J_KG_K: f64 = 1860.0;
/// Events this close are one, in hours.
pub(super) const SAME_H: f64 = 1e-9;

/// What stays while a piece lies.
#[derive(Clone, Copy)]
pub(super) struct Setting<'a> {
    pub(super) charge: &'a Charge,
    pub(super) vessel: &'a Vessel,
    pub(super) programme: &'a Programme,
    pub(super) c: &'a Constants,
}

/// Amounts since the beginning of a reckoning, kg and J.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Ledger {
    pub(super) breathed: f64,
    pub(super) made: f64,
    pub(super) sprinkled: f64,
    pub(super) sprinkled_heat: f64,
    pub(super) evaporated: f64,
    pub(super) turned_off: f64,
    pub(super) heat_made: f64,
    pub(super) heat_of_starch: f64,
    pub(super) to_air: f64,
    pub(super) to_floor: f64,
    pub(super) by_turning: f64,
    pub(super) with_vapour: f64,
}

/// What moves.
#[derive(Debug, Clone, Copy)]
pub(super) struct Piece {
    pub(super) time_h: f64,
    pub(super) dry_kg: f64,
    pub(super) water_kg: f64,
    pub(super) heat_j: f64,
    pub(super) root_kg: f64,
    pub(super) age_d: f64,
    pub(super) modification: f64,
    pub(super) depth_m: f64,
    pub(super) passing: Passing,
    pub(super) turned_h: f64,
    pub(super) longest_h: f64,
    pub(super) turns: f64,
    pub(super) ready_h: Option<f64>,
    pub(super) highest_c: f64,
    pub(super) core_c: f64,
    pub(super) highest_core_c: f64,
    pub(super) carbon_dioxide_kg_h: f64,
    pub(super) most_carbon_dioxide_kg_h: f64,
    pub(super) ledger: Ledger,
}

/// How fast things go at one moment; a second.
struct Rates {
    breathed: f64,
    age_d: f64,
    modification: f64,
    evaporated: f64,
    to_air: f64,
    to_floor: f64,
}

/// Heat a kilogram of vapour carries off.
fn vapour_j_kg(temperature_c: f64) -> f64 {
    EVAPORATION_J_KG + VAPOUR_HEAT_J_KG_K * temperature_c
}

impl Piece {
    pub(super) fn new(state: &State, setting: &Setting<'_>) -> Self {
        let held = capacity_j_kg_k(state.moisture_dry()) * state.temperature_c;
        let highest_c = state.highest_c.unwrap_or(state.temperature_c);
        let mut piece = Self {
            time_h: state.time_h,
            dry_kg: state.dry_kg,
            water_kg: state.water_kg(),
            heat_j: state.dry_kg * held,
            root_kg: state.dry_kg * state.rootlet_fraction,
            age_d: state.age_d,
            modification: state.modification,
            depth_m: state.depth_m,
            passing: passing(setting.c, state.depth_m),
            turned_h: state.turned_h,
            longest_h: state.longest_h,
            turns: state.turns,
            ready_h: state.ready_h,
            highest_c: highest_c.max(state.temperature_c),
            core_c: state.temperature_c,
            highest_core_c: state.highest_core_c.unwrap_or(highest_c).max(state.temperature_c),
            carbon_dioxide_kg_h: 0.0,
            most_carbon_dioxide_kg_h: 0.0,
            ledger: Ledger::default(),
        };
        let breathed = piece.rates(setting).breathed;
        piece.breathe_out(setting, breathed);
        piece
    }

    pub(super) fn state(&self) -> State {
        let moisture = self.moisture();
        State {
            time_h: self.time_h,
            dry_kg: self.dry_kg,
            moisture_wet: moisture / (1.0 + moisture),
            temperature_c: self.temperature_c(),
            age_d: self.age_d,
            modification: self.modification,
            rootlet_fraction: self.root_kg / self.dry_kg,
            depth_m: self.depth_m,
            turned_h: self.turned_h,
            longest_h: self.longest_h,
            turns: self.turns,
            ready_h: self.ready_h,
            highest_c: Some(self.highest_c),
            highest_core_c: Some(self.highest_core_c),
        }
    }

    /// On dry matter.
    pub(super) fn moisture(&self) -> f64 {
        self.water_kg / self.dry_kg
    }

    pub(super) fn temperature_c(&self) -> f64 {
        self.heat_j / (self.dry_kg * capacity_j_kg_k(self.moisture()))
    }

    fn rates(&self, setting: &Setting<'_>) -> Rates {
        let Setting { charge, programme, c, .. } = *setting;
        let (t, m) = (self.temperature_c(), self.moisture());
        let hand = &programme.hand;
        let wet = wetness(m / (1.0 + m)).min(c.wettest_growth);
        let growth = pace(t) * wet;
        let alive = charge.germinating_fraction;
        let alive = alive + c.dead_respiration * (1.0 - alive);
        let asleep = self.time_h < charge.lag_h - SAME_H;
        let held = self.time_h < charge.held_back_h - SAME_H;
        let held = if held { c.held_back_share } else { 1.0 };
        let breathed = c.respiration_1_d * vigour(self.age_d) * growth * alive * self.dry_kg * held;
        let age_d = if asleep { 0.0 } else { growth };
        let slow = (1.0 - c.nitrogen_slows * (charge.nitrogen_pct_dry - 1.5)).clamp(0.6, 1.1);
        let rate = c.modification_1_d * slow;
        let area = self.dry_kg / (c.dry_bulk_kg_m3 * self.depth_m);
        let (air_c, humidity) = programme.air_at(self.time_h);
        // The crust dries by `k_e (W_s(T) − W_air)`, `k_e = h/1006 × crust`.
        let vapour = humidity * kernel::saturation_pa(air_c);
        let outside = kernel::humidity_ratio(vapour, hand.pressure_pa);
        let inside = kernel::saturation_humidity_ratio(t, hand.pressure_pa);
        let crust = c.surface_w_m2_k / 1006.0 * c.crust * (inside - outside);
        Rates {
            breathed: breathed / 86_400.0,
            age_d: age_d / 86_400.0,
            modification: softening(rate, self.age_d, self.modification) * age_d / 86_400.0,
            evaporated: crust.max(0.0) * area,
            to_air: self.passing.top * (t - air_c) * area,
            to_floor: self.passing.below * (t - hand.floor_c) * area,
        }
    }

    /// One step: to `limit_h` at most, ending at the next thing that is written down, or when the
    /// piece is ready.
    pub(super) fn step(&mut self, setting: &Setting<'_>, limit_h: f64) {
        let Setting { charge, programme, .. } = *setting;
        let mut to_h = limit_h;
        let written = programme.sprinkles.iter().map(|s| s.at_h);
        let written = written.chain(programme.spreads.iter().map(|s| s.at_h));
        let written = written.chain(programme.turns.iter().map(|t| t.at_h));
        for at_h in written.chain([charge.lag_h, charge.held_back_h]) {
            if at_h > self.time_h + SAME_H {
                to_h = to_h.min(at_h);
            }
        }
        let rates = self.rates(setting);
        let mut dt_s = (to_h - self.time_h) * 3600.0;
        let missing = programme.hand.ready_modification - self.modification;
        if self.ready_h.is_none() && rates.modification * dt_s >= missing {
            // The step that makes it ready ends there.
            dt_s = (missing / rates.modification).max(0.0);
            to_h = self.time_h + dt_s / 3600.0;
            self.ready_h = Some(to_h);
        }
        self.go_on(setting, &rates, dt_s);
        self.time_h = to_h;
        self.written(setting);
    }

    fn go_on(&mut self, setting: &Setting<'_>, rates: &Rates, dt_s: f64) {
        let t = self.temperature_c();
        let breathed = rates.breathed * dt_s;
        let made = STARCH_WATER * breathed;
        let evaporated = rates.evaporated * dt_s;
        let heat_made = STARCH_HEAT_J_KG * breathed;
        // Starch goes at the piece's temperature, the water it makes comes at it.
        let of_starch = (DRY_HEAT_J_KG_K * breathed - WATER_HEAT_J_KG_K * made) * t;
        let with_vapour = vapour_j_kg(t) * evaporated;
        let (to_air, to_floor) = (rates.to_air * dt_s, rates.to_floor * dt_s);
        self.dry_kg -= breathed;
        self.water_kg += made - evaporated;
        self.heat_j += heat_made - of_starch - with_vapour - to_air - to_floor;
        self.root_kg += setting.c.rootlet_share * breathed;
        self.age_d += rates.age_d * dt_s;
        self.modification += rates.modification * dt_s;
        let l = &mut self.ledger;
        l.breathed += breathed;
        l.made += made;
        l.evaporated += evaporated;
        l.heat_made += heat_made;
        l.heat_of_starch += of_starch;
        l.with_vapour += with_vapour;
        l.to_air += to_air;
        l.to_floor += to_floor;
        self.highest_c = self.highest_c.max(self.temperature_c());
        self.breathe_out(setting, rates.breathed);
    }

    /// What breathing does to the middle of the piece and to the air of the room.
    fn breathe_out(&mut self, setting: &Setting<'_>, breathed_kg_s: f64) {
        let heat_w_kg = STARCH_HEAT_J_KG * breathed_kg_s / self.dry_kg;
        self.core_c = self.temperature_c() + core_excess_dk(setting.c, heat_w_kg, self.depth_m);
        self.highest_core_c = self.highest_core_c.max(self.core_c);
        self.carbon_dioxide_kg_h = STARCH_CARBON_DIOXIDE * breathed_kg_s * 3600.0;
        self.most_carbon_dioxide_kg_h = self.most_carbon_dioxide_kg_h.max(self.carbon_dioxide_kg_h);
    }

    /// Sprinklings, thinnings and turns that are written down for this moment.
    pub(super) fn written(&mut self, setting: &Setting<'_>) {
        let now = self.time_h;
        let falls = |at_h: f64| (at_h - now).abs() < SAME_H;
        for s in setting.programme.sprinkles.iter().filter(|s| falls(s.at_h)) {
            let water = s.water_kg_t * setting.charge.dry_kg / 1000.0;
            let heat = water * WATER_HEAT_J_KG_K * s.temperature_c;
            self.water_kg += water;
            self.heat_j += heat;
            self.ledger.sprinkled += water;
            self.ledger.sprinkled_heat += heat;
        }
        for s in setting.programme.spreads.iter().filter(|s| falls(s.at_h)) {
            self.spread(setting, s.covered_fraction);
        }
        for turn in setting.programme.turns.iter().filter(|t| falls(t.at_h)) {
            self.turn(setting, turn.how);
        }
    }

    /// Thins or thickens it.
    pub(super) fn spread(&mut self, setting: &Setting<'_>, covered_fraction: f64) {
        let covered = setting.vessel.area_m2 * covered_fraction;
        self.depth_m = self.dry_kg / (setting.c.dry_bulk_kg_m3 * covered);
        self.passing = passing(setting.c, self.depth_m);
    }

    /// Turns or ploughs it: some of its warmth and a little of its water go.
    pub(super) fn turn(&mut self, setting: &Setting<'_>, how: How) {
        let c = setting.c;
        let (air_c, humidity) = setting.programme.air_at(self.time_h);
        let (cools, dries) = match how {
            How::Turn => (c.turn_cools, c.turn_dries_dry),
            How::Plough => {
                let part = if c.turn_cools > 0.0 { c.plough_cools / c.turn_cools } else { 0.0 };
                (c.plough_cools, c.turn_dries_dry * part.min(1.0))
            }
        };
        let t = self.temperature_c();
        let capacity = self.dry_kg * capacity_j_kg_k(self.moisture());
        let taken = capacity * cools * (t - air_c);
        let dry_air = (1.0 - humidity) / 0.2;
        let off = dries * dry_air * self.dry_kg;
        let with_vapour = off * vapour_j_kg(t);
        self.water_kg -= off;
        self.heat_j -= taken + with_vapour;
        self.ledger.turned_off += off;
        self.ledger.by_turning += taken;
        self.ledger.with_vapour += with_vapour;
        self.longest_h = self.longest_h.max(self.time_h - self.turned_h);
        self.turned_h = self.time_h;
        self.turns += 1.0;
    }
}
