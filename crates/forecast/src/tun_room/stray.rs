//! Whether a washback strays, and why.
//!
//! Each cause is a setting, a pitch, a yeast or a flora other than was asked, on a broad belief.
//! For each the readings are weighed: how likely they are, the ordinary differences between one
//! washback and the next left free, summed over a grid of how strong the cause may be. What was
//! noted of the setting, the yeast and the gravity are readings too. The shares of the whole are
//! how sure each cause is, the ordinary washback among them.
//!
//! # Source
//! Beliefs and grids of the causes are our own choice. Bayes's rule, a grid for the one unknown of
//! each cause, Student's distribution for readings.

use super::back::at_hour;
use super::bend::{Bent, Reading, Usual, residuals, sd_of};
use super::ready::{middle_h, ready_h};
use super::working::{Moved, Working};
use process::ferment::{HOT_C, Run};

/// How sure an ordinary washback is beforehand; the rest is shared by the causes.
const ORDINARY_BEFORE: f64 = 0.80;
/// A washback strays when the ordinary is less sure than this.
const STRAYS_BELOW: f64 = 0.30;
/// Of a noted setting and a weighed yeast, from memory of the trade.
const SET_SD_C: f64 = 0.4;
const YEAST_SD: f64 = 0.06;
/// Of the yeast that lives, as a share of what was weighed, where the pitch is the cause.
const PITCH_SD: f64 = 0.35;
const GRAVITY_SD: f64 = 0.0006;
/// Spread of setting and gravity from mash to mash, beside what was asked, from memory of the
/// trade.
const SET_USUAL_SD_C: f64 = 0.5;
const GRAVITY_USUAL_SD: f64 = 0.0015;
/// Degrees of freedom of Student's distribution, by which each reading is weighed: a model that is
/// a little wrong is never as sure as a normal distribution would have it. Our own choice.
const TAILS: f64 = 4.0;

/// A likely cause.
#[derive(Debug, Clone, PartialEq)]
pub struct Cause {
    /// Key: `set_too_warm`, `set_too_cold`, `low_pitch`, `much_yeast`, `weak_yeast`, `infection`,
    /// `sweeter_worts`, `thinner_worts`, `as_expected`.
    pub key: &'static str,
    /// What it is called.
    pub label: &'static str,
    /// How sure, %.
    pub sure_pct: f64,
    /// What speaks for it, or against.
    pub speaks: String,
}

/// A washback that strays.
#[derive(Debug, Clone, PartialEq)]
pub struct Stray {
    /// What is seen: "runs warm and early".
    pub says: String,
    /// Hour of half the fall, as it goes and as it was expected.
    pub middle_h: (f64, f64),
    /// Highest temperature and its hour.
    pub peak: (f64, f64),
    /// Likely causes, the surest first.
    pub causes: Vec<Cause>,
    /// Litres of pure alcohol that it costs, with its standard uncertainty.
    pub costs: (f64, f64),
    /// Hours that it is ready sooner; negative: later.
    pub sooner_h: f64,
}

/// What was asked of a washback.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Asked {
    pub(super) set_c: f64,
    pub(super) yeast_kg: f64,
    pub(super) original_gravity: f64,
}

struct Hypothesis {
    key: &'static str,
    label: &'static str,
    /// Of the causes alone, how sure beforehand.
    before: f64,
    /// How strong it may be, each as likely.
    grid: [f64; 3],
    moves: fn(f64) -> Moved,
}

const HYPOTHESES: [Hypothesis; 8] = [
    Hypothesis {
        key: "set_too_warm",
        label: "Set too warm",
        before: 0.2,
        grid: [1.5, 2.5, 4.0],
        moves: |x| Moved { set_c: x, ..Moved::default() },
    },
    Hypothesis {
        key: "set_too_cold",
        label: "Set too cold",
        before: 0.2,
        grid: [-1.5, -2.5, -4.0],
        moves: |x| Moved { set_c: x, ..Moved::default() },
    },
    Hypothesis {
        key: "low_pitch",
        label: "Too little yeast",
        before: 0.12,
        grid: [-0.3, -0.6, -1.0],
        moves: |x| Moved { ln_yeast: x, ..Moved::default() },
    },
    Hypothesis {
        key: "much_yeast",
        label: "Too much yeast",
        before: 0.08,
        grid: [0.25, 0.45, 0.7],
        moves: |x| Moved { ln_yeast: x, ..Moved::default() },
    },
    Hypothesis {
        key: "weak_yeast",
        label: "Weak yeast",
        before: 0.15,
        grid: [-0.2, -0.35, -0.55],
        moves: |x| Moved { ln_vigour: x, ln_wake: x, ..Moved::default() },
    },
    Hypothesis {
        key: "infection",
        label: "Infection",
        before: 0.1,
        grid: [2.3, 3.5, 4.6],
        // Bacteria ten to a hundredfold take sugar that the yeast would have had.
        moves: |x| Moved { ln_bacteria: x, fermentable: -0.006 * x, ..Moved::default() },
    },
    Hypothesis {
        key: "sweeter_worts",
        label: "Sweeter worts",
        before: 0.08,
        grid: [0.0025, 0.004, 0.006],
        moves: |x| Moved { gravity: x, ..Moved::default() },
    },
    Hypothesis {
        key: "thinner_worts",
        label: "Thinner worts",
        before: 0.07,
        grid: [-0.0025, -0.004, -0.006],
        moves: |x| Moved { gravity: x, ..Moved::default() },
    },
];

/// Readings in units of their uncertainty, and how ordinary differences move them.
struct Weighing<'w> {
    readings: &'w [Reading],
    sds: Vec<f64>,
    /// Rows: ordinary differences; columns: readings.
    ordinary: Vec<Vec<f64>>,
    asked: Asked,
    noted: Asked,
}

impl Weighing<'_> {
    /// Logarithm of how likely the readings are of a run, beside a constant: what is left of them
    /// once ordinary differences are taken out, `(1 + SS')^-½ e`, by Student's distribution.
    fn ln_likely(&self, run: &Run, moved: &Moved) -> f64 {
        let e = residuals(run, self.readings, &self.sds);
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        // (1 + SS')^-½ by one column after another: 1 − ss'(1 − 1/√(1 + s's))/s's.
        let mut left = e;
        let mut columns = self.ordinary.clone();
        for i in 0..columns.len() {
            let own = columns[i].clone();
            let length = dot(&own, &own).max(1e-12);
            let shrink = (1.0 - 1.0 / (1.0 + length).sqrt()) / length;
            let others = columns.iter_mut().skip(i + 1);
            for column in others.chain(std::iter::once(&mut left)) {
                let along = shrink * dot(&own, column);
                for (c, o) in column.iter_mut().zip(&own) {
                    *c -= along * o;
                }
            }
        }
        let beside = |noted: f64, expected: f64, sd: f64| (noted - expected) / sd;
        let (asked, noted) = (&self.asked, &self.noted);
        let set_sd = SET_SD_C.hypot(SET_USUAL_SD_C);
        let gravity_sd = GRAVITY_SD.hypot(GRAVITY_USUAL_SD);
        left.push(beside(noted.set_c, asked.set_c + moved.set_c, set_sd));
        let gravity = asked.original_gravity + moved.gravity;
        left.push(beside(noted.original_gravity, gravity, gravity_sd));
        // The scale says what was weighed, not how much of it lives: it binds a cause in the
        // pitch loosely.
        let sd = if moved.ln_yeast.abs() > 0.0 { PITCH_SD } else { YEAST_SD };
        left.push(beside((noted.yeast_kg / asked.yeast_kg).ln(), moved.ln_yeast, sd));
        let tail = |z: &f64| 0.5 * (TAILS + 1.0) * (z * z / TAILS).ln_1p();
        -left.iter().map(tail).sum::<f64>() - (sd / YEAST_SD).ln()
    }
}

/// Weighs the causes; none where the washback goes as it should.
pub(super) fn stray(
    working: &Working<'_>,
    bent: &Bent,
    asked: Asked,
    usual: &Usual,
    acid: &[Reading],
) -> Option<Stray> {
    let noted = Asked {
        set_c: working.set_c,
        yeast_kg: working.yeast_kg,
        original_gravity: working.original_gravity,
    };
    let plain = Working {
        set_c: asked.set_c,
        yeast_kg: asked.yeast_kg,
        original_gravity: asked.original_gravity,
        usual: usual.map(|(shift, _)| shift),
        ..working.clone()
    };
    let base = plain.run(&Moved::default()).ok()?;
    let readings: Vec<Reading> = bent.readings.iter().chain(acid).copied().collect();
    let sds: Vec<f64> = readings.iter().map(|r| sd_of(&base, r)).collect();
    let here = residuals(&base, &readings, &sds);
    let last_h = readings.iter().map(|r| r.hour).fold(1.0, f64::max) + 1.5;
    let shift = [
        Moved { ln_vigour: usual[0].1, ..Moved::default() },
        Moved { ln_wake: usual[1].1, ..Moved::default() },
        Moved { fermentable: usual[2].1, ..Moved::default() },
    ];
    let ordinary = shift
        .iter()
        .filter_map(|moved| {
            let there = residuals(&plain.run_for(moved, last_h).ok()?, &readings, &sds);
            Some(here.iter().zip(&there).map(|(a, b)| b - a).collect())
        })
        .collect();
    let weighing = Weighing { readings: &readings, sds, ordinary, asked, noted };
    let causes = weigh(&plain, &base, &weighing, last_h);
    let ordinary = causes.iter().find(|c| c.key == "as_expected").map_or(100.0, |c| c.sure_pct);
    if ordinary > 100.0 * STRAYS_BELOW {
        return None;
    }
    let mut causes = causes;
    for cause in &mut causes {
        cause.speaks = speaks(cause.key, &noted, &asked, bent);
    }
    tell(working, bent, &base, causes)
}

fn weigh(plain: &Working<'_>, base: &Run, weighing: &Weighing<'_>, last_h: f64) -> Vec<Cause> {
    let mut all = vec![(
        "as_expected",
        "Nothing out of the ordinary",
        ORDINARY_BEFORE.ln() + weighing.ln_likely(base, &Moved::default()),
    )];
    for hypothesis in &HYPOTHESES {
        let each = hypothesis.grid.iter().filter_map(|x| {
            let moved = (hypothesis.moves)(*x);
            let run = plain.run_for(&moved, last_h).ok()?;
            Some(weighing.ln_likely(&run, &moved))
        });
        let each: Vec<f64> = each.collect();
        let most = each.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let mean =
            each.iter().map(|ln| (ln - most).exp()).sum::<f64>() / hypothesis.grid.len() as f64;
        let before = (1.0 - ORDINARY_BEFORE) * hypothesis.before;
        all.push((hypothesis.key, hypothesis.label, before.ln() + most + mean.ln()));
    }
    let most = all.iter().map(|(.., ln)| *ln).fold(f64::NEG_INFINITY, f64::max);
    let whole: f64 = all.iter().map(|(.., ln)| (ln - most).exp()).sum();
    let mut causes: Vec<Cause> = all
        .into_iter()
        .map(|(key, label, ln)| {
            let sure_pct = 100.0 * (ln - most).exp() / whole;
            Cause { key, label, sure_pct, speaks: String::new() }
        })
        .collect();
    causes.sort_by(|a, b| b.sure_pct.total_cmp(&a.sure_pct));
    causes
}

fn speaks(key: &str, noted: &Asked, asked: &Asked, bent: &Bent) -> String {
    match key {
        "set_too_warm" | "set_too_cold" => format!("noted {:.1} °C", noted.set_c),
        "low_pitch" | "much_yeast" => format!("{:.0} kg noted", noted.yeast_kg),
        "weak_yeast" => {
            let vigour = bent.factors.first().map_or(1.0, |f| f.value);
            format!("vigour {vigour:.2} of usual")
        }
        "infection" => "note its acid".to_owned(),
        "sweeter_worts" | "thinner_worts" => {
            format!("{:.1} noted", 1000.0 * noted.original_gravity)
        }
        _ => format!("asked {:.1} °C", asked.set_c),
    }
}

fn tell(working: &Working<'_>, bent: &Bent, base: &Run, causes: Vec<Cause>) -> Option<Stray> {
    let (own, asked) = (middle_h(&bent.run.curves)?, middle_h(&base.curves)?);
    let (ready, should) = (ready_h(&bent.run.curves)?, ready_h(&base.curves)?);
    let usual_h = working.make.ferment.programme.hours;
    let pure = |run: &Run| {
        let ethanol = at_hour(run, "ethanol_kg_m3", usual_h);
        working.fill_m3() * 1000.0 * ethanol / gauge::alcoholometry::kernel::ETHANOL_KG_M3
    };
    let here = pure(&bent.run);
    let sd = bent.others.iter().map(|run| (pure(run) - here).powi(2)).sum::<f64>().sqrt();
    let early = if own < asked - 1.0 {
        "early"
    } else if own > asked + 1.0 {
        "late"
    } else {
        "in time"
    };
    let warm = bent.run.peak_c - base.peak_c;
    let heat = match warm {
        w if w > 0.7 => "warm",
        w if w < -0.7 => "cool",
        _ => "as warm as it should",
    };
    let (peak_c, at_h) = (bent.run.peak_c, bent.run.peak_at_h);
    let fall = format!("Half the fall at hour {own:.0}, expected {asked:.0}.");
    let hot = if peak_c > HOT_C {
        format!(", above the {HOT_C:.0} past which yeast dies quickly")
    } else {
        String::new()
    };
    let says =
        format!("Runs {heat} and {early}. {fall} Peak {peak_c:.1} °C at hour {at_h:.0}{hot}.");
    Some(Stray {
        says,
        middle_h: (own, asked),
        peak: (bent.run.peak_c, bent.run.peak_at_h),
        causes,
        costs: (pure(base) - here, sd),
        sooner_h: should - ready,
    })
}
