//! Amounts in the book: integers in millionths of a commodity's unit.
//!
//! The scale is fixed for ever. A float becomes an amount at one place only, [`Amount::round`].

use std::fmt;
use std::ops::Neg;

/// Millionths of a kilogram, or of a litre of pure alcohol at 20 °C.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Hash)]
pub struct Amount(i64);

impl Amount {
    /// Nothing.
    pub const ZERO: Self = Self(0);
    /// The largest figure that [`Amount::round`] takes: a thousand million kilograms or litres.
    pub const MOST: f64 = 1e9;

    /// An amount from its millionths.
    pub const fn from_micro(micro: i64) -> Self {
        Self(micro)
    }
    /// The millionths.
    pub const fn micro(self) -> i64 {
        self.0
    }
    /// The one road from a reckoned figure to an amount: to the nearest millionth, halves away
    /// from nought. `None` when the figure is not a number or beyond [`Amount::MOST`].
    pub fn round(units: f64) -> Option<Self> {
        (units.abs() <= Self::MOST).then(|| Self((units * 1e6).round() as i64))
    }
    /// The figure in kilograms or litres, for showing and for reckoning on; never booked back.
    pub fn units(self) -> f64 {
        self.0 as f64 / 1e6
    }
    /// The sum, when it fits.
    pub fn checked_add(self, other: Self) -> Option<Self> {
        self.0.checked_add(other.0).map(Self)
    }
    /// The difference, when it fits.
    pub fn checked_sub(self, other: Self) -> Option<Self> {
        self.0.checked_sub(other.0).map(Self)
    }
}

impl Neg for Amount {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

impl fmt::Display for Amount {
    /// All six decimals, exactly: `-12.500000`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.0 < 0 { "-" } else { "" };
        let whole = self.0.unsigned_abs();
        write!(f, "{sign}{}.{:06}", whole / 1_000_000, whole % 1_000_000)
    }
}

/// Deals `total` out by `weights` (litres in each cask, say) so that the parts make the whole
/// exactly; each part is within one millionth of its fair share.
///
/// ```
/// use book::{Amount, share_out};
/// let parts = share_out(Amount::from_micro(100), &[1, 1, 1]);
/// assert_eq!(parts.iter().map(|p| p.micro()).sum::<i64>(), 100);
/// ```
pub fn share_out(total: Amount, weights: &[u64]) -> Vec<Amount> {
    let whole: i128 = weights.iter().map(|&w| i128::from(w)).sum();
    assert!(whole > 0, "no weights to share by");
    let total = i128::from(total.0);
    let (mut run, mut given) = (0_i128, 0_i128);
    weights
        .iter()
        .map(|&weight| {
            run += i128::from(weight);
            let upto = total * run / whole;
            let part = i64::try_from(upto - given).expect("a part is within the total");
            given = upto;
            Amount(part)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn halves_round_away_from_nought_and_what_is_no_number_is_no_amount() {
        assert_eq!(Amount::round(0.000_000_5), Some(Amount(1)));
        assert_eq!(Amount::round(-0.000_000_5), Some(Amount(-1)));
        assert_eq!(Amount::round(f64::NAN), None);
        assert_eq!(Amount::round(1.1e9), None);
        assert_eq!(Amount(-12_500_000).to_string(), "-12.500000");
    }

    proptest! {
        #[test]
        fn parts_make_the_whole_and_are_fair(
            total in -1_000_000_000_000_i64..1_000_000_000_000,
            weights in prop::collection::vec(0_u64..1_000_000, 1..40),
        ) {
            prop_assume!(weights.iter().sum::<u64>() > 0);
            let whole: u64 = weights.iter().sum();
            let parts = share_out(Amount(total), &weights);
            prop_assert_eq!(parts.iter().map(|p| p.0).sum::<i64>(), total);
            for (part, weight) in parts.iter().zip(&weights) {
                let fair = total as f64 * *weight as f64 / whole as f64;
                prop_assert!((part.0 as f64 - fair).abs() < 1.5, "{} for {fair}", part.0);
            }
        }
    }
}
