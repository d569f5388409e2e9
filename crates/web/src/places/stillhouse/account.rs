//! After a run: what went in against what came out, and where to look when they differ.

use super::view::{Followed, View};
use crate::app::Working;
use crate::places::{called, vessel};
use forecast::stillhouse::after::{Likely, Line};
use forecast::stillhouse::{Heart, after};
use house::Ran;
use maud::{Markup, html};
use sheets::figure::{self, NARROW};

/// The account of a run that has ended; of one under way, what is expected of it.
pub(super) fn account(
    open: &Working,
    view: &View,
    followed: Option<&Followed>,
    heart: Option<&Heart>,
    others: &[Ran],
) -> Markup {
    let still = crate::form::lower(&vessel(open, &view.ran.still));
    let foretold = followed.and_then(|followed| followed.run.foretold(&view.ran));
    html! {
        section id="account" {
            div.sec { h2 { "In and out, run " (view.ran.run) } p { "L pure alcohol" } }
            @match after(&view.ran, others, foretold.as_ref(), &still) {
                Some(after) => {
                    p.verdict {
                        @if after.likely == Likely::Within { (after.says) }
                        @else { span.copper { (after.says) } }
                    }
                    table { tbody {
                        @for line in &after.charged { (row(open, line, true)) }
                        @for line in &after.found { (row(open, line, false)) }
                        tr.sum {
                            th scope="row" {
                                @if after.difference_l > 0.0 { "Increase" } @else { "Deficiency" }
                            }
                            td.r { (figure::signed(after.difference_l, 1)) }
                            td.r { i { "± " (figure::fixed(after.sd_l * NINETY, 1)) } }
                        }
                    } }
                    p.note { "± is nine times in ten, by dip and hydrometer." }
                },
                None => (expected(view, heart)),
            }
        }
    }
}

/// Half the width of a 90 % band, in standard uncertainties.
const NINETY: f64 = forecast::figure::NINE_IN_TEN;

fn row(open: &Working, line: &Line, charged: bool) -> Markup {
    let name = match (charged, line.key.as_str()) {
        (_, "residue") => "Left in the pot".to_owned(),
        (true, "charge") => "Charge".to_owned(),
        (true, key) => format!("Charge, {}", crate::form::lower(&vessel(open, key))),
        (false, key) => called(key),
    };
    html! {
        tr {
            th scope="row" {
                (name)
                @if let (Some(litres), Some(strength)) = (line.volume_20_l, line.strength_pct) {
                    br;
                    span.u.small {
                        (figure::fixed(litres, 0)) (NARROW) "L at " (figure::fixed(strength, 1))
                        (NARROW) "%"
                    }
                }
            }
            td.r { (figure::fixed(line.pure_alcohol_l, 1)) }
            td.r.soft { i { "± " (figure::fixed(line.sd_l * NINETY, 1)) } }
        }
    }
}

/// Of a run under way: what was charged was noted, the rest is expected as it is cut now.
fn expected(view: &View, heart: Option<&Heart>) -> Markup {
    let pure = |s: process::still::Spirit| s.volume_20_l * s.strength_pct / 100.0;
    html! {
        table { tbody {
            tr {
                th scope="row" { "Charge" }
                td.r { (figure::fixed(view.ran.charged_l(), 0)) }
            }
            @if let Some(heart) = heart {
                @for (name, key, spirit) in [
                    ("Foreshots", "foreshots", heart.foreshots),
                    ("Heart", "heart", heart.heart),
                    ("Feints", "feints", heart.feints),
                    ("Left in the pot", "", heart.residue),
                ] {
                    tr {
                        th scope="row" { (name) }
                        td.r {
                            @match view.ran.cut(key) {
                                Some(cut) => (figure::fixed(cut.pure_alcohol_l, 0)),
                                None => i { (figure::fixed(pure(spirit), 0)) },
                            }
                        }
                    }
                }
            }
        } }
        p.note {
            @if view.ran.cuts.is_empty() {
                "Nothing is collected yet: leaning figures are expected."
            } @else { "Upright figures were collected, leaning ones are expected." }
        }
    }
}
