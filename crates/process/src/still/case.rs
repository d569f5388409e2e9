//! The still by case file.

use gauge::{Fault, Field, Reader, Record};

use super::cut::{Cut, Demisting, HeatStep};
use super::{Charge, Conditions, Congener, Constants, Filling, Programme, Vessel, run};
use crate::{Report, Stage};

/// Most of a congener, in whatever unit.
pub(super) const MOST_CONGENER: f64 = 1e9;

/// The stage.
#[derive(Debug, Clone, Copy)]
pub struct Still;

/// A case: the four parts together.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// What goes in.
    pub charge: Charge,
    /// The still.
    pub vessel: Vessel,
    /// Air, fire and cuts.
    pub programme: Programme,
    /// Free constants.
    pub constants: Constants,
}

const FROM: Field =
    Field::new("from_s", "s").label("from, after the first running").within(0.0, 1e6);
const HEAT: Field = Field::new("heat_w", "W").label("heat").within(1.0, 1e8).extensive();

const STEAM: Field =
    Field::new("steam_kg_s", "kg/s").label("open steam").within(0.0, 100.0).extensive();

/// Reads the congeners of a charge, each by its spelling.
pub(crate) fn read_congeners(reader: &mut Reader<'_>) -> Vec<(&'static Congener, f64)> {
    let field = Field::new("congeners", "any unit")
        .label("congeners")
        .within(0.0, MOST_CONGENER)
        .extensive();
    let mut found = Vec::new();
    for (name, amount) in reader.named("congeners", &field) {
        if let Some(congener) = Congener::named(&name) {
            found.push((congener, amount));
        } else {
            let known = super::CONGENERS.iter().map(|c| c.key);
            let near = gauge::tree::nearest(&name, known).map(str::to_owned);
            reader.fault(Fault::Unknown { field: format!("congeners.{name}").into(), near });
        }
    }
    found
}

/// Reads the changes of the fire.
pub(crate) fn read_heat(reader: &mut Reader<'_>) -> Vec<HeatStep> {
    let mut place = 0;
    reader.list("heat", |part| {
        let (from_s, heat_w) = (part.number(&FROM), part.number(&HEAT));
        let step = HeatStep { from_s, heat_w, steam_kg_s: 0.0, place: Some(place) };
        place += 1;
        step
    })
}

/// Reads the changes of fire and open steam; either may be left out where the other is given.
fn read_fire(reader: &mut Reader<'_>) -> Vec<HeatStep> {
    let mut place = 0;
    reader.list("heat", |part| {
        let from_s = part.number(&FROM);
        let (heat_w, steam_kg_s) = (part.optional(&HEAT), part.optional(&STEAM));
        if heat_w.is_none() && steam_kg_s.is_none() && !part.describing() {
            let (low, high) = (HEAT.low, HEAT.high);
            part.fault(Fault::Missing { field: "heat_w".into(), unit: "W", low, high });
        }
        let (heat_w, steam_kg_s) = (heat_w.unwrap_or(0.0), steam_kg_s.unwrap_or(0.0));
        let step = HeatStep { from_s, heat_w, steam_kg_s, place: Some(place) };
        place += 1;
        step
    })
}

impl Stage for Still {
    const KEY: &'static str = "still";
    const TITLE: &'static str = "Pot still";
    const DOES: &'static str =
        "Boils a charge down and gives the cuts, what is left, times, strengths and congeners.";
    const EXAMPLE: &'static str = EXAMPLE;
    type Case = Case;

    fn read(reader: &mut Reader<'_>) -> Case {
        let charge = reader.section("charge", |part| Charge {
            filling: Filling::read(part),
            congeners: read_congeners(part),
        });
        let (vessel, conditions) =
            reader.section("still", |part| (Vessel::read(part), Conditions::read(part)));
        let constants = reader.section("constants", Constants::read);
        let heat = read_fire(reader);
        let demisting = Demisting { film_20_l: vessel.film_20_l, haze_ratio: constants.haze_ratio };
        let cuts = reader.list("cut", |part| Cut::read(part, Some(demisting)));
        Case { charge, vessel, programme: Programme { conditions, heat, cuts }, constants }
    }

    fn report(case: &Case) -> Result<Report, Vec<Fault>> {
        let run = run(&case.charge, &case.vessel, &case.programme, &case.constants);
        let run = run.map_err(|fault| vec![fault])?;
        Ok(Report {
            result: run.node(),
            curves: run.curves,
            balance: run.balance,
            warnings: run.warnings,
        })
    }
}

const EXAMPLE: &str = r#"# A spirit charge with a head that sends a good part of the vapour back.
[charge]
ethanol_mol = 33500.0
water_mol = 284000.0
temperature_c = 25.0

[charge.congeners]
ethyl_acetate = 1.0
methanol = 1.0
3_methyl_1_butanol = 1.0
phenol = 1.0

[still]
pressure_pa = 101325.0
heat_w = 250000.0
head_loss_w_k = 600.0
ambient_c = 20.0
copper_kg = 1500.0

[[cut]]
name = "foreshots"
until_time_s = 1200.0

[[cut]]
name = "heart"
until_strength_pct = 62.0

[[cut]]
name = "feints"
until_strength_pct = 1.0
"#;
