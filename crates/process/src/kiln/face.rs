//! The kiln by case file.

use super::figures::{Air, AirKnot, Charge, Constants, Peat, Programme, Solve, Turn};
use super::phases::Phase;
use super::vessel::Vessel;
use super::{Run, reach, run};
use crate::stage::{Report, Stage};
use gauge::{Fault, Node, Reader, Record};

/// The kiln as a [`Stage`].
#[derive(Debug, Clone, Copy)]
pub struct Kiln;

/// A kilning as a case file gives it.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// `[bed]`
    pub charge: Charge,
    /// `[plant]`
    pub vessel: Vessel,
    /// `[air]`, `[[air.on]]`, `[[turn]]`, `[peat]`, `[solve]`
    pub programme: Programme,
    /// `[constants]`
    pub constants: Constants,
}

impl Stage for Kiln {
    const KEY: &'static str = "kiln";
    const TITLE: &'static str = "Kiln";
    const DOES: &'static str =
        "Dries green malt in a deep bed, with peat smoke, fuel and the break of the air-off.";
    const EXAMPLE: &'static str = EXAMPLE;
    type Case = Case;

    fn read(reader: &mut Reader<'_>) -> Case {
        let charge = reader.section("bed", Charge::read);
        let vessel = reader.section("plant", Vessel::read);
        let (air, on) = reader.section("air", |r| (Air::read(r), r.list("on", AirKnot::read)));
        let turns = reader.list("turn", Turn::read);
        let peat = reader.section("peat", Peat::read);
        let solve = reader.section("solve", Solve::read);
        let constants = reader.section("constants", Constants::read);
        Case { charge, vessel, programme: Programme { air, on, turns, peat, solve }, constants }
    }

    fn report(case: &Case) -> Result<Report, Vec<Fault>> {
        let Case { charge, vessel, programme, constants } = case;
        let mut run = run(charge, vessel, programme, constants).map_err(|fault| vec![fault])?;
        if let Some(moist) = run.warnings.iter_mut().find(|w| w.code == "still moist") {
            let ended_c = programme.air_on(programme.solve.hours).temperature_c;
            let more = reach(&run.state, charge, vessel, programme, constants)
                .map_or_else(|| "No air-on up to 110 °C would.".into(), |r| r.says(ended_c));
            moist.says = format!("{} {more}", moist.says);
        }
        Ok(Report {
            result: result(&run),
            curves: run.curves,
            balance: run.balance,
            warnings: run.warnings,
        })
    }
}

fn result(run: &Run) -> Node {
    let out = &run.out;
    let maybe = |value: Option<f64>| value.map_or(Node::Blank, Node::from);
    Node::part([
        ("dry_kg", Node::from(out.dry_kg)),
        ("mass_kg", out.mass_kg.into()),
        ("rootlets_dry_kg", out.rootlets_dry_kg.into()),
        ("moisture_wet", out.moisture_wet.into()),
        ("moisture_dry", out.moisture_dry.into()),
        ("bottom_moisture_dry", out.bottom_moisture_dry.into()),
        ("top_moisture_dry", out.top_moisture_dry.into()),
        ("spread_dry", out.spread_dry.into()),
        ("phenols_mg_kg_dry", out.phenols_mg_kg_dry.into()),
        ("hours", out.hours.into()),
        ("free_h", out.free_h.into()),
        ("break_h", maybe(out.break_h)),
        ("ready_h", maybe(out.ready_h)),
        ("enzymes_at_risk_h", out.enzymes_at_risk_h.into()),
        ("ndma_index", out.ndma_index.into()),
        ("cure_c", out.cure_c.into()),
        ("cure_h", out.cure_h.into()),
        ("evaporated_kg", out.evaporated_kg.into()),
        ("heat_kwh", out.heat_kwh.into()),
        ("heat_gj_t", out.heat_gj_t.into()),
        ("oil_kg", out.oil_kg.into()),
        ("peat_kg", out.peat_kg.into()),
        ("fan_kwh", out.fan_kwh.into()),
        ("phases", Node::List(run.phases.iter().map(phase).collect())),
        ("phenols_by_depth", by_depth(run)),
    ])
}

fn phase(phase: &Phase) -> Node {
    Node::part([
        ("kind", Node::from(phase.kind.key())),
        ("from_h", phase.from_h.into()),
        ("to_h", phase.to_h.into()),
    ])
}

/// Phenols of each layer, the lowest first.
fn by_depth(run: &Run) -> Node {
    let depths = &run.depths;
    let layers = depths.shares.iter().zip(&depths.phenols_mg_kg_dry).map(|(share, phenols)| {
        Node::part([("share", Node::from(*share)), ("phenols_mg_kg_dry", (*phenols).into())])
    });
    Node::List(layers.collect())
}

const EXAMPLE: &str = "\
[bed]
depth_m = 0.40
dry_bulk_kg_m3 = 350.0
moisture_dry = 0.77
temperature_c = 18.0

[plant]
area_m2 = 52.0
wall_loss_w_k = 120.0
peat_heat_fraction = 0.5

[air]
flow_kg_m2_s = 0.104
pressure_pa = 101325.0
ambient_c = 10.0
returned = 0.5

[[air.on]]                 # knots; straight lines between them, the last holds
at_h = 0.0
temperature_c = 42.0
humidity_ratio = 0.0065
flow_kg_m2_s = 0.077

[[air.on]]
at_h = 4.0
temperature_c = 42.0
humidity_ratio = 0.0065
flow_kg_m2_s = 0.077

[[air.on]]
at_h = 5.0
temperature_c = 55.0
humidity_ratio = 0.0065
flow_kg_m2_s = 0.104

[[air.on]]
at_h = 25.0
temperature_c = 55.0
humidity_ratio = 0.0065
flow_kg_m2_s = 0.104

[[air.on]]
at_h = 27.0
temperature_c = 68.0
humidity_ratio = 0.0065
flow_kg_m2_s = 0.104

[[turn]]
at_h = 14.0

[peat]
hours = 4.0
peat_kg_t = 30.0

[solve]
hours = 33.0
cells = 40
step_s = 30.0
every_h = 0.25             # rows of the curves
";
