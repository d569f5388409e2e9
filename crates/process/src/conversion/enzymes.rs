//! Activity and survival of the two amylases, and how fast starch goes into solution.

use super::Constants;

/// The gas constant as the published fits used it, J/(mol K): the rates go with these digits.
const R: f64 = 8.314;
const ZERO_C_K: f64 = 273.15;
/// The temperature at which the denaturation rates of [`Constants`] are given.
const DENATURATION_C: f64 = 65.0;

/// A rate that halves in two seconds is taken as fastest: under a hot last water beta-amylase would
/// be gone in milliseconds, which nobody can tell from two seconds and which an explicit step
/// would have to follow. The rates as they stand come here above 80 °C only.
const AT_ONCE_PER_MIN: f64 = 20.0;

/// Activity of alpha-amylase by temperature, °C. Between 40 and 72 °C these are points of the
/// sixth-degree polynomial of Brandam and others (2003); that polynomial turns up again below
/// 38 °C and above 75 °C, so it is never used itself. The ends are judgement.
const ALPHA: [(f64, f64); 15] = [
    (35.0, 0.60),
    (40.0, 0.92),
    (45.0, 1.80),
    (50.0, 3.52),
    (55.0, 5.69),
    (58.0, 6.77),
    (60.0, 7.20),
    (62.0, 7.27),
    (64.0, 6.90),
    (66.0, 6.05),
    (68.0, 4.73),
    (70.0, 3.07),
    (72.0, 1.33),
    (74.0, 0.20),
    (80.0, 0.0),
];
/// Activity of beta-amylase by temperature, °C; same source, two straight lines.
const BETA: [(f64, f64); 4] = [(30.0, 1.0135), (63.0, 2.5822), (70.0, 0.0), (80.0, 0.0)];

fn on_line(points: &[(f64, f64)], x: f64) -> f64 {
    let next = points.partition_point(|p| p.0 < x);
    let Some(&(x1, y1)) = points.get(next) else {
        return points[points.len() - 1].1;
    };
    let Some(&(x0, y0)) = next.checked_sub(1).and_then(|i| points.get(i)) else {
        return y1;
    };
    y0 + (x - x0) / (x1 - x0) * (y1 - y0)
}

/// Temperatures at which a rate has a kink or jumps: an integration is broken there.
pub(super) fn kinks(constants: &Constants) -> impl Iterator<Item = f64> {
    let knots = ALPHA.iter().chain(&BETA).map(|p| p.0);
    knots.chain([constants.gelatinise_split_c])
}

fn arrhenius(energy_kj_mol: f64, at_c: f64, reference_c: f64) -> f64 {
    let inverse = 1.0 / (at_c + ZERO_C_K) - 1.0 / (reference_c + ZERO_C_K);
    (-energy_kj_mol * 1e3 / R * inverse).exp()
}

/// Everything temperature decides, at one temperature.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rates {
    /// Gelatinisation, 1/min.
    pub(super) gelatinise: f64,
    /// Activity of a fresh standard malt's alpha-amylase.
    pub(super) alpha: f64,
    /// The same of beta-amylase.
    pub(super) beta: f64,
    /// Loss of alpha-amylase, 1/min.
    pub(super) alpha_loss: f64,
    /// Loss of beta-amylase, 1/min.
    pub(super) beta_loss: f64,
}

impl Rates {
    /// The rates at `at_c`. `hot` says on which side of the gelatinisation split the stretch lies
    /// that is being integrated, so that the jump never falls inside a step.
    pub(super) fn at(at_c: f64, hot: bool, constants: &Constants) -> Self {
        let split = constants.gelatinise_split_c;
        let (rate, energy) = if hot {
            (constants.gelatinise_hot_per_min, constants.gelatinise_hot_kj_mol)
        } else {
            (constants.gelatinise_cool_per_min, constants.gelatinise_cool_kj_mol)
        };
        let loss = |per_min: f64, kj_mol| {
            (per_min * arrhenius(kj_mol, at_c, DENATURATION_C)).min(AT_ONCE_PER_MIN)
        };
        Self {
            gelatinise: (rate * arrhenius(energy, at_c, split)).min(AT_ONCE_PER_MIN),
            alpha: on_line(&ALPHA, at_c),
            beta: on_line(&BETA, at_c),
            alpha_loss: loss(constants.alpha_loss_65_per_min, constants.alpha_loss_kj_mol),
            beta_loss: loss(
                constants.beta_protection * constants.beta_loss_65_per_min,
                constants.beta_loss_kj_mol,
            ),
        }
    }

    /// The slopes of `[starch, dextrin, glucose, maltose, maltotriose, e_alpha, e_beta]`, a minute.
    ///
    /// Newly dissolved starch is cut within a second at these constants, so it is taken as split
    /// at once:
    /// `W = (p_g + p_m + p_n + p_d) A + p_b B`, `f_g = p_g A / W`, `f_m = (p_m A + p_b B) / W`,
    /// `f_n = p_n A / W`, `f_d` the rest; `A = a_alpha e_alpha`, `B = a_beta e_beta`.
    pub(super) fn slopes(&self, constants: &Constants, y: &[f64], dy: &mut [f64]) {
        let c = constants;
        let (starch, dextrin) = (y[0], y[1]);
        let a = self.alpha * y[5];
        let b = self.beta * y[6];
        let by_alpha = c.split_glucose + c.split_maltose + c.split_maltotriose + c.split_dextrin;
        let w = by_alpha * a + c.split_maltose_beta * b;
        let (f_g, f_m, f_n) = if w < 1e-12 {
            (0.0, 0.0, 0.0)
        } else {
            (
                c.split_glucose * a / w,
                (c.split_maltose * a + c.split_maltose_beta * b) / w,
                c.split_maltotriose * a / w,
            )
        };
        let dissolved = self.gelatinise * starch;
        let glucose = c.cut_glucose_per_min * a * dextrin;
        let maltose = (c.cut_maltose_per_min * a + c.cut_maltose_beta_per_min * b) * dextrin;
        let maltotriose = c.cut_maltotriose_per_min * a * dextrin;
        dy[0] = -dissolved;
        dy[1] = (1.0 - f_g - f_m - f_n) * dissolved - glucose - maltose - maltotriose;
        dy[2] = f_g * dissolved + glucose;
        dy[3] = f_m * dissolved + maltose;
        dy[4] = f_n * dissolved + maltotriose;
        dy[5] = -self.alpha_loss * y[5];
        dy[6] = -self.beta_loss * y[6];
    }
}
