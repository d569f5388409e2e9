//! Filling: reduced spirit goes from the vat into casks.
//!
//! What the filling store does. Casks are filled one after another, not to the bung: spirit swells
//! as it warms, and a cask filled full in the cold would weep at bung and joints in summer. The
//! room left is the vacuity (ullage). Each cask is noted with its litres and its pure alcohol.
//! What does not fill another cask stays in the vat as the remnant, for the next filling.
//!
//! # Equations
//! Greatest safe fill `φ = ρ(p, t_warmest) / ρ(p, t_filling)`, less a margin, of the cask's own
//! capacity; the wood's own movement is left out. Litres at 20 °C by `ρ(p, t)/ρ(p, 20)`.
//!
//! # Units and range
//! L, % vol at 20 °C, °C. Capacity of one cask 10 to 1500 L; above 700 L a warning, for the
//! regulated categories end there.
//!
//! # Error
//! That of OIML R 22; a cask's true capacity spreads by some 5 % about the nominal of its kind.
//!
//! # Source
//! OIML R 22, 1975. Nominal contents: Scotch Whisky Association, Questions and answers no. 39,
//! 1995, and from memory; the limit of 700 L: The Scotch Whisky Regulations 2009, reg. 3.

mod case;
#[cfg(test)]
mod tests;

pub use case::{Case, Fill};

use gauge::alcoholometry::kernel;
use gauge::{Fault, Grade, Node, Warning};

use crate::still::{Moles, Spirit};
use crate::{Balance, Matter};

gauge::record! {
    /// The spirit in the vat.
    pub struct Charge {
        /// Litres at 20 °C.
        pub volume_20_l: f64 = Field::new("L at 20 °C").label("volume at 20 °C")
            .within(0.01, 1e7).extensive(),
        /// Strength.
        pub strength_pct: f64 = Field::new("% vol").label("strength").within(0.0, 100.0),
    }
}

gauge::record! {
    /// Casks of one kind.
    pub struct Casks {
        /// What one of them holds to the bung; not given, the nominal contents of the kind.
        pub capacity_l: Option<f64> = Field::new("L").label("capacity of one")
            .within(10.0, 1500.0).extensive(),
        /// How many stand ready.
        pub count: f64 = Field::new("").label("how many stand ready").within(1.0, 10_000.0),
    }
}

/// Casks of one kind, in the order they are filled.
#[derive(Debug, Clone, PartialEq)]
pub struct Batch {
    /// The kind: `hogshead`.
    pub kind: String,
    /// Capacity and number.
    pub casks: Casks,
}

/// The casks that stand ready.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Vessel {
    /// In the order they are filled.
    pub batches: Vec<Batch>,
}

gauge::record! {
    /// How warm it is and may get.
    pub struct Programme {
        /// Temperature of the spirit when it is filled.
        pub temperature_c: f64 = Field::new("°C").label("temperature at filling")
            .within(-5.0, 40.0).or(15.0),
        /// Warmest the cask may get.
        pub warmest_c: f64 = Field::new("°C").label("warmest in store").within(-5.0, 40.0).or(25.0)
            .from(Grade::Memory, "a warm summer in a racked warehouse"),
    }
}

gauge::record! {
    /// Free constants.
    pub struct Constants {
        /// Margin left beside the swelling, of the capacity.
        pub margin_pct: f64 = Field::new("%").label("margin").within(0.0, 10.0).or(0.5)
            .from(Grade::Memory, "common practice, no source"),
    }
}

/// Kinds of cask and their nominal contents, L. Octave, hogshead, butt and cognac cask are
/// published; the barrel is too, but two sources disagree on it; all others are from memory.
pub const NOMINAL: [(&str, f64); 11] = [
    ("octave", 50.0),
    ("quarter", 125.0),
    ("barrel", 200.0),
    ("barrique", 225.0),
    ("hogshead", 250.0),
    ("cognac", 350.0),
    ("puncheon", 500.0),
    ("butt", 500.0),
    ("port_pipe", 550.0),
    ("madeira_drum", 600.0),
    ("gorda", 700.0),
];

/// What the casks of one kind took.
#[derive(Debug, Clone, PartialEq)]
pub struct Filled {
    /// The kind.
    pub kind: String,
    /// How many were filled.
    pub filled: u32,
    /// Capacity of one, L.
    pub capacity_l: f64,
    /// Litres in one, as filled.
    pub fill_l: f64,
    /// Room left in one, L.
    pub vacuity_l: f64,
    /// Litres at 20 °C in one.
    pub volume_20_l: f64,
    /// Litres of pure alcohol in one.
    pub pure_alcohol_l: f64,
}

/// A whole filling.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// Safe fill, % of capacity.
    pub fill_pct: f64,
    /// Each kind, in order.
    pub casks: Vec<Filled>,
    /// Litres at 20 °C in all casks.
    pub filled_20_l: f64,
    /// What stays in the vat, L at 20 °C.
    pub remnant_20_l: f64,
    /// Strength of all of it, % vol.
    pub strength_pct: f64,
    /// Water and pure alcohol.
    pub balance: Balance,
    /// What to know.
    pub warnings: Vec<Warning>,
}

/// Fills casks from a vat.
///
/// # Units
/// L, % vol at 20 °C, °C.
/// # Range
/// See the page above.
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
    crate::sound::sound("programme", programme)?;
    crate::sound::sound("constants", constants)?;
    if vessel.batches.is_empty() {
        return Err(Fault::MissingPart { field: "cask".into(), wanted: "a list of casks" });
    }
    let p = kernel::mass_fraction_of_strength(charge.strength_pct);
    let density = |at_c: f64| kernel::density_kg_m3(p, at_c);
    // Water is densest at 4 °C: never more than full.
    let swell = (density(programme.warmest_c) / density(programme.temperature_c)).min(1.0);
    let fill = swell - 0.01 * constants.margin_pct;
    let to_20 = density(programme.temperature_c) / density(20.0);
    let mut left_l = charge.volume_20_l;
    let mut casks = Vec::with_capacity(vessel.batches.len());
    let mut warnings = Vec::new();
    for (place, batch) in vessel.batches.iter().enumerate() {
        crate::sound::sound(&format!("cask[{place}]"), &batch.casks)?;
        let capacity_l = capacity(batch, place)?;
        if capacity_l > MOST_BY_LAW_L {
            warnings.push(Warning {
                code: "over 700 L",
                says: format!("{} of {capacity_l} L is above 700 L, the most by law", batch.kind),
            });
        }
        let fill_l = capacity_l * fill;
        let volume_20_l = fill_l * to_20;
        // A hair short by rounding is still a full cask.
        let most = (left_l / volume_20_l + 1e-9).floor().max(0.0);
        let filled = most.min(batch.casks.count.floor());
        left_l = (left_l - filled * volume_20_l).max(0.0);
        casks.push(Filled {
            kind: batch.kind.clone(),
            filled: filled as u32,
            capacity_l,
            fill_l,
            vacuity_l: capacity_l - fill_l,
            volume_20_l,
            pure_alcohol_l: 0.01 * charge.strength_pct * volume_20_l,
        });
    }
    let filled_20_l = casks.iter().map(|c| f64::from(c.filled) * c.volume_20_l).sum();
    Ok(Run {
        fill_pct: 100.0 * fill,
        filled_20_l,
        remnant_20_l: left_l,
        strength_pct: charge.strength_pct,
        balance: balance(charge, &casks, left_l),
        casks,
        warnings,
    })
}

const MOST_BY_LAW_L: f64 = 700.0;

fn capacity(batch: &Batch, place: usize) -> Result<f64, Fault> {
    if let Some(capacity_l) = batch.casks.capacity_l {
        return Ok(capacity_l);
    }
    let nominal = NOMINAL.iter().find(|(kind, _)| *kind == batch.kind);
    nominal.map(|(_, litres)| *litres).ok_or_else(|| Fault::NotAllowed {
        field: format!("cask[{place}].kind").into(),
        found: batch.kind.clone(),
        allowed: NOMINAL
            .iter()
            .map(|(kind, _)| (*kind).to_owned())
            .chain(["any other with its capacity_l".to_owned()])
            .collect(),
    })
}

fn balance(charge: &Charge, casks: &[Filled], remnant_20_l: f64) -> Balance {
    let of = |volume_20_l: f64| {
        Moles::of_spirit(Spirit { volume_20_l, strength_pct: charge.strength_pct })
    };
    let mut balance = Balance::new();
    let vat = of(charge.volume_20_l);
    let remnant = of(remnant_20_l);
    balance
        .input(Matter::Water, "vat", vat.water_kg())
        .output(Matter::Water, "remnant", remnant.water_kg())
        .input(Matter::PureAlcohol, "vat", vat.pure_alcohol_l())
        .output(Matter::PureAlcohol, "remnant", remnant.pure_alcohol_l());
    for cask in casks {
        let all = of(cask.volume_20_l).times(f64::from(cask.filled));
        balance.output(Matter::Water, "casks", all.water_kg()).output(
            Matter::PureAlcohol,
            "casks",
            all.pure_alcohol_l(),
        );
    }
    balance
}

impl Run {
    /// As a case's result.
    pub fn node(&self) -> Node {
        let casks = self.casks.iter().map(|cask| {
            Node::part([
                ("kind", Node::from(cask.kind.as_str())),
                ("filled", f64::from(cask.filled).into()),
                ("capacity_l", cask.capacity_l.into()),
                ("fill_l", cask.fill_l.into()),
                ("vacuity_l", cask.vacuity_l.into()),
                ("volume_20_l", cask.volume_20_l.into()),
                ("pure_alcohol_l", cask.pure_alcohol_l.into()),
            ])
        });
        let pure = |volume_20_l: f64| Node::from(0.01 * self.strength_pct * volume_20_l);
        Node::part([
            ("fill_pct", Node::from(self.fill_pct)),
            ("strength_pct", self.strength_pct.into()),
            ("casks", Node::List(casks.collect())),
            ("filled_20_l", self.filled_20_l.into()),
            ("filled_pure_alcohol_l", pure(self.filled_20_l)),
            ("remnant_20_l", self.remnant_20_l.into()),
            ("remnant_pure_alcohol_l", pure(self.remnant_20_l)),
        ])
    }
}
