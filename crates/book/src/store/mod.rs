//! The engine that keeps the journal, behind one small trait.
//!
//! It has no update, no delete and no purge. After one failed write or sync it answers
//! [`StoreFault::Doubtful`] until it is opened again: what is on the disk is then not known.

mod lock;
mod memory;
mod sqlite;

pub use lock::{Holder, holder_of};
pub use memory::{Disk, Failing, MemoryStore};
pub use sqlite::SqliteStore;

use crate::hash::{Hash, ZERO};
use std::fmt;
use std::path::Path;

/// The end of the journal: the serial of the last entry and its hash.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Last {
    /// 0 for an empty journal.
    pub serial: u64,
    /// 32 zero bytes for an empty journal.
    pub hash: Hash,
}

impl Last {
    /// The end of an empty journal.
    pub const NONE: Self = Self { serial: 0, hash: ZERO };
}

/// An entry as it is kept: its bytes and its place in the chain.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sealed {
    /// Serial without gaps, from 1.
    pub serial: u64,
    /// The client's id, the same as in the body.
    pub id: String,
    /// The chain up to here.
    pub hash: Hash,
    /// UTF-8 JSON.
    pub body: Vec<u8>,
}

/// Trouble with the store.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum StoreFault {
    /// Somebody else appended first: read on and try again.
    Conflict {
        /// What the writer took for the end.
        expected: u64,
        /// What it is.
        found: u64,
    },
    /// A write or a sync failed. Read-only until opened again.
    Doubtful {
        /// What the system said.
        because: String,
    },
    /// No room on the disk; nothing was written.
    Full,
    /// The store will not take it.
    Refused {
        /// Why.
        because: String,
    },
    /// Another process writes this book.
    Held(Holder),
    /// The chain does not hold from this entry on. The book opens read-only.
    Broken {
        /// The first entry that is not what was sealed.
        serial: u64,
        /// What is wrong with it.
        because: String,
    },
    /// It cannot be opened or read.
    Unreadable {
        /// What the system said.
        because: String,
    },
}

impl fmt::Display for StoreFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Conflict { expected, found } => write!(
                f,
                "the book has grown from entry {expected} to entry {found} meanwhile; try again"
            ),
            Self::Doubtful { because } => write!(
                f,
                "a write to the book failed ({because}); it is read-only until it is opened again"
            ),
            Self::Full => write!(f, "the disk is full; nothing was written"),
            Self::Refused { because } => write!(f, "the book did not take it: {because}"),
            Self::Held(holder) => write!(f, "{holder}"),
            Self::Broken { serial, because } => write!(
                f,
                "entry {serial} is not what was written: {because}. The book is read-only"
            ),
            Self::Unreadable { because } => write!(f, "the book cannot be read: {because}"),
        }
    }
}

impl std::error::Error for StoreFault {}

/// Keeps the journal.
pub trait Store: Send {
    /// Adds entries behind `expected`, all or none, and comes back when they are on the disk.
    fn append(&mut self, expected: Last, entries: &[Sealed]) -> Result<Last, StoreFault>;
    /// The serial of the entry with this id.
    fn find(&self, id: &str) -> Result<Option<u64>, StoreFault>;
    /// At most `most` entries after `serial`, in order.
    fn read_after(&self, serial: u64, most: usize) -> Result<Vec<Sealed>, StoreFault>;
    /// The end of the journal.
    fn last(&self) -> Result<Last, StoreFault>;
    /// A whole copy of the journal in a new file.
    fn backup(&self, to: &Path) -> Result<(), StoreFault>;
    /// Whether it was opened for reading only, and why.
    fn read_only(&self) -> Option<StoreFault>;
}
