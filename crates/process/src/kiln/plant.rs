//! What the kiln takes: heat, oil, peat, the fan; and the air sent back.

use gauge::moist_air::kernel;

use super::depths::sunk;
use super::drying::{AIR_HEAT_J_KG_K, AirState, EVAPORATION_J_KG, VAPOUR_HEAT_J_KG_K};
use super::figures::{AirOn, Charge, Peat, Programme};
use super::vessel::Vessel;

/// Kilograms of water from a kilogram of oil; 1.15 to 1.25, from memory.
const WATER_OF_OIL_KG_KG: f64 = 1.15;
/// What a flue draws at least: the fire under the wire keeps some air moving while the air over
/// the bed is still as cold as the weather [design].
pub(super) const LEAST_DRAUGHT_KG_M2_S: f64 = 0.02;
const GRAVITY_M_S2: f64 = 9.81;

impl Peat {
    /// Water that a kilogram of peat as burnt gives to the air: its own, and that of its burning.
    pub(super) fn water_a_kg(&self) -> f64 {
        self.peat_moisture_wet + (1.0 - self.peat_moisture_wet) * self.water_kg_kg
    }
}

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

/// What the fire is asked for at one moment.
#[derive(Debug, Clone, Copy)]
pub(super) struct Asked {
    pub(super) on: AirOn,
    /// Air under the roof, which is what may be sent back.
    pub(super) flue: AirState,
    pub(super) returning: bool,
    /// Peat burnt, kg/s for a tonne of dry matter.
    pub(super) peat: f64,
}

/// Air-on and what it takes to make it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Made {
    pub(super) on: AirState,
    /// Heat into the air, peat and all, W/m².
    pub(super) heat: f64,
    /// Oil, kg/(m² s).
    pub(super) oil: f64,
    /// Whether the burner could not hold the air-on asked for.
    pub(super) short: bool,
    /// Heat of the peat that the air-on has no use for, W/m².
    pub(super) spare: f64,
}

impl Plant<'_> {
    /// Mixes fresh air with what is sent back and heats it to the air-on, or as near to it as the
    /// burner comes.
    ///
    /// `Q = G (h_on − h_mixed − L0 W_fire) + U (T_on − T_amb)`: net heats of fuel count their
    /// water as vapour already. Water of oil under an open fire grows with the heat and its own
    /// vapour must be heated in turn, `Q = Q_peat + (Q_0 − Q_peat)/(1 − e)`,
    /// `e = d 1.15 c_v T/(η CV)`.
    pub(super) fn make(&self, asked: &Asked) -> Made {
        let (air, vessel) = (&self.programme.air, self.vessel);
        let AirOn { temperature_c, humidity_ratio, flow_kg_m2_s: g } = asked.on;
        let back = if asked.returning { air.returned } else { 0.0 };
        let fresh = AirState::new(air.ambient_c, humidity_ratio);
        let ratio = (1.0 - back) * fresh.humidity_ratio + back * asked.flue.humidity_ratio;
        let mixed = (1.0 - back) * fresh.enthalpy + back * asked.flue.enthalpy;
        let peat = asked.peat * self.dry_kg_m2() / 1e3;
        let by_peat = vessel.peat_heat_fraction * peat * self.programme.peat.peat_mj_kg * 1e6;
        let peat_water = peat * self.programme.peat.water_a_kg() / g;
        let walls = vessel.wall_loss_w_k / vessel.area_m2;
        let net = vessel.burner_efficiency * vessel.oil_mj_kg * 1e6;
        let own_vapour = vessel.direct_fraction * WATER_OF_OIL_KG_KG * VAPOUR_HEAT_J_KG_K / net;

        let plain = |t: f64| {
            let on = AirState::new(t, ratio + peat_water);
            g * (on.enthalpy - mixed - EVAPORATION_J_KG * peat_water) + walls * (t - air.ambient_c)
        };
        let by_oil = |t: f64| (plain(t) - by_peat) / (1.0 - own_vapour * t);
        let most = vessel.burner_w.map_or(f64::INFINITY, |w| w / vessel.area_m2);
        let short = by_oil(temperature_c) > most;
        let t = if short {
            // `plain` is straight in the temperature.
            let at_0 = plain(0.0);
            (most + by_peat - at_0) / (plain(1.0) - at_0 + most * own_vapour)
        } else {
            temperature_c
        };
        let fire = by_oil(t).max(0.0);
        let oil = fire / net;
        let wetter = peat_water + vessel.direct_fraction * WATER_OF_OIL_KG_KG * oil / g;
        let on = AirState::new(t, self.no_mist(t, ratio, wetter));
        let heat = if fire > 0.0 { fire + by_peat } else { plain(t).max(0.0) };
        let spare = if by_peat > 0.0 { (by_peat - plain(t).max(0.0)).max(0.0) } else { 0.0 };
        Made { on, heat, oil, short, spare }
    }

    /// Humidity ratio of the air-on: water of the fire beyond saturation falls out again.
    fn no_mist(&self, temperature_c: f64, ratio: f64, wetter: f64) -> f64 {
        if wetter <= 0.0 {
            return ratio;
        }
        let pressure = self.programme.air.pressure_pa;
        let most = kernel::saturation_humidity_ratio(temperature_c, pressure);
        ratio + wetter.min((most - ratio).max(0.0))
    }

    /// The air under the roof: what left the bed and what passed it by.
    pub(super) fn flue(&self, on: AirState, off: AirState) -> AirState {
        let past = self.vessel.leak_fraction;
        if past == 0.0 {
            return off;
        }
        let humidity_ratio = off.humidity_ratio + past * (on.humidity_ratio - off.humidity_ratio);
        let enthalpy = off.enthalpy + past * (on.enthalpy - off.enthalpy);
        let capacity = AIR_HEAT_J_KG_K + VAPOUR_HEAT_J_KG_K * humidity_ratio;
        let temperature_c = (enthalpy - EVAPORATION_J_KG * humidity_ratio) / capacity;
        AirState { temperature_c, humidity_ratio, enthalpy }
    }

    /// Most air that fan or flue drives through the bed as it stands, kg/(m² s); `None` where
    /// nothing is known that holds it back.
    pub(super) fn most_flow(&self, moisture: &[f64], flue: AirState) -> Option<f64> {
        let vessel = self.vessel;
        if !vessel.draws_by_flue() {
            return vessel.fan_pa.map(|pa| self.driven_by(pa, moisture, flue));
        }
        let air = &self.programme.air;
        let humidity_ratio = self.programme.on.first().map_or(0.0, |knot| knot.humidity_ratio);
        let weather = AirState::new(air.ambient_c, humidity_ratio);
        let lighter = self.density_kg_m3(weather) - self.density_kg_m3(flue);
        let draught = GRAVITY_M_S2 * vessel.flue_m.unwrap_or(0.0) * lighter;
        Some(self.driven_by(draught, moisture, flue).max(LEAST_DRAUGHT_KG_M2_S))
    }

    /// The flow that loses `pressure_pa` in bed, wire and ducts; at most 1 kg/(m² s).
    pub(super) fn driven_by(&self, pressure_pa: f64, moisture: &[f64], off: AirState) -> f64 {
        let (mut low, mut high) = (0.0, 1.0);
        if self.pressure_drop_pa(moisture, off, high) <= pressure_pa {
            return high;
        }
        // Thirty halvings leave 1e-9 of a flow.
        for _ in 0..30 {
            let middle = 0.5 * (low + high);
            if self.pressure_drop_pa(moisture, off, middle) > pressure_pa {
                high = middle;
            } else {
                low = middle;
            }
        }
        low
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

    /// Dry matter on a square metre.
    pub(super) fn dry_kg_m2(&self) -> f64 {
        self.charge.depth_m * self.charge.dry_bulk_kg_m3
    }

    /// Pressure lost in bed, wire and ducts, Pa.
    ///
    /// Wet grain has 80 % of the dry grain's resistance; the bed sinks by
    /// what its mean moisture lost; wire and ducts take 75 Pa at 0.15 m/s [design].
    pub(super) fn pressure_drop_pa(&self, moisture: &[f64], off: AirState, flow: f64) -> f64 {
        let past = self.vessel.leak_fraction;
        let velocity = flow * (1.0 - past) * self.volume_m3_kg(off);
        let cells = moisture.len() as f64;
        let wet = moisture.iter().filter(|m| **m > 0.2).count() as f64 / cells;
        let lost = self.charge.moisture_dry - moisture.iter().sum::<f64>() / cells;
        let depth = self.charge.depth_m * (1.0 - sunk(lost));
        let bed = bed_resistance_pa_m(Resistance::BARLEY, velocity) * depth * (1.0 - 0.2 * wet);
        bed + 75.0 * (velocity / 0.15).powi(2)
    }

    /// Cubic metres that hold a kilogram of dry air and its vapour.
    fn volume_m3_kg(&self, air: AirState) -> f64 {
        let pressure = self.programme.air.pressure_pa;
        kernel::volume_m3_kg(air.temperature_c, air.humidity_ratio, pressure)
    }

    /// Kilograms of air and vapour in a cubic metre.
    fn density_kg_m3(&self, air: AirState) -> f64 {
        (1.0 + air.humidity_ratio) / self.volume_m3_kg(air)
    }

    /// Electricity of the fan, W/m².
    pub(super) fn fan_w(&self, drop_pa: f64, off: AirState, flow: f64) -> f64 {
        if self.vessel.draws_by_flue() {
            return 0.0;
        }
        drop_pa * flow * self.volume_m3_kg(off) / self.vessel.fan_efficiency
    }
}

/// Relative humidity of air, 0 to 1; a hair above 1 in the wet stage is rounding of the surface.
pub(super) fn relative_humidity(air: AirState, pressure_pa: f64) -> f64 {
    kernel::vapour_pa(air.humidity_ratio, pressure_pa) / kernel::saturation_pa(air.temperature_c)
}
