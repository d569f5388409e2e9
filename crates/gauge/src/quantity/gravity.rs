//! Gravity of worts and wash, and degrees Plato.

quantity! {
    /// Specific gravity 20 °C over 20 °C. A saccharometer of the old excise works at 60 °F over
    /// 60 °F, which is another scale.
    ///
    /// ```compile_fail
    /// # use gauge::Gravity;
    /// let _ = Gravity::from_specific(1.05).unwrap() + Gravity::from_specific(1.05).unwrap();
    /// ```
    /// ```compile_fail
    /// # use gauge::{Gravity, Plato};
    /// fn original(gravity: Gravity) {}
    /// original(Plato::from_degrees(12.0).unwrap());
    /// ```
    Gravity, "gravity", "20/20", 0.98..=1.13, from_specific, specific
}

impl Gravity {
    /// Gives the excess over water in degrees: 55 for 1.055.
    pub fn degrees(self) -> f64 {
        1000.0 * (self.0 - 1.0)
    }
}

quantity! {
    /// Degrees Plato: per cent by mass of the sucrose solution of the same density. Below nought
    /// in wash lighter than water.
    ///
    /// ```compile_fail
    /// # use gauge::Plato;
    /// let _ = Plato::from_degrees(12.0).unwrap() + Plato::from_degrees(2.0).unwrap();
    /// ```
    Plato, "plato", "°P", -6.0..=30.2, from_degrees, degrees
}
