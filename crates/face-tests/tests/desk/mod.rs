//! A desk to test at: the pages over a small book in memory, at a clock that stands still.

use book::{Book, Moment, Noting, Role};
use jiff::tz::TimeZone;
use std::sync::Arc;
use web::{App, Clock, Working};

pub(crate) struct Desk {
    pub(crate) address: String,
    app: Arc<App>,
}

type Told = (&'static str, &'static str, &'static [(&'static str, &'static str)]);

const TOLD: &[Told] = &[
    (
        "set",
        "2026-11-22T17:40:00+00:00",
        &[
            ("mash", "84"),
            ("vessel", "washback_5"),
            ("make", "feather"),
            ("bulk_l", "12900"),
            ("temperature_c", "18.4"),
            ("original_gravity", "1.0540"),
        ],
    ),
    (
        "reading",
        "2026-11-24T21:50:00+00:00",
        &[
            ("vessel", "washback_5"),
            ("gravity", "1.0026"),
            ("temperature_c", "29.6"),
            ("expected.gravity", "1.0021"),
            ("expected_sd.gravity", "0.001"),
        ],
    ),
    ("clean", "2026-11-25T04:40:00+00:00", &[("vessel", "washback_3")]),
    (
        "opening",
        "2026-11-20T06:00:00+00:00",
        &[
            ("account", "vessel/low_wines_receiver"),
            FAMILY,
            ("bulk_l", "11000"),
            ("strength_pct", "21"),
        ],
    ),
    (
        "opening",
        "2026-11-20T06:00:00+00:00",
        &[
            ("account", "vessel/feints_receiver_2"),
            FAMILY,
            ("bulk_l", "6000"),
            ("strength_pct", "34"),
        ],
    ),
    // Barley in store, a piece in the steep, one on a floor that is due a turn, one on the kiln.
    (
        "opening",
        "2026-10-01T06:00:00+00:00",
        &[
            ("account", "lot/two_row_3"),
            ("barley", "two_row"),
            ("kg", "90000"),
            ("moisture_wet", "0.12"),
        ],
    ),
    steep("2026-11-13T08:00:00+00:00", &[P58, EMBER, STEEP_1, LOT, BARLEY]),
    lay("2026-11-15T06:00:00+00:00", &[P58, ("vessel", "floor_1")]),
    ("load", "2026-11-24T12:50:00+00:00", &[P58, ("vessel", "kiln")]),
    read("2026-11-24T16:50:00+00:00", &[KILN, ("air_off_c", "22.4"), ("air_on_c", "43.0")]),
    read("2026-11-25T04:20:00+00:00", &[KILN, ("air_off_c", "22.9")]),
    steep("2026-11-18T08:00:00+00:00", &[P61, PALE, STEEP_2, LOT, BARLEY]),
    lay("2026-11-20T06:00:00+00:00", &[P61, ("vessel", "floor_2")]),
    turn("2026-11-22T06:00:00+00:00", &[P61, ("vessel", "floor_2"), ("grain_c", "17.5")]),
    turn("2026-11-24T21:15:00+00:00", &[P61, ("vessel", "floor_2"), ("grain_c", "19.1")]),
    steep("2026-11-24T06:30:00+00:00", &[P62, EMBER, STEEP_1, LOT, BARLEY]),
    // A run that has ended, and one under way that is in its heart.
    charge("2026-11-24T08:00:00+00:00", &LOW_WINES_230),
    charge("2026-11-24T08:20:00+00:00", &FEINTS_230),
    read("2026-11-24T09:05:00+00:00", &[AT, ("reading_pct", "75.4"), ("temperature_c", "14.0")]),
    read("2026-11-24T09:30:00+00:00", &[AT, ("strength_pct", "74.3"), ("head_c", "86.4")]),
    off(
        "2026-11-24T09:20:00+00:00",
        &[R230, FORE, ("vessel", "feints_receiver_2"), ("bulk_l", "190"), ("strength_pct", "75.2")],
    ),
    off(
        "2026-11-24T11:40:00+00:00",
        &[R230, HEART, ("vessel", "spirit_receiver"), ("bulk_l", "1030"), ("strength_pct", "69.0")],
    ),
    off(
        "2026-11-24T15:00:00+00:00",
        &[
            R230,
            FEINTS,
            ("vessel", "feints_receiver_2"),
            ("bulk_l", "1120"),
            ("strength_pct", "30.0"),
        ],
    ),
    (
        "discharge",
        "2026-11-24T15:30:00+00:00",
        &[R230, ("to", "spent_lees"), ("bulk_l", "2250"), ("strength_pct", "0.1")],
    ),
    (
        "nose",
        "2026-11-24T16:00:00+00:00",
        &[R230, ("marks.peated", "4"), ("marks.feinty", "1"), ("remark", "clean, long")],
    ),
    charge("2026-11-25T02:30:00+00:00", &LOW_WINES_231),
    charge("2026-11-25T02:55:00+00:00", &FEINTS_231),
    off(
        "2026-11-25T04:00:00+00:00",
        &[R231, FORE, ("vessel", "feints_receiver_2"), ("bulk_l", "195"), ("strength_pct", "75.0")],
    ),
    read(
        "2026-11-25T03:45:00+00:00",
        &[
            AT,
            ("reading_pct", "75.6"),
            ("temperature_c", "15.0"),
            ("head_c", "86.2"),
            ("flow_l_min", "9.8"),
        ],
    ),
    read(
        "2026-11-25T04:30:00+00:00",
        &[AT, ("strength_pct", "73.2"), ("head_c", "86.9"), ("flow_l_min", "9.5")],
    ),
];

const FAMILY: (&str, &str) = ("family", "ember");
const AT: (&str, &str) = ("vessel", "spirit_still_2");
const R230: (&str, &str) = ("run", "230");
const R231: (&str, &str) = ("run", "231");
const FORE: (&str, &str) = ("cut", "foreshots");
const HEART: (&str, &str) = ("cut", "heart");
const FEINTS: (&str, &str) = ("cut", "feints");
const EMBER: (&str, &str) = ("make", "ember");
const PALE: (&str, &str) = ("make", "pale");
const P58: (&str, &str) = ("piece", "58");
const P61: (&str, &str) = ("piece", "61");
const P62: (&str, &str) = ("piece", "62");
const STEEP_1: (&str, &str) = ("vessel", "steep_1");
const STEEP_2: (&str, &str) = ("vessel", "steep_2");
const KILN: (&str, &str) = ("vessel", "kiln");
const LOT: (&str, &str) = ("lot", "two_row_3");
const BARLEY: (&str, &str) = ("kg", "9200");

type Pairs = &'static [(&'static str, &'static str)];

const LOW_WINES: [(&str, &str); 4] =
    [("from", "low_wines_receiver"), ("bulk_l", "2900"), ("strength_pct", "21"), EMBER];
const BACK: [(&str, &str); 4] =
    [("from", "feints_receiver_2"), ("bulk_l", "1700"), ("strength_pct", "34"), EMBER];
const LOW_WINES_230: [(&str, &str); 6] =
    [R230, AT, LOW_WINES[0], LOW_WINES[1], LOW_WINES[2], LOW_WINES[3]];
const FEINTS_230: [(&str, &str); 6] = [R230, AT, BACK[0], BACK[1], BACK[2], BACK[3]];
const LOW_WINES_231: [(&str, &str); 6] =
    [R231, AT, LOW_WINES[0], LOW_WINES[1], LOW_WINES[2], LOW_WINES[3]];
const FEINTS_231: [(&str, &str); 6] = [R231, AT, BACK[0], BACK[1], BACK[2], BACK[3]];

const fn steep(at: &'static str, pairs: Pairs) -> Told {
    ("steep", at, pairs)
}
const fn lay(at: &'static str, pairs: Pairs) -> Told {
    ("lay", at, pairs)
}
const fn turn(at: &'static str, pairs: Pairs) -> Told {
    ("turn", at, pairs)
}
const fn charge(at: &'static str, pairs: Pairs) -> Told {
    ("charge", at, pairs)
}
const fn read(at: &'static str, pairs: Pairs) -> Told {
    ("reading", at, pairs)
}
const fn off(at: &'static str, pairs: Pairs) -> Told {
    ("run_off", at, pairs)
}

impl Desk {
    pub(crate) async fn open() -> Self {
        let now: jiff::Timestamp = "2026-11-25T05:52:00Z".parse().expect("an instant");
        let book = Book::in_memory().expect("a book in memory");
        for (i, (kind, at, pairs)) in TOLD.iter().copied().enumerate() {
            let at: Moment = at.parse().expect("a moment");
            let role = if kind == "opening" { Role::Distiller } else { Role::Hand };
            let noting = Noting::from_pairs(kind, pairs.iter().copied()).expect("a known kind");
            let told = noting.id(format!("desk-{i}")).at(at).by("hand", role);
            book.note(&told).expect("it can be noted");
        }
        let app = App::new("Quernholm", Clock::new(TimeZone::UTC, move || now));
        let working = Working::new(house::quernholm(), book);
        working.foretell(now);
        app.open(working);
        let app = Arc::new(app);
        let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await.expect("a port");
        let address = format!("http://{}", listener.local_addr().expect("bound"));
        tokio::spawn(web::serve(app.clone(), listener, std::future::pending()));
        Self { address, app }
    }

    #[allow(dead_code)]
    pub(crate) fn at(&self, path: &str) -> String {
        format!("{}{path}", self.address)
    }

    /// How many entries the book holds.
    #[allow(dead_code)]
    pub(crate) fn entries(&self) -> u64 {
        self.app.working().expect("open").book.last().serial
    }

    /// The kind of the last entry.
    #[allow(dead_code)]
    pub(crate) fn last_kind(&self) -> String {
        let working = self.app.working().expect("open");
        let last = working.book.last().serial;
        working.book.entry(last).expect("readable").expect("there").kind
    }

    /// A figure of the last entry.
    #[allow(dead_code)]
    pub(crate) fn last(&self, key: &str) -> Option<f64> {
        let working = self.app.working().expect("open");
        let last = working.book.last().serial;
        working.book.entry(last).expect("readable").expect("there").data.at(key)?.number()
    }
}
