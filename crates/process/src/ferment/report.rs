//! The fermentation by case file.

use super::{
    Charge, Constants, GAS_M3_KG, Programme, Run, State, Vessel, Wort, Yeast, gravity, run,
};
use crate::{Curves, Report, Stage};
use gauge::{Fault, Field, Grade, Node, Reader, Record};

/// pH of the wort: a figure of the charge that the case file keeps with the washback.
pub(super) const PH: Field = Field::new("ph", "pH")
    .label("pH of the wort")
    .within(3.5, 7.0)
    .or(5.45)
    .from(Grade::Memory, "from memory of the trade");

/// The stage by case file.
#[derive(Debug, Clone, Copy)]
pub struct Ferment;

/// A whole case.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// What goes in.
    pub charge: Charge,
    /// The washback.
    pub vessel: Vessel,
    /// What the hand decides.
    pub programme: Programme,
    /// The free constants.
    pub constants: Constants,
}

const COLUMNS: [(&str, &str); 22] = [
    ("time_h", "h"),
    ("temperature_c", "°C"),
    ("gravity", "20/20"),
    ("gravity_reference", "20/20"),
    ("ethanol_kg_m3", "kg/m³"),
    ("alcohol_pct", "% vol"),
    ("glucose_kg_m3", "kg/m³"),
    ("maltose_kg_m3", "kg/m³"),
    ("maltotriose_kg_m3", "kg/m³"),
    ("dextrin_kg_m3", "kg/m³"),
    ("residual_kg_m3", "kg/m³"),
    ("real_extract_kg_m3", "kg/m³"),
    ("yeast_lag_kg_m3", "kg/m³"),
    ("yeast_active_kg_m3", "kg/m³"),
    ("yeast_dead_kg_m3", "kg/m³"),
    ("carbon_dioxide_kg_m3", "kg/m³"),
    ("carbon_dioxide_kg_m3_h", "kg/(m³ h)"),
    ("bacteria_kg_m3", "kg/m³"),
    ("lactic_kg_m3", "kg/m³"),
    ("ethanol_lost_kg_m3", "kg/m³"),
    ("water_lost_kg_m3", "kg/m³"),
    ("ph", "pH"),
];

pub(super) fn new_curves() -> Curves {
    Curves::new(COLUMNS)
}

pub(super) fn row(s: &State, gas_rate: f64, k: &Constants) -> [f64; 22] {
    [
        s.time_h,
        s.temperature_c,
        s.gravity(k),
        s.gravity_reference(k),
        s.ethanol_kg_m3,
        s.alcohol_pct(),
        s.glucose_kg_m3,
        s.maltose_kg_m3,
        s.maltotriose_kg_m3,
        s.dextrin_kg_m3,
        s.residual_kg_m3,
        s.real_extract_kg_m3(k),
        s.yeast_lag_kg_m3,
        s.yeast_active_kg_m3,
        s.yeast_dead_kg_m3,
        s.carbon_dioxide_kg_m3,
        gas_rate,
        s.bacteria_kg_m3,
        s.lactic_kg_m3,
        s.ethanol_lost_kg_m3,
        s.water_lost_kg_m3,
        s.ph(k),
    ]
}

fn result(case: &Case, run: &Run) -> Node {
    let k = &case.constants;
    let (end, wash) = (&run.end, &run.wash);
    let m3 = case.vessel.fill_l / 1000.0;
    let real = end.real_extract_kg_m3(k);
    let yeast = end.yeast_active_kg_m3 + end.yeast_dead_kg_m3 + end.yeast_lag_kg_m3;
    let made = end.ethanol_kg_m3 + end.ethanol_lost_kg_m3;
    let plato = gauge::wort::kernel::plato_of_gravity;
    let original_plato = plato(end.original_gravity);
    let balling_pct = gravity::balling_pct(end.original_gravity, wash.gravity);
    let gas_kg = m3 * end.carbon_dioxide_kg_m3;
    Node::part([
        ("time_h", Node::from(end.time_h)),
        ("original_gravity", Node::from(end.original_gravity)),
        ("gravity", Node::from(wash.gravity)),
        ("temperature_c", Node::from(wash.temperature_c)),
        ("bulk_l", Node::from(wash.bulk_l)),
        ("volume_20_l", Node::from(wash.volume_20_l)),
        ("strength_pct", Node::from(wash.strength_pct)),
        ("pure_alcohol_l", Node::from(wash.pure_alcohol_l)),
        ("mass_kg", Node::from(wash.mass_kg)),
        ("solids_kg", Node::from(wash.solids_kg)),
        ("balling_alcohol_pct", balling_pct.map_or(Node::Blank, Node::from)),
        (
            "apparent_attenuation_pct",
            Node::from(100.0 * (1.0 - plato(wash.gravity) / original_plato)),
        ),
        ("real_attenuation_pct", Node::from(100.0 * (1.0 - real / end.wort_extract_kg_m3))),
        ("peak_c", Node::from(run.peak_c)),
        ("peak_at_h", Node::from(run.peak_at_h)),
        ("viable_fraction", Node::from(end.yeast_active_kg_m3 / yeast)),
        ("ph", Node::from(end.ph(k))),
        ("lactic_kg_m3", Node::from(end.lactic_kg_m3)),
        ("ethanol_lost_pct", Node::from(100.0 * end.ethanol_lost_kg_m3 / made)),
        ("carbon_dioxide_kg", Node::from(gas_kg)),
        ("carbon_dioxide_m3", Node::from(gas_kg * GAS_M3_KG)),
        ("peak_carbon_dioxide_kg_m3_h", Node::from(run.peak_carbon_dioxide_kg_m3_h)),
    ])
}

impl Stage for Ferment {
    const KEY: &'static str = "ferment";
    const TITLE: &'static str = "Fermentation";
    const DOES: &'static str =
        "Ferments one washback: gravity, temperature, alcohol, gas and acid over the hours.";
    const EXAMPLE: &'static str = "\
# One washback.
[wort]                     # kg/m3 of wort
glucose_kg_m3 = 11.0
maltose_kg_m3 = 76.0
maltotriose_kg_m3 = 20.0
dextrin_kg_m3 = 18.0
residual_kg_m3 = 18.0
[yeast]
dry_kg_m3 = 1.10
active_fraction = 0.3
bacteria_kg_m3 = 0.002
[washback]
fill_l = 12900.0           # 1000 unless given
set_c = 19.0
room_c = 12.0
heat_loss_kj_m3_h_k = 14.4
pressure_pa = 101325.0
ph = 5.45
hours = 120.0
every_h = 6.0
";
    type Case = Case;

    fn read(reader: &mut Reader<'_>) -> Case {
        let wort = reader.section("wort", Wort::read);
        let yeast = reader.section("yeast", Yeast::read);
        let (vessel, programme, ph) = reader.section("washback", |washback| {
            let vessel = Vessel::read(washback);
            (vessel, Programme::read(washback), washback.number(&PH))
        });
        Case {
            charge: Charge { wort, yeast, ph },
            vessel,
            programme,
            constants: reader.section("constants", Constants::read),
        }
    }

    fn report(case: &Case) -> Result<Report, Vec<Fault>> {
        let run = run(&case.charge, &case.vessel, &case.programme, &case.constants)
            .map_err(|fault| vec![fault])?;
        Ok(Report {
            result: result(case, &run),
            curves: run.curves,
            balance: run.balance,
            warnings: run.warnings,
        })
    }
}
