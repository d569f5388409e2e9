//! How far a long reckoning has come, on one line of a terminal that is wiped when it is done.

use process::Watch;
use std::io::{IsTerminal, Write};
use std::time::{Duration, Instant};

/// A reckoning shorter than this says nothing of itself.
const QUIET: Duration = Duration::from_millis(400);

/// Runs `work` with a watch that writes to standard error where a person looks at it.
pub(super) fn shown<T>(work: impl FnOnce(&mut Watch<'_>) -> T) -> T {
    let mut err = std::io::stderr();
    if !err.is_terminal() {
        return work(&mut |_| true);
    }
    let (began, mut last) = (Instant::now(), 101);
    let done = work(&mut |share| {
        let percent = (100.0 * share.clamp(0.0, 1.0)) as u32;
        if began.elapsed() >= QUIET && percent != last {
            last = percent;
            // A terminal that went away is no reason to stop.
            let _ = write!(err, "\r{percent:>3} %");
            let _ = err.flush();
        }
        true
    });
    if last <= 100 {
        let _ = write!(err, "\r     \r");
        let _ = err.flush();
    }
    done
}
