//! What to do when: the work that is due, and the shape in which a plan leaves the house.

pub mod kind;
pub mod plan;

pub use kind::TaskKind;
pub use plan::Plan;
