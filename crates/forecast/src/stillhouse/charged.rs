//! What was charged, as the notes have it: part by part, the unmeasured at their usual strength.

use super::route::pass_in;
use super::steady::{self, Asked};
use gauge::Fault;
use house::make::Make;
use house::{House, Ran};
use process::still::{Moles, Spirit};

/// The pass a run was: wash, where it had fermented; else by its still and by what it was cut to.
pub(crate) fn pass_of(make: &Make, ran: &Ran) -> Result<usize, Fault> {
    let passes = &make.route.passes;
    let of_wash = |pass: &house::make::Pass| pass.charge.iter().any(|p| p.from == "wash");
    let found = passes.iter().position(|pass| {
        pass.stills.contains(&ran.still)
            && of_wash(pass) == ran.ferment_h.is_some()
            && ran.cuts.iter().all(|cut| pass.cuts.iter().any(|c| c.cut.name == cut.cut))
    });
    found.map_or_else(|| pass_in(make, &ran.still), Ok)
}

/// The alcohol and water that were charged; nothing where nothing was noted.
pub(crate) fn charged(house: &House, asked: &Asked<'_>, ran: &Ran) -> Result<Option<Moles>, Fault> {
    if ran.charged.is_empty() {
        return Ok(None);
    }
    let wanting = ran.charged.iter().any(|p| p.volume_20_l.is_none() && p.strength_pct.is_none());
    let usual = if wanting { Some(steady::charge(asked, None)?) } else { None };
    let mut whole = Moles::default();
    for part in &ran.charged {
        let strength = || {
            let usual = usual.as_ref()?;
            let of_wash = part_of_wash(house, part.pure_alcohol_l, ran);
            of_wash.or_else(|| steady::strength_from(asked.make, usual, asked.pass, &part.from))
        };
        let spirit = match (part.volume_20_l, part.strength_pct) {
            (Some(volume_20_l), Some(strength_pct)) => Spirit { volume_20_l, strength_pct },
            (Some(volume_20_l), None) => {
                let strength_pct = 100.0 * part.pure_alcohol_l / volume_20_l;
                Spirit { volume_20_l, strength_pct }
            }
            (None, Some(strength_pct)) => steady::spirit(part.pure_alcohol_l, strength_pct),
            (None, None) => {
                let usual_pct = usual.as_ref().map_or(25.0, |u| u.forward.strength_pct());
                steady::spirit(part.pure_alcohol_l, strength().unwrap_or(usual_pct))
            }
        };
        whole = whole.plus(Moles::of_spirit(spirit));
    }
    Ok(Some(whole))
}

/// The strength of a washback charged whole: it was filled to its mark.
fn part_of_wash(house: &House, pure_alcohol_l: f64, ran: &Ran) -> Option<f64> {
    ran.ferment_h?;
    let from = house.vessel(&ran.charged.first()?.from)?;
    match &from.what {
        house::Equipment::Washback(_, stage) => Some(100.0 * pure_alcohol_l / stage.fill_l),
        _ => None,
    }
}
