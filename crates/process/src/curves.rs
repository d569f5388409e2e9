//! Named columns over the course of a run: for charts, tables and CSV files alike.

/// One column.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Key with the unit as its ending.
    pub key: String,
    /// Unit as shown.
    pub unit: &'static str,
    /// One value a row.
    pub values: Vec<f64>,
}

/// Columns of equal length; the first is the time or what stands for it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Curves {
    /// The columns in order.
    pub columns: Vec<Column>,
}

impl Curves {
    /// Empty columns with these keys and units.
    pub fn new<K: Into<String>>(columns: impl IntoIterator<Item = (K, &'static str)>) -> Self {
        let columns = columns
            .into_iter()
            .map(|(key, unit)| Column { key: key.into(), unit, values: Vec::new() })
            .collect();
        Self { columns }
    }
    /// Adds one row; it must have a value for every column.
    pub fn push(&mut self, row: &[f64]) {
        assert_eq!(row.len(), self.columns.len(), "one value for each column");
        for (column, value) in self.columns.iter_mut().zip(row) {
            column.values.push(*value);
        }
    }
    /// How many rows there are.
    pub fn rows(&self) -> usize {
        self.columns.first().map_or(0, |c| c.values.len())
    }
    /// The values under `key`.
    pub fn get(&self, key: &str) -> Option<&[f64]> {
        self.columns.iter().find(|c| c.key == key).map(|c| c.values.as_slice())
    }
    /// The value of `key` at `x` of the first column, on the straight line between rows.
    /// Outside the rows it is the value of the nearest one.
    pub fn at(&self, key: &str, x: f64) -> Option<f64> {
        let xs = &self.columns.first()?.values;
        let ys = self.get(key)?;
        let next = xs.partition_point(|v| *v < x);
        match (next.checked_sub(1), ys.get(next)) {
            (None, first) => first.copied(),
            (Some(last), None) => ys.get(last).copied(),
            (Some(i), Some(y1)) => {
                let span = xs[next] - xs[i];
                let share = if span > 0.0 { (x - xs[i]) / span } else { 1.0 };
                Some(ys[i] + share * (y1 - ys[i]))
            }
        }
    }
}
