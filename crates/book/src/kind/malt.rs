//! From barley to malt in a bin: steep, lay, load, strip. What is done to a piece between these is
//! in [`super::floor`].

use super::fields::{GRAIN_MOISTURE, KG, MALT_MOISTURE, PHENOLS, PIECE, name, whole};
use super::floor::WATER_C;
use super::legs::{Gauged, Outcome, Route};
use super::{After, HANDS, Kind, Legs, Scene, Subject, Way, touch};
use crate::account::{Account, Commodity, Place};
use crate::amount::Amount;
use gauge::Reader;

/// Moisture of barley in store when the book knows nothing better; what was taken is kept on the
/// entry. From memory: barley is dried to 12 % for keeping.
const STORED_MOISTURE: f64 = 0.12;

/// Barley put under water. A piece of two lots is two entries.
pub(super) const STEEP: Kind = Kind {
    key: "steep",
    title: "Steep",
    does: "Barley drawn from a lot and put under water; once more for each further lot of a piece",
    version: 2,
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
            .figure((Subject::Lot, &lot), &["intake", "opening", "dry"], "moisture_wet")
            .unwrap_or(STORED_MOISTURE)
    });
    let _ = reader.optional(&WATER_C);
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
    does: "A steep cast to a floor, drained or in its water",
    version: 2,
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
        // As a slurry: such a piece breathes less at first.
        let _ = reader.flag("wet", false);
        whole_of(scene, legs, moved.from, vessel);
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
    does: "Malt taken off the kiln, dressed, weighed and put in a bin; once for each bin",
    version: 2,
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
    // Held until a laboratory releases it.
    let _ = reader.flag("hold", false);
    let from = Account::vessel(from);
    let to = Account::vessel(vessel);
    let found = legs.amount(kg * (1.0 - moisture));
    let book = scene.holds(&from, Commodity::DryGrain);
    let route = Route { from, to };
    let before = lost_before(scene, &piece, route.from.name());
    if book <= Amount::ZERO && before > Amount::ZERO {
        return second_bin(legs, found, before, route);
    }
    let outcome = Outcome {
        more: Account::new(Place::Increase, route.from.name()),
        // Steep water, respiration, rootlets and dust: known only as a whole, by this weighing.
        less: malting_loss(),
    };
    legs.gauge_to(Commodity::DryGrain, Gauged { book, found }, route, outcome);
}

fn malting_loss() -> Account {
    Account::outside("malting_loss")
}

/// What earlier bins of the same piece left as its malting loss.
fn lost_before(scene: &Scene<'_>, piece: &str, kiln: &str) -> Amount {
    let strips = scene.acts((Subject::Piece, piece), &["strip"]);
    let of_kiln = strips.iter().filter(|act| act.word("from") == kiln);
    let postings = of_kiln.flat_map(|act| scene.postings(act.serial));
    let loss = malting_loss();
    Amount::from_micro(postings.filter(|p| p.account == loss).map(|p| p.amount.micro()).sum())
}

/// The first bin was weighed as if it were the whole, so what goes into a second one was booked
/// as loss: it comes back from there, and only what is more than that was found too much.
fn second_bin(legs: &mut Legs, found: Amount, before: Amount, Route { from, to }: Route) {
    let back = found.min(before);
    legs.carry(Commodity::DryGrain, back, Route { from: malting_loss(), to: to.clone() });
    let more = Amount::from_micro(found.micro() - back.micro());
    let from = Account::new(Place::Increase, from.name());
    legs.carry(Commodity::DryGrain, more, Route { from, to });
}
