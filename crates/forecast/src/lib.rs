//! What will happen: stages chained for a batch in a house.

pub mod batch;
mod carry;
mod chain;
pub mod expect;
pub mod figure;
pub mod maltings;
pub mod mash_house;
mod spread;
pub mod stillhouse;
pub mod tun_room;
pub mod washback;
pub mod yields;

pub use batch::{Asked, Batch, Loss};
pub use expect::{Expected, Forecasts, What, expect};
pub use figure::{Band, Figure, Step};
pub use washback::Course;

use gauge::Fault;
use house::House;

/// Foretells one batch of a make in a house, from barley to cask.
///
/// # Units
/// As each figure says.
/// # Range
/// That of the stages: what a stage refuses comes back as its fault.
/// # Error
/// The band of each figure; see [`Band`].
/// # Source
/// The pages of the stages.
pub fn batch(house: &House, asked: &Asked) -> Result<Batch, Vec<Fault>> {
    chain::batch(house, asked)
}

#[cfg(test)]
mod tests;
