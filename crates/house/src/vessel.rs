//! The vessels of a house: one record a kind, each figure with its range.

use gauge::{Fault, Reader, record};
use process::kiln;

/// The kinds a vessel of `plant.toml` may be, as they are spelt there.
pub const KINDS: &[&str] = &[
    "barley_store",
    "steep",
    "floor",
    "kiln",
    "bin",
    "mill",
    "mash_tun",
    "washback",
    "cooler",
    "charger",
    "still",
    "receiver",
    "vat",
    "filling_store",
    "warehouse",
    "outlet",
    "supply",
];

record! {
    /// Where barley lies until it is steeped.
    pub struct BarleyStore {
        /// How many silos.
        pub silos: f64 = Field::new("").label("silos").within(1.0, 100.0),
        /// What one silo holds.
        pub silo_kg: f64 = Field::new("kg").label("barley a silo").within(100.0, 1e7).extensive(),
        /// What one lorry brings.
        pub lorry_kg: f64 = Field::new("kg").label("barley a lorry").within(100.0, 1e5).extensive(),
    }
}
record! {
    /// A steep.
    pub struct Steep {
        /// Barley it takes, as it is.
        pub barley_kg: f64 = Field::new("kg").label("barley").within(10.0, 1e6).extensive(),
        /// Hours to cast and clean it.
        pub clean_h: f64 = Field::new("h").label("cast and clean").within(0.0, 48.0),
    }
}
record! {
    /// A malting floor.
    pub struct Floor {
        /// Its area.
        pub area_m2: f64 = Field::new("m²").label("area").within(1.0, 1e4).extensive(),
        /// Hours to clear and wash it.
        pub clear_h: f64 = Field::new("h").label("clear and wash").within(0.0, 72.0),
        /// Longest that a ready piece may be held on it.
        pub hold_h: f64 = Field::new("h").label("longest hold").within(0.0, 96.0),
        /// Hours between turns when the piece is quiet.
        pub turn_h: f64 = Field::new("h").label("between turns").within(1.0, 48.0).or(8.0),
    }
}
record! {
    /// The kiln, beside the figures of the stage itself.
    pub struct Kiln {
        /// Dry matter with rootlets that it is loaded with.
        pub bed_dry_kg_m2: f64 = Field::new("kg/m²").label("bed").within(10.0, 600.0),
        /// Most dry air the fan moves.
        pub fan_kg_s: f64 = Field::new("kg/s").label("fan").within(0.01, 500.0).extensive(),
        /// Heat of the burner to the air.
        pub burner_w: f64 = Field::new("W").label("burner").within(100.0, 1e8).extensive(),
        /// Largest share of the air that may be returned after the break.
        pub most_returned: f64 = Field::new("").label("air returned").within(0.0, 0.95).or(0.0),
        /// Hours to strip and load it again.
        pub turnaround_h: f64 = Field::new("h").label("turnaround").within(0.0, 72.0),
    }
}
record! {
    /// A malt bin.
    pub struct Bin {
        /// Malt it holds, as it is.
        pub malt_kg: f64 = Field::new("kg").label("malt").within(10.0, 1e6).extensive(),
        /// Least rest before mashing.
        pub rest_weeks: f64 = Field::new("weeks").label("least rest").within(0.0, 26.0),
        /// Longest it may lie.
        pub keep_weeks: f64 = Field::new("weeks").label("longest keeping").within(1.0, 104.0),
    }
}
record! {
    /// The mill.
    pub struct Mill {
        /// Malt it grinds at a time.
        pub grist_kg: f64 = Field::new("kg").label("grist").within(1.0, 1e5).extensive(),
        /// Hours it takes for that.
        pub grind_h: f64 = Field::new("h").label("grinding").within(0.1, 24.0),
    }
}
record! {
    /// The mash tun.
    pub struct MashTun {
        /// Grist it takes.
        pub grist_kg: f64 = Field::new("kg").label("grist").within(1.0, 1e5).extensive(),
        /// Hours from mashing in to empty.
        pub cycle_h: f64 = Field::new("h").label("a mash").within(1.0, 48.0),
        /// Mashes in a working week.
        pub week_mashes: f64 = Field::new("").label("mashes a week").within(1.0, 60.0),
    }
}
record! {
    /// A washback.
    pub struct Washback {
        /// Its whole volume.
        pub volume_l: f64 = Field::new("L").label("volume").within(10.0, 1e6).extensive(),
        /// Worts it is filled to.
        pub fill_l: f64 = Field::new("L").label("fill").within(10.0, 1e6).extensive(),
        /// Hours a wash usually stands.
        pub usual_h: f64 = Field::new("h").label("usual time").within(24.0, 400.0),
        /// Least hours.
        pub least_h: f64 = Field::new("h").label("least time").within(24.0, 400.0),
        /// Longest hours.
        pub longest_h: f64 = Field::new("h").label("longest time").within(24.0, 400.0),
    }
}
record! {
    /// The worts cooler.
    pub struct Cooler {
        /// Conductance when clean.
        pub conductance_w_k: f64 = Field::new("W/K").label("plates, clean")
            .within(10.0, 1e7).extensive(),
    }
}
record! {
    /// A charger: what waits before a still.
    pub struct Charger {
        /// What it holds.
        pub volume_l: f64 = Field::new("L").label("volume").within(10.0, 1e6).extensive(),
    }
}
record! {
    /// A pot still.
    pub struct Still {
        /// Volume of the pot.
        pub pot_l: f64 = Field::new("L").label("pot").within(10.0, 1e6).extensive(),
        /// Usual charge.
        pub charge_l: f64 = Field::new("L").label("charge").within(10.0, 1e6).extensive(),
        /// Least charge that covers the coils.
        pub least_l: f64 = Field::new("L").label("over the coils").within(1.0, 1e6).extensive(),
        /// Heat to the pot at full steam.
        pub heat_w: f64 = Field::new("W").label("heat").within(100.0, 1e8).extensive(),
        /// Heat lost by head and neck.
        pub head_loss_w_k: f64 = Field::new("W/K").label("head loss").within(0.0, 1e5).extensive(),
    }
}
record! {
    /// A receiver for low wines, feints or spirit.
    pub struct Receiver {
        /// What it holds.
        pub volume_l: f64 = Field::new("L").label("volume").within(10.0, 1e6).extensive(),
    }
}
record! {
    /// The filling vat.
    pub struct Vat {
        /// What it holds.
        pub volume_l: f64 = Field::new("L").label("volume").within(10.0, 1e6).extensive(),
    }
}
record! {
    /// The filling store: its scale and its meter.
    pub struct FillingStore {
        /// Most the scale weighs.
        pub scale_kg: f64 = Field::new("kg").label("scale").within(1.0, 1e5),
        /// Step of the scale.
        pub scale_step_kg: f64 = Field::new("kg").label("step").within(1e-4, 100.0),
        /// Repeatability of the meter.
        pub meter_repeatability_pct: f64 = Field::new("%").label("meter").within(0.0, 5.0),
    }
}
record! {
    /// A warehouse.
    pub struct Warehouse {
        /// Places for casks.
        pub places: f64 = Field::new("").label("places").within(1.0, 1e7),
        /// How many lie one above another.
        pub high: f64 = Field::new("").label("high").within(1.0, 30.0),
    }
}
record! {
    /// Where what the work leaves is taken away.
    pub struct Outlet {
        /// What stands there at most, in tonnes or cubic metres as its `unit` says.
        pub holds: f64 = Field::new("").label("holds").within(0.0, 1e7).extensive(),
        /// Share of the usual removal in May, when there is grass.
        pub may_share: f64 = Field::new("").label("in May").within(0.0, 1.0).or(1.0),
    }
}
record! {
    /// What the work eats.
    pub struct Supply {
        /// What the house holds at most, in its `unit`; none where it comes as it is used.
        pub holds: Option<f64> = Field::new("").label("holds").within(0.0, 1e8).extensive(),
        /// Used by one mash, in its `unit`.
        pub a_mash: Option<f64> = Field::new("").label("a mash").within(0.0, 1e6).extensive(),
        /// Weeks it keeps.
        pub keeps_weeks: Option<f64> = Field::new("weeks").label("keeps").within(0.1, 520.0),
    }
}

/// What a vessel is, with the figures of its kind and the words that go with them.
#[derive(Debug, Clone, PartialEq)]
pub enum Equipment {
    /// Barley store.
    BarleyStore(BarleyStore),
    /// Steep.
    Steep(Steep),
    /// Malting floor.
    Floor(Floor),
    /// Kiln.
    Kiln(Kiln, kiln::Vessel),
    /// Malt bin.
    Bin(Bin),
    /// Mill.
    Mill(Mill),
    /// Mash tun.
    MashTun(MashTun),
    /// Washback.
    Washback(Washback),
    /// Worts cooler.
    Cooler(Cooler),
    /// Wash or spirit charger, and the stills it feeds.
    Charger(Charger, Vec<String>),
    /// Pot still.
    Still(Still),
    /// Receiver, and what it holds: `low_wines`, `feints` or `spirit`.
    Receiver(Receiver, &'static str),
    /// Filling vat.
    Vat(Vat),
    /// Filling store, and the weekday of filling.
    FillingStore(FillingStore, &'static str),
    /// Warehouse, and its build: `earth` or `racked`.
    Warehouse(Warehouse, &'static str),
    /// Outlet, its unit, and the matter it takes.
    Outlet(Outlet, String),
    /// Supply, and its unit.
    Supply(Supply, String),
}

/// The days of the week as they are spelt in the files.
pub const WEEKDAYS: &[&str] =
    &["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"];

impl Equipment {
    /// Reads the figures of a vessel of `kind`.
    pub(crate) fn read(r: &mut Reader<'_>, kind: &str) -> Self {
        use gauge::Record;
        match kind {
            "barley_store" => Self::BarleyStore(BarleyStore::read(r)),
            "steep" => Self::Steep(Steep::read(r)),
            "floor" => Self::Floor(Floor::read(r)),
            "kiln" => {
                must(r, "area_m2");
                Self::Kiln(Kiln::read(r), kiln::Vessel::read(r))
            }
            "bin" => Self::Bin(Bin::read(r)),
            "mill" => Self::Mill(Mill::read(r)),
            "mash_tun" => Self::MashTun(MashTun::read(r)),
            "washback" => Self::Washback(Washback::read(r)),
            "cooler" => Self::Cooler(Cooler::read(r)),
            "charger" => {
                let figures = Charger::read(r);
                Self::Charger(figures, r.words("feeds"))
            }
            "still" => Self::Still(Still::read(r)),
            "receiver" => {
                let figures = Receiver::read(r);
                let holds = ["low_wines", "feints", "spirit"];
                Self::Receiver(figures, r.choice("holds", &holds, None))
            }
            "vat" => Self::Vat(Vat::read(r)),
            "filling_store" => {
                let figures = FillingStore::read(r);
                Self::FillingStore(figures, r.choice("weekday", WEEKDAYS, Some("thursday")))
            }
            "warehouse" => {
                let figures = Warehouse::read(r);
                Self::Warehouse(figures, r.choice("build", &["earth", "racked"], None))
            }
            "outlet" => {
                let figures = Outlet::read(r);
                Self::Outlet(figures, r.word("unit"))
            }
            _ => {
                let figures = Supply::read(r);
                Self::Supply(figures, r.word("unit"))
            }
        }
    }

    /// The kind, as it is spelt in the file.
    pub fn kind(&self) -> &'static str {
        match self {
            Self::BarleyStore(_) => "barley_store",
            Self::Steep(_) => "steep",
            Self::Floor(_) => "floor",
            Self::Kiln(..) => "kiln",
            Self::Bin(_) => "bin",
            Self::Mill(_) => "mill",
            Self::MashTun(_) => "mash_tun",
            Self::Washback(_) => "washback",
            Self::Cooler(_) => "cooler",
            Self::Charger(..) => "charger",
            Self::Still(_) => "still",
            Self::Receiver(..) => "receiver",
            Self::Vat(_) => "vat",
            Self::FillingStore(..) => "filling_store",
            Self::Warehouse(..) => "warehouse",
            Self::Outlet(..) => "outlet",
            Self::Supply(..) => "supply",
        }
    }
}

/// A stage by itself may take a square metre for granted; a house must say how large it is.
fn must(r: &mut Reader<'_>, key: &'static str) {
    if !r.has(key) && !r.describing() {
        r.fault(Fault::MissingPart { field: key.into(), wanted: "the vessel's own figure" });
    }
}
