//! Heats of ethanol and water: of the liquid above 0 °C, and of vaporisation. J/mol.
//!
//! A mixture has the mole-fraction mean; the heat of mixing (below 0.6 % of the heat of
//! vaporisation at the boiling point) is reckoned only where a case asks for it.
//!
//! # Source
//! Liquid heat capacities and heats of vaporisation: D. W. Green and R. H. Perry, *Perry's
//! Chemical Engineers' Handbook*, 8th ed., 2008, tables 2-153 and 2-150 (DIPPR forms).

/// 0 °C in kelvin: the heats of the liquids are counted from here.
pub(crate) const ZERO_C_K: f64 = 273.15;

/// The integral from 0 °C of C1 + C2 T + C3 T² + C4 T³ + C5 T⁴, in J/kmol/K, as J/mol.
fn above_zero(c: [f64; 5], t: f64) -> f64 {
    let whole = |t: f64| {
        t * (c[0] + t * (c[1] / 2.0 + t * (c[2] / 3.0 + t * (c[3] / 4.0 + t * c[4] / 5.0))))
    };
    1e-3 * (whole(t) - whole(ZERO_C_K))
}

fn capacity(c: [f64; 5], t: f64) -> f64 {
    1e-3 * (c[0] + t * (c[1] + t * (c[2] + t * (c[3] + t * c[4]))))
}

const ETHANOL: [f64; 5] = [102640.0, -139.63, -0.030341, 0.0020386, 0.0];
const WATER: [f64; 5] = [276370.0, -2090.1, 8.125, -0.014116, 9.3701e-6];

/// A pure liquid's heat and its slope, both of ethanol and of water.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Liquids {
    /// Ethanol, J/mol above 0 °C.
    pub(crate) ethanol: f64,
    /// Water, J/mol above 0 °C.
    pub(crate) water: f64,
}

impl Liquids {
    /// At `t_k`.
    pub(crate) fn at(t_k: f64) -> Self {
        Self { ethanol: above_zero(ETHANOL, t_k), water: above_zero(WATER, t_k) }
    }
    /// Heat of a liquid of mole fraction `x`, J/mol above 0 °C.
    pub(crate) fn mixed(self, x: f64) -> f64 {
        x * self.ethanol + (1.0 - x) * self.water
    }
}

/// Gives the heat capacity of the liquid of mole fraction `x` at `t_k`, J/mol/K.
pub(crate) fn liquid_capacity(x: f64, t_k: f64) -> f64 {
    x * capacity(ETHANOL, t_k) + (1.0 - x) * capacity(WATER, t_k)
}

/// The heat of the boiling liquid of mole fraction `x`, J/mol, and its slope over `x` along the
/// boiling curve, whose own slope is `slope_k`; with or without the heat of mixing.
pub(crate) fn along_boiling(x: f64, boiling_k: f64, slope_k: f64, mixed: bool) -> (f64, f64) {
    let liquids = Liquids::at(boiling_k);
    let capacity = liquid_capacity(x, boiling_k);
    let heat = liquids.mixed(x);
    let slope = liquids.ethanol - liquids.water + capacity * slope_k;
    if !mixed {
        return (heat, slope);
    }
    let [h, by_x, by_t] = mixing(x, boiling_k);
    (heat + h, slope + by_x + by_t * slope_k)
}

/// Gives the heat of vaporisation of ethanol at `t_k`, J/mol.
pub(crate) fn ethanol_vaporisation(t_k: f64) -> f64 {
    const CRITICAL_K: f64 = 514.0;
    55789.0 * (0.31245 * (1.0 - t_k / CRITICAL_K).ln()).exp()
}

/// Gives the heat of vaporisation of water at `t_k`, J/mol. Near 100 °C 0.4 % above steam tables.
pub(crate) fn water_vaporisation(t_k: f64) -> f64 {
    const CRITICAL_K: f64 = 647.096;
    let r = t_k / CRITICAL_K;
    52053.0 * ((0.3199 - 0.212 * r + 0.25795 * r * r) * (1.0 - r).ln()).exp()
}

/// Gives the heat of a vapour of mole fraction `y` at `t_k`, J/mol above liquid at 0 °C: that of
/// its liquid and of vaporisation at the same temperature.
pub(crate) fn vapour(y: f64, t_k: f64) -> f64 {
    Liquids::at(t_k).mixed(y) + vaporisation(y, t_k)
}

/// Gives the heat of vaporisation of a mixture of mole fraction `y` at `t_k`, J/mol.
pub(crate) fn vaporisation(y: f64, t_k: f64) -> f64 {
    y * ethanol_vaporisation(t_k) + (1.0 - y) * water_vaporisation(t_k)
}

/// Gives the heat of mixing of a liquid of mole fraction `x` at `t_k`, J/mol: negative where
/// mixing warms.
///
/// `h = x (1-x) Σ c_kj t^j (1-2x)^k`, `t = (T - 323.15)/100`, fitted from 25 to 150 °C: mean miss
/// 3 J/mol on the rows it was fitted to, 26 at most on others. Below 25 °C it is carried on.
///
/// # Source
/// Our own least squares to Nagamachi & Francesconi, J. Chem. Thermodyn. 38 (2006) 461, and Fang
/// et al., J. Chem. Thermodyn. 78 (2014) 204.
pub(crate) fn of_mixing(x: f64, t_k: f64) -> f64 {
    mixing(x, t_k)[0]
}

/// The heat of mixing, and its slopes over mole fraction and over temperature: J/mol, J/mol,
/// J/mol/K.
pub(crate) fn mixing(x: f64, t_k: f64) -> [f64; 3] {
    const C: [[f64; 3]; 5] = [
        [-418.6, 4669.7, -573.9],
        [-1223.7, 2156.6, -542.8],
        [-2344.8, 3315.0, -959.2],
        [-1828.1, 3859.0, -1891.8],
        [-1194.8, 3113.9, -2857.1],
    ];
    let t = (t_k - 323.15) / 100.0;
    let z = 1.0 - 2.0 * x;
    let (mut sum, mut by_z, mut by_t) = (0.0, 0.0, 0.0);
    for c in C.iter().rev() {
        by_z = by_z * z + sum;
        sum = sum * z + c[0] + t * (c[1] + t * c[2]);
        by_t = by_t * z + c[1] + 2.0 * t * c[2];
    }
    let both = x * (1.0 - x);
    [both * sum, z * sum - 2.0 * both * by_z, 0.01 * both * by_t]
}
