//! Cooling: worts from the tun to their setting temperature, by the water of the day.

use super::Frame;
use crate::carry::Carry;
use crate::figure::Shown;
use crate::spread::{Both, Chain, Outcome, Part};
use gauge::Fault;
use house::Equipment;
use process::cool::{Charge, Constants, Programme, run};

pub(crate) fn link(chain: &mut Chain, frame: &Frame<'_>) -> Result<(), Fault> {
    let (vessel, (stage, flows)) = frame.first("a worts cooler", |what| match what {
        Equipment::Cooler(stage, flows) => Some((stage, flows)),
        _ => None,
    })?;
    let programme = Programme {
        set_c: frame.make.ferment.programme.set_c,
        worts_kg_s: flows.worts_kg_s,
        water_c: frame.mashing.cold_water_c,
        water_most_kg_s: flows.water_most_kg_s,
    };
    let reads = ["wort_20_l", "wort_plato", "wort_c"];
    let constants = Both(Constants::default(), stage.clone());
    chain.link("cool", &reads, &constants, |carry, Both(constants, plates)| {
        let charge = Charge {
            volume_20_l: carry.wort_20_l,
            plato: carry.wort_plato,
            temperature_c: carry.wort_c,
        };
        let run = run(&charge, plates, &programme, constants)?;
        let handed = Carry { set_c: run.set_c, ..carry.clone() };
        let figures = vec![
            Shown("worts_c", "worts from the tun", "°C", 1).of(carry.wort_c),
            Shown("water_c", "burn", "°C", 1).of(programme.water_c),
            Shown("set_c", "set at", "°C", 1).of(run.set_c),
            Shown("water_kg_s", "water", "kg/s", 2).of(run.water_kg_s),
            Shown("hot_liquor_kg", "hot liquor won", "kg", 0).of(run.hot_liquor_kg),
            Shown("hot_liquor_c", "hot liquor", "°C", 1).of(run.hot_liquor_c),
            Shown("cooling_h", "cooling", "h", 1).of(run.cooling_h),
        ];
        let part = Part {
            title: vessel.name.clone(),
            vessel: vessel.key.clone(),
            figures,
            hours: run.cooling_h,
            curves: run.curves,
            balance: run.balance,
            watched: &[],
        };
        Ok(Outcome::of(handed, part))
    })
}
