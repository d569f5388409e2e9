//! What is asked of the search: whether it can be done at all, how soon, with how little fuel,
//! and what that comes to when it is run finely.

use super::super::firing::Firing;
use super::super::smoke::peat_for;
use super::super::{Run, moisture_at_rest};
use super::point::{HOURS_MOST, Knob, Point};
use super::search::{CLOSE_SMOKY, Free, Search, WORK};
use super::trial::{self, Sum, Trial, Wish};
use super::{Bind, why};
use gauge::Fault;

/// The share of the work for the soonest firing.
const SOONEST_SHARE: f64 = 0.2;
/// Share kept of the smoke, before a first kilning tells better [design].
const KEPT_AT_FIRST: f64 = 0.1;
/// Kilnings of the confirmation.
const FINE_ROUNDS: u32 = 7;
/// Where the confirmed moisture may lie below what is wanted, as logarithms.
const FINE_MOIST: (f64, f64) = (-0.008, -0.0005);
const FINE_SMOKY: f64 = 0.008;

/// The soonest firing.
#[derive(Debug, Clone)]
pub(super) struct Soonest(Trial);

impl Soonest {
    pub(super) fn hours(&self) -> f64 {
        self.0.point.at(Knob::Hours)
    }
}

/// A firing run as finely as the case asks.
pub(super) struct Confirmed {
    pub(super) firing: Firing,
    pub(super) run: Run,
    pub(super) trial: Trial,
}

impl Search<'_, '_> {
    /// Refuses what no firing gives: drier than the hottest air leaves malt, more smoke than the
    /// hearth gives before the corns are dry.
    pub(super) fn surely_possible(&mut self) -> Result<(), Fault> {
        let wanted = self.asked.wanted;
        let least = self.rest_wet(wanted.cure_most_c);
        if least > wanted.moisture_wet {
            return Err(why::too_dry(self, least));
        }
        if !self.ground.smoke || !self.ground.smoke_open {
            return Ok(());
        }
        let (most, hours) = self.most_smoke();
        if most < wanted.phenols_mg_kg_dry * (1.0 - CLOSE_SMOKY) {
            return Err(why::too_smoky(self, most, hours));
        }
        Ok(())
    }

    /// Moisture, wet basis, at which malt rests in the fresh air heated so far.
    pub(super) fn rest_wet(&self, air_on_c: f64) -> f64 {
        use gauge::moist_air::kernel::{saturation_pa, vapour_pa};
        let setting = self.asked.setting;
        let vapour = vapour_pa(setting.humidity_ratio, setting.air.pressure_pa);
        let humidity = (vapour / saturation_pa(air_on_c)).min(0.99);
        let dry = moisture_at_rest(self.asked.constants, air_on_c, humidity);
        dry / (1.0 + dry)
    }

    /// Most phenols the hearth can put on the malt, smoking on and on in gentle air, and when; on
    /// the way it is seen how much peat what is wanted takes.
    fn most_smoke(&mut self) -> (f64, f64) {
        let by_h = self.asked.wanted.by_h.unwrap_or(HOURS_MOST).min(72.0);
        let start = self.ground.start();
        let gentle = start
            .with(Knob::CureH, 0.0)
            .with(Knob::Hours, by_h.max(self.ground.begun.time_h + 1.0));
        let peat_kg_t = (gentle.at(Knob::Hours) * self.ground.peat_rate(&gentle)).min(1500.0);
        let Ok(firing) = self.ground.firing(&gentle, peat_kg_t) else {
            return (f64::INFINITY, 0.0);
        };
        let Ok(run) = trial::coarsely(self.asked, &firing) else {
            return (f64::INFINITY, 0.0);
        };
        let column = |key| run.curves.get(key).unwrap_or_default();
        let rows = column("phenols_mg_kg_dry").iter().zip(column("time_h"));
        let wanted = self.asked.wanted.phenols_mg_kg_dry;
        if let Some((_, time_h)) = rows.clone().find(|(phenols, _)| **phenols >= wanted) {
            self.first_peat_kg_t = Some(1.1 * time_h * self.ground.peat_rate(&gentle));
        }
        let most = rows.max_by(|a, b| a.0.total_cmp(b.0));
        most.map_or((0.0, 0.0), |(phenols, time_h)| (*phenols, *time_h))
    }

    /// The soonest firing that keeps to all wishes but the latest end.
    pub(super) fn soonest(&mut self) -> Result<Soonest, Fault> {
        let begun_h = self.ground.begun.time_h;
        self.ground.limit(Knob::Hours, begun_h + 0.25, HOURS_MOST);
        self.most = WORK * SOONEST_SHARE;
        let usual = self.asked.usual;
        let start = self.ground.start().with(Knob::Returned, 0.0);
        let flow = self.ground.most_flow(start.at(Knob::CureC).max(start.at(Knob::DryC)));
        let start = start.with(Knob::Flow, flow);
        let peat_kg_t = self.first_peat();
        let smoke_h = peat_kg_t / self.ground.peat_rate(&start);
        let after_h = (usual.dry_h + usual.cure_h) * (usual.flow_kg_m2_s / flow).powf(0.8);
        let hours = (smoke_h + after_h).max(smoke_h + start.at(Knob::CureH) + 2.0);
        let start = start.with(Knob::Hours, self.ground.clamp(Knob::Hours, hours.max(begun_h)));
        let first = self.weigh(start, peat_kg_t, Free::Hours);
        let mut knobs = self.ground.open();
        knobs.retain(|knob| *knob != Knob::Returned);
        if self.ground.burner_w_m2.is_some() {
            knobs.push(Knob::Flow);
        }
        let best = self.descend(first, &knobs, Free::Hours);
        if best.keeps() { Ok(Soonest(best)) } else { Err(why::never(self, &best)) }
    }

    fn first_peat(&self) -> f64 {
        let phenols = self.asked.wanted.phenols_mg_kg_dry;
        if self.ground.begun.drying {
            self.asked.usual.peat_kg_t
        } else if self.ground.smoke {
            let plain = || peat_for(self.asked.constants, phenols, KEPT_AT_FIRST);
            self.first_peat_kg_t.unwrap_or_else(plain).min(1500.0)
        } else {
            0.0
        }
    }

    /// The latest end: as wanted, else the usual hours, else a little more than the soonest.
    fn latest(&self, soonest: &Soonest) -> f64 {
        let asked = self.asked;
        asked.wanted.by_h.unwrap_or_else(|| asked.usual.hours().max(1.1 * soonest.hours()))
    }

    /// The firing with the least fuel.
    pub(super) fn cheapest(&mut self, soonest: &Soonest) -> Result<Trial, Fault> {
        let latest = self.latest(soonest);
        if soonest.hours() > latest * (1.0 - 2e-3) {
            return Err(why::too_soon(self, &soonest.0, latest));
        }
        (self.most, self.soon) = (WORK, false);
        let free = self.free;
        self.ground.limit(Knob::Hours, soonest.hours(), latest);
        let quick = &soonest.0;
        let slower = (quick.point.at(Knob::Flow) * soonest.hours() / latest).ln();
        let spare = self.ground.span(Knob::Returned).high;
        let eased = quick.point.with(Knob::Hours, latest).with(Knob::Returned, spare);
        let eased = self.set(&eased, Free::Flow, slower);
        let usual = self.ground.start().with(Knob::Hours, latest);
        let mut knobs = self.ground.open();
        if free == Free::Flow {
            knobs.push(Knob::Hours);
        }
        let mut best = self.weigh(eased, quick.peat_kg_t, free);
        let other = self.weigh(usual, quick.peat_kg_t, free);
        if other.better_than(&best) {
            best = other;
        }
        if knobs.contains(&Knob::PeatFlow) {
            best = self.smokes(best);
        }
        best = self.descend(best, &knobs, free);
        // A search cut short may have nothing but the soonest; that keeps to all wishes.
        Ok(if best.keeps() { best } else { quick.clone() })
    }

    /// Looks at slower and cooler smoke from afar: the way there is long, and a turning of the bed
    /// may lie across it.
    fn smokes(&mut self, start: Trial) -> Trial {
        let free = self.free;
        let (flows, airs) = (self.ground.span(Knob::PeatFlow), self.ground.span(Knob::PeatC));
        let now = start.point;
        let mut best = start;
        for (flow_share, air_share) in [(0.6, 1.0), (0.2, 1.0), (0.6, 0.3), (0.2, 0.3)] {
            let flow = flows.low + flow_share * (now.at(Knob::PeatFlow) - flows.low);
            let air_on_c = airs.low + air_share * (now.at(Knob::PeatC) - airs.low);
            let point = now.with(Knob::PeatFlow, flow).with(Knob::PeatC, air_on_c);
            let point = point.with(Knob::Flow, best.point.at(Knob::Flow));
            // A moister bed after the smoke bears a little less heat.
            let milder = self.ground.clamp(Knob::DryC, now.at(Knob::DryC) - 2.0);
            let point = point.with(Knob::DryC, milder);
            let trial = self.weigh(point, best.peat_kg_t, free);
            if trial.better_than(&best) {
                best = trial;
            }
        }
        best
    }

    /// Runs what was found as finely as the case asks, and sets air and peat right for that.
    pub(super) fn confirmed(&mut self, found: &Trial) -> Result<Confirmed, Fault> {
        let free = self.free;
        let (mut point, mut peat_kg_t) = (found.point, found.peat_kg_t);
        let mut best: Option<Confirmed> = None;
        let mut before: Option<(f64, f64)> = None;
        for _ in 0..FINE_ROUNDS {
            let Ok(firing) = self.ground.firing(&point, peat_kg_t) else { break };
            let run = trial::finely(self.asked, &firing)?;
            self.tried += 1;
            let sum = Sum::of(self.asked, &self.ground, &firing, &run);
            let mut trial =
                trial::judged(self.asked, &self.ground, (point, firing.peat_kg_t), &sum);
            let settled = self.peat_settled(&trial);
            let over = trial.moist - FINE_MOIST.1;
            trial.broken[Wish::Moisture as usize] = over.max(0.0);
            trial.broken[Wish::Phenols as usize] =
                if settled { 0.0 } else { (trial.smoky.abs() - FINE_SMOKY).max(0.0) };
            let close = trial.keeps() && trial.moist >= FINE_MOIST.0;
            let Trial { moist, smoky, broken, .. } = trial;
            let better = |b: &Confirmed| trial.breach() < b.trial.breach() || trial.keeps();
            if best.as_ref().is_none_or(better) {
                best = Some(Confirmed { firing, run, trial });
            }
            if close {
                break;
            }
            let x = Self::value(&point, free);
            if let Some((x0, moist0)) = before {
                self.learn(free, (x - x0, moist - moist0), None);
            }
            before = Some((x, moist));
            let aim = 0.5 * (FINE_MOIST.0 + FINE_MOIST.1);
            let longest = if free == Free::Flow { 0.2 } else { 4.0 };
            let moved = (aim - moist) / self.knows(free).moist;
            point = self.set(&point, free, x + moved.clamp(-longest, longest));
            if !settled {
                peat_kg_t *= (-smoky).exp();
            }
            if broken[Wish::Enzymes as usize] > 0.0 {
                point = self.gentler(&point);
            }
        }
        best.ok_or_else(|| why::never(self, found))
    }

    /// A little cooler in the drying and a little later to the cure.
    fn gentler(&self, point: &Point) -> Point {
        let cooler = self.ground.clamp(Knob::DryC, point.at(Knob::DryC) - 0.7);
        let later = self.ground.clamp(Knob::CureH, point.at(Knob::CureH) - 0.2);
        point.with(Knob::DryC, cooler).with(Knob::CureH, later)
    }

    /// What holds the confirmed firing where it is.
    pub(super) fn binds(&mut self, confirmed: &Confirmed) -> Vec<Bind> {
        self.most = f64::INFINITY;
        why::binds(self, confirmed)
    }
}
