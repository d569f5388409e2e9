//! What is the same on every page: head, places, foot.

use crate::app::{App, Seen, light};
use crate::{assets, when};
use axum::Router;
use axum::extract::{Path, Query};
use axum::http::header;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::get;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use std::collections::HashMap;
use std::sync::Arc;

/// A place a person stands in. One that does not exist yet is not in the menu.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Place {
    Today,
    Maltings,
    Stillhouse,
    Litres,
    Bench,
}

impl Place {
    pub(crate) const ALL: [Self; 5] =
        [Self::Today, Self::Maltings, Self::Stillhouse, Self::Litres, Self::Bench];
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Today => "Today",
            Self::Maltings => "Maltings",
            Self::Stillhouse => "Stillhouse",
            Self::Litres => "Litres",
            Self::Bench => "Bench",
        }
    }
    pub(crate) fn address(self) -> &'static str {
        match self {
            Self::Today => "/today",
            Self::Maltings => "/maltings",
            Self::Stillhouse => "/stillhouse",
            Self::Litres => "/litres",
            Self::Bench => "/bench",
        }
    }
}

/// The live line under a place.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Live {
    /// The words.
    pub(crate) says: String,
    /// Whether a hand is wanted there.
    pub(crate) wanted: bool,
}

/// What head and foot say about the house as it is now.
#[derive(Debug, Clone, Default)]
pub(crate) struct Frame {
    /// The week of the season, in words.
    pub(crate) week: Option<String>,
    /// The live line of each place.
    pub(crate) live: Vec<(Place, Live)>,
    /// The last entry of the book, in words.
    pub(crate) last: Option<String>,
    /// Why the book is read-only, where it is.
    pub(crate) broken: Option<Markup>,
}

/// One page: the place, its title, the line beside it, what is on it.
pub(crate) struct Page<'a> {
    pub(crate) place: Option<Place>,
    pub(crate) title: &'a str,
    pub(crate) line: Markup,
    pub(crate) body: Markup,
}

/// Draws the whole page.
pub(crate) fn page(app: &App, seen: &Seen, frame: &Frame, page: &Page<'_>) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en-GB" class=[seen.light] {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (page.title) ", " (app.name) }
                link rel="stylesheet" href=(assets::style());
                script type="module" src=(assets::script()) {}
            }
            body {
                a.skip href="#here" { "To the page" }
                (inks())
                (head(app, frame, page))
                @if let Some(broken) = &frame.broken { p.broken role="status" { (broken) } }
                nav.thumb aria-label="Thumb bar" {
                    a href="/today" { "Today" (live(frame, Place::Today)) }
                    a.main href="/today/note" { "Note" }
                    a href="/places" { "Places" span { (page.place.map_or("", Place::name)) } }
                }
                main id="here" {
                    (wait())
                    div.title { h1 { (page.title) } (page.line) }
                    (page.body)
                }
                footer.foot {
                    @if let Some(last) = &frame.last { span { (last) } }
                    span { "Upright figures were noted, " i { "leaning" } " ones are reckoned." }
                    span { "Volumes and strengths at 20\u{202f}°C unless said." }
                    (lights(seen))
                }
            }
        }
    }
}

fn head(app: &App, frame: &Frame, page: &Page<'_>) -> Markup {
    let here = app.clock.here();
    html! {
        header.head {
            div.house {
                b { (app.name) }
                span {
                    (when::day(&here))
                    @if let Some(week) = &frame.week { span.wide-only { ", " (week) } }
                    ", " (when::clock(&here))
                }
                span.role { "hand on shift" }
            }
            nav.places aria-label="Places" { ul {
                @for place in Place::ALL {
                    li {
                        a href=(place.address()) aria-current=[current(page, place)] {
                            (place.name()) " " (live(frame, place))
                        }
                    }
                }
            } }
        }
    }
}

fn current(page: &Page<'_>, place: Place) -> Option<&'static str> {
    (page.place == Some(place)).then_some("page")
}

fn live(frame: &Frame, place: Place) -> Markup {
    let line = frame.live.iter().find(|(p, _)| *p == place).map(|(_, l)| l);
    html! {
        @if let Some(line) = line {
            span class=[line.wanted.then_some("copper")] { (line.says) }
        } @else { span {} }
    }
}

/// The line that stands while readings wait, and what a waiting reading looks like.
fn wait() -> Markup {
    let arrow = PreEscaped(r#"<path d="M8 16V3M3 8l5-5 5 5"/>"#);
    html! {
        p.wait id="wait" role="status" hidden {
            svg viewBox="0 0 16 18" aria-hidden="true" { (arrow) }
            span { b {} span {} }
        }
        template id="kept" {
            p.copper { "Kept on this device. It goes once, when the network is back." }
        }
        template id="sentmark" {
            svg.mark viewBox="0 0 18 30" role="img" aria-label="waits on this device" {
                path.sent d="M9 23V8M4 13l5-5 5 5" {}
            }
        }
    }
}

fn lights(seen: &Seen) -> Markup {
    let choice = |key: &'static str, says: &'static str| {
        let chosen = seen.light.unwrap_or("device") == key;
        html! {
            a href={ "/light/" (key) "?back=" (escape(&seen.address)) }
              aria-current=[chosen.then_some("true")] { (says) }
        }
    };
    html! {
        span.light role="group" aria-label="Light" {
            (choice("day", "day")) (choice("night", "night")) (choice("device", "as the device"))
        }
    }
}

/// Percent-encodes what may not stand in a query.
pub(crate) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for byte in text.bytes() {
        if byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'_' | b'.' | b'~' | b'/') {
            out.push(char::from(byte));
        } else {
            out.push('%');
            out.extend(
                [byte >> 4, byte & 15].map(|n| char::from(b"0123456789ABCDEF"[usize::from(n)])),
            );
        }
    }
    out
}

/// The rulings of peating: the smokier, the closer. Kept once a page.
fn inks() -> Markup {
    PreEscaped(
        r#"<svg class="inks" aria-hidden="true"><defs>
<pattern id="ruled" width="5" height="5" patternUnits="userSpaceOnUse"
 patternTransform="rotate(45)"><rect class="plate" width="5" height="5"/>
<rect class="inkbar" width="1.3" height="5"/></pattern>
<pattern id="close" width="3" height="3" patternUnits="userSpaceOnUse"
 patternTransform="rotate(45)"><rect class="plate" width="3" height="3"/>
<rect class="inkbar" width="1.3" height="3"/></pattern>
<pattern id="level" width="6" height="6" patternUnits="userSpaceOnUse">
<rect class="plate" width="6" height="6"/><rect class="greybar" width="6" height="1.6"/></pattern>
</defs></svg>"#
            .to_owned(),
    )
}

/// Addresses that belong to no place.
pub(crate) fn router() -> Router<Arc<App>> {
    Router::new()
        .route("/", get(|| async { Redirect::to("/today") }))
        .route("/light/{choice}", get(choose_light))
}

async fn choose_light(
    Path(choice): Path<String>,
    Query(query): Query<HashMap<String, String>>,
) -> Response {
    let back = query.get("back").map_or("/today", String::as_str);
    // Only a path of this program, never another site: "//elsewhere" is one.
    let local = back.starts_with('/') && !back.starts_with("//") && !back.starts_with("/\\");
    let back = if local { back } else { "/today" };
    let age = if light(&choice).is_some() { 31_536_000 } else { 0 };
    let cookie = format!(
        "light={}; Path=/; Max-Age={age}; SameSite=Lax; HttpOnly",
        light(&choice).unwrap_or("device")
    );
    ([(header::SET_COOKIE, cookie)], Redirect::to(back)).into_response()
}
