//! Letters of the laboratory about malt: each piece is sent, and peated malt waits for its answer.

use crate::grown::Dried;
use crate::told::{Clock, Diary, Hours, field, to};
use crate::truth::Truth;

/// A letter comes so long after stripping, h.
const LETTER_H: f64 = 74.0;
/// The piece whose first sample was of the bed's top alone, and what it then showed of the smoke.
const BAD_SAMPLE_PIECE: u32 = 27;
const BAD_SAMPLE: f64 = 0.62;
/// Between the first letter about it and the second, h.
const AGAIN_H: f64 = 96.0;

/// What was stripped.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Sent {
    pub(crate) piece: u32,
    pub(crate) make: &'static str,
    pub(crate) strip_h: Hours,
    pub(crate) moisture_wet: f64,
    pub(crate) phenols_mg_kg_dry: f64,
}

/// Whether malt of a make is held until the laboratory releases it.
pub(crate) fn waits(make: &str) -> bool {
    make == "ember"
}

/// Tells what the laboratory wrote.
pub(crate) fn tell(sent: Sent, dried: &Dried, diary: &mut Diary) {
    let at_h = Clock::next_in_watch(sent.strip_h + LETTER_H, 1.0);
    if sent.piece == BAD_SAMPLE_PIECE {
        let remark = "phenols far from the kiln sheet; send a sample through the whole bin";
        letter(&sent, at_h, (BAD_SAMPLE, "no", remark), dried, diary);
        letter(&sent, at_h + AGAIN_H, (1.0, "yes", "second sample"), dried, diary);
    } else {
        letter(&sent, at_h, (1.0, "yes", ""), dried, diary);
    }
}

fn letter(
    sent: &Sent,
    at_h: Hours,
    (smoke, release, remark): (f64, &str, &str),
    dried: &Dried,
    diary: &mut Diary,
) {
    let mut near = |value: f64, sd: f64, decimals| to(value + diary.chance.about(sd), decimals);
    let truth = Truth::of(sent.make);
    // A laboratory's fine grind finds a little more than the mash tun does.
    let extract = 100.0 * truth.extract + 0.8;
    let mut fields = vec![
        field("piece", f64::from(sent.piece)),
        field("moisture_wet", near(sent.moisture_wet, 0.0008, 4)),
        field("extract_pct_dry", near(extract, 0.25, 1)),
        field("nitrogen_pct_dry", near(if sent.make == "feather" { 1.9 } else { 1.48 }, 0.02, 2)),
    ];
    if sent.phenols_mg_kg_dry > 0.0 {
        let found = near(smoke * sent.phenols_mg_kg_dry, 0.02 * sent.phenols_mg_kg_dry, 1);
        fields.push(field("phenols_mg_kg_dry", found));
        fields.push(field("method", "distilled, by colour"));
        // The caution index of the kilning, read as µg/kg by this invented laboratory.
        let ndma = near(0.6 + 0.02 * dried.run.out.cure_h, 0.1, 1).max(0.1);
        fields.push(field("ndma_ug_kg", ndma));
    } else {
        fields.push(field("fermentability", near(0.872, 0.004, 3)));
    }
    fields.push(field("laboratory", "county laboratory"));
    fields.push(field("release", release));
    if !remark.is_empty() {
        fields.push(field("remark", remark));
    }
    diary.tell_as_distiller(at_h, "laboratory", fields);
}
