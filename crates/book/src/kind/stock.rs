//! What comes in, what lies there on the first day, what is drawn off and what is lost.

use super::fields::{GRAIN_MOISTURE, KG, Liquid, NITROGEN, PHENOLS, PIECE, whole_if_given};
use super::legs::Route;
use super::{CORRECTORS, HANDS, Kind, Legs, Scene, Subject, Way, touch};
use crate::account::{Account, Commodity};
use gauge::{Fault, Field, Reader};

/// What stands in an account on the first day of the book.
pub(super) const OPENING: Kind = Kind {
    key: "opening",
    title: "Opening stock",
    does: "What stood in an account on the first day of the book",
    version: 1,
    writers: CORRECTORS,
    touches: &[touch(Subject::Account, "account", Way::In)],
    after: None,
    draft: opening,
};

fn opening(reader: &mut Reader<'_>, _: &Scene<'_>, legs: &mut Legs) {
    let account = account(reader);
    for word in ["barley", "vessel", "make", "family", "cask_kind", "warehouse", "owner"] {
        let _ = reader.optional_word(word);
    }
    if let Some(filled) = reader.optional_word("filled")
        && filled.parse::<crate::Moment>().is_err()
    {
        reader.fault(Fault::NotAllowed {
            field: "filled".into(),
            found: filled,
            allowed: vec!["a time such as 2021-05-06T10:00:00+01:00".to_owned()],
        });
    }
    let _ = whole_if_given(reader, &PIECE);
    let _ = reader.optional(&NITROGEN);
    let _ = reader.optional(&PHENOLS);
    let grain = (reader.optional(&KG), reader.optional(&GRAIN_MOISTURE));
    let liquid = Liquid::read_or_whole(reader);
    let Some(to) = account else { return };
    let from = Account::outside("opening");
    match (grain, liquid) {
        ((Some(kg), Some(moisture)), None) => {
            let dry = legs.amount(kg * (1.0 - moisture));
            legs.carry(Commodity::DryGrain, dry, Route { from, to });
        }
        ((None, None), Some(liquid)) => {
            let at_20 = liquid.at_20(reader);
            let alcohol = legs.amount(at_20.pure_alcohol_l);
            legs.keep("volume_20_l", at_20.volume_20_l);
            legs.carry(Commodity::PureAlcohol, alcohol, Route { from, to });
        }
        _ => reader.fault(Fault::MissingPart {
            field: "kg".into(),
            wanted: "kg with moisture_wet, or bulk_l with strength_pct",
        }),
    }
}

/// The account under `account`; a fault when it names none.
fn account(reader: &mut Reader<'_>) -> Option<Account> {
    let text = reader.word("account");
    if let Ok(account) = text.parse() {
        return Some(account);
    }
    if !text.is_empty() {
        reader.fault(Fault::NotAllowed {
            field: "account".into(),
            found: text,
            allowed: vec!["lot/…, vessel/… or cask/…".to_owned()],
        });
    }
    None
}

/// A sample drawn.
pub(super) const SAMPLE: Kind = Kind {
    key: "sample",
    title: "Sample",
    does: "Spirit, low wines or wash drawn for the sample room",
    version: 1,
    writers: HANDS,
    touches: &[touch(Subject::Account, "account", Way::Out)],
    after: None,
    draft: sample,
};

fn sample(reader: &mut Reader<'_>, _: &Scene<'_>, legs: &mut Legs) {
    let account = account(reader);
    let _ = reader.optional_word("for");
    let liquid = Liquid::read(reader);
    let at_20 = liquid.at_20(reader);
    let Some(from) = account else { return };
    let alcohol = legs.amount(at_20.pure_alcohol_l);
    let to = Account::outside("sample");
    legs.keep("volume_20_l", at_20.volume_20_l);
    legs.carry(Commodity::PureAlcohol, alcohol, Route { from, to });
}

const LOST_DRY: Field = Field::new("dry_grain_kg", "kg").label("Dry grain lost").within(0.0, 1e6);
const LOST_EXTRACT: Field = Field::new("extract_kg", "kg").label("Extract lost").within(0.0, 1e6);
const LOST_ALCOHOL: Field =
    Field::new("pure_alcohol_l", "L").label("Pure alcohol lost").within(0.0, 1e6);

/// A loss, with its reason. It is never set against an increase.
pub(super) const LOSS: Kind = Kind {
    key: "loss",
    title: "Loss",
    does: "A loss with its reason",
    version: 1,
    writers: HANDS,
    touches: &[touch(Subject::Account, "account", Way::Out)],
    after: None,
    draft: loss,
};

fn loss(reader: &mut Reader<'_>, _: &Scene<'_>, legs: &mut Legs) {
    let account = account(reader);
    let _ = reader.word("reason");
    let amounts = [
        (Commodity::DryGrain, reader.optional(&LOST_DRY)),
        (Commodity::Extract, reader.optional(&LOST_EXTRACT)),
        (Commodity::PureAlcohol, reader.optional(&LOST_ALCOHOL)),
    ];
    let given = amounts.iter().filter(|(_, lost)| lost.is_some()).count();
    if given != 1 {
        reader.fault(Fault::OneOf {
            field: "".into(),
            keys: vec!["dry_grain_kg", "extract_kg", "pure_alcohol_l"],
            given,
        });
    }
    let Some(from) = account else { return };
    for (commodity, lost) in amounts {
        let lost = legs.amount(lost.unwrap_or(0.0));
        let to = Account::new(crate::Place::Deficiency, from.name());
        legs.carry(commodity, lost, Route { from: from.clone(), to });
    }
}

/// A vessel cleaned.
pub(super) const CLEAN: Kind = Kind {
    key: "clean",
    title: "Clean",
    does: "A vessel, floor or still cleaned",
    version: 1,
    writers: HANDS,
    touches: &[touch(Subject::Vessel, "vessel", Way::At)],
    after: None,
    draft: |reader, _, _| {
        let _ = reader.word("vessel");
        let _ = reader.optional_word("with");
    },
};
