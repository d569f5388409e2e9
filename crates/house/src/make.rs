//! `makes.toml`: what the house makes, and how: malt, kilning, mash, ferment, and the route of
//! stills, cuts and receivers from wash to new spirit.

use crate::plant::keyed;
use gauge::{Fault, Field, Reader, Record, record};
use process::kiln::{Air, AirKnot, Peat, Solve, Turn};

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
    /// The mash.
    pub struct Mash {
        /// Grist.
        pub grist_kg: f64 = Field::new("kg").label("grist").within(1.0, 1e5).extensive(),
        /// Temperature wanted after mashing in.
        pub mash_c: f64 = Field::new("°C").label("mash").within(40.0, 75.0),
    }
}
record! {
    /// One water of the mash.
    pub struct Water {
        /// Its volume as it is run in.
        pub volume_l: f64 = Field::new("L").label("water").within(1.0, 1e6).extensive(),
        /// Its temperature; for the first it is left out, and the heat balance gives it.
        pub temperature_c: Option<f64> = Field::new("°C").label("at").within(20.0, 99.0),
    }
}
record! {
    /// Setting and fermenting.
    pub struct Ferment {
        /// Setting temperature.
        pub set_c: f64 = Field::new("°C").label("set at").within(8.0, 35.0),
        /// Yeast as it is weighed.
        pub yeast_kg: f64 = Field::new("kg").label("yeast").within(0.1, 1e4).extensive(),
        /// Hours it is to stand.
        pub hours_h: f64 = Field::new("h").label("stands").within(24.0, 400.0),
    }
}

/// Ends of a cut, of which each cut has exactly one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Until {
    /// Seconds from the first running.
    TimeS(f64),
    /// Strength at the safe falling to this, % vol.
    StrengthPct(f64),
    /// Litres run in this cut.
    VolumeL(f64),
    /// Share of the charge's moles run in this cut.
    ChargeFraction(f64),
}

/// One cut of a run.
#[derive(Debug, Clone, PartialEq)]
pub struct Cut {
    /// Its name: `low_wines`, `foreshots`, `heart`, `feints`.
    pub name: String,
    /// Where it ends.
    pub until: Until,
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
    /// Its waters.
    pub waters: Vec<Water>,
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
}

/// The whole of `makes.toml`.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Makes {
    /// The makes, in the order of the file.
    pub makes: Vec<Make>,
    /// What changes cost.
    pub changes: Vec<Change>,
}

impl Makes {
    /// Reads it; faults gather in the reader.
    pub fn read(r: &mut Reader<'_>) -> Self {
        Self {
            makes: keyed(r, "make", Make::read),
            changes: r.list("change", |r| Change {
                from: r.word("from"),
                to: r.word("to"),
                cost: ChangeCost::read(r),
            }),
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
            waters: r.list("water", Water::read),
            ferment: r.section("ferment", Ferment::read),
            route: Route { product: r.word("product"), passes: r.list("pass", Pass::read) },
        }
    }
}

const FRACTION: Field = Field::new("fraction", "").label("share").within(0.0, 1.0).or(1.0);
const UNTIL_TIME: Field = Field::new("until_time_s", "s").within(0.0, 1e6);
const UNTIL_STRENGTH: Field = Field::new("until_strength_pct", "% vol").within(0.0, 97.0);
const UNTIL_VOLUME: Field = Field::new("until_volume_l", "L").within(0.0, 1e6);
const UNTIL_FRACTION: Field = Field::new("until_charge_fraction", "").within(0.0, 1.0);

impl Pass {
    fn read(r: &mut Reader<'_>) -> Self {
        Self {
            name: r.word("name"),
            stills: r.words("still"),
            charge: r
                .list("charge", |r| Part { from: r.word("from"), fraction: r.number(&FRACTION) }),
            cuts: r.list("cut", |r| Cut {
                name: r.word("name"),
                until: until(r),
                to: r.word("to"),
            }),
        }
    }
}

/// Reads the end of a cut: exactly one of the four.
fn until(r: &mut Reader<'_>) -> Until {
    let ends = [
        r.optional(&UNTIL_TIME).map(Until::TimeS),
        r.optional(&UNTIL_STRENGTH).map(Until::StrengthPct),
        r.optional(&UNTIL_VOLUME).map(Until::VolumeL),
        r.optional(&UNTIL_FRACTION).map(Until::ChargeFraction),
    ];
    let given = ends.iter().flatten().count();
    if given != 1 {
        r.fault(Fault::OneOf {
            field: "".into(),
            keys: vec![UNTIL_TIME.key, UNTIL_STRENGTH.key, UNTIL_VOLUME.key, UNTIL_FRACTION.key],
            given,
        });
    }
    ends.into_iter().flatten().next().unwrap_or(Until::StrengthPct(f64::NAN))
}
