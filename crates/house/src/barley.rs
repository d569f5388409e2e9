//! `barleys.toml`: the kinds of barley the house steeps, and how each is steeped and floored.

use crate::plant::keyed;
use gauge::{Grade, Reader, Record, record};
use process::{floor, steep};

record! {
    /// What the store knows of a kind of barley beside the figures that steep and floor read.
    pub struct Store {
        /// Share that falls through the sieve.
        pub screenings_pct: f64 = Field::new("%").label("screenings").within(0.0, 60.0),
        /// Share that is not barley.
        pub admixture_pct: f64 = Field::new("%").label("admixture").within(0.0, 30.0),
        /// Moisture it came with, before drying.
        pub arrival_moisture_wet: Option<f64> = Field::new("").label("moisture on arrival")
            .within(0.05, 0.35),
        /// First week of the season it may be steeped.
        pub ready_week: f64 = Field::new("weeks").label("ready from week").within(1.0, 53.0)
            .or(1.0),
        /// Week of the season to test it again.
        pub retest_week: Option<f64> = Field::new("weeks").label("retest in week")
            .within(1.0, 53.0),
        /// What lies in store when malting opens, as it is.
        pub opening_kg: f64 = Field::new("kg").label("in store at opening").within(0.0, 1e8)
            .or(0.0).extensive(),
    }
}

record! {
    /// The terms on which the house buys a barley: what is accepted, and what is taken off.
    pub struct Contract {
        /// Most moisture to be stored as it is.
        pub most_moisture_wet: f64 = Field::new("").label("most moisture to store")
            .within(0.08, 0.20).or(0.13)
            .from(Grade::Published, "dried above 13 %, encyclopaedic article on malting"),
        /// Most moisture to be accepted for drying.
        pub most_to_dry_wet: f64 = Field::new("").label("most moisture to dry")
            .within(0.10, 0.30).or(0.20).from(Grade::House, "what the house's kiln is let to dry"),
        /// Most nitrogen, % of dry matter.
        pub most_nitrogen_pct_dry: f64 = Field::new("%").label("most nitrogen")
            .within(1.0, 3.5).or(1.65)
            .from(Grade::Published, "1.65 % in growers' contracts, trade press of 2014"),
        /// Nitrogen above which it is refused for this use.
        pub refused_nitrogen_pct_dry: f64 = Field::new("%").label("nitrogen refused")
            .within(1.0, 4.0).or(1.85).from(Grade::House, "the house's terms"),
        /// Most through the sieve, %.
        pub most_screenings_pct: f64 = Field::new("%").label("most screenings")
            .within(0.0, 60.0).or(5.0).from(Grade::Memory, "modern under 5 %, landrace 10 to 30 %"),
        /// Most that is not barley, %.
        pub most_admixture_pct: f64 = Field::new("%").label("most admixture")
            .within(0.0, 30.0).or(2.0).from(Grade::House, "the house's terms"),
        /// Least germinative energy, %.
        pub least_energy_pct: f64 = Field::new("%").label("least germinative energy")
            .within(50.0, 100.0).or(95.0)
            .from(Grade::Published, "95 %, Montana State University, barley testing page"),
        /// Of the weight, what a tenth of a per cent of nitrogen over the most costs, %.
        pub nitrogen_deducts_pct: f64 = Field::new("%").label("deducted for 0.1 % nitrogen")
            .within(0.0, 20.0).or(1.5).from(Grade::House, "the house's terms"),
    }
}

/// A kind of barley.
#[derive(Debug, Clone, PartialEq)]
pub struct Barley {
    /// Spelling in the files.
    pub key: String,
    /// What it is called.
    pub name: String,
    /// `modern` or `landrace`: which set of malting constants it starts from.
    pub kind: &'static str,
    /// Its analysis as the steep takes it; the dry matter is the charge's, set when it is drawn.
    pub analysis: steep::Charge,
    /// The rest of it.
    pub store: Store,
    /// The terms on which it is bought.
    pub contract: Contract,
    /// How it is steeped.
    pub steep: steep::Programme,
    /// How its pieces are kept.
    pub floor: floor::Programme,
    /// What to know of it.
    pub note: String,
}

/// One water or air rest of a steeping.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turnabout {
    /// Under water, or drained.
    pub under_water: bool,
    /// Hours from the first water to its beginning.
    pub from_h: f64,
    /// Hours from the first water to its end.
    pub until_h: f64,
    /// Temperature of the water, or of the air.
    pub temperature_c: f64,
}

impl Barley {
    /// Its waters and air rests by the clock; the last ends with the casting.
    pub fn steeping(&self) -> Vec<Turnabout> {
        let mut from_h = 0.0;
        let phases = self.steep.phases.iter();
        phases
            .map(|phase| {
                let until_h = from_h + phase.stretch.hours;
                let turnabout = Turnabout {
                    under_water: phase.kind == steep::Kind::Wet,
                    from_h,
                    until_h,
                    temperature_c: phase.stretch.temperature_c,
                };
                from_h = until_h;
                turnabout
            })
            .collect()
    }

    fn read(r: &mut Reader<'_>, key: &str) -> Self {
        Self {
            key: key.to_owned(),
            name: r.optional_word("name").unwrap_or_else(|| key.replace('_', " ")),
            kind: r.choice("kind", &["modern", "landrace"], None),
            analysis: analysis(r),
            store: Store::read(r),
            contract: r.section("contract", Contract::read),
            steep: r.section("steep", steep::Programme::read),
            floor: r.section("floor", floor::Programme::read),
            note: r.optional_word("note").unwrap_or_default(),
        }
    }
}

/// The figures of a steep's charge that belong to the barley and not to how much is drawn.
fn analysis(r: &mut Reader<'_>) -> steep::Charge {
    let mut charge = steep::Charge::default();
    for field in steep::Charge::FIELDS.iter().filter(|field| field.key != "dry_kg") {
        let value = r.number(field);
        charge.set(field.key, value);
    }
    charge
}

/// Reads `barleys.toml`.
pub(crate) fn read(r: &mut Reader<'_>) -> Vec<Barley> {
    keyed(r, "barley", Barley::read)
}
