//! Filling: the spirit of one mash into casks of the make's usual kind.

use super::Frame;
use crate::carry::Carry;
use crate::figure::Shown;
use crate::spread::{Chain, Exact, Outcome, Part};
use gauge::Fault;
use house::Equipment;
use process::Curves;
use process::fill::{Batch, Casks, Charge, Constants, Programme, Vessel, run};

/// More casks than one mash fills.
const READY: f64 = 1000.0;
/// Hours to fill the casks of one mash.
const HOURS: f64 = 1.0;

pub(crate) fn link(chain: &mut Chain, frame: &Frame<'_>) -> Result<(), Fault> {
    let (store, ()) = frame.first("a filling store", |what| match what {
        Equipment::FillingStore(..) => Some(()),
        _ => None,
    })?;
    let kind = frame.cask()?;
    let capacity_l = Some(kind.figures.volume_l);
    let casks = Casks { capacity_l, count: READY };
    let vessel = Vessel { batches: vec![Batch { kind: kind.key.clone(), casks }] };
    let strength_pct = frame.make.aim.filling_strength_pct;
    chain.link("fill", &["reduced_20_l"], &Exact, |carry, _| {
        let charge = Charge { volume_20_l: carry.reduced_20_l, strength_pct };
        let run = run(&charge, &vessel, &Programme::default(), &Constants::default())?;
        let Some(one) = run.casks.first() else {
            return Err(Fault::MissingPart { field: "cask".into(), wanted: "a kind of cask" });
        };
        let handed = Carry { cask_20_l: one.volume_20_l, ..carry.clone() };
        let figures = vec![
            Shown("casks", "casks of a mash", "", 1).of(carry.reduced_20_l / one.volume_20_l),
            Shown("fill_l", "safe fill of one", "L", 1).of(one.fill_l),
            Shown("volume_20_l", "in one", "L at 20 °C", 1).of(one.volume_20_l),
            Shown("pure_alcohol_l", "pure alcohol in one", "L", 1).of(one.pure_alcohol_l),
            Shown("strength_pct", "strength", "% vol", 1).of(strength_pct),
        ];
        let part = Part {
            title: format!("{}, {}", store.name, kind.name),
            vessel: store.key.clone(),
            figures,
            hours: HOURS,
            curves: Curves::default(),
            balance: run.balance,
            watched: &[],
        };
        Ok(Outcome::of(handed, part))
    })
}
