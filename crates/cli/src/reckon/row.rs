//! One row: what was given, what was reckoned, and what is to be said about it.

use crate::json;
use gauge::measure::Measure;
use gauge::{Fault, Node, Warning};
use serde_json::{Map, Value};

/// A row that has been reckoned. Where anything is at fault there are no results.
pub(super) struct Row {
    /// One for each output of the measure, in order; blank where the row is at fault.
    pub(super) values: Vec<(&'static str, Node)>,
    /// Standard uncertainties of outputs, where any input had one.
    pub(super) uncertainties: Vec<(&'static str, f64)>,
    /// What to know about figures that stand.
    pub(super) warnings: Vec<Warning>,
    /// Echoes and codes of the warnings, as the `warning` column has them.
    pub(super) warning: String,
    /// What is wrong.
    pub(super) faults: Vec<Fault>,
}

/// Gives a cell of a table, or the text of a flag, as a figure where it is one.
pub(super) fn cell(text: &str) -> Node {
    let text = text.trim();
    if text.is_empty() {
        return Node::Blank;
    }
    // Straight to the variant: `Node::from` would make a blank of "nan", which is to be refused.
    text.parse().map_or_else(|_| Node::from(text), Node::Number)
}

impl Row {
    /// Reckons it; several lots only for a measure of lots.
    pub(super) fn reckon(measure: &'static Measure, lots: &[Node]) -> Self {
        let outcome = match measure.reckon_lots(lots) {
            Ok(outcome) => outcome,
            Err(faults) => return Self::at_fault(measure, faults),
        };
        let mut uncertainties = Vec::new();
        if lots.iter().any(has_uncertainty) {
            match measure.uncertainty_lots(lots, false) {
                Ok(known) => {
                    let pairs = known.iter().map(|k| (k.key, k.standard_uncertainty));
                    uncertainties.extend(pairs);
                }
                Err(faults) => return Self::at_fault(measure, faults),
            }
        }
        let codes: Vec<String> =
            outcome.warnings.iter().map(|w| column_text(measure, w, lots)).collect();
        Self {
            values: outcome.values,
            uncertainties,
            warning: codes.join("; "),
            warnings: outcome.warnings,
            faults: Vec::new(),
        }
    }

    /// A row that cannot be reckoned.
    pub(super) fn at_fault(measure: &'static Measure, faults: Vec<Fault>) -> Self {
        let values = measure.outputs.iter().map(|output| (output.key, Node::Blank)).collect();
        Self {
            values,
            uncertainties: Vec::new(),
            warnings: Vec::new(),
            warning: String::new(),
            faults,
        }
    }

    /// The text of the `fault` column.
    pub(super) fn fault(&self) -> String {
        let said: Vec<String> = self.faults.iter().map(Fault::to_string).collect();
        said.join("; ")
    }

    /// The row as a JSON object: what was given, then what was reckoned, then the messages.
    pub(super) fn object<'k>(
        &self,
        measure: &Measure,
        given: impl Iterator<Item = (&'k str, Value)>,
    ) -> Value {
        let mut map: Map<String, Value> = given.map(|(k, v)| (k.to_owned(), v)).collect();
        for (key, node) in &self.values {
            if map.get(*key).is_none_or(Value::is_null) {
                map.insert((*key).to_owned(), json::value(node));
            }
        }
        for output in measure.outputs {
            if let Some((key, u)) = self.uncertainties.iter().find(|(key, _)| *key == output.key) {
                map.insert(format!("u_{key}"), Value::from(*u));
            }
        }
        let message = |text: String| if text.is_empty() { Value::Null } else { text.into() };
        map.insert("warning".to_owned(), message(self.warning.clone()));
        map.insert("fault".to_owned(), message(self.fault()));
        Value::Object(map)
    }
}

fn has_uncertainty(lot: &Node) -> bool {
    let Node::Part(entries) = lot else {
        return false;
    };
    entries.iter().any(|(key, node)| key.starts_with("u_") && *node != Node::Blank)
}

/// A warning's code; one that is the key of an input echoes what was given there.
fn column_text(measure: &Measure, warning: &Warning, lots: &[Node]) -> String {
    let given = lots.iter().find_map(|lot| lot.get(warning.code)?.number());
    match given {
        Some(value) if measure.inputs.iter().any(|i| i.key() == warning.code) => {
            format!("{}={value}", warning.code)
        }
        _ => warning.code.to_owned(),
    }
}
