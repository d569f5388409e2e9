//! A steeping proposed: waters and rests that bring this lot to the wanted moisture, with the
//! fewest waters, every filling and draining while somebody is there.
//!
//! Common practice keeps waters and rests to 8 to 16 hours; the last water is as long as the
//! moisture asks. A barley that minds water (4 ml less 8 ml above 25 points) is handled gently: a
//! first water of 4 to 6 hours, a longer rest after it, and a spray in place of a third water.
//!
//! # Method
//! Shapes are tried from the fewest waters up; one that stays too dry with every phase at its
//! longest is passed over. Of a shape, every length of each phase on a grid of two hours (four
//! from four waters up; between the lines where shifts forbid those on them) is tried, the last
//! phase by half hours. The first shape that comes to the moisture gives the proposal: the
//! shortest of its programmes, a point of corns lost to want of air weighing three hours and a
//! point of moisture too much as well (weights of our own). Phases are searched in steps of half
//! an hour, and the programme found is run again in steps of a minute.

pub(crate) mod case;
mod search;

use gauge::{Fault, Grade};

use super::figures::{Charge, Constants, Kind, Programme, Vessel};
use super::{Run, report, run};
use crate::manned::Manned;
use crate::sound::sound;
use search::{Found, Search};

gauge::record! {
    /// What is wanted of a steeping.
    pub struct Wanted {
        /// Moisture of the corn when it is cast.
        pub moisture_wet: f64 = Field::new("kg/kg").label("moisture wanted, wet basis")
            .within(0.30, 0.48),
        /// Temperature of the water.
        pub water_c: f64 = Field::new("°C").label("water").within(4.0, 25.0).or(13.0),
        /// Temperature of the air in a rest.
        pub air_c: f64 = Field::new("°C").label("air in a rest").within(1.0, 30.0).or(13.0),
        /// Most hours from the first water to casting.
        pub most_hours: f64 = Field::new("h").label("most hours").within(6.0, 120.0).or(60.0)
            .from(Grade::Memory, "40 to 60 h usual"),
        /// Shortest water or rest, the last water left out.
        pub least_period_h: f64 = Field::new("h").label("shortest water or rest")
            .within(1.0, 24.0).or(8.0).from(Grade::Memory, "common practice: 8 to 16 h"),
        /// Longest water or rest.
        pub most_period_h: f64 = Field::new("h").label("longest water or rest")
            .within(2.0, 36.0).or(16.0).from(Grade::Memory, "common practice: 8 to 16 h"),
    }
}

/// A steeping proposed.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    /// Its waters and rests.
    pub programme: Programme,
    /// What they come to.
    pub run: Run,
    /// Whether the barley is handled gently.
    pub gently: bool,
    /// Phase by phase, in words.
    pub says: Vec<String>,
    /// What holds it where it is, in words.
    pub binds: Vec<String>,
}

/// How much drier than wanted is still as wanted: half of a tenth of a per cent.
const NEAR_ENOUGH: f64 = 5e-4;
/// How far the last phase is lengthened, and how often.
const LENGTHEN: (f64, u32) = (0.5, 6);

/// Gives a steeping that brings a barley to the wanted moisture.
///
/// # Units
/// As in the fields; hours of the programme count from the first water, which falls at
/// `manned.start_week_h`.
/// # Range
/// As in the fields. A moisture that no programme inside the hours and shifts comes to is
/// `Fault::Unworkable`, which says what would.
/// # Error
/// The uptake's, 0.6 % moisture, until a house has bent it to its own; the grid leaves the total
/// up to two hours longer than it might be.
/// # Source
/// Periods and gentleness: common practice, from memory.
pub fn propose(
    charge: &Charge,
    vessel: &Vessel,
    constants: &Constants,
    wanted: &Wanted,
    manned: &Manned,
) -> Result<Proposal, Fault> {
    sound("barley", charge)?;
    sound("steep", vessel)?;
    sound("constants", constants)?;
    sound("wanted", wanted)?;
    manned.check()?;
    if wanted.most_period_h < wanted.least_period_h {
        return Err(Fault::NotInOrder {
            field: "wanted.most_period_h".into(),
            value: wanted.most_period_h,
            before: wanted.least_period_h,
            unit: "h",
        });
    }
    let search = Search { charge, vessel, c: constants, wanted, manned };
    let Some(found) = search.best()? else {
        return Err(search.why_none()?);
    };
    let (programme, run) = settle(&search, &found)?;
    let says = says(&programme, &run);
    let binds = binds(&search, &run)?;
    Ok(Proposal { programme, run, gently: search.gently(), says, binds })
}

/// The programme in steps of a minute; its last phase grows by half hours while it is too dry.
fn settle(search: &Search<'_>, found: &Found) -> Result<(Programme, Run), Fault> {
    let mut programme = Programme { phases: found.phases.clone(), wet_cast: false };
    let once = |programme: &Programme| run(search.charge, search.vessel, programme, search.c);
    let mut best = once(&programme)?;
    for _ in 0..LENGTHEN.1 {
        let longer_h = best.out.hours + LENGTHEN.0;
        let may = search.manned.at(longer_h) && longer_h <= search.wanted.most_hours;
        if best.out.moisture_wet >= search.wanted.moisture_wet - NEAR_ENOUGH || !may {
            break;
        }
        if let Some(last) = programme.phases.last_mut() {
            last.stretch.hours += LENGTHEN.0;
        }
        best = once(&programme)?;
    }
    Ok((programme, best))
}

fn says(programme: &Programme, run: &Run) -> Vec<String> {
    let phases = programme.phases.iter().zip(&run.out.phase_moisture_wet);
    phases
        .map(|(phase, moisture)| {
            let word = match phase.kind {
                Kind::Wet => "under water",
                Kind::Rest => "in air",
                Kind::Spray => "sprayed",
            };
            let (hours, c) = (phase.stretch.hours, phase.stretch.temperature_c);
            format!("{hours} h {word} at {c:.0} °C, to {:.1} %", 100.0 * moisture)
        })
        .collect()
}

fn binds(search: &Search<'_>, run: &Run) -> Result<Vec<String>, Fault> {
    let wanted = search.wanted;
    let mut binds = vec![format!("moisture of at least {:.1} %", 100.0 * wanted.moisture_wet)];
    if search.gently() {
        let points =
            search.charge.germinative_energy_4ml_pct - search.charge.germinative_energy_8ml_pct;
        binds.push(format!(
            "4 ml less 8 ml is {points:.0}: a first water of 6 h at most, a longer rest, a spray \
             in place of a third water"
        ));
    }
    if run.out.hours > wanted.most_hours - 1.0 {
        binds.push(format!("at most {:.0} h", wanted.most_hours));
    }
    if !search.manned.windows.is_empty() {
        let always = Manned::default();
        let free = Search { manned: &always, ..*search }.best()?;
        let hours = free.map_or(f64::INFINITY, |found| found.hours);
        if hours < run.out.hours - 0.25 {
            binds.push(format!("the shifts: somebody there at all hours, {hours} h would do"));
        }
    }
    Ok(binds)
}

pub(super) fn gentle(charge: &Charge) -> bool {
    report::sensitivity_pct(charge) > report::SENSITIVE
}
