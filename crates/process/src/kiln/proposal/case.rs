//! Firings proposed by case file: a bed, a kiln, the weather, the usual firing, what is wanted.

use gauge::{Fault, Field, Grade, Node, Reader, Record};

use super::super::Vessel;
use super::super::figures::{Air, Charge, Constants, Peat, Solve, Turn};
use super::super::firing::{Firing, Setting};
use super::{Asked, Bind, Proposal, Short, Wanted, Weights, propose};
use crate::stage::{Report, Stage, Watch};

/// The proposal of a firing.
#[derive(Debug, Clone, Copy)]
pub struct ProposeKiln;

/// A case.
#[derive(Debug, Clone, PartialEq)]
pub struct FiringCase {
    /// `[bed]`
    pub charge: Charge,
    /// `[plant]`
    pub vessel: Vessel,
    /// `[air]`, `[peat]`, `[[turn]]`, `[solve]`
    pub setting: Setting,
    /// `[firing]`
    pub usual: Firing,
    /// `[wanted]`
    pub wanted: Wanted,
    /// `[weights]`
    pub weights: Weights,
    /// `[constants]`
    pub constants: Constants,
}

/// Fresh air, beside the figures of `[air]`.
const HUMIDITY_RATIO: Field = Field::new("humidity_ratio", "kg/kg")
    .label("humidity ratio of fresh air")
    .within(0.0, 0.1)
    .or(0.0065)
    .from(Grade::Computed, "air of 10 °C at 85 %");

/// Reads the figures of a record but for those that are settled elsewhere.
fn read_but<R: Record + Default>(reader: &mut Reader<'_>, settled: &[(&str, f64)]) -> R {
    let mut record = R::default();
    for field in R::FIELDS {
        let found = settled.iter().find(|(key, _)| *key == field.key);
        let value = found.map_or_else(|| reader.number(field), |(_, value)| *value);
        record.set(field.key, value);
    }
    record
}

/// `[air]` without what the firing says.
pub(crate) fn read_air(reader: &mut Reader<'_>) -> (Air, f64) {
    // Any flow will do: a firing brings its own.
    let air = read_but(reader, &[("flow_kg_m2_s", 0.1), ("returned", 0.0)]);
    (air, reader.number(&HUMIDITY_RATIO))
}

/// `[solve]` without the hours and the moisture, which the wishes say.
pub(crate) fn read_solve(reader: &mut Reader<'_>) -> Solve {
    read_but(reader, &[("hours", 1.0), ("ready_moisture_wet", 0.045)])
}

impl Stage for ProposeKiln {
    const KEY: &'static str = "kiln";
    const TITLE: &'static str = "Firing of the kiln";
    const DOES: &'static str = "Finds the firing with the least fuel that brings the malt to the \
                                wanted moisture and smoke in time.";
    const EXAMPLE: &'static str = EXAMPLE;
    type Case = FiringCase;

    fn read(reader: &mut Reader<'_>) -> FiringCase {
        let charge = reader.section("bed", Charge::read);
        let vessel = reader.section("plant", Vessel::read);
        let (air, humidity_ratio) = reader.section("air", read_air);
        let smoke = [("from_h", 0.0), ("hours", 0.0), ("peat_kg_t", 0.0)];
        let peat: Peat = reader.section("peat", |r| read_but(r, &smoke));
        let turns = reader.list("turn", Turn::read);
        let solve = reader.section("solve", read_solve);
        let usual = reader.section("firing", Firing::read);
        let wanted = reader.section("wanted", Wanted::read);
        let weights = reader.section("weights", Weights::read);
        let constants = reader.section("constants", Constants::read);
        let setting = Setting { air, humidity_ratio, peat, turns, solve };
        FiringCase { charge, vessel, setting, usual, wanted, weights, constants }
    }

    fn report(case: &FiringCase) -> Result<Report, Vec<Fault>> {
        Self::report_watched(case, &mut |_| true)
    }

    fn report_watched(case: &FiringCase, watch: &mut Watch<'_>) -> Result<Report, Vec<Fault>> {
        let asked = Asked {
            charge: &case.charge,
            vessel: &case.vessel,
            setting: &case.setting,
            usual: &case.usual,
            wanted: &case.wanted,
            weights: &case.weights,
            constants: &case.constants,
            from: None,
        };
        let proposal = propose(&asked, watch).map_err(|fault| vec![fault])?;
        Ok(Report {
            result: proposal.node(),
            curves: proposal.run.curves,
            balance: proposal.run.balance,
            warnings: proposal.run.warnings,
        })
    }
}

fn maybe(value: Option<f64>) -> Node {
    value.map_or(Node::Blank, Node::from)
}

impl Bind {
    fn node(&self) -> Node {
        Node::part([("key", Node::from(self.key)), ("says", self.says.as_str().into())])
    }
}

impl Short {
    /// As part of a result.
    pub fn node(&self) -> Node {
        Node::part([
            ("hours", Node::from(self.hours)),
            ("ready_h", maybe(self.ready_h)),
            ("moisture_wet", self.moisture_wet.into()),
            ("phenols_mg_kg_dry", self.phenols_mg_kg_dry.into()),
            ("enzymes_at_risk_h", self.enzymes_at_risk_h.into()),
            ("oil_kg", self.oil_kg.into()),
            ("peat_kg", self.peat_kg.into()),
            ("fan_kwh", self.fan_kwh.into()),
            ("fuel_mj", self.fuel_mj.into()),
        ])
    }
}

impl Proposal {
    /// As a result: the firing, what it comes to, what binds.
    pub fn node(&self) -> Node {
        let says = self.firing.says();
        let says = says.iter().map(|line| Node::from(line.as_str())).collect();
        let mut entries = vec![
            ("firing", self.firing.node()),
            ("says", Node::List(says)),
            ("out", self.short.node()),
            ("break_h", maybe(self.run.out.break_h)),
            ("heat_gj_t", self.run.out.heat_gj_t.into()),
            ("binds", Node::List(self.binds.iter().map(Bind::node).collect())),
            ("earliest_h", self.earliest_h.into()),
            ("tried", f64::from(self.tried).into()),
            ("stopped", self.stopped.into()),
        ];
        if let Some(present) = &self.present {
            entries.push(("present", present.node()));
        }
        Node::part(entries)
    }
}

const EXAMPLE: &str = r"# How is a light smoke kilned with the least fuel by its usual end?
[bed]
depth_m = 0.417
dry_bulk_kg_m3 = 350.0
moisture_dry = 0.77
temperature_c = 18.0

[plant]
area_m2 = 52.0
wall_loss_w_k = 120.0
fan_kg_s = 9.4
burner_w = 560000.0

[air]
ambient_c = 10.0
humidity_ratio = 0.0065

# The house's usual firing: where the search begins.
[firing]
peat_h = 4.0
peat_kg_t = 24.0
peat_c = 42.0
peat_flow_kg_m2_s = 0.077
dry_h = 23.5
dry_c = 55.0
flow_kg_m2_s = 0.104
cure_h = 5.5
cure_c = 68.0
returned = 0.5

[wanted]
phenols_mg_kg_dry = 5.0
moisture_wet = 0.045
by_h = 33.0

[[turn]]
at_h = 14.0

[[turn]]
at_h = 22.0
";
