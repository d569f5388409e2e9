//! The search for turns: pieces laid out from hour to hour until they are ready.

use std::collections::BTreeMap;

use super::Turning;
use crate::floor::course::LONGEST_H;
use crate::floor::figures::How;
use crate::floor::piece::{Piece, SAME_H, Setting};
use crate::floor::state::State;
use crate::manned::Manned;

/// Acts fall on multiples of this on the clock.
const GRID_H: f64 = 1.0;
/// Steps of the search.
const STEP_H: f64 = 0.1;

/// Why a piece cannot lie on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Why {
    /// It felts.
    Felts,
    /// It passes its ceiling.
    Warm,
    /// Its middle does.
    WarmWithin,
}

/// How a piece's lying unturned ends.
#[derive(Debug, Clone, Copy, PartialEq)]
enum End {
    /// It is ready, or its hours are over.
    Ready,
    /// It must be turned before this.
    Must(Why),
    /// It sleeps.
    Never,
}

/// The acts found.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Acts {
    /// Hours of the turns, those that go with a thinning among them.
    pub(super) turns_h: Vec<f64>,
    /// Hours of those for which somebody is called.
    pub(super) on_call_h: Vec<f64>,
    /// Manned turns, those on call by their weight.
    pub(super) weighs: f64,
    /// Turns called for by felting, by the ceiling, by the middle, and given early for want of
    /// hands later.
    because: [u32; 4],
}

/// A piece just turned, and how it came there.
#[derive(Debug, Clone, Copy)]
struct Label {
    piece: Piece,
    weighs: f64,
    /// Its place among the turns of all.
    turn: usize,
    /// Whether it was in trouble from the beginning, and may still be.
    let_off: bool,
}

/// One turn on the way to others.
#[derive(Debug, Clone, Copy)]
struct Given {
    at_h: f64,
    on_call: bool,
    before: Option<usize>,
}

pub(super) struct Search<'a> {
    setting: Setting<'a>,
    start: Piece,
    wanted: &'a Turning,
    manned: &'a Manned,
    ceiling_c: f64,
    core_ceiling_c: f64,
}

impl<'a> Search<'a> {
    pub(super) fn new(
        setting: Setting<'a>,
        state: &State,
        wanted: &'a Turning,
        manned: &'a Manned,
        lower_dk: f64,
    ) -> Self {
        Self {
            setting,
            start: Piece::new(state, &setting),
            wanted,
            manned,
            ceiling_c: wanted.ceiling_c - lower_dk,
            core_ceiling_c: wanted.core_ceiling_c.unwrap_or(f64::INFINITY) - lower_dk,
        }
    }

    /// The next whole hour of the clock after one of the reckoning.
    fn next_slot(&self, time_h: f64) -> f64 {
        let clock = (self.manned.start_week_h + time_h + SAME_H) / GRID_H;
        (clock.floor() + 1.0) * GRID_H - self.manned.start_week_h
    }

    /// The first hour from there at which somebody is there, within a week.
    pub(super) fn manned_from(&self, time_h: f64) -> Option<f64> {
        let mut at_h = self.next_slot(time_h - GRID_H);
        for _ in 0..168 {
            if self.manned.at(at_h) {
                return Some(at_h);
            }
            at_h += GRID_H;
        }
        None
    }

    /// What a turn at an hour weighs; none when nobody may be had.
    fn weight(&self, at_h: f64) -> Option<f64> {
        if self.manned.at(at_h) { Some(1.0) } else { self.wanted.on_call_weighs }
    }

    fn trouble_of(&self, piece: &Piece) -> Option<Why> {
        if piece.time_h - piece.turned_h > self.wanted.felt_h + SAME_H {
            Some(Why::Felts)
        } else if piece.temperature_c() > self.ceiling_c {
            Some(Why::Warm)
        } else if piece.core_c > self.core_ceiling_c {
            Some(Why::WarmWithin)
        } else {
            None
        }
    }

    /// Lets a piece lie unturned and shows it at every hour at which it may be turned. One that
    /// is in trouble from the beginning may be let off until the first such hour.
    fn lie(
        &self,
        mut piece: Piece,
        let_off: bool,
        mut see: impl FnMut(&Piece, f64),
    ) -> (Piece, End) {
        let hours = self.setting.programme.hand.hours.unwrap_or(LONGEST_H);
        let mut let_off = let_off && self.trouble_of(&piece).is_some();
        let mut slot_h = self.next_slot(piece.time_h);
        loop {
            let limit_h = (piece.time_h + STEP_H).min(slot_h).min(hours);
            piece.step(&self.setting, limit_h);
            let ended = piece.ready_h.is_some() && self.setting.programme.hand.hours.is_none();
            let trouble = self.trouble_of(&piece);
            if let (Some(why), false) = (trouble, let_off) {
                return (piece, End::Must(why));
            }
            if ended || piece.time_h >= hours - SAME_H {
                let end = if ended || hours < LONGEST_H { End::Ready } else { End::Never };
                return (piece, end);
            }
            if piece.time_h > slot_h - SAME_H {
                piece.time_h = slot_h;
                let gap = piece.time_h - piece.turned_h >= self.wanted.least_gap_h - SAME_H;
                if let (true, Some(weighs)) = (gap, self.weight(slot_h)) {
                    see(&piece, weighs);
                    let_off = false;
                    if let Some(why) = trouble {
                        return (piece, End::Must(why));
                    }
                }
                slot_h += GRID_H;
            }
        }
    }

    /// A piece turned.
    fn turned(&self, mut piece: Piece) -> Piece {
        piece.turn(&self.setting, How::Turn);
        piece
    }

    /// Turns given since the beginning, those of a thinning among them, and what calls weigh more.
    fn weighs(&self, piece: &Piece, more: f64) -> f64 {
        piece.turns - self.start.turns + more
    }

    /// What the latest turns that hold weigh: good enough to compare thinnings by.
    pub(super) fn quick(&self) -> Option<f64> {
        let (mut piece, mut let_off) = (self.start, true);
        let mut more = 0.0;
        loop {
            let (mut latest, mut latest_called) = (None, None);
            let (end_piece, end) = self.lie(piece, let_off, |seen, weighs| {
                if weighs > 1.0 + SAME_H {
                    latest_called = Some((*seen, weighs));
                } else {
                    latest = Some((*seen, weighs));
                }
            });
            match (end, latest.or(latest_called)) {
                (End::Ready, _) => return Some(self.weighs(&end_piece, more)),
                (End::Must(_), Some((seen, weighs))) => {
                    more += weighs - 1.0;
                    let_off = self.trouble_of(&seen).is_some();
                    piece = self.turned(seen);
                }
                _ => return None,
            }
        }
    }

    /// The fewest turns that hold the piece until it is ready.
    pub(super) fn best(&self) -> Option<Acts> {
        let mut given: Vec<Given> = Vec::new();
        let mut open: BTreeMap<i64, Vec<Label>> = BTreeMap::new();
        // Weight, warmest, and the last turn of the best so far.
        let mut best: Option<(f64, f64, Option<usize>)> = None;
        let mut extend = |from: Option<Label>,
                          open: &mut BTreeMap<i64, Vec<Label>>,
                          best: &mut Option<(f64, f64, Option<usize>)>| {
            let (piece, more, before, let_off) = match from {
                None => (self.start, 0.0, None, true),
                Some(Label { piece, weighs, turn, let_off }) => {
                    (piece, weighs - self.weighs(&piece, 0.0), Some(turn), let_off)
                }
            };
            let (end_piece, end) = self.lie(piece, let_off, |seen, weighs| {
                let more = more + weighs - 1.0;
                let piece = self.turned(*seen);
                let let_off = self.trouble_of(seen).is_some();
                let weighs_all = self.weighs(&piece, more);
                let label = Label { piece, weighs: weighs_all, turn: given.len(), let_off };
                let on_call = weighs > 1.0 + SAME_H;
                given.push(Given { at_h: seen.time_h, on_call, before });
                open.entry((seen.time_h / SAME_H) as i64).or_default().push(label);
            });
            if end == End::Ready {
                let found = (self.weighs(&end_piece, more), end_piece.highest_c, before);
                let better = best.is_none_or(|(weighs, warm, _)| {
                    (found.0, found.1) < (weighs - SAME_H, f64::INFINITY)
                        || (found.0 < weighs + SAME_H && found.1 < warm)
                });
                if better {
                    *best = Some(found);
                }
            }
        };
        extend(None, &mut open, &mut best);
        while let Some((_, labels)) = open.pop_first() {
            for label in thinned(labels) {
                if best.is_none_or(|(weighs, ..)| label.weighs < weighs + SAME_H) {
                    extend(Some(label), &mut open, &mut best);
                }
            }
        }
        best.map(|(weighs, _, last)| self.acts(&given, last, weighs))
    }

    /// The acts on the way to a last turn, and why each is given.
    fn acts(&self, given: &[Given], last: Option<usize>, weighs: f64) -> Acts {
        let mut way = Vec::new();
        let mut at = last;
        while let Some(turn) = at {
            way.push(given[turn]);
            at = given[turn].before;
        }
        way.reverse();
        let mut because = [0; 4];
        let mut piece = self.start;
        for turn in &way {
            let mut seen_there = piece;
            let mut later = false;
            let (_, end) = self.lie(piece, true, |seen, _| {
                if (seen.time_h - turn.at_h).abs() < SAME_H {
                    seen_there = *seen;
                }
                later |= seen.time_h > turn.at_h + SAME_H;
            });
            let place = match end {
                _ if later => 3,
                End::Must(Why::Warm) => 1,
                End::Must(Why::WarmWithin) => 2,
                _ => 0,
            };
            because[place] += 1;
            piece = self.turned(seen_there);
        }
        let written = self.setting.programme.turns.iter().map(|turn| turn.at_h);
        let mut turns_h: Vec<f64> = way.iter().map(|turn| turn.at_h).chain(written).collect();
        turns_h.sort_by(f64::total_cmp);
        let called = way.iter().filter(|turn| turn.on_call);
        let on_call_h = called.map(|turn| turn.at_h).collect();
        Acts { turns_h, on_call_h, weighs, because }
    }

    /// Where the latest turns that hold come to their end, in words.
    pub(super) fn trouble(&self) -> String {
        let mut piece = self.start;
        loop {
            let mut latest = None;
            let (end_piece, end) = self.lie(piece, true, |seen, _| latest = Some(*seen));
            let at_h = end_piece.time_h;
            match (end, latest) {
                (End::Must(_), Some(seen)) => piece = self.turned(seen),
                (End::Must(Why::Felts), None) => {
                    return format!(
                        "{at_h:.0} h after casting it felts, and nobody is there to turn it before"
                    );
                }
                (End::Must(_), None) => {
                    let ceiling = self.wanted.ceiling_c;
                    return format!(
                        "{at_h:.0} h after casting it passes {ceiling:.0} °C, and nobody is there \
                         to turn it before, or it was turned just now"
                    );
                }
                _ => return "it does not come to be ready".to_owned(),
            }
        }
    }
}

impl Acts {
    /// What calls for the turns, in words.
    pub(super) fn binds(&self, wanted: &Turning) -> Vec<String> {
        let [felts, warm, within, early] = self.because;
        let mut binds = Vec::new();
        let turns = |n: u32| if n == 1 { "1 turn".to_owned() } else { format!("{n} turns") };
        if felts > 0 {
            binds.push(format!("{} before it felts at {} h", turns(felts), wanted.felt_h));
        }
        if warm > 0 {
            binds.push(format!("{} to stay under {} °C", turns(warm), wanted.ceiling_c));
        }
        if let (true, Some(ceiling)) = (within > 0, wanted.core_ceiling_c) {
            binds.push(format!("{} to stay under {ceiling} °C in the middle", turns(within)));
        }
        if early > 0 {
            binds.push(format!("{} sooner than it must, for the sake of later ones", turns(early)));
        }
        let called = self.on_call_h.len() as u32;
        if called > 0 {
            binds.push(format!("{} of them on call", turns(called)));
        }
        binds
    }
}

/// Of pieces that come to one hour, those worth going on from: of the lightest weight the coolest
/// and the furthest grown; of a greater weight one that is cooler than these.
fn thinned(mut labels: Vec<Label>) -> Vec<Label> {
    const COOLER_DK: f64 = 0.1;
    const HEAVIER: f64 = 1.5;
    labels.sort_by(|a, b| {
        let (ta, tb) = (a.piece.temperature_c(), b.piece.temperature_c());
        a.weighs.total_cmp(&b.weighs).then(ta.total_cmp(&tb))
    });
    let Some(first) = labels.first().copied() else {
        return labels;
    };
    let mut kept = vec![first];
    let lightest = labels.iter().filter(|l| l.weighs < first.weighs + SAME_H);
    let grown = lightest.max_by(|a, b| a.piece.age_d.total_cmp(&b.piece.age_d));
    if let Some(grown) = grown.filter(|grown| grown.turn != first.turn) {
        kept.push(*grown);
    }
    let cooler = first.piece.temperature_c() - COOLER_DK;
    let heavier = labels.iter().find(|l| {
        l.weighs > first.weighs + SAME_H
            && l.weighs < first.weighs + HEAVIER
            && l.piece.temperature_c() < cooler
    });
    kept.extend(heavier);
    kept
}
