//! The search for a steeping: shapes from the fewest waters up, lengths of phases on a grid.

use gauge::Fault;

use super::{NEAR_ENOUGH, Wanted, gentle};
use crate::manned::Manned;
use crate::steep::corn::{Corn, Setting};
use crate::steep::figures::{Charge, Constants, Kind, Phase, Stretch, Vessel};
use crate::steep::report::growing_pct;
use crate::steep::state::State;

/// Steps of the search.
const STEP_S: f64 = 1800.0;
/// Grid of the phases: of shapes with few waters, and of those with more, of which there are too
/// many to try each; and of the last phase.
const GRID_H: f64 = 2.0;
const WIDE_GRID_H: f64 = 4.0;
const FEW_WATERS: usize = 3;
const LAST_H: f64 = 0.5;
/// Shortest last water.
const LEAST_LAST_H: f64 = 2.0;
/// Most waters of a shape.
const MOST_WATERS: usize = 4;
/// Hours that a point of corns lost, or of moisture too much, weighs.
const POINT_H: f64 = 3.0;

/// One phase of a shape: what it is, and how long it may be.
#[derive(Debug, Clone, Copy)]
struct Leg {
    kind: Kind,
    least_h: f64,
    most_h: f64,
    grid_h: f64,
}

/// A programme that comes to the moisture.
#[derive(Debug, Clone)]
pub(super) struct Found {
    pub(super) phases: Vec<Phase>,
    pub(super) hours: f64,
    weighs_h: f64,
}

/// What is searched for, and the best so far.
#[derive(Clone, Copy)]
pub(super) struct Search<'a> {
    pub(super) charge: &'a Charge,
    pub(super) vessel: &'a Vessel,
    pub(super) c: &'a Constants,
    pub(super) wanted: &'a Wanted,
    pub(super) manned: &'a Manned,
}

/// What a walk through the lengths of one shape finds.
#[derive(Default)]
struct Walk {
    phases: Vec<Phase>,
    best: Option<Found>,
    wettest: f64,
}

impl Search<'_> {
    pub(super) fn gently(&self) -> bool {
        gentle(self.charge)
    }

    /// The programme of the fewest waters that comes to the moisture.
    pub(super) fn best(&self) -> Result<Option<Found>, Fault> {
        for waters in 1..=MOST_WATERS {
            if !self.may_reach(waters)? {
                continue;
            }
            if let Some(found) = self.walk(waters)?.best {
                return Ok(Some(found));
            }
        }
        Ok(None)
    }

    /// Whether a shape comes to the moisture with every phase at its longest, which is the wettest
    /// it can be. Most shapes of few waters are done with at that.
    fn may_reach(&self, waters: usize) -> Result<bool, Fault> {
        let setting = Setting::new(self.charge, self.vessel, self.c);
        let mut corn = Corn::new(&State::dry(self.charge, self.c));
        for (place, leg) in self.shape(waters).iter().enumerate() {
            let phase = self.phase(leg, leg.most_h);
            corn.begin(&setting, &phase, true);
            let steps = (leg.most_h * 3600.0 / STEP_S).ceil();
            for step in 0..steps as u32 {
                let in_phase_h = f64::from(step) * leg.most_h / steps;
                corn.step(&setting, &phase, in_phase_h, leg.most_h * 3600.0 / steps);
            }
            corn.end(&setting, place, leg.kind)?;
        }
        Ok(corn.moisture_wet() >= self.wanted.moisture_wet - NEAR_ENOUGH)
    }

    fn phase(&self, leg: &Leg, hours: f64) -> Phase {
        let temperature_c =
            if leg.kind == Kind::Rest { self.wanted.air_c } else { self.wanted.water_c };
        Phase { kind: leg.kind, stretch: Stretch { hours, temperature_c } }
    }

    /// Waters and rests of a shape with so many waters.
    fn shape(&self, waters: usize) -> Vec<Leg> {
        let Wanted { least_period_h: least, most_period_h: most, .. } = *self.wanted;
        let grid_h = if waters > FEW_WATERS { WIDE_GRID_H } else { GRID_H };
        let leg = |kind, least_h, most_h| Leg { kind, least_h, most_h, grid_h };
        let mut legs = Vec::with_capacity(2 * waters);
        for water in 1..=waters {
            let (first, last) = (water == 1, water == waters);
            let mut wet = match (self.gently(), water) {
                (false, _) => leg(Kind::Wet, least, most),
                (true, 1) => leg(Kind::Wet, 4.0, 6.0),
                (true, 2) => leg(Kind::Wet, 4.0, 10.0),
                (true, _) => leg(Kind::Spray, least, most),
            };
            if last {
                wet.least_h = wet.least_h.min(LEAST_LAST_H);
            }
            legs.push(wet);
            if !last {
                let longer = if self.gently() && first { 4.0 } else { 0.0 };
                legs.push(leg(Kind::Rest, least + longer, most + longer));
            }
        }
        legs
    }

    fn walk(&self, waters: usize) -> Result<Walk, Fault> {
        let setting = Setting::new(self.charge, self.vessel, self.c);
        let corn = Corn::new(&State::dry(self.charge, self.c));
        let mut walk = Walk::default();
        self.leg(&setting, &self.shape(waters), corn, &mut walk)?;
        Ok(walk)
    }

    /// Tries every length of the first leg, and of those after it.
    fn leg(
        &self,
        setting: &Setting<'_>,
        legs: &[Leg],
        start: Corn,
        walk: &mut Walk,
    ) -> Result<(), Fault> {
        let [leg, rest @ ..] = legs else {
            return Ok(());
        };
        let lengths = self.lengths(leg, start.time_h, rest.is_empty());
        let longest = lengths.last().copied().unwrap_or(0.0);
        let phase = |hours| self.phase(leg, hours);
        let place = walk.phases.len();
        let mut corn = start;
        corn.begin(setting, &phase(longest), true);
        let mut done_h = 0.0;
        for hours in lengths {
            while done_h < hours - 1e-9 {
                let step_h = (STEP_S / 3600.0).min(hours - done_h);
                corn.step(setting, &phase(hours), done_h, step_h * 3600.0);
                done_h += step_h;
            }
            let mut ended = corn;
            ended.time_h = start.time_h + hours;
            ended.end(setting, place, leg.kind)?;
            walk.phases.push(phase(hours));
            if rest.is_empty() {
                let enough = self.arrived(&ended, walk);
                walk.phases.pop();
                if enough {
                    break;
                }
            } else {
                let least_h: f64 = rest.iter().map(|leg| leg.least_h).sum();
                let best_h = walk.best.as_ref().map_or(f64::INFINITY, |best| best.weighs_h);
                if ended.time_h + least_h < best_h.min(self.wanted.most_hours + 1e-9) {
                    self.leg(setting, rest, ended, walk)?;
                }
                walk.phases.pop();
            }
        }
        Ok(())
    }

    /// Lengths of a leg whose end is manned and leaves time for what follows.
    fn lengths(&self, leg: &Leg, from_h: f64, last: bool) -> Vec<f64> {
        let grid = if last { LAST_H } else { leg.grid_h };
        let many = ((leg.most_h - leg.least_h) / grid + 1e-9).floor().max(0.0) as u32;
        let fits = |hours: &f64| {
            let end_h = from_h + hours;
            end_h <= self.wanted.most_hours + 1e-9 && self.manned.at(end_h)
        };
        let every = |shift: f64| {
            let hours = (0..=many).map(move |i| leg.least_h + shift + f64::from(i) * grid);
            hours.filter(|h| *h <= leg.most_h + 1e-9).filter(fits).collect::<Vec<f64>>()
        };
        let even = every(0.0);
        if even.is_empty() && !last { every(0.5 * leg.grid_h) } else { even }
    }

    /// Notes where a programme comes to, and whether it is wet enough.
    fn arrived(&self, corn: &Corn, walk: &mut Walk) -> bool {
        let moisture = corn.moisture_wet();
        walk.wettest = walk.wettest.max(moisture);
        let over = moisture - self.wanted.moisture_wet;
        if over < -NEAR_ENOUGH {
            return false;
        }
        let lost = self.charge.germinative_energy_4ml_pct
            - growing_pct(self.charge, self.c, corn.airless_h);
        let weighs_h = corn.time_h + POINT_H * (lost + 100.0 * over.max(0.0));
        if walk.best.as_ref().is_none_or(|best| weighs_h < best.weighs_h) {
            let phases = walk.phases.clone();
            walk.best = Some(Found { phases, hours: corn.time_h, weighs_h });
        }
        true
    }

    /// Why no programme comes to the moisture, and what would.
    pub(super) fn why_none(&self) -> Result<Fault, Fault> {
        let mut wettest: f64 = 0.0;
        for waters in 1..=MOST_WATERS {
            wettest = wettest.max(self.walk(waters)?.wettest);
        }
        let mut ways = Vec::new();
        if !self.manned.windows.is_empty() {
            let always = Manned::default();
            if (Search { manned: &always, ..*self }).best()?.is_some() {
                ways.push("somebody there at all hours".to_owned());
            }
        }
        let hours = self.wanted.most_hours;
        let longer: Vec<f64> = (1..=10).map(|i| hours + 6.0 * f64::from(i)).collect();
        let warmer: Vec<f64> = (1..=10).map(|i| self.wanted.water_c + f64::from(i)).collect();
        let longer = || longer.iter().copied().filter(|h| *h <= 120.0).collect::<Vec<f64>>();
        let warmer = || warmer.iter().copied().filter(|c| *c <= 25.0).collect::<Vec<f64>>();
        let of_hours = |most_hours| Wanted { most_hours, ..self.wanted.clone() };
        let of_water = |water_c| Wanted { water_c, ..self.wanted.clone() };
        if let Some(most_hours) = self.least(&longer(), of_hours)? {
            ways.push(format!("up to {most_hours:.0} h"));
        }
        if let Some(water_c) = self.least(&warmer(), of_water)? {
            ways.push(format!("water of {water_c:.0} °C"));
        }
        if let (true, Some(most_hours)) = (ways.is_empty(), longer().last().copied()) {
            let both = |water_c| Wanted { most_hours, ..of_water(water_c) };
            if let Some(water_c) = self.least(&warmer(), both)? {
                ways.push(format!("water of {water_c:.0} °C and up to {most_hours:.0} h"));
            }
        }
        let trouble = if wettest > 0.0 {
            let (most, wanted) = (100.0 * wettest, 100.0 * self.wanted.moisture_wet);
            format!("no waters and rests bring it to {wanted:.1} %; {most:.1} % is the wettest")
        } else {
            "no end of a water or rest falls in a shift".to_owned()
        };
        let remedy = match ways.as_slice() {
            [] => "ask for less moisture, or longer waters".to_owned(),
            ways => format!("it takes {}", ways.join(", or ")),
        };
        Ok(Fault::Unworkable { field: "wanted.moisture_wet".into(), trouble, remedy })
    }

    /// The least of rising figures with which a wish can be met: each meets it when a lesser does.
    fn least(&self, rising: &[f64], wish: impl Fn(f64) -> Wanted) -> Result<Option<f64>, Fault> {
        let met = |value: f64| -> Result<bool, Fault> {
            let wanted = wish(value);
            Ok((Search { wanted: &wanted, ..*self }).best()?.is_some())
        };
        let (mut low, mut high) = (0, rising.len());
        let Some(last) = rising.last() else {
            return Ok(None);
        };
        if !met(*last)? {
            return Ok(None);
        }
        while low + 1 < high {
            let middle = usize::midpoint(low, high);
            if met(rising[middle - 1])? { high = middle } else { low = middle }
        }
        Ok(rising.get(high - 1).copied())
    }
}
