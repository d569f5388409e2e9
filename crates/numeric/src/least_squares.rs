//! Least squares of any residuals, with what was believed before as so many residuals more.
//!
//! `min ½ Σ e_i(θ)² + ½ Σ ((θ_j − mean_j)/sd_j)²` by Levenberg's and Marquardt's damped steps:
//! `(J'J + μD) d = −J'e` with `D` the greatest diagonal of `J'J` so far, solved by Householder's
//! QR of `[J; √(μD)]` and not by the normal equations, which would square the condition. `J` by
//! central differences.
//!
//! # Source
//! K. Levenberg, Quart. Appl. Math. 2 (1944) 164; D. W. Marquardt, J. SIAM 11 (1963) 431; the
//! scaling of J. J. Moré, Lecture Notes in Mathematics 630 (1978) 105; the damping of
//! H. B. Nielsen, IMM-REP-1999-05.

/// What was believed of an unknown before any reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Belief {
    /// Best guess.
    pub mean: f64,
    /// Its standard uncertainty.
    pub sd: f64,
}

/// One unknown: where to start, what was believed, and between what it lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unknown {
    /// Where the search starts.
    pub start: f64,
    /// What was believed before; nothing: the readings alone decide.
    pub prior: Option<Belief>,
    /// Least it may be.
    pub low: f64,
    /// Most it may be.
    pub high: f64,
}

impl Unknown {
    /// One of which nothing is known beforehand.
    pub fn free(start: f64) -> Self {
        Self { start, prior: None, low: f64::NEG_INFINITY, high: f64::INFINITY }
    }
    /// One of which something is believed; the search starts there.
    pub fn believed(belief: Belief) -> Self {
        Self { prior: Some(belief), ..Self::free(belief.mean) }
    }
    /// Held between two ends.
    #[must_use]
    pub fn within(mut self, ends: std::ops::RangeInclusive<f64>) -> Self {
        (self.low, self.high) = (*ends.start(), *ends.end());
        self
    }
}

/// One unknown as it was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Found {
    /// Its value.
    pub value: f64,
    /// Standard uncertainty, residuals being in units of their own.
    pub sd: f64,
    /// Share of the prior variance that the readings took away, 0 to 1; 1 without a prior.
    pub learned: f64,
}

/// A fit.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// The unknowns, in the order given.
    pub found: Vec<Found>,
    /// Their covariance, residuals being in units of their standard uncertainty.
    pub covariance: Vec<Vec<f64>>,
    /// The residuals at the fit, priors left out.
    pub residuals: Vec<f64>,
    /// Steps tried.
    pub steps: u32,
}

impl Fit {
    /// Sum of the squared residuals, priors left out.
    pub fn sum_of_squares(&self) -> f64 {
        self.residuals.iter().map(|e| e * e).sum()
    }
    /// Residuals less what the unknowns learned from them.
    pub fn degrees(&self) -> f64 {
        self.residuals.len() as f64 - self.found.iter().map(|f| f.learned).sum::<f64>()
    }
    /// Sum of squares over degrees: near 1 when the residuals' units are right. Not a number where
    /// nothing is left over.
    pub fn reduced(&self) -> f64 {
        let degrees = self.degrees();
        if degrees > 1e-6 { self.sum_of_squares() / degrees } else { f64::NAN }
    }
}

/// Why there is no fit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoFit<F> {
    /// The model itself failed at the start.
    Model(F),
    /// Not within the allowed steps: no figure is given.
    NotConverged {
        /// Steps tried.
        steps: u32,
        /// Sum of squares, priors in it.
        residual: f64,
    },
    /// The readings leave some unknown open.
    Undetermined,
}

const MOST_STEPS: u32 = 200;
const SMALL_STEP: f64 = 1e-10;
const SMALL_GRADIENT: f64 = 1e-12;

/// Gives the unknowns that make the residuals least.
///
/// `residuals` gives `e(θ)`, each over its standard uncertainty, always as many. Where it fails
/// beyond the start, the step is refused and a shorter one tried.
///
/// # Source
/// As on the page above.
pub fn fit<F>(
    unknowns: &[Unknown],
    mut residuals: impl FnMut(&[f64]) -> Result<Vec<f64>, F>,
) -> Result<Fit, NoFit<F>> {
    let mut at: Vec<f64> = unknowns.iter().map(|u| u.start.clamp(u.low, u.high)).collect();
    let mut here = with_priors(unknowns, &at, residuals(&at).map_err(NoFit::Model)?);
    let (mut damping, mut grows) = (0.0, 2.0);
    let mut greatest = vec![0.0_f64; at.len()];
    let mut steps = 0;
    let mut slopes = jacobian(unknowns, &at, &mut residuals).map_err(NoFit::Model)?;
    loop {
        let gradient: Vec<f64> = slopes.iter().map(|column| dot(column, &here)).collect();
        for (most, column) in greatest.iter_mut().zip(&slopes) {
            *most = most.max(dot(column, column));
        }
        if steps == 0 {
            damping = 1e-3;
        }
        if gradient.iter().all(|g| g.abs() <= SMALL_GRADIENT) {
            break;
        }
        steps += 1;
        let step = damped(&slopes, &here, damping, &greatest).ok_or(NoFit::Undetermined)?;
        let next: Vec<f64> = at
            .iter()
            .zip(&step)
            .zip(unknowns)
            .map(|((at, d), u)| (at + d).clamp(u.low, u.high))
            .collect();
        let small =
            at.iter().zip(&next).all(|(a, b)| (b - a).abs() <= SMALL_STEP * (a.abs() + SMALL_STEP));
        if small {
            break;
        }
        if steps > MOST_STEPS {
            return Err(NoFit::NotConverged { steps, residual: dot(&here, &here) });
        }
        let there = residuals(&next).ok().map(|e| with_priors(unknowns, &next, e));
        let gain = there.as_ref().map_or(-1.0, |there| {
            let actual = dot(&here, &here) - dot(there, there);
            actual / promised(&slopes, &here, &at, &next)
        });
        match there {
            Some(there) if gain > 0.0 => {
                at = next;
                here = there;
                slopes = jacobian(unknowns, &at, &mut residuals).map_err(NoFit::Model)?;
                damping *= (1.0 - (2.0 * gain - 1.0).powi(3)).max(1.0 / 3.0);
                grows = 2.0;
            }
            _ => {
                damping *= grows;
                grows *= 2.0;
            }
        }
    }
    let covariance = covariance(&slopes).ok_or(NoFit::Undetermined)?;
    here.truncate(here.len() - unknowns.iter().filter(|u| u.prior.is_some()).count());
    let found = at.iter().zip(unknowns).enumerate().map(|(j, (value, unknown))| {
        let variance = covariance[j][j];
        let learned =
            unknown.prior.map_or(1.0, |p| (1.0 - variance / (p.sd * p.sd)).clamp(0.0, 1.0));
        Found { value: *value, sd: variance.sqrt(), learned }
    });
    Ok(Fit { found: found.collect(), residuals: here, steps, covariance })
}

/// By how much the straight model says that the squares fall from `at` to `next`.
fn promised(slopes: &[Vec<f64>], here: &[f64], at: &[f64], next: &[f64]) -> f64 {
    let mut there = here.to_vec();
    for ((column, a), b) in slopes.iter().zip(at).zip(next) {
        for (e, slope) in there.iter_mut().zip(column) {
            *e += slope * (b - a);
        }
    }
    dot(here, here) - dot(&there, &there)
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn with_priors(unknowns: &[Unknown], at: &[f64], mut residuals: Vec<f64>) -> Vec<f64> {
    for (unknown, at) in unknowns.iter().zip(at) {
        residuals.extend(unknown.prior.map(|p| (at - p.mean) / p.sd));
    }
    residuals
}

/// Columns of de/dθ, the priors' rows last.
fn jacobian<F>(
    unknowns: &[Unknown],
    at: &[f64],
    residuals: &mut impl FnMut(&[f64]) -> Result<Vec<f64>, F>,
) -> Result<Vec<Vec<f64>>, F> {
    let priors = unknowns.iter().filter(|u| u.prior.is_some()).count();
    let mut columns = Vec::with_capacity(at.len());
    let mut row = 0;
    for (j, unknown) in unknowns.iter().enumerate() {
        let scale = unknown.prior.map_or(at[j].abs(), |p| p.sd.max(at[j].abs()));
        let step = f64::EPSILON.cbrt() * if scale > 0.0 { scale } else { 1.0 };
        let mut moved = at.to_vec();
        // At an end of the range the difference is taken to one side.
        moved[j] = (at[j] + step).min(unknown.high);
        let high = moved[j];
        let up = residuals(&moved)?;
        moved[j] = (at[j] - step).max(unknown.low);
        let low = moved[j];
        let down = residuals(&moved)?;
        let mut column: Vec<f64> =
            up.iter().zip(&down).map(|(up, down)| (up - down) / (high - low)).collect();
        let mut of_priors = vec![0.0; priors];
        if let Some(prior) = unknown.prior {
            of_priors[row] = 1.0 / prior.sd;
            row += 1;
        }
        column.extend(of_priors);
        columns.push(column);
    }
    Ok(columns)
}

/// Solves `min |[J; √(μD)] d + [e; 0]|`.
fn damped(slopes: &[Vec<f64>], here: &[f64], damping: f64, greatest: &[f64]) -> Option<Vec<f64>> {
    let size = slopes.len();
    let columns = slopes.iter().enumerate().map(|(j, column)| {
        let mut column = column.clone();
        let mut below = vec![0.0; size];
        below[j] = (damping * greatest[j]).sqrt();
        column.extend(below);
        column
    });
    let mut right: Vec<f64> = here.iter().map(|e| -e).collect();
    right.extend(vec![0.0; size]);
    let (triangle, turned) = householder(columns.collect(), right)?;
    Some(back_substituted(&triangle, &turned))
}

/// `(J'J)⁻¹ = R⁻¹R⁻ᵀ`.
fn covariance(slopes: &[Vec<f64>]) -> Option<Vec<Vec<f64>>> {
    let size = slopes.len();
    let rows = slopes.first().map_or(0, Vec::len);
    let (triangle, _) = householder(slopes.to_vec(), vec![0.0; rows])?;
    let inverse: Vec<Vec<f64>> = (0..size)
        .map(|k| {
            let unit: Vec<f64> = (0..size).map(|i| f64::from(u8::from(i == k))).collect();
            back_substituted(&triangle, &unit)
        })
        .collect();
    let entry = |i: usize, j: usize| inverse.iter().map(|column| column[i] * column[j]).sum();
    Some((0..size).map(|i| (0..size).map(|j| entry(i, j)).collect()).collect())
}

/// Reflects the columns to a triangle, and the right side with them. None: some column hangs on
/// the others to within rounding.
fn householder(
    mut columns: Vec<Vec<f64>>,
    mut right: Vec<f64>,
) -> Option<(Vec<Vec<f64>>, Vec<f64>)> {
    let size = columns.len();
    if columns.iter().any(|column| column.len() < size) {
        return None;
    }
    for k in 0..size {
        let whole = dot(&columns[k], &columns[k]).sqrt();
        let mut mirror = columns[k][k..].to_vec();
        let length = dot(&mirror, &mirror).sqrt();
        if !(length > 1e-14 * whole && length.is_finite()) {
            return None;
        }
        mirror[0] += length.copysign(mirror[0]);
        let square = dot(&mirror, &mirror);
        let reflect = |column: &mut [f64]| {
            let twice = 2.0 * dot(&mirror, column) / square;
            for (c, m) in column.iter_mut().zip(&mirror) {
                *c -= twice * m;
            }
        };
        for column in &mut columns[k..] {
            reflect(&mut column[k..]);
        }
        reflect(&mut right[k..]);
    }
    Some((columns, right))
}

fn back_substituted(triangle: &[Vec<f64>], right: &[f64]) -> Vec<f64> {
    let size = triangle.len();
    let mut out = vec![0.0; size];
    for i in (0..size).rev() {
        let known: f64 = (i + 1..size).map(|j| triangle[j][i] * out[j]).sum();
        out[i] = (right[i] - known) / triangle[i][i];
    }
    out
}

#[cfg(test)]
mod tests;
