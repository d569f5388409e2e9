//! What head and foot say of the house as it is now.

use crate::app::{App, Working};
use crate::layout::{Frame, Live, Place};
use crate::when;
use book::StoreFault;
use maud::{Markup, html};
use sheets::figure;

/// The frame of a page.
pub(crate) fn frame(app: &App) -> Frame {
    let mut frame = Frame::default();
    let reckonings = super::bench::count();
    frame.live.push((Place::Bench, says(format!("{reckonings} reckonings"))));
    let Some(working) = app.working() else {
        return frame;
    };
    let last = working.book.last().serial;
    let entries = figure::fixed(last as f64, 0);
    frame.last = last_entry(app, &working, last);
    frame.broken = working.book.trouble().map(|trouble| broken(&trouble));
    let litres = match frame.broken {
        None => says(format!("{entries} entries")),
        Some(_) => Live { says: "read-only".to_owned(), wanted: true },
    };
    frame.live.push((Place::Litres, litres));
    frame.live.push((Place::Maltings, super::maltings::live(app, &working)));
    frame.live.push((Place::Stillhouse, super::stillhouse::live(app, &working)));
    frame
}

fn says(says: String) -> Live {
    Live { says, wanted: false }
}

fn last_entry(app: &App, working: &Working, last: u64) -> Option<String> {
    let entry = working.book.entry(last).ok()??;
    let kind = book::kind(&entry.kind).map_or(entry.kind.as_str(), |k| k.title);
    let at = app.clock.local(entry.heading.happened_at.timestamp());
    Some(format!(
        "Last entry {}, {}, {}.",
        figure::fixed(last as f64, 0),
        kind.to_lowercase(),
        when::seen(&at, &app.clock.here())
    ))
}

fn broken(trouble: &StoreFault) -> Markup {
    html! {
        @match trouble {
            StoreFault::Broken { serial, .. } => {
                "The book is read-only: the chain breaks at "
                a href={ "/litres/entry/" (serial) } {
                    "entry " (figure::fixed(*serial as f64, 0))
                }
                ". The rest is shown as it stands."
            },
            StoreFault::Held(holder) => { "The book is read-only: " (holder) "." },
            other => { "The book is read-only: " (other) "." },
        }
    }
}
