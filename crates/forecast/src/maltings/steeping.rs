//! A piece in its steep: the moisture it has come to, and when it can be cast.

use super::cast::{Made, programme, steep_of};
use super::factor::Factor;
use super::seen::{Noted, hours, later};
use crate::figure::{Band, Figure, Shown};
use gauge::Fault;
use house::{House, Malted, Standing};
use jiff::Timestamp;
use numeric::least_squares::{Unknown, fit};
use process::Curves;
use process::steep::{Constants, Kind, Out, Phase, Programme, Run, Vessel, run};

/// How well a factor on the diffusion is known before a crop has spoken: 0.05 of 0.53.
const DRINKING_SD: f64 = 0.10;
/// Of a noted moisture of the corn, wet basis: sampling and the oven.
const MOISTURE_SD: f64 = 0.006;

/// One stretch of the steep by the clock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Steeping {
    /// When it begins.
    pub from: Timestamp,
    /// When it ends.
    pub to: Timestamp,
    /// Under water, or in air.
    pub under_water: bool,
    /// Of the water, or of the air.
    pub temperature_c: f64,
    /// Whether it has been noted; else it is what the barley's steeping has.
    pub noted: bool,
    /// Moisture of the corn at its end, wet basis, 0 to 1.
    pub moisture_wet: f64,
}

/// A moment of a steep.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SteepPoint {
    /// When.
    pub at: Timestamp,
    /// Moisture of the corn, wet basis, 0 to 1.
    pub moisture_wet: f64,
    /// Of water or grain.
    pub temperature_c: f64,
    /// Hours without air so far.
    pub airless_h: f64,
}

/// A piece in its steep, reckoned anew from what was noted.
#[derive(Debug, Clone, PartialEq)]
pub struct Steeped {
    /// The piece.
    pub piece: u32,
    /// The make it is meant for, a key.
    pub make: String,
    /// The steep, a key.
    pub vessel: String,
    /// The barley lots in words.
    pub lots: String,
    /// When it went under water.
    pub since: Timestamp,
    /// The stretches, past and to come.
    pub stretches: Vec<Steeping>,
    /// Its course, half-hourly.
    pub points: Vec<SteepPoint>,
    /// Moistures noted.
    pub noted: Vec<Noted>,
    /// When it can be cast.
    pub cast: Timestamp,
    /// Moisture now, wet basis, 0 to 1.
    pub moisture_now_wet: f64,
    /// What is cast, by key: `moisture_pct` with its band, `germinating_pct`, `lag_h`,
    /// `airless_h`, `water_used_kg`.
    pub figures: Vec<Figure>,
    /// How fast the corn drinks beside the usual.
    pub drinking: Factor,
    /// What to know.
    pub says: Vec<String>,
}

/// The steeping of a piece as it is reckoned, for all that follows.
pub(crate) struct Reckoned {
    pub(crate) run: Run,
    pub(crate) programme: Programme,
    pub(crate) drinking: Factor,
    before: Curves,
}

/// Reckons the steeping to `until`, or to its usual end.
pub(crate) fn reckon(
    house: &House,
    made: &Made<'_>,
    malted: &Malted,
    until: Option<Timestamp>,
) -> Result<Reckoned, Fault> {
    let (_, stage) = steep_of(house, &malted.steep.vessel)?;
    let programme = programme(made.barley, malted, until);
    let once = |ln: f64| once(made, stage, &programme, ln);
    let plain = once(0.0)?;
    let believed = Factor::believed("drinking", "drinking of the corn", DRINKING_SD);
    let noted: Vec<(f64, f64)> = malted
        .steep
        .moisture_wet
        .iter()
        .map(|r| (hours(malted.steep.at, r.at), r.value))
        .filter(|(h, _)| *h > 0.0 && *h <= plain.out.hours + 1.0)
        .collect();
    if noted.is_empty() {
        let before = plain.curves.clone();
        return Ok(Reckoned { run: plain, programme, drinking: believed, before });
    }
    let unknown = Unknown::believed(believed.belief()).within(-0.5..=0.5);
    let found = fit(&[unknown], |at| {
        let run = once(at[0])?;
        let off = |(h, wet): &(f64, f64)| {
            (run.curves.at("moisture_wet", *h).unwrap_or(f64::NAN) - wet) / MOISTURE_SD
        };
        Ok::<_, Fault>(noted.iter().map(off).collect())
    });
    let drinking = match &found {
        Ok(found) => believed.found(&found.found[0]),
        Err(_) => believed,
    };
    let run = once(drinking.value.ln())?;
    Ok(Reckoned { run, programme, drinking, before: plain.curves })
}

fn once(
    made: &Made<'_>,
    stage: &Vessel,
    programme: &Programme,
    ln_drinking: f64,
) -> Result<Run, Fault> {
    let usual = Constants::default();
    let diffusion_m2_s = usual.diffusion_m2_s * ln_drinking.exp();
    run(&made.charge, stage, programme, &Constants { diffusion_m2_s, ..usual })
}

/// Gives the steep of a piece as it is, and as it will be cast.
///
/// # Units
/// As each figure says.
/// # Range
/// A piece whose barley and steep are of this house; what the stage refuses is its fault.
/// # Error
/// The band of each figure, nine times in ten.
/// # Source
/// [`process::steep`]; a noted moisture bends the diffusion, known to a tenth before.
pub fn steeping(
    house: &House,
    standing: &Standing,
    malted: &Malted,
    at: Timestamp,
) -> Result<Steeped, Fault> {
    let made = Made::of(house, standing, malted)?;
    let cast_at = malted.floor.as_ref().map(|floor| floor.at);
    let reckoned = reckon(house, &made, malted, cast_at)?;
    let since = malted.steep.at;
    let (_, stage) = steep_of(house, &malted.steep.vessel)?;
    let sd = reckoned.drinking.sd;
    let faster = once(&made, stage, &reckoned.programme, reckoned.drinking.value.ln() + sd)?;
    let out = &reckoned.run.out;
    let spread = faster.out.moisture_wet - out.moisture_wet;
    let stretches = stretches(&reckoned.programme, out, malted);
    let cast = stretches.last().map_or(since, |last| last.to);
    let column = |key: &str, at_h: f64| reckoned_at(&reckoned.run, key, at_h);
    let points = times(&reckoned.run)
        .map(|h| SteepPoint {
            at: later(since, h),
            moisture_wet: column("moisture_wet", h),
            temperature_c: column("temperature_c", h),
            airless_h: column("airless_h", h),
        })
        .collect();
    let after = |at| reckoned.run.curves.at("moisture_wet", hours(since, at));
    let before = |at| reckoned.before.at("moisture_wet", hours(since, at));
    Ok(Steeped {
        piece: malted.piece,
        make: malted.make.clone(),
        vessel: malted.steep.vessel.clone(),
        lots: made.lots.clone(),
        since,
        points,
        noted: Noted::beside(&malted.steep.moisture_wet, after, before),
        cast,
        moisture_now_wet: reckoned_at(&reckoned.run, "moisture_wet", hours(since, at)),
        figures: figures(&reckoned.run, 100.0 * spread.abs()),
        says: says(&made, &reckoned, &stretches, at),
        stretches,
        drinking: reckoned.drinking,
    })
}

fn reckoned_at(run: &Run, key: &str, at_h: f64) -> f64 {
    run.curves.at(key, at_h).unwrap_or(f64::NAN)
}

fn times(run: &Run) -> impl Iterator<Item = f64> {
    run.curves.columns.first().into_iter().flat_map(|c| c.values.iter().copied())
}

fn stretches(programme: &Programme, out: &Out, malted: &Malted) -> Vec<Steeping> {
    let noted = malted.steep.waters.len();
    let mut from = malted.steep.at;
    let each = |(place, (phase, wet)): (usize, (&Phase, &f64))| {
        let begun = from;
        from = later(begun, phase.stretch.hours);
        Steeping {
            from: begun,
            to: from,
            under_water: phase.kind == Kind::Wet,
            temperature_c: phase.stretch.temperature_c,
            noted: place <= noted,
            moisture_wet: *wet,
        }
    };
    programme.phases.iter().zip(&out.phase_moisture_wet).enumerate().map(each).collect()
}

fn figures(run: &Run, moisture_sd_pct: f64) -> Vec<Figure> {
    let out = &run.out;
    let moisture = Shown("moisture_pct", "moisture when cast", "%", 1);
    let band = Band::around(100.0 * out.moisture_wet, moisture_sd_pct);
    let airless = run.curves.get("airless_h").and_then(|v| v.last().copied());
    vec![
        Figure { band: Some(band), ..moisture.of(100.0 * out.moisture_wet) },
        Shown("germinating_pct", "corns that will grow", "%", 1)
            .of(100.0 * out.germinating_fraction),
        Shown("airless_h", "without air", "h", 1).of(airless.unwrap_or(f64::NAN)),
        Shown("lag_h", "set back", "h", 1).of(out.lag_h),
        Shown("hours", "steeped", "h", 0).of(out.hours),
        Shown("water_used_kg", "water", "kg", 0).of(out.water_used_kg),
    ]
}

/// Least and most moisture at casting, wet basis: 43 to 46 % is usual, growth stops near 30 %.
const CAST_WET: (f64, f64) = (0.42, 0.47);

fn says(
    made: &Made<'_>,
    reckoned: &Reckoned,
    stretches: &[Steeping],
    at: Timestamp,
) -> Vec<String> {
    let out = &reckoned.run.out;
    let mut says = Vec::new();
    if let Some(late) = stretches.iter().rev().find(|s| !s.noted && s.from < at) {
        let act = if late.under_water { "filled" } else { "drained" };
        let over_h = hours(late.from, at);
        says.push(format!("It should have been {act} {over_h:.1} h ago, and that is not noted."));
    }
    let pct = 100.0 * out.moisture_wet;
    if out.moisture_wet < CAST_WET.0 {
        says.push(format!(
            "It would be cast at {pct:.1} %: below {:.0} % it grows slowly. A longer last water, \
             or sprinkling on the floor, brings it up.",
            100.0 * CAST_WET.0
        ));
    } else if out.moisture_wet > CAST_WET.1 {
        says.push(format!(
            "It would be cast at {pct:.1} %: above {:.0} % it heats and loses more. Leave out or \
             shorten the last water.",
            100.0 * CAST_WET.1
        ));
    }
    if made.sensitivity > 25.0 && stretches.first().is_some_and(|s| hours(s.from, s.to) > 6.0) {
        says.push(format!(
            "Water sensitivity is {:.0} points: a first water of 4 to 6 h and a longer rest are \
             kinder to it.",
            made.sensitivity
        ));
    }
    says.extend(reckoned.run.warnings.iter().map(|w| w.says.clone()));
    says
}
