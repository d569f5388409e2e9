//! A table of `sheets` as a page shows it.

use maud::{Markup, html};
use sheets::{Align, Cell, Column, RowKind, Table, Value};

/// Draws a table. On a phone, each row of one that has more than four columns becomes a group of
/// labelled figures.
pub fn draw(table: &Table) -> Markup {
    html! {
        div.scroll {
            table.stack[table.columns.len() > 4] {
                @if !table.caption.is_empty() { caption { (table.caption) } }
                thead { tr {
                    @for column in &table.columns {
                        th scope="col" class=[right(column)] { (column.head_with_unit()) }
                    }
                } }
                tbody {
                    @for row in &table.rows {
                        tr class=[kind(row.kind)] {
                            @for (i, cell) in row.cells.iter().enumerate() {
                                (drawn(cell, &table.columns[i], i == 0))
                            }
                        }
                    }
                }
            }
        }
        @for note in &table.notes { p.note { (note) } }
    }
}

fn drawn(cell: &Cell, column: &Column, first: bool) -> Markup {
    html! {
        @if first {
            th scope="row" class=[right(column)] { (inside(cell, column)) }
        } @else {
            td class=[right(column)] data-head=(column.head_with_unit()) { (inside(cell, column)) }
        }
    }
}

fn right(column: &Column) -> Option<&'static str> {
    (column.align == Align::Right).then_some("r")
}

fn kind(kind: RowKind) -> Option<&'static str> {
    match kind {
        RowKind::Plain => None,
        RowKind::Open => Some("open"),
        RowKind::Total => Some("sum"),
    }
}

fn inside(cell: &Cell, column: &Column) -> Markup {
    let written = cell.written(column);
    let text = html! {
        @if cell.wanted && cell.value != Value::Blank { span.copper { (written) } }
        @else if cell.leans(column) { i { (written) } }
        @else { (written) }
    };
    html! {
        @match &cell.link {
            Some(link) => a href=(link) { (text) },
            None => (text),
        }
    }
}
