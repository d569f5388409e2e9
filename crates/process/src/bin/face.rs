//! The malt bin by case file.

use super::analysis::AnalysisConstants;
use super::figures::{Charge, Constants, Emptying, Layer, Measures, Programme, Vessel};
use super::{AllConstants, Out, run};
use crate::stage::{Report, Stage};
use gauge::{Fault, Node, Reader, Record};

/// The malt bin as a [`Stage`].
#[derive(Debug, Clone, Copy)]
pub struct Bin;

/// A bin as a case file gives it.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// `[[layer]]`, lowest first
    pub charge: Charge,
    /// `[bin]`
    pub vessel: Vessel,
    /// `[draw]`
    pub programme: Programme,
    /// `[constants]`, `[analysis]`
    pub constants: AllConstants,
}

impl Vessel {
    /// Reads the bin: for cases and for house files.
    pub fn read(reader: &mut Reader<'_>) -> Self {
        let emptying = match reader.choice("emptying", &["sinking", "funnel"], Some("sinking")) {
            "funnel" => Emptying::Funnel,
            _ => Emptying::Sinking,
        };
        Self { emptying, measures: Measures::read(reader) }
    }
}

impl Charge {
    /// Reads `[[layer]]`, each with `released`.
    fn read(reader: &mut Reader<'_>) -> Self {
        let layers = reader.list("layer", |r| (Layer::read(r), r.flag("released", true)));
        let held = layers.iter().enumerate().filter(|(_, (_, released))| !released);
        let held = held.map(|(place, _)| place).collect();
        Self { layers: layers.into_iter().map(|(layer, _)| layer).collect(), held }
    }
}

impl Stage for Bin {
    const KEY: &'static str = "bin";
    const TITLE: &'static str = "Malt bin";
    const DOES: &'static str =
        "Rests malt in layers, draws a mixture, and gives the yield its analysis predicts.";
    const EXAMPLE: &'static str = EXAMPLE;
    type Case = Case;

    fn read(reader: &mut Reader<'_>) -> Case {
        Case {
            charge: Charge::read(reader),
            vessel: reader.section("bin", Vessel::read),
            programme: reader.section("draw", Programme::read),
            constants: AllConstants {
                bin: reader.section("constants", Constants::read),
                analysis: reader.section("analysis", AnalysisConstants::read),
            },
        }
    }

    fn report(case: &Case) -> Result<Report, Vec<Fault>> {
        let run = run(&case.charge, &case.vessel, &case.programme, &case.constants)
            .map_err(|fault| vec![fault])?;
        Ok(Report {
            result: result(&run.out),
            curves: run.curves,
            balance: run.balance,
            warnings: run.warnings,
        })
    }
}

fn result(out: &Out) -> Node {
    let left = out.left.iter().map(|layer| {
        let figures = layer.figures().into_iter();
        Node::part(figures.map(|(f, v)| (f.key, v.map_or(Node::Blank, Node::from))))
    });
    let left = Node::List(left.collect());
    let Some(lot) = &out.drawn else {
        return Node::part([("dry_kg", Node::from(0.0)), ("left", left)]);
    };
    Node::part([
        ("dry_kg", Node::from(lot.dry_kg)),
        ("mass_kg", lot.mass_kg.into()),
        ("moisture_wet", lot.moisture_wet.into()),
        ("phenols_mg_kg_dry", lot.phenols_mg_kg_dry.into()),
        ("nitrogen_pct_dry", lot.nitrogen_pct_dry.into()),
        ("extract_pct_dry", lot.extract_pct_dry.into()),
        ("fermentability", lot.fermentability.into()),
        ("mean_age_d", lot.mean_age_d.into()),
        ("youngest_d", lot.youngest_d.into()),
        (
            "predicted_spirit_yield_l_t",
            out.predicted_spirit_yield_l_t.map_or(Node::Blank, Node::from),
        ),
        ("left", left),
    ])
}

const EXAMPLE: &str = "\
[[layer]]                  # the first in lies lowest
age_d = 34.0
dry_kg = 6900.0
moisture_wet = 0.045
phenols_mg_kg_dry = 5.2
nitrogen_pct_dry = 1.5
extract_pct_dry = 81.6
fermentability = 0.868

[[layer]]
age_d = 27.0
dry_kg = 7050.0
moisture_wet = 0.044
phenols_mg_kg_dry = 5.0
nitrogen_pct_dry = 1.52
extract_pct_dry = 81.4
fermentability = 0.867

[bin]
emptying = \"sinking\"       # or funnel: the newest comes first
holds_kg = 16000.0
area_m2 = 7.0

[draw]
days = 6.0
draw_kg = 2500.0
air_c = 12.0
air_relative_humidity = 0.78
";
