//! Which pass of a make's route a still runs, how it is cut now, and what it is charged with as a
//! rule.

use gauge::Fault;
use house::make::{Make, Pass};
use house::vessel::Still;
use house::{Equipment, House};
use process::still::{Conditions, Constants, Cut, Moles, Programme, Spirit, Until, Vessel};

use super::congeners::{Smoke, wash_pure_l_t};
use super::heart::Cuts;

/// A still of the house, by its parts.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Pot<'h> {
    pub(crate) own: &'h Still,
    pub(crate) vessel: &'h Vessel,
    pub(crate) conditions: &'h Conditions,
}

pub(crate) fn pot<'h>(house: &'h House, still: &str) -> Result<Pot<'h>, Fault> {
    match house.vessel(still).map(|vessel| &vessel.what) {
        Some(Equipment::Still(own, vessel, conditions)) => Ok(Pot { own, vessel, conditions }),
        _ => Err(Fault::NotAllowed {
            field: "still".into(),
            found: still.to_owned(),
            allowed: house.vessels("still").map(|v| v.key.clone()).collect(),
        }),
    }
}

pub(crate) fn make<'h>(house: &'h House, make: &str) -> Result<&'h Make, Fault> {
    house.make(make).ok_or_else(|| Fault::NotAllowed {
        field: "make".into(),
        found: make.to_owned(),
        allowed: house.makes.makes.iter().map(|m| m.key.clone()).collect(),
    })
}

/// The pass that a still runs for a make: the one it is usual for, else the last it may run.
pub(crate) fn pass_in(make: &Make, still: &str) -> Result<usize, Fault> {
    let passes = &make.route.passes;
    let usual = passes.iter().position(|p| p.stills.first().is_some_and(|s| s == still));
    let may = passes.iter().rposition(|p| p.stills.iter().any(|s| s == still));
    usual.or(may).ok_or_else(|| Fault::NotAllowed {
        field: "still".into(),
        found: still.to_owned(),
        allowed: passes.iter().flat_map(|p| p.stills.clone()).collect(),
    })
}

/// Place among a pass's cuts of the one that is the spirit.
pub(crate) fn product_of(make: &Make, pass: &Pass) -> Option<usize> {
    let cut = make.route.product.strip_prefix(pass.name.as_str())?.strip_prefix('.')?;
    pass.cuts.iter().position(|c| c.cut.name == cut)
}

/// The cuts of a pass as the house file has them, or as the house keeps to them since.
pub(crate) fn cuts_of(make: &Make, pass: &Pass, kept: Option<Cuts>) -> Vec<Cut> {
    let mut cuts: Vec<Cut> = pass.cuts.iter().map(|cut| cut.cut.clone()).collect();
    if let (Some(product), Some(kept)) = (product_of(make, pass), kept) {
        if let Some(before) = product.checked_sub(1) {
            cuts[before].until = Until::TimeS(60.0 * kept.from_min);
        }
        cuts[product].until = Until::StrengthPct(kept.to_pct);
    }
    cuts
}

/// The programme of a pass in a still under the pressure of the house.
pub(crate) fn programme(house: &House, pot: Pot<'_>, cuts: Vec<Cut>) -> Programme {
    let pressure_pa = house.plant.site.pressure_pa;
    let conditions = Conditions { pressure_pa, ..pot.conditions.clone() };
    Programme { conditions, heat: Vec::new(), cuts }
}

/// A cut of the route by its name, `spirit.feints`: places of its pass and of itself.
pub(crate) fn cut_named(make: &Make, name: &str) -> Option<(usize, usize)> {
    make.route.passes.iter().enumerate().find_map(|(p, pass)| {
        let cut = name.strip_prefix(pass.name.as_str())?.strip_prefix('.')?;
        Some((p, pass.cuts.iter().position(|c| c.cut.name == cut)?))
    })
}

/// One charge of wash: the still's usual litres, of the strength one mash of the make's malt gives
/// in a washback.
pub(crate) fn usual_wash(house: &House, make: &Make, pot: Pot<'_>) -> Moles {
    let pure_l = 1e-3 * make.mash.grist.grist_kg * wash_pure_l_t(house, make, &Smoke::default());
    let fill_l = house.vessels("washback").find_map(|vessel| match &vessel.what {
        Equipment::Washback(_, stage) => Some(stage.fill_l),
        _ => None,
    });
    let volume_20_l = pot.own.charge_l;
    let strength_pct = 100.0 * pure_l / fill_l.unwrap_or(volume_20_l);
    Moles::of_spirit(Spirit { volume_20_l, strength_pct })
}

/// The constants that move only what a head and its vapour do, as fitted.
pub(crate) fn with_head(vessel: &Vessel, head_loss_w_k: f64) -> Vessel {
    Vessel { head_loss_w_k, ..vessel.clone() }
}

/// Constants with the volatility of each group as given.
pub(crate) fn volatile(factors: [f64; 5]) -> Constants {
    use gauge::Record;
    let mut constants = Constants::default();
    for (group, factor) in super::congeners::GROUPS.into_iter().zip(factors) {
        constants.set(group.factor_key(), factor);
    }
    constants
}
