//! A table as CSV (RFC 4180): keys as heads, every digit kept, totals left out.

use crate::figure;
use crate::table::{Cell, RowKind, Table, Value};

impl Table {
    /// Draws the table as CSV. Sums are left out, since whoever reads it can add and a sum among
    /// the rows would be counted twice.
    pub fn csv(&self) -> String {
        let mut out = String::new();
        let heads = self.columns.iter().map(|c| quoted(&c.key));
        push(&mut out, heads);
        for row in self.rows.iter().filter(|r| r.kind != RowKind::Total) {
            push(&mut out, row.cells.iter().map(bare));
        }
        out
    }
}

fn push(out: &mut String, cells: impl Iterator<Item = String>) {
    let line: Vec<String> = cells.collect();
    out.push_str(&line.join(","));
    out.push_str("\r\n");
}

fn bare(cell: &Cell) -> String {
    match &cell.value {
        Value::Blank => String::new(),
        Value::Text(text) => quoted(text),
        Value::Figure(value) => format!("{value}"),
        Value::Millionths(micro) => figure::millionths_plain(*micro, 6),
    }
}

fn quoted(text: &str) -> String {
    if text.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text.to_owned()
    }
}
