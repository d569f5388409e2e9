//! The charge sheet: what goes into a still next, and what to watch for while it runs.
//!
//! The parts are those of the make's route, in the shares they have when all goes as usual, as far
//! as they stand in their receivers; what one is short of another makes up. A charge above the
//! still's ceiling is brought down with water, one that does not cover the coils is refused with
//! what is wanting.

use super::fitted::Fitted;
use super::heart::Heart;
use super::moved::spread;
use super::route::{Pot, cut_named, make, pass_in, pot, usual_wash};
use super::run::Expected;
use super::steady::{self, Asked, Usual};
use crate::figure::{Figure, Shown};
use gauge::wort::attenuation::{Gravities, Method, attenuate};
use gauge::{Fault, Gravity};
use house::make::{Make, Pass};
use house::standing::Washback;
use house::{House, KeptCuts, Standing};
use process::still::{Moles, Spirit, WATER_G_MOL, mole_fraction};

/// One part of a charge.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// The vessel it is drawn from, a key of the house.
    pub from: String,
    /// Litres at 20 °C.
    pub volume_20_l: f64,
    /// Strength, % vol.
    pub strength_pct: f64,
    /// Pure alcohol, L.
    pub pure_alcohol_l: f64,
    /// Litres at 20 °C that stay in the vessel.
    pub stays_20_l: f64,
}

/// The sheet for the next charge of a still.
#[derive(Debug, Clone)]
pub struct Sheet {
    /// The still.
    pub still: String,
    /// The make.
    pub make: String,
    /// The pass: `wash`, `middle`, `spirit`.
    pub pass: String,
    /// What goes in.
    pub parts: Vec<Part>,
    /// Water to bring it to the still's ceiling, L at 20 °C.
    pub water_20_l: f64,
    /// The ceiling, % vol, where the still has one.
    pub ceiling_pct: Option<f64>,
    /// The whole charge.
    pub charge: Spirit,
    /// What to watch for, in the order of the run, by key: `heat_up_h`, `first_strength_pct`,
    /// `heart_from_min`, `heart_from_pct`, `foreshots_20_l`, `heart_to_pct`, `heart_h`,
    /// `heart_20_l`, `heart_strength_pct`, `heart_pure_l`, `feints_20_l`, `feints_strength_pct`;
    /// of a run that is not cut `over_20_l`, `over_strength_pct`, `over_pure_l`; then `end_pct`,
    /// `run_h`, `left_20_l`, `left_strength_pct`.
    pub figures: Vec<Figure>,
    /// What to know: short of the usual charge, weakened, and the like.
    pub says: Vec<String>,
    /// The run as a whole.
    pub expected: Expected,
}

impl Sheet {
    /// The figure under `key`.
    pub fn figure(&self, key: &str) -> Option<&Figure> {
        self.figures.iter().find(|figure| figure.key == key)
    }
}

/// Why there is no sheet.
#[derive(Debug, Clone, PartialEq)]
pub enum NoSheet {
    /// Nothing that the still runs stands anywhere.
    Nothing {
        /// What is waited for.
        waits: String,
    },
    /// What stands does not cover the coils.
    Bare {
        /// Litres at 20 °C that stand.
        stands_20_l: f64,
        /// Litres that cover the coils.
        least_20_l: f64,
    },
    /// The still would not run so.
    Still(Fault),
}

impl NoSheet {
    /// The same in words, with what would help.
    pub fn says(&self) -> String {
        match self {
            Self::Nothing { waits } => format!("there is nothing to charge: {waits}"),
            Self::Bare { stands_20_l, least_20_l } => format!(
                "{stands_20_l:.0} L stand, and {least_20_l:.0} L cover the coils: wait for {:.0} L \
                 more",
                (least_20_l - stands_20_l).ceil()
            ),
            Self::Still(fault) => fault.to_string(),
        }
    }
}

impl From<Fault> for NoSheet {
    fn from(fault: Fault) -> Self {
        Self::Still(fault)
    }
}

/// Gives the charge sheet of a still's next charge.
///
/// The make is that of the washback to be charged, or of the spirit that waits for this still;
/// `wanted` names another.
///
/// # Units
/// As each figure says.
/// # Range
/// A still of the house for which something stands.
/// # Error
/// The band of each figure.
/// # Source
/// As [`Expected`].
pub fn sheet(
    house: &House,
    standing: &Standing,
    still: &str,
    wanted: Option<&str>,
    fitted: &Fitted,
) -> Result<Sheet, NoSheet> {
    let own = pot(house, still)?;
    let key = match wanted {
        Some(key) => key.to_owned(),
        None => waiting(house, standing, still)?,
    };
    let of = make(house, &key)?;
    let kept = standing.cuts.iter().find(|kept| kept.make == of.key);
    let pass = pass_in(of, still)?;
    let route = &of.route.passes[pass];
    let parts = if route.charge.iter().any(|part| part.from == "wash") {
        vec![wash_part(house, standing, of, own)?]
    } else {
        let constants = &fitted.constants();
        let (still, carried) = (Some(still), false);
        let asked = Asked { house, make: of, pass, still, kept, fitted, constants, carried };
        let usual = steady::charge(&asked, None)?;
        drawn(standing, of, pass, &usual, own.own.charge_l)
    };
    filled(house, (of, route, still, own), parts, kept, fitted)
}

/// The make whose wash or spirit waits for a still.
fn waiting(house: &House, standing: &Standing, still: &str) -> Result<String, NoSheet> {
    let runs = |make: &&Make| {
        make.route.passes.iter().any(|pass| pass.stills.iter().any(|key| key == still))
    };
    let makes: Vec<&Make> = house.makes.makes.iter().filter(runs).collect();
    let of_wash = |make: &Make| {
        let pass = pass_in(make, still).ok().map(|pass| &make.route.passes[pass]);
        pass.is_some_and(|pass| pass.charge.iter().any(|part| part.from == "wash"))
    };
    if makes.first().is_some_and(|make| of_wash(make)) {
        let back = oldest(standing, &makes);
        let waits = "no washback is set".to_owned();
        return back.map(|back| back.make.clone()).ok_or(NoSheet::Nothing { waits });
    }
    // The make whose family fills the receivers this still is charged from; of two that share a
    // family, the one that is distilled now.
    let stands = |make: &Make| -> f64 {
        let from = sources(make, still);
        let own = standing.receivers.iter().filter(|r| r.family == make.family);
        own.filter(|r| from.contains(&r.vessel)).map(|r| r.volume_20_l).sum()
    };
    let now = |make: &Make| standing.stills.iter().any(|running| running.make == make.key);
    let best = makes.iter().max_by(|a, b| {
        let rank = |make: &Make| (stands(make), f64::from(u8::from(now(make))));
        let (a, b) = (rank(a), rank(b));
        // A later make of the same standing does not push out an earlier one.
        a.partial_cmp(&b).unwrap_or(std::cmp::Ordering::Equal).then(std::cmp::Ordering::Greater)
    });
    let best = best.filter(|make| stands(make) > 0.0);
    let waits = "no low wines and no feints stand".to_owned();
    best.map(|make| make.key.clone()).ok_or(NoSheet::Nothing { waits })
}

/// The vessels a still is charged from for a make.
fn sources(make: &Make, still: &str) -> Vec<String> {
    let Ok(pass) = pass_in(make, still) else {
        return Vec::new();
    };
    let parts = make.route.passes[pass].charge.iter();
    parts
        .filter_map(|part| cut_named(make, &part.from))
        .map(|(p, cut)| make.route.passes[p].cuts[cut].to.clone())
        .collect()
}

fn oldest<'s>(standing: &'s Standing, makes: &[&Make]) -> Option<&'s Washback> {
    let known = standing.washbacks.iter().filter(|b| makes.iter().any(|m| m.key == b.make));
    known.min_by_key(|back| back.set_at)
}

/// The washback that has stood longest, its strength by its gravities when they are nearly down.
fn wash_part(
    house: &House,
    standing: &Standing,
    make: &Make,
    own: Pot<'_>,
) -> Result<Part, NoSheet> {
    const NEARLY_DOWN: f64 = 1.006;
    let Some(back) = oldest(standing, &[make]) else {
        let waits = format!("no washback of {} is set", make.name);
        return Err(NoSheet::Nothing { waits });
    };
    let usual_pct = usual_wash(house, make, own).strength_pct();
    let last = back.gravity.last().map(|r| r.value).filter(|g| *g < NEARLY_DOWN);
    let noted = last.and_then(|present| {
        let original = Gravity::from_specific(back.original_gravity).ok()?;
        let present = Gravity::from_specific(present).ok()?;
        attenuate(Gravities { original, present }, Method::Balling).ok()
    });
    let strength_pct = noted.map_or(usual_pct, |done| done.alcohol.percent());
    let litres = back.bulk_l.min(own.own.charge_l);
    Ok(Part {
        from: back.vessel.clone(),
        volume_20_l: litres,
        strength_pct,
        pure_alcohol_l: 0.01 * litres * strength_pct,
        stays_20_l: back.bulk_l - litres,
    })
}

/// What stands in the receivers, in the usual shares, up to the usual charge.
fn drawn(standing: &Standing, make: &Make, pass: usize, usual: &Usual, charge_l: f64) -> Vec<Part> {
    let mut wanted: Vec<(String, f64)> = Vec::new();
    for part in &make.route.passes[pass].charge {
        let Some((p, cut)) = cut_named(make, &part.from) else {
            continue;
        };
        let of = &make.route.passes[p].cuts[cut];
        let moles = if p == pass {
            usual.cuts.get(cut).map(|(_, moles)| *moles)
        } else {
            usual.before.iter().find(|(name, _)| *name == part.from).map(|(_, moles)| *moles)
        };
        let litres = moles.map_or(0.0, |m| m.times(part.fraction).volume_20_l());
        match wanted.iter_mut().find(|(vessel, _)| *vessel == of.to) {
            Some((_, sum)) => *sum += litres,
            None => wanted.push((of.to.clone(), litres)),
        }
    }
    let receivers: Vec<(&house::standing::Receiver, f64)> = wanted
        .iter()
        .filter_map(|(vessel, litres)| {
            let mut own = standing.receivers.iter();
            let found = own.find(|r| r.vessel == *vessel && r.family == make.family)?;
            Some((found, *litres))
        })
        .collect();
    let whole: f64 = wanted.iter().map(|(_, litres)| litres).sum();
    let mut litres: Vec<f64> = receivers
        .iter()
        .map(|(stands, wanted)| (charge_l * wanted / whole).min(stands.volume_20_l))
        .collect();
    // What one is short of the others make up, the first named first.
    let mut short = charge_l - litres.iter().sum::<f64>();
    for (own, (stands, _)) in litres.iter_mut().zip(&receivers) {
        let more = short.min(stands.volume_20_l - *own).max(0.0);
        *own += more;
        short -= more;
    }
    let drawn = receivers.iter().zip(litres).filter(|(_, litres)| *litres > 1.0);
    drawn
        .map(|((stands, _), litres)| Part {
            from: stands.vessel.clone(),
            volume_20_l: litres,
            strength_pct: stands.strength_pct,
            pure_alcohol_l: 0.01 * litres * stands.strength_pct,
            stays_20_l: stands.volume_20_l - litres,
        })
        .collect()
}

fn filled(
    house: &House,
    (make, pass, still, own): (&Make, &Pass, &str, Pot<'_>),
    mut parts: Vec<Part>,
    kept: Option<&KeptCuts>,
    fitted: &Fitted,
) -> Result<Sheet, NoSheet> {
    let mixed = |parts: &[Part]| {
        parts.iter().fold(Moles::default(), |sum, part| {
            let Part { volume_20_l, strength_pct, .. } = *part;
            sum.plus(Moles::of_spirit(Spirit { volume_20_l, strength_pct }))
        })
    };
    let mut whole = mixed(&parts);
    let stands_20_l = whole.volume_20_l();
    if stands_20_l < 1.0 {
        let waits = format!("nothing of {} stands in its receivers", make.name);
        return Err(NoSheet::Nothing { waits });
    }
    let mut says = Vec::new();
    let ceiling_pct = own.own.charge_ceiling_pct;
    let mut water_20_l = 0.0;
    if let Some(ceiling) = ceiling_pct.filter(|ceiling| whole.strength_pct() > *ceiling) {
        let above = whole.strength_pct();
        (whole, water_20_l) = weakened(&mut parts, whole, ceiling, own.own.charge_l);
        says.push(format!(
            "what stands comes to {above:.1} % vol, above the {ceiling:.1} % vol that the \
             demisting test wants: {water_20_l:.0} L of water go in with it"
        ));
    }
    let charge = Spirit { volume_20_l: whole.volume_20_l(), strength_pct: whole.strength_pct() };
    if let Some(least_20_l) = own.vessel.least_charge_20_l
        && charge.volume_20_l < least_20_l
    {
        return Err(NoSheet::Bare { stands_20_l: charge.volume_20_l, least_20_l });
    }
    if charge.volume_20_l < 0.97 * own.own.charge_l {
        says.push(format!(
            "{:.0} L are {:.0} L short of the usual charge: the run is shorter and weaker at its \
             end",
            charge.volume_20_l,
            own.own.charge_l - charge.volume_20_l
        ));
    }
    let expected = Expected::of_charge(house, (&make.key, still), charge, kept, fitted)?;
    let figures = match expected.kept {
        Some(cuts) => cut_figures(&expected, &expected.heart(cuts)?),
        None => whole_figures(&expected),
    };
    Ok(Sheet {
        still: still.to_owned(),
        make: make.key.clone(),
        pass: pass.name.clone(),
        parts,
        water_20_l,
        ceiling_pct,
        charge,
        figures,
        says,
        expected,
    })
}

/// Brings a charge down to a ceiling with water, the parts drawn back so that the still holds it.
fn weakened(parts: &mut [Part], whole: Moles, ceiling: f64, charge_l: f64) -> (Moles, f64) {
    let x = mole_fraction(ceiling);
    let water_mol = whole.ethanol_mol * (1.0 - x) / x;
    let with = Moles { water_mol, ..whole };
    let back = (charge_l / with.volume_20_l()).min(1.0);
    for part in parts {
        part.stays_20_l += (1.0 - back) * part.volume_20_l;
        part.volume_20_l *= back;
        part.pure_alcohol_l *= back;
    }
    let added_kg = 1e-3 * WATER_G_MOL * back * (water_mol - whole.water_mol);
    (with.times(back), added_kg / WATER_20_KG_L)
}

/// Water at 20 °C, by the general formula of OIML R 22.
const WATER_20_KG_L: f64 = 0.998_201;

fn value(heart: &Heart, key: &str) -> Option<Figure> {
    heart.figure(key).cloned()
}

/// What to watch for in a run that is cut.
fn cut_figures(expected: &Expected, heart: &Heart) -> Vec<Figure> {
    let plain = |shown: Shown, of: f64| shown.of(of);
    let cuts = heart.cuts;
    let to_h = value(heart, "heart_to_h");
    let heart_h = to_h.map(|figure| Figure {
        key: "heart_h",
        label: "the heart runs",
        value: figure.value - cuts.from_min / 60.0,
        band: figure.band.map(|band| crate::Band {
            low: band.low - cuts.from_min / 60.0,
            high: band.high - cuts.from_min / 60.0,
            ..band
        }),
        ..figure
    });
    let mut out = first_figures(expected);
    out.push(plain(Shown("heart_from_min", "foreshots until", "min", 0), cuts.from_min));
    out.extend(value(heart, "heart_from_pct"));
    let foreshots = Shown("foreshots_20_l", "foreshots", "L at 20 °C", 0);
    out.push(foreshots.of(heart.foreshots.volume_20_l));
    out.push(plain(Shown("heart_to_pct", "heart until", "% vol", 1), cuts.to_pct));
    out.extend(heart_h);
    for key in ["heart_20_l", "heart_strength_pct", "heart_pure_l"] {
        out.extend(value(heart, key));
    }
    let feints = Shown("feints_20_l", "feints", "L at 20 °C", 0);
    out.push(feints.of(heart.feints.volume_20_l));
    let strength = Shown("feints_strength_pct", "strength of the feints", "% vol", 1);
    out.push(strength.of(heart.feints.strength_pct));
    out.extend(last_figures(expected));
    out
}

/// What to watch for in a run that is not cut.
fn whole_figures(expected: &Expected) -> Vec<Figure> {
    let mut out = first_figures(expected);
    let end = expected.trace.point(expected.trace.end_s());
    let moved = |of: fn(&Moles) -> f64| -> Vec<(&'static str, f64)> {
        let base = of(&end.over);
        let each = expected.moved.iter();
        each.map(|m| (m.label, of(&m.trace.point(m.trace.end_s()).over) - base)).collect()
    };
    let figure = |shown: Shown, of: fn(&Moles) -> f64| spread(shown.of(of(&end.over)), &moved(of));
    out.push(figure(Shown("over_20_l", "comes over", "L at 20 °C", 0), |m| m.volume_20_l()));
    out.push(figure(Shown("over_strength_pct", "its strength", "% vol", 1), |m| m.strength_pct()));
    out.push(figure(Shown("over_pure_l", "its pure alcohol", "L", 0), |m| m.pure_alcohol_l()));
    out.extend(last_figures(expected));
    out
}

fn first_figures(expected: &Expected) -> Vec<Figure> {
    let first = expected.strength_at(0.0);
    let first = Figure { key: "first_strength_pct", label: "first running", ..first };
    vec![expected.heat_up(), first]
}

fn last_figures(expected: &Expected) -> Vec<Figure> {
    let run = expected.trace.run();
    let ends = |trace: &process::still::Trace| trace.end_s() / 3600.0;
    let moved: Vec<(&'static str, f64)> =
        expected.moved.iter().map(|m| (m.label, ends(&m.trace) - ends(&expected.trace))).collect();
    let run_h = Shown("run_h", "runs", "h", 1).of(ends(&expected.trace));
    let end = run.cuts.last().map_or(0.0, |cut| cut.distillate_strength_pct);
    vec![
        Shown("end_pct", "to be ended at", "% vol", 1).of(end),
        spread(run_h, &moved),
        Shown("left_20_l", "left in the pot", "L at 20 °C", 0).of(run.residue.volume_20_l()),
        Shown("left_strength_pct", "its strength", "% vol", 2).of(run.residue.strength_pct()),
    ]
}

#[cfg(test)]
mod tests;
