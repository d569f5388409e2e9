//! Curves of one unknown laid out as cubics between knots: for laws that the bed asks for
//! hundreds of thousands of times. Value and slope are exact at each knot.

/// A curve over a range.
#[derive(Debug, Clone)]
pub(super) struct Cubics {
    low: f64,
    per_knot: f64,
    /// `c0 + u (c1 + u (c2 + u c3))`, `u` from 0 to 1 within each piece.
    pieces: Vec<[f64; 4]>,
}

/// Where a curve is laid out.
#[derive(Debug, Clone, Copy)]
pub(super) struct Span {
    pub(super) low: f64,
    pub(super) high: f64,
    pub(super) pieces: u32,
}

impl Cubics {
    /// Lays out `curve`, which gives value and slope.
    pub(super) fn new(span: Span, curve: impl Fn(f64) -> (f64, f64)) -> Self {
        let step = (span.high - span.low) / f64::from(span.pieces);
        let knot = |i: u32| curve(span.low + f64::from(i) * step);
        let pieces = (0..span.pieces)
            .map(|i| {
                let ((y0, slope0), (y1, slope1)) = (knot(i), knot(i + 1));
                let (s0, s1, rise) = (slope0 * step, slope1 * step, y1 - y0);
                [y0, s0, 3.0 * rise - 2.0 * s0 - s1, s0 + s1 - 2.0 * rise]
            })
            .collect();
        Self { low: span.low, per_knot: 1.0 / step, pieces }
    }

    /// The value at `x`, where the curve is laid out.
    #[inline]
    pub(super) fn at(&self, x: f64) -> Option<f64> {
        let place = (x - self.low) * self.per_knot;
        // Below the range, and for what is not a number, the cast gives the first piece.
        let [c0, c1, c2, c3] = *self.pieces.get(place as usize)?;
        // Not `floor`, which is a call on the plainest processors.
        let u = place - (place as usize) as f64;
        (place >= 0.0).then_some(c0 + u * (c1 + u * (c2 + u * c3)))
    }
}

/// Two curves over one range, found by one look.
#[derive(Debug, Clone)]
pub(super) struct CubicPairs {
    low: f64,
    per_knot: f64,
    pieces: Vec<[[f64; 4]; 2]>,
}

impl CubicPairs {
    /// Lays out both curves, each of which gives value and slope.
    pub(super) fn new(span: Span, curves: impl Fn(f64) -> [(f64, f64); 2]) -> Self {
        let [one, two] = [0, 1].map(|i| Cubics::new(span, |x| curves(x)[i]));
        let pieces = one.pieces.iter().zip(&two.pieces).map(|(a, b)| [*a, *b]).collect();
        Self { low: one.low, per_knot: one.per_knot, pieces }
    }

    /// Both values at `x`, where the curves are laid out.
    #[inline]
    pub(super) fn at(&self, x: f64) -> Option<[f64; 2]> {
        let place = (x - self.low) * self.per_knot;
        let pair = self.pieces.get(place as usize)?;
        let u = place - (place as usize) as f64;
        (place >= 0.0).then(|| pair.map(|[c0, c1, c2, c3]| c0 + u * (c1 + u * (c2 + u * c3))))
    }
}
