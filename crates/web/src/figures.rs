//! Figures on a page: noted ones upright, reckoned ones leaning, the unit after, soft.

use maud::{Markup, html};
pub use sheets::Face;
use sheets::figure::NARROW;

/// A figure with its unit.
pub fn figure(written: &str, unit: &str, face: Face) -> Markup {
    html! {
        @if face == Face::Reckoned { i { (written) } } @else { (written) }
        @if !unit.is_empty() && !written.is_empty() { span.u { (NARROW) (unit) } }
    }
}

/// A label over a figure.
pub fn labelled(label: &str, figure: &Markup) -> Markup {
    html! { div { dt { (label) } dd { (figure) } } }
}
