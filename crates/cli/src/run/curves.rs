//! The course of a run as a CSV file.

use process::Curves;

/// Writes the columns to `file`, or to standard output when it is `-`. The file is whole or not
/// there at all: it is written beside its place and then moved.
pub(super) fn write(curves: &Curves, file: &str) -> Result<(), String> {
    let text = text(curves);
    if file == "-" {
        crate::out::say(&text);
        return Ok(());
    }
    let beside = format!("{file}.part");
    std::fs::write(&beside, text)
        .and_then(|()| std::fs::rename(&beside, file))
        .map_err(|e| format!("{file} cannot be written: {e}"))
}

fn text(curves: &Curves) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let keys = curves.columns.iter().map(|c| c.key.as_str());
    writer.write_record(keys).expect("a vector takes every write");
    for row in 0..curves.rows() {
        let cells = curves.columns.iter().map(|c| figure(c.values[row]));
        writer.write_record(cells).expect("a vector takes every write");
    }
    let bytes = writer.into_inner().expect("a vector takes every write");
    String::from_utf8(bytes).expect("made of text")
}

/// All the digits a figure has; blank when it is not a number.
fn figure(value: f64) -> String {
    if value.is_finite() { format!("{value}") } else { String::new() }
}
