//! Barley lots: what is known of each, what it should give, whether it may be malted, and how.

use super::seen::hours;
use super::turning::manned;
use crate::chain::usual_weather;
use crate::figure::{Band, Figure, Shown};
use crate::spread::{Both, Tune};
use gauge::record;
use house::standing::Lot;
use house::{Barley, House, Standing};
use jiff::Timestamp;
use process::bin::{AnalysisConstants, Making, analysis};
use process::steep::intake::{self, Germination, Keeping};
use process::steep::{self, Kind, Proposal, Wanted};

record! {
    /// What a lot's yield hangs on beside the constants of the analysis.
    struct Known {
        /// Nitrogen, % of dry matter.
        nitrogen: f64 = Field::new("%").label("nitrogen").sd(0.03),
        /// Share of the corns that grow.
        grows: f64 = Field::new("").label("corns that grow").sd(0.015),
        /// How far it will be softened.
        softened: f64 = Field::new("").label("modification").sd(0.02),
        /// Dry matter that malting costs.
        malting_loss: f64 = Field::new("").label("malting loss").or(0.10).sd(0.008),
    }
}

/// Dry matter of what is no lot any more but the sweepings of a silo [design].
pub(super) const SWEEPINGS_KG: f64 = 50.0;
/// Moisture of the malt for which litres a tonne are told, wet basis.
const MALT_WET: f64 = 0.045;
/// Hours of curing that the yield is told for.
const CURE_H: f64 = 4.0;

/// Whether a lot may be malted.
#[derive(Debug, Clone, PartialEq)]
pub enum Verdict {
    /// It may.
    MayMalt,
    /// Not yet.
    NotYet {
        /// Why.
        why: String,
        /// Days from now until it should be tested again.
        retest_d: Option<f64>,
    },
    /// Never.
    Never {
        /// Why.
        why: String,
    },
}

/// A lot of barley.
#[derive(Debug, Clone, PartialEq)]
pub struct LotSeen {
    /// The lot.
    pub lot: String,
    /// Its kind, a key.
    pub barley: String,
    /// What the kind is called.
    pub called: String,
    /// Where it lies.
    pub silo: String,
    /// When the first of it came in.
    pub since: Timestamp,
    /// Tonnes left, as it is.
    pub left_t: f64,
    /// Steeps that it gives yet.
    pub steeps: f64,
    /// Its analysis, those figures that are known, by key: `moisture_pct`, `nitrogen_pct_dry`,
    /// `corn_weight_g`, `screenings_pct`, `admixture_pct`, `germinative_energy_4ml_pct`,
    /// `germinative_energy_8ml_pct`, `germinative_capacity_pct`, `sensitivity`. One without a
    /// finding of its own is left out.
    pub figures: Vec<Figure>,
    /// Pure alcohol a tonne of malt as it is that its analysis promises, with its band.
    pub expected_l_t: Figure,
    /// Whether it may be malted.
    pub verdict: Verdict,
    /// The steeping proposed for it, where it may be malted and one is found.
    pub steep: Option<Proposal>,
    /// Whether it is too wet to be stored as it is.
    pub too_wet: bool,
    /// What to know.
    pub says: Vec<String>,
}

/// Gives the lots in store.
///
/// # Units
/// As each figure says.
/// # Range
/// Lots with barley left.
/// # Error
/// The band of the yield, nine times in ten, holds the analysis' own constants and the lot's
/// figures, and not mash house and stills.
/// # Source
/// [`process::bin::analysis`]; germination: as the verdict says.
pub fn lots(house: &House, standing: &Standing, at: Timestamp) -> Vec<LotSeen> {
    standing
        .lots
        .iter()
        .filter(|lot| lot.dry_kg > SWEEPINGS_KG)
        .map(|lot| seen(house, lot, at))
        .collect()
}

fn seen(house: &House, lot: &Lot, at: Timestamp) -> LotSeen {
    let kind = house.barley(&lot.barley);
    let left_kg = lot.dry_kg / (1.0 - lot.moisture_wet);
    let steep_kg = steep_kg(house);
    let verdict = verdict(kind, lot, usual_weather(house, at).air_c, at);
    let contract = kind.map(|kind| &kind.contract);
    let most = contract.map_or(0.13, |contract| contract.most_moisture_wet);
    let too_wet = lot.moisture_wet > most + 1e-9;
    let mut says = Vec::new();
    if too_wet {
        says.push(format!(
            "At {:.1} % it is too wet to lie: dry it to {:.0} % or use it first.",
            100.0 * lot.moisture_wet,
            100.0 * most
        ));
    }
    let sensitivity = sensitivity(kind, lot);
    if let Some(points) = sensitivity.filter(|points| *points > 25.0) {
        says.push(format!(
            "Water-sensitive by {points:.0} points: a short first water and long rests."
        ));
    }
    LotSeen {
        lot: lot.lot.clone(),
        barley: lot.barley.clone(),
        called: kind.map_or_else(|| lot.barley.clone(), |kind| kind.name.clone()),
        silo: lot.silo.clone(),
        since: lot.since,
        left_t: left_kg / 1000.0,
        steeps: if steep_kg > 0.0 { left_kg / steep_kg } else { 0.0 },
        figures: figures(lot, sensitivity),
        expected_l_t: expected(kind, lot),
        steep: kind
            .filter(|_| verdict == Verdict::MayMalt)
            .and_then(|kind| steeping(house, kind, lot, at)),
        verdict,
        too_wet,
        says,
    }
}

/// What a steep of the house takes, kg as it is.
pub(crate) fn steep_kg(house: &House) -> f64 {
    super::cast::steep_of(house, "").map_or(0.0, |(own, _)| own.barley_kg)
}

/// Points between 4 and 8 ml: the lot's own, else its kind's.
pub(crate) fn sensitivity(kind: Option<&Barley>, lot: &Lot) -> Option<f64> {
    let own = &lot.analysis;
    let pair = own.germinative_energy_4ml_pct.zip(own.germinative_energy_8ml_pct);
    let usual = || {
        let usual = &kind?.analysis;
        Some((usual.germinative_energy_4ml_pct, usual.germinative_energy_8ml_pct))
    };
    pair.or_else(usual).map(|(four, eight)| four - eight)
}

fn figures(lot: &Lot, sensitivity: Option<f64>) -> Vec<Figure> {
    let own = &lot.analysis;
    let moisture = Shown("moisture_pct", "moisture", "%", 1);
    let all = [
        (moisture, Some(100.0 * lot.moisture_wet)),
        (Shown("nitrogen_pct_dry", "nitrogen", "%", 2), lot.nitrogen_pct_dry),
        (Shown("corn_weight_g", "thousand corns", "g", 1), own.corn_weight_g),
        (Shown("screenings_pct", "screenings", "%", 1), own.screenings_pct),
        (Shown("admixture_pct", "admixture", "%", 1), own.admixture_pct),
        (
            Shown("germinative_energy_4ml_pct", "energy, 4 ml", "%", 0),
            own.germinative_energy_4ml_pct,
        ),
        (
            Shown("germinative_energy_8ml_pct", "energy, 8 ml", "%", 0),
            own.germinative_energy_8ml_pct,
        ),
        (Shown("germinative_capacity_pct", "capacity", "%", 0), own.germinative_capacity_pct),
        (Shown("sensitivity", "water sensitivity", "points", 0), sensitivity),
    ];
    all.into_iter().filter_map(|(shown, value)| Some(shown.of(value?))).collect()
}

/// Litres a tonne that the lot's analysis promises, with the band of what it hangs on.
fn expected(kind: Option<&Barley>, lot: &Lot) -> Figure {
    let usual = kind.map(|kind| &kind.analysis);
    let nitrogen = lot.nitrogen_pct_dry.or(usual.map(|u| u.nitrogen_pct_dry)).unwrap_or(1.5);
    let energy = lot.analysis.germinative_energy_4ml_pct;
    let energy = energy.or(usual.map(|u| u.germinative_energy_4ml_pct)).unwrap_or(97.0);
    let softened = kind.map_or(0.93, |kind| kind.floor.hand.ready_modification);
    let known = Known { nitrogen, grows: energy / 100.0, softened, malting_loss: 0.10 };
    let landrace = kind.is_some_and(|kind| kind.kind == "landrace");
    let of_kind = if landrace {
        AnalysisConstants { extract_most_pct_dry: 77.5, ..AnalysisConstants::default() }
    } else {
        AnalysisConstants::default()
    };
    let base = Both(of_kind, known);
    let once = |Both(constants, known): &Both<AnalysisConstants, Known>| {
        let making = Making {
            nitrogen_pct_dry: known.nitrogen,
            modification: known.softened,
            malting_loss_fraction: known.malting_loss,
            germinating_fraction: known.grows.min(1.0),
            cure_c: 68.0,
            cure_h: CURE_H,
        };
        analysis::expected(&making, constants).predicted_spirit_yield_l_t(MALT_WET, constants)
    };
    let value = once(&base);
    let mut variance = 0.0;
    let mut because = Vec::new();
    for (label, key, sd) in base.uncertain() {
        let mut moved = base.clone();
        moved.shift(key, sd);
        let square = (once(&moved) - value).powi(2);
        variance += square;
        because.push((label, square));
    }
    for (_, share) in &mut because {
        *share /= variance;
    }
    because.sort_by(|a, b| b.1.total_cmp(&a.1));
    because.truncate(3);
    let band = Band { because, ..Band::around(value, variance.sqrt()) };
    let shown = Shown("predicted_l_t", "pure alcohol a tonne of malt", "L/t", 0);
    Figure { band: Some(band), ..shown.of(value) }
}

/// Whether a lot may be malted: its counts, by the stage, and what the house holds it for.
fn verdict(kind: Option<&Barley>, lot: &Lot, store_c: f64, at: Timestamp) -> Verdict {
    let least_energy_pct = kind.map_or(95.0, |kind| kind.contract.least_energy_pct);
    let keeping = Keeping { least_energy_pct, ..Keeping::default() };
    let since_d = lot.analysis.tested.map_or(0.0, |tested| hours(tested, at) / 24.0);
    let counted = counts(kind, lot).filter(|_| lot.analysis.germinative_energy_4ml_pct.is_some());
    match counted.map(|counts| intake::verdict(&counts, store_c, &keeping)) {
        Some(intake::Verdict::Never { why }) => return Verdict::Never { why },
        Some(intake::Verdict::NotYet { why, retest_d }) => {
            return Verdict::NotYet { why, retest_d: Some((retest_d - since_d).max(0.0)) };
        }
        Some(intake::Verdict::MayMalt) | None => {}
    }
    match &lot.held {
        Some(why) => Verdict::NotYet { why: why.clone(), retest_d: None },
        None => Verdict::MayMalt,
    }
}

/// The counts of a lot, for what was not counted those of its kind.
pub(crate) fn counts(kind: Option<&Barley>, lot: &Lot) -> Option<Germination> {
    let own = &lot.analysis;
    let usual = kind.map(|kind| &kind.analysis);
    Some(Germination {
        energy_4ml_pct: own
            .germinative_energy_4ml_pct
            .or(usual.map(|u| u.germinative_energy_4ml_pct))?,
        energy_8ml_pct: own
            .germinative_energy_8ml_pct
            .or(usual.map(|u| u.germinative_energy_8ml_pct))?,
        capacity_pct: own.germinative_capacity_pct,
    })
}

/// Least and most moisture at casting that a steeping is proposed for, wet basis.
const CAST_WET: (f64, f64) = (0.41, 0.46);

/// The steeping proposed for a lot, begun at `at` or at the first watch after it.
fn steeping(house: &House, kind: &Barley, lot: &Lot, at: Timestamp) -> Option<Proposal> {
    let (own, stage) = super::cast::steep_of(house, "").ok()?;
    let counts = counts(Some(kind), lot)?;
    let analysis = &lot.analysis;
    let charge = steep::Charge {
        dry_kg: own.barley_kg * (1.0 - lot.moisture_wet),
        moisture_wet: lot.moisture_wet.clamp(0.06, 0.25),
        corn_weight_g: analysis.corn_weight_g.unwrap_or(kind.analysis.corn_weight_g),
        nitrogen_pct_dry: lot.nitrogen_pct_dry.unwrap_or(kind.analysis.nitrogen_pct_dry),
        germinative_energy_4ml_pct: counts.energy_4ml_pct,
        germinative_energy_8ml_pct: counts.energy_8ml_pct,
    };
    let like = |wanted: Kind| {
        let phases = kind.steep.phases.iter();
        let of_kind = phases.filter(|p| p.kind == wanted).map(|p| p.stretch.temperature_c).next();
        of_kind.unwrap_or(13.0)
    };
    // What the house's own steeping of the kind brings its usual corn to.
    let constants = steep::Constants::default();
    let own_charge = steep::Charge { dry_kg: charge.dry_kg, ..kind.analysis.clone() };
    let usual = steep::run(&own_charge, stage, &kind.steep, &constants).ok()?.out.moisture_wet;
    let wanted = Wanted {
        moisture_wet: usual.clamp(CAST_WET.0, CAST_WET.1),
        water_c: like(Kind::Wet),
        air_c: like(Kind::Rest),
        ..Wanted::default()
    };
    // An hour outside the watches counts as the first of the next.
    let mut manned = manned(house, at);
    if let Some(watch) = manned.windows.first() {
        let inside = (watch.from_week_h..watch.to_week_h).contains(&manned.start_week_h);
        manned.start_week_h = if inside { manned.start_week_h } else { watch.from_week_h };
    }
    steep::propose(&charge, stage, &constants, &wanted, &manned).ok()
}
