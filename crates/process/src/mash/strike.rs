//! The heat of mashing in: what the first water must have, and what the mash will then have.

use super::Constants;

/// Everything that meets in the tun but the temperature of the water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MashIn {
    /// Grist as it is.
    pub malt_kg: f64,
    /// Its moisture, wet basis, 0 to 1.
    pub moisture_wet: f64,
    /// Its temperature.
    pub malt_c: f64,
    /// First liquor, weak worts and all.
    pub liquor_kg: f64,
    /// Heat a kilogram of it takes up: 4.19 for water, 4.10 for weak worts of 1 to 3 °P.
    pub liquor_kj_kg_k: f64,
    /// Heat the tun itself takes up.
    pub tun_kj_k: f64,
    /// Temperature of the tun before.
    pub tun_c: f64,
    /// Heat lost while mashing in.
    pub loss_kj: f64,
}

impl MashIn {
    fn malt_kj_k(&self, constants: &Constants) -> f64 {
        constants.malt_kj_kg_k(self.moisture_wet) * self.malt_kg
    }
    fn liquor_kj_k(&self) -> f64 {
        self.liquor_kj_kg_k * self.liquor_kg
    }
    /// Heat brought by all but the liquor, above 0 °C: malt, its slaking, tun, less the loss.
    fn brought_kj(&self, constants: &Constants) -> f64 {
        self.malt_kj_k(constants) * self.malt_c
            + constants.slaking_kj_kg(self.moisture_wet) * self.malt_kg
            + self.tun_kj_k * self.tun_c
            - self.loss_kj
    }
}

/// Gives the temperature that the first liquor must have for the mash to come to `mash_c`.
///
/// T_s = T_m + (c_malt m (T_m − T_g) − q_s m + C_t (T_m − T_t) + Q_l) / (c_w W)
///
/// # Units
/// °C, kg, kJ.
/// # Range
/// Malt of 0 to 8 % moisture. Not checked; above 100 °C the mash cannot be had with this water.
/// # Error
/// 0.1 K from the two fits of malt heat; the tun's own heat is what a house must find.
/// # Source
/// Heat balance with the specific heat and slaking of malt in the Pauls and Whites Brewing Room
/// Book, 1984/85, turned from its thickness of 2.7 hL in 100 kg to heat in a kilogram of malt.
/// # Example
/// ```
/// use process::mash::{Constants, MashIn, strike_c};
/// let mash = MashIn {
///     malt_kg: 1000.0, moisture_wet: 0.045, malt_c: 15.0, liquor_kg: 4000.0,
///     liquor_kj_kg_k: 4.10, tun_kj_k: 1000.0, tun_c: 50.0, loss_kj: 0.0,
/// };
/// assert!((strike_c(&mash, 64.0, &Constants::default()) - 68.573).abs() < 0.001);
/// ```
pub fn strike_c(mash: &MashIn, mash_c: f64, constants: &Constants) -> f64 {
    let rest_kj_k = mash.malt_kj_k(constants) + mash.tun_kj_k;
    mash_c + (rest_kj_k * mash_c - mash.brought_kj(constants)) / mash.liquor_kj_k()
}

/// Gives the temperature of the mash when the first liquor has `strike_c`.
///
/// T_m = (c_w W T_s + c_malt m T_g + q_s m + C_t T_t − Q_l) / (c_w W + c_malt m + C_t)
///
/// # Units
/// °C, kg, kJ.
/// # Range
/// As [`strike_c`], of which it is the inverse.
/// # Error
/// As [`strike_c`].
/// # Source
/// As [`strike_c`].
/// # Example
/// ```
/// use process::mash::{Constants, MashIn, mash_c};
/// let mash = MashIn {
///     malt_kg: 1000.0, moisture_wet: 0.045, malt_c: 5.0, liquor_kg: 3500.0,
///     liquor_kj_kg_k: 4.10, tun_kj_k: 1000.0, tun_c: 20.0, loss_kj: 5000.0,
/// };
/// assert!((mash_c(&mash, 72.247, &Constants::default()) - 63.5).abs() < 0.001);
/// ```
pub fn mash_c(mash: &MashIn, strike_c: f64, constants: &Constants) -> f64 {
    let all_kj_k = mash.liquor_kj_k() + mash.malt_kj_k(constants) + mash.tun_kj_k;
    (mash.liquor_kj_k() * strike_c + mash.brought_kj(constants)) / all_kj_k
}
