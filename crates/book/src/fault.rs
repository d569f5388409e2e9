//! What can go wrong with the book, in the user's words.

use crate::entry::{Role, Unbalanced};
use crate::store::StoreFault;
use gauge::{Fault, Kind};
use std::fmt;

/// An entry that cannot be taken, or a book that cannot be read or written.
#[derive(Debug, Clone, PartialEq)]
pub enum BookFault {
    /// Figures or words of the entry; all at once.
    Figures(Vec<Fault>),
    /// No such kind of entry.
    UnknownKind {
        /// What was asked for.
        kind: String,
        /// The nearest there is.
        near: Option<&'static str>,
    },
    /// This role does not write that.
    NotYours {
        /// The kind of entry.
        kind: String,
        /// The role.
        role: Role,
    },
    /// Text that is no time with an offset.
    NotATime {
        /// The text.
        text: String,
    },
    /// It is said to happen after it was noted.
    BeforeItHappened {
        /// When it is said to happen.
        happened_at: String,
        /// When it was noted.
        noted_at: String,
    },
    /// There is no such entry.
    NoSuchEntry {
        /// Its serial.
        serial: u64,
    },
    /// A contra may not be reversed: note the right entry afresh.
    ContraOfContra {
        /// The contra.
        serial: u64,
    },
    /// It is reversed already.
    AlreadyReversed {
        /// The entry.
        serial: u64,
        /// Its contra.
        by: u64,
    },
    /// Our own mistake: a kind whose postings do not sum to nothing.
    Unbalanced(Vec<Unbalanced>),
    /// The store.
    Store(StoreFault),
}

impl BookFault {
    /// Whose trouble it is.
    pub fn kind(&self) -> Kind {
        match self {
            Self::Store(_) => Kind::Store,
            Self::Unbalanced(_) => Kind::Ours,
            _ => Kind::Yours,
        }
    }
    /// The faults of single figures, for showing beside their fields.
    pub fn figures(&self) -> &[Fault] {
        match self {
            Self::Figures(faults) => faults,
            _ => &[],
        }
    }
}

impl From<StoreFault> for BookFault {
    fn from(fault: StoreFault) -> Self {
        Self::Store(fault)
    }
}

impl std::error::Error for BookFault {}

impl fmt::Display for BookFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Figures(faults) => {
                for (place, fault) in faults.iter().enumerate() {
                    let gap = if place == 0 { "" } else { "\n" };
                    write!(f, "{gap}{fault}")?;
                }
                Ok(())
            }
            Self::UnknownKind { kind, near: Some(near) } => {
                write!(f, "there is no kind of entry \"{kind}\"; is it {near}?")
            }
            Self::UnknownKind { kind, near: None } => {
                write!(f, "there is no kind of entry \"{kind}\"")
            }
            Self::NotYours { kind, role } => {
                write!(f, "the role {} does not write a {kind} entry", role.key())
            }
            Self::NotATime { text } => {
                write!(f, "\"{text}\" is no time with an offset; write 2026-03-04T10:12:00+00:00")
            }
            Self::BeforeItHappened { happened_at, noted_at } => {
                write!(f, "happened_at is {happened_at}, after it was noted at {noted_at}")
            }
            Self::NoSuchEntry { serial } => write!(f, "there is no entry {serial}"),
            Self::ContraOfContra { serial } => write!(
                f,
                "entry {serial} is a contra and is not reversed; note the right entry afresh"
            ),
            Self::AlreadyReversed { serial, by } => {
                write!(f, "entry {serial} is reversed already, by entry {by}")
            }
            Self::Unbalanced(open) => {
                for one in open {
                    write!(
                        f,
                        "{} is out by {} millionths. This is ours to mend. ",
                        one.commodity.key(),
                        one.left_micro
                    )?;
                }
                Ok(())
            }
            Self::Store(fault) => write!(f, "{fault}"),
        }
    }
}
