//! What is too little for itself: ends of lots, half pieces and ends of bins, each with a use.

use super::bins::{BinSeen, bins};
use super::lots::{SWEEPINGS_KG, sensitivity, steep_kg};
use house::standing::Lot;
use house::{House, Standing};

/// Lots whose water sensitivities lie this near may be steeped together, points.
const MATCHES: f64 = 10.0;
/// Nitrogens this near, % of dry matter.
const NITROGEN_MATCHES: f64 = 0.2;
/// Less than this share of a steep is not worth one of its own.
const HALF: f64 = 0.45;
/// A share of a steep that is as good as whole.
const WHOLE: f64 = 0.9;

/// What is offered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Two lots steeped together.
    Mixture,
    /// A piece of about half the floor's depth or area.
    HalfPiece,
    /// The end of a lot that matches nothing: sold on, or kept for seed or screening.
    Stranded,
    /// The end of a bin, ground with malt of the same make.
    BinEnd,
}

/// One offer.
#[derive(Debug, Clone, PartialEq)]
pub struct Offer {
    /// What.
    pub kind: Kind,
    /// The lots, or the bins, and kg as they are of each.
    pub parts: Vec<(String, f64)>,
    /// The make it would serve, a key, where it is one.
    pub make: Option<String>,
    /// Difference of water sensitivities, points, of a mixture.
    pub apart: Option<f64>,
    /// What to do, in a sentence.
    pub says: String,
}

/// Gives a use for every remainder of barley and every end of a bin.
///
/// # Units
/// kg as it is.
/// # Range
/// Lots that are not held.
/// # Error
/// What may be mixed is the house's custom: water sensitivity within ten points and nitrogen
/// within 0.2 %, a design.
/// # Source
/// Design.
pub fn remainders(house: &House, standing: &Standing) -> Vec<Offer> {
    let steep_kg = steep_kg(house);
    let mut out = Vec::new();
    if steep_kg > 0.0 {
        out.extend(of_lots(house, standing, steep_kg));
    }
    out.extend(of_bins(house, &bins(house, standing, standing.at)));
    out
}

fn kg(lot: &Lot) -> f64 {
    lot.dry_kg / (1.0 - lot.moisture_wet)
}

fn of_lots(house: &House, standing: &Standing, steep_kg: f64) -> Vec<Offer> {
    let free = |lot: &&Lot| lot.held.is_none() && lot.dry_kg > SWEEPINGS_KG;
    let lots: Vec<&Lot> = standing.lots.iter().filter(free).collect();
    let end_of = |lot: &Lot| kg(lot) % steep_kg;
    let is_end = |lot: &Lot| (SWEEPINGS_KG..WHOLE * steep_kg).contains(&end_of(lot));
    let mut used: Vec<&str> = Vec::new();
    let mut out = Vec::new();
    // Only a lot that is down to its last steep leaves an end behind.
    let last = |lot: &&&Lot| kg(lot) < steep_kg && is_end(lot);
    for lot in lots.iter().filter(last) {
        if used.contains(&lot.lot.as_str()) {
            continue;
        }
        let mate = lots
            .iter()
            .filter(|other| other.lot != lot.lot && !used.contains(&other.lot.as_str()))
            .filter_map(|other| Some((other, apart(house, lot, other)?)))
            .min_by(|a, b| {
                let key = |(other, apart): &(&&Lot, f64)| {
                    (other.barley != lot.barley, !is_end(other), *apart)
                };
                key(a).partial_cmp(&key(b)).unwrap_or(std::cmp::Ordering::Equal)
            });
        used.push(&lot.lot);
        out.push(match mate {
            Some((mate, apart)) => {
                let wanted_kg = (steep_kg - kg(lot)).min(kg(mate));
                // A mate that is itself an end is used up with it.
                if kg(mate) <= wanted_kg + 1.0 {
                    used.push(&mate.lot);
                }
                mixture(house, (lot, mate), wanted_kg, apart)
            }
            None => alone(lot, steep_kg),
        });
    }
    out
}

/// How far two lots lie apart in water sensitivity, where they may be steeped together.
fn apart(house: &House, a: &Lot, b: &Lot) -> Option<f64> {
    let (one, other) = (house.barley(&a.barley), house.barley(&b.barley));
    // Two kinds go together only where a make takes both.
    let together = a.barley == b.barley
        || house
            .makes
            .makes
            .iter()
            .any(|make| [&a.barley, &b.barley].iter().all(|kind| make.barleys.contains(kind)));
    let nitrogen = |lot: &Lot, kind: Option<&house::Barley>| {
        lot.nitrogen_pct_dry.or(kind.map(|kind| kind.analysis.nitrogen_pct_dry))
    };
    let near = nitrogen(a, one)
        .zip(nitrogen(b, other))
        .is_none_or(|(x, y)| (x - y).abs() <= NITROGEN_MATCHES + 1e-9);
    let apart = (sensitivity(one, a)? - sensitivity(other, b)?).abs();
    (together && near && apart <= MATCHES + 1e-9).then_some(apart)
}

fn mixture(house: &House, (lot, mate): (&Lot, &Lot), wanted_kg: f64, apart: f64) -> Offer {
    let make = house
        .makes
        .makes
        .iter()
        .find(|make| make.barleys.contains(&lot.barley) && make.barleys.contains(&mate.barley));
    Offer {
        kind: Kind::Mixture,
        says: format!(
            "Steep the last {:.1} t of {} with {:.1} t of {}: their water sensitivities lie {:.0} \
             points apart.",
            kg(lot) / 1000.0,
            lot.lot,
            wanted_kg / 1000.0,
            mate.lot,
            apart
        ),
        parts: vec![(lot.lot.clone(), kg(lot)), (mate.lot.clone(), wanted_kg)],
        make: make.map(|make| make.key.clone()),
        apart: Some(apart),
    }
}

fn alone(lot: &Lot, steep_kg: f64) -> Offer {
    let share = kg(lot) / steep_kg;
    let (kind, says) = if share >= HALF {
        let says = format!(
            "The last {:.1} t of {} match no other lot: steep them as a piece of {:.0} % and cover \
             as much less of the floor.",
            kg(lot) / 1000.0,
            lot.lot,
            100.0 * share
        );
        (Kind::HalfPiece, says)
    } else {
        let says = format!(
            "The last {:.1} t of {} match no other lot and are {:.0} % of a steep: keep them for a \
             lot of the same kind, or sell them on.",
            kg(lot) / 1000.0,
            lot.lot,
            100.0 * share
        );
        (Kind::Stranded, says)
    };
    Offer { kind, parts: vec![(lot.lot.clone(), kg(lot))], make: None, apart: None, says }
}

/// A bin with less than one mash in it, and the bin that makes it up.
fn of_bins(house: &House, bins: &[BinSeen]) -> Vec<Offer> {
    let mut out = Vec::new();
    for bin in bins.iter().filter(|bin| bin.state.may_draw()) {
        let Some(make) = bin.make.as_deref().and_then(|make| house.make(make)) else {
            continue;
        };
        let grist_kg = make.mash.grist.grist_kg;
        let end_kg = bin.lies_kg;
        if end_kg >= grist_kg || end_kg < 1.0 {
            continue;
        }
        let next = bins.iter().find(|other| {
            other.bin != bin.bin
                && other.make.as_deref() == Some(make.key.as_str())
                && other.state.may_draw()
                && other.lies_kg >= grist_kg - end_kg
        });
        let Some(next) = next else { continue };
        let rest_kg = grist_kg - end_kg;
        out.push(Offer {
            kind: Kind::BinEnd,
            parts: vec![(bin.bin.clone(), end_kg), (next.bin.clone(), rest_kg)],
            make: Some(make.key.clone()),
            apart: None,
            says: format!(
                "Grind the last {:.1} t of {} with {:.1} t of {}, both {}.",
                end_kg / 1000.0,
                house.called(&bin.bin),
                rest_kg / 1000.0,
                house.called(&next.bin),
                make.name
            ),
        });
    }
    out
}
