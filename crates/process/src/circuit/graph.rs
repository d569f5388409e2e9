//! The stills as a graph: which stream flows where, and what carries over to the next cycle.

use gauge::Fault;
use gauge::fault::Side;

use super::{Source, Vessel};

/// One flow from a stream into a still.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Flow {
    /// The stream it comes from.
    pub(super) stream: usize,
    /// Which share of it.
    pub(super) fraction: f64,
    /// Whether it is of the cycle before.
    pub(super) carried: bool,
}

/// The streams by number: the wash is 0, then for each still its cuts and its residue.
#[derive(Debug, Clone)]
pub(super) struct Graph {
    /// Their names.
    pub(super) names: Vec<String>,
    /// The still that makes each; none makes the wash.
    pub(super) maker: Vec<Option<usize>>,
    /// What flows into each still.
    pub(super) flows: Vec<Vec<Flow>>,
    /// Streams that carry over.
    pub(super) carried: Vec<usize>,
    /// The share of each stream that goes back into a still.
    pub(super) used: Vec<f64>,
    /// The product.
    pub(super) product: usize,
}

impl Graph {
    /// Builds it, and refuses names that are not there and shares that do not make a whole.
    pub(super) fn new(vessel: &Vessel, product: &str) -> Result<Self, Fault> {
        let mut names = vec!["wash".to_owned()];
        let mut maker = vec![None];
        for (place, still) in vessel.stills.iter().enumerate() {
            let known = vessel.stills[..place].iter().any(|s| s.name == still.name);
            if known || still.name.is_empty() || still.name.contains('.') {
                return Err(bad_name(format!("still[{place}].name"), &still.name));
            }
            for (number, cut) in still.cuts.iter().enumerate() {
                let again = still.cuts[..number].iter().any(|c| c.name == cut.name);
                let taken = ["", "charge", "residue"].contains(&cut.name.as_str());
                if again || taken || cut.name.contains('.') {
                    return Err(bad_name(format!("still[{place}].cut[{number}].name"), &cut.name));
                }
                names.push(format!("{}.{}", still.name, cut.name));
                maker.push(Some(place));
            }
            names.push(format!("{}.residue", still.name));
            maker.push(Some(place));
        }
        let mut graph = Self {
            used: vec![0.0; names.len()],
            flows: Vec::with_capacity(vessel.stills.len()),
            carried: Vec::new(),
            product: 0,
            names,
            maker,
        };
        graph.join(vessel)?;
        graph.product = graph.find(product, "product")?;
        graph.all_goes_somewhere(vessel)?;
        graph.wash_comes_everywhere(vessel)?;
        Ok(graph)
    }

    /// The place in `carried` of a flow that is of the cycle before.
    pub(super) fn carried_at(&self, flow: &Flow) -> Option<usize> {
        flow.carried.then(|| self.carried.iter().position(|s| *s == flow.stream)).flatten()
    }

    /// Whether a stream is what a still leaves in the pot.
    pub(super) fn residue(&self, stream: usize) -> bool {
        self.names[stream].ends_with(".residue")
    }

    fn join(&mut self, vessel: &Vessel) -> Result<(), Fault> {
        let mut given = vec![0.0; self.names.len()];
        let mut last = vec![String::new(); self.names.len()];
        for (place, still) in vessel.stills.iter().enumerate() {
            if still.charge.is_empty() {
                return Err(Fault::MissingPart {
                    field: format!("still[{place}].charge").into(),
                    wanted: "a list of what it is charged with",
                });
            }
            let mut flows = Vec::with_capacity(still.charge.len());
            for (number, source) in still.charge.iter().enumerate() {
                let path = format!("still[{place}].charge[{number}]");
                let stream = self.share(source, &path, &mut given, &mut last)?;
                let carried = self.maker[stream].is_some_and(|maker| maker >= place);
                if carried && !self.carried.contains(&stream) {
                    self.carried.push(stream);
                }
                self.used[stream] += source.fraction;
                flows.push(Flow { stream, fraction: source.fraction, carried });
            }
            self.flows.push(flows);
        }
        for (number, stock) in vessel.stocks.iter().enumerate() {
            self.share(&stock.source, &format!("stock[{number}]"), &mut given, &mut last)?;
        }
        for (stream, sum) in given.iter().enumerate() {
            // What nothing takes leaves the circuit whole: product, pot ale, lees.
            if *sum > 0.0 && (sum - 1.0).abs() > 1e-9 {
                let side = if *sum > 1.0 { Side::AtMost } else { Side::AtLeast };
                return Err(Fault::Beyond {
                    field: format!("{}.fraction", last[stream]).into(),
                    value: *sum,
                    unit: "",
                    side,
                    limit: 1.0,
                    sets: format!(
                        "for the shares of {} make a whole; a stock may take the rest",
                        self.names[stream]
                    )
                    .into(),
                });
            }
        }
        Ok(())
    }

    /// A cut that is neither the product nor charged again nor stock would be lost without a word:
    /// a route that never returns its feints.
    fn all_goes_somewhere(&self, vessel: &Vessel) -> Result<(), Fault> {
        for (place, still) in vessel.stills.iter().enumerate() {
            for (number, cut) in still.cuts.iter().enumerate() {
                let name = format!("{}.{}", still.name, cut.name);
                let stream = self.find(&name, "cut")?;
                let stocked = vessel.stocks.iter().any(|stock| stock.source.from == name);
                if self.used[stream] > 0.0 || stocked || stream == self.product {
                    continue;
                }
                return Err(Fault::Unworkable {
                    field: format!("still[{place}].cut[{number}]").into(),
                    trouble: format!("{name} goes nowhere: no still is charged with it"),
                    remedy: format!(
                        "return it with {{ from = \"{name}\" }} in the charge of {}, or name a \
                         [[stock]] with from = \"{name}\"",
                        vessel.stills.last().map_or("a still", |last| &last.name),
                    ),
                });
            }
        }
        Ok(())
    }

    /// A still that the wash never comes to has nothing to boil.
    fn wash_comes_everywhere(&self, vessel: &Vessel) -> Result<(), Fault> {
        let mut wet = vec![false; vessel.stills.len()];
        for _ in 0..wet.len() {
            for (place, flows) in self.flows.iter().enumerate() {
                wet[place] |= flows.iter().any(|f| self.maker[f.stream].is_none_or(|m| wet[m]));
            }
        }
        let Some(dry) = wet.iter().position(|wet| !wet) else { return Ok(()) };
        let name = &vessel.stills[dry].name;
        let ways: Vec<String> = (0..self.names.len())
            .filter(|s| !self.residue(*s) && self.maker[*s].is_none_or(|m| wet[m]))
            .map(|stream| format!("\"{}\"", self.names[stream]))
            .collect();
        Err(Fault::Unworkable {
            field: format!("still[{dry}].charge").into(),
            trouble: format!(
                "no wash ever comes to {name}: it is fed only by what it makes itself"
            ),
            remedy: format!("charge it also from one of {}", ways.join(", ")),
        })
    }

    fn share(
        &self,
        source: &Source,
        path: &str,
        given: &mut [f64],
        last: &mut [String],
    ) -> Result<usize, Fault> {
        let field = format!("{path}.fraction");
        Fault::check(field, source.fraction, "", LEAST_SHARE..=1.0)?;
        let stream = self.find(&source.from, &format!("{path}.from"))?;
        given[stream] += source.fraction;
        path.clone_into(&mut last[stream]);
        Ok(stream)
    }

    fn find(&self, name: &str, path: &str) -> Result<usize, Fault> {
        self.names.iter().position(|n| n == name).ok_or_else(|| Fault::NotAllowed {
            field: path.to_owned().into(),
            found: name.to_owned(),
            allowed: self.names.clone(),
        })
    }
}

/// Least share of a stream that is worth a pipe.
pub(super) const LEAST_SHARE: f64 = 1e-6;

fn bad_name(field: String, found: &str) -> Fault {
    Fault::NotAllowed {
        field: field.into(),
        found: found.to_owned(),
        allowed: vec!["a name of its own, without a dot, not \"charge\" or \"residue\"".to_owned()],
    }
}
