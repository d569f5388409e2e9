//! A run that is kept, so that its cuts can be moved without running it again.
//!
//! The steps of the run are kept with their dense output ([`numeric::runge_kutta::Piece`]). A mark
//! is sought among the steps and then inside one; strength at the safe is reckoned from pot and
//! head at the very place, not interpolated. Moving the cuts leaves the pot alone, so a reading is
//! what a run cut there would have been, to within 1e-6.

use std::sync::OnceLock;

use gauge::Fault;
use numeric::roots::{Bracket, brent};

use super::amount::{Moles, strength_pct};
use super::boil::{Boil, ETHANOL, Mark, TIME, WATER, over};
use super::cut::{self, Cut, Until};
use super::equilibrium::Mixture;
use super::head::Stalled;
use super::pot::{Leg, Moment, follow};
use super::result::{self, CutRun, Run, Start, celsius};
use super::setup::Setup;
use super::{Charge, Congener, Constants, Programme, Vessel};

/// A run followed to its end that can be cut again in any way without being run again.
#[derive(Debug, Clone)]
pub struct Trace {
    setup: Setup,
    amounts: Vec<(&'static Congener, f64)>,
    legs: Vec<Leg>,
    run: Run,
    points: OnceLock<Vec<Point>>,
}

/// The still at one moment of its run.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    /// Seconds from the first running.
    pub time_s: f64,
    /// Mole fraction of ethanol in the pot.
    pub pot_mole_fraction: f64,
    /// Boiling point of the pot, °C.
    pub pot_c: f64,
    /// Temperature at which vapour leaves the head, °C.
    pub head_c: f64,
    /// Strength at the safe, % vol at 20 °C.
    pub strength_pct: f64,
    /// How fast it runs at the safe, mol/s.
    pub rate_mol_s: f64,
    /// The same in litres at 20 °C a minute.
    pub flow_l_min: f64,
    /// Condensate over the vapour that enters the head.
    pub reflux_ratio: f64,
    /// All that has come over.
    pub over: Moles,
    /// Its litres at 20 °C, as one mixed liquid.
    pub over_l: f64,
    /// Of each congener, in the order of [`Trace::congeners`], the share of the charge's amount
    /// that has come over.
    pub congeners_over: Vec<f64>,
}

/// What the cuts of one reading come to.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// The cuts, in order.
    pub cuts: Vec<CutRun>,
    /// What is in the pot at the end of the last of them.
    pub residue: Moles,
    /// Each congener and the share of the charge's amount that is still in the pot then.
    pub residue_congeners: Vec<(&'static Congener, f64)>,
}

impl Reading {
    /// The cut called `name`.
    pub fn cut(&self, name: &str) -> Option<&CutRun> {
        self.cuts.iter().find(|cut| cut.name == name)
    }
}

/// A place of the run: how far, in which leg, and the state there.
struct Spot {
    at: f64,
    leg: usize,
    state: Vec<f64>,
}

/// How far short of a mark the end of a run may fall and still be called at it, relative.
const SLACK: f64 = 1e-9;
/// Points drawn of a run, about.
const POINTS: usize = 150;

impl Trace {
    /// Runs a still to the end of the programme's last cut and keeps the run.
    ///
    /// # Units
    /// As [`run`](super::run).
    /// # Range
    /// As [`run`](super::run), with the same faults.
    /// # Error
    /// Readings agree with a run cut at the same marks to 1e-6.
    /// # Source
    /// Dense output of E. Hairer, S. P. Nørsett and G. Wanner, *Solving Ordinary Differential
    /// Equations I*, 2nd ed., 1993, II.6.
    pub fn of(
        charge: &Charge,
        vessel: &Vessel,
        programme: &Programme,
        constants: &Constants,
    ) -> Result<Self, Fault> {
        let setup = Setup::of(charge, vessel, programme, constants)?;
        let mut legs = Vec::new();
        let run = {
            let pot = setup.pot();
            let course = follow(&pot, &programme.cuts, Some(&mut legs))?;
            result::gather(&pot, &course, charge, vessel, programme, constants)?
        };
        Ok(Self { setup, amounts: charge.congeners.clone(), legs, run, points: OnceLock::new() })
    }

    /// The still at the first running.
    pub fn start(&self) -> &Start {
        &self.run.start
    }
    /// Seconds from the first running to the end of the run.
    pub fn end_s(&self) -> f64 {
        self.run.end_s()
    }
    /// What was charged.
    pub fn charge(&self) -> Moles {
        self.setup.charge
    }
    /// The congeners charged, with their amounts in the unit of the case.
    pub fn congeners(&self) -> &[(&'static Congener, f64)] {
        &self.amounts
    }
    /// The run it was followed with: its balance, heats and warnings.
    pub fn run(&self) -> &Run {
        &self.run
    }

    /// Gives the still at `time_s` from the first running; before and after the run it is as at
    /// its beginning and end.
    pub fn point(&self, time_s: f64) -> Point {
        let pot = self.setup.pot();
        let boil = Boil::new(&pot);
        let end_s = self.end_s();
        let spot = if time_s <= 0.0 || time_s.is_nan() {
            self.spot(0, 0.0)
        } else if time_s >= end_s {
            self.spot(self.legs.len().saturating_sub(1), f64::INFINITY)
        } else {
            self.seek(&boil, &Mark::Time(time_s), 0.0)
                .unwrap_or_else(|_| self.spot(self.legs.len().saturating_sub(1), f64::INFINITY))
        };
        self.point_of(&boil, &spot)
    }

    /// Gives the still where a mark is first met, litres being those of all that came over
    /// together.
    pub fn find(&self, until: &Until) -> Result<Point, Fault> {
        let pot = self.setup.pot();
        let boil = Boil::new(&pot);
        let first = self.spot(0, 0.0);
        let mark = Mark::of(*until, &first.state, 0.0);
        let spot = self.seek(&boil, &mark, 0.0).map_err(|reached| never(*until, "", reached))?;
        Ok(self.point_of(&boil, &spot))
    }

    /// Gives what the run comes to when it is cut at these marks.
    ///
    /// # Units
    /// As [`run`](super::run); congeners as shares of the charge.
    /// # Range
    /// Marks that lie in the run; one beyond its end is `Fault::NeverReached`.
    /// # Error
    /// 1e-6 of a run cut there.
    /// # Source
    /// As [`Trace::of`].
    pub fn read(&self, cuts: &[Cut]) -> Result<Reading, Fault> {
        let pot = self.setup.pot();
        let boil = Boil::new(&pot);
        cut::in_order(cuts)?;
        let mut here = self.spot(0, 0.0);
        let mut out: Vec<CutRun> = Vec::with_capacity(cuts.len());
        let mut earlier_l = 0.0;
        for (place, cut) in cuts.iter().enumerate() {
            cut.until.check(place)?;
            let mark = Mark::of(cut.until, &here.state, earlier_l);
            self.recall(&boil, here.leg);
            let next = if boil.ahead(&mark, &here.state) <= 0.0 {
                boil.may_be_empty(cuts, place, &mark, &here.state)?;
                Spot { at: here.at, leg: here.leg, state: here.state.clone() }
            } else {
                self.seek(&boil, &mark, here.at)
                    .map_err(|reached| never(cut.until, &format!("cut[{place}]"), reached))?
            };
            let end = self.moment(&boil, &next);
            let passage = boil.passage(&here.state, &next.state, end);
            let run = CutRun::of(&cut.name, &passage, &self.setup.congeners);
            earlier_l += run.distillate.volume_20_l();
            out.push(run);
            here = next;
        }
        let left = boil.left(&here.state);
        let residue = Moles { ethanol_mol: here.state[ETHANOL], water_mol: here.state[WATER] };
        Ok(Reading {
            cuts: out,
            residue: residue.times(self.setup.charge.total_mol()),
            residue_congeners: self.setup.congeners.iter().copied().zip(left).collect(),
        })
    }

    /// The run in some 150 points, for curves; the cuts are not among them.
    pub fn points(&self) -> &[Point] {
        self.points.get_or_init(|| {
            let pot = self.setup.pot();
            let boil = Boil::new(&pot);
            let each = POINTS.div_ceil(self.legs.len().max(1)).max(1);
            let mut out = vec![self.point_of(&boil, &self.spot(0, 0.0))];
            for (number, leg) in self.legs.iter().enumerate() {
                let (from, to) = (leg.piece.from(), leg.piece.to());
                for row in 1..=each {
                    let at = from + (to - from) * row as f64 / each as f64;
                    out.push(self.point_of(&boil, &self.spot(number, at)));
                }
            }
            out
        })
    }

    /// The place at which the run ends, in its own measure.
    pub(super) fn end_place(&self) -> f64 {
        self.legs.last().map_or(0.0, |leg| leg.piece.to())
    }
    /// The place at a time, inside the run.
    pub(super) fn place_at(&self, time_s: f64) -> f64 {
        let pot = self.setup.pot();
        let boil = Boil::new(&pot);
        if time_s <= 0.0 {
            return self.legs.first().map_or(0.0, |leg| leg.piece.from());
        }
        self.seek(&boil, &Mark::Time(time_s), 0.0).map_or(self.end_place(), |spot| spot.at)
    }
    /// The time at a place.
    pub(super) fn time_at(&self, at: f64) -> f64 {
        let pot = self.setup.pot();
        self.spot_at(at).state[TIME] / Boil::new(&pot).second
    }
    /// The still at a place.
    pub(super) fn point_at(&self, at: f64) -> Point {
        let pot = self.setup.pot();
        self.point_of(&Boil::new(&pot), &self.spot_at(at))
    }
    /// Hands what has come over up to a place, and each congener's share of it by its place in
    /// the charge, to `see`.
    pub(super) fn over_at<T>(
        &self,
        at: f64,
        see: impl FnOnce(Moles, &dyn Fn(usize) -> f64) -> T,
    ) -> T {
        let spot = self.spot_at(at);
        let moles = over(&spot.state).times(self.setup.charge.total_mol());
        let pot = self.setup.pot();
        let boil = Boil::new(&pot);
        let full = boil.full();
        see(moles, &|place| boil.congener_over(&full, &spot.state, place))
    }
    fn spot_at(&self, at: f64) -> Spot {
        let leg = self.legs.partition_point(|leg| leg.piece.to() < at);
        self.spot(leg.min(self.legs.len().saturating_sub(1)), at)
    }

    fn spot(&self, leg: usize, at: f64) -> Spot {
        let Some(kept) = self.legs.get(leg) else {
            let pot = self.setup.pot();
            return Spot { at: 0.0, leg: 0, state: Boil::new(&pot).full() };
        };
        let piece = &kept.piece;
        let mut state = vec![0.0; piece.count()];
        let at = at.clamp(piece.from(), piece.to());
        piece.at(at, &mut state);
        Spot { at, leg, state }
    }

    fn recall(&self, boil: &Boil<'_, Mixture>, leg: usize) {
        if let Some(leg) = self.legs.get(leg) {
            boil.recall(leg.guess, &self.setup.steps[leg.step]);
        }
    }

    fn moment(&self, boil: &Boil<'_, Mixture>, spot: &Spot) -> Moment {
        self.recall(boil, spot.leg);
        let found = boil.moment(&spot.state);
        found.unwrap_or_else(|Stalled { .. }| {
            unreachable!("the run went through here, so the still does not stall")
        })
    }

    fn point_of(&self, boil: &Boil<'_, Mixture>, spot: &Spot) -> Point {
        let moment = self.moment(boil, spot);
        let charge_mol = self.setup.charge.total_mol();
        let over = moment.over.times(charge_mol);
        let y = moment.safe_y;
        let rate_mol_s = moment.safe_rate * charge_mol;
        let full = boil.full();
        let a_mole = Moles { ethanol_mol: y, water_mol: 1.0 - y };
        Point {
            time_s: moment.time_s,
            pot_mole_fraction: moment.pot.x,
            pot_c: celsius(moment.pot.bubble.boiling_k),
            head_c: celsius(moment.leaving.top_k),
            strength_pct: strength_pct(y),
            rate_mol_s,
            flow_l_min: 60.0 * rate_mol_s * a_mole.volume_20_l(),
            reflux_ratio: moment.leaving.reflux,
            over,
            over_l: over.volume_20_l(),
            congeners_over: (0..self.amounts.len())
                .map(|place| boil.congener_over(&full, &spot.state, place))
                .collect(),
        }
    }

    /// Where `mark` is first met from `from` on; else how far the run came towards it.
    fn seek(&self, boil: &Boil<'_, Mixture>, mark: &Mark, from: f64) -> Result<Spot, f64> {
        let first = self.legs.partition_point(|leg| leg.piece.to() <= from);
        let mut head = boil.full();
        for (number, leg) in self.legs.iter().enumerate().skip(first) {
            let piece = &leg.piece;
            let low = from.max(piece.from());
            let mut ahead = |at: f64| {
                piece.at(at, &mut head);
                boil.ahead(mark, &head)
            };
            // The end of the run is a mark itself, met there but for a rounding.
            let slack = if number + 1 == self.legs.len() { SLACK } else { 0.0 };
            let (met, begins_past) = match mark {
                Mark::Strength(wanted) => {
                    let past = low <= piece.from() && leg.from_y <= *wanted;
                    (leg.to_y <= wanted * (1.0 + slack), past)
                }
                Mark::Time(time) => (ahead(piece.to()) <= slack * time * boil.second, false),
                _ => (ahead(piece.to()) <= slack, false),
            };
            if begins_past {
                return Ok(self.spot(number, low));
            }
            if met {
                self.recall(boil, number);
                let span = piece.to() - piece.from();
                let bracket = Bracket { low, high: piece.to(), tolerance: 1e-13 * span };
                // Both ends of one sign means that a rounding parts the mark from an end.
                let at = brent(bracket, ahead).unwrap_or(piece.to());
                return Ok(self.spot(number, at));
            }
        }
        let last = self.spot(self.legs.len().saturating_sub(1), f64::INFINITY);
        self.recall(boil, last.leg);
        Err(boil.reached(mark, &last.state))
    }
}

/// The fault of a mark that lies beyond the end.
fn never(until: Until, part: &str, reached: f64) -> Fault {
    let fault = Fault::NeverReached {
        field: until.key().into(),
        wanted: until.value(),
        reached,
        unit: until.unit(),
    };
    if part.is_empty() { fault } else { fault.within(part) }
}
