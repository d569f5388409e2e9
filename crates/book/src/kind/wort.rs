//! From malt to wash: draw, mash, set, attenuate.

use super::fields::{
    BULK_L, FINAL_GRAVITY, KG, MALT_MOISTURE, MASH as MASH_NUMBER, ORIGINAL_GRAVITY, TEMPERATURE_C,
    name, whole,
};
use super::legs::Route;
use super::{After, HANDS, Kind, Legs, Scene, Subject, Way, touch};
use crate::account::{Account, Commodity};
use crate::amount::Amount;
use crate::measure;
use gauge::{Fault, Field, Reader, fault::Side};

/// Moisture of malt when the book knows nothing better (from memory); kept on the entry.
const BIN_MOISTURE: f64 = 0.045;

/// Malt drawn from a bin for a mash.
pub(super) const DRAW: Kind = Kind {
    key: "draw",
    title: "Draw malt",
    does: "Malt drawn from the bottom of a bin to the mill",
    version: 1,
    writers: HANDS,
    touches: &[
        touch(Subject::Vessel, "vessel", Way::Out),
        touch(Subject::Vessel, "to", Way::In),
        touch(Subject::Mash, "mash", Way::At),
    ],
    after: Some(After { subject: Subject::Vessel, key: "vessel", kinds: &["strip", "opening"] }),
    draft: draw,
};

fn draw(reader: &mut Reader<'_>, scene: &Scene<'_>, legs: &mut Legs) {
    let _ = whole(reader, &MASH_NUMBER);
    let bin = reader.word("vessel");
    let to = reader.optional_word("to").unwrap_or_else(|| "mill".to_owned());
    let make = reader.optional_word("make");
    let kg = reader.number(&KG);
    let filled = &["strip", "opening"];
    let moisture = reader.optional(&MALT_MOISTURE).unwrap_or_else(|| {
        scene.figure((Subject::Vessel, &bin), filled, "moisture_wet").unwrap_or(BIN_MOISTURE)
    });
    let make = make.or_else(|| scene.word((Subject::Vessel, &bin), filled, "make"));
    legs.keep("to", to.clone());
    legs.keep("moisture_wet", moisture);
    legs.keep_some("make", make);
    let dry = legs.amount(kg * (1.0 - moisture));
    let route = Route { from: Account::vessel(bin), to: Account::vessel(to) };
    legs.carry(Commodity::DryGrain, dry, route);
}

const MASH_C: Field =
    Field::new("mash_c", "°C").label("Temperature of the mash").within(20.0, 90.0);
const STRIKE_C: Field =
    Field::new("strike_c", "°C").label("Temperature of the first water").within(20.0, 100.0);
const WATER_L: Field = Field::new("water_l", "L").label("First water").within(0.0, 1e6);

/// Grist mashed in.
pub(super) const MASH: Kind = Kind {
    key: "mash",
    title: "Mash",
    does: "Grist mashed with the first water",
    version: 1,
    writers: HANDS,
    touches: &[
        touch(Subject::Vessel, "from", Way::Out),
        touch(Subject::Vessel, "vessel", Way::In),
        touch(Subject::Mash, "mash", Way::At),
    ],
    after: Some(After { subject: Subject::Mash, key: "mash", kinds: &["draw"] }),
    draft: mash,
};

fn mash(reader: &mut Reader<'_>, scene: &Scene<'_>, legs: &mut Legs) {
    let number = name(whole(reader, &MASH_NUMBER));
    let from = reader
        .optional_word("from")
        .or_else(|| scene.word((Subject::Mash, &number), &["draw"], "to"))
        .unwrap_or_else(|| "mill".to_owned());
    let vessel = reader.optional_word("vessel").unwrap_or_else(|| "mash_tun".to_owned());
    let make = reader
        .optional_word("make")
        .or_else(|| scene.word((Subject::Mash, &number), &["draw"], "make"));
    for field in [&STRIKE_C, &MASH_C, &WATER_L] {
        let _ = reader.optional(field);
    }
    legs.keep("from", from.clone());
    legs.keep("vessel", vessel.clone());
    legs.keep_some("make", make);
    let from = Account::vessel(from);
    let held = scene.holds(&from, Commodity::DryGrain).max(Amount::ZERO);
    let to = Account::vessel(vessel);
    legs.carry(Commodity::DryGrain, held, Route { from, to });
}

const YEAST_KG: Field = Field::new("yeast_kg", "kg").label("Pressed yeast").within(0.0, 10_000.0);
const DRAFF_DRY_KG: Field = Field::new("draff_dry_kg", "kg")
    .label("Dry matter in the draff, where weighed")
    .within(0.0, 1e6);
const SET_C: Field =
    Field { key: "temperature_c", label: "Setting temperature", default: None, ..TEMPERATURE_C };

/// Worts collected in a washback and set with yeast.
pub(super) const SET: Kind = Kind {
    key: "set",
    title: "Set washback",
    does: "Worts collected in a washback and set with yeast",
    version: 1,
    writers: HANDS,
    touches: &[
        touch(Subject::Vessel, "from", Way::Out),
        touch(Subject::Vessel, "vessel", Way::In),
        touch(Subject::Mash, "mash", Way::At),
    ],
    after: Some(After { subject: Subject::Mash, key: "mash", kinds: &["mash"] }),
    draft: set,
};

fn set(reader: &mut Reader<'_>, scene: &Scene<'_>, legs: &mut Legs) {
    let number = name(whole(reader, &MASH_NUMBER));
    let earlier = (Subject::Mash, number.as_str());
    let from = reader
        .optional_word("from")
        .or_else(|| scene.word(earlier, &["mash"], "vessel"))
        .unwrap_or_else(|| "mash_tun".to_owned());
    let vessel = reader.word("vessel");
    let make = reader.optional_word("make").or_else(|| scene.word(earlier, &["mash"], "make"));
    let bulk_l = reader.number(&BULK_L);
    let _ = reader.number(&SET_C);
    let gravity = reader.number(&ORIGINAL_GRAVITY);
    let _ = reader.optional(&YEAST_KG);
    let weighed = reader.optional(&DRAFF_DRY_KG);
    legs.keep("from", from.clone());
    legs.keep_some("make", make);
    let extract = legs.amount(measure::extract_kg(bulk_l, gravity));
    legs.keep("extract_kg", extract.units());
    let tun = Account::vessel(from);
    let route = Route { from: Account::convert("mash"), to: Account::vessel(vessel) };
    legs.carry(Commodity::Extract, extract, route);
    // The grain leaves the tun twofold: what was dissolved into the conversion account, the rest
    // as draff. Where the draff was not weighed, it is what did not become extract; the water
    // that starch takes up on becoming sugar then stands in the conversion account as a gain.
    let held = scene.holds(&tun, Commodity::DryGrain).max(Amount::ZERO);
    let draff = match weighed {
        Some(kg) => legs.amount(kg),
        None => Amount::from_micro((held.micro() - extract.micro()).max(0)),
    };
    let draff = draff.min(held);
    let dissolved = Amount::from_micro(held.micro() - draff.micro());
    let to = Account::outside("draff");
    legs.carry(Commodity::DryGrain, draff, Route { from: tun.clone(), to });
    let to = Account::convert("mash");
    legs.carry(Commodity::DryGrain, dissolved, Route { from: tun, to });
}

/// The wash is worked out: its alcohol is brought to account.
pub(super) const ATTENUATE: Kind = Kind {
    key: "attenuate",
    title: "Wash ready",
    does: "A washback worked out: extract becomes alcohol in the accounts",
    version: 1,
    writers: HANDS,
    touches: &[touch(Subject::Vessel, "vessel", Way::At), touch(Subject::Mash, "mash", Way::At)],
    after: Some(After { subject: Subject::Mash, key: "mash", kinds: &["set"] }),
    draft: attenuate,
};

fn attenuate(reader: &mut Reader<'_>, scene: &Scene<'_>, legs: &mut Legs) {
    let number = name(whole(reader, &MASH_NUMBER));
    let set = (Subject::Mash, number.as_str());
    let vessel = reader.optional_word("vessel").or_else(|| scene.word(set, &["set"], "vessel"));
    let bulk_l = from_set(reader, &BULK_L, scene.figure(set, &["set"], "bulk_l"));
    let original = scene.figure(set, &["set"], "original_gravity");
    let original = from_set(reader, &ORIGINAL_GRAVITY, original);
    let last = reader.number(&FINAL_GRAVITY);
    if last > original {
        reader.fault(Fault::Beyond {
            field: "final_gravity".into(),
            value: last,
            unit: "",
            side: Side::AtMost,
            limit: original,
            sets: "the original gravity".into(),
        });
    }
    let wash = match measure::wash(bulk_l, original, last) {
        Ok(wash) => wash,
        Err(fault) => {
            // Figures that were at fault by themselves have been told already.
            if ![bulk_l, original, last].iter().any(|v| v.is_nan()) && last <= original {
                reader.fault(fault);
            }
            return;
        }
    };
    legs.keep("bulk_l", bulk_l);
    legs.keep("original_gravity", original);
    legs.keep("strength_pct", wash.strength_pct);
    legs.keep_some("vessel", vessel.clone());
    let Some(vessel) = vessel.map(Account::vessel) else {
        return;
    };
    let fermented = legs.amount(wash.extract_fermented_kg);
    let alcohol = legs.amount(wash.pure_alcohol_l);
    let ferment = Account::convert("ferment");
    let route = Route { from: vessel.clone(), to: ferment.clone() };
    legs.carry(Commodity::Extract, fermented, route);
    let route = Route { from: ferment, to: vessel };
    legs.carry(Commodity::PureAlcohol, alcohol, route);
}

/// A figure that the setting of the washback told, unless it is given anew.
fn from_set(reader: &mut Reader<'_>, field: &Field, known: Option<f64>) -> f64 {
    let field = Field { default: known, ..*field };
    reader.number(&field)
}
