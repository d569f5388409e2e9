//! The circuit by case file.

use gauge::{Fault, Field, Node, Reader, Record};

use super::season_case::{Base, read_phase};
use super::{
    Charge, Hearth, Phase, PhaseFigures, Place, Programme, Season, Source, Stock, Turn, Vessel,
    Wash, Week, graph, run, weekly,
};
use crate::still::case::{read_congeners, read_heat};
use crate::still::{Constants, Cut, Demisting, Until};
use crate::{Report, Stage};

/// The stage.
#[derive(Debug, Clone, Copy)]
pub struct Circuit;

/// A case: the parts together.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// One wash charge.
    pub charge: Charge,
    /// The stills and how they are joined.
    pub vessel: Vessel,
    /// How the circuit is run.
    pub programme: Programme,
    /// The still's free constants.
    pub constants: Constants,
    /// Makes that follow one another; none for one circuit by itself.
    pub phases: Vec<Phase>,
    /// Whether the feints are charged alone after the last wash.
    pub close: bool,
    /// A week's charges in whole numbers, where they are asked for.
    pub week: Option<Week>,
}

const FRACTION: Field =
    Field::new("fraction", "").label("share of it").within(graph::LEAST_SHARE, 1.0).or(1.0);

pub(super) fn read_source(reader: &mut Reader<'_>) -> Source {
    Source { from: reader.word("from"), fraction: reader.number(&FRACTION) }
}

pub(super) fn read_wash(reader: &mut Reader<'_>) -> Charge {
    Charge { wash: Wash::read(reader), congeners: read_congeners(reader) }
}

pub(super) fn read_cut(reader: &mut Reader<'_>, demisting: Demisting, energy: bool) -> Cut {
    let cut = Cut::read(reader, Some(demisting));
    if let (Until::TimeS(time), false) = (cut.until, energy)
        && time.is_finite()
    {
        reader.fault(super::settle::timeless("until_time_s".to_owned(), time));
    }
    cut
}

fn read_place(reader: &mut Reader<'_>, energy: bool, constants: &Constants) -> Place {
    let name = reader.word("name");
    let hearth = Hearth::read(reader);
    let demisting = Demisting { film_20_l: hearth.film_20_l, haze_ratio: constants.haze_ratio };
    Place {
        name,
        charge: reader.list("charge", read_source),
        heat: read_heat(reader),
        cuts: reader.list("cut", |part| read_cut(part, demisting, energy)),
        dilute: reader.flag("dilute", false),
        hearth,
    }
}

impl Case {
    /// The season it tells; a circuit that is only run and closed is a season of one make.
    fn season(&self) -> Option<Season> {
        let alone = || Phase {
            name: "all".to_owned(),
            family: "all".to_owned(),
            charge: self.charge.clone(),
            vessel: self.vessel.clone(),
            product: self.programme.product.clone(),
            figures: PhaseFigures { cycles: self.programme.turn.cycles, ..PhaseFigures::default() },
            feints: None,
        };
        if self.phases.is_empty() && !self.close {
            return None;
        }
        let phases = if self.phases.is_empty() { vec![alone()] } else { self.phases.clone() };
        Some(Season {
            phases,
            pressure_pa: self.programme.turn.pressure_pa,
            energy: self.programme.energy,
            close: self.close,
        })
    }
}

impl Stage for Circuit {
    const KEY: &'static str = "circuit";
    const TITLE: &'static str = "Stills in a circuit";
    const DOES: &'static str = "Settles stills whose foreshots and feints go round, or follows \
        them from empty, through changes of make, to the close.";
    const EXAMPLE: &'static str = EXAMPLE;
    type Case = Case;

    fn read(reader: &mut Reader<'_>) -> Case {
        let energy = reader.flag("energy", false);
        let turn = Turn::read(reader);
        let close = reader.flag("close", false);
        let product = reader.word("product");
        let of_phases = reader.has("phase") && !reader.has("wash");
        let charge = (!of_phases).then(|| reader.section("wash", read_wash));
        let constants = reader.section("constants", Constants::read);
        let stills = reader.list("still", |part| read_place(part, energy, &constants));
        let stocks = reader
            .list("stock", |part| Stock { name: part.word("name"), source: read_source(part) });
        let vessel = Vessel { stills, stocks };
        let base = Base {
            charge: charge.as_ref(),
            vessel: &vessel,
            product: &product,
            constants: &constants,
            energy,
        };
        let phases = reader.list("phase", |part| read_phase(part, &base));
        let asked = reader.has("week") || reader.describing();
        let week = asked.then(|| reader.section("week", Week::read));
        if turn.cycles > 0.0 && !phases.is_empty() {
            reader.fault(Fault::Unworkable {
                field: "cycles".into(),
                trouble: "each phase has its own cycles".to_owned(),
                remedy: "leave the figure at the top out".to_owned(),
            });
        }
        if close && turn.cycles < 1.0 && phases.is_empty() {
            reader.fault(Fault::Unworkable {
                field: "close".into(),
                trouble: "a settled circuit has no end to close".to_owned(),
                remedy: "give cycles = 1 or more, or a [[phase]]".to_owned(),
            });
        }
        let charge = charge.unwrap_or_default();
        let programme = Programme { turn, energy, product };
        Case { charge, vessel, programme, constants, phases, close, week }
    }

    fn report(case: &Case) -> Result<Report, Vec<Fault>> {
        let one = |fault| vec![fault];
        if let Some(season) = case.season() {
            let run = super::season(&season, &case.constants).map_err(one)?;
            return Ok(Report {
                result: run.node(),
                curves: run.curves(),
                balance: run.balance,
                warnings: run.warnings,
            });
        }
        let run = run(&case.charge, &case.vessel, &case.programme, &case.constants);
        let run = run.map_err(one)?;
        let mut result = run.node();
        if let (Some(week), Node::Part(parts)) = (&case.week, &mut result) {
            let product = &case.programme.product;
            let weekly = weekly(&run, &case.vessel, product, week).map_err(one)?;
            parts.push(("weekly".to_owned(), weekly.node()));
        }
        let curves = run.curves();
        Ok(Report { result, curves, balance: run.balance, warnings: run.warnings })
    }
}

const EXAMPLE: &str = r#"# Three stills; a quarter of the low wines passes the middle one by.
energy = false
pressure_pa = 101325.0
cycles = 0
tolerance = 1e-8
product = "spirit.heart"

[wash]
ethanol_mol = 13700.0
water_mol = 514000.0

[wash.congeners]
3_methyl_1_butanol = 1.0
phenol = 1.0

[[still]]
name = "wash"
charge = [{ from = "wash" }]

[[still.cut]]
name = "low_wines"
until_strength_pct = 1.0

[[still]]
name = "intermediate"
charge = [{ from = "wash.low_wines", fraction = 0.75 }]

[[still.cut]]
name = "all"
until_strength_pct = 1.0

[[still]]
name = "spirit"
charge = [
    { from = "wash.low_wines", fraction = 0.25 },
    { from = "intermediate.all" },
    { from = "spirit.foreshots" },
    { from = "spirit.feints" },
]

[[still.cut]]
name = "foreshots"
until_charge_fraction = 0.01

[[still.cut]]
name = "heart"
until_strength_pct = 60.0

[[still.cut]]
name = "feints"
until_strength_pct = 1.0
"#;
