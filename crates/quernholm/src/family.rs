//! Changes of family in the spirit stills: which hearts are transition spirit, and how each heart
//! is truly cut.

use crate::stillhouse::House;
use crate::told::{Clock, Hours};
use crate::{kept, nosing, truth};
use std::collections::BTreeMap;

/// What the spirit stills have run since the family last changed.
#[derive(Debug, Default)]
pub(crate) struct Family {
    pub(crate) ember: bool,
    /// Spirit runs since.
    pub(crate) since: u32,
    /// Runs whose heart is still transition spirit.
    pub(crate) transition: u32,
    /// Hearts of each make so far.
    pub(crate) hearts: BTreeMap<&'static str, u32>,
}

/// Spirit runs after Ember that are kept apart, as the house file says.
const TRANSITION_RUNS: u32 = 2;

/// How the heart of a spirit run will truly be cut: by the kept cuts, a hydrometer that may
/// read high, and a hand. Keeps count of what ran since the family changed.
pub(crate) fn heart(
    house: &mut House<'_>,
    at_h: Hours,
    make: &'static str,
    run: u32,
) -> nosing::Heart {
    let family = &mut house.family;
    let ember = make == "ember";
    if family.ember != ember {
        family.transition = if family.ember { TRANSITION_RUNS } else { 0 };
        (family.ember, family.since) = (ember, 0);
    }
    let transition = family.transition > 0;
    family.transition = family.transition.saturating_sub(1);
    family.since += 1;
    let kept = kept::at(make, at_h);
    let off = truth::hydrometer_pct(Clock::week(at_h));
    nosing::Heart {
        run,
        make,
        to_pct: kept.to_pct - off + house.diary.chance.about(0.12),
        from_min: kept.from_min + house.diary.chance.about(0.6),
        ferment_h: house.stood_h,
        since_change: family.since - 1,
        transition,
    }
}
