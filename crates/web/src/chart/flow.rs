//! What flows through a circuit: width is the amount, one scale for the picture.
//!
//! Vessels are bars of ink, what goes forward is tinted, what returns is ruled level and runs
//! beneath. The same layout is drawn from left to right where there is room, and downward on a
//! phone, where names stand beside.

use super::{n, pct};
use maud::{Markup, html};

/// A vessel, a receiver or a still.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Node {
    /// What streams call it.
    pub key: String,
    /// What it is called.
    pub name: String,
    /// What stands after its name.
    pub figure: String,
    /// What is written beneath it: losses, stock.
    pub says: Vec<String>,
}

/// What flows from one to another.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Stream {
    /// Key of the node it leaves.
    pub from: String,
    /// Key of the node it enters.
    pub to: String,
    /// How much, in the unit of the picture.
    pub amount: f64,
    /// Whether it goes back to an earlier node.
    pub returns: bool,
    /// What is written on it.
    pub label: String,
    /// What of it stands in a receiver on its way, in words; none where it does not stop.
    pub stock: Option<String>,
}

/// The picture.
#[derive(Debug, Clone, Default)]
pub struct Flow {
    /// A sentence that says what is seen.
    pub says: String,
    /// Nodes.
    pub nodes: Vec<Node>,
    /// Streams.
    pub streams: Vec<Stream>,
}

/// A node, or a place where a stream passes a level.
#[derive(Debug, Clone, Copy)]
struct Box {
    level: usize,
    across: f64,
    thick: f64,
}

/// A stream as it lies: its upper edge from place to place.
struct Ribbon<'f> {
    stream: &'f Stream,
    places: Vec<(f64, f64)>,
    thick: f64,
}

struct Layout<'f> {
    boxes: Vec<Box>,
    ribbons: Vec<Ribbon<'f>>,
    loops: Vec<Loop<'f>>,
    levels: usize,
    depth: f64,
}

/// A stream that returns: it leaves at `from`, runs at `run`, enters at `to`.
struct Loop<'f> {
    stream: &'f Stream,
    from: (f64, f64),
    to: (f64, f64),
    run: f64,
    thick: f64,
}

/// Between two things beside each other, px.
const APART: f64 = 54.0;
/// Thickness of a bar as a share of a level.
const BAR: f64 = 0.05;

impl Flow {
    /// Draws it both ways; the sheet shows the one that fits.
    pub fn draw(&self) -> Markup {
        html! {
            div.flow.wide-only { (self.across()) }
            div.flow.narrow { (self.down()) }
        }
    }

    fn at(&self, key: &str) -> Option<usize> {
        self.nodes.iter().position(|node| node.key == key)
    }

    /// The level of every node: the longest way to it.
    fn levels(&self) -> Vec<usize> {
        let mut level = vec![0_usize; self.nodes.len()];
        for _ in 0..self.nodes.len() {
            for stream in self.streams.iter().filter(|s| !s.returns) {
                if let (Some(a), Some(b)) = (self.at(&stream.from), self.at(&stream.to))
                    && a != b
                    && level[b] <= level[a]
                    && level[a] + 1 < self.nodes.len()
                {
                    level[b] = level[a] + 1;
                }
            }
        }
        level
    }

    fn thickness(&self, node: usize) -> f64 {
        let key = &self.nodes[node].key;
        let sum = |pick: &dyn Fn(&Stream) -> bool| -> f64 {
            self.streams.iter().filter(|s| pick(s)).map(|s| s.amount.max(0.0)).sum()
        };
        sum(&|s| s.from == *key).max(sum(&|s| s.to == *key))
    }

    /// Lays it out with the greatest node `most` px thick.
    fn layout(&self, most: f64, apart: f64) -> Layout<'_> {
        let level = self.levels();
        let levels = level.iter().max().map_or(1, |l| l + 1);
        let thick: Vec<f64> = (0..self.nodes.len()).map(|i| self.thickness(i)).collect();
        let top = thick.iter().copied().fold(0.0, f64::max);
        let scale = if top > 0.0 { most / top } else { 0.0 };
        // Streams that pass a level keep a place in it, above the nodes.
        let forward = || self.streams.iter().enumerate().filter(|(_, s)| !s.returns);
        let mut boxes = vec![Box { level: 0, across: 0.0, thick: 0.0 }; self.nodes.len()];
        let mut passing: Vec<(usize, Box)> = Vec::new();
        let mut depth: f64 = 0.0;
        for at in 0..levels {
            let mut down = 0.0;
            for (i, stream) in forward() {
                let (Some(a), Some(b)) = (self.at(&stream.from), self.at(&stream.to)) else {
                    continue;
                };
                if level[a] < at && at < level[b] {
                    let thick = stream.amount * scale;
                    passing.push((i, Box { level: at, across: down, thick }));
                    down += thick + apart;
                }
            }
            for node in (0..self.nodes.len()).filter(|i| level[*i] == at) {
                let thick = thick[node] * scale;
                boxes[node] = Box { level: at, across: down, thick };
                down += thick + apart;
            }
            depth = depth.max(down - apart);
        }
        Self::centre(&mut boxes, &mut passing, depth);
        let ribbons = self.ribbons(&boxes, &passing, scale);
        let (loops, depth) = self.loops(&boxes, scale, depth);
        Layout { boxes, ribbons, loops, levels, depth }
    }

    /// Puts each level in the middle.
    fn centre(boxes: &mut [Box], passing: &mut [(usize, Box)], depth: f64) {
        let last = boxes.iter().map(|b| b.level).max().unwrap_or(0);
        for level in 0..=last {
            let here = boxes.iter().filter(|b| b.level == level);
            let ends = here.chain(passing.iter().map(|(_, b)| b).filter(|b| b.level == level));
            let end = ends.map(|b| b.across + b.thick).fold(0.0, f64::max);
            let by = (depth - end) / 2.0;
            let ours = boxes.iter_mut().filter(|b| b.level == level);
            ours.chain(passing.iter_mut().map(|(_, b)| b).filter(|b| b.level == level))
                .for_each(|b| b.across += by);
        }
    }

    fn ribbons(&self, boxes: &[Box], passing: &[(usize, Box)], scale: f64) -> Vec<Ribbon<'_>> {
        // Where a stream is next, and where it was last, decides its place among its neighbours.
        let middle = |i: usize, ahead: bool| -> f64 {
            let stream = &self.streams[i];
            let mut passed = passing.iter().filter(|(of, _)| *of == i).map(|(_, b)| b);
            let end = if ahead { &stream.to } else { &stream.from };
            let passed = if ahead { passed.next() } else { passed.next_back() };
            passed
                .or_else(|| self.at(end).map(|n| &boxes[n]))
                .map_or(0.0, |b| b.across + b.thick / 2.0)
        };
        let edge = |node: &str, out: bool, of: usize| -> f64 {
            let Some(at) = self.at(node) else { return 0.0 };
            let mine = |s: &Stream| if out { s.from == node } else { s.to == node };
            let mut all: Vec<usize> = (0..self.streams.len())
                .filter(|i| mine(&self.streams[*i]) && !self.streams[*i].returns)
                .collect();
            all.sort_by(|a, b| middle(*a, out).total_cmp(&middle(*b, out)));
            let before = all.iter().take_while(|i| **i != of);
            boxes[at].across + before.map(|i| self.streams[*i].amount * scale).sum::<f64>()
        };
        let mut out = Vec::new();
        for (i, stream) in self.streams.iter().enumerate().filter(|(_, s)| !s.returns) {
            let (Some(a), Some(b)) = (self.at(&stream.from), self.at(&stream.to)) else {
                continue;
            };
            let mut places = vec![(boxes[a].level as f64 + BAR, edge(&stream.from, true, i))];
            for (_, pass) in passing.iter().filter(|(of, _)| *of == i) {
                places.push((pass.level as f64 + BAR / 2.0, pass.across));
            }
            places.push((boxes[b].level as f64, edge(&stream.to, false, i)));
            out.push(Ribbon { stream, places, thick: stream.amount * scale });
        }
        out
    }

    /// Streams that return, each beneath all that stands between its ends, and how deep it comes.
    fn loops(&self, boxes: &[Box], scale: f64, depth: f64) -> (Vec<Loop<'_>>, f64) {
        let mut out: Vec<Loop<'_>> = Vec::new();
        let mut deepest = depth;
        for stream in self.streams.iter().filter(|s| s.returns) {
            let (Some(a), Some(b)) = (self.at(&stream.from), self.at(&stream.to)) else {
                continue;
            };
            let thick = stream.amount * scale;
            let used = |node: usize, leaves: bool| -> f64 {
                let end = |l: &Loop<'_>| {
                    if leaves { self.at(&l.stream.from) } else { self.at(&l.stream.to) }
                };
                let all = out.iter().filter(|l| end(l) == Some(node));
                all.map(|l| l.thick).sum::<f64>()
            };
            let low = |i: usize| boxes[i].across + boxes[i].thick;
            let (first, last) = (boxes[b].level.min(boxes[a].level), boxes[a].level);
            let between = boxes.iter().filter(|x| (first..=last).contains(&x.level));
            let floor = between.map(|x| x.across + x.thick).fold(0.0, f64::max);
            let crossing =
                out.iter().filter(|l| l.to.0 <= last as f64 + BAR && l.from.0 >= first as f64);
            let floor = crossing.map(|l| l.run + l.thick).fold(floor, f64::max);
            let run = floor + 30.0;
            deepest = deepest.max(run + thick);
            out.push(Loop {
                stream,
                from: (boxes[a].level as f64 + BAR, low(a) - thick - used(a, true)),
                to: (boxes[b].level as f64, low(b) - thick - used(b, false)),
                run,
                thick,
            });
        }
        (out, deepest)
    }

    fn across(&self) -> Markup {
        let lay = self.layout(150.0, APART);
        let span = (lay.levels - 1).max(1) as f64 + BAR;
        let top = 40.0;
        let place = move |u: f64, v: f64| (u / span * 1000.0, top + v);
        let beneath = self.nodes.iter().map(|node| node.says.len()).max().unwrap_or(0);
        let height = top + lay.depth + 30.0 + 19.0 * beneath as f64;
        html! {
            svg.picture height=(n(height)) role="img" aria-label=(self.says) {
                svg width="100%" height=(n(height)) viewBox={ "0 0 1000 " (n(height)) }
                    preserveAspectRatio="none" overflow="visible" {
                    (shapes(&lay, &place, 0.26))
                }
                @for (node, at) in self.nodes.iter().zip(&lay.boxes) {
                    @let share = at.level as f64 / span;
                    @let (x, anchor) = if at.level + 1 == lay.levels && lay.levels > 1 {
                        (1.0, "end")
                    } else {
                        (share, "start")
                    };
                    text.ink.halo x=(pct(x)) y=(n(top + at.across - 9.0)) text-anchor=(anchor) {
                        tspan.strong { (node.name) }
                        @if !node.figure.is_empty() { " " tspan.lean { (node.figure) } }
                    }
                    @let under = lay.beneath(at);
                    @for (i, says) in node.says.iter().enumerate() {
                        text.ink.lean.halo x=(pct(x)) text-anchor=(anchor)
                            y=(n(top + under + 19.0 + 19.0 * i as f64)) { (says) }
                    }
                }
                @for ribbon in lay.ribbons.iter().filter(|r| !r.stream.label.is_empty()) {
                    @let (u, v) = ribbon.middle();
                    @let inside = v + ribbon.thick / 2.0 + 5.0;
                    @let y = if ribbon.thick > 22.0 { inside } else { v - 7.0 };
                    text.ink.lean.halo x=(pct(u / span)) y=(n(top + y)) text-anchor="middle" {
                        (ribbon.stream.label)
                    }
                }
                @for one in lay.loops.iter().filter(|l| !l.stream.label.is_empty()) {
                    @let u = f64::midpoint(one.from.0, one.to.0);
                    text.ink.lean.halo x=(pct(u / span)) text-anchor="middle"
                        y=(n(top + one.run + one.thick + 19.0)) { (one.stream.label) }
                    @if let Some(stock) = &one.stream.stock {
                        (held(&pct(u / span), top + one.run, one.thick, stock))
                    }
                }
            }
        }
    }

    fn down(&self) -> Markup {
        let lay = self.layout(108.0, 22.0);
        let level_px = 104.0;
        let place = move |u: f64, v: f64| (8.0 + v, 14.0 + u * level_px);
        let height = 14.0 + (lay.levels - 1) as f64 * level_px + 34.0;
        html! {
            svg.picture height=(n(height)) role="img" aria-label=(self.says) {
                (shapes(&lay, &|u, v| { let (x, y) = place(u, v); (x, y) }, 0.30))
                @for (i, (node, at)) in self.nodes.iter().zip(&lay.boxes).enumerate() {
                    @let x = 8.0 + lay.beside(at) + 14.0;
                    @let y = 14.0 + at.level as f64 * level_px + 8.0;
                    text.ink.halo x=(n(x)) y=(n(y)) {
                        tspan.strong { (node.name) }
                        @if !node.figure.is_empty() { " " tspan.lean { (node.figure) } }
                    }
                    @for (k, says) in self.beside(i).iter().enumerate() {
                        text.ink.lean.halo x=(n(x)) y=(n(y + 19.0 * (k + 1) as f64)) { (says) }
                    }
                }
            }
        }
    }

    /// What is written beside a node where there is no room on the streams.
    fn beside(&self, node: usize) -> Vec<&str> {
        let key = &self.nodes[node].key;
        let leaving = self.streams.iter().filter(|s| s.from == *key && !s.label.is_empty());
        let leaving = leaving.flat_map(|s| [Some(s.label.as_str()), s.stock.as_deref()]);
        let said = self.nodes[node].says.iter().map(String::as_str);
        leaving.flatten().chain(said).collect()
    }
}

impl Layout<'_> {
    /// How far down a node and what runs beneath it come.
    fn beneath(&self, at: &Box) -> f64 {
        let own = at.across + at.thick;
        let level = at.level as f64;
        let over = self.loops.iter().filter(|l| l.to.0 - 0.3 <= level && l.from.0 + 0.3 >= level);
        over.map(|l| l.run + l.thick + if l.stream.label.is_empty() { 0.0 } else { 19.0 })
            .fold(own, f64::max)
    }

    /// The same where the picture runs downward.
    fn beside(&self, at: &Box) -> f64 {
        let own = at.across + at.thick;
        let level = at.level as f64;
        let over = self.loops.iter().filter(|l| l.to.0 - 0.35 <= level && l.from.0 + 0.35 >= level);
        over.map(|l| l.run + l.thick).fold(own, f64::max)
    }
}

impl Ribbon<'_> {
    /// A place in the middle of it.
    fn middle(&self) -> (f64, f64) {
        let first = self.places.first().copied().unwrap_or_default();
        let last = self.places.last().copied().unwrap_or_default();
        match self.places.len() {
            // Over the level it passes it lies flat.
            3.. => self.places[self.places.len() / 2],
            _ => (f64::midpoint(first.0, last.0), f64::midpoint(first.1, last.1)),
        }
    }
}

/// An open receiver on a stream that returns, with what stands in it.
fn held(x: &str, top: f64, thick: f64, says: &str) -> Markup {
    let tall = thick.max(26.0) + 8.0;
    html! {
        svg x=(x) y=(n(top + thick / 2.0 - tall / 2.0)) overflow="visible" {
            rect.stock x="-46" y="0" width="92" height=(n(tall)) {}
            text.ink.lean x="0" y=(n(tall / 2.0 + 5.0)) text-anchor="middle" { (says) }
        }
    }
}

type Place<'a> = dyn Fn(f64, f64) -> (f64, f64) + 'a;

fn shapes(lay: &Layout<'_>, place: &Place<'_>, bulge: f64) -> Markup {
    html! {
        @for ribbon in &lay.ribbons { path.heart d=(ribbon_path(ribbon, place)) {} }
        @for one in &lay.loops { path.returns d=(loop_path(one, place, bulge)) {} }
        @for at in &lay.boxes {
            @let level = at.level as f64;
            @let to = (level + BAR, at.across + at.thick);
            path.inkbar d=(outline(place, (level, at.across), to)) {}
        }
    }
}

fn outline(place: &Place<'_>, from: (f64, f64), to: (f64, f64)) -> String {
    let corner = |u, v| point(place(u, v));
    format!(
        "M{}L{}L{}L{}Z",
        corner(from.0, from.1),
        corner(to.0, from.1),
        corner(to.0, to.1),
        corner(from.0, to.1)
    )
}

fn point((x, y): (f64, f64)) -> String {
    format!("{} {}", n(x), n(y))
}

fn ribbon_path(ribbon: &Ribbon<'_>, place: &Place<'_>) -> String {
    let curve = |out: &mut String, from: (f64, f64), to: (f64, f64)| {
        let half = f64::midpoint(from.0, to.0);
        let [a, b, c] = [place(half, from.1), place(half, to.1), place(to.0, to.1)].map(point);
        for part in ["C", &a, " ", &b, " ", &c] {
            out.push_str(part);
        }
    };
    let Some(first) = ribbon.places.first() else { return String::new() };
    let mut out = format!("M{}", point(place(first.0, first.1)));
    for pair in ribbon.places.windows(2) {
        curve(&mut out, pair[0], pair[1]);
    }
    let lower: Vec<(f64, f64)> =
        ribbon.places.iter().rev().map(|(u, v)| (*u, v + ribbon.thick)).collect();
    if let Some(last) = lower.first() {
        out.push('L');
        out.push_str(&point(place(last.0, last.1)));
    }
    for pair in lower.windows(2) {
        curve(&mut out, pair[0], pair[1]);
    }
    out.push('Z');
    out
}

fn loop_path(one: &Loop<'_>, place: &Place<'_>, bulge: f64) -> String {
    let p = |u: f64, v: f64| point(place(u, v));
    let ((u1, v1), (u0, v0)) = (one.from, one.to);
    let (inner, outer, t) = (one.run, one.run + one.thick, one.thick);
    let small = bulge * 0.3;
    format!(
        "M{}C{} {} {}L{}C{} {} {}L{}C{} {} {}L{}C{} {} {}Z",
        p(u1, v1),
        p(u1 + bulge, v1),
        p(u1 + bulge, outer),
        p(u1, outer),
        p(u0, outer),
        p(u0 - bulge, outer),
        p(u0 - bulge, v0),
        p(u0, v0),
        p(u0, v0 + t),
        p(u0 - small, v0 + t),
        p(u0 - small, inner),
        p(u0, inner),
        p(u1, inner),
        p(u1 + small, inner),
        p(u1 + small, v1 + t),
        p(u1, v1 + t)
    )
}

#[cfg(test)]
mod tests;
