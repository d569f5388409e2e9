//! A reading and how well it is known; what becomes of that in a reckoning.

/// A figure with its standard uncertainty, in the same unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// The figure.
    pub value: f64,
    /// Its standard uncertainty; 0 for what is decided or exact.
    pub standard_uncertainty: f64,
}

/// A reckoned figure, its standard uncertainty and what each input brought to it.
#[derive(Debug, Clone, PartialEq)]
pub struct Budget {
    /// The figure.
    pub value: f64,
    /// Its standard uncertainty.
    pub standard_uncertainty: f64,
    /// For each input |∂f/∂x| u(x), in the unit of the figure. Their squares add up.
    pub contributions: Vec<f64>,
}

impl Measured {
    /// A figure with its standard uncertainty.
    pub const fn new(value: f64, standard_uncertainty: f64) -> Self {
        Self { value, standard_uncertainty }
    }
    /// A figure that is decided or exact.
    pub const fn exact(value: f64) -> Self {
        Self::new(value, 0.0)
    }
    /// Gives the expanded uncertainty U = 2u.
    pub fn expanded(self) -> f64 {
        2.0 * self.standard_uncertainty
    }
}

impl Budget {
    /// Gives the figure with its uncertainty.
    pub fn measured(&self) -> Measured {
        Measured::new(self.value, self.standard_uncertainty)
    }
    /// Gives the share of each input in the variance, 0 to 1; all 0 when nothing is uncertain.
    pub fn shares(&self) -> Vec<f64> {
        let variance = self.standard_uncertainty * self.standard_uncertainty;
        self.contributions
            .iter()
            .map(|c| if variance > 0.0 { c * c / variance } else { 0.0 })
            .collect()
    }
}

/// Carries the uncertainties of independent inputs through a reckoning, to first order.
///
/// u(y)² = Σ (∂y/∂xᵢ)² u(xᵢ)², the slopes by central differences a tenth of u(xᵢ) to each side; at
/// the edge of the domain, where one side is refused, by the other side alone. Two inputs read on
/// one instrument are not independent and must be one input.
///
/// # Units
/// Those of `reckon`.
/// # Range
/// Wherever `reckon` answers; its own refusal is passed on.
/// # Error
/// First order: the curvature of `reckon` over one u is left out.
/// # Source
/// JCGM 100:2008, Guide to the expression of uncertainty in measurement, equation (10).
/// # Example
/// ```
/// use gauge::measured::{Measured, propagate};
/// let inputs = [Measured::new(3.0, 0.3), Measured::new(4.0, 0.4)];
/// let budgets = propagate(&inputs, |x| Ok::<_, ()>(vec![x[0] * x[1]])).unwrap();
/// assert!((budgets[0].standard_uncertainty - (1.2_f64.powi(2) * 2.0).sqrt()).abs() < 1e-9);
/// ```
pub fn propagate<E>(
    inputs: &[Measured],
    mut reckon: impl FnMut(&[f64]) -> Result<Vec<f64>, E>,
) -> Result<Vec<Budget>, E> {
    let mut x: Vec<f64> = inputs.iter().map(|i| i.value).collect();
    let at = reckon(&x)?;
    let mut budgets: Vec<Budget> = at
        .iter()
        .map(|value| Budget {
            value: *value,
            standard_uncertainty: 0.0,
            contributions: vec![0.0; inputs.len()],
        })
        .collect();
    for (i, input) in inputs.iter().enumerate() {
        let u = input.standard_uncertainty;
        // Not `u <= 0.0`, which lets a NaN through.
        if u.is_nan() || u <= 0.0 {
            continue;
        }
        let step = 0.1 * u;
        x[i] = input.value + step;
        let above = reckon(&x);
        x[i] = input.value - step;
        let below = reckon(&x);
        x[i] = input.value;
        let (high, low, width) = match (above, below) {
            (Ok(high), Ok(low)) => (high, low, 2.0 * step),
            (Ok(high), Err(_)) => (high, at.clone(), step),
            (Err(_), Ok(low)) => (at.clone(), low, step),
            (Err(fault), Err(_)) => return Err(fault),
        };
        for (budget, (high, low)) in budgets.iter_mut().zip(high.iter().zip(&low)) {
            budget.contributions[i] = ((high - low) / width * u).abs();
        }
    }
    for budget in &mut budgets {
        let variance: f64 = budget.contributions.iter().map(|c| c * c).sum();
        budget.standard_uncertainty = variance.sqrt();
    }
    Ok(budgets)
}
