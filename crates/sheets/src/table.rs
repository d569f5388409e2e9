//! What a table is, before anyone draws it.

use crate::figure;

/// How a column stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Align {
    /// Words.
    Left,
    /// Figures.
    Right,
}

/// Whether a figure was noted by a person or an instrument, or reckoned by the program.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Face {
    /// Upright.
    Noted,
    /// Leaning.
    Reckoned,
}

/// One column.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Spelling in CSV and JSON, with the unit as its ending.
    pub key: String,
    /// What stands over it on a page.
    pub head: String,
    /// Unit as shown; empty for words and pure numbers.
    pub unit: String,
    /// Decimals, the same in every row.
    pub decimals: u8,
    /// How it stands.
    pub align: Align,
    /// How its figures stand unless a cell says otherwise.
    pub face: Face,
    /// Whether its figures are differences, and so bear their sign.
    pub signed: bool,
}

impl Column {
    /// A column of words.
    pub fn words(key: impl Into<String>, head: impl Into<String>) -> Self {
        Self {
            key: key.into(),
            head: head.into(),
            unit: String::new(),
            decimals: 0,
            align: Align::Left,
            face: Face::Noted,
            signed: false,
        }
    }
    /// A column of noted figures.
    pub fn figures(
        key: impl Into<String>,
        head: impl Into<String>,
        unit: impl Into<String>,
        decimals: u8,
    ) -> Self {
        Self { unit: unit.into(), decimals, align: Align::Right, ..Self::words(key, head) }
    }
    /// The same with reckoned figures.
    #[must_use]
    pub fn reckoned(mut self) -> Self {
        self.face = Face::Reckoned;
        self
    }
    /// The same with differences, which always bear their sign.
    #[must_use]
    pub fn differences(mut self) -> Self {
        self.signed = true;
        self
    }
    /// The head with its unit, as it stands over the column.
    pub fn head_with_unit(&self) -> String {
        match (self.head.is_empty(), self.unit.is_empty()) {
            (_, true) => self.head.clone(),
            (true, false) => self.unit.clone(),
            (false, false) => format!("{}, {}", self.head, self.unit),
        }
    }
}

/// What stands in a cell.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// Nothing was noted. Not nought.
    Blank,
    /// Words.
    Text(String),
    /// A figure.
    Figure(f64),
    /// An amount kept in millionths of the column's unit.
    Millionths(i64),
}

/// A cell: its value, and what sets it apart from its column.
#[derive(Debug, Clone, PartialEq)]
pub struct Cell {
    /// What stands in it.
    pub value: Value,
    /// Noted or reckoned, where the column is mixed.
    pub face: Option<Face>,
    /// Where it leads.
    pub link: Option<String>,
    /// Whether it asks for a hand: beyond tolerance, deficient.
    pub wanted: bool,
}

impl Cell {
    /// A cell with nothing in it.
    pub fn blank() -> Self {
        Value::Blank.into()
    }
    /// The same, leading somewhere.
    #[must_use]
    pub fn to(mut self, link: impl Into<String>) -> Self {
        self.link = Some(link.into());
        self
    }
    /// The same, reckoned.
    #[must_use]
    pub fn reckoned(mut self) -> Self {
        self.face = Some(Face::Reckoned);
        self
    }
    /// The same, asking for a hand when `wanted`.
    #[must_use]
    pub fn wanted(mut self, wanted: bool) -> Self {
        self.wanted = wanted;
        self
    }
    /// As it is written in `column`.
    pub fn written(&self, column: &Column) -> String {
        match (&self.value, column.signed) {
            (Value::Blank, _) => String::new(),
            (Value::Text(text), _) => text.clone(),
            (Value::Figure(value), false) => figure::fixed(*value, column.decimals),
            (Value::Figure(value), true) => figure::signed(*value, column.decimals),
            (Value::Millionths(micro), false) => figure::millionths(*micro, column.decimals),
            (Value::Millionths(micro), true) => figure::millionths_signed(*micro, column.decimals),
        }
    }
    /// Whether it leans in `column`. Words do only when the cell itself says that it is reckoned:
    /// a figure written out with its unit.
    pub fn leans(&self, column: &Column) -> bool {
        let figure = matches!(self.value, Value::Figure(_) | Value::Millionths(_));
        let face = self.face.unwrap_or(if figure { column.face } else { Face::Noted });
        face == Face::Reckoned
    }
}

impl From<Value> for Cell {
    fn from(value: Value) -> Self {
        Self { value, face: None, link: None, wanted: false }
    }
}
impl From<f64> for Cell {
    fn from(value: f64) -> Self {
        if value.is_finite() { Value::Figure(value).into() } else { Self::blank() }
    }
}
impl From<Option<f64>> for Cell {
    fn from(value: Option<f64>) -> Self {
        value.map_or_else(Self::blank, Self::from)
    }
}
impl From<i64> for Cell {
    /// Millionths, as the book keeps them.
    fn from(micro: i64) -> Self {
        Value::Millionths(micro).into()
    }
}
impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        Value::Text(text.to_owned()).into()
    }
}
impl From<String> for Cell {
    fn from(text: String) -> Self {
        Value::Text(text).into()
    }
}

/// What kind of row it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum RowKind {
    /// One of many.
    #[default]
    Plain,
    /// The one that is opened beside the table.
    Open,
    /// A sum, between a single and a double rule.
    Total,
}

/// One row: as many cells as there are columns.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// The cells.
    pub cells: Vec<Cell>,
    /// What kind of row it is.
    pub kind: RowKind,
}

/// A table, before anyone draws it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Table {
    /// What it is called, in words.
    pub caption: String,
    /// Its columns.
    pub columns: Vec<Column>,
    /// Its rows, totals among them.
    pub rows: Vec<Row>,
    /// What to know about it: rounding, what it does not say.
    pub notes: Vec<String>,
}

impl Table {
    /// A table with nothing in its rows.
    pub fn new(caption: impl Into<String>, columns: Vec<Column>) -> Self {
        Self { caption: caption.into(), columns, ..Self::default() }
    }
    /// Adds a row.
    pub fn row(&mut self, cells: Vec<Cell>) -> &mut Self {
        self.add(cells, RowKind::Plain)
    }
    /// Adds the row that is opened beside the table.
    pub fn open_row(&mut self, cells: Vec<Cell>) -> &mut Self {
        self.add(cells, RowKind::Open)
    }
    /// Adds a row of totals.
    pub fn total(&mut self, cells: Vec<Cell>) -> &mut Self {
        self.add(cells, RowKind::Total)
    }
    fn add(&mut self, cells: Vec<Cell>, kind: RowKind) -> &mut Self {
        assert_eq!(cells.len(), self.columns.len(), "one cell for each column");
        self.rows.push(Row { cells, kind });
        self
    }
    /// Adds a note beneath.
    pub fn note(&mut self, note: impl Into<String>) -> &mut Self {
        self.notes.push(note.into());
        self
    }
}
