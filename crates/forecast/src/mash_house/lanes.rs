//! The time line of a mash: what is busy from when to when.

use super::course::times;
use super::setup::{Reckoned, Setup};
use crate::maltings::seen::later;
use jiff::Timestamp;
use process::mash::To;

/// The malt is ground so long before it is mashed, h.
const GRIND_BEFORE_H: f64 = 2.5;
/// Casting the draff, h.
const CAST_H: f64 = 0.75;

/// Something busy from one moment to another.
#[derive(Debug, Clone, PartialEq)]
pub struct Bar {
    /// From.
    pub from: Timestamp,
    /// To.
    pub to: Timestamp,
    /// What it is, in a word or two.
    pub label: String,
    /// Whether it is work that runs, and not a stand or a wait.
    pub solid: bool,
}

/// One vessel's bars.
#[derive(Debug, Clone, PartialEq)]
pub struct Lane {
    /// What the vessel is called.
    pub name: String,
    /// Its bars, in order.
    pub bars: Vec<Bar>,
}

const ORDINALS: [&str; 6] = ["first", "second", "third", "fourth", "fifth", "sixth"];

/// The ordinal of a water, counted from nought.
pub(super) fn ordinal(index: usize) -> &'static str {
    ORDINALS.get(index).copied().unwrap_or("last")
}

/// Minutes that each water stands and drains.
pub(super) fn stands(setup: &Setup<'_>) -> Vec<(f64, f64)> {
    let waters = setup.programme.waters.iter();
    waters.map(|w| (w.liquor.stand_min, w.liquor.drain_min)).collect()
}

/// Gives the lanes of a mash that begins at `began`.
pub(super) fn lanes(setup: &Setup<'_>, run: &Reckoned, began: Timestamp, back: &str) -> Vec<Lane> {
    let times = times(&run.mash, &stands(setup));
    let at = |min: f64| later(began, min / 60.0);
    let bar = |from: f64, to: f64, label: String, solid: bool| Bar {
        from: at(from),
        to: at(to),
        label,
        solid,
    };
    let grind_min = setup.mill.as_ref().map_or(120.0, |m| 60.0 * m.grind_h);
    let begins = -60.0 * GRIND_BEFORE_H;
    let mill = vec![bar(begins, begins + grind_min, "grist".to_owned(), true)];
    let mut liquor = vec![bar(begins, 0.0, "first heats".to_owned(), false)];
    let mut tun = Vec::new();
    for (index, (on, stood, ends)) in times.iter().enumerate() {
        if index > 0 {
            let before = times[index - 1];
            liquor.push(bar(before.1, *on, ordinal(index).to_owned(), false));
        }
        tun.push(bar(*on, *stood, "stands".to_owned(), false));
        tun.push(bar(*stood, *ends, ordinal(index).to_owned(), true));
    }
    tun.push(bar(run.mash.minutes, run.mash.minutes + 60.0 * CAST_H, "draff".to_owned(), false));
    let drains = |to: To| {
        let steps = run.mash.steps.iter().zip(&times).filter(move |(s, _)| s.to == to);
        let ends: Vec<(f64, f64)> = steps.map(|(_, t)| (t.1, t.2)).collect();
        Some((ends.first()?.0, ends.last()?.1))
    };
    let mut out = vec![
        Lane { name: "Mill".to_owned(), bars: mill },
        Lane { name: "Hot liquor".to_owned(), bars: liquor },
        Lane { name: "Mash tun".to_owned(), bars: tun },
    ];
    if let Some((from, to)) = drains(To::Washback) {
        if let (Some((plates, ..)), Some(cool)) = (&setup.plates, &run.cool) {
            let kw = plates.conductance_w_k / 1000.0;
            let (worts, set) = (run.mash.worts.temperature_c, cool.set_c);
            let label = format!("{kw:.0} kW/K, {worts:.0} to {set:.1} °C");
            out.push(Lane {
                name: "Worts cooler".to_owned(),
                bars: vec![bar(from, to, label, false)],
            });
        }
        let bars = vec![bar(from, to, "fills".to_owned(), true)];
        out.push(Lane { name: back.to_owned(), bars });
    }
    if let Some((from, to)) = drains(To::Next) {
        let label = format!("{:.0} L", run.mash.weak_worts.volume_20_l());
        out.push(Lane { name: "Weak worts".to_owned(), bars: vec![bar(from, to, label, true)] });
    }
    out
}
