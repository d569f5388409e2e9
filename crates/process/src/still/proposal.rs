//! Cuts proposed: the heart with the most pure alcohol that keeps to what is wanted of it.
//!
//! What the distiller asks: so much smoke and no more (or no less), a strength the casks want, an
//! oil or a solvent held down; and then as much spirit as that leaves. The search moves both ends
//! of the heart over a kept run ([`Trace`]): for every beginning the latest end that keeps to all
//! wishes, first over a grid of the run, then closer and closer about the best. It is advice
//! beside the nose, resting on model figures for congeners, and replaces no cut by itself.
//!
//! The foreshots clear the worm of old oils, which no wish here knows of: a heart never begins
//! before `least_from_s`, or, where that is not given, before the present one.
//!
//! # Units
//! Congeners charged are in grams; phenols in mg/L of heart, limits in g per 100 L of pure alcohol.

pub(crate) mod case;
mod rules;
mod search;

use gauge::{Fault, Field};

use super::Congener;
use super::cut::{Cut, Until};
use super::result::CutRun;
use super::trace::Trace;
use rules::Rules;
use search::Search;

/// What is wanted of the heart.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Wanted {
    /// Most phenols, mg/L of the heart as it is.
    pub most_phenols_mg_l: Option<f64>,
    /// Least phenols, mg/L of the heart as it is.
    pub least_phenols_mg_l: Option<f64>,
    /// Least mean strength of the heart, % vol.
    pub least_strength_pct: Option<f64>,
    /// The heart begins no earlier, seconds from the first running.
    pub least_from_s: Option<f64>,
    /// Limits on congeners.
    pub limits: Vec<Limit>,
}

/// A limit on one congener.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit {
    /// Which.
    pub congener: &'static Congener,
    /// Most of it, g per 100 L of pure alcohol in the heart.
    pub most_g_hl: f64,
}

/// One heart in short: where it is cut, and what it comes to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tradeoff {
    /// Its beginning, seconds from the first running.
    pub heart_from_s: f64,
    /// The strength at the safe at its end, % vol.
    pub heart_to_pct: f64,
    /// Pure alcohol in it, L.
    pub pure_alcohol_l: f64,
    /// Its mean strength, % vol.
    pub strength_pct: f64,
    /// Phenols in it, mg/L.
    pub phenols_mg_l: f64,
}

/// The cuts proposed.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    /// Where the heart begins, seconds from the first running.
    pub heart_from_s: f64,
    /// The strength at the safe there, % vol.
    pub heart_from_pct: f64,
    /// The strength at the safe where it ends, % vol.
    pub heart_to_pct: f64,
    /// The heart.
    pub heart: CutRun,
    /// The same in short.
    pub short: Tradeoff,
    /// The wishes that hold it where it is, in words.
    pub binds: Vec<String>,
    /// Hearts that end earlier and later, as the limits on congeners let them begin: the wishes
    /// on smoke and strength are left out, so that what they cost can be seen.
    pub frontier: Vec<Tradeoff>,
    /// The cut as it stands.
    pub present: Option<Tradeoff>,
}

pub(super) const MOST_PHENOLS: Field =
    Field::new("most_phenols_mg_l", "mg/L").label("most phenols in the heart").within(0.0, 1000.0);
pub(super) const LEAST_PHENOLS: Field = Field::new("least_phenols_mg_l", "mg/L")
    .label("least phenols in the heart")
    .within(0.0, 1000.0);
pub(super) const LEAST_STRENGTH: Field = Field::new("least_strength_pct", "% vol")
    .label("least strength of the heart")
    .within(0.0, 95.0);
pub(super) const LEAST_FROM: Field =
    Field::new("least_from_s", "s").label("the heart begins no earlier than").within(0.0, 1e6);
pub(super) const MOST_G_HL: Field = Field::new("most_g_hl", "g/hL of pure alcohol")
    .label("most of it in the heart")
    .within(0.0, 1e5);

impl Wanted {
    fn check(&self) -> Result<(), Fault> {
        let figures = [
            (&MOST_PHENOLS, self.most_phenols_mg_l),
            (&LEAST_PHENOLS, self.least_phenols_mg_l),
            (&LEAST_STRENGTH, self.least_strength_pct),
            (&LEAST_FROM, self.least_from_s),
        ];
        for (field, value) in figures {
            if let Some(value) = value {
                field.check(value).map_err(|fault| fault.within("wanted"))?;
            }
        }
        for (place, limit) in self.limits.iter().enumerate() {
            let path = format!("wanted.limit[{place}]");
            MOST_G_HL.check(limit.most_g_hl).map_err(|fault| fault.within(&path))?;
        }
        Ok(())
    }
}

/// Gives the heart with the most pure alcohol that keeps to what is wanted.
///
/// `present` is the heart as it is cut: its beginning in seconds from the first running, and the
/// strength at which it ends.
///
/// # Units
/// As the page above.
/// # Range
/// Hearts inside the run of `trace` that begin in its first half. Wishes that cannot hold together
/// are `Fault::Unworkable`, which says what would.
/// # Error
/// That of the congeners' volatilities; the search itself finds the best to 1e-5 of the run.
/// # Source
/// None: a search over what [`Trace`] reads.
pub fn propose(
    trace: &Trace,
    wanted: &Wanted,
    present: Option<(f64, f64)>,
) -> Result<Proposal, Fault> {
    wanted.check()?;
    let rules = Rules::of(trace, wanted)?;
    let least_from_s = wanted.least_from_s.or(present.map(|(from_s, _)| from_s)).unwrap_or(0.0);
    let search = Search::new(trace, rules, least_from_s)?;
    let found = search.best().ok_or_else(|| search.why_none())?;
    let (from, to) = (search.point(found.from), search.point(found.to));
    let heart = heart_of(trace, from.time_s, to.strength_pct)?;
    let present = present
        .map(|(from_s, to_pct)| Ok(search.short_of(from_s, &heart_of(trace, from_s, to_pct)?)))
        .transpose()?;
    let lowest = present.map_or(to.strength_pct, |p: Tradeoff| p.heart_to_pct.min(to.strength_pct));
    Ok(Proposal {
        heart_from_s: from.time_s,
        heart_from_pct: from.strength_pct,
        heart_to_pct: to.strength_pct,
        short: search.short_of(from.time_s, &heart),
        heart,
        binds: search.binding(&found),
        frontier: search.frontier(lowest),
        present,
    })
}

/// Reads the heart of a run that is cut there.
fn heart_of(trace: &Trace, from_s: f64, to_pct: f64) -> Result<CutRun, Fault> {
    let mut cuts = Vec::with_capacity(2);
    // A heart may begin with the first running, which is no time to cut at.
    if from_s >= 1.0 {
        cuts.push(Cut { name: "foreshots".to_owned(), until: Until::TimeS(from_s) });
    }
    cuts.push(Cut { name: "heart".to_owned(), until: Until::StrengthPct(to_pct) });
    let mut reading = trace.read(&cuts)?;
    // One cut at least was asked for, so one at least is read.
    Ok(reading.cuts.swap_remove(reading.cuts.len() - 1))
}
