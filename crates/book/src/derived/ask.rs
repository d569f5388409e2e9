//! Questions to the derived state, by when things happened.

use super::{Derived, trouble};
use crate::account::{Account, Commodity};
use crate::amount::Amount;
use crate::body;
use crate::entry::Posting;
use crate::kind::{Subject, Way};
use crate::store::StoreFault;
use gauge::Node;
use jiff::Timestamp;
use rusqlite::types::Type;
use rusqlite::{OptionalExtension, ToSql, params};
use std::collections::BTreeMap;

/// Something that was done to a subject.
#[derive(Debug, Clone, PartialEq)]
pub struct Act {
    /// Whose name the subject bears.
    pub name: String,
    /// The entry.
    pub serial: u64,
    /// When it happened.
    pub at: Timestamp,
    /// Into it, out of it, or neither.
    pub way: String,
    /// The kind of entry.
    pub kind: String,
    /// Its figures and words.
    pub data: Node,
}

impl Act {
    /// A word of it; empty when it is not there.
    pub fn word(&self, key: &str) -> String {
        match self.data.get(key) {
            Some(Node::Text(text)) => text.clone(),
            _ => String::new(),
        }
    }
    /// A figure of it.
    pub fn figure(&self, key: &str) -> Option<f64> {
        self.data.get(key).and_then(Node::number)
    }
}

/// One entry in a list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// Its serial.
    pub serial: u64,
    /// Its kind.
    pub kind: String,
    /// When it happened, RFC 3339 with offset.
    pub happened_at: String,
    /// The entry it reverses.
    pub contra_of: Option<u64>,
    /// The contra that reverses it.
    pub contra_by: Option<u64>,
    /// What was asked about it when it was noted.
    pub marks: Vec<String>,
}

const ACT: &str = "SELECT name, serial, happened_us, way, kind, data FROM act";

fn act(row: &rusqlite::Row<'_>) -> rusqlite::Result<Act> {
    let data: String = row.get(5)?;
    let data: serde_json::Value = serde_json::from_str(&data)
        .map_err(|e| rusqlite::Error::FromSqlConversionFailure(5, Type::Text, Box::new(e)))?;
    Ok(Act {
        name: row.get(0)?,
        serial: row.get::<_, i64>(1)? as u64,
        at: stamp(row.get(2)?),
        way: row.get(3)?,
        kind: row.get(4)?,
        data: body::node(&data),
    })
}

/// A moment from its microseconds. Only those that were a moment once are stored.
fn stamp(us: i64) -> Timestamp {
    Timestamp::from_microsecond(us).unwrap_or(Timestamp::UNIX_EPOCH)
}

impl Derived {
    /// What an account held at a moment.
    pub fn balance(
        &self,
        account: &Account,
        commodity: Commodity,
        at: Timestamp,
    ) -> Result<Amount, StoreFault> {
        self.balance_us(account, commodity, at.as_microsecond())
            .map(Amount::from_micro)
            .map_err(|e| trouble(&e))
    }

    /// Every balance at a moment that is not nought.
    pub fn balances(
        &self,
        at: Timestamp,
    ) -> Result<BTreeMap<(Account, Commodity), Amount>, StoreFault> {
        self.balances_us(at.as_microsecond()).map_err(|e| trouble(&e))
    }

    fn balances_us(&self, at_us: i64) -> rusqlite::Result<BTreeMap<(Account, Commodity), Amount>> {
        let mut query = self.db.prepare_cached(
            "SELECT account, commodity, sum(micro) FROM (
               SELECT account, commodity, micro FROM balance WHERE micro <> 0
               UNION ALL
               SELECT account, commodity, -micro FROM posting WHERE happened_us > ?1)
             GROUP BY account, commodity HAVING sum(micro) <> 0",
        )?;
        let mut rows = query.query([at_us])?;
        let mut out = BTreeMap::new();
        while let Some(row) = rows.next()? {
            let account = row.get_ref(0)?.as_str()?.parse::<Account>();
            let commodity = Commodity::from_key(row.get_ref(1)?.as_str()?);
            if let (Ok(account), Some(commodity)) = (account, commodity) {
                out.insert((account, commodity), Amount::from_micro(row.get(2)?));
            }
        }
        Ok(out)
    }

    /// The latest act of one of `kinds` upon a subject, not after `at`.
    pub fn latest(
        &self,
        subject: Subject,
        name: &str,
        kinds: &[&str],
        at: Timestamp,
    ) -> Result<Option<Act>, StoreFault> {
        self.first_of(subject, name, at, |act| kinds.contains(&act.kind.as_str()))
    }

    /// The latest act that went this way.
    pub fn latest_way(
        &self,
        subject: Subject,
        name: &str,
        way: Way,
        at: Timestamp,
    ) -> Result<Option<Act>, StoreFault> {
        self.first_of(subject, name, at, |act| act.way == way.key())
    }

    fn first_of(
        &self,
        subject: Subject,
        name: &str,
        at: Timestamp,
        wanted: impl Fn(&Act) -> bool,
    ) -> Result<Option<Act>, StoreFault> {
        let sql = format!(
            "{ACT} WHERE subject = ? AND name = ? AND happened_us <= ? AND voided_by IS NULL
             ORDER BY happened_us DESC, serial DESC"
        );
        let find = || {
            let mut query = self.db.prepare_cached(&sql)?;
            let rows = query.query_map(params![subject.key(), name, at.as_microsecond()], act)?;
            for row in rows {
                let act = row?;
                if wanted(&act) {
                    return Ok(Some(act));
                }
            }
            Ok(None)
        };
        find().map_err(|e| trouble(&e))
    }

    /// All acts upon one subject between two moments, oldest first.
    pub fn acts(
        &self,
        subject: Subject,
        name: &str,
        from: Timestamp,
        until: Timestamp,
    ) -> Result<Vec<Act>, StoreFault> {
        let sql = format!(
            "{ACT} WHERE subject = ? AND name = ? AND happened_us BETWEEN ? AND ?
             AND voided_by IS NULL ORDER BY happened_us, serial"
        );
        let find = || {
            let mut query = self.db.prepare_cached(&sql)?;
            query
                .query_map(
                    params![subject.key(), name, from.as_microsecond(), until.as_microsecond()],
                    act,
                )?
                .collect::<rusqlite::Result<Vec<_>>>()
        };
        find().map_err(|e| trouble(&e))
    }

    /// The acts of some kinds upon one subject not after `at`, oldest first.
    pub fn acts_of(
        &self,
        subject: Subject,
        name: &str,
        kinds: &[&str],
        at: Timestamp,
    ) -> Result<Vec<Act>, StoreFault> {
        let marks = vec!["?"; kinds.len()].join(", ");
        let sql = format!(
            "{ACT} WHERE subject = ? AND name = ? AND happened_us <= ? AND voided_by IS NULL
             AND kind IN ({marks}) ORDER BY happened_us, serial"
        );
        let find = || {
            let mut query = self.db.prepare_cached(&sql)?;
            let at_us = at.as_microsecond();
            let mut values: Vec<&dyn ToSql> = Vec::with_capacity(3 + kinds.len());
            let subject = subject.key();
            values.extend([&subject as &dyn ToSql, &name, &at_us]);
            values.extend(kinds.iter().map(|kind| kind as &dyn ToSql));
            query.query_map(values.as_slice(), act)?.collect::<rusqlite::Result<Vec<_>>>()
        };
        find().map_err(|e| trouble(&e))
    }

    /// All acts upon every subject of one sort not after `until`, by name and then by time.
    pub fn acts_of_all(&self, subject: Subject, until: Timestamp) -> Result<Vec<Act>, StoreFault> {
        let sql = format!(
            "{ACT} WHERE subject = ? AND happened_us <= ? AND voided_by IS NULL
             ORDER BY name, happened_us, serial"
        );
        let find = || {
            let mut query = self.db.prepare_cached(&sql)?;
            query
                .query_map(params![subject.key(), until.as_microsecond()], act)?
                .collect::<rusqlite::Result<Vec<_>>>()
        };
        find().map_err(|e| trouble(&e))
    }

    /// The runs of stills of which anything was first noted between two moments, latest first.
    pub(crate) fn runs(
        &self,
        from: Timestamp,
        until: Timestamp,
        most: usize,
    ) -> Result<Vec<String>, StoreFault> {
        self.begun(
            "subject = 'run' AND kind IN ('charge', 'run_off', 'discharge')",
            (from, until),
            most,
        )
    }

    /// The pieces of which anything was first noted between two moments, latest first.
    pub(crate) fn pieces(
        &self,
        from: Timestamp,
        until: Timestamp,
        most: usize,
    ) -> Result<Vec<String>, StoreFault> {
        let which = "subject = 'piece' AND kind IN ('steep', 'lay', 'load', 'strip')";
        self.begun(which, (from, until), most)
    }

    /// `which` is the condition of the index that is meant, word for word.
    fn begun(
        &self,
        which: &str,
        (from, until): (Timestamp, Timestamp),
        most: usize,
    ) -> Result<Vec<String>, StoreFault> {
        let sql = format!(
            "SELECT name, min(happened_us) AS first FROM act
             WHERE {which} AND voided_by IS NULL AND happened_us <= ?1
             GROUP BY name HAVING first >= ?2
             ORDER BY first DESC, CAST(name AS INTEGER) DESC LIMIT ?3"
        );
        let find = || {
            let mut query = self.db.prepare_cached(&sql)?;
            let most = i64::try_from(most).unwrap_or(i64::MAX);
            query
                .query_map(params![until.as_microsecond(), from.as_microsecond(), most], |row| {
                    row.get(0)
                })?
                .collect::<rusqlite::Result<Vec<String>>>()
        };
        find().map_err(|e| trouble(&e))
    }

    /// Who wrote an entry.
    pub(crate) fn writer(&self, serial: u64) -> Result<String, StoreFault> {
        self.db
            .prepare_cached("SELECT writer FROM entry WHERE serial = ?")
            .and_then(|mut query| query.query_row([serial.cast_signed()], |row| row.get(0)))
            .optional()
            .map(Option::unwrap_or_default)
            .map_err(|e| trouble(&e))
    }

    /// What an entry posted.
    pub fn postings(&self, serial: u64) -> Result<Vec<Posting>, StoreFault> {
        let find = || {
            let mut query = self.db.prepare_cached(
                "SELECT account, commodity, micro FROM posting WHERE serial = ? ORDER BY line",
            )?;
            let mut rows = query.query([serial.cast_signed()])?;
            let mut out = Vec::new();
            while let Some(row) = rows.next()? {
                let account = row.get_ref(0)?.as_str()?.parse::<Account>();
                let commodity = Commodity::from_key(row.get_ref(1)?.as_str()?);
                if let (Ok(account), Some(commodity)) = (account, commodity) {
                    out.push(Posting {
                        account,
                        commodity,
                        amount: Amount::from_micro(row.get(2)?),
                    });
                }
            }
            Ok(out)
        };
        find().map_err(|e| trouble(&e))
    }

    /// The latest `most` amounts posted to an account between two moments, oldest first: serial,
    /// amount.
    pub(crate) fn posted(
        &self,
        (account, commodity): (&Account, Commodity),
        from: Timestamp,
        until: Timestamp,
    ) -> Result<Vec<(u64, Amount)>, StoreFault> {
        let find = || {
            let mut query = self.db.prepare_cached(
                "SELECT serial, sum(micro) FROM posting
                 WHERE account = ? AND commodity = ? AND happened_us > ? AND happened_us <= ?
                 GROUP BY happened_us, serial ORDER BY happened_us, serial",
            )?;
            query
                .query_map(
                    params![
                        account.to_string(),
                        commodity.key(),
                        from.as_microsecond(),
                        until.as_microsecond()
                    ],
                    |row| Ok((row.get::<_, i64>(0)? as u64, Amount::from_micro(row.get(1)?))),
                )?
                .collect::<rusqlite::Result<Vec<_>>>()
        };
        find().map_err(|e| trouble(&e))
    }

    /// What is known of an entry beside its bytes.
    pub fn row(&self, serial: u64) -> Result<Option<Row>, StoreFault> {
        self.rows_where("serial = ?1", serial.cast_signed()).map(|rows| rows.into_iter().next())
    }

    /// The entries that were marked, latest first.
    pub(crate) fn marked(&self, most: u64) -> Result<Vec<Row>, StoreFault> {
        self.rows_where("marks <> '' ORDER BY serial DESC LIMIT ?1", most.cast_signed())
    }

    /// The accounts that fell below nought at some time when last looked at.
    pub(crate) fn watched(&self) -> Result<Vec<(Account, Commodity)>, StoreFault> {
        let find = || {
            let mut query = self.db.prepare_cached("SELECT account, commodity FROM watch")?;
            let mut rows = query.query([])?;
            let mut out = Vec::new();
            while let Some(row) = rows.next()? {
                let account = row.get_ref(0)?.as_str()?.parse::<Account>();
                let commodity = Commodity::from_key(row.get_ref(1)?.as_str()?);
                out.extend(account.ok().zip(commodity));
            }
            Ok(out)
        };
        find().map_err(|e| trouble(&e))
    }

    fn rows_where(&self, condition: &str, value: i64) -> Result<Vec<Row>, StoreFault> {
        let sql = format!(
            "SELECT serial, kind, contra_of, contra_by, marks, happened FROM entry
             WHERE {condition}"
        );
        let find = || {
            let mut query = self.db.prepare_cached(&sql)?;
            query
                .query_map([value], |row| {
                    let marks: String = row.get(4)?;
                    let number = |n: Option<i64>| n.map(|n| n as u64);
                    Ok(Row {
                        serial: row.get::<_, i64>(0)? as u64,
                        kind: row.get(1)?,
                        happened_at: row.get(5)?,
                        contra_of: number(row.get(2)?),
                        contra_by: number(row.get(3)?),
                        marks: marks.lines().map(str::to_owned).collect(),
                    })
                })?
                .collect::<rusqlite::Result<Vec<_>>>()
        };
        find().map_err(|e| trouble(&e))
    }

    /// How many entries it knows.
    pub fn count(&self) -> Result<u64, StoreFault> {
        self.db
            .query_row("SELECT count(*) FROM entry", [], |row| row.get::<_, i64>(0))
            .optional()
            .map(|n| n.unwrap_or(0) as u64)
            .map_err(|e| trouble(&e))
    }
}
