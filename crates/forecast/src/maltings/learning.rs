//! What readings say of several things at once, to first order.

/// `(1 + J'J)` by Cholesky's rule, things in units of their prior standard uncertainty, readings in
/// units of theirs.
pub(crate) struct Learning {
    /// Lower triangle, row by row.
    lower: Vec<Vec<f64>>,
}

impl Learning {
    /// From how each thing moves the readings.
    pub(crate) fn of<'c>(columns: impl Iterator<Item = &'c [f64]>) -> Self {
        let columns: Vec<&[f64]> = columns.collect();
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        let n = columns.len();
        let mut lower = vec![vec![0.0; n]; n];
        for i in 0..n {
            for j in 0..=i {
                let own = if i == j { 1.0 } else { 0.0 };
                let whole = own + dot(columns[i], columns[j]);
                let known: f64 = (0..j).map(|k| lower[i][k] * lower[j][k]).sum();
                // One and a sum of squares: never nought.
                lower[i][j] = if i == j {
                    (whole - known).max(f64::MIN_POSITIVE).sqrt()
                } else {
                    (whole - known) / lower[j][j]
                };
            }
        }
        Self { lower }
    }

    /// Variance of a figure that moves by `d` with each thing: `d'(1 + J'J)⁻¹ d`.
    pub(crate) fn variance(&self, d: &[f64]) -> f64 {
        let mut y: Vec<f64> = Vec::with_capacity(d.len());
        for (i, own) in d.iter().enumerate() {
            let known: f64 = y.iter().zip(&self.lower[i]).map(|(y, l)| y * l).sum();
            y.push((own - known) / self.lower[i][i]);
        }
        y.iter().map(|y| y * y).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn without_readings_squares_add() {
        let none: [&[f64]; 2] = [&[], &[]];
        let learning = Learning::of(none.into_iter());
        assert!((learning.variance(&[3.0, 4.0]) - 25.0).abs() < 1e-12);
    }

    #[test]
    fn one_reading_of_one_thing_is_the_mean_of_two_beliefs() {
        // A reading as sure as the belief halves the variance.
        let columns: [&[f64]; 1] = [&[1.0]];
        let learning = Learning::of(columns.into_iter());
        assert!((learning.variance(&[2.0]) - 2.0).abs() < 1e-12);
    }

    #[test]
    fn a_reading_of_the_sum_leaves_the_difference_open() {
        let sure = [100.0];
        let columns: [&[f64]; 2] = [&sure, &sure];
        let learning = Learning::of(columns.into_iter());
        assert!(learning.variance(&[1.0, 1.0]) < 1e-3);
        assert!((learning.variance(&[1.0, -1.0]) - 2.0).abs() < 1e-9);
    }
}
