//! What a piece comes to: its figures, its ledgers of matter and heat, and what to know.

use super::figures::Hand;
use super::growth::{STARCH_CARBON_DIOXIDE, acrospire, overgrown};
use super::heat::{DRY_HEAT_J_KG_K, WATER_HEAT_J_KG_K, capacity_j_kg_k};
use super::piece::{Piece, SAME_H, Setting};
use super::state::State;
use super::{Out, Run};
use crate::{Balance, Curves, Matter};
use gauge::Warning;

/// Hours without a turn that mat the rootlets for good.
const MATTED_H: f64 = 30.0;

pub(super) fn run(state: &State, piece: &Piece, setting: &Setting<'_>, curves: Curves) -> Run {
    let out = out(state, piece, setting);
    let warnings = warnings(&out, &setting.programme.hand);
    Run { out, state: piece.state(), curves, balance: balance(state, piece), warnings }
}

fn out(state: &State, piece: &Piece, setting: &Setting<'_>) -> Out {
    let charge = setting.charge;
    let m = piece.moisture();
    let barley = charge.barley_dry_kg.unwrap_or(charge.dry_kg);
    let length = acrospire(piece.age_d);
    Out {
        dry_kg: piece.dry_kg,
        rootlet_fraction: piece.root_kg / piece.dry_kg,
        moisture_wet: m / (1.0 + m),
        moisture_dry: m,
        temperature_c: piece.temperature_c(),
        core_c: piece.core_c,
        nitrogen_pct_dry: charge.nitrogen_pct_dry,
        germinating_fraction: charge.germinating_fraction,
        modification: piece.modification,
        acrospire: length,
        overgrown_fraction: overgrown(length, setting.c.acrospire_sd),
        malting_loss_fraction: 1.0 - (piece.dry_kg - piece.root_kg) / barley,
        hours: piece.time_h,
        ready_h: piece.ready_h,
        age_d: piece.age_d,
        highest_c: piece.highest_c,
        highest_core_c: piece.highest_core_c,
        turns: piece.turns as u32,
        unturned_h: piece.longest_h.max(piece.time_h - piece.turned_h),
        depth_m: state.depth_m,
        carbon_dioxide_kg: STARCH_CARBON_DIOXIDE * (charge.dry_kg - piece.dry_kg),
        carbon_dioxide_kg_h: piece.carbon_dioxide_kg_h,
        most_carbon_dioxide_kg_h: piece.most_carbon_dioxide_kg_h,
        evaporated_kg: piece.ledger.evaporated + piece.ledger.turned_off,
    }
}

fn balance(state: &State, piece: &Piece) -> Balance {
    let l = &piece.ledger;
    let start_j = state.dry_kg * capacity_j_kg_k(state.moisture_dry()) * state.temperature_c;
    let end_c = piece.temperature_c();
    let end_j = end_c * (DRY_HEAT_J_KG_K * piece.dry_kg + WATER_HEAT_J_KG_K * piece.water_kg);
    let kj = |joules: f64| joules / 1000.0;
    let mut b = Balance::new();
    b.input(Matter::DryMatter, "cast", state.dry_kg)
        .output(Matter::DryMatter, "green malt", piece.dry_kg)
        .lost(Matter::DryMatter, "breathed", l.breathed)
        .input(Matter::Water, "cast", state.water_kg())
        .input(Matter::Water, "made by breathing", l.made)
        .input(Matter::Water, "sprinkled", l.sprinkled)
        .output(Matter::Water, "green malt", piece.water_kg)
        .lost(Matter::Water, "dried off lying", l.evaporated)
        .lost(Matter::Water, "dried off in turning", l.turned_off)
        .input(Matter::Energy, "cast", kj(start_j))
        .input(Matter::Energy, "breathing", kj(l.heat_made))
        .input(Matter::Energy, "sprinkled", kj(l.sprinkled_heat))
        .output(Matter::Energy, "green malt", kj(end_j))
        .lost(Matter::Energy, "held by starch less water made", kj(l.heat_of_starch))
        .lost(Matter::Energy, "to the air", kj(l.to_air))
        .lost(Matter::Energy, "to the floor", kj(l.to_floor))
        .lost(Matter::Energy, "by turning", kj(l.by_turning))
        .lost(Matter::Energy, "with vapour", kj(l.with_vapour));
    b
}

fn warnings(out: &Out, hand: &Hand) -> Vec<Warning> {
    let mut warnings = Vec::new();
    let mut warn = |code, says: String| warnings.push(Warning { code, says });
    if out.highest_c > 22.0 {
        warn("hot", format!("The piece reached {:.1} °C; thin it or turn it more.", out.highest_c));
    }
    let (longest, felt) = (out.unturned_h, hand.felt_h);
    if longest > MATTED_H {
        warn("matted", format!("It lay {longest:.0} h without a turn; the rootlets mat."));
    } else if longest > felt + SAME_H {
        let says = format!("It lay {longest:.1} h without a turn; past {felt:.0} h it felts.");
        warn("felts", says);
    }
    if out.overgrown_fraction > 0.10 {
        let pct = 100.0 * out.overgrown_fraction;
        warn("overgrown", format!("Of the corns {pct:.0} % have outgrown their length."));
    }
    if out.moisture_wet < 0.38 {
        let pct = 100.0 * out.moisture_wet;
        warn("dry", format!("It ends at {pct:.1} % moisture; growth wants more water."));
    }
    warnings
}

pub(super) fn columns() -> Curves {
    Curves::new([
        ("time_h", "h"),
        ("temperature_c", "°C"),
        ("moisture_wet", "kg/kg"),
        ("modification", ""),
        ("acrospire", ""),
        ("age_d", "d"),
        ("breathed_fraction", "kg/kg"),
        ("rootlet_fraction", "kg/kg"),
        ("depth_m", "m"),
        ("turns", ""),
        ("core_c", "°C"),
        ("carbon_dioxide_kg_h", "kg/h"),
    ])
}
