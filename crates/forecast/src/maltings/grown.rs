//! A piece on its floor, followed from casting through what was noted to any moment ahead.

use super::cast::Made;
use super::factor::Factor;
use super::seen::hours;
use super::steeping;
use crate::chain::usual_weather;
use gauge::Fault;
use house::malted::{Laid, Malted, Turning};
use house::{Equipment, House};
use jiff::Timestamp;
use numeric::least_squares::{Unknown, fit};
use process::floor::{
    AirKnot, Charge, Constants, Hand, How, Programme, Spread, State, Turn, Vessel, resume,
};

/// How well a factor on the breathing is known before a piece has spoken.
const RESPIRATION_SD: f64 = 0.15;
/// Of a noted grain temperature: thermometer 0.3 K, the place in the heap 0.6 K, and what the
/// model leaves out 0.5 K.
pub(crate) const GRAIN_SD_C: f64 = 0.8;
/// Of the moment it was noted, h.
const MOMENT_H: f64 = 0.25;
/// A temperature that is noted with a turn was taken before it: so long before, h.
const BEFORE_TURN_H: f64 = 0.02;
/// A floor on the ground is a little colder than the air over it.
const FLOOR_COLDER_DK: f64 = 1.0;
/// Longest a piece is followed.
const LONGEST_H: f64 = 20.0 * 24.0;
/// A stretch in which a piece is turned of its own accord, h.
const STRETCH_H: f64 = 4.0;

/// A moment of a piece: hours from casting and how it stood.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Row {
    pub(crate) time_h: f64,
    pub(crate) grain_c: f64,
    pub(crate) core_c: f64,
    pub(crate) moisture_wet: f64,
    pub(crate) modification: f64,
    pub(crate) acrospire: f64,
    pub(crate) depth_m: f64,
    /// Without rootlets.
    pub(crate) malt_dry_kg: f64,
    pub(crate) carbon_dioxide_kg_h: f64,
    pub(crate) overgrown: f64,
}

/// The course of a piece.
#[derive(Debug, Clone)]
pub(crate) struct Course {
    pub(crate) rows: Vec<Row>,
    pub(crate) state: State,
    pub(crate) out: process::floor::Out,
    /// Turns, h from casting; those given of its own accord among them.
    pub(crate) turns: Vec<Turn>,
}

impl Course {
    /// A figure at an hour, on the straight line between rows.
    pub(crate) fn at(&self, time_h: f64, of: impl Fn(&Row) -> f64) -> Option<f64> {
        let next = self.rows.partition_point(|row| row.time_h < time_h);
        match (next.checked_sub(1).map(|i| &self.rows[i]), self.rows.get(next)) {
            (Some(a), Some(b)) => {
                let span = b.time_h - a.time_h;
                let share = if span > 0.0 { (time_h - a.time_h) / span } else { 1.0 };
                Some(of(a) + share * (of(b) - of(a)))
            }
            (Some(one), None) | (None, Some(one)) if (one.time_h - time_h).abs() < 1e-6 => {
                Some(of(one))
            }
            _ => None,
        }
    }
}

/// How far a piece is to be followed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Until {
    /// To an hour after casting.
    Hour(f64),
    /// To ready and so many hours more.
    ReadyAnd(f64),
}

/// A piece, as far as it can be reckoned.
#[derive(Debug, Clone)]
pub(crate) struct Grown<'h> {
    pub(crate) made: Made<'h>,
    pub(crate) laid: &'h Laid,
    pub(crate) own: &'h house::vessel::Floor,
    pub(crate) stage: &'h Vessel,
    pub(crate) charge: Charge,
    /// Turns of its own accord from the last noted one on.
    pub(crate) programme: Programme,
    pub(crate) constants: Constants,
    pub(crate) respiration: Factor,
    /// Hours from casting to now.
    pub(crate) now_h: f64,
}

impl<'h> Grown<'h> {
    /// Puts a piece together from what was noted until `at`, nothing fitted yet.
    pub(crate) fn of(
        house: &'h House,
        standing: &house::Standing,
        malted: &'h Malted,
        at: Timestamp,
    ) -> Result<Self, Fault> {
        let wanted = "a piece cast on to a floor";
        let laid =
            malted.floor.as_ref().ok_or(Fault::MissingPart { field: "floor".into(), wanted })?;
        let made = Made::of(house, standing, malted)?;
        let (own, stage) = floor_of(house, &laid.vessel)?;
        let steeped = steeping::reckon(house, &made, malted, Some(laid.at))?;
        let out = &steeped.run.out;
        let first = laid.grain_c.first().filter(|r| hours(laid.at, r.at).abs() < 1.0);
        let barley_dry_kg = malted.parts.iter().map(|part| part.dry_kg).sum::<f64>();
        let charge = Charge {
            barley_dry_kg: Some(barley_dry_kg),
            temperature_c: first.map_or(out.temperature_c, |r| r.value).clamp(0.0, 30.0),
            ..Charge::cast(out)
        };
        let now_h = hours(laid.at, at).max(0.0);
        let programme = programme(house, &made, laid, own, now_h);
        let usual = Constants::default();
        let constants = if made.mixed { Constants { acrospire_sd: 0.25, ..usual } } else { usual };
        let respiration = Factor::believed("respiration", "breathing of the piece", RESPIRATION_SD);
        Ok(Self { made, laid, own, stage, charge, programme, constants, respiration, now_h })
    }

    /// Bends the breathing to the temperatures noted so far.
    ///
    /// The piece is followed at three factors and read between them by the parabola, so the fit
    /// takes no course of its own for each step.
    pub(crate) fn fitted(mut self) -> Self {
        let noted = self.noted();
        if noted.is_empty() {
            return self;
        }
        let reach = 1.5 * RESPIRATION_SD;
        let ladder = [-reach, 0.0, reach].map(|ln| {
            let constants = self.breathing(ln);
            self.temperatures(&constants, &noted).ok()
        });
        let [Some(low), Some(middle), Some(high)] = ladder else {
            return self;
        };
        let unknown =
            Unknown::believed(self.respiration.belief()).within(-2.0 * reach..=2.0 * reach);
        let found = fit(&[unknown], |at| {
            let u = at[0] / reach;
            let residual = |i: usize| {
                let (a, b, c) = (low[i].0, middle[i].0, high[i].0);
                let t = b + 0.5 * u * (c - a) + 0.5 * u * u * (a - 2.0 * b + c);
                (t - noted[i].1) / GRAIN_SD_C.hypot(MOMENT_H * middle[i].1)
            };
            Ok::<_, std::convert::Infallible>((0..noted.len()).map(residual).collect())
        });
        if let Ok(found) = found {
            self.respiration = self.respiration.found(&found.found[0]);
            self.constants = self.breathing(self.respiration.value.ln());
        }
        self
    }

    /// Noted temperatures by the hour, those of the casting itself left out: it begins there.
    pub(crate) fn noted(&self) -> Vec<(f64, f64)> {
        let turned =
            |h: f64| self.laid.turns.iter().any(|t| (hours(self.laid.at, t.at) - h).abs() < 0.1);
        let readings = self.laid.grain_c.iter().map(|r| (hours(self.laid.at, r.at), r.value));
        readings
            .filter(|(h, _)| *h >= 1.0 && *h <= self.now_h + 1e-6)
            .map(|(h, c)| if turned(h) { (self.before_turn(h), c) } else { (h, c) })
            .collect()
    }

    /// The moment just before the turn that was noted about `h`.
    fn before_turn(&self, h: f64) -> f64 {
        let turns = self.laid.turns.iter().map(|t| hours(self.laid.at, t.at));
        let near = turns.filter(|t| (t - h).abs() < 0.1).fold(h, f64::min);
        near - BEFORE_TURN_H
    }

    pub(crate) fn breathing(&self, ln: f64) -> Constants {
        let usual = Constants::default().respiration_1_d;
        Constants { respiration_1_d: usual * ln.exp(), ..self.constants.clone() }
    }

    /// Mean temperature at each noted moment and how fast it changes there, K/h.
    fn temperatures(
        &self,
        constants: &Constants,
        noted: &[(f64, f64)],
    ) -> Result<Vec<(f64, f64)>, Fault> {
        let mut state = self.cast(constants);
        let mut out = Vec::with_capacity(noted.len());
        for (at_h, _) in noted {
            let before = (at_h - 0.25).max(state.time_h);
            state = self.on(&state, before, constants, &self.programme)?.state;
            let warm = state.temperature_c;
            let run = self.on(&state, *at_h, constants, &self.programme)?;
            let slope = (run.state.temperature_c - warm) / (at_h - before).max(0.01);
            // A turn between the two is no slope.
            let turned = run.state.turned_h > before;
            state = run.state;
            out.push((state.temperature_c, if turned { 0.0 } else { slope }));
        }
        Ok(out)
    }

    pub(crate) fn cast(&self, constants: &Constants) -> State {
        State::cast(&self.charge, self.stage, &self.programme, constants)
    }

    fn on(
        &self,
        state: &State,
        to_h: f64,
        constants: &Constants,
        programme: &Programme,
    ) -> Result<process::floor::Run, Fault> {
        let hand = Hand { hours: Some(to_h.max(1.0).max(state.time_h)), ..programme.hand.clone() };
        let programme = Programme { hand, ..programme.clone() };
        resume(state, &self.charge, self.stage, &programme, constants)
    }

    /// Follows it with its own constants.
    pub(crate) fn course(&self, until: Until) -> Result<Course, Fault> {
        self.follow(&self.constants, &self.charge, &self.programme, until)
    }

    /// Follows a piece from turn to turn. Turns given of its own accord are found on the way; a row
    /// just before each turn shows the saw's tooth.
    pub(crate) fn follow(
        &self,
        constants: &Constants,
        charge: &Charge,
        programme: &Programme,
        until: Until,
    ) -> Result<Course, Fault> {
        let mut walk = Walk {
            grown: self,
            constants,
            charge,
            programme: programme.clone(),
            state: State::cast(charge, self.stage, programme, constants),
            rows: Vec::with_capacity(400),
            turns: programme.turns.clone(),
            out: None,
        };
        loop {
            let end_h = match until {
                Until::Hour(hour) => hour.max(1.0),
                Until::ReadyAnd(more_h) => {
                    walk.state.ready_h.map_or(LONGEST_H, |ready| ready + more_h)
                }
            };
            if walk.state.time_h >= end_h - 1e-6 {
                break;
            }
            walk.go_on(end_h)?;
        }
        walk.turns.sort_by(|a, b| a.at_h.total_cmp(&b.at_h));
        let wanted = "hours on the floor";
        let out = walk.out.ok_or(Fault::MissingPart { field: "floor".into(), wanted })?;
        Ok(Course { rows: walk.rows, state: walk.state, out, turns: walk.turns })
    }

    /// Ready moment and hourly temperatures of a piece moved from this one, its turns written down:
    /// one run, for it is only compared.
    pub(crate) fn moved(
        &self,
        constants: &Constants,
        charge: &Charge,
        programme: &Programme,
        hours: f64,
    ) -> Result<process::floor::Run, Fault> {
        let hand = Hand { hours: Some(hours), ..programme.hand.clone() };
        let programme = Programme { hand, ..programme.clone() };
        process::floor::run(charge, self.stage, &programme, constants)
    }
}

/// A piece on its way through its turns.
struct Walk<'a, 'h> {
    grown: &'a Grown<'h>,
    constants: &'a Constants,
    charge: &'a Charge,
    programme: Programme,
    state: State,
    rows: Vec<Row>,
    turns: Vec<Turn>,
    out: Option<process::floor::Out>,
}

impl Walk<'_, '_> {
    fn run(&mut self, to_h: f64) -> Result<process::floor::Run, Fault> {
        self.programme.hand.hours = Some(to_h.max(1.0).max(self.state.time_h));
        resume(&self.state, self.charge, self.grown.stage, &self.programme, self.constants)
    }

    /// To just before the next written turn; where none is written, some hours on, and not past
    /// more than one turn of its own accord.
    fn go_on(&mut self, end_h: f64) -> Result<(), Fault> {
        let from_h = self.state.time_h;
        let teeth = self.turns.iter().map(|turn| turn.at_h - BEFORE_TURN_H);
        let tooth = teeth.filter(|h| *h > from_h + 1e-6).fold(f64::INFINITY, f64::min);
        let mut to_h = tooth.min(end_h).min(from_h + STRETCH_H);
        let mut run = self.run(to_h)?;
        if self.given(&run).is_some() && run.state.turns - self.state.turns > 1.5 {
            to_h = to_h.min(from_h + 1.0);
            run = self.run(to_h)?;
        }
        if let Some(turned_h) = self.given(&run) {
            self.turns.push(Turn { at_h: turned_h, how: How::Turn });
            let before_h = turned_h - BEFORE_TURN_H;
            if before_h - from_h > 1e-3 {
                // To the tooth and over it again: the row before the turn is wanted.
                let before = self.run(before_h)?;
                self.take(before);
                run = self.run(to_h)?;
            }
        }
        self.take(run);
        Ok(())
    }

    /// The turn that was given of its own accord in a stretch from here.
    fn given(&self, run: &process::floor::Run) -> Option<f64> {
        let turned_h = run.state.turned_h;
        let written = self.turns.iter().any(|turn| (turn.at_h - turned_h).abs() < 1e-6);
        (turned_h > self.state.time_h + 1e-6 && !written).then_some(turned_h)
    }

    /// Adds the rows of a stretch and stands at its end.
    fn take(&mut self, run: process::floor::Run) {
        let column = |key: &str| run.curves.get(key).unwrap_or_default();
        let spread = self.constants.acrospire_sd;
        let (times, acrospire) = (column("time_h"), column("acrospire"));
        let (breathed, roots) = (column("breathed_fraction"), column("rootlet_fraction"));
        let last_h = self.rows.last().map_or(-1.0, |row| row.time_h);
        for i in (0..times.len()).filter(|i| times[*i] > last_h + 1e-6) {
            self.rows.push(Row {
                time_h: times[i],
                grain_c: column("temperature_c")[i],
                core_c: column("core_c")[i],
                moisture_wet: column("moisture_wet")[i],
                modification: column("modification")[i],
                acrospire: acrospire[i],
                depth_m: column("depth_m")[i],
                malt_dry_kg: self.charge.dry_kg * (1.0 - breathed[i]) * (1.0 - roots[i]),
                carbon_dioxide_kg_h: column("carbon_dioxide_kg_h")[i],
                overgrown: process::floor::growth::overgrown(acrospire[i], spread),
            });
        }
        self.state = run.state;
        self.out = Some(run.out);
    }
}

/// The figures of a floor of the house; its first one when the piece's own is not known.
pub(crate) fn floor_of<'h>(
    house: &'h House,
    key: &str,
) -> Result<(&'h house::vessel::Floor, &'h Vessel), Fault> {
    let mut own = house.vessel(key).into_iter().chain(house.vessels("floor"));
    own.find_map(|vessel| match &vessel.what {
        Equipment::Floor(own, stage) => Some((own, stage)),
        _ => None,
    })
    .ok_or(Fault::MissingPart { field: "vessel".into(), wanted: "a malting floor" })
}

/// Turns, spreads and air as noted or usual; from now on it is turned of its own accord.
fn programme(
    house: &House,
    made: &Made<'_>,
    laid: &Laid,
    own: &house::vessel::Floor,
    now_h: f64,
) -> Programme {
    let usual = &made.barley.floor;
    let day = |days: i32| super::seen::later(laid.at, 24.0 * f64::from(days));
    let air: Vec<AirKnot> = (0..16)
        .map(|days| {
            let weather = usual_weather(house, day(days));
            AirKnot {
                at_h: 24.0 * f64::from(days),
                air_c: weather.air_c.max(own.least_air_c),
                air_relative_humidity: weather.relative_humidity,
            }
        })
        .collect();
    let floor_c = air[4].air_c - FLOOR_COLDER_DK;
    let mut turns: Vec<Turn> = laid
        .turns
        .iter()
        .map(|turn| Turn {
            at_h: hours(laid.at, turn.at),
            how: match turn.how {
                Turning::Full => How::Turn,
                Turning::Plough => How::Plough,
            },
        })
        .filter(|turn| turn.at_h > 0.0 && turn.at_h <= now_h + 1e-6)
        .collect();
    turns.dedup_by(|b, a| b.at_h - a.at_h < 1e-3);
    let mut spreads: Vec<Spread> = laid
        .spreads
        .iter()
        .map(|spread| Spread {
            at_h: hours(laid.at, spread.at),
            covered_fraction: spread.covered_fraction,
        })
        .filter(|spread| spread.at_h > 0.0)
        .collect();
    spreads.dedup_by(|b, a| b.at_h - a.at_h < 1e-3);
    // Noted with the casting, it is how the piece was laid.
    let as_laid = laid.spreads.iter().rfind(|s| hours(laid.at, s.at) <= 0.0);
    let covered_fraction = as_laid.map_or(usual.hand.covered_fraction, |s| s.covered_fraction);
    let hand = Hand {
        covered_fraction,
        air_c: air[0].air_c,
        air_relative_humidity: air[0].air_relative_humidity,
        floor_c,
        pressure_pa: house.plant.site.pressure_pa,
        // A hair after now, so that now is still before a turn that is due.
        turn_from_h: Some(now_h + BEFORE_TURN_H),
        turn_until_h: None,
        felt_h: own.felt_h,
        hours: None,
        ..usual.hand.clone()
    };
    Programme { hand, turns, air, sprinkles: usual.sprinkles.clone(), spreads }
}
