//! What a batch comes to, and where the rest went.

use super::Frame;
use crate::carry::Carry;
use crate::figure::{Figure, Shown};
use crate::spread::{Chain, Exact, Outcome, Part};
use gauge::Fault;
use process::{Balance, Curves};

/// Key and label of each row, in the order of the work.
pub(crate) const LOSSES: [(&str, &str); 10] = [
    ("mash", "mill and mash: extract in the draff"),
    ("worts", "worts left in pipes and cooler"),
    ("unfermented", "extract that does not ferment"),
    ("yield", "yeast and by-products beyond Balling's"),
    ("bacteria", "bacteria"),
    ("gas", "carried off with the gas"),
    ("residues", "residues in washback and charger"),
    ("pot_ale", "left in pot ale"),
    ("lees", "left in spent lees"),
    ("vents", "vents, condensers and safes"),
];

const READS: [&str; 18] = [
    "barley_kg",
    "dry_kg",
    "malt_moisture_wet",
    "malt_kg",
    "predicted_l_t",
    "promised_l",
    "spirit_pure_l",
    "spirit_strength_pct",
    "lost_mash_l",
    "lost_worts_l",
    "lost_unfermented_l",
    "lost_yield_l",
    "lost_bacteria_l",
    "lost_gas_l",
    "lost_residues_l",
    "lost_pot_ale_l",
    "lost_lees_l",
    "lost_vents_l",
];

/// The amounts of [`LOSSES`] as they are carried.
fn lost(carry: &Carry) -> [f64; 10] {
    [
        carry.lost_mash_l,
        carry.lost_worts_l,
        carry.lost_unfermented_l,
        carry.lost_yield_l,
        carry.lost_bacteria_l,
        carry.lost_gas_l,
        carry.lost_residues_l,
        carry.lost_pot_ale_l,
        carry.lost_lees_l,
        carry.lost_vents_l,
    ]
}

/// Key of a loss's figure a tonne, in the order of [`LOSSES`], then what is unaccounted for.
const LOSS_FIGURES: [&str; 11] = [
    "mash_l_t",
    "worts_l_t",
    "unfermented_l_t",
    "yield_l_t",
    "bacteria_l_t",
    "gas_l_t",
    "residues_l_t",
    "pot_ale_l_t",
    "lees_l_t",
    "vents_l_t",
    "unaccounted_l_t",
];

/// Ceiling, what it came to, and each loss, with their bands.
pub(crate) struct Summary {
    pub(crate) totals: Vec<Figure>,
    pub(crate) ceiling: Figure,
    /// The ten losses and what is unaccounted for, a tonne of malt as it is.
    pub(crate) losses: Vec<Figure>,
}

/// Reckons the totals as a last link, so that their bands follow like any other's; the step it
/// makes is taken out again.
pub(crate) fn link(chain: &mut Chain, _: &Frame<'_>) -> Result<Summary, Fault> {
    chain.link("totals", &READS, &Exact, |carry, _: &Exact| {
        let part = Part {
            title: String::new(),
            vessel: String::new(),
            figures: figures(carry),
            hours: 0.0,
            curves: Curves::default(),
            balance: Balance::new(),
            watched: &[],
        };
        Ok(Outcome::of(carry.clone(), part))
    })?;
    let mut figures = chain.steps.pop().map(|step| step.figures).unwrap_or_default();
    let losses = figures.split_off(figures.len() - LOSS_FIGURES.len());
    let ceiling = figures.remove(0);
    Ok(Summary { totals: figures, ceiling, losses })
}

fn figures(carry: &Carry) -> Vec<Figure> {
    let t = carry.malt_kg / 1000.0;
    let l_t = carry.spirit_pure_l / t;
    let piece_malt_kg = carry.dry_kg / (1.0 - carry.malt_moisture_wet);
    let spirit_20_l = 100.0 * carry.spirit_pure_l / carry.spirit_strength_pct;
    let mut out = vec![
        Shown("ceiling_l_t", "all of the extract by Balling's sum", "L/t", 1)
            .of(carry.promised_l / t),
        Shown("pure_alcohol_l_t", "pure alcohol a tonne of malt as it is", "L/t", 1).of(l_t),
        Shown("predicted_l_t", "predicted by the malt's analysis", "L/t", 1)
            .of(carry.predicted_l_t),
        Shown("of_predicted_pct", "of the predicted", "%", 1).of(100.0 * l_t / carry.predicted_l_t),
        Shown("pure_alcohol_l_t_barley", "pure alcohol a tonne of barley", "L/t", 1)
            .of(l_t * piece_malt_kg / carry.barley_kg),
        Shown("mashes_a_piece", "mashes of a piece", "", 2).of(piece_malt_kg / carry.malt_kg),
        Shown("pure_alcohol_l", "pure alcohol of a mash", "L", 0).of(carry.spirit_pure_l),
        Shown("spirit_20_l", "new spirit of a mash", "L at 20 °C", 0).of(spirit_20_l),
        Shown("spirit_strength_pct", "its strength", "% vol", 1).of(carry.spirit_strength_pct),
    ];
    let lost = lost(carry);
    let unaccounted = carry.promised_l - carry.spirit_pure_l - lost.iter().sum::<f64>();
    let labels = LOSSES.iter().map(|(_, label)| *label).chain(["unaccounted"]);
    let values = lost.iter().copied().chain([unaccounted]);
    for ((key, label), value) in LOSS_FIGURES.into_iter().zip(labels).zip(values) {
        out.push(Shown(key, label, "L/t", 2).of(value / t));
    }
    out
}
