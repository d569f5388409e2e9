//! One run: its picture, its heart, its account, and what moves when a cut is moved.

use super::view::{Asked, Followed, View, runs};
use super::{Pairs, account, heart, nose, picture, proposal};
use crate::app::{App, Seen, Working};
use crate::caution::{self, Hazard};
use crate::fail;
use crate::layout::{Page, Place, page};
use crate::places::today::unreadable;
use crate::places::{frame, vessel, working};
use crate::when;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use forecast::stillhouse::Heart;
use gauge::Fault;
use maud::{Markup, html};
use std::sync::Arc;

/// The page of a run, or the parts of it that move with a cut.
pub(super) async fn show(
    State(app): State<Arc<App>>,
    seen: Seen,
    Path(run): Path<String>,
    Query(mut pairs): Query<Pairs>,
) -> Response {
    let open = match working(&app, &seen, Place::Stillhouse) {
        Ok(open) => open,
        Err(page) => return *page,
    };
    let view = match view(&app, &open, &run) {
        Ok(view) => view,
        Err(refused) => return *refused,
    };
    pairs.retain(|(key, _)| is_asked(key));
    if seen.part {
        return moved(&app, &view, &pairs).into_response();
    }
    whole(&app, &seen, &open, &view, &pairs, StatusCode::OK)
}

/// Whether a name of an address is one that a page of a run reads: what it says of itself after
/// an act is not taken from an address.
pub(super) fn is_asked(key: &str) -> bool {
    key != "why"
}

/// A run that is there.
#[derive(Debug)]
pub(super) struct There(Arc<Option<View>>);

impl std::ops::Deref for There {
    type Target = View;
    fn deref(&self) -> &View {
        self.0.as_ref().as_ref().expect("it was looked for and found")
    }
}

/// The run of this number, or the page that says there is none.
pub(super) fn view(app: &App, open: &Working, run: &str) -> Result<There, Box<Response>> {
    let none = || {
        let why = format!("No run {run} is in the book. The last ones stand in the Stillhouse.");
        Box::new(fail::refused(StatusCode::NOT_FOUND, &why))
    };
    let number: u32 = run.parse().map_err(|_| none())?;
    match View::of(open, number, app.clock.now()) {
        Ok(view) if view.is_some() => Ok(There(view)),
        Ok(_) => Err(none()),
        Err(fault) => Err(Box::new(unreadable(&fault))),
    }
}

/// A run as it is asked for: its cuts and what the heart between them would be.
pub(super) struct Cutting {
    pub(super) followed: Arc<Followed>,
    pub(super) asked: Asked,
    pub(super) heart: Option<Heart>,
}

impl Cutting {
    /// None where the run is not cut, or nothing can be expected of it.
    pub(super) fn of(view: &View, pairs: &Pairs) -> Option<Self> {
        let followed = view.expected.as_ref().ok()?.clone();
        let usual = view.usual(&followed)?;
        let mut asked = Asked::of(&followed.run, usual, pairs);
        let heart = asked.cuts.map(|cuts| followed.run.heart(cuts));
        let heart = match heart {
            Some(Err(fault)) => {
                asked.to_wrong =
                    Some(crate::form::Wrong { says: format!("{fault}."), guess: None });
                None
            }
            other => other.and_then(Result::ok),
        };
        Some(Self { followed, asked, heart })
    }
}

/// What answers a moved mark.
fn moved(app: &App, view: &View, pairs: &Pairs) -> Markup {
    let Some(cutting) = Cutting::of(view, pairs) else { return html! {} };
    let Cutting { followed, asked, heart } = &cutting;
    let proposed = proposal::of(view, followed, pairs).and_then(Result::ok);
    let advised = proposed.as_ref().and_then(|p| p.heart.as_ref());
    html! {
        (heart::line(heart.as_ref()))
        (heart::figures(view, followed, heart.as_ref(), advised))
        (heart::judged(asked))
        @if heart.is_some() {
            (picture::picture(app, view, followed, asked, heart.as_ref()).moved())
        }
        (proposal::frontier(view, heart.as_ref(), proposed.as_deref()))
    }
}

/// The whole page.
pub(super) fn whole(
    app: &App,
    seen: &Seen,
    open: &Arc<Working>,
    view: &View,
    pairs: &Pairs,
    status: StatusCode,
) -> Response {
    let others = match runs(open, app.clock.now()) {
        Ok(others) => others,
        Err(fault) => return unreadable(&fault),
    };
    let body = html! {
        (section(app, open, view, &others, pairs))
        (nose::section(app, open, view, pairs))
        (super::list::last_runs(app, open, &others, Some(view.ran.run)))
    };
    let title = format!("Run {}", view.ran.run);
    let line = html! {
        p {
            (super::now::make_name(open, &view.ran.make)) ", "
            (crate::form::lower(&vessel(open, &view.ran.still)))
        }
        p { a href="/stillhouse" { "the stillhouse" } }
    };
    let here = Page { place: Some(Place::Stillhouse), title: &title, line, body };
    (status, page(app, seen, &frame(app), &here)).into_response()
}

/// The run with its side column.
pub(super) fn section(
    app: &App,
    open: &Working,
    view: &View,
    others: &[house::Ran],
    pairs: &Pairs,
) -> Markup {
    let cutting = Cutting::of(view, pairs);
    let followed = view.expected.as_ref().ok();
    let advice = followed.and_then(|followed| proposal::of(view, followed, pairs));
    let proposed = advice.as_ref().and_then(|found| found.as_deref().ok());
    let advised = proposed.and_then(|p| p.heart.as_ref());
    let heart = cutting.as_ref().and_then(|c| c.heart.as_ref());
    html! {
        div.two {
            div {
                section id="run" {
                    (head(app, open, view))
                    @match &view.expected {
                        Ok(followed) => (drawn(app, view, followed, cutting.as_ref())),
                        Err(fault) => (bare(app, view, fault)),
                    }
                }
                @if let Some(followed) = followed {
                    @if let Some(advice) = &advice {
                        (proposal::section(view, heart, advice.as_deref().map_err(String::as_str)))
                    }
                    (super::head::section(app, open, view, followed))
                }
            }
            aside {
                @if let Some(Cutting { followed, asked, heart }) = &cutting {
                    (heart::figures(view, followed, heart.as_ref(), advised))
                    (heart::cuts((app, open), view, asked, proposed, (&told(pairs), pairs)))
                }
                (account::account(open, view, followed.map(AsRef::as_ref), heart, others))
                section.stack-s4 { (cautions(view, followed.map(AsRef::as_ref))) }
            }
        }
    }
}

/// What was done on this page a moment ago.
fn told(pairs: &Pairs) -> Markup {
    let entry = pairs.iter().find(|(k, _)| k == "kept").and_then(|(_, v)| v.parse::<u64>().ok());
    let why = pairs.iter().find(|(k, _)| k == "why").map(|(_, v)| v);
    html! {
        @if let Some(why) = why { p.why role="alert" { (why) } }
        @if let Some(entry) = entry {
            p role="status" {
                "Kept: "
                a href={ "/litres/entry/" (entry) } {
                    "entry " (sheets::figure::fixed(entry as f64, 0))
                }
                "."
            }
        }
    }
}

fn head(app: &App, open: &Working, view: &View) -> Markup {
    let here = app.clock.here();
    let seen = |at| when::seen(&app.clock.local(at), &here);
    let first = view.expected.as_ref().ok().map(|followed| followed.first);
    let note = format!("/stillhouse/note/{}", view.ran.still);
    html! {
        div.sec {
            h2 {
                "Run " (view.ran.run) ", " (super::now::make_name(open, &view.ran.make)) ", "
                (crate::form::lower(&vessel(open, &view.ran.still)))
            }
            p {
                "charged " (seen(view.ran.charged_at))
                @if let Some(first) = first.filter(|first| *first <= view.now) {
                    ", came in " i { (seen(first)) }
                }
                @if let Some(left) = &view.ran.left { ", emptied " (seen(left.at)) }
                @if view.ran.transition { ", transition spirit" }
            }
            div.acts {
                a.act href={ "/stillhouse/sheet/" (view.ran.still) } { "Charge sheet" }
                @if view.under_way() { a.act.main href=(note) { "Note a strength" } }
            }
        }
    }
}

fn drawn(app: &App, view: &View, followed: &Followed, cutting: Option<&Cutting>) -> Markup {
    let uncut;
    let (asked, heart) = if let Some(cutting) = cutting {
        (&cutting.asked, cutting.heart.as_ref())
    } else {
        let whole = forecast::stillhouse::Cuts { from_min: 1.0, to_pct: 1.0 };
        uncut = Asked::of(&followed.run, whole, &Vec::new());
        (&uncut, None)
    };
    let picture = picture::picture(app, view, followed, asked, heart);
    let address = format!("/stillhouse/run/{}", view.ran.run);
    html! {
        (picture::readout(app, view, followed, None))
        @if cutting.is_some() { (heart::line(heart)) }
        @if let Some(cutting) = cutting {
            p.switch role="group" aria-label="Axis" {
                span { "against" }
                (way(&address, cutting, false, "time"))
                (way(&address, cutting, true, "litres"))
            }
        }
        (picture.draw())
        (strips_table(heart))
    }
}

/// One way of looking along the run.
fn way(address: &str, cutting: &Cutting, litres: bool, says: &str) -> Markup {
    let asked = &cutting.asked;
    let by = if litres { "&by=litres" } else { "" };
    let query = format!(
        "?from_min={}&to_pct={}{by}#run",
        crate::layout::escape(&asked.from_typed),
        crate::layout::escape(&asked.to_typed)
    );
    let chosen = (asked.by_litres == litres).then_some("true");
    html! { a href={ (address) (query) } aria-current=[chosen] { (says) } }
}

/// The strips as a table, one step away.
fn strips_table(heart: Option<&Heart>) -> Markup {
    let Some(heart) = heart else { return html! {} };
    let per_cent = |share: f64| sheets::figure::fixed(100.0 * share, 1);
    html! {
        details.how {
            summary { "Every congener as a table" }
            div { div.scroll { table {
                thead { tr {
                    th scope="col" { "congener" }
                    th.r scope="col" { "before, %" }
                    th.r scope="col" { "in the heart, %" }
                    th.r scope="col" { "after, %" }
                    th.r scope="col" { "left, %" }
                } }
                tbody { @for one in heart.congeners.iter().filter(|c| c.charged_g > 0.0) { tr {
                    th scope="row" { (picture::called(one.key)) }
                    @for share in [one.before, one.within, one.after, one.left] {
                        td.r { i { (per_cent(share)) } }
                    }
                } } }
            } }
            p.note {
                "Per cent of what the charge brings, by the model's volatilities. A group that no \
                analysis of this house has fitted is a shape, not a figure to hold anyone to."
            } }
        }
    }
}

/// A run of which nothing can be expected: why, and what was noted.
fn bare(app: &App, view: &View, fault: &Fault) -> Markup {
    html! {
        p.empty { "Nothing can be expected of this run: " (fault) "." }
        ul {
            @for safe in &view.ran.readings {
                @if let Some(strength) = safe.strength_pct {
                    li {
                        (when::seen(&app.clock.local(safe.at), &app.clock.here())) ": "
                        (sheets::figure::fixed(strength, 1)) "\u{202f}% vol"
                    }
                }
            }
        }
    }
}

fn cautions(view: &View, followed: Option<&Followed>) -> Markup {
    let strongest = followed.map_or(60.0, |followed| {
        let now = followed.since(view.now).clamp(0.0, followed.run.trace.end_s());
        followed.run.trace.point(if view.under_way() { now } else { 0.0 }).strength_pct
    });
    let heating = view.ran.ferment_h.is_some();
    html! {
        (caution::draw_spirit(strongest))
        @if heating { (caution::draw(Hazard::Foaming)) }
        (caution::draw(Hazard::Vacuum))
        (caution::draw(Hazard::Lees))
    }
}

/// The readout at a place, and the hairline there.
pub(super) async fn look(
    State(app): State<Arc<App>>,
    seen: Seen,
    Path(run): Path<String>,
    Query(pairs): Query<Pairs>,
) -> Response {
    let open = match working(&app, &seen, Place::Stillhouse) {
        Ok(open) => open,
        Err(page) => return *page,
    };
    let view = match view(&app, &open, &run) {
        Ok(view) => view,
        Err(refused) => return *refused,
    };
    let Ok(followed) = &view.expected else { return StatusCode::NOT_FOUND.into_response() };
    let whole = forecast::stillhouse::Cuts { from_min: 1.0, to_pct: 1.0 };
    let asked = Asked::of(&followed.run, view.usual(followed).unwrap_or(whole), &pairs);
    let share = pairs.iter().find(|(k, _)| k == "look").and_then(|(_, v)| v.parse::<f64>().ok());
    let share = share.filter(|s| (0.0..=1.0).contains(s));
    let time_s = share.map(|s| asked.time_of(&followed.run, s));
    html! {
        (picture::readout(&app, &view, followed, time_s))
        (picture::hair(&app, &view, followed, &asked, time_s))
    }
    .into_response()
}
