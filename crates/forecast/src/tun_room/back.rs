//! One washback: how it goes, when it is ready, how long it may wait.

use super::bend::{self, Bent, Usual, acid, bend, sd_of, usual};
use super::ready::{fallen, latest_h, ready_h};
use super::stray::{Asked, Stray, stray};
use super::working::{Moved, Working, strength_at};
use crate::expect::Forecasts;
use crate::figure::{Band, Figure, NINE_IN_TEN, Shown};
use crate::maltings::factor::Factor;
use crate::maltings::seen::{Between, hours, later};
use gauge::Fault;
use house::standing::{Reading, Washback};
use house::{House, Standing};
use jiff::Timestamp;
use process::ferment::{GAS_M3_KG, HOT_C, Run};

/// A washback set this much otherwise than asked is told so, °C.
const SET_APART_C: f64 = 0.7;
/// Worts this far from the forecast of their make are other worts than were asked; less is the
/// ordinary difference from mash to mash. Our own choice, twice that difference and more.
const GRAVITY_APART: f64 = 0.004;
/// Gas that lifts a head over a washback filled past [`FULL`], kg/(m³ h).
const FOAM_KG_M3_H: f64 = 2.5;
/// Share of the washback that is full.
const FULL: f64 = 0.80;
/// The time it is ready is never known better, h.
const READY_SD_H: f64 = 1.0;

const GRAVITY: Shown = Shown("gravity", "gravity", "", 4);
const TEMPERATURE: Shown = Shown("temperature_c", "temperature", "°C", 1);
const STRENGTH: Shown = Shown("strength_pct", "strength", "% vol", 1);
const PURE: Shown = Shown("pure_alcohol_l", "pure alcohol", "L", 0);
const CHARGED: Shown = Shown("charge_strength_pct", "strength", "% vol", 2);
const FINAL: Shown = Shown("final_gravity", "final gravity", "", 4);

/// One moment of a washback.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BackPoint {
    /// When.
    pub at: Timestamp,
    /// Gravity, 20/20.
    pub gravity: f64,
    /// Its standard uncertainty.
    pub gravity_sd: f64,
    /// Temperature.
    pub temperature_c: f64,
    /// Its standard uncertainty.
    pub temperature_sd: f64,
    /// Strength, % vol.
    pub strength_pct: f64,
}

/// A noted figure and whether it lies outside what the others let expect.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NotedBeside {
    /// The reading.
    pub reading: Reading,
    /// What the reckoning has for that moment, with all readings in it.
    pub expected: f64,
    /// Whether they are further apart than nine in ten are.
    pub outside: bool,
}

/// A washback at work.
#[derive(Debug, Clone, PartialEq)]
pub struct Back {
    /// The washback, a key.
    pub vessel: String,
    /// The mash.
    pub mash: u32,
    /// The make, a key.
    pub make: String,
    /// When it was set.
    pub set_at: Timestamp,
    /// Hours since then.
    pub hour: f64,
    /// Setting temperature as noted, and as asked.
    pub set_c: (f64, f64),
    /// Gravity now.
    pub gravity: Figure,
    /// Temperature now.
    pub temperature: Figure,
    /// Strength now.
    pub strength: Figure,
    /// In words: "in full fall".
    pub phase: &'static str,
    /// When it is ready; none where that does not come within its longest time.
    pub ready: Option<Between>,
    /// The latest that it is distilled.
    pub latest: Timestamp,
    /// Highest temperature, and when.
    pub peak: (f64, Timestamp),
    /// Its course, hour by hour.
    pub points: Vec<BackPoint>,
    /// The course as asked, where it was set otherwise or strays; else empty.
    pub asked: Vec<BackPoint>,
    /// Noted gravities.
    pub noted_gravity: Vec<NotedBeside>,
    /// Noted temperatures.
    pub noted_temperature: Vec<NotedBeside>,
    /// What was bent to them.
    pub factors: Vec<Factor>,
    /// Carbon dioxide given off now, m³/h.
    pub gas_m3_h: f64,
    /// The most of it, and when.
    pub gas_most: (f64, Timestamp),
    /// Room above the worts, L.
    pub headspace_l: f64,
    /// What the head will do, where it may come over.
    pub foam: Option<String>,
    /// Strength declared from the gravities, % vol.
    pub declared_pct: Option<f64>,
    /// Pure alcohol when it is charged, or at the usual time.
    pub pure_alcohol: Figure,
    /// Strength then, % vol of the wash.
    pub charge_strength: Figure,
    /// Gravity then.
    pub final_gravity: Figure,
    /// pH then.
    pub ph: f64,
    /// Whether and why it strays.
    pub stray: Option<Stray>,
    /// When it is charged; none until [`super::room()`] is told.
    pub charge_at: Option<Timestamp>,
    /// What to know.
    pub says: Vec<String>,
    /// Carbon dioxide, m³/h, an hour a row.
    gas: Vec<f64>,
}

impl Back {
    /// Carbon dioxide given off at an hour from its setting, m³/h; nought before and after.
    pub fn gas_at(&self, hour: f64) -> f64 {
        if hour < 0.0 || self.charge_at.is_some_and(|at| hours(self.set_at, at) < hour) {
            return 0.0;
        }
        let (whole, share) = (hour.floor() as usize, hour.fract());
        match (self.gas.get(whole), self.gas.get(whole + 1)) {
            (Some(a), Some(b)) => a + share * (b - a),
            _ => 0.0,
        }
    }
}

/// The value of a curve at an hour.
pub(super) fn at_hour(run: &Run, key: &str, hour: f64) -> f64 {
    run.curves.at(key, hour).unwrap_or(f64::NAN)
}

/// Reckons a washback from its setting and bends it to what was noted until `at`.
///
/// # Units
/// As the fields say.
/// # Range
/// A washback and a make of this house; what was noted must be possible.
/// # Error
/// Bands hold the yeast's vigour, how soon it wakes, how far it ferments and the noted setting.
/// # Source
/// The pages of the washback; Gauss and Newton's steps with priors.
pub fn back(
    house: &House,
    forecasts: &Forecasts,
    standing: &Standing,
    back: &Washback,
    at: Timestamp,
) -> Result<Back, Fault> {
    let (own, usual) = bent_beside(house, forecasts, standing, back, at)?;
    Ok(finish(&own, forecasts, standing, &usual, at))
}

/// A washback bent to its readings beside what the others show to be usual.
pub(crate) fn bent_beside<'h>(
    house: &'h House,
    forecasts: &Forecasts,
    standing: &'h Standing,
    back: &'h Washback,
    at: Timestamp,
) -> Result<(Begun<'h>, Usual), Fault> {
    let rest = standing.washbacks.iter().filter(|other| other.mash != back.mash);
    let others = begun_all(house, forecasts, standing, rest, at);
    let own = begun(house, forecasts, standing, back, at)?;
    let usual = usual(&others.iter().map(|b| &b.bent).collect::<Vec<_>>());
    Ok((own.beside(&usual, at)?, usual))
}

/// Washbacks, each bent to its own readings alone, side by side. What cannot be reckoned is left
/// out.
pub(crate) fn begun_all<'h>(
    house: &'h House,
    forecasts: &Forecasts,
    standing: &Standing,
    backs: impl Iterator<Item = &'h Washback>,
    at: Timestamp,
) -> Vec<Begun<'h>> {
    std::thread::scope(|scope| {
        let hands: Vec<_> = backs
            .map(|own| scope.spawn(move || begun(house, forecasts, standing, own, at)))
            .collect();
        hands.into_iter().filter_map(|hand| hand.join().ok()?.ok()).collect()
    })
}

/// Each of them beside what the rest show to be usual.
pub(crate) fn all_beside<'h>(all: &[Begun<'h>], at: Timestamp) -> Vec<(Begun<'h>, Usual)> {
    let one = |i: usize| {
        let others = all.iter().enumerate().filter(|(j, _)| *j != i).map(|(_, b)| &b.bent);
        let usual = usual(&others.collect::<Vec<_>>());
        Some((all[i].beside(&usual, at).ok()?, usual))
    };
    std::thread::scope(|scope| {
        let one = &one;
        let hands: Vec<_> = (0..all.len()).map(|i| scope.spawn(move || one(i))).collect();
        hands.into_iter().filter_map(|hand| hand.join().ok()?).collect()
    })
}

/// A washback bent to its readings, before it is weighed against the others.
pub(crate) struct Begun<'h> {
    pub(crate) back: &'h Washback,
    pub(crate) working: Working<'h>,
    pub(crate) bent: Bent,
}

impl<'h> Begun<'h> {
    /// The same, what is usual of the house being believed before its own readings.
    fn beside(&self, usual: &Usual, at: Timestamp) -> Result<Begun<'h>, Fault> {
        let mut working = self.working.clone();
        for (i, (shift, sd)) in usual.iter().enumerate() {
            working.usual[i] = *shift;
            working.prior_sd[i] = *sd;
        }
        let bent = bend(&working, self.back, at)?;
        Ok(Begun { back: self.back, working, bent })
    }
}

fn begun<'h>(
    house: &'h House,
    forecasts: &Forecasts,
    standing: &Standing,
    back: &'h Washback,
    at: Timestamp,
) -> Result<Begun<'h>, Fault> {
    let working = Working::of(house, forecasts, standing, back)?;
    let bent = bend(&working, back, at)?;
    Ok(Begun { back, working, bent })
}

/// All of it, beside what is usual of the house.
pub(super) fn finish(
    own: &Begun<'_>,
    forecasts: &Forecasts,
    standing: &Standing,
    usual: &Usual,
    at: Timestamp,
) -> Back {
    let Begun { back, working, bent } = own;
    let asked = asked_of(working, forecasts, standing, back);
    let stray = stray(working, bent, asked, usual, &acid(back, at));
    assemble(working, back, bent, (asked, stray), at)
}

/// What was asked of it: usual of its make, with what was decided.
fn asked_of(
    working: &Working<'_>,
    forecasts: &Forecasts,
    standing: &Standing,
    back: &Washback,
) -> Asked {
    let usual = &working.make.ferment;
    let kept = standing.sheets.iter().rfind(|kept| kept.mash == back.mash);
    let of_make = forecasts.of_make(&back.make);
    let expected = of_make.and_then(|b| b.figure("mash", "original_gravity")).map(|f| f.value);
    let other = expected.filter(|g| (g - back.original_gravity).abs() > GRAVITY_APART);
    Asked {
        set_c: kept.and_then(|k| k.set_c).unwrap_or(usual.programme.set_c),
        yeast_kg: kept.and_then(|k| k.yeast_kg).unwrap_or(usual.pitch.yeast_kg),
        original_gravity: other.unwrap_or(back.original_gravity),
    }
}

fn assemble(
    working: &Working<'_>,
    back: &Washback,
    bent: &Bent,
    (asked, stray): (Asked, Option<Stray>),
    at: Timestamp,
) -> Back {
    let run = &bent.run;
    let hour = hours(back.set_at, at).clamp(0.0, working.hours());
    let when = |h: f64| later(back.set_at, h);
    let band = |of: &dyn Fn(&Run) -> f64| {
        let value = of(run);
        let squares = bent.others.iter().map(|other| (of(other) - value).powi(2)).sum::<f64>();
        (value, squares.sqrt())
    };
    let figure = |shown: Shown, of: &dyn Fn(&Run) -> f64| {
        let (value, sd) = band(of);
        Figure { band: Some(Band::around(value, sd)), ..shown.of(value) }
    };
    let usual_h = working.make.ferment.programme.hours;
    let pure = |r: &Run| {
        let ethanol = at_hour(r, "ethanol_kg_m3", usual_h);
        working.fill_m3() * 1000.0 * ethanol / gauge::alcoholometry::kernel::ETHANOL_KG_M3
    };
    let ready = ready(bent, back.set_at);
    let latest =
        latest_h(&run.curves).map_or(working.own.longest_h, |h| h.min(working.own.longest_h));
    let gas = gas(working, run);
    let most = gas.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1));
    let gas_most = most.map_or((0.0, when(0.0)), |(h, m)| (*m, when(h as f64)));
    let moved = (back.set_c - asked.set_c).abs() > SET_APART_C || stray.is_some();
    let mut out = Back {
        vessel: back.vessel.clone(),
        mash: back.mash,
        make: back.make.clone(),
        set_at: back.set_at,
        hour,
        set_c: (back.set_c, asked.set_c),
        gravity: figure(GRAVITY, &|r| at_hour(r, "gravity", hour)),
        temperature: figure(TEMPERATURE, &|r| at_hour(r, "temperature_c", hour)),
        strength: figure(STRENGTH, &|r| strength_at(&r.curves, hour)),
        phase: "",
        ready,
        latest: when(latest),
        peak: (run.peak_c, when(run.peak_at_h)),
        points: points(bent, back.set_at),
        asked: if moved { as_asked(working, asked, back.set_at) } else { Vec::new() },
        noted_gravity: beside(&back.gravity, bent, back.set_at, "gravity", at),
        noted_temperature: beside(&back.temperature_c, bent, back.set_at, "temperature_c", at),
        factors: bent.factors.clone(),
        gas_m3_h: 0.0,
        gas_most,
        headspace_l: working.own.volume_l - working.bulk_l,
        foam: foam(working, run),
        declared_pct: back.declared_pct,
        pure_alcohol: figure(PURE, &pure),
        charge_strength: figure(CHARGED, &|r| strength_at(&r.curves, usual_h)),
        final_gravity: figure(FINAL, &|r| at_hour(r, "gravity", usual_h)),
        ph: at_hour(run, "ph", usual_h),
        stray,
        charge_at: None,
        says: Vec::new(),
        gas,
    };
    out.gas_m3_h = out.gas_at(hour);
    out.phase = phase(&out, run, at);
    says(&mut out, working);
    out
}

fn ready(bent: &Bent, set_at: Timestamp) -> Option<Between> {
    let hour = ready_h(&bent.run.curves)?;
    let apart = bent.others.iter().filter_map(|r| Some(ready_h(&r.curves)? - hour));
    let sd = apart.map(|d| d * d).sum::<f64>().sqrt().hypot(READY_SD_H);
    Some(Between::around(later(set_at, hour), sd))
}

/// Carbon dioxide given off, m³/h, hour by hour.
fn gas(working: &Working<'_>, run: &Run) -> Vec<f64> {
    let rates = run.curves.get("carbon_dioxide_kg_m3_h").unwrap_or(&[]);
    rates.iter().map(|rate| rate * working.fill_m3() * GAS_M3_KG).collect()
}

fn phase(back: &Back, run: &Run, at: Timestamp) -> &'static str {
    let fallen = fallen(&run.curves, back.hour).unwrap_or(0.0);
    if at > back.latest {
        "past its time"
    } else if back.ready.is_some_and(|ready| at >= ready.likely) {
        "ready"
    } else if fallen < 0.02 {
        "just set"
    } else if fallen < 0.12 {
        "just moving"
    } else if fallen < 0.85 {
        "in full fall"
    } else {
        "falling the last of it"
    }
}

fn says(back: &mut Back, working: &Working<'_>) {
    let (set_c, asked_c) = back.set_c;
    if (set_c - asked_c).abs() > SET_APART_C {
        back.says.push(format!("Set at {set_c:.1} °C, asked {asked_c:.1}."));
    }
    if back.peak.0 > HOT_C {
        let peak = back.peak.0;
        let past = format!("past {HOT_C:.0} °C yeast dies quickly");
        back.says.push(format!("Its peak is {peak:.1} °C; {past}."));
    }
    if back.headspace_l < 0.0 {
        let holds = working.own.volume_l;
        let filled = working.bulk_l;
        back.says.push(format!("It holds {holds:.0} L; {filled:.0} L were noted."));
    }
    back.says.extend(back.foam.clone());
}

fn foam(working: &Working<'_>, run: &Run) -> Option<String> {
    let full = working.bulk_l / working.own.volume_l;
    if run.peak_carbon_dioxide_kg_m3_h <= FOAM_KG_M3_H || full <= FULL {
        return None;
    }
    let rates = run.curves.get("carbon_dioxide_kg_m3_h")?;
    let first = rates.iter().position(|rate| *rate > FOAM_KG_M3_H)?;
    let (pct, left_l) = (100.0 * full, working.own.volume_l - working.bulk_l);
    Some(format!("The head may come over from hour {first}: {pct:.0} % full, {left_l:.0} L above."))
}

fn point(run: &Run, hour: f64, set_at: Timestamp) -> BackPoint {
    BackPoint {
        at: later(set_at, hour),
        gravity: at_hour(run, "gravity", hour),
        gravity_sd: 0.0,
        temperature_c: at_hour(run, "temperature_c", hour),
        temperature_sd: 0.0,
        strength_pct: strength_at(&run.curves, hour),
    }
}

fn hours_of(run: &Run) -> &[f64] {
    run.curves.columns.first().map_or(&[], |c| &c.values)
}

fn points(bent: &Bent, set_at: Timestamp) -> Vec<BackPoint> {
    let one = |hour: &f64| {
        let mut here = point(&bent.run, *hour, set_at);
        let sd = |key: &str, value: f64| {
            let squares = bent.others.iter().map(|r| (at_hour(r, key, *hour) - value).powi(2));
            squares.sum::<f64>().sqrt()
        };
        here.gravity_sd = sd("gravity", here.gravity);
        here.temperature_sd = sd("temperature_c", here.temperature_c);
        here
    };
    hours_of(&bent.run).iter().map(one).collect()
}

fn as_asked(working: &Working<'_>, asked: Asked, set_at: Timestamp) -> Vec<BackPoint> {
    let other = Working {
        set_c: asked.set_c,
        yeast_kg: asked.yeast_kg,
        original_gravity: asked.original_gravity,
        ..working.clone()
    };
    let Ok(run) = other.run(&Moved::default()) else { return Vec::new() };
    hours_of(&run).iter().map(|hour| point(&run, *hour, set_at)).collect()
}

fn beside(
    readings: &[Reading],
    bent: &Bent,
    set_at: Timestamp,
    column: &'static str,
    at: Timestamp,
) -> Vec<NotedBeside> {
    let one = |reading: &Reading| {
        let hour = hours(set_at, reading.at);
        let expected = bent.run.curves.at(column, hour)?;
        let others = bent.others.iter();
        let squares = others.map(|r| (at_hour(r, column, hour) - expected).powi(2)).sum::<f64>();
        let own = sd_of(&bent.run, &bend::Reading { hour, value: reading.value, column });
        let sd = squares.sqrt().hypot(own);
        let outside = (reading.value - expected).abs() > NINE_IN_TEN * sd;
        Some(NotedBeside { reading: *reading, expected, outside })
    };
    readings.iter().filter(|r| r.at <= at && r.at >= set_at).filter_map(one).collect()
}
