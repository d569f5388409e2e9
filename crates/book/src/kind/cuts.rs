//! The cuts the house keeps to for a make, decided by whoever may cut.

use super::{CORRECTORS, Kind, Subject, Way, touch};
use gauge::Field;

const HEART_FROM_MIN: Field =
    Field::new("heart_from_min", "min").label("Foreshots for").within(0.0, 600.0);
const HEART_TO_PCT: Field =
    Field::new("heart_to_pct", "% vol").label("Heart until").within(1.0, 94.0);

/// A decision on cuts. It holds from when it happened until the next for the same make.
pub(super) const CUTS: Kind = Kind {
    key: "cuts",
    title: "Cuts to keep",
    does: "The cuts kept for a make from now on, with the reason",
    version: 1,
    writers: CORRECTORS,
    touches: &[touch(Subject::Make, "make", Way::At)],
    after: None,
    draft: |reader, _, _| {
        // Whether the house makes it is not known here.
        let _ = reader.word("make");
        let _ = reader.number(&HEART_FROM_MIN);
        let _ = reader.number(&HEART_TO_PCT);
        let _ = reader.optional_word("reason");
    },
};
