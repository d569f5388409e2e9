//! Barley too wet to store, dried in the kiln in air mild enough that it still grows.
//!
//! A lot that comes in wet heats and dies in its silo; dried too hot it dies on the wire. What
//! kills is the corn's own temperature while it is moist, and a moist corn in an airstream comes
//! to lie between the wet bulb and the air. The published limit is therefore one on the depression
//! `T − T_wb`, and falls with moisture. The bed is that of the kiln: barley is what its law of
//! drying was measured on.
//!
//! # Equations
//! `T − T_wb ≤ 19.2 K` at 30 % moisture on dry matter and less, `15.0 K` at 90 %, straight
//! between; the air-on is that with `margin_dk` to spare, and no hotter than `air_on_most_c`.
//! `m₂ = m₁ (1 − w₁)/(1 − w₂)`
//! # Range
//! Barley of 12 to 30 % moisture as it is, in a kiln as on the kiln's page.
//! # Error
//! Hours as those of the kiln's page, −10/+40 %. How many corns are lost above the limit is not
//! reckoned: it is said that some may be.
//! # Source
//! Sasaki and Kanzaki, J. Jap. Soc. Agric. Mach. 34 (1972) 252, limits of the abstract; hottest
//! air from memory.

pub(crate) mod case;
#[cfg(test)]
mod tests;

use super::figures::{AirKnot, Charge, Constants, Peat, Programme};
use super::firing::Setting;
use super::{Run, Vessel, moisture_at_rest, run};
use crate::sound::sound;
use gauge::moist_air::kernel;
use gauge::{Fault, Grade};

gauge::record! {
    /// Barley to be dried for store.
    pub struct Wet {
        /// Mass as it is.
        pub mass_kg: f64 = Field::new("kg").label("barley").within(1.0, 1e6).extensive(),
        /// Its moisture, wet basis.
        pub moisture_wet: f64 = Field::new("kg/kg").label("moisture").within(0.1, 0.3),
        /// Moisture wanted, wet basis.
        pub to_moisture_wet: f64 = Field::new("kg/kg").label("moisture wanted")
            .within(0.08, 0.2).or(0.12)
            .from(Grade::Memory, "barley is kept at about 12 %"),
        /// Its temperature.
        pub temperature_c: f64 = Field::new("°C").label("grain temperature").within(0.0, 40.0)
            .or(12.0),
        /// What a cubic metre weighs as it is.
        pub bulk_kg_m3: f64 = Field::new("kg/m³").label("a cubic metre of barley")
            .within(350.0, 800.0).or(620.0).from(Grade::Memory, "580 to 680"),
        /// Deepest bed of barley; the kiln's own where that is less.
        pub deepest_m: f64 = Field::new("m").label("deepest bed").within(0.02, 2.0).or(0.5)
            .from(Grade::Design, "deeper, the top lies wet for too long"),
        /// Air-on; the safe one when not given.
        pub air_on_c: Option<f64> = Field::new("°C").label("air-on").within(5.0, 80.0),
        /// Kelvins kept below the limit of harm.
        pub margin_dk: f64 = Field::new("K").label("kept below the limit").within(0.0, 15.0)
            .or(2.0).from(Grade::Design, "a fire is not held to the kelvin"),
        /// Hottest air-on, whatever the limit.
        pub air_on_most_c: f64 = Field::new("°C").label("hottest air-on").within(15.0, 80.0)
            .or(43.0).from(Grade::Memory, "malting and seed barley, 43 to 49 °C"),
        /// Dry air; all the fan gives when not given, and no more than 0.15.
        pub flow_kg_m2_s: Option<f64> = Field::new("kg/(m² s)").label("dry air")
            .within(0.02, 1.0),
    }
}

/// Air when neither the lot nor the kiln says how much [design].
const FLOW_KG_M2_S: f64 = 0.15;
/// Longest drying that is looked at, hours.
const HOURS_MOST: f64 = 240.0;
/// Published limits of the depression: moisture on dry matter, kelvins.
const LIMITS: [(f64, f64); 2] = [(0.30, 19.2), (0.90, 15.0)];

/// A lot dried for store.
#[derive(Debug, Clone, PartialEq)]
pub struct StoreDry {
    /// Loads of the kiln, all alike.
    pub loads: u32,
    /// Depth of a load.
    pub depth_m: f64,
    /// Air-on.
    pub air_on_c: f64,
    /// Air-on above which germination is harmed.
    pub harm_c: f64,
    /// Whether every corn stays under that.
    pub safe: bool,
    /// Hours of fire for one load.
    pub hours: f64,
    /// Hours of fire for all of them, without the time to load and strip.
    pub all_hours: f64,
    /// Oil for all of them.
    pub oil_kg: f64,
    /// Electricity of the fan for all of them.
    pub fan_kwh: f64,
    /// Mass after.
    pub mass_kg: f64,
    /// Dry matter, which stays.
    pub dry_kg: f64,
    /// Water driven off.
    pub evaporated_kg: f64,
    /// One load's course.
    pub run: Run,
}

/// Gives the hottest air-on that does barley of a moisture no harm.
///
/// `T − T_wb(T, W) = 19.2 K − 4.2 K (M − 0.30)/0.60`, held to its ends
/// # Units
/// Moisture kg/kg dry matter, humidity ratio kg/kg, pressure of the setting's air; result °C.
/// # Range
/// 0.11 to 0.9 kg/kg dry matter; drier grain bears at least as much.
/// # Error
/// Not stated by the source.
/// # Source
/// Sasaki and Kanzaki, J. Jap. Soc. Agric. Mach. 34 (1972) 252, abstract.
pub fn harmful_air_on_c(moisture_dry: f64, setting: &Setting) -> f64 {
    let [(m0, k0), (m1, k1)] = LIMITS;
    let share = ((moisture_dry - m0) / (m1 - m0)).clamp(0.0, 1.0);
    let limit_dk = k0 + share * (k1 - k0);
    let pressure_pa = setting.air.pressure_pa;
    let depressed = |t: f64| t - kernel::wet_bulb_c(t, setting.humidity_ratio, pressure_pa);
    // The depression grows with the temperature of air that is only heated.
    let (mut low, mut high) = (setting.air.ambient_c.min(0.0), 100.0);
    for _ in 0..50 {
        let middle = 0.5 * (low + high);
        if depressed(middle) < limit_dk {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// Gives the drying of a lot that is too wet to store.
///
/// # Units
/// As in the fields of its arguments.
/// # Range
/// That of the kiln; barley already as dry as wanted, and air that leaves it moister than wanted,
/// are `Fault::Unworkable`, which says what would do.
/// # Error
/// See the page above.
/// # Source
/// See the page above.
pub fn store_dry(
    wet: &Wet,
    vessel: &Vessel,
    setting: &Setting,
    constants: &Constants,
) -> Result<StoreDry, Fault> {
    sound("lot", wet)?;
    sound("air", &setting.air).or_else(|fault| match fault.field() {
        // The flow is this drying's own.
        Some("air.flow_kg_m2_s") => Ok(()),
        _ => Err(fault),
    })?;
    if wet.moisture_wet <= wet.to_moisture_wet {
        return Err(Fault::Unworkable {
            field: "lot.moisture_wet".into(),
            trouble: format!(
                "barley of {:.1} % is already as dry as wanted",
                100.0 * wet.moisture_wet
            ),
            remedy: "store it as it is".into(),
        });
    }
    let load = Load::of(wet, vessel, setting);
    load.reaches(constants)?;
    let run = load.dried(constants)?;
    let out = &run.out;
    let dry_kg = wet.mass_kg * (1.0 - wet.moisture_wet);
    let loads = f64::from(load.loads);
    Ok(StoreDry {
        loads: load.loads,
        depth_m: load.charge.depth_m,
        air_on_c: load.air_on_c,
        harm_c: load.harm_c,
        safe: load.air_on_c <= load.harm_c,
        hours: out.hours,
        all_hours: loads * out.hours,
        oil_kg: loads * out.oil_kg,
        fan_kwh: loads * out.fan_kwh,
        mass_kg: dry_kg * (1.0 + out.moisture_dry),
        dry_kg,
        evaporated_kg: loads * out.evaporated_kg,
        run,
    })
}

/// One load of the kiln.
struct Load<'a> {
    wet: &'a Wet,
    vessel: &'a Vessel,
    setting: &'a Setting,
    charge: Charge,
    loads: u32,
    harm_c: f64,
    air_on_c: f64,
    flow_kg_m2_s: f64,
}

impl<'a> Load<'a> {
    fn of(wet: &'a Wet, vessel: &'a Vessel, setting: &'a Setting) -> Self {
        let deepest_m = vessel.deepest_m.map_or(wet.deepest_m, |m| m.min(wet.deepest_m));
        let whole_m = wet.mass_kg / (wet.bulk_kg_m3 * vessel.area_m2);
        let loads = (whole_m / deepest_m - 1e-9).ceil().max(1.0);
        let moisture_dry = wet.moisture_wet / (1.0 - wet.moisture_wet);
        let harm_c = harmful_air_on_c(moisture_dry, setting);
        let safe_c = safe_c(wet, moisture_dry, setting);
        let fan = vessel.fan_kg_s.map(|kg_s| kg_s / vessel.area_m2);
        let flow = wet.flow_kg_m2_s.unwrap_or(fan.map_or(FLOW_KG_M2_S, |f| f.min(FLOW_KG_M2_S)));
        Self {
            wet,
            vessel,
            setting,
            charge: Charge {
                depth_m: whole_m / loads,
                dry_bulk_kg_m3: wet.bulk_kg_m3 * (1.0 - wet.moisture_wet),
                moisture_dry,
                temperature_c: wet.temperature_c,
                rootlet_fraction: 0.0,
            },
            loads: loads as u32,
            harm_c,
            air_on_c: wet.air_on_c.unwrap_or(safe_c),
            flow_kg_m2_s: flow.clamp(0.02, 1.0),
        }
    }

    /// Refuses an air-on in which the barley would come to rest too moist.
    fn reaches(&self, constants: &Constants) -> Result<(), Fault> {
        let (t, setting) = (self.air_on_c, self.setting);
        let vapour = kernel::vapour_pa(setting.humidity_ratio, setting.air.pressure_pa);
        let humidity = (vapour / kernel::saturation_pa(t)).min(0.99);
        let rest = moisture_at_rest(constants, t, humidity);
        let rest_wet = rest / (1.0 + rest);
        if rest_wet < 0.98 * self.wet.to_moisture_wet {
            return Ok(());
        }
        Err(Fault::Unworkable {
            field: "lot.to_moisture_wet".into(),
            trouble: format!(
                "air-on of {t:.0} °C in this weather leaves barley at {:.1} % at best",
                100.0 * rest_wet
            ),
            remedy: format!("wait for drier weather, or go to {:.0} °C", self.harm_c),
        })
    }

    fn programme(&self, hours: f64, cells: f64) -> Programme {
        let mut solve = self.setting.solve.clone();
        solve.hours = hours;
        solve.cells = solve.cells.max(cells);
        solve.ready_moisture_wet = self.wet.to_moisture_wet;
        let mut air = self.setting.air.clone();
        air.flow_kg_m2_s = self.flow_kg_m2_s;
        air.returned = 0.0;
        Programme {
            air,
            on: vec![AirKnot {
                at_h: 0.0,
                temperature_c: self.air_on_c,
                humidity_ratio: self.setting.humidity_ratio,
                flow_kg_m2_s: None,
            }],
            turns: Vec::new(),
            peat: Peat { hours: 0.0, peat_kg_t: 0.0, ..self.setting.peat.clone() },
            solve,
        }
    }

    /// Runs until the mean moisture is the wanted one.
    fn dried(&self, constants: &Constants) -> Result<Run, Fault> {
        // Nothing is dressed off barley on its way to the silo.
        let constants = &Constants { dust_fraction: 0.0, ..constants.clone() };
        let cells = super::proposal::cells_for(&self.charge, constants, self.flow_kg_m2_s);
        let go =
            |hours: f64| run(&self.charge, self.vessel, &self.programme(hours, cells), constants);
        let mut hours = 12.0;
        loop {
            let tried = go(hours)?;
            if let Some(ready_h) = tried.out.ready_h {
                // A second past it, so that the end is surely as dry as wanted.
                return go(ready_h + 1.0 / 3600.0);
            }
            if hours >= HOURS_MOST {
                return Err(Fault::NeverReached {
                    field: "lot.to_moisture_wet".into(),
                    wanted: self.wet.to_moisture_wet,
                    reached: tried.out.moisture_wet,
                    unit: "kg/kg",
                });
            }
            hours = (3.0 * hours).min(HOURS_MOST);
        }
    }
}

/// The air-on for barley of that moisture: below harm by the margin, and no hotter than is let.
fn safe_c(wet: &Wet, moisture_dry: f64, setting: &Setting) -> f64 {
    let harm_c = harmful_air_on_c(moisture_dry, setting);
    (harm_c - wet.margin_dk).min(wet.air_on_most_c).max(setting.air.ambient_c)
}
