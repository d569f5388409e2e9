//! Barley before it is steeped: weighed in, dried where it came too wet to keep, its germination
//! tested.

use super::fields::{GRAIN_MOISTURE, KG, NITROGEN, UNSAID, said};
use super::legs::{Gauged, Outcome, Route};
use super::{After, HANDS, Kind, Legs, Scene, Subject, Way, touch};
use crate::account::{Account, Commodity, Place};
use crate::amount::Amount;
use gauge::{Fault, Field, Reader, fault::Side};

const CORN_WEIGHT: Field =
    Field::new("corn_weight_g", "g").label("Weight of a thousand corns").within(15.0, 80.0);
const SCREENINGS: Field =
    Field::new("screenings_pct", "%").label("Through the sieve").within(0.0, 100.0);
const ADMIXTURE: Field = Field::new("admixture_pct", "%").label("Not barley").within(0.0, 100.0);
const ENERGY_4ML: Field =
    Field::new("germinative_energy_4ml_pct", "%").label("Germinated in 4 ml").within(0.0, 100.0);
const ENERGY_8ML: Field =
    Field::new("germinative_energy_8ml_pct", "%").label("Germinated in 8 ml").within(0.0, 100.0);
const CAPACITY: Field =
    Field::new("germinative_capacity_pct", "%").label("Living corns").within(0.0, 100.0);
const DEDUCTED: Field =
    Field::new("deducted_pct", "%").label("Taken off the weight paid for").within(0.0, 50.0);

/// What is smelled at the lorry.
const NOSE: &[&str] = &[UNSAID, "sound", "musty", "mouldy", "sour", "heated", "smoky", "foreign"];
/// What is decided there.
const DECISION: &[&str] = &["accept", "deduct", "hold"];

/// What a lot must have been before anything is done with it.
const STORED: Option<After> =
    Some(After { subject: Subject::Lot, key: "lot", kinds: &["intake", "opening"] });

/// A lorry of barley weighed in.
pub(super) const INTAKE: Kind = Kind {
    key: "intake",
    title: "Intake",
    does: "Barley weighed in from a lorry: what was found, and what was decided at the gate",
    version: 2,
    writers: HANDS,
    touches: &[touch(Subject::Lot, "lot", Way::In)],
    after: None,
    draft: intake,
};

fn intake(reader: &mut Reader<'_>, _: &Scene<'_>, legs: &mut Legs) {
    let lot = reader.word("lot");
    let _ = reader.word("barley");
    let _ = reader.optional_word("vessel");
    let kg = reader.number(&KG);
    let moisture = reader.number(&GRAIN_MOISTURE);
    for field in
        [&NITROGEN, &CORN_WEIGHT, &SCREENINGS, &ADMIXTURE, &ENERGY_4ML, &ENERGY_8ML, &CAPACITY]
    {
        let _ = reader.optional(field);
    }
    let _ = said(reader, "insects");
    let _ = reader.choice("nose", NOSE, Some(UNSAID));
    decided(reader, legs, kg);
    let dry = legs.amount(kg * (1.0 - moisture));
    let route = Route { from: Account::outside("intake"), to: Account::lot(lot) };
    legs.carry(Commodity::DryGrain, dry, route);
}

/// A deduction lowers what is paid for; what lies in the silo is what was weighed.
fn decided(reader: &mut Reader<'_>, legs: &mut Legs, kg: f64) {
    let decision = reader.choice("decision", DECISION, Some("accept"));
    let deducted = reader.optional(&DEDUCTED);
    let _ = reader.optional_word("reason");
    match (decision, deducted) {
        ("deduct", None) => reader.fault(Fault::MissingPart {
            field: "deducted_pct".into(),
            wanted: "how many per cent of the weight are not paid for",
        }),
        ("deduct", Some(pct)) => legs.keep("paid_kg", kg * (1.0 - pct / 100.0)),
        (_, Some(pct)) if pct > 0.0 => reader.fault(Fault::NotAllowed {
            field: "decision".into(),
            found: decision.to_owned(),
            allowed: vec!["deduct, where something is taken off".to_owned()],
        }),
        _ => {}
    }
}

const HOURS: Field = Field::new("hours", "h").label("Hours of drying").within(0.1, 240.0);
const AIR_ON: Field = Field::new("air_on_c", "°C").label("Air on").within(10.0, 90.0);
const FROM_KG: Field = Field::new("from_kg", "kg").label("Weight before drying").within(0.0, 1e6);
const FROM_MOISTURE: Field =
    Field::new("from_moisture_wet", "").label("Moisture before, wet basis").within(0.02, 0.60);
const DRIED_KG: Field = Field { label: "Weight after drying", ..KG };
const DRIED_MOISTURE: Field = Field { label: "Moisture after, wet basis", ..GRAIN_MOISTURE };

/// A lot, or a batch of it, dried in the kiln so that it keeps.
pub(super) const DRY: Kind = Kind {
    key: "dry",
    title: "Dry barley",
    does: "A lot dried in the kiln to keep; without a weight before, all that the book holds of it",
    version: 1,
    writers: HANDS,
    touches: &[touch(Subject::Lot, "lot", Way::At), touch(Subject::Vessel, "vessel", Way::At)],
    after: STORED,
    draft: dry,
};

fn dry(reader: &mut Reader<'_>, scene: &Scene<'_>, legs: &mut Legs) {
    let lot = reader.word("lot");
    let vessel = reader.optional_word("vessel").unwrap_or_else(|| "kiln".to_owned());
    legs.keep("vessel", vessel);
    let _ = reader.number(&HOURS);
    let _ = reader.number(&AIR_ON);
    let weighed = reader.optional(&FROM_KG);
    let from_moisture = reader
        .optional(&FROM_MOISTURE)
        .or_else(|| scene.figure((Subject::Lot, &lot), &["intake", "opening"], "moisture_wet"));
    let kg = reader.number(&DRIED_KG);
    let moisture = reader.number(&DRIED_MOISTURE);
    let account = Account::lot(lot);
    if let Some(limit) = from_moisture
        && moisture > limit
    {
        reader.fault(Fault::Beyond {
            field: "moisture_wet".into(),
            value: moisture,
            unit: "",
            side: Side::AtMost,
            limit,
            sets: "the barley before it was dried".into(),
        });
    }
    let book = match (weighed, from_moisture) {
        (Some(kg), Some(moisture)) => legs.amount(kg * (1.0 - moisture)),
        (Some(_), None) => {
            reader.fault(Fault::MissingPart {
                field: "from_moisture_wet".into(),
                wanted: "the moisture before drying, which the book does not know",
            });
            Amount::ZERO
        }
        (None, _) => scene.holds(&account, Commodity::DryGrain).max(Amount::ZERO),
    };
    legs.keep("from_dry_kg", book.units());
    legs.keep_some("from_moisture_wet", from_moisture);
    let found = legs.amount(kg * (1.0 - moisture));
    let outcome = Outcome {
        more: Account::new(Place::Increase, account.name()),
        // Dust, and what is breathed while it is warm and moist.
        less: Account::outside("drying_loss"),
    };
    legs.regauge(Commodity::DryGrain, Gauged { book, found }, account, outcome);
}

const RETEST: Field = Field::new("retest_days", "d").label("Test again after").within(0.0, 400.0);

/// A germination test of a lot.
pub(super) const GERMINATION: Kind = Kind {
    key: "germination",
    title: "Germination test",
    does: "Corns of a lot germinated in 4 ml and 8 ml; the lot released or held",
    version: 1,
    writers: HANDS,
    touches: &[touch(Subject::Lot, "lot", Way::At)],
    after: STORED,
    draft: |reader, _, _| {
        let _ = reader.word("lot");
        let found: Vec<f64> = [&ENERGY_4ML, &ENERGY_8ML, &CAPACITY]
            .into_iter()
            .filter_map(|field| reader.optional(field))
            .collect();
        let release = said(reader, "release");
        let _ = reader.optional(&RETEST);
        for word in ["reason", "remark"] {
            let _ = reader.optional_word(word);
        }
        if found.is_empty() && release == UNSAID {
            reader.fault(Fault::MissingPart {
                field: "germinative_energy_4ml_pct".into(),
                wanted: "at least one figure of the test, or release yes or no",
            });
        }
    },
};
