//! A piece on its floor: the saw-tooth of grain temperature over its days, the ceiling it is held
//! under, turns as ticks on the base, and the days in which it is ready.

use super::plot::{Place, line};
use super::{n, pct};
use maud::{Markup, html};
use sheets::figure;

/// One piece over its days.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct PieceStrip {
    /// A sentence that says what is seen.
    pub says: String,
    /// Days on the axis.
    pub days: f64,
    /// Days since it was laid.
    pub now: f64,
    /// Temperature between turns: place in days, and °C.
    pub grain: Vec<(f64, f64)>,
    /// Noted temperatures, in days and °C, and whether each lies outside what was expected.
    pub noted: Vec<(f64, f64, bool)>,
    /// The ceiling, °C.
    pub ceiling_c: f64,
    /// Turns done, in days.
    pub done: Vec<f64>,
    /// Turns to come, in days.
    pub due: Vec<f64>,
    /// From when until when it may be kilned, in days.
    pub ready: Option<(f64, f64)>,
}

/// Height of the plot, px.
const HEIGHT: f64 = 74.0;
/// Room for the word over the now line, px.
const TOP: f64 = 14.0;
/// Room for the days, px.
const FOOT: f64 = 24.0;
/// How far off a line may be drawn and not be seen to, px of 1000 by 74.
const UNSEEN: f64 = 0.6;

impl PieceStrip {
    fn share(&self, day: f64) -> f64 {
        if self.days > 0.0 { (day / self.days).clamp(0.0, 1.0) } else { 0.0 }
    }

    /// From where to where the temperatures reach: the ceiling is always seen.
    fn limits(&self) -> (f64, f64) {
        let grain = self.grain.iter().map(|p| p.1);
        let all = grain.chain(self.noted.iter().map(|p| p.1)).chain([self.ceiling_c]);
        let all = all.filter(|v| v.is_finite());
        let (low, high) = all.fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(v), h.max(v)));
        let high = high + 0.5;
        (low.min(high - 4.0) - 0.8, high)
    }

    /// Draws it.
    pub fn draw(&self) -> Markup {
        let (low, high) = self.limits();
        let down = |c: f64| HEIGHT * (1.0 - (c - low) / (high - low));
        let across = |day: f64| self.share(day) * 1000.0;
        let floor = (low + 1.0).ceil();
        html! {
            div.chart.piece {
                svg height=(n(TOP + HEIGHT + FOOT)) role="img" aria-label=(self.says) {
                    svg y=(n(TOP)) width="100%" height=(n(HEIGHT))
                        viewBox={ "0 0 1000 " (n(HEIGHT)) }
                        preserveAspectRatio="none" overflow="visible" {
                        @if let Some((from, to)) = self.ready {
                            rect.heart x=(n(across(from))) y="0" height=(n(HEIGHT))
                                width=(n((across(to) - across(from)).max(0.0))) {}
                        }
                        @for c in [self.ceiling_c, floor] {
                            path.grid d=(format!("M0 {}H1000", n(down(c)))) {}
                        }
                        (self.curve(&across, &down))
                        path.base d=(format!("M0 {}H1000", n(HEIGHT))) {}
                    }
                    @for c in [self.ceiling_c, floor] {
                        text x="-8" y=(n(TOP + down(c) + 5.0)) text-anchor="end" {
                            (figure::fixed(c, 0))
                        }
                    }
                    (self.turns())
                    (self.marks())
                    @for (day, c, far) in &self.noted {
                        (point(&pct(self.share(*day)), TOP + down(*c), *far))
                    }
                    (self.axis())
                }
            }
        }
    }

    /// Solid up to now, dashed after it.
    fn curve(&self, across: &Place, down: &Place) -> Markup {
        let cut = self.grain.partition_point(|(day, _)| *day <= self.now);
        let past = thin(&self.grain[..cut], across, down);
        let ahead = thin(&self.grain[cut.saturating_sub(1)..], across, down);
        html! {
            @if past.len() > 1 { path.curve d=(line(&past, across, down)) {} }
            @if ahead.len() > 1 { path.curve.dash d=(line(&ahead, across, down)) {} }
        }
    }

    fn turns(&self) -> Markup {
        let base = TOP + HEIGHT;
        let tick = |day: f64, done: bool| {
            let x = pct(self.share(day));
            let class = if done { "turned" } else { "turns" };
            html! { line class=(class) x1=(x) x2=(x) y1=(n(base - 8.0)) y2=(n(base)) {} }
        };
        html! {
            @for day in &self.done { (tick(*day, true)) }
            @for day in self.due.iter().filter(|day| **day <= self.days) { (tick(*day, false)) }
        }
    }

    fn marks(&self) -> Markup {
        let now = self.share(self.now);
        html! {
            @if let Some((from, _)) = self.ready {
                @let share = self.share(from);
                @let (anchor, dx) = if share > 0.9 { ("end", "-4") } else { ("start", "6") };
                text.ink.halo x=(pct(share)) y=(n(TOP + 16.0)) dx=(dx) text-anchor=(anchor) {
                    "ready"
                }
            }
            line.now x1=(pct(now)) x2=(pct(now)) y1="6" y2=(n(TOP + HEIGHT)) {}
        }
    }

    fn axis(&self) -> Markup {
        let last = self.days.floor() as u32;
        let base = TOP + HEIGHT;
        html! {
            @for day in 0..=last {
                @let share = self.share(f64::from(day));
                @let word = day.to_string();
                @let end = share > 0.98;
                line.tick x1=(pct(share)) x2=(pct(share)) y1=(n(base)) y2=(n(base + 5.0)) {}
                text x=(pct(share)) y=(n(base + 20.0))
                    text-anchor=(if day == 0 { "start" } else if end { "end" } else { "middle" })
                    class=[(day % 2 == 1 && day != last).then_some("wide-only")] {
                    @if day == last { (figure::unit(&word, "d")) } @else { (word) }
                }
            }
        }
    }
}

fn point(x: &str, y: f64, far: bool) -> Markup {
    let class = if far { "pt far" } else { "pt" };
    html! { circle class=(class) cx=(x) cy=(n(y)) r="4.5" {} }
}

/// The fewest places between which a straight line is off by less than can be seen: the teeth of
/// a saw must keep their tips, which a plain thinning would cut.
fn thin(all: &[(f64, f64)], across: &Place, down: &Place) -> Vec<(f64, f64)> {
    let all: Vec<(f64, f64)> =
        all.iter().copied().filter(|(x, y)| x.is_finite() && y.is_finite()).collect();
    if all.len() < 3 {
        return all;
    }
    let mut keep = vec![false; all.len()];
    keep[0] = true;
    keep[all.len() - 1] = true;
    let mut spans = vec![(0, all.len() - 1)];
    while let Some((from, to)) = spans.pop() {
        let (x0, y0) = (across(all[from].0), down(all[from].1));
        let (x1, y1) = (across(all[to].0), down(all[to].1));
        let off = |i: usize| {
            let (x, y) = (across(all[i].0), down(all[i].1));
            let share = if x1 > x0 { (x - x0) / (x1 - x0) } else { 0.5 };
            (y - y0 - share * (y1 - y0)).abs()
        };
        let far = (from + 1..to).max_by(|a, b| off(*a).total_cmp(&off(*b)));
        if let Some(at) = far.filter(|at| off(*at) > UNSEEN) {
            keep[at] = true;
            spans.push((from, at));
            spans.push((at, to));
        }
    }
    all.into_iter().zip(keep).filter(|(_, keep)| *keep).map(|(place, _)| place).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn saw() -> PieceStrip {
        let grain = (0..=90).map(|i| {
            let day = f64::from(i) * 0.1;
            (day, 14.0 + 6.0 * (day * 2.0).fract())
        });
        PieceStrip {
            says: "Piece 61".to_owned(),
            days: 9.0,
            now: 4.5,
            grain: grain.collect(),
            noted: vec![(3.9, 19.0, false)],
            ceiling_c: 21.0,
            done: vec![1.0, 2.0],
            due: vec![5.0],
            ready: Some((6.5, 7.5)),
        }
    }

    #[test]
    fn the_teeth_keep_their_tips_and_straight_parts_lose_their_middles() {
        let strip = saw();
        let (across, down) = (|d: f64| d * 111.0, |c: f64| 74.0 - 10.0 * (c - 14.0));
        let kept = thin(&strip.grain, &across, &down);
        let top = |all: &[(f64, f64)]| all.iter().map(|p| p.1).fold(f64::MIN, f64::max);
        assert!((top(&kept) - top(&strip.grain)).abs() < 1e-12);
        assert!(kept.len() < strip.grain.len(), "{} of {}", kept.len(), strip.grain.len());
        let straight: Vec<(f64, f64)> = (0..50).map(|i| (f64::from(i), f64::from(i))).collect();
        assert_eq!(thin(&straight, &|x| x, &|y| y), [(0.0, 0.0), (49.0, 49.0)]);
    }

    #[test]
    fn what_is_done_is_ink_and_what_is_to_come_is_dashed_or_grey() {
        let drawn = saw().draw().into_string();
        assert_eq!(drawn.matches("class=\"turned\"").count(), 2, "{drawn}");
        assert_eq!(drawn.matches("class=\"turns\"").count(), 1);
        assert_eq!(drawn.matches("curve dash").count(), 1);
        assert!(drawn.contains("ready"));
        let mut none = saw();
        none.ready = None;
        none.grain.clear();
        assert!(!none.draw().into_string().contains("ready"));
    }
}
