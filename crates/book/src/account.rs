//! Accounts and commodities: where a thing can be, and the things that nature conserves.

use std::fmt;
use std::str::FromStr;

/// What is counted. Only what nature conserves: bulk litres shrink on mixing and swell on warming
/// and are a noted figure on an entry, never a commodity.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Commodity {
    /// Dry matter of grain, kg.
    DryGrain,
    /// Extract in solution, kg.
    Extract,
    /// Pure alcohol, L at 20 °C.
    PureAlcohol,
}

impl Commodity {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::DryGrain, Self::Extract, Self::PureAlcohol];

    /// The key in a body, a result or a column.
    pub const fn key(self) -> &'static str {
        match self {
            Self::DryGrain => "dry_grain_kg",
            Self::Extract => "extract_kg",
            Self::PureAlcohol => "pure_alcohol_l",
        }
    }
    /// What it is called on a page.
    pub const fn label(self) -> &'static str {
        match self {
            Self::DryGrain => "Dry grain",
            Self::Extract => "Extract",
            Self::PureAlcohol => "Pure alcohol",
        }
    }
    /// Its unit.
    pub const fn unit(self) -> &'static str {
        match self {
            Self::DryGrain | Self::Extract => "kg",
            Self::PureAlcohol => "L",
        }
    }
    /// The commodity under `key`.
    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|c| c.key() == key)
    }
}

/// The sort of place an account stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Place {
    /// A lot of barley in store.
    Lot,
    /// A vessel, a floor, a bin.
    Vessel,
    /// A cask.
    Cask,
    /// Beyond the house: intake, dispatch, draff, pot ale, spent lees, evaporation, samples.
    Outside,
    /// Where one thing becomes another: starch to extract, extract to alcohol.
    Convert,
    /// Found more than the book said. Never netted against a deficiency.
    Increase,
    /// Found less than the book said.
    Deficiency,
}

impl Place {
    /// All of them, in the order in which a page shows them.
    pub const ALL: [Self; 7] = [
        Self::Lot,
        Self::Vessel,
        Self::Cask,
        Self::Outside,
        Self::Convert,
        Self::Increase,
        Self::Deficiency,
    ];
    /// The word before the stroke in an account's name.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Lot => "lot",
            Self::Vessel => "vessel",
            Self::Cask => "cask",
            Self::Outside => "outside",
            Self::Convert => "convert",
            Self::Increase => "increase",
            Self::Deficiency => "deficiency",
        }
    }
    /// Whether it can hold a thing, so that its balance may never fall below nought.
    pub const fn holds(self) -> bool {
        matches!(self, Self::Lot | Self::Vessel | Self::Cask)
    }
}

/// An account: a place and a name, written `vessel/washback_3`.
///
/// An increase or a deficiency bears the name of the place where it was found
/// (`deficiency/filling_vat`), so that the two are never netted and each has its cause.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Account {
    place: Place,
    name: String,
}

impl Account {
    /// An account of `place` under `name`.
    pub fn new(place: Place, name: impl Into<String>) -> Self {
        Self { place, name: name.into() }
    }
    /// A vessel.
    pub fn vessel(name: impl Into<String>) -> Self {
        Self::new(Place::Vessel, name)
    }
    /// A lot.
    pub fn lot(name: impl Into<String>) -> Self {
        Self::new(Place::Lot, name)
    }
    /// A cask.
    pub fn cask(name: impl Into<String>) -> Self {
        Self::new(Place::Cask, name)
    }
    /// Beyond the house.
    pub fn outside(name: impl Into<String>) -> Self {
        Self::new(Place::Outside, name)
    }
    /// A conversion.
    pub fn convert(name: impl Into<String>) -> Self {
        Self::new(Place::Convert, name)
    }
    /// Where it stands.
    pub fn place(&self) -> Place {
        self.place
    }
    /// The name after the stroke.
    pub fn name(&self) -> &str {
        &self.name
    }
}

impl fmt::Display for Account {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.place.key(), self.name)
    }
}

/// Text that names no account.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoAccount(pub String);

impl fmt::Display for NoAccount {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let places = Place::ALL.map(Place::key).join(", ");
        write!(f, "\"{}\" is no account; write a place, a stroke and a name", self.0)?;
        write!(f, " (vessel/washback_3); the places are {places}")
    }
}

impl FromStr for Account {
    type Err = NoAccount;
    fn from_str(text: &str) -> Result<Self, NoAccount> {
        let fault = || NoAccount(text.to_owned());
        let (place, name) = text.split_once('/').ok_or_else(fault)?;
        let place = Place::ALL.into_iter().find(|p| p.key() == place);
        match place {
            Some(place) if !name.is_empty() => Ok(Self::new(place, name)),
            _ => Err(fault()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_account_reads_back_as_it_was_written() {
        for place in Place::ALL {
            let account = Account::new(place, "x/y_1");
            assert_eq!(account.to_string().parse::<Account>(), Ok(account));
        }
        assert!("washback_3".parse::<Account>().is_err());
        assert!("vessel/".parse::<Account>().is_err());
    }
}
