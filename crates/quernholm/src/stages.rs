//! Washbacks and stills by the stages of `process`, run with hidden constants. Each is run few
//! times and kept: one washback a make and setting, one still run a still, make and strength.

use crate::liquor::Liquor;
use crate::truth::Truth;
use gauge::{Fault, Node};
use process::{Curves, Report};
use std::collections::BTreeMap;

type Faults = Vec<Fault>;

fn run(stage: &str, case: &Node) -> Result<Report, Faults> {
    let face = process::faces().into_iter().find(|face| face.key == stage);
    let face = face.ok_or_else(|| {
        vec![Fault::MissingPart { field: "stage".into(), wanted: "a stage of this name" }]
    })?;
    (face.run)(case)
}

fn part<const N: usize>(entries: [(&str, f64); N]) -> Node {
    Node::part(entries.map(|(key, value)| (key, Node::from(value))))
}

/// The course of a washback.
#[derive(Debug, Clone)]
pub(crate) struct Course {
    curves: Curves,
}

impl Course {
    /// Set at this temperature with yeast of this vigour.
    pub(crate) fn run(set_c: f64, vigour: f64, ethanol_kg_kg: f64) -> Result<Self, Faults> {
        let case = Node::part([
            (
                "wort",
                part([
                    ("glucose_kg_m3", 11.0),
                    ("maltose_kg_m3", 76.0),
                    ("maltotriose_kg_m3", 20.0),
                    ("dextrin_kg_m3", 18.0),
                    ("residual_kg_m3", 18.0),
                ]),
            ),
            (
                "yeast",
                part([("dry_kg_m3", 1.1), ("active_fraction", 0.3), ("bacteria_kg_m3", 0.002)]),
            ),
            (
                "washback",
                part([
                    ("set_c", set_c),
                    ("room_c", 12.0),
                    ("heat_loss_kj_m3_h_k", 14.4),
                    ("pressure_pa", 101_325.0),
                    ("ph", 5.45),
                    ("hours", 130.0),
                    ("every_h", 2.0),
                ]),
            ),
            ("constants", part([("vigour", vigour), ("ethanol_kg_kg", ethanol_kg_kg)])),
        ]);
        Ok(Self { curves: run("ferment", &case)?.curves })
    }
    fn at(&self, key: &str, hours: f64) -> f64 {
        self.curves.at(key, hours).unwrap_or(f64::NAN)
    }
    /// Gravity after so many hours of a washback that began at this gravity: what was lost is in
    /// proportion to what was there.
    pub(crate) fn gravity(&self, original: f64, hours: f64) -> f64 {
        let here = self.at("gravity", 0.0) - 1.0;
        original - (self.at("gravity", 0.0) - self.at("gravity", hours)) * (original - 1.0) / here
    }
    /// Temperature after so many hours.
    pub(crate) fn temperature_c(&self, hours: f64) -> f64 {
        self.at("temperature_c", hours)
    }
    /// Strength after so many hours, % vol.
    pub(crate) fn strength_pct(&self, original: f64, hours: f64) -> f64 {
        self.at("alcohol_pct", hours) * (original - 1.0) / (self.at("gravity", 0.0) - 1.0)
    }
}

/// A still as the plant file has it, and what a make cuts by.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Still {
    pub(crate) key: &'static str,
    pub(crate) charge_l: f64,
    pub(crate) least_l: f64,
    heat_w: f64,
    head_loss_w_k: f64,
}

pub(crate) const WASH_STILL: Still = Still {
    key: "wash_still",
    charge_l: 12_900.0,
    least_l: 5_500.0,
    heat_w: 460_000.0,
    head_loss_w_k: 180.0,
};
pub(crate) const SPIRIT_STILLS: [Still; 2] = [
    Still {
        key: "spirit_still_1",
        charge_l: 5_200.0,
        least_l: 1_800.0,
        heat_w: 230_000.0,
        head_loss_w_k: 260.0,
    },
    Still {
        key: "spirit_still_2",
        charge_l: 4_600.0,
        least_l: 1_600.0,
        heat_w: 210_000.0,
        head_loss_w_k: 150.0,
    },
];

/// One cut: when it ended after the charge was on, and which share of the charge's alcohol and
/// water it holds.
#[derive(Debug, Clone)]
pub(crate) struct Cut {
    pub(crate) name: String,
    pub(crate) end_h: f64,
    alcohol: f64,
    water: f64,
}

impl Cut {
    /// The cut of this charge.
    pub(crate) fn of(&self, charge: Liquor) -> Liquor {
        Liquor {
            alcohol_l: charge.alcohol_l * self.alcohol,
            water_kg: charge.water_kg * self.water,
        }
    }
}

/// Runs of stills that have been reckoned.
#[derive(Debug, Default)]
pub(crate) struct Stills {
    known: BTreeMap<(&'static str, &'static str, i64, i64), Vec<Cut>>,
}

/// The half hour until it comes to the boil.
const HEAT_UP_H: f64 = 0.75;

impl Stills {
    /// The cuts of a charge. `pass` is the make of a spirit run, `middle` or `wash`.
    pub(crate) fn cuts(
        &mut self,
        still: Still,
        pass: &'static str,
        charge: Liquor,
    ) -> Result<Vec<Cut>, Faults> {
        let litres = charge.litres();
        let fill = (litres / still.charge_l * 10.0).round();
        let strength = (charge.strength_pct() * 2.0).round();
        let key = (still.key, pass, fill as i64, strength as i64);
        if let Some(cuts) = self.known.get(&key) {
            return Ok(cuts.clone());
        }
        let cuts = run_still(still, pass, (fill / 10.0 * still.charge_l, strength / 2.0))?;
        self.known.insert(key, cuts.clone());
        Ok(cuts)
    }
}

fn cut(name: &str, mark: (&str, f64)) -> Node {
    Node::part([("name", Node::from(name)), (mark.0, Node::from(mark.1))])
}

fn run_still(still: Still, pass: &str, (litres, strength): (f64, f64)) -> Result<Vec<Cut>, Faults> {
    let truth = Truth::of(pass);
    let spirit = |foreshots_s: f64, until_pct: f64| {
        vec![
            cut("foreshots", ("until_time_s", foreshots_s)),
            cut("heart", ("until_strength_pct", until_pct)),
            cut("feints", ("until_strength_pct", 1.0)),
        ]
    };
    let cuts = match pass {
        "wash" => vec![cut("low_wines", ("until_strength_pct", 1.0))],
        "middle" => vec![cut("middle", ("until_strength_pct", 1.0))],
        "feather" => spirit(600.0, 68.0),
        "ember" => spirit(1200.0, 59.0),
        _ => spirit(720.0, 65.0),
    };
    let case = Node::part([
        ("charge", part([("volume_20_l", litres), ("strength_pct", strength)])),
        (
            "still",
            part([
                ("pressure_pa", 101_325.0),
                ("heat_w", still.heat_w * truth.heat),
                ("head_loss_w_k", still.head_loss_w_k * truth.head_loss),
                ("ambient_c", 20.0),
            ]),
        ),
        ("cut", Node::List(cuts)),
    ]);
    let report = run("still", &case)?;
    let charge = Liquor::of(litres, strength);
    let Some(Node::List(cuts)) = report.result.get("cuts") else {
        return Ok(Vec::new());
    };
    let cut = |node: &Node| {
        let figure = |key| node.get(key).and_then(Node::number).unwrap_or(0.0);
        let name = match node.get("name") {
            Some(Node::Text(name)) => name.clone(),
            _ => String::new(),
        };
        let liquor = Liquor::of(figure("volume_20_l"), figure("strength_pct"));
        Cut {
            name,
            end_h: HEAT_UP_H + figure("end_s") / 3600.0,
            // What leaves by vents and safes is missing in each cut.
            alcohol: liquor.alcohol_l / charge.alcohol_l * (1.0 - truth.vents),
            water: liquor.water_kg / charge.water_kg,
        }
    };
    Ok(cuts.iter().map(cut).collect())
}
