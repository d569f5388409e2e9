//! A bed on the kiln: its moisture by depth and time, shaded between contours, over panels on the
//! same time. The bottom is where the air comes in; the line called *break* is the front behind
//! which the corn no longer gives water freely.

use super::plot::{FOOT, GAP, Plot};
use super::{n, pct};
use maud::{Markup, html};
use sheets::figure;

/// The bed at one moment.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Bed {
    /// When, along the axis of the plot.
    pub x: f64,
    /// Heights above the air inlet at which its moisture is known, lowest first, cm.
    pub height_cm: Vec<f64>,
    /// Moisture there, wet basis, %.
    pub moisture_pct: Vec<f64>,
    /// Height of the bed, cm: it shrinks as it dries.
    pub top_cm: f64,
}

/// The picture.
#[derive(Debug, Clone, Default)]
pub struct KilnPicture {
    /// The bed over time, oldest first.
    pub beds: Vec<Bed>,
    /// What stands beneath, on the same axis; its marks run through all.
    pub plot: Plot,
}

/// Moistures between which the shade changes, wettest first, %, wet basis.
const LEVELS: [f64; 5] = [40.0, 30.0, 20.0, 10.0, 6.0];
/// The moisture whose front is called the break, %.
const BREAK: f64 = 30.0;
/// Height of the picture, px.
const HEIGHT: f64 = 250.0;
/// Room for two rows of names above it, px.
const TOP: f64 = 48.0;
/// Where along its contour each label is looked for first, as a share of the bed.
const LABELS_AT: [f64; 5] = [0.34, 0.5, 0.62, 0.42, 0.3];
/// Most moments that are drawn: those between hide nothing a page could show.
const MOST: usize = 120;
/// Nearer than this share of the axis two names do not stand on one row.
const NEAR: f64 = 0.26;

impl KilnPicture {
    /// Greatest height, cm.
    fn tall(&self) -> f64 {
        self.beds.iter().map(|bed| bed.top_cm).fold(0.0, f64::max).max(1e-9)
    }

    fn drawn(&self) -> Vec<&Bed> {
        let step = self.beds.len().div_ceil(MOST).max(1);
        let mut kept: Vec<&Bed> = self.beds.iter().step_by(step).collect();
        if let (Some(last), Some(end)) = (self.beds.last(), kept.last())
            && last != *end
        {
            kept.push(last);
        }
        kept
    }

    /// Draws it.
    pub fn draw(&self) -> Markup {
        let mut tops = Vec::new();
        let mut top = TOP + HEIGHT + GAP;
        for panel in &self.plot.panels {
            tops.push((top, panel));
            top += f64::from(panel.height) + GAP;
        }
        let base = top - GAP;
        html! {
            div.chart.kiln id="picture" {
                svg height=(n(base + FOOT)) role="img" aria-label=(self.plot.says) {
                    (self.bed())
                    @for (top, panel) in &tops { (self.plot.panel(panel, *top)) }
                    (self.marks(base))
                    (self.plot.axis(base))
                }
            }
        }
    }

    /// The shaded bed with its contours and their names.
    fn bed(&self) -> Markup {
        let beds = self.drawn();
        let tall = self.tall();
        let fronts: Vec<Vec<f64>> = LEVELS
            .iter()
            .map(|level| beds.iter().map(|bed| bed.front_cm(*level)).collect())
            .collect();
        let tops: Vec<f64> = beds.iter().map(|bed| bed.top_cm).collect();
        let nought = vec![0.0; beds.len()];
        let across: Vec<f64> = beds.iter().map(|bed| self.plot.share_of(bed.x) * 1000.0).collect();
        let down = |cm: f64| HEIGHT * (1.0 - cm / tall);
        // Each band lies between its own front and that of the next wetter.
        let upper = |i: usize| if i == 0 { &tops } else { &fronts[i - 1] };
        let step = if tall > 60.0 { 40.0 } else { 20.0 };
        let rules = (0..=(tall / step).floor() as u32).map(|i| f64::from(i) * step);
        html! {
            svg y=(n(TOP)) width="100%" height=(n(HEIGHT)) viewBox={ "0 0 1000 " (n(HEIGHT)) }
                preserveAspectRatio="none" overflow="visible" {
                @if !beds.is_empty() {
                    path.dry d=(between(&across, &nought, &fronts[LEVELS.len() - 1], down)) {}
                    @for i in 0..LEVELS.len() {
                        path class={ "wet" (i) } d=(between(&across, &fronts[i], upper(i), down)) {}
                    }
                    @for (i, front) in fronts.iter().enumerate() {
                        @let heavy = (LEVELS[i] - BREAK).abs() < 1e-9;
                        path.contour.front[heavy] d=(inside(&across, front, &tops, down)) {}
                    }
                    path.contour d=(polyline(&across, &tops, down)) {}
                }
                path.base d=(format!("M0 {}H1000", n(HEIGHT))) {}
            }
            @for cm in rules {
                text x="-8" y=(n(TOP + down(cm) + 5.0)) text-anchor="end" { (figure::bare(cm)) }
            }
            text.wide-only x="-44" y=(n(TOP - 10.0)) { "cm above the air inlet" }
            text.narrow x="-44" y=(n(TOP - 10.0)) { "cm" }
            (names(&across, &fronts, &tops, down))
        }
    }

    /// Marks through all of it, their names on two rows so that they do not cover each other.
    fn marks(&self, base: f64) -> Markup {
        let mut marks: Vec<_> = self.plot.marks.iter().collect();
        marks.sort_by(|a, b| a.x.total_cmp(&b.x));
        let mut ends = [f64::MIN; 2];
        let mut placed = Vec::new();
        for mark in marks {
            let share = self.plot.share_of(mark.x);
            let row = usize::from(share - ends[0] < NEAR);
            ends[row] = share;
            placed.push((share, row, mark));
        }
        html! {
            @for (share, row, mark) in placed {
                @let at = pct(share);
                @let (line, word) =
                    if mark.now { ("now", "cop halo") } else { ("cut", "ink halo bold") };
                @let anchor =
                    if share < 0.12 { "start" } else if share > 0.88 { "end" } else { "middle" };
                line class=(line) x1=(at) x2=(at) y1=(n(TOP - 6.0)) y2=(n(base)) {}
                text class=(word) x=(at) y=(if row == 0 { "34" } else { "15" })
                    text-anchor=(anchor) { (mark.name) }
            }
        }
    }
}

impl Bed {
    /// The height above which the bed is at least as wet as `level`; its top where none is.
    pub fn front_cm(&self, level: f64) -> f64 {
        let mut before: Option<(f64, f64)> = None;
        for (&height, &moisture) in self.height_cm.iter().zip(&self.moisture_pct) {
            if moisture >= level {
                let Some((low, dry)) = before else { return 0.0 };
                let share = (level - dry) / (moisture - dry);
                return low + (height - low) * share.clamp(0.0, 1.0);
            }
            before = Some((height, moisture));
        }
        self.top_cm
    }
}

type Down<'a> = &'a dyn Fn(f64) -> f64;

fn polyline(across: &[f64], cm: &[f64], down: impl Fn(f64) -> f64) -> String {
    path(across.iter().copied().zip(cm.iter().copied()), &down)
}

fn path(places: impl Iterator<Item = (f64, f64)>, down: Down<'_>) -> String {
    let mut out = String::new();
    for (i, (x, cm)) in places.enumerate() {
        out.push(if i == 0 { 'M' } else { 'L' });
        out.push_str(&n(x));
        out.push(' ');
        out.push_str(&n(down(cm)));
    }
    out
}

/// The area between two fronts.
fn between(across: &[f64], low: &[f64], high: &[f64], down: impl Fn(f64) -> f64) -> String {
    if across.is_empty() || low.iter().zip(high).all(|(l, h)| h - l < 1e-6) {
        return String::new();
    }
    let there = across.iter().copied().zip(low.iter().copied());
    let back = across.iter().copied().zip(high.iter().copied()).rev();
    let mut out = path(there.chain(back), &down);
    out.push('Z');
    out
}

/// A front, only where it is in the bed.
fn inside(across: &[f64], front: &[f64], tops: &[f64], down: impl Fn(f64) -> f64) -> String {
    let is_in = |i: usize| front[i] > 1e-6 && front[i] < tops[i] - 1e-6;
    let mut out = String::new();
    let mut pen = false;
    for i in 0..across.len() {
        let near = is_in(i) || (i > 0 && is_in(i - 1)) || (i + 1 < across.len() && is_in(i + 1));
        if near {
            out.push(if pen { 'L' } else { 'M' });
            out.push_str(&n(across[i]));
            out.push(' ');
            out.push_str(&n(down(front[i])));
        }
        pen = near;
    }
    out
}

/// Where a front has first risen to a share of the bed; its highest place if it never does.
fn risen(front: &[f64], tops: &[f64], share: f64) -> Option<usize> {
    let within = |i: &usize| front[*i] > 1e-6 && front[*i] < tops[*i] - 1e-6;
    let all: Vec<usize> = (0..front.len()).filter(within).collect();
    let there = all.iter().copied().find(|i| front[*i] >= share * tops[*i]);
    there.or_else(|| all.into_iter().max_by(|a, b| front[*a].total_cmp(&front[*b])))
}

/// Names of the fronts, each on its own line, and of what lies above and beneath them.
fn names(across: &[f64], fronts: &[Vec<f64>], tops: &[f64], down: impl Fn(f64) -> f64) -> Markup {
    let mut taken: Vec<(f64, f64)> = Vec::new();
    let mut placed = Vec::new();
    for (i, front) in fronts.iter().enumerate() {
        let heavy = (LEVELS[i] - BREAK).abs() < 1e-9;
        let word = figure::unit(&figure::fixed(LEVELS[i], 0), "%");
        let mut at = vec![(LABELS_AT[i], word)];
        if heavy {
            at.push((0.86, "break".to_owned()));
        }
        for (share, word) in at {
            let Some(column) = risen(front, tops, share) else { continue };
            let (x, y) = (across[column], TOP + down(front[column]) + 5.0);
            let clear = taken.iter().all(|(a, b)| (a - x).abs() > 90.0 || (b - y).abs() > 20.0);
            if clear && (20.0..=970.0).contains(&x) {
                taken.push((x, y));
                placed.push((x, y, heavy, word));
            }
        }
    }
    let last = tops.len().saturating_sub(1);
    let driest = fronts.last().and_then(|f| f.last()).copied().unwrap_or(0.0);
    html! {
        @for (x, y, heavy, word) in placed {
            text.ink.halo.bold[heavy] x=(pct(x / 1000.0)) y=(n(y)) text-anchor="middle" { (word) }
        }
        @if fronts.first().is_some_and(|f| f.first().is_some_and(|cm| *cm < 1e-6)) {
            text.on.bold x="0" dx="16" y=(n(TOP + 56.0)) { "wet" }
        }
        @if tops.get(last).is_some_and(|top| driest > 0.3 * top) {
            text.ink x="100%" dx="-12" y=(n(TOP + HEIGHT - 34.0)) text-anchor="end" { "dry" }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::{Mark, Panel};

    /// A front that rises 2 cm an hour: dry beneath, wet above.
    fn bed(hour: f64) -> Bed {
        let height_cm: Vec<f64> = (0..40).map(|i| 0.5 + f64::from(i)).collect();
        let moisture_pct =
            height_cm.iter().map(|h| (25.0 + (h - 2.0 * hour) * 2.0).clamp(4.0, 44.0)).collect();
        Bed { x: hour, height_cm, moisture_pct, top_cm: 40.0 }
    }

    #[test]
    fn a_front_lies_between_the_heights_where_its_moisture_is_crossed() {
        let one = bed(5.0);
        // 25 + (h - 10) * 2 is 30 at 12.5 cm.
        assert!((one.front_cm(30.0) - 12.5).abs() < 1e-9, "{}", one.front_cm(30.0));
        assert!(one.front_cm(0.0).abs() < 1e-12, "all of it is wetter than nothing");
        assert!((one.front_cm(60.0) - 40.0).abs() < 1e-12, "none of it is as wet as that");
        assert!(bed(8.0).front_cm(30.0) > one.front_cm(30.0));
    }

    #[test]
    fn the_picture_has_every_band_once_and_calls_the_front_break() {
        let picture = KilnPicture {
            beds: (0..=120).map(|i| bed(f64::from(i) * 0.2)).collect(),
            plot: Plot {
                to: 24.0,
                marks: vec![
                    Mark { x: 9.0, name: "peat out".into(), now: false },
                    Mark { x: 10.0, name: "now".into(), now: true },
                ],
                panels: vec![Panel { height: 80, ..Panel::default() }],
                ..Plot::default()
            },
        };
        let drawn = picture.draw().into_string();
        for band in ["wet0", "wet1", "wet2", "wet3", "wet4", "dry"] {
            assert_eq!(drawn.matches(&format!("class=\"{band}\"")).count(), 1, "{band}");
        }
        assert_eq!(drawn.matches(">break<").count(), 1);
        // Two names that are near stand on two rows.
        assert!(drawn.contains("y=\"34\"") && drawn.contains("y=\"15\""), "{drawn}");
    }

    #[test]
    fn an_empty_bed_is_no_failure() {
        assert!(KilnPicture::default().draw().into_string().contains("svg"));
    }
}
