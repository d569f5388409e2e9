//! A reading: one or more figures noted of a vessel, with what was expected of them at the time.

use super::{HANDS, Kind, Subject, Way, touch};
use gauge::{Fault, Field};

/// What can be read. A vessel's page picks those that it can show.
const MEASURES: &[Field] = &[
    Field::new("gravity", "").label("Gravity").within(0.95, 1.2),
    Field::new("temperature_c", "°C").label("Temperature").within(-20.0, 110.0),
    Field::new("grain_c", "°C").label("Grain temperature").within(-10.0, 60.0),
    Field::new("air_on_c", "°C").label("Air on").within(-20.0, 150.0),
    Field::new("air_off_c", "°C").label("Air off").within(-20.0, 150.0),
    Field::new("moisture_wet", "").label("Moisture, wet basis").within(0.0, 0.7),
    Field::new("strength_pct", "% vol").label("Strength at 20 °C").within(0.0, 100.0),
    Field::new("bulk_l", "L").label("Litres as they lie").within(0.0, 1e6),
    Field::new("head_c", "°C").label("Head of the still").within(-20.0, 110.0),
    Field::new("ph", "").label("pH").within(2.0, 10.0),
    Field::new("oil_kg", "kg").label("Oil used").within(0.0, 1e5),
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
    version: 1,
    writers: HANDS,
    touches: &[touch(Subject::Vessel, "vessel", Way::At)],
    after: None,
    draft: |reader, _, _| {
        let _ = reader.word("vessel");
        let given = MEASURES.iter().filter(|field| reader.optional(field).is_some()).count();
        if given == 0 {
            reader.fault(Fault::MissingPart {
                field: "vessel".into(),
                wanted: "at least one figure read off it",
            });
        }
        // By the key of the measure: what the forecast said, its standard uncertainty, and the
        // version of the constants that said so.
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
        let _ = reader.optional_word("remark");
    },
};
