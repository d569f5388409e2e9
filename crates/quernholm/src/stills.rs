//! Runs of the stills by the stage of `process`, with hidden constants.
//!
//! Heat and head lose and give the same whatever lies in the pot, so a charge of half the litres
//! runs the same course in half the time: one run a still and strength is followed, and every
//! charge of that strength is read from it, cut as it was cut that day.

use crate::liquor::Liquor;
use crate::truth::Truth;
use gauge::Fault;
use house::{Equipment, House};
use process::still::{
    Charge, Conditions, Constants, Cut as Mark, Point, Programme, Reading, Spirit, Trace, Until,
    Vessel,
};
use std::collections::BTreeMap;
use std::rc::Rc;

/// A still and what its charges are held to.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Still {
    pub(crate) key: &'static str,
    pub(crate) charge_l: f64,
    pub(crate) least_l: f64,
}

pub(crate) const WASH_STILL: Still =
    Still { key: "wash_still", charge_l: 12_900.0, least_l: 5_500.0 };
pub(crate) const SPIRIT_STILLS: [Still; 2] = [
    Still { key: "spirit_still_1", charge_l: 5_200.0, least_l: 1_800.0 },
    Still { key: "spirit_still_2", charge_l: 4_600.0, least_l: 1_600.0 },
];

/// Whose figures a run goes by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum By {
    /// What is true and nobody knows.
    Truth,
    /// What the forecast takes for true: the house file.
    House,
}

/// When the heart begins and ends, by what is true.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Heart {
    pub(crate) from_min: f64,
    pub(crate) to_pct: f64,
}

impl Heart {
    /// The marks of a run `scale` times as long as the one that is cut.
    fn marks(self, scale: f64) -> Vec<Mark> {
        vec![
            mark("foreshots", Until::TimeS(self.from_min * 60.0 / scale)),
            mark("heart", Until::StrengthPct(self.to_pct)),
            mark("feints", END),
        ]
    }

    /// What a run comes to that is cut so.
    pub(crate) fn read(self, trace: &Trace) -> Result<Reading, Fault> {
        trace.read(&self.marks(1.0))
    }
}

/// Where every run ends.
const END: Until = Until::StrengthPct(1.0);

fn mark(name: &str, until: Until) -> Mark {
    Mark { name: name.to_owned(), until }
}

/// One cut: when it ended after the charge was on, and what it holds.
#[derive(Debug, Clone)]
pub(crate) struct Cut {
    pub(crate) name: &'static str,
    pub(crate) end_h: f64,
    pub(crate) liquor: Liquor,
}

/// The course of one charge.
#[derive(Debug, Clone)]
pub(crate) struct Course {
    trace: Rc<Trace>,
    /// Litres charged over the litres of the run that was followed.
    scale: f64,
    /// From the charge to the first running.
    pub(crate) heat_up_h: f64,
}

impl Course {
    /// The still so many hours after it was charged.
    pub(crate) fn at(&self, after_h: f64) -> Point {
        self.trace.point((after_h - self.heat_up_h) * 3600.0 / self.scale)
    }

    /// The cuts of a run: all to 1 % vol where there is no heart.
    pub(crate) fn cuts(
        &self,
        charge: Liquor,
        whole: &'static str,
        heart: Option<Heart>,
    ) -> Result<Vec<Cut>, Fault> {
        let (names, marks) = match heart {
            None => (vec![whole], vec![mark(whole, END)]),
            Some(heart) => (vec!["foreshots", "heart", "feints"], heart.marks(self.scale)),
        };
        let read = self.trace.read(&marks)?;
        let of = self.trace.charge();
        let vents = Truth::of(whole).vents;
        let cut = |(name, cut): (&'static str, &process::still::CutRun)| Cut {
            name,
            end_h: self.heat_up_h + cut.end_s * self.scale / 3600.0,
            // What leaves by vents and safes is missing in each cut.
            liquor: Liquor {
                alcohol_l: charge.alcohol_l * cut.distillate.ethanol_mol / of.ethanol_mol
                    * (1.0 - vents),
                water_kg: charge.water_kg * cut.distillate.water_mol / of.water_mol,
            },
        };
        Ok(names.into_iter().zip(&read.cuts).map(cut).collect())
    }
}

/// Runs that have been followed, by still, tenths of a % vol charged, and whose figures.
#[derive(Debug)]
pub(crate) struct Stills {
    house: House,
    known: BTreeMap<(&'static str, i64, By), Rc<Trace>>,
}

/// Copper, J/kg/K, from memory.
const COPPER_J_KG_K: f64 = 385.0;

impl Stills {
    pub(crate) fn of(house: House) -> Self {
        Self { house, known: BTreeMap::new() }
    }

    /// The house as its files have it.
    pub(crate) fn house(&self) -> &House {
        &self.house
    }

    /// The course of a charge.
    pub(crate) fn course(
        &mut self,
        still: Still,
        charge: Liquor,
        by: By,
    ) -> Result<Course, Vec<Fault>> {
        let tenths = (charge.strength_pct() * 10.0).round() as i64;
        let pot = Pot::of(&self.house, still, by)?;
        let key = (still.key, tenths, by);
        let trace = if let Some(known) = self.known.get(&key) {
            Rc::clone(known)
        } else {
            let strength_pct = tenths as f64 / 10.0;
            let whole = Charge::of_spirit(Spirit { volume_20_l: still.charge_l, strength_pct });
            let trace = Rc::new(pot.follow(whole, &Constants::default())?);
            self.known.insert(key, Rc::clone(&trace));
            trace
        };
        let scale = charge.litres() / still.charge_l;
        let start = trace.start();
        // The copper is as heavy under a small charge as under a large one.
        let copper_s = pot.vessel.copper_kg * COPPER_J_KG_K * (start.boiling_c - pot.charge_c)
            / pot.conditions.heat_w.unwrap_or(f64::INFINITY);
        let whole_s = start.heat_up_s.unwrap_or(0.0);
        let heat_up_h = ((whole_s - copper_s) * scale + copper_s) / 3600.0;
        Ok(Course { trace, scale, heat_up_h })
    }

    /// Follows a charge with congeners, as it truly goes: for the laboratory.
    pub(crate) fn followed(
        &self,
        still: Still,
        charge: Liquor,
        congeners: Vec<(&'static process::still::Congener, f64)>,
    ) -> Result<Trace, Vec<Fault>> {
        let spirit = Spirit { volume_20_l: charge.litres(), strength_pct: charge.strength_pct() };
        let charge = Charge { congeners, ..Charge::of_spirit(spirit) };
        Pot::of(&self.house, still, By::Truth)?.follow(charge, &Truth::volatility())
    }
}

/// One still as it is fired.
struct Pot {
    vessel: Vessel,
    conditions: Conditions,
    charge_c: f64,
}

impl Pot {
    fn of(house: &House, still: Still, by: By) -> Result<Self, Vec<Fault>> {
        let Some(Equipment::Still(own, vessel, conditions)) =
            house.vessel(still.key).map(|known| &known.what)
        else {
            let wanted = "a still of this house";
            return Err(vec![Fault::MissingPart { field: still.key.into(), wanted }]);
        };
        let (mut vessel, mut conditions) = (vessel.clone(), conditions.clone());
        if by == By::Truth {
            let truth = Truth::of(still.key);
            vessel.head_loss_w_k *= truth.head_loss;
            conditions.heat_w = conditions.heat_w.map(|heat_w| heat_w * truth.heat);
        }
        conditions.pressure_pa = house.plant.site.pressure_pa;
        Ok(Self { vessel, conditions, charge_c: own.charge_c })
    }

    fn follow(&self, mut charge: Charge, constants: &Constants) -> Result<Trace, Vec<Fault>> {
        charge.filling.temperature_c = Some(self.charge_c);
        let cuts = vec![Mark { name: "all".to_owned(), until: Until::StrengthPct(0.9) }];
        let programme = Programme { conditions: self.conditions.clone(), heat: Vec::new(), cuts };
        let vessel = Vessel { least_charge_20_l: None, ..self.vessel.clone() };
        Trace::of(&charge, &vessel, &programme, constants).map_err(|fault| vec![fault])
    }
}
