//! Charts, one family: geometry stretches with the page and type never does.
//!
//! An inner drawing of 1000 units across carries paths and areas and is stretched; an outer one,
//! without a viewBox, carries text, points and marks at a place in per cent across and pixels down.
//! What is expected is a line with a flat band; what was noted is a point, never joined.

mod bins;
mod depth;
mod fall;
mod flow;
mod lanes;
mod marks;
mod plot;
mod run;
mod scale;
mod strip;

pub use bins::{Column, Tier};
pub use depth::{Bed, KilnPicture};
pub use fall::{Fall, Standing};
pub use flow::{Flow, Node, Stream};
pub use lanes::{Bar, Lane, Lanes};
pub use marks::{Mover, Movers};
pub use plot::{Band, Curve, Label, Mark, Panel, Plot, Point, Series};
pub use run::{Heart, RunPicture, Strip};
pub use scale::{hour_ticks, nice_ticks};
pub use strip::PieceStrip;

/// How much ink a make gets: its phenols decide, never a hue.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ink {
    /// No peat: open.
    Open,
    /// Some: ruled at 45°.
    Ruled,
    /// More: ruled closer.
    Close,
    /// Most: solid.
    Solid,
    /// Idle or waiting: sunk, without outline.
    Idle,
}

impl Ink {
    /// The class that draws it.
    pub fn class(self) -> &'static str {
        match self {
            Self::Open => "make-open",
            Self::Ruled => "make-ruled",
            Self::Close => "make-close",
            Self::Solid => "make-solid",
            Self::Idle => "idle",
        }
    }
    /// The ink of a malt with so many mg/kg of phenols in a house whose smokiest has `most`.
    pub fn of(phenols: f64, most: f64) -> Self {
        if phenols <= 0.0 || most <= 0.0 {
            Self::Open
        } else if phenols >= 0.8 * most {
            Self::Solid
        } else if phenols >= 0.4 * most {
            Self::Close
        } else {
            Self::Ruled
        }
    }
}

/// A coordinate in the fewest digits that still draw true.
fn n(value: f64) -> String {
    let text = format!("{value:.1}");
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}

/// A place across, in per cent.
fn pct(share: f64) -> String {
    format!("{:.2}%", share * 100.0)
}
