//! Bare figures for hot loops.

/// Density of water at 20 °C as gravities 20/20 use it, kg/m³.
pub const WATER_20_KG_M3: f64 = 998.20;

/// Gives the degrees Plato of a gravity: P = ((135.997 S − 630.272) S + 1111.14) S − 616.868.
///
/// At S = 1 the cubic leaves −0.003; what is within 0.005 of nought is nought.
///
/// # Units
/// 20/20 to °P.
/// # Range
/// 0.98 to 1.13 is what it was made for and carried on to; not checked.
/// # Error
/// 0.002 °P up to 1.11.
/// # Source
/// Cubic of the American Society of Brewing Chemists, as printed in an encyclopaedic article on
/// degrees Brix.
/// # Example
/// ```
/// assert!((gauge::wort::kernel::plato_of_gravity(1.08) - 19.3310).abs() < 1e-4);
/// ```
#[inline]
pub fn plato_of_gravity(gravity: f64) -> f64 {
    let plato = cubic(gravity);
    if plato.abs() < 0.005 { 0.0 } else { plato }
}

fn cubic(s: f64) -> f64 {
    ((135.997 * s - 630.272) * s + 1111.14) * s - 616.868
}

/// Gives the gravity of so many degrees Plato, by Newton's method on the cubic.
///
/// # Units
/// °P to 20/20.
/// # Range
/// −6 to 30.2 °P; not checked.
/// # Error
/// Solved to 1e-14.
/// # Source
/// As [`plato_of_gravity`]; the start is from memory.
/// # Example
/// ```
/// assert!((gauge::wort::kernel::gravity_of_plato(12.0) - 1.04837).abs() < 1e-5);
/// ```
#[inline]
pub fn gravity_of_plato(plato: f64) -> f64 {
    let mut s = 1.0 + plato / (258.6 - 0.88 * plato);
    for _ in 0..6 {
        let slope = (3.0 * 135.997 * s - 2.0 * 630.272) * s + 1111.14;
        let step = (cubic(s) - plato) / slope;
        s -= step;
        if step.abs() < 1e-14 {
            break;
        }
    }
    s
}

/// Gives the density at 20 °C of worts of this gravity.
///
/// # Units
/// 20/20 to kg/m³.
/// # Range
/// Not checked.
/// # Error
/// 0.06 kg/m³ at 1.05.
/// # Source
/// ρ = S · 998.20 kg/m³.
/// # Example
/// ```
/// assert!((gauge::wort::kernel::density_kg_m3(1.05) - 1048.11).abs() < 1e-9);
/// ```
#[inline]
pub fn density_kg_m3(gravity: f64) -> f64 {
    gravity * WATER_20_KG_M3
}

/// Gives the extract in a cubic metre of worts at 20 °C.
///
/// # Units
/// 20/20 to kg/m³.
/// # Range
/// Not checked.
/// # Error
/// 2e-4 relative.
/// # Source
/// c = P/100 · ρ; 12 °P hold 125.58 kg/m³, printed 32.45 lb in a US barrel.
/// # Example
/// ```
/// use gauge::wort::kernel::{extract_kg_m3, gravity_of_plato};
/// assert!((extract_kg_m3(gravity_of_plato(12.0)) - 125.58).abs() < 0.01);
/// ```
#[inline]
pub fn extract_kg_m3(gravity: f64) -> f64 {
    plato_of_gravity(gravity) / 100.0 * density_kg_m3(gravity)
}

/// What a hand means by a gravity typed as 1052, 52 or 1.052 (or -1.5 and 0.9985 of wash): the
/// gravity 20/20 of it. None where it is none of these.
///
/// # Units
/// A ratio 20/20, degrees of a thousand, or degrees over a thousand; to a ratio.
/// # Range
/// 0.9 to 1.2, 900 to 1200, and -30 to 200; 1 is the ratio of water, not one degree.
/// # Source
/// The ways in which hands write a gravity; the ranges are of our own choosing.
pub fn gravity_as_typed(typed: f64) -> Option<f64> {
    if (0.9..=1.2).contains(&typed) {
        Some(typed)
    } else if (900.0..=1200.0).contains(&typed) {
        Some(typed / 1000.0)
    } else if (-30.0..=200.0).contains(&typed) {
        Some(1.0 + typed / 1000.0)
    } else {
        None
    }
}
