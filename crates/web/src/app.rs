//! What every page may ask: the house, the book, the jobs under way and the clock.

use crate::jobs::Jobs;
use axum::extract::FromRequestParts;
use axum::http::HeaderMap;
use axum::http::request::Parts;
use jiff::{Timestamp, ZonedDateTime, tz::TimeZone};
use std::convert::Infallible;
use std::fmt;
use std::sync::Arc;

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
