//! What a laboratory found in a sample of a run.

use super::fields::{RUN, whole};
use super::{After, HANDS, Kind, Subject, Way, touch};
use gauge::{Fault, Field};

/// No congener of spirit comes near a kilogram in a litre.
const FOUND: Field = Field::new("found_mg_l", "mg/L").label("Found").within(0.0, 1e6);

/// What a sample may be of.
const OF: &[&str] = &["foreshots", "heart", "feints", "low_wines", "middle", "residue", "charge"];

/// An analysis.
pub(super) const ANALYSE: Kind = Kind {
    key: "analyse",
    title: "Analysis",
    does: "What a laboratory found in a cut, in the charge or in what was left, mg/L as it is",
    version: 1,
    writers: HANDS,
    touches: &[touch(Subject::Run, "run", Way::At)],
    after: Some(After { subject: Subject::Run, key: "run", kinds: &["charge"] }),
    draft: |reader, _, _| {
        let _ = whole(reader, &RUN);
        let _ = reader.choice("of", OF, Some("heart"));
        // By the name of the congener; `phenols` is the sum of them.
        let found = reader.named("found_mg_l", &FOUND);
        for word in ["laboratory", "sample", "remark"] {
            let _ = reader.optional_word(word);
        }
        if found.is_empty() && !reader.has("found_mg_l") {
            let wanted = "at least one congener with its mg/L";
            reader.fault(Fault::MissingPart { field: "found_mg_l".into(), wanted });
        }
    },
};
