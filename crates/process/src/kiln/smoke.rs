//! Peat smoke: what a moist bed takes up, what hot air strips again, and what is left in spirit.

use super::bed::Column;
use super::figures::Constants;

/// Surface moisture below which hardly any smoke is taken up, and above which all that can be.
const SURFACE_DRY: f64 = 0.15;
const SURFACE_WET: f64 = 0.50;
/// What a dry surface still takes.
const LEAST_SHARE: f64 = 0.05;

/// Phenols under way through a bed; amounts in mg a kilogram of the bed's dry matter.
#[derive(Debug, Clone)]
pub(super) struct Smoke {
    /// On each cell.
    pub(super) on_malt: Vec<f64>,
    /// Given off by the peat.
    pub(super) given: f64,
    /// Gone up the flue.
    pub(super) not_taken: f64,
    /// Taken up and stripped again.
    pub(super) stripped: f64,
    /// Share of the uptake by cell, mean 1.
    weight: Vec<f64>,
}

impl Smoke {
    /// A bed with these phenols on it, of `ds` kg dry matter a square metre in each cell.
    pub(super) fn new(constants: &Constants, ds: f64, on_malt: &[f64]) -> Self {
        let raw: Vec<f64> = (0..on_malt.len())
            .map(|i| (-(i as f64 + 0.5) * ds / constants.smoke_depth_kg_m2).exp())
            .collect();
        let mean = super::bed::mean(&raw);
        Self {
            on_malt: on_malt.to_vec(),
            given: 0.0,
            not_taken: 0.0,
            stripped: 0.0,
            weight: raw.iter().map(|w| w / mean).collect(),
        }
    }

    /// Goes on by `dt_s` while `peat` kg a second are burnt for a tonne of dry matter.
    ///
    /// `dc/dt = y B w η_max η_T ψ(M_s) − k_v c`
    pub(super) fn step(&mut self, c: &Constants, column: &Column, burn: Burn, dt_s: f64) {
        if burn.peat <= 0.0 && self.given <= 0.0 && self.on_malt.iter().all(|c| *c <= 0.0) {
            return;
        }
        let given = c.smoke_g_kg * burn.peat * dt_s;
        // Hot air holds the smoke: 1 up to 50 °C, half at 65 °C.
        let cool = 1.0 - 0.5 * ((burn.air_on_c - 50.0) / 15.0).clamp(0.0, 1.0);
        let cells = self.on_malt.len() as f64;
        let (mut not_taken, mut stripped) = (0.0, 0.0);
        for i in 0..self.on_malt.len() {
            let share = self.weight[i] * c.smoke_kept * cool * moist_share(column.surface[i]);
            let up = given * share;
            let off = self.on_malt[i]
                * (dt_s / 3600.0)
                * c.strip_1_h
                * ((column.grain_c[i] - 50.0) / 10.0).exp2();
            self.on_malt[i] += up - off;
            not_taken += given * (1.0 - share) / cells;
            stripped += off / cells;
        }
        self.given += given;
        self.not_taken += not_taken;
        self.stripped += stripped;
    }

    /// Mixes the bed by that share of the way to its mean.
    pub(super) fn turn(&mut self, share: f64) {
        super::bed::mix(&mut self.on_malt, share);
    }
}

/// The fire at one moment.
#[derive(Debug, Clone, Copy)]
pub(super) struct Burn {
    /// kg/s for a tonne of dry matter.
    pub(super) peat: f64,
    pub(super) air_on_c: f64,
}

/// `ψ`: the share a surface of that moisture takes.
fn moist_share(surface_dry: f64) -> f64 {
    ((surface_dry - SURFACE_DRY) / (SURFACE_WET - SURFACE_DRY)).clamp(LEAST_SHARE, 1.0)
}

/// Gives the air-dry peat that brings malt to a level of phenols.
///
/// `peat = c/(y η̄)`, with `η̄` the mean share kept.
/// # Units
/// mg phenols a kilogram of dry malt, result kg peat a tonne of dry matter.
/// # Range
/// A kept share above nought.
/// # Error
/// A factor of two until a house has fitted its peat.
/// # Source
/// A balance of our own; the constants are design.
pub fn peat_for(constants: &Constants, phenols_mg_kg_dry: f64, kept: f64) -> f64 {
    phenols_mg_kg_dry / (constants.smoke_g_kg * kept)
}

/// Gives the phenols of malts mixed together.
///
/// `Σ m c/Σ m`
/// # Units
/// Pairs of mass and phenols; both on the same basis.
/// # Range
/// Masses that do not sum to nought.
/// # Error
/// Exact.
/// # Source
/// A balance.
pub fn blended_phenols(malts: &[(f64, f64)]) -> f64 {
    let mass: f64 = malts.iter().map(|(m, _)| m).sum();
    malts.iter().map(|(m, c)| m * c).sum::<f64>() / mass
}

/// Phenols from malt to new spirit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Retention {
    /// mg a kilogram of malt as it is.
    pub phenols_mg_kg: f64,
    /// Litres of pure alcohol a tonne of malt as it is.
    pub pure_alcohol_l_t: f64,
    /// Strength of the spirit, % vol.
    pub strength_pct: f64,
    /// Share of the malt's phenols in the spirit.
    pub kept: f64,
}

/// Gives the phenols in new spirit.
///
/// `mg/L = c f 1000/(l_t/strength)`
/// # Units
/// As in [`Retention`]; result mg/L.
/// # Range
/// Alcohol and strength above nought.
/// # Error
/// The kept share is remembered as 0.20 to 0.45.
/// # Source
/// A balance.
pub fn new_make_phenols_mg_l(from: &Retention) -> f64 {
    let litres_t = from.pure_alcohol_l_t / (from.strength_pct / 100.0);
    from.phenols_mg_kg * from.kept * 1000.0 / litres_t
}
