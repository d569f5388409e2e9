//! The sieve test beside what is wanted of the grist.

use house::{Equipment, House, Mashed};
use process::mill;

/// Drift that is not worth moving a roller for, as a share.
const DRIFT: f64 = 0.01;

/// A grist by its sieve test.
#[derive(Debug, Clone, PartialEq)]
pub struct GristSeen {
    /// The mash whose grist was sieved; none where no test is at hand.
    pub mash: Option<u32>,
    /// Husk, grits and flour as the mill is set for, %.
    pub wanted: [f64; 3],
    /// The same as sieved, %.
    pub noted: Option<[f64; 3]>,
    /// Noted less wanted, %.
    pub apart: Option<[f64; 3]>,
    /// What to do about it.
    pub advice: Option<String>,
}

/// Gives the last sieve test of these mashes beside the mill's setting.
pub(super) fn seen(house: &House, mashed: &[&Mashed]) -> Option<GristSeen> {
    let rollers = house.vessels("mill").find_map(|v| match &v.what {
        Equipment::Mill(_, stage, rollers) => Some((stage, rollers)),
        _ => None,
    })?;
    let constants = mill::Constants::default();
    let charge = mill::Charge { dry_kg: 1000.0, ..mill::Charge::default() };
    let wanted = mill::run(&charge, rollers.0, rollers.1, &constants).ok()?.split;
    let test = mashed.iter().filter_map(|m| Some((m.mash, m.grist?)));
    let test = test.max_by_key(|(_, grist)| grist.at);
    let of = |s: &mill::Split| [s.husk, s.grits, s.flour].map(|x| 100.0 * x);
    let Some((mash, box_)) = test else {
        return Some(GristSeen {
            mash: None,
            wanted: of(&wanted),
            noted: None,
            apart: None,
            advice: None,
        });
    };
    let grits = 1.0 - box_.husk_fraction - box_.flour_fraction;
    let found = mill::Split { husk: box_.husk_fraction, grits, flour: box_.flour_fraction };
    let (a, b) = (of(&wanted), of(&found));
    let apart = [b[0] - a[0], b[1] - a[1], b[2] - a[2]];
    Some(GristSeen {
        mash: Some(mash),
        wanted: a,
        noted: Some(b),
        apart: Some(apart),
        advice: advice(&wanted, &found, &constants),
    })
}

/// Which way to move the lower rollers, by how much, and what extract that wins.
fn advice(wanted: &mill::Split, found: &mill::Split, k: &mill::Constants) -> Option<String> {
    let (husk, flour) = (found.husk - wanted.husk, found.flour - wanted.flour);
    if husk.abs() < DRIFT && flour.abs() < DRIFT {
        return None;
    }
    // A wider gap leaves more husk and makes less flour: the gap that fits both best.
    let weight = k.husk_per_mm.powi(2) + k.flour_per_mm.powi(2);
    let wide_mm = (k.husk_per_mm * husk - k.flour_per_mm * flour) / weight;
    let wins_pct = 100.0 * (wanted.recovery(k) - found.recovery(k));
    let moves = if wide_mm > 0.0 { "closer" } else { "wider" };
    let mm = wide_mm.abs();
    if mm < 0.005 {
        return Some("Husk and flour drift together: look at the upper rollers.".to_owned());
    }
    let finish = if wide_mm > 0.0 {
        format!("{wins_pct:.1} % more extract, a bed that pulls harder")
    } else {
        format!("a freer run-off, {:.1} % of extract", -wins_pct.abs())
    };
    Some(format!("The lower rollers {mm:.2} mm {moves}: {finish}."))
}
