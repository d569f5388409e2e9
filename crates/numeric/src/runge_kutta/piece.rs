//! One step kept with its dense output, so that a run can be read again anywhere.

/// Terms kept of each component.
const TERMS: usize = 5;

/// The dense output of one step: each component as a quartic over the step.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    from: f64,
    to: f64,
    /// Values at the start, then the four further terms, each for all components.
    terms: Vec<f64>,
}

impl Piece {
    /// Keeps the step of `count` components whose terms `of` gives by place: the value at the
    /// start, the rise, and the three terms of the bend in the order of Hairer, Nørsett and
    /// Wanner, II.6.
    pub(super) fn new(span: (f64, f64), count: usize, of: impl Fn(usize) -> [f64; TERMS]) -> Self {
        let mut terms = vec![0.0; TERMS * count];
        for place in 0..count {
            for (term, value) in of(place).into_iter().enumerate() {
                terms[term * count + place] = value;
            }
        }
        Self { from: span.0, to: span.1, terms }
    }

    /// Where it begins.
    pub fn from(&self) -> f64 {
        self.from
    }
    /// Where it ends.
    pub fn to(&self) -> f64 {
        self.to
    }
    /// How many components it has.
    pub fn count(&self) -> usize {
        self.terms.len() / TERMS
    }
    fn share(&self, t: f64) -> f64 {
        let h = self.to - self.from;
        if h > 0.0 { ((t - self.from) / h).clamp(0.0, 1.0) } else { 1.0 }
    }

    /// The first components at `t`, as many as `out` holds; `t` outside is taken at the near end.
    pub fn at(&self, t: f64, out: &mut [f64]) {
        let count = self.count();
        let s = self.share(t);
        let r = 1.0 - s;
        let (start, rest) = self.terms.split_at(count);
        let (rise, rest) = rest.split_at(count);
        let (bend, rest) = rest.split_at(count);
        let (twist, fifth) = rest.split_at(count);
        for (i, value) in out.iter_mut().enumerate() {
            *value = start[i] + s * (rise[i] + r * (bend[i] + s * (twist[i] + r * fifth[i])));
        }
    }
}
