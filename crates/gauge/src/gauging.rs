//! How much spirit there is: by dip and by weight.
//!
//! By dip, the temperature matters twice: the spirit has swollen, and so has the vessel. By weight
//! it comes in only through the air, 2 mL in a cask for 12 K, which is why weighing is the robust
//! way.

use crate::Fault;
use crate::alcoholometry::{density, kernel};
use crate::buoyancy::Buoyancy;
use crate::quantity::{BulkVolume, Celsius, PureLitres, Strength, VolumeAt20};

/// Expansion of a steel vessel by volume, per K: OIML R 22 (1975), table XI.
pub const STEEL_PER_K: f64 = 36e-6;

/// What a gauging gives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gauged {
    /// True mass, kg.
    pub mass_kg: f64,
    /// Litres as they lie.
    pub bulk: BulkVolume,
    /// Litres at 20 °C.
    pub volume_20: VolumeAt20,
    /// Litres of pure alcohol.
    pub pure_alcohol: PureLitres,
}

/// A dip in a vessel whose table was made at 20 °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dip {
    /// Litres by the vessel's table.
    pub bulk_l: f64,
    /// Temperature of the liquid, and so of the vessel.
    pub at: Celsius,
    /// Expansion of the vessel by volume, per K; 0 for oak by custom, [`STEEL_PER_K`] for steel.
    pub vessel_expansion_per_k: f64,
}

/// Gives what lies in a vessel, from its dip.
///
/// V = V_dip (1 + β (t − 20)); V₂₀ = V ρ(p, t) / ρ(p, 20); pure alcohol = V₂₀ q.
///
/// # Units
/// L by the vessel's table, °C, % vol.
/// # Range
/// −20 to 40 °C, expansions 0 to 1e-3 per K; else `Fault::OutOfRange`.
/// # Error
/// About 5e-5 relative, and the dip's own.
/// # Source
/// OIML R 22 (1975), table XI.
/// # Example
/// ```
/// use gauge::{Celsius, Strength, gauging::{Dip, STEEL_PER_K, by_dip}};
/// let at = Celsius::from_degrees(12.0)?;
/// let dip = Dip { bulk_l: 1000.0, at, vessel_expansion_per_k: STEEL_PER_K };
/// let lies = by_dip(dip, Strength::from_percent(63.5)?)?;
/// assert!((lies.pure_alcohol.litres() - 639.345).abs() < 1e-3);
/// # Ok::<(), gauge::Fault>(())
/// ```
pub fn by_dip(dip: Dip, strength: Strength) -> Result<Gauged, Fault> {
    let beta =
        Fault::check("vessel_expansion_per_k", dip.vessel_expansion_per_k, "1/K", 0.0..=1e-3)?;
    let swollen = dip.bulk_l * (1.0 + beta * (dip.at.degrees() - 20.0));
    let bulk = BulkVolume::new(swollen, dip.at)?;
    let volume_20 = bulk.at_20(strength);
    Ok(Gauged {
        mass_kg: bulk.mass_kg(strength),
        bulk,
        volume_20,
        pure_alcohol: volume_20.pure_alcohol(strength),
    })
}

/// A net weight as the balance shows it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weight {
    /// Gross less tare, as shown, kg.
    pub net_kg: f64,
    /// Temperature of the liquid when it was weighed.
    pub at: Celsius,
    /// The air and the weights.
    pub buoyancy: Buoyancy,
}

/// Gives what was weighed.
///
/// m = W (1 − a/ρ_w) / (1 − a/ρ(p, t)); V₂₀ = 1000 m / ρ(p, 20); pure alcohol = V₂₀ q.
///
/// # Units
/// kg as the balance shows them, °C, % vol.
/// # Range
/// 0 to 1e9 kg, −20 to 40 °C; else `Fault::OutOfRange`.
/// # Error
/// 2e-6 relative against the tables' first-order form, and the balance's own.
/// # Source
/// OIML R 22 (1975), table XII.
/// # Example
/// ```
/// use gauge::{Celsius, Strength, buoyancy::Buoyancy, gauging::{Weight, by_weight}};
/// let net = Weight { net_kg: 180.0, at: Celsius::TWENTY, buoyancy: Buoyancy::CUSTOMARY };
/// let cask = by_weight(net, Strength::from_percent(63.5)?)?;
/// assert!((cask.volume_20.litres() - 199.9802).abs() < 1e-3);
/// assert!((cask.pure_alcohol.litres() - 126.9874).abs() < 1e-3);
/// # Ok::<(), gauge::Fault>(())
/// ```
pub fn by_weight(weight: Weight, strength: Strength) -> Result<Gauged, Fault> {
    let net_kg = Fault::check("net_kg", weight.net_kg, "kg", 0.0..=1e9)?;
    let p = strength.mass_fraction();
    let liquid = density(p, weight.at)?;
    let mass_kg = weight.buoyancy.mass_kg(net_kg, liquid);
    let volume_20 =
        VolumeAt20::from_litres(1000.0 * mass_kg / kernel::density_kg_m3(p.fraction(), 20.0))?;
    Ok(Gauged {
        mass_kg,
        bulk: BulkVolume::new(1000.0 * mass_kg / liquid.kg_m3(), weight.at)?,
        volume_20,
        pure_alcohol: volume_20.pure_alcohol(strength),
    })
}
