//! A steeping as it stands at a moment, and one that is bent to a moisture that was noted.

use gauge::Fault;
use gauge::fault::Side;

use super::figures::{Charge, Constants, Programme, Vessel};
use super::run;

gauge::record! {
    /// Barley in its steep at a moment: what [`resume`](super::resume) goes on from.
    pub struct State {
        /// Hours since the first water.
        pub time_h: f64 = Field::new("h").label("since the first water").within(0.0, 500.0),
        /// Dry matter.
        pub dry_kg: f64 = Field::new("kg").label("dry matter").within(0.5, 1e6).extensive(),
        /// Moisture of the corn, wet basis.
        pub moisture_wet: f64 = Field::new("kg/kg").label("moisture, wet basis")
            .within(0.06, 0.60),
        /// Water clinging to it, on dry matter.
        pub surface_water_dry: f64 = Field::new("kg/kg").label("water clinging")
            .within(0.0, 0.5).or(0.0),
        /// Water about it; nought when it is drained.
        pub standing_kg: f64 = Field::new("kg").label("water about it").within(0.0, 5e6)
            .extensive(),
        /// The corn's own clock: `D t/R²`.
        pub clock: f64 = Field::new("").label("the corn's clock").within(0.0, 10.0).or(0.0),
        /// Hours under water so far.
        pub wet_h: f64 = Field::new("h").label("under water").within(0.0, 500.0).or(0.0),
        /// Hours without air at 15 °C so far.
        pub airless_h: f64 = Field::new("h").label("without air").within(0.0, 1000.0).or(0.0),
        /// Grain temperature; before the first water, none.
        pub temperature_c: Option<f64> = Field::new("°C").label("grain temperature")
            .within(-10.0, 60.0),
    }
}

impl State {
    /// Dry barley about to be wetted, its light corns skimmed.
    pub fn dry(charge: &Charge, constants: &Constants) -> Self {
        Self {
            time_h: 0.0,
            dry_kg: charge.dry_kg * (1.0 - constants.skimmed_fraction),
            moisture_wet: charge.moisture_wet,
            standing_kg: 0.0,
            ..Self::default()
        }
    }
}

/// A moisture that was noted in a steep.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Noted {
    /// Hours since the first water.
    pub at_h: f64,
    /// Moisture of the corn, wet basis.
    pub moisture_wet: f64,
}

/// Least and most that a noted moisture may bend the diffusion by.
const BENT: (f64, f64) = (0.25, 4.0);

/// Gives the constants with which the steeping comes to the moisture that was noted: its
/// diffusion slower or faster, the rest as it was. Reckon what is ahead with them.
///
/// # Units
/// As in the fields of its arguments.
/// # Range
/// Diffusion from a quarter to four times; a moisture that none of it gives is `Fault::Beyond`.
/// # Error
/// Meets the noted moisture to 1e-6. One reading bends all: its own error goes on with it.
/// # Source
/// Bisection.
pub fn bent_to(
    noted: &Noted,
    charge: &Charge,
    vessel: &Vessel,
    programme: &Programme,
    constants: &Constants,
) -> Result<Constants, Fault> {
    let until = programme.until(noted.at_h);
    let bent = |share: f64| Constants {
        diffusion_m2_s: (constants.diffusion_m2_s * share).clamp(1e-13, 3e-12),
        ..constants.clone()
    };
    let comes_to =
        |share: f64| run(charge, vessel, &until, &bent(share)).map(|run| run.out.moisture_wet);
    let (mut slow, mut fast) = BENT;
    let (least, most) = (comes_to(slow)?, comes_to(fast)?);
    let beyond = |side, limit| Fault::Beyond {
        field: "noted.moisture_wet".into(),
        value: noted.moisture_wet,
        unit: "kg/kg",
        side,
        limit,
        sets: "what this barley could come to by then".into(),
    };
    if noted.moisture_wet.is_nan() || noted.moisture_wet < least {
        return Err(beyond(Side::AtLeast, least));
    }
    if noted.moisture_wet > most {
        return Err(beyond(Side::AtMost, most));
    }
    for _ in 0..40 {
        let middle = (slow * fast).sqrt();
        if comes_to(middle)? < noted.moisture_wet {
            slow = middle;
        } else {
            fast = middle;
        }
        if fast / slow < 1.0 + 1e-7 {
            break;
        }
    }
    Ok(bent((slow * fast).sqrt()))
}
