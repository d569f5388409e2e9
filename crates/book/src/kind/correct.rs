//! The contra: the equal and opposite of a wrong entry. The right one is then noted afresh.

use super::{CORRECTORS, Kind};
use crate::entry::Posting;
use gauge::{Field, Reader};

const OF: Field = Field::new("of", "").label("Entry to reverse").within(1.0, 1e12);

/// An entry reversed. The book itself looks that the entry is there, is no contra and is not
/// reversed already, and dates the contra to the day of what it reverses.
pub(super) const CONTRA: Kind = Kind {
    key: "contra",
    title: "Contra",
    does: "A wrong entry reversed, with the reason; the right one is noted afresh",
    version: 1,
    writers: CORRECTORS,
    touches: &[],
    after: None,
    draft: |reader: &mut Reader<'_>, scene, legs| {
        let of = super::fields::whole(reader, &OF);
        let _ = reader.word("reason");
        if of.is_finite() {
            legs.take(
                scene.postings(of as u64).into_iter().map(|p| Posting { amount: -p.amount, ..p }),
            );
        }
    },
};
