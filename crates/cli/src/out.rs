//! Writing to the person: results to standard output, what is wrong to standard error. A reader
//! that goes away (`… | head`) ends the writing quietly.

use std::io::{self, Write};

/// Writes a result. `true` when there is still someone to write to.
pub(crate) fn say(text: &str) -> bool {
    let mut out = io::stdout().lock();
    out.write_all(text.as_bytes()).and_then(|()| out.flush()).is_ok()
}

/// Writes what is wrong.
pub(crate) fn complain(text: &str) {
    // With standard error gone as well there is nobody to tell.
    let _ = writeln!(io::stderr().lock(), "{text}");
}
