//! Worts and wash: gravity, degrees Plato, density and extract.
//!
//! Gravity is read 20 °C over 20 °C. Degrees Plato are what a sucrose solution of that density
//! holds, per cent by mass. The extract in a volume is the product of the two with the density of
//! water. [`kernel`] holds the same in bare figures.

pub mod attenuation;
pub mod kernel;
#[cfg(test)]
mod tests;

use crate::Fault;
use crate::quantity::{Celsius, DensityVacuum, Gravity, Plato};

/// Gives the degrees Plato of a gravity.
///
/// # Units
/// 20/20 to °P.
/// # Range
/// That of [`Gravity`]; below 1 (fermented wash) the cubic carries on smoothly.
/// # Error
/// 0.002 °P against the sucrose tables up to 1.11.
/// # Source
/// Cubic of the American Society of Brewing Chemists, as printed in an encyclopaedic article on
/// degrees Brix, section Tables.
/// # Example
/// ```
/// let p = gauge::wort::plato(gauge::Gravity::from_specific(1.05)?);
/// assert!((p.degrees() - 12.3876).abs() < 1e-4);
/// # Ok::<(), gauge::Fault>(())
/// ```
pub fn plato(gravity: Gravity) -> Plato {
    Plato(kernel::plato_of_gravity(gravity.specific()))
}

/// Gives the gravity of so many degrees Plato.
///
/// # Units
/// °P to 20/20.
/// # Range
/// That of [`Plato`].
/// # Error
/// Solved to 1e-12.
/// # Source
/// The same cubic, solved for the gravity.
/// # Example
/// ```
/// let s = gauge::wort::gravity(gauge::Plato::from_degrees(15.0)?);
/// assert!((s.specific() - 1.06111).abs() < 1e-5);
/// # Ok::<(), gauge::Fault>(())
/// ```
pub fn gravity(plato: Plato) -> Gravity {
    Gravity(kernel::gravity_of_plato(plato.degrees()))
}

/// Gives the density at 20 °C of worts of this gravity.
///
/// # Units
/// 20/20 to kg/m³.
/// # Range
/// That of [`Gravity`].
/// # Error
/// 0.06 kg/m³ at 1.05, for a gravity in air is taken as one in vacuum.
/// # Source
/// ρ = S · 998.20 kg/m³.
/// # Example
/// ```
/// let rho = gauge::wort::density(gauge::Gravity::from_specific(1.05)?);
/// assert!((rho.kg_m3() - 1048.11).abs() < 0.01);
/// # Ok::<(), gauge::Fault>(())
/// ```
pub fn density(gravity: Gravity) -> DensityVacuum {
    DensityVacuum(kernel::density_kg_m3(gravity.specific()))
}

/// Gives the gravity at 20 °C of worts in which a glass saccharometer shows `reading` elsewhere.
///
/// S₂₀ = R (1 − 25e-6 (t − 20)) ρ_w(20)/ρ_w(t) [1 + k P (t − 20)], the glass, the water, and with
/// k = 3e-6 per K and °P what sugar swells more than water.
///
/// # Units
/// 20/20 and °C to 20/20.
/// # Range
/// 0 to 60 °C; else `Fault::OutOfRange`. Above 30 °C ±1 degree: cool the sample.
/// # Error
/// k is rough, from memory; it is taken as nought up to 30 °C.
/// # Source
/// ISO 1768:1975 for the glass; the water as in [`crate::water`].
/// # Example
/// ```
/// use gauge::{Celsius, wort::at_20};
/// let s = at_20(1.05, Celsius::from_degrees(30.0)?)?;
/// assert!((s.specific() - 1.0524).abs() < 1e-4);
/// # Ok::<(), gauge::Fault>(())
/// ```
pub fn at_20(reading: f64, at: Celsius) -> Result<Gravity, Fault> {
    let t = Fault::check("temperature_c", at.degrees(), "°C", 0.0..=60.0)?;
    let reading = Gravity::from_specific(reading)?.specific();
    let d = t - 20.0;
    let water = crate::water::density_kg_m3(20.0) / crate::water::density_kg_m3(t);
    let sugar = if t > 30.0 { 3e-6 * kernel::plato_of_gravity(reading) * d } else { 0.0 };
    Gravity::from_specific(reading * (1.0 - 25e-6 * d) * water * (1.0 + sugar))
}
