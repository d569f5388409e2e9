//! The circuit by case file.

use gauge::{Fault, Field, Reader, Record};

use super::{Charge, Hearth, Place, Programme, Source, Stock, Turn, Vessel, Wash, graph, run};
use crate::still::case::{read_congeners, read_heat};
use crate::still::{Constants, Cut, Demisting, Until};
use crate::{Report, Stage};

/// The stage.
#[derive(Debug, Clone, Copy)]
pub struct Circuit;

/// A case: the four parts together.
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
}

const FRACTION: Field =
    Field::new("fraction", "").label("share of it").within(graph::LEAST_SHARE, 1.0).or(1.0);

fn read_source(reader: &mut Reader<'_>) -> Source {
    Source { from: reader.word("from"), fraction: reader.number(&FRACTION) }
}

fn read_place(reader: &mut Reader<'_>, energy: bool, constants: &Constants) -> Place {
    let name = reader.word("name");
    let hearth = Hearth::read(reader);
    let demisting = Demisting { film_20_l: hearth.film_20_l, haze_ratio: constants.haze_ratio };
    Place {
        name,
        charge: reader.list("charge", read_source),
        heat: read_heat(reader),
        cuts: reader.list("cut", |part| {
            let cut = Cut::read(part, Some(demisting));
            if let (Until::TimeS(time), false) = (cut.until, energy)
                && time.is_finite()
            {
                part.fault(super::settle::timeless("until_time_s".to_owned(), time));
            }
            cut
        }),
        dilute: reader.flag("dilute", false),
        hearth,
    }
}

impl Stage for Circuit {
    const KEY: &'static str = "circuit";
    const TITLE: &'static str = "Stills in a circuit";
    const DOES: &'static str =
        "Settles stills whose foreshots and feints go round, or follows them from empty.";
    const EXAMPLE: &'static str = EXAMPLE;
    type Case = Case;

    fn read(reader: &mut Reader<'_>) -> Case {
        let energy = reader.flag("energy", false);
        let turn = Turn::read(reader);
        let product = reader.word("product");
        let charge = reader.section("wash", |part| Charge {
            wash: Wash::read(part),
            congeners: read_congeners(part),
        });
        let constants = reader.section("constants", Constants::read);
        let stills = reader.list("still", |part| read_place(part, energy, &constants));
        let stocks = reader
            .list("stock", |part| Stock { name: part.word("name"), source: read_source(part) });
        Case {
            charge,
            vessel: Vessel { stills, stocks },
            programme: Programme { turn, energy, product },
            constants,
        }
    }

    fn report(case: &Case) -> Result<Report, Vec<Fault>> {
        let run = run(&case.charge, &case.vessel, &case.programme, &case.constants);
        let run = run.map_err(|fault| vec![fault])?;
        Ok(Report {
            result: run.node(),
            curves: run.curves(),
            balance: run.balance,
            warnings: run.warnings,
        })
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
