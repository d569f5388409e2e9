//! What the kiln takes: heat, oil, peat, the fan; and the air sent back.

use gauge::moist_air::kernel;

use super::drying::AirState;
use super::figures::{AirOn, Charge, Programme, Vessel};

/// Kilograms of water from a kilogram of oil.
const WATER_OF_OIL_KG_KG: f64 = 1.15;

/// Hukill and Ives's resistance of barley: `dp/L = a Q²/ln(1 + b Q)`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Resistance {
    /// `a`, Pa s²/m³.
    pub a: f64,
    /// `b`, s/m.
    pub b: f64,
}

impl Resistance {
    /// Loose, clean, dry barley.
    pub const BARLEY: Self = Self { a: 2.14e4, b: 13.2 };
}

/// Gives the pressure lost in a metre of dry bed.
///
/// `dp/L = a Q²/ln(1 + b Q)`
/// # Units
/// Face velocity m/s, result Pa/m.
/// # Range
/// 0.0056 to 0.203 m/s.
/// # Error
/// Wet grain has some 80 % of it, packed grain up to half as much again.
/// # Source
/// W. V. Hukill and N. C. Ives's form; ASAE D272, barley. Constants from memory.
pub fn bed_resistance_pa_m(resistance: Resistance, velocity_m_s: f64) -> f64 {
    resistance.a * velocity_m_s * velocity_m_s / (resistance.b * velocity_m_s).ln_1p()
}

/// Gives the oil burnt by direct firing and how much wetter it makes the air.
///
/// `m = Q/(η CV)`, `W = W_fresh + 1.15 m/G`
/// # Units
/// Heat W/m², result kg/(m² s) and kg/kg.
/// # Range
/// Any flow above nought.
/// # Error
/// 1.15 to 1.25 kg of water a kilogram of oil.
/// # Source
/// From memory.
pub fn direct_firing_water(vessel: &Vessel, heat_w_m2: f64, flow_kg_m2_s: f64) -> (f64, f64) {
    let oil = heat_w_m2 / (vessel.burner_efficiency * vessel.oil_mj_kg * 1e6);
    (oil, WATER_OF_OIL_KG_KG * oil / flow_kg_m2_s)
}

/// Heat and work a square metre of wire since the start, J/m² (oil kg/m²).
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Taken {
    pub(super) heat: f64,
    pub(super) oil_kg: f64,
    pub(super) fan: f64,
}

/// The kiln as the air sees it.
pub(super) struct Plant<'a> {
    pub(super) vessel: &'a Vessel,
    pub(super) charge: &'a Charge,
    pub(super) programme: &'a Programme,
}

/// Air-on and what it takes to make it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Made {
    pub(super) on: AirState,
    /// W/m².
    pub(super) heat: f64,
}

impl Plant<'_> {
    /// Mixes fresh air with what is sent back and heats it to the air-on.
    pub(super) fn make(&self, wanted: &AirOn, off: AirState, returning: bool) -> Made {
        let air = &self.programme.air;
        let back = if returning { air.returned } else { 0.0 };
        let fresh = AirState::new(air.ambient_c, wanted.humidity_ratio);
        let ratio = (1.0 - back) * fresh.humidity_ratio + back * off.humidity_ratio;
        let on = AirState::new(wanted.temperature_c, ratio);
        let mixed = (1.0 - back) * fresh.enthalpy + back * off.enthalpy;
        let walls = self.vessel.wall_loss_w_k / self.vessel.area_m2
            * (wanted.temperature_c - air.ambient_c);
        let heat = wanted.flow_kg_m2_s * (on.enthalpy - mixed) + walls;
        Made { on, heat: heat.max(0.0) }
    }

    /// Heat of the peat, W/m².
    pub(super) fn peat_heat(&self, time_h: f64) -> f64 {
        self.peat_rate(time_h) * self.programme.peat.peat_mj_kg * 1e6 * self.dry_kg_m2() / 1e3
    }

    /// Peat burnt, kg/s for a tonne of dry matter.
    pub(super) fn peat_rate(&self, time_h: f64) -> f64 {
        let peat = &self.programme.peat;
        if peat.hours > 0.0 && time_h >= peat.from_h && time_h < peat.from_h + peat.hours {
            peat.peat_kg_t / (3600.0 * peat.hours)
        } else {
            0.0
        }
    }

    /// Oil for that much heat, kg/(m² s).
    pub(super) fn oil(&self, heat_w_m2: f64) -> f64 {
        heat_w_m2.max(0.0) / (self.vessel.burner_efficiency * self.vessel.oil_mj_kg * 1e6)
    }

    /// Dry matter on a square metre.
    pub(super) fn dry_kg_m2(&self) -> f64 {
        self.charge.depth_m * self.charge.dry_bulk_kg_m3
    }

    /// Pressure lost in bed, wire and ducts, Pa.
    ///
    /// Wet grain has 80 % of the dry grain's resistance; the bed sinks as it dries by
    /// `15.91 [1 − exp(−0.0996 ΔM)]` %, `ΔM` points of moisture lost (Bala and Woods, from
    /// memory); wire and ducts take 75 Pa at 0.15 m/s [design].
    pub(super) fn pressure_drop_pa(&self, moisture: &[f64], off: AirState, flow: f64) -> f64 {
        let velocity = flow * self.volume_m3_kg(off);
        let cells = moisture.len() as f64;
        let wet = moisture.iter().filter(|m| **m > 0.2).count() as f64 / cells;
        let lost = self.charge.moisture_dry - moisture.iter().sum::<f64>() / cells;
        let sunk = 0.1591 * -(-0.0996 * 100.0 * lost.max(0.0)).exp_m1();
        let depth = self.charge.depth_m * (1.0 - sunk);
        let bed = bed_resistance_pa_m(Resistance::BARLEY, velocity) * depth * (1.0 - 0.2 * wet);
        bed + 75.0 * (velocity / 0.15).powi(2)
    }

    /// Cubic metres that hold a kilogram of dry air and its vapour.
    fn volume_m3_kg(&self, air: AirState) -> f64 {
        let pressure = self.programme.air.pressure_pa;
        kernel::volume_m3_kg(air.temperature_c, air.humidity_ratio, pressure)
    }

    /// Electricity of the fan, W/m².
    pub(super) fn fan_w(&self, drop_pa: f64, off: AirState, flow: f64) -> f64 {
        drop_pa * flow * self.volume_m3_kg(off) / self.vessel.fan_efficiency
    }
}

/// Relative humidity of air, 0 to 1; a hair above 1 in the wet stage is rounding of the surface.
pub(super) fn relative_humidity(air: AirState, pressure_pa: f64) -> f64 {
    kernel::vapour_pa(air.humidity_ratio, pressure_pa) / kernel::saturation_pa(air.temperature_c)
}
