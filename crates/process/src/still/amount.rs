//! Moles of ethanol and water, and what they are as litres at 20 °C.

use gauge::alcoholometry::isotherm::Isotherm;
use gauge::alcoholometry::kernel::{self, ETHANOL_KG_M3};

use super::equilibrium::{ETHANOL_G_MOL, WATER_G_MOL};

/// Moles of ethanol and of water.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Moles {
    /// Ethanol, mol.
    pub ethanol_mol: f64,
    /// Water, mol.
    pub water_mol: f64,
}

impl Moles {
    /// Both together, mol.
    pub fn total_mol(self) -> f64 {
        self.ethanol_mol + self.water_mol
    }
    /// Mole fraction of ethanol; not a number of nothing.
    pub fn fraction(self) -> f64 {
        self.ethanol_mol / self.total_mol()
    }
    /// Both scaled by `by`.
    #[must_use]
    pub fn times(self, by: f64) -> Self {
        Self { ethanol_mol: self.ethanol_mol * by, water_mol: self.water_mol * by }
    }
    /// Both amounts together: moles add, litres do not.
    #[must_use]
    pub fn plus(self, other: Self) -> Self {
        Self {
            ethanol_mol: self.ethanol_mol + other.ethanol_mol,
            water_mol: self.water_mol + other.water_mol,
        }
    }
    /// Ethanol, kg.
    pub fn ethanol_kg(self) -> f64 {
        1e-3 * ETHANOL_G_MOL * self.ethanol_mol
    }
    /// Water, kg.
    pub fn water_kg(self) -> f64 {
        1e-3 * WATER_G_MOL * self.water_mol
    }
    /// Litres of pure alcohol at 20 °C.
    pub fn pure_alcohol_l(self) -> f64 {
        1e3 * self.ethanol_kg() / ETHANOL_KG_M3
    }
    /// Litres at 20 °C, as one mixed liquid.
    pub fn volume_20_l(self) -> f64 {
        let (ethanol, water) = (self.ethanol_kg(), self.water_kg());
        let mass = ethanol + water;
        if mass > 0.0 { 1e3 * mass / Isotherm::TWENTY.density_kg_m3(ethanol / mass) } else { 0.0 }
    }
    /// Strength at 20 °C, % vol; not a number of nothing.
    pub fn strength_pct(self) -> f64 {
        strength_pct(self.fraction())
    }
    /// The moles in `volume_20_l` litres of `strength_pct`.
    pub fn of_spirit(spirit: Spirit) -> Self {
        let w = kernel::mass_fraction_of_strength(spirit.strength_pct);
        let kg = 1e-3 * spirit.volume_20_l * Isotherm::TWENTY.density_kg_m3(w);
        Self {
            ethanol_mol: 1e3 * kg * w / ETHANOL_G_MOL,
            water_mol: 1e3 * kg * (1.0 - w) / WATER_G_MOL,
        }
    }
}

/// Litres at 20 °C of a strength.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spirit {
    /// Litres at 20 °C.
    pub volume_20_l: f64,
    /// Strength, % vol.
    pub strength_pct: f64,
}

/// Gives the strength at 20 °C, % vol, of a mixture of ethanol mole fraction `x`.
pub fn strength_pct(x: f64) -> f64 {
    let w = x * ETHANOL_G_MOL / (x * ETHANOL_G_MOL + (1.0 - x) * WATER_G_MOL);
    kernel::strength_pct(w)
}

/// Gives the ethanol mole fraction of a mixture of `strength_pct` % vol at 20 °C.
pub fn mole_fraction(strength_pct: f64) -> f64 {
    let w = kernel::mass_fraction_of_strength(strength_pct);
    let (ethanol, water) = (w / ETHANOL_G_MOL, (1.0 - w) / WATER_G_MOL);
    ethanol / (ethanol + water)
}
