//! Bare figures for hot loops. Units are in the names; nothing is checked but what is said.

use super::DryBulb;

/// Water over dry air, ratio of molar masses.
pub const MASS_RATIO: f64 = 0.621945;
/// Temperature of the triple point of water, °C: where the two saturation formulas meet. Changing
/// over at 0 °C instead leaves a step on which the dew point never settles.
pub const TRIPLE_POINT_C: f64 = 0.01;

/// Gives the vapour pressure at saturation, over water above the triple point and over ice below.
///
/// # Units
/// °C to Pa.
/// # Range
/// −100 to 200 °C; not checked.
/// # Error
/// 3e-4 relative, as stated by the source.
/// # Source
/// ASHRAE Handbook, Fundamentals, 2017, chapter 1, equations 5 and 6.
/// # Example
/// ```
/// assert!((gauge::moist_air::kernel::saturation_pa(20.0) - 2338.8037).abs() < 1e-3);
/// ```
#[inline]
pub fn saturation_pa(temperature_c: f64) -> f64 {
    ln_saturation(temperature_c).exp()
}

fn ln_saturation(temperature_c: f64) -> f64 {
    let k = temperature_c + 273.15;
    if temperature_c > TRIPLE_POINT_C {
        -5.8002206e3 / k + 1.3914993 - 4.8640239e-2 * k + 4.1764768e-5 * k * k
            - 1.4452093e-8 * k * k * k
            + 6.5459673 * k.ln()
    } else {
        -5.6745359e3 / k + 6.3925247 - 9.677843e-3 * k
            + 6.2215701e-7 * k * k
            + 2.0747825e-9 * k * k * k
            - 9.484024e-13 * k * k * k * k
            + 4.1635019 * k.ln()
    }
}

fn slope_of_ln_saturation(temperature_c: f64) -> f64 {
    let k = temperature_c + 273.15;
    if temperature_c > TRIPLE_POINT_C {
        5.8002206e3 / (k * k) - 4.8640239e-2 + 2.0 * 4.1764768e-5 * k - 3.0 * 1.4452093e-8 * k * k
            + 6.5459673 / k
    } else {
        5.6745359e3 / (k * k) - 9.677843e-3 + 2.0 * 6.2215701e-7 * k + 3.0 * 2.0747825e-9 * k * k
            - 4.0 * 9.484024e-13 * k * k * k
            + 4.1635019 / k
    }
}

/// Gives the humidity ratio of air with this vapour pressure.
///
/// # Units
/// Pa and Pa to kg/kg dry air.
/// # Range
/// A vapour pressure below the pressure; not checked.
/// # Error
/// None of its own.
/// # Source
/// ASHRAE Handbook, Fundamentals, 2017, chapter 1, equation 20.
/// # Example
/// ```
/// let w = gauge::moist_air::kernel::humidity_ratio(1403.28222, 101_325.0);
/// assert!((w - 0.00873448115).abs() < 1e-9);
/// ```
#[inline]
pub fn humidity_ratio(vapour_pa: f64, pressure_pa: f64) -> f64 {
    MASS_RATIO * vapour_pa / (pressure_pa - vapour_pa)
}

/// Gives the vapour pressure of air with this humidity ratio.
///
/// # Units
/// kg/kg dry air and Pa to Pa.
/// # Range
/// Humidity ratios of nought and more.
/// # Error
/// None of its own.
/// # Source
/// ASHRAE Handbook, Fundamentals, 2017, chapter 1, equation 20 turned about.
/// # Example
/// ```
/// let p = gauge::moist_air::kernel::vapour_pa(0.00873448115, 101_325.0);
/// assert!((p - 1403.28222).abs() < 1e-4);
/// ```
#[inline]
pub fn vapour_pa(humidity_ratio: f64, pressure_pa: f64) -> f64 {
    pressure_pa * humidity_ratio / (MASS_RATIO + humidity_ratio)
}

/// Gives the humidity ratio of saturated air; without bound where it boils.
///
/// # Units
/// °C and Pa to kg/kg dry air.
/// # Range
/// −100 to 200 °C; infinite where the saturation pressure reaches the pressure.
/// # Error
/// As [`saturation_pa`].
/// # Source
/// ASHRAE Handbook, Fundamentals, 2017, chapter 1, equation 21.
/// # Example
/// ```
/// let w = gauge::moist_air::kernel::saturation_humidity_ratio(20.0, 101_325.0);
/// assert!((w - 0.0146950516).abs() < 1e-9);
/// ```
#[inline]
pub fn saturation_humidity_ratio(temperature_c: f64, pressure_pa: f64) -> f64 {
    let saturation = saturation_pa(temperature_c);
    if saturation < pressure_pa { humidity_ratio(saturation, pressure_pa) } else { f64::INFINITY }
}

/// Gives the enthalpy of moist air, h = 1006 T + W (2501000 + 1860 T).
///
/// # Units
/// °C and kg/kg dry air to J/kg dry air, nought for dry air and liquid water at 0 °C.
/// # Range
/// −100 to 200 °C; not checked.
/// # Error
/// None against the source.
/// # Source
/// ASHRAE Handbook, Fundamentals, 2017, chapter 1, equation 30.
/// # Example
/// ```
/// let h = gauge::moist_air::kernel::enthalpy_j_kg(20.0, 0.00873448115);
/// assert!((h - 42289.860).abs() < 1e-2);
/// ```
#[inline]
pub fn enthalpy_j_kg(temperature_c: f64, humidity_ratio: f64) -> f64 {
    1006.0 * temperature_c + humidity_ratio * (2_501_000.0 + 1860.0 * temperature_c)
}

/// Gives the temperature of moist air with this enthalpy.
///
/// # Units
/// J/kg dry air and kg/kg dry air to °C.
/// # Range
/// Clear air: a fog holds more water than its vapour. Not checked.
/// # Error
/// None against the source.
/// # Source
/// ASHRAE Handbook, Fundamentals, 2017, chapter 1, equation 30 turned about.
/// # Example
/// ```
/// let t = gauge::moist_air::kernel::temperature_c(64_930.82, 0.01035);
/// assert!((t - 38.0838).abs() < 1e-4);
/// ```
#[inline]
pub fn temperature_c(enthalpy_j_kg: f64, humidity_ratio: f64) -> f64 {
    (enthalpy_j_kg - 2_501_000.0 * humidity_ratio) / (1006.0 + 1860.0 * humidity_ratio)
}

/// Gives the volume of moist air that holds a kilogram of dry air.
///
/// # Units
/// °C, kg/kg dry air and Pa to m³/kg dry air.
/// # Range
/// Not checked.
/// # Error
/// None against the source.
/// # Source
/// ASHRAE Handbook, Fundamentals, 2017, chapter 1, equation 26.
/// # Example
/// ```
/// let v = gauge::moist_air::kernel::volume_m3_kg(20.0, 0.00873448115, 101_325.0);
/// assert!((v - 0.842122847).abs() < 1e-8);
/// ```
#[inline]
pub fn volume_m3_kg(temperature_c: f64, humidity_ratio: f64, pressure_pa: f64) -> f64 {
    287.042 * (temperature_c + 273.15) * (1.0 + 1.607858 * humidity_ratio) / pressure_pa
}

/// Gives the temperature at which air with this vapour pressure is saturated.
///
/// Newton's method in the logarithm, kept between −100 and 200 °C.
///
/// # Units
/// Pa to °C.
/// # Range
/// Vapour pressures at saturation from −100 to 200 °C; `NaN` below, 200 above.
/// # Error
/// 1e-9 K.
/// # Source
/// ASHRAE Handbook, Fundamentals, 2017, chapter 1, equations 5 and 6 solved for the temperature.
/// # Example
/// ```
/// let dew = gauge::moist_air::kernel::dew_point_c(1403.28222);
/// assert!((dew - 12.0075).abs() < 2e-3);
/// ```
pub fn dew_point_c(vapour_pa: f64) -> f64 {
    if vapour_pa.is_nan() || vapour_pa < saturation_pa(-100.0) {
        return f64::NAN;
    }
    let wanted = vapour_pa.ln();
    let (mut low, mut high) = (-100.0_f64, 200.0_f64);
    // Magnus' form turned about, good to a degree or two: only a start.
    let x = (vapour_pa / 611.2).ln();
    let mut t = (243.5 * x / (17.67 - x)).clamp(-99.0, 199.0);
    for _ in 0..60 {
        let miss = ln_saturation(t) - wanted;
        if miss > 0.0 {
            high = t;
        } else {
            low = t;
        }
        let mut next = t - miss / slope_of_ln_saturation(t);
        if !(next >= low && next <= high) {
            next = 0.5 * (low + high);
        }
        let step = next - t;
        t = next;
        if step.abs() < 1e-10 {
            break;
        }
    }
    t
}

/// Gives the humidity ratio of air at `air` whose thermodynamic wet bulb is `wet_bulb_c`.
///
/// W = [(2501 − 2.326 T*) W_s(T*) − 1.006 (T − T*)] / (2501 + 1.86 T − 4.186 T*) over water, and
/// with 2830, 0.24 and 2.1 over ice, below 0 °C.
///
/// # Units
/// °C to kg/kg dry air.
/// # Range
/// Below nought where no air is so dry, `NaN` where the wet bulb boils.
/// # Error
/// None against the source.
/// # Source
/// ASHRAE Handbook, Fundamentals, 2017, chapter 1, equations 33 and 35.
/// # Example
/// ```
/// use gauge::moist_air::{DryBulb, kernel::humidity_ratio_of_wet_bulb};
/// let at = DryBulb { temperature_c: 60.0, pressure_pa: 101_325.0 };
/// assert!((humidity_ratio_of_wet_bulb(26.5030, at) - 0.008).abs() < 1e-6);
/// ```
#[inline]
pub fn humidity_ratio_of_wet_bulb(wet_bulb_c: f64, air: DryBulb) -> f64 {
    let (t, wet) = (air.temperature_c, wet_bulb_c);
    let w_s = saturation_humidity_ratio(wet, air.pressure_pa);
    if w_s.is_infinite() {
        return f64::NAN;
    }
    if wet >= 0.0 {
        ((2501.0 - 2.326 * wet) * w_s - 1.006 * (t - wet)) / (2501.0 + 1.86 * t - 4.186 * wet)
    } else {
        ((2830.0 - 0.24 * wet) * w_s - 1.006 * (t - wet)) / (2830.0 + 1.86 * t - 2.1 * wet)
    }
}

/// Gives the thermodynamic wet bulb of air, by halving between dew point and dry bulb.
///
/// # Units
/// °C, kg/kg dry air and Pa to °C.
/// # Range
/// Air that is not over-saturated.
/// # Error
/// 1e-9 K. At 0 °C the source's two formulas do not meet: a band of humidity ratios has 0 °C.
/// # Source
/// ASHRAE Handbook, Fundamentals, 2017, chapter 1, equations 33 and 35 solved for T*.
/// # Example
/// ```
/// let wet = gauge::moist_air::kernel::wet_bulb_c(60.0, 0.008, 101_325.0);
/// assert!((wet - 26.5030).abs() < 2e-3);
/// ```
pub fn wet_bulb_c(temperature_c: f64, humidity_ratio: f64, pressure_pa: f64) -> f64 {
    let at = DryBulb { temperature_c, pressure_pa };
    let dew = dew_point_c(vapour_pa(humidity_ratio, pressure_pa));
    let mut low = if dew.is_nan() { -100.0 } else { dew.min(temperature_c) };
    let mut high = temperature_c;
    for _ in 0..60 {
        if high - low < 1e-10 {
            break;
        }
        let middle = 0.5 * (low + high);
        // Where the wet bulb would boil the answer is a NaN, and the true one lies below.
        if humidity_ratio_of_wet_bulb(middle, at) <= humidity_ratio {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// Gives the pressure of the air at a height above the sea.
///
/// # Units
/// m to Pa.
/// # Range
/// −5000 to 11 000 m; not checked. A barometer is better.
/// # Error
/// The weather: some 3 %.
/// # Source
/// ASHRAE Handbook, Fundamentals, 2017, chapter 1, equation 3.
/// # Example
/// ```
/// assert!((gauge::moist_air::kernel::pressure_at_height_pa(100.0) - 100_129.433).abs() < 0.1);
/// ```
#[inline]
pub fn pressure_at_height_pa(height_m: f64) -> f64 {
    101_325.0 * (1.0 - 2.25577e-5 * height_m).powf(5.2559)
}
