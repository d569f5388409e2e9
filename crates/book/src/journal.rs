//! The book as a whole: a store that keeps the journal, and what is derived from it.

use crate::derived::Derived;
use crate::entry::{Balanced, Draft, Entry};
use crate::fault::BookFault;
use crate::hash::{self, Hash};
use crate::kind::{self, Scene};
use crate::note::Noting;
use crate::store::{Disk, Holder, Last, Sealed, SqliteStore, Store, StoreFault};
use crate::{body, moment::Moment};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// Entries read from the store at a time.
const PAGE: usize = 2000;
/// Times that a writer who lost the race to another tries again.
const TRIES: u32 = 5;

/// A book, open. It may be shared between threads; one writes at a time.
#[derive(Debug)]
pub struct Book {
    inside: Mutex<Inside>,
}

pub(crate) struct Inside {
    pub(crate) store: Box<dyn Store>,
    pub(crate) derived: Derived,
    last: Last,
    broken: Option<StoreFault>,
}

impl std::fmt::Debug for Inside {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Inside")
            .field("last", &self.last.serial)
            .field("broken", &self.broken)
            .finish_non_exhaustive()
    }
}

/// What became of a thing that was told.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Noted {
    /// The serial of its entry.
    pub serial: u64,
    /// It was told before under this id, and is the entry it was.
    pub again: bool,
    /// What is asked about it: an earlier entry that is missing, a vessel that would hold less
    /// than nothing.
    pub marks: Vec<String>,
}

/// What a verification found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verified {
    /// Entries read.
    pub entries: u64,
    /// The end of the journal.
    pub last: Last,
    /// The first entry that is not what was sealed, and why.
    pub broken: Option<StoreFault>,
}

/// What a rebuild gave.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rebuilt {
    /// Entries folded.
    pub entries: u64,
    /// The digest of what was there before.
    pub before: Hash,
    /// The digest of what was made again.
    pub after: Hash,
}

/// Why a book is read-only.
pub type Trouble = StoreFault;

/// Where in a book's folder the journal lies.
fn journal_in(folder: &Path) -> PathBuf {
    folder.join("journal.sqlite")
}

impl Book {
    /// Opens the book in `folder` for writing, making it when it is not there. Whoever comes
    /// second is told who holds it ([`StoreFault::Held`]) and may [`Book::open_read_only`].
    /// A book whose chain is broken opens all the same, read-only; see [`Book::trouble`].
    pub fn open(folder: &Path, holder: &Holder) -> Result<Self, StoreFault> {
        std::fs::create_dir_all(folder).map_err(|error| StoreFault::Unreadable {
            because: format!("{}: {error}", folder.display()),
        })?;
        let store = SqliteStore::open(&journal_in(folder), holder)?;
        let derived = Derived::open(&folder.join("derived.sqlite"))?;
        Self::over(Box::new(store), derived)
    }

    /// Opens the book in `folder` for reading, whoever writes it. What is derived is made in
    /// memory, since the file belongs to the writer.
    pub fn open_read_only(folder: &Path) -> Result<Self, StoreFault> {
        let store = SqliteStore::open_read_only(&journal_in(folder))?;
        Self::over(Box::new(store), Derived::in_memory()?)
    }

    /// An empty book that is gone when it is dropped.
    pub fn in_memory() -> Result<Self, StoreFault> {
        Self::over(Box::new(Disk::new().open()), Derived::in_memory()?)
    }

    /// A book over any engine.
    pub fn over(store: Box<dyn Store>, derived: Derived) -> Result<Self, StoreFault> {
        let mut inside = Inside { last: store.last()?, store, derived, broken: None };
        let current = inside.derived.last()? == inside.last;
        inside.start(!current)?;
        Ok(Self { inside: Mutex::new(inside) })
    }

    pub(crate) fn lock(&self) -> MutexGuard<'_, Inside> {
        self.inside.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Why nothing can be written, when that is so.
    pub fn trouble(&self) -> Option<Trouble> {
        let inside = self.lock();
        inside.broken.clone().or_else(|| inside.store.read_only())
    }

    /// The end of the journal as far as this book has read it.
    pub fn last(&self) -> Last {
        self.lock().last
    }

    /// Notes one thing that happened.
    pub fn note(&self, noting: &Noting) -> Result<Noted, BookFault> {
        let noted = self.note_all(std::slice::from_ref(noting))?;
        Ok(noted.into_iter().next().expect("one noting gives one answer"))
    }

    /// Notes several, all or none, and comes back when they are on the disk.
    pub fn note_all(&self, notings: &[Noting]) -> Result<Vec<Noted>, BookFault> {
        let mut inside = self.lock();
        for _ in 1..TRIES {
            match inside.note_all(notings) {
                Err(BookFault::Store(StoreFault::Conflict { .. })) => inside.catch_up()?,
                done => return done,
            }
        }
        inside.note_all(notings)
    }

    /// Checks what would be noted and gives its faults, without noting it.
    pub fn check(&self, noting: &Noting) -> Result<(), BookFault> {
        let inside = self.lock();
        inside.draft(noting).map(|_| ())
    }

    /// Reads on when another process has written meanwhile. Gives the end of the journal.
    pub fn refresh(&self) -> Result<Last, StoreFault> {
        let mut inside = self.lock();
        inside.catch_up()?;
        Ok(inside.last)
    }

    /// Reads the whole journal and holds every entry against its hash.
    pub fn verify(&self) -> Result<Verified, StoreFault> {
        let inside = self.lock();
        let mut chain = Chain::new();
        inside.read_all(|sealed| {
            chain.follow(sealed);
            Ok(())
        })?;
        Ok(Verified { entries: chain.entries, last: chain.last, broken: chain.broken })
    }

    /// Throws away what is derived and makes it again from the journal.
    pub fn rebuild(&self) -> Result<Rebuilt, StoreFault> {
        let mut inside = self.lock();
        let before = inside.derived.digest()?;
        inside.start(true)?;
        Ok(Rebuilt { entries: inside.derived.count()?, before, after: inside.derived.digest()? })
    }

    /// The digest of what is derived.
    pub fn digest(&self) -> Result<Hash, StoreFault> {
        self.lock().derived.digest()
    }

    /// A whole copy of the journal in a new file.
    pub fn backup(&self, to: &Path) -> Result<(), StoreFault> {
        self.lock().store.backup(to)
    }
}

impl Inside {
    /// Reads the journal from its beginning: follows the chain, and folds when asked.
    fn start(&mut self, fold: bool) -> Result<(), StoreFault> {
        let mut chain = Chain::new();
        if fold {
            self.derived.clear()?;
            self.derived.begin()?;
        }
        self.read_all(|sealed| {
            // What the chain does not vouch for is not folded; what follows it is shown.
            let sound = chain.follow(sealed);
            if fold && sound {
                self.derived.fold(sealed)?;
            }
            Ok(())
        })?;
        if fold {
            self.derived.keep(chain.last)?;
        }
        self.last = chain.last;
        self.broken = chain.broken;
        Ok(())
    }

    fn read_all(
        &self,
        mut each: impl FnMut(&Sealed) -> Result<(), StoreFault>,
    ) -> Result<(), StoreFault> {
        let mut serial = 0;
        loop {
            let page = self.store.read_after(serial, PAGE)?;
            for sealed in &page {
                each(sealed)?;
            }
            match page.last() {
                // A serial that does not rise would be read for ever.
                Some(last) if last.serial > serial => serial = last.serial,
                _ => return Ok(()),
            }
        }
    }

    fn catch_up(&mut self) -> Result<(), StoreFault> {
        loop {
            let page = self.store.read_after(self.last.serial, PAGE)?;
            if page.is_empty() {
                return Ok(());
            }
            let mut chain = Chain { last: self.last, entries: 0, broken: None };
            self.derived.begin()?;
            for sealed in &page {
                if chain.follow(sealed) {
                    self.derived.fold(sealed)?;
                }
            }
            self.derived.keep(chain.last)?;
            self.last = chain.last;
            if chain.broken.is_some() {
                self.broken = chain.broken;
                return Ok(());
            }
        }
    }

    fn note_all(&mut self, notings: &[Noting]) -> Result<Vec<Noted>, BookFault> {
        if let Some(fault) = self.broken.clone().or_else(|| self.store.read_only()) {
            return Err(fault.into());
        }
        self.derived.begin()?;
        let done = self.seal_all(notings).and_then(|(noted, sealed)| {
            let last = if sealed.is_empty() {
                self.last
            } else {
                self.store.append(self.last, &sealed)?
            };
            Ok((noted, last))
        });
        match done {
            Ok((noted, last)) => {
                self.last = last;
                // From here on the entries are kept, whatever becomes of the derived state: if
                // it cannot be kept now it is made again at the next opening.
                self.derived.keep(last)?;
                Ok(noted)
            }
            Err(fault) => {
                self.derived.forget()?;
                Err(fault)
            }
        }
    }

    fn seal_all(&self, notings: &[Noting]) -> Result<(Vec<Noted>, Vec<Sealed>), BookFault> {
        let mut last = self.last;
        let mut noted = Vec::with_capacity(notings.len());
        let mut sealed: Vec<Sealed> = Vec::with_capacity(notings.len());
        let mut ids = std::collections::HashMap::new();
        for noting in notings {
            let id = noting.id_text();
            let known = match ids.get(id) {
                Some(serial) => Some(*serial),
                None => self.store.find(id)?,
            };
            if let Some(serial) = known {
                let row = self.derived.row(serial)?;
                noted.push(Noted {
                    serial,
                    again: true,
                    marks: row.map(|r| r.marks).unwrap_or_default(),
                });
                continue;
            }
            let one = self.draft(noting)?.seal(last);
            let marks = self.derived.fold(&one)?;
            ids.insert(one.id.clone(), one.serial);
            last = Last { serial: one.serial, hash: one.hash };
            noted.push(Noted { serial: one.serial, again: false, marks });
            sealed.push(one);
        }
        Ok((noted, sealed))
    }

    fn draft(&self, noting: &Noting) -> Result<Entry<Balanced>, BookFault> {
        let mut heading = noting.heading()?;
        let kind = kind::kind(noting.kind())?;
        if !kind.writers.contains(&heading.role) {
            return Err(BookFault::NotYours { kind: kind.key.to_owned(), role: heading.role });
        }
        if kind.key == "contra"
            && let Some(of) = noting.fields().get("of").and_then(gauge::Node::number)
            && of.fract() == 0.0
            && of >= 1.0
        {
            // A contra stands on the day of what it reverses, so that no balance of any day
            // between keeps the wrong figure; when it was written is told beside.
            heading.happened_at = self.may_reverse(of as u64)?;
        }
        let scene = Scene::new(&self.derived, heading.happened_at.timestamp());
        let drafted = kind.draft(noting.fields(), &scene)?;
        Entry::<Draft>::new(heading, kind.key, kind.version, drafted.data)
            .with(drafted.postings)
            .balance()
            .map_err(BookFault::Unbalanced)
    }

    fn may_reverse(&self, serial: u64) -> Result<Moment, BookFault> {
        let row = self.derived.row(serial)?.ok_or(BookFault::NoSuchEntry { serial })?;
        if row.kind == "contra" {
            return Err(BookFault::ContraOfContra { serial });
        }
        if let Some(by) = row.contra_by {
            return Err(BookFault::AlreadyReversed { serial, by });
        }
        row.happened_at.parse()
    }
}

/// Follows the chain from entry to entry.
struct Chain {
    last: Last,
    entries: u64,
    broken: Option<StoreFault>,
}

impl Chain {
    fn new() -> Self {
        Self { last: Last::NONE, entries: 0, broken: None }
    }

    /// Takes one more; false when it is not what was sealed. The chain is then followed on from
    /// what is stored, so that one bad entry does not hide whether the rest is sound.
    fn follow(&mut self, sealed: &Sealed) -> bool {
        let because = if sealed.serial != self.last.serial + 1 {
            Some(format!("it follows entry {}", self.last.serial))
        } else if hash::chain(&self.last.hash, sealed.serial, &sealed.body) != sealed.hash {
            Some("its bytes do not give its hash".to_owned())
        } else if !body::begins_with_id(&sealed.body, &sealed.id) {
            Some(format!("it is filed under the id {}, not its own", sealed.id))
        } else {
            None
        };
        self.entries += 1;
        self.last = Last { serial: sealed.serial, hash: sealed.hash };
        let sound = because.is_none();
        if let (Some(because), None) = (because, &self.broken) {
            self.broken = Some(StoreFault::Broken { serial: sealed.serial, because });
        }
        sound
    }
}
