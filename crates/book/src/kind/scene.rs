//! What the book knows when an entry is worked out.

use super::{Subject, Way};
use crate::account::{Account, Commodity};
use crate::amount::Amount;
use crate::derived::{Act, Derived};
use crate::store::StoreFault;
use gauge::Node;
use jiff::Timestamp;
use std::cell::RefCell;

/// The book as it stands at the moment the entry happened.
#[derive(Debug)]
pub struct Scene<'a> {
    derived: Option<&'a Derived>,
    at: Timestamp,
    trouble: RefCell<Option<StoreFault>>,
}

impl<'a> Scene<'a> {
    pub(crate) fn new(derived: &'a Derived, at: Timestamp) -> Self {
        Self { derived: Some(derived), at, trouble: RefCell::new(None) }
    }
    /// No book at all: for telling which fields a kind has.
    pub(crate) fn nowhere() -> Self {
        Self { derived: None, at: Timestamp::UNIX_EPOCH, trouble: RefCell::new(None) }
    }
    pub(super) fn trouble(&self) -> Result<(), StoreFault> {
        self.trouble.borrow_mut().take().map_or(Ok(()), Err)
    }

    fn ask<T: Default>(&self, ask: impl FnOnce(&Derived) -> Result<T, StoreFault>) -> T {
        let Some(derived) = self.derived else {
            return T::default();
        };
        ask(derived).unwrap_or_else(|fault| {
            *self.trouble.borrow_mut() = Some(fault);
            T::default()
        })
    }

    /// What the book says that `account` holds.
    pub(super) fn holds(&self, account: &Account, commodity: Commodity) -> Amount {
        self.ask(|derived| derived.balance(account, commodity, self.at))
    }

    /// The latest act of one of these kinds upon a subject.
    pub(super) fn latest(&self, subject: Subject, name: &str, kinds: &[&str]) -> Option<Node> {
        self.ask(|derived| derived.latest(subject, name, kinds, self.at)).map(|act: Act| act.data)
    }

    /// All acts of these kinds upon a subject, oldest first.
    pub(super) fn acts(&self, (subject, name): (Subject, &str), kinds: &[&str]) -> Vec<Act> {
        self.ask(|derived| derived.acts_of(subject, name, kinds, self.at))
    }

    /// A word of that act.
    pub(super) fn word(
        &self,
        (subject, name): (Subject, &str),
        kinds: &[&str],
        key: &str,
    ) -> Option<String> {
        match self.latest(subject, name, kinds)?.get(key)? {
            Node::Text(text) if !text.is_empty() => Some(text.clone()),
            _ => None,
        }
    }

    /// A figure of that act.
    pub(super) fn figure(
        &self,
        (subject, name): (Subject, &str),
        kinds: &[&str],
        key: &str,
    ) -> Option<f64> {
        self.latest(subject, name, kinds)?.get(key)?.number()
    }

    /// What an entry posted, for reversing it.
    pub(super) fn postings(&self, serial: u64) -> Vec<crate::Posting> {
        self.ask(|derived| derived.postings(serial))
    }

    /// What was last put into a vessel.
    pub(super) fn last_in(&self, vessel: &str) -> Option<Node> {
        self.ask(|derived| derived.latest_way(Subject::Vessel, vessel, Way::In, self.at))
            .map(|act: Act| act.data)
    }
}
