//! Flash point of spirit: how warm it must be before the air over it can catch fire.
//!
//! The vapour over the liquid must reach what pure ethanol gives at its own flash point:
//! `x γ(x, T) p°(T) = p°(T0)`, with `T0` 13 °C, in the middle of what is published for pure
//! ethanol by closed cup (12 to 16.6 °C). Water is taken to be neither fuel nor blanket.
//!
//! # Source
//! The condition is that of H.-J. Liaw, Y.-H. Lee, C.-L. Tang, H.-H. Hsu and J.-H. Liu, J. Loss
//! Prev. Process Ind. 15 (2002) 429; activity and vapour pressure are those of the still.

use crate::still::{Mixture, mole_fraction};
use gauge::Fault;

/// Flash point of pure ethanol, closed cup, °C.
const PURE_C: f64 = 13.0;
/// How far published figures lie apart, K: a caution stays on the near side of them.
const SPREAD_K: f64 = 2.0;
const KELVIN: f64 = 273.15;

/// Gives the flash point of spirit of `strength_pct` by closed cup, °C.
///
/// # Units
/// % vol at 20 °C in, °C out.
/// # Range
/// 5 to 97 % vol: weaker spirit flashes only near its boiling point.
/// # Error
/// 2 K from 25 % vol up, by the spread of what is published for pure ethanol; 6 K below, on the
/// low side.
/// # Source
/// As on the page above.
pub fn flash_c(strength_pct: f64) -> Result<f64, Fault> {
    Fault::check("strength_pct", strength_pct, "% vol", 5.0..=97.0)?;
    let mixture = Mixture::new(&crate::still::Constants::default());
    let partial = |x: f64, c: f64| {
        let (total, vapour) = mixture.pressure(x, c + KELVIN);
        total * vapour
    };
    let wanted = partial(1.0, PURE_C);
    let x = mole_fraction(strength_pct);
    let (mut low, mut high) = (0.0_f64, 99.0_f64);
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if partial(x, middle) < wanted {
            low = middle;
        } else {
            high = middle;
        }
    }
    Ok(f64::midpoint(low, high))
}

/// Gives the heat, in whole °C, from which a caution warns of spirit of `strength_pct`: the flash
/// point less the spread of what is published, rounded down.
///
/// # Units
/// % vol at 20 °C in, °C out.
/// # Range
/// That of [`flash_c`].
/// # Error
/// On the near side by design.
/// # Source
/// As on the page above.
pub fn warned_c(strength_pct: f64) -> Result<f64, Fault> {
    Ok((flash_c(strength_pct)? - SPREAD_K).floor())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_flash_point_meets_the_group_model_and_the_common_table() {
        // By modified UNIFAC (Dortmund) with the same condition, program library `thermo` 0.6.1:
        // another model of the same liquid, so within the 2 K that either may be off.
        for (strength, flash) in
            [(8.0, 51.5), (25.0, 33.8), (40.0, 28.2), (63.5, 23.4), (70.0, 22.2), (96.0, 15.2)]
        {
            let got = flash_c(strength).unwrap();
            assert!((got - flash).abs() <= 2.0, "{strength} % vol: {got} against {flash}");
        }
        assert!(flash_c(3.0).is_err() && flash_c(f64::NAN).is_err());
    }

    #[test]
    fn stronger_spirit_flashes_sooner_and_the_warning_comes_first() {
        let mut last = f64::MAX;
        for strength in [10.0, 20.0, 40.0, 60.0, 80.0, 95.0] {
            let flash = flash_c(strength).unwrap();
            assert!(flash < last, "{strength}");
            assert!(warned_c(strength).unwrap() <= flash - 2.0);
            last = flash;
        }
    }
}
