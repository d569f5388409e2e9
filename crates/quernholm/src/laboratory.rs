//! Samples sent away: smoke of some Ember hearts and lees, higher alcohols of some hearts. Esters
//! are never asked for, so the house does not know them.

use crate::liquor::Liquor;
use crate::stillhouse::House;
use crate::stills::{Heart, Still, Stills};
use crate::told::{Hours, field, to};
use crate::truth;
use forecast::stillhouse::circuit::{CircuitAsked, charge_of, settle};
use forecast::stillhouse::congeners::in_wash;
use gauge::{Fault, Node};
use process::still::{Congener, Group};
use std::collections::BTreeMap;

/// What a charge carries, g for each litre of its pure alcohol, by make.
#[derive(Debug, Default)]
pub(crate) struct Laboratory {
    charged: BTreeMap<&'static str, Vec<(&'static Congener, f64)>>,
}

/// A spirit run of which a sample is sent.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Sent {
    pub(crate) run: u32,
    pub(crate) make: &'static str,
    pub(crate) still: Still,
    pub(crate) charge: Liquor,
    pub(crate) heart: Heart,
    pub(crate) heart_h: Hours,
    pub(crate) end_h: Hours,
}

/// Days until the letter comes.
const LETTER_H: f64 = 5.0 * 24.0 + 3.0;

impl Laboratory {
    fn charged(
        &mut self,
        make: &'static str,
        stills: &Stills,
    ) -> Result<Vec<(&'static Congener, f64)>, Vec<Fault>> {
        if let Some(known) = self.charged.get(make) {
            return Ok(known.clone());
        }
        let house = stills.house();
        let known = house.make(make).map(|known| in_wash(house, known)).unwrap_or_default();
        let level = |congener: &Congener| match congener.group {
            Group::Smoke => truth::SMOKE_LEVEL,
            Group::Oil => truth::OIL_LEVEL,
            _ => 1.0,
        };
        let asked = CircuitAsked {
            congeners: known.into_iter().map(|(c, g)| (c, g * level(c))).collect(),
            constants: truth::Truth::volatility(),
            head_loss: truth::Truth::of(make).head_loss,
            ..CircuitAsked::usual(house)
        };
        let one = |fault| vec![fault];
        let settled = settle(house, make, &asked).map_err(one)?;
        let charge = charge_of(&settled, "spirit").map_err(one)?;
        let pure_l = charge.moles().map_err(one)?.pure_alcohol_l();
        let of = charge.congeners.into_iter().map(|(c, grams)| (c, grams / pure_l)).collect();
        Ok(self.charged.entry(make).or_insert(of).clone())
    }
}

/// Sends the samples of a run, if this is one of those that are sent: `count` runs of the make
/// went before it.
pub(crate) fn send(house: &mut House<'_>, sent: Sent, count: u32) -> Result<(), Vec<Fault>> {
    let smoke = sent.make == "ember" && count % 4 == 3;
    let oils = matches!((sent.make, count % 12), ("ember", 7) | ("pale", 5));
    if !smoke && !oils {
        return Ok(());
    }
    let per_l = house.laboratory.charged(sent.make, &house.stills)?;
    let pure_l = sent.charge.alcohol_l;
    let congeners = per_l.into_iter().map(|(c, grams)| (c, grams * pure_l)).collect();
    let trace = house.stills.followed(sent.still, sent.charge, congeners)?;
    let read = sent.heart.read(&trace).map_err(|fault| vec![fault])?;
    let grams = |share: &[(&'static Congener, f64)], litres: f64| -> Vec<(Group, &str, f64)> {
        let of = trace.congeners().iter().zip(share);
        of.map(|((c, grams), (_, share))| (c.group, c.key, 1e3 * grams * share / litres)).collect()
    };
    let heart = read.cut("heart").map(|cut| grams(&cut.congeners, cut.distillate.volume_20_l()));
    let heart = heart.unwrap_or_default();
    if smoke {
        tell(house, &sent, "heart", &phenols(&heart));
        if count % 8 == 7 {
            let lees = grams(&read.residue_congeners, read.residue.volume_20_l());
            tell(house, &sent, "residue", &phenols(&lees));
        }
    }
    if oils {
        let oils: Vec<(&str, f64)> = heart
            .iter()
            .filter(|(group, ..)| *group == Group::Oil)
            .map(|(_, key, mg_l)| (*key, *mg_l))
            .collect();
        tell(house, &sent, "heart", &oils);
    }
    Ok(())
}

fn phenols(found: &[(Group, &'static str, f64)]) -> Vec<(&'static str, f64)> {
    let smoke = found.iter().filter(|(group, ..)| *group == Group::Smoke);
    vec![("phenols", smoke.map(|(.., mg_l)| mg_l).sum())]
}

fn tell(house: &mut House<'_>, sent: &Sent, of: &str, found: &[(&str, f64)]) {
    let at_h = if of == "heart" { sent.heart_h } else { sent.end_h };
    let mut read: Vec<(&str, Node)> = Vec::new();
    for (key, mg_l) in found {
        let mg_l = mg_l * (1.0 + house.diary.chance.about(0.04));
        read.push((key, to(mg_l, if mg_l < 30.0 { 2 } else { 0 }).into()));
    }
    let fields = vec![
        field("run", f64::from(sent.run)),
        field("of", of),
        field("found_mg_l", Node::part(read)),
        field("laboratory", "county laboratory"),
    ];
    house.diary.tell_late(at_h, at_h + LETTER_H, "analyse", fields);
}
