//! What may be fitted to a still beside the plain pot: the kind of its head, what stands in
//! condenser and tail, what is lost as vapour, steam let into the charge, what forms in the heat.

use gauge::field::Figure;
use gauge::{Field, Reader};

/// How the head condenses.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Head {
    /// What leaves is in equilibrium with all that runs back: one stage.
    #[default]
    Single,
    /// Each drop runs back as it forms, without meeting the vapour again: a long neck.
    Differential,
}

const HEADS: [&str; 2] = ["single", "differential"];

impl Figure for Head {
    fn take(reader: &mut Reader<'_>, field: &Field) -> Self {
        let word = reader.choice(field.key, &HEADS, Some(HEADS[0]));
        if word == HEADS[1] { Self::Differential } else { Self::Single }
    }
    fn value(&self) -> Option<f64> {
        None
    }
    fn unset(_: &Field) -> Self {
        Self::Single
    }
}

/// By number, as figures are set by key: above a half it is differential.
impl From<f64> for Head {
    fn from(value: f64) -> Self {
        if value > 0.5 { Self::Differential } else { Self::Single }
    }
}

/// A thing that is reckoned or left out; left out unless it is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Switch(pub bool);

impl Figure for Switch {
    fn take(reader: &mut Reader<'_>, field: &Field) -> Self {
        Self(reader.flag(field.key, false))
    }
    fn value(&self) -> Option<f64> {
        None
    }
    fn unset(_: &Field) -> Self {
        Self(false)
    }
}

/// By number, as figures are set by key: above a half it is on.
impl From<f64> for Switch {
    fn from(value: f64) -> Self {
        Self(value > 0.5)
    }
}

/// The fittings as the pot is followed with them; the default is the plain pot.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Fittings {
    pub(crate) head: Head,
    /// Whether the heat of mixing is reckoned.
    pub(crate) mixing: bool,
    /// Litres at 20 °C that stand in condenser and tail; 0 is no lag.
    pub(crate) hold_20_l: f64,
    /// Share of the vapour that leaves the head and is never condensed.
    pub(crate) vapour_loss: f64,
    /// Heat of open steam over liquid water at 0 °C, J/mol.
    pub(crate) steam_j_mol: f64,
    /// The place of the congener that forms in the heat among those followed, and how fast: its
    /// charged amount a second, of a full pot.
    pub(crate) forming: Option<(usize, f64)>,
}
