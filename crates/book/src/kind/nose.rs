//! What the nose says of a cut, in the house's own words.

use super::fields::{RUN, whole};
use super::spirit::CUTS;
use super::{After, HANDS, Kind, Subject, Way, touch};
use gauge::{Fault, Field};

/// A mark for one word: 0 when it is not there, 5 when there is little else.
const MARK: Field = Field::new("marks", "").label("Mark").within(0.0, 5.0);

/// A nosing note.
pub(super) const NOSE: Kind = Kind {
    key: "nose",
    title: "Nosing note",
    does: "What the nose says of a cut: marks from 0 to 5 by the house's own words",
    version: 1,
    writers: HANDS,
    touches: &[touch(Subject::Run, "run", Way::At)],
    after: Some(After { subject: Subject::Run, key: "run", kinds: &["charge"] }),
    draft: |reader, _, _| {
        let _ = whole(reader, &RUN);
        let _ = reader.choice("cut", CUTS, Some("heart"));
        // Which words there are is the house's business; the book keeps any.
        let marks = reader.named("marks", &MARK);
        let remark = reader.optional_word("remark");
        // Whoever nosed it, where another writes it down.
        let _ = reader.optional_word("by");
        if marks.is_empty() && remark.is_none() && !reader.has("marks") {
            let wanted = "a mark for at least one word, or a remark";
            reader.fault(Fault::MissingPart { field: "marks".into(), wanted });
        }
    },
};
