//! What is read at the spirit safe while a still runs: hydrometer and temperature, head, flow, now
//! and then the cooling water, beside what was expected.

use crate::stillhouse::House;
use crate::stills::Course;
use crate::told::{Clock, Hours, field, to};
use crate::truth;
use gauge::glass::Glass;
use gauge::{Celsius, Node, Strength};

/// How a run is watched.
pub(crate) struct Watched<'a> {
    /// The still.
    pub(crate) still: &'static str,
    /// When it was charged.
    pub(crate) charged_h: Hours,
    /// Its true course, and as the forecast has it.
    pub(crate) course: &'a Course,
    pub(crate) expected: &'a Course,
    /// Hours after the charge at which the heart and the whole run end; a run without a heart is
    /// looked at now and then.
    pub(crate) heart_end_h: Option<Hours>,
    pub(crate) end_h: Hours,
}

impl Watched<'_> {
    /// Tells every reading of the run.
    pub(crate) fn tell(&self, house: &mut House<'_>) {
        let mut after_h = self.course.heat_up_h + 0.1 + 0.1 * house.diary.chance.part();
        let mut place = 0;
        while after_h < self.end_h - 0.1 {
            self.tell_one(house, after_h, place);
            place += 1;
            // Closely until the heart is cut, then seldom.
            let wait_min = match self.heart_end_h {
                None => 85.0,
                Some(end_h) if after_h < end_h => 20.0,
                Some(_) => 34.0,
            };
            after_h += (wait_min + 6.0 * house.diary.chance.part()) / 60.0;
        }
    }

    fn tell_one(&self, house: &mut House<'_>, after_h: Hours, place: u32) {
        let at_h = self.charged_h + after_h;
        let chance = &mut house.diary.chance;
        let here = self.course.at(after_h);
        let temperature_c = to(14.5 + chance.about(1.3), 1);
        let true_pct =
            here.strength_pct + truth::hydrometer_pct(Clock::week(at_h)) + chance.about(0.08);
        let shown = Strength::from_percent(true_pct)
            .ok()
            .zip(Celsius::from_degrees(temperature_c).ok())
            .and_then(|(strength, at)| Glass::SODA_LIME.shows(strength, at));
        // Off the scale: there is nothing to read.
        let Some(shown) = shown.filter(|shown| *shown >= 0.5) else { return };
        let (head, flow) = (chance.about(0.15), 1.0 + chance.about(0.02));
        let mut fields = vec![
            field("vessel", self.still),
            field("reading_pct", to(shown, 1)),
            field("temperature_c", temperature_c),
            field("head_c", to(here.head_c + head, 1)),
            field("flow_l_min", to(here.flow_l_min * flow, 1)),
        ];
        if place.is_multiple_of(3) {
            fields.push(field("water_off_c", to(52.0 + chance.about(2.5), 0)));
        }
        let foretold = self.expected.at(after_h);
        let expected = [
            ("strength_pct", Node::from(to(foretold.strength_pct, 1))),
            ("head_c", to(foretold.head_c, 1).into()),
            ("flow_l_min", to(foretold.flow_l_min, 1).into()),
        ];
        fields.push(field("expected", Node::part(expected)));
        fields.push(field("constants_version", "first"));
        house.diary.tell_late(at_h, at_h + 0.05, "reading", fields);
    }
}
