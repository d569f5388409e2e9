//! Density and strength of ethanol and water.
//!
//! A distiller reads a density and a temperature and wants the strength at 20 °C; or has a
//! strength and wants to know what a litre weighs in the vat as it stands. Both go by one formula,
//! the general formula of OIML R 22 (1975), which is also the law of the European tables (Council
//! Directive 76/766/EEC): density in vacuum from the mass fraction of ethanol and the temperature,
//! −20 to 40 °C. Strength by volume is always at 20 °C, whatever the temperature of the sample.
//!
//! The typed functions here refuse what is outside the domain. [`kernel`] holds the same in bare
//! figures for hot loops.

mod coefficients;
mod fast;
pub mod isotherm;
pub mod kernel;
pub mod slices;
#[cfg(test)]
mod tests;

use crate::quantity::{Celsius, DensityVacuum, MassFraction, Strength};
use crate::{Fault, Warning};

/// What a density and a temperature say of a spirit.
#[derive(Debug, Clone, PartialEq)]
pub struct Content {
    /// Mass fraction of ethanol.
    pub mass_fraction: MassFraction,
    /// Strength by volume at 20 °C.
    pub strength: Strength,
    /// "frozen" or "tolerance", where they apply.
    pub warnings: Vec<Warning>,
}

/// Gives the density in vacuum of a mixture at a temperature.
///
/// # Units
/// kg/kg and °C to kg/m³.
/// # Range
/// −20 to 40 °C; outside it `Fault::OutOfRange`. See [`frozen`] for the mixtures that are ice.
/// # Error
/// Against printed tables at most 0.1 kg/m³, 0.02 in the mean.
/// # Source
/// OIML R 22, International alcoholometric tables, 1975, general formula.
/// # Example
/// ```
/// use gauge::{Celsius, MassFraction, alcoholometry::density};
/// let rho = density(MassFraction::from_fraction(0.7)?, Celsius::from_degrees(25.0)?)?;
/// assert!((rho.kg_m3() - 863.342162).abs() < 1e-6);
/// # Ok::<(), gauge::Fault>(())
/// ```
pub fn density(mixture: MassFraction, at: Celsius) -> Result<DensityVacuum, Fault> {
    check_temperature(at)?;
    Ok(DensityVacuum(kernel::density_kg_m3(mixture.fraction(), at.degrees())))
}

/// Gives what a spirit holds, from its density and temperature.
///
/// # Units
/// kg/m³ in vacuum and °C; strength in % vol at 20 °C.
/// # Range
/// −20 to 40 °C, densities from ethanol's to water's at that temperature. Beyond either end by no
/// more than 1e-6 kg/m³ is rounding; else `Fault::OutOfRange` with the ends at that temperature.
/// # Error
/// Solved to 1e-11 in mass fraction.
/// # Source
/// OIML R 22, 1975, general formula, solved for the mass fraction.
/// # Example
/// ```
/// use gauge::{Celsius, DensityVacuum, alcoholometry::content};
/// let found = content(DensityVacuum::from_kg_m3(905.0)?, Celsius::from_degrees(15.0)?)?;
/// assert!((found.strength.percent() - 63.58253).abs() < 1e-4);
/// # Ok::<(), gauge::Fault>(())
/// ```
pub fn content(density: DensityVacuum, at: Celsius) -> Result<Content, Fault> {
    content_within(density, at, 0.0)
}

/// Gives what a spirit holds, where the instrument's own tolerance may carry a reading of water or
/// ethanol a little beyond the end.
///
/// # Units
/// kg/m³ in vacuum, °C, and the tolerance in kg/m³.
/// # Range
/// As [`content`], the ends wider by the tolerance, 0 to 5 kg/m³; a reading so taken is warned of.
/// # Error
/// As [`content`].
/// # Source
/// OIML R 22, 1975.
/// # Example
/// ```
/// use gauge::{Celsius, DensityVacuum, alcoholometry::content_within};
/// let water = DensityVacuum::from_kg_m3(998.3)?;
/// let found = content_within(water, Celsius::TWENTY, 0.2)?;
/// assert_eq!(found.warnings[0].code, "tolerance_kg_m3");
/// assert!(content_within(water, Celsius::TWENTY, 0.0).is_err());
/// # Ok::<(), gauge::Fault>(())
/// ```
pub fn content_within(
    density: DensityVacuum,
    at: Celsius,
    tolerance_kg_m3: f64,
) -> Result<Content, Fault> {
    check_temperature(at)?;
    Fault::check("tolerance_kg_m3", tolerance_kg_m3, "kg/m³", 0.0..=5.0)?;
    let (reading, t) = (density.kg_m3(), at.degrees());
    let low = kernel::density_kg_m3(1.0, t);
    let high = kernel::density_kg_m3(0.0, t);
    let mut warnings = Vec::new();
    let mut p = kernel::mass_fraction(reading, t);
    if p.is_nan() {
        let beyond = (low - reading).max(reading - high);
        if beyond > tolerance_kg_m3 {
            return Err(Fault::OutOfRange {
                field: "density_kg_m3".into(),
                value: reading,
                unit: "kg/m³",
                low,
                high,
            });
        }
        p = if reading < low { 1.0 } else { 0.0 };
        warnings.push(Warning {
            code: "tolerance_kg_m3",
            says: format!(
                "the density is {beyond:.4} kg/m³ beyond the end; taken as the end, within the \
                 tolerance of {tolerance_kg_m3} kg/m³"
            ),
        });
    }
    let mass_fraction = MassFraction(p);
    warnings.extend(frozen(mass_fraction, at));
    Ok(Content { mass_fraction, strength: mass_fraction.strength(), warnings })
}

/// Gives the warning "frozen" for a mixture that would hold ice at this temperature.
///
/// # Units
/// kg/kg and °C.
/// # Range
/// Never above 0 °C.
/// # Error
/// A few per cent of mass: the line is laid through four points.
/// # Source
/// Freezing line through mass fractions 0 at 0 °C, 0.12 at −5, 0.21 at −10 and 0.33 at −20 °C,
/// from memory.
/// # Example
/// ```
/// use gauge::{Celsius, MassFraction, alcoholometry::frozen};
/// let weak = MassFraction::from_fraction(0.1)?;
/// assert!(frozen(weak, Celsius::from_degrees(-10.0)?).is_some());
/// assert!(frozen(weak, Celsius::from_degrees(4.0)?).is_none());
/// # Ok::<(), gauge::Fault>(())
/// ```
pub fn frozen(mixture: MassFraction, at: Celsius) -> Option<Warning> {
    let t = at.degrees();
    let knot = FREEZING.windows(2).find(|k| t < k[0].0 && t >= k[1].0)?;
    let share = (t - knot[0].0) / (knot[1].0 - knot[0].0);
    let line = knot[0].1 + share * (knot[1].1 - knot[0].1);
    (mixture.fraction() < line).then(|| Warning {
        code: "frozen",
        says: format!(
            "at {t} °C a mixture below {:.0} % by mass holds ice; the figure is the formula's",
            100.0 * line
        ),
    })
}

/// Temperature, °C, and mass fraction where ice begins. From memory.
const FREEZING: [(f64, f64); 4] = [(0.0, 0.0), (-5.0, 0.12), (-10.0, 0.21), (-20.0, 0.33)];

pub(crate) fn check_temperature(at: Celsius) -> Result<(), Fault> {
    Fault::check("temperature_c", at.degrees(), "°C", kernel::COLDEST_C..=kernel::WARMEST_C)
        .map(|_| ())
}
