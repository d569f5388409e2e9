//! What a laboratory found in the malt of a piece, and whether it may be used.

use super::fields::{MALT_MOISTURE, NITROGEN, PHENOLS, PIECE, UNSAID, said, whole};
use super::{After, HANDS, Kind, Subject, Way, touch};
use gauge::{Fault, Field};

const FOUND_PHENOLS: Field = Field { default: None, ..PHENOLS };
const EXTRACT: Field =
    Field::new("extract_pct_dry", "% of dry malt").label("Soluble extract").within(40.0, 95.0);
const FERMENTABILITY: Field =
    Field::new("fermentability", "").label("Share of extract that ferments").within(0.3, 1.0);
const NDMA: Field = Field::new("ndma_ug_kg", "µg/kg").label("Nitrosamine").within(0.0, 1000.0);

/// An analysis of malt.
pub(super) const LABORATORY: Kind = Kind {
    key: "laboratory",
    title: "Malt analysis",
    does: "What a laboratory found in the malt of a piece; the malt released or held",
    version: 1,
    writers: HANDS,
    touches: &[touch(Subject::Piece, "piece", Way::At)],
    after: Some(After { subject: Subject::Piece, key: "piece", kinds: &["strip"] }),
    draft: |reader, _, _| {
        let _ = whole(reader, &PIECE);
        let fields = [&MALT_MOISTURE, &FOUND_PHENOLS, &EXTRACT, &FERMENTABILITY, &NITROGEN, &NDMA];
        let found = fields.into_iter().filter(|field| reader.optional(field).is_some()).count();
        for word in ["method", "laboratory", "sample"] {
            let _ = reader.optional_word(word);
        }
        let release = said(reader, "release");
        let _ = reader.optional_word("remark");
        if found == 0 && release == UNSAID {
            reader.fault(Fault::MissingPart {
                field: "moisture_wet".into(),
                wanted: "at least one figure that was found, or release yes or no",
            });
        }
    },
};
