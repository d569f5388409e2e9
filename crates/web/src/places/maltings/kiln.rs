//! The kiln: what is on it, its course by depth and time, and what was noted of it.

use super::noting::{self, Open};
use super::now::hour;
use crate::app::{App, Working};
use crate::places::vessel;
use crate::when;
use house::Standing;
use maud::{Markup, html};

/// The kiln, or that it is empty.
pub(super) fn section(
    app: &App,
    open: &Working,
    standing: &Standing,
    opened: Option<Open<'_>>,
) -> Markup {
    html! { section id="kiln" { (part(app, open, standing, opened)) } }
}

/// All of it that answers when something of it is noted.
pub(super) fn part(
    app: &App,
    open: &Working,
    standing: &Standing,
    opened: Option<Open<'_>>,
) -> Markup {
    let key = open.house.vessels("kiln").next().map_or("kiln", |v| v.key.as_str());
    let opened = opened.filter(|o| o.is_about(key));
    html! {
        div id={ "f-" (key) } data-part {
            @match &standing.kiln {
                None => {
                    div.sec { h2 { (vessel(open, key)) } }
                    p.empty { "Empty: the next piece can be loaded." }
                },
                Some(on) => {
                    @let make = open.house.make(&on.make).map_or(on.make.as_str(), |m| &m.name);
                    @let at = when::seen(&app.clock.local(on.since), &app.clock.here());
                    div.sec {
                        h2 {
                            (vessel(open, key)) ", piece " (on.piece) ", " (make) ", hour "
                            (hour(on.since, app.clock.now()))
                        }
                        p { "loaded " (at) }
                        div.acts {
                            a.act.main href=(noting::address("reading", key, None)) {
                                "Note a reading"
                            }
                        }
                    }
                },
            }
            @if let Some(opened) = opened { (noting::form(opened)) }
        }
    }
}
