//! What follows from the journal: accounts, and the acts upon each lot, vessel, piece, mash, run
//! and cask. It lives in a local SQLite file keyed by the last entry and the version of this fold,
//! whichever engine keeps the journal; it can be thrown away and comes back with the same digest.
//!
//! Entries are folded by serial, and every question is asked by when things happened, so that one
//! noted late falls into its place.

mod ask;
mod digest;

pub use ask::{Act, Row};

use crate::body;
use crate::kind;
use crate::store::{Last, Sealed, StoreFault};
use rusqlite::{Connection, OptionalExtension, params};
use std::path::Path;

/// The version of the fold. Whoever changes what is derived raises it.
pub const FOLD_VERSION: u32 = 4;

const SCHEMA: &str = "
CREATE TABLE meta (key TEXT PRIMARY KEY, value) WITHOUT ROWID;
CREATE TABLE entry (
  serial INTEGER PRIMARY KEY, id TEXT NOT NULL, kind TEXT NOT NULL,
  happened TEXT NOT NULL, happened_us INTEGER NOT NULL, noted_us INTEGER NOT NULL,
  contra_of INTEGER, contra_by INTEGER, marks TEXT NOT NULL, writer TEXT NOT NULL
);
CREATE INDEX entry_by_time ON entry (happened_us);
CREATE INDEX entry_marked ON entry (serial) WHERE marks <> '';
CREATE TABLE posting (
  serial INTEGER NOT NULL, line INTEGER NOT NULL, account TEXT NOT NULL,
  commodity TEXT NOT NULL, micro INTEGER NOT NULL, happened_us INTEGER NOT NULL,
  PRIMARY KEY (serial, line)
) WITHOUT ROWID;
CREATE INDEX posting_by_account ON posting (account, commodity, happened_us, serial, micro);
CREATE INDEX posting_by_time ON posting (happened_us);
CREATE TABLE balance (
  account TEXT NOT NULL, commodity TEXT NOT NULL, micro INTEGER NOT NULL,
  PRIMARY KEY (account, commodity)
) WITHOUT ROWID;
CREATE TABLE act (
  subject TEXT NOT NULL, name TEXT NOT NULL, happened_us INTEGER NOT NULL,
  serial INTEGER NOT NULL, way TEXT NOT NULL, kind TEXT NOT NULL,
  data TEXT NOT NULL, voided_by INTEGER,
  PRIMARY KEY (subject, name, happened_us, serial, way)
) WITHOUT ROWID;
CREATE INDEX act_by_serial ON act (serial);
CREATE INDEX run_by_time ON act (happened_us, name, voided_by)
  WHERE subject = 'run' AND kind IN ('charge', 'run_off', 'discharge');
CREATE INDEX piece_by_time ON act (happened_us, name, voided_by)
  WHERE subject = 'piece' AND kind IN ('steep', 'lay', 'load', 'strip');
CREATE TABLE watch (
  account TEXT NOT NULL, commodity TEXT NOT NULL, PRIMARY KEY (account, commodity)
) WITHOUT ROWID;
";

/// The derived state.
#[derive(Debug)]
pub struct Derived {
    db: Connection,
}

impl Derived {
    /// An empty one in memory.
    pub fn in_memory() -> Result<Self, StoreFault> {
        let derived = Self { db: Connection::open_in_memory().map_err(|e| trouble(&e))? };
        derived.prepare()?;
        derived.clear()?;
        Ok(derived)
    }

    /// The one in the file, emptied when it is not of this fold.
    pub fn open(path: &Path) -> Result<Self, StoreFault> {
        if let Ok(derived) = Self::open_as_it_is(path) {
            return Ok(derived);
        }
        // Whatever is wrong with it: nothing is lost that the journal does not know.
        for end in ["", "-wal", "-shm"] {
            let mut name = path.as_os_str().to_owned();
            name.push(end);
            let _ = std::fs::remove_file(name);
        }
        Self::open_as_it_is(path)
    }

    fn open_as_it_is(path: &Path) -> Result<Self, StoreFault> {
        let derived = Self { db: Connection::open(path).map_err(|e| trouble(&e))? };
        derived.prepare()?;
        let fold: i64 = derived
            .db
            .query_row("PRAGMA user_version", [], |row| row.get(0))
            .map_err(|e| trouble(&e))?;
        if fold != i64::from(FOLD_VERSION) {
            derived.clear()?;
        }
        derived.last()?;
        Ok(derived)
    }

    fn prepare(&self) -> Result<(), StoreFault> {
        self.db.set_prepared_statement_cache_capacity(64);
        self.db
            .execute_batch(
                "PRAGMA journal_mode = WAL; PRAGMA synchronous = NORMAL;
                 PRAGMA cache_size = -65536;",
            )
            .map_err(|e| trouble(&e))
    }

    /// Throws everything away.
    pub fn clear(&self) -> Result<(), StoreFault> {
        let drop = "DROP TABLE IF EXISTS meta; DROP TABLE IF EXISTS entry;
                    DROP TABLE IF EXISTS posting; DROP TABLE IF EXISTS balance;
                    DROP TABLE IF EXISTS act; DROP TABLE IF EXISTS watch;";
        self.db
            .execute_batch(&format!(
                "BEGIN; {drop} {SCHEMA} PRAGMA user_version = {FOLD_VERSION}; COMMIT;"
            ))
            .map_err(|e| trouble(&e))
    }

    /// Up to which entry it is folded.
    pub fn last(&self) -> Result<Last, StoreFault> {
        let row = self
            .db
            .query_row(
                "SELECT (SELECT value FROM meta WHERE key = 'serial'),
                        (SELECT value FROM meta WHERE key = 'hash')",
                [],
                |row| {
                    let serial: Option<i64> = row.get(0)?;
                    let hash: Option<[u8; 32]> = row.get(1)?;
                    Ok(serial.zip(hash))
                },
            )
            .map_err(|e| trouble(&e))?;
        Ok(row.map_or(Last::NONE, |(serial, hash)| Last { serial: serial as u64, hash }))
    }

    pub(crate) fn begin(&self) -> Result<(), StoreFault> {
        self.db.execute_batch("BEGIN").map_err(|e| trouble(&e))
    }

    pub(crate) fn keep(&self, last: Last) -> Result<(), StoreFault> {
        let set = "INSERT OR REPLACE INTO meta (key, value) VALUES (?1, ?2)";
        let mark = || {
            // An empty journal leaves no mark, whether it was folded or never looked at.
            if last != Last::NONE {
                self.db.execute(set, params!["serial", last.serial.cast_signed()])?;
                self.db.execute(set, params!["hash", last.hash])?;
            }
            self.db.execute_batch("COMMIT")
        };
        mark().map_err(|e| trouble(&e))
    }

    pub(crate) fn forget(&self) -> Result<(), StoreFault> {
        self.db.execute_batch("ROLLBACK").map_err(|e| trouble(&e))
    }

    /// Folds one entry in and gives what is asked about it. A body that cannot be read leaves no
    /// trace here; the chain says which it is.
    pub(crate) fn fold(&self, sealed: &Sealed) -> Result<Vec<String>, StoreFault> {
        match body::read(&sealed.body) {
            Some(read) => self.fold_read(sealed, &read).map_err(|e| trouble(&e)),
            None => Ok(Vec::new()),
        }
    }

    fn fold_read(&self, sealed: &Sealed, read: &body::Read) -> rusqlite::Result<Vec<String>> {
        let serial = sealed.serial.cast_signed();
        let happened = read.heading.happened_at.timestamp().as_microsecond();
        let noted = read.heading.noted_at.timestamp().as_microsecond();
        self.post(serial, happened, &read.postings)?;
        let contra_of = self.reverse(serial, read)?;
        let known = kind::kind(&read.kind).ok();
        if let Some(kind) = known {
            let sql = "INSERT OR REPLACE INTO act
                (subject, name, happened_us, serial, way, kind, data) VALUES (?,?,?,?,?,?,?)";
            let data = body::value(&read.data).to_string();
            let mut insert = self.db.prepare_cached(sql)?;
            for (subject, name, way) in kind.touched(&read.data) {
                insert.execute(params![
                    subject.key(),
                    name,
                    happened,
                    serial,
                    way.key(),
                    read.kind,
                    data
                ])?;
            }
        }
        let marks = self.marks(known, read, happened)?;
        self.db
            .prepare_cached(
                "INSERT INTO entry
                 (serial, id, kind, happened, happened_us, noted_us, contra_of, marks, writer)
                 VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
            )?
            .execute(params![
                serial,
                read.heading.id,
                read.kind,
                read.heading.happened_at.to_string(),
                happened,
                noted,
                contra_of,
                marks.join("\n"),
                read.heading.writer
            ])?;
        Ok(marks)
    }

    fn post(
        &self,
        serial: i64,
        happened: i64,
        postings: &[crate::Posting],
    ) -> rusqlite::Result<()> {
        let mut insert = self.db.prepare_cached(
            "INSERT INTO posting (serial, line, account, commodity, micro, happened_us)
             VALUES (?, ?, ?, ?, ?, ?)",
        )?;
        let mut sum = self.db.prepare_cached(
            "INSERT INTO balance (account, commodity, micro) VALUES (?1, ?2, ?3)
             ON CONFLICT (account, commodity) DO UPDATE SET micro = micro + ?3",
        )?;
        for (line, posting) in postings.iter().enumerate() {
            let account = posting.account.to_string();
            let commodity = posting.commodity.key();
            let micro = posting.amount.micro();
            insert.execute(params![
                serial,
                (line as u64).cast_signed(),
                account,
                commodity,
                micro,
                happened
            ])?;
            sum.execute(params![account, commodity, micro])?;
        }
        Ok(())
    }

    /// A contra takes the acts of what it reverses out of every answer.
    fn reverse(&self, serial: i64, read: &body::Read) -> rusqlite::Result<Option<i64>> {
        if read.kind != "contra" {
            return Ok(None);
        }
        let Some(of) = read.data.get("of").and_then(gauge::Node::number) else {
            return Ok(None);
        };
        let of = of as i64;
        self.db.execute("UPDATE act SET voided_by = ? WHERE serial = ?", [serial, of])?;
        self.db.execute("UPDATE entry SET contra_by = ? WHERE serial = ?", [serial, of])?;
        Ok(Some(of))
    }

    /// What is to be asked about an entry: an earlier one that is missing, a vessel that would
    /// hold less than nothing.
    fn marks(
        &self,
        kind: Option<&kind::Kind>,
        read: &body::Read,
        happened: i64,
    ) -> rusqlite::Result<Vec<String>> {
        let mut marks = Vec::from_iter(self.missing(kind, &read.data, happened)?);
        for posting in &read.postings {
            if posting.amount.micro() >= 0 || !posting.account.place().holds() {
                continue;
            }
            let (account, commodity) = (&posting.account, posting.commodity);
            let held = self.balance_us(account, commodity, happened)?;
            if held < 0 {
                marks.push(format!("{account} would hold {}", amount_of(commodity, held)));
            }
            self.watch(account, commodity, (happened, held))?;
        }
        Ok(marks)
    }

    /// The earlier entry that should be there and is not.
    pub(crate) fn missing(
        &self,
        kind: Option<&kind::Kind>,
        data: &gauge::Node,
        happened: i64,
    ) -> rusqlite::Result<Option<String>> {
        if let Some(after) = kind.and_then(|k| k.after)
            && let Some(name) = data.get(after.key).and_then(kind::named)
            && !self.was_there(&after, &name, happened)?
        {
            let before = after.kinds.join(" or ");
            let subject = after.subject.key();
            return Ok(Some(format!("no {before} of {subject} {name} is noted before it")));
        }
        Ok(None)
    }

    /// Keeps an eye on an account that falls below nought at this moment or later: an entry
    /// noted late may empty a vessel under what was taken from it since.
    fn watch(
        &self,
        account: &crate::Account,
        commodity: crate::Commodity,
        (happened, held): (i64, i64),
    ) -> rusqlite::Result<()> {
        let name = account.to_string();
        let mut later = self.db.prepare_cached(
            "SELECT micro FROM posting WHERE account = ? AND commodity = ? AND happened_us > ?
             ORDER BY happened_us, serial",
        )?;
        let mut rows = later.query(params![name, commodity.key(), happened])?;
        let (mut running, mut lowest) = (held, held);
        while let Some(row) = rows.next()? {
            running += row.get::<_, i64>(0)?;
            lowest = lowest.min(running);
        }
        if lowest < 0 {
            let sql = "INSERT OR IGNORE INTO watch (account, commodity) VALUES (?, ?)";
            self.db.prepare_cached(sql)?.execute(params![name, commodity.key()])?;
        }
        Ok(())
    }

    fn was_there(&self, after: &kind::After, name: &str, happened: i64) -> rusqlite::Result<bool> {
        let mut query = self.db.prepare_cached(
            "SELECT kind FROM act WHERE subject = ? AND name = ? AND happened_us <= ?
             AND voided_by IS NULL",
        )?;
        let mut rows = query.query(params![after.subject.key(), name, happened])?;
        while let Some(row) = rows.next()? {
            let kind = row.get_ref(0)?.as_str()?;
            if after.kinds.contains(&kind) {
                return Ok(true);
            }
        }
        Ok(false)
    }

    fn balance_us(
        &self,
        account: &crate::Account,
        commodity: crate::Commodity,
        until_us: i64,
    ) -> rusqlite::Result<i64> {
        let account = account.to_string();
        let now: Option<i64> = self
            .db
            .prepare_cached("SELECT micro FROM balance WHERE account = ? AND commodity = ?")?
            .query_row(params![account, commodity.key()], |row| row.get(0))
            .optional()?;
        let Some(now) = now else { return Ok(0) };
        let later: i64 = self
            .db
            .prepare_cached(
                "SELECT coalesce(sum(micro), 0) FROM posting
                 WHERE account = ? AND commodity = ? AND happened_us > ?",
            )?
            .query_row(params![account, commodity.key(), until_us], |row| row.get(0))?;
        Ok(now - later)
    }
}

pub(crate) fn trouble(error: &rusqlite::Error) -> StoreFault {
    StoreFault::Unreadable { because: error.to_string() }
}

/// An amount in a sentence.
pub(crate) fn amount_of(commodity: crate::Commodity, micro: i64) -> String {
    let label = commodity.label().to_lowercase();
    format!("{:.1} {} of {label}", micro as f64 / 1e6, commodity.unit())
}
