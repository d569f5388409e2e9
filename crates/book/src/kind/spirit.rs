//! From wash to spirit: charge, run off, discharge, pump, receive, reduce.

use super::fields::{BULK_L, Liquid, RUN, TEMPERATURE_C, name, whole};
use super::legs::{Gauged, Route};
use super::{After, HANDS, Kind, Legs, Scene, Subject, Way, touch};
use crate::account::{Account, Commodity};
use crate::amount::Amount;
use gauge::{Field, Reader};

/// Takes what was measured, or the whole by the book, from one vessel to another. What extract a
/// wash still holds goes along in the same share.
fn pass_on(
    reader: &mut Reader<'_>,
    scene: &Scene<'_>,
    legs: &mut Legs,
    Route { from, to }: &Route,
) {
    let held = scene.holds(from, Commodity::PureAlcohol).max(Amount::ZERO);
    let extract = scene.holds(from, Commodity::Extract).max(Amount::ZERO);
    let (alcohol, extract) = match Liquid::read_or_whole(reader) {
        None => (held, extract),
        Some(liquid) => {
            let at_20 = liquid.at_20(reader);
            legs.keep("volume_20_l", at_20.volume_20_l);
            let alcohol = legs.amount(at_20.pure_alcohol_l);
            let share = match held.micro() {
                0 => 1.0,
                held => (alcohol.micro() as f64 / held as f64).min(1.0),
            };
            (alcohol, legs.amount(extract.units() * share))
        }
    };
    let route = || Route { from: from.clone(), to: to.clone() };
    legs.carry(Commodity::PureAlcohol, alcohol, route());
    legs.carry(Commodity::Extract, extract, route());
}

/// A still charged; one entry for each vessel it is charged from.
pub(super) const CHARGE: Kind = Kind {
    key: "charge",
    title: "Charge still",
    does: "A still charged from a vessel; without figures the whole of it is meant",
    version: 2,
    writers: HANDS,
    touches: &[
        touch(Subject::Vessel, "from", Way::Out),
        touch(Subject::Vessel, "vessel", Way::In),
        touch(Subject::Run, "run", Way::At),
    ],
    after: None,
    draft: |reader, scene, legs| {
        let _ = whole(reader, &RUN);
        let from = reader.word("from");
        let to = reader.word("vessel");
        let make = reader.optional_word("make");
        let make = make.or_else(|| word_of_last_in(scene, &from, "make"));
        legs.keep_some("make", make);
        let _ = reader.flag("transition", false);
        let route = Route { from: Account::vessel(from), to: Account::vessel(to) };
        pass_on(reader, scene, legs, &route);
    },
};

fn word_of_last_in(scene: &Scene<'_>, vessel: &str, key: &str) -> Option<String> {
    match scene.last_in(vessel)?.get(key)? {
        gauge::Node::Text(text) => Some(text.clone()),
        _ => None,
    }
}

/// The cuts of a run.
pub(super) const CUTS: &[&str] = &["foreshots", "heart", "feints", "low_wines", "middle"];

/// A cut run off to a receiver.
pub(super) const RUN_OFF: Kind = Kind {
    key: "run_off",
    title: "Run off",
    does: "A cut of a run, collected in a receiver",
    version: 2,
    writers: HANDS,
    touches: &[
        touch(Subject::Vessel, "from", Way::Out),
        touch(Subject::Vessel, "vessel", Way::In),
        touch(Subject::Run, "run", Way::At),
    ],
    after: Some(After { subject: Subject::Run, key: "run", kinds: &["charge"] }),
    draft: run_off,
};

fn run_off(reader: &mut Reader<'_>, scene: &Scene<'_>, legs: &mut Legs) {
    let run = name(whole(reader, &RUN));
    let _ = reader.choice("cut", CUTS, None);
    let from = still(reader, scene, legs, &run);
    let to = reader.word("vessel");
    let make = reader
        .optional_word("make")
        .or_else(|| scene.word((Subject::Run, &run), &["charge"], "make"));
    legs.keep_some("make", make);
    let _ = reader.optional_word("family");
    // The heart of a run that follows a change of make is spirit of neither.
    let _ = reader.flag("transition", false);
    let liquid = Liquid::read(reader);
    let at_20 = liquid.at_20(reader);
    legs.keep("volume_20_l", at_20.volume_20_l);
    let alcohol = legs.amount(at_20.pure_alcohol_l);
    let Some(from) = from else { return };
    let to = Account::vessel(to);
    // Collected more than was charged: that is an increase, told as such with this measure. Where
    // no charge is noted yet, the still is owed it and asked about.
    let charged = scene.latest(Subject::Run, &run, &["charge"]).is_some();
    let held = scene.holds(&from, Commodity::PureAlcohol).max(Amount::ZERO);
    let of_still = if charged { alcohol.min(held) } else { alcohol };
    let more = Amount::from_micro(alcohol.micro() - of_still.micro());
    let increase = Account::new(crate::Place::Increase, from.name());
    legs.carry(Commodity::PureAlcohol, of_still, Route { from, to: to.clone() });
    legs.carry(Commodity::PureAlcohol, more, Route { from: increase, to });
}

/// The still of a run: as given, or as it was charged.
fn still(
    reader: &mut Reader<'_>,
    scene: &Scene<'_>,
    legs: &mut Legs,
    run: &str,
) -> Option<Account> {
    let from = reader
        .optional_word("from")
        .or_else(|| scene.word((Subject::Run, run), &["charge"], "vessel"));
    legs.keep_some("from", from.clone());
    from.map(Account::vessel)
}

const REMNANT_BULK_L: Field = Field::new("remnant_bulk_l", "L")
    .label("Remnant that stays, litres as they lie")
    .within(0.0, 1e5);

/// What stays behind when a vessel is emptied, of the same strength and warmth as what left it.
fn remnant(reader: &mut Reader<'_>, legs: &mut Legs, left: Liquid) -> Amount {
    let Some(bulk_l) = reader.optional(&REMNANT_BULK_L) else {
        return Amount::ZERO;
    };
    // What is wrong with warmth or strength has been told of what left it.
    let stays = Liquid { bulk_l, ..left };
    let Ok(at_20) = crate::measure::at_20(bulk_l, stays.temperature_c, stays.strength_pct) else {
        return Amount::ZERO;
    };
    legs.keep("remnant_20_l", at_20.volume_20_l);
    legs.keep("remnant_pure_alcohol_l", at_20.pure_alcohol_l);
    legs.amount(at_20.pure_alcohol_l)
}

const RESIDUE_STRENGTH_PCT: Field =
    Field::new("strength_pct", "% vol").label("Strength of what is left").within(0.0, 20.0).or(0.0);

/// A still emptied after its run; this ends the run.
pub(super) const DISCHARGE: Kind = Kind {
    key: "discharge",
    title: "Discharge still",
    does: "A still emptied of pot ale or spent lees; ends the run",
    version: 2,
    writers: HANDS,
    touches: &[touch(Subject::Vessel, "from", Way::Out), touch(Subject::Run, "run", Way::At)],
    after: Some(After { subject: Subject::Run, key: "run", kinds: &["charge"] }),
    draft: discharge,
};

fn discharge(reader: &mut Reader<'_>, scene: &Scene<'_>, legs: &mut Legs) {
    let run = name(whole(reader, &RUN));
    let to = reader.choice("to", &["pot_ale", "spent_lees"], None);
    let from = still(reader, scene, legs, &run);
    let liquid = Liquid {
        bulk_l: reader.optional(&BULK_L).unwrap_or(0.0),
        temperature_c: reader.number(&TEMPERATURE_C),
        strength_pct: reader.number(&RESIDUE_STRENGTH_PCT),
    };
    let found = liquid.at_20(reader).pure_alcohol_l;
    let found = legs.amount(found);
    let stays = remnant(reader, legs, liquid);
    let Some(from) = from else { return };
    let to = Account::outside(to);
    let book = scene.holds(&from, Commodity::PureAlcohol);
    let route = Route { from: from.clone(), to: to.clone() };
    legs.gauge_leaving(Commodity::PureAlcohol, Gauged { book, found }, stays, route);
    let extract = scene.holds(&from, Commodity::Extract).max(Amount::ZERO);
    legs.carry(Commodity::Extract, extract, Route { from, to });
}

/// Liquid pumped from one vessel to another.
pub(super) const PUMP: Kind = Kind {
    key: "pump",
    title: "Pump over",
    does: "Liquid pumped from one vessel to another; without figures the whole is meant",
    version: 1,
    writers: HANDS,
    touches: &[touch(Subject::Vessel, "from", Way::Out), touch(Subject::Vessel, "vessel", Way::In)],
    after: None,
    draft: |reader, scene, legs| {
        let from = reader.word("from");
        let to = reader.word("vessel");
        for word in ["make", "family"] {
            let known = reader.optional_word(word).or_else(|| word_of_last_in(scene, &from, word));
            legs.keep_some(word, known);
        }
        let route = Route { from: Account::vessel(from), to: Account::vessel(to) };
        pass_on(reader, scene, legs, &route);
    },
};

/// Spirit brought to account: the receiver is emptied into a vat and measured.
pub(super) const RECEIVE: Kind = Kind {
    key: "receive",
    title: "Spirit account",
    does: "A receiver emptied into a vat and brought to account by measure, less what stays in it",
    version: 2,
    writers: HANDS,
    touches: &[touch(Subject::Vessel, "from", Way::Out), touch(Subject::Vessel, "vessel", Way::In)],
    after: None,
    draft: |reader, scene, legs| {
        let from = reader.word("from");
        let to = reader.word("vessel");
        for word in ["make", "family"] {
            let known = reader.optional_word(word).or_else(|| word_of_last_in(scene, &from, word));
            legs.keep_some(word, known);
        }
        let liquid = Liquid::read(reader);
        let at_20 = liquid.at_20(reader);
        legs.keep("volume_20_l", at_20.volume_20_l);
        let found = legs.amount(at_20.pure_alcohol_l);
        let stays = remnant(reader, legs, liquid);
        let route = Route { from: Account::vessel(from), to: Account::vessel(to) };
        let book = scene.holds(&route.from, Commodity::PureAlcohol);
        legs.gauge_leaving(Commodity::PureAlcohol, Gauged { book, found }, stays, route);
    },
};

const WATER_KG: Field = Field::new("water_kg", "kg").label("Water added").within(0.0, 1e6);

/// Spirit reduced with water. No alcohol moves; litres and strength are noted.
pub(super) const REDUCE: Kind = Kind {
    key: "reduce",
    title: "Reduce",
    does: "Spirit in a vat reduced with water and measured again",
    version: 1,
    writers: HANDS,
    touches: &[touch(Subject::Vessel, "vessel", Way::At)],
    after: None,
    draft: |reader, _, legs| {
        let _ = reader.word("vessel");
        let _ = reader.number(&WATER_KG);
        if let Some(liquid) = Liquid::read_or_whole(reader) {
            let at_20 = liquid.at_20(reader);
            legs.keep("volume_20_l", at_20.volume_20_l);
        }
    },
};
