//! The course of a piece, step by step, with its ledgers of matter and heat.

use gauge::moist_air::kernel;

use super::figures::{Charge, Constants, Hand, Programme, Vessel};
use super::growth::{
    STARCH_CARBON_DIOXIDE, STARCH_HEAT_J_KG, STARCH_WATER, acrospire, overgrown, pace, softening,
    vigour, wetness,
};
use super::heat::{
    DRY_HEAT_J_KG_K, Passing, WATER_HEAT_J_KG_K, capacity_j_kg_k, core_excess_dk, passing,
};
use super::{Out, Run};
use crate::{Balance, Curves, Matter};
use gauge::{Fault, Warning};

/// Longest step; temperatures change over hours.
const STEP_H: f64 = 1.0 / 60.0;
/// Rows of the curves.
const EVERY_H: f64 = 1.0;
/// A warm piece is not turned again sooner.
const TURN_GAP_H: f64 = 1.0;
/// Longest a piece is waited for.
const LONGEST_H: f64 = 21.0 * 24.0;
/// Hours without a turn that mat the rootlets.
const MATTED_H: f64 = 30.0;
/// Heat of evaporation at 0 °C and of warming the vapour.
const EVAPORATION_J_KG: f64 = 2.501e6;
const VAPOUR_HEAT_J_KG_K: f64 = 1860.0;
/// Events this close are one, in hours.
const SAME_H: f64 = 1e-9;

/// Lets the piece lie until it is ready or its hours are over.
pub(super) fn lie(
    charge: &Charge,
    vessel: &Vessel,
    programme: &Programme,
    constants: &Constants,
) -> Result<Run, Fault> {
    let mut course = Course::new(charge, vessel, programme, constants);
    course.row();
    let end = programme.hand.hours.unwrap_or(LONGEST_H);
    while course.time_h < end - SAME_H {
        if programme.hand.hours.is_none() && course.ready_h.is_some() {
            break;
        }
        course.step(end);
    }
    if programme.hand.hours.is_none() && course.ready_h.is_none() {
        return Err(Fault::NeverReached {
            field: "hand.ready_modification".into(),
            wanted: programme.hand.ready_modification,
            reached: course.modification,
            unit: "",
        });
    }
    course.row();
    Ok(course.finish())
}

/// Amounts since casting, kg and J.
#[derive(Debug, Clone, Copy, Default)]
struct Ledger {
    breathed: f64,
    made: f64,
    sprinkled: f64,
    sprinkled_heat: f64,
    evaporated: f64,
    turned_off: f64,
    heat_made: f64,
    heat_of_starch: f64,
    to_air: f64,
    to_floor: f64,
    by_turning: f64,
    with_vapour: f64,
}

struct Course<'a> {
    charge: &'a Charge,
    vessel: &'a Vessel,
    programme: &'a Programme,
    c: &'a Constants,
    time_h: f64,
    dry_kg: f64,
    water_kg: f64,
    heat_j: f64,
    heat_at_start_j: f64,
    root_kg: f64,
    age_d: f64,
    modification: f64,
    depth_m: f64,
    laid_m: f64,
    passing: Passing,
    turned_h: f64,
    longest_h: f64,
    turns: u32,
    ready_h: Option<f64>,
    highest_c: f64,
    highest_core_c: f64,
    next_row: u32,
    ledger: Ledger,
    curves: Curves,
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

impl<'a> Course<'a> {
    fn new(
        charge: &'a Charge,
        vessel: &'a Vessel,
        programme: &'a Programme,
        c: &'a Constants,
    ) -> Self {
        let moisture = charge.moisture_wet / (1.0 - charge.moisture_wet);
        let water_kg = charge.dry_kg * (moisture + charge.surface_water_dry);
        let held = capacity_j_kg_k(water_kg / charge.dry_kg) * charge.temperature_c;
        let heat_j = charge.dry_kg * held;
        let covered = vessel.area_m2 * programme.hand.covered_fraction;
        let depth_m = charge.dry_kg / (c.dry_bulk_kg_m3 * covered);
        Self {
            charge,
            vessel,
            programme,
            c,
            time_h: 0.0,
            dry_kg: charge.dry_kg,
            water_kg,
            heat_j,
            heat_at_start_j: heat_j,
            root_kg: 0.0,
            age_d: 0.0,
            modification: 0.0,
            depth_m,
            laid_m: depth_m,
            passing: passing(c, depth_m),
            turned_h: 0.0,
            longest_h: 0.0,
            turns: 0,
            ready_h: None,
            highest_c: charge.temperature_c,
            highest_core_c: charge.temperature_c,
            next_row: 1,
            ledger: Ledger::default(),
            curves: columns(),
        }
    }

    fn moisture(&self) -> f64 {
        self.water_kg / self.dry_kg
    }

    fn temperature_c(&self) -> f64 {
        self.heat_j / (self.dry_kg * capacity_j_kg_k(self.moisture()))
    }

    /// Heat a kilogram of vapour carries off.
    fn vapour_j_kg(temperature_c: f64) -> f64 {
        EVAPORATION_J_KG + VAPOUR_HEAT_J_KG_K * temperature_c
    }

    fn rates(&self) -> Rates {
        let (t, m) = (self.temperature_c(), self.moisture());
        let hand = &self.programme.hand;
        let wet = wetness(m / (1.0 + m)).min(self.c.wettest_growth);
        let growth = pace(t) * wet;
        let alive = self.charge.germinating_fraction;
        let alive = alive + self.c.dead_respiration * (1.0 - alive);
        let asleep = self.time_h < self.charge.lag_h - SAME_H;
        let breathed = self.c.respiration_1_d * vigour(self.age_d) * growth * alive * self.dry_kg;
        let age_d = if asleep { 0.0 } else { growth };
        let slow =
            (1.0 - self.c.nitrogen_slows * (self.charge.nitrogen_pct_dry - 1.5)).clamp(0.6, 1.1);
        let rate = self.c.modification_1_d * slow;
        let area = self.dry_kg / (self.c.dry_bulk_kg_m3 * self.depth_m);
        Rates {
            breathed: breathed / 86_400.0,
            age_d: age_d / 86_400.0,
            modification: softening(rate, self.age_d, self.modification) * age_d / 86_400.0,
            evaporated: self.crust_kg_m2_s(hand, t) * area,
            to_air: self.passing.top * (t - hand.air_c) * area,
            to_floor: self.passing.below * (t - hand.floor_c) * area,
        }
    }

    /// `k_e (W_s(T) − W_air)`, `k_e = h/1006 × crust`
    fn crust_kg_m2_s(&self, hand: &Hand, temperature_c: f64) -> f64 {
        let vapour = hand.air_relative_humidity * kernel::saturation_pa(hand.air_c);
        let outside = kernel::humidity_ratio(vapour, hand.pressure_pa);
        let inside = kernel::saturation_humidity_ratio(temperature_c, hand.pressure_pa);
        (self.c.surface_w_m2_k / 1006.0 * self.c.crust * (inside - outside)).max(0.0)
    }

    /// One step: no longer than a minute, to the next event at most.
    fn step(&mut self, end_h: f64) {
        let hand = &self.programme.hand;
        let row_h = f64::from(self.next_row) * EVERY_H;
        let mut to_h = (self.time_h + STEP_H).min(end_h).min(row_h);
        to_h = to_h.min(self.turned_h + hand.turn_every_h);
        let events = self.programme.sprinkles.iter().map(|s| s.at_h);
        let events = events.chain(self.programme.spreads.iter().map(|s| s.at_h));
        for at_h in events.chain([self.charge.lag_h]) {
            if at_h > self.time_h + SAME_H {
                to_h = to_h.min(at_h);
            }
        }
        let rates = self.rates();
        let mut dt_s = (to_h - self.time_h) * 3600.0;
        let missing = hand.ready_modification - self.modification;
        if self.ready_h.is_none() && rates.modification * dt_s >= missing {
            // The step that makes it ready ends there.
            dt_s = (missing / rates.modification).max(0.0);
            to_h = self.time_h + dt_s / 3600.0;
            self.ready_h = Some(to_h);
        }
        self.go_on(&rates, dt_s);
        self.time_h = to_h;
        self.events();
        if (to_h - row_h).abs() < SAME_H {
            self.next_row += 1;
            if to_h < end_h - SAME_H {
                self.row();
            }
        }
    }

    fn go_on(&mut self, rates: &Rates, dt_s: f64) {
        let t = self.temperature_c();
        let breathed = rates.breathed * dt_s;
        let made = STARCH_WATER * breathed;
        let evaporated = rates.evaporated * dt_s;
        let heat_made = STARCH_HEAT_J_KG * breathed;
        // Starch goes at the piece's temperature, the water it makes comes at it.
        let of_starch = (DRY_HEAT_J_KG_K * breathed - WATER_HEAT_J_KG_K * made) * t;
        let with_vapour = Self::vapour_j_kg(t) * evaporated;
        let (to_air, to_floor) = (rates.to_air * dt_s, rates.to_floor * dt_s);
        self.dry_kg -= breathed;
        self.water_kg += made - evaporated;
        self.heat_j += heat_made - of_starch - with_vapour - to_air - to_floor;
        self.root_kg += self.c.rootlet_share * breathed;
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
        let now = self.temperature_c();
        let core = core_excess_dk(self.c, heat_made / dt_s.max(1e-9) / self.dry_kg, self.depth_m);
        self.highest_c = self.highest_c.max(now);
        self.highest_core_c = self.highest_core_c.max(now + core);
    }

    /// Turns, sprinklings and thinnings that fall on this moment.
    fn events(&mut self) {
        let programme = self.programme;
        let now = self.time_h;
        for s in &programme.sprinkles {
            if (s.at_h - now).abs() < SAME_H {
                let water = s.water_kg_t * self.charge.dry_kg / 1000.0;
                let heat = water * WATER_HEAT_J_KG_K * s.temperature_c;
                self.water_kg += water;
                self.heat_j += heat;
                self.ledger.sprinkled += water;
                self.ledger.sprinkled_heat += heat;
            }
        }
        for s in &programme.spreads {
            if (s.at_h - now).abs() < SAME_H {
                let covered = self.vessel.area_m2 * s.covered_fraction;
                self.depth_m = self.dry_kg / (self.c.dry_bulk_kg_m3 * covered);
                self.passing = passing(self.c, self.depth_m);
            }
        }
        let since = now - self.turned_h;
        let warm = self.temperature_c() > programme.hand.turn_above_c && since >= TURN_GAP_H;
        if warm || since >= programme.hand.turn_every_h - SAME_H {
            self.turn();
        }
    }

    fn turn(&mut self) {
        let hand = &self.programme.hand;
        let t = self.temperature_c();
        let capacity = self.dry_kg * capacity_j_kg_k(self.moisture());
        let taken = capacity * self.c.turn_cools * (t - hand.air_c);
        let dry_air = (1.0 - hand.air_relative_humidity) / 0.2;
        let off = self.c.turn_dries_dry * dry_air * self.dry_kg;
        let with_vapour = off * Self::vapour_j_kg(t);
        self.water_kg -= off;
        self.heat_j -= taken + with_vapour;
        self.ledger.turned_off += off;
        self.ledger.by_turning += taken;
        self.ledger.with_vapour += with_vapour;
        self.longest_h = self.longest_h.max(self.time_h - self.turned_h);
        self.turned_h = self.time_h;
        self.turns += 1;
    }

    fn row(&mut self) {
        let m = self.moisture();
        self.curves.push(&[
            self.time_h,
            self.temperature_c(),
            m / (1.0 + m),
            self.modification,
            acrospire(self.age_d),
            self.age_d,
            self.ledger.breathed / self.charge.dry_kg,
            self.root_kg / self.dry_kg,
            self.depth_m,
            f64::from(self.turns),
        ]);
    }

    fn finish(self) -> Run {
        let balance = self.balance();
        let m = self.moisture();
        let barley = self.charge.barley_dry_kg.unwrap_or(self.charge.dry_kg);
        let length = acrospire(self.age_d);
        let out = Out {
            dry_kg: self.dry_kg,
            rootlet_fraction: self.root_kg / self.dry_kg,
            moisture_wet: m / (1.0 + m),
            moisture_dry: m,
            temperature_c: self.temperature_c(),
            nitrogen_pct_dry: self.charge.nitrogen_pct_dry,
            germinating_fraction: self.charge.germinating_fraction,
            modification: self.modification,
            acrospire: length,
            overgrown_fraction: overgrown(length, self.c.acrospire_sd),
            malting_loss_fraction: 1.0 - (self.dry_kg - self.root_kg) / barley,
            hours: self.time_h,
            ready_h: self.ready_h,
            age_d: self.age_d,
            highest_c: self.highest_c,
            highest_core_c: self.highest_core_c,
            turns: self.turns,
            depth_m: self.laid_m,
            carbon_dioxide_kg: STARCH_CARBON_DIOXIDE * self.ledger.breathed,
            evaporated_kg: self.ledger.evaporated + self.ledger.turned_off,
        };
        let longest = self.longest_h.max(self.time_h - self.turned_h);
        let warnings = warnings(&out, longest);
        Run { out, curves: self.curves, balance, warnings }
    }

    fn balance(&self) -> Balance {
        let l = &self.ledger;
        let start = self.charge.dry_kg;
        let moisture = self.charge.moisture_wet / (1.0 - self.charge.moisture_wet);
        let end_c = self.temperature_c();
        let end_j = end_c * (DRY_HEAT_J_KG_K * self.dry_kg + WATER_HEAT_J_KG_K * self.water_kg);
        let kj = |joules: f64| joules / 1000.0;
        let mut b = Balance::new();
        b.input(Matter::DryMatter, "cast", start)
            .output(Matter::DryMatter, "green malt", self.dry_kg)
            .lost(Matter::DryMatter, "breathed", l.breathed)
            .input(Matter::Water, "cast", start * moisture)
            .input(Matter::Water, "clinging", start * self.charge.surface_water_dry)
            .input(Matter::Water, "made by breathing", l.made)
            .input(Matter::Water, "sprinkled", l.sprinkled)
            .output(Matter::Water, "green malt", self.water_kg)
            .lost(Matter::Water, "dried off lying", l.evaporated)
            .lost(Matter::Water, "dried off in turning", l.turned_off)
            .input(Matter::Energy, "cast", kj(self.heat_at_start_j))
            .input(Matter::Energy, "breathing", kj(l.heat_made))
            .input(Matter::Energy, "sprinkled", kj(l.sprinkled_heat))
            .output(Matter::Energy, "green malt", kj(end_j))
            .lost(Matter::Energy, "held by starch less water made", kj(l.heat_of_starch))
            .lost(Matter::Energy, "to the air", kj(l.to_air))
            .lost(Matter::Energy, "to the floor", kj(l.to_floor))
            .lost(Matter::Energy, "by turning", kj(l.by_turning))
            .lost(Matter::Energy, "with vapour", kj(l.with_vapour));
        b
    }
}

fn warnings(out: &Out, longest_h: f64) -> Vec<Warning> {
    let mut warnings = Vec::new();
    let mut warn = |code, says: String| warnings.push(Warning { code, says });
    if out.highest_c > 22.0 {
        warn("hot", format!("The piece reached {:.1} °C; thin it or turn it more.", out.highest_c));
    }
    if longest_h > MATTED_H {
        warn("matted", format!("It lay {longest_h:.0} h without a turn; the rootlets mat."));
    }
    if out.overgrown_fraction > 0.10 {
        let pct = 100.0 * out.overgrown_fraction;
        warn("overgrown", format!("Of the corns {pct:.0} % have outgrown their length."));
    }
    if out.moisture_wet < 0.38 {
        let pct = 100.0 * out.moisture_wet;
        warn("dry", format!("It ends at {pct:.1} % moisture; growth wants more water."));
    }
    warnings
}

fn columns() -> Curves {
    Curves::new([
        ("time_h", "h"),
        ("temperature_c", "°C"),
        ("moisture_wet", "kg/kg"),
        ("modification", ""),
        ("acrospire", ""),
        ("age_d", "d"),
        ("breathed_fraction", "kg/kg"),
        ("rootlet_fraction", "kg/kg"),
        ("depth_m", "m"),
        ("turns", ""),
    ])
}
