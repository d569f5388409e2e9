//! One description of a table, drawn as page, text and CSV.
