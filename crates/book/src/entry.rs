//! An entry: one thing that happened. Its state is its type, so that one whose postings do not
//! sum to nothing cannot reach the journal.

use crate::account::{Account, Commodity};
use crate::amount::Amount;
use crate::body;
use crate::hash;
use crate::moment::Moment;
use crate::store::{Last, Sealed};
use gauge::Node;
use std::collections::BTreeMap;
use std::marker::PhantomData;

/// In which role a person writes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Role {
    /// Notes what was done.
    Hand,
    /// Notes, and fills casks.
    FillingStore,
    /// Plans, corrects and closes.
    Distiller,
    /// Reads, and asks what if.
    Manager,
    /// Reads.
    Auditor,
}

impl Role {
    /// All of them.
    pub const ALL: [Self; 5] =
        [Self::Hand, Self::FillingStore, Self::Distiller, Self::Manager, Self::Auditor];
    /// The word in an entry.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Hand => "hand",
            Self::FillingStore => "filling_store",
            Self::Distiller => "distiller",
            Self::Manager => "manager",
            Self::Auditor => "auditor",
        }
    }
    /// The role under `key`.
    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|r| r.key() == key)
    }
}

/// Who, when and under which id.
#[derive(Debug, Clone, PartialEq)]
pub struct Heading {
    /// Made by the client, so that the same thing sent twice is one entry.
    pub id: String,
    /// When it happened.
    pub happened_at: Moment,
    /// When it was noted.
    pub noted_at: Moment,
    /// Who wrote it.
    pub writer: String,
    /// In which role.
    pub role: Role,
}

/// An amount of one thing into (or, negative, out of) one account.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Posting {
    /// The account.
    pub account: Account,
    /// The thing.
    pub commodity: Commodity,
    /// How much.
    pub amount: Amount,
}

/// Not yet weighed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Draft;
/// Its postings sum to nothing, exactly, for each commodity.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Balanced;

/// One thing that happened.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry<S> {
    heading: Heading,
    kind: String,
    version: u32,
    postings: Vec<Posting>,
    data: Node,
    state: PhantomData<S>,
}

/// A commodity whose postings do not sum to nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Unbalanced {
    /// Which.
    pub commodity: Commodity,
    /// What is left over, in millionths.
    pub left_micro: i128,
}

impl Entry<Draft> {
    /// A draft without postings.
    pub fn new(heading: Heading, kind: impl Into<String>, version: u32, data: Node) -> Self {
        Self { heading, kind: kind.into(), version, postings: Vec::new(), data, state: PhantomData }
    }
    /// With its postings. No leg is ever inferred.
    #[must_use]
    pub fn with(mut self, postings: impl IntoIterator<Item = Posting>) -> Self {
        self.postings.extend(postings);
        self
    }
    /// The same entry, balanced; or each commodity that is not.
    pub fn balance(self) -> Result<Entry<Balanced>, Vec<Unbalanced>> {
        let mut sums: BTreeMap<Commodity, i128> = BTreeMap::new();
        for posting in &self.postings {
            *sums.entry(posting.commodity).or_default() += i128::from(posting.amount.micro());
        }
        let open: Vec<Unbalanced> = sums
            .into_iter()
            .filter(|(_, sum)| *sum != 0)
            .map(|(commodity, left_micro)| Unbalanced { commodity, left_micro })
            .collect();
        if !open.is_empty() {
            return Err(open);
        }
        Ok(Entry {
            heading: self.heading,
            kind: self.kind,
            version: self.version,
            postings: self.postings,
            data: self.data,
            state: PhantomData,
        })
    }
}

impl Entry<Balanced> {
    /// Writes the body once and chains it to what stands before it.
    pub fn seal(&self, before: Last) -> Sealed {
        let body = body::write(self);
        let serial = before.serial + 1;
        Sealed {
            serial,
            id: self.heading.id.clone(),
            hash: hash::chain(&before.hash, serial, &body),
            body,
        }
    }
}

impl<S> Entry<S> {
    /// Who, when and under which id.
    pub fn heading(&self) -> &Heading {
        &self.heading
    }
    /// The key of its kind.
    pub fn kind(&self) -> &str {
        &self.kind
    }
    /// The version of that kind's shape.
    pub fn version(&self) -> u32 {
        self.version
    }
    /// Its postings.
    pub fn postings(&self) -> &[Posting] {
        &self.postings
    }
    /// Its figures and words.
    pub fn data(&self) -> &Node {
        &self.data
    }
}
