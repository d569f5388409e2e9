//! What a measure is. Quantities that people confuse are types of their own; every number a
//! person may decide, note or fit is a [`Field`] with its unit, range, default and source.

pub mod fault;
pub mod field;
pub mod tree;

pub use fault::{Fault, Kind, Warning};
pub use field::{Field, Grade, Record, Scale};
pub use tree::{Described, Node, Reader, Sort};
