//! Barley dried for store, by case file: a lot, a kiln, the weather.

use super::super::Vessel;
use super::super::figures::{Constants, Peat};
use super::super::firing::Setting;
use super::super::proposal::case::{read_air, read_solve};
use super::{StoreDry, Wet, store_dry};
use crate::stage::{Report, Stage};
use gauge::{Fault, Node, Reader, Record, Warning};

/// The proposal of a drying.
#[derive(Debug, Clone, Copy)]
pub struct ProposeDry;

/// A case.
#[derive(Debug, Clone, PartialEq)]
pub struct DryCase {
    /// `[lot]`
    pub wet: Wet,
    /// `[plant]`
    pub vessel: Vessel,
    /// `[air]`, `[solve]`
    pub setting: Setting,
    /// `[constants]`
    pub constants: Constants,
}

impl Stage for ProposeDry {
    const KEY: &'static str = "dry";
    const TITLE: &'static str = "Drying of barley for store";
    const DOES: &'static str =
        "Dries barley too wet to store in the kiln, in air mild enough that it still grows.";
    const EXAMPLE: &'static str = EXAMPLE;
    type Case = DryCase;

    fn read(reader: &mut Reader<'_>) -> DryCase {
        let wet = reader.section("lot", Wet::read);
        let vessel = reader.section("plant", Vessel::read);
        let (air, humidity_ratio) = reader.section("air", read_air);
        let solve = reader.section("solve", read_solve);
        let constants = reader.section("constants", Constants::read);
        let peat = Peat::default();
        let setting = Setting { air, humidity_ratio, peat, turns: Vec::new(), solve };
        DryCase { wet, vessel, setting, constants }
    }

    fn report(case: &DryCase) -> Result<Report, Vec<Fault>> {
        let dried = store_dry(&case.wet, &case.vessel, &case.setting, &case.constants)
            .map_err(|fault| vec![fault])?;
        let mut warnings = dried.run.warnings.clone();
        if !dried.safe {
            warnings.push(Warning {
                code: "germination at risk",
                says: format!(
                    "Air-on of {:.0} °C is over the {:.0} °C at which barley this moist is harmed.",
                    dried.air_on_c, dried.harm_c
                ),
            });
        }
        Ok(Report {
            result: dried.node(),
            curves: dried.run.curves,
            balance: dried.run.balance,
            warnings,
        })
    }
}

impl StoreDry {
    /// As a result.
    pub fn node(&self) -> Node {
        let out = &self.run.out;
        let wet = |dry: f64| dry / (1.0 + dry);
        Node::part([
            ("loads", Node::from(f64::from(self.loads))),
            ("depth_m", self.depth_m.into()),
            ("air_on_c", self.air_on_c.into()),
            ("harm_c", self.harm_c.into()),
            ("safe", self.safe.into()),
            ("hours", self.hours.into()),
            ("all_hours", self.all_hours.into()),
            ("oil_kg", self.oil_kg.into()),
            ("fan_kwh", self.fan_kwh.into()),
            ("mass_kg", self.mass_kg.into()),
            ("dry_kg", self.dry_kg.into()),
            ("evaporated_kg", self.evaporated_kg.into()),
            ("moisture_wet", out.moisture_wet.into()),
            ("bottom_moisture_wet", wet(out.bottom_moisture_dry).into()),
            ("top_moisture_wet", wet(out.top_moisture_dry).into()),
        ])
    }
}

const EXAMPLE: &str = r"# A lorry from a wet harvest, to be kept till spring.
[lot]
mass_kg = 24000.0
moisture_wet = 0.165
to_moisture_wet = 0.12

[plant]
area_m2 = 52.0
wall_loss_w_k = 120.0
fan_kg_s = 9.4
burner_w = 560000.0

[air]
ambient_c = 14.0
humidity_ratio = 0.008
";
