//! When a piece will be ready, and how surely: what its constants, its weather and its own
//! unevenness leave open.

use gauge::{Fault, Field, Record};

use super::course;
use super::figures::{Charge, Constants, Programme, Vessel};
use super::piece::Setting;
use super::state::State;

/// Steps of these reckonings: differences are wanted, not the last hundredth of a kelvin.
const STEP_H: f64 = 0.1;
/// Standard uncertainty of a floor's air, the mean of its days behind thick walls; a design.
const AIR_DK: f64 = 0.5;
/// Hours that a point of water sensitivity leaves open: such grain comes on unevenly. A design.
const SENSITIVE_H: f64 = 0.15;
/// Hours that each further lot in the piece leaves open. A design.
const LOT_H: f64 = 6.0;
/// Hours for each unit by which acrospires spread more than an even piece's 0.15. A design.
const SPREAD_H: f64 = 60.0;
const EVEN_SD: f64 = 0.15;
/// Share of the delay from want of air that is not known. A design.
const LAG_SHARE: f64 = 0.5;
/// The quantile that leaves one in twenty on each side of a normal distribution.
const NINE_IN_TEN: f64 = 1.6449;

/// When a piece is ready, hours from casting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ready {
    /// Most likely.
    pub at_h: f64,
    /// Sooner in one case of twenty.
    pub from_h: f64,
    /// Later in one case of twenty.
    pub to_h: f64,
    /// Standard uncertainty.
    pub sd_h: f64,
}

impl Ready {
    fn around(at_h: f64, sd_h: f64, now_h: f64) -> Self {
        let reach = NINE_IN_TEN * sd_h;
        Self { at_h, from_h: (at_h - reach).max(now_h), to_h: at_h + reach, sd_h }
    }
}

/// Gives when a piece will be ready, with the band of nine cases in ten.
///
/// Every free constant and what was cast are moved by their standard uncertainties and the air by
/// half a kelvin; the band widens for grain that minds water (`charge.sensitivity_pct`), for each
/// further lot in the piece (`charge.lots`), and where acrospires spread widely.
///
/// `unfitted` is how much of the constants' uncertainty is left: 1 for a house that has fitted
/// none of them, for then they are designs and the band is days; less as its own pieces bear them
/// out, about `1/√n` after `n` pieces that were reckoned and found.
/// # Units
/// Hours from casting; `unfitted` 0 to 1.
/// # Range
/// As [`resume`](super::resume); `hand.hours` is passed over.
/// # Error
/// First order. What unevenness leaves open is a design.
/// # Source
/// Propagation of uncertainty.
pub fn ready(
    state: &State,
    charge: &Charge,
    vessel: &Vessel,
    programme: &Programme,
    constants: &Constants,
    unfitted: f64,
) -> Result<Ready, Fault> {
    Fault::check("unfitted", unfitted, "", 0.0..=1.0)?;
    super::check(charge, vessel, programme, constants)?;
    state.check()?;
    if let Some(at_h) = state.ready_h {
        return Ok(Ready::around(at_h, 0.0, at_h));
    }
    let mut until = programme.clone();
    until.hand.hours = None;
    let when = |state: &State, charge: &Charge, programme: &Programme, c: &Constants| {
        let run = course::lie(state, Setting { charge, vessel, programme, c }, STEP_H)?;
        Ok(run.out.hours)
    };
    let at_h = when(state, charge, &until, constants)?;
    let moved = |later: Result<f64, Fault>| match later {
        // A piece that a moved constant never makes ready says: very late.
        Err(Fault::NeverReached { .. }) => Ok(course::LONGEST_H - at_h),
        other => other.map(|hours| hours - at_h),
    };
    let mut variance = 0.0;
    for field in Constants::FIELDS.iter().filter(|field| field.fitted) {
        let one = stepped(constants, field);
        variance += moved(when(state, charge, &until, &one))?.powi(2);
    }
    variance *= unfitted * unfitted;
    for field in Charge::FIELDS.iter().filter(|field| field.sd > 0.0) {
        // The water cast stands in the state by now.
        if field.key == "moisture_wet" {
            let drier = State { moisture_wet: state.moisture_wet - field.sd, ..state.clone() };
            variance += moved(when(&drier, charge, &until, constants))?.powi(2);
        } else {
            let one = stepped(charge, field);
            variance += moved(when(state, &one, &until, constants))?.powi(2);
        }
    }
    variance += moved(when(state, charge, &warmer(&until), constants))?.powi(2);
    variance += (LAG_SHARE * charge.lag_h).powi(2);
    variance += (SENSITIVE_H * charge.sensitivity_pct).powi(2);
    variance += LOT_H * LOT_H * (charge.lots - 1.0);
    variance += (SPREAD_H * (constants.acrospire_sd - EVEN_SD).max(0.0)).powi(2);
    Ok(Ready::around(at_h, variance.sqrt(), state.time_h))
}

/// One figure moved by its standard uncertainty, up where its range has room.
fn stepped<R: Record + Clone>(record: &R, field: &Field) -> R {
    let mut one = record.clone();
    let value = record.figures().into_iter().find(|(f, _)| f.key == field.key);
    let value = value.and_then(|(_, value)| value).unwrap_or(0.0);
    let up = value + field.sd;
    one.set(field.key, if up <= field.high { up } else { value - field.sd });
    one
}

/// The same in air and on a floor a little warmer.
fn warmer(programme: &Programme) -> Programme {
    let mut moved = programme.clone();
    moved.hand.air_c += AIR_DK;
    moved.hand.floor_c += AIR_DK;
    for knot in &mut moved.air {
        knot.air_c += AIR_DK;
    }
    moved
}
