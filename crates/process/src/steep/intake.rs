//! Barley as it is bought: what is left after cleaning and drying, and whether it will grow.
//!
//! A sound corn may still sleep. Harvested wet or fresh it is *dormant*: alive, but not willing;
//! or it grows in a little water and not in much (*water-sensitive*). Both wear off in a warm dry
//! store. Three counts of a hundred corns tell: what grows in 4 ml of water, in 8 ml, and what is
//! alive at all.

use gauge::Grade;

/// A lot as weighed in, all shares 0 to 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bought {
    /// Weighed in.
    pub gross_kg: f64,
    /// Straw, stones, dust, weed seed.
    pub admixture_fraction: f64,
    /// Thin corns, of the clean grain.
    pub screenings_fraction: f64,
    /// Moisture, wet basis.
    pub moisture_wet: f64,
}

/// Gives the mass of clean, screened barley.
///
/// `m = gross (1 − admixture)(1 − screenings)`: admixture first, for screenings are weighed on
/// clean grain.
/// # Units
/// kg.
/// # Range
/// Shares 0 to 1.
/// # Error
/// Exact.
/// # Source
/// A balance.
pub fn clean_kg(bought: &Bought) -> f64 {
    bought.gross_kg * (1.0 - bought.admixture_fraction) * (1.0 - bought.screenings_fraction)
}

/// Gives the dry matter of the clean barley.
///
/// # Units
/// kg.
/// # Range
/// Moisture below 1.
/// # Error
/// Exact.
/// # Source
/// A balance.
pub fn clean_dry_kg(bought: &Bought) -> f64 {
    clean_kg(bought) * (1.0 - bought.moisture_wet)
}

/// Gives the mass of the clean barley once dried to `moisture_wet`.
///
/// `m₂ = m₁ (1 − w₁)/(1 − w₂)`
/// # Units
/// kg.
/// # Range
/// Moisture below 1.
/// # Error
/// Exact.
/// # Source
/// A balance.
pub fn dried_kg(bought: &Bought, moisture_wet: f64) -> f64 {
    clean_dry_kg(bought) / (1.0 - moisture_wet)
}

/// What the three counts found, per cent of corns.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Germination {
    /// Grown in 4 ml of water in three days.
    pub energy_4ml_pct: f64,
    /// Grown in 8 ml.
    pub energy_8ml_pct: f64,
    /// Alive, whether willing to grow or not; when it was not counted, none.
    pub capacity_pct: Option<f64>,
}

/// How much a barley minds water.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sensitivity {
    /// Under 10 points.
    None,
    /// 10 to 25.
    Slight,
    /// 26 to 45.
    Moderate,
    /// Over 45.
    Strong,
}

impl Sensitivity {
    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::None => "not water-sensitive",
            Self::Slight => "slightly water-sensitive",
            Self::Moderate => "water-sensitive",
            Self::Strong => "strongly water-sensitive",
        }
    }
}

gauge::record! {
    /// What a house asks of a barley before it goes under water, and how sleep wears off.
    pub struct Keeping {
        /// Least germinative energy in 4 ml.
        pub least_energy_pct: f64 = Field::new("%").label("least germinative energy")
            .within(50.0, 100.0).or(95.0)
            .from(Grade::Published, "95 %, Montana State University, barley testing page"),
        /// Least germinative capacity.
        pub least_capacity_pct: f64 = Field::new("%").label("least germinative capacity")
            .within(50.0, 100.0).or(95.0)
            .from(Grade::Published, "95 %, Montana State University, barley testing page"),
        /// Most points that 8 ml may lie below 4 ml.
        pub most_sensitivity_pct: f64 = Field::new("%").label("most water sensitivity")
            .within(0.0, 100.0).or(45.0)
            .from(Grade::Memory, "above 45 points sensitivity is called strong"),
        /// Most points by which the sensitivities of lots steeped together may differ.
        pub mixed_within_pct: f64 = Field::new("%").label("mixed within").within(0.0, 50.0)
            .or(10.0).from(Grade::Design, "a grade of sensitivity is some fifteen points"),
        /// How fast sleep wears off at 15 °C in grain under 13 %; doubles each 10 K.
        pub waking_1_d: f64 = Field::new("1/d").label("waking").within(0.0, 0.2).or(0.023)
            .from(Grade::Memory, "wants fitting to retests").fitted(0.008),
        /// The same of water sensitivity, as a share of it.
        pub hardening: f64 = Field::new("").label("hardening beside waking").within(0.0, 2.0)
            .or(0.5).from(Grade::Memory, "wants fitting to retests").fitted(0.2),
        /// Longest that dry barley keeps.
        pub keeps_d: f64 = Field::new("d").label("keeps for").within(30.0, 2000.0).or(540.0)
            .from(Grade::Published, "18 months, encyclopaedic article on malting"),
    }
}

impl Germination {
    /// Gives how many points fewer grow in 8 ml of water than in 4 ml.
    ///
    /// # Units
    /// Points of a hundred.
    /// # Range
    /// Never below nought: a count that happens to be higher in 8 ml is a chance.
    /// # Error
    /// Counts of a hundred corns: some 3 points.
    /// # Source
    /// Montana State University, barley testing page.
    pub fn sensitivity_pct(&self) -> f64 {
        (self.energy_4ml_pct - self.energy_8ml_pct).max(0.0)
    }

    /// Gives the grade of that.
    ///
    /// # Units
    /// None.
    /// # Range
    /// Any.
    /// # Error
    /// Limits between grades are custom.
    /// # Source
    /// British practice, from memory.
    pub fn sensitivity(&self) -> Sensitivity {
        match self.sensitivity_pct() {
            ws if ws < 10.0 => Sensitivity::None,
            ws if ws <= 25.0 => Sensitivity::Slight,
            ws if ws <= 45.0 => Sensitivity::Moderate,
            _ => Sensitivity::Strong,
        }
    }

    /// Gives how many corns of a hundred live but sleep; none when capacity was not counted.
    ///
    /// # Units
    /// Points of a hundred.
    /// # Range
    /// Never below nought.
    /// # Error
    /// As [`Germination::sensitivity_pct`].
    /// # Source
    /// Montana State University, barley testing page.
    pub fn dormancy_pct(&self) -> Option<f64> {
        self.capacity_pct.map(|capacity| (capacity - self.energy_4ml_pct).max(0.0))
    }

    /// Gives what the counts would be after more days in a dry store.
    ///
    /// `dG/dt = −k G`, `G = GC − GE4`, `k = 0.023 × 2^((T − 15)/10)` a day; sensitivity at half
    /// the rate. Where capacity was not counted, sleepers are not known and stay.
    /// # Units
    /// Days, °C.
    /// # Range
    /// Grain under 13 % moisture, 0 to 40 °C.
    /// # Error
    /// A design from memory: the retest decides, this says when to make it.
    /// # Source
    /// Memory; that warm store breaks dormancy is common knowledge.
    #[must_use]
    pub fn after_days(&self, days: f64, store_c: f64, keeping: &Keeping) -> Self {
        let rate = keeping.waking_1_d * ((store_c - 15.0) / 10.0).exp2();
        let asleep = self.dormancy_pct().unwrap_or(0.0) * (-rate * days).exp();
        let sensitive = self.sensitivity_pct() * (-rate * keeping.hardening * days).exp();
        let grows = self.dormancy_pct().unwrap_or(0.0) + self.energy_4ml_pct - asleep;
        Self {
            energy_4ml_pct: grows,
            energy_8ml_pct: (grows - sensitive).max(0.0),
            capacity_pct: self.capacity_pct,
        }
    }

    /// Gives the days in store until the counts should come to what the house asks; none when
    /// they never will.
    ///
    /// # Units
    /// °C, result days.
    /// # Range
    /// As [`Germination::after_days`].
    /// # Error
    /// As [`Germination::after_days`].
    /// # Source
    /// [`Germination::after_days`], solved for the days.
    pub fn retest_days(&self, store_c: f64, keeping: &Keeping) -> Option<f64> {
        let rate = keeping.waking_1_d * ((store_c - 15.0) / 10.0).exp2();
        let wears = |from: f64, to: f64, rate: f64| match from {
            from if from <= to => Some(0.0),
            from if to > 0.0 && rate > 0.0 => Some((from / to).ln() / rate),
            _ => None,
        };
        let asleep = if self.energy_4ml_pct >= keeping.least_energy_pct {
            0.0
        } else {
            let allowed = self.capacity_pct? - keeping.least_energy_pct;
            wears(self.dormancy_pct()?, allowed, rate)?
        };
        let sensitive = self.sensitivity_pct();
        let sensitive = wears(sensitive, keeping.most_sensitivity_pct, rate * keeping.hardening)?;
        Some(asleep.max(sensitive))
    }

    /// Gives whether lots may be steeped together: as willing, and as sensitive to water.
    ///
    /// # Units
    /// None.
    /// # Range
    /// Any.
    /// # Error
    /// A rule of the house.
    /// # Source
    /// Design.
    pub fn mixes_with(&self, other: &Self, keeping: &Keeping) -> bool {
        let apart = (self.sensitivity_pct() - other.sensitivity_pct()).abs();
        let willing = |one: &Self| one.energy_4ml_pct >= keeping.least_energy_pct;
        apart <= keeping.mixed_within_pct && willing(self) && willing(other)
    }
}

/// Whether a lot may go under water.
#[derive(Debug, Clone, PartialEq)]
pub enum Verdict {
    /// It may.
    MayMalt,
    /// Not yet.
    NotYet {
        /// Why.
        why: String,
        /// Days from the test until it is worth testing again.
        retest_d: f64,
    },
    /// It will not.
    Never {
        /// Why.
        why: String,
    },
}

/// Gives whether a lot may be malted, from its counts and the warmth of its store.
///
/// # Units
/// °C; days from the day of the counts.
/// # Range
/// As [`Germination::after_days`].
/// # Error
/// As [`Germination::after_days`].
/// # Source
/// Dead corns: do not malt; sleepers: hold and test again (Montana State University).
pub fn verdict(counts: &Germination, store_c: f64, keeping: &Keeping) -> Verdict {
    let grows = counts.energy_4ml_pct;
    let least = keeping.least_energy_pct;
    if let Some(alive) = counts.capacity_pct.filter(|alive| *alive < keeping.least_capacity_pct) {
        let wanted = keeping.least_capacity_pct;
        let why = format!("only {alive:.0} % of its corns live; {wanted:.0} % are wanted");
        return Verdict::Never { why };
    }
    if grows < least && counts.capacity_pct.is_none() {
        let why = format!("{grows:.0} % grow, and nobody has counted how many live: count them");
        return Verdict::NotYet { why, retest_d: 0.0 };
    }
    let sensitive = counts.sensitivity_pct();
    let mut whys = Vec::new();
    if grows < least {
        let asleep = counts.dormancy_pct().unwrap_or(0.0);
        whys.push(format!("{grows:.0} % grow and {asleep:.0} % sleep; {least:.0} % are wanted"));
    }
    if sensitive > keeping.most_sensitivity_pct {
        let most = keeping.most_sensitivity_pct;
        whys.push(format!("it lacks {sensitive:.0} points in 8 ml; the house takes {most:.0}"));
    }
    if whys.is_empty() {
        return Verdict::MayMalt;
    }
    let why = whys.join(", and ");
    match counts.retest_days(store_c, keeping) {
        Some(days) if days <= keeping.keeps_d => Verdict::NotYet { why, retest_d: days.ceil() },
        Some(days) => Verdict::Never {
            why: format!(
                "{why}; at {store_c:.0} °C that takes {days:.0} days, and it keeps {:.0}: \
                 store it warmer",
                keeping.keeps_d
            ),
        },
        None => Verdict::Never { why: format!("{why}; no time in store brings that about") },
    }
}
