//! Strength, and litres of three kinds.

use super::{Celsius, DensityVacuum};
use crate::Fault;
use crate::alcoholometry::kernel;

quantity! {
    /// Alcoholic strength by volume at 20 °C: litres of ethanol per 100 litres of mixture, both at
    /// 20 °C. Strengths do not add, and averaging them by volume is wrong; blend instead.
    ///
    /// ```compile_fail
    /// # use gauge::Strength;
    /// let _ = Strength::from_percent(40.0).unwrap() + Strength::from_percent(20.0).unwrap();
    /// ```
    /// ```compile_fail
    /// # use gauge::{MassFraction, Strength};
    /// fn fill(strength: Strength) {}
    /// fill(MassFraction::from_fraction(0.55).unwrap());
    /// ```
    Strength, "strength_pct", "% vol", 0.0..=100.0, from_percent, percent
}

quantity! {
    /// Mass fraction of ethanol, kg per kg of mixture.
    ///
    /// ```compile_fail
    /// # use gauge::MassFraction;
    /// let half = MassFraction::from_fraction(0.5).unwrap();
    /// let _ = half + half;
    /// ```
    MassFraction, "mass_fraction", "kg/kg", 0.0..=1.0, from_fraction, fraction
}

quantity! {
    /// Litres of pure alcohol at 20 °C. Conserved, so it adds.
    ///
    /// ```
    /// # use gauge::PureLitres;
    /// let both = PureLitres::from_litres(126.5)? + PureLitres::from_litres(3.5)?;
    /// assert!((both.litres() - 130.0).abs() < 1e-12);
    /// # Ok::<(), gauge::Fault>(())
    /// ```
    /// ```compile_fail
    /// # use gauge::{PureLitres, VolumeAt20};
    /// let _ = PureLitres::from_litres(50.0).unwrap() + VolumeAt20::from_litres(50.0).unwrap();
    /// ```
    PureLitres, "pure_alcohol_l", "L pure alcohol", -1.0e9..=1.0e9, from_litres, litres
}
conserved!(PureLitres);

quantity! {
    /// Litres of liquid at 20 °C. Does not add: spirit and water shrink when mixed.
    ///
    /// ```compile_fail
    /// # use gauge::VolumeAt20;
    /// let _ = VolumeAt20::from_litres(100.0).unwrap() + VolumeAt20::from_litres(50.0).unwrap();
    /// ```
    VolumeAt20, "volume_20_l", "L at 20 °C", 0.0..=1.0e9, from_litres, litres
}

impl Strength {
    /// Gives the mass fraction of a mixture of this strength.
    ///
    /// # Units
    /// % vol at 20 °C to kg/kg.
    /// # Range
    /// All strengths.
    /// # Error
    /// Solved to 1e-13 in mass fraction; the formula is good to about 0.05 kg/m³.
    /// # Source
    /// q = p ρ(p, 20) / ρ(1, 20): OIML R 22, International alcoholometric tables, 1975.
    /// # Example
    /// ```
    /// let p = gauge::Strength::from_percent(63.5)?.mass_fraction();
    /// assert!((p.fraction() - 0.556139).abs() < 1e-6);
    /// # Ok::<(), gauge::Fault>(())
    /// ```
    pub fn mass_fraction(self) -> MassFraction {
        MassFraction(kernel::mass_fraction_of_strength(self.0))
    }
    /// Gives the strength as a fraction, 0.635 for 63.5 % vol.
    pub fn fraction(self) -> f64 {
        self.0 / 100.0
    }
}

impl MassFraction {
    /// Gives the strength by volume at 20 °C.
    ///
    /// # Units
    /// kg/kg to % vol at 20 °C.
    /// # Range
    /// All mass fractions.
    /// # Error
    /// The formula is good to about 0.05 kg/m³, some 0.005 % vol.
    /// # Source
    /// q = p ρ(p, 20) / ρ(1, 20): OIML R 22, International alcoholometric tables, 1975.
    /// # Example
    /// ```
    /// let q = gauge::MassFraction::from_fraction(0.332996)?.strength();
    /// assert!((q.percent() - 40.0).abs() < 1e-3);
    /// # Ok::<(), gauge::Fault>(())
    /// ```
    pub fn strength(self) -> Strength {
        // The formula gives 100 + 1e-14 at the very end.
        Strength(kernel::strength_pct(self.0).clamp(0.0, 100.0))
    }
    /// Gives the fraction as per cent by mass.
    pub fn percent(self) -> f64 {
        100.0 * self.0
    }
}

impl VolumeAt20 {
    /// Gives the pure alcohol in it: the only road from litres of spirit to litres of alcohol.
    ///
    /// # Units
    /// L at 20 °C and % vol to L of pure alcohol at 20 °C.
    /// # Range
    /// All.
    /// # Error
    /// None of its own.
    /// # Source
    /// The definition of strength by volume.
    /// # Example
    /// ```
    /// use gauge::{Strength, VolumeAt20};
    /// let fill = VolumeAt20::from_litres(200.0)?.pure_alcohol(Strength::from_percent(63.5)?);
    /// assert!((fill.litres() - 127.0).abs() < 1e-9);
    /// # Ok::<(), gauge::Fault>(())
    /// ```
    pub fn pure_alcohol(self, strength: Strength) -> PureLitres {
        PureLitres(self.0 * strength.fraction())
    }

    /// Gives what it weighs, in vacuum.
    ///
    /// # Units
    /// L at 20 °C and % vol to kg.
    /// # Range
    /// All.
    /// # Error
    /// That of the density formula, about 5e-5 relative.
    /// # Source
    /// m = V ρ(p, 20) / 1000: OIML R 22, 1975.
    /// # Example
    /// ```
    /// use gauge::{Strength, VolumeAt20};
    /// let kg = VolumeAt20::from_litres(1000.0)?.mass_kg(Strength::from_percent(40.0)?);
    /// assert!((kg - 948.0452).abs() < 1e-3);
    /// # Ok::<(), gauge::Fault>(())
    /// ```
    pub fn mass_kg(self, strength: Strength) -> f64 {
        self.0 / 1000.0 * kernel::density_kg_m3(strength.mass_fraction().0, 20.0)
    }
}

/// Litres as they lie, which keep the temperature they lie at. They do not add, and they are not
/// litres at 20 °C.
///
/// ```compile_fail
/// # use gauge::{BulkVolume, Celsius};
/// let dip = BulkVolume::new(100.0, Celsius::TWENTY).unwrap();
/// let _ = dip + dip;
/// ```
/// ```compile_fail
/// # use gauge::{BulkVolume, Celsius, VolumeAt20};
/// fn fill(volume: VolumeAt20) {}
/// fill(BulkVolume::new(100.0, Celsius::TWENTY).unwrap());
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BulkVolume {
    litres: f64,
    at: Celsius,
}

impl BulkVolume {
    /// Takes so many litres as they lie at this temperature.
    ///
    /// # Units
    /// L at `at`.
    /// # Range
    /// 0 to 1e9 L, −20 to 40 °C; outside it `Fault::OutOfRange`.
    /// # Error
    /// None.
    /// # Source
    /// Definition; the temperature range is that of OIML R 22, 1975.
    /// # Example
    /// ```
    /// use gauge::{BulkVolume, Celsius, Strength};
    /// let dip = BulkVolume::new(1000.0, Celsius::from_degrees(12.0)?)?;
    /// let at_20 = dip.at_20(Strength::from_percent(63.5)?);
    /// assert!((at_20.litres() - 1007.133).abs() < 1e-3);
    /// # Ok::<(), gauge::Fault>(())
    /// ```
    pub fn new(litres: f64, at: Celsius) -> Result<Self, Fault> {
        let litres = Fault::check("bulk_l", litres, "L", 0.0..=1e9)?;
        Fault::check("temperature_c", at.0, "°C", kernel::COLDEST_C..=kernel::WARMEST_C)?;
        Ok(Self { litres, at })
    }
    /// Gives the litres as they lie.
    pub const fn litres(self) -> f64 {
        self.litres
    }
    /// Gives the temperature they lie at.
    pub const fn at(self) -> Celsius {
        self.at
    }
    /// Gives the density of spirit of this strength at this liquid's temperature.
    pub fn density(self, strength: Strength) -> DensityVacuum {
        DensityVacuum(kernel::density_kg_m3(strength.mass_fraction().0, self.at.0))
    }
    /// Gives what it weighs, in vacuum, in kg.
    pub fn mass_kg(self, strength: Strength) -> f64 {
        self.litres / 1000.0 * self.density(strength).0
    }
    /// Gives the litres it will be at 20 °C.
    ///
    /// # Units
    /// L at the temperature of the liquid to L at 20 °C; strength in % vol at 20 °C.
    /// # Range
    /// −20 to 40 °C, checked when it was made.
    /// # Error
    /// About 5e-5 relative.
    /// # Source
    /// V₂₀ = V ρ(p, t) / ρ(p, 20): OIML R 22, 1975.
    /// # Example
    /// ```
    /// use gauge::{BulkVolume, Celsius, Strength};
    /// let cold = BulkVolume::new(500.0, Celsius::from_degrees(5.0)?)?;
    /// assert!((cold.at_20(Strength::from_percent(40.0)?).litres() - 505.047).abs() < 1e-3);
    /// # Ok::<(), gauge::Fault>(())
    /// ```
    pub fn at_20(self, strength: Strength) -> VolumeAt20 {
        let p = strength.mass_fraction().0;
        VolumeAt20(self.litres * self.density(strength).0 / kernel::density_kg_m3(p, 20.0))
    }
}
