//! Density in vacuum (true density) and density as a balance in air gives it.

quantity! {
    /// True density, as OIML R 22 and the physics mean it.
    ///
    /// ```compile_fail
    /// # use gauge::{DensityInAir, DensityVacuum};
    /// fn strength_from(density: DensityVacuum) {}
    /// strength_from(DensityInAir::from_kg_m3(900.1).unwrap());
    /// ```
    DensityVacuum, "density_kg_m3", "kg/m³", 500.0..=1500.0, from_kg_m3, kg_m3
}

quantity! {
    /// Density in air: mass by weights of conventional density, over volume. About 1 kg/m³ less
    /// than in vacuum for spirit. It is turned into the other by
    /// [`Buoyancy`](crate::buoyancy::Buoyancy).
    ///
    /// ```compile_fail
    /// # use gauge::{DensityInAir, DensityVacuum};
    /// fn weighed(density: DensityInAir) {}
    /// weighed(DensityVacuum::from_kg_m3(901.2).unwrap());
    /// ```
    DensityInAir, "density_air_kg_m3", "kg/m³", 500.0..=1500.0, from_kg_m3, kg_m3
}
