//! Reducing: new spirit is brought down with water to the strength it is filled at.
//!
//! What the distiller does. The spirit in the vat is gauged, and so much water is weighed in that
//! the alcohol it holds makes the strength that is wanted. The water is reckoned by mass, for
//! litres of spirit and water do not add: the mixture shrinks. It also warms by some degrees, so
//! the vat is mixed, left to stand, and gauged again before casks are filled.
//!
//! # Equations
//! `m_w = m (p1/p2 - 1)`; litres from the density of OIML R 22. Temperature from the heats:
//! spirit and water as they come, with their heats of mixing, equal the mixture as it stands;
//! nothing is lost to the vat.
//!
//! # Units and range
//! L, % vol at 20 °C, °C, kg, kJ. Liquids from 0 to 35 °C; the mixture may not pass 40 °C.
//!
//! # Error
//! Water: that of the density formula, 5e-5. Temperature: the heat of mixing is known to some
//! 20 J/mol at 25 °C, half a kelvin, and carried on below that.
//!
//! # Source
//! OIML R 22, 1975; the heats at their place in [`still`](crate::still).

#[cfg(test)]
mod tests;

use gauge::fault::Side;
use gauge::mixing::{self, Amount, Lot, Wanted};
use gauge::{BulkVolume, Celsius, Fault, Grade, Node, Reader, Record, Strength, VolumeAt20};

use crate::still::heat::{Liquids, ZERO_C_K, of_mixing};
use crate::still::{Moles, Spirit};
use crate::{Balance, Curves, Matter, Report, Stage};

gauge::record! {
    /// The spirit in the vat: litres at 20 °C, or litres as they lie.
    pub struct Charge {
        /// Litres at 20 °C.
        pub volume_20_l: Option<f64> = Field::new("L at 20 °C").label("volume at 20 °C")
            .within(0.01, 1e7).extensive(),
        /// Litres at the spirit's temperature; instead of those at 20 °C.
        pub bulk_l: Option<f64> = Field::new("L").label("volume as it lies")
            .within(0.01, 1e7).extensive(),
        /// Temperature of the spirit.
        pub temperature_c: f64 = Field::new("°C").label("temperature of the spirit")
            .within(0.0, 35.0).or(20.0),
        /// Strength of the spirit.
        pub strength_pct: f64 = Field::new("% vol").label("strength of the spirit")
            .within(0.5, 100.0),
    }
}

gauge::record! {
    /// The vat.
    pub struct Vessel {
        /// What it holds.
        pub vat_l: Option<f64> = Field::new("L").label("vat").within(0.01, 1e7).extensive(),
    }
}

gauge::record! {
    /// What is wanted, and the water.
    pub struct Programme {
        /// Strength to come to.
        pub target_pct: f64 = Field::new("% vol").label("strength wanted").within(0.1, 100.0)
            .or(63.5).from(Grade::Memory, "customary filling strength of malt spirit"),
        /// Temperature of the water.
        pub water_temperature_c: f64 = Field::new("°C").label("temperature of the water")
            .within(0.0, 35.0).or(20.0),
    }
}

gauge::record! {
    /// Free constants.
    pub struct Constants {
        /// Factor on the heat of mixing; less than 1 where the vat takes a part.
        pub mixing_heat: f64 = Field::new("").label("heat of mixing, factor").within(0.0, 1.5)
            .or(1.0).from(Grade::Computed, "least squares to measured heats of mixing")
            .fitted(0.05),
    }
}

/// What a reduction takes and gives.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// The reckoning of the gauge: water, litres, contraction.
    pub reduction: mixing::Reduction,
    /// Temperature of the mixture before it cools, °C.
    pub mixed_c: f64,
    /// Litres of the mixture at that temperature.
    pub mixed_l: f64,
    /// Water, pure alcohol, energy.
    pub balance: Balance,
}

/// Heat of a liquid, kJ above its pure parts at 0 °C.
fn heat_kj(moles: Moles, at_c: f64, factor: f64) -> f64 {
    let (x, t_k) = (moles.fraction(), at_c + ZERO_C_K);
    1e-3 * moles.total_mol() * (Liquids::at(t_k).mixed(x) + factor * of_mixing(x, t_k))
}

/// Brings a spirit down to a strength.
///
/// # Units
/// L, % vol at 20 °C, °C; results kg, L, °C.
/// # Range
/// See the page above; a target above the spirit's strength or a vat too small is
/// `Fault::Beyond`.
/// # Error
/// See the page above.
/// # Source
/// As on the page above.
pub fn run(
    charge: &Charge,
    vessel: &Vessel,
    programme: &Programme,
    constants: &Constants,
) -> Result<Run, Fault> {
    crate::sound::sound("charge", charge)?;
    crate::sound::sound("vat", vessel)?;
    crate::sound::sound("programme", programme)?;
    crate::sound::sound("constants", constants)?;
    let strength = Strength::from_percent(charge.strength_pct)?;
    let amount = amount_of(charge)?;
    let spirit = Lot { amount, strength };
    let target = Strength::from_percent(programme.target_pct)?;
    let water_at = Celsius::from_degrees(programme.water_temperature_c)?;
    let wanted = Wanted { target, water_at, final_at: Celsius::TWENTY };
    let found = mixing::reduce(&spirit, wanted).map_err(|fault| fault.within("programme"))?;

    let moles = |volume_20_l, strength_pct| Moles::of_spirit(Spirit { volume_20_l, strength_pct });
    let before = moles(spirit.volume_20().litres(), charge.strength_pct);
    let water = moles(found.water_20_l, 0.0);
    let after = moles(found.final_20.litres(), programme.target_pct);
    let factor = constants.mixing_heat;
    let in_spirit = heat_kj(before, charge.temperature_c, factor);
    let in_water = heat_kj(water, programme.water_temperature_c, factor);
    let (in_water, in_spirit) = (if found.water_kg > 0.0 { in_water } else { 0.0 }, in_spirit);
    let bracket = numeric::roots::Bracket { low: -20.0, high: 80.0, tolerance: 1e-10 };
    let mixed_c = numeric::roots::brent(bracket, |t| {
        (heat_kj(after, t, factor) - in_spirit - in_water) / after.total_mol()
    });
    let mixed_c = mixed_c.map_err(|_| Fault::NotConverged {
        what: "temperature of the mixture",
        steps: 200,
        residual: f64::NAN,
    })?;
    let mixed_l = litres_at(found.spirit_kg + found.water_kg, target, mixed_c)?;
    fits(vessel, mixed_l)?;

    let mut balance = Balance::new();
    balance
        .input(Matter::Water, "spirit", before.water_kg())
        .input(Matter::Water, "reducing water", found.water_kg)
        .output(Matter::Water, "reduced spirit", after.water_kg())
        .input(Matter::PureAlcohol, "spirit", before.pure_alcohol_l())
        .output(Matter::PureAlcohol, "reduced spirit", after.pure_alcohol_l())
        .input(Matter::Energy, "spirit", in_spirit)
        .input(Matter::Energy, "reducing water", in_water)
        .output(Matter::Energy, "reduced spirit", heat_kj(after, mixed_c, factor));
    Ok(Run { reduction: found, mixed_c, mixed_l, balance })
}

fn amount_of(charge: &Charge) -> Result<Amount, Fault> {
    match (charge.volume_20_l, charge.bulk_l) {
        (Some(litres), None) => Ok(Amount::At20(VolumeAt20::from_litres(litres)?)),
        (None, Some(litres)) => {
            let at = Celsius::from_degrees(charge.temperature_c)?;
            Ok(Amount::Bulk(BulkVolume::new(litres, at)?))
        }
        (a, b) => Err(Fault::OneOf {
            field: "charge".into(),
            keys: vec!["volume_20_l", "bulk_l"],
            given: usize::from(a.is_some()) + usize::from(b.is_some()),
        }),
    }
}

fn litres_at(mass_kg: f64, strength: Strength, at_c: f64) -> Result<f64, Fault> {
    let mixture = strength.mass_fraction();
    let density = gauge::alcoholometry::density(mixture, Celsius::from_degrees(at_c)?)?;
    Ok(1e3 * mass_kg / density.kg_m3())
}

fn fits(vessel: &Vessel, litres: f64) -> Result<(), Fault> {
    match vessel.vat_l {
        Some(vat_l) if litres > vat_l => Err(Fault::Beyond {
            field: "vat.vat_l".into(),
            value: vat_l,
            unit: "L",
            side: Side::AtLeast,
            limit: litres,
            sets: "the reduced spirit before it cools".into(),
        }),
        _ => Ok(()),
    }
}

/// The stage.
#[derive(Debug, Clone, Copy)]
pub struct Reduce;

/// A case: the four parts together.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// The spirit.
    pub charge: Charge,
    /// The vat.
    pub vessel: Vessel,
    /// What is wanted.
    pub programme: Programme,
    /// Free constants.
    pub constants: Constants,
}

impl Stage for Reduce {
    const KEY: &'static str = "reduce";
    const TITLE: &'static str = "Reducing";
    const DOES: &'static str =
        "Brings spirit down with water and gives the water, the litres and how warm it gets.";
    const EXAMPLE: &'static str = EXAMPLE;
    type Case = Case;

    fn read(reader: &mut Reader<'_>) -> Case {
        Case {
            charge: reader.section("charge", Charge::read),
            vessel: reader.section("vat", Vessel::read),
            programme: reader.section("programme", Programme::read),
            constants: reader.section("constants", Constants::read),
        }
    }

    fn report(case: &Case) -> Result<Report, Vec<Fault>> {
        let run = run(&case.charge, &case.vessel, &case.programme, &case.constants);
        let run = run.map_err(|fault| vec![fault])?;
        let found = &run.reduction;
        let result = Node::part([
            ("water_kg", Node::from(found.water_kg)),
            ("water_20_l", found.water_20_l.into()),
            ("water_l", found.water_l.into()),
            ("final_20_l", found.final_20.litres().into()),
            ("strength_pct", case.programme.target_pct.into()),
            ("pure_alcohol_l", found.pure_alcohol.litres().into()),
            ("contraction_l", found.contraction_l.into()),
            ("mixed_c", run.mixed_c.into()),
            ("mixed_l", run.mixed_l.into()),
        ]);
        let curves = Curves::default();
        Ok(Report { result, curves, balance: run.balance, warnings: Vec::new() })
    }
}

const EXAMPLE: &str = r"# New spirit brought down to filling strength with cold water.
[charge]
bulk_l = 2000.0
temperature_c = 17.0
strength_pct = 68.2

[vat]
vat_l = 6000.0

[programme]
target_pct = 63.5
water_temperature_c = 9.0
";
