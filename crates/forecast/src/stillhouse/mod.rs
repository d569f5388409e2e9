//! The stillhouse: a run before it is lit and as it was, the circuit it belongs to, and what its
//! readings teach.

pub mod after;
#[cfg(test)]
mod chance;
pub mod circuit;
mod circuit_route;
#[cfg(test)]
mod circuit_tests;
mod gls;
