//! Glass instruments: alcoholometers and hydrometers read at another temperature than their own.
//!
//! A glass alcoholometer is true at 20 °C. Elsewhere it is wrong twice: the spirit is lighter or
//! heavier, which is most of it, and the bulb has swollen or shrunk, which is 0.1 % vol for 10 K.

use crate::Fault;
use crate::alcoholometry::{Content, check_temperature, content, kernel};
use crate::quantity::{Celsius, DensityVacuum, Strength};

/// The glass of an instrument that is true at 20 °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Glass {
    expansion_per_k: f64,
}

impl Glass {
    /// Soda-lime glass, 25e-6 per K by volume: the conventional value of ISO 1768:1975.
    pub const SODA_LIME: Self = Self { expansion_per_k: 25e-6 };

    /// Takes the expansion of the glass by volume.
    ///
    /// # Units
    /// 1/K.
    /// # Range
    /// 0 (no correction) to 1e-4; else `Fault::OutOfRange`.
    /// # Error
    /// None.
    /// # Source
    /// ISO 1768:1975; borosilicate is about 10e-6, from memory.
    /// # Example
    /// ```
    /// assert!(gauge::glass::Glass::new(10e-6).is_ok());
    /// assert!(gauge::glass::Glass::new(0.1).is_err());
    /// ```
    pub fn new(expansion_per_k: f64) -> Result<Self, Fault> {
        let expansion_per_k =
            Fault::check("glass_expansion_per_k", expansion_per_k, "1/K", 0.0..=1e-4)?;
        Ok(Self { expansion_per_k })
    }

    fn factor(self, at: Celsius) -> f64 {
        1.0 - self.expansion_per_k * (at.degrees() - 20.0)
    }

    /// Gives the true density of a liquid in which a density hydrometer shows `reading_kg_m3`:
    /// ρ = R (1 − α (t − 20)).
    ///
    /// # Units
    /// kg/m³ and °C.
    /// # Range
    /// 500 to 1500 kg/m³; else `Fault::OutOfRange`.
    /// # Error
    /// That of the instrument: read at the level of the liquid, in the liquid it was marked for.
    /// # Source
    /// ISO 1768:1975.
    /// # Example
    /// ```
    /// use gauge::{Celsius, glass::Glass};
    /// let rho = Glass::SODA_LIME.density(900.0, Celsius::from_degrees(30.0)?)?;
    /// assert!((rho.kg_m3() - 899.775).abs() < 1e-9);
    /// # Ok::<(), gauge::Fault>(())
    /// ```
    pub fn density(self, reading_kg_m3: f64, at: Celsius) -> Result<DensityVacuum, Fault> {
        DensityVacuum::from_kg_m3(reading_kg_m3 * self.factor(at))
    }

    /// Gives what a spirit holds in which an alcoholometer shows `reading`.
    ///
    /// # Units
    /// % vol shown and °C to % vol at 20 °C.
    /// # Range
    /// −20 to 40 °C, and a spirit that can be; else `Fault::OutOfRange` in `reading_pct`.
    /// # Error
    /// 0.05 % vol in the mean against a printed table of readings, 0.18 at most.
    /// # Source
    /// OIML R 22 (1975), tables VIII and IX; ISO 1768:1975 for the glass.
    /// # Example
    /// ```
    /// use gauge::{Celsius, Strength, glass::Glass};
    /// let shown = Strength::from_percent(60.0)?;
    /// let found = Glass::SODA_LIME.alcoholometer(shown, Celsius::from_degrees(10.0)?)?;
    /// assert!((found.strength.percent() - 63.4227).abs() < 1e-3);
    /// # Ok::<(), gauge::Fault>(())
    /// ```
    pub fn alcoholometer(self, reading: Strength, at: Celsius) -> Result<Content, Fault> {
        check_temperature(at)?;
        let p = reading.mass_fraction().fraction();
        let density = kernel::density_kg_m3(p, 20.0) * self.factor(at);
        content(DensityVacuum(density), at).map_err(|_| Fault::OutOfRange {
            field: "reading_pct".into(),
            value: reading.percent(),
            unit: "% vol",
            low: self.shows(Strength(0.0), at).unwrap_or(0.0),
            high: self.shows(Strength(100.0), at).unwrap_or(100.0),
        })
    }

    /// Gives what an alcoholometer shows in spirit of a strength; `None` where it runs off the
    /// scale. For checking an instrument against a known spirit.
    ///
    /// # Units
    /// % vol at 20 °C and °C to % vol shown.
    /// # Range
    /// −20 to 40 °C; outside it `None`.
    /// # Error
    /// As [`alcoholometer`](Self::alcoholometer).
    /// # Source
    /// As [`alcoholometer`](Self::alcoholometer), turned about.
    /// # Example
    /// ```
    /// use gauge::{Celsius, Strength, glass::Glass};
    /// let shown = Glass::SODA_LIME
    ///     .shows(Strength::from_percent(63.4227)?, Celsius::from_degrees(10.0)?);
    /// assert!((shown.unwrap() - 60.0).abs() < 1e-3);
    /// # Ok::<(), gauge::Fault>(())
    /// ```
    pub fn shows(self, strength: Strength, at: Celsius) -> Option<f64> {
        let density = kernel::density_of_strength_kg_m3(strength.percent(), at.degrees());
        let shown = kernel::strength_of_density_pct(density / self.factor(at), 20.0);
        (!shown.is_nan()).then_some(shown)
    }
}
