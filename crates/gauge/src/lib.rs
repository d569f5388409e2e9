//! What a measure is. Quantities that people confuse are types of their own; every number a
//! person may decide, note or fit is a [`Field`] with its unit, range, default and source.

pub mod alcoholometry;
pub mod fault;
pub mod field;
pub mod measured;
pub mod moist_air;
pub mod quantity;
pub mod tree;
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
