//! Smoke on malt and in spirit: three figures that are all called "phenols, parts per million".

use super::{MoistureWet, PureLitres};

quantity! {
    /// Phenols on the dry matter of malt.
    ///
    /// ```compile_fail
    /// # use gauge::{PhenolAsIs, PhenolOnDry};
    /// let _ = PhenolOnDry::from_mg_kg(35.0).unwrap() == PhenolAsIs::from_mg_kg(35.0).unwrap();
    /// ```
    PhenolOnDry, "phenols_mg_kg_dry", "mg/kg dry", 0.0..=1000.0, from_mg_kg, mg_kg
}

quantity! {
    /// Phenols on malt as it lies, its moisture weighed with it.
    ///
    /// ```compile_fail
    /// # use gauge::PhenolAsIs;
    /// let _ = PhenolAsIs::from_mg_kg(35.0).unwrap() + PhenolAsIs::from_mg_kg(5.0).unwrap();
    /// ```
    PhenolAsIs, "phenols_mg_kg", "mg/kg as is", 0.0..=1000.0, from_mg_kg, mg_kg
}

quantity! {
    /// Phenols in spirit, per litre of pure alcohol, so that reducing does not change the figure.
    ///
    /// ```compile_fail
    /// # use gauge::{PhenolInSpirit, PhenolOnDry};
    /// fn smoke(on_malt: PhenolOnDry) {}
    /// smoke(PhenolInSpirit::from_mg_l(20.0).unwrap());
    /// ```
    PhenolInSpirit, "phenols_mg_l_pure_alcohol", "mg/L pure alcohol", 0.0..=5000.0,
    from_mg_l, mg_l
}

impl PhenolAsIs {
    /// Gives the figure on dry matter of malt with this moisture.
    pub fn on_dry(self, moisture: MoistureWet) -> PhenolOnDry {
        PhenolOnDry(self.0 / (1.0 - moisture.0))
    }
}

impl PhenolOnDry {
    /// Gives the figure on malt as it lies with this moisture.
    pub fn as_is(self, moisture: MoistureWet) -> PhenolAsIs {
        PhenolAsIs(self.0 * (1.0 - moisture.0))
    }
}

impl PhenolInSpirit {
    /// Gives the milligrams in so much pure alcohol.
    pub fn milligrams_in(self, alcohol: PureLitres) -> f64 {
        self.0 * alcohol.0
    }
}
