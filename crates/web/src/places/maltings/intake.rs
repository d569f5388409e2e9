//! A lorry at the gate: what was found of its barley, term by term, and what to do with it while it
//! waits.

use super::Pairs;
use crate::app::{App, Seen, Working};
use crate::caution::{self, Hazard};
use crate::fail;
use crate::layout::{Page, Place, page};
use crate::places::today::ask::Ask;
use crate::places::today::sent::{self, Ended, Filled, read};
use crate::places::today::{asked, row, unreadable};
use crate::places::{called, called_sentence, frame, working};
use axum::extract::{Form, Query, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use forecast::maltings::gate::{Decision, Does, Gate, Line, Nose, Weighed, gate_on};
use house::Equipment;
use jiff::Timestamp;
use maud::{Markup, html};
use sheets::figure::{self, NARROW};
use std::sync::Arc;

/// Fields that the answer fills, not the hand.
const DECIDED: [&str; 3] = ["decision", "deducted_pct", "reason"];

fn ask(app: &App, open: &Arc<Working>) -> Result<Ask, Box<Response>> {
    let pairs = vec![("kind".to_owned(), "intake".to_owned())];
    match asked(app, open, &pairs) {
        Ok(Some(ask)) => Ok(ask),
        Ok(None) => {
            Err(Box::new(fail::refused(StatusCode::NOT_FOUND, "Nothing is taken in here.")))
        }
        Err(fault) => Err(Box::new(unreadable(&fault))),
    }
}

/// The form, empty.
pub(super) async fn show(
    State(app): State<Arc<App>>,
    seen: Seen,
    Query(pairs): Query<Pairs>,
) -> Response {
    let open = match working(&app, &seen, Place::Maltings) {
        Ok(open) => open,
        Err(page) => return *page,
    };
    match ask(&app, &open) {
        Ok(ask) => whole(&app, &seen, &open, (&ask, &Filled::of(&app, &pairs)), StatusCode::OK),
        Err(refused) => *refused,
    }
}

/// The answer of the gate while figures are typed.
pub(super) async fn check(
    State(app): State<Arc<App>>,
    seen: Seen,
    Query(pairs): Query<Pairs>,
) -> Response {
    let open = match working(&app, &seen, Place::Maltings) {
        Ok(open) => open,
        Err(page) => return *page,
    };
    match ask(&app, &open) {
        Ok(ask) => {
            let filled = Filled::of(&app, &pairs);
            html! { (row::checked(&ask, &filled)) (answer(&open, app.clock.now(), &ask, &filled)) }
                .into_response()
        }
        Err(refused) => *refused,
    }
}

/// Takes it in, as was decided.
pub(super) async fn note(
    State(app): State<Arc<App>>,
    seen: Seen,
    Form(pairs): Form<Pairs>,
) -> Response {
    let open = match working(&app, &seen, Place::Maltings) {
        Ok(open) => open,
        Err(page) => return *page,
    };
    let ask = match ask(&app, &open) {
        Ok(ask) => ask,
        Err(refused) => return *refused,
    };
    let mut filled = Filled::of(&app, &pairs);
    if filled.text("look") == "1" {
        // Without script the answer is asked for before anything is decided.
        filled.typed.remove("look");
        return whole(&app, &seen, &open, (&ask, &filled), StatusCode::OK);
    }
    // What is not deducted is not said to be.
    if filled.text("decision") != "deduct" {
        filled.typed.remove("deducted_pct");
    }
    match sent::note(&app, &open, &ask, filled) {
        Ended::InBook(noted) => {
            let then = format!("/maltings?noted={}#lots", noted.serial);
            if seen.part {
                ([("x-then", then)], "").into_response()
            } else {
                Redirect::to(&then).into_response()
            }
        }
        Ended::Refused(filled) => {
            let status = StatusCode::UNPROCESSABLE_ENTITY;
            if seen.part {
                (status, form(&open, app.clock.now(), &ask, &filled)).into_response()
            } else {
                whole(&app, &seen, &open, (&ask, &filled), status)
            }
        }
        Ended::NotNow(why) => {
            let header = [(header::RETRY_AFTER, "5")];
            (header, fail::refused(StatusCode::SERVICE_UNAVAILABLE, &why)).into_response()
        }
    }
}

fn whole(
    app: &App,
    seen: &Seen,
    open: &Working,
    (ask, filled): (&Ask, &Filled),
    status: StatusCode,
) -> Response {
    let body = html! {
        section {
            (form(open, app.clock.now(), ask, filled))
            (caution::draw(Hazard::Dust))
        }
    };
    let line = html! {
        p { "what was found, and what to do while it waits" }
        p { a href="/maltings" { "back to the maltings" } }
    };
    let here = Page { place: Some(Place::Maltings), title: "A lorry at the gate", line, body };
    (status, page(app, seen, &frame(app), &here)).into_response()
}

fn form(open: &Working, now: Timestamp, ask: &Ask, filled: &Filled) -> Markup {
    let own = |key: &str| DECIDED.contains(&key) || ["barley", "lot", "vessel"].contains(&key);
    html! {
        form.gate id="gate" method="post" action="/maltings/intake" data-part
            data-live="/maltings/intake/check" data-patient {
            input type="hidden" name="id" value=(filled.id);
            @for why in &filled.why { p.why role="alert" { (why) } }
            div.ins {
                div.field {
                    label for="lot" { "Lot" }
                    div.entry { input id="lot" name="lot" value=(filled.text("lot"))
                        autocomplete="off" aria-describedby="hint-lot"; }
                    div.below { p.hint id="hint-lot" { "its name from here on; wanted" } }
                }
                (barley(open, filled))
                (silo(open, filled))
                @for wanted in ask.figures.iter().filter(|w| !own(w.field.key)) {
                    (row::entry(wanted, filled).draw())
                }
                @for word in ask.words.iter().filter(|w| !own(&w.key)) { (row::word(word, filled)) }
            }
            (answer(open, now, ask, filled))
        }
    }
}

fn barley(open: &Working, filled: &Filled) -> Markup {
    let typed = filled.text("barley");
    html! {
        div.field {
            label for="barley" { "Kind" }
            div.entry { select id="barley" name="barley" {
                @for kind in &open.house.barleys {
                    option value=(kind.key) selected[kind.key == typed] { (called(&kind.name)) }
                }
            } }
            div.below { p.hint { "whose terms it was bought on" } }
        }
    }
}

fn silo(open: &Working, filled: &Filled) -> Markup {
    let silos = open.house.vessels("barley_store").find_map(|v| match &v.what {
        Equipment::BarleyStore(store) => Some(store.silos.max(0.0) as u32),
        _ => None,
    });
    let typed = filled.text("vessel");
    html! {
        div.field {
            label for="vessel" { "Silo" }
            div.entry { select id="vessel" name="vessel" {
                option value="" { "not said" }
                @for nth in 1..=silos.unwrap_or(0) {
                    @let key = format!("silo_{nth}");
                    option value=(key) selected[key == typed] { "Silo " (nth) }
                }
            } }
            div.below { p.hint { "may be left out" } }
        }
    }
}

/// What was found, as the gate reads it; none before weight and moisture are there.
fn weighed(open: &Working, ask: &Ask, filled: &Filled) -> Option<Weighed> {
    let kept = |key: &str| {
        let wanted = ask.figures.iter().find(|w| w.field.key == key)?;
        let shown = read(wanted, filled.text(key)).ok()??;
        Some(wanted.scale.kept(shown))
    };
    let first = || open.house.barleys.first().map(|b| b.key.clone());
    let typed = Some(filled.text("barley").to_owned()).filter(|b| !b.is_empty());
    Some(Weighed {
        barley: typed.or_else(first)?,
        gross_kg: kept("kg")?,
        moisture_wet: kept("moisture_wet")?,
        nitrogen_pct_dry: kept("nitrogen_pct_dry"),
        screenings_pct: kept("screenings_pct"),
        admixture_pct: kept("admixture_pct"),
        germinative_energy_4ml_pct: kept("germinative_energy_4ml_pct"),
        insects: filled.text("insects") == "yes",
        nose: Nose::named(filled.text("nose")).unwrap_or_default(),
    })
}

/// The answer of the gate, and the acts it leaves.
fn answer(open: &Working, now: Timestamp, ask: &Ask, filled: &Filled) -> Markup {
    let found = weighed(open, ask, filled);
    let found = found.map(|weighed| gate_on(&open.house, &weighed, now));
    html! {
        div id="gate-says" data-part {
            @match &found {
                None => {
                    p.empty { "Weight and moisture are wanted before the gate can answer." }
                    p.acts { button.act name="look" value="1" { "See what the gate says" } }
                },
                Some(Err(fault)) => p.why role="alert" { (fault) "." },
                Some(Ok(gate)) => (decided(gate)),
            }
        }
    }
}

fn decided(gate: &Gate) -> Markup {
    let kg = |v: f64| figure::unit(&figure::fixed(v, 0), "kg");
    html! {
        p.answer role="status" {
            @match &gate.decision {
                Decision::Accept => "Accept it as it is.",
                Decision::Deduct { pct } => {
                    "Accept it with " i { (figure::fixed(*pct, 1)) } (NARROW) "% taken off: "
                    i { (kg(gate.paid_kg)) } " are paid for."
                },
                Decision::Hold { until } => { "Let it lie on hold until " (until) "." },
                Decision::Refuse { why } => { "Send it away: " (why) "." },
            }
        }
        (lines(&gate.lines))
        @if let Some(dried) = gate.dried_kg {
            p {
                "Too wet to store: dried in the kiln it weighs " i { (kg(dried)) } " clean"
                @if let Some(dry) = &gate.dry {
                    ", after " i { (figure::fixed(dry.hours, 0)) } (NARROW) "h at no more than "
                    i { (figure::fixed(dry.air_on_c, 0)) } (NARROW) "°C"
                }
                "."
            }
        }
        @if gate.waits_for_test {
            p { "It is not steeped before its three-day germination test releases it." }
        }
        @for says in &gate.says { p.note { (called_sentence(says)) } }
        (acts(&gate.decision))
    }
}

/// What can be noted: first what the terms say, then what a hand may decide all the same.
fn acts(decision: &Decision) -> Markup {
    let deduct = match decision {
        Decision::Deduct { pct } => Some(*pct),
        _ => None,
    };
    let held = matches!(decision, Decision::Hold { .. } | Decision::Refuse { .. });
    html! {
        @if let Some(pct) = deduct {
            input type="hidden" name="deducted_pct" value=(format!("{pct:.1}"));
        }
        p.acts {
            @if let Some(pct) = deduct {
                button.act.main name="decision" value="deduct" {
                    "Take it in, " (figure::fixed(pct, 1)) (NARROW) "% off"
                }
            }
            button.act.main[deduct.is_none() && !held] name="decision" value="accept" {
                "Take it in as it is"
            }
            button.act.main[held] name="decision" value="hold" { "Take it in on hold" }
            a.act.plain href="/maltings" { "Put away" }
        }
    }
}

fn lines(all: &[Line]) -> Markup {
    html! {
        div.scroll { table {
            thead { tr {
                th scope="col" { "term" }
                th.r scope="col" { "found" }
                th.r scope="col" { "allowed" }
                th scope="col" { "does" }
            } }
            tbody { @for line in all { tr {
                th scope="row" { (called(line.term)) }
                td.r {
                    @if let Some(found) = line.found {
                        (figure::unit(&figure::fixed(found, line.decimals), line.unit))
                    }
                }
                td.r {
                    (if line.at_most { "at most " } else { "at least " })
                    (figure::unit(&figure::fixed(line.allowed, line.decimals), line.unit))
                }
                td { (does(&line.does)) }
            } } }
        } }
    }
}

fn does(does: &Does) -> Markup {
    html! {
        @match does {
            Does::Passes => "met",
            Does::Deducts { pct } => {
                i { (figure::fixed(*pct, 1)) } (NARROW) "% taken off"
            },
            Does::Dries => span.copper { "dried before it is stored" },
            Does::Holds => span.copper { "held" },
            Does::Refuses => span.copper { "not taken" },
            Does::NotKnown => span.soft { "not looked for" },
        }
    }
}
