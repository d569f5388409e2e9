//! What is wanted of the kiln: phenols, moisture and a finish are wished for, and the firing with
//! the least fuel answers in their place. It is advice until a hand keeps it.

use super::Pairs;
use super::asking::{self, Found, MOISTURE, PHENOLS, Stands, Wish, said};
use super::desk::Seen as Maltings;
use super::floors::make_name;
use crate::app::{App, Seen, Working};
use crate::caution::{self, Hazard};
use crate::fail;
use crate::form::Entry;
use crate::jobs::{Job, Stand};
use crate::layout::Place;
use crate::places::put::put;
use crate::places::today::unreadable;
use crate::places::{called_sentence, working};
use crate::when;
use axum::extract::{Form, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use forecast::maltings::queue::Load;
use house::{Equipment, Malted};
use jiff::Timestamp;
use maud::{Markup, html};
use process::kiln::{Firing, Proposal};
use sheets::figure::{self, NARROW};
use std::sync::Arc;

/// The piece that is wished for: the one asked, the one on the kiln, else the next.
fn piece<'s>(open: &Working, seen: &'s Maltings, pairs: &Pairs) -> Option<&'s Malted> {
    let asked = pairs.iter().find(|(k, _)| k == "for").and_then(|(_, v)| v.parse().ok());
    let on = seen.standing.kiln.as_ref().map(|on| on.piece);
    let next = || next(open, seen);
    asked.or(on).or_else(next).and_then(|piece| seen.malted(piece))
}

/// The next piece for the kiln.
fn next(open: &Working, seen: &Maltings) -> Option<u32> {
    seen.waiting(open).iter().find_map(|one| match one.load {
        Load::Piece(piece) => Some(piece),
        Load::Lot(_) => None,
    })
}

/// What is wanted, and what answers.
pub(super) fn section(
    app: &Arc<App>,
    open: &Arc<Working>,
    seen: &Arc<Maltings>,
    pairs: &Pairs,
) -> Markup {
    let Some(malted) = piece(open, seen, pairs) else { return html! {} };
    let wish = Wish::of(app, open, seen, malted, pairs);
    let on = seen.standing.kiln.as_ref().map(|on| on.piece);
    let other = if on == Some(malted.piece) { next(open, seen) } else { on };
    html! {
        section id="wanted" {
            div.sec {
                h2 { "What is wanted of it" }
                p { "piece " (malted.piece) ", " (make_name(open, &malted.make)) }
                @if let Some(other) = other.filter(|o| *o != malted.piece) {
                    div.acts {
                        a.act href={ "/maltings?for=" (other) "#wanted" } { "Piece " (other) }
                    }
                }
            }
            form.ins id="wish" method="get" action="/maltings"
                data-live="/maltings/kiln/proposal" data-patient {
                input type="hidden" name="for" value=(malted.piece);
                (fields(&wish))
                div.acts { button.act.main { "Propose a firing" } }
            }
            (answer(app, open, seen, malted, &wish))
            (caution::draw(Hazard::Burner))
        }
    }
}

fn fields(wish: &Wish) -> Markup {
    let mut phenols = Entry::of(&PHENOLS, &wish.phenols_typed);
    phenols.wrong.clone_from(&wish.phenols_wrong);
    phenols.hint = html! { (figure::range(PHENOLS.low, PHENOLS.high)) " on dry malt" };
    let mut moisture = Entry::of(&MOISTURE, &wish.moisture_typed);
    moisture.wrong.clone_from(&wish.moisture_wrong);
    let by = Entry {
        name: "by".to_owned(),
        label: "Finish by".to_owned(),
        unit: String::new(),
        typed: wish.by_typed.clone(),
        hint: html! { "06:00 or Fri 06:00; the usual hours if left empty" },
        wrong: wish.by_wrong.clone(),
        after: html! {},
        prefix: String::new(),
    };
    html! { (phenols.draw()) (moisture.draw()) (by.draw()) }
}

/// What stands beside the fields, and the answer.
fn parts(
    app: &Arc<App>,
    open: &Arc<Working>,
    seen: &Arc<Maltings>,
    malted: &Malted,
    wish: &Wish,
) -> Markup {
    let mut phenols = Entry::of(&PHENOLS, &wish.phenols_typed);
    phenols.wrong.clone_from(&wish.phenols_wrong);
    let mut moisture = Entry::of(&MOISTURE, &wish.moisture_typed);
    moisture.wrong.clone_from(&wish.moisture_wrong);
    let by = Entry {
        name: "by".to_owned(),
        wrong: wish.by_wrong.clone(),
        ..Entry::of(&PHENOLS, &wish.by_typed)
    };
    html! {
        (phenols.why()) (moisture.why()) (by.why())
        (answer(app, open, seen, malted, wish))
    }
}

/// The proposal, how far it is, or that nothing was asked.
fn answer(
    app: &Arc<App>,
    open: &Arc<Working>,
    seen: &Arc<Maltings>,
    malted: &Malted,
    wish: &Wish,
) -> Markup {
    let stands = if wish.asked { asking::ask(app, open, seen, malted, wish) } else { None };
    let address = format!("/maltings/kiln/proposal?{}", wish.query());
    let failed = |job: u64| app.jobs.get(job).and_then(|job| failed(&job));
    let looking = matches!(stands, Some(Stands::Looking(job)) if failed(job).is_none());
    html! {
        div.proposed id="proposed" data-part data-poll=[looking.then_some(&address)] {
            @match &stands {
                Some(Stands::Answered(found)) => {
                    (told(app, open, (seen, malted), (found, wish)))
                },
                Some(Stands::Looking(job)) => {
                    @match failed(*job) {
                        Some(why) => p.why role="alert" { (why) },
                        None => (looking_for(app, *job, wish)),
                    }
                },
                None => {},
            }
        }
    }
}

/// Why the work of a wish broke off, where it did.
fn failed(job: &Job) -> Option<String> {
    match &job.stand {
        Stand::Failed(why) => Some(why.clone()),
        Stand::Running | Stand::Done(_) | Stand::Stopped => None,
    }
}

/// How far it is, with the way to stop it.
fn looking_for(app: &App, job: u64, wish: &Wish) -> Markup {
    let job = app.jobs.get(job);
    let share = job.as_ref().map_or(0.0, |job| job.share);
    let used = job.as_ref().map_or(0, |job| job.began.elapsed().as_secs());
    let whole = format!("/maltings?{}#wanted", wish.query());
    html! {
        p role="status" {
            "Trying firings: " (figure::fixed(100.0 * share, 0)) (NARROW) "% done, "
            (used) (NARROW) "s used."
        }
        progress.bar max="100" value=(format!("{:.0}", share * 100.0))
            aria-label="A firing for the kiln" {}
        form.acts method="post" action="/maltings/kiln/stop" {
            input type="hidden" name="query" value=(wish.query());
            input type="hidden" name="for" value=(wish.piece);
            button.act { "Stop and keep the best" }
            noscript { a.act href=(whole) { "See the answer" } }
        }
    }
}

/// A firing found, or why there is none.
fn told(
    app: &App,
    open: &Working,
    (seen, malted): (&Maltings, &Malted),
    (found, wish): (&Found, &Wish),
) -> Markup {
    let proposal = match found.as_ref() {
        Ok(proposal) => proposal,
        Err(why) => return html! { p.why role="alert" { (called_sentence(why)) } },
    };
    let lit = asking::lit_at(open, seen, malted);
    html! {
        p.answer role="status" {
            "Proposed: " (sentence(app, lit, proposal))
            @if proposal.stopped { " The search was stopped; this is the best so far." }
        }
        ul.offers { @for says in proposal.firing.says() { li { (called_sentence(&says)) } } }
        @for bind in &proposal.binds { p { (called_sentence(&bind.says)) } }
        p.soft {
            "Soonest " i { (moment(app, lit, proposal.earliest_h)) } " at full air; "
            (proposal.tried) " kilnings tried."
        }
        (compared(proposal))
        (keep(app, open, malted, proposal, wish))
    }
}

/// "done Fri 04:20 with 610 kg of oil and 640 kg of peat".
fn sentence(app: &App, lit: Timestamp, proposal: &Proposal) -> Markup {
    let short = &proposal.short;
    html! {
        "done " i { (moment(app, lit, short.hours)) } " with "
        i { (said(short.oil_kg, 0, "kg")) } " of oil"
        @if short.peat_kg > 0.5 { " and " i { (said(short.peat_kg, 0, "kg")) } " of peat" }
        "."
    }
}

fn moment(app: &App, lit: Timestamp, hours: f64) -> String {
    let at = lit + jiff::SignedDuration::from_secs((hours * 3600.0) as i64);
    when::seen(&app.clock.local(at), &app.clock.here())
}

/// The firing proposed beside the one in force.
fn compared(proposal: &Proposal) -> Markup {
    let now = proposal.present.as_ref();
    let then = &proposal.short;
    let row = |name: &str, of: &dyn Fn(&process::kiln::Short) -> f64, decimals: u8| {
        html! { tr {
            th scope="row" { (name) }
            td.r { i { (figure::fixed(of(then), decimals)) } }
            @if let Some(now) = now {
                td.r { i { (figure::fixed(of(now), decimals)) } }
                td.r { i { (figure::signed(of(then) - of(now), decimals)) } }
            }
        } }
    };
    html! {
        div.scroll { table {
            thead { tr {
                th {}
                th.r scope="col" { "proposed" }
                @if now.is_some() {
                    th.r scope="col" { "as set now" } th.r scope="col" { "apart" }
                }
            } }
            tbody {
                (row("Hours from lighting", &|s| s.hours, 1))
                (row("Moisture, %", &|s| 100.0 * s.moisture_wet, 1))
                (row("Phenols on dry malt, mg/kg", &|s| s.phenols_mg_kg_dry, 1))
                (row("Oil, kg", &|s| s.oil_kg, 0))
                (row("Peat, kg", &|s| s.peat_kg, 0))
                (row("Fan, kWh", &|s| s.fan_kwh, 0))
                (row("Fuel weighed, GJ", &|s| s.fuel_mj / 1000.0, 1))
            }
        } }
    }
}

/// The form that keeps it: the firing in the book's keys.
fn keep(app: &App, open: &Working, malted: &Malted, proposal: &Proposal, wish: &Wish) -> Markup {
    let area = area_m2(open);
    html! {
        form.acts method="post" action="/maltings/kiln/firing" {
            input type="hidden" name="id" value=(app.new_id());
            input type="hidden" name="piece" value=(malted.piece);
            @for (key, value) in booked(&proposal.firing, area, wish) {
                input type="hidden" name=(key) value=(value);
            }
            button.act.main data-keep { "Keep this firing for piece " (malted.piece) }
            a.act href={ "/maltings/kiln/sheet?piece=" (malted.piece) } { "Kiln sheet" }
        }
    }
}

fn area_m2(open: &Working) -> f64 {
    let kilns = open.house.vessels("kiln");
    let mut areas = kilns.filter_map(|v| match &v.what {
        Equipment::Kiln(_, stage) => Some(stage.area_m2),
        _ => None,
    });
    areas.next().unwrap_or(1.0)
}

/// A firing as the book keeps it: air for the whole kiln.
fn booked(firing: &Firing, area_m2: f64, wish: &Wish) -> Vec<(&'static str, String)> {
    let digits = crate::form::bare_digits;
    let peat_flow = firing.peat_flow_kg_m2_s.unwrap_or(firing.flow_kg_m2_s);
    let typed = |text: &str| figure::typed(text).map(digits).unwrap_or_default();
    vec![
        ("flow_kg_s", digits(firing.flow_kg_m2_s * area_m2)),
        ("peat_flow_kg_s", digits(peat_flow * area_m2)),
        ("peat_h", digits(firing.peat_h)),
        ("peat_kg_t", digits(firing.peat_kg_t)),
        ("peat_c", digits(firing.peat_c)),
        ("dry_h", digits(firing.dry_h)),
        ("dry_c", digits(firing.dry_c)),
        ("cure_h", digits(firing.cure_h)),
        ("cure_c", digits(firing.cure_c)),
        ("returned", digits(firing.returned)),
        ("ramp_h", digits(firing.ramp_h)),
        ("wanted_phenols_mg_kg_dry", typed(&wish.phenols_typed)),
        (
            "wanted_moisture_wet",
            figure::typed(&wish.moisture_typed).map(|v| digits(v / 100.0)).unwrap_or_default(),
        ),
    ]
}

/// What answers a moved wish.
pub(super) async fn look(
    State(app): State<Arc<App>>,
    seen: Seen,
    Query(pairs): Query<Pairs>,
) -> Response {
    let open = match working(&app, &seen, Place::Maltings) {
        Ok(open) => open,
        Err(page) => return *page,
    };
    let maltings = match Maltings::at(&open, app.clock.now()) {
        Ok(maltings) => maltings,
        Err(fault) => return unreadable(&fault),
    };
    let Some(malted) = piece(&open, &maltings, &pairs) else {
        return fail::refused(
            StatusCode::NOT_FOUND,
            "No piece is on the kiln or on its way to it.",
        );
    };
    let wish = Wish::of(&app, &open, &maltings, malted, &pairs);
    parts(&app, &open, &maltings, malted, &wish).into_response()
}

/// Stops the search: the best so far stands.
pub(super) async fn stop(
    State(app): State<Arc<App>>,
    seen: Seen,
    Form(pairs): Form<Pairs>,
) -> Response {
    let open = match working(&app, &seen, Place::Maltings) {
        Ok(open) => open,
        Err(page) => return *page,
    };
    let text = |key: &str| pairs.iter().find(|(k, _)| k == key).map_or("", |(_, v)| v.as_str());
    if let Ok(piece) = text("for").parse() {
        asking::stop(&app, &open, piece);
    }
    // Only what a wish is made of goes into the address.
    let plain = |c: &char| c.is_ascii_alphanumeric() || "=&%.+-_".contains(*c);
    let query: String = text("query").chars().filter(plain).collect();
    Redirect::to(&format!("/maltings?{query}#wanted")).into_response()
}

/// "Keep this firing": it is noted for the piece and holds from now on.
pub(super) async fn keep_it(
    State(app): State<Arc<App>>,
    seen: Seen,
    Form(pairs): Form<Pairs>,
) -> Response {
    let open = match working(&app, &seen, Place::Maltings) {
        Ok(open) => open,
        Err(page) => return *page,
    };
    let id = pairs.iter().find(|(k, _)| k == "id").map_or("", |(_, v)| v.as_str());
    let told: Pairs = pairs.iter().filter(|(k, v)| k != "id" && !v.is_empty()).cloned().collect();
    match put(&app, &open, "firing", &told, id) {
        Ok(serial) => Redirect::to(&format!("/maltings?noted={serial}#kiln")).into_response(),
        Err(why) => fail::refused(StatusCode::UNPROCESSABLE_ENTITY, &why),
    }
}
