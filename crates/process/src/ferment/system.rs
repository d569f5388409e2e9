//! The sixteen slopes of a washback, and the heat that goes to the room.

use super::Constants;
use super::constants::{ETHANOL_KG_KMOL, GAS_KG_KMOL, WATER_KG_KMOL};

/// The gas constant, J/(mol K).
const R: f64 = 8.314462618;
const ZERO_C_K: f64 = 273.15;
/// The temperature at which every rate is stated, K.
const REFERENCE_K: f64 = 303.15;
/// Heat of evaporation at fermentation temperatures, kJ/kg.
const WATER_VAPOUR_KJ_KG: f64 = 2430.0;
const ETHANOL_VAPOUR_KJ_KG: f64 = 920.0;
/// Water in a cubic metre of wash where only the share of ethanol over the gas is wanted, kg.
const WATER_KG_M3: f64 = 950.0;

/// Hexose in a kilogram of each carbohydrate: the water of its cut is taken up.
pub(super) const HEXOSE_IN_MALTOSE: f64 = 360.312 / 342.297;
pub(super) const HEXOSE_IN_MALTOTRIOSE: f64 = 540.468 / 504.438;
pub(super) const HEXOSE_IN_DEXTRIN: f64 = 180.156 / 162.141;

/// Places in the state: dry yeast that lags, works and is dead; sugars; what is made of them.
pub(super) mod at {
    pub(in crate::ferment) const LAG: usize = 0;
    pub(in crate::ferment) const ACTIVE: usize = 1;
    pub(in crate::ferment) const DEAD: usize = 2;
    pub(in crate::ferment) const GLUCOSE: usize = 3;
    pub(in crate::ferment) const MALTOSE: usize = 4;
    pub(in crate::ferment) const MALTOTRIOSE: usize = 5;
    pub(in crate::ferment) const DEXTRIN: usize = 6;
    pub(in crate::ferment) const RESIDUAL: usize = 7;
    pub(in crate::ferment) const ETHANOL: usize = 8;
    pub(in crate::ferment) const GAS: usize = 9;
    pub(in crate::ferment) const BY_PRODUCT: usize = 10;
    pub(in crate::ferment) const BACTERIA: usize = 11;
    pub(in crate::ferment) const LACTIC: usize = 12;
    pub(in crate::ferment) const TEMPERATURE_C: usize = 13;
    pub(in crate::ferment) const ETHANOL_LOST: usize = 14;
    pub(in crate::ferment) const WATER_LOST: usize = 15;
    pub(in crate::ferment) const ROOM_KJ: usize = 16;
    pub(in crate::ferment) const COUNT: usize = 17;
}

/// What stands round the wash.
#[derive(Debug, Clone, Copy)]
pub(super) struct Around {
    pub(super) room_c: f64,
    pub(super) heat_loss_kj_m3_h_k: f64,
    pub(super) pressure_pa: f64,
}

fn arrhenius(kj_mol: f64, t_k: f64) -> f64 {
    (-kj_mol * 1e3 / R * (1.0 / t_k - 1.0 / REFERENCE_K)).exp()
}

/// Vapour pressure, Pa, by Antoine's form with °C and mmHg. From memory; within 0.5 % (water) and
/// 1.1 % (ethanol) of a reference equation of state at 15 to 35 °C.
fn antoine_pa(a: f64, b: f64, c: f64, at_c: f64) -> f64 {
    10.0_f64.powf(a - b / (c + at_c)) * (101_325.0 / 760.0)
}

/// Uptake of glucose, maltose and maltotriose, kg of hexose a m³ and hour.
fn uptake(k: &Constants, y: &[f64], t_k: f64) -> [f64; 3] {
    let too_hot = ((t_k - ZERO_C_K - k.heat_limit_c) / k.heat_limit_dk).exp();
    let f = k.vigour * arrhenius(k.uptake_kj_mol, t_k) / (1.0 + too_hot);
    let phi = (1.0 - y[at::ETHANOL] / k.ethanol_limit_kg_m3).max(0.0);
    let (g, m, n) = (y[at::GLUCOSE], y[at::MALTOSE], y[at::MALTOTRIOSE]);
    let by = f * phi * y[at::ACTIVE];
    let glucose_lets = k.glucose_holds_kg_m3 / (k.glucose_holds_kg_m3 + g);
    let maltose_lets = k.maltose_holds_kg_m3 / (k.maltose_holds_kg_m3 + m);
    [
        k.glucose_rate_per_h * by * g / (k.glucose_half_kg_m3 + g),
        k.maltose_rate_per_h * by * m / (k.maltose_half_kg_m3 + m) * glucose_lets,
        k.maltotriose_rate_per_h * by * n / (k.maltotriose_half_kg_m3 + n)
            * glucose_lets
            * maltose_lets,
    ]
}

/// Ethanol and water that leave with gas made at `gas` kg/(m³ h): the bubble is saturated.
fn carried_off(k: &Constants, around: &Around, y: &[f64], gas: f64) -> (f64, f64) {
    let at_c = y[at::TEMPERATURE_C];
    let ethanol = y[at::ETHANOL] / ETHANOL_KG_KMOL;
    let x = ethanol / (ethanol + WATER_KG_M3 / WATER_KG_KMOL);
    let p = around.pressure_pa;
    let y_e = k.ethanol_activity * x * antoine_pa(8.20417, 1642.89, 230.300, at_c) / p;
    let y_w = (1.0 - x) * antoine_pa(8.07131, 1730.63, 233.426, at_c) / p;
    let with = gas / GAS_KG_KMOL / (1.0 - y_e - y_w);
    (ETHANOL_KG_KMOL * with * y_e, WATER_KG_KMOL * with * y_w)
}

/// Fills `dy` with the slopes an hour and gives the gas made, kg/(m³ h).
pub(super) fn slopes(k: &Constants, around: &Around, y: &[f64], dy: &mut [f64]) -> f64 {
    let t_k = y[at::TEMPERATURE_C] + ZERO_C_K;
    let [r_g, r_m, r_n] = uptake(k, y, t_k);
    let r = r_g + r_m + r_n;
    let gas = k.gas_kg_kg() * r;
    let woken = k.wake_per_h * arrhenius(k.wake_kj_mol, t_k) * y[at::LAG];
    let harm = k.death_per_k * (t_k - REFERENCE_K) + k.death_ethanol_m3_per_kg * y[at::ETHANOL];
    let died = k.death_per_h * harm.exp() * y[at::ACTIVE];
    let r_d = k.dextrin_per_h * arrhenius(k.dextrin_kj_mol, t_k) * y[at::DEXTRIN];
    let (b, rest, dead) = (y[at::BACTERIA], y[at::RESIDUAL], y[at::DEAD]);
    let fed = rest / (k.bacteria_extract_half_kg_m3 + rest);
    let grown = k.bacteria_per_h
        * arrhenius(k.bacteria_kj_mol, t_k)
        * b
        * (1.0 - b / k.bacteria_most_kg_m3)
        * dead
        / (k.bacteria_yeast_half_kg_m3 + dead)
        * fed;
    let acid = k.lactic_growth_kg_kg * grown + k.lactic_standing_per_h * b * fed;
    let (v_e, v_w) = carried_off(k, around, y, gas);
    let to_room = around.heat_loss_kj_m3_h_k * (y[at::TEMPERATURE_C] - around.room_c);

    dy[at::LAG] = -woken;
    dy[at::ACTIVE] = woken + k.yeast_kg_kg * r - died;
    dy[at::DEAD] = died;
    dy[at::GLUCOSE] = -r_g;
    dy[at::MALTOSE] = -r_m / HEXOSE_IN_MALTOSE + r_d * HEXOSE_IN_DEXTRIN / HEXOSE_IN_MALTOSE;
    dy[at::MALTOTRIOSE] = -r_n / HEXOSE_IN_MALTOTRIOSE;
    dy[at::DEXTRIN] = -r_d;
    dy[at::RESIDUAL] = -grown - acid;
    dy[at::ETHANOL] = k.ethanol_kg_kg * r - v_e;
    dy[at::GAS] = gas;
    dy[at::BY_PRODUCT] = k.by_product_kg_kg() * r;
    dy[at::BACTERIA] = grown;
    dy[at::LACTIC] = acid;
    dy[at::TEMPERATURE_C] =
        (k.heat_kj_kg * r - to_room - WATER_VAPOUR_KJ_KG * v_w - ETHANOL_VAPOUR_KJ_KG * v_e)
            / k.heat_capacity_kj_m3_k;
    dy[at::ETHANOL_LOST] = v_e;
    dy[at::WATER_LOST] = v_w;
    dy[at::ROOM_KJ] = to_room;
    gas
}

/// Heat that left with vapour, kJ/m³.
pub(super) fn vapour_kj_m3(y: &[f64]) -> f64 {
    WATER_VAPOUR_KJ_KG * y[at::WATER_LOST] + ETHANOL_VAPOUR_KJ_KG * y[at::ETHANOL_LOST]
}
