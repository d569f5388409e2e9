//! One mash as it was noted, from mill to washback: plain data, like [`Standing`](crate::Standing).
//! `book` fills it from entries, `forecast` judges it, the mash house shows it. Nothing is reckoned
//! in here.

use crate::standing::Reading;
use jiff::Timestamp;

/// A mash, as far as it has come.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Mashed {
    /// Its number.
    pub mash: u32,
    /// The make, a key of the house's makes.
    pub make: String,
    /// Malt drawn for it, in the order in which it was drawn.
    pub drawn: Vec<Drawn>,
    /// What the sieve box weighed, the last test.
    pub grist: Option<Sieved>,
    /// Mashing in.
    pub mashed_in: Option<MashedIn>,
    /// Waters after the first, in the order in which they were run on.
    pub waters: Vec<Water>,
    /// Noted temperatures of the bed.
    pub bed_c: Vec<Reading>,
    /// Noted gravities of what ran off, 20/20.
    pub run_off_gravity: Vec<Reading>,
    /// Litres run off to the washback by then, as read at the underback or the dip.
    pub run_off_l: Vec<Reading>,
    /// Pull on the bed, cm of water.
    pub pull_cm: Vec<Reading>,
    /// When the bed was found set, and cut or raked.
    pub set_bed: Vec<Timestamp>,
    /// Last worts, once they were gathered.
    pub weak_worts: Option<Weak>,
    /// Worts collected in washbacks, a line each time.
    pub collected: Vec<Collected>,
    /// The setting.
    pub set: Option<Set>,
    /// Draff cast.
    pub draff: Option<Draff>,
}

/// Malt drawn from a bin.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawn {
    /// The bin.
    pub bin: String,
    /// When.
    pub at: Timestamp,
    /// As it is.
    pub kg: f64,
    /// Moisture on a wet basis, 0 to 1.
    pub moisture_wet: f64,
    /// What a laboratory found in the malt it lay in, the pieces' means; none: none was tested.
    pub extract_pct_dry: Option<f64>,
    /// Share of that extract that ferments, the same.
    pub fermentability: Option<f64>,
}

/// What the box of sieves weighed of a grist.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sieved {
    /// When.
    pub at: Timestamp,
    /// Held on the coarse sieve, share.
    pub husk_fraction: f64,
    /// Through the fine one, share.
    pub flour_fraction: f64,
    /// Gap of the last rollers, where it was noted.
    pub gap_mm: Option<f64>,
}

/// Grist and first water met.
#[derive(Debug, Clone, PartialEq)]
pub struct MashedIn {
    /// The tun.
    pub vessel: String,
    /// When.
    pub at: Timestamp,
    /// Grist, dry, by the book.
    pub dry_kg: f64,
    /// Its moisture on a wet basis, 0 to 1.
    pub moisture_wet: f64,
    /// Temperature of the grist, where it was noted.
    pub grist_c: Option<f64>,
    /// Temperature of the tun before, where it was noted.
    pub tun_c: Option<f64>,
    /// Temperature of the first water.
    pub strike_c: Option<f64>,
    /// Its litres, weak worts and all.
    pub water_l: Option<f64>,
    /// Gravity of the first water before mashing, where weak worts were in it.
    pub water_gravity: Option<f64>,
    /// Temperature of the mash.
    pub mash_c: Option<f64>,
}

/// One water after the first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Water {
    /// Which: 2 for the second.
    pub water: u32,
    /// When it began to run on.
    pub at: Timestamp,
    /// Litres.
    pub volume_l: Option<f64>,
    /// Temperature.
    pub temperature_c: Option<f64>,
}

/// Last worts of a mash.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weak {
    /// When they were gathered.
    pub at: Timestamp,
    /// Litres as they lay.
    pub bulk_l: f64,
    /// Gravity, 20/20.
    pub gravity: f64,
    /// Temperature.
    pub temperature_c: Option<f64>,
    /// Whether they were let to drain and not kept for the next mash.
    pub drained: bool,
}

/// Worts run to a washback.
#[derive(Debug, Clone, PartialEq)]
pub struct Collected {
    /// The washback.
    pub vessel: String,
    /// When the running ended.
    pub at: Timestamp,
    /// Litres as they lay.
    pub bulk_l: f64,
    /// Their temperature.
    pub temperature_c: Option<f64>,
    /// Gravity, 20/20.
    pub gravity: Option<f64>,
}

/// A washback set from it.
#[derive(Debug, Clone, PartialEq)]
pub struct Set {
    /// The washback.
    pub vessel: String,
    /// When.
    pub at: Timestamp,
    /// Worts collected, as they lay.
    pub bulk_l: f64,
    /// Setting temperature.
    pub set_c: f64,
    /// Original gravity, 20/20.
    pub original_gravity: f64,
    /// Pressed yeast.
    pub yeast_kg: Option<f64>,
}

/// Draff cast from the tun.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Draff {
    /// When.
    pub at: Timestamp,
    /// As it was carted, where it was weighed.
    pub kg: Option<f64>,
    /// Moisture on a wet basis, where it was found.
    pub moisture_wet: Option<f64>,
}

/// How a mash is to be done where it differs from the usual of its make, decided by whoever makes.
/// The last for a mash holds; what is none is as usual.
#[derive(Debug, Clone, PartialEq)]
pub struct KeptMash {
    /// The mash.
    pub mash: u32,
    /// When it was decided.
    pub since: Timestamp,
    /// Temperature of the mash.
    pub mash_c: Option<f64>,
    /// Litres of each water, the first among them; empty: as usual.
    pub waters_l: Vec<f64>,
    /// Temperature of each water after the first; empty: as usual.
    pub waters_c: Vec<f64>,
    /// Setting temperature.
    pub set_c: Option<f64>,
    /// Pressed yeast.
    pub yeast_kg: Option<f64>,
    /// Hours until it is distilled.
    pub hours: Option<f64>,
}
