//! A week's charges in whole numbers, and what then stands over as stock.
//!
//! A settled circuit asks each still for some number of charges a wash, seldom a whole one. Charges
//! are whole all the same: what does not make one stands in its receiver until it does. With `c`
//! the charges a cycle and `W` the cycles of wash so far, a still has made `N = ⌊c min a⌋` charges,
//! `a` being the cycles' worth of each stream that it waits for; of a stream `(a - N/c)` cycles'
//! worth stand over. The stock comes back to where it began after the first number of weeks in
//! which every still comes to whole charges, each a hundredth larger or smaller than the usual one
//! at most: a dip is not read closer.

use gauge::{Fault, Node};

use super::graph::Graph;
use super::result::moles_node;
use super::{Run, Vessel};
use crate::still::Moles;

gauge::record! {
    /// What a week is asked for.
    pub struct Week {
        /// Cycles of wash a week: wash charges, or mashes.
        pub washes: f64 = Field::new("").label("washes a week").within(0.01, 1000.0),
        /// How far a charge may differ from the usual one, as a share of it.
        pub slack: f64 = Field::new("").label("a charge may differ by").within(0.0, 0.2).or(0.01)
            .from(gauge::Grade::Design, "a hundredth: a charge is dipped no closer"),
        /// Most weeks after which the stock must have come back.
        pub most_weeks: f64 = Field::new("weeks").label("most weeks").within(1.0, 60.0).or(26.0),
    }
}

/// One still's charges.
#[derive(Debug, Clone, PartialEq)]
pub struct StillWeek {
    /// The still.
    pub still: String,
    /// Charges a week as the settled circuit asks for them.
    pub charges_a_week: f64,
    /// Litres at 20 °C of a charge, so that the stock comes back.
    pub charge_20_l: f64,
    /// Whole charges in the whole period.
    pub whole: u32,
}

/// What stands over of a stream at the end of a week.
#[derive(Debug, Clone, PartialEq)]
pub struct Over {
    /// The stream: `wash.low_wines`.
    pub stream: String,
    /// The still it waits for.
    pub before: String,
    /// How much more of it stands than at the beginning.
    pub moles: Moles,
}

/// One week.
#[derive(Debug, Clone, PartialEq)]
pub struct WeekEnd {
    /// The week, from 1.
    pub week: u32,
    /// Whole charges of each still in it.
    pub charges: Vec<(String, u32)>,
    /// What stands over at its end.
    pub over: Vec<Over>,
}

/// Whole charges, week by week.
#[derive(Debug, Clone, PartialEq)]
pub struct Weekly {
    /// Cycles of wash a week.
    pub washes: f64,
    /// After how many weeks the stock has come back; none within those asked for.
    pub period_weeks: Option<u32>,
    /// Each still's charges.
    pub stills: Vec<StillWeek>,
    /// The weeks of one period, or as many as were asked for.
    pub weeks: Vec<WeekEnd>,
}

/// Gives a settled circuit's charges in whole numbers, week by week.
///
/// # Units
/// Charges; L at 20 °C; mol.
/// # Range
/// A circuit that has settled; some wash every week.
/// # Error
/// None of its own: every charge is the settled one, but for `slack` of its size.
/// # Source
/// Counting; amounts by the settled circuit.
pub fn weekly(run: &Run, vessel: &Vessel, product: &str, asked: &Week) -> Result<Weekly, Fault> {
    if let Some(fault) = gauge::Record::faults(asked).into_iter().next() {
        return Err(fault.within("week"));
    }
    let graph = Graph::new(vessel, product)?;
    let names = vessel.stills.iter().map(|still| still.name.as_str());
    let usual: Vec<(f64, f64)> = names
        .map(|name| {
            let work = run.work.iter().find(|work| work.still == name);
            work.map_or((0.0, 0.0), |work| (work.charges, work.charge_20_l))
        })
        .collect();
    let most = asked.most_weeks as u32;
    let period = (1..=most).find(|weeks| {
        usual.iter().zip(&vessel.stills).all(|((charges, litres), still)| {
            let asked_for = f64::from(*weeks) * asked.washes * charges;
            let factor = asked_for / asked_for.round();
            let least = still.hearth.least_charge_20_l.unwrap_or(0.0);
            *charges == 0.0 || ((factor - 1.0).abs() <= asked.slack && factor * litres >= least)
        })
    });
    let weeks = period.unwrap_or(most);
    let mut stills = Vec::with_capacity(usual.len());
    let mut a_cycle = Vec::with_capacity(usual.len());
    for ((charges, litres), still) in usual.iter().zip(&vessel.stills) {
        let asked_for = f64::from(weeks) * asked.washes * charges;
        let whole = if period.is_some() { asked_for.round() } else { asked_for };
        a_cycle.push(whole / (f64::from(weeks) * asked.washes));
        stills.push(StillWeek {
            still: still.name.clone(),
            charges_a_week: asked.washes * charges,
            charge_20_l: if whole > 0.0 { litres * asked_for / whole } else { 0.0 },
            whole: whole as u32,
        });
    }
    let made = made(run, &graph);
    let mut before = vec![0_u32; usual.len()];
    let mut ends = Vec::with_capacity(weeks as usize);
    for week in 1..=weeks {
        let (now, over) = stand(&graph, &a_cycle, &made, f64::from(week) * asked.washes);
        let charges = stills.iter().zip(now.iter().zip(&before));
        ends.push(WeekEnd {
            week,
            charges: charges.map(|(still, (a, b))| (still.still.clone(), a - b)).collect(),
            over: over
                .into_iter()
                .map(|(stream, still, moles)| Over {
                    stream: graph.names[stream].clone(),
                    before: vessel.stills[still].name.clone(),
                    moles,
                })
                .collect(),
        });
        before = now;
    }
    Ok(Weekly { washes: asked.washes, period_weeks: period, stills, weeks: ends })
}

/// What a cycle makes of each stream.
fn made(run: &Run, graph: &Graph) -> Vec<Moles> {
    let of = |name: &String| run.stream(name).map_or_else(Moles::default, |s| s.moles);
    let mut made: Vec<Moles> = graph.names.iter().map(of).collect();
    made[0] = run.wash;
    made
}

/// Whole charges of each still after so many cycles of wash, and what of each flow stands over.
fn stand(
    graph: &Graph,
    a_cycle: &[f64],
    made: &[Moles],
    cycles: f64,
) -> (Vec<u32>, Vec<(usize, usize, Moles)>) {
    // A whole number must not be missed by its rounding.
    const NEARLY: f64 = 1e-9;
    let mut counts = Vec::with_capacity(a_cycle.len());
    let mut worth = Vec::with_capacity(a_cycle.len());
    for (still, flows) in graph.flows.iter().enumerate() {
        let forward = flows.iter().filter(|flow| !flow.carried);
        let come = forward.map(|flow| graph.maker[flow.stream].map_or(cycles, |by| worth[by]));
        let least = come.fold(f64::INFINITY, f64::min);
        let least = if least.is_finite() { least } else { cycles };
        let count = (least * a_cycle[still] + NEARLY).floor();
        counts.push(count as u32);
        worth.push(if a_cycle[still] > 0.0 { count / a_cycle[still] } else { cycles });
    }
    let mut over = Vec::new();
    for (still, flows) in graph.flows.iter().enumerate() {
        for flow in flows {
            let come = graph.maker[flow.stream].map_or(cycles, |by| worth[by]);
            let stands = come - worth[still];
            if stands.abs() > NEARLY * cycles {
                over.push((flow.stream, still, made[flow.stream].times(stands * flow.fraction)));
            }
        }
    }
    (counts, over)
}

impl Weekly {
    /// As a further part of the result.
    pub fn node(&self) -> Node {
        let stills = self.stills.iter().map(|still| {
            let parts = [
                ("charges_a_week", Node::from(still.charges_a_week)),
                ("charge_20_l", still.charge_20_l.into()),
                ("whole_charges", f64::from(still.whole).into()),
            ];
            (still.still.as_str(), Node::part(parts))
        });
        let weeks = self.weeks.iter().map(|end| {
            let charges = end.charges.iter();
            let charges = charges.map(|(still, n)| (still.as_str(), Node::from(f64::from(*n))));
            let over = end.over.iter().map(|over| {
                let mut parts = vec![
                    ("stream", Node::from(over.stream.as_str())),
                    ("before", over.before.as_str().into()),
                ];
                parts.extend(moles_node(over.moles));
                Node::part(parts)
            });
            Node::part([
                ("week", Node::from(f64::from(end.week))),
                ("charges", Node::part(charges)),
                ("over", Node::List(over.collect())),
            ])
        });
        let mut parts = vec![("washes", Node::from(self.washes))];
        parts.extend(self.period_weeks.map(|weeks| ("period_weeks", f64::from(weeks).into())));
        parts.push(("stills", Node::part(stills)));
        parts.push(("weeks", Node::List(weeks.collect())));
        Node::part(parts)
    }
}
