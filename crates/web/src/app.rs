//! What every page may ask: the house, the book, the jobs under way and the clock.

use crate::jobs::Jobs;
use axum::extract::FromRequestParts;
use axum::http::HeaderMap;
use axum::http::request::Parts;
use book::{Book, StoreFault};
use forecast::Forecasts;
use house::{House, Standing};
use jiff::{Timestamp, ZonedDateTime, tz::TimeZone};
use std::convert::Infallible;
use std::fmt;
use std::hash::{BuildHasher, Hasher, RandomState};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, PoisonError, RwLock};

/// Tells what time it is. Tests and `--today` give one that does not run with the wall.
#[derive(Clone)]
pub struct Clock {
    now: Arc<dyn Fn() -> Timestamp + Send + Sync>,
    zone: TimeZone,
}

impl Clock {
    /// A clock that asks `now`, and shows the time of `zone`.
    pub fn new(zone: TimeZone, now: impl Fn() -> Timestamp + Send + Sync + 'static) -> Self {
        Self { now: Arc::new(now), zone }
    }
    /// The wall's clock, in the zone of this machine.
    pub fn wall() -> Self {
        Self::new(TimeZone::system(), Timestamp::now)
    }
    /// Now.
    pub fn now(&self) -> Timestamp {
        (self.now)()
    }
    /// `at` as the house's wall shows it.
    pub fn local(&self, at: Timestamp) -> ZonedDateTime {
        at.to_zoned_datetime(self.zone.clone())
    }
    /// Now, as the house's wall shows it.
    pub fn here(&self) -> ZonedDateTime {
        self.local(self.now())
    }
}

impl fmt::Debug for Clock {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Clock").field("zone", &self.zone).finish_non_exhaustive()
    }
}

/// Which names this program answers to.
///
/// Where nobody logs in, only the machine itself may ask. A page elsewhere could otherwise point a
/// name of its own at this machine and write in the book through the reader's browser.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hosts {
    /// Only loopback names and addresses.
    Loopback,
    /// Any name: the caller sees to who may come in.
    Any,
}

/// The book that is open, the house it is kept in, and what the forecast says of it.
#[derive(Debug)]
pub struct Working {
    /// The book.
    pub book: Book,
    /// The house it is kept in.
    pub house: House,
    pub(crate) stillhouse: crate::places::Stills,
    pub(crate) maltings: crate::places::Malting,
    /// The work of the day, by entry, minute and how many makes are foretold.
    pub(crate) dues: crate::places::Kept<(u64, i64, usize), Vec<plan::Work>>,
    stands: crate::places::Kept<(u64, i64), Standing>,
    foretold: RwLock<Option<(i64, Arc<Forecasts>)>>,
    foretelling: AtomicBool,
}

impl Working {
    /// A house and its book.
    pub fn new(house: House, book: Book) -> Self {
        Self {
            book,
            house,
            stillhouse: crate::places::Stills::default(),
            maltings: crate::places::Malting::default(),
            dues: crate::places::Kept::default(),
            stands: crate::places::Kept::default(),
            foretold: RwLock::new(None),
            foretelling: AtomicBool::new(false),
        }
    }

    /// What stands in the vessels at `now`, without the casks: read once for each entry of the book
    /// and each minute.
    pub(crate) fn standing(&self, now: Timestamp) -> Result<Arc<Standing>, StoreFault> {
        let key = (self.book.last().serial, now.as_second().div_euclid(60));
        self.stands.get(key, || self.book.standing_without_casks(now))
    }

    /// The forecasts of every make for the day of `at`. Where they are not there yet they are
    /// reckoned off the request path; meanwhile the last good ones stand, or none.
    pub fn forecasts(self: &Arc<Self>, at: Timestamp) -> Option<Arc<Forecasts>> {
        let day = at.as_second().div_euclid(86_400);
        let kept = self.foretold.read().unwrap_or_else(PoisonError::into_inner).clone();
        let fresh = kept.as_ref().is_some_and(|(of, _)| *of == day);
        if !fresh && !self.foretelling.swap(true, Ordering::AcqRel) {
            let working = self.clone();
            std::thread::spawn(move || working.foretell(at));
        }
        kept.map(|(_, forecasts)| forecasts)
    }

    /// Reckons them and waits: for a start that would rather be late than bare, and for tests.
    pub fn foretell(&self, at: Timestamp) {
        let day = at.as_second().div_euclid(86_400);
        // A house that was loaded whole can be foretold; one make at fault leaves the others bare
        // rather than taking the page down.
        let standing = self.standing(at);
        let cuts = standing.map(|standing| standing.cuts.clone()).unwrap_or_default();
        let fitted = crate::places::fitted(self, at);
        let found = Forecasts::kept(&self.house, at, &cuts, &fitted).unwrap_or_default();
        *self.foretold.write().unwrap_or_else(PoisonError::into_inner) =
            Some((day, Arc::new(found)));
        self.foretelling.store(false, Ordering::Release);
    }
}

/// What every page may ask.
#[derive(Debug)]
pub struct App {
    /// Jobs under way and done.
    pub jobs: Jobs,
    /// The clock.
    pub clock: Clock,
    /// Which names are answered to.
    pub hosts: Hosts,
    /// Name of the house.
    pub name: String,
    working: RwLock<Option<Arc<Working>>>,
    ids: AtomicU64,
}

impl App {
    /// A program that has no book yet: the bench works, the other places say what they wait for.
    pub fn new(name: impl Into<String>, clock: Clock) -> Self {
        Self {
            jobs: Jobs::default(),
            clock,
            hosts: Hosts::Loopback,
            name: name.into(),
            working: RwLock::new(None),
            ids: AtomicU64::new(0),
        }
    }

    /// Gives the pages a book, once it is there.
    pub fn open(&self, working: Working) {
        *self.working.write().unwrap_or_else(PoisonError::into_inner) = Some(Arc::new(working));
    }

    /// The book, once it is there.
    pub fn working(&self) -> Option<Arc<Working>> {
        self.working.read().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// An id for a form, so that what is sent twice is one entry. Unlike any other of this
    /// program and, by the time in it, of those before it.
    pub fn new_id(&self) -> String {
        let nth = self.ids.fetch_add(1, Ordering::Relaxed);
        // The map's keys are drawn afresh by the system for each, so two programs that start in
        // the same microsecond still differ.
        let drawn = RandomState::new().build_hasher().finish();
        format!("{:x}-{drawn:016x}-{nth:x}", Timestamp::now().as_microsecond())
    }
}

/// How the reader wants the page: which light, and whether only a part is asked for.
#[derive(Debug, Clone, Default)]
pub struct Seen {
    /// `day`, `night`, or as the device says.
    pub light: Option<&'static str>,
    /// Whether the script asks for a part of the page.
    pub part: bool,
    /// The address, to come back to.
    pub address: String,
}

impl<S: Sync> FromRequestParts<S> for Seen {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Infallible> {
        let address = parts.uri.path_and_query().map_or("/", |p| p.as_str());
        let asked = parts.uri.query().and_then(|q| {
            q.split('&').find_map(|pair| pair.strip_prefix("light=")).and_then(light)
        });
        Ok(Self {
            light: asked.or_else(|| cookie(&parts.headers, "light").and_then(light)),
            part: parts.headers.contains_key("x-part"),
            address: address.to_owned(),
        })
    }
}

/// The light a word asks for.
pub(crate) fn light(word: &str) -> Option<&'static str> {
    match word {
        "day" => Some("day"),
        "night" => Some("night"),
        _ => None,
    }
}

fn cookie<'a>(headers: &'a HeaderMap, name: &str) -> Option<&'a str> {
    let all = headers.get(axum::http::header::COOKIE)?.to_str().ok()?;
    all.split(';').find_map(|pair| {
        let (key, value) = pair.trim().split_once('=')?;
        (key == name).then_some(value)
    })
}
