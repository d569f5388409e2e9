//! What to know about a kilning that could be reckoned all the same.

use super::Out;
use super::course::Course;
use super::plant::Made;
use gauge::Warning;

/// Hours too short to speak of: a fire is not driven to the minute.
const SPOKEN_OF_H: f64 = 0.1;

/// What the kiln fell short of, and for how long.
#[derive(Debug, Clone, Copy)]
pub(super) struct Short {
    /// Hours in which the burner could not hold the air-on.
    pub(super) heat_h: f64,
    /// The lowest air-on it held, °C, and what was asked for then.
    pub(super) held_c: f64,
    asked_c: f64,
    /// Hours in which fan or flue did not give the air.
    pub(super) flow_h: f64,
    /// The least air then, kg/(m² s).
    pub(super) least_flow: f64,
    /// Hours in which the peat gave more heat than the air-on takes, and the most of it, W/m².
    pub(super) spare_h: f64,
    pub(super) most_spare: f64,
}

impl Default for Short {
    fn default() -> Self {
        Self {
            heat_h: 0.0,
            held_c: f64::INFINITY,
            asked_c: 0.0,
            flow_h: 0.0,
            least_flow: f64::INFINITY,
            spare_h: 0.0,
            most_spare: 0.0,
        }
    }
}

impl Short {
    /// Notes what one step's fire fell short of.
    pub(super) fn see(&mut self, made: &Made, asked_c: f64, hours: f64) {
        if made.short {
            self.heat_h += hours;
            if made.on.temperature_c < self.held_c {
                (self.held_c, self.asked_c) = (made.on.temperature_c, asked_c);
            }
        }
        // A tenth of the heat either way is the hand's own evenness with peat.
        if made.spare > 0.1 * made.heat {
            self.spare_h += hours;
            self.most_spare = self.most_spare.max(made.spare);
        }
    }
}

impl Course<'_> {
    pub(super) fn warnings(&self, out: &Out) -> Vec<Warning> {
        let mut warnings = Vec::new();
        let mut warn = |code, says: String| warnings.push(Warning { code, says });
        if self.most_parts > 1 {
            warn(
                "step divided",
                format!(
                    "The step was too long for so much air and was cut by up to {}.",
                    self.most_parts
                ),
            );
        }
        if let Some(says) = self.basis() {
            warn("moisture basis", says);
        }
        self.short_of(&mut warn);
        if out.enzymes_at_risk_h >= SPOKEN_OF_H {
            warn(
                "enzymes at risk",
                format!(
                    "For {:.1} h some corn was hotter than its moisture allows.",
                    out.enzymes_at_risk_h
                ),
            );
        }
        if out.ready_h.is_none() {
            warn(
                "still moist",
                format!(
                    "The malt ends at {:.1} % moisture, above the {:.1} % wanted.",
                    100.0 * out.moisture_wet,
                    100.0 * self.plant.programme.solve.ready_moisture_wet
                ),
            );
        }
        warnings
    }

    /// A bed as it is loaded whose moisture on dry matter reads like that of green malt on the
    /// whole is asked about: 0.36 to 0.52 on dry matter is 26 to 34 % of the whole, too dry for
    /// the floor and too moist for the store.
    fn basis(&self) -> Option<String> {
        let given = self.plant.charge.moisture_dry;
        let asked = self.start_h <= 0.0 && (0.36..0.52).contains(&given);
        asked.then(|| {
            format!(
                "bed.moisture_dry is {given:.3} on dry matter, {:.1} % of the whole: dry for green \
                 malt. Is {:.3} meant, {:.1} % of the whole?",
                100.0 * given / (1.0 + given),
                given / (1.0 - given),
                100.0 * given
            )
        })
    }

    fn short_of(&self, warn: &mut impl FnMut(&'static str, String)) {
        let (short, area) = (&self.short, self.plant.vessel.area_m2);
        if short.heat_h >= SPOKEN_OF_H {
            warn(
                "burner short",
                format!(
                    "For {:.1} h the burner could not hold the air-on: it came to {:.1} °C where \
                     {:.1} °C was asked. Ask for no more than that, or for less air.",
                    short.heat_h, short.held_c, short.asked_c
                ),
            );
        }
        if short.flow_h >= SPOKEN_OF_H {
            let by = if self.plant.vessel.draws_by_flue() { "flue" } else { "fan" };
            warn(
                "air short",
                format!(
                    "For {:.1} h the {by} moved less air than was asked, {:.3} kg/(m² s) or {:.2} \
                     kg/s at least. A thinner bed lets more through.",
                    short.flow_h,
                    short.least_flow,
                    short.least_flow * area
                ),
            );
        }
        if short.spare_h >= SPOKEN_OF_H {
            warn(
                "peat too hot",
                format!(
                    "For {:.1} h the peat gave more heat than the air-on takes, up to {:.0} kW: \
                     burn it slower, or let in more cold air.",
                    short.spare_h,
                    short.most_spare * area / 1000.0
                ),
            );
        }
    }
}
