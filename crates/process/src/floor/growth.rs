//! How green malt breathes, grows and softens: laws of its age, its warmth and its water.

/// Heat of a kilogram of starch burnt to carbon dioxide and water; 2803 kJ a mole of hexose.
pub const STARCH_HEAT_J_KG: f64 = 17.287e6;
/// Carbon dioxide of a kilogram of starch: C6H10O5 + 6 O2 → 6 CO2 + 5 H2O.
pub const STARCH_CARBON_DIOXIDE: f64 = 1.62857;
/// Oxygen that a kilogram of starch takes, so that starch and oxygen in are dioxide and water out.
pub const STARCH_OXYGEN: f64 = 1.18411;
/// Water of a kilogram of starch.
pub const STARCH_WATER: f64 = 0.55555;

/// Gives the pace of growth beside that at 16 °C.
///
/// `φ = 2^((T − 16)/10)/(1 + exp((T − 34)/2))`: twice for each 10 K, cut out by heat near 34 °C.
/// # Units
/// °C, result a pure number.
/// # Range
/// 0 to 60 °C.
/// # Error
/// A design: fit the rate to the house's own floors.
/// # Source
/// Design, tuned to published losses.
pub fn pace(temperature_c: f64) -> f64 {
    ((temperature_c - 16.0) / 10.0).exp2() / (1.0 + ((temperature_c - 34.0) / 2.0).exp())
}

/// Gives the share of growth that so much water allows; none near 30 %.
///
/// `m = (w − 0.30)/(0.44 − 0.30)`, between 0 and 1.1
/// # Units
/// Moisture on a wet basis, result a pure number.
/// # Range
/// 0 to 0.6.
/// # Error
/// A design.
/// # Source
/// Design.
pub fn wetness(moisture_wet: f64) -> f64 {
    ((moisture_wet - 0.30) / (0.44 - 0.30)).clamp(0.0, 1.1)
}

/// Gives the vigour of breathing at an age, 1 at its height on the third day.
///
/// `f = 0.25 + 0.75 (a/3) exp(1 − a/3)`
/// # Units
/// Age in days at 16 °C, result a pure number.
/// # Range
/// 0 to 20 days.
/// # Error
/// A design.
/// # Source
/// Design, tuned to published losses.
pub fn vigour(age_d: f64) -> f64 {
    0.25 + 0.75 * (age_d / 3.0) * (1.0 - age_d / 3.0).exp()
}

/// Gives how fast modification goes on with age: the enzymes are made in the first days.
///
/// `dX/da = k_m (1 − exp[−(a/3)²]) (1 − X)`
/// # Units
/// Age in days at 16 °C, result a day.
/// # Range
/// 0 to 20 days.
/// # Error
/// A design.
/// # Source
/// Design.
pub fn softening(rate_1_d: f64, age_d: f64, modification: f64) -> f64 {
    rate_1_d * -(-(age_d / 3.0).powi(2)).exp_m1() * (1.0 - modification)
}

/// Gives the length of the acrospire over the corn's.
///
/// `L = 0.11 (a − 0.5)`, from nought
/// # Units
/// Age in days at 16 °C, result a share of the corn.
/// # Range
/// 0 to 20 days.
/// # Error
/// Corns spread about it by some 0.15, more where the piece was uneven.
/// # Source
/// Design.
pub fn acrospire(age_d: f64) -> f64 {
    (0.11 * (age_d - 0.5)).max(0.0)
}

/// Gives the share of corns whose acrospire has outgrown them.
///
/// A normal spread about the mean length; the tail by Abramowitz and Stegun's 7.1.26.
/// # Units
/// Lengths over the corn's, result 0 to 1.
/// # Range
/// A spread above nought.
/// # Error
/// 2e-7 of the integral; the spread is a design.
/// # Source
/// M. Abramowitz and I. A. Stegun, *Handbook of Mathematical Functions* (1964), 7.1.26.
pub fn overgrown(length: f64, spread: f64) -> f64 {
    let z = (1.0 - length) / (spread * std::f64::consts::SQRT_2);
    let t = 1.0 / (1.0 + 0.3275911 * z.abs());
    let series = t
        * (0.254829592
            + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))));
    let tail = 0.5 * series * (-z * z).exp();
    if z >= 0.0 { tail } else { 1.0 - tail }
}
