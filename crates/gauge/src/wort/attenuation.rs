//! Attenuation: how far the extract has gone, and the alcohol that came of it.
//!
//! A saccharometer in wash reads low, because alcohol is lighter than water: the drop it shows is
//! apparent. Balling's balance gives the real one: 2.0665 g of extract make 1 g of ethanol,
//! 0.9565 g of carbon dioxide and 0.11 g of dry yeast.

use super::kernel;
use crate::Fault;
use crate::alcoholometry::kernel::ETHANOL_KG_M3;
use crate::fault::Side;
use crate::quantity::{Gravity, Plato, Strength};

/// Which of Balling's relations gives the alcohol.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// By the attenuation quotient 1.22 + 0.001 OE. The better in fully attenuated wash.
    Quotient,
    /// By real extract 0.1808 OE + 0.8192 AE, some 0.1 % vol more where the wash is below water.
    Balling,
}

impl Method {
    /// The words on forms and in tables, the first the default.
    pub const WORDS: [&'static str; 2] = ["quotient", "balling"];

    /// Gives the word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Quotient => Self::WORDS[0],
            Self::Balling => Self::WORDS[1],
        }
    }
}

/// Gravity of the worts and of the wash.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gravities {
    /// Before fermentation.
    pub original: Gravity,
    /// Now, or at the end.
    pub present: Gravity,
}

/// What an attenuation comes to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Attenuation {
    /// Original extract.
    pub original: Plato,
    /// Apparent extract, from the wash's gravity; below nought in good wash.
    pub apparent: Plato,
    /// Real extract, per cent by mass of the wash.
    pub real_extract_pct: f64,
    /// Apparent attenuation, % of the original extract.
    pub apparent_pct: f64,
    /// Real attenuation, % of the original extract.
    pub real_pct: f64,
    /// Ethanol, % by mass of the wash.
    pub alcohol_mass_pct: f64,
    /// Strength of the wash.
    pub alcohol: Strength,
    /// How it was reckoned.
    pub method: Method,
}

/// Gives extract, attenuation and alcohol from original and present gravity.
///
/// With OE and AE the original and apparent extract, A ethanol and RE real extract, % by mass:
/// quotient A = (OE − AE) / [(2.0665 − 0.010665 OE)(1.22 + 0.001 OE)] and RE from
/// OE = 100 (2.0665 A + RE) / (100 + 1.0665 A); balling RE = 0.1808 OE + 0.8192 AE and
/// A = (OE − RE) / (2.0665 − 0.010665 OE). Strength = A S ρ_water / ρ_ethanol.
///
/// # Units
/// Gravities 20/20.
/// # Range
/// An original gravity of 1.001 or more, the present no higher; else `Fault::Beyond`.
/// # Error
/// The relation itself: 0.15 °P in the original extract, about 0.08 % vol (532 brews).
/// # Source
/// Nielsen, Kristiansen, Krieger Lassen and Erikstrøm, Balling's formula: scrutiny of a brewing
/// dogma; the quotient and the approximation of real extract from memory, the former checked
/// against 31 printed factors; bias from Cutaia, Reid and Speers, J. Inst. Brew. 115 (2009) 318.
/// # Example
/// ```
/// use gauge::{Gravity, wort::attenuation::{Gravities, Method, attenuate}};
/// let at = Gravities {
///     original: Gravity::from_specific(1.058)?,
///     present: Gravity::from_specific(0.998)?,
/// };
/// let wash = attenuate(at, Method::Balling)?;
/// assert!((wash.alcohol_mass_pct - 6.3314).abs() < 1e-3);
/// assert!((wash.alcohol.percent() - 7.992).abs() < 0.01);
/// # Ok::<(), gauge::Fault>(())
/// ```
pub fn attenuate(of: Gravities, method: Method) -> Result<Attenuation, Fault> {
    let beyond = |field: &'static str, value: f64, side, limit: f64, sets: &'static str| {
        Err(Fault::Beyond { field: field.into(), value, unit: "", side, limit, sets: sets.into() })
    };
    let (first, now) = (of.original.specific(), of.present.specific());
    if first < 1.001 {
        let sets = "there is no extract to speak of below it";
        return beyond("original_gravity", first, Side::AtLeast, 1.001, sets);
    }
    if now > first {
        return beyond("final_gravity", now, Side::AtMost, first, "the original gravity");
    }
    let oe = kernel::plato_of_gravity(first);
    let ae = kernel::plato_of_gravity(now);
    let balance = 2.0665 - 0.010665 * oe;
    let (a, re) = match method {
        Method::Quotient => {
            let a = (oe - ae) / (balance * (1.22 + 0.001 * oe));
            (a, oe * (100.0 + 1.0665 * a) / 100.0 - 2.0665 * a)
        }
        Method::Balling => {
            let re = 0.1808 * oe + 0.8192 * ae;
            ((oe - re) / balance, re)
        }
    };
    Ok(Attenuation {
        original: Plato(oe),
        apparent: Plato(ae),
        real_extract_pct: re,
        apparent_pct: 100.0 * (oe - ae) / oe,
        real_pct: 100.0 * (oe - re) / oe,
        alcohol_mass_pct: a,
        alcohol: Strength::from_percent(a * now * kernel::WATER_20_KG_M3 / ETHANOL_KG_M3)?,
        method,
    })
}

/// Gives the mass of wash that comes of a mass of worts: the carbon dioxide has left it.
///
/// m_wash = m_worts · 100 / (100 + 0.9565 A), the yeast left in.
///
/// # Units
/// kg and % by mass of the wash to kg.
/// # Range
/// Not checked.
/// # Error
/// 1e-3.
/// # Source
/// Balling's balance, as in [`attenuate`].
/// # Example
/// ```
/// let kg = gauge::wort::attenuation::wash_kg(5280.5, 6.3314);
/// assert!((kg - 4979.0).abs() < 0.1);
/// ```
pub fn wash_kg(worts_kg: f64, alcohol_mass_pct: f64) -> f64 {
    worts_kg * 100.0 / (100.0 + 0.9565 * alcohol_mass_pct)
}

/// Upper ends of the bands of the gravity drop, in degrees, and % vol per degree in each.
const EXCISE: [(f64, f64); 11] = [
    (6.9, 0.125),
    (10.4, 0.126),
    (17.2, 0.127),
    (26.1, 0.128),
    (36.0, 0.129),
    (46.5, 0.130),
    (57.1, 0.131),
    (67.9, 0.132),
    (78.8, 0.133),
    (89.7, 0.134),
    (100.7, 0.135),
];

/// Gives the alcohol of a wash by the excise's table of gravity drops, a beer table that serves as
/// a second opinion. For the record the strength is cut, not rounded, to a tenth.
///
/// # Units
/// Gravities 20/20 to % vol.
/// # Range
/// A drop of 0 to 100.7 degrees; else `Fault::OutOfRange`.
/// # Error
/// 0.1 % vol at the step of each band.
/// # Source
/// The United Kingdom's table of factors for alcohol from the drop in gravity, from memory: to be
/// confirmed against the notice in force before any legal use.
/// # Example
/// ```
/// use gauge::{Gravity, wort::attenuation::{Gravities, by_excise_table}};
/// let original = Gravity::from_specific(1.057)?;
/// let present = Gravity::from_specific(1.018)?;
/// assert!((by_excise_table(Gravities { original, present })? - 5.07).abs() < 1e-9);
/// # Ok::<(), gauge::Fault>(())
/// ```
pub fn by_excise_table(of: Gravities) -> Result<f64, Fault> {
    // To a tenth of a degree first, as the bands are.
    let drop = (10.0 * (of.original.degrees() - of.present.degrees())).round() / 10.0;
    let drop = Fault::check("drop", drop, "degrees", 0.0..=100.7)?;
    let factor = EXCISE.iter().find(|(upto, _)| drop <= *upto).map_or(0.135, |(_, f)| *f);
    Ok(drop * factor)
}
