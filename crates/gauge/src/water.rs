//! Water: reducing water, liquor and hot liquor.

/// Gives the density of water free of air at 101.325 kPa.
///
/// ρ = (999.83952 + 16.945176 t − 7.987040e-3 t² − 46.170461e-6 t³ + 105.56302e-9 t⁴
/// − 280.54253e-12 t⁵) / (1 + 16.879850e-3 t)
///
/// A public copy prints the last constant with two digits changed about (16.89785e-3); it gives
/// 997.94 at 20 °C and is wrong.
///
/// # Units
/// °C to kg/m³.
/// # Range
/// 0 to 150 °C; `NaN` outside. Above 100 °C under its own pressure.
/// # Error
/// 0.01 kg/m³ up to 100 °C against tabled values.
/// # Source
/// G. S. Kell, J. Chem. Eng. Data 20 (1975) 97, in the constants read from a public documentation;
/// the constant of the denominator from memory, checked by 999.972 at 4 °C.
/// # Example
/// ```
/// assert!((gauge::water::density_kg_m3(60.0) - 983.199).abs() < 1e-3);
/// ```
#[inline]
pub fn density_kg_m3(temperature_c: f64) -> f64 {
    if !(0.0..=150.0).contains(&temperature_c) {
        return f64::NAN;
    }
    let t = temperature_c;
    let above = 999.83952
        + t * (16.945176
            + t * (-7.987040e-3 + t * (-46.170461e-6 + t * (105.56302e-9 - t * 280.54253e-12))));
    above / (1.0 + 16.879850e-3 * t)
}
