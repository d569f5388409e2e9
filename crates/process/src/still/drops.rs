//! A head that condenses drop by drop: each drop runs back as it forms and meets the vapour no
//! more. Along the neck, with `x*` the liquid in equilibrium with the vapour `y`,
//! ```text
//! d ln V = dy / (x* - y)          d ln(V y_i) / d ln V = 1 / K_i(x*)
//! ```
//! The first drop has the composition of the pot, for its vapour is in equilibrium with it. With
//! `ln x*` as the variable all integrands are smooth, and five places with the weights of the
//! quartic through them do: to 1e-6 up to half the vapour condensed.
//!
//! # Source
//! Lord Rayleigh, Phil. Mag. 4 (1902) 521: his equation, read for a vapour that condenses.

use super::congener::Congener;
use super::equilibrium::{Bubble, Equilibrium};
use super::head::Boiling;
use super::heat::{Liquids, of_mixing};

/// Places along the neck.
const PLACES: usize = 5;
/// Weights of the integrals of the quartic through five even places, from the first up to each.
const WEIGHTS: [[f64; PLACES]; PLACES] = [
    [0.0; PLACES],
    [251.0 / 720.0, 646.0 / 720.0, -264.0 / 720.0, 106.0 / 720.0, -19.0 / 720.0],
    [29.0 / 90.0, 124.0 / 90.0, 24.0 / 90.0, 4.0 / 90.0, -1.0 / 90.0],
    [27.0 / 80.0, 102.0 / 80.0, 72.0 / 80.0, 42.0 / 80.0, -3.0 / 80.0],
    [14.0 / 45.0, 64.0 / 45.0, 24.0 / 45.0, 64.0 / 45.0, 14.0 / 45.0],
];

/// What condenses along the neck.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Drops {
    /// Mole fraction of ethanol of the drops at each place, and their temperature, K.
    x: [f64; PLACES],
    boiling_k: [f64; PLACES],
    /// Fall of ln V with the place: what each place adds, without its weight.
    fall: [f64; PLACES],
    /// Vapour that is left at each place, per mole that came up.
    left: [f64; PLACES],
}

impl Drops {
    /// From the pot to the last drop of mole fraction `last`, whose bubble is at hand.
    pub(crate) fn of<M: Equilibrium>(
        mixture: &M,
        pressure_pa: f64,
        pot: &Boiling,
        (last, bubble): (f64, &Bubble),
    ) -> Self {
        let step = (last / pot.x).ln() / (PLACES - 1) as f64;
        let mut one = Self {
            x: [0.0; PLACES],
            boiling_k: [0.0; PLACES],
            fall: [0.0; PLACES],
            left: [1.0; PLACES],
        };
        for place in 0..PLACES {
            let share = place as f64 / (PLACES - 1) as f64;
            let (x, drop) = match place {
                0 => (pot.x, pot.bubble),
                4 => (last, *bubble),
                _ => {
                    let x = pot.x * (step * place as f64).exp();
                    let guess =
                        pot.bubble.boiling_k + share * (bubble.boiling_k - pot.bubble.boiling_k);
                    (x, mixture.boil(x, pressure_pa, guess))
                }
            };
            one.x[place] = x;
            one.boiling_k[place] = drop.boiling_k;
            one.fall[place] = step * x * drop.vapour_slope / (drop.vapour - x);
        }
        for (weights, left) in WEIGHTS.iter().zip(&mut one.left) {
            let sum: f64 = weights.iter().zip(&one.fall).map(|(w, f)| w * f).sum();
            *left = (-sum).exp();
        }
        one
    }

    /// Share of the vapour that leaves.
    pub(crate) fn passing(&self) -> f64 {
        self.left[PLACES - 1]
    }

    /// Heat that the drops take back, J per mole of vapour that came up.
    pub(crate) fn heat(&self, mixing: bool) -> f64 {
        self.sum(|place| {
            let (x, t) = (self.x[place], self.boiling_k[place]);
            let mixed = if mixing { of_mixing(x, t) } else { 0.0 };
            self.left[place] * (Liquids::at(t).mixed(x) + mixed)
        })
    }

    /// Share of a congener that came up with the vapour and leaves with it, `factor` on its K.
    pub(crate) fn passes(&self, congener: &Congener, factor: f64) -> f64 {
        let held = self.sum(|place| (-congener.ln_volatility(self.x[place])).exp() / factor);
        (-held).exp()
    }

    /// The integral over the whole fall of ln V of what `of` gives at each place.
    fn sum(&self, of: impl Fn(usize) -> f64) -> f64 {
        let weights = WEIGHTS[PLACES - 1].iter().zip(&self.fall);
        weights.enumerate().map(|(place, (weight, fall))| weight * fall * of(place)).sum()
    }
}
