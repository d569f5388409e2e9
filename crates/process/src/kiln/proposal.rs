//! Firings proposed: the one with the least fuel that brings the malt where it is wanted in time.
//!
//! What a distiller settles before lighting: so much smoke, so dry, ready by such an hour. The
//! search moves what the hand moves (hours and air-on of smoke, drying and cure, the air, the
//! share sent back, how briskly the peat is burnt). For each setting of these the air is solved so
//! that the bed comes to the wanted moisture just at its end, and the peat so that the smoke comes
//! right; what is left is one figure, fuel, and it is brought down by going along one hand's
//! figure after the other with steps that grow where it helps and shrink where it does not. Trials
//! are run in a coarse bed; what is proposed is run again as finely as the case asks.
//!
//! # Equations
//! Least of `w_oil m_oil CV_oil + w_peat m_peat CV_peat + w_el E_fan`, subject to moisture and
//! phenols as wanted, an end no later than wanted, the fan, the burner, most hours at which any
//! corn is hotter than its moisture allows, the hottest and the least cure, air sent back only
//! after the break, and the most peat a hearth burns.
//!
//! # Range
//! That of the kiln. Wishes that cannot hold together are `Fault::Unworkable`, which says what
//! would. A kiln already lit may be given: only what lies ahead is moved.
//!
//! # Error
//! That of the kiln's page; the search itself finds the least fuel to about 1 % (a brute search
//! over a grid, in the tests, finds nothing cheaper by more than that).
//!
//! # Source
//! None: a search over the kiln's own reckoning.

pub(crate) mod case;
mod ends;
mod point;
mod search;
mod trial;
mod why;

#[cfg(test)]
mod tests;

use gauge::{Fault, Grade};

use super::figures::{Charge, Constants};
use super::firing::{Firing, Setting};
use super::{Run, State, Vessel};
use crate::sound::sound;
use crate::stage::Watch;
use search::Search;
pub(crate) use trial::cells_for;

gauge::record! {
    /// What is wanted of a kilning.
    pub struct Wanted {
        /// Phenols on dry malt.
        pub phenols_mg_kg_dry: f64 = Field::new("mg/kg").label("phenols on dry malt")
            .within(0.0, 200.0).or(0.0),
        /// Mean moisture, wet basis.
        pub moisture_wet: f64 = Field::new("kg/kg").label("moisture, wet basis")
            .within(0.02, 0.12).or(0.045)
            .from(Grade::Published, "malt of 4 to 5 %, Owens, Cereals Processing Technology"),
        /// Latest end, hours from lighting; when not given, the usual hours or what is needed.
        pub by_h: Option<f64> = Field::new("h").label("ready by").within(1.0, 400.0),
        /// Hottest air-on.
        pub cure_most_c: f64 = Field::new("°C").label("hottest air-on").within(40.0, 110.0)
            .or(75.0).from(Grade::Published, "75 °C the highest acceptable, Kribs 1995"),
        /// Least air-on of the cure.
        pub cure_least_c: f64 = Field::new("°C").label("least air-on of the cure")
            .within(15.0, 110.0).or(65.0)
            .from(Grade::Memory, "distilling malt is cured at 65 to 75 °C"),
        /// Least hours of the cure.
        pub cure_least_h: f64 = Field::new("h").label("least hours of curing")
            .within(0.0, 48.0).or(3.0)
            .from(Grade::Design, "common practice is 4 to 6 h; the house decides"),
        /// Most hours in which some corn may be hotter than its moisture allows its enzymes.
        pub at_risk_most_h: f64 = Field::new("h").label("most hours at risk")
            .within(0.0, 500.0).or(0.1)
            .from(Grade::Design, "none, but for what a grid of cells cannot tell"),
        /// Largest share of the air sent back; that of the usual firing when not given.
        pub returned_most: Option<f64> = Field::new("").label("most air sent back")
            .within(0.0, 0.95),
        /// Most peat burnt in an hour for a tonne of dry matter; when not given, as usual, or
        /// 10 kg/(t h) where none is usual.
        pub peat_most_kg_t_h: Option<f64> = Field::new("kg/(t h)").label("most peat an hour")
            .within(0.1, 200.0),
        /// Least air at which the kiln still draws; half the usual when not given.
        pub flow_least_kg_m2_s: Option<f64> = Field::new("kg/(m² s)").label("least air")
            .within(0.02, 1.0),
    }
}

gauge::record! {
    /// What a megajoule counts for, by where it comes from.
    pub struct Weights {
        /// Of oil.
        pub oil: f64 = Field::new("").label("weight of oil").within(0.0, 100.0).or(1.0),
        /// Of peat.
        pub peat: f64 = Field::new("").label("weight of peat").within(0.0, 100.0).or(1.5)
            .from(Grade::Design, "it is cut and carried by hand; smouldering gives up less"),
        /// Of electricity.
        pub electricity: f64 = Field::new("").label("weight of electricity").within(0.0, 100.0)
            .or(2.5).from(Grade::Memory, "fuel burnt to make it, 2 to 2.5 times"),
    }
}

/// Everything a proposal rests on.
#[derive(Debug, Clone, Copy)]
pub struct Asked<'a> {
    /// What lies on the wire (as loaded, also where the kiln is lit).
    pub charge: &'a Charge,
    /// The kiln.
    pub vessel: &'a Vessel,
    /// Weather, peat, turnings, fineness.
    pub setting: &'a Setting,
    /// The firing the house usually makes, or the one in force: where the search begins.
    pub usual: &'a Firing,
    /// What is wanted.
    pub wanted: &'a Wanted,
    /// What fuels count for.
    pub weights: &'a Weights,
    /// The free constants.
    pub constants: &'a Constants,
    /// The bed of a kiln already lit; its fuel is then counted from there.
    pub from: Option<&'a State>,
}

/// A wish or a limit that holds the firing where it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bind {
    /// `by_h`, `fan`, `burner`, `enzymes`, `cure_most_c`, `cure_least_c`, `cure_least_h`,
    /// `returned_most`, `peat_most_kg_t_h`, `peat_heat`, `flow_least_kg_m2_s`, `smoke_past`.
    pub key: &'static str,
    /// In words.
    pub says: String,
}

/// A firing in short.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Short {
    /// Hours from lighting.
    pub hours: f64,
    /// When the malt came to the wanted moisture.
    pub ready_h: Option<f64>,
    /// Mean moisture at the end, wet basis.
    pub moisture_wet: f64,
    /// Phenols on dry malt.
    pub phenols_mg_kg_dry: f64,
    /// Hours in which some corn was hotter than its moisture allows.
    pub enzymes_at_risk_h: f64,
    /// Oil.
    pub oil_kg: f64,
    /// Peat.
    pub peat_kg: f64,
    /// Electricity of the fan.
    pub fan_kwh: f64,
    /// All three, weighed.
    pub fuel_mj: f64,
}

impl Short {
    fn of(run: &Run, asked: &Asked<'_>) -> Self {
        let out = &run.out;
        Self {
            hours: out.hours,
            ready_h: out.ready_h,
            moisture_wet: out.moisture_wet,
            phenols_mg_kg_dry: out.phenols_mg_kg_dry,
            enzymes_at_risk_h: out.enzymes_at_risk_h,
            oil_kg: out.oil_kg,
            peat_kg: out.peat_kg,
            fan_kwh: out.fan_kwh,
            fuel_mj: trial::fuel_mj(out, asked),
        }
    }
}

/// A firing proposed.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    /// What to do.
    pub firing: Firing,
    /// Its course, as finely as the case asks; of a lit kiln, what lies ahead.
    pub run: Run,
    /// It in short.
    pub short: Short,
    /// What holds it where it is.
    pub binds: Vec<Bind>,
    /// The soonest end with all wishes kept: full air, whatever the fuel.
    pub earliest_h: f64,
    /// Kilnings tried.
    pub tried: u32,
    /// The usual firing.
    pub present: Option<Short>,
    /// Whether the search was stopped before its end: then this is the best so far.
    pub stopped: bool,
}

/// Gives the firing with the least fuel that keeps to what is wanted.
///
/// # Units
/// As in the fields of its arguments; hours from lighting.
/// # Range
/// That of the kiln; wishes that cannot hold together are `Fault::Unworkable`, which says what
/// would. Stopped before a first firing that keeps to all wishes is found, `Fault::Unworkable`.
/// # Error
/// See the page above.
/// # Source
/// None: a search over the kiln's own reckoning.
pub fn propose(asked: &Asked<'_>, watch: &mut Watch<'_>) -> Result<Proposal, Fault> {
    sound("firing", asked.usual)?;
    sound("wanted", asked.wanted)?;
    sound("weights", asked.weights)?;
    let usual = trial::finely(asked, asked.usual)?;
    let present = Some(Short::of(&usual, asked));
    let mut search = Search::new(asked, watch)?;
    search.surely_possible()?;
    let soonest = search.soonest()?;
    let found = search.cheapest(&soonest)?;
    let confirmed = search.confirmed(&found)?;
    let binds = search.binds(&confirmed);
    Ok(Proposal {
        short: Short::of(&confirmed.run, asked),
        firing: confirmed.firing,
        run: confirmed.run,
        binds,
        earliest_h: soonest.hours(),
        tried: search.tried(),
        present,
        stopped: search.stopped(),
    })
}
