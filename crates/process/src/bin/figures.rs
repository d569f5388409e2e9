//! The figures of a bin: its layers, the bin, what is done, the constants.

use super::analysis::Analysis;
use gauge::{Fault, Grade, Record};

gauge::record! {
    /// One layer of malt.
    pub struct Layer {
        /// Days since it was stripped from the kiln.
        pub age_d: f64 = Field::new("d").label("age").within(0.0, 1000.0).or(0.0),
        /// Dry matter.
        pub dry_kg: f64 = Field::new("kg").label("dry matter").within(0.001, 1e6).extensive(),
        /// Moisture, wet basis.
        pub moisture_wet: f64 = Field::new("kg/kg").label("moisture, wet basis")
            .within(0.01, 0.16).or(0.045).sd(0.002),
        /// Phenols on dry malt, as of today.
        pub phenols_mg_kg_dry: f64 = Field::new("mg/kg").label("phenols on dry malt")
            .within(0.0, 300.0).or(0.0),
        /// Nitrogen, % of dry matter.
        pub nitrogen_pct_dry: f64 = Field::new("%").label("nitrogen on dry matter")
            .within(0.8, 3.5).or(1.5).sd(0.03),
        /// Soluble extract, % of dry malt.
        pub extract_pct_dry: f64 = Field::new("%").label("extract, dry").within(50.0, 90.0)
            .or(81.5).sd(0.5).from(Grade::Memory, "modern 80 to 83, landrace 72 to 77 % dry"),
        /// Share of it that ferments.
        pub fermentability: f64 = Field::new("").label("fermentability").within(0.60, 0.925)
            .or(0.868).sd(0.006).from(Grade::Memory, "86 to 88.5 %"),
    }
}

impl Layer {
    /// Dressed malt laid in a bin on the day of stripping.
    pub fn laid(piece: &crate::floor::Out, kilning: &crate::kiln::Out, of: &Analysis) -> Self {
        Self {
            age_d: 0.0,
            dry_kg: kilning.dry_kg,
            moisture_wet: kilning.moisture_wet,
            phenols_mg_kg_dry: kilning.phenols_mg_kg_dry,
            nitrogen_pct_dry: piece.nitrogen_pct_dry,
            extract_pct_dry: of.extract_pct_dry,
            fermentability: of.fermentability,
        }
    }
}

/// Malt as it lies, the first in lowest.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Charge {
    /// Layers, lowest first.
    pub layers: Vec<Layer>,
    /// Places of the layers that nobody may use until the laboratory's figure is in.
    pub held: Vec<usize>,
}

/// Which malt comes out first, by the bin's build.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Emptying {
    /// A steep cone: all of it sinks, and the lowest comes first.
    Sinking,
    /// A flat bottom: a funnel forms, and the top comes first.
    Funnel,
}

gauge::record! {
    /// The bin's measures.
    pub struct Measures {
        /// Malt it holds, as it is.
        pub holds_kg: f64 = Field::new("kg").label("holds").within(1.0, 1e7).extensive(),
        /// Its floor.
        pub area_m2: f64 = Field::new("m²").label("floor of the bin").within(0.01, 1000.0)
            .extensive(),
    }
}

/// The bin.
#[derive(Debug, Clone, PartialEq)]
pub struct Vessel {
    /// Its measures.
    pub measures: Measures,
    /// How it empties.
    pub emptying: Emptying,
}

gauge::record! {
    /// What is done: it lies, then some is drawn.
    pub struct Programme {
        /// Days it lies from now.
        pub days: f64 = Field::new("d").label("days").within(0.0, 1000.0).or(0.0),
        /// Malt drawn then, as it is.
        pub draw_kg: f64 = Field::new("kg").label("drawn").within(0.0, 1e6).or(0.0)
            .extensive(),
        /// Air over the malt.
        pub air_c: f64 = Field::new("°C").label("air").within(-20.0, 40.0).or(12.0),
        /// Its relative humidity.
        pub air_relative_humidity: f64 = Field::new("").label("relative humidity")
            .within(0.05, 0.99).or(0.75),
        /// Days of rest wanted before mashing.
        pub rest_d: f64 = Field::new("d").label("rest wanted").within(0.0, 120.0).or(21.0)
            .from(Grade::Memory, "3 to 6 weeks usual; no yield is credited to it"),
        /// Moisture above which the mill refuses it.
        pub most_wet: f64 = Field::new("kg/kg").label("most moisture milled, wet basis")
            .within(0.04, 0.16).or(0.08).from(Grade::Memory, "milling refused above 7 to 8 %"),
    }
}

gauge::record! {
    /// The free constants.
    pub struct Constants {
        /// Depth of malt that the air reaches.
        pub exposed_m: f64 = Field::new("m").within(0.005, 0.5).or(0.05)
            .from(Grade::Design, "only the top few centimetres").fitted(0.02),
        /// How fast it takes up moisture at 15 °C; doubles each 10 K.
        pub gain_1_d: f64 = Field::new("1/d").within(0.0, 1.0).or(0.10)
            .from(Grade::Design, "wants fitting").fitted(0.04),
        /// Moisture at rest when gaining, beside that when drying.
        pub gaining_share: f64 = Field::new("").within(0.6, 1.0).or(0.9)
            .from(Grade::Design, "malt gains along a lower curve").fitted(0.05),
        /// Dry malt in a cubic metre.
        pub dry_bulk_kg_m3: f64 = Field::new("kg/m³").within(350.0, 700.0).or(520.0).sd(25.0)
            .from(Grade::Memory, "some 550 kg/m³ as it is"),
        /// Share of the phenols that stays for good.
        pub phenols_stay: f64 = Field::new("").within(0.5, 1.0).or(0.9)
            .from(Grade::Design, "5 to 15 % fade in the first month").fitted(0.04),
        /// Days in which the rest fades.
        pub fading_d: f64 = Field::new("d").within(2.0, 200.0).or(20.0)
            .from(Grade::Design, "5 to 15 % fade in the first month").fitted(7.0),
        /// Share of a draw that comes from all layers alike.
        pub mixing: f64 = Field::new("").within(0.0, 1.0).or(0.1)
            .from(Grade::Design, "layers smear as they sink").fitted(0.06),
    }
}

impl Charge {
    pub(super) fn check(&self) -> Result<(), Fault> {
        if self.layers.is_empty() {
            return Err(Fault::MissingPart { field: "layer".into(), wanted: "a list of layers" });
        }
        for (i, layer) in self.layers.iter().enumerate() {
            if let Some(fault) = layer.faults().into_iter().next() {
                return Err(fault.within(&format!("layer[{i}]")));
            }
        }
        Ok(())
    }
}
