//! Reducing with water and blending: what is mixed shrinks.
//!
//! Only mass and the mass of alcohol add. Litres do not: 100 L of 60 % take 51.4 L of water to
//! come to 40 %, and make 150.0 L. Strengths averaged by litres are wrong as well. Mixing warms the
//! spirit by some degrees (4 to 7 K near 60 to 40 %, from memory), so the last litres are read when
//! it has cooled, or reckoned at the temperature it has.

use crate::Fault;
use crate::alcoholometry::{check_temperature, kernel};
use crate::fault::Side;
use crate::quantity::{BulkVolume, Celsius, MassFraction, PureLitres, Strength, VolumeAt20};

/// So much spirit, told in one of three ways.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Amount {
    /// Litres at 20 °C.
    At20(VolumeAt20),
    /// Litres as they lie.
    Bulk(BulkVolume),
    /// Kilograms, true mass.
    MassKg(f64),
}

/// So much spirit of a strength.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lot {
    /// How much.
    pub amount: Amount,
    /// How strong.
    pub strength: Strength,
}

impl Lot {
    /// Gives its true mass, kg.
    pub fn mass_kg(&self) -> f64 {
        match self.amount {
            Amount::At20(volume) => volume.mass_kg(self.strength),
            Amount::Bulk(volume) => volume.mass_kg(self.strength),
            Amount::MassKg(mass) => mass,
        }
    }
    /// Gives its litres at 20 °C.
    pub fn volume_20(&self) -> VolumeAt20 {
        match self.amount {
            Amount::At20(volume) => volume,
            Amount::Bulk(volume) => volume.at_20(self.strength),
            Amount::MassKg(mass) => {
                let p = self.strength.mass_fraction().fraction();
                VolumeAt20(1000.0 * mass / kernel::density_kg_m3(p, 20.0))
            }
        }
    }
}

/// Lots put together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Blend {
    /// True mass, kg.
    pub mass_kg: f64,
    /// Litres at 20 °C.
    pub volume_20: VolumeAt20,
    /// Strength.
    pub strength: Strength,
    /// Litres of pure alcohol: the sum of what went in.
    pub pure_alcohol: PureLitres,
    /// Litres at 20 °C that went in less those that came of it.
    pub contraction_l: f64,
}

/// Gives what lots of any strength make together. Water is a lot of 0 % vol.
///
/// M = Σ mⱼ, p = Σ mⱼ pⱼ / M; strength and litres from p.
///
/// # Units
/// As the lots tell; results kg, L at 20 °C, % vol.
/// # Range
/// At least one lot, masses 0 to 1e9 kg, not all nought; else a fault naming `mass_kg`.
/// # Error
/// That of the density formula, about 5e-5 relative; alcohol is kept to 1e-12.
/// # Source
/// Conservation of mass; OIML R 22 (1975) for the densities.
/// # Example
/// ```
/// use gauge::{Strength, VolumeAt20, mixing::{Amount, Lot, blend}};
/// let lot = |litres, percent| -> Result<Lot, gauge::Fault> {
///     let amount = Amount::At20(VolumeAt20::from_litres(litres)?);
///     Ok(Lot { amount, strength: Strength::from_percent(percent)? })
/// };
/// let both = blend(&[lot(100.0, 60.0)?, lot(51.3877, 0.0)?])?;
/// assert!((both.strength.percent() - 40.0).abs() < 1e-4);
/// assert!((both.contraction_l - 1.3877).abs() < 1e-3);
/// # Ok::<(), gauge::Fault>(())
/// ```
pub fn blend(lots: &[Lot]) -> Result<Blend, Fault> {
    let mut mass_kg = 0.0;
    let mut ethanol_kg = 0.0;
    let mut volume_l = 0.0;
    for lot in lots {
        let mass = Fault::check("mass_kg", lot.mass_kg(), "kg", 0.0..=1e9)?;
        mass_kg += mass;
        ethanol_kg += mass * lot.strength.mass_fraction().fraction();
        volume_l += lot.volume_20().litres();
    }
    let mass_kg = Fault::check("mass_kg", mass_kg, "kg", f64::MIN_POSITIVE..=1e9)?;
    // The quotient of two rounded sums can pass 1 by the last bit.
    let p = MassFraction((ethanol_kg / mass_kg).clamp(0.0, 1.0));
    let volume = 1000.0 * mass_kg / kernel::density_kg_m3(p.fraction(), 20.0);
    Ok(Blend {
        mass_kg,
        volume_20: VolumeAt20(volume),
        strength: p.strength(),
        pure_alcohol: PureLitres(1000.0 * ethanol_kg / kernel::ETHANOL_KG_M3),
        contraction_l: volume_l - volume,
    })
}

/// What is wanted of a reduction and the temperatures its liquids have.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wanted {
    /// Strength to come to.
    pub target: Strength,
    /// Temperature of the reducing water.
    pub water_at: Celsius,
    /// Temperature of the reduced spirit when its litres are read.
    pub final_at: Celsius,
}

/// What a reduction takes and gives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reduction {
    /// Spirit reduced, true mass, kg.
    pub spirit_kg: f64,
    /// Water to add, kg.
    pub water_kg: f64,
    /// Water to add, L at 20 °C.
    pub water_20_l: f64,
    /// Water to add, L at its own temperature.
    pub water_l: f64,
    /// Litres at 20 °C that come of it.
    pub final_20: VolumeAt20,
    /// Litres that come of it, at the final temperature.
    pub final_l: f64,
    /// Litres at 20 °C of spirit and water less those that come of it.
    pub contraction_l: f64,
    /// Pure alcohol, the same before and after.
    pub pure_alcohol: PureLitres,
}

/// Gives the water that brings a spirit down to a strength, and what comes of it.
///
/// m_w = m₁ (p₁/p₂ − 1), by mass, because litres of spirit and water do not add.
///
/// # Units
/// As the lot tells; water in kg and L, results in L at 20 °C and at the final temperature.
/// # Range
/// A target of 0.1 % vol or more and no stronger than the spirit, else `Fault::OutOfRange` or
/// `Fault::Beyond`; water at 0 to 40 °C, spirit at −20 to 40 °C.
/// # Error
/// About 5e-5 relative. Practice: add 98 % of the water, mix, rest, sample, reckon again.
/// # Source
/// Conservation of mass; OIML R 22 (1975) for the densities.
/// # Example
/// ```
/// use gauge::{Celsius, Strength, VolumeAt20, mixing::{Amount, Lot, Wanted, reduce}};
/// let amount = Amount::At20(VolumeAt20::from_litres(1000.0)?);
/// let spirit = Lot { amount, strength: Strength::from_percent(69.8)? };
/// let target = Strength::from_percent(63.5)?;
/// let twenty = Celsius::TWENTY;
/// let found = reduce(&spirit, Wanted { target, water_at: twenty, final_at: twenty })?;
/// assert!((found.water_kg - 104.5024).abs() < 1e-3);
/// assert!((found.final_20.litres() - 1099.2126).abs() < 1e-3);
/// # Ok::<(), gauge::Fault>(())
/// ```
pub fn reduce(spirit: &Lot, wanted: Wanted) -> Result<Reduction, Fault> {
    let target = Fault::check("target_pct", wanted.target.percent(), "% vol", 0.1..=100.0)?;
    if target > spirit.strength.percent() {
        return Err(Fault::Beyond {
            field: "target_pct".into(),
            value: target,
            unit: "% vol",
            side: Side::AtMost,
            limit: spirit.strength.percent(),
            sets: "the strength of the spirit; water only weakens".into(),
        });
    }
    let water_c = Fault::check("water_temperature_c", wanted.water_at.degrees(), "°C", 0.0..=40.0)?;
    check_temperature(wanted.final_at).map_err(|fault| rename(fault, "final_temperature_c"))?;
    let spirit_kg = Fault::check("mass_kg", spirit.mass_kg(), "kg", 0.0..=1e9)?;
    let p1 = spirit.strength.mass_fraction().fraction();
    let p2 = wanted.target.mass_fraction().fraction();
    let water_kg = spirit_kg * (p1 / p2 - 1.0);
    let final_kg = spirit_kg + water_kg;
    let litres = |kg: f64, p: f64, t: f64| 1000.0 * kg / kernel::density_kg_m3(p, t);
    let water_20_l = litres(water_kg, 0.0, 20.0);
    let final_20 = litres(final_kg, p2, 20.0);
    Ok(Reduction {
        spirit_kg,
        water_kg,
        water_20_l,
        water_l: litres(water_kg, 0.0, water_c),
        final_20: VolumeAt20(final_20),
        final_l: litres(final_kg, p2, wanted.final_at.degrees()),
        contraction_l: spirit.volume_20().litres() + water_20_l - final_20,
        pure_alcohol: PureLitres(1000.0 * spirit_kg * p1 / kernel::ETHANOL_KG_M3),
    })
}

fn rename(fault: Fault, to: &'static str) -> Fault {
    match fault {
        Fault::OutOfRange { value, unit, low, high, .. } => {
            Fault::OutOfRange { field: to.into(), value, unit, low, high }
        }
        other => other,
    }
}

/// Gives the kilograms of a weaker spirit that bring a stronger one down to a strength between
/// them: reducing with tails or an older cask rather than with water.
///
/// m_r = m₁ (p₁ − p₂) / (p₂ − p_r).
///
/// # Units
/// kg and % vol to kg.
/// # Range
/// Strengths that fall in the order spirit, target, reducer; else `Fault::Beyond`.
/// # Error
/// None of its own.
/// # Source
/// Conservation of mass.
/// # Example
/// ```
/// use gauge::{Strength, mixing::{Strengths, reducer_kg}};
/// let s = |percent| Strength::from_percent(percent);
/// let of = Strengths { spirit: s(60.0)?, target: s(40.0)?, reducer: s(0.0)? };
/// assert!((reducer_kg(90.9115, of)? - 51.2953).abs() < 1e-3);
/// # Ok::<(), gauge::Fault>(())
/// ```
pub fn reducer_kg(spirit_kg: f64, of: Strengths) -> Result<f64, Fault> {
    let beyond = |side, limit: Strength, sets: &'static str| Fault::Beyond {
        field: "target_pct".into(),
        value: of.target.percent(),
        unit: "% vol",
        side,
        limit: limit.percent(),
        sets: sets.into(),
    };
    if of.target > of.spirit {
        return Err(beyond(Side::AtMost, of.spirit, "the strength of the spirit"));
    }
    if of.target <= of.reducer {
        return Err(beyond(Side::AtLeast, of.reducer, "the strength of what reduces it"));
    }
    let p = |strength: Strength| strength.mass_fraction().fraction();
    Ok(spirit_kg * (p(of.spirit) - p(of.target)) / (p(of.target) - p(of.reducer)))
}

/// The strengths of a reduction with a weaker spirit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strengths {
    /// What is reduced.
    pub spirit: Strength,
    /// What is wanted.
    pub target: Strength,
    /// What it is reduced with.
    pub reducer: Strength,
}
