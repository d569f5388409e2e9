//! Milling: malt to grist.
//!
//! The rollers crack the corn and strip the husk; the plates of the tun need the husk whole for a
//! floor that drains, and the enzymes need the rest broken small. Set too wide, starch stays in
//! coarse pieces and goes out with the draff; set too close, flour closes the bed and the worts
//! will not run. The hand shakes a sample through the box of two sieves, weighs husk, grits and
//! flour, and moves the rollers until they stand near 20, 70 and 10. What the sieves say decides
//! how much of the laboratory's extract this grist will give. Dust drawn off is lost, and is kept
//! from flame.
//!
//! # Equations
//! ```text
//! left in coarse pieces  L = 0.010 + 0.10 max(0, x_h - 0.20) + 0.04 max(0, 0.08 - x_f)
//! recovery               1 - L
//! mean size (Sauter)     1/d = x_h/1.5 mm + x_g/0.7 mm + x_f/0.10 mm
//! from the roller gap    x_h = 0.20 exp(a (g - g0)),  x_f = 0.10 exp(-b (g - g0))
//! warming                c m dT = share of the rollers' work
//! ```
//! # Units
//! kg, mm, °C, kWh a tonne of malt as it is.
//! # Range
//! Husk 5 to 60 %, flour up to 50 %; gap 0.3 to 1.5 mm.
//! # Error
//! The split is what the box weighs; by the gap alone it is a shape to be fitted, and says so. The
//! loss is from memory of the trade: good to half of itself.
//! # Source
//! J. C. Stubits, J. Teng, J. Pereira, J. Am. Soc. Brew. Chem. 44 (1986) 12, abstract: husk and
//! dust both slow the run-off, coarse husk holds starch. A split of 21/74/5 is printed with a
//! five-roll mill. Bulk of 1.07 hL in 100 kg of dry grist: a supplier's printed reckonings.

#[cfg(test)]
mod tests;

use crate::sound::sound;
use crate::{Balance, Curves, Matter, Report, Stage};
use gauge::fault::Side;
use gauge::{Fault, Grade, Node, Reader, Record, Warning};

const MEMORY: &str = "from memory of the trade";
const SHAPE: &str = "a shape that wants fitting to the house's own box";

gauge::record! {
    /// Malt from the bin.
    pub struct Charge {
        /// Dry matter.
        pub dry_kg: f64 = Field::new("kg").label("Malt, dry").within(0.1, 1e6).extensive(),
        /// Moisture on a wet basis.
        pub moisture_wet: f64 = Field::new("").label("Moisture").within(0.0, 0.12).or(0.045),
        /// Temperature.
        pub malt_c: f64 = Field::new("°C").label("Malt").within(-10.0, 60.0).or(12.0),
    }
}

gauge::record! {
    /// The mill.
    pub struct Vessel {
        /// Malt it grinds in an hour, as it is.
        pub rate_kg_h: f64 = Field::new("kg/h").label("Grinds").within(1.0, 1e5).or(1250.0)
            .from(Grade::House, "two pairs of rollers, 2.5 t in 2 h").extensive(),
        /// Work of the rollers.
        pub work_kwh_t: f64 = Field::new("kWh/t").label("Work").within(0.0, 30.0).or(3.0)
            .from(Grade::Memory, MEMORY),
    }
}

gauge::record! {
    /// What the hand sets or weighs: the gap of the last rollers, or the sieve box.
    pub struct Programme {
        /// Gap of the last pair of rollers.
        pub gap_mm: Option<f64> = Field::new("mm").label("Gap").within(0.3, 1.5),
        /// Husk by the box, share of the sample.
        pub husk_fraction: Option<f64> = Field::new("").label("Husk").within(0.05, 0.60).sd(0.01),
        /// Flour by the box.
        pub flour_fraction: Option<f64> = Field::new("").label("Flour").within(0.0, 0.50).sd(0.01),
    }
}

gauge::record! {
    /// The free constants.
    pub struct Constants {
        /// Starch that any grist keeps back.
        pub least_loss: f64 = Field::new("").within(0.0, 0.1).or(0.010)
            .from(Grade::Memory, MEMORY).fitted(0.005),
        /// What each part of husk above a fifth adds.
        pub husk_costs: f64 = Field::new("").within(0.0, 1.0).or(0.10)
            .from(Grade::Memory, MEMORY).fitted(0.05),
        /// What each part of flour below 8 % adds.
        pub coarse_costs: f64 = Field::new("").within(0.0, 1.0).or(0.04)
            .from(Grade::Memory, MEMORY),
        /// Dust drawn off.
        pub dust_fraction: f64 = Field::new("").within(0.0, 0.02).or(0.002)
            .from(Grade::Memory, MEMORY).fitted(0.001),
        /// Gap that gives 20 % husk and 10 % flour.
        pub gap_reference_mm: f64 = Field::new("mm").within(0.3, 1.5).or(0.70)
            .from(Grade::Design, SHAPE).fitted(0.1),
        /// How the husk grows with the gap.
        pub husk_per_mm: f64 = Field::new("1/mm").within(0.0, 10.0).or(2.0)
            .from(Grade::Design, SHAPE),
        /// How the flour falls with it.
        pub flour_per_mm: f64 = Field::new("1/mm").within(0.0, 10.0).or(2.5)
            .from(Grade::Design, SHAPE),
        /// Size of husk.
        pub husk_mm: f64 = Field::new("mm").within(0.5, 5.0).or(1.5).from(Grade::Memory, MEMORY),
        /// Size of grits.
        pub grits_mm: f64 = Field::new("mm").within(0.2, 2.0).or(0.7).from(Grade::Memory, MEMORY),
        /// Size of flour: the one that counts most.
        pub flour_mm: f64 = Field::new("mm").within(0.01, 0.5).or(0.10)
            .from(Grade::Memory, MEMORY),
        /// Litres that a kilogram of dry grist fills.
        pub bulk_l_kg: f64 = Field::new("L/kg").within(0.5, 3.0).or(1.07)
            .from(Grade::Published, "1.07 hL in 100 kg, a supplier's printed reckonings"),
        /// Share of the work that warms the grist; the rest warms the mill and its air.
        pub work_to_grist: f64 = Field::new("").within(0.0, 1.0).or(0.7)
            .from(Grade::Memory, MEMORY),
    }
}

/// Shares of the grist by mass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Split {
    /// Held on the coarse sieve.
    pub husk: f64,
    /// Between the two.
    pub grits: f64,
    /// Through the fine one.
    pub flour: f64,
}

impl Split {
    /// Mean size by surface.
    pub fn mean_mm(&self, constants: &Constants) -> f64 {
        let surface = self.husk / constants.husk_mm
            + self.grits / constants.grits_mm
            + self.flour / constants.flour_mm;
        1.0 / surface
    }
    /// Share of the laboratory's extract that it will give.
    pub fn recovery(&self, constants: &Constants) -> f64 {
        let husk = (self.husk - 0.20).max(0.0);
        let coarse = (0.08 - self.flour).max(0.0);
        1.0 - constants.least_loss - constants.husk_costs * husk - constants.coarse_costs * coarse
    }
}

/// What comes out.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// The split, weighed or by the gap.
    pub split: Split,
    /// Share of the laboratory's extract that the mash can have.
    pub extract_recovery: f64,
    /// Grist, dry.
    pub dry_kg: f64,
    /// Its moisture: that of the malt.
    pub moisture_wet: f64,
    /// Its temperature.
    pub grist_c: f64,
    /// Dust drawn off, dry.
    pub dust_dry_kg: f64,
    /// Hours at the mill.
    pub grind_h: f64,
    /// The split over the roller gap, where the gap was given.
    pub curves: Curves,
    /// Dry matter, water and heat.
    pub balance: Balance,
    /// What to know.
    pub warnings: Vec<Warning>,
}

fn by_gap(gap_mm: f64, k: &Constants) -> Split {
    let wider = gap_mm - k.gap_reference_mm;
    let husk = (0.20 * (k.husk_per_mm * wider).exp()).min(0.6);
    let flour = (0.10 * (-k.flour_per_mm * wider).exp()).min(0.39);
    Split { husk, grits: 1.0 - husk - flour, flour }
}

fn split(programme: &Programme, constants: &Constants) -> Result<Split, Fault> {
    match (programme.gap_mm, programme.husk_fraction, programme.flour_fraction) {
        (Some(gap_mm), None, None) => Ok(by_gap(gap_mm, constants)),
        (None, Some(husk), Some(flour)) if husk + flour <= 1.0 => {
            Ok(Split { husk, grits: 1.0 - husk - flour, flour })
        }
        (None, Some(husk), Some(flour)) => Err(Fault::Beyond {
            field: "rollers.flour_fraction".into(),
            value: flour,
            unit: "",
            side: Side::AtMost,
            limit: 1.0 - husk,
            sets: "what the husk leaves of the sample".into(),
        }),
        (gap, husk, flour) => Err(Fault::OneOf {
            field: "rollers".into(),
            keys: vec!["gap_mm", "husk_fraction with flour_fraction"],
            given: usize::from(gap.is_some()) + usize::from(husk.is_some() || flour.is_some()),
        }),
    }
}

/// Grinds the malt.
pub fn run(
    charge: &Charge,
    vessel: &Vessel,
    programme: &Programme,
    constants: &Constants,
) -> Result<Run, Fault> {
    sound("malt", charge)?;
    sound("mill", vessel)?;
    sound("rollers", programme)?;
    sound("constants", constants)?;
    let split = split(programme, constants)?;
    let malt_kg = charge.dry_kg / (1.0 - charge.moisture_wet);
    let dust_dry_kg = constants.dust_fraction * charge.dry_kg;
    let dry_kg = (1.0 - constants.dust_fraction) * charge.dry_kg;
    let work_kj = vessel.work_kwh_t * 3600.0 * malt_kg / 1000.0;
    let kj_kg_k = crate::mash::Constants::default().malt_kj_kg_k(charge.moisture_wet);
    let grist_c = charge.malt_c + constants.work_to_grist * work_kj / (kj_kg_k * malt_kg);
    let wet = charge.moisture_wet / (1.0 - charge.moisture_wet);

    let mut balance = Balance::new();
    balance.input(Matter::DryMatter, "malt", charge.dry_kg);
    balance.output(Matter::DryMatter, "grist", dry_kg);
    balance.lost(Matter::DryMatter, "dust", dust_dry_kg);
    balance.input(Matter::Water, "malt", wet * charge.dry_kg);
    balance.output(Matter::Water, "grist", wet * dry_kg);
    balance.lost(Matter::Water, "dust", wet * dust_dry_kg);
    let warm = |dry_kg: f64| kj_kg_k * dry_kg / (1.0 - charge.moisture_wet);
    balance.input(Matter::Energy, "malt", warm(charge.dry_kg) * charge.malt_c);
    balance.input(Matter::Energy, "rollers", work_kj);
    balance.output(Matter::Energy, "grist", warm(dry_kg) * grist_c);
    balance.lost(Matter::Energy, "dust", warm(dust_dry_kg) * grist_c);
    balance.lost(Matter::Energy, "mill", (1.0 - constants.work_to_grist) * work_kj);

    Ok(Run {
        extract_recovery: split.recovery(constants),
        dry_kg,
        moisture_wet: charge.moisture_wet,
        grist_c,
        dust_dry_kg,
        grind_h: malt_kg / vessel.rate_kg_h,
        curves: over_the_gap(constants),
        balance,
        warnings: warnings(&split),
        split,
    })
}

fn over_the_gap(constants: &Constants) -> Curves {
    let mut curves = Curves::new([
        ("gap_mm", "mm"),
        ("husk_fraction", ""),
        ("grits_fraction", ""),
        ("flour_fraction", ""),
        ("extract_recovery", ""),
        ("mean_mm", "mm"),
    ]);
    for step in 0..=24 {
        let gap_mm = 0.3 + 0.05 * f64::from(step);
        let s = by_gap(gap_mm, constants);
        let recovery = s.recovery(constants);
        curves.push(&[gap_mm, s.husk, s.grits, s.flour, recovery, s.mean_mm(constants)]);
    }
    curves
}

fn warnings(split: &Split) -> Vec<Warning> {
    let mut warnings = Vec::new();
    if split.flour > 0.15 {
        let says = "More than 15 % of flour: the worts will run off slowly.".to_owned();
        warnings.push(Warning { code: "flour", says });
    }
    if split.husk > 0.27 {
        let says = "More than 27 % of husk: starch stays in coarse pieces.".to_owned();
        warnings.push(Warning { code: "husk", says });
    }
    warnings
}

/// The stage by case file.
#[derive(Debug, Clone, Copy)]
pub struct Mill;

/// A whole case.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// What goes in.
    pub charge: Charge,
    /// The mill.
    pub vessel: Vessel,
    /// The rollers or the box.
    pub programme: Programme,
    /// The free constants.
    pub constants: Constants,
}

impl Stage for Mill {
    const KEY: &'static str = "mill";
    const TITLE: &'static str = "Mill";
    const DOES: &'static str =
        "Grinds malt: husk, grits and flour, and how much extract that grist will give.";
    const EXAMPLE: &'static str = "\
# Malt for one mash, and what the sieve box weighed.
[malt]
dry_kg = 2392.3
moisture_wet = 0.045
malt_c = 12.0
[mill]
rate_kg_h = 1250.0
work_kwh_t = 3.0
[rollers]
husk_fraction = 0.20       # with flour_fraction; or gap_mm
flour_fraction = 0.10
";
    type Case = Case;

    fn read(reader: &mut Reader<'_>) -> Case {
        Case {
            charge: reader.section("malt", Charge::read),
            vessel: reader.section("mill", Vessel::read),
            programme: reader.section("rollers", Programme::read),
            constants: reader.section("constants", Constants::read),
        }
    }

    fn report(case: &Case) -> Result<Report, Vec<Fault>> {
        let run = run(&case.charge, &case.vessel, &case.programme, &case.constants)
            .map_err(|fault| vec![fault])?;
        let k = &case.constants;
        let result = Node::part([
            ("dry_kg", Node::from(run.dry_kg)),
            ("moisture_wet", Node::from(run.moisture_wet)),
            ("mass_kg", Node::from(run.dry_kg / (1.0 - run.moisture_wet))),
            ("grist_c", Node::from(run.grist_c)),
            ("extract_recovery", Node::from(run.extract_recovery)),
            ("husk_fraction", Node::from(run.split.husk)),
            ("grits_fraction", Node::from(run.split.grits)),
            ("flour_fraction", Node::from(run.split.flour)),
            ("mean_mm", Node::from(run.split.mean_mm(k))),
            ("grist_volume_l", Node::from(run.dry_kg * k.bulk_l_kg)),
            ("dust_dry_kg", Node::from(run.dust_dry_kg)),
            ("grind_h", Node::from(run.grind_h)),
        ]);
        Ok(Report { result, curves: run.curves, balance: run.balance, warnings: run.warnings })
    }
}
