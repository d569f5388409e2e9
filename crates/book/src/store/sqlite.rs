//! The journal in one embedded SQLite file. All writes go through one thread.

use super::lock::{Holder, Lock};
use super::{Last, Sealed, Store, StoreFault};
use crate::hash::{Hash, ZERO};
use rusqlite::types::ValueRef;
use rusqlite::{Connection, ErrorCode, OpenFlags, OptionalExtension, params};
use std::path::{Path, PathBuf};
use std::sync::mpsc;
use std::thread::JoinHandle;

/// The file format; a later one is not read.
const FORMAT: i64 = 1;

const SCHEMA: &str = "
CREATE TABLE IF NOT EXISTS journal (
  serial INTEGER PRIMARY KEY CHECK (serial > 0),
  id TEXT NOT NULL UNIQUE,
  hash BLOB NOT NULL CHECK (length(hash) = 32),
  body BLOB NOT NULL
) STRICT;
CREATE TRIGGER IF NOT EXISTS journal_is_not_changed BEFORE UPDATE ON journal
  BEGIN SELECT RAISE(ABORT, 'the journal is not changed'); END;
CREATE TRIGGER IF NOT EXISTS journal_is_not_deleted BEFORE DELETE ON journal
  BEGIN SELECT RAISE(ABORT, 'nothing is deleted from the journal'); END;
";

struct Job {
    expected: Last,
    entries: Vec<Sealed>,
    answer: mpsc::SyncSender<Result<Last, StoreFault>>,
}

/// The embedded engine.
pub struct SqliteStore {
    reader: Connection,
    writer: Option<(mpsc::Sender<Job>, JoinHandle<()>)>,
    lock: Option<Lock>,
    read_only: Option<StoreFault>,
    path: PathBuf,
}

impl SqliteStore {
    /// Opens the journal at `path` for writing, making it when it is not there. Whoever comes
    /// second is told who holds it; that one may still [`SqliteStore::open_read_only`].
    pub fn open(path: &Path, holder: &Holder) -> Result<Self, StoreFault> {
        let lock = Lock::take(&path.with_extension("lock"), holder)?;
        let writer = Connection::open(path).map_err(|e| unreadable(&e))?;
        prepare(&writer).map_err(|e| unreadable(&e))?;
        let reader = reading(path)?;
        check_format(&reader)?;
        let (sender, jobs) = mpsc::channel();
        let thread = std::thread::Builder::new()
            .name("book-writer".to_owned())
            .spawn(move || write_all(&writer, &jobs))
            .map_err(|error| StoreFault::Unreadable { because: error.to_string() })?;
        Ok(Self {
            reader,
            writer: Some((sender, thread)),
            lock: Some(lock),
            read_only: None,
            path: path.to_owned(),
        })
    }

    /// Opens the journal for reading, whoever writes it.
    pub fn open_read_only(path: &Path) -> Result<Self, StoreFault> {
        let reader = reading(path)?;
        check_format(&reader)?;
        Ok(Self {
            reader,
            writer: None,
            lock: None,
            read_only: Some(StoreFault::Refused {
                because: "it was opened for reading only".to_owned(),
            }),
            path: path.to_owned(),
        })
    }

    /// Says in the lock how the book is served, once that is known.
    pub fn say_served(&mut self, holder: &Holder) -> Result<(), StoreFault> {
        let Some(lock) = &mut self.lock else {
            return Ok(());
        };
        lock.write(holder).map_err(|error| StoreFault::Unreadable { because: error.to_string() })
    }

    /// Where the journal lies.
    pub fn path(&self) -> &Path {
        &self.path
    }
}

impl std::fmt::Debug for SqliteStore {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("SqliteStore")
            .field("path", &self.path)
            .field("read_only", &self.read_only)
            .finish_non_exhaustive()
    }
}

impl Drop for SqliteStore {
    fn drop(&mut self) {
        if let Some((sender, thread)) = self.writer.take() {
            drop(sender);
            let _ = thread.join();
        }
    }
}

impl Store for SqliteStore {
    fn append(&mut self, expected: Last, entries: &[Sealed]) -> Result<Last, StoreFault> {
        if let Some(fault) = &self.read_only {
            return Err(fault.clone());
        }
        let gone = || StoreFault::Doubtful { because: "the writing thread is gone".to_owned() };
        let Some((writer, _)) = &self.writer else {
            return Err(gone());
        };
        let (answer, wait) = mpsc::sync_channel(1);
        let job = Job { expected, entries: entries.to_vec(), answer };
        let result = match writer.send(job) {
            Ok(()) => wait.recv().unwrap_or_else(|_| Err(gone())),
            Err(_) => Err(gone()),
        };
        if let Err(fault @ StoreFault::Doubtful { .. }) = &result {
            self.read_only = Some(fault.clone());
        }
        result
    }

    fn find(&self, id: &str) -> Result<Option<u64>, StoreFault> {
        self.reader
            .prepare_cached("SELECT serial FROM journal WHERE id = ?1")
            .and_then(|mut q| q.query_row([id], |row| row.get::<_, i64>(0)).optional())
            .map(|serial| serial.map(|s| s as u64))
            .map_err(|e| unreadable(&e))
    }

    fn read_after(&self, serial: u64, most: usize) -> Result<Vec<Sealed>, StoreFault> {
        let sql = "SELECT serial, id, hash, body FROM journal WHERE serial > ?1
                   ORDER BY serial LIMIT ?2";
        let mut query = self.reader.prepare_cached(sql).map_err(|e| unreadable(&e))?;
        let rows =
            query.query_map(params![serial.cast_signed(), (most as u64).cast_signed()], sealed);
        rows.and_then(Iterator::collect).map_err(|e| unreadable(&e))
    }

    fn last(&self) -> Result<Last, StoreFault> {
        last_of(&self.reader).map_err(|e| unreadable(&e))
    }

    fn backup(&self, to: &Path) -> Result<(), StoreFault> {
        if to.exists() {
            return Err(StoreFault::Refused {
                because: format!("{} is there already", to.display()),
            });
        }
        let copy = || -> rusqlite::Result<()> {
            let mut target = Connection::open(to)?;
            let backup = rusqlite::backup::Backup::new(&self.reader, &mut target)?;
            backup.run_to_completion(256, std::time::Duration::ZERO, None)
        };
        copy().map_err(|e| unreadable(&e))
    }

    fn read_only(&self) -> Option<StoreFault> {
        self.read_only.clone()
    }
}

/// A row as it lies, also when its bytes are not what was written: the chain is to say so, not
/// the reading of it.
fn sealed(row: &rusqlite::Row<'_>) -> rusqlite::Result<Sealed> {
    let bytes = |value: ValueRef<'_>| match value {
        ValueRef::Text(bytes) | ValueRef::Blob(bytes) => bytes.to_vec(),
        _ => Vec::new(),
    };
    Ok(Sealed {
        serial: row.get::<_, i64>(0)? as u64,
        id: String::from_utf8_lossy(&bytes(row.get_ref(1)?)).into_owned(),
        hash: hash_of(row.get_ref(2)?),
        body: bytes(row.get_ref(3)?),
    })
}

fn hash_of(value: ValueRef<'_>) -> Hash {
    match value {
        ValueRef::Blob(bytes) => bytes.try_into().unwrap_or(ZERO),
        _ => ZERO,
    }
}

fn prepare(writer: &Connection) -> rusqlite::Result<()> {
    writer.busy_timeout(std::time::Duration::from_secs(5))?;
    writer.pragma_update(None, "journal_mode", "WAL")?;
    writer.pragma_update(None, "synchronous", "FULL")?;
    let format: i64 = writer.query_row("PRAGMA user_version", [], |row| row.get(0))?;
    if format == 0 {
        writer.execute_batch(SCHEMA)?;
        writer.pragma_update(None, "user_version", FORMAT)?;
    }
    // What an earlier process left in the log is on the disk before anything is trusted.
    writer.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()))
}

fn reading(path: &Path) -> Result<Connection, StoreFault> {
    if !path.is_file() {
        return Err(StoreFault::Unreadable {
            because: format!("there is no book at {}", path.display()),
        });
    }
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let reader = Connection::open_with_flags(path, flags).map_err(|e| unreadable(&e))?;
    let patience = std::time::Duration::from_secs(5);
    reader.busy_timeout(patience).map_err(|e| unreadable(&e))?;
    Ok(reader)
}

fn check_format(reader: &Connection) -> Result<(), StoreFault> {
    let format: i64 = reader
        .query_row("PRAGMA user_version", [], |row| row.get(0))
        .map_err(|e| unreadable(&e))?;
    if format == FORMAT {
        return Ok(());
    }
    Err(StoreFault::Unreadable {
        because: format!("its format is {format}; this program reads format {FORMAT}"),
    })
}

fn last_of(connection: &Connection) -> rusqlite::Result<Last> {
    let last = connection
        .prepare_cached("SELECT serial, hash FROM journal ORDER BY serial DESC LIMIT 1")?
        .query_row([], |row| {
            Ok(Last { serial: row.get::<_, i64>(0)? as u64, hash: hash_of(row.get_ref(1)?) })
        })
        .optional()?;
    Ok(last.unwrap_or(Last::NONE))
}

/// The writing thread: one job after the other until the store is dropped.
fn write_all(writer: &Connection, jobs: &mpsc::Receiver<Job>) {
    let mut doubtful: Option<StoreFault> = None;
    for job in jobs {
        let result = match &doubtful {
            Some(fault) => Err(fault.clone()),
            None => write_one(writer, job.expected, &job.entries),
        };
        if let Err(fault @ StoreFault::Doubtful { .. }) = &result {
            doubtful = Some(fault.clone());
        }
        let _ = job.answer.send(result);
    }
}

fn write_one(writer: &Connection, expected: Last, entries: &[Sealed]) -> Result<Last, StoreFault> {
    writer.execute_batch("BEGIN IMMEDIATE").map_err(|e| failed(&e))?;
    let written = insert(writer, expected, entries);
    if let Err(fault) = written {
        // A failed roll-back leaves the disk in doubt, whatever the first trouble was.
        return Err(match writer.execute_batch("ROLLBACK") {
            Err(error) if !writer.is_autocommit() => failed(&error),
            _ => fault,
        });
    }
    match writer.execute_batch("COMMIT") {
        Ok(()) => written,
        Err(error) => {
            let _ = writer.execute_batch("ROLLBACK");
            Err(failed(&error))
        }
    }
}

fn insert(writer: &Connection, expected: Last, entries: &[Sealed]) -> Result<Last, StoreFault> {
    let mut last = last_of(writer).map_err(|e| failed(&e))?;
    if last != expected {
        return Err(StoreFault::Conflict { expected: expected.serial, found: last.serial });
    }
    let sql = "INSERT INTO journal (serial, id, hash, body) VALUES (?1, ?2, ?3, ?4)";
    let mut query = writer.prepare_cached(sql).map_err(|e| failed(&e))?;
    for entry in entries {
        if entry.serial != last.serial + 1 {
            return Err(StoreFault::Refused {
                because: format!("entry {} does not follow {}", entry.serial, last.serial),
            });
        }
        query
            .execute(params![entry.serial.cast_signed(), entry.id, entry.hash, entry.body])
            .map_err(|error| match error.sqlite_error_code() {
                Some(ErrorCode::DiskFull) => StoreFault::Full,
                Some(ErrorCode::ConstraintViolation) => {
                    StoreFault::Refused { because: format!("the id {} is taken", entry.id) }
                }
                _ => failed(&error),
            })?;
        last = Last { serial: entry.serial, hash: entry.hash };
    }
    Ok(last)
}

fn failed(error: &rusqlite::Error) -> StoreFault {
    StoreFault::Doubtful { because: error.to_string() }
}

fn unreadable(error: &rusqlite::Error) -> StoreFault {
    StoreFault::Unreadable { because: error.to_string() }
}
