//! Obscuration: what a cask gives to the spirit makes it heavier, and a density then reads weak.
//!
//! The true strength of a matured spirit is had by distilling it, making up to the first volume
//! and reading that. What is reckoned here is the prediction: how far so many grams of solids in a
//! litre hide the strength. A matured cask has three figures: apparent strength, obscuration, and
//! true strength, which is their sum.

use crate::Fault;
use crate::alcoholometry::kernel;
use crate::quantity::{DensityVacuum, Strength};

/// Partial specific volume of what oak gives to spirit, cm³/g. From memory, 0.60 to 0.65; the
/// upper end reproduces the factor of the United States' rule (0.1 g in 100 mL hides 0.4 proof) at
/// 50 % vol.
pub const SPECIFIC_VOLUME_CM3_G: f64 = 0.65;

/// What dissolved solids do to a strength.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Obscured {
    /// What a density reads as.
    pub apparent: Strength,
    /// What it is.
    pub real: Strength,
    /// Density at 20 °C with the solids in it.
    pub density: DensityVacuum,
}

impl Obscured {
    /// Gives the obscuration, true less apparent, % vol.
    pub fn obscuration_pct(&self) -> f64 {
        self.real.percent() - self.apparent.percent()
    }
}

/// Dissolved solids.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Solids {
    /// Grams in a litre at 20 °C.
    pub solids_g_l: f64,
    /// Their partial specific volume, cm³/g.
    pub specific_volume_cm3_g: f64,
}

impl Solids {
    fn check(self) -> Result<(), Fault> {
        Fault::check("solids_g_l", self.solids_g_l, "g/L", 0.0..=50.0)?;
        let v = self.specific_volume_cm3_g;
        Fault::check("specific_volume_cm3_g", v, "cm³/g", 0.4..=0.9).map(|_| ())
    }
}

/// Gives what a spirit of a true strength reads as with solids in it.
///
/// ρ = ρ(p, 20) + s (1 − ρ(p, 20) v̄/1000), and the strength that density would have.
///
/// # Units
/// % vol, g/L and cm³/g.
/// # Range
/// 0 to 50 g/L, 0.4 to 0.9 cm³/g; a density above water's is `Fault::OutOfRange`.
/// # Error
/// 15 %, for the specific volume is from memory.
/// # Source
/// Additive partial volumes; 27 CFR 30.32 for the factor it is held against.
/// # Example
/// ```
/// use gauge::{Strength, obscuration::{SPECIFIC_VOLUME_CM3_G, Solids, apparent}};
/// let solids = Solids { solids_g_l: 1.0, specific_volume_cm3_g: SPECIFIC_VOLUME_CM3_G };
/// let seen = apparent(Strength::from_percent(50.0)?, solids)?;
/// assert!((seen.obscuration_pct() - 0.20).abs() < 0.005);
/// # Ok::<(), gauge::Fault>(())
/// ```
pub fn apparent(real: Strength, solids: Solids) -> Result<Obscured, Fault> {
    let clear = kernel::density_of_strength_kg_m3(real.percent(), 20.0);
    solids.check()?;
    let density = clear + solids.solids_g_l * (1.0 - clear / 1000.0 * solids.specific_volume_cm3_g);
    let density = DensityVacuum::from_kg_m3(density)?;
    let found = crate::alcoholometry::content(density, crate::Celsius::TWENTY)?;
    Ok(Obscured { apparent: found.strength, real, density })
}

/// Gives the true strength behind an apparent one, with the solids known: [`apparent`] turned
/// about.
///
/// # Units
/// % vol, g/L and cm³/g.
/// # Range
/// As [`apparent`]; a clear spirit lighter than ethanol is `Fault::OutOfRange`.
/// # Error
/// 15 % of the obscuration.
/// # Source
/// As [`apparent`].
/// # Example
/// ```
/// use gauge::{Strength, obscuration::{SPECIFIC_VOLUME_CM3_G, Solids, real}};
/// let solids = Solids { solids_g_l: 2.0, specific_volume_cm3_g: SPECIFIC_VOLUME_CM3_G };
/// let found = real(Strength::from_percent(59.0)?, solids)?;
/// assert!(found.obscuration_pct() > 0.3 && found.obscuration_pct() < 0.45);
/// # Ok::<(), gauge::Fault>(())
/// ```
pub fn real(apparent: Strength, solids: Solids) -> Result<Obscured, Fault> {
    solids.check()?;
    let (s, v) = (solids.solids_g_l, solids.specific_volume_cm3_g);
    let density = kernel::density_of_strength_kg_m3(apparent.percent(), 20.0);
    // density = clear + s (1 − clear v/1000), solved for clear.
    let clear = DensityVacuum::from_kg_m3((density - s) / (1.0 - s * v / 1000.0))?;
    let found = crate::alcoholometry::content(clear, crate::Celsius::TWENTY)?;
    Ok(Obscured { apparent, real: found.strength, density: DensityVacuum(density) })
}
