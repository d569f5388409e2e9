//! The figures the search moves, how far each may go, and the firing they make together.

use super::super::Vessel;
use super::super::firing::Firing;
use super::{Asked, Wanted};
use gauge::Fault;
use gauge::fault::Side;

/// A figure of the hand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Knob {
    DryC,
    CureC,
    CureH,
    Returned,
    PeatC,
    PeatFlow,
    PeatRate,
    Hours,
    Flow,
}

/// How many there are.
pub(super) const KNOBS: usize = 9;

/// One setting of all of them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Point([f64; KNOBS]);

impl Point {
    pub(super) fn at(&self, knob: Knob) -> f64 {
        self.0[knob as usize]
    }
    pub(super) fn with(mut self, knob: Knob, value: f64) -> Self {
        self.0[knob as usize] = value;
        self
    }
}

/// How far a figure may go, the first step of the search along it and the last.
#[derive(Debug, Clone, Copy)]
pub(super) struct Span {
    pub(super) low: f64,
    pub(super) high: f64,
    pub(super) step: f64,
    pub(super) least: f64,
}

/// Air-on over peat: cooler hardly dries, hotter hardly holds smoke (half is lost at 65 °C).
const PEAT_C: (f64, f64) = (35.0, 60.0);
/// Longest cure that is looked at.
const CURE_MOST_H: f64 = 24.0;
/// Peat an hour and tonne where the house has no usual firing with smoke [design].
const PEAT_RATE: f64 = 10.0;
/// Share of the peat's heat that the air over it must carry off, where no usual firing with smoke
/// tells: smouldering keeps back much of it [design].
const PEAT_HEAT_SHARE: f64 = 0.5;
/// Slowest burning that is looked at, as a share of the briskest that the air over it bears.
const PEAT_SLOWEST: f64 = 0.4;
/// Longest kilning that is looked at.
pub(super) const HOURS_MOST: f64 = 400.0;

/// All spans, and what of a lit kiln is past.
#[derive(Debug, Clone)]
pub(super) struct Ground {
    spans: [Span; KNOBS],
    usual: Firing,
    pub(super) begun: Begun,
    pub(super) smoke: bool,
    /// What the burner gives, W/m²; none is without limit.
    pub(super) burner_w_m2: Option<f64>,
    ambient_c: f64,
    wall_w_k_m2: f64,
    /// Most peat the hearth burns, kg an hour and tonne.
    hearth_kg_t_h: f64,
    /// Heat that the air over the peat must carry off, W/m² for each kg an hour and tonne.
    peat_w_m2: f64,
    /// Whether the fan sets the most air.
    pub(super) fan: bool,
    /// Whether any peat may still be burnt or left unburnt.
    pub(super) smoke_open: bool,
}

/// How far a kiln already lit has come.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Begun {
    pub(super) time_h: f64,
    /// The smoke is over.
    pub(super) drying: bool,
    /// The drying is over.
    pub(super) curing: bool,
}

impl Ground {
    pub(super) fn of(asked: &Asked<'_>) -> Result<Self, Fault> {
        let Asked { vessel, usual, wanted, .. } = *asked;
        if wanted.cure_least_c > wanted.cure_most_c {
            return Err(Fault::Beyond {
                field: "wanted.cure_least_c".into(),
                value: wanted.cure_least_c,
                unit: "°C",
                side: Side::AtMost,
                limit: wanted.cure_most_c,
                sets: "the hottest air-on wanted".into(),
            });
        }
        let time_h = asked.from.map_or(0.0, |state| state.time_h);
        let begun = Begun {
            time_h,
            drying: time_h > 0.0 && time_h >= usual.peat_h,
            curing: time_h > 0.0 && time_h >= usual.peat_h + usual.dry_h,
        };
        let smoke_open = !begun.drying;
        let smoke = if smoke_open { wanted.phenols_mg_kg_dry > 0.0 } else { usual.peat_h > 0.0 };
        let (spans, fan) = spans(usual, wanted, vessel);
        let usual_rate = usual.peat_rate_kg_t_h();
        let mut ground = Self {
            spans,
            usual: usual.clone(),
            begun,
            smoke,
            burner_w_m2: vessel.burner_w.map(|w| w / vessel.area_m2),
            ambient_c: asked.setting.air.ambient_c,
            wall_w_k_m2: vessel.wall_loss_w_k / vessel.area_m2,
            hearth_kg_t_h: wanted.peat_most_kg_t_h.unwrap_or(if usual_rate > 0.0 {
                usual_rate
            } else {
                PEAT_RATE
            }),
            peat_w_m2: 0.0,
            fan,
            smoke_open,
        };
        let dry_t_m2 = asked.charge.depth_m * asked.charge.dry_bulk_kg_m3 / 1000.0;
        let all = asked.setting.peat.peat_mj_kg * 1e6 / 3600.0 * dry_t_m2;
        // A house that smoulders its peat knows how much of the heat its air takes up.
        let share = if usual_rate > 0.0 {
            let taken = ground.air_heat_w_m2(usual.peat_flow(), usual.peat_c);
            (taken / (usual_rate * all)).min(1.0)
        } else {
            PEAT_HEAT_SHARE
        };
        ground.peat_w_m2 = share * all;
        Ok(ground)
    }

    /// Heat that air takes up on its way to an air-on, walls and all, W/m².
    fn air_heat_w_m2(&self, flow_kg_m2_s: f64, air_on_c: f64) -> f64 {
        (1020.0 * flow_kg_m2_s + self.wall_w_k_m2) * (air_on_c - self.ambient_c).max(0.0)
    }

    /// Peat burnt in an hour for a tonne: a share of the briskest that hearth and air bear. Peat
    /// whose heat the air could not carry off would make the air-on hotter than it is meant to be.
    pub(super) fn peat_rate(&self, point: &Point) -> f64 {
        if self.begun.time_h > 0.0 {
            return self.usual.peat_rate_kg_t_h().max(1e-3);
        }
        let heat = self.air_heat_w_m2(point.at(Knob::PeatFlow), point.at(Knob::PeatC));
        let bears = heat / self.peat_w_m2.max(1e-9);
        (point.at(Knob::PeatRate) * bears.min(self.hearth_kg_t_h)).max(0.05)
    }

    /// Most peat the hearth burns, kg an hour and tonne.
    pub(super) fn hearth_kg_t_h(&self) -> f64 {
        self.hearth_kg_t_h
    }

    pub(super) fn span(&self, knob: Knob) -> Span {
        self.spans[knob as usize]
    }

    pub(super) fn limit(&mut self, knob: Knob, low: f64, high: f64) {
        let span = &mut self.spans[knob as usize];
        (span.low, span.high) = (low, high);
    }

    pub(super) fn clamp(&self, knob: Knob, value: f64) -> f64 {
        let span = self.span(knob);
        value.min(span.high).max(span.low)
    }

    /// The most air that fan and burner hold at an air-on, without air sent back.
    pub(super) fn most_flow(&self, air_on_c: f64) -> f64 {
        let fan = self.span(Knob::Flow).high;
        let warmer_k = (air_on_c - self.ambient_c).max(1.0);
        let burnt = self.burner_w_m2.map(|w| 0.97 * w / (1020.0 * warmer_k));
        self.clamp(Knob::Flow, burnt.map_or(fan, |flow| flow.min(fan)))
    }

    /// The usual firing as a point inside the spans.
    pub(super) fn start(&self) -> Point {
        let usual = &self.usual;
        let all = [
            (Knob::DryC, usual.dry_c),
            (Knob::CureC, usual.cure_c),
            (Knob::CureH, usual.cure_h),
            (Knob::Returned, self.span(Knob::Returned).high),
            (Knob::PeatC, usual.peat_c),
            (Knob::PeatFlow, usual.peat_flow()),
            (Knob::PeatRate, 1.0),
            (Knob::Hours, usual.hours()),
            (Knob::Flow, usual.flow_kg_m2_s),
        ];
        let point = Point([0.0; KNOBS]);
        all.into_iter().fold(point, |p, (knob, value)| p.with(knob, self.clamp(knob, value)))
    }

    /// The figures that are still open, of those that change the course of a firing.
    pub(super) fn open(&self) -> Vec<Knob> {
        let mut knobs = Vec::with_capacity(KNOBS);
        if self.smoke && self.smoke_open {
            // A fire already smoking keeps its air, its heat and its peat an hour.
            if self.begun.time_h <= 0.0 {
                knobs.extend([Knob::PeatFlow, Knob::PeatC]);
            }
        }
        if !self.begun.curing {
            knobs.extend([Knob::DryC, Knob::CureH]);
        }
        knobs.extend([Knob::CureC, Knob::Returned]);
        knobs
    }

    /// The firing of a point with so much peat; none when its phases do not fit its hours.
    pub(super) fn firing(&self, point: &Point, peat_kg_t: f64) -> Result<Firing, f64> {
        let (usual, begun) = (&self.usual, self.begun);
        let hours = point.at(Knob::Hours);
        let mut firing = Firing {
            dry_c: point.at(Knob::DryC),
            cure_c: point.at(Knob::CureC),
            cure_h: point.at(Knob::CureH),
            flow_kg_m2_s: point.at(Knob::Flow),
            returned: point.at(Knob::Returned),
            peat_h: 0.0,
            peat_kg_t: 0.0,
            peat_flow_kg_m2_s: None,
            ..usual.clone()
        };
        if begun.drying {
            firing.peat_h = usual.peat_h;
            firing.peat_kg_t = usual.peat_kg_t;
            firing.peat_flow_kg_m2_s = Some(usual.peat_flow());
        } else if self.smoke {
            let rate = self.peat_rate(point);
            firing.peat_h = (peat_kg_t / rate).max(begun.time_h);
            firing.peat_kg_t = firing.peat_h * rate;
            firing.peat_c = point.at(Knob::PeatC);
            firing.peat_flow_kg_m2_s = Some(point.at(Knob::PeatFlow));
        } else if begun.time_h > 0.0 {
            // Lit over peat that is wanted no more: the smoke ends here.
            firing.peat_h = begun.time_h;
            firing.peat_kg_t = begun.time_h * usual.peat_rate_kg_t_h();
            firing.peat_flow_kg_m2_s = Some(usual.peat_flow());
        }
        if begun.curing {
            firing.dry_h = usual.dry_h;
            firing.cure_h = hours - firing.peat_h - firing.dry_h;
            return if firing.cure_h > 0.0 { Ok(firing) } else { Err(-firing.cure_h) };
        }
        firing.dry_h = hours - firing.peat_h - firing.cure_h;
        let passed_h = (begun.time_h - firing.peat_h).max(0.0);
        if firing.dry_h < passed_h { Err(passed_h - firing.dry_h) } else { Ok(firing) }
    }
}

fn spans(usual: &Firing, wanted: &Wanted, vessel: &Vessel) -> ([Span; KNOBS], bool) {
    let span =
        |low: f64, high: f64, step: f64, least: f64| Span { low: low.min(high), high, step, least };
    let usual_least = usual.flow_kg_m2_s.min(usual.peat_flow());
    let flow_least = wanted.flow_least_kg_m2_s.unwrap_or(0.5 * usual_least).max(0.02);
    let fan = vessel.fan_kg_s.map(|kg_s| kg_s / vessel.area_m2);
    // Without a fan that says, no more than three times what is usual.
    let flow_most = fan.unwrap_or(3.0 * usual.flow_kg_m2_s).min(1.0);
    let returned = wanted.returned_most.unwrap_or(usual.returned);
    let dry_most = wanted.cure_most_c.min(90.0);
    let by_h = wanted.by_h.unwrap_or(HOURS_MOST);
    let flow_step = 0.15 * usual.flow_kg_m2_s;
    let all = [
        span(30.0, dry_most, 2.0, 0.4),
        span(wanted.cure_least_c, wanted.cure_most_c, 3.0, 0.8),
        span(wanted.cure_least_h, CURE_MOST_H.max(wanted.cure_least_h), 1.2, 0.3),
        span(0.0, returned, 0.15, 0.06),
        span(PEAT_C.0, PEAT_C.1.min(wanted.cure_most_c), 4.0, 1.0),
        span(flow_least, flow_most, flow_step, 0.2 * flow_step),
        span(PEAT_SLOWEST, 1.0, 0.2, 0.05),
        span(0.5, by_h, 0.08 * usual.hours(), 0.01 * usual.hours()),
        span(flow_least, flow_most, flow_step, 0.1 * flow_step),
    ];
    (all, fan.is_some())
}
