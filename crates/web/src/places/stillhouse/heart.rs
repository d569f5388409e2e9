//! The heart as it is cut: its figures, beside what is proposed and what the last runs gave.

use super::Pairs;
use super::proposal::Proposed;
use super::view::{Asked, Followed, View};
use crate::app::{App, Working};
use crate::form::Entry;
use crate::when;
use forecast::Figure;
use forecast::stillhouse::{Cuts, Heart, Known};
use house::Ran;
use maud::{Markup, html};
use process::still::Group;
use sheets::figure::{self, NARROW};

/// How many runs before stand beside it.
const LAST: usize = 6;

/// One row of the table: name, unit, key of the figure, the group it hangs on.
type Row = (&'static str, &'static str, &'static str, Option<Group>);

const ROWS: [Row; 6] = [
    ("Heart", "L", "heart_20_l", None),
    ("Strength", "% vol", "heart_strength_pct", None),
    ("Pure alcohol", "L", "heart_pure_l", None),
    ("Phenols", "mg/L", "smoke_mg_l", Some(Group::Smoke)),
    ("Fruit", "mg/L", "fruit_mg_l", Some(Group::Fruit)),
    ("Oils", "g/hL pa", "oil_g_hl", Some(Group::Oil)),
];

/// What an analysis of a heart found of a row, as that row is shown; litres make grams.
fn last_of(key: &str, ran: &Ran) -> Option<f64> {
    let heart = ran.cut("heart")?;
    match key {
        "heart_20_l" => Some(heart.volume_20_l),
        "heart_strength_pct" => Some(heart.strength_pct),
        "heart_pure_l" => Some(heart.pure_alcohol_l),
        "smoke_mg_l" => {
            let found = ran.analyses.iter().filter(|a| a.of == "heart");
            let mut phenols =
                found.flat_map(|a| a.found_mg_l.iter()).filter(|(k, _)| k == "phenols");
            phenols.next().map(|(_, mg_l)| *mg_l)
        }
        _ => None,
    }
}

/// The mean of the last runs, where they noted it.
fn last(key: &str, before: &[Ran]) -> Option<f64> {
    let cut = before.iter().filter(|r| !r.transition && r.cut("heart").is_some());
    let found: Vec<f64> = cut.filter_map(|ran| last_of(key, ran)).take(LAST).collect();
    (!found.is_empty()).then(|| found.iter().sum::<f64>() / found.len() as f64)
}

/// The side column's figures.
pub(super) fn figures(
    view: &View,
    followed: &Followed,
    heart: Option<&Heart>,
    proposed: Option<&Heart>,
) -> Markup {
    html! {
        section id="heart" data-part aria-live="polite" {
            div.sec { h2 { "The heart, as cut" } }
            @match heart {
                Some(heart) => {
                    (headline(heart))
                    (table(view, followed, heart, proposed))
                },
                None => p.empty { "No heart between these cuts." },
            }
        }
    }
}

fn headline(heart: &Heart) -> Markup {
    let pure = heart.figure("heart_pure_l");
    html! {
        @if let Some(pure) = pure {
            p.big {
                i { (figure::fixed(pure.value, 0)) }
                span.u { (NARROW) "L pure alcohol" }
            }
            p.soft { (between(pure)) }
        }
    }
}

fn between(one: &Figure) -> Markup {
    html! {
        @if let Some(band) = &one.band {
            i { (figure::fixed(band.low, one.decimals)) } " to "
            i { (figure::fixed(band.high, one.decimals)) } ", nine times in ten"
        }
    }
}

fn table(view: &View, followed: &Followed, heart: &Heart, proposed: Option<&Heart>) -> Markup {
    let peated = heart.figure("smoke_mg_l").is_some_and(|f| f.value > 0.0);
    let rows: Vec<&Row> = ROWS.iter().filter(|r| r.3 != Some(Group::Smoke) || peated).collect();
    let shape = |row: &Row| row.3.is_some_and(|g| followed.run.known(g) == Known::Shape);
    let shapes: Vec<&str> = rows.iter().filter(|r| shape(r)).map(|r| r.0).collect();
    html! {
        table.hearts {
            thead { tr {
                th {}
                th.r scope="col" { "as cut" }
                th.r scope="col" { "±" }
                th.r scope="col" { "proposed" }
                th.r scope="col" { "last six" }
            } }
            tbody { @for row in &rows {
                tr {
                    th scope="row" { (row.0) " " span.u.small { (row.1) } }
                    @match heart.figure(row.2) {
                        Some(one) => {
                            td.r { i { (figure::fixed(one.value, one.decimals)) } }
                            td.r.soft {
                                @if shape(row) { "model" }
                                @else if let Some(band) = &one.band {
                                    @let half = (band.high - band.low) / 2.0;
                                    i { (figure::fixed(half, one.decimals)) }
                                }
                            }
                            td.r {
                                @if let Some(other) = proposed.and_then(|p| p.figure(row.2)) {
                                    i { (figure::fixed(other.value, other.decimals)) }
                                }
                            }
                            td.r {
                                @if let Some(mean) = last(row.2, &view.before) {
                                    (figure::fixed(mean, one.decimals))
                                }
                            }
                        },
                        None => { td {} td {} td {} td {} },
                    }
                }
            } }
        }
        p.note {
            "± is nine times in ten. pa is pure alcohol. Last six: the mean of what was noted."
            @if !shapes.is_empty() {
                " " (shapes.join(", ")) ": model values, shape only, until analyses of this house \
                have fitted them."
            }
        }
    }
}

/// The line of deciding figures that stays in sight where the side column falls below.
pub(super) fn line(heart: Option<&Heart>) -> Markup {
    let one = |key: &str, unit: &'static str, name: &'static str| {
        let found = heart.and_then(|h| h.figure(key)).filter(|f| f.value > 0.0);
        html! {
            @if let Some(found) = found {
                span {
                    @if !name.is_empty() { (name) " " }
                    i { (figure::fixed(found.value, found.decimals)) }
                    span.u { (NARROW) (unit) }
                }
            }
        }
    };
    html! {
        p.readout.stick id="heartline" data-part {
            b { "heart as cut" }
            @if heart.is_none() { span { "none between these cuts" } }
            (one("heart_pure_l", "L pure alcohol", ""))
            (one("heart_20_l", "L", ""))
            (one("heart_strength_pct", "% vol", ""))
            (one("smoke_mg_l", "mg/L", "phenols"))
            (one("oil_g_hl", "g/hL pa", "oils"))
        }
    }
}

/// The fields that hold the two cuts, and what may be done with them.
pub(super) fn cuts(
    (app, open): (&App, &Working),
    view: &View,
    asked: &Asked,
    proposal: Option<&Proposed>,
    (told, pairs): (&Markup, &Pairs),
) -> Markup {
    let proposed = proposal.map(|p| p.cuts);
    let run = view.ran.run;
    let address = format!("/stillhouse/run/{run}");
    html! {
        section id="cutting" {
            div.sec { h2 { "Cuts" } (kept(app, view)) }
            (told)
            form id="cuts" method="get" action=(address) data-cuts=(address)
                data-look={ (address) "/look" } {
                @if asked.by_litres { input type="hidden" name="by" value="litres"; }
                input type="hidden" name="id" value=(app.new_id());
                div.pair {
                    (entry(asked, true, proposed).draw())
                    (entry(asked, false, proposed).draw())
                }
                (super::proposal::wishes(proposal, pairs))
                div.acts {
                    button.act data-plain { "Read the heart" }
                    button.act.main formmethod="post" formaction={ (address) "/cuts" } data-keep {
                        "Keep these cuts"
                    }
                    @if let Some(Cuts { from_min, to_pct }) = proposed {
                        @let take = format!(
                            "from_min={}&to_pct={}",
                            crate::form::bare_digits(from_min), crate::form::bare_digits(to_pct)
                        );
                        a.act href={ (address) "?" (take) "#cutting" } data-take=(take) {
                            "Take the proposal"
                        }
                    }
                }
            }
            p.note {
                "Keep these cuts notes them for every " (super::now::lower_make(open, view))
                " run from now on. The proposal only fills the fields: the nose decides."
            }
        }
    }
}

fn kept(app: &App, view: &View) -> Markup {
    html! {
        @if let Some(kept) = &view.kept {
            p {
                "kept: after " (figure::bare(kept.heart_from_min)) (NARROW) "min, until "
                (figure::bare(kept.heart_to_pct)) (NARROW) "% vol, since "
                (when::seen(&app.clock.local(kept.since), &app.clock.here()))
            }
        }
    }
}

fn entry(asked: &Asked, from: bool, proposed: Option<Cuts>) -> Entry {
    let (field, typed, wrong) = if from {
        (&asked.from_field, &asked.from_typed, &asked.from_wrong)
    } else {
        (&asked.to_field, &asked.to_typed, &asked.to_wrong)
    };
    let mut entry = Entry::of(field, typed);
    entry.wrong.clone_from(wrong);
    let proposal = proposed.map(|cuts| {
        if from { figure::fixed(cuts.from_min, 0) } else { figure::fixed(cuts.to_pct, 1) }
    });
    entry.hint = html! {
        (figure::range(field.low, field.high))
        @if let Some(proposal) = proposal { ". Proposed " i { (proposal) } }
    };
    entry
}

/// What stands beside the fields after a move.
pub(super) fn judged(asked: &Asked) -> Markup {
    html! { (entry(asked, true, None).why()) (entry(asked, false, None).why()) }
}
