//! Moist air: floors, kiln, bins, warehouse.
//!
//! Air is carried as dry air with so much water in it (the humidity ratio, kg water per kg dry
//! air), because the dry air is what passes through a bed unchanged. From any one of relative
//! humidity, humidity ratio, wet bulb or dew point all the others follow. Ideal gases; the pressure
//! is near atmospheric. [`kernel`] holds the same in bare figures.

pub mod kernel;
#[cfg(test)]
mod tests;

use crate::Fault;

/// What is known of the moisture in air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Moisture {
    /// Relative humidity, 0 to 1.
    Relative(f64),
    /// kg water per kg dry air.
    Ratio(f64),
    /// Wet bulb temperature, °C.
    WetBulb(f64),
    /// Dew point, °C.
    DewPoint(f64),
}

/// Air with everything about it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    /// Dry bulb, °C.
    pub temperature_c: f64,
    /// Pressure, Pa.
    pub pressure_pa: f64,
    /// Vapour pressure at saturation, Pa.
    pub saturation_pa: f64,
    /// Vapour pressure, Pa.
    pub vapour_pa: f64,
    /// kg water per kg dry air.
    pub humidity_ratio: f64,
    /// The same at saturation; not a number where the vapour pressure at saturation reaches the
    /// pressure, for there is no limit to what such air can hold.
    pub saturation_humidity_ratio: f64,
    /// Vapour pressure over that at saturation, 0 to 1.
    pub relative_humidity: f64,
    /// Wet bulb, °C.
    pub wet_bulb_c: f64,
    /// Dew point, °C; not a number for air with no water in it.
    pub dew_point_c: f64,
    /// J per kg dry air, nought for dry air and liquid water at 0 °C.
    pub enthalpy_j_kg: f64,
    /// m³ per kg dry air.
    pub volume_m3_kg: f64,
    /// kg of moist air per m³.
    pub density_kg_m3: f64,
    /// Humidity ratio over that at saturation. It is not the relative humidity.
    pub degree_of_saturation: f64,
}

/// Dry bulb temperature and pressure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DryBulb {
    /// °C.
    pub temperature_c: f64,
    /// Pa.
    pub pressure_pa: f64,
}

/// Gives everything about air from its temperature, its pressure and one figure of its moisture.
///
/// # Units
/// °C, Pa, and as [`Moisture`] says.
/// # Range
/// −100 to 200 °C and 20 to 200 kPa; a moisture that such air can hold. Outside it
/// `Fault::OutOfRange` or, for a wet bulb or dew point above the dry bulb, `Fault::Beyond`.
/// # Error
/// 1e-9 in the figures, 1e-6 K in wet bulb and dew point; the ideal gas leaves 0.5 % in the
/// saturation humidity ratio (from memory).
/// # Source
/// ASHRAE Handbook, Fundamentals, 2017, chapter 1, equations 3 to 36.
/// # Example
/// ```
/// use gauge::moist_air::{DryBulb, Moisture, air};
/// let at = DryBulb { temperature_c: 20.0, pressure_pa: 101_325.0 };
/// let a = air(at, Moisture::Relative(0.6))?;
/// assert!((a.humidity_ratio - 0.008_734_481_15).abs() < 1e-8);
/// assert!((a.wet_bulb_c - 15.1437).abs() < 2e-3);
/// # Ok::<(), gauge::Fault>(())
/// ```
pub fn air(at: DryBulb, moisture: Moisture) -> Result<Air, Fault> {
    let t = Fault::check("temperature_c", at.temperature_c, "°C", -100.0..=200.0)?;
    let pressure = Fault::check("pressure_pa", at.pressure_pa, "Pa", 2e4..=2e5)?;
    let saturation = kernel::saturation_pa(t);
    let vapour = vapour_pa(at, moisture)?;
    let most = saturation.min(0.999 * pressure);
    if vapour > saturation * (1.0 + 1e-9) || vapour > 0.999 * pressure {
        let high = match moisture {
            Moisture::Relative(_) => most / saturation,
            _ => kernel::humidity_ratio(most, pressure),
        };
        let (field, value) = match moisture {
            Moisture::Relative(rh) => ("relative_humidity", rh),
            _ => ("humidity_ratio", kernel::humidity_ratio(vapour, pressure)),
        };
        return Err(Fault::OutOfRange { field: field.into(), value, unit: "", low: 0.0, high });
    }
    let w = kernel::humidity_ratio(vapour, pressure);
    let w_s =
        if saturation < pressure { kernel::humidity_ratio(saturation, pressure) } else { f64::NAN };
    let volume = kernel::volume_m3_kg(t, w, pressure);
    let dew = kernel::dew_point_c(vapour);
    Ok(Air {
        temperature_c: t,
        pressure_pa: pressure,
        saturation_pa: saturation,
        vapour_pa: vapour,
        humidity_ratio: w,
        saturation_humidity_ratio: w_s,
        relative_humidity: vapour / saturation,
        wet_bulb_c: kernel::wet_bulb_c(t, w, pressure),
        // Not `min`, which would turn the dew point of bone-dry air into the dry bulb.
        dew_point_c: if dew > t { t } else { dew },
        enthalpy_j_kg: kernel::enthalpy_j_kg(t, w),
        volume_m3_kg: volume,
        density_kg_m3: (1.0 + w) / volume,
        degree_of_saturation: w / w_s,
    })
}

/// The vapour pressure that `moisture` means, checked as far as its own range goes.
fn vapour_pa(at: DryBulb, moisture: Moisture) -> Result<f64, Fault> {
    let not_above = |field: &'static str, value: f64| {
        Fault::check(field, value, "°C", -100.0..=200.0)?;
        if value > at.temperature_c {
            return Err(Fault::Beyond {
                field: field.into(),
                value,
                unit: "°C",
                side: crate::fault::Side::AtMost,
                limit: at.temperature_c,
                sets: "the dry bulb".into(),
            });
        }
        Ok(value)
    };
    match moisture {
        Moisture::Relative(rh) => {
            let rh = Fault::check("relative_humidity", rh, "", 0.0..=1.0)?;
            Ok(rh * kernel::saturation_pa(at.temperature_c))
        }
        Moisture::Ratio(w) => {
            let w = Fault::check("humidity_ratio", w, "", 0.0..=600.0)?;
            Ok(kernel::vapour_pa(w, at.pressure_pa))
        }
        Moisture::DewPoint(dew) => Ok(kernel::saturation_pa(not_above("dew_point_c", dew)?)),
        Moisture::WetBulb(wet) => {
            let wet = not_above("wet_bulb_c", wet)?;
            let w = kernel::humidity_ratio_of_wet_bulb(wet, at);
            let lowest = kernel::wet_bulb_c(at.temperature_c, 0.0, at.pressure_pa);
            if w.is_nan() || w < -1e-9 {
                return Err(Fault::Beyond {
                    field: "wet_bulb_c".into(),
                    value: wet,
                    unit: "°C",
                    side: crate::fault::Side::AtLeast,
                    limit: lowest,
                    sets: "the wet bulb of bone-dry air".into(),
                });
            }
            Ok(kernel::vapour_pa(w.max(0.0), at.pressure_pa))
        }
    }
}

/// A stream of air: its dry-air mass (or mass flow), temperature and humidity ratio.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stream {
    /// kg of dry air, or kg a second; any unit, the same for both streams.
    pub dry_air_kg: f64,
    /// °C.
    pub temperature_c: f64,
    /// kg water per kg dry air.
    pub humidity_ratio: f64,
}

/// Gives two streams of air mixed without heat from outside; a fog where the mixture cannot hold
/// its water as vapour.
///
/// # Units
/// As [`Stream`]; pressure in Pa.
/// # Range
/// Not checked; masses must be above nought.
/// # Error
/// 1e-9 K.
/// # Source
/// ASHRAE Handbook, Fundamentals, 2017, chapter 1: water and enthalpy by dry-air mass. For a fog
/// h = h_s(T) + (W − W_s(T)) 4186 T is solved for T.
/// # Example
/// ```
/// use gauge::moist_air::{Stream, mix};
/// let kiln = Stream { dry_air_kg: 0.7, temperature_c: 50.0, humidity_ratio: 0.012 };
/// let fresh = Stream { dry_air_kg: 0.3, temperature_c: 10.0, humidity_ratio: 0.0065 };
/// let mixed = mix(&[kiln, fresh], 101_325.0);
/// assert!((mixed.temperature_c - 38.0838).abs() < 1e-4);
/// ```
pub fn mix(streams: &[Stream], pressure_pa: f64) -> Stream {
    let dry: f64 = streams.iter().map(|s| s.dry_air_kg).sum();
    let mean = |of: &dyn Fn(&Stream) -> f64| {
        streams.iter().map(|s| s.dry_air_kg * of(s)).sum::<f64>() / dry
    };
    let w = mean(&|s| s.humidity_ratio);
    let h = mean(&|s| kernel::enthalpy_j_kg(s.temperature_c, s.humidity_ratio));
    let mut t = kernel::temperature_c(h, w);
    if w > kernel::saturation_humidity_ratio(t, pressure_pa) {
        // The fog gives back its heat, so it is warmer than the clear mixture would be.
        let (mut low, mut high) = (t, t + 60.0);
        for _ in 0..60 {
            t = 0.5 * (low + high);
            let w_s = kernel::saturation_humidity_ratio(t, pressure_pa).min(w);
            if kernel::enthalpy_j_kg(t, w_s) + (w - w_s) * 4186.0 * t < h {
                low = t;
            } else {
                high = t;
            }
        }
    }
    Stream { dry_air_kg: dry, temperature_c: t, humidity_ratio: w }
}
