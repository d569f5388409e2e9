//! Cooling: worts from the tun to setting temperature, and hot liquor won back.
//!
//! Worts come over at 60 °C and more and must be set at 16 to 22 °C before the yeast is let in.
//! They pass a stack of plates against burn water; the hand opens the water until the worts leave
//! at the setting. The water leaves hot and goes to the tank for the next mash: it is most of the
//! heat that the mash will want. In August the burn is warm, more water is needed, and on some
//! days no opening of the valve brings the worts down far enough; then the washback is set warm
//! and will peak high. Plates foul with cloudy worts and lodge the first bacteria, so they are
//! steamed after each mash.
//!
//! # Equations
//! Effectiveness and heat: `exchanger.rs`. The flow of water is found so that the worts leave at
//! the setting; where the most flow does not do it, the setting that can be reached is the answer.
//! Fouling: 1/U = 1/U_clean + R. Specific heat of worts 4.19 − 0.0205 P.
//! # Units
//! kg, °C, W/K, kJ above 0 °C.
//! # Range
//! Worts of 0 to 30 °P at 30 to 95 °C; one pass on both sides. The conductance does not change
//! with the flow here (it rises by about a half when both flows double).
//! # Error
//! The conductance is the house's to find: from one log of four temperatures and a flow.
//! # Source
//! Counter-current exchanger of the textbooks; specific heats from memory; worts cooled to 20 °C is
//! printed in production overviews.

mod exchanger;
#[cfg(test)]
mod tests;

pub use exchanger::{Exchange, Exchanged, conductance_of, effectiveness, exchange, water_for};

use crate::sound::sound;
use crate::{Balance, Curves, Matter, Report, Stage};
use gauge::fault::Side;
use gauge::wort::kernel as wort;
use gauge::{Fault, Grade, Node, Reader, Record, Warning};

const MEMORY: &str = "from memory of the trade";

gauge::record! {
    /// Worts from the tun.
    pub struct Charge {
        /// Volume at 20 °C.
        pub volume_20_l: f64 = Field::new("L").label("Worts").within(1.0, 1e6).extensive(),
        /// Extract by mass.
        pub plato: f64 = Field::new("°P").label("Extract").within(0.0, 30.0).or(14.0),
        /// Temperature.
        pub temperature_c: f64 = Field::new("°C").label("Worts").within(30.0, 95.0).or(63.0),
    }
}

gauge::record! {
    /// The cooler.
    pub struct Vessel {
        /// Conductance when clean.
        pub conductance_w_k: f64 = Field::new("W/K").label("Plates, clean").within(10.0, 1e7)
            .or(34_000.0).fitted(3_000.0).extensive(),
        /// Conductance of a square metre when clean, which says how much fouling matters.
        pub clean_w_m2_k: f64 = Field::new("W/(m² K)").within(500.0, 8000.0).or(3500.0)
            .from(Grade::Memory, "3000 to 4500 at 0.3 to 0.5 m/s"),
        /// Resistance of what has settled on the plates.
        pub fouling_m2_k_w: f64 = Field::new("m² K/W").label("Fouling").within(0.0, 2e-3).or(0.0)
            .from(Grade::Memory, "grows by 1e-5 in 10 to 20 mashes").fitted(5e-5),
    }
}

gauge::record! {
    /// What the hand decides, and the water of the day.
    pub struct Programme {
        /// Setting temperature wanted.
        pub set_c: f64 = Field::new("°C").label("Setting").within(5.0, 40.0).or(19.0),
        /// Worts through the plates.
        pub worts_kg_s: f64 = Field::new("kg/s").label("Worts").within(0.01, 1000.0).or(1.5)
            .extensive(),
        /// Cold water.
        pub water_c: f64 = Field::new("°C").label("Burn").within(0.0, 35.0).or(9.0),
        /// Most of it that the main gives.
        pub water_most_kg_s: f64 = Field::new("kg/s").label("Water, most").within(0.01, 5000.0)
            .or(4.5).extensive(),
    }
}

gauge::record! {
    /// The free constants.
    pub struct Constants {
        /// Specific heat of water.
        pub water_kj_kg_k: f64 = Field::new("kJ/(kg K)").within(4.1, 4.25).or(4.186)
            .from(Grade::Memory, "mean of 10 to 50 °C"),
        /// Specific heat of worts of no extract.
        pub worts_kj_kg_k: f64 = Field::new("kJ/(kg K)").within(4.1, 4.25).or(4.19)
            .from(Grade::Memory, MEMORY),
        /// What each degree Plato takes from it.
        pub worts_kj_kg_k_plato: f64 = Field::new("kJ/(kg K °P)").within(0.0, 0.05).or(0.0205)
            .from(Grade::Memory, MEMORY),
    }
}

/// What comes out.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// Temperature the worts are set at.
    pub set_c: f64,
    /// Whether the water could not bring them to what was wanted.
    pub limited: bool,
    /// Hot liquor won.
    pub hot_liquor_kg: f64,
    /// Its temperature.
    pub hot_liquor_c: f64,
    /// Flow of the water.
    pub water_kg_s: f64,
    /// Heat passed.
    pub heat_kj: f64,
    /// How long it takes.
    pub cooling_h: f64,
    /// Worts at 20 °C: as they came.
    pub volume_20_l: f64,
    /// Mass of the worts.
    pub worts_kg: f64,
    /// Share of the most heat that could pass.
    pub effectiveness: f64,
    /// Conductance of the plates as they are.
    pub conductance_w_k: f64,
    /// The reachable setting over the temperature of the burn.
    pub curves: Curves,
    /// Water, extract and heat.
    pub balance: Balance,
    /// What to know.
    pub warnings: Vec<Warning>,
}

/// Cools the worts.
pub fn run(
    charge: &Charge,
    vessel: &Vessel,
    programme: &Programme,
    constants: &Constants,
) -> Result<Run, Fault> {
    sound("worts", charge)?;
    sound("cooler", vessel)?;
    sound("cooling", programme)?;
    sound("constants", constants)?;
    if programme.set_c >= charge.temperature_c {
        return Err(Fault::Beyond {
            field: "cooling.set_c".into(),
            value: programme.set_c,
            unit: "°C",
            side: Side::AtMost,
            limit: charge.temperature_c,
            sets: "the worts as they come".into(),
        });
    }
    let kj_kg_k = constants.worts_kj_kg_k - constants.worts_kj_kg_k_plato * charge.plato;
    let conductance_w_k =
        vessel.conductance_w_k / (1.0 + vessel.fouling_m2_k_w * vessel.clean_w_m2_k);
    let water_w_k = |kg_s: f64| kg_s * constants.water_kj_kg_k * 1000.0;
    let most_w_k = water_w_k(programme.water_most_kg_s);
    let most = Exchange {
        worts_w_k: programme.worts_kg_s * kj_kg_k * 1000.0,
        worts_in_c: charge.temperature_c,
        water_w_k: most_w_k,
        water_in_c: programme.water_c,
        conductance_w_k,
    };
    let found = water_for(&most, programme.set_c, most_w_k)?;
    let streams = Exchange { water_w_k: found.unwrap_or(most_w_k), ..most };
    let passed = exchange(&streams);
    let gravity = wort::gravity_of_plato(charge.plato);
    let worts_kg = charge.volume_20_l * wort::density_kg_m3(gravity) / 1000.0;
    let seconds = worts_kg / programme.worts_kg_s;
    let water_kg_s = streams.water_w_k / water_w_k(1.0);
    let hot_liquor_kg = water_kg_s * seconds;
    let set_c = passed.worts_out_c;

    let mut balance = Balance::new();
    let extract_kg = worts_kg * charge.plato / 100.0;
    balance.input(Matter::Extract, "worts", extract_kg);
    balance.output(Matter::Extract, "worts", extract_kg);
    balance.input(Matter::Water, "worts", worts_kg - extract_kg);
    balance.input(Matter::Water, "burn", hot_liquor_kg);
    balance.output(Matter::Water, "worts", worts_kg - extract_kg);
    balance.output(Matter::Water, "hot_liquor", water_kg_s * seconds);
    let water = constants.water_kj_kg_k * hot_liquor_kg;
    balance.input(Matter::Energy, "worts", kj_kg_k * worts_kg * charge.temperature_c);
    balance.input(Matter::Energy, "burn", water * programme.water_c);
    balance.output(Matter::Energy, "worts", kj_kg_k * worts_kg * set_c);
    balance.output(Matter::Energy, "hot_liquor", water * passed.water_out_c);

    Ok(Run {
        set_c,
        limited: found.is_none(),
        hot_liquor_kg,
        hot_liquor_c: passed.water_out_c,
        water_kg_s,
        heat_kj: passed.heat_w * seconds / 1000.0,
        cooling_h: seconds / 3600.0,
        volume_20_l: charge.volume_20_l,
        worts_kg,
        effectiveness: passed.effectiveness,
        conductance_w_k,
        curves: over_the_burn(&most, programme.set_c)?,
        balance,
        warnings: warnings(found.is_none(), set_c, programme.set_c),
    })
}

fn warnings(limited: bool, reached: f64, wanted: f64) -> Vec<Warning> {
    if limited {
        let says = format!(
            "All the water there is brings the worts to {reached:.1} °C; {wanted:.1} °C was wanted."
        );
        vec![Warning { code: "water", says }]
    } else {
        Vec::new()
    }
}

/// What the same plates reach, and the water it takes, as the burn warms through the year.
fn over_the_burn(most: &Exchange, set_c: f64) -> Result<Curves, Fault> {
    let mut curves = Curves::new([
        ("water_c", "°C"),
        ("reachable_c", "°C"),
        ("set_c", "°C"),
        ("water_to_worts", "kJ/kJ"),
        ("hot_liquor_c", "°C"),
    ]);
    for step in 0..=20 {
        let here = Exchange { water_in_c: f64::from(step), ..*most };
        let reachable = exchange(&here).worts_out_c;
        let found = water_for(&here, set_c, most.water_w_k)?.unwrap_or(most.water_w_k);
        let at = exchange(&Exchange { water_w_k: found, ..here });
        let ratio = found / most.worts_w_k;
        curves.push(&[here.water_in_c, reachable, at.worts_out_c, ratio, at.water_out_c]);
    }
    Ok(curves)
}

/// The stage by case file.
#[derive(Debug, Clone, Copy)]
pub struct Cool;

/// A whole case.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// What goes in.
    pub charge: Charge,
    /// The cooler.
    pub vessel: Vessel,
    /// The setting and the water.
    pub programme: Programme,
    /// The free constants.
    pub constants: Constants,
}

impl Stage for Cool {
    const KEY: &'static str = "cool";
    const TITLE: &'static str = "Worts cooler";
    const DOES: &'static str =
        "Cools worts to setting temperature: water wanted, what can be reached, hot liquor won.";
    const EXAMPLE: &'static str = "\
# The worts of one mash.
[worts]
volume_20_l = 12900.0
plato = 14.0
temperature_c = 65.5
[cooler]
conductance_w_k = 34000.0
[cooling]
set_c = 19.0
worts_kg_s = 1.5
water_c = 9.0
water_most_kg_s = 4.5
";
    type Case = Case;

    fn read(reader: &mut Reader<'_>) -> Case {
        Case {
            charge: reader.section("worts", Charge::read),
            vessel: reader.section("cooler", Vessel::read),
            programme: reader.section("cooling", Programme::read),
            constants: reader.section("constants", Constants::read),
        }
    }

    fn report(case: &Case) -> Result<Report, Vec<Fault>> {
        let run = run(&case.charge, &case.vessel, &case.programme, &case.constants)
            .map_err(|fault| vec![fault])?;
        let water = gauge::water::density_kg_m3;
        let bulk_l = run.volume_20_l * water(20.0) / water(run.set_c);
        let result = Node::part([
            ("set_c", Node::from(run.set_c)),
            ("limited_by_water", Node::from(run.limited)),
            ("volume_20_l", Node::from(run.volume_20_l)),
            ("bulk_l", Node::from(bulk_l)),
            ("worts_kg", Node::from(run.worts_kg)),
            ("hot_liquor_kg", Node::from(run.hot_liquor_kg)),
            ("hot_liquor_c", Node::from(run.hot_liquor_c)),
            ("water_to_worts", Node::from(run.hot_liquor_kg / run.worts_kg)),
            ("heat_kj", Node::from(run.heat_kj)),
            ("cooling_h", Node::from(run.cooling_h)),
            ("effectiveness", Node::from(run.effectiveness)),
            ("conductance_of_clean", Node::from(run.conductance_w_k / case.vessel.conductance_w_k)),
        ]);
        Ok(Report { result, curves: run.curves, balance: run.balance, warnings: run.warnings })
    }
}
