//! What came into the circuit, what left it, and by which name.

use super::cycle::{Amount, Cycle, Plant};
use crate::balance::Side;
use crate::{Balance, Matter};

/// The sums of one side, each under its name.
#[derive(Debug, Clone, Default)]
pub(super) struct Ledger {
    entries: Vec<(Side, String, Amount)>,
    energy: Balance,
}

impl Ledger {
    /// Adds a share of an amount to the line called `name`.
    pub(super) fn note(&mut self, side: Side, name: &str, amount: &Amount, share: f64) {
        let known = self.entries.iter().position(|(s, n, _)| *s == side && n == name);
        let at = known.unwrap_or_else(|| {
            let nothing = Amount::nothing(amount.congeners.len());
            self.entries.push((side, name.to_owned(), nothing));
            self.entries.len() - 1
        });
        self.entries[at].2.add(amount, share);
    }

    /// Adds the energy of a cycle, each line to the one of its name.
    pub(super) fn energy(&mut self, cycle: &Balance) {
        for line in &cycle.lines {
            let own = self.energy.lines.iter_mut();
            match own.into_iter().find(|l| l.name == line.name && l.side == line.side) {
                Some(sum) => sum.amount += line.amount,
                None => self.energy.lines.push(line.clone()),
            }
        }
    }

    /// Wash and water in; what no still takes again out, each by its name.
    pub(super) fn cycle(&mut self, plant: &Plant<'_>, cycle: &Cycle, prefix: &str) {
        let kinds = plant.congeners.len();
        self.note(Side::In, &format!("{prefix}wash"), &cycle.made[0], 1.0);
        for (still, water) in plant.vessel.stills.iter().zip(&cycle.water) {
            if water.water_mol > 0.0 {
                let amount = Amount { moles: *water, ..Amount::nothing(kinds) };
                self.note(Side::In, &format!("{prefix}water to {}", still.name), &amount, 1.0);
            }
        }
        for stock in &plant.vessel.stocks {
            if let Some(stream) = plant.graph.names.iter().position(|n| *n == stock.source.from) {
                let share = stock.source.fraction;
                self.note(Side::Out, &stock.name, &cycle.made[stream], share);
            }
        }
        for (stream, name) in plant.graph.names.iter().enumerate() {
            let left = 1.0 - plant.graph.used[stream] - stocked(plant, name);
            // What no still and no stock takes has left the circuit: product, pot ale, lees.
            if stream != plant.graph.product && left > 1e-9 {
                self.note(Side::Out, &format!("{prefix}{name}"), &cycle.made[stream], left);
            }
        }
    }

    /// The share of the product that leaves.
    pub(super) fn product_share(plant: &Plant<'_>) -> f64 {
        let name = &plant.graph.names[plant.graph.product];
        1.0 - plant.graph.used[plant.graph.product] - stocked(plant, name)
    }

    /// As a balance of water, pure alcohol and each congener.
    pub(super) fn balance(&self, plant: &Plant<'_>) -> Balance {
        let mut balance = Balance::new();
        let mut lines = |matter: Matter, of: &dyn Fn(&Amount) -> f64| {
            for (side, name, amount) in &self.entries {
                match side {
                    Side::In => balance.input(matter, name.clone(), of(amount)),
                    Side::Out => balance.output(matter, name.clone(), of(amount)),
                    Side::Lost => balance.lost(matter, name.clone(), of(amount)),
                };
            }
        };
        lines(Matter::Water, &|a| a.moles.water_kg());
        lines(Matter::PureAlcohol, &|a| a.moles.pure_alcohol_l());
        for (kind, congener) in plant.congeners.iter().enumerate() {
            lines(Matter::Other(congener.key), &|a| a.congeners[kind]);
        }
        balance.lines.extend(self.energy.lines.iter().cloned());
        balance
    }
}

fn stocked(plant: &Plant<'_>, name: &str) -> f64 {
    let stocks = plant.vessel.stocks.iter().filter(|stock| stock.source.from == name);
    stocks.map(|stock| stock.source.fraction).sum()
}

/// The balance of one cycle: wash and what carried over in; product, residues, stocks and what
/// carries over out.
pub(super) fn of_cycle(plant: &Plant<'_>, cycle: &Cycle) -> Balance {
    let mut ledger = Ledger::default();
    ledger.cycle(plant, cycle, "");
    let product = plant.graph.product;
    let name = &plant.graph.names[product];
    ledger.note(Side::Out, name, &cycle.made[product], Ledger::product_share(plant));
    for (place, flows) in plant.graph.flows.iter().enumerate() {
        for (number, flow) in flows.iter().enumerate() {
            let name = &plant.graph.names[flow.stream];
            let (from, to) = (format!("{name} from before"), format!("{name} to the next"));
            if let Some(at) = plant.graph.carried_at(flow) {
                ledger.note(Side::In, &from, &cycle.before.carried[at], flow.fraction);
                ledger.note(Side::Out, &to, &cycle.after.carried[at], flow.fraction);
            }
            let held = (&cycle.before.held[place][number], &cycle.after.held[place][number]);
            if held.0.moles.total_mol() + held.1.moles.total_mol() > 0.0 {
                ledger.note(Side::In, &from, held.0, 1.0);
                ledger.note(Side::Out, &to, held.1, 1.0);
            }
        }
    }
    ledger.energy(&Plant::energy(cycle));
    ledger.balance(plant)
}
