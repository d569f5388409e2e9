//! A row of work: the time, the mark, what it is, its figures, the act; and the form beneath it
//! when it is being noted.

use super::ask::{Ask, Wanted, echo};
use super::sent::{Filled, read};
use crate::figures::{Face, figure as drawn, labelled};
use crate::form::{Entry, Wrong, bare_digits};
use crate::{caution, places};
use maud::{Markup, html};
use sheets::figure;

/// How urgent it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::places) enum State {
    /// Should have been done.
    Late,
    /// Next.
    Due,
    /// Later.
    Planned,
    /// Noted.
    Done,
}

/// One figure of a row.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::places) struct Num {
    pub(in crate::places) label: String,
    pub(in crate::places) written: String,
    pub(in crate::places) unit: String,
    pub(in crate::places) face: Face,
}

/// One row.
#[derive(Debug, Clone)]
pub(in crate::places) struct Work {
    /// Its mark in the page, plain letters only.
    pub(in crate::places) row: String,
    /// The clock, as shown.
    pub(in crate::places) clock: String,
    pub(in crate::places) state: State,
    pub(in crate::places) title: String,
    /// How late, or where.
    pub(in crate::places) says: String,
    pub(in crate::places) nums: Vec<Num>,
    /// Where its act leads, and what the act is called.
    pub(in crate::places) act: Option<(String, String)>,
    /// The make whose forecast it opens.
    pub(in crate::places) make: Option<String>,
}

impl State {
    fn class(self) -> &'static str {
        match self {
            Self::Late => "work late",
            Self::Due => "work due",
            Self::Planned => "work plan",
            Self::Done => "work done",
        }
    }
}

/// The mark of a state: disc late, ring due, dash planned, tick noted.
pub(in crate::places) fn mark(state: State) -> Markup {
    let says = match state {
        State::Late => "late",
        State::Due => "due next",
        State::Planned => "planned",
        State::Done => "noted",
    };
    html! {
        svg.mark viewBox="0 0 18 30" role="img" aria-label=(says) {
            @match state {
                State::Late => circle.late cx="9" cy="15" r="7" {},
                State::Due => circle.due cx="9" cy="15" r="6" {},
                State::Planned => path.plan d="M4 15h10" {},
                State::Done => path.done d="M3 16l4 5L15 9" {},
            }
        }
    }
}

/// Draws a row, with what stands beneath it.
pub(in crate::places) fn draw(work: &Work, beneath: &Markup) -> Markup {
    let main = matches!(work.state, State::Late);
    html! {
        li id=(work.row) class=(work.state.class()) data-part {
            time { (work.clock) }
            (mark(work.state))
            div.what {
                div {
                    h3 { (work.title) }
                    @if !work.says.is_empty() {
                        p class=[(work.state == State::Late).then_some("copper")] { (work.says) }
                    }
                    @if let Some(make) = &work.make {
                        @let forecast = format!("/today/forecast/{make}");
                        p { a.forecast href=(forecast) { "What it should give" } }
                    }
                }
                @if !work.nums.is_empty() { (nums(&work.nums)) }
            }
            div.go {
                @if let Some((address, act)) = &work.act {
                    a.act.main[main] href=(address) { (act) }
                }
            }
            (beneath)
        }
    }
}

/// Figures of a row, label above each.
pub(in crate::places) fn nums(nums: &[Num]) -> Markup {
    html! {
        dl.nums {
            @for num in nums { (labelled(&num.label, &drawn(&num.written, &num.unit, num.face))) }
        }
    }
}

/// Where a form is sent, and what stands in it beside its fields.
#[derive(Debug, Clone)]
pub(in crate::places) struct Sheet {
    /// The address that notes it.
    pub(in crate::places) to: String,
    /// The address that says what a typed figure means.
    pub(in crate::places) check: String,
    /// Where it is put away to.
    pub(in crate::places) back: String,
    /// The course of what is read.
    pub(in crate::places) picture: Markup,
}

/// The form in which a thing is noted.
pub(in crate::places) fn form(ask: &Ask, filled: &Filled, sheet: &Sheet) -> Markup {
    html! {
        form.noting id="note" method="post" action=(sheet.to) data-note
            data-live=(sheet.check) data-patient {
            input type="hidden" name="id" value=(filled.id);
            input type="hidden" name="row" value=(filled.row);
            input type="hidden" name="kind" value=(ask.kind.key);
            @for (key, value) in &ask.about {
                input type="hidden" name={ "k." (key) } value=(value);
            }
            @for why in &filled.why { p.why.wide role="alert" { (why) } }
            @for wanted in &ask.figures { (entry(wanted, filled).draw()) }
            @for word in &ask.words { (self::word(word, filled)) }
            (sheet.picture)
            div.acts {
                button.act.main { (ask.act()) }
                a.act.plain href=(sheet.back) { "Put away" }
            }
            @if let Some(hazard) = ask.hazard { div.wide { (caution::draw(hazard)) } }
            details.wide {
                summary { "It happened at another time, or wants a remark" }
                div.ins {
                    div.field {
                        label for="clock" { "Time of day" }
                        div.entry {
                            input id="clock" name="clock" value=(filled.text("clock"))
                                inputmode="numeric" autocomplete="off";
                        }
                        div.below { p.hint { "05:40; now if left empty" } }
                    }
                    @if ask.kind.key == "reading" {
                        div.field {
                            label for="remark" { "Remark" }
                            div.entry {
                                input id="remark" name="remark" value=(filled.text("remark"));
                            }
                            div.below {}
                        }
                    }
                }
            }
        }
    }
}

/// One field, with expected against noted beneath it.
pub(in crate::places) fn entry(wanted: &Wanted, filled: &Filled) -> Entry {
    let key = wanted.field.key;
    let mut entry = Entry::of(&wanted.field, filled.text(key));
    entry.wrong = filled.wrong.get(key).cloned();
    entry.hint = html! {
        (figure::range(wanted.field.low, wanted.field.high))
        @if let Some(default) = wanted.field.default {
            ", " (bare_digits(default)) " if left empty"
        }
    };
    entry.after = against(wanted, filled.text(key));
    entry
}

/// What stands beside the fields while a figure is typed: faults, and how far apart it is.
pub(in crate::places) fn checked(ask: &Ask, filled: &Filled) -> Markup {
    html! {
        @for wanted in &ask.figures {
            @let mut entry = entry(wanted, filled);
            @let wrong: Option<Wrong> = read(wanted, filled.text(wanted.field.key)).err();
            @let () = entry.wrong = wrong;
            (entry.why())
            (against(wanted, filled.text(wanted.field.key)))
        }
    }
}

/// Expected, noted and apart, side by side.
fn against(wanted: &Wanted, typed: &str) -> Markup {
    let value = read(wanted, typed).ok().flatten();
    let shown = |v: f64| figure::fixed(v, wanted.decimals);
    html! {
        div id={ "against-" (wanted.field.key) } data-part {
            @if let Some(echo) = echo(wanted, typed) { p.hint { (echo) } }
            dl.against {
                @if let Some((expected, sd)) = wanted.expected {
                    div {
                        dt { "expected" }
                        dd {
                            i { (shown(expected)) }
                            span.u { " ± " (figure::fixed(NINETY * sd, wanted.decimals)) }
                        }
                    }
                }
                @if let Some(value) = value {
                    div { dt { "noted" } dd { (shown(value)) } }
                    @if let Some((expected, sd)) = wanted.expected {
                        @let apart = value - expected;
                        @let outside = apart.abs() > NINETY * sd;
                        div {
                            dt { "apart" @if outside { ", " span.copper { "outside" } } }
                            dd class=[outside.then_some("copper")] {
                                (figure::signed(apart, wanted.decimals))
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Half the width of a 90 % band, in standard uncertainties.
pub(in crate::places) const NINETY: f64 = 1.645;

/// One word, typed or chosen.
pub(in crate::places) fn word(word: &super::ask::Word, filled: &Filled) -> Markup {
    let typed = filled.text(&word.key);
    html! {
        div.field {
            label for=(word.key) { (places::called(&word.key)) }
            div.entry {
                @if word.allowed.is_empty() {
                    input id=(word.key) name=(word.key) value=(typed) autocomplete="off";
                } @else {
                    select id=(word.key) name=(word.key) {
                        @for one in &word.allowed {
                            option value=(one) selected[*one == typed] { (places::called(one)) }
                        }
                    }
                }
            }
            p.hint { @if word.needed { "wanted" } @else { "may be left empty" } }
        }
    }
}
