//! The ceiling of a charge: above some strength a still is not charged.
//!
//! Where foreshots are judged by the demisting test the combined charge is kept weak, so that the
//! long oils of old feints stay dissolved in it and come over late, and the test can be read.
//! Customary is below about 30 % vol (from memory, no source). A third still runs far stronger and
//! has no such ceiling.

use gauge::mixing::{Amount, Lot, Wanted, reduce};
use gauge::{Celsius, Strength, VolumeAt20};

use super::Place;
use crate::still::{Moles, mole_fraction};

/// Water that brings one still's charges of a cycle down to its ceiling.
#[derive(Debug, Clone, PartialEq)]
pub struct Dilution {
    /// The still.
    pub still: String,
    /// Strength of the charge before, % vol.
    pub strength_pct: f64,
    /// The still's ceiling, % vol.
    pub ceiling_pct: f64,
    /// Water that it takes, kg.
    pub water_kg: f64,
    /// Water that it takes, L at 20 °C.
    pub water_20_l: f64,
    /// Litres at 20 °C of the charge after.
    pub charge_20_l: f64,
    /// Whether it was added; else it is proposed.
    pub added: bool,
}

/// Water to add to a charge before it boils, where the still is to be kept under its ceiling.
pub(super) fn water(still: &Place, charge: Moles) -> Moles {
    let Some(ceiling) = still.hearth.charge_ceiling_pct.filter(|_| still.dilute) else {
        return Moles::default();
    };
    let x = mole_fraction(ceiling);
    let water_mol = charge.ethanol_mol * (1.0 - x) / x - charge.water_mol;
    Moles { ethanol_mol: 0.0, water_mol: water_mol.max(0.0) }
}

/// The dilution of a still's charge, as added or as proposed; none where it is weak enough.
pub(super) fn dilution(still: &Place, charge: Moles, added: Moles) -> Option<Dilution> {
    let ceiling_pct = still.hearth.charge_ceiling_pct?;
    let undiluted = Moles { water_mol: charge.water_mol - added.water_mol, ..charge };
    let strength_pct = undiluted.strength_pct();
    if strength_pct.is_nan() || strength_pct <= ceiling_pct {
        return None;
    }
    let twenty = Celsius::TWENTY;
    let litres = VolumeAt20::from_litres(undiluted.volume_20_l()).ok()?;
    let strength = Strength::from_percent(strength_pct).ok()?;
    let target = Strength::from_percent(ceiling_pct).ok()?;
    let lot = Lot { amount: Amount::At20(litres), strength };
    let found = reduce(&lot, Wanted { target, water_at: twenty, final_at: twenty }).ok()?;
    Some(Dilution {
        still: still.name.clone(),
        strength_pct,
        ceiling_pct,
        water_kg: found.water_kg,
        water_20_l: found.water_20_l,
        charge_20_l: found.final_20.litres(),
        added: added.water_mol > 0.0,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::Hearth;

    #[test]
    fn the_water_by_moles_is_the_water_by_mass() {
        let hearth = Hearth { charge_ceiling_pct: Some(28.0), ..Hearth::default() };
        let still = Place { hearth, dilute: true, ..Place::named("spirit") };
        let charge = Moles { ethanol_mol: 33_500.0, water_mol: 284_000.0 };
        let added = water(&still, charge);
        let all = charge.plus(added);
        assert!((all.strength_pct() - 28.0).abs() < 1e-6, "{}", all.strength_pct());
        let told = dilution(&still, all, added).expect("it is above 28 % vol");
        assert!((told.water_kg / added.water_kg() - 1.0).abs() < 1e-6);
        assert!((told.charge_20_l / all.volume_20_l() - 1.0).abs() < 1e-6);
    }

    #[test]
    fn a_weak_charge_is_left_alone() {
        let hearth = Hearth { charge_ceiling_pct: Some(30.0), ..Hearth::default() };
        let still = Place { hearth, dilute: true, ..Place::named("spirit") };
        let charge = Moles { ethanol_mol: 25_000.0, water_mol: 284_000.0 };
        assert_eq!(water(&still, charge), Moles::default());
        assert_eq!(dilution(&still, charge, Moles::default()), None);
    }
}
