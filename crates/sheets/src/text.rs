//! A table as plain text: for a terminal and for letters.

use crate::table::{Align, RowKind, Table};

impl Table {
    /// Draws the table in plain text, a total between a single and a double rule.
    pub fn text(&self) -> String {
        let heads: Vec<String> = self.columns.iter().map(super::Column::head_with_unit).collect();
        let cells: Vec<Vec<String>> = self
            .rows
            .iter()
            .map(|row| {
                let pairs = row.cells.iter().zip(&self.columns);
                pairs.map(|(cell, column)| cell.written(column)).collect()
            })
            .collect();
        let width = |i: usize| {
            let inner = cells.iter().map(|row| row[i].chars().count()).max();
            inner.unwrap_or(0).max(heads[i].chars().count())
        };
        let widths: Vec<usize> = (0..self.columns.len()).map(width).collect();
        let full: usize = widths.iter().sum::<usize>() + 2 * widths.len().saturating_sub(1);

        let mut out = String::new();
        if !self.caption.is_empty() {
            out.push_str(&self.caption);
            out.push('\n');
        }
        self.line(&mut out, &heads, &widths);
        rule(&mut out, '─', full);
        for (row, written) in self.rows.iter().zip(&cells) {
            if row.kind == RowKind::Total {
                rule(&mut out, '─', full);
            }
            self.line(&mut out, written, &widths);
            if row.kind == RowKind::Total {
                rule(&mut out, '═', full);
            }
        }
        for note in &self.notes {
            out.push_str(note);
            out.push('\n');
        }
        out
    }

    fn line(&self, out: &mut String, written: &[String], widths: &[usize]) {
        let mut line = String::new();
        for (i, (text, width)) in written.iter().zip(widths).enumerate() {
            if i > 0 {
                line.push_str("  ");
            }
            let pad = " ".repeat(width - text.chars().count());
            match self.columns[i].align {
                Align::Left => {
                    line.push_str(text);
                    line.push_str(&pad);
                }
                Align::Right => {
                    line.push_str(&pad);
                    line.push_str(text);
                }
            }
        }
        out.push_str(line.trim_end());
        out.push('\n');
    }
}

fn rule(out: &mut String, mark: char, width: usize) {
    out.extend(std::iter::repeat_n(mark, width));
    out.push('\n');
}

#[cfg(test)]
mod tests {
    use crate::{Cell, Column, Table};

    fn account() -> Table {
        let mut table = Table::new(
            "Spirit receiver",
            vec![
                Column::words("entry", "entry"),
                Column::figures("pure_alcohol_l", "pure alcohol", "L", 1),
                Column::figures("apart_l", "apart", "L", 1).reckoned().differences(),
            ],
        );
        table.row(vec!["heart, \"run\" 229".into(), 814_400_000_i64.into(), (-1.9).into()]);
        table.row(vec!["dip".into(), Cell::blank(), 0.0.into()]);
        table.total(vec!["sum".into(), 1_814_450_000_i64.into(), 2.6.into()]);
        table.note("Printed to 0.1 L, half to even.");
        table
    }

    #[test]
    fn plain_text_lines_up_and_the_total_is_ruled() {
        let want = "\
Spirit receiver
entry             pure alcohol, L  apart, L
───────────────────────────────────────────
heart, \"run\" 229            814.4      \u{2212}1.9
dip                                     0.0
───────────────────────────────────────────
sum                       1\u{202f}814.4      +2.6
═══════════════════════════════════════════
Printed to 0.1 L, half to even.
";
        assert_eq!(account().text(), want);
    }

    #[test]
    fn csv_keeps_every_digit_and_quotes_what_it_must() {
        let want = "\
entry,pure_alcohol_l,apart_l\r
\"heart, \"\"run\"\" 229\",814.400000,-1.9\r
dip,,0\r
";
        assert_eq!(account().csv(), want);
    }
}
