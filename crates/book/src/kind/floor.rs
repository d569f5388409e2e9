//! Between casting and stripping: the waters of a steep, a piece turned, thinned or thickened, and
//! what the kiln is set to for it.

use super::fields::{PHENOLS, PIECE, name, whole};
use super::{After, HANDS, Kind, Legs, Scene, Subject, Way, reading, touch};
use gauge::{Field, Reader};

const GRAIN_C: Field = Field::new("grain_c", "°C").label("Grain temperature").within(0.0, 60.0);
pub(super) const WATER_C: Field =
    Field::new("water_c", "°C").label("Temperature of the water").within(0.0, 40.0);

/// The vessel in which the piece was last put, where none is told.
fn vessel(reader: &mut Reader<'_>, scene: &Scene<'_>, legs: &mut Legs, put_by: &[&'static str]) {
    let piece = name(whole(reader, &PIECE));
    let vessel = reader
        .optional_word("vessel")
        .or_else(|| scene.word((Subject::Piece, &piece), put_by, "vessel"));
    legs.keep_some("vessel", vessel);
}

/// Upon a piece in its vessel.
const TOUCHED: &[super::Touch] =
    &[touch(Subject::Vessel, "vessel", Way::At), touch(Subject::Piece, "piece", Way::At)];
const STEEPED: Option<After> =
    Some(After { subject: Subject::Piece, key: "piece", kinds: &["steep"] });
const CAST: Option<After> = Some(After { subject: Subject::Piece, key: "piece", kinds: &["lay"] });

/// A steep filled, drained or sprayed.
pub(super) const WATER: Kind = Kind {
    key: "water",
    title: "Water",
    does: "A steep filled, drained or sprayed",
    version: 1,
    writers: HANDS,
    touches: TOUCHED,
    after: STEEPED,
    draft: |reader, scene, legs| {
        vessel(reader, scene, legs, &["steep"]);
        let _ = reader.choice("act", &["fill", "drain", "spray"], None);
        let _ = reader.optional(&WATER_C);
    },
};

/// A piece turned on its floor, or on the kiln.
pub(super) const TURN: Kind = Kind {
    key: "turn",
    title: "Turn",
    does: "A piece turned or ploughed on its floor, or its bed turned on the kiln",
    version: 2,
    writers: HANDS,
    touches: TOUCHED,
    after: CAST,
    draft: |reader, scene, legs| {
        vessel(reader, scene, legs, &["lay", "load"]);
        let _ = reader.choice("how", &["turn", "plough"], Some("turn"));
        let _ = reader.optional(&GRAIN_C);
        reading::expected(reader);
    },
};

const COVERED: Field = Field::new("covered_fraction", "")
    .label("Share of the floor it covers from here")
    .within(0.1, 1.0);

/// A piece thinned or thickened.
pub(super) const THIN: Kind = Kind {
    key: "thin",
    title: "Thin or thicken",
    does: "A piece spread over more of its floor, or drawn together",
    version: 1,
    writers: HANDS,
    touches: TOUCHED,
    after: CAST,
    draft: |reader, scene, legs| {
        vessel(reader, scene, legs, &["lay"]);
        let _ = reader.number(&COVERED);
        let _ = reader.optional(&GRAIN_C);
    },
};

const PEAT_H: Field = Field::new("peat_h", "h").label("Hours of smoke").within(0.0, 200.0).or(0.0);
const PEAT_KG_T: Field =
    Field::new("peat_kg_t", "kg/t").label("Peat a tonne of dry matter").within(0.0, 1500.0).or(0.0);
const PEAT_C: Field =
    Field::new("peat_c", "°C").label("Air-on over peat").within(15.0, 65.0).or(45.0);
const PEAT_FLOW: Field =
    Field::new("peat_flow_kg_s", "kg/s").label("Dry air over peat").within(0.1, 500.0);
const DRY_C: Field = Field::new("dry_c", "°C").label("Air-on of the drying").within(15.0, 90.0);
const DRY_H: Field = Field::new("dry_h", "h").label("Hours of drying").within(0.0, 300.0);
const FLOW: Field = Field::new("flow_kg_s", "kg/s").label("Dry air").within(0.1, 500.0);
const CURE_C: Field = Field::new("cure_c", "°C").label("Air-on of the cure").within(15.0, 110.0);
const CURE_H: Field = Field::new("cure_h", "h").label("Hours of curing").within(0.0, 100.0);
const RETURNED: Field = Field::new("returned", "kg/kg")
    .label("Air sent back after the break")
    .within(0.0, 0.95)
    .or(0.0);
const RAMP_H: Field = Field::new("ramp_h", "h").label("Change of fire").within(0.01, 12.0).or(0.5);
const WANTED_PHENOLS: Field =
    Field { key: "wanted_phenols_mg_kg_dry", label: "Phenols wanted", default: None, ..PHENOLS };
const WANTED_MOISTURE: Field =
    Field::new("wanted_moisture_wet", "").label("Moisture wanted, wet basis").within(0.01, 0.12);

/// What the kiln is set to for a piece. The last for a piece holds.
pub(super) const FIRING: Kind = Kind {
    key: "firing",
    title: "Firing",
    does: "What the kiln is set to for a piece: smoke, drying, cure; the last one holds",
    version: 1,
    writers: HANDS,
    touches: &[touch(Subject::Piece, "piece", Way::At)],
    after: STEEPED,
    draft: |reader, _, legs| {
        let _ = whole(reader, &PIECE);
        let flow = reader.number(&FLOW);
        let peat_flow = reader.optional(&PEAT_FLOW).unwrap_or(flow);
        legs.keep(PEAT_FLOW.key, peat_flow);
        // What was taken for granted is kept, so that a later default changes no firing of before.
        for field in
            [&PEAT_H, &PEAT_KG_T, &PEAT_C, &DRY_H, &DRY_C, &CURE_H, &CURE_C, &RETURNED, &RAMP_H]
        {
            let value = reader.number(field);
            legs.keep(field.key, value);
        }
        for field in [&WANTED_PHENOLS, &WANTED_MOISTURE] {
            let _ = reader.optional(field);
        }
        let _ = reader.optional_word("reason");
    },
};
