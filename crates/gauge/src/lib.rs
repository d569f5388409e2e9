//! What a measure is. Quantities that people confuse are types of their own; every number a
//! person may decide, note or fit is a [`Field`] with its unit, range, default and source.

// First, because its macros declare quantities elsewhere as well.
#[macro_use]
pub mod quantity;

pub mod alcoholometry;
mod basis;
pub mod buoyancy;
pub mod fault;
pub mod field;
pub mod gauging;
pub mod glass;
pub mod measure;
pub mod measured;
pub mod mixing;
pub mod moist_air;
pub mod obscuration;
pub mod spirit_yield;
pub mod tree;
pub mod us;
pub mod water;
pub mod wort;

pub use fault::{Fault, Kind, Warning};
pub use field::{Field, Grade, Record, Scale};
pub use measured::Measured;
pub use quantity::{
    BulkVolume, Celsius, DensityInAir, DensityVacuum, DryMatter, GrainMass, Gravity, KelvinStep,
    MassFraction, MoistureDry, MoistureWet, PhenolAsIs, PhenolInSpirit, PhenolOnDry, Plato,
    PureLitres, Strength, VolumeAt20,
};
pub use tree::{Described, Node, Reader, Sort};
pub use us::ProofUs;
