//! Chance with a seed: the same seed, the same history.

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// A stream of chance.
#[derive(Debug)]
pub(crate) struct Chance(ChaCha8Rng);

impl Chance {
    pub(crate) fn new(seed: u64) -> Self {
        Self(ChaCha8Rng::seed_from_u64(seed))
    }
    /// Anything between 0 and 1.
    pub(crate) fn part(&mut self) -> f64 {
        self.0.random()
    }
    /// About nought with this standard deviation: the sum of twelve even chances, so never beyond
    /// six of them.
    pub(crate) fn about(&mut self, sd: f64) -> f64 {
        let sum: f64 = (0..12).map(|_| self.part()).sum();
        (sum - 6.0) * sd
    }
    /// One of several, each with its weight.
    pub(crate) fn pick<'a, T>(&mut self, of: &'a [(T, f64)]) -> &'a T {
        let whole: f64 = of.iter().map(|(_, weight)| weight).sum();
        let mut at = self.part() * whole;
        for (one, weight) in of {
            at -= weight;
            if at < 0.0 {
                return one;
            }
        }
        &of[of.len() - 1].0
    }
}
