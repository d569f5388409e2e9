//! Yields as they are published, to lay beside a forecast.

/// The chain from malt to spirit as one product: every step a share, nothing reckoned by physics.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Product {
    /// Extract of the malt as it is, %.
    pub extract_pct: f64,
    /// Share of it that mill and mash recover.
    pub mash: f64,
    /// Share of that which reaches the washback.
    pub worts: f64,
    /// Share that ferments.
    pub fermentability: f64,
    /// Ethanol of a kilogram of extract fermented.
    pub ethanol_kg_kg: f64,
    /// Shares lost, each of what is left: bacteria, gas, residues, pot ale, lees, vents.
    pub lost: [f64; 6],
}

impl Default for Product {
    /// A well run house, from memory of the trade; the ethanol by Balling's sum.
    fn default() -> Self {
        Self {
            extract_pct: 77.0,
            mash: 0.985,
            worts: 0.998,
            fermentability: 0.872,
            ethanol_kg_kg: 0.4839,
            lost: [0.0, 0.005, 0.001, 0.010, 0.0025, 0.003],
        }
    }
}

/// Gives litres of pure alcohol a tonne of malt as it is by the product of all shares.
///
/// `10 E η_m η_w F y (1 − l_1) … (1 − l_6) / 0.78924`
/// # Units
/// Shares 0 to 1, extract %, result L/t.
/// # Range
/// Any shares.
/// # Error
/// That of the shares.
/// # Source
/// A product of balances; ethanol by C. J. N. Balling's 2.0665 kg of extract.
/// # Example
/// ```
/// use forecast::yields::{Product, product_l_t};
/// assert!((product_l_t(&Product::default()) - 396.06).abs() < 0.05);
/// ```
pub fn product_l_t(p: &Product) -> f64 {
    let kept: f64 = p.lost.iter().map(|lost| 1.0 - lost).product();
    let formed_kg = 10.0 * p.extract_pct * p.mash * p.worts * p.fermentability * p.ethanol_kg_kg;
    1000.0 * formed_kg * kept / gauge::alcoholometry::kernel::ETHANOL_KG_M3
}
