//! `barleys.toml`: the kinds of barley the house steeps, and how each is steeped and floored.

use crate::plant::keyed;
use gauge::{Reader, Record, record};

record! {
    /// What an analysis says of a kind of barley, and how long it wants.
    pub struct Analysis {
        /// Moisture in store, on a wet basis.
        pub moisture_wet: f64 = Field::new("").label("moisture").within(0.05, 0.25),
        /// Nitrogen of the dry matter.
        pub nitrogen_pct_dry: f64 = Field::new("%").label("nitrogen, dry").within(0.8, 3.5),
        /// Weight of a thousand corns, dry matter and water together.
        pub corn_weight_g: f64 = Field::new("g").label("thousand corns").within(15.0, 70.0),
        /// Share that falls through the sieve.
        pub screenings_pct: f64 = Field::new("%").label("screenings").within(0.0, 60.0),
        /// Share that is not barley.
        pub admixture_pct: f64 = Field::new("%").label("admixture").within(0.0, 30.0),
        /// Germination with 4 ml of water, of a hundred corns.
        pub germination_4ml_pct: f64 = Field::new("%").label("4 ml test").within(0.0, 100.0)
            .or(98.0),
        /// Germination with 8 ml of water: low where the barley drowns easily.
        pub germination_8ml_pct: f64 = Field::new("%").label("8 ml test").within(0.0, 100.0)
            .or(94.0),
        /// Moisture it came with, before drying.
        pub arrival_moisture_wet: Option<f64> = Field::new("").label("moisture on arrival")
            .within(0.05, 0.35),
        /// First week of the season it may be steeped.
        pub ready_week: f64 = Field::new("weeks").label("ready from week").within(1.0, 53.0)
            .or(1.0),
        /// Week of the season to test it again.
        pub retest_week: Option<f64> = Field::new("weeks").label("retest in week")
            .within(1.0, 53.0),
        /// What lies in store when malting opens, as it is.
        pub opening_kg: f64 = Field::new("kg").label("in store at opening").within(0.0, 1e8)
            .or(0.0).extensive(),
    }
}

/// A kind of barley.
#[derive(Debug, Clone, PartialEq)]
pub struct Barley {
    /// Spelling in the files.
    pub key: String,
    /// What it is called.
    pub name: String,
    /// `modern` or `landrace`: which set of malting constants it starts from.
    pub kind: &'static str,
    /// Its analysis.
    pub analysis: Analysis,
    /// What to know of it.
    pub note: String,
}

impl Barley {
    fn read(r: &mut Reader<'_>, key: &str) -> Self {
        Self {
            key: key.to_owned(),
            name: r.optional_word("name").unwrap_or_else(|| key.replace('_', " ")),
            kind: r.choice("kind", &["modern", "landrace"], None),
            analysis: Analysis::read(r),
            note: r.optional_word("note").unwrap_or_default(),
        }
    }
}

/// Reads `barleys.toml`.
pub(crate) fn read(r: &mut Reader<'_>) -> Vec<Barley> {
    keyed(r, "barley", Barley::read)
}
