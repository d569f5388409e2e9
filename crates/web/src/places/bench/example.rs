//! What stands in a form before anything is typed, so that the page shows at once what it does.
//! Figures of an ordinary day in a house of this size; invented.

/// Names and typed figures for the reckoning under `key`.
pub(super) fn of(key: &str) -> &'static [(&'static str, &'static str)] {
    match key {
        "strength" => &[("density_kg_m3", "905.0"), ("temperature_c", "15.0")],
        "density" => &[("strength_pct", "62.8"), ("temperature_c", "15.0")],
        "alcoholometer" => &[("reading_pct", "63.9"), ("temperature_c", "17.5")],
        "volume" => &[("bulk_l", "1168"), ("temperature_c", "17.5"), ("strength_pct", "69.7")],
        "weigh" => &[("net_kg", "221.4"), ("temperature_c", "15.0"), ("strength_pct", "62.8")],
        "reduce" => &[
            ("bulk_l", "1000.0"),
            ("temperature_c", "15.0"),
            ("strength_pct", "70.1"),
            ("target_pct", "62.8"),
            ("water_temperature_c", "11.5"),
        ],
        "blend" => &[
            ("volume_20_l", "1200"),
            ("strength_pct", "69.4"),
            ("volume_20_l.2", "860"),
            ("strength_pct.2", "66.1"),
        ],
        "obscuration" => &[("apparent_pct", "59.2"), ("solids_g_l", "1.8")],
        "proof" => &[("strength_pct", "62.8"), ("bulk_l", "200")],
        "wort" => &[("gravity", "1.0540")],
        "saccharometer" => &[("reading", "1.0520"), ("temperature_c", "24.0")],
        "attenuation" => &[("original_gravity", "1.0540"), ("final_gravity", "0.9985")],
        "moist-air" => &[("temperature_c", "55.0"), ("relative_humidity", "0.12")],
        "water" => &[("temperature_c", "64.0")],
        _ => &[],
    }
}
