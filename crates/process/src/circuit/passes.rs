//! How often the alcohol of the product was distilled: the stills as a Markov chain.

use super::cycle::Cycle;
use super::graph::Graph;

/// Shares of alcohol from still to still.
#[derive(Debug, Clone)]
pub(super) struct Chain {
    /// Of the wash's alcohol into each still.
    pub(super) entry: Vec<f64>,
    /// From the charge of one still (row) to the charge of another next.
    pub(super) onward: Vec<Vec<f64>>,
    /// From the charge of each still into the product.
    pub(super) made: Vec<f64>,
}

impl Chain {
    pub(super) fn new(graph: &Graph, cycle: &Cycle) -> Self {
        let count = cycle.charges.len();
        let alcohol = |stream: usize| cycle.made[stream].moles.ethanol_mol;
        let per_charge = |still: usize, amount: f64| {
            let charged = cycle.charges[still].moles.ethanol_mol;
            if charged > 0.0 { amount / charged } else { 0.0 }
        };
        let mut chain = Self {
            entry: vec![0.0; count],
            onward: vec![vec![0.0; count]; count],
            made: vec![0.0; count],
        };
        for (to, flows) in graph.flows.iter().enumerate() {
            for flow in flows {
                match graph.maker[flow.stream] {
                    None => chain.entry[to] += flow.fraction,
                    Some(from) => {
                        let amount = flow.fraction * alcohol(flow.stream);
                        chain.onward[from][to] += per_charge(from, amount);
                    }
                }
            }
        }
        if let Some(still) = graph.maker[graph.product] {
            let kept = 1.0 - graph.used[graph.product];
            chain.made[still] = per_charge(still, kept * alcohol(graph.product));
        }
        chain
    }

    /// `e (I-P)⁻² s / e (I-P)⁻¹ s`; with `distinct`, without the returns.
    pub(super) fn mean_passes(&self, distinct: bool) -> f64 {
        let matrix = || -> Vec<Vec<f64>> {
            let row = |(from, row): (usize, &Vec<f64>)| -> Vec<f64> {
                let entry = |(to, share): (usize, &f64)| {
                    let share = if distinct && to <= from { 0.0 } else { *share };
                    f64::from(u8::from(to == from)) - share
                };
                row.iter().enumerate().map(entry).collect()
            };
            self.onward.iter().enumerate().map(row).collect()
        };
        let once = solve(matrix(), self.made.clone());
        let twice = solve(matrix(), once.clone());
        let enter = |v: &[f64]| -> f64 { self.entry.iter().zip(v).map(|(e, v)| e * v).sum() };
        enter(&twice) / enter(&once)
    }
}

/// Solves a small linear system by elimination with the largest pivot; not a number if it has no
/// solution.
pub(super) fn solve(mut m: Vec<Vec<f64>>, mut b: Vec<f64>) -> Vec<f64> {
    let n = b.len();
    for k in 0..n {
        let pivot = (k..n).max_by(|i, j| m[*i][k].abs().total_cmp(&m[*j][k].abs())).unwrap_or(k);
        m.swap(k, pivot);
        b.swap(k, pivot);
        let (done, below) = m.split_at_mut(k + 1);
        for (i, row) in below.iter_mut().enumerate() {
            let factor = row[k] / done[k][k];
            for (x, y) in row[k..].iter_mut().zip(&done[k][k..]) {
                *x -= factor * y;
            }
            b[k + 1 + i] -= factor * b[k];
        }
    }
    for k in (0..n).rev() {
        let known: f64 = (k + 1..n).map(|j| m[k][j] * b[j]).sum();
        b[k] = (b[k] - known) / m[k][k];
    }
    b
}
