//! Heat of a piece: what it loses above and below, and what it holds.

use super::figures::Constants;

/// Heat capacity of dry matter.
pub(super) const DRY_HEAT_J_KG_K: f64 = 1651.0;
/// Heat capacity of water.
pub(super) const WATER_HEAT_J_KG_K: f64 = 4186.0;

/// Heat that passes for each kelvin, above and below.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Passing {
    /// To the air, W/(m² K).
    pub top: f64,
    /// To the floor, W/(m² K).
    pub below: f64,
}

/// Gives how easily a piece of that depth loses heat.
///
/// `U_t = 1/(1/h + d/(3 λ))`, `U_f = 1/(R + d/(3 λ))`
/// # Units
/// m, result W/(m² K).
/// # Range
/// 0.02 to 0.6 m.
/// # Error
/// A design.
/// # Source
/// Resistances in series, a third of the depth standing for the inside.
pub fn passing(constants: &Constants, depth_m: f64) -> Passing {
    let inside = depth_m / (3.0 * constants.conduction_w_m_k);
    Passing {
        top: 1.0 / (1.0 / constants.surface_w_m2_k + inside),
        below: 1.0 / (constants.floor_m2_k_w + inside),
    }
}

/// Gives the heat capacity of green malt.
///
/// # Units
/// Moisture kg/kg dry matter, result J a kilogram of dry matter and kelvin.
/// # Range
/// 0 to 1.3 kg/kg.
/// # Error
/// A few per cent.
/// # Source
/// Bala and Woods 1984, from memory.
pub fn capacity_j_kg_k(moisture_dry: f64) -> f64 {
    DRY_HEAT_J_KG_K + WATER_HEAT_J_KG_K * moisture_dry
}

/// Gives how much warmer the middle of a piece is than its mean, between turns.
///
/// `q ρ d²/(8 λ)`
/// # Units
/// Heat W a kilogram of dry matter, m, result K.
/// # Range
/// As [`passing`].
/// # Error
/// A design.
/// # Source
/// Steady conduction in a slab that makes heat evenly.
pub fn core_excess_dk(constants: &Constants, heat_w_kg: f64, depth_m: f64) -> f64 {
    heat_w_kg * constants.dry_bulk_kg_m3 * depth_m * depth_m / (8.0 * constants.conduction_w_m_k)
}
