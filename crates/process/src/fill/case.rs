//! Filling by case file.

use gauge::{Fault, Reader, Record};

use super::{Batch, Casks, Charge, Constants, Programme, Vessel, run};
use crate::{Curves, Report, Stage};

/// The stage.
#[derive(Debug, Clone, Copy)]
pub struct Fill;

/// A case: the four parts together.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// The spirit in the vat.
    pub charge: Charge,
    /// The casks that stand ready.
    pub vessel: Vessel,
    /// How warm it is and may get.
    pub programme: Programme,
    /// Free constants.
    pub constants: Constants,
}

impl Stage for Fill {
    const KEY: &'static str = "fill";
    const TITLE: &'static str = "Filling casks";
    const DOES: &'static str =
        "Fills casks as far as is safe; gives litres, alcohol and room of each, and the rest.";
    const EXAMPLE: &'static str = EXAMPLE;
    type Case = Case;

    fn read(reader: &mut Reader<'_>) -> Case {
        let batches =
            reader.list("cask", |part| Batch { kind: part.word("kind"), casks: Casks::read(part) });
        Case {
            charge: reader.section("charge", Charge::read),
            vessel: Vessel { batches },
            programme: reader.section("programme", Programme::read),
            constants: reader.section("constants", Constants::read),
        }
    }

    fn report(case: &Case) -> Result<Report, Vec<Fault>> {
        let run = run(&case.charge, &case.vessel, &case.programme, &case.constants);
        let run = run.map_err(|fault| vec![fault])?;
        Ok(Report {
            result: run.node(),
            curves: Curves::default(),
            balance: run.balance,
            warnings: run.warnings,
        })
    }
}

const EXAMPLE: &str = r#"# A vat of filling strength into hogsheads, and what is left into barrels.
[charge]
volume_20_l = 6200.0
strength_pct = 63.5

[programme]
temperature_c = 12.0
warmest_c = 25.0

[[cask]]
kind = "hogshead"
capacity_l = 245.0
count = 20

[[cask]]
kind = "barrel"
capacity_l = 195.0
count = 40
"#;
