//! Proof and gallons of the United States, at 60 °F.
//!
//! Proof is twice the strength by volume at 60 °F, which is not the strength at 20 °C: 40.000 % is
//! 39.931 % at 60 °F. Going between them by doubling the number is wrong by up to 0.14 proof. A
//! proof gallon is a gallon at 60 °F of 100 proof. For a legal record of the United States its own
//! tables are to be used: they rest on a pure alcohol 8e-5 heavier.

use crate::Fault;
use crate::alcoholometry::kernel;
use crate::quantity::{BulkVolume, Celsius, MassFraction, PureLitres, Strength};

/// 60 °F in °C.
pub const SIXTY_F_C: f64 = 28.0 / 1.8;
/// Litres in a wine gallon of 231 cubic inches.
pub const GALLON_L: f64 = 3.785411784;

quantity! {
    /// Proof of the United States: twice the strength by volume at 60 °F.
    ProofUs, "proof_us", "US proof", 0.0..=200.0, from_degrees, degrees
}

impl ProofUs {
    /// Gives the proof of a mixture: 200 p ρ(p, 60 °F) / ρ(1, 60 °F).
    ///
    /// # Units
    /// kg/kg to US proof.
    /// # Range
    /// All.
    /// # Error
    /// 1e-4 relative near 200 proof, where the statutory alcohol differs from R 22's.
    /// # Source
    /// 27 CFR 19.1 for the definition; OIML R 22 (1975) for the densities.
    /// # Example
    /// ```
    /// use gauge::{Strength, us::ProofUs};
    /// let p = Strength::from_percent(40.0)?.mass_fraction();
    /// assert!((ProofUs::of(p).degrees() - 79.862).abs() < 1e-3);
    /// # Ok::<(), gauge::Fault>(())
    /// ```
    pub fn of(mixture: MassFraction) -> Self {
        let p = mixture.fraction();
        let proof =
            200.0 * p * kernel::density_kg_m3(p, SIXTY_F_C) / kernel::density_kg_m3(1.0, SIXTY_F_C);
        Self(proof.clamp(0.0, 200.0))
    }

    /// Gives the mass fraction of a mixture of this proof, by Newton's method.
    ///
    /// # Units
    /// US proof to kg/kg.
    /// # Range
    /// All.
    /// # Error
    /// Solved to 1e-13.
    /// # Source
    /// As [`of`](Self::of), turned about.
    /// # Example
    /// ```
    /// let p = gauge::us::ProofUs::from_degrees(100.0)?.mass_fraction();
    /// assert!((p.strength().percent() - 50.061).abs() < 1e-3);
    /// # Ok::<(), gauge::Fault>(())
    /// ```
    pub fn mass_fraction(self) -> MassFraction {
        let isotherm = crate::alcoholometry::isotherm::Isotherm::at(SIXTY_F_C);
        let wanted = self.0 / 200.0 * isotherm.density_kg_m3(1.0);
        let mut p = kernel::mass_fraction_of_strength(self.0 / 2.0);
        for _ in 0..20 {
            let s = isotherm.slopes(p);
            let step = (p * s.density_kg_m3 - wanted) / (s.density_kg_m3 + p * s.by_mass_fraction);
            p -= step;
            if step.abs() < 1e-14 {
                break;
            }
        }
        MassFraction(p.clamp(0.0, 1.0))
    }
}

/// How much spirit, as an American reads it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Gallons {
    /// Wine gallons at 60 °F.
    Wine(f64),
    /// Litres as they lie.
    Bulk(BulkVolume),
}

/// So much spirit in the United States' measures and ours.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Proofed {
    /// US proof.
    pub proof: ProofUs,
    /// Strength at 20 °C.
    pub strength: Strength,
    /// Wine gallons at 60 °F.
    pub wine_gallons: f64,
    /// Proof gallons.
    pub proof_gallons: f64,
    /// Litres of pure alcohol at 20 °C: 1.9018 to the proof gallon. The customary 1.8927 leaves
    /// out that alcohol shrinks from 20 °C to 60 °F and is 0.48 % low.
    pub pure_alcohol: PureLitres,
}

/// Gives proof gallons and litres of pure alcohol of so much spirit.
///
/// # Units
/// kg/kg; gallons at 60 °F or litres at their temperature.
/// # Range
/// 0 to 1e9 gallons; else `Fault::OutOfRange`.
/// # Error
/// 1e-4 relative near 200 proof, nothing to speak of below 180.
/// # Source
/// 27 CFR 19.1 and 30.64 to 30.67; OIML R 22 (1975) for the densities.
/// # Example
/// ```
/// use gauge::us::{Gallons, ProofUs, proofed};
/// let p = ProofUs::from_degrees(100.0)?.mass_fraction();
/// let one = proofed(p, Gallons::Wine(1.0))?;
/// assert!((one.proof_gallons - 1.0).abs() < 1e-9);
/// assert!((one.pure_alcohol.litres() - 1.90180).abs() < 1e-5);
/// # Ok::<(), gauge::Fault>(())
/// ```
pub fn proofed(mixture: MassFraction, amount: Gallons) -> Result<Proofed, Fault> {
    let p = mixture.fraction();
    let at_60 = kernel::density_kg_m3(p, SIXTY_F_C);
    let wine_gallons = match amount {
        Gallons::Wine(gallons) => gallons,
        Gallons::Bulk(bulk) => {
            let there = kernel::density_kg_m3(p, bulk.at().degrees());
            bulk.litres() * there / at_60 / GALLON_L
        }
    };
    let wine_gallons = Fault::check("wine_gallons", wine_gallons, "gal", 0.0..=1e9)?;
    let proof = ProofUs::of(mixture);
    let ethanol_kg = wine_gallons * GALLON_L / 1000.0 * at_60 * p;
    Ok(Proofed {
        proof,
        strength: mixture.strength(),
        wine_gallons,
        proof_gallons: wine_gallons * proof.degrees() / 100.0,
        pure_alcohol: PureLitres(1000.0 * ethanol_kg / kernel::ETHANOL_KG_M3),
    })
}

/// Gives what a glass hydrometer marked in proof, true at 60 °F, means when read elsewhere.
///
/// # Units
/// US proof as shown and °C to US proof.
/// # Range
/// −20 to 40 °C and a spirit that can be; else `Fault::OutOfRange`.
/// # Error
/// 0.15 proof against the printed table.
/// # Source
/// 27 CFR 30.61, table 1, whose figures hold a glass of 25e-6 per K; OIML R 22 (1975).
/// # Example
/// ```
/// use gauge::{Celsius, us::{ProofUs, true_proof}};
/// let shown = ProofUs::from_degrees(193.0)?;
/// let found = true_proof(shown, Celsius::from_fahrenheit(75.0)?)?;
/// assert!((found.degrees() - 189.5).abs() < 0.15);
/// # Ok::<(), gauge::Fault>(())
/// ```
pub fn true_proof(shown: ProofUs, at: Celsius) -> Result<ProofUs, Fault> {
    let swollen = 1.0 - 25e-6 * (at.degrees() - SIXTY_F_C);
    let density = kernel::density_kg_m3(shown.mass_fraction().fraction(), SIXTY_F_C) * swollen;
    let density = crate::DensityVacuum::from_kg_m3(density)?;
    let found = crate::alcoholometry::content(density, at)?;
    Ok(ProofUs::of(found.mass_fraction))
}
