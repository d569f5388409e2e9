//! Steepings proposed by case file.

use gauge::{Fault, Node, Reader, Record};

use super::{Proposal, Wanted, propose};
use crate::manned::Manned;
use crate::steep::figures::{Charge, Constants, Vessel};
use crate::{Report, Stage};

/// The proposal of a steeping.
#[derive(Debug, Clone, Copy)]
pub struct ProposeSteep;

/// A case: the barley, the steep, what is wanted, and who is there when.
#[derive(Debug, Clone, PartialEq)]
pub struct SteepCase {
    /// `[barley]`
    pub charge: Charge,
    /// `[steep]`
    pub vessel: Vessel,
    /// `[constants]`
    pub constants: Constants,
    /// `[wanted]`
    pub wanted: Wanted,
    /// `[manned]`
    pub manned: Manned,
}

impl Stage for ProposeSteep {
    const KEY: &'static str = "steep";
    const TITLE: &'static str = "Waters and rests of a steeping";
    const DOES: &'static str =
        "Finds the fewest waters that bring a barley to the wanted moisture, inside the shifts.";
    const EXAMPLE: &'static str = EXAMPLE;
    type Case = SteepCase;

    fn read(reader: &mut Reader<'_>) -> SteepCase {
        SteepCase {
            charge: reader.section("barley", Charge::read),
            vessel: reader.section("steep", Vessel::read),
            constants: reader.section("constants", Constants::read),
            wanted: reader.section("wanted", Wanted::read),
            manned: Manned::read(reader),
        }
    }

    fn report(case: &SteepCase) -> Result<Report, Vec<Fault>> {
        let SteepCase { charge, vessel, constants, wanted, manned } = case;
        let proposal =
            propose(charge, vessel, constants, wanted, manned).map_err(|fault| vec![fault])?;
        Ok(Report {
            result: proposal.node(),
            curves: proposal.run.curves,
            balance: proposal.run.balance,
            warnings: proposal.run.warnings,
        })
    }
}

impl Proposal {
    /// As a result.
    pub fn node(&self) -> Node {
        let out = &self.run.out;
        let mut from_h = 0.0;
        let phases = self.programme.phases.iter().zip(&out.phase_moisture_wet);
        let phases = phases.map(|(phase, moisture)| {
            let begins_h = from_h;
            from_h += phase.stretch.hours;
            Node::part([
                ("kind", Node::from(phase.kind.word())),
                ("from_h", begins_h.into()),
                ("hours", phase.stretch.hours.into()),
                ("temperature_c", phase.stretch.temperature_c.into()),
                ("moisture_wet", (*moisture).into()),
            ])
        });
        let phases = Node::List(phases.collect());
        let words = |list: &[String]| {
            Node::List(list.iter().map(|word| Node::from(word.as_str())).collect())
        };
        Node::part([
            ("hours", Node::from(out.hours)),
            ("moisture_wet", out.moisture_wet.into()),
            ("germinating_fraction", out.germinating_fraction.into()),
            ("airless_h", out.airless_h.into()),
            ("lag_h", out.lag_h.into()),
            ("water_used_kg", out.water_used_kg.into()),
            ("gently", self.gently.into()),
            ("phase", phases),
            ("says", words(&self.says)),
            ("binds", words(&self.binds)),
        ])
    }
}

const EXAMPLE: &str = "\
# How is a water-sensitive lot to be steeped, with somebody there from six to ten?
[barley]
dry_kg = 8096.0
moisture_wet = 0.12
corn_weight_g = 46.0
nitrogen_pct_dry = 1.5
germinative_energy_4ml_pct = 97.0
germinative_energy_8ml_pct = 62.0

[steep]
fill_kg = 8500.0

[wanted]
moisture_wet = 0.43
water_c = 14.0
air_c = 14.0
most_hours = 72.0

[manned]
start_week_h = 6.0         # Monday, six in the morning

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
";
