//! What lies on the wire, how it is fired, and the air and peat of it, as noted.

use crate::chain::usual_weather;
use crate::maltings::grown::{Grown, Until};
use crate::maltings::seen::hours;
use gauge::moist_air::kernel as air;
use gauge::{Fault, Record};
use house::malted::Malted;
use house::{Equipment, House, KeptFiring, Make, Standing};
use jiff::Timestamp;
use process::kiln::{
    Air, AirKnot, Charge, Constants, Firing, Peat, Programme, Run, Setting, Solve, State, Turn,
    Vessel, run,
};

/// Cells and steps of the run that is shown: the kiln's own page gives the error of so many.
const FINE: (f64, f64) = (32.0, 75.0);
/// Of the runs that are only compared with one another.
const COARSE: (f64, f64) = (24.0, 120.0);
/// The least factor on the air that is ever tried, and the heat capacity of air.
const LEAST_AIR: f64 = 0.6;
const AIR_HEAT_J_KG_K: f64 = 1006.0;
/// A fire that was off its mark comes back to it within so long, h.
const BACK_H: f64 = 0.5;
/// A turning of the bed that is later than this will not be made good.
const LATE_TURN_H: f64 = 6.0;
/// Green malt where the book knows nothing of its floor: on dry matter, °C, of the dry matter.
const USUAL_GREEN: (f64, f64, f64) = (0.77, 18.0, 0.033);

/// How finely a kilning is reckoned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Grain {
    Fine,
    Coarse,
}

/// Factors on air and drying, as logarithms, and what else is moved.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Moved {
    pub(crate) ln_air: f64,
    pub(crate) ln_drying: f64,
    /// Added to `tail_share`.
    pub(crate) tail: f64,
    /// Added to the moisture as loaded, on dry matter.
    pub(crate) moisture_dry: f64,
    /// Added to the weather's relative humidity.
    pub(crate) humidity: f64,
}

/// A kiln as it is loaded.
#[derive(Debug, Clone)]
pub(crate) struct Laden<'h> {
    pub(crate) kiln: &'h house::plant::Vessel,
    pub(crate) stage: &'h Vessel,
    pub(crate) charge: Charge,
    pub(crate) setting: Setting,
    pub(crate) firing: Firing,
    /// Whether the firing was decided for this piece, or is the make's usual one.
    pub(crate) kept: bool,
    pub(crate) lit_at: Timestamp,
    /// Noted air-on: hours from lighting and °C.
    pub(crate) air_on: Vec<(f64, f64)>,
    /// The piece as it came off its floor, where that is known.
    pub(crate) green: Option<process::floor::Out>,
    /// Dry matter on the wire.
    pub(crate) dry_kg: f64,
    /// Largest share of the air that may be returned.
    pub(crate) most_returned: f64,
    relative_humidity: f64,
}

impl<'h> Laden<'h> {
    /// Puts a kilning together; a piece that is not yet on the kiln is taken as lit at `at`.
    pub(crate) fn of(
        house: &'h House,
        standing: &Standing,
        malted: &'h Malted,
        kept: Option<&KeptFiring>,
        at: Timestamp,
    ) -> Result<Self, Fault> {
        let make = make_of(house, &malted.make)?;
        let on = malted.kiln.as_ref();
        let (kiln, own, stage) = kiln_of(house, on.map_or("", |kiln| kiln.vessel.as_str()))?;
        let lit_at = on.map_or(at, |kiln| kiln.at);
        let green = green(house, standing, malted, lit_at)?;
        let (moisture_dry, grain_c, rootlet_fraction) = green
            .as_ref()
            .map_or(USUAL_GREEN, |g| (g.moisture_dry, g.temperature_c, g.rootlet_fraction));
        // The book finds the loss of malting only at the strip: what lies on the wire is reckoned.
        let usual_kg = own.bed_dry_kg_m2 * stage.area_m2;
        let dry_kg = green.as_ref().map_or(usual_kg, |g| g.dry_kg);
        let bulk = Charge::default();
        let charge = Charge {
            depth_m: dry_kg / (stage.area_m2 * bulk.dry_bulk_kg_m3),
            moisture_dry,
            temperature_c: grain_c,
            rootlet_fraction,
            ..bulk
        };
        let now_h = hours(lit_at, at).max(0.0);
        let firing = match kept {
            Some(kept) => kept_firing(kept, stage.area_m2),
            None => usual_firing(make, stage.area_m2),
        };
        let weather = usual_weather(house, lit_at);
        let turned: Vec<f64> = on
            .into_iter()
            .flat_map(|kiln| kiln.turns.iter().map(|turn| hours(lit_at, *turn)))
            .collect();
        let setting = Setting {
            air: Air {
                pressure_pa: house.plant.site.pressure_pa,
                ambient_c: weather.air_c,
                ..Air::default()
            },
            humidity_ratio: ratio(&weather, house.plant.site.pressure_pa, 0.0),
            peat: make.kiln.peat.clone(),
            turns: turns(&turned, &make.kiln.turns_h, now_h),
            solve: Solve {
                ready_moisture_wet: kept
                    .and_then(|kept| kept.wanted_moisture_wet)
                    .unwrap_or(make.kiln.ready_moisture_wet),
                ..Solve::default()
            },
        };
        let air_on = on
            .into_iter()
            .flat_map(|kiln| kiln.air_on_c.iter().map(|r| (hours(lit_at, r.at), r.value)))
            .filter(|(h, _)| *h >= 0.0)
            .collect();
        let mut laden = Self {
            kiln,
            stage,
            charge,
            setting,
            firing,
            kept: kept.is_some(),
            lit_at,
            air_on,
            green,
            dry_kg,
            most_returned: own.most_returned,
            relative_humidity: weather.relative_humidity,
        };
        laden.peat_as_noted(malted);
        Ok(laden)
    }

    /// The peat as it was burnt so far, and the rest as it is set.
    fn peat_as_noted(&mut self, malted: &Malted) {
        let Some(last) = malted.kiln.as_ref().and_then(|kiln| kiln.peat_kg.last()) else {
            return;
        };
        if self.firing.peat_h <= 0.0 {
            return;
        }
        let share = (hours(self.lit_at, last.at) / self.firing.peat_h).clamp(0.0, 1.0);
        let noted_kg_t = last.value / (self.dry_kg / 1000.0);
        self.firing.peat_kg_t = noted_kg_t + (1.0 - share) * self.firing.peat_kg_t;
    }

    /// The programme, with the air-on as it was noted so far.
    pub(crate) fn programme(&self, grain: Grain, hours: f64) -> Programme {
        let (cells, step_s) = match grain {
            Grain::Fine => FINE,
            Grain::Coarse => COARSE,
        };
        let cells = cells.max(self.least_cells());
        let mut programme = self.firing.programme(&self.setting);
        programme.on = with_noted(&programme.on, &self.air_on);
        programme.solve = Solve { hours, cells, step_s, ..programme.solve };
        programme.turns.retain(|turn| turn.at_h < hours);
        programme
    }

    /// Cells thin enough for the least air of the firing, moved air and a deep bed counted in: the
    /// stage asks for cells thinner than twice the depth in which the air cools.
    fn least_cells(&self) -> f64 {
        let least = self.firing.peat_flow().min(self.firing.flow_kg_m2_s) * LEAST_AIR;
        let c = Constants::default();
        let film = c.film_w_m3_k * least.powf(c.film_power) / self.charge.dry_bulk_kg_m3;
        let thickest_kg_m2 = 2.0 * least * AIR_HEAT_J_KG_K / film;
        (self.charge.depth_m * self.charge.dry_bulk_kg_m3 / thickest_kg_m2).ceil()
    }

    /// Runs it with factors moved, to an hour.
    pub(crate) fn run(&self, grain: Grain, moved: &Moved, hours: f64) -> Result<Run, Fault> {
        let programme = self.moved_programme(grain, moved, hours);
        let constants = Self::constants(moved);
        let charge = Charge {
            moisture_dry: self.charge.moisture_dry + moved.moisture_dry,
            ..self.charge.clone()
        };
        run(&charge, &self.with_air(moved.ln_air.exp()), &programme, &constants)
    }

    fn moved_programme(&self, grain: Grain, moved: &Moved, hours: f64) -> Programme {
        let mut programme = self.programme(grain, hours);
        let air_factor = moved.ln_air.exp();
        programme.air.flow_kg_m2_s *= air_factor;
        let pressure_pa = self.setting.air.pressure_pa;
        let humid = self.humidity(moved.humidity, pressure_pa);
        for knot in &mut programme.on {
            knot.flow_kg_m2_s = knot.flow_kg_m2_s.map(|flow| flow * air_factor);
            knot.humidity_ratio += humid;
        }
        programme
    }

    /// The constants with drying and tail moved.
    pub(crate) fn constants(moved: &Moved) -> Constants {
        let usual = Constants::default();
        Constants {
            rate_1_s: usual.rate_1_s * moved.ln_drying.exp(),
            tail_share: usual.tail_share + moved.tail,
            ..usual
        }
    }

    /// The kiln with limits of its fan in the air that really passes.
    pub(crate) fn with_air(&self, by: f64) -> Vessel {
        let fan_kg_s = self.stage.fan_kg_s.map(|fan| fan * by);
        Vessel { fan_kg_s, ..self.stage.clone() }
    }

    /// The bed as it stands so many hours after lighting.
    pub(crate) fn stands(&self, moved: &Moved, now_h: f64) -> Result<State, Fault> {
        let fine = self.setting.solve.cells;
        let mut programme = self.moved_programme(Grain::Fine, moved, now_h);
        programme.solve.cells = fine;
        let constants = Self::constants(moved);
        Ok(run(&self.charge, &self.with_air(moved.ln_air.exp()), &programme, &constants)?.state)
    }

    fn humidity(&self, by: f64, pressure_pa: f64) -> f64 {
        let of = |relative: f64| {
            let vapour_pa = relative * air::saturation_pa(self.setting.air.ambient_c);
            air::humidity_ratio(vapour_pa, pressure_pa)
        };
        of((self.relative_humidity + by).min(1.0)) - of(self.relative_humidity)
    }
}

pub(crate) fn make_of<'h>(house: &'h House, key: &str) -> Result<&'h Make, Fault> {
    house.make(key).ok_or_else(|| Fault::NotAllowed {
        field: "make".into(),
        found: key.to_owned(),
        allowed: house.makes.makes.iter().map(|make| make.key.clone()).collect(),
    })
}

type Kiln<'h> = (&'h house::plant::Vessel, &'h house::vessel::Kiln, &'h Vessel);

/// The figures of a kiln of the house; its first one when none is named.
pub(crate) fn kiln_of<'h>(house: &'h House, key: &str) -> Result<Kiln<'h>, Fault> {
    let mut own = house.vessel(key).into_iter().chain(house.vessels("kiln"));
    own.find_map(|vessel| match &vessel.what {
        Equipment::Kiln(own, stage) => Some((vessel, own, stage)),
        _ => None,
    })
    .ok_or(Fault::MissingPart { field: "vessel".into(), wanted: "a kiln" })
}

fn green(
    house: &House,
    standing: &Standing,
    malted: &Malted,
    lit_at: Timestamp,
) -> Result<Option<process::floor::Out>, Fault> {
    if malted.floor.is_none() {
        return Ok(None);
    }
    let grown = Grown::of(house, standing, malted, lit_at)?.fitted();
    let lay_h = grown.now_h.max(1.0);
    Ok(Some(grown.course(Until::Hour(lay_h))?.out))
}

fn ratio(weather: &house::plant::Weather, pressure_pa: f64, more: f64) -> f64 {
    let relative = (weather.relative_humidity + more).min(1.0);
    let vapour_pa = relative * air::saturation_pa(weather.air_c);
    air::humidity_ratio(vapour_pa, pressure_pa)
}

/// Turnings done, and those of the make still to come; one that is late is made good now.
fn turns(done: &[f64], usual: &[f64], now_h: f64) -> Vec<Turn> {
    let turn = |at_h: f64| {
        let mut turn = Turn::default();
        turn.set("at_h", at_h);
        turn
    };
    let mut out: Vec<Turn> = done.iter().copied().filter(|h| *h > 0.0).map(turn).collect();
    let mut last_h = out.last().map_or(0.0, |turn| turn.at_h);
    for at_h in usual.iter().skip(done.len()) {
        if *at_h < now_h - LATE_TURN_H {
            continue;
        }
        let at_h = at_h.max(now_h).max(last_h + 0.1);
        out.push(turn(at_h));
        last_h = at_h;
    }
    out
}

/// Gives the firing that the house is used to for a make.
///
/// # Units
/// Air a square metre of a wire of `area_m2`.
/// # Range
/// Any make: phases between the first and the last are taken together.
/// # Error
/// Exact for a smoke, a drying and a cure.
/// # Source
/// The house's files.
pub fn usual_firing(make: &Make, area_m2: f64) -> Firing {
    let peat: &Peat = &make.kiln.peat;
    let smokes = peat.hours > 0.0 && make.kiln.phases.len() > 1;
    let (smoke, rest) = make.kiln.phases.split_at(usize::from(smokes));
    let (dry, cure) = rest.split_at(rest.len().saturating_sub(1).max(1).min(rest.len()));
    let total = |of: &[house::make::KilnPhase]| of.iter().map(|p| p.figures.hours_h).sum::<f64>();
    let dry_h = total(dry);
    let mean = |of: &dyn Fn(&house::make::KilnPhase) -> f64| {
        dry.iter().map(|p| p.figures.hours_h * of(p)).sum::<f64>() / dry_h
    };
    let usual = Firing::default();
    Firing {
        peat_h: total(smoke),
        peat_kg_t: if smokes { peat.peat_kg_t } else { 0.0 },
        peat_c: smoke.first().map_or(usual.peat_c, |p| p.temperature_c),
        peat_flow_kg_m2_s: smoke.first().map(|p| p.figures.flow_kg_s / area_m2),
        dry_h,
        dry_c: mean(&|p| p.temperature_c),
        flow_kg_m2_s: mean(&|p| p.figures.flow_kg_s) / area_m2,
        cure_h: total(cure),
        cure_c: cure.first().map_or(usual.cure_c, |p| p.temperature_c),
        returned: make.kiln.returned,
        ..usual
    }
}

/// Gives the firing that was decided for a piece.
///
/// # Units
/// Air a square metre of a wire of `area_m2`.
/// # Range
/// As it was kept.
/// # Error
/// Exact.
/// # Source
/// The book.
pub fn kept_firing(kept: &KeptFiring, area_m2: f64) -> Firing {
    Firing {
        peat_h: kept.peat_h,
        peat_kg_t: kept.peat_kg_t,
        peat_c: kept.peat_c,
        peat_flow_kg_m2_s: (kept.peat_h > 0.0).then(|| kept.peat_flow_kg_s / area_m2),
        dry_h: kept.dry_h,
        dry_c: kept.dry_c,
        flow_kg_m2_s: kept.flow_kg_s / area_m2,
        cure_h: kept.cure_h,
        cure_c: kept.cure_c,
        returned: kept.returned,
        ramp_h: kept.ramp_h,
    }
}

/// Knots of the air-on moved by what was noted: between two readings the difference goes over
/// from one to the other, before the first it is the first's, and after the last the fire comes
/// back to what it is set to.
fn with_noted(on: &[AirKnot], noted: &[(f64, f64)]) -> Vec<AirKnot> {
    let (Some(first), Some(last)) = (noted.first(), noted.last()) else {
        return on.to_vec();
    };
    let off: Vec<(f64, f64)> =
        noted.iter().map(|(h, c)| (*h, c - knot_at(on, *h).temperature_c)).collect();
    let difference = |at_h: f64| -> f64 {
        if at_h >= last.0 {
            let left = 1.0 - (at_h - last.0) / BACK_H;
            return off[off.len() - 1].1 * left.max(0.0);
        }
        if at_h <= first.0 {
            return off[0].1;
        }
        let next = off.partition_point(|(h, _)| *h < at_h).clamp(1, off.len() - 1);
        let ((a, x), (b, y)) = (off[next - 1], off[next]);
        x + (y - x) * (at_h - a) / (b - a).max(1e-9)
    };
    let mut times: Vec<f64> = on.iter().map(|knot| knot.at_h).collect();
    times.extend(noted.iter().map(|(h, _)| *h));
    times.push(last.0 + BACK_H);
    times.sort_by(f64::total_cmp);
    times.dedup_by(|b, a| *b - *a < 1e-3);
    let knot = |at_h: &f64| {
        let set = knot_at(on, *at_h);
        let temperature_c = (set.temperature_c + difference(*at_h)).clamp(0.0, 110.0);
        AirKnot { at_h: *at_h, temperature_c, ..set }
    };
    times.iter().map(knot).collect()
}

/// The air-on at a moment, on the straight line between knots.
fn knot_at(on: &[AirKnot], at_h: f64) -> AirKnot {
    let next = on.partition_point(|knot| knot.at_h <= at_h);
    let before = &on[next.saturating_sub(1)];
    let after = on.get(next).unwrap_or(before);
    let span = after.at_h - before.at_h;
    let share = if span > 0.0 { ((at_h - before.at_h) / span).clamp(0.0, 1.0) } else { 0.0 };
    let between = |a: f64, b: f64| a + share * (b - a);
    let flow = before.flow_kg_m2_s.zip(after.flow_kg_m2_s).map(|(a, b)| between(a, b));
    AirKnot {
        at_h,
        temperature_c: between(before.temperature_c, after.temperature_c),
        humidity_ratio: between(before.humidity_ratio, after.humidity_ratio),
        flow_kg_m2_s: flow,
    }
}

/// The air-on that is set at a moment.
pub(super) fn set_c(on: &[AirKnot], at_h: f64) -> f64 {
    knot_at(on, at_h).temperature_c
}
