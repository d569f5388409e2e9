//! The stillhouse: a run before it is lit and as it was, the circuit it belongs to, and what its
//! readings teach.

mod advice;
pub mod after;
pub mod analyses;
#[cfg(test)]
mod chance;
mod charged;
pub mod circuit;
mod circuit_route;
pub mod circuit_season;
#[cfg(test)]
mod circuit_tests;
mod clock;
pub mod congeners;
pub mod fitted;
mod gls;
pub mod head;
pub mod heads;
pub mod heart;
mod moved;
mod route;
pub mod run;
pub mod sheet;
mod steady;

pub use after::{After, after};
pub use analyses::analyses;
pub use congeners::in_wash;
pub use fitted::{Fitted, Known};
pub use head::HeadFit;
pub use heads::Heads;
pub use heart::{Cuts, Heart};
pub(crate) use route::cuts_of;
pub use run::Expected;
pub use sheet::{NoSheet, Sheet, sheet};
