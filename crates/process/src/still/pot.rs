//! The pot boiling down: the differential equations, and the cuts as located events.
//!
//! The run is followed over `l = -ln(N/N0)`, not over time: `dN/dl = -N`, so a congener's
//! logarithm falls by its own volatility and the time is one more integral, `dt/dl = N/D`.
//! All amounts are per mole of charge, so a doubled still takes the same steps.

use gauge::Fault;
use gauge::fault::Side;
use numeric::runge_kutta::{DormandPrince, NoStep, Piece, Tolerance};

use super::amount::Moles;
use super::boil::{Boil, ETHANOL, HEAT_LOST, HEAT_OVER, Mark, TIME, UNIT_J, WATER};
use super::congener::Congener;
use super::cut::{Cut, HeatStep};
use super::equilibrium::{Equilibrium, Mixture};
use super::fittings::Fittings;
use super::head::{Boiling, Guess, Leaving, Stalled};

/// What a pot is run with.
#[derive(Debug)]
pub(crate) struct Pot<'a, M = Mixture> {
    pub(crate) mixture: M,
    pub(crate) pressure_pa: f64,
    pub(crate) charge: Moles,
    pub(crate) congeners: &'a [&'static Congener],
    /// Factor on K of each [`Group`](super::Group), in their order.
    pub(crate) volatility: [f64; 5],
    /// How closely the run is followed.
    pub(crate) tolerance: Tolerance,
    /// What is fitted beside the plain pot.
    pub(crate) fittings: Fittings,
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
    /// Mole fraction of ethanol of what runs at the safe, and how fast, mol/s per mole of charge.
    pub(crate) safe_y: f64,
    pub(crate) safe_rate: f64,
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
    /// The charge as it comes to the boil.
    pub(crate) boiling: Moment,
    /// The still at the first running: the same, unless condenser and tail had to fill.
    pub(crate) start: Moment,
    /// Seconds from the one to the other.
    pub(crate) filled_s: f64,
    pub(crate) rows: Vec<Moment>,
    pub(crate) cuts: Vec<Passage>,
    pub(crate) residue: Moles,
    /// Each congener's share of the charge left behind.
    pub(crate) left: Vec<f64>,
    /// What stands in condenser and tail at the end.
    pub(crate) held: Moles,
    pub(crate) held_congeners: Vec<f64>,
    /// Of each congener what formed in the heat, as a share of the charge's amount.
    pub(crate) formed: Vec<f64>,
    /// Open steam let in, mol.
    pub(crate) steam_mol: f64,
    /// Heat put in, lost by the head and carried over by vapour, J.
    pub(crate) heat_in_j: f64,
    pub(crate) heat_lost_j: f64,
    pub(crate) heat_over_j: f64,
    /// Places of the cuts that were over before they began.
    pub(crate) empty: Vec<usize>,
}

/// One step of a run that is kept to be read again.
#[derive(Debug, Clone)]
pub(crate) struct Leg {
    pub(crate) piece: Piece,
    /// Which fire burns over it.
    pub(crate) step: usize,
    /// Mole fraction of the distillate where it begins and where it ends.
    pub(crate) from_y: f64,
    pub(crate) to_y: f64,
    /// From where a solution inside it is a short way off.
    pub(super) guess: (f64, Guess),
}

/// Steps are long; a chart wants more rows than one each.
const ROWS_A_STEP: u32 = 3;
/// The pot is called dry at this share of its charge.
const DRY: f64 = 0.02;
/// With open steam the pot need not fall: it is followed for so many times its contents.
const MOST_POTS: f64 = 12.0;
/// The part of the charge, by moles, that condenser and tail may take to fill.
const LONGEST_FILL: f64 = 0.05;
/// Close enough for a run: the reference runs are met within 1e-6.
pub(crate) const TOLERANCE: Tolerance = Tolerance { relative: 1e-8, absolute: 1e-9 };

/// Runs the pot through its cuts.
pub(crate) fn distil<M: Equilibrium>(pot: &Pot<'_, M>, cuts: &[Cut]) -> Result<Course, Fault> {
    follow(pot, cuts, None)
}

/// Runs the pot through its cuts and keeps every step in `legs`, where one is given.
pub(super) fn follow<M: Equilibrium>(
    pot: &Pot<'_, M>,
    cuts: &[Cut],
    legs: Option<&mut Vec<Leg>>,
) -> Result<Course, Fault> {
    let boil = Boil::new(pot);
    let mut slope = |_: f64, y: &[f64], dy: &mut [f64]| boil.slope(y, dy);
    boil.filling.set(boil.lags());
    let run = DormandPrince::start(pot.tolerance, 0.0, &boil.full(), &mut slope)
        .map_err(|trouble| boil.fault(&trouble, 0))?;
    let boiling = boil.moment(run.state()).map_err(|s| boil.stalled(s, 0))?;
    let mut follower = Follower {
        boil: &boil,
        run,
        step: 0,
        lit_s: 0.0,
        heat_in_j: 0.0,
        steam_mol: 0.0,
        rows: vec![boiling],
        legs,
    };
    let filled_s = if boil.lags() { follower.fill()? } else { 0.0 };
    let start = follower.rows[0];
    let mut passages: Vec<Passage> = Vec::with_capacity(cuts.len());
    let mut empty = Vec::new();
    for (place, cut) in cuts.iter().enumerate() {
        let from = follower.run.state().to_vec();
        let earlier_l = passages.iter().map(|p| p.over.volume_20_l()).sum();
        let mark = Mark::of(cut.until, &from, earlier_l);
        if boil.ahead(&mark, &from) <= 0.0 {
            boil.may_be_empty(cuts, place, &mark, &from)?;
            empty.push(place);
        } else {
            follower.until(&mark, cut, place)?;
        }
        let state = follower.run.state();
        let end = boil.moment(state).map_err(|s| boil.stalled(s, follower.step))?;
        passages.push(boil.passage(&from, state, end));
    }
    let charge_mol = boil.charge_mol;
    let end = follower.run.state();
    Ok(Course {
        boiling,
        start,
        filled_s,
        held: boil.held(end),
        held_congeners: boil.held_congeners(end),
        formed: (0..pot.congeners.len()).map(|place| boil.formed(end, place)).collect(),
        steam_mol: follower.steam_mol,
        cuts: passages,
        residue: Moles { ethanol_mol: end[ETHANOL], water_mol: end[WATER] }.times(charge_mol),
        left: boil.left(end),
        heat_in_j: follower.heat_in_j,
        heat_lost_j: end[HEAT_LOST] * UNIT_J * charge_mol,
        heat_over_j: end[HEAT_OVER] * UNIT_J * charge_mol,
        empty,
        rows: follower.rows,
    })
}

/// A run under way.
struct Follower<'a, 'p, M> {
    boil: &'a Boil<'p, M>,
    run: DormandPrince,
    /// Which fire burns.
    step: usize,
    /// Up to when the heat is counted, and how much it is, J.
    lit_s: f64,
    heat_in_j: f64,
    steam_mol: f64,
    rows: Vec<Moment>,
    legs: Option<&'a mut Vec<Leg>>,
}

impl<M: Equilibrium> Follower<'_, '_, M> {
    /// Fills condenser and tail, and begins the run anew at the first running: time and what has
    /// come over are counted from there. Gives the seconds it took.
    fn fill(&mut self) -> Result<f64, Fault> {
        let boil = self.boil;
        let mut slope = |_: f64, y: &[f64], dy: &mut [f64]| boil.slope(y, dy);
        while !self
            .run
            .land(&mut |_: f64, y: &[f64]| boil.ahead(&Mark::Filled, y), &mut slope)
            .map_err(|trouble| boil.fault(&trouble, 0))?
        {
            if self.run.at() >= LONGEST_FILL {
                return Err(Fault::Beyond {
                    field: "still.residence_l".into(),
                    value: boil.pot.fittings.hold_20_l,
                    unit: "L at 20 °C",
                    side: Side::AtMost,
                    limit: boil.reached(&Mark::Filled, self.run.state()).floor(),
                    sets: "a twentieth of the charge".into(),
                });
            }
            self.run.step(LONGEST_FILL, &mut slope).map_err(|trouble| boil.fault(&trouble, 0))?;
        }
        let mut state = self.run.state().to_vec();
        let filled_s = state[TIME] / boil.second;
        state[TIME] = 0.0;
        boil.count_held(&mut state);
        boil.filling.set(false);
        self.heat_in_j += boil.heat_w.get() * filled_s;
        self.steam_mol += boil.steam.get() * boil.charge_mol * filled_s;
        self.run = DormandPrince::start(boil.pot.tolerance, self.run.at(), &state, &mut slope)
            .map_err(|trouble| boil.fault(&trouble, 0))?;
        self.rows = vec![boil.moment(&state).map_err(|s| boil.stalled(s, 0))?];
        Ok(filled_s)
    }

    /// Steps on until the mark is met, changing the fire at its times.
    fn until(&mut self, mark: &Mark, cut: &Cut, place: usize) -> Result<(), Fault> {
        let boil = self.boil;
        let limit = if boil.steps().iter().any(|step| step.steam_kg_s > 0.0) {
            MOST_POTS
        } else {
            -DRY.ln()
        };
        let mut slope = |_: f64, y: &[f64], dy: &mut [f64]| boil.slope(y, dy);
        loop {
            if self.change_of_fire()? && boil.ahead(mark, self.run.state()) <= 0.0 {
                // More fire means less reflux: the strength may drop past its mark at once.
                return Ok(());
            }
            let state = self.run.state();
            if self.run.at() >= limit || state[ETHANOL] + state[WATER] <= DRY {
                return Err(Fault::NeverReached {
                    field: cut.until.path(place).into(),
                    wanted: cut.until.value(),
                    reached: boil.reached(mark, self.run.state()),
                    unit: cut.until.unit(),
                });
            }
            let guess = boil.guess();
            let fault = |trouble: NoStep<Stalled>| boil.fault(&trouble, self.step);
            self.run.step(limit, &mut slope).map_err(fault)?;
            if let Some(next) = boil.steps().get(self.step + 1) {
                let mut event = |_: f64, y: &[f64]| boil.ahead(&Mark::Time(next.from_s), y);
                self.run.land(&mut event, &mut slope).map_err(fault)?;
            }
            let mut event = |_: f64, y: &[f64]| boil.ahead(mark, y);
            let ended = self.run.land(&mut event, &mut slope).map_err(fault)?;
            self.note(guess)?;
            if ended {
                return Ok(());
            }
        }
    }

    /// Changes the fire when its time has come, and says whether it did.
    fn change_of_fire(&mut self) -> Result<bool, Fault> {
        let boil = self.boil;
        let Some(next) = boil.steps().get(self.step + 1) else {
            return Ok(false);
        };
        let ahead_s = boil.ahead(&Mark::Time(next.from_s), self.run.state()) / boil.second;
        // A cut may have ended at that very time, a rounding before or after it.
        if ahead_s > 1e-9 * next.from_s {
            return Ok(false);
        }
        self.step += 1;
        boil.light(next);
        let mut slope = |_: f64, y: &[f64], dy: &mut [f64]| boil.slope(y, dy);
        self.run.restart(&mut slope).map_err(|trouble| boil.fault(&trouble, self.step))?;
        Ok(true)
    }

    /// Notes the last step: its rows for a curve, its heat, and the step itself where it is kept.
    fn note(&mut self, guess: (f64, Guess)) -> Result<(), Fault> {
        let boil = self.boil;
        let stalled = |s| boil.stalled(s, self.step);
        let (from, to) = (self.run.before().0, self.run.at());
        let first = match &self.legs {
            Some(_) => Some(boil.moment(self.run.before().1).map_err(stalled)?),
            None => None,
        };
        // Without a fire no curve is drawn.
        if boil.pot.fire.is_some() {
            let mut inside = vec![0.0; self.run.state().len()];
            for row in 1..ROWS_A_STEP {
                let share = f64::from(row) / f64::from(ROWS_A_STEP);
                self.run.dense(from + share * (to - from), &mut inside);
                // A row that cannot be had is no row; the step itself will say why.
                if let Ok(moment) = boil.moment(&inside) {
                    self.rows.push(moment);
                }
            }
        }
        let last = boil.moment(self.run.state()).map_err(stalled)?;
        let seconds = last.time_s - self.lit_s;
        self.heat_in_j += boil.heat_w.get() * seconds;
        self.steam_mol += boil.steam.get() * boil.charge_mol * seconds;
        self.lit_s = last.time_s;
        self.rows.push(last);
        if let (Some(legs), Some(first)) = (&mut self.legs, first) {
            legs.push(Leg {
                piece: self.run.piece(),
                step: self.step,
                from_y: first.safe_y,
                to_y: last.safe_y,
                guess,
            });
        }
        Ok(())
    }
}

impl<M: Equilibrium> Boil<'_, M> {
    /// A strength may have fallen past its mark before the cut begins, and the cut is empty; a
    /// time, volume or share that lies behind is a slip of the hand.
    pub(super) fn may_be_empty(
        &self,
        cuts: &[Cut],
        place: usize,
        mark: &Mark,
        y: &[f64],
    ) -> Result<(), Fault> {
        if matches!(mark, Mark::Strength(_)) {
            return Ok(());
        }
        let cut = &cuts[place];
        let before = place.checked_sub(1).map(|before| &cuts[before]);
        Err(cut.crosses(place, before, self.reached(mark, y)))
    }
}
