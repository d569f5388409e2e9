//! Turning proposed by case file.

use gauge::{Fault, Node, Reader, Record};

use super::{TurnPlan, Turning, propose};
use crate::floor::face::{Case, Floor};
use crate::manned::Manned;
use crate::{Report, Stage};

/// The proposal of turning and thinning.
#[derive(Debug, Clone, Copy)]
pub struct ProposeTurns;

/// A case: the floor's, what is wanted, and who is there when.
#[derive(Debug, Clone, PartialEq)]
pub struct TurnsCase {
    /// The piece and its floor.
    pub floor: Case,
    /// `[wanted]`
    pub wanted: Turning,
    /// `[manned]`
    pub manned: Manned,
}

impl Stage for ProposeTurns {
    const KEY: &'static str = "turns";
    const TITLE: &'static str = "Turns of a piece";
    const DOES: &'static str =
        "Finds the fewest turns that keep a piece from felting and under its ceiling.";
    const EXAMPLE: &'static str = EXAMPLE;
    type Case = TurnsCase;

    fn read(reader: &mut Reader<'_>) -> TurnsCase {
        TurnsCase {
            floor: Floor::read(reader),
            wanted: reader.section("wanted", Turning::read),
            manned: Manned::read(reader),
        }
    }

    fn report(case: &TurnsCase) -> Result<Report, Vec<Fault>> {
        let TurnsCase { floor, wanted, manned } = case;
        let Case { charge, vessel, programme, constants, state } = floor;
        let plan = propose(charge, vessel, programme, constants, wanted, manned, state.as_ref())
            .map_err(|fault| vec![fault])?;
        Ok(Report {
            result: plan.node(),
            curves: plan.run.curves,
            balance: plan.run.balance,
            warnings: plan.run.warnings,
        })
    }
}

impl TurnPlan {
    /// As a result.
    pub fn node(&self) -> Node {
        let called = |at_h: f64| self.on_call_h.iter().any(|h| (h - at_h).abs() < 1e-6);
        let turns = self.turns.iter().map(|turn| {
            Node::part([
                ("at_h", Node::from(turn.at_h)),
                ("how", turn.how.word().into()),
                ("on_call", called(turn.at_h).into()),
            ])
        });
        let spreads = self.spreads.iter().map(|spread| {
            Node::part([
                ("at_h", Node::from(spread.at_h)),
                ("covered_fraction", spread.covered_fraction.into()),
            ])
        });
        let binds = self.binds.iter().map(|word| Node::from(word.as_str()));
        Node::part([
            ("turns", Node::from(self.turns.len() as f64)),
            ("turn", Node::List(turns.collect())),
            ("spread", Node::List(spreads.collect())),
            ("ready_h", self.ready.at_h.into()),
            ("ready_from_h", self.ready.from_h.into()),
            ("ready_to_h", self.ready.to_h.into()),
            ("highest_c", self.highest_c.into()),
            ("highest_core_c", self.highest_core_c.into()),
            ("moisture_wet", self.run.out.moisture_wet.into()),
            ("modification", self.run.out.modification.into()),
            ("binds", Node::List(binds.collect())),
        ])
    }
}

const EXAMPLE: &str = "\
# When must this piece be turned, with somebody there from six to ten, and is it to be thinned?
[piece]
dry_kg = 7990.0
barley_dry_kg = 8096.0
moisture_wet = 0.43
surface_water_dry = 0.08
temperature_c = 15.0
germinating_fraction = 0.96
lag_h = 4.0

[floor]
area_m2 = 185.0

[hand]
air_c = 13.0
air_relative_humidity = 0.85
floor_c = 12.0
covered_fraction = 0.85

[wanted]
ceiling_c = 18.0
felt_h = 12.0
most_covered_fraction = 1.0

[manned]
start_week_h = 14.0        # Monday, two in the afternoon

[[manned.window]]
from_week_h = 6.0
to_week_h = 22.0

[[manned.window]]
from_week_h = 30.0
to_week_h = 46.0

[[manned.window]]
from_week_h = 54.0
to_week_h = 70.0

[[manned.window]]
from_week_h = 78.0
to_week_h = 94.0

[[manned.window]]
from_week_h = 102.0
to_week_h = 118.0

[[manned.window]]
from_week_h = 126.0
to_week_h = 142.0

[[manned.window]]
from_week_h = 150.0
to_week_h = 166.0
";
