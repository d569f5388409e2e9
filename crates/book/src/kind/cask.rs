//! Casks: fill, place, regauge, dispatch.

use super::fields::Liquid;
use super::legs::{Gauged, Outcome, Route};
use super::{After, FILLERS, HANDS, Kind, Legs, Scene, Subject, Way, touch};
use crate::account::{Account, Commodity, Place};
use gauge::{Fault, Field, Reader, fault::Side};

const GROSS_KG: Field =
    Field::new("gross_kg", "kg").label("Weight of the full cask").within(1.0, 1500.0);
const TARE_KG: Field =
    Field::new("tare_kg", "kg").label("Weight of the empty cask").within(1.0, 400.0);

const ENTERED: After = After { subject: Subject::Cask, key: "cask", kinds: &["fill", "opening"] };

/// A cask filled.
pub(super) const FILL: Kind = Kind {
    key: "fill",
    title: "Fill cask",
    does: "A cask filled from a vat by meter, and by weight where it was weighed",
    version: 1,
    writers: FILLERS,
    touches: &[touch(Subject::Vessel, "from", Way::Out), touch(Subject::Cask, "cask", Way::In)],
    after: None,
    draft: fill,
};

fn fill(reader: &mut Reader<'_>, _: &Scene<'_>, legs: &mut Legs) {
    let cask = reader.word("cask");
    let _ = reader.word("cask_kind");
    let _ = reader.word("make");
    for word in ["owner", "warehouse"] {
        let _ = reader.optional_word(word);
    }
    let from = reader.word("from");
    let liquid = Liquid::read(reader);
    let gross = reader.optional(&GROSS_KG);
    let tare = reader.optional(&TARE_KG);
    if let (Some(gross), Some(tare)) = (gross, tare)
        && gross < tare
    {
        reader.fault(Fault::Beyond {
            field: "gross_kg".into(),
            value: gross,
            unit: "kg",
            side: Side::AtLeast,
            limit: tare,
            sets: "the empty cask".into(),
        });
    }
    let at_20 = liquid.at_20(reader);
    legs.keep("volume_20_l", at_20.volume_20_l);
    let alcohol = legs.amount(at_20.pure_alcohol_l);
    let route = Route { from: Account::vessel(from), to: Account::cask(cask) };
    legs.carry(Commodity::PureAlcohol, alcohol, route);
}

/// A cask laid down or moved.
pub(super) const PLACE: Kind = Kind {
    key: "place",
    title: "Place cask",
    does: "A cask laid in a warehouse, or moved to another place",
    version: 1,
    writers: HANDS,
    touches: &[touch(Subject::Cask, "cask", Way::At)],
    after: Some(ENTERED),
    draft: |reader, _, _| {
        let _ = reader.word("cask");
        let _ = reader.word("warehouse");
        let _ = reader.optional_word("stow");
    },
};

/// A cask measured again.
pub(super) const REGAUGE: Kind = Kind {
    key: "regauge",
    title: "Regauge",
    does: "A cask measured again; what is gone is posted, never written over",
    version: 1,
    writers: FILLERS,
    touches: &[touch(Subject::Cask, "cask", Way::At)],
    after: Some(ENTERED),
    draft: regauge,
};

fn regauge(reader: &mut Reader<'_>, scene: &Scene<'_>, legs: &mut Legs) {
    let cask = reader.word("cask");
    let leaking = reader.flag("leaking", false);
    let liquid = Liquid::read(reader);
    let at_20 = liquid.at_20(reader);
    legs.keep("volume_20_l", at_20.volume_20_l);
    let account = Account::cask(cask);
    let found = legs.amount(at_20.pure_alcohol_l);
    let book = scene.holds(&account, Commodity::PureAlcohol);
    let outcome = Outcome {
        more: Account::new(Place::Increase, account.name()),
        // What the wood breathes is no fault of anyone's; what a leak lets go is a deficiency.
        less: if leaking {
            Account::new(Place::Deficiency, account.name())
        } else {
            Account::outside("evaporation")
        },
    };
    legs.regauge(Commodity::PureAlcohol, Gauged { book, found }, account, outcome);
}

/// A cask sent away, or emptied.
pub(super) const DISPATCH: Kind = Kind {
    key: "dispatch",
    title: "Dispatch",
    does: "A cask sent away; without figures all that the book says it holds",
    version: 1,
    writers: FILLERS,
    touches: &[touch(Subject::Cask, "cask", Way::Out)],
    after: Some(ENTERED),
    draft: |reader, scene, legs| {
        let cask = Account::cask(reader.word("cask"));
        let _ = reader.optional_word("to");
        let book = scene.holds(&cask, Commodity::PureAlcohol);
        let found = match Liquid::read_or_whole(reader) {
            Some(liquid) => {
                let at_20 = liquid.at_20(reader);
                legs.keep("volume_20_l", at_20.volume_20_l);
                legs.amount(at_20.pure_alcohol_l)
            }
            None => book.max(crate::Amount::ZERO),
        };
        let outcome = Outcome {
            more: Account::new(Place::Increase, cask.name()),
            less: Account::outside("evaporation"),
        };
        let to = Account::outside("dispatch");
        let route = Route { from: cask, to };
        legs.gauge_to(Commodity::PureAlcohol, Gauged { book, found }, route, outcome);
    },
};
