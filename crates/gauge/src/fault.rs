//! Faults: what is wrong, where, what is allowed, what to do. In the user's words.

use crate::basis;
use std::borrow::Cow;
use std::fmt;

/// Whose trouble a fault is. It decides the exit status and the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// An input figure.
    Yours,
    /// A house file.
    Plant,
    /// No solution found.
    Reckoning,
    /// The store that keeps the book.
    Store,
    /// A bug of ours.
    Ours,
}

/// Which side of a limit is allowed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// The figure must not pass the limit upward.
    AtMost,
    /// The figure must reach the limit.
    AtLeast,
}

/// A figure, case or file that cannot be used as it stands.
///
/// `field` is always the path to the figure as it is written in a case or house file
/// (`still.heat_w`, `cut[1].until_strength_pct`), so that a face can point at the place.
#[derive(Debug, Clone, PartialEq)]
pub enum Fault {
    /// A figure outside its stated range, or not a number at all.
    OutOfRange {
        /// Path of the figure.
        field: Cow<'static, str>,
        /// What was given.
        value: f64,
        /// Its unit.
        unit: &'static str,
        /// Least allowed.
        low: f64,
        /// Most allowed.
        high: f64,
    },
    /// Text, or a table, where a figure is wanted.
    NotAFigure {
        /// Path of the figure.
        field: Cow<'static, str>,
        /// What stood there.
        found: String,
        /// The unit wanted.
        unit: &'static str,
    },
    /// A figure that must be given and is not.
    Missing {
        /// Path of the figure.
        field: Cow<'static, str>,
        /// Its unit.
        unit: &'static str,
        /// Least allowed.
        low: f64,
        /// Most allowed.
        high: f64,
    },
    /// A word, list or part that must be given and is not.
    MissingPart {
        /// Path of the part.
        field: Cow<'static, str>,
        /// What is wanted there: "a list", "a name".
        wanted: &'static str,
    },
    /// A key nobody reads.
    Unknown {
        /// Path of the key.
        field: Cow<'static, str>,
        /// The nearest key that would be read.
        near: Option<String>,
    },
    /// A word that is not one of those allowed.
    NotAllowed {
        /// Path of the word.
        field: Cow<'static, str>,
        /// What was given.
        found: String,
        /// What may be given.
        allowed: Vec<String>,
    },
    /// Exactly one of several figures must be given.
    OneOf {
        /// Path of the part they belong to.
        field: Cow<'static, str>,
        /// Their keys.
        keys: Vec<&'static str>,
        /// How many were given.
        given: usize,
    },
    /// A figure beyond a limit that another figure sets.
    Beyond {
        /// Path of the figure.
        field: Cow<'static, str>,
        /// What was given.
        value: f64,
        /// Its unit.
        unit: &'static str,
        /// Which side is allowed.
        side: Side,
        /// The limit.
        limit: f64,
        /// What sets the limit, in words: "the charge that covers the coils".
        sets: Cow<'static, str>,
    },
    /// Knots, cuts or times that do not follow one another.
    NotInOrder {
        /// Path of the first that does not follow.
        field: Cow<'static, str>,
        /// Its value.
        value: f64,
        /// The one before it.
        before: f64,
        /// Their unit.
        unit: &'static str,
    },
    /// A mark that the run never comes to.
    NeverReached {
        /// Path of the mark.
        field: Cow<'static, str>,
        /// The value wanted.
        wanted: f64,
        /// Where the run ended instead.
        reached: f64,
        /// Their unit.
        unit: &'static str,
    },
    /// A solver gave up.
    NotConverged {
        /// What was sought.
        what: &'static str,
        /// Steps taken.
        steps: u32,
        /// What was left over.
        residual: f64,
    },
    /// A case whose figures are all allowed and which cannot work as a whole.
    Unworkable {
        /// Path of the part that must change.
        field: Cow<'static, str>,
        /// What comes of it as it stands: "spirit.feints never returns".
        trouble: String,
        /// What would work.
        remedy: String,
    },
    /// A file that is not the format it should be.
    Syntax {
        /// What the parser says, in a sentence.
        says: String,
    },
}

impl Fault {
    /// Gives `value` back when it is a number inside the range, else the fault that says so.
    pub fn check(
        field: impl Into<Cow<'static, str>>,
        value: f64,
        unit: &'static str,
        range: std::ops::RangeInclusive<f64>,
    ) -> Result<f64, Self> {
        if range.contains(&value) {
            return Ok(value);
        }
        let (low, high) = range.into_inner();
        Err(Self::OutOfRange { field: field.into(), value, unit, low, high })
    }

    /// Whose trouble it is.
    pub fn kind(&self) -> Kind {
        match self {
            Self::NotConverged { .. } | Self::NeverReached { .. } => Kind::Reckoning,
            _ => Kind::Yours,
        }
    }

    /// The path of the figure at fault, where there is one.
    pub fn field(&self) -> Option<&str> {
        match self {
            Self::OutOfRange { field, .. }
            | Self::NotAFigure { field, .. }
            | Self::Missing { field, .. }
            | Self::MissingPart { field, .. }
            | Self::Unknown { field, .. }
            | Self::NotAllowed { field, .. }
            | Self::OneOf { field, .. }
            | Self::Beyond { field, .. }
            | Self::NotInOrder { field, .. }
            | Self::Unworkable { field, .. }
            | Self::NeverReached { field, .. } => Some(field),
            Self::NotConverged { .. } | Self::Syntax { .. } => None,
        }
    }

    /// The same fault with `prefix` before its path: a part's fault seen from the whole.
    #[must_use]
    pub fn within(mut self, prefix: &str) -> Self {
        match &mut self {
            Self::OutOfRange { field, .. }
            | Self::NotAFigure { field, .. }
            | Self::Missing { field, .. }
            | Self::MissingPart { field, .. }
            | Self::Unknown { field, .. }
            | Self::NotAllowed { field, .. }
            | Self::OneOf { field, .. }
            | Self::Beyond { field, .. }
            | Self::NotInOrder { field, .. }
            | Self::Unworkable { field, .. }
            | Self::NeverReached { field, .. } => {
                *field = Cow::Owned(if field.is_empty() {
                    prefix.to_owned()
                } else {
                    format!("{prefix}.{field}")
                });
            }
            Self::NotConverged { .. } | Self::Syntax { .. } => {}
        }
        self
    }
}

/// A figure as a sentence shows it: no more digits than it has, and never `1e-9` for a range end.
pub(crate) fn plain(value: f64) -> String {
    if value.is_nan() {
        return "not a number".to_owned();
    }
    if value != 0.0 && (value.abs() < 1e-4 || value.abs() >= 1e9) {
        format!("{value:e}")
    } else {
        let text = format!("{value:.6}");
        let text = text.trim_end_matches('0').trim_end_matches('.');
        text.replace('-', "\u{2212}")
    }
}

fn with_unit(value: f64, unit: &str) -> String {
    if unit.is_empty() { plain(value) } else { format!("{} {unit}", plain(value)) }
}

fn span(low: f64, high: f64, unit: &str) -> String {
    match (low.is_finite(), high.is_finite()) {
        (true, true) => format!("{} to {}", plain(low), with_unit(high, unit)),
        (true, false) => format!("{} or more", with_unit(low, unit)),
        (false, true) => format!("{} or less", with_unit(high, unit)),
        (false, false) => "any figure".to_owned(),
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OutOfRange { field, value, unit, low, high } => {
                write!(
                    f,
                    "{field} is {}; allowed {}",
                    with_unit(*value, unit),
                    span(*low, *high, unit)
                )?;
                match basis::question(field, *value, *low..=*high) {
                    Some(asks) => write!(f, "; {asks}"),
                    None => Ok(()),
                }
            }
            Self::NotAFigure { field, found, unit: "" } => {
                write!(f, "{field} is {found}; a figure is wanted")
            }
            Self::NotAFigure { field, found, unit } => {
                write!(f, "{field} is {found}; a figure in {unit} is wanted")
            }
            Self::Missing { field, unit, low, high } => {
                write!(f, "{field} is missing; give {}", span(*low, *high, unit))
            }
            Self::MissingPart { field, wanted } => {
                write!(f, "{field} is missing; {wanted} is wanted")
            }
            Self::Unknown { field, near: Some(near) } => {
                write!(f, "nothing reads {field}; is it {near}?")
            }
            Self::Unknown { field, near: None } => write!(f, "nothing reads {field}"),
            Self::NotAllowed { field, found, allowed } => {
                write!(f, "{field} is \"{found}\"; allowed {}", allowed.join(", "))?;
                match crate::tree::nearest(found, allowed.iter().map(String::as_str)) {
                    Some(near) if allowed.len() > 1 => write!(f, "; is it {near}?"),
                    _ => Ok(()),
                }
            }
            Self::OneOf { field, keys, given } => {
                let place = if field.is_empty() { String::new() } else { format!("{field}: ") };
                write!(f, "{place}give exactly one of {}; {given} were given", keys.join(", "))
            }
            Self::Beyond { field, value, unit, side, limit, sets } => {
                let word = match side {
                    Side::AtMost => "at most",
                    Side::AtLeast => "at least",
                };
                write!(
                    f,
                    "{field} is {}; {word} {}, {sets}",
                    with_unit(*value, unit),
                    with_unit(*limit, unit)
                )
            }
            Self::NotInOrder { field, value, before, unit } => write!(
                f,
                "{field} is {} but the one before it is {}; they must rise",
                with_unit(*value, unit),
                with_unit(*before, unit)
            ),
            Self::NeverReached { field, wanted, reached, unit } => write!(
                f,
                "{field} of {} is never reached; the run ends at {}",
                with_unit(*wanted, unit),
                with_unit(*reached, unit)
            ),
            Self::NotConverged { what, steps, residual } => write!(
                f,
                "no {what} found in {steps} steps; {residual:e} is left over. This is ours to mend"
            ),
            Self::Unworkable { field, trouble, remedy } => {
                write!(f, "{field}: {trouble}; {remedy}")
            }
            Self::Syntax { says } => write!(f, "{says}"),
        }
    }
}

impl std::error::Error for Fault {}

/// Something to know about a figure that stands all the same: it rides inside the result.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Warning {
    /// One word or two for a column: "frozen".
    pub code: &'static str,
    /// The sentence for a page.
    pub says: String,
}
