//! The draff pit: what lies in it, what comes, and when it is full.

use super::wished::Wished;
use crate::maltings::seen::later;
use house::{Equipment, House, Standing};
use jiff::Timestamp;

/// Dry matter of draff, a share: 23 % is printed in a feed table.
const DRAFF_DRY: f64 = 0.23;
/// Draff lies in the pit so long after mashing in, h.
const CAST_AFTER_H: f64 = 8.5;

/// Draff that will be carted away.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Uplift {
    /// When.
    pub at: Timestamp,
    /// Tonnes as carted; no more than lies there goes.
    pub t: f64,
}

/// The pit.
#[derive(Debug, Clone, PartialEq)]
pub struct Pit {
    /// Tonnes in it now, as carted.
    pub t: f64,
    /// What it holds.
    pub holds_t: f64,
    /// When it would be full.
    pub full_at: Option<Timestamp>,
    /// The mash whose draff finds no room.
    pub full_in: Option<u32>,
    /// Tonnes after each casting and carting.
    pub points: Vec<(Timestamp, f64)>,
}

/// Gives the pit from now on; none where the house has no pit for draff. `wet_t` is the draff of
/// one mash as carted.
///
/// # Units
/// t as carted.
/// # Range
/// The mashes and cartings it is given.
/// # Error
/// A few per cent: draff is weighed by the dry matter the book has, taken as 23 % of it.
/// # Source
/// The house's book.
pub fn pit(
    house: &House,
    standing: &Standing,
    coming: &[Wished],
    wet_t: f64,
    uplifts: &[Uplift],
    at: Timestamp,
) -> Option<Pit> {
    let holds_t = house.vessels("outlet").find_map(|v| match &v.what {
        Equipment::Outlet(own, _) if v.key.contains("draff") => Some(own.holds),
        _ => None,
    })?;
    let t = standing.draff_dry_kg / DRAFF_DRY / 1000.0;
    let under_way = standing.mashed.iter().filter(|m| m.draff.is_none());
    let begun = under_way.filter_map(|m| Some((m.mashed_in.as_ref()?.at, m.mash)));
    let next = coming.iter().map(|wished| (wished.at, wished.mash));
    let cast = begun.chain(next).map(|(when, mash)| (later(when, CAST_AFTER_H), wet_t, Some(mash)));
    let carted = uplifts.iter().map(|up| (up.at, -up.t, None));
    let mut events: Vec<_> = cast.chain(carted).filter(|(when, ..)| *when > at).collect();
    events.sort_by_key(|(when, ..)| *when);
    let mut out = Pit { t, holds_t, full_at: None, full_in: None, points: vec![(at, t)] };
    let mut lies_t = t;
    for (when, change_t, mash) in events {
        lies_t = (lies_t + change_t).max(0.0);
        if lies_t > holds_t && out.full_at.is_none() {
            out.full_at = Some(when);
            out.full_in = mash;
        }
        out.points.push((when, lies_t));
    }
    Some(out)
}
