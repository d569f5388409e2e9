//! A desk to look at the pages on: a small book in memory, a clock that stands still.
//!
//! Run as `cargo run -p web --example desk`; the first line on standard output is the address.

use book::{Book, Moment, Noting, Role};
use jiff::tz::TimeZone;
use std::sync::Arc;
use web::{App, Clock, Working};

/// A kind, when, and what was told.
type Told = (&'static str, &'static str, &'static [(&'static str, &'static str)]);

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let now: jiff::Timestamp = "2026-11-25T05:52:00Z".parse()?;
    let book = Book::in_memory()?;
    let told: [Told; 7] = [
        (
            "intake",
            "2026-11-18T09:10:00+00:00",
            &[
                ("lot", "two_row_7"),
                ("barley", "two_row"),
                ("kg", "25000"),
                ("moisture_wet", "0.12"),
            ],
        ),
        (
            "steep",
            "2026-11-20T08:00:00+00:00",
            &[
                ("lot", "two_row_7"),
                ("vessel", "steep_1"),
                ("piece", "61"),
                ("make", "ember"),
                ("kg", "9200"),
                ("moisture_wet", "0.12"),
            ],
        ),
        (
            "lay",
            "2026-11-22T06:10:00+00:00",
            &[("piece", "61"), ("from", "steep_1"), ("vessel", "floor_2")],
        ),
        ("turn", "2026-11-24T22:10:00+00:00", &[("piece", "61"), ("vessel", "floor_2")]),
        (
            "reading",
            "2026-11-25T03:10:00+00:00",
            &[
                ("vessel", "floor_2"),
                ("grain_c", "18.9"),
                ("expected.grain_c", "18.4"),
                ("expected_sd.grain_c", "0.5"),
            ],
        ),
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
        ("clean", "2026-11-25T04:40:00+00:00", &[("vessel", "washback_3")]),
    ];
    for (i, (kind, at, pairs)) in told.into_iter().enumerate() {
        let at: Moment = at.parse()?;
        let noting = Noting::from_pairs(kind, pairs.iter().copied())?;
        if let Err(fault) = book.note(&noting.id(format!("d{i}")).at(at).by("hand", Role::Hand)) {
            eprintln!("{kind}: {fault}");
        }
    }
    let app = App::new("Quernholm", Clock::new(TimeZone::UTC, move || now));
    app.open(Working::new(house::quernholm(), book));
    let port = std::env::args().nth(1).and_then(|p| p.parse().ok()).unwrap_or(0);
    tokio::runtime::Runtime::new()?.block_on(async move {
        let listener = tokio::net::TcpListener::bind(("127.0.0.1", port)).await?;
        println!("http://{}", listener.local_addr()?);
        web::serve(Arc::new(app), listener, std::future::pending()).await
    })?;
    Ok(())
}
