//! Marks that can be moved: an ink line through every panel, a flag to hold it by, its name and
//! value beside it.
//!
//! A mark is a slider to a keyboard and a reader of screens. It stands over the picture, not in it,
//! because a picture has no parts that can be held.

use super::{n, pct};
use maud::{Markup, html};

/// One mark that can be moved.
#[derive(Debug, Clone, PartialEq)]
pub struct Mover {
    /// Name of the field that holds the same value.
    pub field: &'static str,
    /// What it is.
    pub name: &'static str,
    /// Where, as a share of the axis.
    pub share: f64,
    /// Its value, as it would be typed.
    pub value: String,
    /// Least value.
    pub low: String,
    /// Greatest value.
    pub high: String,
    /// One step of it.
    pub step: &'static str,
    /// Whether its value falls where the mark moves to the right.
    pub falls: bool,
    /// Its value in words.
    pub says: String,
}

/// Two marks over one picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Movers {
    /// How far down they reach, px.
    pub height: f64,
    /// The first.
    pub first: Mover,
    /// The second.
    pub second: Mover,
}

/// Nearer than this share of the axis the first label makes room for the second.
const NEAR: f64 = 0.17;

impl Movers {
    /// Draws them.
    pub fn draw(&self) -> Markup {
        let near = self.second.share - self.first.share < NEAR;
        html! {
            svg.grips id="grips" height=(n(self.height)) {
                (self.one(&self.first, near, true))
                (self.one(&self.second, false, false))
            }
        }
    }

    fn one(&self, mark: &Mover, near: bool, first: bool) -> Markup {
        let left = mark.share > 0.8;
        let (anchor, side) = if left { ("end", "-18") } else { ("start", "18") };
        let up = if near { -40 } else { 0 };
        html! {
            svg.grip id={ "grip-" (mark.field) } x=(pct(mark.share)) y="0" role="slider"
                tabindex="0" aria-label=(mark.name) aria-valuemin=(mark.low)
                aria-valuemax=(mark.high) aria-valuenow=(mark.value) aria-valuetext=(mark.says)
                data-field=(mark.field) data-step=(mark.step) data-falls[mark.falls] {
                line.cut y1="-6" y2=(n(self.height)) {}
                path.flag d="M-12 -44h24v26l-12 14l-12 -14z" {}
                path.flagmark d="M-3 -33l-5 5l5 5M3 -33l5 5l-5 5" {}
                rect.hold x="-22" y="-44" width="44" height="44" {}
                text.ink.halo.bold.wide-only x=(side) y=(up - 26) text-anchor=(anchor) {
                    (mark.name)
                }
                text.halo.wide-only x=(side) y=(up - 8) text-anchor=(anchor) { (mark.says) }
                @if first {
                    text.ink.halo.bold.narrow x="-14" y="-68" { (mark.name) }
                    text.halo.narrow x="-14" y="-51" { (mark.says) }
                } @else {
                    text.ink.halo.bold.narrow x=(side) y="-26" text-anchor=(anchor) { (mark.name) }
                    text.halo.narrow x=(side) y="-8" text-anchor=(anchor) { (mark.says) }
                }
            }
        }
    }
}
