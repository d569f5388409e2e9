//! The free constants of a fermentation.

use gauge::Grade;

const TUNED: &str =
    "from memory, so set that wort at 19 °C is done in 42 to 46 h, peak 33 to 35 °C";
const MEMORY: &str = "from memory of the trade";
const BALLING: &str =
    "Balling: 2.0665 kg extract give 1 kg ethanol, 0.9565 kg gas, 0.11 kg dry yeast";

gauge::record! {
    /// Rates, yields and limits. Those a house may fit, in the order in which to fit them: rates
    /// (time to the middle), lag (time to the first five degrees), dextrin (final gravity), yield
    /// (alcohol of the wash), bacteria (acid of long fermentations).
    pub struct Constants {
        /// Ethanol made of a kilogram of hexose.
        pub ethanol_kg_kg: f64 = Field::new("kg/kg").label("Ethanol of hexose").within(0.40, 0.5114)
            .or(0.448).from(Grade::Computed, BALLING).fitted(0.004),
        /// Dry yeast made of a kilogram of hexose.
        pub yeast_kg_kg: f64 = Field::new("kg/kg").within(0.0, 0.10).or(0.0505)
            .from(Grade::Computed, BALLING),
        /// Share of the by-products that stays in solution and weighs as extract.
        pub by_product_extract: f64 = Field::new("").within(0.0, 1.0).or(0.30)
            .from(Grade::Memory, MEMORY),
        /// One factor on the three rates of uptake: the quickest of all to fit.
        pub vigour: f64 = Field::new("").label("Vigour of the yeast").within(0.2, 5.0).or(1.0)
            .from(Grade::Design, "1 is the rates as they stand").fitted(0.15),
        /// Uptake of glucose at 30 °C, kg hexose a kg active yeast and hour.
        pub glucose_rate_per_h: f64 = Field::new("1/h").within(0.05, 20.0).or(1.90)
            .from(Grade::Memory, TUNED),
        /// The same of maltose.
        pub maltose_rate_per_h: f64 = Field::new("1/h").within(0.05, 20.0).or(1.75)
            .from(Grade::Memory, TUNED),
        /// The same of maltotriose.
        pub maltotriose_rate_per_h: f64 = Field::new("1/h").within(0.05, 20.0).or(1.10)
            .from(Grade::Memory, TUNED),
        /// Energy of activation of the uptake.
        pub uptake_kj_mol: f64 = Field::new("kJ/mol").within(10.0, 150.0).or(50.0)
            .from(Grade::Memory, "Gee and Ramirez: 47 for maltose").fitted(5.0),
        /// Temperature at which heat halves the uptake.
        pub heat_limit_c: f64 = Field::new("°C").within(30.0, 50.0).or(38.0)
            .from(Grade::Memory, MEMORY),
        /// Width of that limit.
        pub heat_limit_dk: f64 = Field::new("K").within(0.2, 10.0).or(1.0)
            .from(Grade::Memory, MEMORY),
        /// Half-saturation of glucose.
        pub glucose_half_kg_m3: f64 = Field::new("kg/m³").within(0.05, 50.0).or(1.0)
            .from(Grade::Memory, MEMORY),
        /// The same of maltose.
        pub maltose_half_kg_m3: f64 = Field::new("kg/m³").within(0.05, 50.0).or(6.0)
            .from(Grade::Memory, MEMORY),
        /// The same of maltotriose.
        pub maltotriose_half_kg_m3: f64 = Field::new("kg/m³").within(0.05, 50.0).or(6.0)
            .from(Grade::Memory, MEMORY),
        /// Glucose that halves the uptake of maltose and maltotriose.
        pub glucose_holds_kg_m3: f64 = Field::new("kg/m³").within(0.1, 500.0).or(6.0)
            .from(Grade::Memory, MEMORY),
        /// Maltose that halves the uptake of maltotriose.
        pub maltose_holds_kg_m3: f64 = Field::new("kg/m³").within(0.1, 500.0).or(25.0)
            .from(Grade::Memory, MEMORY),
        /// Ethanol at which uptake stops.
        pub ethanol_limit_kg_m3: f64 = Field::new("kg/m³").within(60.0, 200.0).or(120.0)
            .from(Grade::Memory, MEMORY),
        /// Waking of lagging yeast at 30 °C.
        pub wake_per_h: f64 = Field::new("1/h").within(0.01, 10.0).or(0.50)
            .from(Grade::Memory, MEMORY).fitted(0.15),
        /// Its energy of activation.
        pub wake_kj_mol: f64 = Field::new("kJ/mol").within(10.0, 150.0).or(50.0)
            .from(Grade::Memory, MEMORY),
        /// Death of yeast at 30 °C without ethanol: 2.7 % an hour at 34 °C and 60 kg/m³.
        pub death_per_h: f64 = Field::new("1/h").within(0.0, 0.1).or(0.0030)
            .from(Grade::Memory, MEMORY),
        /// How much a kelvin adds to the logarithm of that.
        pub death_per_k: f64 = Field::new("1/K").within(0.0, 1.0).or(0.25)
            .from(Grade::Memory, MEMORY),
        /// How much a kg/m³ of ethanol adds.
        pub death_ethanol_m3_per_kg: f64 = Field::new("m³/kg").within(0.0, 0.1).or(0.020)
            .from(Grade::Memory, MEMORY),
        /// Opening of dextrin by the enzymes that outlived the mash, at 30 °C.
        pub dextrin_per_h: f64 = Field::new("1/h").within(0.0, 1.0).or(0.030)
            .from(Grade::Memory, "from memory, tuned to a final gravity of 0.998 to 1.000")
            .fitted(0.008),
        /// Its energy of activation.
        pub dextrin_kj_mol: f64 = Field::new("kJ/mol").within(10.0, 150.0).or(45.0)
            .from(Grade::Memory, MEMORY),
        /// Growth of bacteria at 30 °C once yeast dies.
        pub bacteria_per_h: f64 = Field::new("1/h").within(0.0, 2.0).or(0.28)
            .from(Grade::Memory, MEMORY).fitted(0.06),
        /// Its energy of activation.
        pub bacteria_kj_mol: f64 = Field::new("kJ/mol").within(10.0, 150.0).or(60.0)
            .from(Grade::Memory, MEMORY),
        /// Most bacteria, dry.
        pub bacteria_most_kg_m3: f64 = Field::new("kg/m³").within(0.01, 5.0).or(0.5)
            .from(Grade::Memory, MEMORY),
        /// Dead yeast that half feeds them.
        pub bacteria_yeast_half_kg_m3: f64 = Field::new("kg/m³").within(0.01, 50.0).or(1.0)
            .from(Grade::Memory, MEMORY),
        /// Residual extract that half feeds them.
        pub bacteria_extract_half_kg_m3: f64 = Field::new("kg/m³").within(0.01, 50.0).or(5.0)
            .from(Grade::Memory, MEMORY),
        /// Lactic acid made with a kilogram of bacteria.
        pub lactic_growth_kg_kg: f64 = Field::new("kg/kg").within(0.0, 50.0).or(4.0)
            .from(Grade::Memory, MEMORY),
        /// Lactic acid made by a kilogram of standing bacteria an hour.
        pub lactic_standing_per_h: f64 = Field::new("1/h").within(0.0, 5.0).or(0.05)
            .from(Grade::Memory, MEMORY),
        /// Activity coefficient of a little ethanol in wash, for what the gas carries off.
        pub ethanol_activity: f64 = Field::new("").within(1.0, 10.0).or(4.0)
            .from(Grade::Memory, "from memory; gives the losses of Zimmermann and others (1964)")
            .fitted(0.4),
        /// Heat of a kilogram of hexose fermented.
        pub heat_kj_kg: f64 = Field::new("kJ/kg").within(300.0, 800.0).or(560.0)
            .from(Grade::Computed, "enthalpies of formation give 563; trade rule 586 of extract"),
        /// Heat that a cubic metre of wash takes up a kelvin: 1050 kg/m³ of 3.90 kJ/(kg K).
        pub heat_capacity_kj_m3_k: f64 = Field::new("kJ/(m³ K)").within(3000.0, 4500.0).or(4095.0)
            .from(Grade::Memory, MEMORY),
        /// How far the pH falls as yeast works.
        pub ph_fall: f64 = Field::new("pH").within(0.0, 3.0).or(1.15).from(Grade::Memory, MEMORY),
        /// Gas by which most of that fall is done.
        pub ph_fall_gas_kg_m3: f64 = Field::new("kg/m³").within(1.0, 100.0).or(15.0)
            .from(Grade::Memory, MEMORY),
        /// Lactic acid that lowers the pH by one more.
        pub ph_lactic_kg_m3: f64 = Field::new("kg/m³").within(0.5, 50.0).or(3.0)
            .from(Grade::Memory, MEMORY),
    }
}

/// Molar mass of carbon dioxide, kg/kmol.
pub(super) const GAS_KG_KMOL: f64 = 44.0095;
/// Molar mass of ethanol.
pub(super) const ETHANOL_KG_KMOL: f64 = 46.0684;
/// Molar mass of water.
pub(super) const WATER_KG_KMOL: f64 = 18.015;

impl Constants {
    /// Carbon dioxide made of a kilogram of hexose: a molecule with each of ethanol.
    pub fn gas_kg_kg(&self) -> f64 {
        self.ethanol_kg_kg * GAS_KG_KMOL / ETHANOL_KG_KMOL
    }
    /// Glycerol, acids and storage carbohydrate made of a kilogram of hexose: what is left of it.
    pub fn by_product_kg_kg(&self) -> f64 {
        1.0 - self.ethanol_kg_kg - self.gas_kg_kg() - self.yeast_kg_kg
    }
}
