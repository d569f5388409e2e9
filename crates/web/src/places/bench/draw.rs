//! A reckoning on the page: its form, what comes of it, how, how sure, and from where.

use super::asked::{Asked, name};
use crate::form::{self, Entry};
use gauge::measure::{Input, Known, Measure, Need, Output};
use gauge::{Field, Node};
use maud::{Markup, html};
use sheets::figure;
use std::fmt::Write;

/// Half a band of 19 in 20, in standard uncertainties.
const NINETEEN_IN_TWENTY: f64 = 1.96;

/// The form and all beside it.
pub(super) fn reckoning(measure: &'static Measure, asked: &Asked) -> Markup {
    let action = format!("/bench/{}", measure.key);
    html! {
        div {
            section {
                div.sec {
                    h2 { (measure.title) }
                    p { (measure.does) }
                }
                form id="bench" method="get" action=(action) data-live=(action) {
                    @for lot in 0..asked.lots { (lot_fields(measure, asked, lot)) }
                    div.acts {
                        button.act.main { "Reckon" }
                        @if measure.lots() {
                            button.act name="lots" value=(asked.lots + 1) { "One lot more" }
                            input type="hidden" name="lots" value=(asked.lots);
                        }
                    }
                    details.how {
                        summary { "How sure each figure is" }
                        div { (doubts(measure, asked)) }
                    }
                }
            }
            (answer(measure, asked))
            (how(measure))
        }
        aside {
            (sure(measure, asked))
            section {
                div.sec { h2 { "Source" } }
                div.src {
                    p { (measure.source) }
                    @if !measure.caveat.is_empty() { p.note { (measure.caveat) } }
                }
            }
            section {
                div.sec { h2 { "By command" } }
                (command(measure, asked))
            }
        }
    }
}

/// What changes while figures are typed.
pub(super) fn parts(measure: &'static Measure, asked: &Asked) -> Markup {
    html! {
        @for lot in 0..asked.lots {
            @for input in measure.inputs {
                @if let Input::Figure { field, .. } = input { (entry(field, asked, lot).why()) }
            }
        }
        @for field in measure.figures() { (doubt(field, asked).why()) }
        (answer(measure, asked))
        (sure(measure, asked))
        (command(measure, asked))
    }
}

fn lot_fields(measure: &'static Measure, asked: &Asked, lot: usize) -> Markup {
    let group = measure.inputs.iter().find_map(|input| match input {
        Input::Figure { need: Need::OneOf(_), .. } => Some(one_of(measure)),
        _ => None,
    });
    html! {
        fieldset.ins {
            @if measure.lots() { legend { "Lot " (lot + 1) } }
            @if let (Some(words), 0) = (&group, lot) { p.hint.wide { (words) } }
            @for input in measure.inputs {
                @match input {
                    Input::Figure { field, .. } => (entry(field, asked, lot).draw()),
                    Input::Choice { key, label, words } => {
                        (choice((key, label), words, asked.typed(&name(key, lot)), lot))
                    },
                }
            }
        }
    }
}

/// Which figures stand for one another.
fn one_of(measure: &'static Measure) -> String {
    let labels = measure.inputs.iter().filter_map(|input| match input {
        Input::Figure { field, need: Need::OneOf(_) } => Some(form::lower(&form::label(field))),
        _ => None,
    });
    format!("Give one of: {}.", labels.collect::<Vec<_>>().join(", "))
}

fn entry(field: &Field, asked: &Asked, lot: usize) -> Entry {
    let name = name(field.key, lot);
    let mut entry = Entry::of(field, asked.typed(&name));
    entry.wrong = asked.wrong(&name);
    entry.name = name;
    entry
}

fn choice((key, label): (&str, &str), words: &[&str], typed: &str, lot: usize) -> Markup {
    let name = name(key, lot);
    html! {
        div.field {
            label for=(name) { (label) }
            div.entry {
                select id=(name) name=(name) {
                    @for word in words { option selected[*word == typed] { (word) } }
                }
            }
        }
    }
}

/// The fields for standard uncertainties, each with what an ordinary instrument has.
fn doubts(measure: &'static Measure, asked: &Asked) -> Markup {
    html! {
        p.hint { "Standard uncertainties. Left empty, an ordinary instrument is taken." }
        div.ins.asked {
            @for field in measure.figures() { (doubt(field, asked).draw()) }
        }
    }
}

fn doubt(field: &Field, asked: &Asked) -> Entry {
    let name = format!("u_{}", field.key);
    let mut entry = Entry::of(field, asked.typed(&name));
    entry.wrong = asked.wrong(&name);
    entry.name = name;
    entry.hint = html! { "usual " (figure::bare(field.sd)) };
    entry
}

fn answer(measure: &Measure, asked: &Asked) -> Markup {
    html! {
        section id="answer" data-part {
            div.sec {
                h2 { "Reckoned" }
                div.acts { button.act type="button" data-print hidden { "Print" } }
            }
            @for why in &asked.why { p.why { (why) } }
            @match &asked.outcome {
                None if !asked.waits.is_empty() => {
                    p.empty { "Wants " (asked.waits.join(", and ")) "." }
                },
                None => p.empty { "Blank until every figure above can be used." },
                Some(outcome) => {
                    @for warning in &outcome.warnings { p { span.copper { (warning.says) } } }
                    (figures(measure, asked, &outcome.values))
                },
            }
        }
    }
}

fn figures(measure: &Measure, asked: &Asked, values: &[(&'static str, Node)]) -> Markup {
    let value = |key: &str| values.iter().find(|(k, _)| *k == key).map(|(_, node)| node);
    html! {
        div.ans {
            @if let Some(first) = measure.outputs.first() {
                div {
                    p.soft.small { (first.label) }
                    p.big { (written(first, value(first.key))) }
                    @if let Some(known) = asked.known(first.key) {
                        p.soft { i { (band(first, known)) } ", 19 times in 20" }
                    }
                }
            }
            table { tbody {
                @for output in measure.outputs.iter().skip(1) {
                    tr {
                        th scope="row" { (output.label) }
                        td.r.soft { @if let Some(known) = asked.known(output.key) {
                            i { (band(output, known)) }
                        } }
                        td.r { (written(output, value(output.key))) }
                    }
                }
            } }
        }
    }
}

/// An output as it is shown: reckoned, so it leans.
fn written(output: &Output, node: Option<&Node>) -> Markup {
    html! {
        @match node {
            Some(Node::Number(value)) => {
                i id={ "out-" (output.key) } {
                    (figure::fixed(*value, output.decimals as u8))
                }
                @if !output.unit.is_empty() { span.u { "\u{202f}" (output.unit) } }
            },
            Some(Node::Text(word)) => (word),
            _ => {},
        }
    }
}

fn band(output: &Output, known: &Known) -> String {
    let half = NINETEEN_IN_TWENTY * known.standard_uncertainty;
    let decimals = figure::decimals_for(half, 2).min(6);
    format!("± {}", figure::unit(&figure::fixed(half, decimals), output.unit))
}

/// How sure the first output is, and which figure decides.
fn sure(measure: &'static Measure, asked: &Asked) -> Markup {
    let first = measure.outputs.iter().find(|o| asked.known(o.key).is_some());
    html! {
        section id="sure" data-part {
            div.sec { h2 { "How sure" } }
            @if let Some((output, known)) = first.and_then(|o| Some((o, asked.known(o.key)?))) {
                table {
                    thead { tr {
                        th scope="col" { "from" }
                        th.r scope="col" { "taken as" }
                        th.r scope="col" { (output.unit) }
                        th scope="col" { "share" }
                    } }
                    tbody {
                        @for (key, share) in &known.shares {
                            (share_row(measure, asked, (key, *share), known))
                        }
                        tr.sum {
                            th scope="row" { "Together" }
                            td {}
                            td.r { i { (two_digits(known.standard_uncertainty)) } }
                            td {}
                        }
                    }
                }
                p.note {
                    "Standard uncertainties of " (form::lower(output.label)) ", first order. "
                    (decides(measure, known))
                }
            } @else {
                p.empty { "Nothing to say until it is reckoned." }
            }
        }
    }
}

/// An uncertainty: two digits say all there is.
fn two_digits(doubt: f64) -> String {
    figure::fixed(doubt, figure::decimals_for(doubt, 2))
}

fn share_row(
    measure: &'static Measure,
    asked: &Asked,
    (key, share): (&str, f64),
    known: &Known,
) -> Markup {
    let field = measure.figures().find(|f| f.key == key);
    let typed = figure::typed(asked.typed(&format!("u_{key}")));
    let taken = typed.or(field.map(|f| f.sd)).unwrap_or(0.0);
    let part = known.standard_uncertainty * share.max(0.0).sqrt();
    let decimals = figure::decimals_for(known.standard_uncertainty, 2);
    html! {
        tr {
            th scope="row" { (field.map_or_else(|| key.to_owned(), form::label)) }
            td.r {
                "± " (figure::bare(taken))
                @if let Some(field) = field { span.u { "\u{202f}" (field.unit) } }
            }
            td.r { i { (figure::fixed(part, decimals)) } }
            td.share {
                svg role="img" aria-label=(format!("{:.0} per cent", share * 100.0)) {
                    rect.inkbar y="3" height="9" width=(format!("{:.1}%", share * 100.0)) {}
                }
            }
        }
    }
}

fn decides(measure: &'static Measure, known: &Known) -> Markup {
    let most = known.shares.iter().max_by(|a, b| a.1.total_cmp(&b.1));
    let field = most.and_then(|(key, share)| {
        (*share > 0.5).then(|| measure.figures().find(|f| f.key == *key)).flatten()
    });
    html! { @if let Some(field) = field { (form::label(field)) " decides." } }
}

fn how(measure: &Measure) -> Markup {
    html! {
        section {
            div.sec { h2 { "How" } }
            div.formula { @for line in measure.formula.split("; ") { p { (lowered(line)) } } }
            @if !measure.letters.is_empty() {
                table { tbody {
                    @for (letter, says) in measure.letters {
                        tr { th scope="row" { i { (lowered(letter)) } } td { (says) } }
                    }
                } }
            }
        }
    }
}

/// A formula with what follows a low line written low: `m_w` is m with a small w.
fn lowered(text: &str) -> Markup {
    let mut parts = text.split('_');
    let first = parts.next().unwrap_or_default();
    html! {
        (first)
        @for part in parts {
            @let end = part.find(|c: char| !c.is_alphanumeric()).unwrap_or(part.len());
            sub { (part[..end]) } (part[end..])
        }
    }
}

/// The same by command, so that a figure can be had without a page.
fn command(measure: &Measure, asked: &Asked) -> Markup {
    let mut line = format!("shiel reckon {}", measure.key);
    for input in measure.inputs {
        for key in [input.key().to_owned(), format!("u_{}", input.key())] {
            let typed = asked.typed(&key);
            if let Some(value) = figure::typed(typed) {
                let _ = write!(line, " --{key}={}", form::bare_digits(value));
            } else if !typed.is_empty() && matches!(input, Input::Choice { .. }) {
                let _ = write!(line, " --{key}={typed}");
            }
        }
    }
    html! {
        div id="command" data-part {
            @if asked.lots > 1 {
                p {
                    "Several lots go in a file: "
                    code { "shiel reckon " (measure.key) " --csv FILE" }
                }
            } @else {
                p { code { (line) } }
            }
        }
    }
}
