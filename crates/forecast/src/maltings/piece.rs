//! A piece on its floor: how warm it lies, when it wants turning, and when it is ready.
//!
//! The piece is followed from its steep and casting through every noted turn, thinning and
//! temperature to the end of its hold; from now on it is turned when it has lain as long as its
//! barley's hand allows or is warmer than that. Noted temperatures bend its breathing, known to
//! 15 % before. The band of the ready moment holds what the constants of growth know of
//! themselves, the air over the floor, and how unevenly the barley grows.

use super::band::{Spread, spread};
use super::factor::Factor;
use super::grown::{Course, Grown, Until};
use super::seen::{Between, Noted, about, hours, later};
use crate::figure::{Figure, Shown};
use gauge::Fault;
use house::malted::{Malted, Turning};
use house::standing::Reading;
use house::{House, Standing};
use jiff::Timestamp;
use process::floor::How;

/// A piece is flagged when it has lain this share of the hours in which it felts.
const FLAG_SHARE: f64 = 0.75;
/// A piece is followed at least so long beyond ready, for what waiting costs, h.
const LEAST_AHEAD_H: f64 = 12.0;
/// Share of outgrown corns that is told.
const OVERGROWN: f64 = 0.10;

/// A moment of a piece.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// When.
    pub at: Timestamp,
    /// Mean temperature of the grain.
    pub grain_c: f64,
    /// Standard uncertainty of it, K.
    pub grain_sd_c: f64,
    /// In the middle of the heap.
    pub core_c: f64,
    /// Moisture, wet basis, 0 to 1.
    pub moisture_wet: f64,
    /// How far the corn is softened, 0 to 1.
    pub modification: f64,
    /// Length of the acrospire over the corn's.
    pub acrospire: f64,
    /// Depth it lies at.
    pub depth_m: f64,
    /// Share of corns outgrown, 0 to 1.
    pub overgrown_fraction: f64,
    /// Dry matter without rootlets.
    pub malt_dry_kg: f64,
}

/// A turn that will be due.
#[derive(Debug, Clone, PartialEq)]
pub struct Due {
    /// When.
    pub at: Timestamp,
    /// How.
    pub how: Turning,
    /// Why then.
    pub why: String,
    /// Whether nobody is on watch then.
    pub on_call: bool,
}

/// How near a piece is to felting.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Felt {
    /// It was turned lately.
    No,
    /// It should be turned before it felts: its hours are running out.
    Soon,
    /// It has lain longer than it should.
    Past,
}

/// A piece on its floor, reckoned anew from what was noted.
#[derive(Debug, Clone, PartialEq)]
pub struct Floored {
    /// The piece.
    pub piece: u32,
    /// The make it is meant for, a key.
    pub make: String,
    /// The floor, a key.
    pub vessel: String,
    /// The barley lots in words.
    pub lots: String,
    /// When it was cast.
    pub laid_at: Timestamp,
    /// The moment it was reckoned for.
    pub at: Timestamp,
    /// Past and future, to ready and the end of the hold: hourly, and just before each turn.
    pub points: Vec<Point>,
    /// Noted temperatures.
    pub noted: Vec<Noted>,
    /// Noted acrospires, share of the corn.
    pub acrospires: Vec<Noted>,
    /// Turns done.
    pub turns_done: Vec<(Timestamp, Turning)>,
    /// Turns to come, also while it is held.
    pub turns_due: Vec<Due>,
    /// When it is ready for the kiln.
    pub ready: Between,
    /// Until when a ready piece may be held.
    pub hold_until: Timestamp,
    /// How it stands now.
    pub now: Point,
    /// As it will be loaded when ready, by key: `moisture_pct`, `modification_pct`, `acrospire`,
    /// `overgrown_pct`, `malting_loss_pct`, `highest_c`, `turns`, `depth_m`, `age_d`.
    pub figures: Vec<Figure>,
    /// Its ceiling: warmer than this it is turned.
    pub ceiling_c: f64,
    /// When it felts unless it is turned.
    pub felts_at: Timestamp,
    /// From when on that is flagged.
    pub flag_at: Timestamp,
    /// How near that is now.
    pub felt: Felt,
    /// Its breathing beside the usual.
    pub respiration: Factor,
    /// What it gives off now, kg/h.
    pub carbon_dioxide_kg_h: f64,
    /// Why its band is wide, where it is.
    pub uneven: Option<String>,
    /// The piece at the moment it is ready, as the kiln takes it.
    pub green: process::floor::Out,
    /// What to know.
    pub says: Vec<String>,
}

impl Floored {
    /// How it stands at a moment, on the straight line between points.
    pub fn at(&self, at: Timestamp) -> Option<Point> {
        let (a, b, share) = about(&self.points, |p| p.at, at)?;
        let mix = |of: fn(&Point) -> f64| of(a) + share * (of(b) - of(a));
        Some(Point {
            at,
            grain_c: mix(|p| p.grain_c),
            grain_sd_c: mix(|p| p.grain_sd_c),
            core_c: mix(|p| p.core_c),
            moisture_wet: mix(|p| p.moisture_wet),
            modification: mix(|p| p.modification),
            acrospire: mix(|p| p.acrospire),
            depth_m: mix(|p| p.depth_m),
            overgrown_fraction: mix(|p| p.overgrown_fraction),
            malt_dry_kg: mix(|p| p.malt_dry_kg),
        })
    }
    /// Whether a band of its ready moment holds `at`.
    pub fn may_be_ready(&self, at: Timestamp) -> bool {
        at >= self.ready.from
    }
    /// The figure under `key`.
    pub fn figure(&self, key: &str) -> Option<&Figure> {
        self.figures.iter().find(|f| f.key == key)
    }
}

/// Gives a piece as it lies, was and will be.
///
/// # Units
/// As each figure says.
/// # Range
/// A piece cast on to a floor of the house; what a stage refuses is its fault. It must come to
/// its modification within twenty days.
/// # Error
/// Ready within its band nine times in ten, for what the model knows of its own constants.
/// # Source
/// [`process::floor`]; least squares with priors.
pub fn piece(
    house: &House,
    standing: &Standing,
    malted: &Malted,
    at: Timestamp,
) -> Result<Floored, Fault> {
    let unfitted = Grown::of(house, standing, malted, at)?;
    let before = if unfitted.laid.grain_c.is_empty() {
        None
    } else {
        Some(unfitted.course(Until::Hour(unfitted.now_h.max(1.0)))?)
    };
    let grown = unfitted.fitted();
    let hold_h = grown.own.hold_h;
    let course = grown.course(Until::ReadyAnd(hold_h.max(LEAST_AHEAD_H)))?;
    let wanted = grown.programme.hand.ready_modification;
    let ready_h = course.state.ready_h.ok_or(Fault::NeverReached {
        field: "hand.ready_modification".into(),
        wanted,
        reached: course.state.modification,
        unit: "",
    })?;
    let spread = spread(&grown, &course, ready_h);
    Ok(told(&grown, malted, at, &Reckoned { course, before, ready_h, spread }))
}

struct Reckoned {
    course: Course,
    before: Option<Course>,
    ready_h: f64,
    spread: Spread,
}

fn told(grown: &Grown<'_>, malted: &Malted, at: Timestamp, r: &Reckoned) -> Floored {
    let laid_at = grown.laid.at;
    let point = |row: &super::grown::Row, sd: &f64| Point {
        at: later(laid_at, row.time_h),
        grain_c: row.grain_c,
        grain_sd_c: *sd,
        core_c: row.core_c,
        moisture_wet: row.moisture_wet,
        modification: row.modification,
        acrospire: row.acrospire,
        depth_m: row.depth_m,
        overgrown_fraction: row.overgrown,
        malt_dry_kg: row.malt_dry_kg,
    };
    let points: Vec<Point> =
        r.course.rows.iter().zip(&r.spread.grain_sd_c).map(|(row, sd)| point(row, sd)).collect();
    let likely = later(laid_at, r.ready_h);
    let ready = Between::around(likely, r.spread.ready_sd_h);
    let last_turn_h = grown.programme.turns.last().map_or(0.0, |turn| turn.at_h);
    let felt_h = grown.own.felt_h;
    let (felts_at, flag_at) =
        (later(laid_at, last_turn_h + felt_h), later(laid_at, last_turn_h + FLAG_SHARE * felt_h));
    let felt = match at {
        at if at >= felts_at => Felt::Past,
        at if at >= flag_at => Felt::Soon,
        _ => Felt::No,
    };
    let turned = |how: How| match how {
        How::Turn => Turning::Full,
        How::Plough => Turning::Plough,
    };
    let done = grown.programme.turns.iter().map(|t| (later(laid_at, t.at_h), turned(t.how)));
    let after =
        |of: fn(&super::grown::Row) -> f64| move |at| r.course.at(hours(laid_at, at) - 0.02, of);
    let before = |of: fn(&super::grown::Row) -> f64| {
        let course = r.before.as_ref().unwrap_or(&r.course);
        move |at| course.at(hours(laid_at, at) - 0.02, of)
    };
    let mut floored = Floored {
        piece: malted.piece,
        make: malted.make.clone(),
        vessel: grown.laid.vessel.clone(),
        lots: grown.made.lots.clone(),
        laid_at,
        at,
        noted: Noted::beside(&grown.laid.grain_c, after(|r| r.grain_c), before(|r| r.grain_c)),
        acrospires: acrospires(&grown.laid.acrospire, &r.course, laid_at),
        turns_done: done.collect(),
        turns_due: due(grown, r),
        ready,
        hold_until: later(likely, grown.own.hold_h),
        now: points[0],
        figures: figures(r),
        ceiling_c: grown.programme.hand.turn_above_c,
        felts_at,
        flag_at,
        felt,
        respiration: grown.respiration.clone(),
        carbon_dioxide_kg_h: r
            .course
            .at(grown.now_h, |row| row.carbon_dioxide_kg_h)
            .unwrap_or(r.course.out.carbon_dioxide_kg_h),
        uneven: grown.made.why_uneven(),
        green: r.course.out.clone(),
        says: Vec::new(),
        points,
    };
    let last = floored.points[floored.points.len() - 1];
    floored.now = floored.at(at).unwrap_or(if at > last.at { last } else { floored.points[0] });
    floored.says = says(grown, &floored, felt_h);
    floored
}

fn acrospires(readings: &[Reading], course: &Course, laid_at: Timestamp) -> Vec<Noted> {
    let at = |at| course.at(hours(laid_at, at), |row| row.acrospire);
    Noted::beside(readings, at, at)
}

fn due(grown: &Grown<'_>, r: &Reckoned) -> Vec<Due> {
    let mut last_h = grown.programme.turns.last().map_or(0.0, |turn| turn.at_h);
    let hand = &grown.programme.hand;
    let mut out = Vec::new();
    for turn in r.course.turns.iter().filter(|t| t.at_h > grown.now_h - 1e-6) {
        let done = grown.programme.turns.iter().any(|t| (t.at_h - turn.at_h).abs() < 1e-6);
        if done {
            continue;
        }
        let lay_h = turn.at_h - last_h;
        // One that should have been given already was due then.
        let late = lay_h > hand.turn_every_h + 0.05;
        let at_h = if late { last_h + hand.turn_every_h } else { turn.at_h };
        let why = if late {
            format!("it has lain longer than {:.0} h", hand.turn_every_h)
        } else if lay_h >= hand.turn_every_h - 0.05 {
            format!("it will have lain {lay_h:.0} h")
        } else {
            format!("it comes to {:.0} °C", hand.turn_above_c)
        };
        last_h = turn.at_h;
        out.push(Due { at: later(grown.laid.at, at_h), how: Turning::Full, why, on_call: false });
    }
    out
}

fn figures(r: &Reckoned) -> Vec<Figure> {
    let row = |of: fn(&super::grown::Row) -> f64| r.course.at(r.ready_h, of).unwrap_or(f64::NAN);
    let out = &r.course.out;
    vec![
        Shown("ready_h", "ready after", "h", 0).of(r.ready_h),
        Shown("moisture_pct", "moisture of the green malt", "%", 1)
            .of(100.0 * row(|r| r.moisture_wet)),
        Shown("modification_pct", "modification", "%", 0).of(100.0 * row(|r| r.modification)),
        Shown("acrospire", "acrospire, of the corn", "", 2).of(row(|r| r.acrospire)),
        Shown("overgrown_pct", "corns outgrown", "%", 1).of(100.0 * row(|r| r.overgrown)),
        Shown("malting_loss_pct", "lost of the barley's dry matter", "%", 1)
            .of(100.0 * out.malting_loss_fraction),
        Shown("highest_c", "warmest", "°C", 1).of(out.highest_c),
        Shown("highest_core_c", "warmest in the middle", "°C", 1).of(out.highest_core_c),
        Shown("turns", "turns", "", 0).of(f64::from(out.turns)),
        Shown("depth_m", "depth as laid", "m", 2).of(out.depth_m),
    ]
}

fn says(grown: &Grown<'_>, f: &Floored, felt_h: f64) -> Vec<String> {
    let mut says = Vec::new();
    let lay_h = f.turns_done.last().map_or(f.laid_at, |(at, _)| *at);
    let lay_h = hours(lay_h, f.at);
    match f.felt {
        Felt::Past => says.push(format!(
            "It has lain {lay_h:.1} h unturned: past {felt_h:.0} h the rootlets felt. Turn it \
             now."
        )),
        Felt::Soon => says.push(format!(
            "It has lain {lay_h:.1} h unturned and felts after {felt_h:.0} h: turn it within \
             {:.1} h.",
            hours(f.at, f.felts_at)
        )),
        Felt::No => {}
    }
    if f.now.grain_c > f.ceiling_c + 0.5 {
        says.push(format!(
            "It stands at {:.1} °C, above its ceiling of {:.0} °C: turn it, or thin it.",
            f.now.grain_c, f.ceiling_c
        ));
    }
    if let Some(why) = &f.uneven {
        says.push(format!("Its band is wide, for {why}."));
    }
    if let Some(last) = f.acrospires.last() {
        let off = last.value - last.expected;
        if off.abs() > 0.12 {
            let way = if off > 0.0 { "ahead of" } else { "behind" };
            says.push(format!(
                "The acrospire was noted at {:.2}, {way} the {:.2} reckoned: look at more corns.",
                last.value, last.expected
            ));
        }
    }
    let over = f.now.overgrown_fraction;
    if over > OVERGROWN {
        says.push(format!("Of the corns {:.0} % have outgrown their length.", 100.0 * over));
    }
    let factor = &f.respiration;
    if factor.learned > 0.5 && (factor.value.ln()).abs() > 2.0 * factor.before_sd {
        says.push(format!(
            "It breathes {:.2} times the usual by its temperatures: check the thermometer and the \
             depth.",
            factor.value
        ));
    }
    if grown.now_h < 1.0 {
        says.push("It has just been cast; its first temperature tells most.".to_owned());
    }
    says
}
