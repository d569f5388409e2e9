//! What time and the air do to layers, and how a draw takes from them.

use super::Lot;
use super::figures::{Constants, Emptying, Layer, Measures, Programme, Vessel};
use crate::kiln::{self, moisture_at_rest};

/// What a stay in the bin moved.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Moved {
    /// Water taken from the air; less than nought when it dried, kg.
    pub(super) water_kg: f64,
    /// Phenols faded, g.
    pub(super) faded_g: f64,
}

impl Layer {
    /// Mass as it is.
    pub(super) fn mass_kg(&self) -> f64 {
        self.dry_kg / (1.0 - self.moisture_wet)
    }
    /// Water in it.
    pub(super) fn water_kg(&self) -> f64 {
        self.dry_kg * self.moisture_wet / (1.0 - self.moisture_wet)
    }
    /// Phenols on it, g.
    pub(super) fn phenols_g(&self) -> f64 {
        self.dry_kg * self.phenols_mg_kg_dry / 1000.0
    }
}

/// Gives the share of the phenols left after more days in the bin.
///
/// `c = c₀ [s + (1 − s) exp(−age/20 d)]`, `s` what stays for good
/// # Units
/// Days since the kiln, and days more; result a share of what is there at `age_d`.
/// # Range
/// Days of nought or more.
/// # Error
/// A design: 5 to 15 % in the first month is remembered.
/// # Source
/// Design.
pub fn phenols_left(constants: &Constants, age_d: f64, more_d: f64) -> f64 {
    let stays = constants.phenols_stay;
    let at = |days: f64| stays + (1.0 - stays) * (-days / constants.fading_d).exp();
    at(age_d + more_d) / at(age_d)
}

/// Lets the layers lie.
pub(super) fn lie(
    layers: &mut [Layer],
    measures: &Measures,
    programme: &Programme,
    c: &Constants,
) -> Moved {
    let mut moved = Moved::default();
    for layer in layers.iter_mut() {
        let left = phenols_left(c, layer.age_d, programme.days);
        moved.faded_g += layer.phenols_g() * (1.0 - left);
        layer.phenols_mg_kg_dry *= left;
        layer.age_d += programme.days;
    }
    if let Some(top) = layers.last_mut() {
        // The air reaches the top few centimetres of a closed bin.
        let reached = (c.exposed_m * measures.area_m2 * c.dry_bulk_kg_m3).min(top.dry_kg);
        let moisture = top.water_kg() / top.dry_kg;
        let gained = reached * (skin(moisture, programme, c) - moisture);
        moved.water_kg = gained;
        let water = top.water_kg() + gained;
        top.moisture_wet = water / (water + top.dry_kg);
    }
    moved
}

/// Moisture of the skin, on dry matter, after the days:
/// `dM/dt = k (M_e − M)`, `k = 0.10 × 2^((T − 15)/10)` a day.
fn skin(moisture_dry: f64, programme: &Programme, c: &Constants) -> f64 {
    let barley = kiln::Constants::default();
    let drying = moisture_at_rest(&barley, programme.air_c, programme.air_relative_humidity);
    // Between the curve for gaining and that for drying nothing moves.
    let rest = moisture_dry.clamp(c.gaining_share * drying, drying);
    let rate = c.gain_1_d * ((programme.air_c - 15.0) / 10.0).exp2();
    rest + (moisture_dry - rest) * (-rate * programme.days).exp()
}

/// How much of each layer a draw of `draw_kg` as it is takes, kg as it is.
///
/// A share of it comes from all layers alike, the rest layer by layer in the order of the bin.
pub(super) fn taken(layers: &[Layer], vessel: &Vessel, draw_kg: f64, c: &Constants) -> Vec<f64> {
    let whole: f64 = layers.iter().map(Layer::mass_kg).sum();
    if draw_kg <= 0.0 || whole <= 0.0 {
        return vec![0.0; layers.len()];
    }
    // Drawing it all leaves nothing to mix.
    let share = (draw_kg / whole).min(1.0);
    let mut taken: Vec<f64> = layers.iter().map(|l| l.mass_kg() * share * c.mixing).collect();
    let mut wanted = draw_kg.min(whole) * (1.0 - c.mixing);
    let mut order: Vec<usize> = (0..layers.len()).collect();
    if vessel.emptying == Emptying::Funnel {
        order.reverse();
    }
    for i in order {
        let here = (layers[i].mass_kg() - taken[i]).min(wanted).max(0.0);
        taken[i] += here;
        wanted -= here;
    }
    taken
}

/// Takes `draw_kg` as it is from the layers and gives what came out.
pub(super) fn draw(
    layers: &mut Vec<Layer>,
    vessel: &Vessel,
    draw_kg: f64,
    c: &Constants,
) -> Vec<Layer> {
    let whole: f64 = layers.iter().map(Layer::mass_kg).sum();
    let taken = taken(layers, vessel, draw_kg, c);
    let mut out = Vec::new();
    for (layer, taken) in layers.iter_mut().zip(taken) {
        let part = (taken / layer.mass_kg()).clamp(0.0, 1.0);
        if part > 0.0 {
            out.push(Layer { dry_kg: layer.dry_kg * part, ..layer.clone() });
            layer.dry_kg *= 1.0 - part;
        }
    }
    layers.retain(|l| l.dry_kg > 1e-9 * whole);
    out
}

/// The mixture of layers, by mass of what each figure is a share of.
pub(super) fn mixed(layers: &[Layer]) -> Option<Lot> {
    let dry_kg: f64 = layers.iter().map(|l| l.dry_kg).sum();
    if dry_kg <= 0.0 {
        return None;
    }
    let by_dry =
        |of: &dyn Fn(&Layer) -> f64| layers.iter().map(|l| l.dry_kg * of(l)).sum::<f64>() / dry_kg;
    let extract_pct_dry = by_dry(&|l| l.extract_pct_dry);
    let fermentable = by_dry(&|l| l.extract_pct_dry * l.fermentability);
    let water: f64 = layers.iter().map(Layer::water_kg).sum();
    Some(Lot {
        dry_kg,
        mass_kg: dry_kg + water,
        moisture_wet: water / (dry_kg + water),
        phenols_mg_kg_dry: by_dry(&|l| l.phenols_mg_kg_dry),
        nitrogen_pct_dry: by_dry(&|l| l.nitrogen_pct_dry),
        extract_pct_dry,
        fermentability: fermentable / extract_pct_dry,
        mean_age_d: by_dry(&|l| l.age_d),
        youngest_d: layers.iter().map(|l| l.age_d).fold(f64::INFINITY, f64::min),
    })
}
