//! What a wash carries beside alcohol and water: smoke from the malt's figure down the chain, the
//! rest from levels that are usual in malt wash.
//!
//! A gram of phenols on the malt comes to the stills as so much of it as mash and ferment leave;
//! what the stills make of it is their own model's business. Nothing here is measured in the
//! house: the smoke hangs on the malt's analysis and on handbook ranges from memory, the rest is
//! memory of the trade altogether. So they are shapes against the run until analyses of the
//! house's own have fitted them ([`super::fitted`]).
//!
//! # Source
//! Composition of peat smoke, half phenol, two fifths cresols, a tenth guaiacol: a technical
//! manager quoted in the trade magazine article "Phenolic fancies". Esters of a mature single malt:
//! H.-D. Belitz, W. Grosch and P. Schieberle, Food Chemistry, table 20.28. All else from memory.

use gauge::{Grade, record};
use house::{House, Make};
use process::bin::{Analysis, AnalysisConstants, Making, analysis};
use process::still::{CONGENERS, Congener, Group};

const SPLIT: &str = "worked back from 34, 17 and 8 parts of o-, p- and m-cresol in a mature malt \
    (Belitz, Grosch & Schieberle) by what the stills' model keeps of each; from memory otherwise";
const QUOTED: &str = "half phenol, two fifths cresols, a tenth guaiacol: quoted in a trade article";

record! {
    /// What becomes of the malt's phenols before the stills.
    pub struct Smoke {
        /// Share of the malt's phenols that the worts carry; the rest goes with the draff.
        pub worts_share: f64 = Field::new("").label("phenols of the malt in the worts")
            .within(0.3, 1.0).or(0.675).from(Grade::Memory, "0.60 to 0.75").fitted(0.043),
        /// Share of that which is still there after the ferment.
        pub ferment_share: f64 = Field::new("").label("phenols that outlast the ferment")
            .within(0.5, 1.0).or(0.95).from(Grade::Memory, "0.9 to 1.0").fitted(0.029),
        /// Share of the sum that is phenol itself.
        pub phenol_share: f64 = Field::new("").label("phenol of all phenols").within(0.0, 1.0)
            .or(0.50).from(Grade::Memory, QUOTED),
        /// Share of the sum that is cresols.
        pub cresol_share: f64 = Field::new("").label("cresols of all phenols").within(0.0, 1.0)
            .or(0.40).from(Grade::Memory, QUOTED),
        /// Share of the sum that is guaiacol.
        pub guaiacol_share: f64 = Field::new("").label("guaiacol of all phenols").within(0.0, 1.0)
            .or(0.10).from(Grade::Memory, QUOTED),
        /// Share of the cresols that is o-cresol.
        pub o_cresol_share: f64 = Field::new("").label("o-cresol of the cresols")
            .within(0.0, 1.0).or(0.30).from(Grade::Memory, SPLIT),
        /// Share of the cresols that is m-cresol.
        pub m_cresol_share: f64 = Field::new("").label("m-cresol of the cresols")
            .within(0.0, 1.0).or(0.19).from(Grade::Memory, SPLIT),
        /// Share of the cresols that is p-cresol.
        pub p_cresol_share: f64 = Field::new("").label("p-cresol of the cresols")
            .within(0.0, 1.0).or(0.51).from(Grade::Memory, SPLIT),
        /// Moisture of the malt as it is mashed.
        pub malt_moisture_wet: f64 = Field::new("").label("moisture of the malt")
            .within(0.01, 0.12).or(0.045).from(Grade::Memory, "cured to 4 to 5 %"),
        /// Alcohol of the wash over what the malt's analysis predicts.
        pub wash_yield: f64 = Field::new("").label("alcohol in the wash over predicted")
            .within(0.7, 1.05).or(0.985).from(Grade::Memory, "97 to 98 % as spirit").fitted(0.01),
    }
}

record! {
    /// Factors on what the wash carries of each group, 1 until fitted. The standard uncertainties
    /// are of the logarithm: they are what the levels from memory are worth.
    pub struct Levels {
        /// Acetaldehyde, ethyl acetate, acetal, methanol.
        pub solvent_level: f64 = Field::new("").label("level of what comes first, factor")
            .within(0.05, 20.0).or(1.0).from(Grade::Memory, "two- to sixfold ranges").fitted(0.4),
        /// Esters.
        pub fruit_level: f64 = Field::new("").label("level of the fruit, factor")
            .within(0.05, 20.0).or(1.0).from(Grade::Memory, "fourfold ranges").fitted(0.5),
        /// Higher alcohols.
        pub oil_level: f64 = Field::new("").label("level of the oils, factor")
            .within(0.05, 20.0).or(1.0).from(Grade::Memory, "twofold ranges").fitted(0.25),
        /// Furfural, acetic acid, 2-phenylethanol.
        pub late_level: f64 = Field::new("").label("level of what comes late, factor")
            .within(0.05, 20.0).or(1.0).from(Grade::Memory, "three- to fourfold ranges")
            .fitted(0.45),
        /// Phenols, beside what malt, mash and ferment leave open.
        pub smoke_level: f64 = Field::new("").label("level of the smoke, factor")
            .within(0.05, 20.0).or(1.0)
            .from(Grade::Memory, "methods for phenols on malt differ by up to a factor of 1.5 to 2")
            .fitted(0.2),
    }
}

/// The groups, in the order in which they come over.
pub const GROUPS: [Group; 5] =
    [Group::Solvent, Group::Fruit, Group::Oil, Group::Late, Group::Smoke];

/// Place of a group in [`GROUPS`].
pub(crate) fn place(group: Group) -> usize {
    GROUPS.iter().position(|g| *g == group).unwrap_or(0)
}

/// What a level rests on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Typical {
    /// Spelling of the congener.
    pub key: &'static str,
    /// Grams in a hectolitre of the wash's pure alcohol.
    pub g_hl: f64,
    /// How far to trust it.
    pub grade: Grade,
    /// Where it is from.
    pub source: &'static str,
}

const WASH: &str = "middle, on a log scale, of what is usual in wash, mg/L at 8 % vol: ";

const fn memory(key: &'static str, g_hl: f64, source: &'static str) -> Typical {
    Typical { key, g_hl, grade: Grade::Memory, source }
}

/// What a malt wash usually carries of all but the phenols. At 8 % vol 1 mg/L is 1.25 g/hL of
/// pure alcohol.
pub const TYPICAL: [Typical; 15] = [
    memory("acetaldehyde", 15.3, "5 to 30 mg/L"),
    memory("ethyl_acetate", 28.6, "15 to 35 mg/L"),
    memory("methanol", 6.0, "new make 4 to 9 g/hL"),
    memory("1_propanol", 35.4, "20 to 40 mg/L"),
    memory("2_methyl_1_propanol", 57.3, "30 to 70 mg/L"),
    memory("3_methyl_1_butanol", 109.0, "methylbutanols 80 to 170 mg/L, three of four parts"),
    memory("2_methyl_1_butanol", 37.0, "methylbutanols 80 to 170 mg/L, one of four parts"),
    Typical {
        key: "isoamyl_acetate",
        g_hl: 1.0,
        grade: Grade::Published,
        source: "4.02 mg/L at 40 % vol in a mature malt, taken for the wash",
    },
    Typical {
        key: "ethyl_hexanoate",
        g_hl: 0.52,
        grade: Grade::Published,
        source: "2.07 mg/L at 40 % vol in a mature malt, taken for the wash",
    },
    memory("ethyl_octanoate", 1.25, "0.5 to 2 mg/L, more with the yeast"),
    Typical {
        key: "ethyl_decanoate",
        g_hl: 2.0,
        grade: Grade::Design,
        source: "no figure found; more than the octanoate",
    },
    Typical {
        key: "acetal",
        g_hl: 1.0,
        grade: Grade::Design,
        source: "little before the cask; 5.5 in a mature malt",
    },
    memory("furfural", 2.0, "new make 1 to 4 g/hL; it forms in the still and is laid to the wash"),
    memory("acetic_acid", 250.0, "100 to 400 mg/L"),
    memory("2_phenylethanol", 34.2, "15 to 50 mg/L"),
];

/// What the typical levels of the wash are, in words.
pub fn typical_source(key: &str) -> Option<String> {
    let typical = TYPICAL.iter().find(|t| t.key == key)?;
    let of_wash = typical.source.contains("mg/L") && typical.grade == Grade::Memory;
    Some(if of_wash { format!("{WASH}{}", typical.source) } else { typical.source.to_owned() })
}

/// Gives what the wash of a make carries: every congener and its grams in a litre of the wash's
/// pure alcohol, phenols by the malt the make aims at.
///
/// # Units
/// g/L of pure alcohol.
/// # Range
/// Any make.
/// # Error
/// That of [`Smoke`] and [`Levels`]: a fifth for the sum of phenols, twofold for some esters.
/// # Source
/// As on the page above.
pub fn in_wash(house: &House, make: &Make) -> Vec<(&'static Congener, f64)> {
    let pure_l_t = wash_pure_l_t(house, make, &Smoke::default());
    in_wash_of(make.aim.phenols_mg_kg_dry, pure_l_t, &Smoke::default())
}

/// The same for malt of so many mg/kg on its dry matter, giving so many litres of pure alcohol in
/// the wash of a tonne of it.
pub fn in_wash_of(
    phenols_mg_kg_dry: f64,
    wash_pure_l_t: f64,
    smoke: &Smoke,
) -> Vec<(&'static Congener, f64)> {
    let dry = 1.0 - smoke.malt_moisture_wet;
    // mg/kg is g/t.
    let phenols = phenols_mg_kg_dry * dry * smoke.worts_share * smoke.ferment_share / wash_pure_l_t;
    let share = |key: &str| match key {
        "phenol" => smoke.phenol_share,
        "o_cresol" => smoke.cresol_share * smoke.o_cresol_share,
        "m_cresol" => smoke.cresol_share * smoke.m_cresol_share,
        "p_cresol" => smoke.cresol_share * smoke.p_cresol_share,
        "guaiacol" => smoke.guaiacol_share,
        _ => 0.0,
    };
    let grams = |congener: &'static Congener| {
        let typical = TYPICAL.iter().find(|t| t.key == congener.key);
        typical.map_or(phenols * share(congener.key), |t| 0.01 * t.g_hl)
    };
    CONGENERS.iter().map(|congener| (congener, grams(congener))).collect()
}

/// Gives the litres of pure alcohol in the wash of a tonne of a make's malt as it is.
///
/// # Units
/// L/t.
/// # Range
/// Any make; an unknown barley counts as modern of 1.5 % nitrogen.
/// # Error
/// 2 %: the malt's analysis is foretold from the barley's nitrogen.
/// # Source
/// As [`process::bin::analysis`].
pub fn wash_pure_l_t(house: &House, make: &Make, smoke: &Smoke) -> f64 {
    let barley = make.barleys.first().and_then(|key| house.barley(key));
    let usual = AnalysisConstants::default();
    let constants = match barley.map(|b| b.kind) {
        Some("landrace") => AnalysisConstants { extract_most_pct_dry: 77.5, ..usual },
        _ => usual,
    };
    let nitrogen_pct_dry = barley.map_or(1.5, |b| b.analysis.nitrogen_pct_dry);
    let making = Making { nitrogen_pct_dry, ..Making::default() };
    let malt: Analysis = analysis::expected(&making, &constants);
    smoke.wash_yield * malt.predicted_spirit_yield_l_t(smoke.malt_moisture_wet, &constants)
}

/// Relative standard uncertainty of what the wash carries of each group, in the order of
/// [`GROUPS`], before anything is fitted.
pub fn level_sds(smoke: &Smoke) -> [f64; 5] {
    use gauge::Record;
    let sd = |record: &[gauge::Field], key: &str| {
        record.iter().find(|f| f.key == key).map_or(0.0, |f| f.sd)
    };
    let of = |key| sd(Levels::FIELDS, key);
    let chain = [
        sd(Smoke::FIELDS, "worts_share") / smoke.worts_share,
        sd(Smoke::FIELDS, "ferment_share") / smoke.ferment_share,
        sd(Smoke::FIELDS, "wash_yield") / smoke.wash_yield,
        of("smoke_level"),
    ];
    let smoke_sd = chain.iter().map(|sd| sd * sd).sum::<f64>().sqrt();
    [of("solvent_level"), of("fruit_level"), of("oil_level"), of("late_level"), smoke_sd]
}

/// A malt's phenols, what is kept of them, and what they come to in spirit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Retention {
    /// Phenols on the malt as it is, mg/kg.
    pub malt_mg_kg: f64,
    /// Share of them that the spirit keeps.
    pub kept: f64,
    /// Litres of pure alcohol of spirit from a tonne of that malt.
    pub pure_alcohol_l_t: f64,
    /// Strength of the spirit, % vol.
    pub strength_pct: f64,
}

impl Retention {
    /// Gives the phenols of the spirit, mg/L.
    ///
    /// # Units
    /// mg/kg is g/t; over litres a tonne of spirit, mg/L.
    /// # Range
    /// A yield and a strength above nought.
    /// # Error
    /// That of the share kept: 0.20 to 0.45 about 0.30 from memory.
    /// # Source
    /// A balance.
    /// # Example
    /// ```
    /// use forecast::stillhouse::congeners::Retention;
    /// let (malt_mg_kg, kept, strength_pct) = (40.0, 0.30, 68.0);
    /// let malt = Retention { malt_mg_kg, kept, pure_alcohol_l_t: 400.0, strength_pct };
    /// assert!((malt.in_spirit_mg_l() - 20.4).abs() < 0.1);
    /// ```
    pub fn in_spirit_mg_l(&self) -> f64 {
        let spirit_l_t = self.pure_alcohol_l_t / (0.01 * self.strength_pct);
        1000.0 * self.malt_mg_kg * self.kept / spirit_l_t
    }
}

#[cfg(test)]
mod tests;
