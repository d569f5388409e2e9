//! The season on its way: what each cycle posts, and what happens between two makes.

use gauge::Fault;

use super::account::Ledger;
use super::cycle::{Amount, Cycle, Plant, State, Turning};
use super::season::{Change, Held, Kind, Phase, Row, Season, SeasonRun, within};
use super::{Feints, Run, result};
use crate::balance::Side;

/// Most charges of feints alone at a time: each leaves about half of what it took.
const MOST_ALONE: u32 = 400;

/// What stands, stream by stream.
pub(super) type Stock = Vec<(String, Amount)>;

/// The season on its way.
pub(super) struct Walk<'s> {
    season: &'s Season,
    kinds: usize,
    pub(super) rows: Vec<Row>,
    changes: Vec<Change>,
    products: Vec<(String, Amount)>,
    transition: Amount,
    /// What each family has standing apart.
    apart: Vec<(String, Stock)>,
    ledger: Ledger,
}

impl<'s> Walk<'s> {
    pub(super) fn new(season: &'s Season, kinds: usize) -> Self {
        Self {
            season,
            kinds,
            rows: Vec::new(),
            changes: Vec::new(),
            products: Vec::new(),
            transition: Amount::nothing(kinds),
            apart: Vec::new(),
            ledger: Ledger::default(),
        }
    }

    /// Posts a cycle. `left` is how many runs are still transition.
    pub(super) fn note(
        &mut self,
        plants: &[Plant<'_>],
        place: usize,
        cycle: &Cycle,
        kind: Kind,
        left: &mut f64,
    ) {
        let (plant, phase) = (&plants[place], &self.season.phases[place]);
        let product = plant.graph.product;
        let made = cycle.made[product].times(Ledger::product_share(plant));
        let runs = plant.graph.maker[product].and_then(|still| cycle.boiled[still].as_ref());
        let runs = runs.map_or(0.0, |boiled| boiled.charges);
        let share = match kind {
            Kind::WorkedOff => 1.0,
            _ if runs > 0.0 => (*left / runs).min(1.0),
            _ => 0.0,
        };
        *left = (*left - runs).max(0.0);
        self.ledger.cycle(plant, cycle, &format!("{}: ", phase.name));
        self.ledger.energy(&Plant::energy(cycle));
        let name = format!("{}: {}", phase.name, phase.product);
        self.ledger.note(Side::Out, &name, &made, 1.0 - share);
        self.ledger.note(Side::Out, "transition", &made, share);
        self.transition.add(&made, share);
        let known = self.products.iter().position(|(name, _)| *name == phase.name);
        let at = known.unwrap_or_else(|| {
            self.products.push((phase.name.clone(), Amount::nothing(self.kinds)));
            self.products.len() - 1
        });
        self.products[at].1.add(&made, 1.0 - share);
        self.rows.push(Row {
            cycle: self.rows.len() as u32 + 1,
            make: phase.name.clone(),
            kind,
            streams: plant.streams(cycle, true),
            work: result::work(plant, cycle),
            receivers: self.held(plant, &phase.family, &cycle.after),
            product: made.moles.times(1.0 - share),
            transition: made.moles.times(share),
        });
    }

    /// Charges of what stands in the receivers, until nothing covers its coils.
    pub(super) fn alone(
        &mut self,
        plants: &[Plant<'_>],
        place: usize,
        mut state: State,
        kind: Kind,
    ) -> Result<(State, u32), Fault> {
        let mut nothing = 0.0;
        for count in 0..MOST_ALONE {
            let cycle = turn(self.season, &plants[place], (place, kind), &state)?;
            if cycle.boiled.iter().all(Option::is_none) {
                return Ok((state, count));
            }
            self.note(plants, place, &cycle, kind, &mut nothing);
            state = cycle.after;
        }
        Err(Fault::NotConverged {
            what: "end of the feints",
            steps: MOST_ALONE,
            residual: let_down(&plants[place], &state)
                .iter()
                .map(|(_, amount)| amount.moles.pure_alcohol_l())
                .sum(),
        })
    }

    /// Another make follows.
    pub(super) fn change(
        &mut self,
        (before, after): (usize, usize),
        plants: &[Plant<'_>],
        state: State,
    ) -> Result<State, Fault> {
        let (old, new) = (&self.season.phases[before], &self.season.phases[after]);
        let usual = if old.family == new.family { Feints::Mixed } else { Feints::Apart };
        let feints = new.feints.unwrap_or(usual);
        let after_cycle = self.rows.len() as u32;
        let (state, worked_off) = if feints == Feints::WorkedOff {
            self.alone(plants, before, state, Kind::WorkedOff)?
        } else {
            (state, 0)
        };
        self.changes.push(Change {
            after_cycle,
            from: old.name.clone(),
            to: new.name.clone(),
            feints,
            change_h: new.figures.change_h,
            worked_off,
        });
        let stands = let_down(&plants[before], &state);
        if feints == Feints::Mixed {
            let (state, rest) = take_up(&plants[after], stands);
            return match rest.first() {
                None => Ok(state),
                Some((stream, _)) => Err(nowhere(after, stream, new)),
            };
        }
        put(&mut self.apart, &old.family, stands);
        let own = self.apart.iter().position(|(family, _)| *family == new.family);
        let stands = own.map_or_else(Stock::new, |own| std::mem::take(&mut self.apart[own].1));
        let (state, rest) = take_up(&plants[after], stands);
        put(&mut self.apart, &new.family, rest);
        Ok(state)
    }

    /// Everything that stands, whoever it belongs to.
    fn held(&self, plant: &Plant<'_>, family: &str, state: &State) -> Vec<Held> {
        let now = let_down(plant, state);
        let now = now.into_iter().map(|(name, amount)| (family, name, amount));
        let apart = self.apart.iter().flat_map(|(family, stock)| {
            stock.iter().map(move |(name, amount)| (family.as_str(), name.clone(), amount.clone()))
        });
        now.chain(apart)
            .map(|(family, name, amount)| Held {
                family: family.to_owned(),
                stream: plant.stream(name, &amount, true),
            })
            .collect()
    }

    pub(super) fn finish(
        mut self,
        plants: &[Plant<'_>],
        end: usize,
        state: &State,
        last: Run,
    ) -> SeasonRun {
        let plant = &plants[end];
        let family = &self.season.phases[end].family;
        let stock = self.held(plant, family, state);
        for held in &stock {
            let amount = Amount {
                moles: held.stream.moles,
                congeners: held.stream.congeners.iter().map(|(_, amount)| *amount).collect(),
            };
            let name = format!("stock of {}: {}", held.family, held.stream.name);
            self.ledger.note(Side::Out, &name, &amount, 1.0);
        }
        let products = self.products.iter();
        SeasonRun {
            products: products.map(|(name, a)| plant.stream(name.clone(), a, true)).collect(),
            transition: plant.stream("transition".to_owned(), &self.transition, true),
            balance: self.ledger.balance(plant),
            warnings: last.warnings.clone(),
            rows: self.rows,
            changes: self.changes,
            stock,
            last,
        }
    }
}

/// One cycle of a phase.
pub(super) fn turn(
    season: &Season,
    plant: &Plant<'_>,
    (place, kind): (usize, Kind),
    state: &State,
) -> Result<Cycle, Fault> {
    let turning = if kind == Kind::Wash { Turning::Washed } else { Turning::Alone };
    plant.turn(state, turning).map_err(|fault| within(season, place, fault))
}

/// What stands in the receivers, stream by stream.
pub(super) fn let_down(plant: &Plant<'_>, state: &State) -> Stock {
    let mut stock = Stock::new();
    for (place, flows) in plant.graph.flows.iter().enumerate() {
        for (number, flow) in flows.iter().enumerate() {
            let mut amount = state.held[place][number].clone();
            if let Some(at) = plant.graph.carried_at(flow) {
                amount.add(&state.carried[at], flow.fraction);
            }
            if amount.moles.total_mol() > 0.0 {
                join(&mut stock, &plant.graph.names[flow.stream], &amount);
            }
        }
    }
    stock
}

/// Puts what stands before the stills that are charged with it; the rest is given back.
fn take_up(plant: &Plant<'_>, stock: Stock) -> (State, Stock) {
    let mut state = plant.empty();
    let mut rest = Stock::new();
    for (name, amount) in stock {
        let Some(stream) = plant.graph.names.iter().position(|known| *known == name) else {
            rest.push((name, amount));
            continue;
        };
        let whole = plant.graph.flows.iter().flatten().filter(|flow| flow.stream == stream);
        let whole: f64 = whole.map(|flow| flow.fraction).sum();
        for (place, flows) in plant.graph.flows.iter().enumerate() {
            for (number, flow) in flows.iter().enumerate().filter(|(_, f)| f.stream == stream) {
                state.held[place][number].add(&amount, flow.fraction / whole);
            }
        }
        if whole <= 0.0 {
            rest.push((name, amount));
        }
    }
    (state, rest)
}

fn join(stock: &mut Stock, name: &str, amount: &Amount) {
    match stock.iter_mut().find(|(known, _)| known == name) {
        Some((_, sum)) => sum.add(amount, 1.0),
        None => stock.push((name.to_owned(), amount.clone())),
    }
}

fn put(apart: &mut Vec<(String, Stock)>, family: &str, stands: Stock) {
    let known = apart.iter().position(|(known, _)| known == family);
    let at = known.unwrap_or_else(|| {
        apart.push((family.to_owned(), Stock::new()));
        apart.len() - 1
    });
    for (name, amount) in stands {
        join(&mut apart[at].1, &name, &amount);
    }
}

fn nowhere(place: usize, stream: &str, new: &Phase) -> Fault {
    Fault::Unworkable {
        field: format!("phase[{place}].feints").into(),
        trouble: format!("{stream} stands in its receiver and {} is not charged with it", new.name),
        remedy: "keep it \"apart\", or have it \"worked_off\" first".to_owned(),
    }
}
