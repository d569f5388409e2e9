//! The steep by case file.

use super::figures::{Charge, Constants, Kind, Phase, Programme, Stretch, Vessel};
use super::{Out, run};
use crate::stage::{Report, Stage};
use gauge::{Fault, Node, Reader, Record};

/// The steep as a [`Stage`].
#[derive(Debug, Clone, Copy)]
pub struct Steep;

/// A steeping as a case file gives it.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// `[barley]`
    pub charge: Charge,
    /// `[steep]`
    pub vessel: Vessel,
    /// `[[phase]]`
    pub programme: Programme,
    /// `[constants]`
    pub constants: Constants,
}

impl Programme {
    /// Reads `[[phase]]`: for cases and for house files.
    pub fn read(reader: &mut Reader<'_>) -> Self {
        let phases = reader.list("phase", |r| {
            let kind = match r.choice("kind", &["wet", "rest"], None) {
                "wet" => Kind::Wet,
                _ => Kind::Rest,
            };
            Phase { kind, stretch: Stretch::read(r) }
        });
        Self { phases }
    }
}

impl Stage for Steep {
    const KEY: &'static str = "steep";
    const TITLE: &'static str = "Steep";
    const DOES: &'static str =
        "Wets barley under water and in air rests, with the water used and the share that grows.";
    const EXAMPLE: &'static str = EXAMPLE;
    type Case = Case;

    fn read(reader: &mut Reader<'_>) -> Case {
        Case {
            charge: reader.section("barley", Charge::read),
            vessel: reader.section("steep", Vessel::read),
            programme: Programme::read(reader),
            constants: reader.section("constants", Constants::read),
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
    let ends = out.phase_moisture_wet.iter().map(|m| Node::from(*m)).collect();
    Node::part([
        ("dry_kg", Node::from(out.dry_kg)),
        ("barley_dry_kg", out.barley_dry_kg.into()),
        ("moisture_wet", out.moisture_wet.into()),
        ("moisture_dry", out.moisture_dry.into()),
        ("surface_water_dry", out.surface_water_dry.into()),
        ("temperature_c", out.temperature_c.into()),
        ("nitrogen_pct_dry", out.nitrogen_pct_dry.into()),
        ("germinating_fraction", out.germinating_fraction.into()),
        ("lag_h", out.lag_h.into()),
        ("hours", out.hours.into()),
        ("water_used_kg", out.water_used_kg.into()),
        ("drained_kg", out.drained_kg.into()),
        ("phase_moisture_wet", Node::List(ends)),
    ])
}

const EXAMPLE: &str = "\
[barley]
dry_kg = 8096.0
moisture_wet = 0.12
corn_weight_g = 46.0
nitrogen_pct_dry = 1.5
germinative_energy_4ml_pct = 97.0
germinative_energy_8ml_pct = 92.0

[steep]
fill_kg = 8500.0
aeration = 0.2

[[phase]]
kind = \"wet\"              # wet or rest; the temperature is the water's, or the air's
hours = 8.0
temperature_c = 13.0

[[phase]]
kind = \"rest\"
hours = 14.0
temperature_c = 14.0

[[phase]]
kind = \"wet\"
hours = 9.0
temperature_c = 13.0

[[phase]]
kind = \"rest\"
hours = 10.0
temperature_c = 14.0

[[phase]]
kind = \"wet\"
hours = 5.0
temperature_c = 14.0
";
