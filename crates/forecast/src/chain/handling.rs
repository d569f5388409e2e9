//! Losses by handling, which no stage's physics gives.

use gauge::{Grade, record};

record! {
    /// Wash.
    pub(crate) struct Residues {
        /// Alcohol left in washback and charger.
        pub(crate) residues: f64 = Field::new("").label("residues in washback and charger")
            .within(0.0, 0.05).or(0.001).fitted(0.0005)
            .from(Grade::Memory, "a tenth of a per cent"),
    }
}
record! {
    /// Spirit.
    pub(crate) struct Vents {
        /// Alcohol lost by vents, condensers and safes.
        pub(crate) vents: f64 = Field::new("").label("vents, condensers and safes")
            .within(0.0, 0.05).or(0.003).fitted(0.002)
            .from(Grade::Memory, "0.1 to 1 % of the alcohol, usually 0.3 %"),
    }
}
