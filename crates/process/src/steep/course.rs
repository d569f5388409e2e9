//! The course of a steeping, phase by phase, with its rows.

use super::corn::{Corn, Setting};
use super::figures::{Kind, Phase, Programme};
use super::state::State;
use super::{Run, Water, report};
use crate::Curves;
use gauge::Fault;

/// Longest step; the film and the drinking change over hours.
const STEP_S: f64 = 60.0;
/// Rows of the curves.
const EVERY_H: f64 = 0.5;
/// Times this close are one, in hours.
const SAME_H: f64 = 1e-9;

/// Steeps to the end of the programme; what lies before the state is passed over.
pub(super) fn steep(
    state: &State,
    setting: Setting<'_>,
    programme: &Programme,
) -> Result<Run, Fault> {
    let mut course = Course {
        setting,
        corn: Corn::new(state),
        ends: Vec::new(),
        waters: Vec::new(),
        curves: report::columns(),
    };
    let mut start_h = 0.0;
    for (place, phase) in programme.phases.iter().enumerate() {
        let end_h = start_h + phase.stretch.hours;
        if end_h > state.time_h + SAME_H {
            course.phase(place, phase, start_h)?;
        }
        start_h = end_h;
    }
    let Course { corn, ends, waters, curves, .. } = course;
    Ok(report::run(state, &corn, &setting, programme, report::Kept { ends, waters, curves }))
}

struct Course<'a> {
    setting: Setting<'a>,
    corn: Corn,
    ends: Vec<f64>,
    waters: Vec<Water>,
    curves: Curves,
}

impl Course<'_> {
    /// One phase, from where the corn is in it.
    fn phase(&mut self, place: usize, phase: &Phase, start_h: f64) -> Result<(), Fault> {
        let fresh = start_h > self.corn.time_h - SAME_H || self.corn.free_kg <= 0.0;
        let before = self.corn.ledger;
        self.corn.begin(&self.setting, phase, fresh);
        if self.curves.rows() == 0 {
            self.row();
        }
        let (from_h, hours) = (self.corn.time_h - start_h, phase.stretch.hours);
        let rows = ((hours - from_h) / EVERY_H - 1e-9).ceil().max(1.0);
        for i in 0..rows as u32 {
            let to_h = (from_h + f64::from(i + 1) * EVERY_H).min(hours);
            let span_s = (start_h + to_h - self.corn.time_h) * 3600.0;
            let steps = (span_s / STEP_S - 1e-9).ceil().max(1.0);
            for _ in 0..steps as u32 {
                let in_phase_h = self.corn.time_h - start_h;
                self.corn.step(&self.setting, phase, in_phase_h, span_s / steps);
            }
            self.corn.time_h = start_h + to_h;
            self.row();
        }
        self.corn.end(&self.setting, place, phase.kind)?;
        if phase.kind == Kind::Wet {
            let now = self.corn.ledger;
            let demand = self.setting.c.oxygen_demand_kg_kg;
            self.waters.push(Water {
                drained_kg: now.drained - before.drained,
                oxygen_demand_kg: demand * (now.leached - before.leached),
            });
        }
        self.ends.push(self.corn.moisture_wet());
        Ok(())
    }

    fn row(&mut self) {
        let (dry, corn) = (self.corn.dry_kg, self.corn.drunk_kg);
        self.curves.push(&[
            self.corn.time_h,
            corn / (corn + dry),
            corn / dry,
            self.corn.film_kg / dry,
            self.corn.temperature_c,
            self.corn.airless_h,
        ]);
    }
}
