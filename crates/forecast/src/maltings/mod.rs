//! The maltings: barley in store, steeps, floors, the kiln and the bins, reckoned anew from what
//! was noted of each lot and piece.
//!
//! Everything that leaves here is plain data: times, figures with their bands, and sentences. A
//! band is nine times in ten and holds what the models know of their own constants; readings of
//! a piece bend a few factors towards it ([`Factor`]), each with what was believed before, and
//! nothing of that outlives the piece.

mod band;
pub mod bins;
mod cast;
pub mod factor;
pub mod gate;
mod grown;
pub mod kilning;
mod learning;
pub mod lots;
pub mod piece;
pub mod propose;
pub mod queue;
pub mod remainders;
pub mod seen;
pub mod steeping;
#[cfg(test)]
mod tests;
pub mod today;
pub mod turning;

pub use bins::{BinSeen, LayerSeen, State, bins};
pub use factor::Factor;
pub use gate::{Decision, Gate, Line, Nose, Weighed, drying, gate, gate_on};
pub use kilning::{Kilned, Moment, kept_firing, kilning, usual_firing};
pub use lots::{LotSeen, lots};
pub use piece::{Due, Floored, Point, piece};
pub use propose::{propose, usual_wishes};

pub use queue::{Dried, Waiting, queue};
pub use remainders::{Offer, remainders};
pub use seen::{Between, Noted};
pub use steeping::{SteepPoint, Steeped, Steeping, steeping};
pub use today::Today;
pub use turning::turning;
