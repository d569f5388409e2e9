//! What stands there: plant, makes, barleys and season from the house's files, and
//! [`Standing`], what lies in each vessel at a moment.

pub mod standing;

pub use standing::Standing;
