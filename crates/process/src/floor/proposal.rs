//! Turning and thinning proposed: the fewest acts that hold a piece under its ceiling and keep it
//! from felting, each while somebody is there.
//!
//! # Method
//! Acts fall on whole hours of the clock. A piece is laid out from every hour at which it may be
//! turned to every later one before it felts or passes its ceiling; of the pieces that come to the
//! same hour with the same acts behind them the coolest and the furthest grown are kept, and one
//! with an act more where it is cooler. So the search is a dynamic programme whose states are
//! thinned: that no plan with fewer turns holds is tested against all plans of small cases. It
//! lays pieces out in steps of six minutes; the plan found is run again in steps of a minute, and
//! searched anew under a lower ceiling where that run passes it.
//!
//! Thinning and thickening are tried one at a time, each with a turn, at a few times and to a few
//! shares of the floor; one is proposed only where it saves a turn, or where without it none holds.
//! Turns proposed are full turns.

pub(crate) mod case;
mod search;

use gauge::{Fault, Grade};

use super::band::{Ready, ready};
use super::figures::{Charge, Constants, How, Programme, Spread, Turn, Vessel};
use super::state::State;
use super::{Run, resume};
use crate::manned::Manned;
use crate::sound::sound;
use search::{Acts, Search};

gauge::record! {
    /// What is wanted of the turning.
    pub struct Turning {
        /// Highest mean temperature.
        pub ceiling_c: f64 = Field::new("°C").label("ceiling").within(8.0, 30.0).or(18.0)
            .from(Grade::Memory, "12 to 18 °C usual on a floor"),
        /// Highest temperature in the middle, where that is watched too.
        pub core_ceiling_c: Option<f64> = Field::new("°C").label("ceiling in the middle")
            .within(8.0, 40.0),
        /// Longest without a turn.
        pub felt_h: f64 = Field::new("h").label("felts after").within(3.0, 72.0).or(12.0)
            .from(Grade::Design, "turned at least twice a day, Wright, c. 1907"),
        /// Shortest between two turns.
        pub least_gap_h: f64 = Field::new("h").label("not again before").within(0.5, 24.0).or(2.0)
            .from(Grade::House, "a turn takes an hour or two"),
        /// Least of the floor it may be thickened to; neither thinned nor thickened when this and
        /// the next are not given.
        pub least_covered_fraction: Option<f64> = Field::new("").label("thickened to")
            .within(0.05, 1.0),
        /// Most of the floor it may be thinned to.
        pub most_covered_fraction: Option<f64> = Field::new("").label("thinned to")
            .within(0.05, 1.0),
        /// How much of the constants' uncertainty the house's own pieces have left.
        pub unfitted: f64 = Field::new("").label("constants not borne out").within(0.0, 1.0)
            .or(1.0).from(Grade::House, "about 1/√n after n pieces reckoned and found"),
        /// How many manned turns one on call weighs; nobody is called when this is not given.
        pub on_call_weighs: Option<f64> = Field::new("").label("a turn on call weighs")
            .within(1.0, 50.0),
    }
}

/// Turning proposed for a piece.
#[derive(Debug, Clone, PartialEq)]
pub struct TurnPlan {
    /// The turns, hours from casting.
    pub turns: Vec<Turn>,
    /// Hours of those for which somebody is called.
    pub on_call_h: Vec<f64>,
    /// Thinnings and thickenings: what was given, and what is proposed.
    pub spreads: Vec<Spread>,
    /// When it is ready.
    pub ready: Ready,
    /// Highest mean temperature from now on.
    pub highest_c: f64,
    /// Highest temperature in the middle from now on.
    pub highest_core_c: f64,
    /// The piece under this turning, from now to the end.
    pub run: Run,
    /// What calls for the turns, in words.
    pub binds: Vec<String>,
}

/// How far a plan run in steps of a minute may pass a ceiling, K; beyond it, it is sought anew.
const PASSES_DK: f64 = 0.01;
/// How often.
const AGAIN: u32 = 3;

/// Gives the fewest turns that hold a piece until it is ready.
///
/// `from` is the piece as it stands; without it, it is about to be cast. Turns of the programme
/// that lie ahead are passed over, for they are what is asked.
/// # Units
/// As in the fields; hours count from casting, which falls at `manned.start_week_h`.
/// # Range
/// As [`run`](super::run). A piece that no turning holds is `Fault::Unworkable`, which says what
/// would. A piece that is too warm already, or felts already, is turned as soon as may be.
/// # Error
/// That of the piece's own reckoning; whole hours.
/// # Source
/// None: a search.
pub fn propose(
    charge: &Charge,
    vessel: &Vessel,
    programme: &Programme,
    constants: &Constants,
    wanted: &Turning,
    manned: &Manned,
    from: Option<&State>,
) -> Result<TurnPlan, Fault> {
    super::check(charge, vessel, programme, constants)?;
    sound("wanted", wanted)?;
    manned.check()?;
    let state = from.cloned().unwrap_or_else(|| State::cast(charge, vessel, programme, constants));
    state.check()?;
    // What was highest before now is no concern of what is ahead.
    let state = State { highest_c: None, highest_core_c: None, ..state };
    let mut bare = programme.clone();
    bare.turns.clear();
    let piece = Piece { charge, vessel, constants, wanted, manned, state: &state };
    let mut lower_dk = 0.0;
    let mut times = 0;
    loop {
        let (acts, planned) = piece.plan(&bare, lower_dk)?;
        let run = resume(&state, charge, vessel, &planned, constants)?;
        let core = wanted.core_ceiling_c.map_or(f64::NEG_INFINITY, |ceiling| {
            run.out.highest_core_c - ceiling.max(run_start_core_c(&run))
        });
        let passes = (run.out.highest_c - wanted.ceiling_c.max(state.temperature_c)).max(core);
        if passes <= PASSES_DK || times >= AGAIN {
            let ready = ready(&state, charge, vessel, &planned, constants, wanted.unfitted)?;
            let binds = acts.binds(wanted);
            return Ok(TurnPlan {
                turns: planned.turns,
                on_call_h: acts.on_call_h,
                spreads: planned.spreads,
                ready,
                highest_c: run.out.highest_c,
                highest_core_c: run.out.highest_core_c,
                run,
                binds,
            });
        }
        lower_dk += passes + 0.02;
        times += 1;
    }
}

/// The middle as it is at the beginning.
fn run_start_core_c(run: &Run) -> f64 {
    run.curves.get("core_c").and_then(|c| c.first().copied()).unwrap_or(f64::NEG_INFINITY)
}

/// A piece and what is wanted of it.
struct Piece<'a> {
    charge: &'a Charge,
    vessel: &'a Vessel,
    constants: &'a Constants,
    wanted: &'a Turning,
    manned: &'a Manned,
    state: &'a State,
}

impl Piece<'_> {
    fn search<'s>(&'s self, programme: &'s Programme, lower_dk: f64) -> Search<'s> {
        let setting = super::piece::Setting {
            charge: self.charge,
            vessel: self.vessel,
            programme,
            c: self.constants,
        };
        Search::new(setting, self.state, self.wanted, self.manned, lower_dk)
    }

    /// The acts, and the programme with them.
    fn plan(&self, bare: &Programme, lower_dk: f64) -> Result<(Acts, Programme), Fault> {
        let plain = self.search(bare, lower_dk).best();
        let mut chosen = plain.map(|acts| (acts, bare.clone()));
        let weighs = |chosen: &Option<(Acts, Programme)>| {
            chosen.as_ref().map_or(f64::INFINITY, |(acts, _)| acts.weighs)
        };
        if let Some(spread) = self.thinned(bare, lower_dk, weighs(&chosen)) {
            let acts = self.search(&spread, lower_dk).best();
            if let Some(acts) = acts.filter(|acts| acts.weighs < weighs(&chosen) - 0.5) {
                chosen = Some((acts, spread));
            }
        }
        let Some((acts, mut programme)) = chosen else {
            return Err(self.why_none(bare));
        };
        let turns = acts.turns_h.iter().map(|at_h| Turn { at_h: *at_h, how: How::Turn });
        programme.turns = turns.collect();
        Ok((acts, programme))
    }

    /// The programme with the one thinning or thickening that saves most, by a quick look.
    fn thinned(&self, bare: &Programme, lower_dk: f64, weighs: f64) -> Option<Programme> {
        const AFTER_H: [f64; 5] = [8.0, 24.0, 48.0, 72.0, 96.0];
        let (least, most) = (self.wanted.least_covered_fraction, self.wanted.most_covered_fraction);
        if least.is_none() && most.is_none() {
            return None;
        }
        let lies = self.state.dry_kg / (self.constants.dry_bulk_kg_m3 * self.state.depth_m);
        let now = lies / self.vessel.area_m2;
        let (least, most) = (least.unwrap_or(now), most.unwrap_or(now));
        let shares = (0..=5).map(|i| least + (most - least) * f64::from(i) / 5.0);
        let shares: Vec<f64> = shares.filter(|s| (s - now).abs() > 0.03).collect();
        let mut best: Option<(f64, Programme)> = None;
        for after_h in AFTER_H {
            let Some(at_h) = self.search(bare, lower_dk).manned_from(self.state.time_h + after_h)
            else {
                continue;
            };
            for covered_fraction in &shares {
                let mut programme = bare.clone();
                programme.spreads.retain(|s| s.at_h < at_h);
                let covered_fraction = covered_fraction.clamp(0.05, 1.0);
                programme.spreads.push(Spread { at_h, covered_fraction });
                programme.turns = vec![Turn { at_h, how: How::Turn }];
                let Some(found) = self.search(&programme, lower_dk).quick() else {
                    continue;
                };
                let against = best.as_ref().map_or(weighs - 0.5, |(weighs, _)| *weighs);
                if found < against {
                    best = Some((found, programme));
                }
            }
        }
        best.map(|(_, programme)| programme)
    }

    /// Why no turning holds the piece, and what would.
    fn why_none(&self, bare: &Programme) -> Fault {
        let wanted = self.wanted;
        let holds = |wanted: &Turning, programme: &Programme| {
            Piece { wanted, ..*self }.search(programme, 0.0).quick().is_some()
        };
        let mut ways = Vec::new();
        let called = Turning { on_call_weighs: Some(3.0), ..wanted.clone() };
        if wanted.on_call_weighs.is_none() && holds(&called, bare) {
            ways.push("turns on call".to_owned());
        }
        let warmer = (1..=8).map(|i| wanted.ceiling_c + f64::from(i));
        let eased = |ceiling_c| Turning { ceiling_c, ..wanted.clone() };
        if let Some(c) = warmer.into_iter().find(|c| holds(&eased(*c), bare)) {
            ways.push(format!("a ceiling of {c:.0} °C"));
        }
        let longer = (1..=12).map(|i| wanted.felt_h + 2.0 * f64::from(i));
        let eased = |felt_h| Turning { felt_h, ..wanted.clone() };
        if let Some(h) = longer.into_iter().find(|h| holds(&eased(*h), bare)) {
            ways.push(format!("{h:.0} h between turns"));
        }
        let cooler = |dk: f64| {
            let mut cooled = bare.clone();
            cooled.hand.air_c -= dk;
            cooled.air.iter_mut().for_each(|knot| knot.air_c -= dk);
            cooled
        };
        let cooling = (1..=6).map(|i| 2.0 * f64::from(i));
        if let Some(dk) = cooling.into_iter().find(|dk| holds(wanted, &cooler(*dk))) {
            ways.push(format!("air cooler by {dk:.0} K"));
        }
        let remedy = match ways.as_slice() {
            [] => "lay it thinner, or keep the room colder".to_owned(),
            ways => format!("it takes {}", ways.join(", or ")),
        };
        let trouble = self.search(bare, 0.0).trouble();
        Fault::Unworkable { field: "wanted.ceiling_c".into(), trouble, remedy }
    }
}
