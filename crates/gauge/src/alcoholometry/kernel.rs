//! Bare figures for hot loops: `f64` in, `f64` out, units in the names.
//!
//! Outside the domain of the formula, −20 to 40 °C and mass fractions from 0 to 1, the answer is
//! `NaN` and never an extrapolation. The typed functions one level up answer with a `Fault`.

use super::isotherm::{Isotherm, SUM_OF_A};
use super::slices;

/// The lowest temperature of the formula.
pub const COLDEST_C: f64 = -20.0;
/// The highest temperature of the formula.
pub const WARMEST_C: f64 = 40.0;
/// Density of ethanol at 20 °C, 789.239 kg/m³: the sum of the A coefficients, and nothing else.
pub const ETHANOL_KG_M3: f64 = SUM_OF_A;
/// A density beyond water's or ethanol's by no more than this is rounding, not a wrong reading.
pub const ROUNDING_KG_M3: f64 = 1e-6;

fn known(temperature_c: f64) -> bool {
    (COLDEST_C..=WARMEST_C).contains(&temperature_c)
}

/// Gives the density of ethanol and water, in vacuum.
///
/// # Units
/// kg/kg and °C to kg/m³.
/// # Range
/// 0 to 1 and −20 to 40 °C; `NaN` outside. Below 0 °C only what is not frozen is real.
/// # Error
/// The formula against printed tables: 1e-4 g/cm³ at most, 2e-5 in the mean. In `f64` 1e-10 kg/m³.
/// # Source
/// OIML R 22, International alcoholometric tables, 1975, general formula; the same in Council
/// Directive 76/766/EEC, annex.
/// # Example
/// ```
/// use gauge::alcoholometry::kernel::density_kg_m3;
/// assert!((density_kg_m3(0.6, 20.0) - 891.097747).abs() < 1e-6);
/// ```
#[inline]
pub fn density_kg_m3(mass_fraction: f64, temperature_c: f64) -> f64 {
    if known(temperature_c) && (0.0..=1.0).contains(&mass_fraction) {
        Isotherm::at(temperature_c).density_kg_m3(mass_fraction)
    } else {
        f64::NAN
    }
}

/// Gives the strength by volume at 20 °C of a mixture by mass.
///
/// # Units
/// kg/kg to % vol.
/// # Range
/// 0 to 1; `NaN` outside.
/// # Error
/// As [`density_kg_m3`].
/// # Source
/// q = p ρ(p, 20) / ρ(1, 20): OIML R 22, 1975.
/// # Example
/// ```
/// let q = gauge::alcoholometry::kernel::strength_pct(0.556139);
/// assert!((q - 63.5).abs() < 1e-3);
/// ```
#[inline]
pub fn strength_pct(mass_fraction: f64) -> f64 {
    if (0.0..=1.0).contains(&mass_fraction) {
        let density = Isotherm::TWENTY.density_kg_m3(mass_fraction);
        // In this order ethanol itself is 100 to the last bit.
        100.0 * (mass_fraction * density / ETHANOL_KG_M3)
    } else {
        f64::NAN
    }
}

/// Gives the mass fraction of a mixture of this strength.
///
/// Newton's method on p ρ(p, 20) = q ρ(1, 20), which rises everywhere, from a start within 0.01.
///
/// # Units
/// % vol at 20 °C to kg/kg.
/// # Range
/// 0 to 100 % vol; `NaN` outside.
/// # Error
/// Solved to 1e-13.
/// # Source
/// OIML R 22, 1975.
/// # Example
/// ```
/// let p = gauge::alcoholometry::kernel::mass_fraction_of_strength(40.0);
/// assert!((p - 0.332996).abs() < 1e-6);
/// ```
#[inline]
pub fn mass_fraction_of_strength(strength_pct: f64) -> f64 {
    if !(0.0..=100.0).contains(&strength_pct) {
        return f64::NAN;
    }
    let wanted = strength_pct / 100.0 * ETHANOL_KG_M3;
    let mut p = wanted / (998.2 - 2.09 * strength_pct);
    for _ in 0..MOST_STEPS {
        let s = Isotherm::TWENTY.slopes(p);
        let step = (p * s.density_kg_m3 - wanted) / (s.density_kg_m3 + p * s.by_mass_fraction);
        p -= step;
        if step.abs() < 1e-14 {
            break;
        }
    }
    p.clamp(0.0, 1.0)
}

/// Newton takes four to six steps; this only bounds the loop.
const MOST_STEPS: u32 = 30;

/// Gives the mass fraction of the mixture that has this density at this temperature.
///
/// # Units
/// kg/m³ in vacuum and °C to kg/kg.
/// # Range
/// Densities from ethanol's to water's at that temperature, −20 to 40 °C; `NaN` outside. Beyond
/// either end by no more than [`ROUNDING_KG_M3`] is 0 or 1.
/// # Error
/// Solved to 1e-11 where the density is given to the last bit. A density off by 1 kg/m³ is off by
/// 0.008 at 16 % mass and 20 °C, where the curve is flattest.
/// # Source
/// OIML R 22, 1975, general formula, solved for p.
/// # Example
/// ```
/// let p = gauge::alcoholometry::kernel::mass_fraction(905.0, 15.0);
/// assert!((p - 0.55697978).abs() < 1e-7);
/// ```
#[inline]
pub fn mass_fraction(density_kg_m3: f64, temperature_c: f64) -> f64 {
    slices::mass_fraction(density_kg_m3, temperature_c)
        .unwrap_or_else(|| plain_mass_fraction(density_kg_m3, temperature_c))
}

/// The same by the safeguarded solver alone: for the ends, the flat cold corner and as a check.
#[cold]
pub(super) fn plain_mass_fraction(density_kg_m3: f64, temperature_c: f64) -> f64 {
    if !known(temperature_c) {
        return f64::NAN;
    }
    let isotherm = Isotherm::at(temperature_c);
    let water = isotherm.c[0];
    let ethanol = isotherm.density_kg_m3(1.0);
    if density_kg_m3 < water && density_kg_m3 > ethanol {
        let share = (water - density_kg_m3) / (water - ethanol);
        isotherm.mass_fraction(density_kg_m3, share)
    } else if density_kg_m3 >= water && density_kg_m3 <= water + ROUNDING_KG_M3 {
        0.0
    } else if density_kg_m3 <= ethanol && density_kg_m3 >= ethanol - ROUNDING_KG_M3 {
        1.0
    } else {
        f64::NAN
    }
}

/// Gives the strength at 20 °C of the mixture that has this density at this temperature.
///
/// # Units
/// kg/m³ in vacuum and °C to % vol at 20 °C, whatever the temperature was.
/// # Range
/// As [`mass_fraction`].
/// # Error
/// As [`mass_fraction`].
/// # Source
/// OIML R 22, 1975.
/// # Example
/// ```
/// let q = gauge::alcoholometry::kernel::strength_of_density_pct(951.5, 12.0);
/// assert!((q - 41.14570).abs() < 1e-4);
/// ```
#[inline]
pub fn strength_of_density_pct(density_kg_m3: f64, temperature_c: f64) -> f64 {
    slices::strength_of_one_pct(density_kg_m3, temperature_c)
        .unwrap_or_else(|| plain_strength_pct(density_kg_m3, temperature_c))
}

/// The same by the safeguarded solver alone.
#[cold]
pub(super) fn plain_strength_pct(density_kg_m3: f64, temperature_c: f64) -> f64 {
    strength_pct(plain_mass_fraction(density_kg_m3, temperature_c))
}

/// Gives the density of a mixture of this strength at this temperature, in vacuum.
///
/// # Units
/// % vol at 20 °C and °C to kg/m³.
/// # Range
/// 0 to 100 % vol, −20 to 40 °C; `NaN` outside.
/// # Error
/// As [`density_kg_m3`].
/// # Source
/// OIML R 22, 1975.
/// # Example
/// ```
/// let rho = gauge::alcoholometry::kernel::density_of_strength_kg_m3(63.5, 20.0);
/// assert!((rho - 901.1543).abs() < 1e-4);
/// ```
#[inline]
pub fn density_of_strength_kg_m3(strength_pct: f64, temperature_c: f64) -> f64 {
    density_kg_m3(mass_fraction_of_strength(strength_pct), temperature_c)
}
