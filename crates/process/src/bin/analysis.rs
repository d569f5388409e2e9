//! The malt analysis: what a malt should give, foretold from how it was made, and the spirit
//! yield that an analysis predicts. A forecast calls this without a bin.

use gauge::Grade;

gauge::record! {
    /// How the malt was made, as far as its analysis depends on it.
    pub struct Making {
        /// Nitrogen, % of dry matter.
        pub nitrogen_pct_dry: f64 = Field::new("%").label("nitrogen on dry matter")
            .within(0.8, 3.5).or(1.5),
        /// Modification, 0 to 1.
        pub modification: f64 = Field::new("").label("modification").within(0.0, 1.0).or(0.95),
        /// Dry matter lost from barley to dressed malt.
        pub malting_loss_fraction: f64 = Field::new("kg/kg").label("malting loss")
            .within(0.0, 0.4).or(0.10),
        /// Share of the corns that grew.
        pub germinating_fraction: f64 = Field::new("").label("corns that grew")
            .within(0.0, 1.0).or(0.97),
        /// Highest air-on.
        pub cure_c: f64 = Field::new("°C").label("curing").within(20.0, 110.0).or(68.0),
        /// Hours of it.
        pub cure_h: f64 = Field::new("h").label("hours of curing").within(0.0, 60.0).or(4.0),
    }
}

impl Making {
    /// A piece as it came off the kiln; dust taken at dressing is not a malting loss.
    pub fn of(piece: &crate::floor::Out, kilning: &crate::kiln::Out) -> Self {
        Self {
            nitrogen_pct_dry: piece.nitrogen_pct_dry,
            modification: piece.modification,
            malting_loss_fraction: piece.malting_loss_fraction,
            germinating_fraction: piece.germinating_fraction,
            cure_c: kilning.cure_c,
            cure_h: kilning.cure_h,
        }
    }
}

gauge::record! {
    /// The free constants of the analysis: one set a barley.
    pub struct AnalysisConstants {
        /// Extract of a perfect malt of 1.5 % nitrogen; 77.5 for a small-grained landrace.
        pub extract_most_pct_dry: f64 = Field::new("%").label("best extract, dry")
            .within(60.0, 88.0).or(82.5)
            .from(Grade::Memory, "modern 80 to 83 % dry").fitted(0.8),
        /// Points of extract a per cent of nitrogen costs.
        pub nitrogen_costs: f64 = Field::new("%/%").within(0.0, 12.0).or(5.4)
            .from(Grade::Memory, "0.7 to 0.9 a per cent of protein").fitted(0.6),
        /// Points that a wholly unmodified malt would lack.
        pub unmodified_costs: f64 = Field::new("%").within(0.0, 60.0).or(20.0)
            .from(Grade::Design, "wants fitting").fitted(5.0),
        /// Power of it.
        pub unmodified_power: f64 = Field::new("").within(0.5, 3.0).or(1.2)
            .from(Grade::Design, "wants fitting").fitted(0.1),
        /// Points for the whole of malting loss beyond a tenth.
        pub loss_costs: f64 = Field::new("%").within(0.0, 200.0).or(60.0)
            .from(Grade::Design, "wants fitting").fitted(15.0),
        /// Share of its extract that a dead corn lacks.
        pub dead_costs: f64 = Field::new("").within(0.0, 1.0).or(0.35)
            .from(Grade::Design, "wants fitting").fitted(0.1),
        /// Fermentability of a well modified malt, mildly cured.
        pub fermentability_most: f64 = Field::new("").within(0.75, 0.92).or(0.875)
            .from(Grade::Memory, "86 to 88.5 %").fitted(0.006),
        /// What a wholly unmodified malt would lack of it.
        pub unmodified_ferments: f64 = Field::new("").within(0.0, 0.5).or(0.12)
            .from(Grade::Design, "wants fitting").fitted(0.03),
        /// What four hours at a kelvin above 68 °C cost of it.
        pub cure_costs: f64 = Field::new("").within(0.0, 0.01).or(0.0003)
            .from(Grade::Design, "wants fitting").fitted(0.0001),
        /// Litres of pure alcohol a tonne for each per cent of fermentable extract.
        pub spirit_factor: f64 = Field::new("L/(t %)").within(5.0, 7.2).or(6.06).sd(0.05)
            .from(Grade::Published, "Bringhurst, Brosnan, McInnes and Steele, JIB 102 (1996) 433"),
    }
}

/// An analysis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Analysis {
    /// Soluble extract, % of dry malt.
    pub extract_pct_dry: f64,
    /// Share of it that ferments.
    pub fermentability: f64,
}

/// Gives the analysis to expect of a malt.
///
/// ```text
/// SE = [SE_max − 5.4 (N − 1.5) − 20 (1 − X)^1.2 − 60 max(0, loss − 0.10)] [1 − 0.35 (1 − g)]
/// F  = 0.875 − 0.12 (1 − X) − 0.0003 max(0, T_cure − 68)^1.5 hours/4
/// ```
/// # Units
/// As in [`Making`].
/// # Range
/// As in its fields; not checked here.
/// # Error
/// A design: a point or two of extract until a house has fitted it.
/// # Source
/// Design, save for nitrogen's cost (from memory).
pub fn expected(making: &Making, c: &AnalysisConstants) -> Analysis {
    let raw = 1.0 - making.modification;
    let extract = c.extract_most_pct_dry
        - c.nitrogen_costs * (making.nitrogen_pct_dry - 1.5)
        - c.unmodified_costs * raw.max(0.0).powf(c.unmodified_power)
        - c.loss_costs * (making.malting_loss_fraction - 0.10).max(0.0);
    let dead = 1.0 - making.germinating_fraction;
    let hot = (making.cure_c - 68.0).max(0.0).powf(1.5) * making.cure_h / 4.0;
    Analysis {
        extract_pct_dry: extract * (1.0 - c.dead_costs * dead),
        fermentability: c.fermentability_most - c.unmodified_ferments * raw - c.cure_costs * hot,
    }
}

impl Analysis {
    /// Gives the soluble extract of the malt as it is.
    ///
    /// # Units
    /// Moisture on a wet basis; result %.
    /// # Range
    /// Moisture below 1.
    /// # Error
    /// Exact.
    /// # Source
    /// A balance.
    pub fn extract_pct(&self, moisture_wet: f64) -> f64 {
        self.extract_pct_dry * (1.0 - moisture_wet)
    }

    /// Gives the predicted spirit yield, the benchmark of mash house and stills.
    ///
    /// `PSY = F_s SE F`
    /// # Units
    /// Moisture on a wet basis; result litres of pure alcohol a tonne as it is.
    /// # Range
    /// Moisture below 1.
    /// # Error
    /// 1 % by the spread of the factor, 6.06 to 6.11.
    /// # Source
    /// Bringhurst, Brosnan, McInnes and Steele, J. Inst. Brew. 102 (1996) 433.
    pub fn predicted_spirit_yield_l_t(&self, moisture_wet: f64, c: &AnalysisConstants) -> f64 {
        c.spirit_factor * self.extract_pct(moisture_wet) * self.fermentability
    }
}

/// Excess gravities of a laboratory wort before and after fermenting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LaboratoryWort {
    /// Before, in degrees over 1000.
    pub original_excess: f64,
    /// After.
    pub final_excess: f64,
}

/// Gives the fermentability that a laboratory finds.
///
/// `F = A (OG − FG)/OG`, `A = 0.814`
/// # Units
/// Excess degrees; result 0 to 1.
/// # Range
/// An original gravity above nought.
/// # Error
/// `A` was found as 81.46 % from 52 determinations.
/// # Source
/// Bringhurst, Brosnan, McInnes and Steele, J. Inst. Brew. 102 (1996) 433; that excess gravities
/// are divided is from memory.
pub fn laboratory_fermentability(wort: &LaboratoryWort) -> f64 {
    0.814 * (wort.original_excess - wort.final_excess) / wort.original_excess
}
