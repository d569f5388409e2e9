//! The demo's history, made with hidden constants and instrument errors.
//!
//! Quernholm is invented. What is noted here is what its people read off their instruments while
//! its true barley, wash and spirit ran by constants that the forecast does not know
//! ([`truth::Truth`]). Planted for the reader to find: a stillhouse hydrometer that reads high
//! from week 5, a filling meter that gains in week 8, a washback set too warm, a piece that lay an
//! hour too long under water, a contra, an entry noted late, and two casks that leak. A short
//! spell of Ember in week 5 is followed by two runs of transition spirit; of its smoke and of the
//! higher alcohols there are analyses, of the esters there are none.
//!
//! Washbacks and stills run by the stages of `process`, few times, kept by make; malting, mashing
//! and filling are balances. The malting opens three weeks before the first mash, mashes are nine
//! a week for nine weeks, and everything stops where it stands at the hour of first start.

mod casks;
mod chance;
mod family;
mod filling;
mod grown;
mod kept;
mod laboratory;
mod letters;
mod liquor;
mod malting;
mod mashing;
mod nosing;
mod safe;
mod stages;
mod stillhouse;
mod stills;
mod store;
mod told;
pub mod truth;

pub use told::Clock;

use book::{Book, BookFault};
use gauge::Fault;
use jiff::civil;
use jiff::tz::TimeZone;

/// When the demo is started for the first time, and in which zone its clocks go.
#[derive(Debug, Clone)]
pub struct Calendar {
    /// The day of first start.
    pub today: civil::Date,
    /// The hour of first start: nothing after it is noted.
    pub hour: civil::Time,
    /// The zone.
    pub zone: TimeZone,
    /// Casks that lie in the warehouses from earlier years.
    pub old_casks: u32,
}

impl Calendar {
    /// Eight in the morning of a day, in a zone, with 8 500 casks of earlier years.
    pub fn new(today: civil::Date, zone: TimeZone) -> Self {
        Self { today, hour: civil::time(8, 0, 0, 0), zone, old_casks: 8500 }
    }
}

/// What was made.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Summary {
    /// Entries noted.
    pub entries: u64,
    /// Pieces steeped.
    pub pieces: u32,
    /// Mashes mashed in.
    pub mashes: u32,
    /// Runs of a still charged.
    pub runs: u32,
    /// Casks filled.
    pub filled: u32,
}

/// Why no history could be made.
#[derive(Debug, Clone, PartialEq)]
pub enum HistoryFault {
    /// A stage refused a case of ours.
    Stage(Vec<Fault>),
    /// The book did not take an entry.
    Book(BookFault),
    /// The book is not empty.
    NotEmpty,
    /// It was asked to stop.
    Stopped,
}

impl std::fmt::Display for HistoryFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Stage(faults) => {
                write!(f, "the history could not be reckoned")?;
                faults.iter().try_for_each(|fault| write!(f, "; {fault}"))
            }
            Self::Book(fault) => write!(f, "the history could not be noted: {fault}"),
            Self::Stopped => write!(f, "the making of the history was stopped"),
            Self::NotEmpty => write!(f, "a history is only made in an empty book"),
        }
    }
}

impl std::error::Error for HistoryFault {}

impl From<BookFault> for HistoryFault {
    fn from(fault: BookFault) -> Self {
        Self::Book(fault)
    }
}

/// Entries noted at a time.
const BATCH: usize = 1000;

/// Makes Quernholm's history in an empty book. `progress` is told the share that is done, 0 to 1,
/// and answers whether to go on; after a no the book holds a part and is of no use.
pub fn make_history(
    book: &Book,
    calendar: &Calendar,
    seed: u64,
    progress: &mut dyn FnMut(f64) -> bool,
) -> Result<Summary, HistoryFault> {
    if book.last().serial > 0 {
        return Err(HistoryFault::NotEmpty);
    }
    go_on(progress, 0.0)?;
    let clock = Clock::new(calendar);
    // The maltings have a stream of chance of their own, so that what is added to them leaves the
    // runs of the stillhouse as they were.
    let mut diary = told::Diary::new(!seed);
    let pieces = malting::malt(&clock, &mut diary).map_err(HistoryFault::Stage)?;
    diary.chance = chance::Chance::new(seed);
    let mashes = mashing::mash(&clock, &pieces, &mut diary).map_err(HistoryFault::Stage)?;
    let year = casks::lay_down(&clock, calendar.old_casks, &mut diary);
    stillhouse::distil(&clock, &mashes, year, &mut diary).map_err(HistoryFault::Stage)?;
    let notings = diary.notings(&clock)?;
    go_on(progress, 0.1)?;
    let mut summary = Summary::default();
    for (done, batch) in notings.chunks(BATCH).enumerate() {
        book.note_all(batch)?;
        for noting in batch {
            summary.count(noting.kind());
        }
        let share = ((done + 1) * BATCH).min(notings.len()) as f64 / notings.len() as f64;
        go_on(progress, 1.0 - 0.9 * (1.0 - share))?;
    }
    Ok(summary)
}

fn go_on(progress: &mut dyn FnMut(f64) -> bool, share: f64) -> Result<(), HistoryFault> {
    if progress(share) { Ok(()) } else { Err(HistoryFault::Stopped) }
}

impl Summary {
    fn count(&mut self, kind: &str) {
        self.entries += 1;
        match kind {
            "steep" => self.pieces += 1,
            "mash" => self.mashes += 1,
            "discharge" => self.runs += 1,
            "fill" => self.filled += 1,
            _ => {}
        }
    }
}
