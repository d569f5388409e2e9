//! A make's circuit from empty receivers, and a season of makes one after another.
//!
//! A cycle is one charge of the still that makes the spirit, with the share of a mash that feeds
//! it when all has settled: so many mashes and charges have gone by as the cycle says. What stands
//! in the feints receiver between two charges is then what really stands there.

use super::circuit::{self, CircuitAsked, Stream, settle, wash_charge};
use super::circuit_route::{self, Route};
use gauge::Fault;
use house::{House, KeptCuts};
use process::circuit::{
    Change, Feints, Kind, Phase, PhaseFigures, Row, Season as Walked, SeasonRun, Work,
    season as walk,
};
use process::still::{Congener, Constants, Moles};

/// What stands in the receivers.
#[derive(Debug, Clone, PartialEq)]
pub struct Held {
    /// The family it belongs to.
    pub family: String,
    /// What it is; congeners in grams.
    pub stream: Stream,
}

/// One cycle.
#[derive(Debug, Clone, PartialEq)]
pub struct Cycle {
    /// Its number, from 1.
    pub number: u32,
    /// The make.
    pub make: String,
    /// With wash, feints worked off, or feints at the close.
    pub kind: Kind,
    /// Mashes distilled up to its end.
    pub mashes: f64,
    /// Every charge, cut and residue of it; congeners in grams.
    pub streams: Vec<Stream>,
    /// Charges and hours of each pass.
    pub work: Vec<Work>,
    /// What stands at its end.
    pub receivers: Vec<Held>,
    /// Spirit of the make, litres of pure alcohol.
    pub spirit_l: f64,
    /// Transition spirit, litres of pure alcohol.
    pub transition_l: f64,
}

impl Cycle {
    /// The stream called `name`.
    pub fn stream(&self, name: &str) -> Option<&Stream> {
        self.streams.iter().find(|stream| stream.name == name)
    }
    /// Litres of pure alcohol that stand in all receivers.
    pub fn held_l(&self) -> f64 {
        self.receivers.iter().map(|held| held.stream.pure_alcohol_l()).sum()
    }
}

/// One make of a season, for so many mashes.
#[derive(Debug, Clone, PartialEq)]
pub struct Spell {
    /// The make, by key or name.
    pub make: String,
    /// Mashes of it.
    pub mashes: f64,
}

/// What is asked of a season.
#[derive(Debug, Clone, PartialEq)]
pub struct SeasonAsked {
    /// The makes in their order.
    pub spells: Vec<Spell>,
    /// Whether the feints are charged alone after the last mash, until the coils are bare.
    pub close: bool,
    /// The cuts the house keeps to, for the makes that have any.
    pub cuts: Vec<KeptCuts>,
    /// The wash of one mash, for the makes of which it is known; else foretold.
    pub washes: Vec<(String, Moles)>,
    /// The still's constants, as fitted.
    pub constants: Constants,
    /// Factor on the heat lost by every head, as fitted.
    pub head_loss: f64,
}

impl SeasonAsked {
    /// Some makes one after another, as the house's files say, and closed.
    pub fn usual(spells: Vec<Spell>) -> Self {
        Self {
            spells,
            close: true,
            cuts: Vec::new(),
            washes: Vec::new(),
            constants: Constants::default(),
            head_loss: 1.0,
        }
    }
}

/// A season.
#[derive(Debug, Clone, PartialEq)]
pub struct Season {
    /// Its cycles.
    pub cycles: Vec<Cycle>,
    /// The spirit of each make, transition spirit left out.
    pub spirit: Vec<Stream>,
    /// Transition spirit, which has its own account.
    pub transition: Stream,
    /// What stands at the end.
    pub stock: Vec<Held>,
    /// The changes of make.
    pub changes: Vec<Change>,
    /// Hours lost by them.
    pub change_h: f64,
    /// Hours of all stills: heating up and running, without charging and discharging.
    pub still_h: f64,
    /// Pure alcohol of all wash less spirit, transition, residues and stock, over that of the wash.
    pub open: f64,
}

/// Follows a make from empty receivers, one charge of its spirit still a cycle.
///
/// # Units
/// As of [`settle`], for one cycle.
/// # Range
/// As of [`settle`]; 1 to 5000 cycles.
/// # Error
/// As of [`settle`]. In the first cycles a charge is smaller by the feints that are not there yet.
/// # Source
/// As of [`process::circuit`].
pub fn from_empty(
    house: &House,
    make: &str,
    asked: &CircuitAsked,
    cycles: u32,
) -> Result<Vec<Cycle>, Fault> {
    let one = phase(house, make, asked)?;
    let mashes = vec![one.mashes_a_cycle];
    let figures = PhaseFigures { cycles: f64::from(cycles), ..PhaseFigures::default() };
    let asked_for = Walked {
        phases: vec![Phase { figures, ..one.phase }],
        pressure_pa: house.plant.site.pressure_pa,
        energy: true,
        close: false,
    };
    let run = walk(&asked_for, &asked.constants)?;
    Ok(told(&run, &asked_for, &mashes).cycles)
}

/// Follows a season of makes from empty receivers: what each change does with the feints, what it
/// costs in hours, which runs are transition spirit, and what stands at the close.
///
/// # Units
/// As of [`settle`], for one cycle.
/// # Range
/// Makes of the house in an order that its changes allow.
/// # Error
/// As of [`from_empty`].
/// # Source
/// As of [`process::circuit`].
pub fn season(house: &House, asked: &SeasonAsked) -> Result<Season, Fault> {
    let mut phases: Vec<Phase> = Vec::with_capacity(asked.spells.len());
    let mut mashes = Vec::with_capacity(asked.spells.len());
    for (place, spell) in asked.spells.iter().enumerate() {
        let key = circuit_route::make_of(house, &spell.make)?.key.clone();
        let of_make = CircuitAsked {
            cuts: asked.cuts.iter().find(|cuts| cuts.make == key).cloned(),
            wash: asked.washes.iter().find(|(make, _)| *make == key).map(|(_, wash)| *wash),
            constants: asked.constants.clone(),
            head_loss: asked.head_loss,
            ..CircuitAsked::usual(house)
        };
        let known = phases.iter().position(|phase| phase.name == key);
        let (mut next, a_cycle) = if let Some(at) = known {
            (phases[at].clone(), mashes[at])
        } else {
            let one = phase(house, &key, &of_make)?;
            (one.phase, one.mashes_a_cycle)
        };
        next.figures = PhaseFigures {
            cycles: (spell.mashes / a_cycle).round().max(1.0),
            ..PhaseFigures::default()
        };
        if let Some(before) = phases.last() {
            let from = before.name.clone();
            follow(house, (&from, &key), place, &mut next)?;
        }
        phases.push(next);
        mashes.push(a_cycle);
    }
    let asked_for = Walked {
        phases,
        pressure_pa: house.plant.site.pressure_pa,
        energy: true,
        close: asked.close,
    };
    let run = walk(&asked_for, &asked.constants)?;
    Ok(told(&run, &asked_for, &mashes))
}

/// What the house's table says of one make after another.
fn follow(
    house: &House,
    (from, to): (&str, &str),
    place: usize,
    next: &mut Phase,
) -> Result<(), Fault> {
    next.feints = Some(if from == to { Feints::Mixed } else { house.makes.feints(from, to) });
    let Some(change) = house.makes.change(from, to).filter(|_| from != to) else { return Ok(()) };
    if !change.allowed {
        let makes = house.makes.makes.iter().map(|make| make.key.as_str());
        let may = |to: &&str| house.makes.change(from, to).is_none_or(|change| change.allowed);
        let others: Vec<&str> = makes.filter(|to| *to != from).filter(may).collect();
        return Err(Fault::Unworkable {
            field: format!("spell[{place}].make").into(),
            trouble: format!("{to} may not follow {from} in this house"),
            remedy: if others.is_empty() {
                format!("nothing may follow {from} before the season closes")
            } else {
                format!("{} may", others.join(" or "))
            },
        });
    }
    next.figures.change_h = change.cost.hours_h;
    next.figures.transition_runs = change.cost.transition_runs;
    Ok(())
}

/// A make as a phase whose cycle is one charge of its spirit still.
struct One {
    phase: Phase,
    mashes_a_cycle: f64,
}

fn phase(house: &House, make: &str, asked: &CircuitAsked) -> Result<One, Fault> {
    let make = circuit_route::make_of(house, make)?;
    let wash = asked.wash.map_or_else(|| circuit::wash_of(house, make), Ok)?;
    let congeners = circuit::congeners_of(house, make, asked);
    let known = CircuitAsked { wash: Some(wash), congeners: congeners.clone(), ..asked.clone() };
    let settled = settle(house, &make.key, &known)?;
    let mut route = circuit_route::route(house, make, asked)?;
    let spirit = route.kept[route.product_place()?].pass.clone();
    let charges = settled.pass(&spirit).map_or(1.0, |pass| pass.charges);
    let mashes_a_cycle = 1.0 / charges;
    lessen(&mut route, mashes_a_cycle);
    let phase = Phase {
        name: make.key.clone(),
        family: make.family.clone(),
        charge: wash_charge(wash.times(mashes_a_cycle), &congeners),
        vessel: route.vessel,
        product: route.product,
        figures: PhaseFigures::default(),
        feints: None,
    };
    Ok(One { phase, mashes_a_cycle })
}

/// A still that takes wash takes less of it a cycle, with as much less fire and head: its run is
/// the same.
fn lessen(route: &mut Route, by: f64) {
    for still in &mut route.vessel.stills {
        if still.charge.iter().any(|part| part.from == "wash") {
            let hearth = &mut still.hearth;
            hearth.heat_w = hearth.heat_w.map(|heat| by * heat);
            hearth.head_loss_w_k *= by;
            hearth.copper_kg *= by;
            hearth.charge_20_l = hearth.charge_20_l.map(|litres| by * litres);
            hearth.least_charge_20_l = hearth.least_charge_20_l.map(|litres| by * litres);
            for step in &mut still.heat {
                step.heat_w *= by;
            }
        }
    }
}

fn told(run: &SeasonRun, asked: &Walked, mashes: &[f64]) -> Season {
    let mut so_far = 0.0;
    // The phase of a cycle with wash: they follow one another in order.
    let mut left: Vec<f64> = asked.phases.iter().map(|phase| phase.figures.cycles).collect();
    let mut place = 0;
    let mut cycles = Vec::with_capacity(run.rows.len());
    for row in &run.rows {
        if row.kind == Kind::Wash {
            while left[place] < 1.0 {
                place += 1;
            }
            left[place] -= 1.0;
            so_far += mashes[place];
        }
        cycles.push(cycle(row, so_far, (&asked.phases[place], mashes[place])));
    }
    let held = |held: &process::circuit::Held| Held {
        family: held.family.clone(),
        stream: grams(&held.stream),
    };
    let hours = |cycle: &Cycle| -> f64 {
        let work = cycle.work.iter();
        work.map(|w| w.charges * (w.heat_up_h.unwrap_or(0.0) + w.run_h.unwrap_or(0.0))).sum()
    };
    Season {
        spirit: run.products.iter().map(grams).collect(),
        transition: grams(&run.transition),
        stock: run.stock.iter().map(held).collect(),
        changes: run.changes.clone(),
        change_h: run.change_h(),
        still_h: cycles.iter().map(hours).sum(),
        open: run.balance.relative_residual(process::Matter::PureAlcohol),
        cycles,
    }
}

fn cycle(row: &Row, mashes: f64, (phase, a_cycle): (&Phase, f64)) -> Cycle {
    let work = row.work.iter().map(|work| {
        let still = phase.vessel.stills.iter().find(|still| still.name == work.still);
        // A share of a mash is that share of a wash charge.
        let wash = still.is_some_and(|still| still.charge.iter().any(|part| part.from == "wash"));
        let by = if wash { a_cycle } else { 1.0 };
        Work { charges: by * work.charges, charge_20_l: work.charge_20_l / by, ..work.clone() }
    });
    Cycle {
        number: row.cycle,
        make: row.make.clone(),
        kind: row.kind,
        mashes,
        streams: row.streams.iter().map(grams).collect(),
        work: work.collect(),
        receivers: row
            .receivers
            .iter()
            .map(|held| Held { family: held.family.clone(), stream: grams(&held.stream) })
            .collect(),
        spirit_l: row.product.pure_alcohol_l(),
        transition_l: row.transition.pure_alcohol_l(),
    }
}

/// A season's streams are in the unit of the wash, which is grams.
fn grams(stream: &process::circuit::Stream) -> Stream {
    let congeners_g: Vec<(&'static Congener, f64)> = stream.congeners.clone();
    Stream { name: stream.name.clone(), moles: stream.moles, congeners_g }
}
