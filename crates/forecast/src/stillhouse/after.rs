//! After a run: what went in against what came out, and where to look when they differ.
//!
//! In = heart + foreshots + feints (or low wines) + what is left + deficiency, or less increase,
//! in litres of pure alcohol. Each figure is a dip, a temperature and a strength, and knows its
//! own uncertainty. The strengths of one stillhouse come from one hydrometer: its error is common
//! to all of them and does not average out, neither over the cuts nor over the weeks. That is also
//! what gives it away. A hydrometer that reads high makes a spirit run come out short, for more
//! litres go in by it than come out by it, and makes a wash run come out over, for the wash is
//! reckoned from its gravities. A leak does neither: it only ever takes, and in one still. What
//! vents and safe take at every run is no trouble; it is told apart, as usual in the trade.
//!
//! # Source
//! Generalised likelihood ratio of S. Narasimhan and R. S. H. Mah, AIChE J. 33 (1987) 1514: for a
//! trouble that would show as `f`, its size is `f'S⁻¹d / f'S⁻¹f` and its weight
//! `(f'S⁻¹d)² / f'S⁻¹f`, to be held against chi-square of one degree. Standard uncertainties of
//! dip and hydrometer from memory.

use super::gls::{Scatter, Sized};
use crate::chain::handling::Vents;
use gauge::Record;
use house::Ran;
use house::ran::{Collected, Drawn};

/// Standard uncertainty of a dip, as a share of the litres.
const DIP: f64 = 0.0015;
/// Of the temperature they are brought to 20 °C by, as a share of the litres: 0.3 K.
const WARMTH: f64 = 0.0003;
/// Of one reading of a hydrometer, % vol: eye and temperature, new each time.
const READING_PCT: f64 = 0.05;
/// Of the hydrometer itself, % vol: the same in every reading. With the reading 0.1 % vol.
const HYDROMETER_PCT: f64 = 0.087;
/// Of one strength reckoned from gravities, % vol, new each time: 0.0003 in each.
const GRAVITY_PCT: f64 = 0.06;
/// Of the reckoning from gravities itself, % vol, the same each time: its forms differ by 0.1 to
/// 0.2, and what yeast and bacteria keep back differs from house to house.
const ATTENUATION_PCT: f64 = 0.2;
/// Of litres of pure alcohol that the book says lay in a vessel charged whole, as a share.
const BY_BOOK: f64 = 0.005;
/// Of the strength left in the pot, % vol.
const LEES_PCT: f64 = 0.02;
/// Of litres left in the pot, as a share: by the sight glass.
const LEES: f64 = 0.03;

/// Chi-square of one degree that a trouble must pass, 0.005 to the right of it: with the handful
/// of troubles that are tried, a false word in some forty runs.
const SURE: f64 = 7.88;
/// How far from expected a heart must lie, in standard uncertainties, before a cut is spoken of.
const FAR: f64 = 2.8;

/// One line of the account of a run.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// `charge`, a cut, `residue`.
    pub key: String,
    /// Litres at 20 °C, where they were measured.
    pub volume_20_l: Option<f64>,
    /// Strength, % vol at 20 °C.
    pub strength_pct: Option<f64>,
    /// Pure alcohol, L at 20 °C.
    pub pure_alcohol_l: f64,
    /// Its standard uncertainty, the common part in it.
    pub sd_l: f64,
}

/// What a difference is likely to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Likely {
    /// No more than the gauges are unsure of.
    Within,
    /// An instrument that has been off over the last runs.
    Gauge,
    /// Spirit lost from this still.
    Leak,
    /// A cut turned early or late, or run to the wrong receiver.
    Cut,
    /// This run alone: a reading, or something spilt.
    Once,
}

/// The account of a run.
#[derive(Debug, Clone, PartialEq)]
pub struct After {
    /// What was charged, part by part.
    pub charged: Vec<Line>,
    /// What came over and what was left.
    pub found: Vec<Line>,
    /// Increase (plus) or deficiency (minus), L pure alcohol.
    pub difference_l: f64,
    /// What vents, condenser and safe usually take of such a charge, L pure alcohol.
    pub vents_l: f64,
    /// Standard uncertainty of the difference, that of the vents in it.
    pub sd_l: f64,
    /// The difference less the usual loss by vents, over that.
    pub z: f64,
    /// What it is likely to be.
    pub likely: Likely,
    /// The same in words.
    pub says: String,
}

/// What the heart should hold, had it been cut as it was kept to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Foretold {
    /// Pure alcohol, L.
    pub heart_pure_l: f64,
    /// Its standard uncertainty, model and charge.
    pub sd_l: f64,
    /// Strength at which the heart was to end, % vol.
    pub to_pct: f64,
    /// Strength at which so much heart as was found would have been over, % vol.
    pub found_to_pct: Option<f64>,
    /// Whether the still's head has been fitted: without that no word is said.
    pub fitted: bool,
}

/// A run in the numbers that the comparison needs.
#[derive(Debug, Clone, Copy)]
struct Weighed {
    /// Found less charged, L pure alcohol.
    difference_l: f64,
    /// What vents usually take, L pure alcohol.
    vents_l: f64,
    /// Standard uncertainty of that, the same share in every run.
    vents_sd_l: f64,
    /// Variance that is this run's own, L².
    own: f64,
    /// L pure alcohol a % vol of the hydrometer.
    hydrometer: f64,
    /// L pure alcohol a % vol of the reckoning from gravities.
    gravity: f64,
    charged_l: f64,
}

impl Weighed {
    fn sd_l(&self) -> f64 {
        let common =
            [self.hydrometer * HYDROMETER_PCT, self.gravity * ATTENUATION_PCT, self.vents_sd_l];
        (self.own + common.iter().map(|sd| sd * sd).sum::<f64>()).sqrt()
    }
    /// What is not to be expected of the difference.
    fn odd_l(&self) -> f64 {
        self.difference_l + self.vents_l
    }
}

/// Gives the account of a run that has ended; nothing of one that has not.
///
/// `others` are runs before it, of any still, newest first; of those that ended the last thirty
/// are laid beside it. `called` is what the still is called.
///
/// # Units
/// L pure alcohol at 20 °C.
/// # Range
/// A run with a charge and something left.
/// # Error
/// Dip 0.15 % of the litres, hydrometer 0.1 % vol, most of it common; from memory.
/// # Source
/// As on the page above.
pub fn after(
    ran: &Ran,
    others: &[Ran],
    foretold: Option<&Foretold>,
    called: &str,
) -> Option<After> {
    let own = weighed(ran)?;
    let sd_l = own.sd_l();
    let z = own.odd_l() / sd_l;
    let before = others.iter().filter(|other| other.run < ran.run);
    let mut runs: Vec<(&Ran, Weighed)> =
        before.filter_map(|other| Some((other, weighed(other)?))).take(30).collect();
    runs.push((ran, own));
    let (likely, says) = judged(ran, &runs, own, (foretold, called));
    Some(After {
        charged: ran.charged.iter().map(|part| charged_line(ran, part)).collect(),
        found: found_lines(ran),
        difference_l: own.difference_l,
        vents_l: own.vents_l,
        sd_l,
        z,
        likely,
        says,
    })
}

fn measured_variance(volume_20_l: f64, pure_l: f64, reading_pct: f64) -> f64 {
    let litres = pure_l * DIP.hypot(WARMTH);
    litres.powi(2) + (0.01 * volume_20_l * reading_pct).powi(2)
}

/// Of one part of the charge: its own variance, and its litres by hydrometer and by gravities.
fn part_weight(ran: &Ran, part: &Drawn) -> (f64, f64, f64) {
    match (part.volume_20_l, part.strength_pct) {
        _ if ran.ferment_h.is_some() => {
            // Wash: the washback's dip, and its strength from gravities.
            let litres = part.volume_20_l.unwrap_or(part.pure_alcohol_l / 0.08);
            (measured_variance(litres, part.pure_alcohol_l, GRAVITY_PCT), 0.0, litres)
        }
        (Some(litres), Some(_)) => {
            (measured_variance(litres, part.pure_alcohol_l, READING_PCT), litres, 0.0)
        }
        // What the book says lay there was measured by the same hydrometer when it came.
        _ => {
            let litres = part.volume_20_l.unwrap_or(part.pure_alcohol_l / 0.25);
            ((BY_BOOK * part.pure_alcohol_l).powi(2), litres, 0.0)
        }
    }
}

fn weighed(ran: &Ran) -> Option<Weighed> {
    let left = ran.left.as_ref()?;
    let charged_l = ran.charged_l();
    if charged_l <= 0.0 || ran.cuts.is_empty() {
        return None;
    }
    let mut own = 0.0;
    let (mut hydrometer, mut gravity) = (0.0, 0.0);
    for part in &ran.charged {
        let (variance, by_hydrometer, by_gravity) = part_weight(ran, part);
        own += variance;
        hydrometer -= 0.01 * by_hydrometer;
        gravity -= 0.01 * by_gravity;
    }
    let mut found_l = left.pure_alcohol_l;
    own += left_variance(ran);
    for cut in &ran.cuts {
        own += measured_variance(cut.volume_20_l, cut.pure_alcohol_l, READING_PCT);
        hydrometer += 0.01 * cut.volume_20_l;
        found_l += cut.pure_alcohol_l;
    }
    let difference_l = found_l - charged_l;
    let Vents { vents } = Vents::default();
    let vents_l = vents * charged_l;
    let vents_sd_l = charged_l * Vents::FIELDS.first().map_or(0.0, |field| field.sd);
    Some(Weighed { difference_l, vents_l, vents_sd_l, own, hydrometer, gravity, charged_l })
}

fn left_variance(ran: &Ran) -> f64 {
    ran.left.as_ref().map_or(0.0, |left| {
        (0.01 * LEES_PCT * left.bulk_l).powi(2) + (LEES * left.pure_alcohol_l).powi(2)
    })
}

fn charged_line(ran: &Ran, part: &Drawn) -> Line {
    let (variance, by_hydrometer, by_gravity) = part_weight(ran, part);
    let common = (0.01 * by_hydrometer * HYDROMETER_PCT).powi(2)
        + (0.01 * by_gravity * ATTENUATION_PCT).powi(2);
    Line {
        key: part.from.clone(),
        volume_20_l: part.volume_20_l,
        strength_pct: part.strength_pct,
        pure_alcohol_l: part.pure_alcohol_l,
        sd_l: (variance + common).sqrt(),
    }
}

fn found_lines(ran: &Ran) -> Vec<Line> {
    let cut = |cut: &Collected| {
        let own = measured_variance(cut.volume_20_l, cut.pure_alcohol_l, READING_PCT);
        let common = (0.01 * cut.volume_20_l * HYDROMETER_PCT).powi(2);
        Line {
            key: cut.cut.clone(),
            volume_20_l: Some(cut.volume_20_l),
            strength_pct: Some(cut.strength_pct),
            pure_alcohol_l: cut.pure_alcohol_l,
            sd_l: (own + common).sqrt(),
        }
    };
    let left = ran.left.as_ref().map(|left| Line {
        key: "residue".to_owned(),
        volume_20_l: Some(left.bulk_l),
        strength_pct: Some(left.strength_pct),
        pure_alcohol_l: left.pure_alcohol_l,
        sd_l: left_variance(ran).sqrt(),
    });
    ran.cuts.iter().map(cut).chain(left).collect()
}

/// A trouble that would explain the runs, and how heavily they speak for it.
struct Trouble {
    likely: Likely,
    sized: Sized,
    says: String,
}

fn judged(
    ran: &Ran,
    runs: &[(&Ran, Weighed)],
    own: Weighed,
    (foretold, called): (Option<&Foretold>, &str),
) -> (Likely, String) {
    let came = came(own);
    let mut troubles = vec![hydrometer(runs)];
    troubles.extend(leaks(ran, runs, called));
    troubles.push(once(runs));
    troubles.retain(|t| t.sized.weight > SURE);
    troubles.sort_by(|a, b| b.sized.weight.total_cmp(&a.sized.weight));
    if let Some(first) = troubles.first() {
        let mut says = format!("{came} {}", first.says);
        let close = |other: &&Trouble| {
            other.likely != first.likely && first.sized.weight - other.sized.weight < 2.0
        };
        if let Some(other) = troubles.iter().skip(1).find(close) {
            says = format!("{says} These runs cannot tell that from another thing: {}", other.says);
        }
        return (first.likely, says);
    }
    let heart = foretold.and_then(|foretold| cut(ran, foretold));
    heart.unwrap_or_else(|| (Likely::Within, format!("{came} There is nothing to look for.")))
}

fn came(own: Weighed) -> String {
    let (litres, sd) = (own.difference_l.abs(), own.sd_l());
    let way = if own.difference_l < 0.0 { "short" } else { "over" };
    let (charged, vents) = (own.charged_l, own.vents_l);
    format!(
        "{litres:.1} L of pure alcohol {way} of {charged:.0} L charged, sure to {sd:.1} L; vents \
         and safe usually take {vents:.1} L."
    )
}

/// One hydrometer that has been off in all the runs.
fn hydrometer(runs: &[(&Ran, Weighed)]) -> Trouble {
    let signature: Vec<f64> = runs.iter().map(|(_, w)| w.hydrometer).collect();
    let scatter = scatter(runs, false);
    let mut sized = scatter.size(&differences(runs), &signature);
    // One run tells nothing of an instrument.
    if runs.len() < 4 {
        sized.weight = 0.0;
    }
    let way = if sized.size > 0.0 { "high" } else { "low" };
    let says = format!(
        "The last {} runs come out as if the stillhouse hydrometer read {:.2} ± {:.2} % vol {way}: \
         prove it against another before looking for a leak.",
        runs.len(),
        sized.size.abs(),
        sized.sd
    );
    Trouble { likely: Likely::Gauge, sized, says }
}

/// Something in this run alone.
fn once(runs: &[(&Ran, Weighed)]) -> Trouble {
    let mut signature = vec![0.0; runs.len()];
    if let Some(last) = signature.last_mut() {
        *last = 1.0;
    }
    let sized = scatter(runs, true).size(&differences(runs), &signature);
    let says = if sized.size < 0.0 {
        "Only this run is short: a dip or a strength misread, something spilt, or a cock that was \
         not shut."
    } else {
        "Only this run is over: a dip or a strength misread, or spirit left in the worm or in a \
         receiver before it."
    };
    Trouble { likely: Likely::Once, sized, says: says.to_owned() }
}

/// Spirit that this still loses, always the same share or more from run to run.
fn leaks(ran: &Ran, runs: &[(&Ran, Weighed)], called: &str) -> Vec<Trouble> {
    let here = |other: &Ran| other.still == ran.still;
    let count = runs.iter().filter(|(other, _)| here(other)).count();
    if count < 4 {
        return Vec::new();
    }
    let scatter = scatter(runs, true);
    let differences = differences(runs);
    let steady: Vec<f64> =
        runs.iter().map(|(o, w)| if here(o) { -0.01 * w.charged_l } else { 0.0 }).collect();
    let first = runs.iter().map(|(other, _)| other.charged_at).min().unwrap_or(ran.charged_at);
    let span = ran.charged_at.as_second() - first.as_second();
    let grows: Vec<f64> = runs
        .iter()
        .zip(&steady)
        .map(|((other, _), f)| {
            let since = other.charged_at.as_second() - first.as_second();
            f * since as f64 / span.max(1) as f64
        })
        .collect();
    let look = "look at the joints of neck and worm, the discharge cock and the safe";
    [(steady, ""), (grows, ", and more from run to run")]
        .into_iter()
        .map(|(signature, more)| {
            let mut sized = scatter.size(&differences, &signature);
            // A leak never gives.
            if sized.size <= 0.0 {
                sized.weight = 0.0;
            }
            let says = format!(
                "{called} alone comes out short over its last {count} runs{more}, now by {:.2} ± \
                 {:.2} % of the charge's alcohol: {look}.",
                sized.size, sized.sd
            );
            Trouble { likely: Likely::Leak, sized, says }
        })
        .collect()
}

fn differences(runs: &[(&Ran, Weighed)]) -> Vec<f64> {
    runs.iter().map(|(_, w)| w.odd_l()).collect()
}

/// What scatter the differences have beside a trouble: each run's own, and what is common.
fn scatter(runs: &[(&Ran, Weighed)], hydrometer_too: bool) -> Scatter {
    let own = runs.iter().map(|(_, w)| w.own).collect();
    let mut common: Vec<Vec<f64>> = vec![
        runs.iter().map(|(_, w)| w.gravity * ATTENUATION_PCT).collect(),
        runs.iter().map(|(_, w)| w.vents_sd_l).collect(),
    ];
    if hydrometer_too {
        common.push(runs.iter().map(|(_, w)| w.hydrometer * HYDROMETER_PCT).collect());
    }
    Scatter { own, common }
}

/// All came back, but not in the cut it belongs to.
fn cut(ran: &Ran, foretold: &Foretold) -> Option<(Likely, String)> {
    let heart = ran.cut("heart")?;
    let own = measured_variance(heart.volume_20_l, heart.pure_alcohol_l, READING_PCT);
    let sd_l = own.sqrt().hypot(foretold.sd_l);
    let more_l = heart.pure_alcohol_l - foretold.heart_pure_l;
    if !foretold.fitted || more_l.abs() < FAR * sd_l {
        return None;
    }
    let (way, when) = if more_l > 0.0 { ("more", "late") } else { ("less", "early") };
    let where_to = if more_l > 0.0 {
        "or feints ran to the spirit receiver"
    } else {
        "or part of it ran to the feints receiver"
    };
    let at = foretold.found_to_pct.map_or(String::new(), |pct| format!(", near {pct:.1} % vol"));
    let says = format!(
        "What was charged came back, but the heart holds {:.0} ± {sd_l:.0} L {way} pure alcohol \
         than a cut at {:.1} % vol gives: it was turned {when}{at}, {where_to}.",
        more_l.abs(),
        foretold.to_pct
    );
    Some((Likely::Cut, says))
}

#[cfg(test)]
mod tests;
