//! What is wished of a firing, and the work of finding one: off the request path, once for each
//! wish, stopped when another wish takes its place.

use super::Pairs;
use super::desk::Seen;
use crate::app::{App, Working};
use crate::form::{self, Wrong};
use forecast::maltings;
use gauge::Field;
use house::Malted;
use jiff::{Timestamp, ToSpan, ZonedDateTime};
use process::kiln::{Proposal, Wanted};
use sheets::figure;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// How many answers are kept.
const MOST: usize = 16;

/// What is wished for, as it stands in its fields.
#[derive(Debug, Clone)]
pub(super) struct Wish {
    /// The piece.
    pub(super) piece: u32,
    /// As typed.
    pub(super) phenols_typed: String,
    /// As typed.
    pub(super) moisture_typed: String,
    /// As typed.
    pub(super) by_typed: String,
    /// Why it cannot be.
    pub(super) phenols_wrong: Option<Wrong>,
    /// Why it cannot be.
    pub(super) moisture_wrong: Option<Wrong>,
    /// Why it cannot be.
    pub(super) by_wrong: Option<Wrong>,
    /// Whether anything was asked.
    pub(super) asked: bool,
    phenols_mg_kg_dry: Option<f64>,
    moisture_wet: Option<f64>,
    by: Option<Timestamp>,
}

/// Phenols that may be wished for.
pub(super) const PHENOLS: Field =
    Field::new("phenols", "mg/kg").label("Wanted phenols").within(0.0, 120.0);
/// Moisture that may be wished for.
pub(super) const MOISTURE: Field =
    Field::new("moisture", "%").label("Moisture at finish").within(2.0, 12.0);

impl Wish {
    /// Reads the wish of an address; what is not said is as it was kept, or as the make is.
    pub(super) fn of(
        app: &App,
        open: &Working,
        seen: &Seen,
        malted: &Malted,
        pairs: &Pairs,
    ) -> Self {
        let text = |key: &str| pairs.iter().find(|(k, _)| k == key).map(|(_, v)| v.trim());
        let kept = seen.firing(malted.piece);
        let make = open.house.make(&malted.make);
        let phenols = kept
            .and_then(|k| k.wanted_phenols_mg_kg_dry)
            .or(make.map(|m| m.aim.phenols_mg_kg_dry))
            .unwrap_or(0.0);
        let moisture = kept
            .and_then(|k| k.wanted_moisture_wet)
            .or(make.map(|m| m.kiln.ready_moisture_wet))
            .unwrap_or(0.045);
        let or = |key: &str, usual: f64| match text(key) {
            Some(typed) if !typed.is_empty() => typed.to_owned(),
            _ => form::bare_digits(usual),
        };
        let mut wish = Self {
            piece: malted.piece,
            phenols_typed: or("phenols", phenols),
            moisture_typed: or("moisture", 100.0 * moisture),
            by_typed: text("by").unwrap_or_default().to_owned(),
            phenols_wrong: None,
            moisture_wrong: None,
            by_wrong: None,
            asked: text("phenols").is_some() || text("by").is_some(),
            phenols_mg_kg_dry: None,
            moisture_wet: None,
            by: None,
        };
        match form::read(&PHENOLS, &wish.phenols_typed, Some(phenols)) {
            Ok(value) => wish.phenols_mg_kg_dry = value,
            Err(wrong) => wish.phenols_wrong = Some(wrong),
        }
        match form::read(&MOISTURE, &wish.moisture_typed, Some(100.0 * moisture)) {
            Ok(value) => wish.moisture_wet = value.map(|v| v / 100.0),
            Err(wrong) => wish.moisture_wrong = Some(wrong),
        }
        match finish_by(&app.clock.here(), &wish.by_typed) {
            Ok(by) => wish.by = by,
            Err(says) => wish.by_wrong = Some(Wrong { says, guess: None }),
        }
        wish
    }

    /// The wish as an address asks for it.
    pub(super) fn query(&self) -> String {
        let part = |text: &str| crate::layout::escape(text);
        format!(
            "for={}&phenols={}&moisture={}&by={}",
            self.piece,
            part(&self.phenols_typed),
            part(&self.moisture_typed),
            part(&self.by_typed)
        )
    }

    /// What is wanted, where all of it can be.
    pub(super) fn wanted(&self, lit_at: Timestamp) -> Option<Wanted> {
        if self.by_wrong.is_some() {
            return None;
        }
        let hours = |by: Timestamp| crate::when::ago(lit_at, by) as f64 / 3600.0;
        Some(Wanted {
            phenols_mg_kg_dry: self.phenols_mg_kg_dry?,
            moisture_wet: self.moisture_wet?,
            by_h: self.by.map(hours),
            ..Wanted::default()
        })
    }

    fn key(&self, serial: u64) -> Key {
        let bits = |v: Option<f64>| v.map(f64::to_bits);
        Key {
            piece: self.piece,
            serial,
            wish: (bits(self.phenols_mg_kg_dry), bits(self.moisture_wet), self.by),
        }
    }
}

/// Which answer: the piece, the last entry of the book, the wish.
#[derive(Debug, Clone, PartialEq)]
struct Key {
    piece: u32,
    serial: u64,
    wish: (Option<u64>, Option<u64>, Option<Timestamp>),
}

/// A firing found, or why there is none.
pub(super) type Found = Arc<Result<Proposal, String>>;

#[derive(Debug)]
struct Asked {
    key: Key,
    job: u64,
    found: Option<Found>,
}

/// Wishes and their answers.
#[derive(Debug, Default)]
pub(crate) struct Proposals {
    all: Mutex<Vec<Asked>>,
}

/// How a wish stands.
pub(super) enum Stands {
    /// It is being looked for: the job.
    Looking(u64),
    /// The answer.
    Answered(Found),
}

impl Proposals {
    fn lock(&self) -> MutexGuard<'_, Vec<Asked>> {
        self.all.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn stands(&self, key: &Key) -> Option<Stands> {
        let all = self.lock();
        let asked = all.iter().find(|asked| asked.key == *key)?;
        Some(match &asked.found {
            Some(found) => Stands::Answered(found.clone()),
            None => Stands::Looking(asked.job),
        })
    }

    fn answer(&self, key: &Key, found: Result<Proposal, String>) {
        if let Some(asked) = self.lock().iter_mut().find(|asked| asked.key == *key) {
            asked.found = Some(Arc::new(found));
        }
    }
}

/// When a kilning of this piece begins: when it was lit, or when the kiln is free for it.
pub(super) fn lit_at(open: &Working, seen: &Seen, malted: &Malted) -> Timestamp {
    let next = || {
        let load = maltings::queue::Load::Piece(malted.piece);
        seen.waiting(open).iter().find(|w| w.load == load).map(|w| w.kiln_at)
    };
    malted.kiln.as_ref().map(|on| on.at).or_else(next).unwrap_or(seen.now())
}

/// Looks for a firing, or tells how far it is; none where the wish cannot be read.
pub(super) fn ask(
    app: &Arc<App>,
    open: &Arc<Working>,
    seen: &Arc<Seen>,
    malted: &Malted,
    wish: &Wish,
) -> Option<Stands> {
    let lit = lit_at(open, seen, malted);
    let wanted = wish.wanted(lit)?;
    let key = wish.key(seen.standing.serial);
    if let Some(stands) = open.maltings.proposals.stands(&key) {
        return Some(stands);
    }
    // Another wish of the same piece is no longer wished.
    for old in open.maltings.proposals.lock().iter().filter(|old| old.key.piece == key.piece) {
        if old.found.is_none() {
            app.jobs.stop(old.job);
        }
    }
    let then = format!("/maltings?{}#wanted", wish.query());
    let (open, seen, malted) = (open.clone(), seen.clone(), malted.clone());
    let mut all = open.maltings.proposals.all.lock().unwrap_or_else(PoisonError::into_inner);
    let (desk, mine) = (open.clone(), key.clone());
    let job = app.jobs.start("A firing for the kiln", then, move |progress| {
        let kept = seen.firing(malted.piece);
        let at = if malted.kiln.is_some() { seen.now() } else { lit };
        let mut watch = |share: f64| {
            progress.tell(share, "Trying firings");
            !progress.stopped()
        };
        let found =
            maltings::propose(&desk.house, &seen.standing, &malted, kept, &wanted, at, &mut watch);
        desk.maltings
            .proposals
            .answer(&mine, found.map_err(|fault| crate::places::why_not(&fault)));
        Ok("The firing is found.".to_owned())
    });
    all.insert(0, Asked { key, job, found: None });
    all.truncate(MOST);
    Some(Stands::Looking(job))
}

/// Stops the work of a wish; what was best so far is kept.
pub(super) fn stop(app: &App, open: &Working, piece: u32) {
    for asked in open.maltings.proposals.lock().iter().filter(|a| a.key.piece == piece) {
        if asked.found.is_none() {
            app.jobs.stop(asked.job);
        }
    }
}

/// When it shall be finished: `06:00` is the next such time, `Fri 06:00` that of the next Friday.
/// Nothing typed is no wish.
fn finish_by(here: &ZonedDateTime, typed: &str) -> Result<Option<Timestamp>, String> {
    let typed = typed.trim();
    if typed.is_empty() {
        return Ok(None);
    }
    let wrong = || format!("\u{201c}{typed}\u{201d} is no time. Write it as 06:00 or Fri 06:00.");
    let (day, clock) = match typed.rsplit_once(' ') {
        Some((day, clock)) => (Some(day.trim().to_lowercase()), clock),
        None => (None, typed),
    };
    let clock = clock.replace('.', ":");
    let (hour, minute) = clock.split_once(':').ok_or_else(wrong)?;
    let hour: i8 = hour.parse().map_err(|_| wrong())?;
    let minute: i8 = minute.parse().map_err(|_| wrong())?;
    if !(0..24).contains(&hour) || !(0..60).contains(&minute) {
        return Err(wrong());
    }
    let days = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];
    let wanted = match &day {
        None => None,
        Some(word) => {
            let found = days.iter().position(|d| word.starts_with(d)).ok_or_else(wrong)?;
            Some(found as i8)
        }
    };
    for ahead in 0..8_i64 {
        let date = here.date().checked_add(ahead.days()).map_err(|_| wrong())?;
        let at = date.at(hour, minute, 0, 0).to_zoned_datetime(here.time_zone().clone());
        let at = at.map_err(|_| wrong())?.timestamp();
        let is_day = wanted.is_none_or(|w| date.weekday().to_monday_zero_offset() == w);
        if at > here.timestamp() && is_day {
            return Ok(Some(at));
        }
    }
    Err(wrong())
}

/// A figure as it is said of a wish.
pub(super) fn said(value: f64, decimals: u8, unit: &str) -> String {
    figure::unit(&figure::fixed(value, decimals), unit)
}

#[cfg(test)]
mod tests {
    use super::finish_by;

    #[test]
    fn a_finish_is_read_as_a_hand_writes_it_and_lies_ahead() {
        let here: jiff::ZonedDateTime = "2026-10-22T05:52[UTC]".parse().expect("a Thursday");
        let at = |text: &str| finish_by(&here, text).map(|at| at.map(|at| at.to_string()));
        assert_eq!(at(""), Ok(None));
        assert_eq!(at("06:00"), Ok(Some("2026-10-22T06:00:00Z".to_owned())));
        assert_eq!(at("05:00"), Ok(Some("2026-10-23T05:00:00Z".to_owned())), "the next one");
        assert_eq!(at("Fri 06.30"), Ok(Some("2026-10-23T06:30:00Z".to_owned())));
        assert_eq!(at("thursday 05:00"), Ok(Some("2026-10-29T05:00:00Z".to_owned())));
        assert!(at("soon").is_err() && at("Fri").is_err() && at("25:00").is_err());
    }
}
