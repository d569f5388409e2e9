//! Lines with bands and noted points, in panels stacked on one time axis.

use super::scale::nice_ticks;
use super::{n, pct};
use maud::{Markup, html};
use sheets::figure;

/// Which of the three series of a panel a line or a point is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Series {
    /// Ink, discs.
    #[default]
    First,
    /// Slate, squares.
    Second,
    /// Moss and dashed, triangles.
    Third,
}

impl Series {
    fn class(self) -> &'static str {
        match self {
            Self::First => "",
            Self::Second => " second",
            Self::Third => " third",
        }
    }
}

/// How far a line may be off: from and to, one pair a place.
pub type Band = Vec<(f64, f64)>;

/// What is expected: a line, with its band where one is known.
#[derive(Debug, Clone, Default)]
pub struct Curve {
    /// Which series.
    pub series: Series,
    /// Places along the axis.
    pub x: Vec<f64>,
    /// Values there.
    pub y: Vec<f64>,
    /// The band, empty where none is known.
    pub band: Band,
    /// What it is, written on the line.
    pub name: String,
}

/// What was noted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Which series.
    pub series: Series,
    /// Where along the axis.
    pub x: f64,
    /// The figure.
    pub y: f64,
    /// Whether it lies outside what was expected.
    pub far: bool,
}

/// A mark through every panel.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// Where.
    pub x: f64,
    /// What it is.
    pub name: String,
    /// Whether it is *now*.
    pub now: bool,
}

/// Words at a place of a panel.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Label {
    /// Where along the axis.
    pub x: f64,
    /// At which value.
    pub y: f64,
    /// The words.
    pub says: String,
    /// Whether they are those that decide.
    pub bold: bool,
    /// Whether they stand above the place; else beneath.
    pub above: bool,
}

/// One panel.
#[derive(Debug, Clone, Default)]
pub struct Panel {
    /// Height of the plot, px.
    pub height: u32,
    /// What it shows, with its unit, once above the topmost label.
    pub unit: String,
    /// Lines.
    pub curves: Vec<Curve>,
    /// Points.
    pub points: Vec<Point>,
    /// The part kept, from and to along the axis, and what is written in it.
    pub heart: Option<(f64, f64, String)>,
    /// Whether nought is part of the scale.
    pub from_zero: bool,
    /// Words at places of it.
    pub labels: Vec<Label>,
    /// Stretches along the axis that are tinted: under water.
    pub shaded: Vec<(f64, f64)>,
}

/// Panels on one axis.
#[derive(Debug, Clone, Default)]
pub struct Plot {
    /// A sentence that says what is seen.
    pub says: String,
    /// Start and end of the axis.
    pub from: f64,
    /// End of the axis.
    pub to: f64,
    /// Labels beneath.
    pub ticks: Vec<(f64, String)>,
    /// Marks through every panel.
    pub marks: Vec<Mark>,
    /// The panels, top to bottom.
    pub panels: Vec<Panel>,
}

const TOP: f64 = 40.0;
/// Between two panels, px.
pub(super) const GAP: f64 = 46.0;
/// Room for the labels of the axis, px.
pub(super) const FOOT: f64 = 26.0;

impl Plot {
    pub(super) fn share(&self, x: f64) -> f64 {
        let span = self.to - self.from;
        if span > 0.0 { ((x - self.from) / span).clamp(0.0, 1.0) } else { 0.0 }
    }

    /// Where a place lies, as a share of the axis.
    pub fn share_of(&self, x: f64) -> f64 {
        self.share(x)
    }

    /// Draws it.
    pub fn draw(&self) -> Markup {
        let plots: f64 = self.panels.iter().map(|p| f64::from(p.height)).sum();
        let gaps = GAP * self.panels.len().saturating_sub(1) as f64;
        let height = TOP + plots + gaps + FOOT;
        let mut top = TOP;
        let mut placed = Vec::new();
        for panel in &self.panels {
            placed.push((top, panel));
            top += f64::from(panel.height) + GAP;
        }
        let base = top - GAP;
        html! {
            div.chart {
                svg height=(n(height)) role="img" aria-label=(self.says) {
                    @for (top, panel) in &placed { (self.panel(panel, *top)) }
                    @for mark in &self.marks { (self.mark(mark, base)) }
                    (self.axis(base))
                }
            }
        }
    }

    pub(super) fn axis(&self, base: f64) -> Markup {
        let last = self.ticks.len().saturating_sub(1);
        html! {
            @for (i, (x, word)) in self.ticks.iter().enumerate() {
                @let at = pct(self.share(*x));
                line.tick x1=(at) x2=(at) y1=(n(base)) y2=(n(base + 5.0)) {}
                @let end = self.share(*x) > 0.98;
                text x=(at) y=(n(base + 20.0)) text-anchor=(anchor(self.share(*x)))
                    class=[(i % 2 == 1 && !(i == last && end) && last > 4).then_some("wide-only")] {
                    (word)
                }
            }
        }
    }

    fn mark(&self, mark: &Mark, base: f64) -> Markup {
        let share = self.share(mark.x);
        let anchor = if share < 0.12 {
            "start"
        } else if share > 0.88 {
            "end"
        } else {
            "middle"
        };
        let (line, word) = if mark.now { ("now", "cop halo") } else { ("cut", "ink halo bold") };
        html! {
            line class=(line) x1=(pct(share)) x2=(pct(share)) y1=(n(TOP - 6.0)) y2=(n(base)) {}
            text class=(word) x=(pct(share)) y=(n(TOP - 24.0)) text-anchor=(anchor) { (mark.name) }
        }
    }

    pub(super) fn panel(&self, panel: &Panel, top: f64) -> Markup {
        let (low, high) = panel.limits();
        let height = f64::from(panel.height);
        let down = |v: f64| height * (1.0 - (v - low) / (high - low));
        let across = |x: f64| self.share(x) * 1000.0;
        let (ticks, decimals) = nice_ticks(low, high);
        html! {
            svg y=(n(top)) width="100%" height=(n(height)) viewBox={ "0 0 1000 " (n(height)) }
                preserveAspectRatio="none" overflow="visible" {
                @if let Some((from, to, _)) = &panel.heart {
                    rect.heart x=(n(across(*from))) width=(n(across(*to) - across(*from)))
                        y="0" height=(n(height)) {}
                }
                @for (from, to) in &panel.shaded {
                    rect.heart x=(n(across(*from))) width=(n(across(*to) - across(*from)))
                        y="0" height=(n(height)) {}
                }
                @for tick in &ticks {
                    path.grid d=(format!("M0 {}H1000", n(down(*tick)))) {}
                }
                @for curve in &panel.curves {
                    @if curve.band.len() == curve.x.len() && !curve.x.is_empty() {
                        path.band d=(area(curve, &across, &down)) {}
                    }
                }
                @for curve in &panel.curves { (self.curve(curve, &across, &down)) }
                path.base d=(format!("M0 {}H1000", n(height))) {}
            }
            @for tick in &ticks {
                text x="-8" y=(n(top + down(*tick) + 5.0)) text-anchor="end" {
                    (figure::fixed(*tick, decimals))
                }
            }
            text x="-44" y=(n(top - 12.0)) { (panel.unit) }
            @if let Some((from, to, says)) = &panel.heart {
                @let middle = self.share(f64::midpoint(*from, *to));
                text.ink.lean.halo x=(pct(middle)) y=(n(top + height - 12.0)) text-anchor="middle" {
                    (says)
                }
            }
            (self.names(panel, top, &down))
            @for point in &panel.points { (self.point(*point, top + down(point.y))) }
            @for label in &panel.labels { (self.label(label, top + down(label.y))) }
        }
    }

    fn curve(&self, curve: &Curve, across: &Place, down: &Place) -> Markup {
        // The line is solid up to now and dashed after it: what is past was at least possible.
        let now = self.marks.iter().find(|m| m.now).map(|m| m.x);
        let kept = thin(&curve.x, &curve.y);
        let class = curve.series.class();
        let whole = |part: &[(f64, f64)]| line(part, across, down);
        match now {
            Some(now) if now < self.to => {
                let cut = kept.partition_point(|(x, _)| *x <= now);
                let from = cut.saturating_sub(1);
                html! {
                    path class={ "curve" (class) } d=(whole(&kept[..cut])) {}
                    path class={ "curve dash" (class) } d=(whole(&kept[from..])) {}
                }
            }
            _ => html! { path class={ "curve" (class) } d=(whole(&kept)) {} },
        }
    }

    /// Names on the lines, each where its line is farthest from the others.
    fn names(&self, panel: &Panel, top: f64, down: &Place) -> Markup {
        let named: Vec<&Curve> = panel.curves.iter().filter(|c| !c.name.is_empty()).collect();
        html! {
            @for curve in &named {
                @let at = farthest(curve, &panel.curves, down);
                @if let (Some(x), Some(y)) = (curve.x.get(at), curve.y.get(at)) {
                    @let above = if top + down(*y) > top + 22.0 { -9.0 } else { 20.0 };
                    text.ink.lean.halo x=(pct(self.share(*x))) y=(n(top + down(*y) + above))
                        text-anchor=(if self.share(*x) > 0.7 { "end" } else { "middle" }) {
                        (curve.name)
                    }
                }
            }
        }
    }

    fn label(&self, label: &Label, y: f64) -> Markup {
        let share = self.share(label.x);
        let anchor = if share > 0.72 { "end" } else { "start" };
        let right = if share > 0.72 { -8 } else { 8 };
        let down = if label.above { -10.0 } else { 18.0 };
        let class = if label.bold { "ink halo bold" } else { "ink halo" };
        html! {
            text class=(class) x=(pct(share)) y=(n(y + down)) dx=(right) text-anchor=(anchor) {
                (label.says)
            }
        }
    }

    fn point(&self, point: Point, y: f64) -> Markup {
        let x = pct(self.share(point.x));
        let class = format!("pt{}{}", point.series.class(), if point.far { " far" } else { "" });
        html! {
            @match point.series {
                Series::First => circle class=(class) cx=(x) cy=(n(y)) r="4.5" {},
                Series::Second => svg x=(x) y=(n(y)) overflow="visible" width="1" height="1" {
                    rect class=(class) x="-4" y="-4" width="8" height="8" {}
                },
                Series::Third => svg x=(x) y=(n(y)) overflow="visible" width="1" height="1" {
                    path class=(class) d="M0 -5L5 4H-5z" {}
                },
            }
        }
    }
}

/// From a value to where it is drawn.
pub(super) type Place<'a> = dyn Fn(f64) -> f64 + 'a;

/// Words at an end of the axis stay within it.
fn anchor(share: f64) -> &'static str {
    if share < 0.02 {
        "start"
    } else if share > 0.98 {
        "end"
    } else {
        "middle"
    }
}

impl Panel {
    pub(super) fn limits(&self) -> (f64, f64) {
        let lines = self.curves.iter().flat_map(|c| c.y.iter().copied());
        let bands = self.curves.iter().flat_map(|c| c.band.iter().flat_map(|(a, b)| [*a, *b]));
        let points = self.points.iter().map(|p| p.y);
        let all = lines.chain(bands).chain(points).filter(|v| v.is_finite());
        let (low, high) = all.fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(v), h.max(v)));
        if low > high {
            return (0.0, 1.0);
        }
        let low = if self.from_zero { low.min(0.0) } else { low };
        let room = (high - low).max(1e-9 + 1e-3 * high.abs()) * 0.06;
        let under = if self.from_zero && low >= 0.0 { 0.0 } else { room };
        (low - under, high + room)
    }
}

/// At most some 160 places: those between hide nothing a page could show.
pub(super) fn thin(x: &[f64], y: &[f64]) -> Vec<(f64, f64)> {
    let all =
        x.iter().copied().zip(y.iter().copied()).filter(|(x, y)| x.is_finite() && y.is_finite());
    let all: Vec<(f64, f64)> = all.collect();
    let step = all.len().div_ceil(160).max(1);
    let mut kept: Vec<(f64, f64)> = all.iter().copied().step_by(step).collect();
    if let (Some(last), Some(end)) = (all.last(), kept.last())
        && last != end
    {
        kept.push(*last);
    }
    kept
}

pub(super) fn line(part: &[(f64, f64)], across: &Place, down: &Place) -> String {
    let mut out = String::with_capacity(part.len() * 12);
    for (i, (x, y)) in part.iter().enumerate() {
        out.push(if i == 0 { 'M' } else { 'L' });
        out.push_str(&n(across(*x)));
        out.push(' ');
        out.push_str(&n(down(*y)));
    }
    out
}

fn area(curve: &Curve, across: &Place, down: &Place) -> String {
    let low: Vec<f64> = curve.band.iter().map(|(a, _)| *a).collect();
    let high: Vec<f64> = curve.band.iter().map(|(_, b)| *b).collect();
    let mut back = thin(&curve.x, &low);
    back.reverse();
    let there = line(&thin(&curve.x, &high), across, down);
    let back = line(&back, across, down).replacen('M', "L", 1);
    format!("{there}{back}Z")
}

/// The place, between an eighth and seven eighths of the way, where a line is farthest from others.
fn farthest(curve: &Curve, all: &[Curve], down: &Place) -> usize {
    let len = curve.x.len();
    let middle = (len / 8)..(len - len / 8);
    let apart = |i: usize| {
        let here = down(curve.y[i]);
        let others = all.iter().filter(|c| c.x.len() == len && c.name != curve.name);
        let gaps = others.map(|c| (down(c.y[i]) - here).abs());
        let edge = here.max(0.0);
        gaps.fold(edge.min(60.0), f64::min)
    };
    middle
        .step_by((len / 24).max(1))
        .max_by(|a, b| apart(*a).total_cmp(&apart(*b)))
        .unwrap_or(len / 2)
}
