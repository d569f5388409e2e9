//! The speeds, each beside a peer. A bench is a small program under `benches/`: it times our form,
//! runs the peer on the same problem through a script under `peers/`, and prints both, their
//! ratio and how far their answers agree. It reports and never fails on noise.

use std::hint::black_box;
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

/// Gives the seconds one call of `work` takes: the median of several samples, each long enough
/// that the clock does not matter.
pub fn seconds<T>(mut work: impl FnMut() -> T) -> f64 {
    let enough = Duration::from_millis(60);
    let mut times = 1_u32;
    loop {
        let start = Instant::now();
        for _ in 0..times {
            black_box(work());
        }
        if start.elapsed() >= enough || times >= 1 << 24 {
            break;
        }
        times *= 2;
    }
    let mut samples: Vec<f64> = (0..7)
        .map(|_| {
            let start = Instant::now();
            for _ in 0..times {
                black_box(work());
            }
            start.elapsed().as_secs_f64() / f64::from(times)
        })
        .collect();
    samples.sort_by(f64::total_cmp);
    samples[samples.len() / 2]
}

/// What a peer's script printed: `seconds` and its answers, in the order it gave them.
#[derive(Debug, Clone, PartialEq)]
pub struct Peer {
    /// Seconds a solve.
    pub seconds: f64,
    /// Its answers, to hold ours against.
    pub answers: Vec<f64>,
}

/// Runs `peers/NAME.py`, which prints its seconds and then its answers, one figure a line. `None`
/// when no Python with numpy and scipy is at hand; the bench then says so and reports ours alone.
pub fn peer(name: &str) -> Option<Peer> {
    let python = std::env::var("SHIEL_PEER_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("peers").join(format!("{name}.py"));
    let out = Command::new(python).arg(script).output().ok()?;
    if !out.status.success() {
        let says = String::from_utf8_lossy(&out.stderr);
        println!("  the peer did not run: {}", says.lines().last().unwrap_or("no reason given"));
        return None;
    }
    let text = String::from_utf8_lossy(&out.stdout);
    let mut figures = text.lines().filter_map(|l| l.trim().parse::<f64>().ok());
    Some(Peer { seconds: figures.next()?, answers: figures.collect() })
}

/// One line of the report: what, our time, the aim, and the peer with ratio and agreement.
pub fn report(what: &str, ours: f64, aim: Option<f64>, peer: Option<(&Peer, &[f64])>) {
    println!("{what}");
    let aimed = aim.map_or_else(String::new, |a| format!(" (aim {})", time(a)));
    println!("  ours {}{aimed}", time(ours));
    match peer {
        Some((peer, answers)) => {
            let apart = peer
                .answers
                .iter()
                .zip(answers)
                .map(|(p, a)| (p - a).abs() / p.abs().max(1e-300))
                .fold(0.0, f64::max);
            let ratio = peer.seconds / ours;
            println!("  peer {}, ratio {ratio:.0}, answers {apart:.1e} apart", time(peer.seconds));
        }
        None => println!("  no peer beside it"),
    }
}

/// A time in the unit a person would use.
pub fn time(seconds: f64) -> String {
    match seconds {
        s if s >= 1.0 => format!("{s:.2} s"),
        s if s >= 1e-3 => format!("{:.2} ms", s * 1e3),
        s if s >= 1e-6 => format!("{:.2} us", s * 1e6),
        s => format!("{:.1} ns", s * 1e9),
    }
}
