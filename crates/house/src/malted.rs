//! One piece of malt as it was noted, from steep to bin: plain data, like
//! [`Standing`](crate::Standing). `book` fills it from entries, `forecast` judges it, the maltings
//! show it. Nothing is reckoned in here.

use crate::standing::Reading;
use jiff::Timestamp;

/// A piece, as far as it has come.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Malted {
    /// Its number.
    pub piece: u32,
    /// The make it is meant for, a key of the house's makes.
    pub make: String,
    /// The barley it was made of, in the order in which it was drawn.
    pub parts: Vec<Drawn>,
    /// In the steep.
    pub steep: Steeped,
    /// On its floor, once it was cast.
    pub floor: Option<Laid>,
    /// On the kiln, once it was loaded.
    pub kiln: Option<Kilned>,
    /// What came off the kiln, a line a bin.
    pub stripped: Vec<Stripped>,
    /// What a laboratory found in the malt, oldest first.
    pub analyses: Vec<MaltAnalysis>,
}

/// Barley drawn from one lot.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawn {
    /// The lot.
    pub lot: String,
    /// Its kind, a key of the house's barleys; empty when the book does not know the lot.
    pub barley: String,
    /// Dry matter drawn.
    pub dry_kg: f64,
    /// Moisture on a wet basis, 0 to 1.
    pub moisture_wet: f64,
    /// When.
    pub at: Timestamp,
}

/// A piece in its steep.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Steeped {
    /// The steep.
    pub vessel: String,
    /// When it went under water.
    pub at: Timestamp,
    /// Waters let in and let off, and sprays, as noted after the first.
    pub waters: Vec<Water>,
    /// Noted moisture of the corn, wet basis, 0 to 1.
    pub moisture_wet: Vec<Reading>,
    /// Noted temperatures of water or grain.
    pub temperature_c: Vec<Reading>,
}

/// What was done with the water of a steep.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Act {
    /// Filled: under water from here.
    Fill,
    /// Drained: in air from here.
    Drain,
    /// Sprayed: wet and in air.
    Spray,
}

/// One change of water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Water {
    /// When.
    pub at: Timestamp,
    /// What.
    pub act: Act,
    /// Temperature of the water, where it was noted.
    pub water_c: Option<f64>,
}

/// A piece on its floor.
#[derive(Debug, Clone, PartialEq)]
pub struct Laid {
    /// The floor.
    pub vessel: String,
    /// When it was cast.
    pub at: Timestamp,
    /// Dry matter when cast, by the book.
    pub dry_kg: f64,
    /// Whether it was cast as a slurry, in its water.
    pub wet_cast: bool,
    /// Turns, oldest first.
    pub turns: Vec<Turned>,
    /// Thinnings and thickenings, oldest first.
    pub spreads: Vec<Spread>,
    /// Noted grain temperatures, with turns or alone, oldest first.
    pub grain_c: Vec<Reading>,
    /// Noted acrospires, share of the corn.
    pub acrospire: Vec<Reading>,
}

/// How a piece was turned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Turning {
    /// Turned over with the shovel or the turner.
    Full,
    /// Ploughed: opened, not turned over.
    Plough,
}

/// One turn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turned {
    /// When.
    pub at: Timestamp,
    /// How.
    pub how: Turning,
}

/// A thinning or thickening.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// When.
    pub at: Timestamp,
    /// Share of the floor it covers from here, 0 to 1.
    pub covered_fraction: f64,
}

/// A piece on the kiln.
#[derive(Debug, Clone, PartialEq)]
pub struct Kilned {
    /// The kiln.
    pub vessel: String,
    /// When it was loaded and lit.
    pub at: Timestamp,
    /// Dry matter when loaded, by the book.
    pub dry_kg: f64,
    /// Noted air-on, oldest first.
    pub air_on_c: Vec<Reading>,
    /// Noted air-off, oldest first.
    pub air_off_c: Vec<Reading>,
    /// Noted temperatures in the bed.
    pub bed_c: Vec<Reading>,
    /// Noted moisture of a sample of the bed, wet basis, 0 to 1.
    pub moisture_wet: Vec<Reading>,
    /// Peat burnt since lighting.
    pub peat_kg: Vec<Reading>,
    /// Oil burnt since lighting.
    pub oil_kg: Vec<Reading>,
    /// Turnings of the bed.
    pub turns: Vec<Timestamp>,
}

/// Malt stripped into one bin.
#[derive(Debug, Clone, PartialEq)]
pub struct Stripped {
    /// The bin.
    pub bin: String,
    /// When.
    pub at: Timestamp,
    /// As weighed.
    pub kg: f64,
    /// Moisture on a wet basis, 0 to 1.
    pub moisture_wet: f64,
    /// Phenols on dry malt, as noted when stripped.
    pub phenols_mg_kg_dry: f64,
}

/// What a laboratory found in the malt of a piece. What was not looked for is none.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct MaltAnalysis {
    /// When it was noted.
    pub at: Timestamp,
    /// Moisture on a wet basis, 0 to 1.
    pub moisture_wet: Option<f64>,
    /// Phenols on dry malt.
    pub phenols_mg_kg_dry: Option<f64>,
    /// How the phenols were found, in the laboratory's word.
    pub method: String,
    /// Soluble extract, % of dry malt.
    pub extract_pct_dry: Option<f64>,
    /// Share of it that ferments, 0 to 1.
    pub fermentability: Option<f64>,
    /// Nitrogen, % of dry matter.
    pub nitrogen_pct_dry: Option<f64>,
    /// Nitrosamine, µg/kg.
    pub ndma_ug_kg: Option<f64>,
    /// Whether the malt may be used: yes, no, or nothing said.
    pub release: Option<bool>,
}

/// What the kiln is set to for a piece, decided by whoever fires it. The last for a piece holds.
#[derive(Debug, Clone, PartialEq)]
pub struct KeptFiring {
    /// The piece.
    pub piece: u32,
    /// When it was decided.
    pub since: Timestamp,
    /// Hours of peat smoke from lighting.
    pub peat_h: f64,
    /// Air-dry peat for a tonne of dry matter.
    pub peat_kg_t: f64,
    /// Air-on while peat burns.
    pub peat_c: f64,
    /// Dry air while peat burns.
    pub peat_flow_kg_s: f64,
    /// Air-on of the drying.
    pub dry_c: f64,
    /// Hours of it.
    pub dry_h: f64,
    /// Dry air of drying and curing.
    pub flow_kg_s: f64,
    /// Air-on of the curing.
    pub cure_c: f64,
    /// Hours of it.
    pub cure_h: f64,
    /// Share of the air sent back after the break.
    pub returned: f64,
    /// Hours in which the fire is brought from one phase to the next.
    pub ramp_h: f64,
    /// Phenols wanted on dry malt, where that was the wish.
    pub wanted_phenols_mg_kg_dry: Option<f64>,
    /// Moisture wanted at the finish, wet basis, 0 to 1.
    pub wanted_moisture_wet: Option<f64>,
}
