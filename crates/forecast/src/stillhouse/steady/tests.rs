//! A usual charge against what goes into it, and against the whole circuit reckoned another way.

use super::*;
use crate::stillhouse::circuit::{CircuitAsked, settle};
use house::quernholm;

fn usual(house: &House, key: &str) -> Usual {
    let make = house.make(key).expect("a make");
    let (fitted, constants) = (Fitted::default(), Constants::default());
    let pass = make.route.passes.len() - 1;
    let asked = Asked {
        house,
        make,
        pass,
        still: None,
        kept: None,
        fitted: &fitted,
        constants: &constants,
        carried: true,
    };
    charge(&asked, None).expect("a charge")
}

/// What goes into a charge in balance is what is new and what came back of the one before.
#[test]
fn a_usual_charge_is_its_forward_part_and_what_returns() {
    let house = quernholm();
    for key in ["pale", "feather", "ember"] {
        let usual = usual(&house, key);
        let returns = usual
            .cuts
            .iter()
            .filter(|(name, _)| name != "heart")
            .fold(Moles::default(), |sum, (_, moles)| sum.plus(*moles));
        // What goes forward is the low wines of one charge of wash, in so many charges.
        let parts = &house.make(key).expect("a make").route.passes;
        let new: f64 = parts[parts.len() - 1]
            .charge
            .iter()
            .flat_map(|part| {
                let own = usual.before.iter().filter(|(name, _)| *name == part.from);
                own.map(|(_, moles)| part.fraction * moles.ethanol_mol)
            })
            .sum();
        let charges = new / usual.forward.ethanol_mol;
        let sum = usual.forward.plus(returns.times(1.0 / charges));
        println!(
            "{key}: {:.1} L of {:.2} %, of it new {:.1} L of {:.2} %, {:.3} charges",
            usual.charge.volume_20_l(),
            usual.charge.strength_pct(),
            usual.forward.volume_20_l(),
            usual.forward.strength_pct(),
            charges
        );
        assert!((sum.ethanol_mol / usual.charge.ethanol_mol - 1.0).abs() < 1e-3, "{key} {sum:?}");
        assert!((sum.water_mol / usual.charge.water_mol - 1.0).abs() < 1e-3, "{key} {sum:?}");
    }
}

/// The circuit is settled by another road: all passes together, by accelerated rounds.
#[test]
fn it_agrees_with_the_settled_circuit() {
    let house = quernholm();
    for key in ["pale", "feather", "ember"] {
        let make = house.make(key).expect("a make");
        let own = pot(&house, "wash_still").expect("a still");
        let asked = CircuitAsked {
            wash: Some(usual_wash(&house, make, own)),
            congeners: in_wash(&house, make),
            ..CircuitAsked::usual(&house)
        };
        let settled = settle(&house, key, &asked).expect("a circuit");
        let stream = settled.stream("spirit.charge").expect("a charge");
        let usual = usual(&house, key);
        let off = stream.strength_pct() - usual.charge.strength_pct();
        println!(
            "{key}: {:.3} and {:.3} % vol",
            stream.strength_pct(),
            usual.charge.strength_pct()
        );
        assert!(off.abs() < 0.02, "{key}: {off}");
        for (at, congener) in CONGENERS.iter().enumerate() {
            let circuit: f64 =
                stream.congeners_g.iter().filter(|(c, _)| c.key == congener.key).map(|c| c.1).sum();
            let (circuit, own) = (
                circuit / stream.pure_alcohol_l(),
                usual.grams[at] / usual.charge.pure_alcohol_l(),
            );
            let off = if own > 0.0 { (circuit / own - 1.0).abs() } else { circuit };
            assert!(off < 0.01, "{key} {}: {circuit} and {own} g/L", congener.key);
        }
    }
}
