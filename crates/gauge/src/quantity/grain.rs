//! Grain as it lies, its dry matter, and moisture on the two bases.

use crate::Fault;

quantity! {
    /// Moisture on the wet basis: kg water per kg of grain as it lies.
    ///
    /// ```compile_fail
    /// # use gauge::{MoistureDry, MoistureWet};
    /// fn steeped(moisture: MoistureWet) {}
    /// steeped(MoistureDry::from_fraction(0.8).unwrap());
    /// ```
    MoistureWet, "moisture_wet", "kg/kg wet", 0.0..=0.99, from_fraction, fraction
}

quantity! {
    /// Moisture on the dry basis: kg water per kg of dry matter. 45 % wet is 81.8 % dry.
    ///
    /// ```compile_fail
    /// # use gauge::MoistureDry;
    /// let _ = MoistureDry::from_fraction(0.8).unwrap() + MoistureDry::from_fraction(0.1).unwrap();
    /// ```
    MoistureDry, "moisture_dry", "kg/kg dry", 0.0..=99.0, from_fraction, fraction
}

quantity! {
    /// Dry matter of grain. Conserved, so it adds.
    ///
    /// ```
    /// # use gauge::DryMatter;
    /// let both = DryMatter::from_kg(800.0)? + DryMatter::from_kg(200.0)?;
    /// assert!((both.kg() - 1000.0).abs() < 1e-9);
    /// # Ok::<(), gauge::Fault>(())
    /// ```
    DryMatter, "dry_kg", "kg", -1.0e9..=1.0e9, from_kg, kg
}
conserved!(DryMatter);

impl MoistureWet {
    /// Gives the same moisture on the dry basis: w / (1 − w).
    pub fn dry(self) -> MoistureDry {
        MoistureDry(self.0 / (1.0 - self.0))
    }
}

impl MoistureDry {
    /// Gives the same moisture on the wet basis: m / (1 + m).
    pub fn wet(self) -> MoistureWet {
        MoistureWet(self.0 / (1.0 + self.0))
    }
}

/// Grain as it lies: a mass that keeps its moisture. It does not add, because lots of different
/// moisture make neither; add their dry matter and their water.
///
/// ```compile_fail
/// # use gauge::{GrainMass, MoistureWet};
/// let lot = GrainMass::new(1000.0, MoistureWet::from_fraction(0.12).unwrap()).unwrap();
/// let _ = lot + lot;
/// ```
/// ```compile_fail
/// # use gauge::{DryMatter, GrainMass, MoistureWet};
/// let lot = GrainMass::new(1000.0, MoistureWet::from_fraction(0.12).unwrap()).unwrap();
/// let _ = DryMatter::from_kg(880.0).unwrap() + lot;
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GrainMass {
    kg: f64,
    moisture: MoistureWet,
}

impl GrainMass {
    /// Takes so many kilograms of grain as it lies with this moisture.
    ///
    /// # Units
    /// kg as it lies.
    /// # Range
    /// 0 to 1e9 kg; outside it `Fault::OutOfRange`.
    /// # Error
    /// None.
    /// # Source
    /// Definition.
    /// # Example
    /// ```
    /// use gauge::{GrainMass, MoistureWet};
    /// let lot = GrainMass::new(1000.0, MoistureWet::from_fraction(0.12)?)?;
    /// assert!((lot.dry_matter().kg() - 880.0).abs() < 1e-9);
    /// # Ok::<(), gauge::Fault>(())
    /// ```
    pub fn new(kg: f64, moisture: MoistureWet) -> Result<Self, Fault> {
        let kg = Fault::check("grain_kg", kg, "kg", 0.0..=1e9)?;
        Ok(Self { kg, moisture })
    }
    /// Gives the kilograms as it lies.
    pub const fn kg(self) -> f64 {
        self.kg
    }
    /// Gives the moisture.
    pub const fn moisture(self) -> MoistureWet {
        self.moisture
    }
    /// Gives the dry matter in it.
    pub fn dry_matter(self) -> DryMatter {
        DryMatter(self.kg * (1.0 - self.moisture.0))
    }
    /// Gives the kilograms of water in it.
    pub fn water_kg(self) -> f64 {
        self.kg * self.moisture.0
    }
    /// Gives the same dry matter at another moisture: what it will weigh when wetted or dried.
    #[must_use]
    pub fn at_moisture(self, moisture: MoistureWet) -> Self {
        let kg = self.dry_matter().0 / (1.0 - moisture.0);
        Self { kg, moisture }
    }
}
