//! The values given to a measure, checked against its inputs.

use super::{Input, Need};
use crate::measured::Measured;
use crate::tree::nearest;
use crate::{Fault, Field, Node};

/// Figures and words that a measure was given, defaults filled in.
#[derive(Debug, Clone, PartialEq)]
pub struct Values {
    figures: Vec<(&'static Field, f64)>,
    uncertainties: Vec<(&'static Field, f64)>,
    words: Vec<(&'static str, &'static str)>,
}

impl Values {
    /// Reads a part against `inputs`; every fault at once.
    pub fn read(inputs: &'static [Input], node: &Node) -> Result<Self, Vec<Fault>> {
        let entries: &[(String, Node)] = match node {
            Node::Part(entries) => entries,
            _ => &[],
        };
        let mut values = Self { figures: Vec::new(), uncertainties: Vec::new(), words: Vec::new() };
        let mut faults = unknown(inputs, entries);
        for input in inputs {
            let at = |key: &str| given(entries, key);
            match input {
                Input::Choice { key, words, .. } => match word(key, words, at(key)) {
                    Ok(word) => values.words.push((key, word)),
                    Err(fault) => faults.push(fault),
                },
                Input::Figure { field, need } => {
                    match figure(field, at(field.key)) {
                        Ok(Some(value)) => values.figures.push((field, value)),
                        Ok(None) if *need == Need::Must => faults.push(missing(field)),
                        Ok(None) => {}
                        Err(fault) => faults.push(fault),
                    }
                    let key = format!("u_{}", field.key);
                    match uncertainty(&key, field, at(&key)) {
                        Ok(Some(u)) => values.uncertainties.push((field, u)),
                        Ok(None) => {}
                        Err(fault) => faults.push(fault),
                    }
                }
            }
        }
        faults.extend(groups(inputs, entries));
        if faults.is_empty() { Ok(values) } else { Err(faults) }
    }

    /// The figure under `key`; a measure asks only for what its inputs say must be there.
    pub(super) fn get(&self, key: &str) -> f64 {
        self.maybe(key).unwrap_or(f64::NAN)
    }

    /// The figure under `key`, where it was given.
    pub fn maybe(&self, key: &str) -> Option<f64> {
        self.figures.iter().find(|(field, _)| field.key == key).map(|(_, value)| *value)
    }

    /// The word under `key`.
    pub(super) fn word(&self, key: &str) -> &'static str {
        self.words.iter().find(|(k, _)| *k == key).map_or("", |(_, word)| word)
    }

    pub(super) fn set(&mut self, key: &str, value: f64) {
        for (field, old) in &mut self.figures {
            if field.key == key {
                *old = value;
            }
        }
    }

    /// The figures that are uncertain: by their `u_x`, or where `usual`, by the usual instrument.
    pub(super) fn uncertain(&self, usual: bool) -> Vec<(&'static Field, Measured)> {
        let mut out = Vec::new();
        for (field, value) in &self.figures {
            let stated = self.uncertainties.iter().find(|(f, _)| f.key == field.key);
            let u = match stated {
                Some((_, u)) => *u,
                None if usual => field.sd,
                None => 0.0,
            };
            if u > 0.0 {
                out.push((*field, Measured::new(*value, u)));
            }
        }
        out
    }
}

fn given<'n>(entries: &'n [(String, Node)], key: &str) -> Option<&'n Node> {
    let node = entries.iter().find(|(k, _)| k == key).map(|(_, node)| node)?;
    (*node != Node::Blank).then_some(node)
}

fn figure(field: &Field, node: Option<&Node>) -> Result<Option<f64>, Fault> {
    match node {
        None => Ok(field.default),
        Some(Node::Number(value)) => field.check(*value).map(Some),
        Some(other) => Err(not_a_figure(field.key.to_owned(), other, field.unit)),
    }
}

fn uncertainty(key: &str, field: &Field, node: Option<&Node>) -> Result<Option<f64>, Fault> {
    match node {
        None => Ok(None),
        Some(Node::Number(value)) => {
            Fault::check(key.to_owned(), *value, field.unit, 0.0..=field.high - field.low).map(Some)
        }
        Some(other) => Err(not_a_figure(key.to_owned(), other, field.unit)),
    }
}

fn not_a_figure(key: String, node: &Node, unit: &'static str) -> Fault {
    Fault::NotAFigure { field: key.into(), found: node.found(), unit }
}

fn missing(field: &Field) -> Fault {
    Fault::Missing { field: field.key.into(), unit: field.unit, low: field.low, high: field.high }
}

fn word(
    key: &'static str,
    words: &'static [&'static str],
    node: Option<&Node>,
) -> Result<&'static str, Fault> {
    let Some(node) = node else {
        return Ok(words[0]);
    };
    let found = match node {
        Node::Text(text) => text.clone(),
        other => other.found(),
    };
    words.iter().find(|w| **w == found).copied().ok_or_else(|| Fault::NotAllowed {
        field: key.into(),
        found,
        allowed: words.iter().map(|w| (*w).to_owned()).collect(),
    })
}

/// Keys that no input reads.
fn unknown(inputs: &'static [Input], entries: &[(String, Node)]) -> Vec<Fault> {
    let known = |key: &str| {
        inputs.iter().any(|input| match input {
            Input::Figure { field, .. } => {
                key == field.key || key.strip_prefix("u_") == Some(field.key)
            }
            Input::Choice { key: name, .. } => key == *name,
        })
    };
    entries
        .iter()
        .filter(|(key, _)| !known(key))
        .map(|(key, _)| Fault::Unknown {
            near: nearest(key, inputs.iter().map(Input::key)).map(str::to_owned),
            field: key.clone().into(),
        })
        .collect()
}

/// Groups of which none or several were given. A figure with a default counts when it is given.
fn groups(inputs: &'static [Input], entries: &[(String, Node)]) -> Vec<Fault> {
    let mut names: Vec<&'static str> = Vec::new();
    for input in inputs {
        if let Input::Figure { need: Need::OneOf(group), .. } = input
            && !names.contains(group)
        {
            names.push(group);
        }
    }
    let mut faults = Vec::new();
    for name in names {
        let keys: Vec<&'static str> = inputs
            .iter()
            .filter(|i| matches!(i, Input::Figure { need: Need::OneOf(g), .. } if *g == name))
            .map(Input::key)
            .collect();
        let count = keys.iter().filter(|key| given(entries, key).is_some()).count();
        if count != 1 {
            faults.push(Fault::OneOf { field: "".into(), keys, given: count });
        }
    }
    faults
}
