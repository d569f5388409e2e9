//! A pot as it stands charged and lit: what a run, and a run that is kept, are followed with.

use gauge::Fault;
use gauge::fault::Side;

use super::congener::Congener;
use super::cut::HeatStep;
use super::equilibrium::{Mixture, WATER_G_MOL};
use super::fittings::Fittings;
use super::pot::{Fire, Pot, TOLERANCE};
use super::{Charge, Constants, Moles, Programme, Vessel, check, heat};

/// All that a [`Pot`] borrows, and its figures.
#[derive(Debug, Clone)]
pub(super) struct Setup {
    mixture: Mixture,
    pressure_pa: f64,
    pub(super) charge: Moles,
    pub(super) congeners: Vec<&'static Congener>,
    volatility: [f64; 5],
    pub(super) steps: Vec<HeatStep>,
    head_loss_w_k: f64,
    ambient_k: f64,
    copper_j_k: f64,
    fittings: Fittings,
}

impl Setup {
    /// Checks the four parts and brings them together.
    pub(super) fn of(
        charge: &Charge,
        vessel: &Vessel,
        programme: &Programme,
        constants: &Constants,
    ) -> Result<Self, Fault> {
        let moles = check(charge, vessel, programme, constants)?;
        let conditions = &programme.conditions;
        let steps = programme.steps()?;
        waters(vessel)?;
        if charge.filling.temperature_c.is_some() && steps.iter().any(|s| s.steam_kg_s > 0.0) {
            return Err(Fault::Unworkable {
                field: "charge.temperature_c".into(),
                trouble: "open steam dilutes a charge that it warms, and that is not followed"
                    .into(),
                remedy: "leave it out and give the charge as it comes to the boil".into(),
            });
        }
        let charge_20_l = moles.volume_20_l();
        let lag = vessel.residence_l >= SHORTEST_LAG * charge_20_l;
        let fittings = Fittings {
            head: vessel.head,
            mixing: conditions.heat_of_mixing.0,
            hold_20_l: if lag { vessel.residence_l } else { 0.0 },
            vapour_loss: vessel.vapour_loss,
            steam_j_mol: conditions.steam_kj_kg * WATER_G_MOL,
            forming: forming(charge, vessel, charge_20_l)?,
        };
        Ok(Self {
            mixture: Mixture::new(constants),
            pressure_pa: conditions.pressure_pa,
            charge: moles,
            congeners: charge.congeners.iter().map(|(c, _)| *c).collect(),
            volatility: constants.volatility(),
            steps,
            head_loss_w_k: vessel.head_loss_w_k,
            ambient_k: conditions.ambient_c + heat::ZERO_C_K,
            copper_j_k: 1e3 * constants.copper_kj_kg_k * vessel.copper_kg,
            fittings,
        })
    }

    /// The pot it describes.
    pub(super) fn pot(&self) -> Pot<'_> {
        Pot {
            mixture: self.mixture,
            pressure_pa: self.pressure_pa,
            charge: self.charge,
            congeners: &self.congeners,
            volatility: self.volatility,
            tolerance: TOLERANCE,
            fittings: self.fittings,
            fire: Some(Fire {
                steps: &self.steps,
                head_loss_w_k: self.head_loss_w_k,
                ambient_k: self.ambient_k,
                copper_j_k: self.copper_j_k,
            }),
        }
    }
}

/// What stands in condenser and tail is left out below this share of the charge: it lags by less
/// than a run is followed by.
pub(super) const SHORTEST_LAG: f64 = 5e-5;

/// Cooling water must warm, and the spirit cannot leave colder than the water comes.
fn waters(vessel: &Vessel) -> Result<(), Fault> {
    let beyond = |key: &str, value, limit, sets: &'static str| Fault::Beyond {
        field: format!("still.{key}").into(),
        value,
        unit: "°C",
        side: Side::AtLeast,
        limit,
        sets: sets.into(),
    };
    let Vessel { distillate_c, water_on_c, water_off_c, .. } = *vessel;
    if water_off_c < water_on_c + 1.0 {
        let sets = "a kelvin above the water that comes on";
        return Err(beyond("water_off_c", water_off_c, water_on_c + 1.0, sets));
    }
    if distillate_c < water_on_c {
        return Err(beyond("distillate_c", distillate_c, water_on_c, "the water that comes on"));
    }
    Ok(())
}

/// The place of furfural among the congeners, and how fast it forms, where it does.
fn forming(
    charge: &Charge,
    vessel: &Vessel,
    charge_20_l: f64,
) -> Result<Option<(usize, f64)>, Fault> {
    if vessel.furfural_mg_l_h <= 0.0 {
        return Ok(None);
    }
    let place = charge.congeners.iter().position(|(congener, _)| congener.key == "furfural");
    let Some((place, grams)) =
        place.map(|at| (at, charge.congeners[at].1)).filter(|(_, grams)| *grams > 0.0)
    else {
        return Err(Fault::Unworkable {
            field: "still.furfural_mg_l_h".into(),
            trouble: "furfural is to form and the charge counts none".into(),
            remedy: "give its grams as charge.congeners.furfural, above 0".into(),
        });
    };
    Ok(Some((place, 1e-3 * vessel.furfural_mg_l_h * charge_20_l / 3600.0 / grams)))
}
