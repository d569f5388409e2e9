//! Where the rows of a batch go: CSV or JSON, to a locked standard output.

use super::row::{Row, cell};
use crate::json;
use gauge::Node;
use gauge::measure::{Input, Measure};
use std::io::{self, Write};

/// The columns of a batch: those it came with, and those that are added.
pub(super) struct Columns {
    /// As they came, spelt as they came.
    pub(super) given: Vec<String>,
    /// Results that no column came for, then `u_` of results where any was asked for.
    added: Vec<String>,
}

impl Columns {
    pub(super) fn new(measure: &Measure, given: Vec<String>, uncertain: bool) -> Self {
        let here = |key: &str| given.iter().any(|column| spelt(column) == key);
        let mut added: Vec<String> = measure
            .outputs
            .iter()
            .filter(|output| !here(output.key))
            .map(|output| output.key.to_owned())
            .collect();
        if uncertain {
            // A result that is also a choice is a word, and words are not uncertain.
            let word = |key: &str| {
                measure
                    .inputs
                    .iter()
                    .any(|i| matches!(i, Input::Choice { key: k, .. } if *k == key))
            };
            let figures = measure.outputs.iter().filter(|output| !word(output.key));
            let keys = figures.map(|output| format!("u_{}", output.key));
            added.extend(keys.filter(|key| !here(key)));
        }
        added.extend(["warning", "fault"].map(str::to_owned).into_iter().filter(|k| !here(k)));
        Self { given, added }
    }

    fn all(&self) -> impl Iterator<Item = &String> {
        self.given.iter().chain(&self.added)
    }
}

/// A column's name as a key: hyphens are underscores.
pub(super) fn spelt(column: &str) -> String {
    column.trim().replace('-', "_")
}

/// The fault beneath a CSV fault, so that a reader that has gone away is still known as that.
pub(super) fn plain(fault: csv::Error) -> io::Error {
    let says = fault.to_string();
    match fault.into_kind() {
        csv::ErrorKind::Io(beneath) => beneath,
        _ => io::Error::other(says),
    }
}

/// CSV or JSON.
pub(super) enum Sink<W: Write> {
    /// Rows under a header.
    Csv(Box<csv::Writer<W>>),
    /// An array of objects, one a line.
    Json {
        /// Where to.
        out: W,
        /// Whether a row has been written.
        begun: bool,
    },
}

impl<W: Write> Sink<W> {
    pub(super) fn new(out: W, as_json: bool, columns: &Columns) -> io::Result<Self> {
        if as_json {
            return Ok(Self::Json { out, begun: false });
        }
        let mut writer = csv::WriterBuilder::new().flexible(true).from_writer(out);
        writer.write_record(columns.all()).map_err(plain)?;
        Ok(Self::Csv(Box::new(writer)))
    }

    /// Writes a row: `given` is its cells in the order of the columns it came with.
    pub(super) fn row(
        &mut self,
        measure: &Measure,
        columns: &Columns,
        given: &[String],
        row: &Row,
    ) -> io::Result<()> {
        match self {
            Self::Csv(writer) => {
                let cells = columns.all().enumerate().map(|(place, column)| {
                    let came = given.get(place).filter(|text| !text.trim().is_empty());
                    written(row, &spelt(column), came)
                });
                writer.write_record(cells).map_err(plain)
            }
            Self::Json { out, begun } => {
                let pairs = columns.given.iter().zip(given).map(|(column, text)| {
                    let node = cell(text);
                    // What is not a number has no place in JSON but as the text it came as.
                    let value = match node {
                        Node::Number(x) if !x.is_finite() => text.clone().into(),
                        node => json::value(&node),
                    };
                    (column.as_str(), value)
                });
                let object = row.object(measure, pairs);
                out.write_all(if *begun { b",\n" } else { b"[\n" })?;
                *begun = true;
                write!(out, "{object}")
            }
        }
    }

    pub(super) fn end(self) -> io::Result<()> {
        match self {
            Self::Csv(mut writer) => writer.flush(),
            Self::Json { mut out, begun } => {
                out.write_all(if begun { b"\n]\n" } else { b"[]\n" })?;
                out.flush()
            }
        }
    }
}

/// One cell: the message, the uncertainty, what came, or what was reckoned.
fn written(row: &Row, key: &str, came: Option<&String>) -> String {
    match key {
        "warning" => return row.warning.clone(),
        "fault" => return row.fault(),
        _ => {}
    }
    if let Some(text) = came {
        return text.clone();
    }
    let figure = |value: Option<f64>| value.map(|v| v.to_string()).unwrap_or_default();
    if let Some(output) = key.strip_prefix("u_") {
        return figure(row.uncertainties.iter().find(|(k, _)| *k == output).map(|(_, u)| *u));
    }
    match row.values.iter().find(|(k, _)| *k == key) {
        Some((_, Node::Text(word))) => word.clone(),
        Some((_, node)) => figure(node.number()),
        None => String::new(),
    }
}
