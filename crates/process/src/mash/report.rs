//! The mash by case file.

use super::{
    Charge, Constants, Draff, Fitted, Grist, How, Liquor, Programme, Run, Step, To, Vessel, Water,
    WeakWorts, Worts, run,
};
use crate::conversion::State;
use crate::{Curves, Report, Stage};
use gauge::{Fault, Field, Node, Reader, Record, Warning};

/// Temperature wanted after mashing in.
pub(super) const MASH_C: Field = Field::new("mash_c", "°C").label("Mash").within(40.0, 80.0);

/// The stage by case file.
#[derive(Debug, Clone, Copy)]
pub struct Mash;

/// A whole case.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// What goes in.
    pub charge: Charge,
    /// The tun.
    pub vessel: Vessel,
    /// The waters.
    pub programme: Programme,
    /// The free constants.
    pub constants: Constants,
}

pub(super) fn new_curves() -> Curves {
    let agu = "kg/100 kg starch";
    Curves::new([
        ("time_min", "min"),
        ("bed_c", "°C"),
        ("run_off_plato", "°P"),
        ("starch", agu),
        ("dextrin", agu),
        ("glucose", agu),
        ("maltose", agu),
        ("maltotriose", agu),
        ("enzyme_alpha", ""),
        ("enzyme_beta", ""),
    ])
}

pub(super) fn row(time_min: f64, bed_c: f64, s: &State, run_off_plato: f64) -> [f64; 10] {
    [
        time_min,
        bed_c,
        run_off_plato,
        s.starch,
        s.dextrin,
        s.glucose,
        s.maltose,
        s.maltotriose,
        s.enzyme_alpha,
        s.enzyme_beta,
    ]
}

pub(super) fn warnings(mash_c: f64, beyond: bool) -> Vec<Warning> {
    let mut warnings = Vec::new();
    if !(45.0..=75.0).contains(&mash_c) {
        let says = format!("A mash of {mash_c:.1} °C is outside the 45 to 75 °C of its rates.");
        warnings.push(Warning { code: "beyond the model", says });
    }
    if beyond {
        let says = "The laboratory's fermentability cannot be had from this extract; the nearest \
                    that can is used.";
        warnings.push(Warning { code: "fermentability", says: says.to_owned() });
    }
    warnings
}

fn worts(worts: &Worts) -> Vec<(&'static str, Node)> {
    vec![
        ("volume_20_l", Node::from(worts.volume_20_l())),
        ("bulk_l", Node::from(worts.bulk_l())),
        ("temperature_c", Node::from(worts.temperature_c)),
        ("plato", Node::from(worts.plato())),
        ("gravity", Node::from(worts.gravity())),
        ("extract_kg", Node::from(worts.liquid.extract_kg)),
        ("water_kg", Node::from(worts.liquid.water_kg)),
    ]
}

/// The worts as the fermentation takes them: kg/m³ at 20 °C.
fn to_washback(run: &Run) -> Node {
    let extract_kg_m3 = 1000.0 * run.worts.liquid.extract_kg / run.worts.volume_20_l();
    let wort = run.wort();
    let mut entries = worts(&run.worts);
    entries.extend([
        ("extract_kg_m3", Node::from(extract_kg_m3)),
        ("glucose_kg_m3", Node::from(wort.glucose_kg_m3)),
        ("maltose_kg_m3", Node::from(wort.maltose_kg_m3)),
        ("maltotriose_kg_m3", Node::from(wort.maltotriose_kg_m3)),
        ("dextrin_kg_m3", Node::from(wort.dextrin_kg_m3)),
        ("residual_kg_m3", Node::from(wort.residual_kg_m3)),
        ("fermentability", Node::from(run.sugars.fermentability())),
        ("enzyme_alpha", Node::from(run.enzyme_alpha)),
        ("enzyme_beta", Node::from(run.enzyme_beta)),
    ]);
    Node::part(entries)
}

fn water(step: &Step) -> Node {
    let mut entries = vec![
        ("to", Node::from(if step.to == To::Washback { "washback" } else { "next" })),
        ("liquor_c", Node::from(step.liquor.temperature_c)),
        ("liquor_kg", Node::from(step.liquor.mass_kg())),
        ("bed_c", Node::from(step.bed_c)),
        ("held_water_kg", Node::from(step.held.water_kg)),
    ];
    entries.extend(worts(&step.run_off));
    Node::part(entries)
}

fn draff(draff: &Draff) -> Node {
    Node::part([
        ("mass_kg", Node::from(draff.mass_kg())),
        ("insoluble_kg", Node::from(draff.insoluble_kg)),
        ("water_kg", Node::from(draff.water_kg)),
        ("extract_kg", Node::from(draff.extract_kg)),
        ("moisture_wet", Node::from(draff.moisture_wet())),
    ])
}

fn result(case: &Case, run: &Run) -> Node {
    let grist = &case.charge.grist;
    let malt_kg = grist.dry_kg / (1.0 - grist.moisture_wet);
    let gained = run.worts.liquid.extract_kg + run.weak_worts.liquid.extract_kg
        - case.charge.weak_worts.extract_kg;
    let degrees = 1000.0 * (run.worts.gravity() - 1.0);
    Node::part([
        ("strike_c", Node::from(run.strike_c)),
        ("mash_c", Node::from(run.mash_c)),
        ("thickness_l_kg", Node::from(case.programme.waters[0].liquor.volume_l / malt_kg)),
        ("worts", to_washback(run)),
        ("weak_worts", Node::part(worts(&run.weak_worts))),
        ("draff", draff(&run.draff)),
        ("waters", Node::List(run.steps.iter().map(water).collect())),
        ("extract_dissolved_kg", Node::from(run.extract_kg)),
        ("laboratory_extract_kg", Node::from(run.laboratory_extract_kg)),
        ("extract_recovered_pct", Node::from(100.0 * gained / run.laboratory_extract_kg)),
        ("degrees_l_kg", Node::from(run.worts.volume_20_l() * degrees / malt_kg)),
        ("cycle_h", Node::from(run.minutes / 60.0)),
    ])
}

impl Programme {
    /// Reads `mash_c` and `[[water]]`: for cases and for house files.
    pub fn read(reader: &mut Reader<'_>) -> Self {
        Self { mash_c: reader.optional(&MASH_C), waters: reader.list("water", read_water) }
    }
}

fn read_water(reader: &mut Reader<'_>) -> Water {
    let liquor = Liquor::read(reader);
    let how = match reader.choice("how", &["displaced", "mixed"], Some("displaced")) {
        "mixed" => How::Mixed,
        _ => How::Displaced,
    };
    let to = match reader.choice("to", &["washback", "next"], Some("washback")) {
        "next" => To::Next,
        _ => To::Washback,
    };
    Water { liquor, how, to }
}

impl Stage for Mash {
    const KEY: &'static str = "mash";
    const TITLE: &'static str = "Mash";
    const DOES: &'static str =
        "Strikes a mash, washes it with its waters, and gives worts, draff and heat.";
    const EXAMPLE: &'static str = "\
# One mash on the weak worts of the mash before.
mash_c = 64.2              # wanted; or give the first water's temperature_c instead
[grist]
dry_kg = 2387.5
moisture_wet = 0.045
grist_c = 15.0
extract_pct_dry = 79.5
fermentability = 0.872
extract_recovery = 0.99
enzyme_alpha = 1.0
enzyme_beta = 1.0
[weak_worts]
water_kg = 9100.0
extract_kg = 125.0
[tun]
tun_kj_k = 2000.0
tun_c = 45.0
loss_w_k = 130.0
room_c = 15.0
[[water]]
volume_l = 10000.0         # weak worts made up to this
stand_min = 45.0
drain_min = 90.0
[[water]]
volume_l = 4400.0
temperature_c = 76.0
stand_min = 20.0
drain_min = 75.0
[[water]]
volume_l = 5250.0
temperature_c = 85.0
stand_min = 15.0
drain_min = 60.0
to = \"next\"
[[water]]
volume_l = 4000.0
temperature_c = 88.0
stand_min = 10.0
drain_min = 50.0
to = \"next\"
";
    type Case = Case;

    fn read(reader: &mut Reader<'_>) -> Case {
        Case {
            programme: Programme::read(reader),
            charge: Charge {
                grist: reader.section("grist", Grist::read),
                weak_worts: reader.section("weak_worts", WeakWorts::read),
            },
            vessel: reader.section("tun", Vessel::read),
            constants: Constants {
                fitted: reader.section("constants", Fitted::read),
                enzymes: reader.section("enzymes", crate::conversion::Constants::read),
            },
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
