//! The nosing note: the house's own words, each with a mark from 0 to 5, beside those of the last
//! runs, against cuts, charge and ferment.

use super::Pairs;
use super::run::view;
use super::view::{View, runs};
use crate::app::{App, Seen, Working};
use crate::layout::Place;
use crate::places::put::put;
use crate::places::today::unreadable;
use crate::places::working;
use crate::when;
use axum::extract::{Form, Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use house::Ran;
use maud::{Markup, html};
use sheets::figure;
use std::sync::Arc;

/// The words of the house; where its file names none, those noted before.
fn words(open: &Working, view: &View) -> Vec<String> {
    let mut words: Vec<String> = open.house.makes.nose.clone();
    let noted = std::iter::once(&view.ran).chain(&view.before);
    if words.is_empty() {
        for (word, _) in noted.flat_map(|ran| &ran.nosings).flat_map(|nosing| &nosing.marks) {
            if !words.contains(word) {
                words.push(word.clone());
            }
        }
    }
    words
}

/// What the nose said, the form for it, and the words against what may have made them.
pub(super) fn section(app: &App, open: &Working, view: &View, pairs: &Pairs) -> Markup {
    if view.ran.ferment_h.is_some() {
        return html! {};
    }
    let words = words(open, view);
    html! {
        section id="nose" {
            div.sec {
                h2 { "The nose" }
                p { "the house's own words, 0 not there to 5 strong" }
            }
            div.half {
                div {
                    (said(app, view, &words))
                    @if !words.is_empty() { (form(app, view, &words, pairs, None)) }
                    @else { p.empty { "The house's file names no words for the nose yet." } }
                    (crate::caution::draw(crate::caution::Hazard::NotForDrinking))
                }
                (dots(open, view, &words))
            }
        }
    }
}

/// The notes of this run and of the last ones, word by word.
fn said(app: &App, view: &View, words: &[String]) -> Markup {
    let here = app.clock.here();
    let all = std::iter::once(&view.ran).chain(&view.before);
    let noted: Vec<_> =
        all.flat_map(|ran| ran.nosings.iter().map(move |n| (ran, n))).take(7).collect();
    html! {
        @if noted.is_empty() {
            p.empty { "Nobody has nosed this make yet." }
        } @else {
            div.scroll { table.stack[words.len() > 3] {
                thead { tr {
                    th scope="col" { "run" }
                    @for word in words { th.r scope="col" { (word) } }
                    th scope="col" { "said" }
                } }
                tbody { @for (ran, nosing) in &noted {
                    tr.open[ran.run == view.ran.run] {
                        th scope="row" {
                            a href={ "/stillhouse/run/" (ran.run) } { "Run " (ran.run) }
                            " " span.u.small { (nosing.cut) }
                        }
                        @for word in words {
                            td.r data-head=(word) {
                                @if let Some((_, mark)) =
                                    nosing.marks.iter().find(|(w, _)| w == word) {
                                        (figure::bare(*mark))
                                    }
                            }
                        }
                        td data-head="said" {
                            (nosing.remark)
                            " " span.u.small {
                                (nosing.by) ", " (when::seen(&app.clock.local(nosing.at), &here))
                            }
                        }
                    }
                } }
            } }
        }
    }
}

/// The form of a nosing note.
fn form(app: &App, view: &View, words: &[String], pairs: &Pairs, why: Option<&str>) -> Markup {
    let text = |key: &str| pairs.iter().find(|(k, _)| k == key).map_or("", |(_, v)| v.as_str());
    let id = match text("id") {
        "" => app.new_id(),
        id => id.to_owned(),
    };
    let address = format!("/stillhouse/run/{}/nose", view.ran.run);
    html! {
        details.how open[why.is_some()] id="nosing" {
            summary { "Note what the nose says" }
            form method="post" action=(address) {
                input type="hidden" name="id" value=(id);
                @if let Some(why) = why { p.why role="alert" { (why) } }
                div.field {
                    label for="cut" { "Of" }
                    div.entry { select id="cut" name="cut" {
                        @for cut in ["heart", "foreshots", "feints"] {
                            option value=(cut) selected[text("cut") == cut] { (cut) }
                        }
                    } }
                }
                @for word in words {
                    @let name = format!("marks.{word}");
                    fieldset.marks {
                        legend { (word) }
                        @for mark in 0..=5 {
                            @let mark = mark.to_string();
                            label {
                                input type="radio" name=(name) value=(mark)
                                    checked[text(&name) == mark];
                                span { (mark) }
                            }
                        }
                    }
                }
                div.field {
                    label for="remark" { "In a sentence" }
                    div.entry { textarea id="remark" name="remark" rows="2" { (text("remark")) } }
                    p.hint { "May be left empty. A word without a mark is not noted." }
                }
                div.acts { button.act.main { "Note what the nose says" } }
            }
        }
    }
}

/// Notes it.
pub(super) async fn note(
    State(app): State<Arc<App>>,
    seen: Seen,
    Path(run): Path<String>,
    Form(pairs): Form<Pairs>,
) -> Response {
    let open = match working(&app, &seen, Place::Stillhouse) {
        Ok(open) => open,
        Err(page) => return *page,
    };
    let view = match view(&app, &open, &run) {
        Ok(view) => view,
        Err(refused) => return *refused,
    };
    let words = words(&open, &view);
    let text = |key: &str| pairs.iter().find(|(k, _)| k == key).map_or("", |(_, v)| v.trim());
    let number = view.ran.run.to_string();
    let mut told: Vec<(String, String)> = vec![("run".to_owned(), number.clone())];
    if !text("cut").is_empty() {
        told.push(("cut".to_owned(), text("cut").to_owned()));
    }
    let marks = words.iter().map(|word| format!("marks.{word}"));
    for key in marks.chain(std::iter::once("remark".to_owned())) {
        let value = text(&key).to_owned();
        if !value.is_empty() {
            told.push((key, value));
        }
    }
    let given = told.iter().any(|(k, _)| k.starts_with("marks.") || k == "remark");
    let noted = if given {
        put(&app, &open, "nose", &told, text("id"))
    } else {
        Err("Nothing is marked yet. One word is enough.".to_owned())
    };
    match noted {
        Ok(_) => Redirect::to(&format!("/stillhouse/run/{number}#nose")).into_response(),
        Err(why) => {
            let others = match runs(&open, app.clock.now()) {
                Ok(_) => form(&app, &view, &words, &pairs, Some(&why)),
                Err(fault) => return unreadable(&fault),
            };
            again(&app, &seen, &view, &others)
        }
    }
}

/// The form again, with what was typed in it.
fn again(app: &App, seen: &Seen, view: &View, form: &Markup) -> Response {
    let title = format!("Run {}", view.ran.run);
    let back = format!("/stillhouse/run/{}", view.ran.run);
    let here = crate::layout::Page {
        place: Some(Place::Stillhouse),
        title: &title,
        line: html! { p { a href=(back) { "back to the run" } } },
        body: html! { section { div.sec { h2 { "The nose" } } (form) } },
    };
    let frame = crate::places::frame(app);
    (StatusCode::UNPROCESSABLE_ENTITY, crate::layout::page(app, seen, &frame, &here))
        .into_response()
}

/// A thing that a nose may follow, and how it is read of a run.
type Against = (&'static str, &'static str, fn(&Ran, &[Ran]) -> Option<f64>);

const AGAINST: [Against; 4] = [
    ("foreshots", "L", |ran, _| ran.cut("foreshots").map(|cut| cut.volume_20_l)),
    ("heart ended at", "% vol", |ran, _| ended_at(ran)),
    ("charge", "% vol", |ran, _| charge_pct(ran)),
    ("fermented", "h", ferment_h),
];

/// The last strength noted before the heart was cut off, within a quarter of an hour.
fn ended_at(ran: &Ran) -> Option<f64> {
    let end = ran.cut("heart")?.at;
    let mut near = ran.strengths().into_iter().filter(|r| {
        let apart = end.as_second() - r.at.as_second();
        (-300..=900).contains(&apart)
    });
    near.next_back().map(|r| r.value)
}

fn charge_pct(ran: &Ran) -> Option<f64> {
    let litres: f64 = ran.charged.iter().map(|p| p.volume_20_l).sum::<Option<f64>>()?;
    (litres > 0.0).then(|| 100.0 * ran.charged_l() / litres)
}

/// Hours of ferment of the wash run before it, of the same make.
fn ferment_h(ran: &Ran, all: &[Ran]) -> Option<f64> {
    if ran.ferment_h.is_some() {
        return ran.ferment_h;
    }
    let before = all.iter().filter(|w| w.make == ran.make && w.charged_at < ran.charged_at);
    before.filter(|w| w.ferment_h.is_some()).max_by_key(|w| w.charged_at)?.ferment_h
}

/// Every word against cuts, charge and ferment: a dot a run, this run's larger.
fn dots(open: &Working, view: &View, words: &[String]) -> Markup {
    let all = runs(open, view.now).unwrap_or_default();
    let nosed: Vec<&Ran> = std::iter::once(&view.ran)
        .chain(&view.before)
        .filter(|ran| !ran.nosings.is_empty())
        .collect();
    if nosed.len() < 2 {
        return html! { p.empty { "Two nosed runs are wanted before a word can be drawn." } };
    }
    html! {
        div.dots {
            b {}
            @for (name, unit, _) in AGAINST { span.small.soft { (name) ", " (unit) } }
            @for word in words {
                b { (word) }
                @for against in AGAINST { (dot_plot(view, &nosed, &all, word, against)) }
            }
        }
    }
}

fn dot_plot(view: &View, nosed: &[&Ran], all: &[Ran], word: &str, against: Against) -> Markup {
    const HEIGHT: f64 = 64.0;
    let (name, unit, read) = against;
    let places: Vec<(f64, f64, bool)> = nosed
        .iter()
        .filter_map(|ran| {
            let nosing = ran.nosings.iter().find(|n| n.cut == "heart")?;
            let (_, mark) = nosing.marks.iter().find(|(w, _)| w == word)?;
            Some((read(ran, all)?, *mark, ran.run == view.ran.run))
        })
        .collect();
    let low = places.iter().map(|p| p.0).fold(f64::MAX, f64::min);
    let high = places.iter().map(|p| p.0).fold(f64::MIN, f64::max);
    let span = high - low;
    let x = |v: f64| if span > 0.0 { 6.0 + 88.0 * (v - low) / span } else { 50.0 };
    let y = |mark: f64| HEIGHT - 20.0 - (HEIGHT - 28.0) * mark / 5.0;
    html! {
        svg height=(format!("{HEIGHT}")) role="img"
            aria-label={ (word) " against " (name) ", " (places.len()) " runs" } {
            line.grid x1="0" x2="100%" y1=(y(5.0)) y2=(y(5.0)) {}
            line.base x1="0" x2="100%" y1=(y(0.0)) y2=(y(0.0)) {}
            @for (at, mark, here) in &places {
                circle.pt cx=(format!("{:.1}%", x(*at))) cy=(format!("{:.1}", y(*mark)))
                    r=(if *here { "6" } else { "3.5" }) {}
            }
            @if span > 0.0 {
                text x="0" y=(HEIGHT - 3.0) { (figure::fixed(low, 0)) }
                text x="100%" y=(HEIGHT - 3.0) text-anchor="end" {
                    (figure::unit(&figure::fixed(high, 0), unit))
                }
            } @else if !places.is_empty() {
                text x="50%" y=(HEIGHT - 3.0) text-anchor="middle" { (figure::fixed(low, 0)) }
            }
        }
    }
}
