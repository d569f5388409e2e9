//! What the maltings keep between two answers: every reckoning once for each entry of the book and
//! each minute of the clock, and only when a page asks for it.

use crate::app::Working;
use crate::places::kept::Kept;
use crate::places::today::expect::HOURS;
use book::StoreFault;
use forecast::Forecasts;
use forecast::maltings::{self, BinSeen, Floored, Kilned, LotSeen, Offer, Steeped, Today, Waiting};
use gauge::Fault;
use house::{KeptFiring, Malted, Standing};
use jiff::Timestamp;
use plan::{Span, TaskKind, Work};
use process::floor::TurnPlan;
use std::convert::Infallible;
use std::sync::{Arc, OnceLock};

/// What is kept.
#[derive(Debug, Default)]
pub(crate) struct Desk {
    seen: Kept<(u64, i64), Seen>,
    turnings: Kept<(u64, i64, u32), Result<TurnPlan, Fault>>,
    pub(super) proposals: super::asking::Proposals,
}

/// A piece by its number, and what is reckoned of it or why nothing can be.
type Reckoned<T> = Vec<(u32, Result<T, Fault>)>;

/// The maltings at a minute.
#[derive(Debug)]
pub(crate) struct Seen {
    /// What stands there.
    pub(super) standing: Arc<Standing>,
    floored: OnceLock<Reckoned<Floored>>,
    steeped: OnceLock<Reckoned<Steeped>>,
    kilned: OnceLock<Option<Result<Kilned, Fault>>>,
    waiting: OnceLock<Vec<Waiting>>,
    bins: OnceLock<Vec<BinSeen>>,
    lots: OnceLock<Vec<LotSeen>>,
    offers: OnceLock<Vec<Offer>>,
    today: OnceLock<Today>,
    due: OnceLock<Vec<Work>>,
}

impl Seen {
    /// The maltings as they stand.
    pub(in crate::places) fn at(open: &Working, now: Timestamp) -> Result<Arc<Self>, StoreFault> {
        let key = (open.book.last().serial, now.as_second().div_euclid(60));
        open.maltings.seen.get(key, || {
            let standing = open.standing(now)?;
            Ok(Self {
                standing,
                floored: OnceLock::new(),
                steeped: OnceLock::new(),
                kilned: OnceLock::new(),
                waiting: OnceLock::new(),
                bins: OnceLock::new(),
                lots: OnceLock::new(),
                offers: OnceLock::new(),
                today: OnceLock::new(),
                due: OnceLock::new(),
            })
        })
    }

    /// The moment it was seen.
    pub(super) fn now(&self) -> Timestamp {
        self.standing.at
    }

    /// A piece not yet stripped, as it was noted.
    pub(super) fn malted(&self, piece: u32) -> Option<&Malted> {
        self.standing.malted.iter().find(|m| m.piece == piece)
    }

    /// A piece of any age.
    pub(super) fn piece(&self, open: &Working, piece: u32) -> Option<Malted> {
        let known = self.malted(piece).cloned();
        known.or_else(|| open.book.piece(piece, self.now()).ok().flatten())
    }

    /// What the kiln is set to for a piece, where that was decided.
    pub(super) fn firing(&self, piece: u32) -> Option<&KeptFiring> {
        self.standing.firings.iter().find(|f| f.piece == piece)
    }

    /// The pieces on floors.
    fn all_floored(&self, open: &Working) -> &Reckoned<Floored> {
        self.floored.get_or_init(|| {
            let on = self.standing.malted.iter().filter(|m| m.floor.is_some() && m.kiln.is_none());
            let on: Vec<&Malted> = on.filter(|m| m.stripped.is_empty()).collect();
            // Each by itself, so that four pieces take no longer than the slowest of them.
            std::thread::scope(|scope| {
                let hands: Vec<_> = on
                    .iter()
                    .map(|m| {
                        scope.spawn(|| maltings::piece(&open.house, &self.standing, m, self.now()))
                    })
                    .collect();
                on.iter()
                    .zip(hands)
                    .filter_map(|(m, hand)| Some((m.piece, hand.join().ok()?)))
                    .collect()
            })
        })
    }

    /// A piece on its floor.
    pub(super) fn floored(&self, open: &Working, piece: u32) -> Option<&Result<Floored, Fault>> {
        self.all_floored(open).iter().find(|(n, _)| *n == piece).map(|(_, found)| found)
    }

    /// The pieces in their steeps.
    fn all_steeped(&self, open: &Working) -> &Reckoned<Steeped> {
        self.steeped.get_or_init(|| {
            let under = self.standing.malted.iter().filter(|m| m.floor.is_none());
            let one = |m: &Malted| {
                (m.piece, maltings::steeping(&open.house, &self.standing, m, self.now()))
            };
            under.map(one).collect()
        })
    }

    /// A piece in its steep.
    pub(super) fn steeped(&self, open: &Working, piece: u32) -> Option<&Result<Steeped, Fault>> {
        self.all_steeped(open).iter().find(|(n, _)| *n == piece).map(|(_, found)| found)
    }

    /// The piece on the kiln.
    pub(super) fn kilned(&self, open: &Working) -> Option<&Result<Kilned, Fault>> {
        let found = self.kilned.get_or_init(|| {
            let on = self.standing.kiln.as_ref()?;
            let malted = self.malted(on.piece)?;
            let kept = self.firing(on.piece);
            Some(maltings::kilning(&open.house, &self.standing, malted, kept, self.now()))
        });
        found.as_ref()
    }

    /// What waits for the kiln.
    pub(super) fn waiting(&self, open: &Working) -> &[Waiting] {
        self.waiting.get_or_init(|| {
            let pieces: Vec<Floored> = self
                .all_floored(open)
                .iter()
                .filter_map(|(_, found)| found.as_ref().ok().cloned())
                .collect();
            let kilned = self.kilned(open).and_then(|found| found.as_ref().ok());
            maltings::queue(&open.house, &self.standing, &pieces, kilned, self.now())
        })
    }

    /// The bins.
    pub(super) fn bins(&self, open: &Working) -> &[BinSeen] {
        self.bins.get_or_init(|| maltings::bins(&open.house, &self.standing, self.now()))
    }

    /// The lots in store.
    pub(super) fn lots(&self, open: &Working) -> &[LotSeen] {
        self.lots.get_or_init(|| maltings::lots(&open.house, &self.standing, self.now()))
    }

    /// All of it that is under way, as the work of the day is told by it.
    pub(crate) fn today(&self, open: &Working) -> &Today {
        self.today.get_or_init(|| {
            let floored = self.all_floored(open).iter();
            let steeped = self.all_steeped(open).iter();
            Today {
                steeps: steeped.filter_map(|(_, found)| found.as_ref().ok().cloned()).collect(),
                pieces: floored.filter_map(|(_, found)| found.as_ref().ok().cloned()).collect(),
                kilned: self.kilned(open).and_then(|found| found.as_ref().ok().cloned()),
                queue: self.waiting(open).to_vec(),
            }
        })
    }

    /// The turn of a floor that is next, or late.
    pub(super) fn turn(&self, open: &Working, floor: &str) -> Option<&Work> {
        let due = self.due.get_or_init(|| {
            // A turn is due by the piece and its hand; what a make should give does not bear on it.
            let bare = Forecasts::default();
            let span = Span { now: self.now(), hours: HOURS };
            plan::due_of(&open.house, &self.standing, &bare, self.today(open), span)
        });
        due.iter().find(|work| work.kind == TaskKind::Turn && work.vessel == floor)
    }

    /// The fewest turns of a piece, sought when its page asks.
    pub(super) fn turning(&self, open: &Working, malted: &Malted) -> Arc<Result<TurnPlan, Fault>> {
        let key = (self.standing.serial, self.now().as_second().div_euclid(60), malted.piece);
        let seek = || maltings::turning(&open.house, &self.standing, malted, self.now());
        let found = open.maltings.turnings.get(key, || Ok::<_, Infallible>(seek()));
        let Ok(found) = found;
        found
    }

    /// A use for every remainder.
    pub(super) fn offers(&self, open: &Working) -> &[Offer] {
        self.offers.get_or_init(|| maltings::remainders(&open.house, &self.standing))
    }
}
