//! `makes.toml`: what the house makes, and how: malt, kilning, mash, ferment, and the route of
//! stills, cuts and receivers from wash to new spirit.

use crate::plant::keyed;
use gauge::{Field, Grade, Reader, Record, record};
use process::circuit::Feints;
use process::kiln::{Air, AirKnot, Peat, Solve, Turn};
use process::{ferment, mash, still};

record! {
    /// Figures of a make as a whole.
    pub struct Aim {
        /// Share of the season's pure alcohol.
        pub share: f64 = Field::new("").label("share of the season").within(0.0, 1.0),
        /// Strength it is filled at.
        pub filling_strength_pct: f64 = Field::new("% vol").label("filling strength")
            .within(40.0, 80.0),
        /// Phenols wanted on the malt.
        pub phenols_mg_kg_dry: f64 = Field::new("mg/kg").label("phenols on dry malt")
            .within(0.0, 200.0).or(0.0),
    }
}
record! {
    /// One phase of a kilning, beside its air-on temperature.
    pub struct PhaseFigures {
        /// How long.
        pub hours_h: f64 = Field::new("h").label("for").within(0.1, 200.0),
        /// Dry air through the whole bed.
        pub flow_kg_s: f64 = Field::new("kg/s").label("air").within(0.01, 500.0).extensive(),
    }
}

/// One phase of a kilning.
#[derive(Debug, Clone, PartialEq)]
pub struct KilnPhase {
    /// Hours and air.
    pub figures: PhaseFigures,
    /// Air-on temperature.
    pub temperature_c: f64,
}

/// A kilning as the house does it.
#[derive(Debug, Clone, PartialEq)]
pub struct Kilning {
    /// Its phases, in order.
    pub phases: Vec<KilnPhase>,
    /// Hours at which the bed is turned.
    pub turns_h: Vec<f64>,
    /// Share of the air sent back once it is dry enough.
    pub returned: f64,
    /// Moisture wanted, wet basis.
    pub ready_moisture_wet: f64,
    /// The peat.
    pub peat: Peat,
}

impl Kilning {
    /// Hours of the whole.
    pub fn hours(&self) -> f64 {
        self.phases.iter().map(|phase| phase.figures.hours_h).sum()
    }

    fn read(r: &mut Reader<'_>) -> Self {
        let turns = gauge::Field { key: "turns_h", ..*own::<Turn>("at_h") };
        Self {
            phases: r.list("phase", |r| KilnPhase {
                figures: PhaseFigures::read(r),
                temperature_c: r.number(own::<AirKnot>("temperature_c")),
            }),
            turns_h: r.numbers("turns_h", &turns),
            returned: r.number(own::<Air>("returned")),
            ready_moisture_wet: r.number(own::<Solve>("ready_moisture_wet")),
            peat: Peat::read(r),
        }
    }
}

/// The field under `key` of a stage's own record, so that its range is not written again.
pub(crate) fn own<R: Record>(key: &str) -> &'static Field {
    R::FIELDS.iter().find(|field| field.key == key).expect("the stage has this field")
}

record! {
    /// The grist.
    pub struct Grist {
        /// Malt as it is.
        pub grist_kg: f64 = Field::new("kg").label("grist").within(1.0, 1e5).sd(5.0).extensive(),
    }
}

/// The mash.
#[derive(Debug, Clone, PartialEq)]
pub struct Mash {
    /// The grist.
    pub grist: Grist,
    /// Its temperature and waters.
    pub programme: mash::Programme,
}

impl Mash {
    /// Hours from mashing in until the last worts for the washback have drained.
    pub fn worts_h(&self) -> f64 {
        let waters = self.programme.waters.iter().filter(|w| w.to == mash::To::Washback);
        waters.map(|w| (w.liquor.stand_min + w.liquor.drain_min) / 60.0).sum()
    }

    fn read(r: &mut Reader<'_>) -> Self {
        Self { grist: Grist::read(r), programme: mash::Programme::read(r) }
    }
}

record! {
    /// What is pitched.
    pub struct Pitch {
        /// Yeast as it is weighed.
        pub yeast_kg: f64 = Field::new("kg").label("yeast").within(0.1, 1e4).extensive(),
        /// Dry matter of it.
        pub yeast_dry: f64 = Field::new("").label("dry matter of the yeast").within(0.1, 1.0)
            .or(0.30).from(Grade::Memory, "pressed yeast is about 30 % dry"),
    }
}

/// Setting and fermenting.
#[derive(Debug, Clone, PartialEq)]
pub struct Ferment {
    /// Setting temperature and hours.
    pub programme: ferment::Programme,
    /// The yeast.
    pub pitch: Pitch,
}

impl Ferment {
    fn read(r: &mut Reader<'_>) -> Self {
        Self { programme: ferment::Programme::read(r), pitch: Pitch::read(r) }
    }
}

/// One cut of a run.
#[derive(Debug, Clone, PartialEq)]
pub struct Cut {
    /// Its name and its end.
    pub cut: still::Cut,
    /// The receiver it runs to.
    pub to: String,
}

/// One part of a charge.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// `wash`, or a cut of a run: `wash.low_wines`.
    pub from: String,
    /// The share of it, by amount.
    pub fraction: f64,
}

/// One pass through a still.
#[derive(Debug, Clone, PartialEq)]
pub struct Pass {
    /// Its name in the route: `wash`, `middle`, `spirit`.
    pub name: String,
    /// The stills it may be run in, the usual one first.
    pub stills: Vec<String>,
    /// What is charged.
    pub charge: Vec<Part>,
    /// The cuts, in order.
    pub cuts: Vec<Cut>,
}

/// The way from wash to new spirit.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Route {
    /// The passes, in order.
    pub passes: Vec<Pass>,
    /// The cut that is the spirit: `spirit.heart`.
    pub product: String,
}

/// One spirit the house makes.
#[derive(Debug, Clone, PartialEq)]
pub struct Make {
    /// Spelling in the files.
    pub key: String,
    /// What it is called.
    pub name: String,
    /// Barleys it is made of, the usual one first.
    pub barleys: Vec<String>,
    /// The family whose feints it shares.
    pub family: String,
    /// Its share, strength and smoke.
    pub aim: Aim,
    /// The kilning.
    pub kiln: Kilning,
    /// The mash.
    pub mash: Mash,
    /// Setting and fermenting.
    pub ferment: Ferment,
    /// The stills.
    pub route: Route,
}

record! {
    /// What it costs to change from one make to another.
    pub struct ChangeCost {
        /// Hours lost.
        pub hours_h: f64 = Field::new("h").label("change").within(0.0, 1000.0),
        /// Spirit runs after it that are kept apart as transition spirit.
        pub transition_runs: f64 = Field::new("").label("transition runs").within(0.0, 50.0)
            .or(0.0),
    }
}

/// A change from one make to another.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// The make before, or `any`.
    pub from: String,
    /// The make after, or `any`.
    pub to: String,
    /// What it costs.
    pub cost: ChangeCost,
    /// What becomes of the feints that stand; by their families where the file does not say.
    pub feints: Option<Feints>,
    /// Whether the one may follow the other at all.
    pub allowed: bool,
}

impl Change {
    /// Whether this line speaks of a change from one make to another.
    pub fn fits(&self, from: &str, to: &str) -> bool {
        let fits = |word: &str, make: &str| word == make || word == ANY;
        fits(&self.from, from) && fits(&self.to, to)
    }
}

/// The word for every make in a change.
pub const ANY: &str = "any";

/// The whole of `makes.toml`.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Makes {
    /// The makes, in the order of the file.
    pub makes: Vec<Make>,
    /// What changes cost.
    pub changes: Vec<Change>,
    /// The words the house noses by, in the order in which a form asks them.
    pub nose: Vec<String>,
}

impl Makes {
    /// The line that speaks of a change: the first that fits.
    pub fn change(&self, from: &str, to: &str) -> Option<&Change> {
        self.changes.iter().find(|change| change.fits(from, to))
    }

    /// What becomes of the feints of `from` when `to` follows: as its line says, else mixed in one
    /// family and apart where the family changes.
    pub fn feints(&self, from: &str, to: &str) -> Feints {
        let family =
            |key: &str| self.makes.iter().find(|m| m.key == key).map(|m| m.family.as_str());
        let usual = if family(from) == family(to) { Feints::Mixed } else { Feints::Apart };
        self.change(from, to).and_then(|change| change.feints).unwrap_or(usual)
    }

    /// Reads it; faults gather in the reader.
    pub fn read(r: &mut Reader<'_>) -> Self {
        Self {
            makes: keyed(r, "make", Make::read),
            changes: r.list("change", |r| Change {
                from: r.word("from"),
                to: r.word("to"),
                cost: ChangeCost::read(r),
                feints: Feints::read(r),
                allowed: r.flag("allowed", true),
            }),
            nose: r.section("nose", |r| r.words("words")),
        }
    }
}

impl Make {
    fn read(r: &mut Reader<'_>, key: &str) -> Self {
        Self {
            key: key.to_owned(),
            name: r.optional_word("name").unwrap_or_else(|| key.replace('_', " ")),
            barleys: r.words("barleys"),
            family: r.word("family"),
            aim: Aim::read(r),
            kiln: r.section("kiln", Kilning::read),
            mash: r.section("mash", Mash::read),
            ferment: r.section("ferment", Ferment::read),
            route: Route { product: r.word("product"), passes: r.list("pass", Pass::read) },
        }
    }
}

const FRACTION: Field = Field::new("fraction", "").label("share").within(0.0, 1.0).or(1.0);
impl Pass {
    fn read(r: &mut Reader<'_>) -> Self {
        Self {
            name: r.word("name"),
            stills: r.words("still"),
            charge: r
                .list("charge", |r| Part { from: r.word("from"), fraction: r.number(&FRACTION) }),
            cuts: r.list("cut", |r| Cut { cut: still::Cut::read(r, None), to: r.word("to") }),
        }
    }
}
