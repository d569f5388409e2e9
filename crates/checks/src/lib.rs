//! Reads the tables of `tests/reference/` for tests. A dev-dependency only.
//!
//! A table is CSV under header lines that begin with `#`. It is refused unless the header says
//! where the values come from (`# Source:`), how far to trust them (`# Grade:`), in what units
//! (`# Units:` or `# Columns:`) and why the tolerance is what it is (`# Tolerance:`).
//!
//! ```
//! let text = "# Source: arithmetic\n# Grade: computed\n# Units: none\n# Tolerance: exact\n\
//!             in,out,tol\n2,4,0\n3,9,0\n";
//! let table = checks::Table::parse(text).unwrap();
//! table.check(|row| (row.number("in").powi(2), row.number("out"), row.number("tol")));
//! ```

use std::path::Path;

/// What every header must say, each by one of these words at the start of a line.
const WANTED: [(&str, &[&str]); 4] = [
    ("source", &["Source:", "Sources:"]),
    ("grade", &["Grade:"]),
    ("units or columns", &["Units:", "Columns:"]),
    ("tolerance, and why", &["Tolerance:"]),
];

/// A reference table: its header and its rows.
#[derive(Debug, Clone)]
pub struct Table {
    /// Header lines without the `#`.
    pub header: Vec<String>,
    /// Names of the columns.
    pub columns: Vec<String>,
    /// The rows.
    pub rows: Vec<Row>,
}

/// One row: its line in the file and its values by column.
#[derive(Debug, Clone)]
pub struct Row {
    /// Line in the file, from 1.
    pub line: u64,
    columns: Vec<String>,
    values: Vec<String>,
}

/// Reads `tests/reference/NAME`; a test that needs it cannot go on without it.
///
/// # Panics
/// When the file is not there, is not CSV, or its header does not say what it must.
pub fn reference(name: &str) -> Table {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/reference").join(name);
    let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{name}: {e}"));
    Table::parse(&text).unwrap_or_else(|says| panic!("{name}: {says}"))
}

impl Table {
    /// Reads a table from its text, or says what is wrong with it.
    pub fn parse(text: &str) -> Result<Self, String> {
        let header: Vec<String> = text
            .lines()
            .take_while(|line| line.starts_with('#'))
            .map(|line| line.trim_start_matches('#').trim().to_owned())
            .collect();
        for (what, words) in WANTED {
            let says = |line: &String| {
                words
                    .iter()
                    .any(|w| line.strip_prefix(w).is_some_and(|rest| !rest.trim().is_empty()))
            };
            if !header.iter().any(says) {
                return Err(format!("the header does not say its {what} (# {})", words[0]));
            }
        }
        let mut reader = csv::ReaderBuilder::new()
            .comment(Some(b'#'))
            .trim(csv::Trim::All)
            .from_reader(text.as_bytes());
        let columns: Vec<String> =
            reader.headers().map_err(|e| e.to_string())?.iter().map(str::to_owned).collect();
        let mut rows = Vec::new();
        for record in reader.records() {
            let record = record.map_err(|e| e.to_string())?;
            rows.push(Row {
                line: record.position().map_or(0, csv::Position::line),
                columns: columns.clone(),
                values: record.iter().map(str::to_owned).collect(),
            });
        }
        if rows.is_empty() {
            return Err("the table has no rows".to_owned());
        }
        Ok(Self { header, columns, rows })
    }

    /// The rows whose `column` is `value`.
    #[must_use]
    pub fn only(&self, column: &str, value: &str) -> Self {
        let rows: Vec<Row> =
            self.rows.iter().filter(|row| row.text(column) == value).cloned().collect();
        assert!(!rows.is_empty(), "no row has {value} in {column}");
        Self { rows, ..self.clone() }
    }

    /// Holds every row against `look`, which gives what we get, what is wanted and the tolerance.
    /// Gives the largest miss over its tolerance, for the record.
    ///
    /// # Panics
    /// When any row misses; the message lists all of them.
    #[track_caller]
    pub fn check(&self, mut look: impl FnMut(&Row) -> (f64, f64, f64)) -> f64 {
        let mut misses = Vec::new();
        let mut worst = 0.0_f64;
        for row in &self.rows {
            let (got, wanted, tolerance) = look(row);
            let miss = (got - wanted).abs();
            if miss.is_nan() || miss > tolerance {
                misses.push(format!(
                    "line {}: got {got}, wanted {wanted} within {tolerance}: {}",
                    row.line,
                    row.values.join(",")
                ));
            } else if tolerance > 0.0 {
                worst = worst.max(miss / tolerance);
            }
        }
        assert!(
            misses.is_empty(),
            "{} of {} rows miss:\n{}",
            misses.len(),
            self.rows.len(),
            misses.join("\n")
        );
        worst
    }
}

impl Row {
    /// The text under `column`.
    ///
    /// # Panics
    /// When there is no such column.
    #[track_caller]
    pub fn text(&self, column: &str) -> &str {
        let place = self.columns.iter().position(|c| c == column);
        let place = place.unwrap_or_else(|| panic!("no column {column}"));
        self.values.get(place).map_or("", String::as_str)
    }

    /// The figure under `column`.
    ///
    /// # Panics
    /// When there is no such column or no figure in it.
    #[track_caller]
    pub fn number(&self, column: &str) -> f64 {
        let text = self.text(column);
        text.parse()
            .unwrap_or_else(|_| panic!("line {}: {column} is \"{text}\", not a figure", self.line))
    }

    /// The figure under `column`, or `None` where it is left empty.
    #[track_caller]
    pub fn maybe(&self, column: &str) -> Option<f64> {
        (!self.text(column).is_empty()).then(|| self.number(column))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const GOOD: &str = "# Title: squares\n# Source: arithmetic\n# Grade: computed\n\
                        # Units: none\n# Tolerance: exact\nin,out\n2,4\n";

    #[test]
    fn a_header_that_leaves_anything_out_is_refused() {
        assert!(Table::parse(GOOD).is_ok());
        for line in ["# Source: arithmetic\n", "# Grade: computed\n", "# Units: none\n"] {
            assert!(Table::parse(&GOOD.replace(line, "")).is_err(), "{line}");
        }
        let without_reason = GOOD.replace("# Tolerance: exact\n", "# Tolerance:\n");
        let says = Table::parse(&without_reason).expect_err("no reason given");
        assert!(says.contains("tolerance"), "{says}");
    }

    #[test]
    #[should_panic(expected = "1 of 1 rows miss")]
    fn a_row_that_misses_is_not_passed_over() {
        let table = Table::parse(GOOD).expect("a good table");
        table.check(|row| (5.0, row.number("out"), 0.5));
    }

    #[test]
    #[should_panic(expected = "rows miss")]
    fn what_is_not_a_number_misses() {
        let table = Table::parse(GOOD).expect("a good table");
        table.check(|_| (f64::NAN, 4.0, 1e9));
    }
}
