//! The mash house: the sheet of the next mash, the mash under way beside what was asked, the mashes
//! that are done, and the draff.
//!
//! All of it is plain data: times, figures with their bands, and sentences. A band is nine times
//! in ten and holds what the models know of their own constants. What the house's own mashes have
//! taught of its tun stands in [`TunFitted`], each factor with what was believed before.

mod course;
mod done;
mod grist;
mod heat;
mod lanes;
mod pit;
mod rows;
mod setup;
mod sheet;
#[cfg(test)]
mod tests;
mod tun;
mod under_way;
mod wished;

pub use course::TunPoint;
pub use done::{Done, done};
pub use grist::GristSeen;
pub use heat::HeatLine;
pub use lanes::{Bar, Lane};
pub use pit::{Pit, Uplift, pit};
pub use sheet::{Draff, ExtractLine, HotLiquor, Sheet, WaterLine, sheet, striking_heat};
pub use tun::{TunFitted, tun};
pub use under_way::{Compared, UnderWay, under_way};
pub use wished::{Stop, When, Wished, WishedWater, coming};

pub(crate) use setup::{Reckoned, Setup, weak_worts};
pub(crate) use under_way::{Others, as_noted};
