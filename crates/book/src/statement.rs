//! What the accounts say: holdings, the movements of one account over a time, one entry opened,
//! and what is asked about.

use crate::account::{Account, Commodity};
use crate::amount::Amount;
use crate::body;
use crate::derived::{Act, Row};
use crate::entry::{Heading, Posting};
use crate::hash::{Hash, ZERO};
use crate::journal::{Book, Inside};
use crate::kind::{self, Subject};
use crate::moment::Moment;
use crate::store::StoreFault;
use gauge::Node;
use jiff::Timestamp;

/// What one account holds of one thing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Holding {
    /// The account.
    pub account: Account,
    /// The thing.
    pub commodity: Commodity,
    /// How much.
    pub amount: Amount,
}

/// One amount in or out of an account.
#[derive(Debug, Clone, PartialEq)]
pub struct Movement {
    /// The entry.
    pub serial: u64,
    /// When it happened.
    pub happened_at: Moment,
    /// Its kind.
    pub kind: String,
    /// Into the account, or (negative) out of it.
    pub amount: Amount,
    /// What the account holds after it, in the order in which things happened.
    pub running: Amount,
    /// The other accounts that it moved the same thing in or out of.
    pub others: Vec<Account>,
    /// The entry that this one reverses.
    pub contra_of: Option<u64>,
    /// The contra that reverses it.
    pub contra_by: Option<u64>,
}

/// The movements of one account from a moment (not counted) until another.
#[derive(Debug, Clone, PartialEq)]
pub struct Statement {
    /// The account.
    pub account: Account,
    /// The thing.
    pub commodity: Commodity,
    /// From.
    pub from: Timestamp,
    /// Until.
    pub until: Timestamp,
    /// What it held at the beginning.
    pub opening: Amount,
    /// What happened, oldest first.
    pub movements: Vec<Movement>,
    /// What it held at the end.
    pub closing: Amount,
}

impl Statement {
    /// The sum of what came in.
    pub fn receipts(&self) -> Amount {
        self.sum(|amount| amount > Amount::ZERO)
    }
    /// The sum of what went out, as a positive figure.
    pub fn issues(&self) -> Amount {
        -self.sum(|amount| amount < Amount::ZERO)
    }
    fn sum(&self, which: impl Fn(Amount) -> bool) -> Amount {
        let micro = self.movements.iter().map(|m| m.amount).filter(|a| which(*a));
        let sum: i128 = micro.map(|a| i128::from(a.micro())).sum();
        Amount::from_micro(i64::try_from(sum).unwrap_or(i64::MAX))
    }
}

/// One entry, opened.
#[derive(Debug, Clone, PartialEq)]
pub struct EntryView {
    /// Its serial.
    pub serial: u64,
    /// Its place in the chain.
    pub hash: Hash,
    /// The hash it is chained to.
    pub hash_before: Hash,
    /// Who, when and under which id.
    pub heading: Heading,
    /// The key of its kind.
    pub kind: String,
    /// The version of its shape.
    pub version: u32,
    /// Its postings.
    pub postings: Vec<Posting>,
    /// Its figures and words.
    pub data: Node,
    /// The bytes as they are kept, which are UTF-8 JSON.
    pub body: String,
    /// The entry that it reverses.
    pub contra_of: Option<u64>,
    /// The contra that reverses it.
    pub contra_by: Option<u64>,
    /// What was asked about it when it was noted.
    pub marks: Vec<String>,
}

/// Something to ask about in the morning.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Question {
    /// The entry it is about.
    pub serial: u64,
    /// Its kind.
    pub kind: String,
    /// What is amiss, in a sentence's words.
    pub says: String,
}

impl Book {
    /// Every account that is not empty at a moment.
    pub fn holdings(&self, at: Timestamp) -> Result<Vec<Holding>, StoreFault> {
        let balances = self.lock().derived.balances(at)?;
        Ok(balances
            .into_iter()
            .map(|((account, commodity), amount)| Holding { account, commodity, amount })
            .collect())
    }

    /// What one account holds at a moment.
    pub fn balance(
        &self,
        account: &Account,
        commodity: Commodity,
        at: Timestamp,
    ) -> Result<Amount, StoreFault> {
        self.lock().derived.balance(account, commodity, at)
    }

    /// The movements of one account after `from` and until `until`.
    pub fn statement(
        &self,
        account: &Account,
        commodity: Commodity,
        (from, until): (Timestamp, Timestamp),
    ) -> Result<Statement, StoreFault> {
        let inside = self.lock();
        let opening = inside.derived.balance(account, commodity, from)?;
        let mut running = opening;
        let mut movements = Vec::new();
        for (serial, amount) in inside.derived.posted((account, commodity), from, until)? {
            running = running.checked_add(amount).unwrap_or(running);
            let Some(entry) = inside.entry(serial)? else {
                continue;
            };
            let mut others: Vec<Account> = entry
                .postings
                .into_iter()
                .filter(|p| p.commodity == commodity && p.account != *account)
                .map(|p| p.account)
                .collect();
            others.dedup();
            movements.push(Movement {
                serial,
                happened_at: entry.heading.happened_at,
                kind: entry.kind,
                amount,
                running,
                others,
                contra_of: entry.contra_of,
                contra_by: entry.contra_by,
            });
        }
        Ok(Statement {
            account: account.clone(),
            commodity,
            from,
            until,
            opening,
            movements,
            closing: running,
        })
    }

    /// One entry with its postings, its hash and its contra.
    pub fn entry(&self, serial: u64) -> Result<Option<EntryView>, StoreFault> {
        self.lock().entry(serial)
    }

    /// The serial of the entry with this id.
    pub fn find(&self, id: &str) -> Result<Option<u64>, StoreFault> {
        self.lock().store.find(id)
    }

    /// At most `most` entries that follow `serial`; those that cannot be read are left out.
    pub fn entries_after(&self, serial: u64, most: usize) -> Result<Vec<EntryView>, StoreFault> {
        let inside = self.lock();
        let page = inside.store.read_after(serial, most)?;
        let views = page.iter().map(|sealed| inside.entry(sealed.serial));
        Ok(views.collect::<Result<Vec<_>, _>>()?.into_iter().flatten().collect())
    }

    /// All acts upon one subject between two moments, oldest first; those that a contra reversed
    /// are left out.
    pub fn acts(
        &self,
        subject: Subject,
        name: &str,
        (from, until): (Timestamp, Timestamp),
    ) -> Result<Vec<Act>, StoreFault> {
        self.lock().derived.acts(subject, name, from, until)
    }

    /// What is asked about, as far as nothing noted since answers it: entries whose forerunner
    /// is missing, and vessels that held less than nothing.
    pub fn questions(&self, most: u64) -> Result<Vec<Question>, StoreFault> {
        let inside = self.lock();
        let mut out = inside.below_nought()?;
        for row in inside.derived.marked(most)? {
            if row.contra_by.is_some() || row.contra_of.is_some() {
                continue;
            }
            let Some(entry) = inside.entry(row.serial)? else {
                continue;
            };
            let happened = entry.heading.happened_at.timestamp().as_microsecond();
            let kind = kind::kind(&entry.kind).ok();
            let missing = inside.derived.missing(kind, &entry.data, happened);
            let missing = missing.map_err(|e| crate::derived::trouble(&e))?;
            out.extend(missing.map(|says| Question { serial: row.serial, kind: row.kind, says }));
        }
        out.sort_by_key(|q| std::cmp::Reverse(q.serial));
        out.truncate(usize::try_from(most).unwrap_or(usize::MAX));
        Ok(out)
    }
}

impl Inside {
    /// For each account that falls below nought: the entry with which it first does, and how far
    /// it falls.
    fn below_nought(&self) -> Result<Vec<Question>, StoreFault> {
        let mut out = Vec::new();
        for (account, commodity) in self.derived.watched()? {
            let span = (Timestamp::MIN, Timestamp::MAX);
            let posted = self.derived.posted((&account, commodity), span.0, span.1)?;
            let (mut running, mut lowest, mut first) = (0_i64, 0_i64, None);
            for (serial, amount) in posted {
                running = running.saturating_add(amount.micro());
                if running < 0 {
                    lowest = lowest.min(running);
                    first = first.or(Some(serial));
                }
            }
            let Some(serial) = first else { continue };
            let kind = self.derived.row(serial)?.map(|row| row.kind).unwrap_or_default();
            let lowest = crate::derived::amount_of(commodity, lowest);
            out.push(Question { serial, kind, says: format!("{account} falls to {lowest}") });
        }
        Ok(out)
    }

    fn entry(&self, serial: u64) -> Result<Option<EntryView>, StoreFault> {
        let Some(before) = serial.checked_sub(1) else {
            return Ok(None);
        };
        // The entry before is read as well, for the hash this one is chained to.
        let page = self.store.read_after(before.saturating_sub(1), 2)?;
        let Some(sealed) = page.iter().find(|s| s.serial == serial) else {
            return Ok(None);
        };
        let Some(read) = body::read(&sealed.body) else {
            return Ok(None);
        };
        let hash_before = page.iter().find(|s| s.serial == before).map_or(ZERO, |s| s.hash);
        let row = self.derived.row(serial)?.unwrap_or(Row {
            serial,
            kind: read.kind.clone(),
            happened_at: read.heading.happened_at.to_string(),
            contra_of: None,
            contra_by: None,
            marks: Vec::new(),
        });
        Ok(Some(EntryView {
            serial,
            hash: sealed.hash,
            hash_before,
            heading: read.heading,
            kind: read.kind,
            version: read.version,
            postings: read.postings,
            data: read.data,
            body: String::from_utf8_lossy(&sealed.body).into_owned(),
            contra_of: row.contra_of,
            contra_by: row.contra_by,
            marks: row.marks,
        }))
    }
}
