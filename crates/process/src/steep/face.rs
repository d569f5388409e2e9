//! The steep by case file.

use super::figures::{Charge, Constants, Kind, Phase, Programme, Stretch, Vessel};
use super::{Noted, Out, Run, State, bent_to, resume, run};
use crate::stage::{Report, Stage};
use gauge::{Fault, Field, Node, Reader, Record};

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
    /// `[[phase]]`, `[cast]`
    pub programme: Programme,
    /// `[constants]`
    pub constants: Constants,
    /// `[state]`: the corn as it stands, when it is not to begin dry
    pub state: Option<State>,
    /// `[noted]`: a moisture that the reckoning is bent to
    pub noted: Option<Noted>,
}

const AT: Field = Field::new("at_h", "h").label("noted at").within(0.5, 500.0);
const MOISTURE: Field =
    Field::new("moisture_wet", "kg/kg").label("moisture noted, wet basis").within(0.06, 0.60);

impl Programme {
    /// Reads `[[phase]]` and `[cast]`: for cases and for house files.
    pub fn read(reader: &mut Reader<'_>) -> Self {
        let phases = reader.list("phase", |r| {
            let kind = match r.choice("kind", &["wet", "rest", "spray"], None) {
                "wet" => Kind::Wet,
                "spray" => Kind::Spray,
                _ => Kind::Rest,
            };
            Phase { kind, stretch: Stretch::read(r) }
        });
        let wet_cast = reader.section("cast", |r| r.flag("wet", false));
        Self { phases, wet_cast }
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
            state: given(reader, "state", State::read),
            noted: given(reader, "noted", |r| Noted {
                at_h: r.number(&AT),
                moisture_wet: r.number(&MOISTURE),
            }),
        }
    }

    fn report(case: &Case) -> Result<Report, Vec<Fault>> {
        let run = reckoned(case).map_err(|fault| vec![fault])?;
        Ok(Report {
            result: result(&run.out),
            curves: run.curves,
            balance: run.balance,
            warnings: run.warnings,
        })
    }
}

/// A part that may be left out.
fn given<T>(
    reader: &mut Reader<'_>,
    key: &str,
    read: impl FnOnce(&mut Reader<'_>) -> T,
) -> Option<T> {
    (reader.has(key) || reader.describing()).then(|| reader.section(key, read))
}

fn reckoned(case: &Case) -> Result<Run, Fault> {
    let Case { charge, vessel, programme, constants, state, noted } = case;
    let bent = match noted {
        None => constants.clone(),
        Some(noted) => bent_to(noted, charge, vessel, programme, constants)?,
    };
    match state {
        None => run(charge, vessel, programme, &bent),
        Some(state) => resume(state, charge, vessel, programme, &bent),
    }
}

fn result(out: &Out) -> Node {
    let waters = out.waters.iter().map(|water| {
        Node::part([
            ("drained_kg", Node::from(water.drained_kg)),
            ("oxygen_demand_kg", water.oxygen_demand_kg.into()),
            ("oxygen_demand_kg_m3", water.oxygen_demand_kg_m3().into()),
        ])
    });
    let waters = Node::List(waters.collect());
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
        ("sensitivity_pct", out.sensitivity_pct.into()),
        ("airless_h", out.airless_h.into()),
        ("lag_h", out.lag_h.into()),
        ("held_back_h", out.held_back_h.into()),
        ("hours", out.hours.into()),
        ("water_used_kg", out.water_used_kg.into()),
        ("drained_kg", out.drained_kg.into()),
        ("oxygen_demand_kg", out.oxygen_demand_kg.into()),
        ("water", waters),
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
