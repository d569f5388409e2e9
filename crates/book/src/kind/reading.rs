//! A reading: one or more figures noted of a vessel, with what was expected of them at the time.

use super::{HANDS, Kind, Legs, Subject, Way, touch};
use gauge::{Fault, Field, Reader, fault::Side};

/// What can be read. A vessel's page picks those that it can show.
const MEASURES: &[Field] = &[
    Field::new("gravity", "").label("Gravity").within(0.95, 1.2),
    Field::new("temperature_c", "°C").label("Temperature").within(-20.0, 110.0),
    Field::new("grain_c", "°C").label("Grain temperature").within(-10.0, 60.0),
    Field::new("air_on_c", "°C").label("Air on").within(-20.0, 150.0),
    Field::new("air_off_c", "°C").label("Air off").within(-20.0, 150.0),
    Field::new("moisture_wet", "").label("Moisture, wet basis").within(0.0, 0.7),
    Field::new("strength_pct", "% vol").label("Strength at 20 °C").within(0.0, 100.0),
    Field::new("reading_pct", "% vol").label("Hydrometer as it reads").within(0.0, 100.0),
    Field::new("flow_l_min", "L/min").label("Flow at the safe").within(0.0, 1000.0),
    Field::new("water_off_c", "°C").label("Cooling water off").within(-5.0, 110.0),
    Field::new("bulk_l", "L").label("Litres as they lie").within(0.0, 1e6),
    Field::new("head_c", "°C").label("Head of the still").within(-20.0, 110.0),
    Field::new("ph", "").label("pH").within(2.0, 10.0),
    Field::new("oil_kg", "kg").label("Oil used").within(0.0, 1e5),
    Field::new("peat_kg", "kg").label("Peat burnt since lighting").within(0.0, 1e5),
    Field::new("bed_c", "°C").label("Temperature in the bed").within(-10.0, 120.0),
    Field::new("acrospire", "").label("Acrospire, share of the corn").within(0.0, 1.5),
];

/// The figures that a reading may hold.
pub fn measures() -> &'static [Field] {
    MEASURES
}

const EXPECTED: Field = Field::new("expected", "").label("Expected").within(-1e6, 1e6);

/// Figures read off a vessel.
pub(super) const READING: Kind = Kind {
    key: "reading",
    title: "Reading",
    does: "Figures read off a vessel, with what was expected when they were noted",
    version: 3,
    writers: HANDS,
    touches: &[touch(Subject::Vessel, "vessel", Way::At)],
    after: None,
    draft: |reader, _, legs| {
        let _ = reader.word("vessel");
        let read: Vec<(&str, f64)> = MEASURES
            .iter()
            .filter_map(|field| Some((field.key, reader.optional(field)?)))
            .collect();
        at_20(reader, legs, &read);
        if read.is_empty() {
            reader.fault(Fault::MissingPart {
                field: "vessel".into(),
                wanted: "at least one figure read off it",
            });
        }
        expected(reader);
        let _ = reader.optional_word("remark");
    },
};

/// By the key of the measure: what the forecast said, its standard uncertainty, and the version of
/// the constants that said so.
pub(super) fn expected(reader: &mut Reader<'_>) {
    let expected = reader.named("expected", &EXPECTED);
    let doubt = reader.named("expected_sd", &EXPECTED);
    for (key, _) in expected.iter().chain(&doubt) {
        if !MEASURES.iter().any(|m| m.key == key) {
            let known = MEASURES.iter().map(|m| m.key);
            reader.fault(Fault::Unknown {
                field: format!("expected.{key}").into(),
                near: gauge::tree::nearest(key, known).map(str::to_owned),
            });
        }
    }
    let _ = reader.optional_word("constants_version");
}

/// Two strengths that differ by more are two readings: half of a tenth by rounding, and what
/// printed tables of hydrometer readings differ from the formula by (0.18 at most, see
/// `gauge::glass`).
const AGREES_PCT: f64 = 0.2;

/// The strength at 20 °C of a hydrometer read at a temperature, kept beside what was read.
fn at_20(reader: &mut Reader<'_>, legs: &mut Legs, read: &[(&str, f64)]) {
    let of = |key: &str| read.iter().find(|(k, _)| *k == key).map(|(_, value)| *value);
    let (Some(shown), Some(temperature_c)) = (of("reading_pct"), of("temperature_c")) else {
        return;
    };
    let reckoned = match crate::measure::hydrometer_pct(shown, temperature_c) {
        Ok(strength_pct) => strength_pct,
        Err(fault) => return reader.fault(fault),
    };
    match of("strength_pct") {
        // What a person wrote is not written over.
        Some(noted) if (noted - reckoned).abs() <= AGREES_PCT => {}
        Some(noted) => reader.fault(Fault::Beyond {
            field: "strength_pct".into(),
            value: noted,
            unit: "% vol",
            side: if noted > reckoned { Side::AtMost } else { Side::AtLeast },
            limit: (reckoned * 100.0).round() / 100.0,
            sets: format!("what reading_pct {shown} at temperature_c {temperature_c} gives").into(),
        }),
        None => legs.keep("strength_pct", reckoned),
    }
}
