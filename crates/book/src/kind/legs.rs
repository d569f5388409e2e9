//! The legs of an entry while its kind works them out.

use super::Drafted;
use crate::account::{Account, Commodity, Place};
use crate::amount::Amount;
use crate::entry::Posting;
use crate::fault::BookFault;
use gauge::{Fault, Node};

/// Gathers postings, and figures that the entry keeps beside what was written.
#[derive(Debug, Default)]
pub struct Legs {
    postings: Vec<Posting>,
    data: Vec<(&'static str, Node)>,
    unsound: Option<f64>,
}

impl Legs {
    pub(super) fn new() -> Self {
        Self::default()
    }

    /// A reckoned figure as an amount. One that is no number is a fault of the whole entry.
    pub(super) fn amount(&mut self, units: f64) -> Amount {
        Amount::round(units).unwrap_or_else(|| {
            self.unsound = Some(units);
            Amount::ZERO
        })
    }

    /// Takes an amount out of one account and into another. Nothing is posted for nothing.
    pub(super) fn carry(
        &mut self,
        commodity: Commodity,
        amount: Amount,
        Route { from, to }: Route,
    ) {
        if amount == Amount::ZERO {
            return;
        }
        self.post(from, commodity, -amount);
        self.post(to, commodity, amount);
    }

    /// Empties `from` of what the book says it holds, save for a remnant that stays in it on its
    /// account and opens what comes next, and books what was found at `to`. What was found more or
    /// less goes to *increase* or *deficiency* under the name of `from`.
    pub(super) fn gauge_leaving(
        &mut self,
        commodity: Commodity,
        Gauged { book, found }: Gauged,
        remnant: Amount,
        Route { from, to }: Route,
    ) {
        // A vessel that holds less than nothing by the book is not emptied into a deficiency:
        // an earlier entry is missing, and that is asked about.
        let book = book.max(Amount::ZERO);
        let difference = Amount::from_micro(found.micro() + remnant.micro() - book.micro());
        let place = if difference > Amount::ZERO { Place::Increase } else { Place::Deficiency };
        let other = Account::new(place, from.name());
        self.post(from, commodity, Amount::from_micro(remnant.micro() - book.micro()));
        self.post(to, commodity, found);
        self.post(other, commodity, -difference);
    }

    /// The same without a remnant, with accounts of one's own for what was found more and less.
    pub(super) fn gauge_to(
        &mut self,
        commodity: Commodity,
        Gauged { book, found }: Gauged,
        Route { from, to }: Route,
        outcome: Outcome,
    ) {
        // A vessel that holds less than nothing by the book is not emptied into a deficiency:
        // an earlier entry is missing, and that is asked about.
        let book = book.max(Amount::ZERO);
        self.post(from, commodity, -book);
        self.post(to, commodity, found);
        let difference = Amount::from_micro(found.micro() - book.micro());
        let account = if difference > Amount::ZERO { outcome.more } else { outcome.less };
        self.post(account, commodity, -difference);
    }

    /// Brings `account` to what was found in it.
    pub(super) fn regauge(
        &mut self,
        commodity: Commodity,
        Gauged { book, found }: Gauged,
        account: Account,
        outcome: Outcome,
    ) {
        let difference = Amount::from_micro(found.micro() - book.micro());
        let other = if difference > Amount::ZERO { outcome.more } else { outcome.less };
        self.post(account, commodity, difference);
        self.post(other, commodity, -difference);
    }

    fn post(&mut self, account: Account, commodity: Commodity, amount: Amount) {
        if amount != Amount::ZERO {
            self.postings.push(Posting { account, commodity, amount });
        }
    }

    /// Postings made elsewhere.
    pub(super) fn take(&mut self, postings: impl IntoIterator<Item = Posting>) {
        self.postings.extend(postings);
    }

    /// Keeps a figure or word on the entry, in place of what was written under that key.
    pub(super) fn keep(&mut self, key: &'static str, value: impl Into<Node>) {
        self.data.push((key, value.into()));
    }

    /// Keeps it when there is one.
    pub(super) fn keep_some<T: Into<Node>>(&mut self, key: &'static str, value: Option<T>) {
        if let Some(value) = value {
            self.keep(key, value);
        }
    }

    pub(super) fn drafted(self, given: &Node) -> Result<Drafted, BookFault> {
        if let Some(value) = self.unsound {
            return Err(BookFault::Figures(vec![Fault::OutOfRange {
                field: "amount".into(),
                value,
                unit: "kg or L",
                low: -Amount::MOST,
                high: Amount::MOST,
            }]));
        }
        let mut entries = match given {
            Node::Part(entries) => entries.clone(),
            _ => Vec::new(),
        };
        for (key, value) in self.data {
            match entries.iter_mut().find(|(k, _)| k == key) {
                Some(entry) => entry.1 = value,
                None => entries.push((key.to_owned(), value)),
            }
        }
        Ok(Drafted { data: Node::Part(entries), postings: self.postings })
    }
}

/// From one account to another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Route {
    /// Out of it.
    pub(super) from: Account,
    /// Into it.
    pub(super) to: Account,
}

/// What the book says and what was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Gauged {
    /// By the book.
    pub(super) book: Amount,
    /// By measure.
    pub(super) found: Amount,
}

/// Where a difference goes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Outcome {
    pub(super) more: Account,
    pub(super) less: Account,
}
