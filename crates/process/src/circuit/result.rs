//! What a circuit gives, and how the contract names it.

use gauge::{Node, Warning};

use super::ceiling::Dilution;
use super::cycle::{Cycle, Plant};
use crate::still::{Congener, Moles};
use crate::{Balance, Curves};

/// Ethanol, water and congeners of one stream.
#[derive(Debug, Clone, PartialEq)]
pub struct Stream {
    /// `spirit.charge`, `spirit.heart`, `spirit.residue`.
    pub name: String,
    /// Ethanol and water.
    pub moles: Moles,
    /// Each congener's amount for one unit in the wash.
    pub congeners: Vec<(&'static Congener, f64)>,
}

/// A still's work in one cycle.
#[derive(Debug, Clone, PartialEq)]
pub struct Work {
    /// The still.
    pub still: String,
    /// In how many charges it takes what comes to it; less than one where it gathers longer.
    pub charges: f64,
    /// Litres at 20 °C of one charge.
    pub charge_20_l: f64,
    /// Strength of the charge, % vol.
    pub charge_pct: f64,
    /// Hours to the first running of one charge; known with its fire and temperature.
    pub heat_up_h: Option<f64>,
    /// Hours of one run from the first running; known with its fire.
    pub run_h: Option<f64>,
}

/// What a circuit gives.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// The wash of a cycle.
    pub wash: Moles,
    /// Every charge, cut and residue of the last cycle.
    pub streams: Vec<Stream>,
    /// Mean distillations of the alcohol in the product, each return counted.
    pub passes_with_recycle: f64,
    /// Mean distinct stills on the way.
    pub distinct_stills: f64,
    /// Alcohol of the product over that of the wash.
    pub product_per_wash_alcohol: f64,
    /// For each still the share of its charge's alcohol that carried over from the last cycle.
    pub recycled_fraction: Vec<(String, f64)>,
    /// Largest change of any carried amount over its amount in the wash, in the last cycle.
    pub residual: f64,
    /// Cycles run, or evaluations until it had settled.
    pub cycles: u32,
    /// Each still's charges and hours.
    pub work: Vec<Work>,
    /// Charges above their still's ceiling, and the water that brings them down.
    pub dilutions: Vec<Dilution>,
    /// The streams of every cycle from empty; none for the settled circuit.
    pub history: Vec<Vec<Stream>>,
    /// What stands in the receivers at the end of every cycle from empty, by stream.
    pub receivers: Vec<Vec<Stream>>,
    /// Water, pure alcohol and each congener of the last cycle, each line by its stream.
    pub balance: Balance,
    /// What to know.
    pub warnings: Vec<Warning>,
}

/// Each still's charges and hours in a cycle.
pub(super) fn work(plant: &Plant<'_>, cycle: &Cycle) -> Vec<Work> {
    let stills = plant.vessel.stills.iter().zip(&cycle.boiled).zip(&cycle.charges);
    let boiled = stills.filter_map(|((still, boiled), charge)| {
        let boiled = boiled.as_ref()?;
        Some(Work {
            still: still.name.clone(),
            charges: boiled.charges,
            charge_20_l: charge.moles.times(1.0 / boiled.charges).volume_20_l(),
            charge_pct: charge.moles.strength_pct(),
            heat_up_h: boiled.heat_up_s.map(|s| s / 3600.0),
            run_h: boiled.run_s.map(|s| s / 3600.0),
        })
    });
    boiled.collect()
}

/// Returning share of a charge's alcohol that is worth a word: worked stills return about half.
const MUCH: f64 = 0.9;

/// What to know about a cycle that stands all the same.
pub(super) fn warnings(plant: &Plant<'_>, cycle: &Cycle) -> Vec<Warning> {
    let over = super::settle::dilutions(plant, cycle).into_iter();
    let mut out: Vec<Warning> = over
        .map(|d| Warning {
            code: "charge too strong",
            says: format!(
                "{} is charged at {:.1} % vol; its ceiling is {:.1} % vol: {:.0} L of water {}",
                d.still,
                d.strength_pct,
                d.ceiling_pct,
                d.water_20_l,
                if d.added { "are added and counted" } else { "would bring it down" },
            ),
        })
        .collect();
    for (still, share) in plant.recycled(cycle).into_iter().filter(|(_, share)| *share > MUCH) {
        out.push(Warning {
            code: "much returns",
            says: format!("of 100 L of alcohol charged to {still} {:.0} return", 100.0 * share),
        });
    }
    let made = cycle.made[plant.graph.product].moles.ethanol_mol;
    if made < 1e-9 * plant.wash.moles.ethanol_mol {
        out.push(Warning {
            code: "no product",
            says: format!("{} stays empty", plant.graph.names[plant.graph.product]),
        });
    }
    out
}

impl Run {
    /// The stream called `name`.
    pub fn stream(&self, name: &str) -> Option<&Stream> {
        self.streams.iter().find(|stream| stream.name == name)
    }

    /// Curves over the cycles: for each stream its alcohol.
    pub fn curves(&self) -> Curves {
        let names = self.streams.iter().map(|s| format!("{}_pure_alcohol_l", s.name));
        let columns = std::iter::once(("cycle".to_owned(), ""));
        let mut curves = Curves::new(columns.chain(names.map(|name| (name, "L"))));
        for (place, streams) in self.history.iter().enumerate() {
            let alcohol = streams.iter().map(|s| s.moles.pure_alcohol_l());
            let row: Vec<f64> = std::iter::once((place + 1) as f64).chain(alcohol).collect();
            curves.push(&row);
        }
        curves
    }

    /// As the contract names it.
    pub fn node(&self) -> Node {
        let named = |pairs: &[(String, f64)]| {
            Node::part(pairs.iter().map(|(name, value)| (name.as_str(), Node::from(*value))))
        };
        let mut parts = vec![
            ("streams", stream_nodes(&self.streams)),
            ("passes_with_recycle", self.passes_with_recycle.into()),
            ("distinct_stills", self.distinct_stills.into()),
            ("product_per_wash_alcohol", self.product_per_wash_alcohol.into()),
            ("recycled_fraction", named(&self.recycled_fraction)),
            ("residual", self.residual.into()),
            ("cycles", f64::from(self.cycles).into()),
            ("stills", work_nodes(&self.work)),
        ];
        if !self.dilutions.is_empty() {
            parts.push(("dilution", dilution_nodes(&self.dilutions)));
        }
        if !self.history.is_empty() {
            let cycles = self.history.iter().zip(&self.receivers).enumerate();
            let cycles = cycles.map(|(place, (streams, receivers))| {
                Node::part([
                    ("cycle", Node::from((place + 1) as f64)),
                    ("streams", stream_nodes(streams)),
                    ("receivers", stream_nodes(receivers)),
                ])
            });
            parts.push(("history", Node::List(cycles.collect())));
        }
        Node::part(parts)
    }
}

pub(super) fn work_nodes(work: &[Work]) -> Node {
    Node::part(work.iter().map(|w| {
        let mut parts = vec![
            ("charges", Node::from(w.charges)),
            ("charge_20_l", w.charge_20_l.into()),
            ("charge_pct", w.charge_pct.into()),
        ];
        parts.extend(w.heat_up_h.map(|h| ("heat_up_h", h.into())));
        parts.extend(w.run_h.map(|h| ("run_h", h.into())));
        (w.still.as_str(), Node::part(parts))
    }))
}

fn dilution_nodes(dilutions: &[Dilution]) -> Node {
    Node::part(dilutions.iter().map(|d| {
        let parts = [
            ("strength_pct", Node::from(d.strength_pct)),
            ("ceiling_pct", d.ceiling_pct.into()),
            ("water_kg", d.water_kg.into()),
            ("water_20_l", d.water_20_l.into()),
            ("charge_20_l", d.charge_20_l.into()),
            ("added", Node::Flag(d.added)),
        ];
        (d.still.as_str(), Node::part(parts))
    }))
}

/// Figures of some liquid.
pub(super) fn moles_node(moles: Moles) -> Vec<(&'static str, Node)> {
    let mut parts =
        vec![("ethanol_mol", Node::from(moles.ethanol_mol)), ("water_mol", moles.water_mol.into())];
    parts.extend([
        ("volume_20_l", Node::from(moles.volume_20_l())),
        ("strength_pct", moles.strength_pct().into()),
        ("pure_alcohol_l", moles.pure_alcohol_l().into()),
    ]);
    parts
}

pub(super) fn stream_nodes(streams: &[Stream]) -> Node {
    Node::part(streams.iter().map(|s| {
        let congeners = s.congeners.iter().map(|(c, amount)| (c.key, Node::from(*amount)));
        let mut parts = moles_node(s.moles);
        parts.push(("congeners", Node::part(congeners)));
        (s.name.as_str(), Node::part(parts))
    }))
}
