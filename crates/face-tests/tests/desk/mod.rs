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

const TOLD: [Told; 3] = [
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
];

impl Desk {
    pub(crate) async fn open() -> Self {
        let now: jiff::Timestamp = "2026-11-25T05:52:00Z".parse().expect("an instant");
        let book = Book::in_memory().expect("a book in memory");
        for (i, (kind, at, pairs)) in TOLD.into_iter().enumerate() {
            let at: Moment = at.parse().expect("a moment");
            let noting = Noting::from_pairs(kind, pairs.iter().copied()).expect("a known kind");
            let told = noting.id(format!("desk-{i}")).at(at).by("hand", Role::Hand);
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

    pub(crate) fn at(&self, path: &str) -> String {
        format!("{}{path}", self.address)
    }

    /// How many entries the book holds.
    #[allow(dead_code)]
    pub(crate) fn entries(&self) -> u64 {
        self.app.working().expect("open").book.last().serial
    }

    /// A figure of the last entry.
    #[allow(dead_code)]
    pub(crate) fn last(&self, key: &str) -> Option<f64> {
        let working = self.app.working().expect("open");
        let last = working.book.last().serial;
        working.book.entry(last).expect("readable").expect("there").data.at(key)?.number()
    }
}
