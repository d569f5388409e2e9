//! Today: the next 36 hours by the clock, late ones first, each with its numbers; a reading is
//! noted in place and seen against what was expected at once.

pub(super) mod ask;
pub(super) mod expect;
mod forecast;
mod noted;
pub(super) mod row;
pub(super) mod sent;
mod side;
mod work;

use crate::app::{App, Seen, Working};
use crate::fail;
use crate::layout::{Page, Place, page};
use crate::places::{frame, vessel, working};
use crate::when;
use ask::Ask;
use axum::Router;
use axum::extract::{Form, Path, Query, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::get;
use book::StoreFault;
use expect::Outlook;
use maud::{Markup, html};
use row::{Sheet, State as Stands, Work};
use sent::{Ended, Filled};
use std::sync::Arc;
use work::Due;

type Pairs = Vec<(String, String)>;

pub(crate) fn router() -> Router<Arc<App>> {
    Router::new()
        .route("/today", get(show))
        .route("/today/note", get(note_what).post(note))
        .route("/today/note/{vessel}", get(note_vessel))
        .route("/today/check", get(check))
        .route("/today/foretold", get(foretold))
        .route("/today/forecast/{make}", get(forecast::show))
}

pub(super) fn unreadable(fault: &StoreFault) -> Response {
    let why = format!("{fault}. What was noted before is in the book; note on paper until then.");
    fail::refused(StatusCode::INTERNAL_SERVER_ERROR, &why)
}

async fn show(State(app): State<Arc<App>>, seen: Seen, Query(pairs): Query<Pairs>) -> Response {
    let open = match working(&app, &seen, Place::Today) {
        Ok(open) => open,
        Err(page) => return *page,
    };
    let read = Outlook::at(&open, app.clock.now()).and_then(|o| Ok((o, noted::latest(&open)?)));
    let (outlook, latest) = match read {
        Ok(read) => read,
        Err(fault) => return unreadable(&fault),
    };
    let due = work::rows(&app, &outlook);
    let ask = asked(&app, &open, &pairs).ok().flatten();
    let filled = Filled::of(&app, &pairs);
    let body = html! {
        @if !outlook.foretold { (forecast::waits(false, "/today")) }
        div.two {
            div {
                (clock(&app, &outlook, &due, ask.as_ref().map(|ask| (ask, &filled))))
                (noted::this_watch(&app, &open, &latest))
            }
            aside {
                (side::lanes(&app, &open, &outlook, &due))
                (noted::drifted(&app, &open, &latest))
            }
        }
    };
    let line = html! {
        p { "the next 36 hours, late ones first" }
        div.acts {
            a.act href="/today/note" { "Read a vessel" }
            button.act type="button" data-print hidden { "Print the watch" }
        }
    };
    let today = Page { place: Some(Place::Today), title: "Today", line, body };
    page(&app, &seen, &frame(&app), &today).into_response()
}

/// The rows by the clock, each day under its name; the one that is being noted has its form.
fn clock(app: &App, outlook: &Outlook, due: &[Due], asked: Option<(&Ask, &Filled)>) -> Markup {
    let today = app.clock.here().date();
    let mut day = today;
    html! {
        @if due.is_empty() {
            p.empty { "Nothing is due in the next 36 hours. A vessel can be read all the same." }
        }
        ol.clock {
            @for one in due {
                @let at = app.clock.local(one.at);
                @if at.date() > day {
                    @let () = day = at.date();
                    li { h2.day { (when::long_day(&at)) } }
                }
                (row::draw(&one.work, &beneath(app, outlook, one, asked)))
            }
        }
    }
}

fn beneath(app: &App, outlook: &Outlook, one: &Due, asked: Option<(&Ask, &Filled)>) -> Markup {
    html! {
        @if let Some((ask, filled)) = asked.filter(|(_, filled)| filled.row == one.work.row) {
            (row::form(ask, filled, &sheet(side::picture(app, outlook, &one.vessel))))
        }
    }
}

/// Where the form of a row is sent.
fn sheet(picture: Option<Markup>) -> Sheet {
    Sheet {
        to: "/today/note".to_owned(),
        check: "/today/check".to_owned(),
        back: "/today".to_owned(),
        picture: picture.unwrap_or_default(),
    }
}

/// Whether the forecast is there yet: then the page is asked for again.
async fn foretold(State(app): State<Arc<App>>, Query(pairs): Query<Pairs>) -> Response {
    let there = app.working().is_some_and(|open| open.forecasts(app.clock.now()).is_some());
    let then = pairs.into_iter().find(|(k, _)| k == "then").map_or("/today".into(), |(_, v)| v);
    // Only a path of this program: "//elsewhere" is another site.
    let then =
        if then.starts_with('/') && !then.starts_with("//") { then } else { "/today".into() };
    if there {
        return ([("x-then", then)], "").into_response();
    }
    forecast::waits(false, &then).into_response()
}

/// What can be noted: what is due, nearest first, then every vessel that something is read of.
async fn note_what(State(app): State<Arc<App>>, seen: Seen) -> Response {
    let open = match working(&app, &seen, Place::Today) {
        Ok(open) => open,
        Err(page) => return *page,
    };
    let vessels = open.house.plant.vessels.iter().filter(|v| ask::is_readable(v.what.kind()));
    let body = html! {
        section {
            div.sec { h2 { "Read a vessel" } }
            ul.all-places {
                @for one in vessels {
                    li { a href={ "/today/note/" (one.key) } { b { (vessel(&open, &one.key)) } } }
                }
            }
        }
    };
    let line = html! { p { "what is to be read" } };
    let page_ = Page { place: Some(Place::Today), title: "Note", line, body };
    page(&app, &seen, &frame(&app), &page_).into_response()
}

async fn note_vessel(State(app): State<Arc<App>>, seen: Seen, Path(key): Path<String>) -> Response {
    let pairs = vec![("kind".to_owned(), "reading".to_owned()), ("k.vessel".to_owned(), key)];
    let open = match working(&app, &seen, Place::Today) {
        Ok(open) => open,
        Err(page) => return *page,
    };
    let filled = Filled::empty(&app, "asked");
    match asked(&app, &open, &pairs) {
        Ok(Some(ask)) => whole(&app, &seen, &open, &ask, &filled, StatusCode::OK),
        Ok(None) => fail::refused(StatusCode::NOT_FOUND, "Nothing is read of this vessel."),
        Err(fault) => unreadable(&fault),
    }
}

/// What is asked for by the pairs of a form: `kind`, and `k.` before all that is known.
pub(super) fn asked(
    app: &App,
    open: &Arc<Working>,
    pairs: &Pairs,
) -> Result<Option<Ask>, StoreFault> {
    let now = app.clock.now();
    let outlook = Outlook::at(open, now)?;
    let kind =
        pairs.iter().find(|(k, _)| k == "kind" || k == "note").map_or("", |(_, v)| v.as_str());
    let about: Pairs = pairs
        .iter()
        .filter_map(|(k, v)| Some((k.strip_prefix("k.")?.to_owned(), v.clone())))
        .collect();
    Ok(Ask::of(open, &outlook, kind, &about, now))
}

/// The row of a thing that is asked for, with its form beneath.
fn asked_row(app: &App, open: &Arc<Working>, ask: &Ask, filled: &Filled) -> Markup {
    let about = |key: &str| ask.about.iter().find(|(k, _)| k == key).map(|(_, v)| v.as_str());
    let place = about("vessel").map_or(String::new(), |v| vessel(open, v));
    let title = match (ask.kind.key, place.as_str()) {
        ("reading", place) => format!("Read {}", crate::form::lower(place)),
        (_, "") => ask.kind.title.to_owned(),
        (_, place) => format!("{}, {}", ask.kind.title, crate::form::lower(place)),
    };
    let work = Work {
        row: filled.row.clone(),
        clock: String::new(),
        state: Stands::Due,
        title,
        says: ask.kind.does.to_owned(),
        nums: Vec::new(),
        act: None,
        make: None,
    };
    let outlook = Outlook::at(open, app.clock.now()).ok();
    let picture = outlook.zip(about("vessel")).and_then(|(o, v)| side::picture(app, &o, v));
    row::draw(&work, &row::form(ask, filled, &sheet(picture)))
}

fn whole(
    app: &App,
    seen: &Seen,
    open: &Arc<Working>,
    ask: &Ask,
    filled: &Filled,
    status: StatusCode,
) -> Response {
    let body = html! { ol.clock { (asked_row(app, open, ask, filled)) } };
    let line = html! { p { a href="/today" { "back to Today" } } };
    let page_ = Page { place: Some(Place::Today), title: "Note", line, body };
    (status, page(app, seen, &frame(app), &page_)).into_response()
}

/// What a typed figure means, before it is noted.
pub(super) async fn check(
    State(app): State<Arc<App>>,
    seen: Seen,
    Query(pairs): Query<Pairs>,
) -> Response {
    let open = match working(&app, &seen, Place::Today) {
        Ok(open) => open,
        Err(page) => return *page,
    };
    match asked(&app, &open, &pairs) {
        Ok(Some(ask)) => row::checked(&ask, &Filled::of(&app, &pairs)).into_response(),
        Ok(None) => StatusCode::NOT_FOUND.into_response(),
        Err(fault) => unreadable(&fault),
    }
}

/// Notes what was sent: once, whatever is sent twice.
async fn note(State(app): State<Arc<App>>, seen: Seen, Form(pairs): Form<Pairs>) -> Response {
    let open = match working(&app, &seen, Place::Today) {
        Ok(open) => open,
        Err(page) => return *page,
    };
    let ask = match asked(&app, &open, &pairs) {
        Ok(Some(ask)) => ask,
        Ok(None) => return fail::refused(StatusCode::NOT_FOUND, "Nothing of this can be noted."),
        Err(fault) => return unreadable(&fault),
    };
    let filled = Filled::of(&app, &pairs);
    let row = filled.row.clone();
    match sent::note(&app, &open, &ask, filled) {
        Ended::InBook(noted) if seen.part => answered(&app, &open, &row, &noted).into_response(),
        Ended::InBook(noted) => Redirect::to(&format!("/today#e{}", noted.serial)).into_response(),
        Ended::Refused(filled) if seen.part => {
            (StatusCode::UNPROCESSABLE_ENTITY, asked_row(&app, &open, &ask, &filled))
                .into_response()
        }
        Ended::Refused(filled) => {
            whole(&app, &seen, &open, &ask, &filled, StatusCode::UNPROCESSABLE_ENTITY)
        }
        Ended::NotNow(why) => {
            let header = [(header::RETRY_AFTER, "5")];
            (header, fail::refused(StatusCode::SERVICE_UNAVAILABLE, &why)).into_response()
        }
    }
}

/// What takes the place of the form once the thing is in the book.
fn answered(app: &App, open: &Working, row: &str, noted: &book::Noted) -> Markup {
    let entry = open.book.entry(noted.serial).ok().flatten();
    let latest = noted::latest(open).unwrap_or_default();
    html! {
        @if let Some(entry) = entry {
            @let mut work = noted::done(app, open, &entry);
            @let () = row.clone_into(&mut work.row);
            @let () = work.says = if noted.again {
                "It was in the book already, once.".to_owned()
            } else if noted.marks.is_empty() {
                "In the book.".to_owned()
            } else {
                format!("In the book. To ask about: {}.", noted.marks.join("; "))
            };
            (row::draw(&work, &html! {}))
        }
        (noted::this_watch(app, open, &latest))
        (noted::drifted(app, open, &latest))
    }
}
