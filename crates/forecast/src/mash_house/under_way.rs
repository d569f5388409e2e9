//! The mash under way: what was asked, what was noted, and what follows.

use super::lanes::ordinal;
use super::setup::{Setup, WEAK_WORTS_C, usual};
use super::sheet::{Drawn, Sheet, of_setup};
use super::tun::TunFitted;
use super::wished::Wished;
use crate::figure::capital;
use crate::maltings::seen::hours;
use gauge::Fault;
use gauge::wort::kernel as wort;
use house::standing::WeakWorts as Kept;
use house::{House, KeptMash, Mashed, Standing};
use jiff::Timestamp;

/// Apart by less than this a mash stands as asked, °C.
const AS_ASKED_C: f64 = 0.25;

/// A noted figure beside what was asked.
#[derive(Debug, Clone, PartialEq)]
pub struct Compared {
    /// What it is.
    pub what: String,
    /// When it was noted.
    pub at: Timestamp,
    /// Unit as shown; empty for a gravity.
    pub unit: &'static str,
    /// Decimals to show.
    pub decimals: u8,
    /// As asked or expected.
    pub asked: f64,
    /// As noted.
    pub noted: f64,
    /// Noted less asked.
    pub apart: f64,
    /// What follows from it; empty where nothing does.
    pub follows: String,
}

/// A mash that has begun.
#[derive(Debug, Clone, PartialEq)]
pub struct UnderWay {
    /// Its number.
    pub mash: u32,
    /// The make, a key.
    pub make: String,
    /// When it was mashed in.
    pub began: Timestamp,
    /// Hours since then.
    pub hour: f64,
    /// The sheet as it was asked.
    pub asked: Sheet,
    /// The sheet with what was noted.
    pub now: Sheet,
    /// Noted beside asked, in the order of time.
    pub lines: Vec<Compared>,
    /// How it stands, in a sentence.
    pub says: String,
    /// Pure alcohol more than asked; negative where it costs.
    pub change_l: f64,
}

/// What else is known of mashes and decisions.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Others<'a> {
    pub(crate) mashed: &'a [Mashed],
    pub(crate) sheets: &'a [KeptMash],
}

impl<'a> Others<'a> {
    pub(crate) fn of(standing: &'a Standing) -> Self {
        Self { mashed: &standing.mashed, sheets: &standing.sheets }
    }
}

/// A mash as it was asked, of the malt that was drawn for it.
pub(crate) fn asked_of(house: &House, others: Others<'_>, mashed: &Mashed) -> Option<Wished> {
    let began = mashed.mashed_in.as_ref();
    let at = began.map(|m| m.at).or_else(|| mashed.drawn.first().map(|d| d.at))?;
    let mut wished = usual(house, &mashed.make, mashed.mash, at)?;
    if let Some(kept) = others.sheets.iter().rfind(|kept| kept.mash == mashed.mash) {
        super::wished::decide(&mut wished, kept);
    }
    let kg: f64 = mashed.drawn.iter().map(|d| d.kg).sum();
    if kg > 0.0 {
        let mean = |of: &dyn Fn(&house::mashed::Drawn) -> f64| {
            mashed.drawn.iter().map(|d| d.kg * of(d)).sum::<f64>() / kg
        };
        let (extract, ferments) = (wished.extract_pct_dry, wished.fermentability);
        wished.moisture_wet = mean(&|d| d.moisture_wet);
        wished.extract_pct_dry = mean(&|d| d.extract_pct_dry.unwrap_or(extract));
        wished.fermentability = mean(&|d| d.fermentability.unwrap_or(ferments));
        wished.tested = mashed.drawn.iter().all(|d| d.extract_pct_dry.is_some());
        wished.grist_kg = kg;
        for drawn in &mashed.drawn {
            if !wished.bins.contains(&drawn.bin) {
                wished.bins.push(drawn.bin.clone());
            }
        }
    }
    if let Some(began) = began.filter(|b| b.dry_kg > 0.0) {
        wished.moisture_wet = began.moisture_wet;
        wished.grist_kg = began.dry_kg / (1.0 - began.moisture_wet);
    }
    let collected = mashed.collected.first().map(|c| c.vessel.clone());
    wished.washback = mashed.set.as_ref().map(|s| s.vessel.clone()).or(collected);
    Some(wished)
}

/// A mash put together as it was noted, what was not noted being as asked.
pub(crate) fn as_noted<'h>(
    house: &'h House,
    others: Others<'_>,
    fitted: &TunFitted,
    mashed: &Mashed,
) -> Result<Setup<'h>, Fault> {
    let wanted = "a mash that was mashed in";
    let missing = || Fault::MissingPart { field: "mash".into(), wanted };
    let wished = asked_of(house, others, mashed).ok_or_else(missing)?;
    let mut setup = Setup::of(house, fitted, &wished)?;
    note(&mut setup, fitted, mashed);
    before(&mut setup, others, mashed)?;
    Ok(setup)
}

/// Puts what was noted of waters, grist, mash and setting into a setup.
fn note(setup: &mut Setup<'_>, fitted: &TunFitted, mashed: &Mashed) {
    if let Some(grist) = &mashed.grist {
        let flour = grist.flour_fraction;
        let split = process::mill::Split {
            husk: grist.husk_fraction,
            grits: 1.0 - grist.husk_fraction - flour,
            flour,
        };
        let best = split.recovery(&process::mill::Constants::default());
        setup.charge.grist.extract_recovery = (best * fitted.recovery).clamp(0.80, 1.0);
    }
    let Some(began) = &mashed.mashed_in else { return };
    setup.charge.grist.grist_c = began.grist_c.unwrap_or(setup.charge.grist.grist_c);
    setup.tun.tun_c = began.tun_c.unwrap_or(setup.tun.tun_c);
    if let Some(first) = setup.programme.waters.first_mut() {
        first.liquor.volume_l = began.water_l.unwrap_or(first.liquor.volume_l);
        if began.mash_c.is_none() && began.strike_c.is_some() {
            first.liquor.temperature_c = began.strike_c;
            setup.programme.mash_c = None;
        }
    }
    // A mash that was noted stands, whatever the striking heat makes of it.
    if began.mash_c.is_some() {
        setup.programme.mash_c = began.mash_c;
    }
    for water in &mashed.waters {
        let place = (water.water as usize).checked_sub(1).filter(|i| *i > 0);
        if let Some(own) = place.and_then(|i| setup.programme.waters.get_mut(i)) {
            own.liquor.volume_l = water.volume_l.unwrap_or(own.liquor.volume_l);
            own.liquor.temperature_c = water.temperature_c.or(own.liquor.temperature_c);
        }
    }
    if let Some(set) = &mashed.set {
        setup.set_c = set.set_c;
        setup.yeast_kg = set.yeast_kg.unwrap_or(setup.yeast_kg);
    }
}

/// The weak worts it was struck on: by the gravity of its first water, else by what is known of
/// the mash before it, else those of a week of the same.
fn before(setup: &mut Setup<'_>, others: Others<'_>, mashed: &Mashed) -> Result<(), Fault> {
    let began = mashed.mashed_in.as_ref();
    if let Some(gravity) = began.and_then(|b| b.water_gravity) {
        let first_l = setup.programme.waters.first().map_or(0.0, |w| w.liquor.volume_l);
        let at_c = began.and_then(|b| b.strike_c).unwrap_or(WEAK_WORTS_C);
        let water = gauge::water::density_kg_m3;
        let m3 = first_l * water(at_c) / water(20.0) / 1000.0;
        setup.on(0.0, m3 * wort::extract_kg_m3(gravity));
        return Ok(());
    }
    let last = others.mashed.iter().find(|m| m.mash + 1 == mashed.mash);
    match last.and_then(|m| m.weak_worts.map(|weak| (m.mash, weak))) {
        Some((_, weak)) if weak.drained => Ok(()),
        Some((mash, weak)) => {
            setup.on_kept(&Kept {
                mash,
                since: weak.at,
                bulk_l: weak.bulk_l,
                gravity: weak.gravity,
                temperature_c: weak.temperature_c,
            });
            Ok(())
        }
        None => setup.on_steady(),
    }
}

/// Mean of the gravities noted before the second water was run on.
pub(super) fn first_drain_gravity(mashed: &Mashed) -> Option<f64> {
    let second = mashed.waters.iter().find(|w| w.water == 2).map(|w| w.at);
    let first = mashed.run_off_gravity.iter().filter(|r| second.is_none_or(|at| r.at <= at));
    let (sum, count) = first.fold((0.0, 0), |(s, n), r| (s + r.value, n + 1));
    (count > 0).then(|| sum / f64::from(count))
}

/// Gives the mash under way beside what was asked.
///
/// # Units
/// As the fields say.
/// # Range
/// A mash that has been mashed in.
/// # Error
/// As [`super::sheet()`].
/// # Source
/// As [`super::sheet()`].
pub fn under_way(
    house: &House,
    standing: &Standing,
    fitted: &TunFitted,
    mashed: &Mashed,
    at: Timestamp,
) -> Result<UnderWay, Fault> {
    let others = Others::of(standing);
    let wanted = "a mash that was mashed in";
    let missing = || Fault::MissingPart { field: "mash".into(), wanted };
    let wished = asked_of(house, others, mashed).ok_or_else(missing)?;
    let began = mashed.mashed_in.as_ref().ok_or_else(missing)?.at;
    let noted = as_noted(house, others, fitted, mashed)?;
    let mut asked = Setup::of(house, fitted, &wished)?;
    asked.charge.weak_worts = noted.charge.weak_worts.clone();
    let drawn = Drawn { house, standing, fitted, wished: &wished, noted: None };
    let asked_sheet = of_setup(&drawn, &asked)?;
    let now = of_setup(&Drawn { noted: Some(mashed), ..drawn }, &noted)?;
    let lines = lines(&asked_sheet, &now, &asked, mashed);
    let change_l = now.pure_alcohol.value - asked_sheet.pure_alcohol.value;
    let says = says(&asked_sheet, mashed, change_l, at);
    let hour = hours(began, at);
    let (mash, make) = (mashed.mash, mashed.make.clone());
    Ok(UnderWay { mash, make, began, hour, asked: asked_sheet, now, lines, says, change_l })
}

fn says(asked: &Sheet, mashed: &Mashed, change_l: f64, at: Timestamp) -> String {
    let began = mashed.mashed_in.as_ref();
    let mut out = vec![match began.and_then(|b| b.mash_c) {
        Some(mash_c) => {
            let apart = mash_c - asked.mash.value;
            let side = if apart < 0.0 { "under" } else { "over" };
            if apart.abs() < AS_ASKED_C {
                "The mash stands as asked.".to_owned()
            } else {
                format!("The mash stands {:.1} °C {side}.", apart.abs())
            }
        }
        None => "The mash has not been noted yet.".to_owned(),
    }];
    if let Some(apart) = began.and_then(|b| b.strike_c).map(|c| c - asked.strike.value)
        && apart.abs() >= 0.2
    {
        let side = if apart < 0.0 { "cool" } else { "hot" };
        out.push(format!("The first water came {:.1} °C {side}.", apart.abs()));
    }
    let whole = asked.pure_alcohol.value;
    if change_l.abs() >= 0.5 {
        let word = if change_l < 0.0 { "loss" } else { "gain" };
        let litres = change_l.abs();
        out.push(format!("The {word} is {litres:.0} L of pure alcohol in {whole:.0}."));
    }
    if mashed.set_bed.iter().any(|set| *set <= at) {
        out.push("The bed has set once: draw gently.".to_owned());
    }
    out.join(" ")
}

/// Noted beside asked.
fn lines(asked: &Sheet, now: &Sheet, setup: &Setup<'_>, mashed: &Mashed) -> Vec<Compared> {
    let mut out = Vec::new();
    let line = |what: String, at, (unit, decimals), (asked, noted): (f64, f64)| Compared {
        what,
        at,
        unit,
        decimals,
        asked,
        noted,
        apart: noted - asked,
        follows: String::new(),
    };
    if let Some(began) = &mashed.mashed_in {
        let at = began.at;
        if let Some(strike) = began.strike_c {
            let mut one =
                line("Striking heat".to_owned(), at, ("°C", 1), (asked.strike.value, strike));
            let moves = one.apart * asked.moves_c;
            if moves.abs() >= 0.1 {
                let side = if moves < 0.0 { "under" } else { "over" };
                one.follows = format!("mash {:.1} °C {side}", moves.abs());
            }
            out.push(one);
        }
        if let (Some(litres), Some(first)) = (began.water_l, asked.waters.first()) {
            let mut one = line("First water".to_owned(), at, ("L", 0), (first.volume_l, litres));
            one.follows = thinner(setup, litres, asked.gravity.value);
            out.push(one);
        }
        if let Some(mash_c) = began.mash_c {
            let mut one = line("Mash".to_owned(), at, ("°C", 1), (asked.mash.value, mash_c));
            one.follows = ferments(setup, mash_c);
            out.push(one);
        }
    }
    for water in &mashed.waters {
        let place = (water.water as usize).saturating_sub(1);
        let Some(own) = asked.waters.get(place) else { continue };
        let name = format!("{} water", capital(ordinal(place)));
        if let Some(heat_c) = water.temperature_c {
            let mut one = line(name.clone(), water.at, ("°C", 1), (own.liquor_c, heat_c));
            let bed = now.waters.get(place).map_or(0.0, |w| w.bed_c - own.bed_c);
            if bed.abs() >= 0.2 {
                let side = if bed < 0.0 { "cooler" } else { "warmer" };
                one.follows = format!("bed {:.1} °C {side}", bed.abs());
            }
            out.push(one);
        }
        if let Some(litres) = water.volume_l {
            out.push(line(name, water.at, ("L", 0), (own.volume_l, litres)));
        }
    }
    readings(asked, mashed, &mut out);
    out.sort_by_key(|one| one.at);
    out
}

/// Readings of the bed and of what ran off, beside the sheet as asked.
fn readings(asked: &Sheet, mashed: &Mashed, out: &mut Vec<Compared>) {
    let near = |at: Timestamp| {
        let apart = |p: &&super::TunPoint| (p.at.as_second() - at.as_second()).abs();
        asked.points.iter().min_by_key(apart)
    };
    let mut push = |what: &str, at, (unit, decimals), asked: f64, noted: f64, sd: f64| {
        let apart = noted - asked;
        let inside = apart.abs() <= crate::figure::NINE_IN_TEN * sd;
        let follows = if inside { "within the band".to_owned() } else { String::new() };
        out.push(Compared {
            what: what.to_owned(),
            at,
            unit,
            decimals,
            asked,
            noted,
            apart,
            follows,
        });
    };
    for reading in &mashed.bed_c {
        if let Some(point) = near(reading.at) {
            let sd = point.bed_sd.hypot(0.3);
            push("Bed", reading.at, ("°C", 1), point.bed_c, reading.value, sd);
        }
    }
    for reading in &mashed.run_off_gravity {
        if let Some((point, gravity)) = near(reading.at).and_then(|p| Some((p, p.gravity?))) {
            let sd = point.gravity_sd.hypot(0.0007);
            push("Worts", reading.at, ("", 4), gravity, reading.value, sd);
        }
    }
    for reading in &mashed.pull_cm {
        if let Some(cm) = near(reading.at).and_then(|p| p.pull_cm) {
            push("Pull", reading.at, ("cm", 0), cm, reading.value, 3.0);
        }
    }
}

/// What other litres of first water do to the gravity of the worts.
fn thinner(asked: &Setup<'_>, litres: f64, gravity: f64) -> String {
    let mut other = asked.clone();
    if let Some(first) = other.programme.waters.first_mut() {
        first.liquor.volume_l = litres;
    }
    let Ok(run) = other.mash() else { return String::new() };
    let degrees = 1000.0 * (run.worts.gravity() - gravity);
    if degrees.abs() < 0.05 {
        return String::new();
    }
    let word = if degrees < 0.0 { "less" } else { "more" };
    format!("gravity {:.1} {word}", degrees.abs())
}

/// What another temperature of the mash does to what ferments.
fn ferments(asked: &Setup<'_>, mash_c: f64) -> String {
    let mut other = asked.clone();
    other.programme.mash_c = Some(mash_c);
    let (Ok(here), Ok(there)) = (asked.mash(), other.mash()) else { return String::new() };
    let more = 100.0 * (there.sugars.fermentability() - here.sugars.fermentability());
    if more.abs() < 0.05 {
        return String::new();
    }
    let word = if more < 0.0 { "less far" } else { "further" };
    format!("ferments out {:.1} % {word}", more.abs())
}
