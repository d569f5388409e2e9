//! A run as it is shown: what was noted, what was expected of it, the runs before it.

use super::Pairs;
use super::picture::Curves;
use super::proposal::Proposed;
use crate::app::Working;
use crate::form::{self, Wrong};
use crate::places::kept::Kept;
use book::StoreFault;
use forecast::stillhouse::{Cuts, Expected, Fitted, HeadFit};
use gauge::{Fault, Field};
use house::{KeptCuts, Ran};
use jiff::{Timestamp, ToSpan};
use process::still::Until;
use std::collections::HashMap;
use std::sync::{Arc, Mutex, OnceLock, PoisonError, RwLock};

/// How far back runs are looked for.
const BACK_DAYS: i64 = 120;
/// How many runs before are shown.
const BEFORE: usize = 24;
/// How many runs are looked through.
const MOST_RUNS: usize = 160;

/// Which expectation: the run, the last entry of the book, how often heads were fitted.
type Key = (u32, u64, u64);

/// What the stillhouse keeps between two answers.
#[derive(Debug, Default)]
pub(crate) struct Desk {
    runs: Kept<(u64, i64), Vec<Ran>>,
    views: Kept<(u32, u64, u64, i64), Option<View>>,
    followed: Kept<Key, Followed>,
    analysed: Kept<Analysed, Fitted>,
    pub(super) sheets: Kept<(String, String, u64, u64), Expected>,
    pub(super) circuits: super::circuit::Circuits,
    heads: RwLock<(u64, Arc<Fitted>)>,
    found: Mutex<HashMap<u32, FoundHead>>,
}

/// What a fit to analyses hangs on: the heads, and the runs with how much was found in them.
type Analysed = (u64, Vec<(u32, usize)>);

/// What a fit of a head found, or why it found nothing.
type FoundHead = Result<HeadFit, String>;

impl Desk {
    /// The heads that were fitted, and how often one was.
    pub(super) fn heads(&self) -> (u64, Arc<Fitted>) {
        self.heads.read().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Takes what was fitted in use.
    pub(super) fn fit(&self, change: impl FnOnce(&mut Fitted)) {
        let mut held = self.heads.write().unwrap_or_else(PoisonError::into_inner);
        let mut fitted = (*held.1).clone();
        change(&mut fitted);
        *held = (held.0 + 1, Arc::new(fitted));
    }

    /// What the last fit of this run's head found.
    pub(super) fn found(&self, run: u32) -> Option<FoundHead> {
        self.found.lock().unwrap_or_else(PoisonError::into_inner).get(&run).cloned()
    }

    /// Keeps what a fit found, or forgets it.
    pub(super) fn find(&self, run: u32, found: Option<FoundHead>) {
        let mut all = self.found.lock().unwrap_or_else(PoisonError::into_inner);
        match found {
            Some(found) => all.insert(run, found),
            None => all.remove(&run),
        };
    }
}

/// What is wished for, by the digits of its figures.
type Wish = (Option<u64>, Option<u64>);

/// What was expected of a run, and what was read off it once.
#[derive(Debug)]
pub(super) struct Followed {
    /// The expectation.
    pub(super) run: Expected,
    /// When the first spirit ran.
    pub(super) first: Timestamp,
    /// Its curves, against minutes and against litres.
    pub(super) curves: [OnceLock<Curves>; 2],
    /// Proposals, by what was wished.
    pub(super) proposals: Kept<Wish, Result<Arc<Proposed>, String>>,
}

/// A run, and what is known of it.
#[derive(Debug)]
pub(super) struct View {
    /// As it was noted.
    pub(super) ran: Ran,
    /// Runs before it of the same make and still kind, newest first.
    pub(super) before: Vec<Ran>,
    /// What was expected of it, or why nothing can be.
    pub(super) expected: Result<Arc<Followed>, Fault>,
    /// The cuts kept to now.
    pub(super) kept: Option<KeptCuts>,
    /// The moment it is looked at.
    pub(super) now: Timestamp,
}

impl View {
    /// The run of this number, kept for a minute while neither book nor fit changes; none where
    /// nothing of it was noted.
    pub(super) fn of(
        open: &Working,
        run: u32,
        now: Timestamp,
    ) -> Result<Arc<Option<Self>>, StoreFault> {
        let (fits, _) = open.stillhouse.heads();
        let key = (run, open.book.last().serial, fits, now.as_second() / 60);
        open.stillhouse.views.get(key, || Self::read(open, run, now))
    }

    fn read(open: &Working, run: u32, now: Timestamp) -> Result<Option<Self>, StoreFault> {
        let Some(ran) = open.book.run(run, now)? else { return Ok(None) };
        let standing = open.standing(now)?;
        let kept = standing.cuts.iter().find(|cuts| cuts.make == ran.make).cloned();
        let all = runs(open, now)?;
        let alike = |one: &Ran| {
            one.run < ran.run
                && one.make == ran.make
                && one.ferment_h.is_some() == ran.ferment_h.is_some()
        };
        let before = all.iter().filter(|one| alike(one)).take(BEFORE).cloned().collect();
        let expected = followed(open, &ran, kept.as_ref(), now);
        Ok(Some(Self { ran, before, expected, kept, now }))
    }

    /// Whether it is still under way.
    pub(super) fn under_way(&self) -> bool {
        !self.ran.ended()
    }

    /// The cuts shown when none are asked for: those of the run where it was cut, else those kept.
    pub(super) fn usual(&self, followed: &Followed) -> Option<Cuts> {
        let trace = &followed.run.trace;
        let noted = self.ran.cut("foreshots").zip(self.ran.cut("heart"));
        let noted = noted.and_then(|(foreshots, heart)| {
            let (from, to) = (followed.since(foreshots.at), followed.since(heart.at));
            (from > 0.0 && to > from && to < trace.end_s()).then(|| Cuts {
                from_min: (from / 60.0).round().max(LEAST_MIN),
                to_pct: (trace.point(to).strength_pct * 10.0).round() / 10.0,
            })
        });
        noted.or(followed.run.kept)
    }
}

impl Followed {
    /// Seconds from the first running to a moment.
    pub(super) fn since(&self, at: Timestamp) -> f64 {
        (at.as_millisecond() - self.first.as_millisecond()) as f64 / 1e3
    }

    /// The moment so many seconds after the first running.
    pub(super) fn at(&self, time_s: f64) -> Timestamp {
        let milli = self.first.as_millisecond() + (time_s * 1e3) as i64;
        Timestamp::from_millisecond(milli).unwrap_or(self.first)
    }
}

/// The runs before a moment, newest first, kept for an hour while the book stays as it is.
pub(super) fn runs(open: &Working, now: Timestamp) -> Result<Arc<Vec<Ran>>, StoreFault> {
    let from = now.checked_sub((BACK_DAYS * 24).hours()).unwrap_or(Timestamp::MIN);
    let key = (open.book.last().serial, now.as_second() / 3600);
    open.stillhouse.runs.get(key, || open.book.runs(from, now, MOST_RUNS))
}

/// What the house's own analyses and heads have taught, kept while neither changes.
pub(crate) fn fitted(open: &Working, now: Timestamp) -> Arc<Fitted> {
    let desk = &open.stillhouse;
    let (fits, heads) = desk.heads();
    let found = runs(open, now).and_then(|all| {
        let analysed = || all.iter().filter(|run| !run.analyses.is_empty());
        let named = analysed().map(|run| (run.run, run.analyses.len())).collect();
        desk.analysed.get((fits, named), || {
            let analysed: Vec<Ran> = analysed().cloned().collect();
            Ok(forecast::stillhouse::analyses(&open.house, &analysed, None, &heads))
        })
    });
    found.unwrap_or(heads)
}

/// What is expected of a run, kept while neither book nor fit changes.
fn followed(
    open: &Working,
    ran: &Ran,
    kept: Option<&KeptCuts>,
    now: Timestamp,
) -> Result<Arc<Followed>, Fault> {
    let (fits, _) = open.stillhouse.heads();
    let key = (ran.run, open.book.last().serial, fits);
    open.stillhouse.followed.get(key, || {
        let run = Expected::of(&open.house, ran, kept, &fitted(open, now))?;
        let first = run.first_running_at(ran);
        Ok(Followed { run, first, curves: Default::default(), proposals: Kept::default() })
    })
}

/// The cuts asked for, as they stand in their fields.
#[derive(Debug, Clone)]
pub(super) struct Asked {
    /// What is typed for the beginning.
    pub(super) from_typed: String,
    /// What is typed for the end.
    pub(super) to_typed: String,
    /// Why the beginning cannot be.
    pub(super) from_wrong: Option<Wrong>,
    /// Why the end cannot be.
    pub(super) to_wrong: Option<Wrong>,
    /// The cuts, where they can be.
    pub(super) cuts: Option<Cuts>,
    /// Whether the axis is litres.
    pub(super) by_litres: bool,
    /// Range of the beginning, min.
    pub(super) from_field: Field,
    /// Range of the end, % vol.
    pub(super) to_field: Field,
}

/// Nothing is cut closer than this, min.
const LEAST_MIN: f64 = 1.0;

impl Asked {
    /// Reads the cuts that a query asks for. A moved mark comes as its share of the axis.
    pub(super) fn of(expected: &Expected, usual: Cuts, pairs: &Pairs) -> Self {
        let text = |key: &str| pairs.iter().find(|(k, _)| k == key).map(|(_, v)| v.trim());
        let by_litres = text("by") == Some("litres");
        let last = expected.trace.end_s();
        let first = expected.trace.point(0.0).strength_pct;
        let end = expected.trace.point(last).strength_pct;
        let mut asked = Self {
            from_typed: form::bare_digits(usual.from_min),
            to_typed: form::bare_digits(usual.to_pct),
            from_wrong: None,
            to_wrong: None,
            cuts: None,
            by_litres,
            from_field: Field::new("from_min", "min")
                .label("To heart after")
                .within(LEAST_MIN, (last / 60.0).floor().max(2.0) - 1.0),
            to_field: Field::new("to_pct", "% vol")
                .label("To feints at")
                .within((end.max(0.0) * 2.0).ceil() / 2.0 + 0.5, (first * 2.0).floor() / 2.0),
        };
        if let Some(typed) = text("from_min") {
            typed.clone_into(&mut asked.from_typed);
        }
        if let Some(typed) = text("to_pct") {
            typed.clone_into(&mut asked.to_typed);
        }
        let share = |key: &str| text(key).and_then(|s| s.parse::<f64>().ok());
        let share = |key: &str| share(key).filter(|s| (0.0..=1.0).contains(s));
        if let Some(at) = share("at_from_min") {
            asked.from_typed = form::bare_digits(asked.dragged_from(expected, at));
        }
        if let Some(at) = share("at_to_pct") {
            asked.to_typed = form::bare_digits(asked.dragged_to(expected, at));
        }
        asked.read(expected);
        asked
    }

    /// Where a share of the axis lies, s.
    pub(super) fn time_of(&self, expected: &Expected, share: f64) -> f64 {
        let last = expected.trace.end_s();
        if self.by_litres {
            at_litres(expected, share * over(expected, last))
        } else {
            share * last
        }
    }

    /// Where a moment lies along the axis: minutes, or litres.
    pub(super) fn place(&self, expected: &Expected, time_s: f64) -> f64 {
        if self.by_litres { over(expected, time_s) } else { time_s / 60.0 }
    }

    /// A mark put down rests on a whole step, not past the other mark.
    fn dragged_from(&self, expected: &Expected, share: f64) -> f64 {
        let until = sheets::figure::typed(&self.to_typed)
            .and_then(|pct| reached(expected, pct))
            .map_or(self.from_field.high, |s| s / 60.0 - LEAST_MIN);
        let most = until.floor().clamp(self.from_field.low, self.from_field.high);
        let minutes = (self.time_of(expected, share) / 60.0).round();
        minutes.clamp(self.from_field.low, most.max(self.from_field.low))
    }

    fn dragged_to(&self, expected: &Expected, share: f64) -> f64 {
        let from = sheets::figure::typed(&self.from_typed).unwrap_or(self.from_field.low);
        let begins = expected.trace.point((from + LEAST_MIN) * 60.0).strength_pct;
        let most = ((begins * 2.0).floor() / 2.0).clamp(self.to_field.low, self.to_field.high);
        let strength = expected.trace.point(self.time_of(expected, share)).strength_pct;
        ((strength * 2.0).round() / 2.0).clamp(self.to_field.low, most)
    }

    fn read(&mut self, expected: &Expected) {
        let from = form::read(&self.from_field, &self.from_typed, None);
        let to = form::read(&self.to_field, &self.to_typed, None);
        self.from_wrong = fault_of(&from, &self.from_field);
        self.to_wrong = fault_of(&to, &self.to_field);
        let (Ok(Some(from_min)), Ok(Some(to_pct))) = (from, to) else { return };
        let ends = reached(expected, to_pct).map(|s| s / 60.0);
        match ends {
            Some(ends) if ends > from_min => self.cuts = Some(Cuts { from_min, to_pct }),
            Some(ends) => {
                let at = sheets::figure::fixed(ends, 0);
                self.to_wrong = Some(Wrong {
                    says: format!(
                        "The heart would end before it begins: the run falls to {} after {at} min. \
                         End it weaker, or begin it sooner.",
                        sheets::figure::unit(&sheets::figure::bare(to_pct), "% vol")
                    ),
                    guess: None,
                });
            }
            None => {
                let says = "The run does not fall so far.".to_owned();
                self.to_wrong = Some(Wrong { says, guess: None });
            }
        }
    }
}

fn fault_of(read: &Result<Option<f64>, Wrong>, field: &Field) -> Option<Wrong> {
    match read {
        Ok(Some(_)) => None,
        Ok(None) => Some(Wrong { says: format!("Wanted: {}.", form::allowed(field)), guess: None }),
        Err(wrong) => Some(wrong.clone()),
    }
}

/// Litres at 20 °C that have come over by a moment.
pub(super) fn over(expected: &Expected, time_s: f64) -> f64 {
    expected.trace.point(time_s).over_l
}

/// When so many litres have come over, s.
fn at_litres(expected: &Expected, litres: f64) -> f64 {
    let found = expected.trace.points();
    let next = found.partition_point(|p| p.over_l < litres);
    match (next.checked_sub(1).and_then(|i| found.get(i)), found.get(next)) {
        (Some(a), Some(b)) if b.over_l > a.over_l => {
            a.time_s + (b.time_s - a.time_s) * (litres - a.over_l) / (b.over_l - a.over_l)
        }
        (None, Some(one)) | (Some(one), _) => one.time_s,
        (None, None) => 0.0,
    }
}

/// When the distillate has fallen to a strength, s.
pub(super) fn reached(expected: &Expected, strength_pct: f64) -> Option<f64> {
    expected.trace.find(&Until::StrengthPct(strength_pct)).ok().map(|point| point.time_s)
}
