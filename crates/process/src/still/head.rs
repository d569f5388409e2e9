//! Head, neck and lyne arm as one partial condenser: what leaves over the bend, and how fast.
//!
//! Vapour `V` of mole fraction `y` rises from the pot; condensate `R` of fraction `x_R` runs back
//! and `D` of fraction `y_D` leaves, the two in equilibrium at `T_top`. With `ψ = R/V` and
//! `Q_L = UA (T_top - T_amb)`:
//! ```text
//! y = ψ x_R + (1 - ψ) y_D
//! D [h_V(y_D) - h - (y_D - x) h'] = Q - Q_L                pot and head together
//! V [h_V(y) - ψ h_L(x_R) - (1 - ψ) h_V(y_D)] = Q_L         head alone
//! ```
//! One unknown, the place of `x_R` between `x` and `y`. A head that condenses drop by drop has the
//! integral of the module `drops` in the place of the first line.

use std::cell::Cell;

use super::drops::Drops;
use super::equilibrium::{Bubble, Equilibrium};
use super::fittings::Head;
use super::heat::{self, Liquids};

/// The pot as the head sees it, per mole of charge.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Boiling {
    /// Ethanol mole fraction of the liquid.
    pub(crate) x: f64,
    /// Boiling point and vapour.
    pub(crate) bubble: Bubble,
    /// Heat of the liquid, J/mol.
    pub(crate) heat: f64,
    /// Its slope along the boiling curve, copper included, J/mol per mole fraction.
    pub(crate) slope: f64,
}

/// The fire under the pot and the cold about the head, per mole of charge.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Draught {
    /// Heat into the liquid, W/mol.
    pub(crate) heat: f64,
    /// Heat lost by head and neck, W/K/mol.
    pub(crate) loss: f64,
    /// Air about the head, K.
    pub(crate) ambient_k: f64,
    /// How the head condenses.
    pub(crate) head: Head,
    /// Whether the heat of mixing is reckoned.
    pub(crate) mixing: bool,
}

/// What leaves the head.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Leaving {
    /// Ethanol mole fraction of the vapour that leaves.
    pub(crate) y: f64,
    /// Its temperature, K.
    pub(crate) top_k: f64,
    /// How fast, moles a second per mole of charge.
    pub(crate) rate: f64,
    /// Share of the vapour that runs back.
    pub(crate) reflux: f64,
    /// Ethanol mole fraction of what runs back.
    pub(crate) liquor: f64,
    /// Heat of the vapour that leaves, J/mol.
    pub(crate) heat: f64,
    /// Heat lost to the air, W/mol.
    pub(crate) lost: f64,
}

/// Nothing leaves: the head loses more than the fire gives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Stalled {
    /// Heat that the head would take, W/mol of charge.
    pub(crate) wanted: f64,
}

/// The last solution, from which the next is a short way off.
#[derive(Debug, Clone, Default)]
pub(crate) struct Hint {
    place: Cell<Option<(f64, f64)>>,
    top_k: Cell<f64>,
}

/// One trial of the unknown.
struct Trial<'a, M> {
    mixture: &'a M,
    pressure_pa: f64,
    pot: &'a Boiling,
    draught: &'a Draught,
    /// Heat of the vapour that rises, J/mol.
    rising: f64,
    hint: &'a Hint,
}

/// Gives what leaves the head over a boiling pot.
pub(crate) fn leaving<M: Equilibrium>(
    mixture: &M,
    pressure_pa: f64,
    pot: &Boiling,
    draught: &Draught,
    hint: &Hint,
) -> Result<Leaving, Stalled> {
    let Boiling { x, bubble, heat, .. } = *pot;
    let (y, boiling_k) = (bubble.vapour, bubble.boiling_k);
    let rising = heat::vapour(y, boiling_k);
    let lost = draught.loss * (boiling_k - draught.ambient_k);
    // Without loss nothing condenses; of one component alone the heats say how much.
    if lost <= 0.0 || (y - x).abs() < 1e-12 {
        let lost = lost.max(0.0);
        let rate = (draught.heat - lost) / (rising - heat - (y - x) * pot.slope);
        return if rate > 0.0 {
            Ok(Leaving {
                y,
                top_k: boiling_k,
                rate,
                reflux: lost / draught.heat,
                liquor: x,
                heat: rising,
                lost,
            })
        } else {
            Err(Stalled { wanted: lost })
        };
    }
    let stalled = Stalled { wanted: lost };
    let trial = Trial { mixture, pressure_pa, pot, draught, rising, hint };
    let found = trial.near_the_last().or_else(|| trial.anywhere());
    found.ok_or(stalled)
}

/// A solution kept, from which another is sought: place, steepness and temperature of the head.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Guess {
    place: Option<(f64, f64)>,
    top_k: f64,
}

impl Hint {
    pub(crate) fn guess(&self) -> Guess {
        Guess { place: self.place.get(), top_k: self.top_k.get() }
    }
    pub(crate) fn set(&self, guess: Guess) {
        self.place.set(guess.place);
        self.top_k.set(guess.top_k);
    }
}

impl<M: Equilibrium> Trial<'_, M> {
    /// The miss of the head's own heat balance, as a share of the fire, with `x_R` at `place`.
    fn miss(&self, place: f64) -> Option<(f64, Leaving)> {
        let (x, y) = (self.pot.x, self.pot.bubble.vapour);
        let liquor = x + place * (y - x);
        let guess = self.hint.top_k.get();
        let guess = if guess > 0.0 { guess } else { self.pot.bubble.boiling_k };
        let head = self.mixture.boil(liquor, self.pressure_pa, guess);
        self.hint.top_k.set(head.boiling_k);
        let (y_d, top_k) = (head.vapour, head.boiling_k);
        let liquids = Liquids::at(top_k);
        let heat = liquids.mixed(y_d) + heat::vaporisation(y_d, top_k);
        let lost = self.draught.loss * (top_k - self.draught.ambient_k);
        let rate = (self.draught.heat - lost) / (heat - self.pot.heat - (y_d - x) * self.pot.slope);
        // The share that runs back, and the heat it takes along per mole that came up.
        let (reflux, back) = match self.draught.head {
            Head::Single => {
                let reflux = (y_d - y) / (y_d - liquor);
                let mixed = if self.draught.mixing { heat::of_mixing(liquor, top_k) } else { 0.0 };
                (reflux, reflux * (liquids.mixed(liquor) + mixed))
            }
            Head::Differential => {
                let drops = Drops::of(self.mixture, self.pressure_pa, self.pot, (liquor, &head));
                (1.0 - drops.passing(), drops.heat(self.draught.mixing))
            }
        };
        let taken = self.rising - back - (1.0 - reflux) * heat;
        let miss = (rate * taken - (1.0 - reflux) * lost) / self.draught.heat;
        let leaving = Leaving { y: y_d, top_k, rate, reflux, liquor, heat, lost };
        (rate > 0.0 && miss.is_finite()).then_some((miss, leaving))
    }

    /// By secants from the last solution; gives up where that strays.
    fn near_the_last(&self) -> Option<Leaving> {
        let (mut place, mut steepness) = self.hint.place.get()?;
        let mut miss = self.miss(place)?.0;
        for _ in 0..8 {
            let next = place - miss / steepness;
            if !(next > 0.0 && next < 1.0) {
                return None;
            }
            let (before, miss_before) = (place, miss);
            place = next;
            let leaving;
            (miss, leaving) = self.miss(place)?;
            if miss.abs() <= CLOSE {
                self.hint.place.set(Some((place, steepness)));
                return Some(leaving);
            }
            steepness = (miss - miss_before) / (place - before);
        }
        None
    }

    /// By doubling steps up from nothing condensed, then Brent's method.
    fn anywhere(&self) -> Option<Leaving> {
        let (mut low, mut high) = (0.0, 1e-3);
        while self.miss(high)?.0 < 0.0 {
            low = high;
            high = (2.0 * high).min(0.5 * (1.0 + high));
            if 1.0 - high < 1e-6 {
                return None;
            }
        }
        let bracket = numeric::roots::Bracket { low, high, tolerance: 1e-15 };
        let place = numeric::roots::brent(bracket, |s| self.miss(s).map_or(f64::NAN, |m| m.0));
        let place = place.ok()?;
        let (miss, leaving) = self.miss(place)?;
        let near = self.miss(place * (1.0 + 1e-4))?.0;
        let steepness = (near - miss) / (place * 1e-4);
        self.hint.place.set(Some((place, steepness)));
        Some(leaving)
    }
}

/// Miss of the head's heat balance, as a share of the fire, that is taken as none.
const CLOSE: f64 = 1e-12;
