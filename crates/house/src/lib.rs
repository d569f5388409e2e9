//! What stands there: plant, makes, barleys and season from the house's files, and
//! [`Standing`], what lies in each vessel at a moment.
//!
//! A house is four TOML files in a folder. [`load`] reads them and tells every fault of all of
//! them at once, each with its file and line; a house with a fault does not start at all.

pub mod barley;
mod check;
mod check_changes;
pub mod load;
pub mod make;
pub mod malted;
pub mod mashed;
pub mod plant;
pub mod problem;
pub mod ran;
pub mod season;
pub mod source;
pub mod standing;
pub mod vessel;

pub use barley::Barley;
pub use load::{House, load, quernholm, read};
pub use make::{Make, Makes, Route};
pub use malted::{KeptFiring, Malted};
pub use mashed::{KeptMash, Mashed};
pub use plant::{Plant, Vessel};
pub use problem::Problem;
pub use ran::{KeptCuts, Ran};
pub use season::{Order, Season};
pub use source::{Place, Source};
pub use standing::Standing;
pub use vessel::Equipment;
