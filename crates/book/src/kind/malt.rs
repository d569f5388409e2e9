//! From barley to malt in a bin: steep, lay, turn, load, strip.

use super::fields::{GRAIN_MOISTURE, KG, MALT_MOISTURE, PHENOLS, PIECE, name, whole};
use super::legs::{Gauged, Outcome, Route};
use super::{After, HANDS, Kind, Legs, Scene, Subject, Way, touch};
use crate::account::{Account, Commodity, Place};
use gauge::{Field, Reader};

/// Moisture of barley in store when the book knows nothing better; what was taken is kept on the
/// entry. From memory: barley is dried to 12 % for keeping.
const STORED_MOISTURE: f64 = 0.12;

/// Barley put under water.
pub(super) const STEEP: Kind = Kind {
    key: "steep",
    title: "Steep",
    does: "Barley drawn from a lot and put under water",
    version: 1,
    writers: HANDS,
    touches: &[
        touch(Subject::Lot, "lot", Way::Out),
        touch(Subject::Vessel, "vessel", Way::In),
        touch(Subject::Piece, "piece", Way::At),
    ],
    after: Some(After { subject: Subject::Lot, key: "lot", kinds: &["intake", "opening"] }),
    draft: steep,
};

fn steep(reader: &mut Reader<'_>, scene: &Scene<'_>, legs: &mut Legs) {
    let _ = whole(reader, &PIECE);
    let vessel = reader.word("vessel");
    let lot = reader.word("lot");
    let _ = reader.word("make");
    let kg = reader.number(&KG);
    let moisture = reader.optional(&GRAIN_MOISTURE).unwrap_or_else(|| {
        scene
            .figure((Subject::Lot, &lot), &["intake", "opening"], "moisture_wet")
            .unwrap_or(STORED_MOISTURE)
    });
    legs.keep("moisture_wet", moisture);
    let dry = legs.amount(kg * (1.0 - moisture));
    let route = Route { from: Account::lot(lot), to: Account::vessel(vessel) };
    legs.carry(Commodity::DryGrain, dry, route);
}

/// The piece, where it comes from, and what the book says lies there.
struct Moved {
    piece: String,
    from: Option<String>,
}

fn moved(
    reader: &mut Reader<'_>,
    scene: &Scene<'_>,
    legs: &mut Legs,
    before: &[&'static str],
) -> Moved {
    let piece = name(whole(reader, &PIECE));
    let from = reader
        .optional_word("from")
        .or_else(|| scene.word((Subject::Piece, &piece), before, "vessel"));
    legs.keep_some("from", from.clone());
    Moved { piece, from }
}

/// Takes the whole of `from` into `to`. Losses of malting are found when the malt is weighed.
fn whole_of(scene: &Scene<'_>, legs: &mut Legs, from: Option<String>, to: String) {
    let Some(from) = from.map(Account::vessel) else {
        return;
    };
    let held = scene.holds(&from, Commodity::DryGrain);
    let to = Account::vessel(to);
    legs.carry(Commodity::DryGrain, held.max(crate::Amount::ZERO), Route { from, to });
}

/// A steep cast to a floor.
pub(super) const LAY: Kind = Kind {
    key: "lay",
    title: "Cast",
    does: "A steep cast to a floor",
    version: 1,
    writers: HANDS,
    touches: &[
        touch(Subject::Vessel, "from", Way::Out),
        touch(Subject::Vessel, "vessel", Way::In),
        touch(Subject::Piece, "piece", Way::At),
    ],
    after: Some(After { subject: Subject::Piece, key: "piece", kinds: &["steep"] }),
    draft: |reader, scene, legs| {
        let moved = moved(reader, scene, legs, &["steep"]);
        let vessel = reader.word("vessel");
        whole_of(scene, legs, moved.from, vessel);
    },
};

const GRAIN_C: Field = Field::new("grain_c", "°C").label("Grain temperature").within(0.0, 60.0);

/// A piece turned.
pub(super) const TURN: Kind = Kind {
    key: "turn",
    title: "Turn",
    does: "A piece turned, thinned or thickened on its floor",
    version: 1,
    writers: HANDS,
    touches: &[touch(Subject::Vessel, "vessel", Way::At), touch(Subject::Piece, "piece", Way::At)],
    after: Some(After { subject: Subject::Piece, key: "piece", kinds: &["lay"] }),
    draft: |reader, scene, legs| {
        let piece = name(whole(reader, &PIECE));
        let vessel = reader
            .optional_word("vessel")
            .or_else(|| scene.word((Subject::Piece, &piece), &["lay"], "vessel"));
        legs.keep_some("vessel", vessel);
        let _ = reader.optional(&GRAIN_C);
    },
};

/// A piece loaded on the kiln.
pub(super) const LOAD: Kind = Kind {
    key: "load",
    title: "Load kiln",
    does: "A piece taken from its floor to the kiln",
    version: 1,
    writers: HANDS,
    touches: &[
        touch(Subject::Vessel, "from", Way::Out),
        touch(Subject::Vessel, "vessel", Way::In),
        touch(Subject::Piece, "piece", Way::At),
    ],
    after: Some(After { subject: Subject::Piece, key: "piece", kinds: &["lay"] }),
    draft: |reader, scene, legs| {
        let moved = moved(reader, scene, legs, &["lay"]);
        let vessel = reader.optional_word("vessel").unwrap_or_else(|| "kiln".to_owned());
        legs.keep("vessel", vessel.clone());
        whole_of(scene, legs, moved.from, vessel);
    },
};

/// Malt stripped from the kiln into a bin.
pub(super) const STRIP: Kind = Kind {
    key: "strip",
    title: "Strip kiln",
    does: "Malt taken off the kiln, dressed, weighed and put in a bin",
    version: 1,
    writers: HANDS,
    touches: &[
        touch(Subject::Vessel, "from", Way::Out),
        touch(Subject::Vessel, "vessel", Way::In),
        touch(Subject::Piece, "piece", Way::At),
    ],
    after: Some(After { subject: Subject::Piece, key: "piece", kinds: &["load"] }),
    draft: strip,
};

fn strip(reader: &mut Reader<'_>, scene: &Scene<'_>, legs: &mut Legs) {
    let Moved { piece, from } = moved(reader, scene, legs, &["load"]);
    let from = from.unwrap_or_else(|| "kiln".to_owned());
    legs.keep("from", from.clone());
    let vessel = reader.word("vessel");
    let make = reader
        .optional_word("make")
        .or_else(|| scene.word((Subject::Piece, &piece), &["steep"], "make"));
    legs.keep_some("make", make);
    let kg = reader.number(&KG);
    let moisture = reader.number(&MALT_MOISTURE);
    let phenols = reader.number(&PHENOLS);
    legs.keep("phenols_mg_kg_dry", phenols);
    let from = Account::vessel(from);
    let found = legs.amount(kg * (1.0 - moisture));
    let book = scene.holds(&from, Commodity::DryGrain);
    let outcome = Outcome {
        more: Account::new(Place::Increase, from.name()),
        // Steep water, respiration, rootlets and dust: known only as a whole, by this weighing.
        less: Account::outside("malting_loss"),
    };
    let to = Account::vessel(vessel);
    legs.gauge_to(Commodity::DryGrain, Gauged { book, found }, Route { from, to }, outcome);
}
