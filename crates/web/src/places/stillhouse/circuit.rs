//! The circuit of a make: what flows where in a week, what goes round, what a share that skips a
//! still changes, how it comes there from empty, and which make may follow which.

use super::Pairs;
use super::now::make_name;
use crate::app::{App, Seen, Working};
use crate::fail;
use crate::form::{self, Wrong};
use crate::layout::{Page, Place, page};
use crate::places::kept::Kept;
use crate::places::{frame, vessel, working};
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use forecast::stillhouse::circuit::{self, CircuitAsked, PassWork, Settled};
use forecast::stillhouse::circuit_season::{self, Cycle};
use gauge::{Fault, Field};
use maud::{Markup, html};
use process::still::Moles;
use sheets::figure::{self, NARROW};
use sheets::{Cell, Column, Table};
use std::sync::Arc;

/// What the page of a circuit keeps between two answers.
#[derive(Debug, Default)]
pub(crate) struct Circuits {
    washes: Kept<String, Moles>,
    settled: Kept<(String, Option<u64>, u64, u64), Settled>,
    empty: Kept<(String, u64, u64), Vec<Cycle>>,
}

/// Most of the low wines that may be asked to skip, %.
const SKIP: Field = Field::new("skip", "%")
    .label("Share of low wines that skips the middle still")
    .within(0.0, 95.0);

/// What is asked of a make's circuit: the house's own ways, with the cuts kept to now.
pub(super) fn asked(app: &App, open: &Working, make: &str) -> Result<CircuitAsked, Fault> {
    let circuits = &open.stillhouse.circuits;
    let wash = circuits.washes.get(make.to_owned(), || circuit::wash(&open.house, make))?;
    let fitted = super::view::fitted(open, app.clock.now());
    let known = open.house.make(make);
    let standing = open.standing(app.clock.now()).ok();
    let cuts = standing.and_then(|s| s.cuts.iter().find(|cuts| cuts.make == make).cloned());
    Ok(CircuitAsked {
        wash: Some(*wash),
        congeners: known.map_or(Vec::new(), |m| forecast::stillhouse::in_wash(&open.house, m)),
        constants: fitted.constants(),
        cuts,
        ..CircuitAsked::usual(&open.house)
    })
}

/// The circuit of a make with a share that skips, kept while nothing changes.
pub(super) fn settled(
    app: &App,
    open: &Working,
    make: &str,
    skip: Option<f64>,
) -> Result<Arc<Settled>, Fault> {
    let (fits, _) = open.stillhouse.heads();
    let key = (make.to_owned(), skip.map(f64::to_bits), open.book.last().serial, fits);
    open.stillhouse.circuits.settled.get(key, || {
        let asked = CircuitAsked { skip, ..asked(app, open, make)? };
        circuit::settle(&open.house, make, &asked)
    })
}

fn from_empty(app: &App, open: &Working, make: &str) -> Result<Arc<Vec<Cycle>>, Fault> {
    let (fits, _) = open.stillhouse.heads();
    let key = (make.to_owned(), open.book.last().serial, fits);
    open.stillhouse.circuits.empty.get(key, || {
        circuit_season::from_empty(
            &open.house,
            make,
            &asked(app, open, make)?,
            super::empty::CYCLES,
        )
    })
}

/// The page of a make's circuit, or the parts of it that move with the slider.
pub(super) async fn show(
    State(app): State<Arc<App>>,
    seen: Seen,
    Path(make): Path<String>,
    Query(pairs): Query<Pairs>,
) -> Response {
    let open = match working(&app, &seen, Place::Stillhouse) {
        Ok(open) => open,
        Err(page) => return *page,
    };
    let Some(known) = open.house.make(&make) else {
        return fail::refused(StatusCode::NOT_FOUND, "The house has no make of this name.");
    };
    let make = known.key.clone();
    let view = match Turned::of(&app, &open, &make, &pairs) {
        Ok(view) => view,
        Err(fault) => {
            let why = format!("The circuit of {} does not settle: {fault}.", known.name);
            return fail::refused(StatusCode::UNPROCESSABLE_ENTITY, &why);
        }
    };
    if seen.part {
        return html! { (view.picture(&open)) (view.changes()) (view.judged()) (view.counts()) }
            .into_response();
    }
    let body = html! {
        (view.section(&open))
        (view.weekly(&open))
        @match from_empty(&app, &open, &make) {
            Ok(cycles) => (super::empty::section(&cycles)),
            Err(fault) => section id="empty" {
                div.sec { h2 { "From empty, cycle by cycle" } }
                p.empty { "This cannot be followed: " (fault) "." }
            },
        }
        (changes_of_make(&open))
    };
    let title = format!("The circuit, {}", known.name);
    let line = html! {
        p { "in balance; " a href="/stillhouse" { "the stillhouse" } }
        div.acts {
            @for other in open.house.makes.makes.iter().filter(|m| m.key != make) {
                a.act href={ "/stillhouse/circuit/" (other.key) } { (other.name) }
            }
        }
    };
    let here = Page { place: Some(Place::Stillhouse), title: &title, line, body };
    page(&app, &seen, &frame(&app), &here).into_response()
}

/// A figure of a circuit.
type Read<'r> = &'r dyn Fn(&Settled) -> f64;

/// The weeks that are shown.
const WEEKS: [(&str, &str); 4] =
    [("w1", "week 1"), ("w2", "week 2"), ("w3", "week 3"), ("w4", "week 4")];

/// The circuit of the page: as it is, and as it is asked about.
struct Turned {
    make: String,
    present: Arc<Settled>,
    other: Option<Arc<Settled>>,
    typed: String,
    wrong: Option<Wrong>,
    mashes: f64,
}

impl Turned {
    fn of(app: &App, open: &Working, make: &str, pairs: &Pairs) -> Result<Self, Fault> {
        let present = settled(app, open, make, None)?;
        let typed = pairs.iter().find(|(k, _)| k == "skip").map(|(_, v)| v.trim().to_owned());
        let mut view = Self {
            make: make.to_owned(),
            typed: typed.unwrap_or_default(),
            other: None,
            wrong: None,
            mashes: open.house.season.calendar.week_mashes,
            present,
        };
        if view.present.skip.is_none() {
            view.typed.clear();
            return Ok(view);
        }
        match form::read(&SKIP, &view.typed, None) {
            Ok(None) => {}
            Ok(Some(skip)) => match settled(app, open, make, Some(skip / 100.0)) {
                Ok(other) => view.other = Some(other),
                Err(fault) => {
                    view.wrong = Some(Wrong { says: format!("{fault}."), guess: None });
                }
            },
            Err(wrong) => view.wrong = Some(wrong),
        }
        Ok(view)
    }

    /// The circuit that is drawn.
    fn drawn(&self) -> &Settled {
        self.other.as_deref().unwrap_or(&self.present)
    }

    fn section(&self, open: &Working) -> Markup {
        html! {
            section id="circuit" {
                div.sec {
                    h2 { "The week, " (make_name(open, &self.make)) }
                    p { "litres of pure alcohol a week of nothing else; width is litres" }
                    div.acts { a.act href="#empty" { "From empty, cycle by cycle" } }
                }
                (self.picture(open))
                div.half {
                    div {
                        @if self.present.skip.is_some() { (self.slider()) }
                        (self.counts())
                    }
                    (self.changes())
                }
            }
        }
    }

    fn slider(&self) -> Markup {
        let own = self.present.skip.map_or(0.0, |s| 100.0 * s);
        let shown = if self.typed.is_empty() { form::bare_digits(own) } else { self.typed.clone() };
        let address = format!("/stillhouse/circuit/{}", self.make);
        html! {
            form method="get" action=(address) data-live=(address) {
                div.field.fault[self.wrong.is_some()].whole {
                    label for="skip" { (SKIP.label) }
                    div.slide {
                        input type="range" min="0" max="95" step="1" value=(shown)
                            aria-label=(SKIP.label) data-twin="skip" hidden;
                        div.entry {
                            input id="skip" name="skip" value=(shown) inputmode="decimal"
                                autocomplete="off" aria-describedby="why-skip hint-skip";
                            span.u { "%" }
                        }
                        noscript { button.act { "Settle it" } }
                    }
                    (self.judged())
                    p.hint id="hint-skip" {
                        "0 to 95 %. The house's file says " (figure::bare(own)) (NARROW) "%."
                    }
                }
            }
        }
    }

    fn judged(&self) -> Markup {
        html! {
            div.judges id="why-skip" data-part {
                @if let Some(wrong) = &self.wrong { p.why role="alert" { (wrong.says) } }
            }
        }
    }

    /// Both counts, each with its name.
    fn counts(&self) -> Markup {
        let now = self.drawn();
        html! {
            p id="counts" data-part {
                "Distilled " i { (figure::fixed(now.distinct_stills, 2)) }
                " times, returns left out; " i { (figure::fixed(now.passes_with_recycle, 2)) }
                " times with every return of foreshots and feints counted. Both counts are \
                customary; neither is law."
            }
        }
    }

    /// "What changes if", beside the present.
    fn changes(&self) -> Markup {
        let head = match (&self.other, self.typed.as_str()) {
            (Some(_), typed) => format!("at {typed} %"),
            _ => String::new(),
        };
        let week = self.mashes;
        let spirit = |s: &Settled| s.spirit().map_or(0.0, circuit::Stream::pure_alcohol_l);
        let rows: [(&str, &str, u8, Read<'_>); 7] = [
            ("Heart", "L pure alcohol", 0, &|s| week * spirit(s)),
            ("Strength of the heart", "% vol", 1, &|s| s.heart_pct),
            ("Phenols in the heart", "mg/L", 1, &|s| s.phenols_mg_l),
            ("Feints that stand", "L pure alcohol", 0, &|s| s.feints_held.pure_alcohol_l()),
            ("Left in the pots", "L pure alcohol", 0, &|s| {
                week * s.residue_l.iter().map(|(_, l)| l).sum::<f64>()
            }),
            ("Stills at work", "h a week", 0, &|s| s.still_hours_week),
            ("Distilled, returns left out", "times", 2, &|s| s.distinct_stills),
        ];
        html! {
            div id="changes" data-part { div.scroll { table {
                thead { tr {
                    th scope="col" {
                        @if head.is_empty() { "As it is worked" } @else { "What changes " (head) }
                    }
                    th.r scope="col" { "present" }
                    @if let Some(_) = &self.other {
                        th.r scope="col" { (head) }
                        th.r scope="col" { "change" }
                    }
                } }
                tbody { @for (name, unit, decimals, read) in rows {
                    @let now = read(&self.present);
                    tr {
                        th scope="row" { (name) " " span.u.small { (unit) } }
                        td.r { i { (figure::fixed(now, decimals)) } }
                        @if let Some(other) = &self.other {
                            @let then = read(other);
                            td.r { i { (figure::fixed(then, decimals)) } }
                            td.r { i { (figure::signed(then - now, decimals)) } }
                        }
                    }
                } }
            } } }
        }
    }

    /// The flow picture, with in = out + lost beneath.
    fn picture(&self, open: &Working) -> Markup {
        let now = self.drawn();
        let litres = |l: f64| figure::fixed(l * self.mashes, 0);
        let wash = now.stream("wash").map_or(0.0, circuit::Stream::pure_alcohol_l);
        let spirit = now.spirit().map_or(0.0, circuit::Stream::pure_alcohol_l);
        let lost: f64 = now.residue_l.iter().map(|(_, l)| l).sum();
        html! {
            div id="flow" data-part {
                (super::around::flow(open, now, self.mashes).draw())
                p.note {
                    "In " i { (litres(wash)) } " = new spirit " i { (litres(spirit)) }
                    " + left in the pots " i { (litres(lost)) }
                    @let open = (wash - spirit - lost) * self.mashes;
                    @if open.abs() >= 0.5 { " + open " i { (figure::signed(open, 0)) } }
                    ". Foreshots and feints go round and are counted once; "
                    i { (figure::fixed(now.feints_held.pure_alcohol_l(), 0)) }
                    (NARROW) "L of them stand between two charges."
                }
                @for one in &now.dilutions { p.note { (diluted(one)) } }
                @for warning in &now.warnings { p.copper { (warning.says) } }
            }
        }
    }

    /// The week's charges in whole numbers, and what stands over.
    fn weekly(&self, open: &Working) -> Markup {
        let now = &self.present;
        let mut columns = vec![
            Column::words("still", "still"),
            Column::figures("charge_20_l", "a charge", "L", 0).reckoned(),
            Column::figures("charge_pct", "at", "% vol", 1).reckoned(),
            Column::figures("charge_h", "takes", "h", 1).reckoned(),
            Column::figures("a_week", "a week", "charges", 2).reckoned(),
        ];
        let shown = now.weekly.weeks.len().min(4);
        for (key, head) in WEEKS.iter().take(shown) {
            columns.push(Column::figures(*key, *head, "", 0).reckoned());
        }
        let mut table = Table::new("", columns);
        for pass in &now.passes {
            let each = now.weekly.stills.iter().find(|s| s.still == pass.pass);
            let mut cells: Vec<Cell> = vec![
                still_name(open, pass).into(),
                pass.charge_20_l.into(),
                pass.charge_pct.into(),
                pass.charge_h.into(),
                each.map_or_else(Cell::blank, |s| s.charges_a_week.into()),
            ];
            for week in now.weekly.weeks.iter().take(shown) {
                let count = week.charges.iter().find(|(still, _)| *still == pass.pass);
                cells.push(count.map_or_else(Cell::blank, |(_, n)| f64::from(*n).into()));
            }
            table.row(cells);
        }
        html! {
            section id="weekly" {
                div.sec { h2 { "Whole charges, week by week" } p { (came_back(now)) } }
                (crate::table::draw(&table))
                @for week in now.weekly.weeks.iter().take(shown) { (over(week)) }
            }
        }
    }
}

fn diluted(one: &process::circuit::Dilution) -> String {
    let litres = figure::unit(&figure::fixed(one.water_20_l, 0), "L");
    format!(
        "The {} charge would stand at {} % vol, above the house's ceiling of {} for its still: \
         {litres} of water {} bring it down.",
        one.still,
        figure::fixed(one.strength_pct, 1),
        figure::fixed(one.ceiling_pct, 1),
        if one.added { "that go in" } else { "would" }
    )
}

fn came_back(now: &Settled) -> String {
    match now.weekly.period_weeks {
        Some(1) => "the stock comes back every week".to_owned(),
        Some(weeks) => format!("the stock comes back every {weeks} weeks"),
        None => "the stock does not come back within the weeks looked at".to_owned(),
    }
}

fn over(week: &process::circuit::WeekEnd) -> Markup {
    let standing: Vec<String> = week
        .over
        .iter()
        .filter(|o| o.moles.pure_alcohol_l().abs() >= 0.5)
        .map(|o| {
            let litres = figure::signed(o.moles.pure_alcohol_l(), 0);
            let stream = o.stream.rsplit('.').next().unwrap_or(&o.stream).replace('_', " ");
            let still = o.before.replace('_', " ");
            format!("{stream} before the {still} run {}", figure::unit(&litres, "L"))
        })
        .collect();
    html! {
        p.note {
            "Week " (week.week) ", over at its end, pure alcohol: "
            @if standing.is_empty() { "nothing" } @else { (standing.join(", ")) } "."
        }
    }
}

/// What the stills of a pass are called.
pub(super) fn still_name(open: &Working, pass: &PassWork) -> String {
    match pass.stills.as_slice() {
        [one] => vessel(open, one),
        _ => crate::places::called(&format!("{} stills", pass.pass)),
    }
}

/// Which make may follow which, what it costs, and what becomes of the feints.
fn changes_of_make(open: &Working) -> Markup {
    let makes = &open.house.makes;
    html! {
        section id="changes-of-make" {
            div.sec { h2 { "Change of make" } p { "by the house's file" } }
            div.scroll { table {
                thead { tr {
                    th scope="col" { "from" }
                    th scope="col" { "to" }
                    th.r scope="col" { "costs, h" }
                    th.r scope="col" { "transition runs" }
                    th scope="col" { "its feints" }
                } }
                tbody { @for from in &makes.makes { @for to in &makes.makes {
                    @if from.key != to.key {
                        @let line = makes.change(&from.key, &to.key);
                        @let may = line.is_none_or(|l| l.allowed);
                        tr {
                            th scope="row" { (from.name) }
                            td { (to.name) @if !may { ", " b { "not allowed" } } }
                            td.r { (figure::fixed(line.map_or(0.0, |l| l.cost.hours_h), 0)) }
                            @let kept_apart = line.map_or(0.0, |l| l.cost.transition_runs);
                            td.r { (figure::fixed(kept_apart, 0)) }
                            td { (becomes(makes.feints(&from.key, &to.key))) }
                        }
                    }
                } } }
            } }
            p.note {
                "The first runs after a change that has transition runs are transition spirit, \
                with an account of its own." }
        }
    }
}

fn becomes(feints: process::circuit::Feints) -> &'static str {
    match feints {
        process::circuit::Feints::Mixed => "go into the next charges",
        process::circuit::Feints::Apart => "stand apart until their family runs again",
        process::circuit::Feints::WorkedOff => "are worked off, the rest stands apart",
    }
}
