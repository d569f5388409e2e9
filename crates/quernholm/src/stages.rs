//! Washbacks by the stage of `process`, run with hidden constants, few times and kept: one a make
//! and setting.

use gauge::{Fault, Node};
use process::{Curves, Report};

type Faults = Vec<Fault>;

fn run(stage: &str, case: &Node) -> Result<Report, Faults> {
    let face = process::faces().into_iter().find(|face| face.key == stage);
    let face = face.ok_or_else(|| {
        vec![Fault::MissingPart { field: "stage".into(), wanted: "a stage of this name" }]
    })?;
    (face.run)(case)
}

fn part<const N: usize>(entries: [(&str, f64); N]) -> Node {
    Node::part(entries.map(|(key, value)| (key, Node::from(value))))
}

/// The course of a washback.
#[derive(Debug, Clone)]
pub(crate) struct Course {
    curves: Curves,
}

impl Course {
    /// Set at this temperature with yeast of this vigour.
    pub(crate) fn run(set_c: f64, vigour: f64, ethanol_kg_kg: f64) -> Result<Self, Faults> {
        let case = Node::part([
            (
                "wort",
                part([
                    ("glucose_kg_m3", 11.0),
                    ("maltose_kg_m3", 76.0),
                    ("maltotriose_kg_m3", 20.0),
                    ("dextrin_kg_m3", 18.0),
                    ("residual_kg_m3", 18.0),
                ]),
            ),
            (
                "yeast",
                part([("dry_kg_m3", 1.1), ("active_fraction", 0.3), ("bacteria_kg_m3", 0.002)]),
            ),
            (
                "washback",
                part([
                    ("set_c", set_c),
                    ("room_c", 12.0),
                    ("heat_loss_kj_m3_h_k", 14.4),
                    ("pressure_pa", 101_325.0),
                    ("ph", 5.45),
                    ("hours", 130.0),
                    ("every_h", 2.0),
                ]),
            ),
            ("constants", part([("vigour", vigour), ("ethanol_kg_kg", ethanol_kg_kg)])),
        ]);
        Ok(Self { curves: run("ferment", &case)?.curves })
    }
    fn at(&self, key: &str, hours: f64) -> f64 {
        self.curves.at(key, hours).unwrap_or(f64::NAN)
    }
    /// Gravity after so many hours of a washback that began at this gravity: what was lost is in
    /// proportion to what was there.
    pub(crate) fn gravity(&self, original: f64, hours: f64) -> f64 {
        let here = self.at("gravity", 0.0) - 1.0;
        original - (self.at("gravity", 0.0) - self.at("gravity", hours)) * (original - 1.0) / here
    }
    /// Temperature after so many hours.
    pub(crate) fn temperature_c(&self, hours: f64) -> f64 {
        self.at("temperature_c", hours)
    }
    /// Strength after so many hours, % vol.
    pub(crate) fn strength_pct(&self, original: f64, hours: f64) -> f64 {
        self.at("alcohol_pct", hours) * (original - 1.0) / (self.at("gravity", 0.0) - 1.0)
    }
}
