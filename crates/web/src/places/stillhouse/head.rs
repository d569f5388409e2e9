//! The heat a head loses, fitted from the first strong readings of a run: before, after, how sure.
//!
//! What a fit finds stands beside the house's own figure until a hand takes it in use, and then
//! until it is put back or the program is closed; the house's file is never written.

use super::Pairs;
use super::run::view;
use super::view::{Followed, View};
use crate::app::{App, Seen, Working};
use crate::fail;
use crate::layout::Place;
use crate::places::{vessel, working};
use axum::extract::{Form, Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use forecast::stillhouse::fitted::Head;
use forecast::stillhouse::{HeadFit, head};
use maud::{Markup, html};
use sheets::figure::{self, NARROW};
use std::sync::Arc;

/// Half the width of a 90 % band, in standard uncertainties.
const NINETY: f64 = forecast::figure::NINE_IN_TEN;

/// The head of this run's still: the button, or what the fit found.
pub(super) fn section(app: &App, open: &Working, view: &View, followed: &Followed) -> Markup {
    let still = crate::form::lower(&vessel(open, &view.ran.still));
    let (_, fitted) = open.stillhouse.heads();
    let used = fitted.head(&view.ran.still);
    let found = open.stillhouse.found(view.ran.run);
    let address = format!("/stillhouse/run/{}/head", view.ran.run);
    html! {
        section id="head" {
            div.sec { h2 { "The head of " (still) } p { "heat lost, W/K" } }
            p {
                "Reckoned with " i { (figure::fixed(followed.run.head_loss_w_k, 0)) } (NARROW) "W/K"
                @match used {
                    Some(head) => {
                        " ± " i { (figure::fixed(NINETY * head.sd, 0)) }
                        ", as fitted here; the house's file still says what it said."
                    },
                    None => ", the house's own figure, known to a quarter.",
                }
            }
            @if let Some(found) = &found { (told(found)) }
            form.acts method="post" action=(address) {
                input type="hidden" name="id" value=(app.new_id());
                @match &found {
                    Some(Ok(_)) if used.is_none() => {
                        button.act.main name="do" value="use" {
                            "Reckon with the fitted head"
                        }
                        button.act name="do" value="drop" { "Leave it as it was" }
                    },
                    _ => {
                        button.act name="do" value="fit" {
                            "Fit the head from the first strong readings"
                        }
                        @if used.is_some() {
                            button.act name="do" value="back" { "Back to the house's figure" }
                        }
                    },
                }
            }
        }
    }
}

/// What a fit found, before and after, and how sure.
fn told(found: &Result<HeadFit, String>) -> Markup {
    let found = match found {
        Ok(found) => found,
        Err(why) => return html! { p role="status" { "No fit: " (why) "." } },
    };
    let w_k = |v: f64| figure::fixed(v, 0);
    html! {
        div.scroll { table role="status" {
            thead { tr {
                th {}
                th.r scope="col" { "before" }
                th.r scope="col" { "after" }
            } }
            tbody {
                tr {
                    th scope="row" { "Heat lost by the head " span.u { "W/K" } }
                    td.r { i { (w_k(found.before_w_k)) " ± " (w_k(NINETY * found.before_sd)) } }
                    td.r { i { (w_k(found.head_loss_w_k)) " ± " (w_k(NINETY * found.sd)) } }
                }
                tr {
                    th scope="row" { "Readings off the curve " span.u { "% vol" } }
                    td.r { i { (figure::fixed(found.misfit_before_pct, 2)) } }
                    td.r { i { (figure::fixed(found.misfit_after_pct, 2)) } }
                }
            }
        } }
        p.note {
            "From " (found.used) " strong readings"
            @if found.later > 0 { " and " (found.later) " later ones that hold the hydrometer" }
            "; " (found.says.word()) ", " i { (figure::fixed(100.0 * found.learned, 0)) }
            (NARROW) "% of what was unsure is gone. ± is nine times in ten. The strengths stand "
            i { (figure::signed(found.stand_above_pct, 2)) } " ± "
            i { (figure::fixed(NINETY * found.stand_above_sd, 2)) }
            (NARROW) "% vol from the curve all through. Only what is expected of this still would \
            change; nothing noted does."
        }
    }
}

/// Fits, takes in use, or puts back.
pub(super) async fn act(
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
    let wanted = pairs.iter().find(|(k, _)| k == "do").map_or("", |(_, v)| v.as_str());
    let number = view.ran.run;
    let desk = &open.stillhouse;
    let still = view.ran.still.clone();
    match wanted {
        "fit" => {
            let fitted = super::view::fitted(&open, app.clock.now());
            let found = head::head(&open.house, &view.ran, view.kept.as_ref(), &fitted);
            desk.find(number, Some(found.map_err(|why| why.says())));
        }
        "use" => {
            if let Some(Ok(found)) = desk.found(number) {
                let one = Head { still, head_loss_w_k: found.head_loss_w_k, sd: found.sd };
                desk.fit(|fitted| {
                    fitted.heads.retain(|h| h.still != one.still);
                    fitted.heads.push(one);
                });
            }
        }
        "back" => {
            desk.fit(|fitted| fitted.heads.retain(|h| h.still != still));
            desk.find(number, None);
        }
        "drop" => desk.find(number, None),
        _ => {
            let why = "The head can be fitted, taken in use, or put back.";
            return fail::refused(StatusCode::UNPROCESSABLE_ENTITY, why);
        }
    }
    Redirect::to(&format!("/stillhouse/run/{number}#head")).into_response()
}
