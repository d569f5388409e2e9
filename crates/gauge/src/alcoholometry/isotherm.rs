//! The density polynomial of OIML R 22 at one temperature.

use super::coefficients::{A, B, C1, C2, C3, C4, C5};

/// The density formula folded at one temperature into a polynomial in the mass fraction.
///
/// ρ(p, t) = A₁ + Σ A_k p^(k−1) + Σ B_k (t−20)^k + Σ_i Σ_k C_ik p^k (t−20)^i becomes
/// c₀ + c₁ p + … + c₁₁ p¹¹. Folding first and then using Horner's scheme in p costs about three
/// digits to cancellation, which leaves some 1e-10 kg/m³; `f32` would leave nothing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Isotherm {
    pub(crate) c: [f64; 12],
}

/// A density and its first two slopes in the mass fraction, kg/m³.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slopes {
    /// ρ.
    pub density_kg_m3: f64,
    /// ∂ρ/∂p.
    pub by_mass_fraction: f64,
    /// Half of ∂²ρ/∂p².
    pub half_second: f64,
}

impl Isotherm {
    /// The isotherm of 20 °C: the A coefficients alone.
    pub const TWENTY: Self = Self { c: A };

    /// Folds the formula at `temperature_c`. Not checked: see `kernel` for the domain.
    #[inline]
    pub fn at(temperature_c: f64) -> Self {
        let d = temperature_c - 20.0;
        let d2 = d * d;
        let d4 = d2 * d2;
        let mut c = A;
        c[0] += d * (B[0] + d * B[1] + d2 * (B[2] + d * B[3]) + d4 * (B[4] + d * B[5]));
        let low = |k: usize| C1[k] + d * C2.get(k).copied().unwrap_or(0.0);
        c[1] += d * (low(0) + d2 * (C3[0] + d * C4[0]) + d4 * C5[0]);
        c[2] += d * (low(1) + d2 * (C3[1] + d * C4[1]) + d4 * C5[1]);
        c[3] += d * (low(2) + d2 * (C3[2] + d * C4[2]));
        c[4] += d * (low(3) + d2 * (C3[3] + d * C4[3]));
        for k in 4..9 {
            c[k + 1] += d * (low(k) + d2 * C3[k]);
        }
        c[10] += d * low(9);
        c[11] += d * C1[10];
        Self { c }
    }

    /// Gives the density at `mass_fraction`, kg/m³.
    #[inline]
    pub fn density_kg_m3(&self, mass_fraction: f64) -> f64 {
        let c = &self.c;
        let p = mass_fraction;
        let mut sum = c[11];
        for k in (0..11).rev() {
            sum = sum * p + c[k];
        }
        sum
    }

    /// Gives density, slope and half the second slope at `mass_fraction` in one pass.
    #[inline]
    pub fn slopes(&self, mass_fraction: f64) -> Slopes {
        let c = &self.c;
        let p = mass_fraction;
        let (mut f, mut f1, mut f2) = (c[11], 0.0, 0.0);
        for k in (0..11).rev() {
            f2 = f2 * p + f1;
            f1 = f1 * p + f;
            f = f * p + c[k];
        }
        Slopes { density_kg_m3: f, by_mass_fraction: f1, half_second: f2 }
    }

    /// Gives the mass fraction whose density this is, within the ends, by safeguarded Halley steps.
    ///
    /// The density falls strictly with p at every temperature of the formula, so the root is the
    /// only one. The bracket is kept and halved whenever a step would leave it.
    pub(crate) fn mass_fraction(&self, density_kg_m3: f64, start: f64) -> f64 {
        let (mut low, mut high) = (0.0, 1.0);
        let mut p = start;
        for _ in 0..MOST_STEPS {
            let s = self.slopes(p);
            let h = s.density_kg_m3 - density_kg_m3;
            if h > 0.0 {
                low = p;
            } else {
                high = p;
            }
            let newton = h / s.by_mass_fraction;
            let mut next = p - newton / (1.0 - newton * s.half_second / s.by_mass_fraction);
            if !(next > low && next < high) {
                next = 0.5 * (low + high);
            }
            let step = next - p;
            p = next;
            if step.abs() < 1e-13 {
                break;
            }
        }
        p
    }
}

/// Halving alone narrows 0..1 to 1e-13 in 44 steps; Halley takes two to nine.
const MOST_STEPS: u32 = 64;

/// The folded polynomial's A₁ to A₁₂ added up: the density of ethanol at 20 °C.
pub(crate) const SUM_OF_A: f64 = {
    let mut sum = 0.0;
    let mut k = 0;
    while k < 12 {
        sum += A[k];
        k += 1;
    }
    sum
};
