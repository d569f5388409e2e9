//! What the air bears up: balance readings and true masses, density in air and in vacuum.
//!
//! A balance compares the load with weights of conventional density, and the air bears up the
//! lighter load more. Leaving it out understates the pure alcohol of a cask at 63.5 % by 0.118 %.

use crate::Fault;
use crate::quantity::{DensityInAir, DensityVacuum};

/// The air a balance stands in and the weights it was set with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Buoyancy {
    air_kg_m3: f64,
    weights_kg_m3: f64,
}

impl Buoyancy {
    /// Air of 1.2 kg/m³, weights of conventional density 8000 kg/m³: OIML R 22 (1975), table XII.
    pub const CUSTOMARY: Self = Self { air_kg_m3: 1.2, weights_kg_m3: 8000.0 };

    /// Takes the density of the air and of the weights.
    ///
    /// # Units
    /// kg/m³ both, named in order.
    /// # Range
    /// Air 0 (no correction) to 2, weights 5000 to 20 000 kg/m³; else `Fault::OutOfRange`.
    /// # Error
    /// None.
    /// # Source
    /// Definition. India's standard of 1989 uses air 1.177 and cast-iron weights of 7300.
    /// # Example
    /// ```
    /// use gauge::buoyancy::{Buoyancy, Densities};
    /// let iron = Densities { air_kg_m3: 1.177, weights_kg_m3: 7300.0 };
    /// assert!(Buoyancy::new(iron)? != Buoyancy::CUSTOMARY);
    /// # Ok::<(), gauge::Fault>(())
    /// ```
    pub fn new(of: Densities) -> Result<Self, Fault> {
        Ok(Self {
            air_kg_m3: Fault::check("air_kg_m3", of.air_kg_m3, "kg/m³", 0.0..=2.0)?,
            weights_kg_m3: Fault::check("weights_kg_m3", of.weights_kg_m3, "kg/m³", 5e3..=2e4)?,
        })
    }

    fn weights_factor(self) -> f64 {
        1.0 - self.air_kg_m3 / self.weights_kg_m3
    }

    /// Gives the true mass of a liquid that the balance shows as `net_kg`:
    /// m = W (1 − a/ρ_w) / (1 − a/ρ), ρ at the temperature it was weighed at.
    ///
    /// # Units
    /// kg and kg/m³ to kg.
    /// # Range
    /// All.
    /// # Error
    /// 2e-6 relative against the first-order form of the tables.
    /// # Source
    /// Archimedes; OIML R 22 (1975), table XII.
    /// # Example
    /// ```
    /// use gauge::{DensityVacuum, buoyancy::Buoyancy};
    /// let m = Buoyancy::CUSTOMARY.mass_kg(180.0, DensityVacuum::from_kg_m3(901.1543)?);
    /// assert!((m - 180.21298).abs() < 1e-5);
    /// # Ok::<(), gauge::Fault>(())
    /// ```
    pub fn mass_kg(self, net_kg: f64, liquid: DensityVacuum) -> f64 {
        net_kg * self.weights_factor() / (1.0 - self.air_kg_m3 / liquid.kg_m3())
    }

    /// Gives what the balance shows for a true mass: the other way about.
    ///
    /// # Units
    /// kg and kg/m³ to kg.
    /// # Range
    /// All.
    /// # Error
    /// As [`mass_kg`](Self::mass_kg).
    /// # Source
    /// As [`mass_kg`](Self::mass_kg).
    /// # Example
    /// ```
    /// use gauge::{DensityVacuum, buoyancy::Buoyancy};
    /// let w = Buoyancy::CUSTOMARY.balance_kg(180.21298, DensityVacuum::from_kg_m3(901.1543)?);
    /// assert!((w - 180.0).abs() < 1e-5);
    /// # Ok::<(), gauge::Fault>(())
    /// ```
    pub fn balance_kg(self, mass_kg: f64, liquid: DensityVacuum) -> f64 {
        mass_kg * (1.0 - self.air_kg_m3 / liquid.kg_m3()) / self.weights_factor()
    }

    /// Gives the density in air, ρ_air = (ρ − a) / (1 − a/ρ_w). Taking off `a` alone, as some
    /// texts do, is 0.135 kg/m³ lower at 63.5 %.
    ///
    /// # Units
    /// kg/m³ to kg/m³.
    /// # Range
    /// All.
    /// # Error
    /// None of its own.
    /// # Source
    /// As [`mass_kg`](Self::mass_kg), for one volume.
    /// # Example
    /// ```
    /// use gauge::{DensityVacuum, buoyancy::Buoyancy};
    /// let air = Buoyancy::CUSTOMARY.in_air(DensityVacuum::from_kg_m3(998.2012)?);
    /// assert!((air.kg_m3() - 997.151).abs() < 1e-3);
    /// # Ok::<(), gauge::Fault>(())
    /// ```
    pub fn in_air(self, density: DensityVacuum) -> DensityInAir {
        DensityInAir((density.kg_m3() - self.air_kg_m3) / self.weights_factor())
    }

    /// Gives the true density of a liquid whose density in air this is.
    ///
    /// # Units
    /// kg/m³ to kg/m³.
    /// # Range
    /// All.
    /// # Error
    /// None of its own.
    /// # Source
    /// [`in_air`](Self::in_air) turned about.
    /// # Example
    /// ```
    /// use gauge::{DensityInAir, buoyancy::Buoyancy};
    /// let true_one = Buoyancy::CUSTOMARY.in_vacuum(DensityInAir::from_kg_m3(900.0893)?);
    /// assert!((true_one.kg_m3() - 901.1543).abs() < 1e-4);
    /// # Ok::<(), gauge::Fault>(())
    /// ```
    pub fn in_vacuum(self, density: DensityInAir) -> DensityVacuum {
        DensityVacuum(density.kg_m3() * self.weights_factor() + self.air_kg_m3)
    }

    /// Gives the specific gravity in air of a liquid against water at a stated temperature each:
    /// (ρ − a) / (ρ_water − a), in which the weights cancel.
    ///
    /// # Units
    /// kg/m³, the liquid's; the water's is in the name of the field.
    /// # Range
    /// All.
    /// # Error
    /// None of its own.
    /// # Source
    /// Definition; with air of 1.2 it reproduces the United States Pharmacopeia's table.
    /// # Example
    /// ```
    /// use gauge::{DensityVacuum, buoyancy::{Buoyancy, Water}};
    /// let water = Water { density_kg_m3: 998.2012 };
    /// let sg = Buoyancy::CUSTOMARY.specific_gravity(DensityVacuum::from_kg_m3(901.1543)?, water);
    /// assert!((sg - 0.90266).abs() < 1e-5);
    /// # Ok::<(), gauge::Fault>(())
    /// ```
    pub fn specific_gravity(self, liquid: DensityVacuum, water: Water) -> f64 {
        (liquid.kg_m3() - self.air_kg_m3) / (water.density_kg_m3 - self.air_kg_m3)
    }
}

/// The densities that make a [`Buoyancy`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Densities {
    /// Of the air, kg/m³.
    pub air_kg_m3: f64,
    /// Of the weights, kg/m³.
    pub weights_kg_m3: f64,
}

/// The water a specific gravity is taken against.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Water {
    /// Its density in vacuum at its own temperature, kg/m³.
    pub density_kg_m3: f64,
}
