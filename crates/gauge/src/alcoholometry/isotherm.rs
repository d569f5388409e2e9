//! The density polynomial of OIML R 22 at one temperature, plainly: the form that every faster one
//! is held against.

// Each must become part of the function that is compiled for AVX2, or it runs without it.
#![allow(clippy::inline_always)]

use super::coefficients::{A, B, C1, C2, C3, C4, C5};

/// The density formula folded at one temperature into a polynomial in the mass fraction.
///
/// ρ(p, t) = A₁ + Σ A_k p^(k−1) + Σ B_k (t−20)^k + Σ_i Σ_k C_ik p^k (t−20)^i becomes
/// c₀ + c₁ p + … + c₁₁ p¹¹. Cancellation costs about three digits, which leaves some 1e-10 kg/m³;
/// `f32` would leave nothing.
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

    /// Folds the formula at a temperature.
    ///
    /// # Units
    /// °C; the coefficients are kg/m³.
    /// # Range
    /// −20 to 40 °C; not checked.
    /// # Error
    /// 1e-10 kg/m³ of rounding.
    /// # Source
    /// OIML R 22 (1975), general formula.
    /// # Example
    /// ```
    /// use gauge::alcoholometry::isotherm::Isotherm;
    /// assert!((Isotherm::at(20.0).density_kg_m3(1.0) - 789.239123).abs() < 1e-6);
    /// ```
    #[inline]
    pub fn at(temperature_c: f64) -> Self {
        Self { c: fold::<false>(temperature_c) }
    }

    /// Gives the density of a mixture at this temperature.
    ///
    /// # Units
    /// kg/kg to kg/m³.
    /// # Range
    /// 0 to 1; not checked.
    /// # Error
    /// As [`at`](Self::at).
    /// # Source
    /// OIML R 22 (1975), general formula.
    /// # Example
    /// ```
    /// use gauge::alcoholometry::isotherm::Isotherm;
    /// assert!((Isotherm::at(25.0).density_kg_m3(0.7) - 863.342162).abs() < 1e-6);
    /// ```
    #[inline]
    pub fn density_kg_m3(&self, mass_fraction: f64) -> f64 {
        let c = &self.c;
        let mut sum = c[11];
        for k in (0..11).rev() {
            sum = sum * mass_fraction + c[k];
        }
        sum
    }

    /// Gives density, slope and half the second slope of a mixture in one pass.
    ///
    /// # Units
    /// kg/kg to kg/m³.
    /// # Range
    /// 0 to 1; not checked.
    /// # Error
    /// As [`at`](Self::at).
    /// # Source
    /// OIML R 22 (1975), general formula, with its derivatives by Horner's scheme.
    /// # Example
    /// ```
    /// use gauge::alcoholometry::isotherm::Isotherm;
    /// // The flattest place at 20 °C: the worst to measure a strength at.
    /// let slope = Isotherm::TWENTY.slopes(0.164).by_mass_fraction;
    /// assert!((slope + 129.6).abs() < 0.05);
    /// ```
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

/// a b + c, in one rounding where the processor has it and the caller has seen to that.
#[inline(always)]
pub(super) fn fused<const FMA: bool>(a: f64, b: f64, c: f64) -> f64 {
    if FMA { a.mul_add(b, c) } else { a * b + c }
}

/// Folds the formula at one temperature.
#[inline(always)]
pub(super) fn fold<const FMA: bool>(temperature_c: f64) -> [f64; 12] {
    let d = temperature_c - 20.0;
    let powers = |of: &[f64]| {
        let mut sum = 0.0;
        for b in of.iter().rev() {
            sum = fused::<FMA>(sum, d, *b);
        }
        sum
    };
    let mut c = A;
    c[0] = fused::<FMA>(d, powers(&B), c[0]);
    c[1] = fused::<FMA>(d, powers(&[C1[0], C2[0], C3[0], C4[0], C5[0]]), c[1]);
    c[2] = fused::<FMA>(d, powers(&[C1[1], C2[1], C3[1], C4[1], C5[1]]), c[2]);
    c[3] = fused::<FMA>(d, powers(&[C1[2], C2[2], C3[2], C4[2]]), c[3]);
    c[4] = fused::<FMA>(d, powers(&[C1[3], C2[3], C3[3], C4[3]]), c[4]);
    c[5] = fused::<FMA>(d, powers(&[C1[4], C2[4], C3[4]]), c[5]);
    c[6] = fused::<FMA>(d, powers(&[C1[5], C2[5], C3[5]]), c[6]);
    c[7] = fused::<FMA>(d, powers(&[C1[6], C2[6], C3[6]]), c[7]);
    c[8] = fused::<FMA>(d, powers(&[C1[7], C2[7], C3[7]]), c[8]);
    c[9] = fused::<FMA>(d, powers(&[C1[8], C2[8], C3[8]]), c[9]);
    c[10] = fused::<FMA>(d, powers(&[C1[9], C2[9]]), c[10]);
    c[11] = fused::<FMA>(d, C1[10], c[11]);
    c
}

/// The A coefficients added up: the density of ethanol at 20 °C.
pub(crate) const SUM_OF_A: f64 = {
    // From the top, as Horner's scheme adds them at p = 1: the two agree to the last bit.
    let mut sum = A[11];
    let mut k = 11;
    while k > 0 {
        k -= 1;
        sum += A[k];
    }
    sum
};
