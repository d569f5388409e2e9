//! What the kiln should be fired with for wanted phenols, moisture and latest time.
//!
//! The search is the stage's own; here it is given the piece as it came off its floor, the kiln as
//! its air-off has shown it to be, and of a kiln that is lit the bed as it stands: only what lies
//! ahead may change.

use super::kilning::{Laden, bent_of};
use super::seen::hours;
use gauge::Fault;
use house::{House, KeptFiring, Malted, Standing};
use jiff::Timestamp;
use process::Watch;
use process::kiln::{self, Asked, Firing, Proposal, Wanted, Weights};

/// Lit for so long, a kiln stands otherwise than it was loaded, h.
const LIT_H: f64 = 0.25;

/// Gives what a make is wanted to be: its phenols, its kiln's moisture, no latest time.
///
/// # Units
/// As in [`Wanted`].
/// # Range
/// A make of the house.
/// # Error
/// Exact.
/// # Source
/// The house's files.
pub fn usual_wishes(house: &House, make: &str) -> Option<Wanted> {
    let make = house.make(make)?;
    Some(Wanted {
        phenols_mg_kg_dry: make.aim.phenols_mg_kg_dry,
        moisture_wet: make.kiln.ready_moisture_wet,
        ..Wanted::default()
    })
}

/// Gives the firing with the least fuel that keeps to what is wanted.
///
/// A piece that is not on the kiln is taken as lit at `at`; `wanted.by_h` counts from lighting.
/// The air of the firing is what the fan is set to by its plate. `watch` is told the share done
/// and stops the search by answering no.
///
/// # Units
/// As the fields say.
/// # Range
/// As [`process::kiln::propose`]: wishes that cannot hold together are its fault, which says what
/// would.
/// # Error
/// That of the kiln, see [`super::kilning()`].
/// # Source
/// A search over the kiln's own reckoning.
pub fn propose(
    house: &House,
    standing: &Standing,
    malted: &Malted,
    kept: Option<&KeptFiring>,
    wanted: &Wanted,
    at: Timestamp,
    watch: &mut Watch<'_>,
) -> Result<Proposal, Fault> {
    let laden = Laden::of(house, standing, malted, kept, at)?;
    let now_h = hours(laden.lit_at, at).max(0.0);
    let moved = bent_of(&laden, malted, now_h);
    let lit = malted.kiln.is_some() && now_h > LIT_H;
    let state = if lit { Some(laden.stands(&moved, now_h)?) } else { None };
    let air = moved.ln_air.exp();
    let most = Some(laden.most_returned.max(laden.firing.returned));
    let wanted = Wanted { returned_most: wanted.returned_most.or(most), ..wanted.clone() };
    let mut proposal = kiln::propose(
        &Asked {
            charge: &laden.charge,
            vessel: &laden.with_air(air),
            setting: &laden.setting,
            usual: &blown(&laden.firing, air),
            wanted: &wanted,
            weights: &Weights::default(),
            constants: &Laden::constants(&moved),
            from: state.as_ref(),
        },
        watch,
    )?;
    proposal.firing = blown(&proposal.firing, 1.0 / air);
    Ok(proposal)
}

/// A firing with its air times a factor.
fn blown(firing: &Firing, by: f64) -> Firing {
    Firing {
        flow_kg_m2_s: firing.flow_kg_m2_s * by,
        peat_flow_kg_m2_s: firing.peat_flow_kg_m2_s.map(|flow| flow * by),
        ..firing.clone()
    }
}
