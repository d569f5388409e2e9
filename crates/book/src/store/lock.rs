//! Who holds the book. The lock is the system's own, so a killed process leaves none behind.

use super::StoreFault;
use std::fmt;
use std::fs::{File, OpenOptions, TryLockError};
use std::io::{Read, Seek, Write};
use std::path::Path;

/// The process that writes a book.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Holder {
    /// Process number.
    pub pid: u32,
    /// The machine.
    pub host: String,
    /// Since when, RFC 3339.
    pub since: String,
    /// How it is served: an address, or the command that holds it.
    pub served: String,
}

impl fmt::Display for Holder {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "the book is held by process {}", self.pid)?;
        if !self.host.is_empty() {
            write!(f, " on {}", self.host)?;
        }
        if !self.since.is_empty() {
            write!(f, " since {}", self.since)?;
        }
        if !self.served.is_empty() {
            write!(f, ", served at {}", self.served)?;
        }
        Ok(())
    }
}

impl Holder {
    fn lines(&self) -> String {
        let clean = |text: &str| text.replace('\n', " ");
        format!(
            "{}\n{}\n{}\n{}\n",
            self.pid,
            clean(&self.host),
            clean(&self.since),
            clean(&self.served)
        )
    }
    fn from_lines(text: &str) -> Self {
        let mut lines = text.lines();
        let pid = lines.next().and_then(|l| l.parse().ok()).unwrap_or(0);
        let mut next = || lines.next().unwrap_or_default().to_owned();
        Self { pid, host: next(), since: next(), served: next() }
    }
}

/// Held as long as it lives.
#[derive(Debug)]
pub(super) struct Lock {
    file: File,
}

impl Lock {
    /// Takes the lock at `path`, or says who has it.
    pub(super) fn take(path: &Path, holder: &Holder) -> Result<Self, StoreFault> {
        let unreadable = |error: std::io::Error| StoreFault::Unreadable {
            because: format!("{}: {error}", path.display()),
        };
        let file = OpenOptions::new()
            .read(true)
            .write(true)
            .create(true)
            .truncate(false)
            .open(path)
            .map_err(unreadable)?;
        match file.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => {
                return Err(StoreFault::Held(holder_of(path).unwrap_or_default()));
            }
            Err(TryLockError::Error(error)) => return Err(unreadable(error)),
        }
        let mut lock = Self { file };
        lock.write(holder).map_err(unreadable)?;
        Ok(lock)
    }

    /// Says anew how the book is served, once that is known.
    pub(super) fn write(&mut self, holder: &Holder) -> std::io::Result<()> {
        self.file.rewind()?;
        self.file.set_len(0)?;
        self.file.write_all(holder.lines().as_bytes())?;
        self.file.flush()
    }
}

/// Who wrote his name into the lock file last; only meaningful while the lock is held.
pub fn holder_of(path: &Path) -> Option<Holder> {
    let mut text = String::new();
    File::open(path).ok()?.read_to_string(&mut text).ok()?;
    (!text.is_empty()).then(|| Holder::from_lines(&text))
}
