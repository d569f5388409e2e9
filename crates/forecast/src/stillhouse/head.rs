//! The heat a head loses, fitted from the first strong readings of a run.
//!
//! What a head condenses makes the first spirit stronger, and nothing else in the run speaks of it
//! so plainly. Three things are fitted together: the heat lost, W/K; when the first spirit really
//! ran, which nobody notes to the minute; and how much the strengths stand above or below the
//! curve all through, which is the hydrometer's doing and not the head's. Each has what was
//! believed before, so that few readings move little. A head shows in the strong part and fades
//! towards the feints; a hydrometer does not fade.
//!
//! The fit is made to a run followed at seven losses, so it takes no run of its own for each step.
//!
//! # Source
//! Least squares with priors as [`numeric::least_squares`]. Strength of the first running against
//! the heat lost, some 2 % vol for 300 W/K at 250 kW: from the model itself.

use super::Fitted;
use super::moved::HEAD;
use super::run::Expected;
use gauge::Fault;
use house::ran::Collected;
use house::{House, KeptCuts, Ran};
use jiff::Timestamp;
use numeric::least_squares::{Belief, Fit, NoFit, Unknown, fit};
use process::still::{Moles, Point, Spirit, Trace};

/// Minutes from the first running in which the strengths speak of the head.
pub const STRONG_MIN: f64 = 40.0;
/// Minutes at the very beginning that are left out: old feints in the worm weaken the first spirit.
const HAZE_MIN: f64 = 4.0;
/// Standard uncertainty of one reading beside the hydrometer's own error, % vol: eye, temperature,
/// and what the model leaves out.
const READING_PCT: f64 = 0.1;
/// Of the hydrometer, % vol, before a run speaks of it.
pub(crate) const HYDROMETER_PCT: f64 = 0.25;
/// Of the strength of the charge, % vol.
const CHARGE_PCT: f64 = 0.15;
/// Of the moment of first running, min.
const CLOCK_MIN: f64 = 6.0;
/// Of the moment a reading was taken, s: where the strength falls fast this is most of it.
const MOMENT_S: f64 = 45.0;
/// Of the litres in the receivers, as a share: dips, and what the charge's litres are unsure of.
const LITRES: f64 = 0.004;
/// Of the heat that the steam gives, as a share.
const HEAT: f64 = 0.05;

/// How much the readings have said.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Learned {
    /// Hardly anything: the figure is the one believed before.
    StayedAtPrior,
    /// Part of it.
    Partly,
    /// Nearly all of it.
    FromYourData,
}

impl Learned {
    /// By the share of the prior variance that the readings took away.
    pub fn of(fraction: f64) -> Self {
        match fraction {
            f if f < 0.1 => Self::StayedAtPrior,
            f if f <= 0.8 => Self::Partly,
            _ => Self::FromYourData,
        }
    }
    /// The same in words.
    pub fn word(self) -> &'static str {
        match self {
            Self::StayedAtPrior => "stayed as it was believed",
            Self::Partly => "partly from the readings",
            Self::FromYourData => "from the readings",
        }
    }
}

/// The head of one run, fitted.
#[derive(Debug, Clone, PartialEq)]
pub struct HeadFit {
    /// The still.
    pub still: String,
    /// The run.
    pub run: u32,
    /// Heat lost by the head, W/K.
    pub head_loss_w_k: f64,
    /// Its standard uncertainty.
    pub sd: f64,
    /// What was believed before, W/K.
    pub before_w_k: f64,
    /// Its standard uncertainty.
    pub before_sd: f64,
    /// Share of that uncertainty, as a variance, that the readings took away.
    pub learned: f64,
    /// The same in words.
    pub says: Learned,
    /// Strong readings used.
    pub used: usize,
    /// Readings of the later run that held the hydrometer.
    pub later: usize,
    /// Sum of squares over degrees, 1 when the readings scatter as they should.
    pub reduced_chi2: f64,
    /// Root mean square of readings less curve before the fit, % vol.
    pub misfit_before_pct: f64,
    /// The same after it.
    pub misfit_after_pct: f64,
    /// How far the strengths stand above the curve all through, % vol.
    pub stand_above_pct: f64,
    /// Standard uncertainty of that.
    pub stand_above_sd: f64,
    /// Correlation of it with the logarithm of the loss: a run alone hardly tells the two apart.
    pub correlation: f64,
    /// When the first spirit ran.
    pub first_running: Timestamp,
    /// Standard uncertainty of that, s.
    pub first_running_sd_s: f64,
}

/// Why a head was not fitted.
#[derive(Debug, Clone, PartialEq)]
pub enum NotFitted {
    /// Too few strong readings: this many were found.
    TooFew(usize),
    /// The still would not run so.
    Still(Fault),
    /// No fit was found.
    NoFit,
}

impl NotFitted {
    /// The same in words, with what would help.
    pub fn says(&self) -> String {
        match self {
            Self::TooFew(found) => format!(
                "{found} strengths were noted in the first {STRONG_MIN:.0} minutes after the first \
                 running; three are needed, some minutes apart"
            ),
            Self::Still(fault) => fault.to_string(),
            Self::NoFit => "the readings and the run do not meet for any head: look whether the \
                 charge was noted as it was"
                .to_owned(),
        }
    }
}

/// The same charge under five heads, to read strengths between.
struct Ladder {
    /// Logarithm of the heat lost, rising.
    at: Vec<f64>,
    traces: Vec<Trace>,
    hot: Trace,
    rich: Trace,
}

impl Ladder {
    fn of(house: &House, ran: &Ran, kept: Option<&KeptCuts>, prior: Belief) -> Result<Self, Fault> {
        let run = |loss_w_k: f64, heat: f64, charge_pct: f64| {
            Expected::only(house, ran, kept, Changed { loss_w_k, heat, charge_pct })
        };
        let at: Vec<f64> =
            (-3..=3).map(|step| prior.mean + 0.75 * prior.sd * f64::from(step)).collect();
        let hot = run(prior.mean.exp(), 1.0 + HEAT, 0.0)?;
        let rich = run(prior.mean.exp(), 1.0, CHARGE_PCT)?;
        let plain = |ln_loss: &f64| run(ln_loss.exp(), 1.0, 0.0);
        let traces = std::thread::scope(|scope| {
            let hands: Vec<_> =
                at.chunks(4).map(|some| scope.spawn(|| each(some, &plain))).collect();
            let mut out = Vec::with_capacity(at.len());
            for hand in hands {
                match hand.join() {
                    Ok(traces) => out.extend(traces?),
                    Err(panic) => std::panic::resume_unwind(panic),
                }
            }
            Ok::<_, Fault>(out)
        })?;
        Ok(Self { at, traces, hot, rich })
    }

    /// What is read of the run at a moment, for a loss between the rungs, by the parabola through
    /// the nearest three; heat and charge in their own standard uncertainties.
    fn read(&self, theta: &[f64], time_s: f64, of: impl Fn(&Point) -> f64) -> f64 {
        let [ln_loss, heat, charge] = [theta[0], theta[3], theta[4]];
        let step = self.at[1] - self.at[0];
        let place = ((ln_loss - self.at[0]) / step).clamp(-0.5, self.at.len() as f64 - 0.5);
        let middle = (place.round() as usize).clamp(1, self.at.len() - 2);
        let s = |trace: &Trace| of(&trace.point(time_s));
        let [a, b, c] = [middle - 1, middle, middle + 1].map(|rung| s(&self.traces[rung]));
        let u = place - middle as f64;
        let own = b + 0.5 * u * (c - a) + 0.5 * u * u * (a - 2.0 * b + c);
        let centre = s(self.centre());
        own + heat * (s(&self.hot) - centre) + charge * (s(&self.rich) - centre)
    }

    fn centre(&self) -> &Trace {
        &self.traces[self.at.len() / 2]
    }
}

fn each(
    some: &[f64],
    run: &(impl Fn(&f64) -> Result<Trace, Fault> + Sync),
) -> Result<Vec<Trace>, Fault> {
    some.iter().map(run).collect()
}

/// The head's loss, a factor on the heat and what is added to the strength of the charge.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Changed {
    pub(crate) loss_w_k: f64,
    pub(crate) heat: f64,
    pub(crate) charge_pct: f64,
}

/// Gives the heat lost by the head of a run from its first strong readings.
///
/// The prior is the still's own figure, known to a quarter, or what earlier runs made of it in
/// `fitted`.
///
/// # Units
/// W/K, % vol.
/// # Range
/// At least three strengths in the first forty minutes.
/// # Error
/// As the result says: reading 0.1 % vol, hydrometer 0.25 % vol, charge 0.15 % vol, clock 6 min,
/// heat 5 %, all from memory.
/// # Source
/// As on the page above.
pub fn head(
    house: &House,
    ran: &Ran,
    kept: Option<&KeptCuts>,
    fitted: &Fitted,
) -> Result<HeadFit, NotFitted> {
    let expected = Expected::of(house, ran, kept, fitted).map_err(NotFitted::Still)?;
    let told = fitted.head(&ran.still);
    let before_w_k = expected.head_loss_w_k;
    let before_sd = told.map_or(HEAD * before_w_k, |head| head.sd);
    // Heat lost is above nought: its logarithm is what is believed and fitted.
    let prior = Belief { mean: before_w_k.ln(), sd: before_sd / before_w_k };
    let clock = expected.clock(ran);
    let readings: Vec<(f64, f64)> = ran
        .strengths()
        .iter()
        .map(|r| (seconds(clock, r.at), r.value))
        .filter(|(s, _)| *s > -60.0 * CLOCK_MIN && *s < expected.trace.end_s())
        .collect();
    let strong = |(s, _): &&(f64, f64)| (60.0 * HAZE_MIN..60.0 * STRONG_MIN).contains(s);
    let used = readings.iter().filter(strong).count();
    if used < 3 {
        return Err(NotFitted::TooFew(used));
    }
    let rest: Vec<(f64, f64)> =
        readings.into_iter().filter(|(s, _)| *s >= 60.0 * HAZE_MIN).collect();
    let ladder = Ladder::of(house, ran, kept, prior).map_err(NotFitted::Still)?;
    let noted = Noted { strengths: rest, litres: litres(ran, clock, expected.trace.end_s()) };
    let found = fit_to(&ladder, &noted, prior).map_err(|_| NotFitted::NoFit)?;
    let [loss, shift, above] = [0, 1, 2].map(|at| found.found[at]);
    let misfit = |theta: &[f64]| {
        let off = |(s, pct): &(f64, f64)| {
            ladder.read(theta, s - theta[1], |p| p.strength_pct) + theta[2] - pct
        };
        let squares: f64 = noted.strengths.iter().map(|r| off(r).powi(2)).sum();
        (squares / noted.strengths.len() as f64).sqrt()
    };
    let theta: Vec<f64> = found.found.iter().map(|f| f.value).collect();
    let value = loss.value.exp();
    Ok(HeadFit {
        still: ran.still.clone(),
        run: ran.run,
        head_loss_w_k: value,
        sd: value * loss.sd,
        before_w_k,
        before_sd,
        learned: loss.learned,
        says: Learned::of(loss.learned),
        used,
        later: noted.strengths.len() - used,
        reduced_chi2: found.reduced(),
        misfit_before_pct: misfit(&[prior.mean, 0.0, 0.0, 0.0, 0.0]),
        misfit_after_pct: misfit(&theta),
        stand_above_pct: above.value,
        stand_above_sd: above.sd,
        correlation: found.covariance[0][2] / (loss.sd * above.sd),
        first_running: moved(clock, shift.value),
        first_running_sd_s: shift.sd,
    })
}

/// What was noted, by seconds from the first running as the clock has it.
struct Noted {
    /// Moment and % vol.
    strengths: Vec<(f64, f64)>,
    /// Moment and litres at 20 °C in all receivers.
    litres: Vec<(f64, f64)>,
}

/// What lay in all receivers when each cut was turned.
fn litres(ran: &Ran, clock: Timestamp, end_s: f64) -> Vec<(f64, f64)> {
    let mut over = Moles::default();
    let mut out = Vec::with_capacity(ran.cuts.len());
    for cut in &ran.cuts {
        let Collected { volume_20_l, strength_pct, .. } = *cut;
        over = over.plus(Moles::of_spirit(Spirit { volume_20_l, strength_pct }));
        out.push((seconds(clock, cut.at), over.volume_20_l()));
    }
    // The feints run until it no longer pays, and what trickles then speaks of nothing.
    out.retain(|(s, _)| *s > 0.0 && *s < 0.8 * end_s);
    out
}

/// Unknowns: logarithm of the loss, seconds that the first running was later than reckoned,
/// hydrometer, heat, charge.
fn fit_to(
    ladder: &Ladder,
    noted: &Noted,
    prior: Belief,
) -> Result<Fit, NoFit<std::convert::Infallible>> {
    let reach = 2.5 * prior.sd;
    let about = |sd| Unknown::believed(Belief { mean: 0.0, sd });
    let unknowns = [
        Unknown::believed(prior).within(prior.mean - reach..=prior.mean + reach),
        about(60.0 * CLOCK_MIN),
        about(HYDROMETER_PCT),
        about(1.0),
        about(1.0),
    ];
    let strength = |p: &Point| p.strength_pct;
    let over = |p: &Point| p.over_l;
    let runs = |s: f64, of: &dyn Fn(&Point) -> f64| {
        let centre = ladder.centre();
        of(&centre.point(s + MOMENT_S)) - of(&centre.point(s))
    };
    let strengths: Vec<(f64, f64, f64)> = noted
        .strengths
        .iter()
        .map(|(s, pct)| (*s, *pct, READING_PCT.hypot(runs(*s, &strength))))
        .collect();
    let litres: Vec<(f64, f64, f64)> = noted
        .litres
        .iter()
        .map(|(s, litres)| (*s, *litres, (LITRES * litres).hypot(runs(*s, &over))))
        .collect();
    fit(&unknowns, |t| {
        let of_strength = strengths
            .iter()
            .map(|(s, pct, sd)| (ladder.read(t, s - t[1], strength) + t[2] - pct) / sd);
        let of_litres =
            litres.iter().map(|(s, litres, sd)| (ladder.read(t, s - t[1], over) - litres) / sd);
        Ok(of_strength.chain(of_litres).collect())
    })
}

fn seconds(from: Timestamp, to: Timestamp) -> f64 {
    1e-3 * (to.as_millisecond() - from.as_millisecond()) as f64
}

pub(crate) fn moved(at: Timestamp, by_s: f64) -> Timestamp {
    let millis = at.as_millisecond() + (1e3 * by_s).round() as i64;
    Timestamp::from_millisecond(millis).unwrap_or(at)
}

#[cfg(test)]
mod tests;
