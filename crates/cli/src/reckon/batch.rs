//! A CSV file of reckonings. Its columns are kept, results and messages added; a row at fault
//! keeps its place.

use super::row::{Row, cell};
use super::sink::{Columns, Sink, plain, spelt};
use crate::{out, status};
use gauge::measure::{Input, Measure};
use gauge::tree::nearest;
use gauge::{Fault, Node};
use std::io::{self, BufWriter, ErrorKind, Read};

/// Reckons the rows of `file`. `flags` stand in every row whose own cell is blank or not there.
pub(super) fn run(
    measure: &'static Measure,
    file: &str,
    flags: &[(String, Node)],
    as_json: bool,
) -> u8 {
    let source: Box<dyn Read> = if file == "-" {
        Box::new(io::stdin().lock())
    } else {
        match std::fs::File::open(file) {
            Ok(opened) => Box::new(opened),
            Err(fault) => {
                out::complain(&format!("{file} cannot be read: {fault}"));
                return status::WRONG_USE;
            }
        }
    };
    let to = BufWriter::new(io::stdout().lock());
    match reckon(measure, source, to, &Asked { flags, as_json }) {
        Ok(done) => done,
        // The reader has gone away: nothing to say and nobody to say it to.
        Err(fault) if fault.kind() == ErrorKind::BrokenPipe => status::GOOD,
        Err(fault) => {
            out::complain(&format!("{file}: {fault}"));
            status::FAULT
        }
    }
}

/// How the rows are wanted.
pub(super) struct Asked<'f> {
    flags: &'f [(String, Node)],
    as_json: bool,
}

/// The rows of a table and its columns, cell by cell.
struct Table<R: Read> {
    columns: Vec<String>,
    rows: csv::ByteRecordsIntoIter<R>,
}

impl<R: Read> Table<R> {
    fn open(source: R) -> io::Result<Self> {
        let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(source);
        let header = reader.byte_headers().map_err(plain)?;
        let mut columns: Vec<String> = header.iter().map(text).collect();
        // Spreadsheets put a mark before the first column's name.
        if let Some(first) = columns.first_mut() {
            *first = first.trim_start_matches('\u{feff}').to_owned();
        }
        Ok(Self { columns, rows: reader.into_byte_records() })
    }

    fn next(&mut self) -> io::Result<Option<(u64, Vec<String>)>> {
        let Some(record) = self.rows.next() else {
            return Ok(None);
        };
        let record = record.map_err(plain)?;
        let line = record.position().map_or(0, csv::Position::line);
        Ok(Some((line, record.iter().map(text).collect())))
    }
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

pub(super) fn reckon(
    measure: &'static Measure,
    source: impl Read,
    to: impl io::Write,
    asked: &Asked<'_>,
) -> io::Result<u8> {
    let mut table = Table::open(source)?;
    tell_of_slips(measure, &table.columns);
    let uncertain = table.columns.iter().any(|c| is_uncertainty(measure, &spelt(c)))
        || asked.flags.iter().any(|(key, _)| key.starts_with("u_"));
    if measure.lots() {
        return blends(measure, table, to, asked, uncertain);
    }
    let columns = Columns::new(measure, table.columns.clone(), uncertain);
    let mut sink = Sink::new(to, asked.as_json, &columns)?;
    let mut done = status::GOOD;
    while let Some((_, cells)) = table.next()? {
        let row = match too_many(&columns.given, &cells) {
            Some(fault) => Row::at_fault(measure, vec![fault]),
            None => Row::reckon(measure, &[part(measure, &columns.given, &cells, asked.flags)]),
        };
        if !row.faults.is_empty() {
            done = status::FAULT;
        }
        sink.row(measure, &columns, &cells, &row)?;
    }
    sink.end()?;
    Ok(done)
}

/// The lots of one blend and the lines they stand on.
struct Group {
    name: String,
    lots: Vec<Node>,
    lines: Vec<u64>,
    faults: Vec<Fault>,
}

/// Rows are lots; those of one value of the column `blend` go together, in the order they come.
fn blends<R: Read>(
    measure: &'static Measure,
    mut table: Table<R>,
    to: impl io::Write,
    asked: &Asked<'_>,
    uncertain: bool,
) -> io::Result<u8> {
    let place = table.columns.iter().position(|column| spelt(column) == "blend");
    let mut groups: Vec<Group> = Vec::new();
    while let Some((line, cells)) = table.next()? {
        let name = place.and_then(|p| cells.get(p)).map_or("", |c| c.trim()).to_owned();
        let at = groups.iter().position(|group| group.name == name).unwrap_or_else(|| {
            groups.push(Group { name, lots: Vec::new(), lines: Vec::new(), faults: Vec::new() });
            groups.len() - 1
        });
        let group = &mut groups[at];
        group.faults.extend(too_many(&table.columns, &cells));
        group.lots.push(part(measure, &table.columns, &cells, asked.flags));
        group.lines.push(line);
    }
    let given: Vec<String> = place.map(|_| "blend".to_owned()).into_iter().collect();
    let columns = Columns::new(measure, given, uncertain);
    let mut sink = Sink::new(to, asked.as_json, &columns)?;
    let mut done = status::GOOD;
    for group in groups {
        let mut row = if group.faults.is_empty() {
            Row::reckon(measure, &group.lots)
        } else {
            Row::at_fault(measure, group.faults)
        };
        if !row.faults.is_empty() {
            done = status::FAULT;
            row.faults = row.faults.into_iter().map(|f| on_its_line(f, &group.lines)).collect();
        }
        sink.row(measure, &columns, &[group.name], &row)?;
    }
    sink.end()?;
    Ok(done)
}

/// A fault of `lot[i]`, told by the line of the file it stands on.
fn on_its_line(fault: Fault, lines: &[u64]) -> Fault {
    let said = fault.to_string();
    let place = said.strip_prefix("lot[").and_then(|rest| {
        let (index, rest) = rest.split_once(']')?;
        let line = lines.get(index.parse::<usize>().ok()?)?;
        Some(format!("line {line}: {}", rest.trim_start_matches(['.', ':', ' '])))
    });
    place.map_or(fault, |says| Fault::Syntax { says })
}

fn too_many(columns: &[String], cells: &[String]) -> Option<Fault> {
    (cells.len() > columns.len()).then(|| Fault::Syntax {
        says: format!("the row has {} cells under {} columns", cells.len(), columns.len()),
    })
}

/// The part of a row that a measure reads. Columns it does not know are the writer's own.
fn part(measure: &Measure, columns: &[String], cells: &[String], flags: &[(String, Node)]) -> Node {
    let mut entries: Vec<(String, Node)> = Vec::new();
    for (column, text) in columns.iter().zip(cells) {
        let key = spelt(column);
        let known = measure.inputs.iter().any(|input| input.key() == key);
        if (known || is_uncertainty(measure, &key)) && !text.trim().is_empty() {
            entries.push((key, cell(text)));
        }
    }
    for (key, node) in flags {
        if !entries.iter().any(|(k, _)| k == key) {
            entries.push((key.clone(), node.clone()));
        }
    }
    Node::Part(entries)
}

fn is_uncertainty(measure: &Measure, key: &str) -> bool {
    key.strip_prefix("u_").is_some_and(|of| {
        measure.inputs.iter().any(|i| matches!(i, Input::Figure { field, .. } if field.key == of))
    })
}

/// A column nearly named as an input is more likely a slip than the writer's own.
fn tell_of_slips(measure: &Measure, columns: &[String]) {
    let spelt_columns: Vec<String> = columns.iter().map(|c| spelt(c)).collect();
    for (column, key) in columns.iter().zip(&spelt_columns) {
        let known = measure.inputs.iter().any(|i| i.key() == key)
            || measure.outputs.iter().any(|o| o.key == key)
            || key.starts_with("u_");
        let missing = measure.inputs.iter().map(Input::key);
        let missing = missing.filter(|k| !spelt_columns.iter().any(|c| c == k));
        if !known && let Some(near) = nearest(key, missing) {
            out::complain(&format!("nothing reads the column {column}; is it {near}?"));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Whatever the file, every row of it comes out in its place, or the reading stops with a
    /// fault; nothing panics. What comes out is CSV, or JSON, again.
    fn any_file_is_answered(text: &[u8]) {
        for measure in gauge::measure::all() {
            for as_json in [false, true] {
                let mut out = Vec::new();
                let asked = Asked { flags: &[], as_json };
                if reckon(measure, text, &mut out, &asked).is_err() {
                    continue;
                }
                if as_json {
                    let rows: serde_json::Value = serde_json::from_slice(&out).expect("JSON");
                    assert!(rows.is_array());
                    continue;
                }
                let count = |text: &[u8]| {
                    let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(text);
                    reader.byte_records().count()
                };
                if !measure.lots() {
                    assert_eq!(count(&out), count(text), "{}", measure.key);
                }
            }
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(48))]

        #[test]
        fn any_bytes_do(text in proptest::collection::vec(any::<u8>(), 0..200)) {
            any_file_is_answered(&text);
        }

        #[test]
        fn anything_under_true_headers_does(
            rows in proptest::collection::vec("[-0-9.eE,\"naif \n]{0,24}", 0..6),
        ) {
            let header = "density_kg_m3,temperature_c,strength_pct,bulk_l,blend,u_bulk_l,gravity";
            any_file_is_answered(format!("{header}\n{}", rows.join("\n")).as_bytes());
        }
    }
}
