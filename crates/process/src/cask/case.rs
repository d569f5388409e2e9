//! The cask by case file.

use gauge::{Fault, Reader, Record};

use super::{Charge, Constants, Programme, Vessel, run};
use crate::{Report, Stage};

/// The stage.
#[derive(Debug, Clone, Copy)]
pub struct Cask;

/// A case: the four parts together.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// What was filled.
    pub charge: Charge,
    /// The casks.
    pub vessel: Vessel,
    /// How long, and in what air.
    pub programme: Programme,
    /// Free constants.
    pub constants: Constants,
}

impl Stage for Cask {
    const KEY: &'static str = "cask";
    const TITLE: &'static str = "Casks in store";
    const DOES: &'static str =
        "Lets a parcel of casks lie and gives contents, strength and what the angels took.";
    const EXAMPLE: &'static str = EXAMPLE;
    type Case = Case;

    fn read(reader: &mut Reader<'_>) -> Case {
        Case {
            charge: reader.section("charge", Charge::read),
            vessel: reader.section("cask", Vessel::read),
            programme: reader.section("programme", Programme::read),
            constants: reader.section("constants", Constants::read),
        }
    }

    fn report(case: &Case) -> Result<Report, Vec<Fault>> {
        let run = run(&case.charge, &case.vessel, &case.programme, &case.constants);
        let run = run.map_err(|fault| vec![fault])?;
        Ok(Report {
            result: run.node(),
            curves: run.curves,
            balance: run.balance,
            warnings: Vec::new(),
        })
    }
}

const EXAMPLE: &str = r"# Twenty hogsheads for ten years in a cool, damp store.
[charge]
volume_20_l = 4800.0
strength_pct = 63.5

[cask]
casks = 20
capacity_l = 250.0

[programme]
days = 3652.5
temperature_c = 10.0
relative_humidity = 0.78
";
