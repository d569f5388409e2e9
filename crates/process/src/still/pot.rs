//! The pot boiling down: the differential equations, and the cuts as located events.
//!
//! The run is followed over `l = -ln(N/N0)`, not over time: `dN/dl = -N`, so a congener's
//! logarithm falls by its own volatility and the time is one more integral, `dt/dl = N/D`.
//! All amounts are per mole of charge, so a doubled still takes the same steps.

use std::cell::Cell;

use gauge::Fault;
use numeric::runge_kutta::{DormandPrince, NoStep, Tolerance};

use super::amount::{Moles, mole_fraction, strength_pct};
use super::congener::Congener;
use super::cut::{Cut, HeatStep, Until};
use super::equilibrium::{Equilibrium, Mixture};
use super::head::{self, Boiling, Draught, Hint, Leaving, Stalled};
use super::heat::{self, Liquids};

/// What a pot is run with.
#[derive(Debug)]
pub(crate) struct Pot<'a, M = Mixture> {
    pub(crate) mixture: M,
    pub(crate) pressure_pa: f64,
    pub(crate) charge: Moles,
    pub(crate) congeners: &'a [&'static Congener],
    /// Factor on K of the phenols.
    pub(crate) phenol_volatility: f64,
    /// How closely the run is followed.
    pub(crate) tolerance: Tolerance,
    /// None: energy is left out, and with it time and reflux.
    pub(crate) fire: Option<Fire<'a>>,
}

/// Heat, and where it goes beside the vapour.
#[derive(Debug)]
pub(crate) struct Fire<'a> {
    /// From when which heat; the first from the start.
    pub(crate) steps: &'a [HeatStep],
    pub(crate) head_loss_w_k: f64,
    pub(crate) ambient_k: f64,
    /// Heat capacity of the copper that follows the boiling point, J/K.
    pub(crate) copper_j_k: f64,
}

/// The still at one moment.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Moment {
    pub(crate) time_s: f64,
    pub(crate) pot: Boiling,
    pub(crate) leaving: Leaving,
    /// Distillate so far, mol per mole of charge.
    pub(crate) over: Moles,
}

/// One cut that has run.
#[derive(Debug, Clone)]
pub(crate) struct Passage {
    /// What came over.
    pub(crate) over: Moles,
    /// Each congener's share of the charge in it.
    pub(crate) congeners: Vec<f64>,
    /// How the still stood at its end.
    pub(crate) end: Moment,
}

/// A whole run.
#[derive(Debug, Clone)]
pub(crate) struct Course {
    pub(crate) start: Moment,
    pub(crate) rows: Vec<Moment>,
    pub(crate) cuts: Vec<Passage>,
    pub(crate) residue: Moles,
    /// Each congener's share of the charge left behind.
    pub(crate) left: Vec<f64>,
    /// Heat put in, lost by the head and carried over by vapour, J.
    pub(crate) heat_in_j: f64,
    pub(crate) heat_lost_j: f64,
    pub(crate) heat_over_j: f64,
    /// Places of the cuts that were over before they began.
    pub(crate) empty: Vec<usize>,
}

// Places in the state; the congeners' logarithms follow.
const ETHANOL: usize = 0;
const WATER: usize = 1;
const ETHANOL_OVER: usize = 2;
const WATER_OVER: usize = 3;
const TIME: usize = 4;
const HEAT_OVER: usize = 5;
const HEAT_LOST: usize = 6;
const FIRST_CONGENER: usize = 7;

/// Heats in the state are counted in this, J/mol, and time in how long it takes to put it in.
const UNIT_J: f64 = 45_000.0;
/// Steps are long; a chart wants more rows than one each.
const ROWS_A_STEP: u32 = 3;
/// The pot is called dry at this share of its charge.
const DRY: f64 = 0.02;
/// Close enough for a run: the reference runs are met within 1e-6.
pub(crate) const TOLERANCE: Tolerance = Tolerance { relative: 1e-8, absolute: 1e-9 };

type State = DormandPrince;

struct Boil<'a, M> {
    pot: &'a Pot<'a, M>,
    charge_mol: f64,
    /// The fire now, W.
    heat_w: Cell<f64>,
    boiling_k: Cell<f64>,
    hint: Hint,
    second: f64,
}

/// Runs the pot through its cuts.
pub(crate) fn distil<M: Equilibrium>(pot: &Pot<'_, M>, cuts: &[Cut]) -> Result<Course, Fault> {
    let heat_w = pot.fire.as_ref().map_or(1.0, |f| f.steps[0].heat_w);
    let charge_mol = pot.charge.total_mol();
    let boil = Boil {
        pot,
        charge_mol,
        heat_w: Cell::new(heat_w),
        boiling_k: Cell::new(365.0),
        hint: Hint::default(),
        second: heat_w / charge_mol / UNIT_J,
    };
    let mut state = vec![0.0; FIRST_CONGENER + pot.congeners.len()];
    state[ETHANOL] = pot.charge.ethanol_mol / charge_mol;
    state[WATER] = pot.charge.water_mol / charge_mol;
    let mut slope = |_: f64, y: &[f64], dy: &mut [f64]| boil.slope(y, dy);
    let mut run = DormandPrince::start(pot.tolerance, 0.0, &state, &mut slope)
        .map_err(|trouble| boil.fault(&trouble, 0))?;
    let start = boil.moment(&state).map_err(|s| boil.stalled(s, 0))?;
    let mut course = Course {
        start,
        rows: vec![start],
        cuts: Vec::with_capacity(cuts.len()),
        residue: Moles::default(),
        left: Vec::new(),
        heat_in_j: 0.0,
        heat_lost_j: 0.0,
        heat_over_j: 0.0,
        empty: Vec::new(),
    };
    let mut step = 0;
    let mut lit_s = 0.0;
    for (place, cut) in cuts.iter().enumerate() {
        let from = run.state().to_vec();
        let mark = Boil::<M>::mark(cut, &from, &course.cuts);
        if boil.ahead(&mark, &from) <= 0.0 {
            boil.may_be_empty(cut, place, &mark, &from)?;
            course.empty.push(place);
        } else {
            boil.until(
                &mark,
                (cut, place),
                &mut run,
                &mut |moment, now_w| {
                    course.heat_in_j += now_w * (moment.time_s - lit_s);
                    lit_s = moment.time_s;
                    course.rows.push(moment);
                },
                &mut step,
            )?;
        }
        let end = boil.moment(run.state()).map_err(|s| boil.stalled(s, step))?;
        course.cuts.push(boil.passage(&from, run.state(), end));
    }
    let end = run.state();
    course.residue =
        Moles { ethanol_mol: end[ETHANOL] * charge_mol, water_mol: end[WATER] * charge_mol };
    course.left = end[FIRST_CONGENER..].iter().map(|ln| ln.exp()).collect();
    course.heat_lost_j = end[HEAT_LOST] * UNIT_J * charge_mol;
    course.heat_over_j = end[HEAT_OVER] * UNIT_J * charge_mol;
    Ok(course)
}

/// Where a cut ends, in the terms of the state.
enum Mark {
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

impl<M: Equilibrium> Boil<'_, M> {
    fn moment(&self, y: &[f64]) -> Result<Moment, Stalled> {
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

    fn slope(&self, y: &[f64], dy: &mut [f64]) -> Result<(), Stalled> {
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
            let factor = if congener.phenol { self.pot.phenol_volatility } else { 1.0 };
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

    fn mark(cut: &Cut, began: &[f64], earlier: &[Passage]) -> Mark {
        match cut.until {
            Until::TimeS(time) => Mark::Time(time),
            Until::StrengthPct(strength) => Mark::Strength(mole_fraction(strength)),
            Until::ChargeFraction(fraction) => Mark::Fraction(fraction),
            Until::VolumeL(all_l) => Mark::Volume {
                all_l,
                earlier_l: earlier.iter().map(|p| p.over.volume_20_l()).sum(),
                began: over(began),
            },
        }
    }

    /// How far the mark is still ahead, in its own measure; nought or less once it is passed.
    fn ahead(&self, mark: &Mark, y: &[f64]) -> f64 {
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
    fn reached(&self, mark: &Mark, y: &[f64]) -> f64 {
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

    /// A strength may have fallen past its mark before the cut begins, and the cut is empty; a
    /// time, volume or share that lies behind is a slip of the hand.
    fn may_be_empty(&self, cut: &Cut, place: usize, mark: &Mark, y: &[f64]) -> Result<(), Fault> {
        if matches!(mark, Mark::Strength(_)) {
            return Ok(());
        }
        Err(Fault::NotInOrder {
            field: cut.until.path(place).into(),
            value: cut.until.value(),
            before: self.reached(mark, y),
            unit: cut.until.unit(),
        })
    }

    /// Steps on until the mark is met, changing the fire at its times.
    fn until(
        &self,
        mark: &Mark,
        (cut, place): (&Cut, usize),
        run: &mut State,
        note: &mut impl FnMut(Moment, f64),
        step: &mut usize,
    ) -> Result<(), Fault> {
        let limit = -DRY.ln();
        let mut slope = |_: f64, y: &[f64], dy: &mut [f64]| self.slope(y, dy);
        let steps = self.pot.fire.as_ref().map_or(&[][..], |f| f.steps);
        loop {
            if run.at() >= limit {
                return Err(Fault::NeverReached {
                    field: cut.until.path(place).into(),
                    wanted: cut.until.value(),
                    reached: self.reached(mark, run.state()),
                    unit: cut.until.unit(),
                });
            }
            let fault = |trouble: NoStep<Stalled>| self.fault(&trouble, *step);
            run.step(limit, &mut slope).map_err(fault)?;
            let switch = steps.get(*step + 1);
            let mut switched = false;
            if let Some(next) = switch {
                let mut event = |_: f64, y: &[f64]| self.ahead(&Mark::Time(next.from_s), y);
                switched = run.land(&mut event, &mut slope).map_err(fault)?;
            }
            let mut event = |_: f64, y: &[f64]| self.ahead(mark, y);
            let ended = run.land(&mut event, &mut slope).map_err(fault)?;
            self.rows_between(run, note);
            let moment = self.moment(run.state()).map_err(|s| self.stalled(s, *step))?;
            note(moment, self.heat_w.get());
            if ended {
                return Ok(());
            }
            if let (true, Some(next)) = (switched, switch) {
                *step += 1;
                self.heat_w.set(next.heat_w);
                run.restart(&mut slope).map_err(|trouble| self.fault(&trouble, *step))?;
                // More fire means less reflux: the strength may drop past its mark at once.
                if self.ahead(mark, run.state()) <= 0.0 {
                    return Ok(());
                }
            }
        }
    }

    /// Rows inside the last step, for a curve that is drawn; without a fire none is.
    fn rows_between(&self, run: &State, note: &mut impl FnMut(Moment, f64)) {
        if self.pot.fire.is_none() {
            return;
        }
        let (from, to) = (run.before().0, run.at());
        let mut inside = vec![0.0; run.state().len()];
        for row in 1..ROWS_A_STEP {
            let share = f64::from(row) / f64::from(ROWS_A_STEP);
            run.dense(from + share * (to - from), &mut inside);
            // A row that cannot be had is no row; the step itself will say why.
            if let Ok(moment) = self.moment(&inside) {
                note(moment, self.heat_w.get());
            }
        }
    }

    fn passage(&self, from: &[f64], to: &[f64], end: Moment) -> Passage {
        let (before, after) = (over(from), over(to));
        let congeners = from[FIRST_CONGENER..]
            .iter()
            .zip(&to[FIRST_CONGENER..])
            .map(|(from, to)| -from.exp() * (to - from).exp_m1())
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

    fn stalled(&self, stalled: Stalled, step: usize) -> Fault {
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

    fn fault(&self, trouble: &NoStep<Stalled>, step: usize) -> Fault {
        match trouble {
            NoStep::Slope(stalled) => self.stalled(*stalled, step),
            NoStep::TooSmall { at } | NoStep::TooMany { at } => {
                Fault::NotConverged { what: "course of the still", steps: 100_000, residual: *at }
            }
        }
    }
}

fn over(y: &[f64]) -> Moles {
    Moles { ethanol_mol: y[ETHANOL_OVER], water_mol: y[WATER_OVER] }
}
