//! What was typed in a reckoning's form, understood and reckoned.

use super::example;
use crate::form::{self, Wrong};
use gauge::measure::{Input, Known, Measure, Outcome};
use gauge::{Fault, Field, Node};
use std::collections::HashMap;

/// What was typed, what it means, what came of it.
#[derive(Debug, Default)]
pub(super) struct Asked {
    /// By name of field, as typed.
    typed: HashMap<String, String>,
    /// How many lots stand in the form.
    pub(super) lots: usize,
    /// Why a field cannot be used.
    wrong: HashMap<String, Wrong>,
    /// Why the whole cannot be reckoned, where no single field is to blame.
    pub(super) why: Vec<String>,
    /// Whether something that must be given is not there yet.
    pub(super) waits: Vec<String>,
    /// What came of it.
    pub(super) outcome: Option<Outcome>,
    /// How well each output is known.
    pub(super) known: Vec<Known>,
}

/// The most lots a form holds.
const MOST_LOTS: usize = 12;

impl Asked {
    /// The form as it stands when nothing has been typed: an example of the house's own size.
    pub(super) fn example(measure: &Measure) -> Self {
        let pairs: Vec<(String, String)> = example::of(measure.key)
            .iter()
            .map(|(key, value)| ((*key).to_owned(), (*value).to_owned()))
            .collect();
        Self::of(measure, &pairs)
    }

    /// What was sent, understood.
    pub(super) fn of(measure: &Measure, pairs: &[(String, String)]) -> Self {
        let mut asked = Self { typed: pairs.iter().cloned().collect(), lots: 1, ..Self::default() };
        if measure.lots() {
            let lots = asked.typed.get("lots").and_then(|n| n.parse().ok()).unwrap_or(2);
            asked.lots = lots.clamp(2, MOST_LOTS);
        }
        asked.take(pairs);
        let given: Vec<Node> = (0..asked.lots).filter_map(|lot| asked.lot(measure, lot)).collect();
        if asked.wrong.is_empty() && !given.is_empty() {
            asked.reckon(measure, &given);
        }
        asked
    }

    /// Puts a guess that was taken in its field.
    fn take(&mut self, pairs: &[(String, String)]) {
        let taken = pairs.iter().find(|(key, _)| key == "take");
        if let Some((name, value)) = taken.and_then(|(_, v)| v.split_once('=')) {
            self.typed.insert(name.to_owned(), value.to_owned());
        }
    }

    /// The figures of one lot; `None` where nothing of it is typed.
    fn lot(&mut self, measure: &Measure, lot: usize) -> Option<Node> {
        let mut entries = Vec::new();
        for input in measure.inputs {
            let name = name(input.key(), lot);
            let typed = self.typed(&name).to_owned();
            match input {
                Input::Figure { field, .. } => {
                    self.figure(field, &name, &typed, &mut entries);
                    let doubt = Field { key: "u", low: 0.0, ..*field };
                    let under = format!("u_{name}");
                    let typed = self.typed(&under).to_owned();
                    let mut found = Vec::new();
                    self.figure(&doubt, &under, &typed, &mut found);
                    entries.extend(found.into_iter().map(|(_, v)| (format!("u_{}", field.key), v)));
                }
                Input::Choice { key, .. } if !typed.is_empty() => {
                    entries.push(((*key).to_owned(), Node::Text(typed)));
                }
                Input::Choice { .. } => {}
            }
        }
        let nothing = entries.iter().all(|(_, node)| matches!(node, Node::Text(_)));
        (!nothing || self.lots == 1).then_some(Node::Part(entries))
    }

    fn figure(
        &mut self,
        field: &Field,
        name: &str,
        typed: &str,
        entries: &mut Vec<(String, Node)>,
    ) {
        match form::read(field, typed, None) {
            Ok(Some(value)) => entries.push((field.key.to_owned(), Node::Number(value))),
            Ok(None) => {}
            Err(wrong) => {
                self.wrong.insert(name.to_owned(), wrong);
            }
        }
    }

    fn reckon(&mut self, measure: &Measure, given: &[Node]) {
        match measure.reckon_lots(given) {
            Ok(outcome) => {
                self.outcome = Some(outcome);
                self.known = measure.uncertainty_lots(given, true).unwrap_or_default();
            }
            Err(faults) => faults.iter().for_each(|fault| self.blame(measure, fault)),
        }
    }

    /// Puts a fault beside the field that bears it, or above the answer where none does.
    fn blame(&mut self, measure: &Measure, fault: &Fault) {
        let path = fault.field().unwrap_or_default();
        let (lot, key) = match path.strip_prefix("lot[").and_then(|rest| rest.split_once("].")) {
            Some((index, key)) => (index.parse().unwrap_or(0), key),
            None => (0, path),
        };
        let input = measure.inputs.iter().find(|i| i.key() == key);
        let called = input.map_or_else(|| key.to_owned(), |i| i.label().to_owned());
        match fault {
            Fault::Missing { .. } | Fault::MissingPart { .. } => self.waits.push(called),
            Fault::OneOf { keys, given: 0, .. } => {
                let labels = keys.iter().map(|k| label(measure, k));
                self.waits.push(labels.collect::<Vec<_>>().join(" or "));
            }
            Fault::OneOf { keys, .. } => {
                let labels = keys.iter().map(|k| label(measure, k));
                let labels = labels.collect::<Vec<_>>().join(", ");
                self.why.push(format!("Give only one of these: {labels}."));
            }
            _ if input.is_some() => {
                let says = fault.to_string().replacen(path, &called, 1) + ".";
                self.wrong.insert(name(key, lot), Wrong { says, guess: None });
            }
            _ => self.why.push(format!("{fault}.")),
        }
    }

    /// What was typed under `name`.
    pub(super) fn typed(&self, name: &str) -> &str {
        self.typed.get(name).map_or("", String::as_str)
    }

    /// Why the field of this name cannot be used.
    pub(super) fn wrong(&self, name: &str) -> Option<Wrong> {
        self.wrong.get(name).cloned()
    }

    /// How well an output is known.
    pub(super) fn known(&self, key: &str) -> Option<&Known> {
        self.known.iter().find(|k| k.key == key && k.standard_uncertainty > 0.0)
    }
}

fn label(measure: &Measure, key: &str) -> String {
    let input = measure.inputs.iter().find(|i| i.key() == key);
    input.map_or_else(|| key.to_owned(), |i| crate::form::lower(i.label()))
}

/// The name under which a figure of a lot is sent; the first lot's is the key itself.
pub(super) fn name(key: &str, lot: usize) -> String {
    if lot == 0 { key.to_owned() } else { format!("{key}.{}", lot + 1) }
}
