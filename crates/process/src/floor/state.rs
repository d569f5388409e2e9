//! A piece as it stands at a moment: what a reckoning may begin from.

use gauge::Fault;

use super::figures::{Charge, Constants, Programme, Vessel};
use super::growth::STARCH_CARBON_DIOXIDE;
use crate::sound::sound;

gauge::record! {
    /// A piece as it stands. What the hand has noted (a temperature, a turn) is written over what
    /// was reckoned, and [`resume`](super::resume) goes on from there.
    pub struct State {
        /// Hours since casting.
        pub time_h: f64 = Field::new("h").label("since casting").within(0.0, 1000.0),
        /// Dry matter with rootlets.
        pub dry_kg: f64 = Field::new("kg").label("dry matter").within(0.5, 1e6).extensive(),
        /// Moisture, wet basis.
        pub moisture_wet: f64 = Field::new("kg/kg").label("moisture, wet basis")
            .within(0.10, 0.60),
        /// Mean grain temperature.
        pub temperature_c: f64 = Field::new("°C").label("grain temperature").within(-5.0, 60.0),
        /// Age in days at 16 °C.
        pub age_d: f64 = Field::new("d").label("age").within(0.0, 40.0).or(0.0),
        /// How far the corn is softened.
        pub modification: f64 = Field::new("").label("modification").within(0.0, 1.0).or(0.0),
        /// Share of the dry matter that is rootlets.
        pub rootlet_fraction: f64 = Field::new("kg/kg").label("rootlets").within(0.0, 0.3).or(0.0),
        /// Depth it lies at.
        pub depth_m: f64 = Field::new("m").label("depth").within(0.005, 1.5),
        /// When it was last turned, or cast.
        pub turned_h: f64 = Field::new("h").label("last turned").within(0.0, 1000.0).or(0.0),
        /// Longest it has lain without a turn so far.
        pub longest_h: f64 = Field::new("h").label("longest unturned").within(0.0, 1000.0).or(0.0),
        /// Turns given so far.
        pub turns: f64 = Field::new("").label("turns").within(0.0, 1000.0).or(0.0),
        /// When it was ready, if it was.
        pub ready_h: Option<f64> = Field::new("h").label("ready").within(0.0, 1000.0),
        /// Highest mean temperature so far.
        pub highest_c: Option<f64> = Field::new("°C").label("warmest").within(-5.0, 60.0),
        /// Highest temperature in the middle so far.
        pub highest_core_c: Option<f64> = Field::new("°C").label("warmest in the middle")
            .within(-5.0, 80.0),
    }
}

impl State {
    /// A piece just cast on to its floor.
    pub fn cast(
        charge: &Charge,
        vessel: &Vessel,
        programme: &Programme,
        constants: &Constants,
    ) -> Self {
        let moisture = charge.moisture_wet / (1.0 - charge.moisture_wet);
        let moisture = moisture + charge.surface_water_dry;
        let covered = vessel.area_m2 * programme.hand.covered_fraction;
        Self {
            time_h: 0.0,
            dry_kg: charge.dry_kg,
            moisture_wet: moisture / (1.0 + moisture),
            temperature_c: charge.temperature_c,
            depth_m: charge.dry_kg / (constants.dry_bulk_kg_m3 * covered),
            ..Self::default()
        }
    }

    /// Moisture on dry matter.
    pub fn moisture_dry(&self) -> f64 {
        self.moisture_wet / (1.0 - self.moisture_wet)
    }

    /// Water in it.
    pub fn water_kg(&self) -> f64 {
        self.dry_kg * self.moisture_dry()
    }

    /// Carbon dioxide given off since casting: all dry matter that is gone was breathed.
    pub fn carbon_dioxide_kg(&self, charge: &Charge) -> f64 {
        STARCH_CARBON_DIOXIDE * (charge.dry_kg - self.dry_kg).max(0.0)
    }

    pub(super) fn check(&self) -> Result<(), Fault> {
        sound("state", self)?;
        if self.turned_h > self.time_h {
            return Err(Fault::Beyond {
                field: "state.turned_h".into(),
                value: self.turned_h,
                unit: "h",
                side: gauge::fault::Side::AtMost,
                limit: self.time_h,
                sets: "the hours since casting".into(),
            });
        }
        Ok(())
    }
}
