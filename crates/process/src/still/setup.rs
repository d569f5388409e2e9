//! A pot as it stands charged and lit: what a run, and a run that is kept, are followed with.

use gauge::Fault;

use super::congener::Congener;
use super::cut::HeatStep;
use super::equilibrium::Mixture;
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
        Ok(Self {
            mixture: Mixture::new(constants),
            pressure_pa: conditions.pressure_pa,
            charge: moles,
            congeners: charge.congeners.iter().map(|(c, _)| *c).collect(),
            volatility: constants.volatility(),
            steps: programme.steps()?,
            head_loss_w_k: vessel.head_loss_w_k,
            ambient_k: conditions.ambient_c + heat::ZERO_C_K,
            copper_j_k: 1e3 * constants.copper_kj_kg_k * vessel.copper_kg,
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
            fire: Some(Fire {
                steps: &self.steps,
                head_loss_w_k: self.head_loss_w_k,
                ambient_k: self.ambient_k,
                copper_j_k: self.copper_j_k,
            }),
        }
    }
}
