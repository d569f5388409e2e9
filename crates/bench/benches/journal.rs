//! Ten years of a small house's journal: read, verified and folded anew; and one entry kept on the
//! disk before it is acknowledged.
//!
//! Ten years are some 300 000 entries; that long run wants `SHIEL_BENCH_LONG`, else a tenth.

use bench::{report, time};
use book::{Book, Holder, Noting, Role};
use std::time::Instant;

fn noting(nth: u32) -> Noting {
    let at = jiff::Timestamp::UNIX_EPOCH + jiff::SignedDuration::from_mins(i64::from(nth) * 17);
    let at = format!("{at}").replace('Z', "+00:00").parse().expect("an instant");
    Noting::from_pairs("reading", [("vessel", "washback_1"), ("gravity", "1.0011")])
        .expect("reading is a kind")
        .id(format!("bench-{nth}"))
        .at(at)
        .by("bench", Role::Hand)
}

fn main() {
    let long = std::env::var_os("SHIEL_BENCH_LONG").is_some();
    let entries: u32 = if long { 300_000 } else { 30_000 };
    let folder = std::env::temp_dir().join(format!("shiel-bench-{}", std::process::id()));
    let holder = Holder::default();
    let book = Book::open(&folder, &holder).expect("a folder of our own");
    let start = Instant::now();
    for from in (0..entries).step_by(1000) {
        let notings: Vec<_> = (from..from + 1000).map(noting).collect();
        book.note_all(&notings).expect("sound entries");
    }
    println!(
        "{entries} entries noted a thousand at a time: {}",
        time(start.elapsed().as_secs_f64())
    );
    let start = Instant::now();
    for nth in entries..entries + 200 {
        book.note(&noting(nth)).expect("a sound entry");
    }
    report("one entry, on the disk before it is acknowledged", each(start, 200), None, None);
    let start = Instant::now();
    let verified = book.verify().expect("it can be read");
    assert!(verified.broken.is_none(), "the chain holds");
    let took = start.elapsed().as_secs_f64();
    report(&format!("{} entries read and verified", verified.entries), took, None, None);
    let start = Instant::now();
    book.rebuild().expect("it can be folded");
    let took = start.elapsed().as_secs_f64();
    report(&format!("{} entries verified and folded", verified.entries), took, None, None);
    drop(book);
    std::fs::remove_dir_all(&folder).expect("it is ours");
}

fn each(start: Instant, times: u32) -> f64 {
    start.elapsed().as_secs_f64() / f64::from(times)
}
