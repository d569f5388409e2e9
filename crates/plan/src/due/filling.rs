//! The weekly filling of casks.

use super::{Act, Desk, wanting};
use crate::clock::Clock;
use crate::kind::TaskKind;
use crate::readings::{BULK_L, STRENGTH_PCT, TEMPERATURE_C};
use crate::work::{Number, Work};
use gauge::alcoholometry::kernel::density_of_strength_kg_m3;
use house::Equipment;

/// Filling begins at this hour of the day.
const BEGINS_H: f64 = 8.0;

pub(super) fn work(desk: &Desk<'_>) -> Vec<Work> {
    let store = desk.house.vessels("filling_store").find_map(|v| match &v.what {
        Equipment::FillingStore(_, weekday) => Some((v.key.as_str(), *weekday)),
        _ => None,
    });
    let Some((store, weekday)) = store else {
        return Vec::new();
    };
    let days = desk.clock.days(desk.now, desk.until).into_iter();
    let days = days.filter(|day| Clock::weekday(*day) == weekday && !desk.clock.rests(*day));
    days.filter_map(|day| desk.clock.at(day, BEGINS_H))
        .flat_map(|at| lots(desk).into_iter().map(move |lot| (at, lot)))
        .map(|(at, lot)| {
            let mut work = desk.work(&Act {
                kind: TaskKind::FillCasks,
                verb: "reduce and fill",
                vessel: store,
                make: Some(&lot.make),
                lot: None,
                at,
                mark: format!("{}-{}", lot.make, at.as_second() / 60),
            });
            work.figures = lot.figures();
            work.caution = Some("spirit");
            wanting(work, &[BULK_L, TEMPERATURE_C, STRENGTH_PCT])
        })
        .collect()
}

/// Spirit of one family that waits to be filled.
struct Lot {
    make: String,
    volume_20_l: f64,
    pure_alcohol_l: f64,
    target_pct: f64,
    cask: Option<(String, f64)>,
}

fn lots(desk: &Desk<'_>) -> Vec<Lot> {
    let mut lots: Vec<Lot> = Vec::new();
    for receiver in &desk.standing.receivers {
        let spirit = desk.house.vessel(&receiver.vessel).is_some_and(|v| {
            matches!(v.what, Equipment::Vat(_) | Equipment::Receiver(_, "spirit"))
        });
        let mut makes = desk.house.makes.makes.iter();
        let Some(make) = makes.find(|m| m.family == receiver.family).filter(|_| spirit) else {
            continue;
        };
        if let Some(lot) = lots.iter_mut().find(|lot| lot.make == make.key) {
            lot.volume_20_l += receiver.volume_20_l;
            lot.pure_alcohol_l += receiver.pure_alcohol_l;
        } else {
            let orders = desk.house.season.orders.iter();
            let cask = orders.filter(|o| o.make == make.key).find_map(|o| {
                let kind = desk.house.cask(&o.cask)?;
                Some((kind.name.clone(), kind.figures.volume_l))
            });
            lots.push(Lot {
                make: make.key.clone(),
                volume_20_l: receiver.volume_20_l,
                pure_alcohol_l: receiver.pure_alcohol_l,
                target_pct: make.aim.filling_strength_pct,
                cask,
            });
        }
    }
    lots.retain(|lot| lot.pure_alcohol_l > 1.0);
    lots
}

impl Lot {
    /// Pure alcohol stays; the water is the difference of masses, since volumes do not add.
    fn figures(&self) -> Vec<Number> {
        let strength_pct = 100.0 * self.pure_alcohol_l / self.volume_20_l;
        let mut out = vec![
            Number::noted(
                ("pure_alcohol_l", "pure alcohol by the book", "L", 1),
                self.pure_alcohol_l,
            ),
            Number::noted(("strength_pct", "strength by the book", "% vol", 1), strength_pct),
            Number::noted(("target_pct", "to be filled at", "% vol", 1), self.target_pct),
        ];
        if strength_pct <= self.target_pct {
            return out;
        }
        let reduced_20_l = 100.0 * self.pure_alcohol_l / self.target_pct;
        let kg = |litres: f64, pct: f64| litres * density_of_strength_kg_m3(pct, 20.0) / 1000.0;
        let water_kg = kg(reduced_20_l, self.target_pct) - kg(self.volume_20_l, strength_pct);
        let reckoned = |key, label, unit, value| Number {
            noted: false,
            ..Number::noted((key, label, unit, 0), value)
        };
        out.push(reckoned("water_kg", "water to add", "kg", water_kg));
        out.push(reckoned("volume_20_l", "then", "L at 20 °C", reduced_20_l));
        if let Some((_, holds_l)) = &self.cask {
            out.push(reckoned("casks", "casks of the next order", "", reduced_20_l / holds_l));
        }
        out
    }
}
