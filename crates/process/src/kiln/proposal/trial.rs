//! One kilning tried: its fuel, and how far it breaks what is wanted.

use super::super::drying::{AIR_HEAT_J_KG_K, film_w_kg_k};
use super::super::figures::{Charge, Constants, Programme, Solve};
use super::super::firing::{Firing, Setting};
use super::super::{Out, Run, State, resume, run};
use super::Asked;
use super::point::{Ground, Point};
use gauge::Fault;

/// Cells and step of a kilning tried; more cells where the bed asks for them.
const CELLS: f64 = 20.0;
const STEP_S: f64 = 60.0;
const EVERY_H: f64 = 0.5;
/// What a flue draws at least, before the air over the bed is warm.
const LEAST_DRAUGHT_KG_M2_S: f64 = 0.02;
/// Air is never sent back before the break, whatever the setting says.
const RETURNED_BELOW: f64 = 0.80;

/// Share by which a burner may fall short for a moment: a change of fire is not so sharp.
const BURNER_SPARE: f64 = 0.01;

/// What can be broken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Wish {
    /// The phases do not fit into the hours.
    Hours,
    Moisture,
    Phenols,
    Enzymes,
    Burner,
    /// The kiln refuses it outright.
    Refused,
}

/// How many wishes there are.
pub(super) const WISHES: usize = 6;

/// A kilning tried.
#[derive(Debug, Clone)]
pub(super) struct Trial {
    pub(super) point: Point,
    pub(super) peat_kg_t: f64,
    /// Natural logarithms of moisture and phenols over what is wanted.
    pub(super) moist: f64,
    pub(super) smoky: f64,
    pub(super) fuel_mj: f64,
    /// When the bed came to the wanted moisture.
    pub(super) ready_h: Option<f64>,
    /// How far each wish is broken, as a share of it or hours.
    pub(super) broken: [f64; WISHES],
    /// What the search brings down, corrected for the moisture and smoke it misses by a little.
    pub(super) worth: f64,
    /// Heat asked of the burner at most, W/m².
    pub(super) burner_w_m2: f64,
    pub(super) refused: Option<Fault>,
}

impl Trial {
    pub(super) fn breach(&self) -> f64 {
        self.broken.iter().sum()
    }

    pub(super) fn keeps(&self) -> bool {
        self.breach() <= 0.0
    }

    /// Whether this is to be preferred: what keeps to the wishes before what does not, then the
    /// lesser breach, then the lesser worth.
    pub(super) fn better_than(&self, other: &Self) -> bool {
        match (self.keeps(), other.keeps()) {
            (true, true) => self.worth < other.worth * (1.0 - 1e-5),
            (true, false) => true,
            (false, true) => false,
            (false, false) => self.breach() < other.breach() * (1.0 - 1e-3),
        }
    }

    /// A point that no kilning can be made of.
    pub(super) fn unfit(point: Point, peat_kg_t: f64, wish: Wish, by: f64) -> Self {
        let mut broken = [0.0; WISHES];
        broken[wish as usize] = 10.0 + by;
        Self {
            point,
            peat_kg_t,
            moist: 0.0,
            smoky: 0.0,
            fuel_mj: f64::INFINITY,
            ready_h: None,
            broken,
            worth: f64::INFINITY,
            burner_w_m2: 0.0,
            refused: None,
        }
    }
}

/// What a kilning, or the part of one, takes and gives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Sum {
    oil_kg: f64,
    peat_kg: f64,
    fan_kwh: f64,
    at_risk_h: f64,
    moisture_dry: f64,
    phenols_mg_kg_dry: f64,
    ready_h: Option<f64>,
    /// Heat asked of the burner at most, W/m².
    burner_w_m2: f64,
}

impl Sum {
    /// Of a run.
    pub(super) fn of(asked: &Asked<'_>, ground: &Ground, firing: &Firing, run: &Run) -> Self {
        let out = &run.out;
        Self {
            oil_kg: out.oil_kg,
            peat_kg: out.peat_kg,
            fan_kwh: out.fan_kwh,
            at_risk_h: out.enzymes_at_risk_h,
            moisture_dry: out.moisture_dry,
            phenols_mg_kg_dry: out.phenols_mg_kg_dry,
            ready_h: out.ready_h,
            burner_w_m2: heat_asked(asked, ground, firing, run),
        }
    }

    /// Of a part and the part that follows it.
    fn then(&self, next: &Self) -> Self {
        Self {
            oil_kg: self.oil_kg + next.oil_kg,
            peat_kg: self.peat_kg + next.peat_kg,
            fan_kwh: self.fan_kwh + next.fan_kwh,
            at_risk_h: self.at_risk_h + next.at_risk_h,
            ready_h: self.ready_h.or(next.ready_h),
            burner_w_m2: self.burner_w_m2.max(next.burner_w_m2),
            ..*next
        }
    }

    fn fuel_mj(&self, asked: &Asked<'_>) -> f64 {
        let weights = asked.weights;
        self.oil_kg * asked.vessel.oil_mj_kg * weights.oil
            + self.peat_mj(asked)
            + self.fan_kwh * 3.6 * weights.electricity
    }

    fn peat_mj(&self, asked: &Asked<'_>) -> f64 {
        self.peat_kg * asked.setting.peat.peat_mj_kg * asked.weights.peat
    }
}

/// Fuel of a whole run, weighed.
pub(super) fn fuel_mj(out: &Out, asked: &Asked<'_>) -> f64 {
    let weights = asked.weights;
    out.oil_kg * asked.vessel.oil_mj_kg * weights.oil
        + out.peat_kg * asked.setting.peat.peat_mj_kg * weights.peat
        + out.fan_kwh * 3.6 * weights.electricity
}

/// The bed as the smoke leaves it, kept for all kilnings that differ only in what comes after.
#[derive(Debug, Clone)]
pub(super) struct Smoked {
    firing: Firing,
    state: State,
    sum: Sum,
}

impl Smoked {
    fn serves(&self, firing: &Firing, cells: f64) -> bool {
        let same = |a: f64, b: f64| (a - b).abs() < 1e-9 * b.abs().max(1.0);
        let kept = self.state.moisture_dry.len() as f64;
        same(self.firing.peat_h, firing.peat_h)
            && same(self.firing.peat_kg_t, firing.peat_kg_t)
            && same(self.firing.peat_c, firing.peat_c)
            && same(self.firing.peat_flow(), firing.peat_flow())
            // A few cells too many are cheaper than the smoke once more.
            && (cells..=1.4 * cells).contains(&kept)
    }
}

/// The setting a proposal is reckoned in: air comes back only after the break, and ready means
/// as moist as is wanted.
fn setting_of(asked: &Asked<'_>, solve: &Solve) -> Setting {
    let mut setting = asked.setting.clone();
    setting.air.returned_below = setting.air.returned_below.min(RETURNED_BELOW);
    setting.solve = Solve { ready_moisture_wet: asked.wanted.moisture_wet, ..solve.clone() };
    setting
}

/// Runs a firing as finely as the case asks.
pub(super) fn finely(asked: &Asked<'_>, firing: &Firing) -> Result<Run, Fault> {
    kilned(asked, firing, &asked.setting.solve, asked.from)
}

/// Runs a firing in a coarse bed.
pub(super) fn coarsely(asked: &Asked<'_>, firing: &Firing) -> Result<Run, Fault> {
    kilned(asked, firing, &coarse(asked, cells(asked, firing)), asked.from)
}

fn coarse(asked: &Asked<'_>, cells: f64) -> Solve {
    Solve { cells, step_s: STEP_S, every_h: EVERY_H, ..asked.setting.solve.clone() }
}

fn kilned(
    asked: &Asked<'_>,
    firing: &Firing,
    solve: &Solve,
    from: Option<&State>,
) -> Result<Run, Fault> {
    let Asked { charge, vessel, constants, .. } = *asked;
    let cells = solve.cells;
    let programme = firing.programme(&setting_of(asked, solve));
    match from {
        None => run(charge, vessel, &programme, constants),
        Some(state) if state.time_h >= programme.solve.hours => Err(Fault::Beyond {
            field: "firing".into(),
            value: programme.solve.hours,
            unit: "h",
            side: gauge::fault::Side::AtLeast,
            limit: state.time_h,
            sets: "the hours the kiln has been lit".into(),
        }),
        Some(state) => resume(&recut(state, cells), charge, vessel, &programme, constants),
    }
}

/// A bed cut into another number of cells; what each holds is shared out by dry matter.
pub(super) fn recut(state: &State, cells: f64) -> State {
    let (from, to) = (state.moisture_dry.len(), cells.round() as usize);
    if from == to {
        return state.clone();
    }
    let share = |values: &[f64]| -> Vec<f64> {
        let wide = from as f64 / to as f64;
        let piece = |i: usize| {
            let (low, high) = (i as f64 * wide, (i + 1) as f64 * wide);
            let cells = low.floor() as usize..(high.ceil() as usize).min(from);
            let held = |j: usize| (high.min((j + 1) as f64) - low.max(j as f64)).max(0.0);
            cells.map(|j| values[j] * held(j)).sum::<f64>() / wide
        };
        (0..to).map(piece).collect()
    };
    State {
        moisture_dry: share(&state.moisture_dry),
        grain_c: share(&state.grain_c),
        phenols_mg_kg_dry: share(&state.phenols_mg_kg_dry),
        ..state.clone()
    }
}

/// Cells that a coarse run of this firing needs.
fn cells(asked: &Asked<'_>, firing: &Firing) -> f64 {
    let drawn = if asked.vessel.flue_m.is_some() && asked.vessel.fan_kg_s.is_none() {
        LEAST_DRAUGHT_KG_M2_S
    } else {
        1.0
    };
    let least = firing.flow_kg_m2_s.min(firing.peat_flow()).min(drawn);
    let through = least * (1.0 - asked.vessel.leak_fraction);
    cells_for(asked.charge, asked.constants, through)
}

/// Cells each thinner than the air's cooling allows, and one to spare.
pub(crate) fn cells_for(charge: &Charge, constants: &Constants, flow_kg_m2_s: f64) -> f64 {
    let film = film_w_kg_k(constants, charge.dry_bulk_kg_m3, flow_kg_m2_s);
    let thickest = 2.0 * flow_kg_m2_s * AIR_HEAT_J_KG_K / film;
    (charge.depth_m * charge.dry_bulk_kg_m3 / thickest).ceil().max(CELLS - 1.0) + 1.0
}

/// Cells times hours that trying a firing takes, for counting out the work.
pub(super) fn work(asked: &Asked<'_>, smoked: Option<&Smoked>, firing: &Firing) -> f64 {
    let from_h = asked.from.map_or(0.0, |state| state.time_h);
    let cells = cells(asked, firing);
    let kept = smoked.is_some_and(|kept| kept.serves(firing, cells));
    let begins_h = if kept { firing.peat_h } else { from_h };
    (firing.hours() - begins_h).max(0.0) * cells
}

/// Tries one firing in a coarse bed.
pub(super) fn tried(
    asked: &Asked<'_>,
    ground: &Ground,
    smoked: &mut Option<Smoked>,
    (point, peat_kg_t): (Point, f64),
) -> Trial {
    let firing = match ground.firing(&point, peat_kg_t) {
        Ok(firing) => firing,
        Err(by_h) => return Trial::unfit(point, peat_kg_t, Wish::Hours, by_h),
    };
    match summed(asked, ground, smoked, &firing) {
        Ok(sum) => judged(asked, ground, (point, firing.peat_kg_t), &sum),
        Err(fault) => {
            Trial { refused: Some(fault), ..Trial::unfit(point, peat_kg_t, Wish::Refused, 0.0) }
        }
    }
}

/// What a firing comes to; its smoke is run only when it is not that of the one before.
fn summed(
    asked: &Asked<'_>,
    ground: &Ground,
    smoked: &mut Option<Smoked>,
    firing: &Firing,
) -> Result<Sum, Fault> {
    let from_h = asked.from.map_or(0.0, |state| state.time_h);
    // Less than a change of fire after the smoke is no part of its own.
    if firing.peat_h < from_h + 1.0 || firing.hours() < firing.peat_h + 1.0 {
        let run = coarsely(asked, firing)?;
        return Ok(Sum::of(asked, ground, firing, &run));
    }
    if !smoked.as_ref().is_some_and(|kept| kept.serves(firing, cells(asked, firing))) {
        let smoke = Firing { dry_h: 0.0, cure_h: 0.0, ..firing.clone() };
        let solve = coarse(asked, cells(asked, firing));
        let run = kilned(asked, &smoke, &solve, asked.from)?;
        let sum = Sum::of(asked, ground, &smoke, &run);
        *smoked = Some(Smoked { firing: firing.clone(), state: run.state, sum });
    }
    let Some(kept) = smoked else { unreachable!("kept just above") };
    let solve = coarse(asked, kept.state.moisture_dry.len() as f64);
    let run = kilned(asked, firing, &solve, Some(&kept.state))?;
    Ok(kept.sum.then(&Sum::of(asked, ground, firing, &run)))
}

/// How a kilning keeps to the wishes, moisture and smoke left to whoever solves for them.
pub(super) fn judged(
    asked: &Asked<'_>,
    ground: &Ground,
    (point, peat_kg_t): (Point, f64),
    sum: &Sum,
) -> Trial {
    let wanted = asked.wanted;
    let mut broken = [0.0; WISHES];
    broken[Wish::Enzymes as usize] = (sum.at_risk_h - wanted.at_risk_most_h).max(0.0);
    if let Some(most) = ground.burner_w_m2 {
        broken[Wish::Burner as usize] = (sum.burner_w_m2 / most - 1.0 - BURNER_SPARE).max(0.0);
    }
    let wet = wanted.moisture_wet;
    let smoky = if wanted.phenols_mg_kg_dry > 0.0 {
        (sum.phenols_mg_kg_dry.max(1e-9) / wanted.phenols_mg_kg_dry).ln()
    } else {
        0.0
    };
    let fuel_mj = sum.fuel_mj(asked);
    Trial {
        point,
        peat_kg_t,
        moist: (sum.moisture_dry / (wet / (1.0 - wet))).ln(),
        smoky,
        fuel_mj,
        ready_h: sum.ready_h,
        broken,
        worth: fuel_mj + sum.peat_mj(asked) * (-smoky).exp_m1(),
        burner_w_m2: sum.burner_w_m2,
        refused: None,
    }
}

/// Most heat asked of the burner, W/m²: that of the air-on less what the peat gives; where the
/// burner could not hold the air-on, as much more as the air-on fell short.
fn heat_asked(asked: &Asked<'_>, ground: &Ground, firing: &Firing, run: &Run) -> f64 {
    let dry_kg_m2 = asked.charge.depth_m * asked.charge.dry_bulk_kg_m3;
    let peat_kg_s_m2 = firing.peat_rate_kg_t_h() / 3600.0 * dry_kg_m2 / 1000.0;
    let peat_w_m2 = peat_kg_s_m2 * asked.setting.peat.peat_mj_kg * 1e6;
    let column = |key| run.curves.get(key).unwrap_or_default();
    let rows = column("time_h").iter().zip(column("heat_w_m2"));
    let oil = |(time_h, heat): (&f64, &f64)| {
        if *time_h < firing.peat_h { heat - peat_w_m2 } else { *heat }
    };
    let most = rows.map(oil).fold(0.0, f64::max);
    let Some(burner) = ground.burner_w_m2 else { return most };
    let programme = firing.programme(&setting_of(asked, &asked.setting.solve));
    let short = heat_short(&programme, run);
    if short > BURNER_SPARE { most.max(burner * (1.0 + short)) } else { most }
}

/// How far the air-on falls short of the programme's, as a share of the warming asked for.
fn heat_short(programme: &Programme, run: &Run) -> f64 {
    let column = |key| run.curves.get(key).unwrap_or_default();
    let rows = column("time_h").iter().zip(column("air_on_c"));
    let short = rows.map(|(time_h, held_c)| {
        let wanted_c = programme.air_on(*time_h).temperature_c;
        (wanted_c - held_c) / (wanted_c - programme.air.ambient_c).max(1.0)
    });
    short.fold(0.0, f64::max)
}
