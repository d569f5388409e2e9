//! What went into the washback, what it became, and what went up the flue.

use super::system::{HEXOSE_IN_DEXTRIN, HEXOSE_IN_MALTOSE, HEXOSE_IN_MALTOTRIOSE, vapour_kj_m3};
use super::{Constants, State, Vessel};
use crate::balance::Side;
use crate::{Balance, Matter};
use gauge::alcoholometry::kernel::ETHANOL_KG_M3;

/// All carbohydrate and all that is made of it, as kilograms of hexose.
const HEXOSE: Matter = Matter::Other("hexose_kg");

/// A stretch of fermentation from one state to another.
pub(super) struct Stretch<'a> {
    pub(super) from: &'a State,
    pub(super) to: &'a State,
    /// Heat that went to the room, kJ/m³.
    pub(super) to_room_kj_m3: f64,
}

pub(super) fn balance(stretch: &Stretch<'_>, vessel: &Vessel, k: &Constants) -> Balance {
    let mut balance = Balance::new();
    let m3 = vessel.fill_l / 1000.0;
    hexose(&mut balance, Side::In, stretch.from, m3);
    hexose(&mut balance, Side::Out, stretch.to, m3);
    extract(&mut balance, stretch, k, m3);
    alcohol(&mut balance, stretch, k, m3);
    energy(&mut balance, stretch, k, m3);
    balance
}

fn hexose(balance: &mut Balance, side: Side, s: &State, m3: f64) {
    let yeast = s.yeast_lag_kg_m3 + s.yeast_active_kg_m3 + s.yeast_dead_kg_m3;
    let lines = [
        ("glucose", s.glucose_kg_m3),
        ("maltose", HEXOSE_IN_MALTOSE * s.maltose_kg_m3),
        ("maltotriose", HEXOSE_IN_MALTOTRIOSE * s.maltotriose_kg_m3),
        ("dextrin", HEXOSE_IN_DEXTRIN * s.dextrin_kg_m3),
        ("residual", s.residual_kg_m3),
        ("yeast", yeast),
        ("bacteria", s.bacteria_kg_m3),
        ("lactic_acid", s.lactic_kg_m3),
        ("ethanol", s.ethanol_kg_m3 + s.ethanol_lost_kg_m3),
        ("carbon_dioxide", s.carbon_dioxide_kg_m3),
        ("by_products", s.by_product_kg_m3),
    ];
    for (name, amount) in lines {
        match side {
            Side::In => balance.input(HEXOSE, name, m3 * amount),
            Side::Out | Side::Lost => balance.output(HEXOSE, name, m3 * amount),
        };
    }
}

/// Extract in the wort and the water bound in its cut become real extract, alcohol, gas and yeast.
fn extract(balance: &mut Balance, stretch: &Stretch<'_>, k: &Constants, m3: f64) {
    let (a, b) = (stretch.from, stretch.to);
    let made = |of: fn(&State) -> f64| m3 * (of(b) - of(a));
    let x = Matter::Extract;
    balance.input(x, "extract", m3 * a.real_extract_kg_m3(k));
    balance.input(x, "water_bound", made(State::water_bound_kg_m3));
    balance.output(x, "real_extract", m3 * b.real_extract_kg_m3(k));
    balance.output(x, "alcohol", made(|s| s.ethanol_kg_m3 + s.ethanol_lost_kg_m3));
    balance.lost(x, "carbon_dioxide", made(|s| s.carbon_dioxide_kg_m3));
    let yeast = |s: &State| s.yeast_lag_kg_m3 + s.yeast_active_kg_m3 + s.yeast_dead_kg_m3;
    balance.output(x, "yeast", m3 * (yeast(b) - yeast(a)));
    balance.output(x, "bacteria", made(|s| s.bacteria_kg_m3));
    let apart = (1.0 - k.by_product_extract) * (b.by_product_kg_m3 - a.by_product_kg_m3);
    balance.output(x, "by_products", m3 * apart);
}

/// The alcohol made is reckoned from the gas: a molecule with each.
fn alcohol(balance: &mut Balance, stretch: &Stretch<'_>, k: &Constants, m3: f64) {
    let (a, b) = (stretch.from, stretch.to);
    let litres = |kg_m3: f64| m3 * kg_m3 / (ETHANOL_KG_M3 / 1000.0);
    let gas = b.carbon_dioxide_kg_m3 - a.carbon_dioxide_kg_m3;
    let pure = Matter::PureAlcohol;
    balance.input(pure, "already_made", litres(a.ethanol_kg_m3));
    balance.input(pure, "made", litres(gas * k.ethanol_kg_kg / k.gas_kg_kg()));
    balance.output(pure, "wash", litres(b.ethanol_kg_m3));
    balance.lost(pure, "with_the_gas", litres(b.ethanol_lost_kg_m3 - a.ethanol_lost_kg_m3));
}

fn energy(balance: &mut Balance, stretch: &Stretch<'_>, k: &Constants, m3: f64) {
    let (a, b) = (stretch.from, stretch.to);
    let hexose = (b.carbon_dioxide_kg_m3 - a.carbon_dioxide_kg_m3) / k.gas_kg_kg();
    let warmer = b.temperature_c - a.temperature_c;
    let vapour = vapour_kj_m3(&b.slice()) - vapour_kj_m3(&a.slice());
    balance.input(Matter::Energy, "fermentation", m3 * k.heat_kj_kg * hexose);
    balance.output(Matter::Energy, "warmth_of_wash", m3 * k.heat_capacity_kj_m3_k * warmer);
    balance.lost(Matter::Energy, "room", m3 * stretch.to_room_kj_m3);
    balance.lost(Matter::Energy, "vapour", m3 * vapour);
}
