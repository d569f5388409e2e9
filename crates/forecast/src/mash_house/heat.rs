//! The heat that the first water gives up: the sum that the striking heat comes of.

use super::setup::Setup;
use process::mash::{EXTRACT_L_KG, MashIn, Run, mash_c, strike_c};

/// One line of the sum.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatLine {
    /// What asks for heat, or gives it.
    pub label: &'static str,
    /// From what, in words.
    pub from: String,
    /// How much, MJ; negative where heat is given.
    pub mj: f64,
}

/// Heat of the first water as it is run in.
fn struck(setup: &Setup<'_>, at_c: f64) -> MashIn {
    let (grist, fitted) = (&setup.charge.grist, &setup.constants.fitted);
    let weak_kg = setup.charge.weak_worts.extract_kg;
    let first_l = setup.programme.waters.first().map_or(0.0, |w| w.liquor.volume_l);
    let water_kg = (first_l - EXTRACT_L_KG * weak_kg) * gauge::water::density_kg_m3(at_c) / 1000.0;
    let kj_k = fitted.water_kj_kg_k * water_kg + fitted.extract_kj_kg_k * weak_kg;
    MashIn {
        malt_kg: grist.dry_kg / (1.0 - grist.moisture_wet),
        moisture_wet: grist.moisture_wet,
        malt_c: grist.grist_c,
        liquor_kg: water_kg + weak_kg,
        liquor_kj_kg_k: kj_k / (water_kg + weak_kg),
        tun_kj_k: setup.tun.tun_kj_k,
        tun_c: setup.tun.tun_c,
        loss_kj: setup.tun.mash_in_loss_kj,
    }
}

/// Temperature of the mash when the first water has `at_c`.
pub(super) fn mash_in(setup: &Setup<'_>, at_c: f64) -> f64 {
    mash_c(&struck(setup, at_c), at_c, &setup.constants)
}

/// Gives the lines of the sum, and by how much the mash moves with a degree of striking heat.
pub(super) fn lines(setup: &Setup<'_>, run: &Run, mashes: u32) -> (Vec<HeatLine>, f64) {
    let at = struck(setup, run.strike_c);
    let k = &setup.constants;
    let (mash, strike) = (run.mash_c, run.strike_c);
    let malt_kj_k = k.malt_kj_kg_k(at.moisture_wet) * at.malt_kg;
    let wet = 100.0 * at.moisture_wet;
    let tun = if mashes > 0 {
        format!("at {:.1} °C, fitted from {mashes} mashes", at.tun_c)
    } else {
        format!("at {:.1} °C, as the house's file has it", at.tun_c)
    };
    let line = |label, from, kj: f64| HeatLine { label, from, mj: kj / 1000.0 };
    let grist = format!("{:.0} kg at {wet:.1} %, from {:.1} °C", at.malt_kg, at.malt_c);
    let mut lines = vec![
        line("Grist", grist, malt_kj_k * (mash - at.malt_c)),
        line(
            "Slaking of the grist",
            "gives heat".to_owned(),
            -k.slaking_kj_kg(at.moisture_wet) * at.malt_kg,
        ),
        line("Tun", tun, at.tun_kj_k * (mash - at.tun_c)),
        line("Lost while mashing in", "by the house's file".to_owned(), at.loss_kj),
    ];
    let given = at.liquor_kj_kg_k * at.liquor_kg * (strike - mash);
    let water = format!("{:.0} kg from {strike:.1} to {mash:.1} °C", at.liquor_kg);
    lines.push(line("First water gives it up", water, given));
    // The inverse stands beside it, so that a change of one without the other shows at once.
    debug_assert!((strike_c(&at, mash, k) - strike).abs() < 0.05, "strike and its inverse agree");
    let moves = mash_in(setup, strike + 0.5) - mash_in(setup, strike - 0.5);
    (lines, moves)
}
