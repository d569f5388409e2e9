//! A season by case file: phases over the case's own stills, and how the result is told.

use gauge::{Fault, Node, Reader, Record};

use super::case::{read_source, read_wash};
use super::result::{moles_node, stream_nodes, work_nodes};
use super::season::{Held, Phase, PhaseFigures, Row, SeasonRun};
use super::{Charge, Feints, Place, Vessel};
use crate::Curves;
use crate::still::{Constants, Cut, Demisting};

/// What a phase takes over from the case where it says nothing of its own.
pub(super) struct Base<'a> {
    pub(super) charge: Option<&'a Charge>,
    pub(super) vessel: &'a Vessel,
    pub(super) product: &'a str,
    pub(super) constants: &'a Constants,
    pub(super) energy: bool,
}

/// Reads one phase.
pub(super) fn read_phase(reader: &mut Reader<'_>, base: &Base<'_>) -> Phase {
    let name = reader.word("name");
    let family = reader.optional_word("family").unwrap_or_else(|| name.clone());
    let figures = PhaseFigures::read(reader);
    let feints = Feints::read(reader);
    let product = reader.optional_word("product").unwrap_or_else(|| base.product.to_owned());
    let charge = if reader.has("wash") || reader.describing() {
        reader.section("wash", read_wash)
    } else if let Some(charge) = base.charge {
        charge.clone()
    } else {
        let wanted = "a wash of its own, or one [wash] for all phases,";
        reader.fault(Fault::MissingPart { field: "wash".into(), wanted });
        Charge::default()
    };
    let mut vessel = base.vessel.clone();
    let without = reader.words("without");
    for (index, name) in without.iter().enumerate() {
        if !vessel.stills.iter().any(|still| still.name == *name) {
            let field = format!("without[{index}]");
            reader.fault(no_still(field, name, base.vessel));
        }
        let own = format!("{name}.");
        vessel.stills.retain(|still| still.name != *name);
        vessel.stocks.retain(|stock| !stock.source.from.starts_with(&own));
        for still in &mut vessel.stills {
            still.charge.retain(|part| !part.from.starts_with(&own));
        }
    }
    let own = reader.list("still", |part| read_own(part, base));
    for (name, change) in own {
        if let Some(still) = vessel.stills.iter_mut().find(|still| still.name == name) {
            change.put(still);
        }
    }
    Phase { name, family, charge, vessel, product, figures, feints }
}

/// What a phase changes of a still.
struct Own {
    charge: Vec<super::Source>,
    cuts: Vec<Cut>,
}

impl Own {
    fn put(self, still: &mut Place) {
        if !self.charge.is_empty() {
            still.charge = self.charge;
        }
        if !self.cuts.is_empty() {
            still.cuts = self.cuts;
        }
    }
}

fn read_own(reader: &mut Reader<'_>, base: &Base<'_>) -> (String, Own) {
    let name = reader.word("name");
    let still = base.vessel.stills.iter().find(|still| still.name == name);
    if still.is_none() && !name.is_empty() {
        reader.fault(no_still("name".to_owned(), &name, base.vessel));
    }
    let demisting = Demisting {
        film_20_l: still.and_then(|still| still.hearth.film_20_l),
        haze_ratio: base.constants.haze_ratio,
    };
    let charge = reader.list("charge", read_source);
    let cuts = reader.list("cut", |part| super::case::read_cut(part, demisting, base.energy));
    (name, Own { charge, cuts })
}

fn no_still(field: String, found: &str, vessel: &Vessel) -> Fault {
    Fault::NotAllowed {
        field: field.into(),
        found: found.to_owned(),
        allowed: vessel.stills.iter().map(|still| still.name.clone()).collect(),
    }
}

impl SeasonRun {
    /// Curves over the cycles: product, transition spirit, what stands, and for each stream its
    /// alcohol.
    pub fn curves(&self) -> Curves {
        let mut names: Vec<&str> = Vec::new();
        for stream in self.rows.iter().flat_map(|row| &row.streams) {
            if !names.contains(&stream.name.as_str()) {
                names.push(&stream.name);
            }
        }
        let first = ["product", "transition", "receivers"];
        let keys = first.iter().chain(&names).map(|name| (format!("{name}_pure_alcohol_l"), "L"));
        let mut curves = Curves::new(std::iter::once(("cycle".to_owned(), "")).chain(keys));
        for row in &self.rows {
            let stands: f64 = row.receivers.iter().map(|h| h.stream.moles.pure_alcohol_l()).sum();
            let made = [row.product.pure_alcohol_l(), row.transition.pure_alcohol_l(), stands];
            let streams = names.iter().map(|name| {
                let stream = row.streams.iter().find(|stream| stream.name == *name);
                stream.map_or(0.0, |stream| stream.moles.pure_alcohol_l())
            });
            let values = std::iter::once(f64::from(row.cycle)).chain(made).chain(streams);
            curves.push(&values.collect::<Vec<f64>>());
        }
        curves
    }

    /// As the contract names it: the last cycle with wash, the history, and the season's accounts.
    pub fn node(&self) -> Node {
        let Node::Part(mut parts) = self.last.node() else { return Node::Part(Vec::new()) };
        let mut add = |key: &str, node| parts.push((key.to_owned(), node));
        add("history", Node::List(self.rows.iter().map(row_node).collect()));
        let total = |stream: &super::Stream| (stream.name.clone(), stream_node(stream));
        add("products", Node::part(self.products.iter().map(total)));
        add("transition", stream_node(&self.transition));
        add("stock", Node::List(self.stock.iter().map(held_node).collect()));
        add("change_h", self.change_h().into());
        let changes = self.changes.iter().map(|change| {
            Node::part([
                ("after_cycle", Node::from(f64::from(change.after_cycle))),
                ("from", change.from.as_str().into()),
                ("to", change.to.as_str().into()),
                ("feints", change.feints.word().into()),
                ("change_h", change.change_h.into()),
                ("charges_worked_off", f64::from(change.worked_off).into()),
            ])
        });
        add("changes", Node::List(changes.collect()));
        Node::Part(parts)
    }
}

fn stream_node(stream: &super::Stream) -> Node {
    let mut parts = moles_node(stream.moles);
    let congeners = stream.congeners.iter().map(|(c, amount)| (c.key, Node::from(*amount)));
    parts.push(("congeners", Node::part(congeners)));
    Node::part(parts)
}

fn held_node(held: &Held) -> Node {
    let Node::Part(mut parts) = stream_node(&held.stream) else { return Node::Part(Vec::new()) };
    parts.insert(0, ("stream".to_owned(), held.stream.name.as_str().into()));
    parts.insert(0, ("family".to_owned(), held.family.as_str().into()));
    Node::Part(parts)
}

fn row_node(row: &Row) -> Node {
    Node::part([
        ("cycle", Node::from(f64::from(row.cycle))),
        ("make", row.make.as_str().into()),
        ("kind", row.kind.word().into()),
        ("transition", Node::Flag(row.transition.total_mol() > 0.0)),
        ("product_pure_alcohol_l", row.product.pure_alcohol_l().into()),
        ("transition_pure_alcohol_l", row.transition.pure_alcohol_l().into()),
        ("stills", work_nodes(&row.work)),
        ("receivers", Node::List(row.receivers.iter().map(held_node).collect())),
        ("streams", stream_nodes(&row.streams)),
    ])
}
