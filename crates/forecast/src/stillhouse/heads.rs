//! The heads of several runs of one still together, and when to prove the hydrometer first.
//!
//! A single run cannot tell a larger head from a hydrometer that reads high: both lift the
//! strengths, much alike. Over several runs the two are pooled as a pair, each with what was
//! believed of it counted once; what they leave open is said in words.

use super::fitted;
use super::head::{HYDROMETER_PCT, HeadFit};

/// What several runs of one still say together.
#[derive(Debug, Clone, PartialEq)]
pub struct Heads {
    /// The head, as the runs together have it.
    pub head: fitted::Head,
    /// From so many runs.
    pub runs: usize,
    /// Spread from run to run beyond what each is unsure of, W/K.
    pub between_w_k: f64,
    /// How far the strengths of these runs stand above the curve all through, % vol.
    pub stand_above_pct: f64,
    /// Standard uncertainty of that.
    pub stand_above_sd: f64,
    /// The hydrometer is to be proved: what to say, where there is reason.
    pub hydrometer: Option<String>,
}

/// Puts the fits of several runs of one still together, by weight, with the spread between them.
///
/// # Units
/// W/K, % vol.
/// # Range
/// At least one fit, all of one still.
/// # Error
/// As the result says.
/// # Source
/// R. DerSimonian and N. Laird, Controlled Clinical Trials 7 (1986) 177, for the spread.
pub fn together(fits: &[HeadFit]) -> Option<Heads> {
    let first = fits.first()?;
    // Loss and hydrometer pull on one another in each run; over the runs they are told apart.
    // What was believed is taken out of every fit and laid to the scale once.
    let belief = Pair::of(
        (first.before_w_k.ln(), first.before_sd / first.before_w_k),
        (0.0, HYDROMETER_PCT),
        0.0,
    );
    let mut whole = belief;
    for f in fits {
        let own = Pair::of(
            (f.head_loss_w_k.ln(), f.sd / f.head_loss_w_k),
            (f.stand_above_pct, f.stand_above_sd),
            f.correlation,
        );
        let prior =
            Pair::of((f.before_w_k.ln(), f.before_sd / f.before_w_k), (0.0, HYDROMETER_PCT), 0.0);
        whole = whole.plus(own, 1.0).plus(prior, -1.0);
    }
    let ((ln_loss, ln_sd), (stand_above_pct, above_sd)) = whole.solved();
    let head_loss_w_k = ln_loss.exp();
    let own_sd = head_loss_w_k * ln_sd;
    let between_w_k = between(fits);
    let runs = fits.len();
    let told = Told { above: (stand_above_pct, above_sd), head_loss_w_k, before: first.before_w_k };
    Some(Heads {
        head: fitted::Head { still: first.still.clone(), head_loss_w_k, sd: own_sd },
        runs,
        between_w_k,
        stand_above_pct,
        stand_above_sd: above_sd,
        hydrometer: prove(fits, &told),
    })
}

/// What the runs together say.
struct Told {
    above: (f64, f64),
    head_loss_w_k: f64,
    before: f64,
}

/// Whether there is reason to prove the hydrometer before the head is believed, in words.
fn prove(fits: &[HeadFit], told: &Told) -> Option<String> {
    const FEWEST: usize = 3;
    const MATTERS_PCT: f64 = 0.15;
    if fits.len() < FEWEST {
        return None;
    }
    // Each run's, had its head stayed as it was believed: what it would ask of the hydrometer.
    let mut stays: Vec<(u32, (f64, f64))> =
        fits.iter().filter_map(|f| Some((f.run, f.above_if_head_stays()?))).collect();
    stays.sort_by_key(|(run, _)| *run);
    if let Some((run, size, sd)) = step(&stays) {
        let way = if size > 0.0 { "higher" } else { "lower" };
        return Some(format!(
            "From run {run} on the strengths stand {:.1} ± {sd:.1} % vol {way} against the curve \
             than before, from the first spirit on. A head does not change from one run to the \
             next: prove the hydrometer before the head is believed.",
            size.abs()
        ));
    }
    let runs = fits.len();
    let way = |size: f64| if size > 0.0 { ("above", "high") } else { ("below", "low") };
    let (above, sd) = told.above;
    if above.abs() > MATTERS_PCT.max(3.0 * sd) {
        return Some(format!(
            "The strengths of {runs} runs stand {:.1} ± {sd:.1} % vol {} the curve all through, \
             which no head explains: the hydrometer reads {}. Prove it before the head is \
             believed.",
            above.abs(),
            way(above).0,
            way(above).1
        ));
    }
    let (size, size_sd) = mean(stays.iter().map(|(_, of)| *of));
    (size.abs() > MATTERS_PCT.max(3.0 * size_sd)).then(|| {
        format!(
            "The strengths of {runs} runs stand {} the curve all through. A head of {:.0} W/K in \
             place of {:.0} meets them, and so does a hydrometer that reads {:.1} ± {size_sd:.2} \
             % vol {}: these readings cannot tell the two apart. Prove the hydrometer first.",
            way(size).0,
            told.head_loss_w_k,
            told.before,
            size.abs(),
            way(size).1
        )
    })
}

/// The run from which on the strengths stand otherwise than before, by how much, and how sure.
fn step(stays: &[(u32, (f64, f64))]) -> Option<(u32, f64, f64)> {
    const SURE: f64 = 3.5;
    let splits = 2..stays.len().saturating_sub(1);
    let sized = splits.map(|at| {
        let (before, before_sd) = mean(stays[..at].iter().map(|(_, of)| *of));
        let (after, after_sd) = mean(stays[at..].iter().map(|(_, of)| *of));
        (stays[at].0, after - before, before_sd.hypot(after_sd))
    });
    let best = sized.max_by(|a, b| (a.1 / a.2).abs().total_cmp(&(b.1 / b.2).abs()))?;
    ((best.1 / best.2).abs() > SURE).then_some(best)
}

/// Weighted mean and its standard uncertainty.
fn mean(of: impl Iterator<Item = (f64, f64)>) -> (f64, f64) {
    let (sum, whole) = of.fold((0.0, 0.0), |(sum, whole), (value, sd)| {
        let weight = 1.0 / (sd * sd);
        (sum + weight * value, whole + weight)
    });
    if whole > 0.0 { (sum / whole, whole.sqrt().recip()) } else { (0.0, f64::INFINITY) }
}

impl HeadFit {
    /// How far the strengths would stand above the curve had the head stayed as it was believed,
    /// by the readings alone, and the standard uncertainty of that, % vol.
    fn above_if_head_stays(&self) -> Option<(f64, f64)> {
        let (loss, loss_sd) = (self.head_loss_w_k.ln(), self.sd / self.head_loss_w_k);
        let slope = self.correlation * self.stand_above_sd / loss_sd;
        let value = self.stand_above_pct + slope * (self.before_w_k.ln() - loss);
        let sd = self.stand_above_sd * (1.0 - self.correlation * self.correlation).sqrt();
        let (own, prior) = (sd.powi(-2), HYDROMETER_PCT.powi(-2));
        let said = own - prior;
        (said > 0.01 * own).then(|| (value * own / said, said.sqrt().recip()))
    }
}

/// What is known of two figures together: the inverse of their covariance, and that times them.
#[derive(Debug, Clone, Copy)]
struct Pair {
    weight: [f64; 3],
    pull: [f64; 2],
}

impl Pair {
    fn of((a, a_sd): (f64, f64), (b, b_sd): (f64, f64), correlation: f64) -> Self {
        let open = 1.0 - correlation * correlation;
        let weight = [
            1.0 / (open * a_sd * a_sd),
            -correlation / (open * a_sd * b_sd),
            1.0 / (open * b_sd * b_sd),
        ];
        let pull = [weight[0] * a + weight[1] * b, weight[1] * a + weight[2] * b];
        Self { weight, pull }
    }
    fn plus(self, other: Self, by: f64) -> Self {
        Self {
            weight: std::array::from_fn(|i| self.weight[i] + by * other.weight[i]),
            pull: std::array::from_fn(|i| self.pull[i] + by * other.pull[i]),
        }
    }
    fn solved(self) -> ((f64, f64), (f64, f64)) {
        let [a, ab, b] = self.weight;
        let open = a * b - ab * ab;
        let value = [
            (b * self.pull[0] - ab * self.pull[1]) / open,
            (a * self.pull[1] - ab * self.pull[0]) / open,
        ];
        ((value[0], (b / open).sqrt()), (value[1], (a / open).sqrt()))
    }
}

/// Spread of the losses beyond what each is unsure of, W/K.
fn between(fits: &[HeadFit]) -> f64 {
    let weight = |f: &HeadFit| f.sd.powi(-2);
    let whole: f64 = fits.iter().map(weight).sum();
    let mean = fits.iter().map(|f| f.head_loss_w_k * weight(f)).sum::<f64>() / whole;
    let squares: f64 = fits.iter().map(|f| ((f.head_loss_w_k - mean) / f.sd).powi(2)).sum();
    let room = whole - fits.iter().map(|f| f.sd.powi(-4)).sum::<f64>() / whole;
    let more = squares - (fits.len() as f64 - 1.0);
    if room > 0.0 { (more / room).max(0.0).sqrt() } else { 0.0 }
}
