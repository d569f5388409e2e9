//! A temperature and a difference of temperatures.

use std::ops::{Add, Sub};

quantity! {
    /// A temperature. Two of them do not add; their difference is a [`KelvinStep`].
    ///
    /// ```compile_fail
    /// # use gauge::Celsius;
    /// let _ = Celsius::from_degrees(20.0).unwrap() + Celsius::from_degrees(5.0).unwrap();
    /// ```
    Celsius, "temperature_c", "°C", -100.0..=1200.0, from_degrees, degrees
}

quantity! {
    /// A difference of temperatures. It adds to a temperature and to itself.
    ///
    /// ```compile_fail
    /// # use gauge::{Celsius, KelvinStep};
    /// fn reading(at: Celsius) {}
    /// reading(KelvinStep::from_kelvin(5.0).unwrap());
    /// ```
    KelvinStep, "difference_dk", "K", -1300.0..=1300.0, from_kelvin, kelvin
}
conserved!(KelvinStep);

impl Celsius {
    /// The temperature that every volume and strength of this trade refers to.
    pub const TWENTY: Self = Self(20.0);

    /// Gives the temperature that reads `degrees` on the Fahrenheit scale.
    ///
    /// # Units
    /// Argument °F.
    /// # Range
    /// −148 to 2192 °F; outside it `Fault::OutOfRange` in °C.
    /// # Error
    /// None.
    /// # Source
    /// The definition of the scale.
    /// # Example
    /// ```
    /// let sixty = gauge::Celsius::from_fahrenheit(60.0)?;
    /// assert!((sixty.degrees() - 15.5556).abs() < 1e-4);
    /// # Ok::<(), gauge::Fault>(())
    /// ```
    pub fn from_fahrenheit(degrees: f64) -> Result<Self, crate::Fault> {
        Self::from_degrees((degrees - 32.0) / 1.8)
    }
}

impl Add<KelvinStep> for Celsius {
    type Output = Self;
    fn add(self, step: KelvinStep) -> Self {
        Self(self.0 + step.0)
    }
}

impl Sub for Celsius {
    type Output = KelvinStep;
    fn sub(self, other: Self) -> KelvinStep {
        KelvinStep(self.0 - other.0)
    }
}
