//! Ethanol and water, liquid and vapour, at the boiling point.
//!
//! Modified Raoult's law with an ideal vapour, `y_i P = x_i γ_i p_i(T)`; activities by the
//! two-constant-pair NRTL equation, vapour pressures by Wagner's form. All slopes are analytic.

use super::Constants;

/// Molar mass of ethanol, g/mol (IUPAC atomic weights, conventional).
pub const ETHANOL_G_MOL: f64 = 46.06844;
/// Molar mass of water, g/mol.
pub const WATER_G_MOL: f64 = 18.01528;

/// The mixture: five constants of the NRTL equation (1 = ethanol, 2 = water).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mixture {
    a12: f64,
    b12: f64,
    a21: f64,
    b21: f64,
    alpha: f64,
}

/// A liquid at its boiling point and the vapour it gives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bubble {
    /// Boiling point, K.
    pub boiling_k: f64,
    /// Mole fraction of ethanol in the vapour.
    pub vapour: f64,
    /// Slope of the boiling point over the liquid's mole fraction, K.
    pub slope_k: f64,
    /// Slope of the vapour's mole fraction over the liquid's.
    pub vapour_slope: f64,
}

/// Activity coefficients and their slopes.
#[derive(Debug, Clone, Copy)]
struct Activity {
    ln: [f64; 2],
    by_x: [f64; 2],
    by_t: [f64; 2],
}

impl Mixture {
    /// With the house's constants.
    pub fn new(constants: &Constants) -> Self {
        Self {
            a12: constants.nrtl_a12,
            b12: constants.nrtl_b12_k,
            a21: constants.nrtl_a21,
            b21: constants.nrtl_b21_k,
            alpha: constants.nrtl_alpha,
        }
    }

    /// ln γ1 = x2² [τ21 (G21/D1)² + τ12 G12/D2²], ln γ2 = x1² [τ12 (G12/D2)² + τ21 G21/D1²],
    /// D1 = x1 + x2 G21, D2 = x2 + x1 G12, G = exp(-α τ), τ = a + b/T.
    fn activity(&self, x: f64, t: f64) -> Activity {
        let (x1, x2) = (x, 1.0 - x);
        let (tau12, tau21) = (self.a12 + self.b12 / t, self.a21 + self.b21 / t);
        let (tau12_t, tau21_t) = (-self.b12 / (t * t), -self.b21 / (t * t));
        let (g12, g21) = ((-self.alpha * tau12).exp(), (-self.alpha * tau21).exp());
        let (g12_t, g21_t) = (-self.alpha * tau12_t * g12, -self.alpha * tau21_t * g21);
        let (d1, d2) = (1.0 / (x1 + x2 * g21), 1.0 / (x2 + x1 * g12));
        let (d1_x, d2_x) = (1.0 - g21, g12 - 1.0);
        // Squares of r = G21/D1 and s = G12/D2, and u = G21/D1², v = G12/D2², with slopes.
        let (r, s) = (g21 * d1, g12 * d2);
        let (u, v) = (r * d1, s * d2);
        let (r_t, s_t) = (g21_t * x1 * d1 * d1, g12_t * x2 * d2 * d2);
        let u_t = g21_t * d1 * d1 * (1.0 - 2.0 * x2 * r);
        let v_t = g12_t * d2 * d2 * (1.0 - 2.0 * x1 * s);
        let (r_x, s_x) = (-r * d1 * d1_x, -s * d2 * d2_x);
        let (u_x, v_x) = (-2.0 * u * d1 * d1_x, -2.0 * v * d2 * d2_x);
        let one = tau21 * r * r + tau12 * v;
        let two = tau12 * s * s + tau21 * u;
        let one_x = 2.0 * tau21 * r * r_x + tau12 * v_x;
        let two_x = 2.0 * tau12 * s * s_x + tau21 * u_x;
        let one_t = tau21_t * r * r + 2.0 * tau21 * r * r_t + tau12_t * v + tau12 * v_t;
        let two_t = tau12_t * s * s + 2.0 * tau12 * s * s_t + tau21_t * u + tau21 * u_t;
        Activity {
            ln: [x2 * x2 * one, x1 * x1 * two],
            by_x: [-2.0 * x2 * one + x2 * x2 * one_x, 2.0 * x1 * two + x1 * x1 * two_x],
            by_t: [x2 * x2 * one_t, x1 * x1 * two_t],
        }
    }

    /// Gives the activity coefficients of ethanol and water at mole fraction `x` and `t_k`.
    pub fn activity_coefficients(&self, x: f64, t_k: f64) -> (f64, f64) {
        let [one, two] = self.activity(x, t_k).ln;
        (one.exp(), two.exp())
    }

    /// Gives the boiling point of a liquid of mole fraction `x` at `pressure_pa`, and its vapour.
    ///
    /// Newton's method for ln P over 1/T, which is all but straight; `guess_k` saves steps.
    pub fn bubble(&self, x: f64, pressure_pa: f64, guess_k: f64) -> Bubble {
        let mut t = guess_k;
        for round in 0..MOST_ROUNDS {
            let activity = self.activity(x, t);
            let (ln1, by_t1) = ethanol_ln_pa(t);
            let (ln2, by_t2) = water_ln_pa(t);
            let (f1, f2) = ((activity.ln[0] + ln1).exp(), (activity.ln[1] + ln2).exp());
            let (p1, p2) = (x * f1, (1.0 - x) * f2);
            let p = p1 + p2;
            let p_t = p1 * (activity.by_t[0] + by_t1) + p2 * (activity.by_t[1] + by_t2);
            let excess = (p / pressure_pa).ln();
            let next = 1.0 / (1.0 / t + (excess * p / (t * t * p_t)).clamp(-1e-3, 1e-3));
            // The last correction is of second order in the one before: y needs no other round.
            if (next - t).abs() < 1e-8 || round + 1 == MOST_ROUNDS {
                let p_x = f1 - f2 + p1 * activity.by_x[0] + p2 * activity.by_x[1];
                let slope_k = -p_x / p_t;
                let by_x = activity.by_x[0] + (activity.by_t[0] + by_t1) * slope_k;
                let vapour_slope = f1 / p * (1.0 + x * by_x);
                return Bubble { boiling_k: next, vapour: p1 / p, slope_k, vapour_slope };
            }
            t = next;
        }
        unreachable!("the last round returns")
    }

    /// Gives the vapour pressure of the mixture and the mole fraction of its vapour at `t_k`.
    pub fn pressure(&self, x: f64, t_k: f64) -> (f64, f64) {
        let (one, two) = self.activity_coefficients(x, t_k);
        let p1 = x * one * ethanol_ln_pa(t_k).0.exp();
        let p2 = (1.0 - x) * two * water_ln_pa(t_k).0.exp();
        (p1 + p2, p1 / (p1 + p2))
    }

    /// Gives the mole fraction at which liquid and vapour are alike at `pressure_pa`.
    pub fn azeotrope(&self, pressure_pa: f64) -> Option<f64> {
        let bracket = numeric::roots::Bracket { low: 0.5, high: 0.995, tolerance: 1e-12 };
        numeric::roots::brent(bracket, |x| self.bubble(x, pressure_pa, 350.0).vapour - x).ok()
    }
}

/// What gives a boiling point and a vapour; in tests also a liquid of constant volatility, whose
/// run is known in closed form.
pub(crate) trait Equilibrium {
    /// The liquid of mole fraction `x` at its boiling point.
    fn boil(&self, x: f64, pressure_pa: f64, guess_k: f64) -> Bubble;
}

impl Equilibrium for Mixture {
    fn boil(&self, x: f64, pressure_pa: f64, guess_k: f64) -> Bubble {
        self.bubble(x, pressure_pa, guess_k)
    }
}

const MOST_ROUNDS: u32 = 50;

/// ln of the vapour pressure of ethanol, Pa, and its slope over T. Wagner's form, 2.5-5.
///
/// # Source
/// Constants of the collection in B. E. Poling, J. M. Prausnitz and J. P. O'Connell, *The
/// Properties of Gases and Liquids*, 5th ed., 2001; 159 to 513.9 K.
fn ethanol_ln_pa(t: f64) -> (f64, f64) {
    const CRITICAL_K: f64 = 513.92;
    const LN_CRITICAL_PA: f64 = 15.629_031_518_973_841;
    const A: [f64; 4] = [-8.68587, 1.17831, -4.8762, 1.588];
    let z = 1.0 - t / CRITICAL_K;
    let root = z.sqrt();
    let z2 = z * z;
    let sum = z * (A[0] + root * (A[1] + z * A[2]) + z2 * z2 * A[3]);
    let slope = A[0] + root * (1.5 * A[1] + 2.5 * z * A[2]) + 5.0 * z2 * z2 * A[3];
    let over = CRITICAL_K / t;
    (LN_CRITICAL_PA + over * sum, -(over * sum + slope) / t)
}

/// ln of the vapour pressure of water, Pa, and its slope over T.
///
/// # Source
/// W. Wagner and A. Pruss, J. Phys. Chem. Ref. Data 22 (1993) 783, the auxiliary equation;
/// constants from memory, within 1e-4 of IAPWS-95 from 303 to 373 K.
fn water_ln_pa(t: f64) -> (f64, f64) {
    const CRITICAL_K: f64 = 647.096;
    const LN_CRITICAL_PA: f64 = 16.909_457_879_015_22;
    const A: [f64; 6] = [-7.85951783, 1.84408259, -11.7866497, 22.6807411, -15.9618719, 1.80122502];
    let z = 1.0 - t / CRITICAL_K;
    let root = z.sqrt();
    let (z2, z3) = (z * z, z * z * z);
    let half = root * (A[1] + z2 * A[3]);
    let half_slope = root * (1.5 * A[1] + 3.5 * z2 * A[3]);
    let whole = A[0] + z2 * A[2] + z3 * (A[4] + z3 * root * A[5]);
    let whole_slope = A[0] + 3.0 * z2 * A[2] + z3 * (4.0 * A[4] + 7.5 * z3 * root * A[5]);
    let sum = z * (whole + half);
    let over = CRITICAL_K / t;
    (LN_CRITICAL_PA + over * sum, -(over * sum + whole_slope + half_slope) / t)
}
