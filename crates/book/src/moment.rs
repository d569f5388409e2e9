//! A moment with the offset of the place it was noted in.

use jiff::Timestamp;
use jiff::tz::{Offset, TimeZone};
use std::fmt;
use std::str::FromStr;

/// An instant, and how far the clock on the wall stood from UTC. Ordered by the instant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Moment {
    at: Timestamp,
    offset: Offset,
}

impl Moment {
    /// `at`, as a clock `offset` from UTC shows it.
    pub fn new(at: Timestamp, offset: Offset) -> Self {
        Self { at, offset }
    }
    /// `at`, as a clock in `zone` shows it.
    pub fn in_zone(at: Timestamp, zone: &TimeZone) -> Self {
        Self::new(at, zone.to_offset(at))
    }
    /// The instant.
    pub fn timestamp(self) -> Timestamp {
        self.at
    }
    /// The clock's distance from UTC.
    pub fn offset(self) -> Offset {
        self.offset
    }
}

impl From<Timestamp> for Moment {
    fn from(at: Timestamp) -> Self {
        Self::new(at, Offset::UTC)
    }
}

impl PartialOrd for Moment {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Moment {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        (self.at, self.offset.seconds()).cmp(&(other.at, other.offset.seconds()))
    }
}

impl fmt::Display for Moment {
    /// RFC 3339 with offset.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.at.display_with_offset(self.offset))
    }
}

impl FromStr for Moment {
    type Err = crate::BookFault;
    /// Reads RFC 3339; a time without an offset is refused, since it names no instant.
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let fault = || crate::BookFault::NotATime { text: text.to_owned() };
        let at: Timestamp = text.parse().map_err(|_| fault())?;
        let offset = if text.ends_with(['Z', 'z']) {
            Offset::UTC
        } else {
            let tail = text.get(text.len().saturating_sub(6)..).ok_or_else(fault)?;
            let sign = match tail.as_bytes().first() {
                Some(b'+') => 1,
                Some(b'-') => -1,
                _ => return Err(fault()),
            };
            let (hours, minutes) = tail[1..].split_once(':').ok_or_else(fault)?;
            let hours: i32 = hours.parse().map_err(|_| fault())?;
            let minutes: i32 = minutes.parse().map_err(|_| fault())?;
            Offset::from_seconds(sign * (hours * 3600 + minutes * 60)).map_err(|_| fault())?
        };
        Ok(Self { at, offset })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_moment_keeps_its_instant_and_its_offset() {
        for text in
            ["2026-03-02T06:40:00+00:00", "2026-07-02T06:40:00+01:00", "2026-07-02T06:40:00-03:30"]
        {
            let moment: Moment = text.parse().unwrap();
            assert_eq!(moment.to_string(), text);
        }
        let zulu: Moment = "2026-07-02T05:40:00Z".parse().unwrap();
        let local: Moment = "2026-07-02T06:40:00+01:00".parse().unwrap();
        assert_eq!(zulu.timestamp(), local.timestamp());
        assert!("2026-07-02T06:40:00".parse::<Moment>().is_err());
        assert!("yesterday".parse::<Moment>().is_err());
    }
}
