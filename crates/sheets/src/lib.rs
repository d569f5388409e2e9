//! One description of a table, drawn as page, plain text and CSV, and the one way in which a
//! figure is written.
//!
//! A table says what its columns are (key, head, unit, decimals, noted or reckoned) and what stands
//! in its rows. Whoever draws it decides nothing about figures: digits, signs and spaces come from
//! [`figure`]. The page itself is drawn by the web face from the same description.

mod csv;
pub mod figure;
mod table;
mod text;

pub use table::{Align, Cell, Column, Face, Row, RowKind, Table, Value};
