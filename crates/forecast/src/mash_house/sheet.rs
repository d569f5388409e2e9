//! The sheet of one mash: how hot the water, what it gives and where the rest is, when what is on.

use super::course::{TunPoint, add_squares, points, rooted};
use super::grist::GristSeen;
use super::heat::{HeatLine, lines};
use super::lanes::{Lane, lanes, stands};
use super::rows::{chain, hot_liquor, says, waters};
use super::setup::{Read, Reckoned, Setup, weak_worts};
use super::tun::{TunFitted, bend};
use super::wished::{Stop, Wished};
use crate::chain::PURE_L_A_KG_EXTRACT;
use crate::figure::{Band, Figure, Shown};
use crate::maltings::seen::later;
use crate::spread::Tune;
use gauge::Fault;
use house::{House, Mashed, Standing};
use jiff::Timestamp;
use process::mash::To;

/// Of a mash that was noted: thermometer and a bed that is not even, K.
const NOTED_SD_C: f64 = 0.3;

/// One water of the sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct WaterLine {
    /// Which, 1 for the first.
    pub number: u32,
    /// "first", "second".
    pub name: &'static str,
    /// Litres as it is run in.
    pub volume_l: f64,
    /// Its temperature.
    pub liquor_c: f64,
    /// When it is run on.
    pub on_at: Timestamp,
    /// When it has drained.
    pub drained_at: Timestamp,
    /// The bed once it is in.
    pub bed_c: f64,
    /// Litres that drain, at 20 °C.
    pub drained_l: f64,
    /// Gravity of the whole drain, 20/20.
    pub gravity: f64,
    /// Most pull on the bed while it drains, cm of water; none where it is not reckoned.
    pub pull_cm: Option<f64>,
    /// Where it goes, in words.
    pub to: String,
    /// Whether it was noted, and not only asked.
    pub noted: bool,
}

/// One line of where the extract goes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ExtractLine {
    /// What it is.
    pub label: &'static str,
    /// How much.
    pub kg: f64,
    /// Of the laboratory's, %.
    pub pct: f64,
}

/// What is left on the plates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Draff {
    /// Tonnes as it is carted.
    pub wet_t: f64,
    /// Dry matter, %.
    pub dry_pct: f64,
    /// Water it holds, m³.
    pub held_m3: f64,
}

/// Hot liquor won back from the worts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HotLiquor {
    /// How much.
    pub kg: f64,
    /// How hot.
    pub at_c: f64,
    /// Heat that the waters after the first want beyond it, MJ: 0 where it covers them.
    pub wanted_mj: f64,
}

/// The sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// What is wished.
    pub wished: Wished,
    /// Striking heat.
    pub strike: Figure,
    /// The sum it comes of; the last line is what the first water gives.
    pub heat: Vec<HeatLine>,
    /// By how much the mash moves with a degree of striking heat.
    pub moves_c: f64,
    /// What its band comes from: label and share of the variance, the greatest first.
    pub heat_by: Vec<(String, f64)>,
    /// Temperature of the mash.
    pub mash: Figure,
    /// The waters.
    pub waters: Vec<WaterLine>,
    /// Litres of weak worts in the first water, at 20 °C.
    pub weak_worts_l: f64,
    /// Worts for the washback, litres at 20 °C.
    pub worts: Figure,
    /// Their gravity.
    pub gravity: Figure,
    /// Extract in them.
    pub extract: Figure,
    /// Setting temperature.
    pub set: Figure,
    /// When the washback is set.
    pub set_at: Timestamp,
    /// The burn.
    pub burn_c: f64,
    /// Whether the burn cannot bring the worts to what is wished.
    pub limited: bool,
    /// Share of the laboratory's extract that comes to the washback, %.
    pub recovery_pct: f64,
    /// Where the extract goes.
    pub chain: Vec<ExtractLine>,
    /// Extract that weak worts carry on to the next mash.
    pub carried_kg: f64,
    /// The next stop, before which they are drained.
    pub stop: Option<Stop>,
    /// The grist.
    pub grist: Option<GristSeen>,
    /// Draff.
    pub draff: Draff,
    /// The time line.
    pub lanes: Vec<Lane>,
    /// Hot liquor won.
    pub hot_liquor: Option<HotLiquor>,
    /// The course in the tun.
    pub points: Vec<TunPoint>,
    /// Pure alcohol in the wash.
    pub pure_alcohol: Figure,
    /// Strength of the wash.
    pub strength: Figure,
    /// Gravity of the wash.
    pub final_gravity: Figure,
    /// What to know.
    pub says: Vec<String>,
}

/// Gives the sheet of a wished mash.
///
/// # Units
/// As the fields say.
/// # Range
/// That of the mash: what it refuses comes back as its fault.
/// # Error
/// Bands from what is read of the mash and from the tun's factors, to first order.
/// # Source
/// The pages of mill, mash, cooler and washback.
pub fn sheet(
    house: &House,
    standing: &Standing,
    fitted: &TunFitted,
    wished: &Wished,
) -> Result<Sheet, Fault> {
    let mut setup = Setup::of(house, fitted, wished)?;
    weak_worts(&mut setup, house, standing, fitted, wished)?;
    let drawn = Drawn { house, standing, fitted, wished, noted: None };
    of_setup(&drawn, &setup)
}

/// Gives the striking heat of a wished mash by itself, with its band: a tenth of the work of a
/// sheet.
///
/// # Units
/// °C.
/// # Range
/// As [`sheet()`].
/// # Error
/// As [`sheet()`].
/// # Source
/// As [`sheet()`].
pub fn striking_heat(
    house: &House,
    standing: &Standing,
    fitted: &TunFitted,
    wished: &Wished,
) -> Result<Figure, Fault> {
    let mut setup = Setup::of(house, fitted, wished)?;
    weak_worts(&mut setup, house, standing, fitted, wished)?;
    let drawn = Drawn { house, standing, fitted, wished, noted: None };
    let run = setup.mash()?;
    let at = |setup: &Setup<'_>| super::heat::mash_in(setup, run.strike_c);
    let mash_c = at(&setup);
    let moved = others(&drawn, &setup);
    let squares = moved.iter().map(|(_, other)| (at(other) - mash_c).powi(2));
    let sd = squares.sum::<f64>().sqrt();
    let (_, moves_c) = lines(&setup, &run, fitted.mashes);
    let band = Some(Band::around(run.strike_c, sd / moves_c.max(1e-9)));
    Ok(Figure { band, ..STRIKE.of(run.strike_c) })
}

const STRIKE: Shown = Shown("strike_c", "striking heat", "°C", 1);

/// What a sheet is drawn for.
pub(super) struct Drawn<'a> {
    pub(super) house: &'a House,
    pub(super) standing: &'a Standing,
    pub(super) fitted: &'a TunFitted,
    pub(super) wished: &'a Wished,
    /// The mash as it was noted, where it has begun.
    pub(super) noted: Option<&'a Mashed>,
}

const FIGURES: [Shown; 8] = [
    Shown("mash_c", "mash", "°C", 1),
    Shown("wort_20_l", "worts", "L at 20 °C", 0),
    Shown("original_gravity", "gravity", "", 4),
    Shown("extract_kg", "extract", "kg", 0),
    Shown("set_c", "set", "°C", 1),
    Shown("pure_alcohol_l", "pure alcohol", "L", 0),
    Shown("strength_pct", "strength of the wash", "% vol", 2),
    Shown("final_gravity", "final gravity", "", 4),
];

fn numbers(run: &Reckoned) -> [f64; 8] {
    let wash = run.wash.as_ref().map(|w| w.wash);
    let mash = &run.mash;
    [
        mash.mash_c,
        mash.worts.volume_20_l(),
        mash.worts.gravity(),
        mash.worts.liquid.extract_kg,
        run.cool.as_ref().map_or(f64::NAN, |c| c.set_c),
        wash.map_or(f64::NAN, |w| w.pure_alcohol_l),
        wash.map_or(f64::NAN, |w| w.strength_pct),
        wash.map_or(f64::NAN, |w| w.gravity),
    ]
}

/// How the figures move, one row a thing that is not known exactly.
struct Moves {
    rows: Vec<(String, [f64; 8])>,
}

impl Moves {
    fn band(&self, column: usize, value: f64) -> Band {
        let squares = |row: &(String, [f64; 8])| row.1[column] * row.1[column];
        let whole: f64 = self.rows.iter().map(squares).filter(|s| s.is_finite()).sum();
        let mut band = Band::around(value, whole.sqrt());
        if band.sd <= 1e-9 * value.abs() {
            return band;
        }
        let shares = self.rows.iter().map(|row| (row.0.clone(), squares(row) / whole.max(1e-300)));
        band.because = shares.filter(|(_, share)| *share > 0.005).collect();
        band.because.sort_by(|a, b| b.1.total_cmp(&a.1));
        band
    }
}

/// Every setup that differs by one standard uncertainty of one thing.
fn others<'h>(drawn: &Drawn<'_>, setup: &Setup<'h>) -> Vec<(String, Setup<'h>)> {
    let read = Read::default();
    let mut out: Vec<(String, Setup<'h>)> = read
        .uncertain()
        .into_iter()
        .map(|(label, key, sd)| {
            let mut read = read.clone();
            read.shift(key, sd);
            (label, setup.shifted(&read))
        })
        .collect();
    for (place, factor) in drawn.fitted.factors.iter().enumerate() {
        let mut other = setup.clone();
        let (tun, grist) = (&mut other.tun, &mut other.charge.grist);
        bend(place, factor.sd, tun, &mut other.constants, &mut grist.extract_recovery);
        other.charge.grist.extract_recovery = other.charge.grist.extract_recovery.min(1.0);
        out.push((factor.label.to_owned(), other));
    }
    if noted_mash(drawn).is_some() {
        let mut other = setup.clone();
        other.programme.mash_c = other.programme.mash_c.map(|c| c + NOTED_SD_C);
        out.push(("mash as noted".to_owned(), other));
    }
    out
}

fn noted_mash(drawn: &Drawn<'_>) -> Option<f64> {
    drawn.noted?.mashed_in.as_ref()?.mash_c
}

/// Draws the sheet of a mash that is put together.
pub(super) fn of_setup(drawn: &Drawn<'_>, setup: &Setup<'_>) -> Result<Sheet, Fault> {
    let base = setup.run()?;
    let began = drawn.noted.and_then(|m| Some(m.mashed_in.as_ref()?.at)).unwrap_or(drawn.wished.at);
    let times = stands(setup);
    let mut course = points(&base.mash, &times, began);
    let here = numbers(&base);
    let mut moves = Moves { rows: Vec::new() };
    for (label, mut other) in others(drawn, setup) {
        // The water is struck as the sheet says, whatever the grist and the tun then do.
        if noted_mash(drawn).is_none() {
            other.programme.mash_c = None;
            if let Some(first) = other.programme.waters.first_mut() {
                first.liquor.temperature_c = Some(base.mash.strike_c);
            }
        }
        let Ok(run) = other.run() else { continue };
        add_squares(&mut course, &points(&run.mash, &times, began));
        let there = numbers(&run);
        moves.rows.push((label, std::array::from_fn(|i| there[i] - here[i])));
    }
    working(setup, &base, &here, &mut moves);
    rooted(&mut course);
    Ok(assemble(drawn, setup, &base, &Found { moves, course, began, times }))
}

/// How the wash moves with the constants of the washback.
fn working(setup: &Setup<'_>, base: &Reckoned, here: &[f64; 8], moves: &mut Moves) {
    let set_c = base.cool.as_ref().map_or(setup.set_c, |c| c.set_c);
    for (label, key, sd) in setup.working.uncertain() {
        let mut other = setup.clone();
        other.working.shift(key, sd);
        let Ok(run) = other.fermented(&base.mash, set_c) else { continue };
        let mut row = [0.0; 8];
        row[5] = run.wash.pure_alcohol_l - here[5];
        row[6] = run.wash.strength_pct - here[6];
        row[7] = run.wash.gravity - here[7];
        moves.rows.push((label, row));
    }
}

/// What the reckoning gave beside the run itself.
pub(super) struct Found {
    moves: Moves,
    pub(super) course: Vec<TunPoint>,
    pub(super) began: Timestamp,
    pub(super) times: Vec<(f64, f64)>,
}

fn assemble(drawn: &Drawn<'_>, setup: &Setup<'_>, base: &Reckoned, found: &Found) -> Sheet {
    let (mash, wished) = (&base.mash, drawn.wished);
    let here = numbers(base);
    let figure = |i: usize| {
        let band = found.moves.band(i, here[i]);
        Figure { band: Some(band), ..FIGURES[i].of(here[i]) }
    };
    let (heat, moves_c) = lines(setup, mash, drawn.fitted.mashes);
    let in_mash = found.moves.band(0, here[0]);
    let strike = STRIKE.of(mash.strike_c);
    let strike_sd = in_mash.sd / moves_c.max(1e-9);
    let back = wished.washback.as_deref().map_or("a washback", |key| drawn.house.called(key));
    let weak = &setup.charge.weak_worts;
    let weak_kg = weak.water_kg + weak.extract_kg;
    let set_min: f64 = {
        let to_back = mash.steps.iter().zip(&found.times).filter(|(s, _)| s.to == To::Washback);
        to_back.map(|(_, (stand, drain))| stand + drain).sum()
    };
    let stop = wished.stops.map(|(after_mash, at)| {
        let lost_kg = mash.weak_worts.liquid.extract_kg;
        let at = later(at, mash.minutes / 60.0);
        Stop { after_mash, at, lost_kg, lost_l: PURE_L_A_KG_EXTRACT * lost_kg }
    });
    Sheet {
        wished: wished.clone(),
        strike: Figure {
            band: Some(Band {
                because: in_mash.because.clone(),
                ..Band::around(mash.strike_c, strike_sd)
            }),
            ..strike
        },
        heat,
        moves_c,
        heat_by: in_mash.because,
        mash: figure(0),
        waters: waters(drawn, setup, base, found),
        weak_worts_l: if weak_kg > 0.0 {
            weak_kg / weak_density(weak_kg, weak.extract_kg)
        } else {
            0.0
        },
        worts: figure(1),
        gravity: figure(2),
        extract: figure(3),
        set: figure(4),
        set_at: later(found.began, set_min / 60.0),
        burn_c: setup.cold_water_c,
        limited: base.cool.as_ref().is_some_and(|c| c.limited),
        recovery_pct: 100.0 * mash.worts.liquid.extract_kg / mash.laboratory_extract_kg,
        chain: chain(setup, base),
        carried_kg: mash.weak_worts.liquid.extract_kg,
        stop,
        grist: super::grist::seen(drawn.house, &seen_mashes(drawn)),
        draff: Draff {
            wet_t: mash.draff.mass_kg() / 1000.0,
            dry_pct: 100.0 * (1.0 - mash.draff.moisture_wet()),
            held_m3: mash.draff.water_kg / 1000.0,
        },
        lanes: lanes(setup, base, found.began, back),
        hot_liquor: hot_liquor(setup, base),
        points: found.course.clone(),
        pure_alcohol: figure(5),
        strength: figure(6),
        final_gravity: figure(7),
        says: says(drawn, setup, base),
    }
}

/// Kilograms a litre of weak worts at 20 °C.
fn weak_density(kg: f64, extract_kg: f64) -> f64 {
    let gravity = gauge::wort::kernel::gravity_of_plato(100.0 * extract_kg / kg);
    gauge::wort::kernel::density_kg_m3(gravity) / 1000.0
}

fn seen_mashes<'a>(drawn: &Drawn<'a>) -> Vec<&'a Mashed> {
    match drawn.noted {
        Some(noted) => vec![noted],
        None => drawn.standing.mashed.iter().collect(),
    }
}
