//! Bins as standing columns, open at the top, to one scale: layers in the order in which they lie,
//! tonnes and weeks in each.

use super::{Ink, n};
use maud::{Markup, html};

/// One layer of malt.
#[derive(Debug, Clone, PartialEq)]
pub struct Tier {
    /// Tonnes.
    pub tonnes: f64,
    /// How smoky.
    pub ink: Ink,
    /// What is written in it, where it is high enough.
    pub says: Vec<String>,
    /// Whether it waits for a release.
    pub held: bool,
}

/// One bin.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// A sentence that says what lies in it.
    pub says: String,
    /// Layers, lowest first.
    pub tiers: Vec<Tier>,
    /// What it holds at most, t.
    pub most_t: f64,
}

/// Height of the tallest bin, px.
const HEIGHT: f64 = 180.0;
/// Width, px.
const WIDTH: f64 = 76.0;
/// One line of words in a layer, px.
const LINE: f64 = 17.0;

impl Column {
    /// Draws it to a scale that shows `tallest_t` full.
    pub fn draw(&self, tallest_t: f64) -> Markup {
        let scale = if tallest_t > 0.0 { HEIGHT / tallest_t } else { 0.0 };
        let top = HEIGHT - self.most_t * scale;
        let mut base = HEIGHT;
        let mut placed = Vec::new();
        for tier in &self.tiers {
            let high = tier.tonnes * scale;
            base -= high;
            placed.push((base, high, tier));
        }
        html! {
            svg.bin width=(n(WIDTH)) height=(n(HEIGHT + 4.0)) role="img" aria-label=(self.says) {
                @for (y, high, tier) in &placed { (layer(*y, *high, tier)) }
                path.wall d=(format!("M1 {0}V{1}H{2}V{0}", n(top), n(HEIGHT), n(WIDTH - 1.0))) {}
            }
        }
    }
}

fn layer(y: f64, high: f64, tier: &Tier) -> Markup {
    let lines = ((high - 4.0) / LINE).floor().max(0.0) as usize;
    let shown = &tier.says[..tier.says.len().min(lines)];
    let ruled = matches!(tier.ink, Ink::Ruled | Ink::Close);
    let words = LINE * shown.len() as f64;
    let first = y + (high - words) / 2.0;
    html! {
        rect class=(tier.ink.class()) x="1" width=(n(WIDTH - 2.0)) y=(n(y)) height=(n(high)) {}
        @if ruled && !shown.is_empty() {
            rect.plate x="6" width=(n(WIDTH - 12.0)) y=(n(first - 1.0)) height=(n(words + 3.0)) {}
        }
        @for (i, says) in shown.iter().enumerate() {
            text class=(if tier.ink == Ink::Solid { "on" } else { "ink" }) x=(n(WIDTH / 2.0))
                y=(n(first + LINE * i as f64 + 13.5)) text-anchor="middle" { (says) }
        }
        @if tier.ink == Ink::Solid {
            line.parts x1="1" x2=(n(WIDTH - 1.0)) y1=(n(y)) y2=(n(y)) {}
        }
        @if tier.held {
            line.held-over x1="1" x2=(n(WIDTH - 1.0)) y1=(n(y + 2.5)) y2=(n(y + 2.5)) {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn layers_stand_on_each_other_and_words_only_where_they_fit() {
        let tier = |tonnes, ink| Tier {
            tonnes,
            ink,
            says: vec!["8.6 t".to_owned(), "4 wk".to_owned()],
            held: false,
        };
        let column = Column {
            says: "Bin 5".to_owned(),
            tiers: vec![tier(8.0, Ink::Ruled), tier(0.5, Ink::Solid)],
            most_t: 16.0,
        };
        let drawn = column.draw(16.0).into_string();
        assert_eq!(drawn.matches("8.6 t").count(), 1, "a thin layer has no words: {drawn}");
        // The lower one fills the lower half, the upper one stands on it.
        assert!(drawn.contains("y=\"90\" height=\"90\""), "{drawn}");
        assert!(drawn.contains("y=\"84.4\" height=\"5.6\""), "{drawn}");
        assert_eq!(drawn.matches("class=\"plate\"").count(), 1);
    }
}
