//! Density and temperature to mass fraction in two steps from a good start.
//!
//! The start comes from a small table over temperature and over how far the density lies from
//! water's to ethanol's at that temperature, laid once with the plain solver. From there one step
//! of Halley's and one of Newton's method reach 1e-11 nearly everywhere; where the last step is
//! not small (cold and weak, where the curve is all but flat) the caller goes back to the plain
//! solver. The polynomial is split into its even and odd half, so that two short chains of
//! multiplications run beside one another in place of a long one.

// Each must become part of the function that is compiled for AVX2, or it runs without it.
#![allow(clippy::inline_always)]

use super::coefficients::{A, B, C1, C2, C3, C4, C5};
use super::isotherm::{Isotherm, fold, fused};
use std::sync::LazyLock;

/// Rows of the table: every 2.5 K from −20 to 40 °C.
const ROWS: usize = 25;
/// Columns: how far from water to ethanol, in 127 parts.
const COLUMNS: usize = 128;
const K_A_ROW: f64 = 2.5;

/// Mass fractions by temperature and by share of the way from water's density to ethanol's.
#[derive(Debug)]
pub(super) struct Starts {
    rows: Vec<f64>,
}

static STARTS: LazyLock<Starts> = LazyLock::new(Starts::lay);

/// The last step must be this small for the answer to be as near as 1e-10.
pub(super) const SETTLED: f64 = 3e-7;

impl Starts {
    pub(super) fn get() -> &'static Self {
        &STARTS
    }

    fn lay() -> Self {
        let mut rows = Vec::with_capacity(ROWS * COLUMNS);
        for row in 0..ROWS {
            let isotherm = Isotherm::at(-20.0 + K_A_ROW * row as f64);
            let water = isotherm.density_kg_m3(0.0);
            let ethanol = isotherm.density_kg_m3(1.0);
            for column in 0..COLUMNS {
                let share = column as f64 / (COLUMNS - 1) as f64;
                let p = isotherm.mass_fraction(water + share * (ethanol - water), share);
                rows.push(p);
            }
        }
        Self { rows }
    }

    /// A start for a temperature and a share of the way, both inside their range.
    #[inline(always)]
    pub(super) fn near(&self, temperature_c: f64, share: f64) -> f64 {
        let down = (temperature_c + 20.0) * (1.0 / K_A_ROW);
        let across = share * (COLUMNS - 1) as f64;
        // `as` clamps what is outside, and a NaN to 0.
        let row = (down as usize).min(ROWS - 2);
        let column = (across as usize).min(COLUMNS - 2);
        let (y, x) = (down - row as f64, across - column as f64);
        let at = row * COLUMNS + column;
        let upper = &self.rows[at..at + 2];
        let lower = &self.rows[at + COLUMNS..at + COLUMNS + 2];
        let first = upper[0] + x * (upper[1] - upper[0]);
        let second = lower[0] + x * (lower[1] - lower[0]);
        first + y * (second - first)
    }
}

/// Density of a folded polynomial, and its slope, by even and odd half.
#[inline(always)]
fn even_odd<const FMA: bool>(c: &[f64; 12], p: f64) -> (f64, f64) {
    let q = p * p;
    let (mut e, mut e1, mut o, mut o1) = (c[10], 0.0, c[11], 0.0);
    let mut k = 8;
    loop {
        e1 = fused::<FMA>(e1, q, e);
        e = fused::<FMA>(e, q, c[k]);
        o1 = fused::<FMA>(o1, q, o);
        o = fused::<FMA>(o, q, c[k + 1]);
        if k == 0 {
            break;
        }
        k -= 2;
    }
    // f = E(p²) + p O(p²); f' = 2 p E' + O + 2 p² O'.
    (fused::<FMA>(p, o, e), fused::<FMA>(2.0 * p, fused::<FMA>(p, o1, e1), o))
}

/// The same with half the second slope: E' + 4 p² E''/2 + 3 p O' + 4 p³ O''/2.
#[inline(always)]
fn even_odd_second<const FMA: bool>(c: &[f64; 12], p: f64) -> (f64, f64, f64) {
    let q = p * p;
    let (mut e, mut e1, mut e2) = (c[10], 0.0, 0.0);
    let (mut o, mut o1, mut o2) = (c[11], 0.0, 0.0);
    let mut k = 8;
    loop {
        e2 = fused::<FMA>(e2, q, e1);
        e1 = fused::<FMA>(e1, q, e);
        e = fused::<FMA>(e, q, c[k]);
        o2 = fused::<FMA>(o2, q, o1);
        o1 = fused::<FMA>(o1, q, o);
        o = fused::<FMA>(o, q, c[k + 1]);
        if k == 0 {
            break;
        }
        k -= 2;
    }
    let f1 = fused::<FMA>(2.0 * p, fused::<FMA>(p, o1, e1), o);
    let f2 = fused::<FMA>(4.0 * q, fused::<FMA>(p, o2, e2), fused::<FMA>(3.0 * p, o1, e1));
    (fused::<FMA>(p, o, e), f1, f2)
}

/// What two steps give: a mass fraction, and how long the second step was.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stepped {
    /// Mass fraction.
    pub(super) p: f64,
    /// The second step.
    pub(super) step: f64,
}

impl Stepped {
    /// Whether the answer holds for a density this share of the way from water to ethanol.
    #[inline(always)]
    pub(super) fn settled(self, share: f64, temperature: f64) -> bool {
        let inside = share > 0.0 && share < 1.0 && (-20.0..=40.0).contains(&temperature);
        inside && self.step.abs() < SETTLED && self.p > 0.0 && self.p < 1.0
    }
}

/// How far a density lies from water's to ethanol's at its temperature.
#[inline(always)]
pub(super) fn share<const FMA: bool>(density: f64, temperature: f64) -> f64 {
    let d = temperature - 20.0;
    let (mut water, mut ethanol) = (WATER[6], ETHANOL[6]);
    let mut k = 6;
    while k > 0 {
        k -= 1;
        water = fused::<FMA>(water, d, WATER[k]);
        ethanol = fused::<FMA>(ethanol, d, ETHANOL[k]);
    }
    (water - density) / (water - ethanol)
}

/// Two steps from a start towards the mass fraction. Outside the domain the answer is of no use.
#[inline(always)]
pub(super) fn two_steps<const FMA: bool>(density: f64, temperature: f64, start: f64) -> Stepped {
    let c = fold::<FMA>(temperature);
    let (f, f1, f2) = even_odd_second::<FMA>(&c, start);
    let h = f - density;
    // Halley: p − (h/f') / (1 − (h/f') f''/(2 f')) with one division.
    let p = start - h * f1 / (f1 * f1 - h * f2);
    let (f, f1) = even_odd::<FMA>(&c, p);
    let step = (f - density) / f1;
    Stepped { p: p - step, step }
}

/// Strength at 20 °C of a mass fraction, % vol, by even and odd half.
#[inline(always)]
pub(super) fn strength_pct<const FMA: bool>(p: f64) -> f64 {
    100.0 / super::kernel::ETHANOL_KG_M3 * p * even_odd::<FMA>(&A, p).0
}

/// The formula at p = 0 in powers of (t − 20).
const WATER: [f64; 7] = [A[0], B[0], B[1], B[2], B[3], B[4], B[5]];
/// The formula at p = 1 in powers of (t − 20).
const ETHANOL: [f64; 7] = [
    total(&A),
    B[0] + total(&C1),
    B[1] + total(&C2),
    B[2] + total(&C3),
    B[3] + total(&C4),
    B[4] + total(&C5),
    B[5],
];

const fn total(of: &[f64]) -> f64 {
    let mut sum = 0.0;
    let mut k = 0;
    while k < of.len() {
        sum += of[k];
        k += 1;
    }
    sum
}
