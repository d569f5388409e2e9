//! What one stage hands to the next.

use gauge::record;

record! {
    /// A batch on its way: one piece until it lies in the bin, one mash of it from the mill on.
    pub(crate) struct Carry {
        /// Barley steeped, as it is.
        pub(crate) barley_kg: f64 = Field::new("kg").or(0.0),
        /// Its moisture, wet basis.
        pub(crate) barley_moisture_wet: f64 = Field::new("").or(0.0),
        /// Weight of a thousand corns as they are.
        pub(crate) corn_weight_g: f64 = Field::new("g").or(0.0),
        /// Germinative energy in 4 ml.
        pub(crate) germinative_energy_4ml_pct: f64 = Field::new("%").or(0.0),
        /// Germinative energy in 8 ml.
        pub(crate) germinative_energy_8ml_pct: f64 = Field::new("%").or(0.0),
        /// Dry matter of the barley.
        pub(crate) barley_dry_kg: f64 = Field::new("kg").or(0.0),
        /// Nitrogen of its dry matter, %.
        pub(crate) nitrogen_pct_dry: f64 = Field::new("%").or(0.0),
        /// Dry matter of the corns.
        pub(crate) dry_kg: f64 = Field::new("kg").or(0.0),
        /// Dry matter of the rootlets.
        pub(crate) rootlets_kg: f64 = Field::new("kg").or(0.0),
        /// Moisture on dry matter.
        pub(crate) moisture_dry: f64 = Field::new("kg/kg").or(0.0),
        /// Water clinging outside, on dry matter.
        pub(crate) surface_water_dry: f64 = Field::new("kg/kg").or(0.0),
        /// Temperature of the grain.
        pub(crate) grain_c: f64 = Field::new("°C").or(0.0),
        /// Share of the corns that grow.
        pub(crate) germinating: f64 = Field::new("").or(0.0),
        /// Hours that hard steeping sets growth back.
        pub(crate) lag_h: f64 = Field::new("h").or(0.0),
        /// How far the corns are modified, 0 to 1.
        pub(crate) modification: f64 = Field::new("").or(0.0),
        /// Loss of dry matter from barley to malt.
        pub(crate) malting_loss: f64 = Field::new("").or(0.0),
        /// Moisture of the malt, wet basis.
        pub(crate) malt_moisture_wet: f64 = Field::new("").or(0.0),
        /// Phenols on dry malt.
        pub(crate) phenols_mg_kg_dry: f64 = Field::new("mg/kg").or(0.0),
        /// Hottest air-on.
        pub(crate) cure_c: f64 = Field::new("°C").or(0.0),
        /// Hours of it.
        pub(crate) cure_h: f64 = Field::new("h").or(0.0),

        /// Malt of one mash as it is, before the mill draws off its dust.
        pub(crate) malt_kg: f64 = Field::new("kg").or(0.0),
        /// Malt of one mash, then its grist, as it is.
        pub(crate) grist_kg: f64 = Field::new("kg").or(0.0),
        /// Its extract by the laboratory.
        pub(crate) extract_pct_dry: f64 = Field::new("%").or(0.0),
        /// Share of that which ferments.
        pub(crate) fermentability: f64 = Field::new("").or(0.0),
        /// Litres of pure alcohol a tonne that the analysis predicts.
        pub(crate) predicted_l_t: f64 = Field::new("L/t").or(0.0),
        /// Share of the laboratory's extract that the grist will yield.
        pub(crate) extract_recovery: f64 = Field::new("").or(0.0),
        /// Temperature of the grist.
        pub(crate) grist_c: f64 = Field::new("°C").or(0.0),
        /// Temperature of the worts as they leave the tun.
        pub(crate) wort_c: f64 = Field::new("°C").or(0.0),

        /// Worts in the washback, L at 20 °C.
        pub(crate) wort_20_l: f64 = Field::new("L").or(0.0),
        /// Their sugars, each a cubic metre.
        pub(crate) glucose_kg_m3: f64 = Field::new("kg/m³").or(0.0),
        /// Maltose.
        pub(crate) maltose_kg_m3: f64 = Field::new("kg/m³").or(0.0),
        /// Maltotriose.
        pub(crate) maltotriose_kg_m3: f64 = Field::new("kg/m³").or(0.0),
        /// Dextrin that still opens.
        pub(crate) dextrin_kg_m3: f64 = Field::new("kg/m³").or(0.0),
        /// What does not ferment.
        pub(crate) residual_kg_m3: f64 = Field::new("kg/m³").or(0.0),
        /// Extract of the worts by mass.
        pub(crate) wort_plato: f64 = Field::new("°P").or(0.0),
        /// Setting temperature.
        pub(crate) set_c: f64 = Field::new("°C").or(0.0),

        /// Ethanol in the wash.
        pub(crate) wash_ethanol_mol: f64 = Field::new("mol").or(0.0),
        /// Water in the wash.
        pub(crate) wash_water_mol: f64 = Field::new("mol").or(0.0),
        /// New spirit of one mash, litres of pure alcohol.
        pub(crate) spirit_pure_l: f64 = Field::new("L").or(0.0),
        /// Its strength.
        pub(crate) spirit_strength_pct: f64 = Field::new("% vol").or(0.0),
        /// Spirit as it is filled, L at 20 °C.
        pub(crate) reduced_20_l: f64 = Field::new("L").or(0.0),
        /// In one cask, L at 20 °C.
        pub(crate) cask_20_l: f64 = Field::new("L").or(0.0),

        /// Litres of pure alcohol that the malt's extract promised by Balling's sum.
        pub(crate) promised_l: f64 = Field::new("L").or(0.0),
        /// Lost of it with draff.
        pub(crate) lost_mash_l: f64 = Field::new("L").or(0.0),
        /// With worts left in tun, pipes and cooler.
        pub(crate) lost_worts_l: f64 = Field::new("L").or(0.0),
        /// As extract that did not ferment.
        pub(crate) lost_unfermented_l: f64 = Field::new("L").or(0.0),
        /// To yeast and by-products beyond Balling's.
        pub(crate) lost_yield_l: f64 = Field::new("L").or(0.0),
        /// To bacteria.
        pub(crate) lost_bacteria_l: f64 = Field::new("L").or(0.0),
        /// Carried off with the gas.
        pub(crate) lost_gas_l: f64 = Field::new("L").or(0.0),
        /// Left in washback and charger.
        pub(crate) lost_residues_l: f64 = Field::new("L").or(0.0),
        /// With pot ale.
        pub(crate) lost_pot_ale_l: f64 = Field::new("L").or(0.0),
        /// With spent lees.
        pub(crate) lost_lees_l: f64 = Field::new("L").or(0.0),
        /// By vents, condenser and safe.
        pub(crate) lost_vents_l: f64 = Field::new("L").or(0.0),
    }
}
