//! The tun room: every washback at work, which must be distilled next, which strays and why, the
//! air of the room, and what another mash, setting or pitch would give.
//!
//! A washback is reckoned from what was noted when it was set, of the worts that its own mash gave,
//! and bent to its readings: the yeast's vigour, how soon it wakes, and how far the wort ferments,
//! each with what was believed before.

pub mod air;
mod back;
mod bend;
mod ready;
mod room;
mod stray;
#[cfg(test)]
mod tests;
mod what_if;
pub(crate) mod working;

pub use air::Air;
pub use back::{Back, BackPoint, NotedBeside, back};
pub(crate) use back::{Begun, all_beside, begun_all, bent_beside};
pub(crate) use ready::{latest_h, ready_h};
pub use room::{Charging, Empty, Room, room};
pub use stray::{Cause, Stray};
pub use what_if::{Answer, AnswerRow, what_if};
