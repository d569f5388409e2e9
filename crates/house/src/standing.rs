//! What stands there now: the plain data that joins the book to the plan and the forecast.
//!
//! `book` fills it from entries; `plan` and `forecast` read it. Nothing is reckoned in here.

use crate::malted::{KeptFiring, MaltAnalysis, Malted};
use crate::mashed::{KeptMash, Mashed};
use crate::ran::KeptCuts;
use jiff::Timestamp;

/// What lies in every vessel at one moment.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Standing {
    /// The moment.
    pub at: Timestamp,
    /// The last entry of the book it was filled from; 0 for an empty book.
    pub serial: u64,
    /// Barley in store.
    pub lots: Vec<Lot>,
    /// Barley under steep.
    pub steeps: Vec<Steeping>,
    /// Pieces on the floors.
    pub floors: Vec<Piece>,
    /// What lies on the kiln.
    pub kiln: Option<Kilning>,
    /// Malt in the bins.
    pub bins: Vec<Bin>,
    /// Worts or wash in the washbacks.
    pub washbacks: Vec<Washback>,
    /// Chargers, low wines, feints and spirit receivers, and vats.
    pub receivers: Vec<Receiver>,
    /// A run in progress in a still.
    pub stills: Vec<Running>,
    /// The pieces not yet stripped, as they were noted, in the order of their numbers.
    pub malted: Vec<Malted>,
    /// What the kiln is set to, the last decision for each piece not yet stripped.
    pub firings: Vec<KeptFiring>,
    /// Mashes whose worts are not yet charged to a still, as they were noted, in the order of
    /// their numbers.
    pub mashed: Vec<Mashed>,
    /// How coming mashes are to be done where that was decided, the last decision for each mash
    /// not yet set.
    pub sheets: Vec<KeptMash>,
    /// Last worts kept for the next mash.
    pub weak_worts: Option<WeakWorts>,
    /// Draff in the pit, dry matter, kg.
    pub draff_dry_kg: f64,
    /// The cuts the house keeps to, the last decision for each make.
    pub cuts: Vec<KeptCuts>,
    /// Casks, filled and not emptied.
    pub casks: Vec<Cask>,
}

/// Barley in store.
#[derive(Debug, Clone, PartialEq)]
pub struct Lot {
    /// Name of the lot.
    pub lot: String,
    /// Kind of barley, a key of the house's barleys.
    pub barley: String,
    /// Dry matter left.
    pub dry_kg: f64,
    /// Moisture on a wet basis, 0 to 1.
    pub moisture_wet: f64,
    /// Nitrogen, % of dry matter.
    pub nitrogen_pct_dry: Option<f64>,
    /// Where it lies; empty when that was not noted.
    pub silo: String,
    /// When the first of it came in.
    pub since: Timestamp,
    /// The rest of what is known of it, the last test first.
    pub analysis: LotAnalysis,
    /// Why it may not be steeped yet, where it is held.
    pub held: Option<String>,
}

/// What was found of a lot of barley. What was not looked for is none.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LotAnalysis {
    /// Weight of a thousand corns as they are.
    pub corn_weight_g: Option<f64>,
    /// Share through the sieve, %.
    pub screenings_pct: Option<f64>,
    /// Share that is not barley, %.
    pub admixture_pct: Option<f64>,
    /// Germinative energy in 4 ml, %.
    pub germinative_energy_4ml_pct: Option<f64>,
    /// Germinative energy in 8 ml, %.
    pub germinative_energy_8ml_pct: Option<f64>,
    /// Germinative capacity, %.
    pub germinative_capacity_pct: Option<f64>,
    /// When germination was last tested.
    pub tested: Option<Timestamp>,
}

/// Barley under steep.
#[derive(Debug, Clone, PartialEq)]
pub struct Steeping {
    /// The steep, a key of the house's vessels.
    pub vessel: String,
    /// Number of the piece it will become.
    pub piece: u32,
    /// The lot it was drawn from.
    pub lot: String,
    /// The make it is meant for.
    pub make: String,
    /// When it went under water.
    pub since: Timestamp,
    /// Dry matter.
    pub dry_kg: f64,
}

/// A piece on a floor.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// The floor.
    pub vessel: String,
    /// Number of the piece.
    pub piece: u32,
    /// The lot.
    pub lot: String,
    /// The make it is meant for.
    pub make: String,
    /// When it was cast.
    pub since: Timestamp,
    /// When it was last turned; the casting counts.
    pub turned: Timestamp,
    /// Dry matter when cast.
    pub dry_kg: f64,
    /// Last noted grain temperature and when.
    pub grain_c: Option<Reading>,
}

/// What lies on the kiln.
#[derive(Debug, Clone, PartialEq)]
pub struct Kilning {
    /// The kiln.
    pub vessel: String,
    /// Number of the piece.
    pub piece: u32,
    /// The make.
    pub make: String,
    /// When it was lit.
    pub since: Timestamp,
    /// Dry matter when loaded.
    pub dry_kg: f64,
    /// Noted air-off temperatures, oldest first.
    pub air_off_c: Vec<Reading>,
}

/// A bin and its layers, the first in at the bottom.
#[derive(Debug, Clone, PartialEq)]
pub struct Bin {
    /// The bin.
    pub vessel: String,
    /// Layers, lowest first.
    pub layers: Vec<Layer>,
}

/// One layer of malt.
#[derive(Debug, Clone, PartialEq)]
pub struct Layer {
    /// Number of the piece it came from.
    pub piece: u32,
    /// The make it is for.
    pub make: String,
    /// When it was stripped from the kiln.
    pub since: Timestamp,
    /// Dry matter left.
    pub dry_kg: f64,
    /// Moisture on a wet basis, 0 to 1.
    pub moisture_wet: f64,
    /// Phenols on dry malt, as of the day of stripping.
    pub phenols_mg_kg_dry: f64,
    /// The barley lots it came from.
    pub parts: Vec<Share>,
    /// What a laboratory found in it.
    pub analysis: Option<MaltAnalysis>,
    /// Whether it waits for a laboratory's release.
    pub held: bool,
}

/// A share of a lot of barley.
#[derive(Debug, Clone, PartialEq)]
pub struct Share {
    /// The lot.
    pub lot: String,
    /// Of the whole, 0 to 1, by dry matter.
    pub share: f64,
}

/// Worts or wash in a washback.
#[derive(Debug, Clone, PartialEq)]
pub struct Washback {
    /// The washback.
    pub vessel: String,
    /// Number of the mash.
    pub mash: u32,
    /// The make.
    pub make: String,
    /// When it was set.
    pub set_at: Timestamp,
    /// Litres collected, as they lay.
    pub bulk_l: f64,
    /// Setting temperature.
    pub set_c: f64,
    /// Original gravity.
    pub original_gravity: f64,
    /// Pressed yeast, where it was noted.
    pub yeast_kg: Option<f64>,
    /// Noted gravities, oldest first.
    pub gravity: Vec<Reading>,
    /// Noted temperatures, oldest first.
    pub temperature_c: Vec<Reading>,
    /// Noted pH, oldest first.
    pub ph: Vec<Reading>,
    /// Strength declared from the gravities, % vol, once the wash was worked out.
    pub declared_pct: Option<f64>,
}

/// Last worts that wait for the next mash.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeakWorts {
    /// The mash they came from.
    pub mash: u32,
    /// When they were gathered.
    pub since: Timestamp,
    /// Litres as they lay.
    pub bulk_l: f64,
    /// Gravity, 20/20.
    pub gravity: f64,
    /// Temperature then, where it was noted.
    pub temperature_c: Option<f64>,
}

/// Spirit, low wines or feints in a charger, receiver or vat.
#[derive(Debug, Clone, PartialEq)]
pub struct Receiver {
    /// The vessel.
    pub vessel: String,
    /// The feints family whose spirit it holds, a key of the house's families.
    pub family: String,
    /// Litres at 20 °C.
    pub volume_20_l: f64,
    /// Strength, % vol at 20 °C.
    pub strength_pct: f64,
    /// Litres of pure alcohol by the book.
    pub pure_alcohol_l: f64,
}

/// A run in progress.
#[derive(Debug, Clone, PartialEq)]
pub struct Running {
    /// The still.
    pub vessel: String,
    /// Number of the run.
    pub run: u32,
    /// The make.
    pub make: String,
    /// When it was charged.
    pub since: Timestamp,
    /// Litres of pure alcohol charged.
    pub pure_alcohol_l: f64,
}

/// A cask lying in a warehouse.
#[derive(Debug, Clone, PartialEq)]
pub struct Cask {
    /// Number on the head.
    pub cask: String,
    /// Kind of cask, a key of the house's casks.
    pub kind: String,
    /// The make.
    pub make: String,
    /// When it was filled.
    pub filled: Timestamp,
    /// Warehouse.
    pub warehouse: String,
    /// Litres at 20 °C when last gauged.
    pub volume_20_l: f64,
    /// Strength when last gauged, % vol.
    pub strength_pct: f64,
    /// Litres of pure alcohol by the book.
    pub pure_alcohol_l: f64,
    /// When it was last gauged; the filling counts.
    pub gauged: Timestamp,
}

/// A noted figure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// When.
    pub at: Timestamp,
    /// The figure, in the unit of the field it is noted in.
    pub value: f64,
}
