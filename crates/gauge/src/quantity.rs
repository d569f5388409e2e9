//! The costly confusions of the trade, typed apart.
//!
//! Each quantity that has a look-alike is a type of its own: litres as they lie and litres at
//! 20 °C, strength by volume and by mass, moisture on the wet and the dry basis, density in vacuum
//! and in air. A constructor names the unit, checks the range and refuses what is not a number; a
//! getter names the unit as well. Only what nature conserves has `+`.
//!
//! Inside kernels plain `f64` with the unit in the name is used; the crossing is always by one of
//! the named methods here.

/// Declares one quantity: its type, key, unit, range, constructor and getter.
macro_rules! quantity {
    ($(#[$meta:meta])* $name:ident, $key:literal, $unit:literal, $low:literal ..= $high:literal,
     $from:ident, $get:ident) => {
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
        pub struct $name(pub(crate) f64);

        impl $name {
            #[doc = concat!("Takes a figure in ", $unit, ".")]
            #[doc = concat!("\n# Units\n", $unit, ", key `", $key, "`.")]
            #[doc = concat!("\n# Range\n", stringify!($low), " to ", stringify!($high),
                "; outside it, or for what is not a number, `Fault::OutOfRange`.")]
            #[doc = "\n# Error\nNone: the figure is kept as given."]
            #[doc = "\n# Source\nThe definition of the unit; the range is our own."]
            #[doc = concat!("\n# Example\n```\nlet q = gauge::", stringify!($name), "::",
                stringify!($from), "(", stringify!($high), ")?;\nassert!((q.", stringify!($get),
                "() - ", stringify!($high), ").abs() < 1e-12);\nassert!(gauge::",
                stringify!($name), "::", stringify!($from),
                "(f64::NAN).is_err());\n# Ok::<(), gauge::Fault>(())\n```")]
            pub fn $from(value: f64) -> Result<Self, $crate::Fault> {
                $crate::Fault::check($key, value, $unit, $low..=$high).map(Self)
            }

            #[doc = concat!("Gives the figure in ", $unit, ".")]
            pub const fn $get(self) -> f64 {
                self.0
            }
        }
    };
}

/// Gives `+`, `-` and sums to a quantity that nature conserves.
macro_rules! conserved {
    ($name:ident) => {
        impl std::ops::Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }
        impl std::ops::Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }
        impl std::iter::Sum for $name {
            fn sum<I: Iterator<Item = Self>>(items: I) -> Self {
                Self(items.map(|item| item.0).sum())
            }
        }
    };
}

mod density;
mod grain;
mod gravity;
mod phenol;
mod spirit;
mod temperature;
#[cfg(test)]
mod tests;

pub use density::{DensityInAir, DensityVacuum};
pub use grain::{DryMatter, GrainMass, MoistureDry, MoistureWet};
pub use gravity::{Gravity, Plato};
pub use phenol::{PhenolAsIs, PhenolInSpirit, PhenolOnDry};
pub use spirit::{BulkVolume, MassFraction, PureLitres, Strength, VolumeAt20};
pub use temperature::{Celsius, KelvinStep};
