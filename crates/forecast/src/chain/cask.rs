//! The cask: one of those filled, lying in the house's first warehouse.

use super::Frame;
use crate::figure::Shown;
use crate::spread::{Chain, Outcome, Part};
use gauge::Fault;
use house::Equipment;
use process::cask::{Charge, Constants, Programme, Vessel, run};

const YEAR_D: f64 = 365.25;

pub(crate) fn link(chain: &mut Chain, frame: &Frame<'_>) -> Result<(), Fault> {
    let (store, air) = frame.first("a warehouse", |what| match what {
        Equipment::Warehouse(_, _, air) => Some(air),
        _ => None,
    })?;
    let kind = frame.cask()?;
    let vessel = Vessel { capacity_l: kind.figures.volume_l, ..Vessel::default() };
    let programme = Programme {
        days: YEAR_D * frame.cask_years,
        temperature_c: air.temperature_c,
        relative_humidity: air.relative_humidity,
        ..Programme::default()
    };
    let strength_pct = frame.make.aim.filling_strength_pct;
    chain.link("cask", &["cask_20_l"], &Constants::default(), |carry, constants| {
        let charge = Charge { volume_20_l: carry.cask_20_l, strength_pct };
        let run = run(&charge, &vessel, &programme, constants)?;
        let left = &run.contents;
        let figures = vec![
            Shown("years", "lies", "years", 0).of(frame.cask_years),
            Shown("volume_20_l", "then in it", "L at 20 °C", 1).of(left.volume_20_l()),
            Shown("strength_pct", "its strength", "% vol", 1).of(left.strength_pct()),
            Shown("pure_alcohol_l", "pure alcohol in it", "L", 1).of(left.pure_alcohol_l()),
            Shown("angels_pure_alcohol_l", "the angels' share", "L", 1)
                .of(run.angels_pure_alcohol_l),
            Shown("loss_pct_year", "lost of the litres a year", "%", 2).of(run.loss_pct_year),
        ];
        let part = Part {
            title: format!("{}, {}", kind.name, store.name),
            vessel: store.key.clone(),
            figures,
            hours: 24.0 * programme.days,
            curves: run.curves,
            balance: run.balance,
            watched: &["strength_pct", "volume_20_l"],
        };
        Ok(Outcome::of(carry.clone(), part))
    })
}
