//! All washbacks of the room, the next to be distilled first, with the still and the air.

use super::air::{Air, air};
use super::back::{Back, all_beside, begun_all, finish};
use crate::expect::Forecasts;
use crate::figure::capital;
use crate::mash_house::Bar;
use house::{House, Standing};
use jiff::Timestamp;

/// A charge of wash as it is planned.
#[derive(Debug, Clone, PartialEq)]
pub struct Charging {
    /// The mash whose wash it is.
    pub mash: u32,
    /// When it is charged.
    pub at: Timestamp,
    /// When the still is free of it.
    pub until: Timestamp,
}

/// A washback with nothing in it.
#[derive(Debug, Clone, PartialEq)]
pub struct Empty {
    /// The washback, a key.
    pub vessel: String,
    /// What it waits for.
    pub says: String,
}

/// The room.
#[derive(Debug, Clone, PartialEq)]
pub struct Room {
    /// Washbacks at work, the next to be distilled first.
    pub backs: Vec<Back>,
    /// In which order they go, in a sentence or two.
    pub says: String,
    /// The air.
    pub air: Air,
    /// The wash still: what runs now, then each charge.
    pub still: Vec<Bar>,
    /// Washbacks with nothing in them.
    pub empty: Vec<Empty>,
}

/// Gives the room at a moment, with the charges as they are planned; without any, washbacks stand
/// in the order in which they may wait.
///
/// # Units
/// As the fields say.
/// # Range
/// The washbacks of `standing`; one that cannot be reckoned is left out.
/// # Error
/// As [`super::back()`].
/// # Source
/// As [`super::back()`].
pub fn room(
    house: &House,
    forecasts: &Forecasts,
    standing: &Standing,
    charges: &[Charging],
    at: Timestamp,
) -> Room {
    let alone = begun_all(house, forecasts, standing, standing.washbacks.iter(), at);
    let beside = all_beside(&alone, at);
    let mut backs: Vec<Back> = std::thread::scope(|scope| {
        let hands: Vec<_> = beside
            .iter()
            .map(|(own, usual)| scope.spawn(move || finish(own, forecasts, standing, usual, at)))
            .collect();
        hands.into_iter().filter_map(|hand| hand.join().ok()).collect()
    });
    for own in &mut backs {
        own.charge_at = charges.iter().find(|c| c.mash == own.mash).map(|c| c.at);
    }
    let due = |b: &Back| (b.charge_at.is_none(), b.charge_at.unwrap_or(b.latest), b.set_at);
    backs.sort_by_key(due);
    let air = air(house, &backs, at);
    Room {
        says: says(house, &backs),
        air,
        still: still(house, (standing, at), charges, &backs),
        empty: empty(house, standing),
        backs,
    }
}

fn short<'h>(house: &'h House, back: &'h Back) -> &'h str {
    house.called(&back.vessel)
}

fn says(house: &House, backs: &[Back]) -> String {
    let Some(first) = backs.first() else { return "No washback is at work.".to_owned() };
    let rest: Vec<&str> = backs.iter().skip(1).take(2).map(|b| short(house, b)).collect();
    let mut order = format!("{} first", capital(short(house, first)));
    for name in rest {
        order.push_str(", then ");
        order.push_str(name);
    }
    order.push('.');
    let mut out = vec![order];
    match backs.iter().filter(|b| b.stray.is_some()).count() {
        0 => {}
        1 => out.push("One strays.".to_owned()),
        many => out.push(format!("{many} stray.")),
    }
    let called = |back: &Back| capital(short(house, back));
    let past = |b: &&Back| b.charge_at.is_some_and(|at| at > b.latest);
    if let Some(late) = backs.iter().find(past) {
        out.push(format!("{} is charged past its latest.", called(late)));
    }
    let early =
        |b: &&Back| b.charge_at.is_some_and(|at| b.ready.is_some_and(|ready| at < ready.likely));
    if let Some(soon) = backs.iter().find(early) {
        out.push(format!("{} is charged before it is ready.", called(soon)));
    }
    out.join(" ")
}

fn still(
    house: &House,
    (standing, at): (&Standing, Timestamp),
    charges: &[Charging],
    backs: &[Back],
) -> Vec<Bar> {
    let wash = house.makes.makes.iter().find_map(|make| make.route.passes.first()?.stills.first());
    let running = standing.stills.iter().filter(|s| Some(&s.vessel) == wash);
    let mut out: Vec<Bar> = running
        .map(|run| {
            let label = house.make(&run.make).map_or(run.make.clone(), |m| m.name.clone());
            let next = charges.iter().map(|c| c.at).filter(|at| *at > run.since).min();
            // With no charge planned after it, it is known to run now and no more.
            let to = next.unwrap_or(at);
            Bar { from: run.since, to, label, solid: true }
        })
        .collect();
    for charge in charges {
        let back = backs.iter().find(|b| b.mash == charge.mash);
        let name = back.map_or(format!("mash {}", charge.mash), |b| short(house, b).to_owned());
        let label = name.rsplit(' ').next().unwrap_or(&name).to_owned();
        out.push(Bar { from: charge.at, to: charge.until, label, solid: true });
    }
    out.sort_by_key(|bar| bar.from);
    out
}

fn empty(house: &House, standing: &Standing) -> Vec<Empty> {
    let used = |key: &str| standing.washbacks.iter().any(|w| w.vessel == key);
    let filling = |key: &str| {
        let mut mashed = standing.mashed.iter().filter(|m| m.set.is_none());
        mashed.find(|m| m.collected.iter().any(|c| c.vessel == key)).map(|m| m.mash)
    };
    house
        .vessels("washback")
        .filter(|v| !used(&v.key))
        .map(|v| Empty {
            vessel: v.key.clone(),
            says: filling(&v.key).map_or_else(
                || "Empty.".to_owned(),
                |mash| format!("Takes the worts of mash {mash}."),
            ),
        })
        .collect()
}
