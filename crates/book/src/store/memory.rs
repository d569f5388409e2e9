//! A store in memory, with a disk that can be made to fail: for tests, and for trying things out.

use super::{Last, Sealed, Store, StoreFault};
use std::path::Path;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// How a disk fails at one of its calls.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Failing {
    /// The call fails and nothing more reaches the disk.
    Lost,
    /// The sync fails although everything had reached the disk.
    ReachedAllTheSame,
    /// The disk is full.
    Full,
}

/// What outlives a store: the durable rows, and the count of calls to fail at.
#[derive(Debug, Clone, Default)]
pub struct Disk {
    inside: Arc<Mutex<Inside>>,
}

#[derive(Debug, Default)]
struct Inside {
    rows: Vec<Sealed>,
    calls: u64,
    fail_at: Option<(u64, Failing)>,
}

impl Disk {
    /// An empty disk that never fails.
    pub fn new() -> Self {
        Self::default()
    }
    /// Makes the `n`-th call from now on fail (1 is the next).
    pub fn fail_at(&self, n: u64, how: Failing) {
        let mut inside = self.lock();
        inside.calls = 0;
        inside.fail_at = Some((n, how));
    }
    /// No more failing.
    pub fn heal(&self) {
        self.lock().fail_at = None;
    }
    /// Changes a stored row behind the store's back.
    pub fn tamper(&self, change: impl FnOnce(&mut Vec<Sealed>)) {
        change(&mut self.lock().rows);
    }
    /// Opens it.
    pub fn open(&self) -> MemoryStore {
        MemoryStore { disk: self.clone(), doubtful: None }
    }
    fn lock(&self) -> MutexGuard<'_, Inside> {
        self.inside.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Inside {
    fn call(&mut self) -> Result<(), Failing> {
        self.calls += 1;
        match self.fail_at {
            Some((n, how)) if n == self.calls => Err(how),
            _ => Ok(()),
        }
    }
}

/// A store on a [`Disk`].
#[derive(Debug)]
pub struct MemoryStore {
    disk: Disk,
    doubtful: Option<StoreFault>,
}

impl Store for MemoryStore {
    fn append(&mut self, expected: Last, entries: &[Sealed]) -> Result<Last, StoreFault> {
        if let Some(fault) = &self.doubtful {
            return Err(fault.clone());
        }
        let found = self.last()?;
        if found != expected {
            return Err(StoreFault::Conflict { expected: expected.serial, found: found.serial });
        }
        let mut inside = self.disk.lock();
        if let Some(twice) = entries.iter().find(|e| inside.rows.iter().any(|r| r.id == e.id)) {
            return Err(StoreFault::Refused { because: format!("the id {} is taken", twice.id) });
        }
        let mut doubt = |because: &str| {
            let fault = StoreFault::Doubtful { because: because.to_owned() };
            self.doubtful = Some(fault.clone());
            Err(fault)
        };
        for _ in entries {
            match inside.call() {
                Ok(()) => {}
                Err(Failing::Full) => return Err(StoreFault::Full),
                Err(_) => return doubt("the write failed"),
            }
        }
        match inside.call() {
            Ok(()) => {}
            Err(Failing::ReachedAllTheSame) => {
                inside.rows.extend_from_slice(entries);
                return doubt("the sync failed");
            }
            Err(_) => return doubt("the sync failed"),
        }
        inside.rows.extend_from_slice(entries);
        drop(inside);
        self.last()
    }

    fn find(&self, id: &str) -> Result<Option<u64>, StoreFault> {
        let inside = self.disk.lock();
        Ok(inside.rows.iter().find(|r| r.id == id).map(|r| r.serial))
    }

    fn read_after(&self, serial: u64, most: usize) -> Result<Vec<Sealed>, StoreFault> {
        let inside = self.disk.lock();
        let after = inside.rows.iter().filter(|r| r.serial > serial);
        Ok(after.take(most).cloned().collect())
    }

    fn last(&self) -> Result<Last, StoreFault> {
        let inside = self.disk.lock();
        Ok(inside.rows.last().map_or(Last::NONE, |row| Last { serial: row.serial, hash: row.hash }))
    }

    fn backup(&self, _to: &Path) -> Result<(), StoreFault> {
        Err(StoreFault::Refused { because: "a book in memory has no file to copy".to_owned() })
    }

    fn read_only(&self) -> Option<StoreFault> {
        self.doubtful.clone()
    }
}
