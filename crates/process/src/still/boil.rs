//! The pot at one state: its slopes, and how far a cut's mark is still ahead.

use std::cell::Cell;

use gauge::Fault;
use numeric::runge_kutta::NoStep;

use super::amount::{Moles, mole_fraction, strength_pct};
use super::cut::{HeatStep, Until};
use super::drops::Drops;
use super::equilibrium::{Equilibrium, WATER_G_MOL};
use super::fittings::Head;
use super::head::{self, Boiling, Draught, Guess, Hint, Leaving, Stalled};
use super::heat;
use super::pot::{Fire, Moment, Passage, Pot};

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
    /// Condenser and tail have filled and the first spirit runs.
    Filled,
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

/// A pot under its fire.
pub(super) struct Boil<'a, M> {
    pub(super) pot: &'a Pot<'a, M>,
    pub(super) charge_mol: f64,
    /// The fire now, W.
    pub(super) heat_w: Cell<f64>,
    /// Open steam now, mol/s per mole of charge.
    pub(super) steam: Cell<f64>,
    /// Condenser and tail still fill: nothing runs at the safe.
    pub(super) filling: Cell<bool>,
    boiling_k: Cell<f64>,
    hint: Hint,
    /// A second in the unit of time of the state.
    pub(super) second: f64,
    /// Where what forms in the heat stands in the state, and where what is held up begins; beyond
    /// the state where there is none.
    formed: usize,
    hold: usize,
}

impl<'a, M: Equilibrium> Boil<'a, M> {
    /// Under the first fire.
    pub(super) fn new(pot: &'a Pot<'a, M>) -> Self {
        let charge_mol = pot.charge.total_mol();
        let formed = FIRST_CONGENER + pot.congeners.len();
        let mut one = Self {
            pot,
            charge_mol,
            heat_w: Cell::new(1.0),
            steam: Cell::new(0.0),
            filling: Cell::new(false),
            boiling_k: Cell::new(365.0),
            hint: Hint::default(),
            second: 1.0 / charge_mol / UNIT_J,
            formed,
            hold: formed + usize::from(pot.fittings.forming.is_some()),
        };
        if let Some(fire) = &pot.fire {
            one.light(&fire.steps[0]);
            let steam_w = one.steam.get() * charge_mol * UNIT_J;
            one.second = (one.heat_w.get() + steam_w) / charge_mol / UNIT_J;
        }
        one
    }

    /// Sets fire and steam to those of a step.
    pub(super) fn light(&self, step: &HeatStep) {
        self.heat_w.set(step.heat_w);
        self.steam.set(1e3 * step.steam_kg_s / WATER_G_MOL / self.charge_mol);
    }

    /// The changes of the fire, the first from the start.
    pub(super) fn steps(&self) -> &'a [HeatStep] {
        self.pot.fire.as_ref().map_or(&[], |f| f.steps)
    }

    /// Whether something stands in condenser and tail.
    pub(super) fn lags(&self) -> bool {
        self.pot.fittings.hold_20_l > 0.0
    }

    /// The pot full, nothing over.
    pub(super) fn full(&self) -> Vec<f64> {
        let kinds = self.pot.congeners.len();
        let held = if self.lags() { 2 + kinds } else { 0 };
        let mut state = vec![0.0; self.hold + held];
        state[ETHANOL] = self.pot.charge.ethanol_mol / self.charge_mol;
        state[WATER] = self.pot.charge.water_mol / self.charge_mol;
        state
    }

    /// From where the next solution is a short way off.
    pub(super) fn guess(&self) -> (f64, Guess) {
        (self.boiling_k.get(), self.hint.guess())
    }
    /// Starts from a guess kept earlier, under the fire of that time.
    pub(super) fn recall(&self, (boiling_k, guess): (f64, Guess), step: &HeatStep) {
        self.boiling_k.set(boiling_k);
        self.hint.set(guess);
        self.light(step);
    }

    pub(super) fn moment(&self, y: &[f64]) -> Result<Moment, Stalled> {
        let pot = self.pot;
        let moles = y[ETHANOL] + y[WATER];
        let x = (y[ETHANOL] / moles).clamp(0.0, 1.0);
        let bubble = pot.mixture.boil(x, pot.pressure_pa, self.boiling_k.get());
        let boiling_k = bubble.boiling_k;
        self.boiling_k.set(boiling_k);
        let mixing = pot.fittings.mixing;
        let (heat, mut slope) = heat::along_boiling(x, boiling_k, bubble.slope_k, mixing);
        let mut boiling = Boiling { x, bubble, heat, slope };
        let leaving = if let Some(fire) = &pot.fire {
            // The copper cools and warms with the pot: it is so much more liquid.
            slope += fire.copper_j_k / self.charge_mol / moles * bubble.slope_k;
            boiling.slope = slope;
            // Steam condenses in the charge: what it brings over liquid of the pot is heat.
            let steam = self.steam.get();
            let brought = steam * (pot.fittings.steam_j_mol - heat + x * slope);
            let draught = Draught {
                heat: self.heat_w.get() / self.charge_mol + brought,
                loss: fire.head_loss_w_k / self.charge_mol,
                ambient_k: fire.ambient_k,
                head: pot.fittings.head,
                mixing,
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
        let (safe_y, safe_rate) = self.at_the_safe(y, &leaving);
        let time_s = y[TIME] / self.second;
        Ok(Moment { time_s, pot: boiling, leaving, over: over(y), safe_y, safe_rate })
    }

    /// Mole fraction and rate, a second per mole of charge, of what runs at the safe: as much
    /// volume leaves condenser and tail as enters, and it is a mixture of all that stands there.
    fn at_the_safe(&self, y: &[f64], leaving: &Leaving) -> (f64, f64) {
        let enters = leaving.rate * (1.0 - self.pot.fittings.vapour_loss);
        if !self.lags() {
            return (leaving.y, enters);
        }
        let (ethanol, water) = (y[self.hold], y[self.hold + 1]);
        if ethanol + water <= 0.0 {
            return (leaving.y, 0.0);
        }
        let z = ethanol / (ethanol + water);
        if self.filling.get() {
            return (z, 0.0);
        }
        let litres = |z: f64| Moles { ethanol_mol: z, water_mol: 1.0 - z }.volume_20_l();
        let step = 1e-4;
        let slope = (litres(z + step) - litres(z - step)) / (2.0 * step);
        (z, enters * (1.0 + (leaving.y - z) * slope / litres(z)))
    }

    pub(super) fn slope(&self, y: &[f64], dy: &mut [f64]) -> Result<(), Stalled> {
        let Moment { pot, leaving, safe_y, safe_rate, .. } = self.moment(y)?;
        let moles = y[ETHANOL] + y[WATER];
        let seconds = moles / leaving.rate;
        dy[ETHANOL] = -moles * leaving.y;
        dy[WATER] = -moles * (1.0 - leaving.y);
        if self.steam.get() > 0.0 {
            dy[WATER] += self.steam.get() * seconds;
        }
        let runs = moles * if self.pot.fire.is_some() { safe_rate / leaving.rate } else { 1.0 };
        dy[ETHANOL_OVER] = runs * safe_y;
        dy[WATER_OVER] = runs * (1.0 - safe_y);
        dy[TIME] = seconds * self.second;
        dy[HEAT_OVER] = moles * leaving.heat / UNIT_J;
        dy[HEAT_LOST] = seconds * leaving.lost / UNIT_J;
        self.congeners(&pot, &leaving, &mut dy[FIRST_CONGENER..]);
        if let Some((place, rate)) = self.pot.fittings.forming {
            dy[self.formed] = rate * moles * seconds;
            dy[FIRST_CONGENER + place] += dy[self.formed] / y[FIRST_CONGENER + place].exp();
        }
        if self.lags() {
            self.hold_up(y, runs, dy);
        }
        Ok(())
    }

    /// How the logarithm of each congener in the pot falls.
    fn congeners(&self, pot: &Boiling, leaving: &Leaving, dy: &mut [f64]) {
        let (back, forth) = (leaving.reflux, 1.0 - leaving.reflux);
        let drops =
            (self.pot.fittings.head == Head::Differential && back > 0.0 && leaving.liquor > pot.x)
                .then(|| self.drops(pot, leaving));
        for (congener, dy) in self.pot.congeners.iter().zip(dy) {
            let factor = self.pot.volatility[congener.group as usize];
            let rising = factor * congener.ln_volatility(pot.x).exp();
            *dy = if let Some(drops) = &drops {
                -rising * drops.passes(congener, factor) / forth
            } else if back > 0.0 {
                let held = back * (-congener.ln_volatility(leaving.liquor)).exp() / factor;
                -rising / (forth + held)
            } else {
                -rising
            };
        }
    }

    fn drops(&self, pot: &Boiling, leaving: &Leaving) -> Drops {
        let (mixture, pa) = (&self.pot.mixture, self.pot.pressure_pa);
        let last = mixture.boil(leaving.liquor, pa, leaving.top_k);
        Drops::of(mixture, pa, pot, (leaving.liquor, &last))
    }

    /// What stands in condenser and tail: fed by what leaves the head, drained by what `runs`.
    fn hold_up(&self, y: &[f64], runs: f64, dy: &mut [f64]) {
        let kept = 1.0 - self.pot.fittings.vapour_loss;
        let left_w = self.steam.get();
        let steam = if left_w > 0.0 { left_w * dy[TIME] / self.second } else { 0.0 };
        dy[self.hold] = -kept * dy[ETHANOL] - dy[ETHANOL_OVER];
        dy[self.hold + 1] = -kept * (dy[WATER] - steam) - dy[WATER_OVER];
        let held = y[self.hold] + y[self.hold + 1];
        let drained = if held > 0.0 { runs / held } else { 0.0 };
        for place in 0..self.pot.congeners.len() {
            let at = FIRST_CONGENER + place;
            let mut leaves = -y[at].exp() * dy[at];
            if let Some((forming, _)) = self.pot.fittings.forming
                && forming == place
            {
                leaves += dy[self.formed];
            }
            dy[self.hold + 2 + place] = kept * leaves - drained * y[self.hold + 2 + place];
        }
    }

    /// How far the mark is still ahead, in its own measure; nought or less once it is passed.
    pub(super) fn ahead(&self, mark: &Mark, y: &[f64]) -> f64 {
        match mark {
            Mark::Time(time) => time * self.second - y[TIME],
            Mark::Fraction(fraction) => fraction - y[ETHANOL_OVER] - y[WATER_OVER],
            // What stands in the tail need not be boiled for.
            Mark::Strength(fraction) if self.lags() => {
                y[self.hold] / (y[self.hold] + y[self.hold + 1]) - fraction
            }
            Mark::Strength(fraction) => {
                self.moment(y).map_or(f64::NAN, |moment| moment.safe_y - fraction)
            }
            Mark::Volume { all_l, .. } => (all_l - self.reached(mark, y)) / all_l,
            Mark::Filled => 1.0 - self.held(y).volume_20_l() / self.pot.fittings.hold_20_l,
        }
    }

    /// Where the run stands against the mark, in the unit of the case.
    pub(super) fn reached(&self, mark: &Mark, y: &[f64]) -> f64 {
        match mark {
            Mark::Time(_) => y[TIME] / self.second,
            Mark::Fraction(_) => y[ETHANOL_OVER] + y[WATER_OVER],
            Mark::Strength(_) => {
                self.moment(y).map_or(f64::NAN, |moment| strength_pct(moment.safe_y))
            }
            Mark::Volume { earlier_l, began, .. } => {
                let now = over(y);
                let here = Moles {
                    ethanol_mol: now.ethanol_mol - began.ethanol_mol,
                    water_mol: now.water_mol - began.water_mol,
                };
                earlier_l + here.times(self.charge_mol).volume_20_l()
            }
            Mark::Filled => self.held(y).volume_20_l(),
        }
    }

    /// What stands in condenser and tail.
    pub(super) fn held(&self, y: &[f64]) -> Moles {
        if !self.lags() {
            return Moles::default();
        }
        Moles { ethanol_mol: y[self.hold], water_mol: y[self.hold + 1] }.times(self.charge_mol)
    }

    /// Of each congener the share of the charge's amount that stands there.
    pub(super) fn held_congeners(&self, y: &[f64]) -> Vec<f64> {
        let kinds = 0..self.pot.congeners.len();
        kinds.map(|place| if self.lags() { y[self.hold + 2 + place] } else { 0.0 }).collect()
    }

    /// Of each congener the share of the charge's amount that is in the pot.
    pub(super) fn left(&self, y: &[f64]) -> Vec<f64> {
        let kinds = FIRST_CONGENER..FIRST_CONGENER + self.pot.congeners.len();
        y[kinds].iter().map(|ln| ln.exp()).collect()
    }

    /// While condenser and tail fill, what has left the pot stands there: counted, for a trace that
    /// leaves in a flash is followed less closely than it is counted.
    pub(super) fn count_held(&self, y: &mut [f64]) {
        let kept = 1.0 - self.pot.fittings.vapour_loss;
        for place in 0..self.pot.congeners.len() {
            let left = y[FIRST_CONGENER + place].exp();
            y[self.hold + 2 + place] = kept * (1.0 + self.formed(y, place) - left);
        }
    }

    /// How much of the congener at `place` has formed, as a share of the charge's amount.
    pub(super) fn formed(&self, y: &[f64], place: usize) -> f64 {
        match self.pot.fittings.forming {
            Some((forming, _)) if forming == place => y[self.formed],
            _ => 0.0,
        }
    }

    /// Share of the charge's amount of the congener at `place` that has run over by `y` since the
    /// state `from`.
    pub(super) fn congener_over(&self, from: &[f64], y: &[f64], place: usize) -> f64 {
        let at = FIRST_CONGENER + place;
        let left = from[at].exp() * (y[at] - from[at]).exp_m1();
        let formed = self.formed(y, place) - self.formed(from, place);
        let held =
            if self.lags() { y[self.hold + 2 + place] - from[self.hold + 2 + place] } else { 0.0 };
        (1.0 - self.pot.fittings.vapour_loss) * (formed - left) - held + 0.0
    }

    pub(super) fn passage(&self, from: &[f64], to: &[f64], end: Moment) -> Passage {
        let (before, after) = (over(from), over(to));
        let kinds = 0..self.pot.congeners.len();
        Passage {
            over: Moles {
                ethanol_mol: after.ethanol_mol - before.ethanol_mol,
                water_mol: after.water_mol - before.water_mol,
            }
            .times(self.charge_mol),
            congeners: kinds.map(|place| self.congener_over(from, to, place)).collect(),
            end,
        }
    }

    /// The fault of a fire that the head outruns, with a heat that would last to the end, when
    /// the pot boils as water does.
    pub(super) fn stalled(&self, _: Stalled, step: usize) -> Fault {
        let Some(fire) = &self.pot.fire else {
            return Fault::NotConverged { what: "vapour of the pot", steps: 0, residual: 0.0 };
        };
        let loss_w = self.most_loss_w(fire);
        let given = if self.steam.get() > 0.0 {
            format!(
                "{} kg/s of steam and {} kW",
                short(fire.steps[step].steam_kg_s),
                kilowatts(self.heat_w.get())
            )
        } else {
            format!("{} kW", kilowatts(self.heat_w.get()))
        };
        let wanted = kilowatts(round_up(EASE * loss_w));
        Fault::Unworkable {
            field: fire.steps[step].path().into(),
            trouble: format!(
                "with {given} the still stalls, for the head condenses all that rises"
            ),
            remedy: format!("it needs at least {wanted} kW"),
        }
    }

    /// What the head loses when the pot boils as water does, W.
    fn most_loss_w(&self, fire: &Fire<'_>) -> f64 {
        let water = self.pot.mixture.boil(0.0, self.pot.pressure_pa, 370.0);
        fire.head_loss_w_k * (water.boiling_k - fire.ambient_k)
    }

    /// Whether the fire gives hardly more than the head loses in the end.
    fn hardly_runs(&self) -> bool {
        let steam_w = self.steam.get() * self.charge_mol * UNIT_J;
        let given_w = self.heat_w.get() + steam_w;
        self.pot.fire.as_ref().is_some_and(|fire| given_w < EASE * self.most_loss_w(fire))
    }

    pub(super) fn fault(&self, trouble: &NoStep<Stalled>, step: usize) -> Fault {
        match trouble {
            NoStep::Slope(stalled) => self.stalled(*stalled, step),
            // What hardly runs takes for ever: it is told like what does not run at all.
            _ if self.hardly_runs() => self.stalled(Stalled { wanted: f64::NAN }, step),
            NoStep::TooSmall { at } | NoStep::TooMany { at } => {
                Fault::NotConverged { what: "course of the still", steps: 100_000, residual: *at }
            }
        }
    }
}

pub(super) fn over(y: &[f64]) -> Moles {
    Moles { ethanol_mol: y[ETHANOL_OVER], water_mol: y[WATER_OVER] }
}

/// What the heat asked for exceeds the bare loss by, so that something runs.
const EASE: f64 = 1.03;

/// Two digits, rounded up, as a person would type it.
fn round_up(value: f64) -> f64 {
    let unit = 10.0_f64.powf(value.max(1.0).log10().floor() - 1.0);
    (value / unit).ceil() * unit
}

fn kilowatts(watts: f64) -> String {
    short(1e-3 * watts)
}

/// A figure without needless digits.
fn short(value: f64) -> String {
    let text = format!("{value:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
