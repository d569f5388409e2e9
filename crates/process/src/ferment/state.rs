//! Where a washback stands: enough to carry the fermentation on from there.

use super::gravity::{self, MakeUp};
use super::system::{HEXOSE_IN_DEXTRIN, HEXOSE_IN_MALTOSE, HEXOSE_IN_MALTOTRIOSE, at};
use super::{Charge, Constants};
use gauge::Fault;
use gauge::wort::kernel as wort;

/// A washback at one moment. All amounts are kg in a cubic metre of the wort that was set, so that
/// they add and balance; the wash shrinks by less than a thousandth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct State {
    /// Hours since it was set.
    pub time_h: f64,
    /// Temperature.
    pub temperature_c: f64,
    /// Dry yeast that has not begun.
    pub yeast_lag_kg_m3: f64,
    /// Dry yeast at work.
    pub yeast_active_kg_m3: f64,
    /// Dry yeast that is dead.
    pub yeast_dead_kg_m3: f64,
    /// Glucose, fructose and sucrose, as hexose.
    pub glucose_kg_m3: f64,
    /// Maltose.
    pub maltose_kg_m3: f64,
    /// Maltotriose.
    pub maltotriose_kg_m3: f64,
    /// Dextrin that the enzymes will still open.
    pub dextrin_kg_m3: f64,
    /// Extract that will not ferment.
    pub residual_kg_m3: f64,
    /// Ethanol in the wash.
    pub ethanol_kg_m3: f64,
    /// Carbon dioxide given off since the setting.
    pub carbon_dioxide_kg_m3: f64,
    /// Glycerol, acids, storage carbohydrate.
    pub by_product_kg_m3: f64,
    /// Bacteria, dry.
    pub bacteria_kg_m3: f64,
    /// Lactic acid.
    pub lactic_kg_m3: f64,
    /// Ethanol carried off with the gas.
    pub ethanol_lost_kg_m3: f64,
    /// Water carried off with the gas.
    pub water_lost_kg_m3: f64,
    /// Extract of the wort when it was set.
    pub wort_extract_kg_m3: f64,
    /// Gravity of the wort when it was set.
    pub original_gravity: f64,
    /// Sum of (hexose − sugar) in the wort: the water that a full cut will take up.
    pub wort_uncut_kg_m3: f64,
    /// pH of the wort.
    pub wort_ph: f64,
}

/// Water still to be bound when maltose, maltotriose and dextrin are cut.
fn uncut(maltose: f64, maltotriose: f64, dextrin: f64) -> f64 {
    (HEXOSE_IN_MALTOSE - 1.0) * maltose
        + (HEXOSE_IN_MALTOTRIOSE - 1.0) * maltotriose
        + (HEXOSE_IN_DEXTRIN - 1.0) * dextrin
}

impl State {
    /// The washback just set and yeasted at `set_c`.
    pub fn set(charge: &Charge, set_c: f64) -> Result<Self, Fault> {
        let (w, y) = (&charge.wort, &charge.yeast);
        let extract = w.glucose_kg_m3
            + w.maltose_kg_m3
            + w.maltotriose_kg_m3
            + w.dextrin_kg_m3
            + w.residual_kg_m3;
        Ok(Self {
            time_h: 0.0,
            temperature_c: set_c,
            yeast_lag_kg_m3: y.dry_kg_m3 * (1.0 - y.active_fraction),
            yeast_active_kg_m3: y.dry_kg_m3 * y.active_fraction,
            yeast_dead_kg_m3: 0.0,
            glucose_kg_m3: w.glucose_kg_m3,
            maltose_kg_m3: w.maltose_kg_m3,
            maltotriose_kg_m3: w.maltotriose_kg_m3,
            dextrin_kg_m3: w.dextrin_kg_m3,
            residual_kg_m3: w.residual_kg_m3,
            ethanol_kg_m3: 0.0,
            carbon_dioxide_kg_m3: 0.0,
            by_product_kg_m3: 0.0,
            bacteria_kg_m3: y.bacteria_kg_m3,
            lactic_kg_m3: 0.0,
            ethanol_lost_kg_m3: 0.0,
            water_lost_kg_m3: 0.0,
            wort_extract_kg_m3: extract,
            original_gravity: gravity::of_wort(extract)?,
            wort_uncut_kg_m3: uncut(w.maltose_kg_m3, w.maltotriose_kg_m3, w.dextrin_kg_m3),
            wort_ph: charge.ph,
        })
    }

    /// Real extract: sugars, residual, what stays of the by-products, acid.
    pub fn real_extract_kg_m3(&self, constants: &Constants) -> f64 {
        self.glucose_kg_m3
            + self.maltose_kg_m3
            + self.maltotriose_kg_m3
            + self.dextrin_kg_m3
            + self.residual_kg_m3
            + constants.by_product_extract * self.by_product_kg_m3
            + self.lactic_kg_m3
    }

    /// Gravity 20/20 by the alcoholometric table and the table of worts.
    pub fn gravity(&self, constants: &Constants) -> f64 {
        let mass = wort::density_kg_m3(self.original_gravity);
        gravity::of_wash(&MakeUp {
            extract_kg: self.real_extract_kg_m3(constants),
            ethanol_kg: self.ethanol_kg_m3,
            water_kg: mass
                - self.wort_extract_kg_m3
                - self.water_bound_kg_m3()
                - self.water_lost_kg_m3,
        })
    }

    /// Gravity by the stand-in that the reference runs use.
    pub fn gravity_reference(&self, constants: &Constants) -> f64 {
        gravity::stand_in(self.real_extract_kg_m3(constants), self.ethanol_kg_m3)
    }

    /// Ethanol as % of the wort's volume.
    pub fn alcohol_pct(&self) -> f64 {
        100.0 * self.ethanol_kg_m3 / gauge::alcoholometry::kernel::ETHANOL_KG_M3
    }

    /// pH by the gas given off and the lactic acid.
    pub fn ph(&self, constants: &Constants) -> f64 {
        let worked = 1.0 - (-self.carbon_dioxide_kg_m3 / constants.ph_fall_gas_kg_m3).exp();
        self.wort_ph - constants.ph_fall * worked - self.lactic_kg_m3 / constants.ph_lactic_kg_m3
    }

    /// Water that the cut of sugars has taken up since the setting.
    pub fn water_bound_kg_m3(&self) -> f64 {
        self.wort_uncut_kg_m3
            - uncut(self.maltose_kg_m3, self.maltotriose_kg_m3, self.dextrin_kg_m3)
    }

    pub(super) fn slice(&self) -> [f64; at::COUNT] {
        let mut y = [0.0; at::COUNT];
        y[at::LAG] = self.yeast_lag_kg_m3;
        y[at::ACTIVE] = self.yeast_active_kg_m3;
        y[at::DEAD] = self.yeast_dead_kg_m3;
        y[at::GLUCOSE] = self.glucose_kg_m3;
        y[at::MALTOSE] = self.maltose_kg_m3;
        y[at::MALTOTRIOSE] = self.maltotriose_kg_m3;
        y[at::DEXTRIN] = self.dextrin_kg_m3;
        y[at::RESIDUAL] = self.residual_kg_m3;
        y[at::ETHANOL] = self.ethanol_kg_m3;
        y[at::GAS] = self.carbon_dioxide_kg_m3;
        y[at::BY_PRODUCT] = self.by_product_kg_m3;
        y[at::BACTERIA] = self.bacteria_kg_m3;
        y[at::LACTIC] = self.lactic_kg_m3;
        y[at::TEMPERATURE_C] = self.temperature_c;
        y[at::ETHANOL_LOST] = self.ethanol_lost_kg_m3;
        y[at::WATER_LOST] = self.water_lost_kg_m3;
        y
    }

    pub(super) fn after(&self, time_h: f64, y: &[f64]) -> Self {
        Self {
            time_h,
            temperature_c: y[at::TEMPERATURE_C],
            yeast_lag_kg_m3: y[at::LAG],
            yeast_active_kg_m3: y[at::ACTIVE],
            yeast_dead_kg_m3: y[at::DEAD],
            glucose_kg_m3: y[at::GLUCOSE],
            maltose_kg_m3: y[at::MALTOSE],
            maltotriose_kg_m3: y[at::MALTOTRIOSE],
            dextrin_kg_m3: y[at::DEXTRIN],
            residual_kg_m3: y[at::RESIDUAL],
            ethanol_kg_m3: y[at::ETHANOL],
            carbon_dioxide_kg_m3: y[at::GAS],
            by_product_kg_m3: y[at::BY_PRODUCT],
            bacteria_kg_m3: y[at::BACTERIA],
            lactic_kg_m3: y[at::LACTIC],
            ethanol_lost_kg_m3: y[at::ETHANOL_LOST],
            water_lost_kg_m3: y[at::WATER_LOST],
            ..*self
        }
    }
}
