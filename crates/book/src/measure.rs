//! The one crossing from a book's figures into `gauge`.

use gauge::alcoholometry::kernel;
use gauge::glass::Glass;
use gauge::wort::attenuation::{Gravities, Method, attenuate};
use gauge::{BulkVolume, Celsius, Fault, Gravity, Strength, VolumeAt20, wort};

/// A liquid at 20 °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct At20 {
    pub(crate) volume_20_l: f64,
    pub(crate) pure_alcohol_l: f64,
}

impl At20 {
    /// Stands in where a figure was at fault; never booked.
    pub(crate) const UNKNOWN: Self = Self { volume_20_l: 0.0, pure_alcohol_l: 0.0 };
}

/// Litres at a temperature to litres at 20 °C and litres of pure alcohol.
pub(crate) fn at_20(bulk_l: f64, temperature_c: f64, strength_pct: f64) -> Result<At20, Fault> {
    let strength = Strength::from_percent(strength_pct)?;
    let volume = BulkVolume::new(bulk_l, Celsius::from_degrees(temperature_c)?)?.at_20(strength);
    Ok(At20 {
        volume_20_l: volume.litres(),
        pure_alcohol_l: volume.pure_alcohol(strength).litres(),
    })
}

/// Strength at 20 °C of spirit in which a glass hydrometer, true at 20 °C, shows so much.
pub(crate) fn hydrometer_pct(shown_pct: f64, temperature_c: f64) -> Result<f64, Fault> {
    let shown = Strength::from_percent(shown_pct)?;
    let at = Celsius::from_degrees(temperature_c)?;
    Ok(Glass::SODA_LIME.alcoholometer(shown, at)?.strength.percent())
}

/// Extract in worts, kg.
pub(crate) fn extract_kg(bulk_l: f64, gravity: f64) -> f64 {
    bulk_l / 1000.0 * wort::kernel::extract_kg_m3(gravity)
}

/// What wash of these gravities holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Wash {
    pub(crate) pure_alcohol_l: f64,
    pub(crate) strength_pct: f64,
    pub(crate) extract_fermented_kg: f64,
}

/// Alcohol of wash by Balling's equations.
pub(crate) fn wash(bulk_l: f64, original_gravity: f64, final_gravity: f64) -> Result<Wash, Fault> {
    let of = Gravities {
        original: Gravity::from_specific(original_gravity)?,
        present: Gravity::from_specific(final_gravity)?,
    };
    let done = attenuate(of, Method::Balling)?;
    let strength_pct = done.alcohol.percent();
    Ok(Wash {
        pure_alcohol_l: bulk_l * strength_pct / 100.0,
        strength_pct,
        extract_fermented_kg: extract_kg(bulk_l, original_gravity) * done.real_pct / 100.0,
    })
}

/// One thing that happened to a vessel of spirit: what the book posted, and what was measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Flow {
    /// Into it, or negative out of it.
    pub(crate) pure_alcohol_l: f64,
    /// Litres that flowed, at 20 °C.
    pub(crate) volume_20_l: Option<f64>,
    /// Water added.
    pub(crate) water_kg: Option<f64>,
    /// Litres of the whole, where it was dipped.
    pub(crate) dip: Option<f64>,
}

/// What has flowed together in a vessel: litres of pure alcohol, and kilograms of water. Litres
/// of the whole are reckoned from the two, since spirit and water shrink when mixed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Mix {
    pure_alcohol_l: f64,
    water_kg: f64,
}

/// Water in so many litres at 20 °C with so much alcohol in them.
fn water_kg(volume_20_l: f64, pure_alcohol_l: f64) -> f64 {
    if volume_20_l <= 0.0 {
        return 0.0;
    }
    let strength = (100.0 * pure_alcohol_l / volume_20_l).clamp(0.0, 100.0);
    let mass = VolumeAt20::from_litres(volume_20_l)
        .and_then(|volume| Ok(volume.mass_kg(Strength::from_percent(strength)?)));
    (mass.unwrap_or(0.0) - pure_alcohol_l * kernel::ETHANOL_KG_M3 / 1000.0).max(0.0)
}

impl Mix {
    /// Lets things flow together in order. What flows out has the strength of the whole.
    pub(crate) fn of(flows: impl IntoIterator<Item = Flow>) -> Self {
        let mut mix = Self { pure_alcohol_l: 0.0, water_kg: 0.0 };
        for flow in flows {
            mix.take(&flow);
        }
        mix
    }

    fn take(&mut self, flow: &Flow) {
        let after = self.pure_alcohol_l + flow.pure_alcohol_l;
        if let Some(dip) = flow.dip {
            self.water_kg = water_kg(dip, after);
        } else if flow.pure_alcohol_l < 0.0 {
            self.water_kg *= (after / self.pure_alcohol_l).clamp(0.0, 1.0);
        } else if let Some(litres) = flow.volume_20_l {
            self.water_kg += water_kg(litres, flow.pure_alcohol_l);
        } else {
            self.water_kg += flow.water_kg.unwrap_or(0.0);
        }
        self.pure_alcohol_l = after;
        if self.pure_alcohol_l < 1e-6 {
            self.water_kg = 0.0;
        }
    }

    /// Litres at 20 °C of the whole.
    pub(crate) fn volume_20_l(&self) -> f64 {
        let alcohol_kg = self.pure_alcohol_l * kernel::ETHANOL_KG_M3 / 1000.0;
        let mass_kg = alcohol_kg + self.water_kg;
        if mass_kg > 0.0 && alcohol_kg > 0.0 {
            1000.0 * mass_kg / kernel::density_kg_m3(alcohol_kg / mass_kg, 20.0)
        } else {
            0.0
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A litre of 70 % vol and its water to 63.5 % vol: filling table of reductions reckoned with
    /// the OIML R 22 formula (1000 L at 70 %, 107.84 kg of water, 1102.36 L; to 0.02 L).
    #[test]
    fn spirit_and_water_flow_together_with_their_contraction() {
        let spirit =
            Flow { pure_alcohol_l: 700.0, volume_20_l: Some(1000.0), water_kg: None, dip: None };
        let water =
            Flow { pure_alcohol_l: 0.0, volume_20_l: None, water_kg: Some(107.84), dip: None };
        let mix = Mix::of([spirit, water]);
        assert!((mix.volume_20_l() - 1102.36).abs() < 0.02, "{}", mix.volume_20_l());
        // Half drawn off leaves half of the litres.
        let half = Flow { pure_alcohol_l: -350.0, volume_20_l: None, water_kg: None, dip: None };
        let mix = Mix::of([spirit, water, half]);
        assert!((mix.volume_20_l() - 551.18).abs() < 0.02, "{}", mix.volume_20_l());
    }
}
