//! Checks that every stage makes before it reckons, and the step through rows and kinks that the
//! stages which last a while share.

use gauge::{Fault, Record};
use numeric::runge_kutta::{DormandPrince, NoStep};
use std::convert::Infallible;

/// Refuses the first figure of `record` outside its range, its path begun with `part`.
///
/// A case read from a file has been checked by the reader; a struct filled by hand (by a forecast,
/// a form, a test) has not, and must be refused in the same words.
pub(crate) fn sound<R: Record>(part: &str, record: &R) -> Result<(), Fault> {
    match record.faults().into_iter().next() {
        None => Ok(()),
        Some(fault) if part.is_empty() => Err(fault),
        Some(fault) => Err(fault.within(part)),
    }
}

/// Steps `run` to `until`.
pub(crate) fn step_to(
    run: &mut DormandPrince,
    until: f64,
    what: &'static str,
    slope: &mut impl FnMut(f64, &[f64], &mut [f64]) -> Result<(), Infallible>,
) -> Result<(), Fault> {
    while run.at() < until {
        run.step(until, slope).map_err(|stop| no_step(what, &stop))?;
    }
    Ok(())
}

/// The fault for an integration that stopped short.
pub(crate) fn no_step(what: &'static str, stop: &NoStep<Infallible>) -> Fault {
    let at = match *stop {
        NoStep::TooSmall { at } | NoStep::TooMany { at } => at,
        NoStep::Slope(never) => match never {},
    };
    Fault::NotConverged { what, steps: 0, residual: at }
}

/// Row times from 0 to `end` every `every`, the end always among them.
pub(crate) fn row_times(every: f64, end: f64) -> Vec<f64> {
    let whole = (end / every * (1.0 - 1e-12)).floor() as usize;
    let mut times: Vec<f64> = (0..=whole).map(|row| row as f64 * every).collect();
    if times.last().is_none_or(|last| *last < end) {
        times.push(end);
    }
    times
}
