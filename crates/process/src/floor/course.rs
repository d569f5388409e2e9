//! The course of a piece: steps, rows, and turns that nobody has written down.

use super::figures::{How, Programme};
use super::growth::acrospire;
use super::piece::{Piece, SAME_H, Setting};
use super::state::State;
use super::{Run, report};
use crate::Curves;
use gauge::Fault;

/// Longest step; temperatures change over hours.
pub(super) const STEP_H: f64 = 1.0 / 60.0;
/// Rows of the curves.
const EVERY_H: f64 = 1.0;
/// A warm piece is not turned again sooner.
const TURN_GAP_H: f64 = 1.0;
/// Longest a piece is waited for.
pub(super) const LONGEST_H: f64 = 21.0 * 24.0;

/// Lets the piece lie until it is ready or its hours are over.
pub(super) fn lie(state: &State, setting: Setting<'_>, step_h: f64) -> Result<Run, Fault> {
    let mut course = Course::new(state, setting, step_h);
    if state.time_h <= 0.0 {
        // What is written down for the casting itself; later, it has been done.
        course.piece.written(&setting);
    }
    course.row();
    let hand = &setting.programme.hand;
    let end = hand.hours.unwrap_or(LONGEST_H);
    while course.piece.time_h < end - SAME_H {
        if hand.hours.is_none() && course.piece.ready_h.is_some() {
            break;
        }
        course.step(end);
    }
    if hand.hours.is_none() && course.piece.ready_h.is_none() {
        return Err(Fault::NeverReached {
            field: "hand.ready_modification".into(),
            wanted: hand.ready_modification,
            reached: course.piece.modification,
            unit: "",
        });
    }
    course.row();
    Ok(report::run(state, &course.piece, &setting, course.curves))
}

struct Course<'a> {
    setting: Setting<'a>,
    step_h: f64,
    piece: Piece,
    /// When it is turned of its own accord.
    unasked: Option<(f64, f64)>,
    next_row: f64,
    curves: Curves,
}

impl<'a> Course<'a> {
    fn new(state: &State, setting: Setting<'a>, step_h: f64) -> Self {
        Self {
            setting,
            step_h,
            piece: Piece::new(state, &setting),
            unasked: Programme::unasked(setting.programme),
            next_row: (state.time_h / EVERY_H + SAME_H).floor() + 1.0,
            curves: report::columns(),
        }
    }

    /// One step: to the next event at most.
    fn step(&mut self, end_h: f64) {
        let hand = &self.setting.programme.hand;
        let now = self.piece.time_h;
        let row_h = self.next_row * EVERY_H;
        // Sixtieths of an hour do not add up to hours to the last bit: near enough is there.
        let soonest = end_h.min(row_h);
        let stepped = now + self.step_h;
        let mut to_h = if stepped > soonest - SAME_H { soonest } else { stepped };
        if let Some((from_h, _)) = self.unasked {
            let due_h = (self.piece.turned_h + hand.turn_every_h).max(from_h);
            if due_h > now + SAME_H {
                to_h = to_h.min(due_h);
            }
        }
        self.piece.step(&self.setting, to_h);
        self.turn_unasked();
        let at_h = self.piece.time_h;
        if (at_h - row_h).abs() < SAME_H {
            self.next_row += 1.0;
            if at_h < end_h - SAME_H {
                self.row();
            }
        }
    }

    fn turn_unasked(&mut self) {
        let hand = &self.setting.programme.hand;
        let now = self.piece.time_h;
        let turned = self.unasked.is_some_and(|(from_h, until_h)| {
            let since = now - self.piece.turned_h;
            let warm = self.piece.temperature_c() > hand.turn_above_c && since >= TURN_GAP_H;
            let inside = (from_h - SAME_H..until_h).contains(&now);
            inside && (warm || since >= hand.turn_every_h - SAME_H)
        });
        if turned {
            self.piece.turn(&self.setting, How::Turn);
        }
    }

    fn row(&mut self) {
        let piece = &self.piece;
        let m = piece.moisture();
        self.curves.push(&[
            piece.time_h,
            piece.temperature_c(),
            m / (1.0 + m),
            piece.modification,
            acrospire(piece.age_d),
            piece.age_d,
            1.0 - piece.dry_kg / self.setting.charge.dry_kg,
            piece.root_kg / piece.dry_kg,
            piece.depth_m,
            piece.turns,
            piece.core_c,
            piece.carbon_dioxide_kg_h,
        ]);
    }
}
