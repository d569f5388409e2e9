//! Fixed points `z = G(z)` by Anderson's acceleration of plain iteration.

/// How to look for a fixed point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Search {
    /// Largest change of any component, over its scale, at which the point is taken as found.
    pub tolerance: f64,
    /// How many earlier steps are remembered; 0 is plain iteration, 3 to 5 are usual.
    pub memory: usize,
    /// Most evaluations of `G`.
    pub most: u32,
    /// Whether a component below nought is set to nought: for amounts.
    pub not_negative: bool,
}

/// A fixed point, and what it took.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// The point: the last value of `G`.
    pub point: Vec<f64>,
    /// Largest change of any component over its scale in the last evaluation.
    pub residual: f64,
    /// Evaluations of `G`.
    pub calls: u32,
}

/// Why no fixed point was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoPoint<F> {
    /// `G` itself failed.
    Map(F),
    /// Not within the allowed evaluations.
    NotConverged {
        /// Evaluations of `G`.
        calls: u32,
        /// Largest change of any component over its scale in the last one.
        residual: f64,
    },
}

/// Gives a fixed point of `map`, which writes `G(z)` into its second argument.
///
/// With `r = G(z) - z`, the step is `G(z) - ΔG γ` where `γ` makes `|r - Δr γ|` least over the
/// last steps. When the residual more than doubles, the memory is dropped and plain steps go on
/// from the best point so far. Each component is weighed by the `scale` that belongs to it.
///
/// # Source
/// D. G. Anderson, Iterative procedures for nonlinear integral equations, J. ACM 12 (1965) 547;
/// in the form of H. F. Walker and P. Ni, SIAM J. Numer. Anal. 49 (2011) 1715, algorithm AA.
pub fn anderson<F>(
    search: Search,
    start: &[f64],
    scale: &[f64],
    mut map: impl FnMut(&[f64], &mut [f64]) -> Result<(), F>,
) -> Result<Found, NoPoint<F>> {
    let size = start.len();
    let mut z = start.to_vec();
    let mut image = vec![0.0; size];
    let mut memory = Memory::new(search.memory.min(size));
    let mut best = f64::INFINITY;
    let mut residual = f64::INFINITY;
    for calls in 1..=search.most {
        map(&z, &mut image).map_err(NoPoint::Map)?;
        let change: Vec<f64> = (0..size).map(|i| (image[i] - z[i]) / scale[i]).collect();
        residual = change.iter().fold(0.0, |most, r| r.abs().max(most));
        if change.iter().any(|r| r.is_nan()) {
            residual = f64::NAN;
            break;
        }
        if residual <= search.tolerance {
            return Ok(Found { point: image, residual, calls });
        }
        if residual > 2.0 * best {
            memory.forget();
        }
        best = best.min(residual);
        memory.note(&change, &image);
        z.copy_from_slice(&image);
        let gamma = memory.weights(&change);
        for (weight, step) in gamma.iter().zip(&memory.images) {
            for (z, step) in z.iter_mut().zip(step) {
                *z -= weight * step;
            }
        }
        if search.not_negative {
            for z in &mut z {
                *z = z.max(0.0);
            }
        }
    }
    Err(NoPoint::NotConverged { calls: search.most, residual })
}

/// The differences of residuals and of images over the last steps, oldest first.
struct Memory {
    depth: usize,
    changes: Vec<Vec<f64>>,
    images: Vec<Vec<f64>>,
    last: Option<(Vec<f64>, Vec<f64>)>,
}

impl Memory {
    fn new(depth: usize) -> Self {
        Self { depth, changes: Vec::new(), images: Vec::new(), last: None }
    }
    fn forget(&mut self) {
        self.changes.clear();
        self.images.clear();
        self.last = None;
    }
    fn note(&mut self, change: &[f64], image: &[f64]) {
        if let Some((old_change, old_image)) = &self.last
            && self.depth > 0
        {
            if self.changes.len() == self.depth {
                self.changes.remove(0);
                self.images.remove(0);
            }
            self.changes.push(less(change, old_change));
            self.images.push(less(image, old_image));
        }
        self.last = Some((change.to_vec(), image.to_vec()));
    }

    /// Least squares by orthogonal columns, newest first, so that an old step which adds nothing
    /// new is the one left out.
    fn weights(&self, change: &[f64]) -> Vec<f64> {
        let count = self.changes.len();
        let mut basis: Vec<(usize, Vec<f64>)> = Vec::with_capacity(count);
        let mut upper = vec![vec![0.0; count]; count];
        for column in (0..count).rev() {
            let mut v = self.changes[column].clone();
            let whole = dot(&v, &v).sqrt();
            // Twice, or nearly parallel columns leave a rest that is not orthogonal.
            for _ in 0..2 {
                for (row, (_, q)) in basis.iter().enumerate() {
                    let along = dot(q, &v);
                    upper[row][column] += along;
                    for (v, q) in v.iter_mut().zip(q) {
                        *v -= along * q;
                    }
                }
            }
            let rest = dot(&v, &v).sqrt();
            if rest > 1e-12 * whole && rest > 0.0 {
                upper[basis.len()][column] = rest;
                for v in &mut v {
                    *v /= rest;
                }
                basis.push((column, v));
            }
        }
        let mut gamma = vec![0.0; count];
        for row in (0..basis.len()).rev() {
            let column = basis[row].0;
            let mut rhs = dot(&basis[row].1, change);
            for (later, _) in &basis[row + 1..] {
                rhs -= upper[row][*later] * gamma[*later];
            }
            gamma[column] = rhs / upper[row][column];
        }
        gamma
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}
fn less(a: &[f64], b: &[f64]) -> Vec<f64> {
    a.iter().zip(b).map(|(a, b)| a - b).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::convert::Infallible;

    const SEARCH: Search = Search { tolerance: 1e-12, memory: 4, most: 200, not_negative: false };

    #[test]
    fn the_number_whose_cosine_it_is() {
        // Dottie's number, 0.739085133215160641655312...
        let found = anderson(SEARCH, &[1.0], &[1.0], |z, out| -> Result<(), Infallible> {
            out[0] = z[0].cos();
            Ok(())
        });
        let found = found.expect("a fixed point");
        assert!((found.point[0] - 0.739_085_133_215_160_6).abs() < 1e-12);
        assert!(found.calls < 12, "{}", found.calls);
    }

    /// On a linear map of n unknowns the method is finite: n + 1 steps and one to see it.
    /// Walker and Ni 2011, theorem 2.2 (it is then GMRES).
    #[test]
    fn a_linear_map_is_solved_in_as_many_steps_as_unknowns() {
        let m = [
            [0.5, 0.3, -0.1, 0.0],
            [0.1, 0.6, 0.0, 0.2],
            [0.0, -0.2, 0.7, 0.1],
            [0.3, 0.0, 0.1, 0.6],
        ];
        let b = [1.0, 2.0, -1.0, 0.5];
        let map = |z: &[f64], out: &mut [f64]| -> Result<(), Infallible> {
            for i in 0..4 {
                out[i] = b[i] + dot(&m[i], z);
            }
            Ok(())
        };
        let search = Search { tolerance: 1e-9, ..SEARCH };
        let found = anderson(search, &[0.0; 4], &[1.0; 4], map).expect("a fixed point");
        assert!(found.calls <= 7, "{}", found.calls);
        let plain = Search { memory: 0, most: 5000, ..search };
        let slow = anderson(plain, &[0.0; 4], &[1.0; 4], map).expect("a fixed point");
        assert!(slow.calls > 10 * found.calls, "{}", slow.calls);
        for (a, b) in found.point.iter().zip(&slow.point) {
            assert!((a - b).abs() < 1e-6, "{a} {b}");
        }
    }

    /// Chandrasekhar's H equation, c = 0.9, midpoint rule with 100 nodes: a common problem of the
    /// kind (C. T. Kelley, *Solving Nonlinear Equations with Newton's Method*, 2003, section 1.8).
    /// Its solution obeys the mean of H being (2/c)(1 - sqrt(1 - c)), which needs no table.
    #[test]
    fn chandrasekhar_h_has_the_mean_it_must() {
        let (n, c) = (100, 0.9);
        let mu: Vec<f64> = (0..n).map(|i| (i as f64 + 0.5) / n as f64).collect();
        let map = |h: &[f64], out: &mut [f64]| -> Result<(), Infallible> {
            for i in 0..n {
                let sum: f64 = (0..n).map(|j| mu[i] * h[j] / (mu[i] + mu[j])).sum();
                out[i] = 1.0 / (1.0 - 0.5 * c / n as f64 * sum);
            }
            Ok(())
        };
        let found = anderson(SEARCH, &vec![1.0; n], &vec![1.0; n], map).expect("a fixed point");
        let mean = found.point.iter().sum::<f64>() / n as f64;
        let wanted = 2.0 / c * (1.0 - (1.0_f64 - c).sqrt());
        assert!((mean - wanted).abs() < 1e-11, "{mean} {wanted}");
        assert!(found.calls < 20, "{}", found.calls);
    }

    #[test]
    fn a_map_without_a_fixed_point_is_said_to_have_none() {
        let none = anderson(SEARCH, &[0.0], &[1.0], |z, out| -> Result<(), Infallible> {
            out[0] = z[0] + 1.0 + z[0] * z[0];
            Ok(())
        });
        assert!(matches!(none, Err(NoPoint::NotConverged { .. })));
        let nan = anderson(SEARCH, &[0.0], &[1.0], |_, out| -> Result<(), Infallible> {
            out[0] = f64::NAN;
            Ok(())
        });
        assert!(matches!(nan, Err(NoPoint::NotConverged { .. })));
    }
}
