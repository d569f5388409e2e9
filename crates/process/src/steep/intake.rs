//! Barley as it is bought: what is left after cleaning and drying, and whether it will grow.

/// A lot as weighed in, all shares 0 to 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bought {
    /// Weighed in.
    pub gross_kg: f64,
    /// Straw, stones, dust, weed seed.
    pub admixture_fraction: f64,
    /// Thin corns, of the clean grain.
    pub screenings_fraction: f64,
    /// Moisture, wet basis.
    pub moisture_wet: f64,
}

/// Gives the mass of clean, screened barley.
///
/// `m = gross (1 − admixture)(1 − screenings)`: admixture first, for screenings are weighed on
/// clean grain.
/// # Units
/// kg.
/// # Range
/// Shares 0 to 1.
/// # Error
/// Exact.
/// # Source
/// A balance.
pub fn clean_kg(bought: &Bought) -> f64 {
    bought.gross_kg * (1.0 - bought.admixture_fraction) * (1.0 - bought.screenings_fraction)
}

/// Gives the dry matter of the clean barley.
///
/// # Units
/// kg.
/// # Range
/// Moisture below 1.
/// # Error
/// Exact.
/// # Source
/// A balance.
pub fn clean_dry_kg(bought: &Bought) -> f64 {
    clean_kg(bought) * (1.0 - bought.moisture_wet)
}

/// Gives the mass of the clean barley once dried to `moisture_wet`.
///
/// `m₂ = m₁ (1 − w₁)/(1 − w₂)`
/// # Units
/// kg.
/// # Range
/// Moisture below 1.
/// # Error
/// Exact.
/// # Source
/// A balance.
pub fn dried_kg(bought: &Bought, moisture_wet: f64) -> f64 {
    clean_dry_kg(bought) / (1.0 - moisture_wet)
}
