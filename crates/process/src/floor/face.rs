//! The floor by case file.

use super::figures::{
    AT, AirKnot, Charge, Constants, Hand, How, Programme, Spread, Sprinkle, Turn, Vessel,
};
use super::{Out, State, resume, run};
use crate::stage::{Report, Stage};
use gauge::{Fault, Node, Reader, Record};

/// The floor as a [`Stage`].
#[derive(Debug, Clone, Copy)]
pub struct Floor;

/// A piece as a case file gives it.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// `[piece]`
    pub charge: Charge,
    /// `[floor]`
    pub vessel: Vessel,
    /// `[hand]`, `[[turn]]`, `[[air]]`, `[[sprinkle]]`, `[[spread]]`
    pub programme: Programme,
    /// `[constants]`
    pub constants: Constants,
    /// `[state]`: the piece as it stands, when it is not to begin with its casting
    pub state: Option<State>,
}

impl Programme {
    /// Reads `[hand]` and the lists beside it: for cases and for house files.
    pub fn read(reader: &mut Reader<'_>) -> Self {
        Self {
            hand: reader.section("hand", Hand::read),
            turns: reader.list("turn", |r| {
                let at_h = r.number(&AT);
                let word = r.choice("how", &["turn", "plough"], Some("turn"));
                Turn { at_h, how: How::named(word).unwrap_or(How::Turn) }
            }),
            air: reader.list("air", AirKnot::read),
            sprinkles: reader.list("sprinkle", Sprinkle::read),
            spreads: reader.list("spread", Spread::read),
        }
    }
}

impl Stage for Floor {
    const KEY: &'static str = "floor";
    const TITLE: &'static str = "Malting floor";
    const DOES: &'static str =
        "Grows a piece to green malt, with its turns, warmth, losses and modification.";
    const EXAMPLE: &'static str = EXAMPLE;
    type Case = Case;

    fn read(reader: &mut Reader<'_>) -> Case {
        Case {
            charge: reader.section("piece", Charge::read),
            vessel: reader.section("floor", Vessel::read),
            programme: Programme::read(reader),
            constants: reader.section("constants", Constants::read),
            state: (reader.has("state") || reader.describing())
                .then(|| reader.section("state", State::read)),
        }
    }

    fn report(case: &Case) -> Result<Report, Vec<Fault>> {
        let Case { charge, vessel, programme, constants, state } = case;
        let run = match state {
            None => run(charge, vessel, programme, constants),
            Some(state) => resume(state, charge, vessel, programme, constants),
        };
        let run = run.map_err(|fault| vec![fault])?;
        Ok(Report {
            result: result(&run.out),
            curves: run.curves,
            balance: run.balance,
            warnings: run.warnings,
        })
    }
}

fn result(out: &Out) -> Node {
    Node::part([
        ("dry_kg", Node::from(out.dry_kg)),
        ("rootlet_fraction", out.rootlet_fraction.into()),
        ("moisture_wet", out.moisture_wet.into()),
        ("moisture_dry", out.moisture_dry.into()),
        ("temperature_c", out.temperature_c.into()),
        ("core_c", out.core_c.into()),
        ("nitrogen_pct_dry", out.nitrogen_pct_dry.into()),
        ("germinating_fraction", out.germinating_fraction.into()),
        ("modification", out.modification.into()),
        ("acrospire", out.acrospire.into()),
        ("overgrown_fraction", out.overgrown_fraction.into()),
        ("malting_loss_fraction", out.malting_loss_fraction.into()),
        ("hours", out.hours.into()),
        ("ready_h", out.ready_h.map_or(Node::Blank, Node::from)),
        ("age_d", out.age_d.into()),
        ("highest_c", out.highest_c.into()),
        ("highest_core_c", out.highest_core_c.into()),
        ("turns", f64::from(out.turns).into()),
        ("unturned_h", out.unturned_h.into()),
        ("depth_m", out.depth_m.into()),
        ("carbon_dioxide_kg", out.carbon_dioxide_kg.into()),
        ("carbon_dioxide_kg_h", out.carbon_dioxide_kg_h.into()),
        ("most_carbon_dioxide_kg_h", out.most_carbon_dioxide_kg_h.into()),
        ("evaporated_kg", out.evaporated_kg.into()),
    ])
}

const EXAMPLE: &str = "\
[piece]
dry_kg = 7990.0
barley_dry_kg = 8096.0
moisture_wet = 0.43
surface_water_dry = 0.08
temperature_c = 15.0
germinating_fraction = 0.96
lag_h = 4.0
nitrogen_pct_dry = 1.5

[floor]
area_m2 = 185.0

[hand]
air_c = 12.0
air_relative_humidity = 0.85
floor_c = 11.0
covered_fraction = 1.0
turn_every_h = 8.0
turn_above_c = 18.0
ready_modification = 0.93

[[spread]]                 # thinned or thickened from here on
at_h = 120.0
covered_fraction = 0.85
";
