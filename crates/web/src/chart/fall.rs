//! Where it went: a table whose last column is a lane of falling bars.

use super::pct;
use super::scale::nice_ticks;
use maud::{Markup, html};
use sheets::figure;

/// Half the width of a 90 % band, in standard uncertainties.
const NINETY: f64 = 1.645;

/// What a row stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// What was there: bold, in ink.
    Whole,
    /// Lost.
    Lost,
    /// Held, not lost.
    Held,
    /// A deficiency.
    Gap,
}

/// One row.
#[derive(Debug, Clone, PartialEq)]
struct Line {
    name: String,
    value: f64,
    sd: Option<f64>,
    standing: Standing,
}

/// A waterfall of reckoned amounts.
#[derive(Debug, Clone)]
pub struct Fall {
    unit: String,
    decimals: u8,
    lines: Vec<Line>,
}

impl Fall {
    /// One with nothing in it.
    pub fn new(unit: impl Into<String>, decimals: u8) -> Self {
        Self { unit: unit.into(), decimals, lines: Vec::new() }
    }
    /// Adds what was there, with its standard uncertainty.
    pub fn whole(&mut self, name: impl Into<String>, value: f64, sd: Option<f64>) -> &mut Self {
        self.add(name, value, sd, Standing::Whole)
    }
    /// Adds what went: lost, held or missing. The amount is positive.
    pub fn went(&mut self, name: impl Into<String>, value: f64, standing: Standing) -> &mut Self {
        self.add(name, value, None, standing)
    }
    fn add(
        &mut self,
        name: impl Into<String>,
        value: f64,
        sd: Option<f64>,
        standing: Standing,
    ) -> &mut Self {
        self.lines.push(Line { name: name.into(), value, sd, standing });
        self
    }

    /// The start of the lane: the wholes fill most of it, and a cut lane says so.
    fn start(&self) -> (f64, f64) {
        let wholes = self.lines.iter().filter(|l| l.standing == Standing::Whole);
        let (low, high) =
            wholes.fold((f64::MAX, 0.0_f64), |(l, h), line| (l.min(line.value), h.max(line.value)));
        if low > high {
            return (0.0, 1.0);
        }
        // Cut only when less than two fifths would be told apart otherwise.
        let wanted = low - (high - low) * 0.25;
        if wanted < 0.4 * high {
            return (0.0, high * 1.03);
        }
        let step = 10_f64.powf(((high - low).max(high * 1e-3)).log10().floor());
        ((wanted / step).floor() * step, high + (high - low) * 0.06)
    }

    /// Draws it.
    pub fn draw(&self) -> Markup {
        let (low, high) = self.start();
        let lane = Lane { low, high };
        let (ticks, decimals) = nice_ticks(low + (high - low) * 0.08, high - (high - low) * 0.06);
        let mut level = 0.0;
        let mut rows = Vec::new();
        for (i, line) in self.lines.iter().enumerate() {
            let (from, to) = match line.standing {
                Standing::Whole => (low, line.value),
                _ => (level - line.value, level),
            };
            level = if line.standing == Standing::Whole { line.value } else { from };
            let thread = (i + 1 < self.lines.len()).then_some(level);
            rows.push(self.row(line, &lane.draw(line, (from, to), thread)));
        }
        html! {
            div.scroll { table.fall {
                thead { tr {
                    th scope="col" { span.unseen { "what" } }
                    th.r scope="col" { (self.unit) }
                    th.r.wide-only scope="col" { "band" }
                    th.r.wide-only scope="col" { "% of the first" }
                    th.lane aria-hidden="true" {
                        svg width="100%" height="18" overflow="visible" {
                            @for (i, tick) in ticks.iter().enumerate() {
                                text x=(pct(lane.share(*tick))) y="14" text-anchor="middle"
                                    class=[(i % 2 == 1).then_some("wide-only")] {
                                    (figure::fixed(*tick, decimals))
                                }
                            }
                        }
                    }
                } }
                tbody { @for row in &rows { (row) } }
            } }
            @if low > 0.0 {
                p.note {
                    "The lane begins at " (figure::fixed(low, 0)) "\u{202f}" (self.unit)
                    ", so bars are cut at the left. Ink: what was there. Grey: lost. Open: held."
                }
            }
        }
    }

    fn row(&self, line: &Line, lane: &Markup) -> Markup {
        let ceiling = self.lines.first().map_or(1.0, |l| l.value);
        html! {
            tr class=[(line.standing == Standing::Whole).then_some("whole")] {
                th scope="row" {
                    @if line.standing == Standing::Gap { span.copper { (line.name) } }
                    @else { (line.name) }
                }
                td.r { i { (self.amount(line)) } }
                td.r.wide-only.soft {
                    @if let Some(sd) = line.sd {
                        i { "± " (figure::fixed(NINETY * sd, self.decimals)) }
                    }
                }
                td.r.wide-only.soft { i { (figure::fixed(100.0 * line.value / ceiling, 1)) } }
                td.lane aria-hidden="true" {
                    svg width="100%" height="38" overflow="visible" { (lane) }
                }
            }
        }
    }

    fn amount(&self, line: &Line) -> String {
        let written = figure::fixed(line.value, self.decimals);
        if line.standing == Standing::Whole {
            written
        } else {
            figure::fixed(-line.value, self.decimals)
        }
    }
}

struct Lane {
    low: f64,
    high: f64,
}

impl Lane {
    fn share(&self, value: f64) -> f64 {
        ((value - self.low) / (self.high - self.low)).clamp(0.0, 1.0)
    }

    /// One bar, its whiskers, and the thread down to the next.
    fn draw(&self, line: &Line, (from, to): (f64, f64), thread: Option<f64>) -> Markup {
        let whole = line.standing == Standing::Whole;
        let (y, height) = if whole { ("9", "20") } else { ("11", "16") };
        let width = (self.share(to) - self.share(from)).max(0.0015);
        let at = |v: f64| pct(self.share(v));
        html! {
            rect class=(class(line.standing)) x=(at(from)) width=(pct(width))
                y=(y) height=(height) {}
            @if whole && self.low > 0.0 { path.slant d="M14 5l-5 28h6l5-28z" {} }
            @if let Some(sd) = line.sd {
                @let (a, b) = (at(line.value - NINETY * sd), at(line.value + NINETY * sd));
                line.whisker x1=(a) x2=(b) y1="19" y2="19" {}
                line.whisker x1=(a) x2=(a) y1="15" y2="23" {}
                line.whisker x1=(b) x2=(b) y1="15" y2="23" {}
            }
            @if let Some(level) = thread {
                line.thread x1=(at(level)) x2=(at(level)) y1="29" y2="49" {}
            }
        }
    }
}

fn class(standing: Standing) -> &'static str {
    match standing {
        Standing::Whole => "inkbar",
        Standing::Lost => "lost",
        Standing::Held => "held",
        Standing::Gap => "gap",
    }
}
