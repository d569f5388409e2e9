//! Moist air and water.

use super::{Found, Measure, Run, Values, found, must, one_of, output};
use crate::moist_air::{DryBulb, Moisture, air};
use crate::{Fault, Field};

pub(super) const MOIST_AIR: Measure = Measure {
    key: "moist-air",
    title: "Moist air",
    does: "Gives everything about air from its temperature and one figure of its moisture.",
    inputs: &[
        must(Field::new("temperature_c", "°C").label("Dry bulb").within(-100.0, 200.0).sd(0.2)),
        one_of(
            "moisture",
            Field::new("relative_humidity", "")
                .label("Relative humidity, 0 to 1")
                .within(0.0, 1.0)
                .sd(0.02),
        ),
        one_of(
            "moisture",
            Field::new("humidity_ratio", "kg/kg").label("Humidity ratio").within(0.0, 600.0),
        ),
        one_of(
            "moisture",
            Field::new("wet_bulb_c", "°C").label("Wet bulb").within(-100.0, 200.0).sd(0.3),
        ),
        one_of(
            "moisture",
            Field::new("dew_point_c", "°C").label("Dew point").within(-100.0, 200.0).sd(0.3),
        ),
        must(
            Field::new("pressure_pa", "Pa")
                .label("Pressure")
                .within(2e4, 2e5)
                .or(101_325.0)
                .sd(50.0),
        ),
    ],
    outputs: &[
        output("saturation_pa", "Pa", "Vapour pressure at saturation", 1),
        output("vapour_pa", "Pa", "Vapour pressure", 1),
        output("humidity_ratio", "kg/kg", "Humidity ratio", 5),
        output("saturation_humidity_ratio", "kg/kg", "Humidity ratio at saturation", 5),
        output("relative_humidity", "", "Relative humidity", 4),
        output("wet_bulb_c", "°C", "Wet bulb", 2),
        output("dew_point_c", "°C", "Dew point", 2),
        output("enthalpy_j_kg", "J/kg", "Enthalpy, of a kg dry air", 0),
        output("volume_m3_kg", "m³/kg", "Volume, of a kg dry air", 4),
        output("density_kg_m3", "kg/m³", "Density of the moist air", 4),
        output("degree_of_saturation", "", "Degree of saturation", 4),
    ],
    formula: "W = 0.621945 p/(P − p); h = 1006 T + W (2501000 + 1860 T); \
              v = 287.042 (T + 273.15)(1 + 1.607858 W)/P; \
              wet bulb by adiabatic saturation, over ice below 0 °C",
    letters: &[
        ("W", "humidity ratio, kg water per kg dry air"),
        ("p, P", "vapour pressure and pressure, Pa"),
        ("T", "dry bulb, °C"),
        ("h, v", "enthalpy J and volume m³, of a kg dry air"),
    ],
    source: "ASHRAE Handbook, Fundamentals, 2017, chapter 1, equations 5, 6, 11, 20, 26, 30, 33 \
             and 35",
    caveat: "Ideal gases: up to 0.5 % in the humidity ratio at saturation, from memory.",
    run: Run::One(moist_air),
};

fn moist_air(v: &Values) -> Result<Found, Fault> {
    let at = DryBulb { temperature_c: v.get("temperature_c"), pressure_pa: v.get("pressure_pa") };
    let moisture = if let Some(rh) = v.maybe("relative_humidity") {
        Moisture::Relative(rh)
    } else if let Some(w) = v.maybe("humidity_ratio") {
        Moisture::Ratio(w)
    } else if let Some(wet) = v.maybe("wet_bulb_c") {
        Moisture::WetBulb(wet)
    } else {
        Moisture::DewPoint(v.get("dew_point_c"))
    };
    let a = air(at, moisture)?;
    let values = [
        a.saturation_pa,
        a.vapour_pa,
        a.humidity_ratio,
        a.saturation_humidity_ratio,
        a.relative_humidity,
        a.wet_bulb_c,
        a.dew_point_c,
        a.enthalpy_j_kg,
        a.volume_m3_kg,
        a.density_kg_m3,
        a.degree_of_saturation,
    ];
    Ok(found(values, Vec::new()))
}

pub(super) const WATER: Measure = Measure {
    key: "water",
    title: "Water",
    does: "Gives the density of water, cold or hot.",
    inputs: &[must(
        Field::new("temperature_c", "°C").label("Temperature").within(0.0, 150.0).sd(0.3),
    )],
    outputs: &[output("density_kg_m3", "kg/m³", "Density", 2)],
    formula: "ρ = (999.83952 + 16.945176 t − 7.987040e-3 t² − 46.170461e-6 t³ + 105.56302e-9 t⁴ \
              − 280.54253e-12 t⁵) / (1 + 16.879850e-3 t)",
    letters: &[("t", "temperature, °C"), ("ρ", "density at 101.325 kPa, kg/m³")],
    source: "G. S. Kell, J. Chem. Eng. Data 20 (1975) 97; the last constant from memory",
    caveat: "Free of air, at 101.325 kPa; above 100 °C under its own pressure.",
    run: Run::One(|v| Ok(found([crate::water::density_kg_m3(v.get("temperature_c"))], Vec::new()))),
};
