//! The vessels of a house: one record a kind, each figure with its range.

use crate::make::own;
use gauge::{Fault, Grade, Reader, record};
use process::{bin, cask, cool, ferment, floor, kiln, mash, mill, reduce, steep, still};

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
    "tank",
    "tun_room",
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
    /// A steep, beside the figures of the stage itself.
    pub struct Steep {
        /// Barley it takes, as it is.
        pub barley_kg: f64 = Field::new("kg").label("barley").within(10.0, 1e6).extensive(),
        /// Hours to cast and clean it.
        pub clean_h: f64 = Field::new("h").label("cast and clean").within(0.0, 48.0),
    }
}
record! {
    /// A malting floor, beside the figures of the stage itself.
    pub struct Floor {
        /// Hours to clear and wash it.
        pub clear_h: f64 = Field::new("h").label("clear and wash").within(0.0, 72.0),
        /// Longest that a ready piece may be held on it.
        pub hold_h: f64 = Field::new("h").label("longest hold").within(0.0, 96.0),
        /// Hours without a turn in which the rootlets felt.
        pub felt_h: f64 = Field::new("h").label("felts unturned after").within(4.0, 48.0)
            .or(12.0).from(Grade::Design, "well before they mat at some 30 h; the house sets it"),
        /// Air over the piece with the windows shut, for the pieces warm the room.
        pub least_air_c: f64 = Field::new("°C").label("air with windows shut").within(-10.0, 25.0)
            .or(10.0).from(Grade::Memory, "a floor in a cool climate holds 10 to 14 °C"),
    }
}
record! {
    /// The kiln, beside the figures of the stage itself.
    pub struct Kiln {
        /// Dry matter with rootlets that it is loaded with.
        pub bed_dry_kg_m2: f64 = Field::new("kg/m²").label("bed").within(10.0, 600.0),
        /// Largest share of the air that may be returned after the break.
        pub most_returned: f64 = Field::new("").label("air returned").within(0.0, 0.95).or(0.0),
        /// Hours to strip and load it again.
        pub turnaround_h: f64 = Field::new("h").label("turnaround").within(0.0, 72.0),
    }
}
record! {
    /// A malt bin, beside the figures of the stage itself.
    pub struct Bin {
        /// Least rest before mashing.
        pub rest_weeks: f64 = Field::new("weeks").label("least rest").within(0.0, 26.0),
        /// Longest it may lie.
        pub keep_weeks: f64 = Field::new("weeks").label("longest keeping").within(1.0, 104.0),
    }
}
record! {
    /// The mill, beside the figures of the stage itself.
    pub struct Mill {
        /// Malt it grinds at a time.
        pub grist_kg: f64 = Field::new("kg").label("grist").within(1.0, 1e5).extensive(),
    }
}
record! {
    /// The mash tun, beside the figures of the stage itself.
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
    /// A washback, beside the figures of the stage itself.
    pub struct Washback {
        /// Its whole volume.
        pub volume_l: f64 = Field::new("L").label("volume").within(10.0, 1e6).extensive(),
        /// Hours a wash usually stands.
        pub usual_h: f64 = Field::new("h").label("usual time").within(24.0, 400.0),
        /// Least hours.
        pub least_h: f64 = Field::new("h").label("least time").within(24.0, 400.0),
        /// Longest hours.
        pub longest_h: f64 = Field::new("h").label("longest time").within(24.0, 400.0),
    }
}
/// The flows of the worts cooler.
#[derive(Debug, Clone, PartialEq)]
pub struct Flows {
    /// Worts through the plates, kg/s.
    pub worts_kg_s: f64,
    /// Most water that the main gives, kg/s.
    pub water_most_kg_s: f64,
}

impl Flows {
    fn read(r: &mut Reader<'_>) -> Self {
        Self {
            worts_kg_s: r.number(own::<cool::Programme>("worts_kg_s")),
            water_most_kg_s: r.number(own::<cool::Programme>("water_most_kg_s")),
        }
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
    /// A pot still, beside the figures of the stage itself.
    pub struct Still {
        /// Volume of the pot.
        pub pot_l: f64 = Field::new("L").label("pot").within(10.0, 1e6).extensive(),
        /// Usual charge.
        pub charge_l: f64 = Field::new("L").label("charge").within(10.0, 1e6).extensive(),
        /// Temperature at which a charge comes in.
        pub charge_c: f64 = Field::new("°C").label("charge comes in at").within(0.0, 90.0)
            .or(25.0),
        /// Hours to charge, discharge and rinse it.
        pub turnaround_h: f64 = Field::new("h").label("charge and discharge").within(0.0, 24.0)
            .or(1.0).from(Grade::Memory, "half an hour each way"),
        /// Strength above which it is not charged; none where no test wants a weak charge.
        pub charge_ceiling_pct: Option<f64> = Field::new("% vol").label("strongest charge")
            .within(5.0, 88.0),
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
/// The air round the casks of a warehouse.
#[derive(Debug, Clone, PartialEq)]
pub struct StoreAir {
    /// Mean temperature of the year, °C.
    pub temperature_c: f64,
    /// Mean relative humidity, 0 to 1.
    pub relative_humidity: f64,
}

impl StoreAir {
    fn read(r: &mut Reader<'_>) -> Self {
        Self {
            temperature_c: r.number(own::<cask::Programme>("temperature_c")),
            relative_humidity: r.number(own::<cask::Programme>("relative_humidity")),
        }
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
    /// A tank of liquor or weak worts.
    pub struct Tank {
        /// What it holds.
        pub volume_l: f64 = Field::new("L").label("volume").within(10.0, 1e6).extensive(),
        /// Heat it loses for each kelvin over the room.
        pub loss_w_k: f64 = Field::new("W/K").label("heat loss").within(0.0, 1e4).or(25.0)
            .from(Grade::Memory, "a lagged tank of some 10 m³").extensive(),
    }
}
record! {
    /// The room that the washbacks stand in.
    pub struct TunRoom {
        /// Air in it.
        pub volume_m3: f64 = Field::new("m³").label("room").within(10.0, 1e6),
        /// Fresh air that its fan brings in.
        pub fan_m3_h: f64 = Field::new("m³/h").label("fan").within(0.0, 1e6),
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
    Steep(Steep, steep::Vessel),
    /// Malting floor.
    Floor(Floor, floor::Vessel),
    /// Kiln.
    Kiln(Kiln, kiln::Vessel),
    /// Malt bin.
    Bin(Bin, bin::Vessel),
    /// Mill, and the setting of its rollers.
    Mill(Mill, mill::Vessel, mill::Programme),
    /// Mash tun.
    MashTun(MashTun, mash::Vessel),
    /// Washback.
    Washback(Washback, ferment::Vessel),
    /// Worts cooler, and its flows.
    Cooler(cool::Vessel, Flows),
    /// Wash or spirit charger, and the stills it feeds.
    Charger(Charger, Vec<String>),
    /// Pot still.
    Still(Still, still::Vessel, still::Conditions),
    /// Receiver, and what it holds: `low_wines`, `feints`, `spirit`, or `transition` for the
    /// hearts that follow a change of make.
    Receiver(Receiver, &'static str),
    /// Filling vat.
    Vat(reduce::Vessel),
    /// Filling store, and the weekday of filling.
    FillingStore(FillingStore, &'static str),
    /// Warehouse, its build (`earth` or `racked`), and its air.
    Warehouse(Warehouse, &'static str, StoreAir),
    /// Outlet, its unit, and the matter it takes.
    Outlet(Outlet, String),
    /// Tank, and what it holds: `hot_liquor` or `weak_worts`.
    Tank(Tank, &'static str),
    /// The room the washbacks stand in.
    TunRoom(TunRoom),
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
            "steep" => Self::Steep(Steep::read(r), steep::Vessel::read(r)),
            "floor" => Self::Floor(Floor::read(r), floor::Vessel::read(r)),
            "kiln" => {
                must(r, "area_m2");
                must(r, "burner_w");
                if !r.has("flue_m") {
                    must(r, "fan_kg_s");
                }
                Self::Kiln(Kiln::read(r), kiln::Vessel::read(r))
            }
            "bin" => Self::Bin(Bin::read(r), bin::Vessel::read(r)),
            "mill" => {
                let figures = Mill::read(r);
                Self::Mill(figures, mill::Vessel::read(r), mill::Programme::read(r))
            }
            "mash_tun" => Self::MashTun(MashTun::read(r), mash::Vessel::read(r)),
            "washback" => {
                must(r, "fill_l");
                Self::Washback(Washback::read(r), ferment::Vessel::read(r))
            }
            "cooler" => Self::Cooler(cool::Vessel::read(r), Flows::read(r)),
            "charger" => {
                let figures = Charger::read(r);
                Self::Charger(figures, r.words("feeds"))
            }
            "still" => {
                must(r, "heat_w");
                must(r, "least_charge_20_l");
                Self::Still(Still::read(r), still::Vessel::read(r), still::Conditions::read(r))
            }
            "receiver" => {
                let figures = Receiver::read(r);
                let holds = ["low_wines", "feints", "spirit", "transition"];
                Self::Receiver(figures, r.choice("holds", &holds, None))
            }
            "vat" => {
                must(r, "vat_l");
                Self::Vat(reduce::Vessel::read(r))
            }
            "filling_store" => {
                let figures = FillingStore::read(r);
                Self::FillingStore(figures, r.choice("weekday", WEEKDAYS, Some("thursday")))
            }
            "warehouse" => {
                let figures = Warehouse::read(r);
                let build = r.choice("build", &["earth", "racked"], None);
                Self::Warehouse(figures, build, StoreAir::read(r))
            }
            "tank" => {
                let figures = Tank::read(r);
                Self::Tank(figures, r.choice("holds", &["hot_liquor", "weak_worts"], None))
            }
            "tun_room" => Self::TunRoom(TunRoom::read(r)),
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
            Self::Steep(..) => "steep",
            Self::Floor(..) => "floor",
            Self::Kiln(..) => "kiln",
            Self::Bin(..) => "bin",
            Self::Mill(..) => "mill",
            Self::MashTun(..) => "mash_tun",
            Self::Washback(..) => "washback",
            Self::Cooler(..) => "cooler",
            Self::Charger(..) => "charger",
            Self::Still(..) => "still",
            Self::Receiver(..) => "receiver",
            Self::Vat(_) => "vat",
            Self::FillingStore(..) => "filling_store",
            Self::Warehouse(..) => "warehouse",
            Self::Outlet(..) => "outlet",
            Self::Tank(..) => "tank",
            Self::TunRoom(_) => "tun_room",
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
