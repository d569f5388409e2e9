//! Time lines of vessels: one lane a vessel, a bar for what is in it, the ink for its peating.

use super::{Ink, pct};
use maud::{Markup, html};

/// What is in a vessel from then to then.
#[derive(Debug, Clone, PartialEq)]
pub struct Bar {
    /// From, in hours along the axis.
    pub from: f64,
    /// To.
    pub to: f64,
    /// How smoky.
    pub ink: Ink,
    /// What it is, inside at the left where it fits.
    pub name: String,
}

/// One vessel.
#[derive(Debug, Clone, PartialEq)]
pub struct Lane {
    /// Its name.
    pub name: String,
    /// What is in it.
    pub bars: Vec<Bar>,
}

/// Vessels on one clock.
#[derive(Debug, Clone, Default)]
pub struct Lanes {
    /// Start of the axis.
    pub from: f64,
    /// End of the axis.
    pub to: f64,
    /// Now.
    pub now: Option<f64>,
    /// Rules at these places, with their labels.
    pub ticks: Vec<(f64, String)>,
    /// The lanes.
    pub lanes: Vec<Lane>,
    /// Width at which labels are judged to fit, px.
    pub width: f64,
}

impl Lanes {
    fn share(&self, x: f64) -> f64 {
        ((x - self.from) / (self.to - self.from)).clamp(0.0, 1.0)
    }

    /// Draws them.
    pub fn draw(&self) -> Markup {
        html! {
            div.lanes {
                div.nm aria-hidden="true" {}
                div.lane { svg height="24" aria-hidden="true" {
                    @for (x, word) in &self.ticks {
                        @let share = self.share(*x);
                        @if self.now.is_none_or(|now| (self.share(now) - share).abs() > 0.2) {
                            text x=(pct(share)) y="16" text-anchor=(edge(share)) { (word) }
                        }
                    }
                    @if let Some(now) = self.now {
                        @let share = self.share(now);
                        text.cop x=(pct(share)) y="16" text-anchor=(edge(share)) { "now" }
                    }
                } }
                @for lane in &self.lanes {
                    div.nm { (lane.name) }
                    div.lane { (self.lane(lane)) }
                }
            }
        }
    }

    fn lane(&self, lane: &Lane) -> Markup {
        let words: Vec<&str> = lane.bars.iter().map(|b| b.name.as_str()).collect();
        let says = format!("{}: {}", lane.name, words.join(", "));
        html! {
            svg height="32" role="img" aria-label=(says) {
                @for (x, _) in &self.ticks {
                    @let at = pct(self.share(*x));
                    line.grid x1=(at) x2=(at) y1="0" y2="32" {}
                }
                @for bar in &lane.bars { (self.bar(bar)) }
                @if let Some(now) = self.now {
                    line.now x1=(pct(self.share(now))) x2=(pct(self.share(now))) y1="0" y2="32" {}
                }
            }
        }
    }

    fn bar(&self, bar: &Bar) -> Markup {
        let (from, to) = (self.share(bar.from), self.share(bar.to));
        let letters = bar.name.chars().count() as f64 * 7.2 + 10.0;
        let fits = letters < (to - from) * self.width;
        let ruled = matches!(bar.ink, Ink::Ruled | Ink::Close);
        html! {
            rect class=(bar.ink.class()) x=(pct(from)) width=(pct(to - from)) y="5" height="22" {}
            @if fits {
                @if ruled {
                    svg x=(pct(from)) y="8" overflow="visible" width="1" height="1" {
                        @let width = format!("{:.0}", letters - 4.0);
                        rect.plate x="4" y="0" width=(width) height="16" {}
                    }
                }
                text class=(if bar.ink == Ink::Solid { "on" } else { "ink" })
                    x=(pct(from)) dx="7" y="21" { (bar.name) }
            }
        }
    }
}

fn edge(share: f64) -> &'static str {
    if share < 0.06 {
        "start"
    } else if share > 0.94 {
        "end"
    } else {
        "middle"
    }
}
