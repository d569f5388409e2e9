//! An embedded Runge-Kutta pair with dense output and located events, for what is not stiff.
//!
//! The pair is that of Dormand and Prince, of order 5 with an error estimate of order 4; the last
//! slope of a step is the first of the next, so a step costs six. A step that crosses an event is
//! taken again up to the event, so a located state has the accuracy of a step and not that of the
//! interpolant.
//!
//! # Source
//! J. R. Dormand and P. J. Prince, A family of embedded Runge-Kutta formulae, J. Comput. Appl.
//! Math. 6 (1980) 19; dense output and step control as in E. Hairer, S. P. Nørsett and G. Wanner,
//! *Solving Ordinary Differential Equations I*, 2nd ed., 1993, sections II.4 to II.6.

mod piece;

pub use piece::Piece;

use crate::roots::{Bracket, brent};

const C: [f64; 6] = [0.2, 0.3, 0.8, 8.0 / 9.0, 1.0, 1.0];
const A: [&[f64]; 6] = [
    &[0.2],
    &[3.0 / 40.0, 9.0 / 40.0],
    &[44.0 / 45.0, -56.0 / 15.0, 32.0 / 9.0],
    &[19372.0 / 6561.0, -25360.0 / 2187.0, 64448.0 / 6561.0, -212.0 / 729.0],
    &[9017.0 / 3168.0, -355.0 / 33.0, 46732.0 / 5247.0, 49.0 / 176.0, -5103.0 / 18656.0],
    &[35.0 / 384.0, 0.0, 500.0 / 1113.0, 125.0 / 192.0, -2187.0 / 6784.0, 11.0 / 84.0],
];
/// Weights of the fifth-order result less those of the fourth-order one.
const E: [f64; 7] = [
    71.0 / 57600.0,
    0.0,
    -71.0 / 16695.0,
    71.0 / 1920.0,
    -17253.0 / 339200.0,
    22.0 / 525.0,
    -1.0 / 40.0,
];
/// Weights of the last term of the dense output.
const D: [f64; 7] = [
    -12715105075.0 / 11282082432.0,
    0.0,
    87487479700.0 / 32700410799.0,
    -10690763975.0 / 1880347072.0,
    701980252875.0 / 199316789632.0,
    -1453857185.0 / 822651844.0,
    69997945.0 / 29380423.0,
];

/// How often a located step is taken again to meet its event more closely.
const MOST_MENDS: u32 = 4;

/// How closely each component is followed: `absolute + relative |y|` a step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tolerance {
    /// Share of the component.
    pub relative: f64,
    /// In the unit of the component.
    pub absolute: f64,
}

/// Why an integration stopped short.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoStep<F> {
    /// The slope could not be had, however short the step.
    Slope(F),
    /// The step shrank to nothing: the slope jumps, or is not a number.
    TooSmall {
        /// Where it stood.
        at: f64,
    },
    /// More steps than allowed.
    TooMany {
        /// Where it stood.
        at: f64,
    },
}

/// One integration under way: the state, the last step and its dense output.
#[derive(Debug, Clone)]
pub struct DormandPrince {
    tolerance: Tolerance,
    t: f64,
    y: Vec<f64>,
    before_t: f64,
    before: Vec<f64>,
    slopes: [Vec<f64>; 7],
    trial: Vec<f64>,
    error: Vec<f64>,
    next: f64,
    last_error: f64,
    steps_left: u32,
    calls: u32,
}

impl DormandPrince {
    /// Starts at `t` with the state `y`.
    pub fn start<F>(
        tolerance: Tolerance,
        t: f64,
        y: &[f64],
        slope: &mut impl FnMut(f64, &[f64], &mut [f64]) -> Result<(), F>,
    ) -> Result<Self, NoStep<F>> {
        let zeros = || vec![0.0; y.len()];
        let mut one = Self {
            tolerance,
            t,
            y: y.to_vec(),
            before_t: t,
            before: y.to_vec(),
            slopes: std::array::from_fn(|_| zeros()),
            trial: zeros(),
            error: zeros(),
            next: 0.0,
            last_error: 1e-4,
            steps_left: 100_000,
            calls: 0,
        };
        one.restart(slope)?;
        Ok(one)
    }

    /// Takes the slope afresh where the integration stands: after the state was changed, or where
    /// the slope itself jumps.
    pub fn restart<F>(
        &mut self,
        slope: &mut impl FnMut(f64, &[f64], &mut [f64]) -> Result<(), F>,
    ) -> Result<(), NoStep<F>> {
        self.calls += 1;
        slope(self.t, &self.y, &mut self.slopes[0]).map_err(NoStep::Slope)?;
        self.before_t = self.t;
        self.before.copy_from_slice(&self.y);
        self.last_error = 1e-4;
        self.next = self.first_step(slope);
        Ok(())
    }

    /// A first step after Hairer, Nørsett and Wanner, II.4: from the sizes of state, slope and
    /// the change of the slope over a short Euler step.
    fn first_step<F>(
        &mut self,
        slope: &mut impl FnMut(f64, &[f64], &mut [f64]) -> Result<(), F>,
    ) -> f64 {
        let scale = |y: f64| self.tolerance.absolute + self.tolerance.relative * y.abs();
        let size = |v: &[f64]| {
            let sum: f64 = v.iter().zip(&self.y).map(|(v, y)| (v / scale(*y)).powi(2)).sum();
            (sum / v.len().max(1) as f64).sqrt()
        };
        let (d0, d1) = (size(&self.y), size(&self.slopes[0]));
        let short = if d0 < 1e-5 || d1 < 1e-5 { 1e-6 } else { 0.01 * d0 / d1 };
        for i in 0..self.y.len() {
            self.trial[i] = self.y[i] + short * self.slopes[0][i];
        }
        self.calls += 1;
        if slope(self.t + short, &self.trial, &mut self.error).is_err() {
            return short;
        }
        for i in 0..self.y.len() {
            self.error[i] -= self.slopes[0][i];
        }
        let d2 = size(&self.error) / short;
        let steep = d1.max(d2);
        let long = if steep <= 1e-15 { (1e-3 * short).max(1e-6) } else { (0.01 / steep).powf(0.2) };
        long.min(100.0 * short)
    }

    /// Where it stands.
    pub fn at(&self) -> f64 {
        self.t
    }
    /// The state there.
    pub fn state(&self) -> &[f64] {
        &self.y
    }
    /// The slope there.
    pub fn slope_here(&self) -> &[f64] {
        &self.slopes[0]
    }
    /// Where the last step began.
    pub fn before(&self) -> (f64, &[f64]) {
        (self.before_t, &self.before)
    }
    /// How often the slope was asked for.
    pub fn calls(&self) -> u32 {
        self.calls
    }

    /// Takes one step forward, not past `limit`.
    pub fn step<F>(
        &mut self,
        limit: f64,
        slope: &mut impl FnMut(f64, &[f64], &mut [f64]) -> Result<(), F>,
    ) -> Result<(), NoStep<F>> {
        let mut refused = false;
        loop {
            if self.steps_left == 0 {
                return Err(NoStep::TooMany { at: self.t });
            }
            self.steps_left -= 1;
            let room = limit - self.t;
            // A sliver left before the limit would cost a step of its own.
            let h = if self.next * 1.01 >= room { room } else { self.next };
            if h <= 4.0 * f64::EPSILON * self.t.abs() {
                return Err(NoStep::TooSmall { at: self.t });
            }
            if let Err(fault) = self.stages(h, slope) {
                // The slope may fail only because the trial went too far.
                self.next = 0.25 * h;
                refused = true;
                if self.next < 1e-12 * limit.abs().max(self.t.abs()) {
                    return Err(NoStep::Slope(fault));
                }
                continue;
            }
            let error = self.error_of(h);
            if error <= 1.0 {
                self.grow(h, error, refused);
                self.accept(h, limit);
                return Ok(());
            }
            // Not a number counts as a bad miss.
            let shrink =
                if error.is_finite() { (0.9 * error.powf(-0.2)).clamp(0.2, 0.9) } else { 0.1 };
            self.next = h * shrink;
            refused = true;
        }
    }

    /// The next step by the PI rule of Hairer, Nørsett and Wanner, II.4: beta 0.04.
    fn grow(&mut self, h: f64, error: f64, refused: bool) {
        let factor = 0.9 * error.max(1e-10).powf(-0.17) * self.last_error.powf(0.04);
        let most = if refused { 1.0 } else { 10.0 };
        let grown = h * factor.clamp(0.2, most);
        // A step cut short by a limit says nothing against the longer one.
        self.next = if h < self.next { grown.max(self.next) } else { grown };
        self.last_error = error.max(1e-4);
    }

    fn accept(&mut self, h: f64, limit: f64) {
        self.before_t = self.t;
        self.before.copy_from_slice(&self.y);
        self.y.copy_from_slice(&self.trial);
        let t = self.t + h;
        self.t = if h >= limit - self.before_t { limit } else { t };
        // The dense output needs the first slope until the next step begins: keep both by
        // leaving the old first in `error`, which is free now.
        self.error.copy_from_slice(&self.slopes[0]);
        self.slopes.swap(0, 6);
    }

    /// Slopes 2 to 7 of a step of `h` from the present state; the result lies in `trial`.
    fn stages<F>(
        &mut self,
        h: f64,
        slope: &mut impl FnMut(f64, &[f64], &mut [f64]) -> Result<(), F>,
    ) -> Result<(), F> {
        for (stage, row) in A.iter().enumerate() {
            let (done, rest) = self.slopes.split_at_mut(stage + 1);
            combine(&mut self.trial, &self.y, h, row, done);
            self.calls += 1;
            slope(self.t + C[stage] * h, &self.trial, &mut rest[0])?;
        }
        Ok(())
    }

    fn error_of(&self, h: f64) -> f64 {
        let mut sum = 0.0;
        for i in 0..self.y.len() {
            let estimate: f64 = E.iter().zip(&self.slopes).map(|(e, k)| e * k[i]).sum();
            let size = self.y[i].abs().max(self.trial[i].abs());
            let scale = self.tolerance.absolute + self.tolerance.relative * size;
            sum += (h * estimate / scale).powi(2);
        }
        (sum / self.y.len().max(1) as f64).sqrt()
    }

    /// The state at `t` inside the last step, of order 4; not to be asked before the first step.
    pub fn dense(&self, t: f64, out: &mut [f64]) {
        let h = self.t - self.before_t;
        let s = if h > 0.0 { (t - self.before_t) / h } else { 1.0 };
        let r = 1.0 - s;
        for (i, value) in out.iter_mut().enumerate() {
            let [start, rise, bend, twist, fifth] = self.terms(i, h);
            *value = start + s * (rise + r * (bend + s * (twist + r * fifth)));
        }
    }

    /// The last step with its dense output, to be kept; not to be asked before the first step.
    pub fn piece(&self) -> Piece {
        let h = self.t - self.before_t;
        Piece::new((self.before_t, self.t), self.y.len(), |i| self.terms(i, h))
    }

    /// The terms of the dense output of one component over a last step of `h`.
    fn terms(&self, i: usize, h: f64) -> [f64; 5] {
        // After `accept` slope 7 stands first, slope 1 in `error`.
        let (first, last) = (self.error[i], self.slopes[0][i]);
        let rise = self.y[i] - self.before[i];
        let bend = h * first - rise;
        let twist = rise - h * last - bend;
        let middle: f64 = (2..6).map(|k| D[k] * self.slopes[k][i]).sum();
        let fifth = h * (D[0] * first + middle + D[6] * last);
        [self.before[i], rise, bend, twist, fifth]
    }

    /// Ends the last step where `event` is nought, when it changes sign over that step, and says
    /// whether it did. The integration then stands at the event; the slope there must be taken
    /// anew with [`restart`](Self::restart) when it jumps, and may be carried on from otherwise.
    pub fn land<F>(
        &mut self,
        event: &mut impl FnMut(f64, &[f64]) -> f64,
        slope: &mut impl FnMut(f64, &[f64], &mut [f64]) -> Result<(), F>,
    ) -> Result<bool, NoStep<F>> {
        let at_start = event(self.before_t, &self.before);
        let at_end = event(self.t, &self.y);
        if at_start.is_nan() || at_end.is_nan() || (at_start > 0.0) == (at_end > 0.0) {
            return Ok(false);
        }
        let (from, to) = (self.before_t, self.t);
        let mut inside = vec![0.0; self.y.len()];
        let bracket = Bracket { low: from, high: to, tolerance: 1e-13 * (to - from) };
        let guess = brent(bracket, |t| {
            self.dense(t, &mut inside);
            event(t, &inside)
        });
        let Ok(mut t) = guess else {
            return Err(NoStep::TooSmall { at: from });
        };
        // The interpolant is of lower order than the step: take the step itself to the root, and
        // mend the root by the secant until the event is met.
        self.go_back();
        let mut steepness = (at_end - at_start) / (to - from);
        let mut last: Option<(f64, f64)> = None;
        for round in 0..=MOST_MENDS {
            self.stages(t - from, slope).map_err(NoStep::Slope)?;
            let miss = event(t, &self.trial);
            if round == MOST_MENDS || miss.abs() <= 1e-12 * (at_start - at_end).abs() {
                break;
            }
            if let Some((t0, miss0)) = last {
                let by_secant = (miss - miss0) / (t - t0);
                if by_secant.is_finite() && by_secant.abs() > 0.0 {
                    steepness = by_secant;
                }
            }
            last = Some((t, miss));
            let next = (t - miss / steepness).clamp(from, to);
            if (next - t).abs() <= 2.0 * f64::EPSILON * t.abs() {
                break;
            }
            t = next;
        }
        let kept = self.next;
        self.accept(t - from, t);
        self.next = kept;
        Ok(true)
    }

    /// Undoes the last step.
    fn go_back(&mut self) {
        self.y.copy_from_slice(&self.before);
        self.t = self.before_t;
        self.slopes[0].copy_from_slice(&self.error);
    }
}

/// `out = y + h Σ row_j k_j`.
fn combine(out: &mut [f64], y: &[f64], h: f64, row: &[f64], slopes: &[Vec<f64>]) {
    out.copy_from_slice(y);
    for (weight, k) in row.iter().zip(slopes) {
        let by = h * weight;
        for (o, k) in out.iter_mut().zip(k) {
            *o += by * k;
        }
    }
}

/// Integrates from `from` to `to` and gives the state there.
pub fn integrate<F>(
    tolerance: Tolerance,
    span: (f64, f64),
    y: &[f64],
    slope: &mut impl FnMut(f64, &[f64], &mut [f64]) -> Result<(), F>,
) -> Result<Vec<f64>, NoStep<F>> {
    let mut run = DormandPrince::start(tolerance, span.0, y, slope)?;
    while run.at() < span.1 {
        run.step(span.1, slope)?;
    }
    Ok(run.state().to_vec())
}

#[cfg(test)]
mod tests;
