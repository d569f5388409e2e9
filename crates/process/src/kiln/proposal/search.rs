//! The search: soonest first, to know what can be done at all, then with the least fuel.

use super::Asked;
use super::point::{Ground, KNOBS, Knob, Point};
use super::trial::{self, Smoked, Trial, WISHES, Wish};
use crate::stage::Watch;
use gauge::Fault;

/// Work the search may spend, cells times hours.
pub(super) const WORK: f64 = 1.0e5;
/// Kilnings for one setting of the figures, until moisture and smoke come out.
const ROUNDS: u32 = 5;
/// How near they must come, as logarithms; what is left is corrected for on a straight line.
const CLOSE_MOIST: f64 = 0.03;
pub(super) const CLOSE_SMOKY: f64 = 0.015;
/// Longest move of the logarithm of the air, and of the hours, in one round.
const MOVE_FLOW: f64 = 0.35;
const MOVE_HOURS: f64 = 8.0;
/// Moisture over what is wanted, as a logarithm, above which a bed is said to be wet.
const MOIST: f64 = 0.7;
/// Steps taken on at once along a figure that helps.
const MOST_ON: u32 = 3;

/// What is solved so that the moisture comes right.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Free {
    Flow,
    Hours,
}

/// What is known along one free figure.
#[derive(Debug, Clone, Copy)]
pub(super) struct Slopes {
    /// Logarithm of moisture over the free figure.
    pub(super) moist: f64,
    /// Logarithm of fuel over that of moisture.
    fuel: f64,
}

pub(super) struct Search<'a, 'w> {
    pub(super) asked: &'a Asked<'a>,
    pub(super) ground: Ground,
    watch: &'a mut Watch<'w>,
    spent: f64,
    pub(super) most: f64,
    pub(super) tried: u32,
    stopped: bool,
    pub(super) by_flow: Slopes,
    by_hours: Slopes,
    /// How the free figure and the logarithm of the peat answered to each figure last.
    drift: [(f64, f64); KNOBS],
    pub(super) first_peat_kg_t: Option<f64>,
    /// Whether the soonest end is sought, and not the least fuel.
    pub(super) soon: bool,
    /// What is solved for while the least fuel is sought: where the draught sets the air, time.
    pub(super) free: Free,
    smoked: Option<Smoked>,
}

impl<'a, 'w> Search<'a, 'w> {
    pub(super) fn new(asked: &'a Asked<'a>, watch: &'a mut Watch<'w>) -> Result<Self, Fault> {
        Ok(Self {
            asked,
            ground: Ground::of(asked)?,
            watch,
            spent: 0.0,
            most: WORK,
            tried: 0,
            stopped: false,
            by_flow: Slopes { moist: -3.0, fuel: -0.25 },
            by_hours: Slopes { moist: -0.12, fuel: -0.25 },
            drift: [(0.0, 0.0); KNOBS],
            first_peat_kg_t: None,
            soon: true,
            free: if asked.vessel.draws_by_flue() { Free::Hours } else { Free::Flow },
            smoked: None,
        })
    }

    pub(super) fn tried(&self) -> u32 {
        self.tried
    }

    pub(super) fn stopped(&self) -> bool {
        self.stopped
    }

    pub(super) fn knows(&mut self, free: Free) -> &mut Slopes {
        match free {
            Free::Flow => &mut self.by_flow,
            Free::Hours => &mut self.by_hours,
        }
    }

    /// The value of the free figure as it is solved for.
    pub(super) fn value(point: &Point, free: Free) -> f64 {
        match free {
            Free::Flow => point.at(Knob::Flow).ln(),
            Free::Hours => point.at(Knob::Hours),
        }
    }

    pub(super) fn set(&self, point: &Point, free: Free, value: f64) -> Point {
        match free {
            Free::Flow => point.with(Knob::Flow, self.ground.clamp(Knob::Flow, value.exp())),
            Free::Hours => point.with(Knob::Hours, self.ground.clamp(Knob::Hours, value)),
        }
    }

    /// Tells the watch how far the search is, and whether it may go on.
    fn may_go_on(&mut self) -> bool {
        if !self.stopped && !(self.watch)((self.spent / WORK).min(0.99)) {
            self.stopped = true;
        }
        !self.stopped && self.spent < self.most
    }

    fn run_once(&mut self, point: Point, peat_kg_t: f64) -> Trial {
        if let Ok(firing) = self.ground.firing(&point, peat_kg_t) {
            self.spent += trial::work(self.asked, self.smoked.as_ref(), &firing);
            self.tried += 1;
        }
        trial::tried(self.asked, &self.ground, &mut self.smoked, (point, peat_kg_t))
    }

    /// Solves the free figure and the peat for one setting of all others, and judges it.
    pub(super) fn weigh(&mut self, point: Point, peat_kg_t: f64, free: Free) -> Trial {
        let (mut point, mut peat_kg_t) = (point, peat_kg_t);
        let mut before: Option<(f64, f64, f64)> = None;
        for round in 1..=ROUNDS {
            let mut trial = self.run_once(point, peat_kg_t);
            let short_h = trial.broken[Wish::Hours as usize];
            if free == Free::Hours && short_h > 0.0 && round < ROUNDS {
                let hours = point.at(Knob::Hours) + short_h;
                point = self.set(&point, free, hours);
                continue;
            }
            if trial.refused.is_some() || short_h > 0.0 {
                return trial;
            }
            let x = Self::value(&point, free);
            if let Some((x0, moist0, fuel0)) = before
                && moist0.abs().max(trial.moist.abs()) < MOIST
            {
                let fuel = Some(trial.fuel_mj / fuel0);
                self.learn(free, (x - x0, trial.moist - moist0), fuel);
            }
            before = Some((x, trial.moist, trial.fuel_mj));
            let nearer = self.nearer(&trial, free, x);
            let next = self.set(&point, free, nearer);
            let held = (Self::value(&next, free) - x).abs() < 1e-9;
            let more = if self.peat_settled(&trial) { 1.0 } else { (-trial.smoky).exp() };
            let moist_done = held || trial.moist.abs() <= CLOSE_MOIST;
            let smoke_done = (more - 1.0).abs() <= CLOSE_SMOKY;
            if (moist_done && smoke_done) || round == ROUNDS || !self.may_go_on() {
                self.finish(&mut trial, free, held, next);
                return trial;
            }
            peat_kg_t = (trial.peat_kg_t * more.clamp(0.4, 2.5)).min(1500.0);
            point = next;
            if free == Free::Hours {
                // More smoke is more hours, fewer by what dries meanwhile.
                let longer = (peat_kg_t - trial.peat_kg_t) / self.ground.peat_rate(&point);
                point = self.set(&point, free, point.at(Knob::Hours) + 0.5 * longer);
            }
        }
        unreachable!("the last round returns")
    }

    /// A better value of the free figure. While the bed is wet it loses water as air and time are
    /// given; near its end moisture falls by an equal share for each step.
    fn nearer(&mut self, trial: &Trial, free: Free, x: f64) -> f64 {
        let start = self.asked.from.map_or(self.asked.charge.moisture_dry, |state| {
            state.moisture_dry.iter().sum::<f64>() / state.moisture_dry.len() as f64
        });
        let lit_h = self.ground.begun.time_h;
        let wet = self.asked.wanted.moisture_wet;
        let wanted = wet / (1.0 - wet);
        let lost = (start - wanted) / (start - wanted * trial.moist.exp()).max(1e-3);
        match free {
            Free::Flow if trial.moist > MOIST => x + lost.ln().min(MOVE_FLOW),
            Free::Hours if trial.moist > MOIST => lit_h + (x - lit_h) * lost.min(2.5),
            Free::Hours if trial.moist < -0.1 && trial.ready_h.is_some() => {
                trial.ready_h.unwrap_or(x)
            }
            _ => {
                let longest = if free == Free::Flow { MOVE_FLOW } else { MOVE_HOURS };
                let moved = -trial.moist / self.knows(free).moist;
                x + moved.clamp(-longest, longest)
            }
        }
    }

    /// Whether no other peat would bring the smoke nearer.
    pub(super) fn peat_settled(&self, trial: &Trial) -> bool {
        let least = self.ground.begun.time_h * self.ground.peat_rate(&trial.point);
        let too_smoky_already = trial.smoky > 0.0 && trial.peat_kg_t <= least * (1.0 + 1e-9);
        !self.ground.smoke || !self.ground.smoke_open || too_smoky_already
    }

    /// Learns from two kilnings how moisture, and where told fuel, answer to the free figure.
    pub(super) fn learn(&mut self, free: Free, (moved, moist): (f64, f64), fuel: Option<f64>) {
        if moved.abs() < 1e-4 || moist.abs() < 1e-4 {
            return;
        }
        let (low, high) = if free == Free::Flow { (-8.0, -0.8) } else { (-0.6, -0.02) };
        let slopes = self.knows(free);
        slopes.moist = (moist / moved).clamp(low, high);
        if let Some(fuel) = fuel {
            slopes.fuel = (fuel.ln() / moist).clamp(-0.8, 0.2);
        }
    }

    /// What is still missed is broken, or corrected for where it is little.
    fn finish(&mut self, trial: &mut Trial, free: Free, held: bool, next: Point) {
        let over = trial.moist;
        if held && over > CLOSE_MOIST || !held && over.abs() > 6.0 * CLOSE_MOIST {
            trial.broken[Wish::Moisture as usize] += over.abs();
        }
        if trial.smoky < -4.0 * CLOSE_SMOKY && !self.peat_settled(trial) {
            trial.broken[Wish::Phenols as usize] += -trial.smoky;
        }
        if !held {
            trial.worth *= (-over * self.knows(free).fuel).exp();
            trial.point = next;
        }
        // A little too much or too little smoke is corrected for in the worth alone: peat left as
        // it is spares the smoke of the next trial.
        if !self.peat_settled(trial) && trial.smoky.abs() > CLOSE_SMOKY {
            trial.peat_kg_t *= (-trial.smoky).exp();
        }
        if self.soon {
            trial.worth = trial.point.at(Knob::Hours);
        }
    }

    /// Tries a step from the best along one figure.
    fn step(&mut self, best: &Trial, knob: Knob, by: f64, free: Free) -> Option<Trial> {
        let now = best.point.at(knob);
        let there = self.ground.clamp(knob, now + by);
        let moved = there - now;
        if moved.abs() < 1e-9 || !self.may_go_on() {
            return None;
        }
        let (drift, peat_drift) = self.drift[knob as usize];
        let x = Self::value(&best.point, free);
        let point = self.set(&best.point.with(knob, there), free, x + drift * moved);
        let more = peat_drift * moved;
        let more = if more.abs() > CLOSE_SMOKY { more.clamp(-0.5, 0.5) } else { 0.0 };
        let peat_kg_t = best.peat_kg_t * more.exp();
        let trial = self.weigh(point, peat_kg_t, free);
        if trial.worth.is_finite() {
            self.drift[knob as usize] = (
                (Self::value(&trial.point, free) - x) / moved,
                if best.peat_kg_t > 0.0 {
                    (trial.peat_kg_t / best.peat_kg_t).ln() / moved
                } else {
                    0.0
                },
            );
        }
        Some(trial)
    }

    /// Goes along one figure after the other with steps that grow and shrink.
    pub(super) fn descend(&mut self, start: Trial, knobs: &[Knob], free: Free) -> Trial {
        let mut best = start;
        let mut steps: Vec<f64> = knobs.iter().map(|k| self.ground.span(*k).step).collect();
        self.drift = [(0.0, 0.0); KNOBS];
        loop {
            let mut moved = false;
            let before = best.clone();
            for (knob, step) in knobs.iter().zip(&mut steps) {
                if step.abs() < self.ground.span(*knob).least || !self.may_go_on() {
                    continue;
                }
                moved |= self.along(&mut best, *knob, step, free);
            }
            if moved {
                self.onward(&mut best, &before, knobs, free);
            }
            let over = !self.may_go_on();
            let small = |(knob, step): (&Knob, &f64)| step.abs() < self.ground.span(*knob).least;
            if over || (!moved && knobs.iter().zip(&steps).all(small)) {
                return best;
            }
        }
    }

    /// As far again as all figures together have come in one round: along a valley no single
    /// figure runs.
    fn onward(&mut self, best: &mut Trial, before: &Trial, knobs: &[Knob], free: Free) {
        let moves = |k: &&Knob| (best.point.at(**k) - before.point.at(**k)).abs() > 1e-9;
        if knobs.iter().filter(moves).count() < 2 || !self.may_go_on() {
            return;
        }
        let again = |from: f64, to: f64| to + (to - from);
        let there = knobs.iter().fold(best.point, |point, knob| {
            let value = again(before.point.at(*knob), best.point.at(*knob));
            point.with(*knob, self.ground.clamp(*knob, value))
        });
        let x = again(Self::value(&before.point, free), Self::value(&best.point, free));
        let there = self.set(&there, free, x);
        let peat_kg_t = best.peat_kg_t * (best.peat_kg_t / before.peat_kg_t.max(1e-9)).min(1.5);
        let trial = self.weigh(there, peat_kg_t, free);
        if trial.better_than(best) {
            *best = trial;
        }
    }

    /// One look along a figure: on where it helps, else back, else to the bottom of the curve
    /// through all three. The sign of the step keeps the side that helped last.
    fn along(&mut self, best: &mut Trial, knob: Knob, step: &mut f64, free: Free) -> bool {
        let ahead = self.step(best, knob, *step, free);
        if let Some(ahead) = ahead.as_ref().filter(|t| t.better_than(best)) {
            *best = ahead.clone();
            for _ in 0..MOST_ON {
                *step *= 1.6;
                match self.step(best, knob, *step, free) {
                    Some(further) if further.better_than(best) => *best = further,
                    _ => {
                        *step *= 0.5;
                        break;
                    }
                }
            }
            return true;
        }
        let back = self.step(best, knob, -*step, free);
        if let Some(back) = back.as_ref().filter(|t| t.better_than(best)) {
            *best = back.clone();
            *step = -*step;
            return true;
        }
        let lowest = match (&ahead, &back) {
            (Some(a), Some(b)) if a.keeps() && b.keeps() && best.keeps() => {
                let bend = a.worth + b.worth - 2.0 * best.worth;
                if bend > 0.0 { 0.5 * (b.worth - a.worth) / bend } else { 0.0 }
            }
            _ => 0.0,
        };
        let whole = *step;
        *step *= 0.35;
        if lowest.abs() > 0.12
            && let Some(trial) = self.step(best, knob, lowest * whole, free)
            && trial.better_than(best)
        {
            *best = trial;
            return true;
        }
        false
    }

    /// The same point with one figure moved, solved again: to see what it would cost or break.
    pub(super) fn probe(&mut self, from: &Trial, knob: Knob, by: f64) -> Trial {
        let there = from.point.at(knob) + by;
        self.weigh(from.point.with(knob, there), from.peat_kg_t, self.free)
    }
}

/// The wish a trial breaks most.
pub(super) fn worst(trial: &Trial) -> Wish {
    let all =
        [Wish::Hours, Wish::Moisture, Wish::Phenols, Wish::Enzymes, Wish::Burner, Wish::Refused];
    let broken: &[f64; WISHES] = &trial.broken;
    let worst = all.into_iter().max_by(|a, b| broken[*a as usize].total_cmp(&broken[*b as usize]));
    worst.unwrap_or(Wish::Hours)
}
