//! The run of a real charge, foretold with its band, and what any cut of it would give.
//!
//! The charge is what was noted: its litres and strength, part by part. The run is followed once
//! at the best figures and once more for each thing it hangs on, moved by its standard
//! uncertainty; what a cut gives is read off all of them, and the differences are its band. No
//! congener moves alcohol or water, so one moved run shows the volatilities of all groups, and
//! how much of each the wash carries needs no run at all: the grams are in proportion.

use super::charged::{charged, pass_of};
use super::fitted::{Fitted, Known};
use super::heart::{Cuts, Heart};
use super::moved::{self, HEAD, Moved, Parts, VOLATILITY, banded, run_of};
use super::route::{cuts_of, make, pass_in, pot, product_of, programme, with_head};
use super::steady::{self, Asked};
use crate::figure::{Figure, Shown};
use gauge::Fault;
use house::standing::Running;
use house::{House, KeptCuts, Ran};
use process::still::{Charge, Congener, Constants, Moles, Point, Spirit, Trace, Until};

/// The run to expect of one charge.
#[derive(Debug, Clone)]
pub struct Expected {
    /// The make.
    pub make: String,
    /// The still.
    pub still: String,
    /// Name of the pass: `wash`, `middle`, `spirit`.
    pub pass: String,
    /// What is charged: litres at 20 °C and strength.
    pub charge: Spirit,
    /// Seconds from the charge to the first running.
    pub heat_up_s: f64,
    /// The cut kept to; none for a pass that is not cut.
    pub kept: Option<Cuts>,
    /// The run at the best figures, congeners in grams.
    pub trace: Trace,
    /// Heat lost by the head, W/K, as the house has it or as fitted.
    pub head_loss_w_k: f64,
    /// Whether the head of this still has been fitted.
    pub head_fitted: bool,
    pub(crate) moved: Vec<Moved>,
    pub(crate) grams: Vec<f64>,
    pub(crate) fitted: Fitted,
}

impl Expected {
    /// Gives the run to expect of the charge that was noted.
    ///
    /// # Units
    /// As each figure says.
    /// # Range
    /// A charge the still can take; else the fault of the still.
    /// # Error
    /// The band of each figure, nine times in ten, for what the model knows of itself.
    /// # Source
    /// As [`process::still`] and [`super::congeners`].
    pub fn of(
        house: &House,
        ran: &Ran,
        kept: Option<&KeptCuts>,
        fitted: &Fitted,
    ) -> Result<Self, Fault> {
        let of = make(house, &ran.make)?;
        let pass = pass_of(of, ran)?;
        let constants = fitted.constants();
        let still = Some(ran.still.as_str());
        let carried = true;
        let constants = &constants;
        let asked = Asked { house, make: of, pass, still, kept, fitted, constants, carried };
        let moles = charged(house, &asked, ran)?;
        Self::reckoned(&asked, moles)
    }

    /// Gives the run to expect of the next charge of a still when all goes as usual: its usual
    /// litres, of the strength at which what returns is as much as went before.
    ///
    /// # Units
    /// As each figure says.
    /// # Range
    /// A make that the still runs.
    /// # Error
    /// As [`Self::of`].
    /// # Source
    /// As [`Self::of`].
    pub fn of_next(
        house: &House,
        make_key: &str,
        still: &str,
        kept: Option<&KeptCuts>,
        fitted: &Fitted,
    ) -> Result<Self, Fault> {
        let of = make(house, make_key)?;
        let pass = pass_in(of, still)?;
        let constants = fitted.constants();
        let still = Some(still);
        let carried = true;
        let constants = &constants;
        let asked = Asked { house, make: of, pass, still, kept, fitted, constants, carried };
        Self::reckoned(&asked, None)
    }

    /// Gives the run to expect of a charge of which only the pure alcohol is known, as it stands
    /// in a running still, at the strength of a usual charge; no congeners in it, for speed.
    ///
    /// # Units
    /// As each figure says.
    /// # Range
    /// As [`Self::of`].
    /// # Error
    /// As [`Self::of`].
    /// # Source
    /// As [`Self::of`].
    pub fn of_running(
        house: &House,
        running: &Running,
        kept: Option<&KeptCuts>,
        fitted: &Fitted,
    ) -> Result<Self, Fault> {
        let of = make(house, &running.make)?;
        let pass = pass_in(of, &running.vessel)?;
        let constants = &fitted.constants();
        let still = Some(running.vessel.as_str());
        let carried = false;
        let asked = Asked { house, make: of, pass, still, kept, fitted, constants, carried };
        let usual = steady::charge(&asked, None)?.charge;
        let share = running.pure_alcohol_l / usual.pure_alcohol_l();
        Self::reckoned(&asked, Some(usual.times(share)))
    }

    /// Gives the run to expect of a still's next charge, as [`Self::of_next`] and without
    /// congeners, for speed.
    ///
    /// # Units
    /// As each figure says.
    /// # Range
    /// As [`Self::of_next`].
    /// # Error
    /// As [`Self::of`].
    /// # Source
    /// As [`Self::of`].
    pub fn of_next_plain(
        house: &House,
        (make_key, still): (&str, &str),
        kept: Option<&KeptCuts>,
        fitted: &Fitted,
    ) -> Result<Self, Fault> {
        let of = make(house, make_key)?;
        let pass = pass_in(of, still)?;
        let constants = &fitted.constants();
        let (still, carried) = (Some(still), false);
        let asked = Asked { house, make: of, pass, still, kept, fitted, constants, carried };
        Self::reckoned(&asked, None)
    }

    /// Gives the run to expect of so many litres of a strength in a still.
    ///
    /// # Units
    /// As each figure says.
    /// # Range
    /// As [`Self::of`].
    /// # Error
    /// As [`Self::of`].
    /// # Source
    /// As [`Self::of`].
    pub fn of_charge(
        house: &House,
        (make_key, still): (&str, &str),
        charge: Spirit,
        kept: Option<&KeptCuts>,
        fitted: &Fitted,
    ) -> Result<Self, Fault> {
        let of = make(house, make_key)?;
        let pass = pass_in(of, still)?;
        let constants = fitted.constants();
        let still = Some(still);
        let carried = true;
        let constants = &constants;
        let asked = Asked { house, make: of, pass, still, kept, fitted, constants, carried };
        Self::reckoned(&asked, Some(Moles::of_spirit(charge)))
    }

    fn reckoned(asked: &Asked<'_>, at_hand: Option<Moles>) -> Result<Self, Fault> {
        let pass = &asked.make.route.passes[asked.pass];
        let still = asked.still.unwrap_or_default();
        let own = pot(asked.house, still)?;
        let usual = steady::charge(asked, at_hand)?;
        let cuts = cuts_of(asked.make, pass, asked.kept.map(Cuts::from));
        let kept = product_of(asked.make, pass).map(|at| Cuts::of(&cuts, at));
        let head = asked.fitted.head(still);
        let loss = head.map_or(own.vessel.head_loss_w_k, |h| h.head_loss_w_k);
        let loss_sd = head.map_or(HEAD * loss, |h| h.sd);
        let parts = Parts {
            spirit: Spirit {
                volume_20_l: usual.charge.volume_20_l(),
                strength_pct: usual.charge.strength_pct(),
            },
            vessel: with_head(own.vessel, loss),
            programme: programme(asked.house, own, cuts),
            constants: asked.constants.clone(),
        };
        let volatile = asked.fitted.constants_moved();
        let others = Asked { constants: &volatile, ..*asked };
        let (whole, moved) = std::thread::scope(|scope| {
            // What the charge carries hangs on the volatilities too, through what returned to it.
            let carried =
                asked.carried.then(|| scope.spawn(|| steady::charge(&others, Some(usual.charge))));
            let whole = run_of(&parts, own, &usual.grams);
            let moved = moved::moves(&parts, loss_sd, own, &usual.grams);
            let other = carried.and_then(|hand| hand.join().ok()?.ok());
            let volatility = other.and_then(|other| {
                let parts = Parts { constants: volatile.clone(), ..parts.clone() };
                let (trace, heat_up_s) = run_of(&parts, own, &other.grams).ok()?;
                let label = VOLATILITY;
                Some(Moved { label, trace, grams: other.grams, heat_up_s })
            });
            (whole, moved.into_iter().chain(volatility).collect())
        });
        let (trace, heat_up_s) = whole?;
        let mut moved: Vec<Moved> = moved;
        if head.is_some() {
            moved::held_to_the_fit(&trace, &mut moved, &parts, loss_sd, own);
        }
        Ok(Self {
            make: asked.make.key.clone(),
            still: still.to_owned(),
            pass: pass.name.clone(),
            charge: parts.spirit,
            heat_up_s,
            kept,
            trace,
            head_loss_w_k: loss,
            head_fitted: head.is_some(),
            moved,
            grams: usual.grams.clone(),
            fitted: asked.fitted.clone(),
        })
    }

    /// The run alone, no congeners in it, with some of it changed.
    pub(crate) fn only(
        house: &House,
        ran: &Ran,
        kept: Option<&KeptCuts>,
        changed: super::head::Changed,
    ) -> Result<Trace, Fault> {
        let of = make(house, &ran.make)?;
        let pass = pass_of(of, ran)?;
        let constants = Constants::default();
        let fitted = Fitted::default();
        let still = Some(ran.still.as_str());
        let asked = Asked {
            house,
            make: of,
            pass,
            still,
            kept,
            fitted: &fitted,
            constants: &constants,
            carried: false,
        };
        let own = pot(house, &ran.still)?;
        let moles = match charged(house, &asked, ran)? {
            Some(moles) => moles,
            None => steady::charge(&asked, None)?.charge,
        };
        let spirit = Spirit {
            volume_20_l: moles.volume_20_l(),
            strength_pct: moles.strength_pct() + changed.charge_pct,
        };
        let cuts = cuts_of(of, &of.route.passes[pass], kept.map(Cuts::from));
        let mut programme = programme(house, own, cuts);
        let heat_w = programme.conditions.heat_w;
        programme.conditions.heat_w = heat_w.map(|heat| heat * changed.heat);
        let vessel = with_head(own.vessel, changed.loss_w_k);
        Trace::of(&Charge::of_spirit(spirit), &vessel, &programme, &constants)
    }

    /// The congeners charged, g.
    pub fn congeners(&self) -> impl Iterator<Item = (&'static Congener, f64)> {
        self.trace.congeners().iter().map(|(c, _)| *c).zip(self.grams.iter().copied())
    }

    /// Whether a group of congeners is known by figures or is a shape only.
    pub fn known(&self, group: process::still::Group) -> Known {
        self.fitted.group(group).known
    }

    /// Strength at the safe so many seconds from the first running.
    pub fn strength_at(&self, time_s: f64) -> Figure {
        let shown = Shown("strength_pct", "strength at the safe", "% vol", 1);
        self.at(shown, time_s, |point| point.strength_pct)
    }

    /// Flow at the safe so many seconds from the first running.
    pub fn flow_at(&self, time_s: f64) -> Figure {
        let shown = Shown("flow_l_min", "flow at the safe", "L/min at 20 °C", 1);
        self.at(shown, time_s, |point| point.flow_l_min)
    }

    /// Temperature in the head so many seconds from the first running.
    pub fn head_at(&self, time_s: f64) -> Figure {
        self.at(Shown("head_c", "head", "°C", 1), time_s, |point| point.head_c)
    }

    /// Litres that have come over so many seconds from the first running.
    pub fn over_at(&self, time_s: f64) -> Figure {
        let shown = Shown("over_20_l", "come over", "L at 20 °C", 0);
        self.at(shown, time_s, |point| point.over_l)
    }

    /// Seconds from the charge to the first running.
    pub fn heat_up(&self) -> Figure {
        let figure = Shown("heat_up_h", "to the first running", "h", 1);
        let moved = self.moved.iter().map(|m| (m.label, m.heat_up_s / 3600.0));
        banded(figure.of(self.heat_up_s / 3600.0), moved)
    }

    fn at(&self, shown: Shown, time_s: f64, of: impl Fn(&Point) -> f64) -> Figure {
        let moved = self.moved.iter().map(|m| (m.label, of(&m.trace.point(time_s))));
        banded(shown.of(of(&self.trace.point(time_s))), moved)
    }

    /// Gives what the heart between two cuts would be.
    ///
    /// # Units
    /// As each figure says.
    /// # Range
    /// Cuts within the run, the end below the strength at the beginning; else the still's fault.
    /// # Error
    /// The band of each figure.
    /// # Source
    /// As [`Self::of`].
    pub fn heart(&self, cuts: Cuts) -> Result<Heart, Fault> {
        super::heart::heart(self, cuts)
    }
}

impl Cuts {
    /// The cuts of a pass whose spirit is the cut at `product`.
    fn of(cuts: &[process::still::Cut], product: usize) -> Self {
        let from_min = match product.checked_sub(1).map(|before| cuts[before].until) {
            Some(Until::TimeS(seconds)) => seconds / 60.0,
            _ => 0.0,
        };
        let to_pct = match cuts[product].until {
            Until::StrengthPct(pct) => pct,
            _ => 1.0,
        };
        Self { from_min, to_pct }
    }
}

#[cfg(test)]
mod tests;
