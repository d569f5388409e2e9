//! The bed: cells in a column, air marched upward through them. Time goes on by Heun's rule while
//! the bed answers fast, and by that of Adams and Bashforth, which wants the rates but once a step,
//! where it answers slowly enough for it; both are of second order and both close what is carried.

use super::drying::{AirState, Bend, Flow, Grain, Laws};
use super::figures::{Charge, Programme};

/// Of a step by Heun's rule, the most that step times stiffness may be; 2 is the limit of growth.
const STEADY: f64 = 1.6;

/// The same by the rule of Adams and Bashforth; 1 is its limit.
const STEADY_ADAMS: f64 = 0.8;
/// A leap of the air-on, K and kg/kg, over which rates are not carried on.
const LEAP_K: f64 = 0.2;
const LEAP_DRY: f64 = 1e-4;

/// A bed as it stands: cells of equal dry matter, the lowest first.
#[derive(Debug, Clone, PartialEq)]
pub struct State {
    /// Hours since lighting.
    pub time_h: f64,
    /// Moisture on dry matter of each cell.
    pub moisture_dry: Vec<f64>,
    /// Grain temperature of each cell.
    pub grain_c: Vec<f64>,
    /// Phenols on dry malt of each cell.
    pub phenols_mg_kg_dry: Vec<f64>,
}

impl State {
    /// A bed as it is loaded.
    pub fn laid(charge: &Charge, programme: &Programme) -> Self {
        let cells = programme.cells();
        Self {
            time_h: 0.0,
            moisture_dry: vec![charge.moisture_dry; cells],
            grain_c: vec![charge.temperature_c; cells],
            phenols_mg_kg_dry: vec![0.0; cells],
        }
    }
}

/// Air that enters the bed, and what of it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Breath {
    pub(super) on: AirState,
    pub(super) flow: Flow,
}

/// What passed a square metre of the wire, kg and J.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Passed {
    pub(super) water_on: f64,
    pub(super) water_off: f64,
    pub(super) energy_on: f64,
    pub(super) energy_off: f64,
}

/// The unknowns of every cell, and what they give.
#[derive(Debug, Clone)]
pub(super) struct Column {
    pub(super) moisture: Vec<f64>,
    pub(super) enthalpy: Vec<f64>,
    pub(super) grain_c: Vec<f64>,
    pub(super) surface: Vec<f64>,
    /// Rise of the air's temperature and humidity ratio through each cell.
    rise: Vec<Bend>,
}

/// The step before: what the rule of Adams and Bashforth leans on beside the rates.
#[derive(Debug, Clone, Copy)]
struct Before {
    dt_s: f64,
    /// The air-on at its end.
    end: Breath,
    /// What passed a square metre in a second at its start.
    passing: Passed,
}

#[derive(Debug, Clone, Default)]
struct Rates {
    drying: Vec<f64>,
    heating: Vec<f64>,
}

/// A column under way.
pub(super) struct Bed {
    pub(super) laws: Laws,
    /// Dry matter of a cell, kg/m².
    pub(super) ds: f64,
    pub(super) column: Column,
    pub(super) passed: Passed,
    trial: Column,
    first: Rates,
    second: Rates,
    /// Rates at the start of the step before.
    earlier: Rates,
    before: Option<Before>,
    /// Surface moisture at the start of the step before: the next lies ahead as far again.
    surface_before: Vec<f64>,
}

/// The air-off at the start of a step and how fast the bed answers.
#[derive(Debug, Clone, Copy)]
pub(super) struct Step {
    pub(super) off: AirState,
    /// Into how many the step was cut to stay steady.
    pub(super) parts: u32,
}

impl Bed {
    /// A bed of `ds` kg dry matter a square metre in each cell, standing as `state` says.
    pub(super) fn new(laws: Laws, ds: f64, state: &State) -> Self {
        let enthalpy = state
            .moisture_dry
            .iter()
            .zip(&state.grain_c)
            .map(|(m, t)| laws.grain_enthalpy(*m, *t))
            .collect();
        let column = Column {
            moisture: state.moisture_dry.clone(),
            enthalpy,
            grain_c: state.grain_c.clone(),
            surface: state.moisture_dry.iter().map(|m| 0.9 * m).collect(),
            rise: vec![Bend::default(); state.moisture_dry.len()],
        };
        let rates = Rates {
            drying: vec![0.0; column.moisture.len()],
            heating: vec![0.0; column.moisture.len()],
        };
        Self {
            laws,
            ds,
            trial: column.clone(),
            surface_before: column.surface.clone(),
            column,
            passed: Passed::default(),
            first: rates.clone(),
            earlier: rates.clone(),
            second: rates,
            before: None,
        }
    }

    /// The air-off as the bed stands in this breath, and the stiffness of its fastest cell.
    pub(super) fn breathe(&mut self, breath: &Breath) -> (AirState, f64) {
        march::<true>(&self.laws, &mut self.column, &mut self.first, breath)
    }

    /// Goes on by `dt_s`, with the air-on given at both ends of the step.
    pub(super) fn step(&mut self, ends: &[Breath; 2], dt_s: f64) -> Step {
        let (off, stiffness) = self.breathe(&ends[0]);
        if let Some(lean) = self.lean(ends, dt_s, stiffness) {
            self.adams(ends, off, dt_s, lean);
            return Step { off, parts: 1 };
        }
        let parts = (dt_s * stiffness / STEADY).ceil().clamp(1.0, 1000.0);
        let dt = dt_s / parts;
        let mut off_now = off;
        for part in 0..parts as u32 {
            let between = |share: f64| self.between(ends, share);
            let (start, end) =
                (between(f64::from(part) / parts), between(f64::from(part + 1) / parts));
            if part > 0 {
                off_now = self.breathe(&start).0;
            }
            self.heun(&start, &end, off_now, dt);
        }
        Step { off, parts: parts as u32 }
    }

    fn between(&self, ends: &[Breath; 2], share: f64) -> Breath {
        if share <= 0.0 {
            return ends[0];
        }
        if share >= 1.0 {
            return ends[1];
        }
        let mix = |a: f64, b: f64| a + share * (b - a);
        let [a, b] = ends;
        Breath {
            on: AirState::new(
                mix(a.on.temperature_c, b.on.temperature_c),
                mix(a.on.humidity_ratio, b.on.humidity_ratio),
            ),
            flow: self.laws.flow(mix(a.flow.g, b.flow.g), self.ds),
        }
    }

    /// `y₁ = y₀ + dt (f(y₀) + f(y₀ + dt f(y₀)))/2`; what the air carries takes the same weights.
    fn heun(&mut self, start: &Breath, end: &Breath, off_start: AirState, dt: f64) {
        self.ahead(dt);
        let (off_end, _) = march::<false>(&self.laws, &mut self.trial, &mut self.second, end);
        self.onward(dt);
        self.carry(&passing(start, off_start), 0.5 * dt);
        self.carry(&passing(end, off_end), 0.5 * dt);
        self.remember(start, end, off_start, dt);
    }

    /// `dt/(2 dt_before)` where the step before may be leaned on: the bed answers slowly, both
    /// steps are of a length, and the air-on goes on as it was.
    fn lean(&self, ends: &[Breath; 2], dt_s: f64, stiffness: f64) -> Option<f64> {
        let before = self.before?;
        let (was, is) = (before.end, ends[0]);
        let steady = dt_s * stiffness < STEADY_ADAMS
            && (0.5..2.0).contains(&(dt_s / before.dt_s))
            && (was.on.temperature_c - is.on.temperature_c).abs() < LEAP_K
            && (was.on.humidity_ratio - is.on.humidity_ratio).abs() < LEAP_DRY
            && (was.flow.g - is.flow.g).abs() < 1e-3 * is.flow.g;
        steady.then_some(0.5 * dt_s / before.dt_s)
    }

    /// `y₁ = y₀ + dt [(1 + w) f₀ − w f₋₁]`, `w = dt/(2 dt₋₁)`; what the air carries likewise.
    fn adams(&mut self, ends: &[Breath; 2], off: AirState, dt: f64, lean: f64) {
        let n = self.column.moisture.len();
        let now = &mut self.column;
        // Slices of one length: no bound is looked at within the loop.
        let (drying, heating) = (&self.first.drying[..n], &self.first.heating[..n]);
        let (drying_1, heating_1) = (&self.earlier.drying[..n], &self.earlier.heating[..n]);
        let (m, h, c) = (&mut now.moisture[..n], &mut now.enthalpy[..n], &mut now.grain_c[..n]);
        let (s, before) = (&mut now.surface[..n], &mut self.surface_before[..n]);
        let (a, b) = (dt * (1.0 + lean), dt * lean);
        for i in 0..n {
            m[i] -= a * drying[i] - b * drying_1[i];
            h[i] += a * heating[i] - b * heating_1[i];
            c[i] = self.laws.grain_c(m[i], h[i]);
            let solved = s[i];
            s[i] = solved + (solved - before[i]).clamp(-0.01, 0.01);
            before[i] = solved;
        }
        if let Some(last) = self.before {
            self.carry(&last.passing, -b);
        }
        self.carry(&passing(&ends[0], off), a);
        self.remember(&ends[0], &ends[1], off, dt);
    }

    /// Counts what passed in `dt_s` at that rate.
    fn carry(&mut self, rate: &Passed, dt_s: f64) {
        let passed = &mut self.passed;
        passed.water_on += dt_s * rate.water_on;
        passed.water_off += dt_s * rate.water_off;
        passed.energy_on += dt_s * rate.energy_on;
        passed.energy_off += dt_s * rate.energy_off;
    }

    fn remember(&mut self, start: &Breath, end: &Breath, off: AirState, dt_s: f64) {
        std::mem::swap(&mut self.first, &mut self.earlier);
        self.before = Some(Before { dt_s, end: *end, passing: passing(start, off) });
    }

    /// The trial: a whole step at the rates of its start.
    fn ahead(&mut self, dt: f64) {
        let n = self.column.moisture.len();
        let (now, trial) = (&self.column, &mut self.trial);
        // Slices of one length: no bound is looked at within the loop.
        let (drying, heating) = (&self.first.drying[..n], &self.first.heating[..n]);
        let (m, h, s) = (&now.moisture[..n], &now.enthalpy[..n], &now.surface[..n]);
        let before = &mut self.surface_before[..n];
        let (trial_m, trial_h) = (&mut trial.moisture[..n], &mut trial.enthalpy[..n]);
        let (trial_c, trial_s) = (&mut trial.grain_c[..n], &mut trial.surface[..n]);
        for i in 0..n {
            trial_m[i] = m[i] - dt * drying[i];
            trial_h[i] = h[i] + dt * heating[i];
            trial_c[i] = self.laws.grain_c(trial_m[i], trial_h[i]);
            trial_s[i] = s[i] + (s[i] - before[i]).clamp(-0.01, 0.01);
            before[i] = s[i];
        }
        trial.rise.copy_from_slice(&now.rise);
    }

    /// The step itself, at the mean of both rates.
    fn onward(&mut self, dt: f64) {
        let n = self.column.moisture.len();
        let (now, trial) = (&mut self.column, &self.trial);
        let (drying, heating) = (&self.first.drying[..n], &self.first.heating[..n]);
        let (drying_2, heating_2) = (&self.second.drying[..n], &self.second.heating[..n]);
        let (m, h, c) = (&mut now.moisture[..n], &mut now.enthalpy[..n], &mut now.grain_c[..n]);
        let half = 0.5 * dt;
        for i in 0..n {
            m[i] -= half * (drying[i] + drying_2[i]);
            h[i] += half * (heating[i] + heating_2[i]);
            c[i] = self.laws.grain_c(m[i], h[i]);
        }
        now.surface.copy_from_slice(&trial.surface);
        now.rise.copy_from_slice(&trial.rise);
    }

    /// Mixes the bed from wire to top, every layer by `share` of the way to the mean; water and
    /// heat stay.
    pub(super) fn turn(&mut self, share: f64) {
        let column = &mut self.column;
        mix(&mut column.moisture, share);
        mix(&mut column.enthalpy, share);
        for i in 0..column.moisture.len() {
            column.grain_c[i] = self.laws.grain_c(column.moisture[i], column.enthalpy[i]);
            column.surface[i] = 0.9 * column.moisture[i];
            column.rise[i] = Bend::default();
        }
        self.surface_before.clone_from(&column.surface);
        self.before = None;
    }

    /// Heat of the bed, J/m², from moisture and temperature as they stand.
    pub(super) fn energy(&self) -> f64 {
        let cells = self.column.moisture.iter().zip(&self.column.grain_c);
        self.ds * cells.map(|(m, t)| self.laws.grain_enthalpy(*m, *t)).sum::<f64>()
    }

    /// Water in the bed, kg/m².
    pub(super) fn water(&self) -> f64 {
        self.ds * self.column.moisture.iter().sum::<f64>()
    }
}

/// What passes a square metre in a second.
fn passing(breath: &Breath, off: AirState) -> Passed {
    let (g, on) = (breath.flow.g, breath.on);
    Passed {
        water_on: g * on.humidity_ratio,
        water_off: g * off.humidity_ratio,
        energy_on: g * on.enthalpy,
        energy_off: g * off.enthalpy,
    }
}

/// One breath through all cells from the wire up. How stiff the bed is, is told when asked.
fn march<const STIFF: bool>(
    laws: &Laws,
    column: &mut Column,
    rates: &mut Rates,
    breath: &Breath,
) -> (AirState, f64) {
    let mut air = breath.on;
    let mut stiffness = 0.0_f64;
    let n = column.moisture.len();
    // Slices of one length: no bound is looked at within the loop.
    let (moisture, grain_c) = (&column.moisture[..n], &column.grain_c[..n]);
    let (surface, rise) = (&mut column.surface[..n], &mut column.rise[..n]);
    let (drying, heating) = (&mut rates.drying[..n], &mut rates.heating[..n]);
    let mut below = rise[0];
    for i in 0..n {
        let above = rise[(i + 1).min(n - 1)];
        let bend = Bend {
            temperature_dk: (above.temperature_dk - below.temperature_dk) * (1.0 / 24.0),
            humidity_ratio: (above.humidity_ratio - below.humidity_ratio) * (1.0 / 24.0),
        };
        below = rise[i];
        let grain = Grain {
            moisture: moisture[i],
            temperature_c: grain_c[i],
            surface_guess: surface[i],
            bend,
        };
        let cell = laws.cell::<STIFF>(grain, air, &breath.flow);
        drying[i] = cell.drying;
        heating[i] = cell.heating;
        surface[i] = cell.surface;
        if STIFF {
            stiffness = stiffness.max(cell.stiffness);
        }
        rise[i] = Bend {
            temperature_dk: cell.off.temperature_c - air.temperature_c,
            humidity_ratio: cell.off.humidity_ratio - air.humidity_ratio,
        };
        air = cell.off;
    }
    (air, stiffness)
}

/// The mean over cells, which all hold the same dry matter.
pub(super) fn mean(cells: &[f64]) -> f64 {
    cells.iter().sum::<f64>() / cells.len() as f64
}

/// Brings every cell by `share` of the way to their mean.
pub(super) fn mix(cells: &mut [f64], share: f64) {
    let mean = mean(cells);
    for cell in cells {
        *cell += share * (mean - *cell);
    }
}

/// The value at a share of the bed's dry matter from the wire: cubic between cell centres.
pub(super) fn at_share(cells: &[f64], share: f64) -> f64 {
    // A cubic wants four cells: fewer are refused as out of range.
    let n = cells.len();
    let x = share * n as f64 - 0.5;
    let first = ((x - 1.0).max(0.0) as usize).min(n - 4);
    // Lagrange's cubic through four neighbours.
    (0..4)
        .map(|i| {
            let weight: f64 = (0..4)
                .filter(|j| *j != i)
                .map(|j| (x - (first + j) as f64) / (i as f64 - j as f64))
                .product();
            weight * cells[first + i]
        })
        .sum()
}
