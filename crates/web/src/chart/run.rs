//! A run of a still: strength, flow and head over its congeners on one axis, the heart between its
//! two cuts.
//!
//! What moves with a cut is drawn apart from what does not, so that the answer to a moved mark is
//! a few hundred bytes.

use super::marks::Movers;
use super::plot::{FOOT, GAP, Place, Plot, line, thin};
use super::{n, pct};
use maud::{Markup, html};

/// One congener along the run.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Strip {
    /// What it is.
    pub name: String,
    /// What it brings.
    pub brings: &'static str,
    /// Places along the axis.
    pub x: Vec<f64>,
    /// How fast it comes over there, in any unit: the strip is scaled to its own top.
    pub y: Vec<f64>,
    /// What stands before, in and after the heart; none where only the shape is known.
    pub parts: Option<[String; 3]>,
}

/// The part kept.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Heart {
    /// From along the axis.
    pub from: f64,
    /// To along the axis.
    pub to: f64,
    /// What is written in it, one line each.
    pub says: Vec<String>,
    /// What is written after it.
    pub after: String,
}

/// The picture.
#[derive(Debug, Clone, Default)]
pub struct RunPicture {
    /// Panels on their axis; its marks hold *now*.
    pub plot: Plot,
    /// Congeners beneath.
    pub strips: Vec<Strip>,
    /// What stands over the strips.
    pub strips_say: String,
    /// The part kept.
    pub heart: Heart,
    /// Proposed places of the cuts.
    pub wanted: Vec<f64>,
    /// The marks that can be moved; none where nothing can be.
    pub movers: Option<Movers>,
}

/// Height of a strip, px.
const STRIP: f64 = 58.0;
/// Between the axis and the first strip, px.
const OVER_STRIPS: f64 = 42.0;

impl RunPicture {
    fn base(&self) -> f64 {
        let panels = &self.plot.panels;
        let plots: f64 = panels.iter().map(|p| f64::from(p.height)).sum();
        plots + GAP * panels.len().saturating_sub(1) as f64
    }

    /// How far down the marks reach, px.
    pub fn depth(&self) -> f64 {
        if self.strips.is_empty() {
            self.base()
        } else {
            self.base() + FOOT + OVER_STRIPS + STRIP * self.strips.len() as f64
        }
    }

    /// Draws it.
    pub fn draw(&self) -> Markup {
        let base = self.base();
        let height = self.depth() + if self.strips.is_empty() { FOOT } else { 4.0 };
        let mut tops = Vec::new();
        let mut top = 0.0;
        for panel in &self.plot.panels {
            tops.push((top, panel));
            top += f64::from(panel.height) + GAP;
        }
        html! {
            div.chart.cuts[self.movers.is_some()].run id="picture" {
                svg.picture height=(n(height)) role="img" aria-label=(self.plot.says) {
                    (self.tint())
                    @for (top, panel) in &tops { (self.plot.panel(panel, *top)) }
                    (self.plot.axis(base))
                    (self.all_strips(base + FOOT + OVER_STRIPS))
                    @for mark in self.plot.marks.iter().filter(|m| m.now) {
                        @let at = pct(self.plot.share(mark.x));
                        line.now x1=(at) x2=(at) y1="0" y2=(n(self.depth())) {}
                        text.cop.halo x=(at) y="14" dx="-6" text-anchor="end" { (mark.name) }
                    }
                    @for at in &self.wanted {
                        @let at = pct(self.plot.share(*at));
                        line.want x1=(at) x2=(at) y1="0" y2=(n(base)) {}
                    }
                    (self.words())
                    svg id="hair" {}
                }
                @if let Some(movers) = &self.movers { (movers.draw()) }
            }
        }
    }

    /// The parts that answer when a mark has moved.
    pub fn moved(&self) -> Markup {
        html! {
            svg { (self.tint()) (self.words()) }
            @if let Some(movers) = &self.movers { (movers.draw()) }
        }
    }

    /// The hairline at a place.
    pub fn hair(&self, at: f64) -> Markup {
        let x = pct(self.plot.share(at));
        html! {
            svg { svg id="hair" data-part {
                line.hairline x1=(x) x2=(x) y1="0" y2=(n(self.depth())) {}
            } }
        }
    }

    /// The tint under the curves between the cuts.
    fn tint(&self) -> Markup {
        let across = |x: f64| self.plot.share(x) * 1000.0;
        html! {
            svg id="tint" data-part width="100%" height=(n(self.depth() + 4.0))
                viewBox={ "0 0 1000 " (n(self.depth() + 4.0)) } preserveAspectRatio="none"
                overflow="visible" {
                @if let Some(panel) = self.plot.panels.first() {
                    @if let Some(curve) = panel.curves.first() {
                        @let (low, high) = panel.limits();
                        @let height = f64::from(panel.height);
                        @let down = |v: f64| height * (1.0 - (v - low) / (high - low));
                        @let kept = within(&curve.x, &curve.y, self.heart.from, self.heart.to);
                        path.heart d=(under(&kept, &across, &down, height)) {}
                    }
                }
                @for (i, strip) in self.strips.iter().enumerate() {
                    @let top = self.base() + FOOT + OVER_STRIPS + STRIP * i as f64;
                    @let down = |v: f64| top + scaled(&strip.y, v);
                    @let kept = within(&strip.x, &strip.y, self.heart.from, self.heart.to);
                    path.heart d=(under(&kept, &across, &down, top + STRIP)) {}
                }
            }
        }
    }

    fn all_strips(&self, top: f64) -> Markup {
        let across = |x: f64| self.plot.share(x) * 1000.0;
        let height = STRIP * self.strips.len() as f64;
        html! {
            @if !self.strips.is_empty() {
                text.ink x="-44" y=(n(top - 10.0)) { (self.strips_say) }
                svg y=(n(top)) width="100%" height=(n(height)) viewBox={ "0 0 1000 " (n(height)) }
                    preserveAspectRatio="none" overflow="visible" {
                    @for (i, strip) in self.strips.iter().enumerate() {
                        @let from = STRIP * i as f64;
                        @let down = |v: f64| from + scaled(&strip.y, v);
                        path.curve.shape[strip.parts.is_none()]
                            d=(line(&thin(&strip.x, &strip.y), &across, &down)) {}
                        path.base d=(format!("M0 {}H1000", n(from + STRIP))) {}
                    }
                }
                @for (i, strip) in self.strips.iter().enumerate() {
                    @let y = n(top + STRIP * i as f64 + 16.0);
                    text.halo.wide-only x="100%" y=(y) text-anchor="end" {
                        (strip.brings) ", " tspan.strong { (strip.name) }
                    }
                    text.ink.halo.narrow x="100%" y=(y) text-anchor="end" { (strip.name) }
                }
            }
        }
    }

    /// What is written in and beside the heart.
    fn words(&self) -> Markup {
        let middle = self.plot.share(f64::midpoint(self.heart.from, self.heart.to));
        let wide = self.plot.share(self.heart.to) - self.plot.share(self.heart.from);
        let height = self.plot.panels.first().map_or(0.0, |p| f64::from(p.height));
        html! {
            svg id="words" data-part overflow="visible" {
                @if wide > 0.16 {
                    @for (i, says) in self.heart.says.iter().enumerate() {
                        text.ink.halo.lean.wide-only x=(pct(middle))
                            y=(n(height * 0.62 + 19.0 * i as f64)) text-anchor="middle" { (says) }
                    }
                }
                @if self.plot.share(self.heart.to) < 0.72 && !self.heart.after.is_empty() {
                    text.halo.lean.wide-only x=(pct(self.plot.share(self.heart.to)))
                        y=(n(height - 14.0)) dx="14" { (self.heart.after) }
                }
                @for (i, strip) in self.strips.iter().enumerate() {
                    @let top = self.base() + FOOT + OVER_STRIPS + STRIP * i as f64;
                    (self.strip_words(strip, top))
                }
            }
        }
    }

    fn strip_words(&self, strip: &Strip, top: f64) -> Markup {
        let from = self.plot.share(self.heart.from);
        let to = self.plot.share(self.heart.to);
        // A late second cut leaves no room beside the name at the right end.
        let after_y = if to > 0.55 { 36.0 } else { 16.0 };
        let (after_x, anchor, dx) = if to > 0.8 { (1.0, "end", "0") } else { (to, "start", "6") };
        html! {
            @match &strip.parts {
                Some([before, heart, after]) => {
                    text.halo.lean x=(pct(from)) y=(n(top + 16.0)) dx="-6" text-anchor="end" {
                        (before)
                    }
                    text.ink.halo.lean.bold x=(pct(from)) y=(n(top + 16.0)) dx="6" {
                        (heart) tspan.wide-only { " in heart" }
                    }
                    text.halo.lean x=(pct(after_x)) y=(n(top + after_y)) dx=(dx)
                        text-anchor=(anchor) {
                        (after) tspan.wide-only { " in feints" }
                    }
                },
                None => {
                    text.halo x=(pct(from)) y=(n(top + 16.0)) dx="6" { "shape only" }
                },
            }
        }
    }
}

/// A value down a strip, its greatest at the top.
fn scaled(all: &[f64], value: f64) -> f64 {
    let top = all.iter().copied().filter(|v| v.is_finite()).fold(0.0, f64::max);
    let share = if top > 0.0 { (value / top).clamp(0.0, 1.0) } else { 0.0 };
    // Its words stand above it.
    STRIP - (STRIP - 24.0) * share
}

/// The part of a line between two places, its ends put on them.
fn within(x: &[f64], y: &[f64], from: f64, to: f64) -> Vec<(f64, f64)> {
    let whole = thin(x, y);
    let at = |place: f64| {
        let next = whole.partition_point(|(x, _)| *x < place);
        match (next.checked_sub(1).and_then(|i| whole.get(i)), whole.get(next)) {
            (Some((x0, y0)), Some((x1, y1))) if x1 > x0 => {
                Some((place, y0 + (y1 - y0) * (place - x0) / (x1 - x0)))
            }
            (None, Some((_, y))) | (Some((_, y)), _) => Some((place, *y)),
            (None, None) => None,
        }
    };
    if to <= from {
        return Vec::new();
    }
    let inside = whole.iter().copied().filter(|(x, _)| *x > from && *x < to);
    at(from).into_iter().chain(inside).chain(at(to)).collect()
}

/// The area under a line, down to `base`.
fn under(kept: &[(f64, f64)], across: &Place<'_>, down: &Place<'_>, base: f64) -> String {
    let (Some(first), Some(last)) = (kept.first(), kept.last()) else {
        return String::new();
    };
    format!(
        "{}L{} {}L{} {}Z",
        line(kept, across, down),
        n(across(last.0)),
        n(base),
        n(across(first.0)),
        n(base)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tint_ends_on_the_cuts_and_a_heart_of_nothing_has_none() {
        let x = [0.0, 10.0, 20.0, 30.0];
        let y = [80.0, 70.0, 60.0, 20.0];
        let kept = within(&x, &y, 5.0, 25.0);
        assert_eq!(kept, [(5.0, 75.0), (10.0, 70.0), (20.0, 60.0), (25.0, 40.0)]);
        assert!(within(&x, &y, 25.0, 25.0).is_empty());
        assert_eq!(within(&x, &y, -4.0, 40.0).len(), 6);
        assert!(within(&[], &[], 0.0, 1.0).is_empty());
    }

    #[test]
    fn a_strip_without_figures_says_that_it_is_a_shape() {
        let strip = Strip {
            name: "phenol".into(),
            x: vec![0.0, 1.0],
            y: vec![1.0, 2.0],
            ..Strip::default()
        };
        let picture = RunPicture {
            plot: Plot { to: 1.0, ..Plot::default() },
            strips: vec![strip],
            heart: Heart { from: 0.2, to: 0.6, ..Heart::default() },
            ..RunPicture::default()
        };
        let drawn = picture.draw().into_string();
        assert!(drawn.contains("shape only"), "{drawn}");
        assert!(!drawn.contains("in heart"), "{drawn}");
    }
}
