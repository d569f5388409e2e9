//! The pot at one state: its slopes, and how far a cut's mark is still ahead.

use std::cell::Cell;

use gauge::Fault;
use numeric::runge_kutta::NoStep;

use super::amount::{Moles, mole_fraction, strength_pct};
use super::cut::{HeatStep, Until};
use super::equilibrium::Equilibrium;
use super::head::{self, Boiling, Draught, Guess, Hint, Leaving, Stalled};
use super::heat::{self, Liquids};
use super::pot::{Moment, Passage, Pot};

// Places in the state; the congeners' logarithms follow.
pub(super) const ETHANOL: usize = 0;
pub(super) const WATER: usize = 1;
pub(super) const ETHANOL_OVER: usize = 2;
pub(super) const WATER_OVER: usize = 3;
pub(super) const TIME: usize = 4;
pub(super) const HEAT_OVER: usize = 5;
pub(super) const HEAT_LOST: usize = 6;
pub(super) const FIRST_CONGENER: usize = 7;

/// Heats in the state are counted in this, J/mol, and time in how long it takes to put it in.
pub(super) const UNIT_J: f64 = 45_000.0;

/// A pot under its fire.
pub(super) struct Boil<'a, M> {
    pub(super) pot: &'a Pot<'a, M>,
    pub(super) charge_mol: f64,
    /// The fire now, W.
    pub(super) heat_w: Cell<f64>,
    boiling_k: Cell<f64>,
    hint: Hint,
    /// A second in the unit of time of the state.
    pub(super) second: f64,
}

/// Where a cut ends, in the terms of the state.
#[derive(Debug, Clone, Copy)]
pub(super) enum Mark {
    Time(f64),
    /// Mole fraction of the distillate.
    Strength(f64),
    /// Litres at 20 °C in all receivers, those of earlier cuts, and the state when this one began.
    Volume {
        all_l: f64,
        earlier_l: f64,
        began: Moles,
    },
    Fraction(f64),
}

impl Mark {
    /// The mark of a cut that begins at the state `began`, with `earlier_l` litres in the
    /// receivers of the cuts before it.
    pub(super) fn of(until: Until, began: &[f64], earlier_l: f64) -> Self {
        match until {
            Until::TimeS(time) => Self::Time(time),
            Until::StrengthPct(strength) => Self::Strength(mole_fraction(strength)),
            Until::ChargeFraction(fraction) => Self::Fraction(fraction),
            Until::VolumeL(all_l) => Self::Volume { all_l, earlier_l, began: over(began) },
        }
    }
}

impl<'a, M: Equilibrium> Boil<'a, M> {
    /// Under the first fire.
    pub(super) fn new(pot: &'a Pot<'a, M>) -> Self {
        let heat_w = pot.fire.as_ref().map_or(1.0, |f| f.steps[0].heat_w);
        let charge_mol = pot.charge.total_mol();
        Self {
            pot,
            charge_mol,
            heat_w: Cell::new(heat_w),
            boiling_k: Cell::new(365.0),
            hint: Hint::default(),
            second: heat_w / charge_mol / UNIT_J,
        }
    }

    /// The changes of the fire, the first from the start.
    pub(super) fn steps(&self) -> &'a [HeatStep] {
        self.pot.fire.as_ref().map_or(&[], |f| f.steps)
    }

    /// The pot full, nothing over.
    pub(super) fn full(&self) -> Vec<f64> {
        let mut state = vec![0.0; FIRST_CONGENER + self.pot.congeners.len()];
        state[ETHANOL] = self.pot.charge.ethanol_mol / self.charge_mol;
        state[WATER] = self.pot.charge.water_mol / self.charge_mol;
        state
    }

    /// From where the next solution is a short way off.
    pub(super) fn guess(&self) -> (f64, Guess) {
        (self.boiling_k.get(), self.hint.guess())
    }
    /// Starts from a guess kept earlier, under the fire of that time.
    pub(super) fn recall(&self, (boiling_k, guess): (f64, Guess), heat_w: f64) {
        self.boiling_k.set(boiling_k);
        self.hint.set(guess);
        self.heat_w.set(heat_w);
    }

    pub(super) fn moment(&self, y: &[f64]) -> Result<Moment, Stalled> {
        let pot = self.pot;
        let moles = y[ETHANOL] + y[WATER];
        let x = (y[ETHANOL] / moles).clamp(0.0, 1.0);
        let bubble = pot.mixture.boil(x, pot.pressure_pa, self.boiling_k.get());
        let boiling_k = bubble.boiling_k;
        self.boiling_k.set(boiling_k);
        let liquids = Liquids::at(boiling_k);
        let heat = liquids.mixed(x);
        let capacity = heat::liquid_capacity(x, boiling_k);
        let mut slope = liquids.ethanol - liquids.water + capacity * bubble.slope_k;
        let mut boiling = Boiling { x, bubble, heat, slope };
        let leaving = if let Some(fire) = &pot.fire {
            // The copper cools and warms with the pot: it is so much more liquid.
            slope += fire.copper_j_k / self.charge_mol / moles * bubble.slope_k;
            boiling.slope = slope;
            let draught = Draught {
                heat: self.heat_w.get() / self.charge_mol,
                loss: fire.head_loss_w_k / self.charge_mol,
                ambient_k: fire.ambient_k,
            };
            head::leaving(&pot.mixture, pot.pressure_pa, &boiling, &draught, &self.hint)?
        } else {
            Leaving {
                y: bubble.vapour,
                top_k: boiling_k,
                rate: f64::INFINITY,
                reflux: 0.0,
                liquor: x,
                heat: 0.0,
                lost: 0.0,
            }
        };
        Ok(Moment { time_s: y[TIME] / self.second, pot: boiling, leaving, over: over(y) })
    }

    pub(super) fn slope(&self, y: &[f64], dy: &mut [f64]) -> Result<(), Stalled> {
        let Moment { pot, leaving, .. } = self.moment(y)?;
        let moles = y[ETHANOL] + y[WATER];
        dy[ETHANOL_OVER] = moles * leaving.y;
        dy[WATER_OVER] = moles * (1.0 - leaving.y);
        dy[ETHANOL] = -dy[ETHANOL_OVER];
        dy[WATER] = -dy[WATER_OVER];
        let seconds = moles / leaving.rate;
        dy[TIME] = seconds * self.second;
        dy[HEAT_OVER] = moles * leaving.heat / UNIT_J;
        dy[HEAT_LOST] = seconds * leaving.lost / UNIT_J;
        let (back, forth) = (leaving.reflux, 1.0 - leaving.reflux);
        for (congener, dy) in self.pot.congeners.iter().zip(&mut dy[FIRST_CONGENER..]) {
            let factor = self.pot.volatility[congener.group as usize];
            let rising = factor * congener.ln_volatility(pot.x).exp();
            *dy = if back > 0.0 {
                let held = back * (-congener.ln_volatility(leaving.liquor)).exp() / factor;
                -rising / (forth + held)
            } else {
                -rising
            };
        }
        Ok(())
    }

    /// How far the mark is still ahead, in its own measure; nought or less once it is passed.
    pub(super) fn ahead(&self, mark: &Mark, y: &[f64]) -> f64 {
        match mark {
            Mark::Time(time) => time * self.second - y[TIME],
            Mark::Fraction(fraction) => fraction - y[ETHANOL_OVER] - y[WATER_OVER],
            Mark::Strength(fraction) => {
                self.moment(y).map_or(f64::NAN, |moment| moment.leaving.y - fraction)
            }
            Mark::Volume { .. } => {
                let all_l = self.reached(mark, y);
                let Mark::Volume { all_l: wanted, .. } = mark else {
                    return f64::NAN;
                };
                (wanted - all_l) / wanted
            }
        }
    }

    /// Where the run stands against the mark, in the unit of the case.
    pub(super) fn reached(&self, mark: &Mark, y: &[f64]) -> f64 {
        match mark {
            Mark::Time(_) => y[TIME] / self.second,
            Mark::Fraction(_) => y[ETHANOL_OVER] + y[WATER_OVER],
            Mark::Strength(_) => {
                self.moment(y).map_or(f64::NAN, |moment| strength_pct(moment.leaving.y))
            }
            Mark::Volume { earlier_l, began, .. } => {
                let now = over(y);
                let here = Moles {
                    ethanol_mol: now.ethanol_mol - began.ethanol_mol,
                    water_mol: now.water_mol - began.water_mol,
                };
                earlier_l + here.times(self.charge_mol).volume_20_l()
            }
        }
    }

    pub(super) fn passage(&self, from: &[f64], to: &[f64], end: Moment) -> Passage {
        let (before, after) = (over(from), over(to));
        let congeners = from[FIRST_CONGENER..]
            .iter()
            .zip(&to[FIRST_CONGENER..])
            .map(|(from, to)| 0.0 - from.exp() * (to - from).exp_m1())
            .collect();
        Passage {
            over: Moles {
                ethanol_mol: after.ethanol_mol - before.ethanol_mol,
                water_mol: after.water_mol - before.water_mol,
            }
            .times(self.charge_mol),
            congeners,
            end,
        }
    }

    pub(super) fn stalled(&self, stalled: Stalled, step: usize) -> Fault {
        let field = self.pot.fire.as_ref().map_or_else(String::new, |f| f.steps[step].path());
        Fault::Beyond {
            field: field.into(),
            value: self.heat_w.get(),
            unit: "W",
            side: gauge::fault::Side::AtLeast,
            limit: stalled.wanted * self.charge_mol,
            sets: "what head and neck lose, or the still stalls".into(),
        }
    }

    pub(super) fn fault(&self, trouble: &NoStep<Stalled>, step: usize) -> Fault {
        match trouble {
            NoStep::Slope(stalled) => self.stalled(*stalled, step),
            NoStep::TooSmall { at } | NoStep::TooMany { at } => {
                Fault::NotConverged { what: "course of the still", steps: 100_000, residual: *at }
            }
        }
    }
}

pub(super) fn over(y: &[f64]) -> Moles {
    Moles { ethanol_mol: y[ETHANOL_OVER], water_mol: y[WATER_OVER] }
}

/// Share of the charge's amount of the congener at `place` that has come over.
pub(super) fn congener_over(y: &[f64], place: usize) -> f64 {
    0.0 - y[FIRST_CONGENER + place].exp_m1()
}
