//! What would bring malt that ends too moist to the moisture wanted.

use super::bed::State;
use super::course;
use super::figures::{AirKnot, Charge, Constants, Programme};
use super::vessel::Vessel;

/// Hours for which going on as at the end is tried.
const LONGEST_H: f64 = 72.0;
/// Hours for which hotter air is tried, and by how much hotter each time, up to what.
const HOTTER_H: f64 = 12.0;
const HOTTER_K: f64 = 5.0;
const HOTTEST_C: f64 = 110.0;

/// A way to the wanted moisture from where a kilning ended.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reach {
    /// Hours more.
    pub hours_h: f64,
    /// Air-on in them.
    pub air_on_c: f64,
}

/// Gives what would bring the bed to the wanted moisture: going on with the last air-on, or, where
/// that does not come to it in three days, the mildest hotter air-on that does in half a day.
///
/// # Units
/// As in the fields.
/// # Range
/// A programme that ran. `None` where no air-on up to 110 °C gets there.
/// # Error
/// As the run itself.
/// # Source
/// The model of this module's page.
pub fn reach(
    state: &State,
    charge: &Charge,
    vessel: &Vessel,
    programme: &Programme,
    constants: &Constants,
) -> Option<Reach> {
    let last = programme.air_on(state.time_h);
    let try_for = |air_on_c: f64, most_h: f64| {
        let mut more = programme.clone();
        more.turns.clear();
        more.peat.hours = 0.0;
        more.solve.hours = state.time_h + most_h;
        more.solve.every_h = most_h;
        more.on = vec![AirKnot {
            at_h: 0.0,
            temperature_c: air_on_c,
            humidity_ratio: last.humidity_ratio,
            flow_kg_m2_s: Some(last.flow_kg_m2_s),
        }];
        let run = course::dry(state, charge, vessel, &more, constants);
        run.out.ready_h.map(|h| Reach { hours_h: h - state.time_h, air_on_c })
    };
    let steps = ((HOTTEST_C - last.temperature_c) / HOTTER_K).floor().max(0.0) as u32;
    let hotter = (1..=steps).map(|i| last.temperature_c + HOTTER_K * f64::from(i));
    try_for(last.temperature_c, LONGEST_H)
        .or_else(|| hotter.into_iter().find_map(|c| try_for(c, HOTTER_H)))
}

impl Reach {
    /// What to do, in a sentence that follows "the malt ends at".
    pub fn says(&self, ended_c: f64) -> String {
        let Self { hours_h, air_on_c } = *self;
        if air_on_c > ended_c {
            format!(
                "At {ended_c:.0} °C it would not get there; {hours_h:.1} h more at {air_on_c:.0} \
                 °C would."
            )
        } else {
            format!("{hours_h:.1} h more at {air_on_c:.0} °C would bring it there.")
        }
    }
}
