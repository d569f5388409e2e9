//! What a ready piece loses while it waits for the kiln.

use gauge::Fault;

use super::figures::{Charge, Constants, Programme, Vessel};
use super::state::State;
use super::{Run, resume};

/// A wait: what it takes of a piece.
#[derive(Debug, Clone, PartialEq)]
pub struct Waiting {
    /// Hours of it.
    pub hours: f64,
    /// Dry matter breathed away.
    pub breathed_kg: f64,
    /// The same for each hour.
    pub breathed_kg_h: f64,
    /// Share of the corns that outgrow their length in it.
    pub overgrown_fraction: f64,
    /// The same for each hour.
    pub overgrown_1_h: f64,
    /// Dry matter that is left as malt, less than before: what was breathed and what went into
    /// rootlets, which are taken off.
    pub malt_lost_kg: f64,
    /// The piece at the end of it.
    pub run: Run,
}

/// Gives what a piece loses while it waits, turned as the hand is used to turn it.
///
/// # Units
/// Hours from the state on; results kg and shares.
/// # Range
/// As [`resume`]; hours above nought, else `Fault::OutOfRange`.
/// # Error
/// As [`resume`].
/// # Source
/// [`resume`] over the hours.
pub fn waiting(
    state: &State,
    charge: &Charge,
    vessel: &Vessel,
    programme: &Programme,
    constants: &Constants,
    hours: f64,
) -> Result<Waiting, Fault> {
    Fault::check("hours", hours, "h", 0.01..=500.0)?;
    let mut on = programme.clone();
    on.hand.hours = Some(state.time_h + hours);
    on.hand.turn_from_h.get_or_insert(state.time_h);
    let run = resume(state, charge, vessel, &on, constants)?;
    let before =
        super::growth::overgrown(super::growth::acrospire(state.age_d), constants.acrospire_sd);
    let breathed_kg = state.dry_kg - run.out.dry_kg;
    let overgrown_fraction = run.out.overgrown_fraction - before;
    let malt = |dry_kg: f64, rootlets: f64| dry_kg * (1.0 - rootlets);
    Ok(Waiting {
        hours,
        breathed_kg,
        breathed_kg_h: breathed_kg / hours,
        overgrown_fraction,
        overgrown_1_h: overgrown_fraction / hours,
        malt_lost_kg: malt(state.dry_kg, state.rootlet_fraction)
            - malt(run.out.dry_kg, run.out.rootlet_fraction),
        run,
    })
}
