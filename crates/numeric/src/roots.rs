//! Roots of one unknown inside a bracket.

/// Why a root was not found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoRoot {
    /// The function has one sign at both ends, so the bracket promises nothing.
    SameSign {
        /// Value at the lower end.
        at_low: f64,
        /// Value at the upper end.
        at_high: f64,
    },
    /// The bracket was not narrowed to the tolerance within the allowed steps.
    NotConverged {
        /// Steps taken.
        steps: u32,
        /// Value of the function at the last point.
        residual: f64,
        /// The bracket that is left.
        bracket: (f64, f64),
    },
}

/// A bracket and how closely to narrow it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bracket {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Half-width at which the root is taken as found, in the unit of the unknown.
    pub tolerance: f64,
}

const MOST_STEPS: u32 = 200;

/// Gives a root of `f` inside `bracket` by Brent's method.
///
/// Inverse quadratic interpolation where it helps, the secant where it does not, and bisection
/// whenever either would leave the bracket, so the worst case is that of bisection.
///
/// # Source
/// R. P. Brent, *Algorithms for Minimization without Derivatives*, 1973, chapter 4.
pub fn brent(bracket: Bracket, mut f: impl FnMut(f64) -> f64) -> Result<f64, NoRoot> {
    let (mut a, mut b) = (bracket.low, bracket.high);
    let (mut fa, mut fb) = (f(a), f(b));
    if fa == 0.0 {
        return Ok(a);
    }
    if fb == 0.0 {
        return Ok(b);
    }
    if fa.is_nan() || fb.is_nan() || (fa > 0.0) == (fb > 0.0) {
        return Err(NoRoot::SameSign { at_low: fa, at_high: fb });
    }
    let (mut c, mut fc) = (a, fa);
    let mut step = b - a;
    let mut before = step;
    for _ in 0..MOST_STEPS {
        if fc.abs() < fb.abs() {
            (a, b, c) = (b, c, b);
            (fa, fb, fc) = (fb, fc, fb);
        }
        let tolerance = 2.0 * f64::EPSILON * b.abs() + 0.5 * bracket.tolerance;
        let half = 0.5 * (c - b);
        if half.abs() <= tolerance || fb == 0.0 {
            return Ok(b);
        }
        if before.abs() < tolerance || fa.abs() <= fb.abs() {
            step = half;
            before = half;
        } else {
            let s = fb / fa;
            let (mut p, mut q) = if a == c {
                (2.0 * half * s, 1.0 - s)
            } else {
                let (q, r) = (fa / fc, fb / fc);
                (
                    s * (2.0 * half * q * (q - r) - (b - a) * (r - 1.0)),
                    (q - 1.0) * (r - 1.0) * (s - 1.0),
                )
            };
            if p > 0.0 {
                q = -q;
            } else {
                p = -p;
            }
            let limit = (3.0 * half * q - (tolerance * q).abs()).min((before * q).abs());
            if 2.0 * p < limit {
                before = step;
                step = p / q;
            } else {
                step = half;
                before = half;
            }
        }
        (a, fa) = (b, fb);
        b += if step.abs() > tolerance { step } else { tolerance.copysign(half) };
        fb = f(b);
        if fb.is_nan() {
            break;
        }
        if (fb > 0.0) == (fc > 0.0) {
            (c, fc) = (a, fa);
            step = b - a;
            before = step;
        }
    }
    Err(NoRoot::NotConverged { steps: MOST_STEPS, residual: fb, bracket: (b.min(c), b.max(c)) })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Alefeld, Potra and Shi, ACM TOMS 21 (1995) 327, problem 4: x e^x type, known roots.
    #[test]
    fn published_problems_are_solved() {
        let find = |low, high, f: &dyn Fn(f64) -> f64| {
            brent(Bracket { low, high, tolerance: 1e-14 }, f).expect("a bracketed root")
        };
        // sin x - x/2 on [pi/2, pi]: problem 1 of the set, root from the paper.
        let x = find(std::f64::consts::FRAC_PI_2, std::f64::consts::PI, &|x| x.sin() - 0.5 * x);
        assert!((x - 1.895_494_267_033_98).abs() < 1e-12, "{x}");
        // Kepler's equation, e = 0.5, M = 1: checked by substitution.
        let e = find(0.0, 2.0, &|e| e - 0.5 * e.sin() - 1.0);
        assert!((e - 0.5 * e.sin() - 1.0).abs() < 1e-13);
    }

    #[test]
    fn one_sign_at_both_ends_is_refused() {
        let fault = brent(Bracket { low: 1.0, high: 2.0, tolerance: 1e-9 }, |x| x * x + 1.0);
        assert!(matches!(fault, Err(NoRoot::SameSign { .. })));
    }

    #[test]
    fn a_function_that_turns_nan_is_not_called_a_root() {
        let f = |x: f64| {
            if x == 0.0 || x == 1.0 { x - 0.5 } else { f64::NAN }
        };
        assert!(brent(Bracket { low: 0.0, high: 1.0, tolerance: 1e-9 }, f).is_err());
    }
}
