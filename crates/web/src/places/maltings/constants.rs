//! The free constants of the house that rest on memory or are designs: default, range, and whether
//! the house's own records may fit them. A figure that hangs on one is no better than it.

use gauge::{Field, Grade, Record};
use maud::{Markup, html};
use process::{bin, floor, kiln, steep};
use sheets::figure;

/// A stage and its constants.
fn stages() -> [(&'static str, &'static [Field]); 4] {
    [
        ("Steep", steep::Constants::FIELDS),
        ("Floor", floor::Constants::FIELDS),
        ("Kiln", kiln::Constants::FIELDS),
        ("Bin", bin::Constants::FIELDS),
    ]
}

/// Whether a constant has no printed source behind it.
fn unproved(field: &Field) -> bool {
    matches!(field.grade, Grade::Memory | Grade::Design)
}

/// The constants, one table a stage, closed until they are asked for.
pub(super) fn section() -> Markup {
    html! {
        section id="constants" {
            div.sec {
                h2 { "Constants of the house" }
                p { "from memory or by design: they want the house's own records" }
            }
            @for (name, fields) in stages() {
                @let shown: Vec<&Field> = fields.iter().filter(|f| unproved(f)).collect();
                @if !shown.is_empty() {
                    details.how {
                        summary { (name) ", " (shown.len()) " of " (fields.len()) }
                        div { (table(&shown)) }
                    }
                }
            }
        }
    }
}

fn table(fields: &[&Field]) -> Markup {
    html! {
        div.scroll { table.stack {
            thead { tr {
                th scope="col" { "constant" }
                th.r scope="col" { "taken" }
                th.r scope="col" { "range" }
                th scope="col" { "standing" }
                th scope="col" { "may be fitted" }
                th scope="col" { "from" }
            } }
            tbody { @for field in fields { tr {
                th scope="row" { (crate::form::label(field)) }
                td.r data-head="taken" {
                    @if let Some(value) = field.default {
                        (figure::unit(&figure::significant(value, 4), field.unit))
                        @if field.sd > 0.0 { " ± " (figure::significant(field.sd, 2)) }
                    }
                }
                td.r data-head="range" { (figure::range(field.low, field.high)) }
                td data-head="standing" { (field.grade.word()) }
                td data-head="may be fitted" { @if field.fitted { "yes" } @else { "no" } }
                td data-head="from" { (field.source) }
            } } }
        } }
    }
}

#[cfg(test)]
mod tests {
    use super::{stages, unproved};

    #[test]
    fn every_stage_of_the_maltings_says_which_constants_are_unproved() {
        for (name, fields) in stages() {
            assert!(fields.iter().any(unproved), "{name} claims that all of it is printed");
            for field in fields.iter().filter(|f| unproved(f)) {
                assert!(field.default.is_some(), "{name}: {} has no default", field.key);
                assert!(!field.source.is_empty(), "{name}: {}", field.key);
            }
        }
    }
}
