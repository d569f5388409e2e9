//! How a corn drinks: diffusion into a sphere after a first gulp under the husk.

use std::f64::consts::PI;

use super::figures::{Charge, Constants};

const GAS_J_MOL_K: f64 = 8.314;
/// Corn weight, dry, for which the radius is stated: 38 g at 12 %.
const STATED_DRY_G: f64 = 33.44;

/// One barley under water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Uptake {
    /// Moisture on dry matter after the first gulp.
    wetted_dry: f64,
    saturation_dry: f64,
    diffusion_m2_s: f64,
    activation_j_mol: f64,
    radius_m: f64,
}

impl Uptake {
    /// This charge with these constants.
    pub fn new(charge: &Charge, constants: &Constants) -> Self {
        let start = charge.moisture_wet / (1.0 - charge.moisture_wet);
        let dry_g = charge.corn_weight_g * (1.0 - charge.moisture_wet);
        Self {
            wetted_dry: start + constants.gulp_dry,
            saturation_dry: constants.saturation_dry,
            diffusion_m2_s: constants.diffusion_m2_s,
            activation_j_mol: constants.activation_j_mol,
            radius_m: constants.radius_mm * 1e-3 * (dry_g / STATED_DRY_G).cbrt(),
        }
    }

    /// Gives how fast the corn's own clock runs: `dτ/dt = D(T)/R²`.
    ///
    /// `D = D15 exp[−(E/8.314)(1/(T + 273.15) − 1/288.15)]`
    /// # Units
    /// °C, result 1/s.
    /// # Range
    /// 5 to 25 °C.
    /// # Error
    /// 0.6 % moisture against the remembered table it is fitted to.
    /// # Source
    /// Activation: Mok and others, Korean J. Food Sci. (1983), whole barley, 20 to 60 °C.
    pub fn clock_1_s(&self, temperature_c: f64) -> f64 {
        let inverse = 1.0 / (temperature_c + 273.15) - 1.0 / 288.15;
        let diffusion =
            self.diffusion_m2_s * (-self.activation_j_mol / GAS_J_MOL_K * inverse).exp();
        diffusion / (self.radius_m * self.radius_m)
    }

    /// Gives the moisture when the corn's clock stands at `clock`.
    ///
    /// `M = M1 + (M_∞ − M1) X(τ)`
    /// # Units
    /// Clock a pure number, result kg/kg dry matter.
    /// # Range
    /// Up to 48 % on a wet basis.
    /// # Error
    /// As [`Uptake::clock_1_s`].
    /// # Source
    /// Diffusion into a sphere; the gulp: Becker, Cereal Chem. 37 (1960) 309.
    pub fn moisture_dry(&self, clock: f64) -> f64 {
        self.wetted_dry + (self.saturation_dry - self.wetted_dry) * filled(clock)
    }
}

/// Gives the share of a sphere's capacity filled by diffusion.
///
/// `X = 1 − (6/π²) Σ exp(−n² π² τ)/n²`; below τ = 0.05, `6 √(τ/π) − 3 τ`, where the series is slow
/// # Units
/// `τ = D t/R²`, a pure number; result 0 to 1.
/// # Range
/// τ of nought or more.
/// # Error
/// 1e-7.
/// # Source
/// The standard solution for a sphere whose surface is held wet.
pub fn filled(clock: f64) -> f64 {
    if clock <= 0.0 {
        return 0.0;
    }
    if clock < 0.05 {
        return 6.0 * (clock / PI).sqrt() - 3.0 * clock;
    }
    let sum: f64 = (1..=10_i32)
        .map(|n| {
            let square = f64::from(n * n);
            (-square * PI * PI * clock).exp() / square
        })
        .sum();
    1.0 - 6.0 / (PI * PI) * sum
}
