//! Predicted spirit yield: what a malt should give, from its laboratory mash.
//!
//! The maltster mashes a little, ferments the worts out and reports extract and fermentability.
//! Their product is the fermentable extract; times a factor it is the litres of pure alcohol to be
//! had from a tonne of malt as it is. It is the yardstick: a good plant comes to 97 or 98 % of it
//! (from memory).

use crate::Fault;
use crate::fault::Side;
use crate::quantity::Gravity;

/// Turns apparent into real attenuation, %. In use; 81.46 was found from 52 determinations.
pub const ATTENUATION_FACTOR: f64 = 81.4;
/// Litres of pure alcohol a tonne for each per cent of fermentable extract. In use and confirmed
/// for a mash like a distillery's; 6.11 was found for the 450 g laboratory mash.
pub const SPIRIT_FACTOR: f64 = 6.06;

/// Gives the fermentability of laboratory worts, F = 81.4 (OG − FG) / (OG − 1).
///
/// # Units
/// Gravities 20/20 to %.
/// # Range
/// An original gravity of 1.001 or more and the final no higher; else `Fault::Beyond`.
/// # Error
/// 0.5 % for a reading of 0.2 degree.
/// # Source
/// Factor: Bringhurst, Brosnan, McInnes and Steele, J. Inst. Brew. 102 (1996) 433. That it is
/// taken of excess gravities is from memory.
/// # Example
/// ```
/// use gauge::{Gravity, spirit_yield::{Laboratory, fermentability_pct}};
/// let worts = Laboratory {
///     original: Gravity::from_specific(1.0313)?,
///     last: Gravity::from_specific(0.998)?,
/// };
/// assert!((fermentability_pct(worts)? - 86.60).abs() < 0.01);
/// # Ok::<(), gauge::Fault>(())
/// ```
pub fn fermentability_pct(worts: Laboratory) -> Result<f64, Fault> {
    let (first, last) = (worts.original.specific(), worts.last.specific());
    let beyond = |field: &'static str, value, side, limit, sets: &'static str| {
        Err(Fault::Beyond { field: field.into(), value, unit: "", side, limit, sets: sets.into() })
    };
    if first < 1.001 {
        let sets = "there is no extract to speak of below it";
        return beyond("original_gravity", first, Side::AtLeast, 1.001, sets);
    }
    if last > first {
        return beyond("final_gravity", last, Side::AtMost, first, "the original gravity");
    }
    Ok(ATTENUATION_FACTOR * (first - last) / (first - 1.0))
}

/// Gravities of laboratory worts, before and fermented out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Laboratory {
    /// Before.
    pub original: Gravity,
    /// Fermented out.
    pub last: Gravity,
}

/// Extract and fermentability of a malt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Analysis {
    /// Soluble extract, % of malt, as is for a yield as is.
    pub soluble_extract_pct: f64,
    /// Fermentability, % of that extract.
    pub fermentability_pct: f64,
}

/// What a malt should give.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Predicted {
    /// Fermentable extract, % of malt on the basis of the extract.
    pub fermentable_extract_pct: f64,
    /// Litres of pure alcohol from a tonne of malt on that basis.
    pub pure_alcohol_l_t: f64,
}

/// Gives the predicted spirit yield of a malt, 6.06 times its fermentable extract.
///
/// # Units
/// % and % to L pure alcohol a tonne, on the basis (as is, or dry) of the extract.
/// # Range
/// Extract 0 to 100 %, fermentability 0 to 100 %; else `Fault::OutOfRange`.
/// # Error
/// A laboratory's highest: not every plant reaches it.
/// # Source
/// Bringhurst, Brosnan, McInnes and Steele, J. Inst. Brew. 102 (1996) 433, abstract.
/// # Example
/// ```
/// use gauge::spirit_yield::{Analysis, predict};
/// let malt = Analysis { soluble_extract_pct: 78.0, fermentability_pct: 87.0 };
/// assert!((predict(malt)?.pure_alcohol_l_t - 411.23).abs() < 0.01);
/// # Ok::<(), gauge::Fault>(())
/// ```
pub fn predict(malt: Analysis) -> Result<Predicted, Fault> {
    let range = 0.0..=100.0;
    let se = Fault::check("soluble_extract_pct", malt.soluble_extract_pct, "%", range.clone())?;
    let f = Fault::check("fermentability_pct", malt.fermentability_pct, "%", range)?;
    let fermentable_extract_pct = se * f / 100.0;
    Ok(Predicted {
        fermentable_extract_pct,
        pure_alcohol_l_t: SPIRIT_FACTOR * fermentable_extract_pct,
    })
}
