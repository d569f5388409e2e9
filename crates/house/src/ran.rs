//! One run of a still as it was noted, from charge to discharge: plain data, like
//! [`Standing`](crate::Standing). `book` fills it from entries, `forecast` judges it, the
//! stillhouse shows it. Nothing is reckoned in here.

use crate::standing::Reading;
use jiff::Timestamp;

/// A run of a still, as far as it has come.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Ran {
    /// Its number.
    pub run: u32,
    /// The still, a key of the house's vessels.
    pub still: String,
    /// The make, a key of the house's makes.
    pub make: String,
    /// Whether it follows a change of make and its heart is transition spirit.
    pub transition: bool,
    /// When the first part of the charge was let in.
    pub charged_at: Timestamp,
    /// The parts of the charge, in the order in which they were let in.
    pub charged: Vec<Drawn>,
    /// Hours the wash had fermented when it was charged; none for a run that is not of wash.
    pub ferment_h: Option<f64>,
    /// The cuts that were collected, in the order of time.
    pub cuts: Vec<Collected>,
    /// What was left in the pot, once it has been emptied.
    pub left: Option<Left>,
    /// What the book took as increase (plus) or deficiency (minus) of this run, L pure alcohol.
    pub difference_l: f64,
    /// What was noted while it ran.
    pub readings: Vec<Safe>,
    /// What the nose said of it.
    pub nosings: Vec<Nosing>,
    /// What a laboratory found in its cuts.
    pub analyses: Vec<Analysis>,
}

/// One part of a charge.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawn {
    /// The vessel it came from.
    pub from: String,
    /// When.
    pub at: Timestamp,
    /// Litres at 20 °C; of a washback charged whole, as the tun room measured it; none where
    /// the whole of another vessel was charged without measure.
    pub volume_20_l: Option<f64>,
    /// Strength, % vol at 20 °C; none where it was not measured.
    pub strength_pct: Option<f64>,
    /// Pure alcohol by the book, L at 20 °C.
    pub pure_alcohol_l: f64,
}

/// One cut as it was collected.
#[derive(Debug, Clone, PartialEq)]
pub struct Collected {
    /// `foreshots`, `heart`, `feints`, `low_wines`, `middle`.
    pub cut: String,
    /// The receiver.
    pub to: String,
    /// When it ended.
    pub at: Timestamp,
    /// Litres at 20 °C.
    pub volume_20_l: f64,
    /// Its strength, % vol at 20 °C.
    pub strength_pct: f64,
    /// Pure alcohol, L at 20 °C.
    pub pure_alcohol_l: f64,
}

/// What stayed in the pot.
#[derive(Debug, Clone, PartialEq)]
pub struct Left {
    /// When the still was emptied.
    pub at: Timestamp,
    /// Litres as they lay.
    pub bulk_l: f64,
    /// Strength, % vol at 20 °C.
    pub strength_pct: f64,
    /// Pure alcohol found in it, L at 20 °C.
    pub pure_alcohol_l: f64,
}

/// What was read at the safe at one moment.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Safe {
    /// When.
    pub at: Timestamp,
    /// Strength at 20 °C, % vol: as noted, or from hydrometer and temperature.
    pub strength_pct: Option<f64>,
    /// The hydrometer as it read, % vol, where it was noted so.
    pub reading_pct: Option<f64>,
    /// Temperature of the spirit at the safe, °C.
    pub temperature_c: Option<f64>,
    /// Vapour temperature in the head, °C.
    pub head_c: Option<f64>,
    /// How fast it ran, L/min as it lay.
    pub flow_l_min: Option<f64>,
    /// Cooling water as it left the condenser, °C.
    pub water_off_c: Option<f64>,
}

/// What the nose said: the house's own words, each with a mark of the one who nosed it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Nosing {
    /// When.
    pub at: Timestamp,
    /// Who.
    pub by: String,
    /// Of which cut.
    pub cut: String,
    /// Word and mark, 0 (not there) to 5 (strong).
    pub marks: Vec<(String, f64)>,
    /// What was said beside.
    pub remark: String,
}

/// What a laboratory found in a cut or in what was left.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Analysis {
    /// When the sample was taken.
    pub at: Timestamp,
    /// Of which cut, or `residue`.
    pub of: String,
    /// Congener (as spelt in `process::still`) and mg/L of the liquid as it is; `phenols` is the
    /// sum of them.
    pub found_mg_l: Vec<(String, f64)>,
}

/// The cuts a house keeps to for a make, as last noted by whoever may.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct KeptCuts {
    /// The make.
    pub make: String,
    /// When it was decided.
    pub since: Timestamp,
    /// Foreshots until so many minutes after the first running.
    pub heart_from_min: f64,
    /// Heart until the distillate has fallen to this, % vol.
    pub heart_to_pct: f64,
}

impl Ran {
    /// Pure alcohol charged, L.
    pub fn charged_l(&self) -> f64 {
        self.charged.iter().map(|part| part.pure_alcohol_l).sum()
    }
    /// The cut called `name`, where it has been collected.
    pub fn cut(&self, name: &str) -> Option<&Collected> {
        self.cuts.iter().find(|cut| cut.cut == name)
    }
    /// Whether the still has been emptied.
    pub fn ended(&self) -> bool {
        self.left.is_some()
    }
    /// Noted strengths, oldest first.
    pub fn strengths(&self) -> Vec<Reading> {
        let noted = self.readings.iter().filter_map(|r| Some((r.at, r.strength_pct?)));
        noted.map(|(at, value)| Reading { at, value }).collect()
    }
}
