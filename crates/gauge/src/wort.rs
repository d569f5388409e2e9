//! Worts and wash: gravity, degrees Plato, density and extract.
//!
//! Gravity is read 20 °C over 20 °C. Degrees Plato are what a sucrose solution of that density
//! holds, per cent by mass. The extract in a volume is the product of the two with the density of
//! water. [`kernel`] holds the same in bare figures.

pub mod kernel;
#[cfg(test)]
mod tests;

use crate::quantity::{DensityVacuum, Gravity, Plato};

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
