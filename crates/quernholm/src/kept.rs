//! The cuts that are kept for each make, and when the distiller decided on them.

use crate::stills::Heart;
use crate::told::{Diary, Hours, field};

/// A decision.
struct Decision {
    at_h: Hours,
    make: &'static str,
    heart: Heart,
    reason: &'static str,
}

const fn heart(from_min: f64, to_pct: f64) -> Heart {
    Heart { from_min, to_pct }
}

/// At the start, and one change midway: Pale was cut a little early.
const DECISIONS: [Decision; 4] = [
    Decision { at_h: 7.0, make: "pale", heart: heart(12.0, 66.0), reason: "as last season" },
    Decision { at_h: 7.1, make: "feather", heart: heart(10.0, 68.0), reason: "as last season" },
    Decision { at_h: 7.2, make: "ember", heart: heart(20.0, 59.0), reason: "as last season" },
    Decision {
        at_h: 3.0 * 168.0 + 9.5,
        make: "pale",
        heart: heart(12.0, 65.0),
        reason: "nothing feinty at 66, a longer heart",
    },
];

/// Tells all of them.
pub(crate) fn tell(diary: &mut Diary) {
    for decision in &DECISIONS {
        diary.tell(
            decision.at_h,
            "cuts",
            [
                field("make", decision.make),
                field("heart_from_min", decision.heart.from_min),
                field("heart_to_pct", decision.heart.to_pct),
                field("reason", decision.reason),
            ],
        );
    }
}

/// The cuts of a make at an hour.
pub(crate) fn at(make: &str, at_h: Hours) -> Heart {
    let of_make = DECISIONS.iter().filter(|d| d.make == make);
    let held = of_make.clone().rfind(|d| d.at_h <= at_h);
    held.or_else(|| of_make.clone().next()).map_or(heart(12.0, 65.0), |d| d.heart)
}
