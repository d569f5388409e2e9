//! What a batch of a make should give, from barley to cask: the chain with its curves, its figures
//! with their bands, and where the rest went.

use crate::app::{App, Seen};
use crate::chart::{Curve, Fall, Panel, Plot, Series, Standing, hour_ticks};
use crate::fail;
use crate::layout::{Page, Place, page};
use crate::places::{frame, vessel, working};
use crate::table;
use ::forecast::{Batch, Figure, Step};
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};
use process::balance::Side;
use sheets::{Cell, Column, Table, figure};
use std::sync::Arc;

pub(super) async fn show(
    State(app): State<Arc<App>>,
    seen: Seen,
    Path(make): Path<String>,
) -> Response {
    let open = match working(&app, &seen, Place::Today) {
        Ok(open) => open,
        Err(page) => return *page,
    };
    let Some(known) = open.house.make(&make) else {
        return fail::refused(StatusCode::NOT_FOUND, "The house has no make of this name.");
    };
    let forecasts = open.forecasts(app.clock.now());
    let batch = forecasts.as_ref().and_then(|f| f.of_make(&known.key));
    let body = match batch {
        Some(batch) => drawn(&open, batch),
        None => waits(forecasts.is_some(), &seen.address),
    };
    let title = format!("What {} should give", known.name);
    let line = html! {
        p {
            @if let Some(batch) = batch {
                "one batch from barley to cask, of " (open.house.called_barley(&batch.barley))
                " steeped on a day like this"
            }
        }
        div.acts {
            @for other in &open.house.makes.makes {
                @if other.key != known.key {
                    a.act href={ "/today/forecast/" (other.key) } { (other.name) }
                }
            }
        }
    };
    let page_ = Page { place: Some(Place::Today), title: &title, line, body };
    page(&app, &seen, &frame(&app), &page_).into_response()
}

/// What stands there until the forecast is reckoned: it asks again by itself.
pub(super) fn waits(tried: bool, address: &str) -> Markup {
    html! {
        @if tried {
            p.empty { "This make cannot be foretold: a stage refuses a figure of the house." }
        } @else {
            noscript { meta http-equiv="refresh" content="2"; }
            p.empty id="foretelling" role="status" data-part
                data-poll={ "/today/foretold?then=" (crate::layout::escape(address)) } {
                "The forecast is being reckoned. Its figures come by themselves."
            }
        }
    }
}

trait CalledBarley {
    fn called_barley<'h>(&'h self, key: &'h str) -> &'h str;
}

impl CalledBarley for house::House {
    fn called_barley<'h>(&'h self, key: &'h str) -> &'h str {
        self.barley(key).map_or(key, |b| b.name.as_str())
    }
}

fn drawn(open: &crate::app::Working, batch: &Batch) -> Markup {
    html! {
        @if let Some(total) = batch.total("pure_alcohol_l_t") {
            p.answer {
                "A tonne of malt gives " i { (written(total)) }
                " of pure alcohol" (between(total)) "."
            }
        }
        section {
            div.sec { h2 { "What it comes to" } }
            dl.figs { @for total in &batch.totals { (fig(total)) } }
            @for total in batch.totals.iter().take(1) { (because(total)) }
        }
        (went(batch))
        div.steps { @for step in &batch.steps { (step_drawn(open, step)) } }
    }
}

fn written(figure_: &Figure) -> String {
    let (scale, unit, decimals) = shown(figure_);
    figure::unit(&figure::fixed(figure_.value * scale, decimals), unit)
}

/// Gravities are shown in degrees.
fn shown(figure_: &Figure) -> (f64, &'static str, u8) {
    if figure_.key.ends_with("gravity") {
        (1000.0, "degrees", 1)
    } else {
        (1.0, figure_.unit, figure_.decimals)
    }
}

fn between(figure_: &Figure) -> Markup {
    let (scale, _, decimals) = shown(figure_);
    let write = |v: f64| figure::fixed(v * scale, decimals);
    html! {
        @if let Some(band) = &figure_.band {
            ", " i { (write(band.low)) } " to " i { (write(band.high)) } " nine times in ten"
        }
    }
}

fn fig(figure_: &Figure) -> Markup {
    let (scale, unit, decimals) = shown(figure_);
    let write = |v: f64| figure::fixed(v * scale, decimals);
    html! {
        div {
            dt { (figure_.label) }
            dd {
                i { (write(figure_.value)) }
                @if !unit.is_empty() { span.u { "\u{202f}" (unit) } }
            }
            @if let Some(band) = &figure_.band {
                dd { i { (write(band.low)) } " to " i { (write(band.high)) } }
            }
        }
    }
}

/// What the width of a band comes from.
fn because(figure_: &Figure) -> Markup {
    let Some(band) = &figure_.band else { return html! {} };
    let mut table = Table::new(
        "",
        vec![
            Column::words("what", "from"),
            Column::figures("share_pct", "share of the variance", "%", 1).reckoned(),
        ],
    );
    for (what, share) in band.because.iter().take(8) {
        table.row(vec![what.as_str().into(), (share * 100.0).into()]);
    }
    html! {
        details.how {
            summary { "How sure: " (figure_.label) }
            div {
                (table::draw(&table))
                p.note {
                    "Standard uncertainty " i { (figure::significant(band.sd, 2)) } " "
                    (figure_.unit) ", first order, from the constants of the stages. It holds what \
                     the models know of themselves, not what they leave out."
                }
            }
        }
    }
}

/// The waterfall of a tonne of malt: what it promised, what went, what is in the cask.
fn went(batch: &Batch) -> Markup {
    let mut fall = Fall::new("L a tonne", 1);
    let sd = |f: &Figure| f.band.as_ref().map(|b| b.sd);
    fall.whole("what the extract could give", batch.ceiling.value, sd(&batch.ceiling));
    for loss in batch.losses.iter().filter(|l| l.l_t.value.abs() >= 0.005) {
        let standing = if loss.key == "unaccounted" { Standing::Gap } else { Standing::Lost };
        fall.went(loss.label, loss.l_t.value, standing);
    }
    if let Some(total) = batch.total("pure_alcohol_l_t") {
        fall.whole("new spirit", total.value, sd(total));
    }
    html! {
        section {
            div.sec {
                h2 { "Where the rest goes" }
                p { "litres of pure alcohol a tonne of malt as it is" }
            }
            (fall.draw())
        }
    }
}

fn step_drawn(open: &crate::app::Working, step: &Step) -> Markup {
    let mut figures = Table::new(
        "",
        vec![
            Column::words("what", ""),
            Column::words("value", "expected"),
            Column::words("band", "nine times in ten"),
        ],
    );
    for one in &step.figures {
        let (scale, _, decimals) = shown(one);
        let write = |v: f64| figure::fixed(v * scale, decimals);
        let band = one.band.as_ref().map(|b| format!("{} to {}", write(b.low), write(b.high)));
        figures.row(vec![
            one.label.into(),
            Cell::from(written(one)).reckoned(),
            Cell::from(band.unwrap_or_default()).reckoned(),
        ]);
    }
    html! {
        section id={ "step-" (step.stage) } {
            div.sec {
                h2 { (crate::places::called(&step.title)) }
                p {
                    "hour " i { (figure::fixed(step.start_h, 0)) } " to "
                    i { (figure::fixed(step.end_h, 0)) } ", "
                    (crate::form::lower(&vessel(open, &step.vessel)))
                }
            }
            @if let Some(plot) = plot(step) { (plot.draw()) }
            (table::draw(&figures))
            (balance(step))
        }
    }
}

/// A line of a stage's picture: its column, what stands over it, and the factor.
type Line = (&'static str, &'static str, f64);

/// Which columns of a stage are drawn: panels, each with its lines.
fn panels(stage: &str) -> &'static [&'static [Line]] {
    match stage {
        "steep" => &[&[("moisture_wet", "moisture, %", 100.0)]],
        "floor" => {
            &[&[("temperature_c", "grain, °C", 1.0)], &[("modification", "modification", 1.0)]]
        }
        "kiln" => &[
            &[("air_off_c", "air off", 1.0), ("air_on_c", "air on", 1.0)],
            &[("mean_moisture_dry", "moisture, kg a kg dry", 1.0)],
        ],
        "mash" => &[&[("run_off_plato", "worts running off, °P", 1.0)]],
        "ferment" => &[
            &[("gravity", "gravity, degrees", 1000.0)],
            &[("temperature_c", "temperature, °C", 1.0)],
            &[("alcohol_pct", "alcohol, % vol", 1.0)],
        ],
        "still" => &[
            &[("distillate_strength_pct", "strength, % vol", 1.0)],
            &[("cumulative_pure_alcohol_l", "pure alcohol so far, L", 1.0)],
        ],
        _ => &[],
    }
}

fn plot(step: &Step) -> Option<Plot> {
    let first = step.curves.columns.first()?;
    let factor = match first.unit {
        "s" => 1.0 / 3600.0,
        "min" => 1.0 / 60.0,
        "d" => 24.0,
        _ => 1.0,
    };
    let x: Vec<f64> = first.values.iter().map(|v| v * factor).collect();
    let last = *x.last()?;
    let mut drawn = Vec::new();
    for lines in panels(step.stage) {
        let curves: Vec<Curve> =
            lines.iter().enumerate().filter_map(|(i, line)| curve(step, &x, line, i)).collect();
        if curves.is_empty() {
            continue;
        }
        let several = lines.len() > 1;
        drawn.push(Panel {
            height: if drawn.is_empty() { 180 } else { 64 },
            unit: if several { "°C".to_owned() } else { lines[0].1.to_owned() },
            from_zero: matches!(lines[0].0, "alcohol_pct" | "cumulative_pure_alcohol_l"),
            curves,
            ..Panel::default()
        });
    }
    (!drawn.is_empty() && last > 0.0).then(|| Plot {
        says: format!("The course expected of the {}, against its hours", step.title),
        from: 0.0,
        to: last,
        ticks: hour_ticks(last),
        marks: Vec::new(),
        panels: drawn,
    })
}

fn curve(step: &Step, x: &[f64], (key, says, scale): &Line, nth: usize) -> Option<Curve> {
    let y: Vec<f64> = step.curves.get(key)?.iter().map(|v| v * scale).collect();
    let band = step.spread.get(key).map_or(Vec::new(), |sd| {
        let half = |sd: &f64| super::row::NINETY * sd * scale;
        y.iter().zip(sd).map(|(y, sd)| (y - half(sd), y + half(sd))).collect()
    });
    let series = if nth == 0 { Series::First } else { Series::Second };
    let name = if says.contains(',') { String::new() } else { (*says).to_owned() };
    Some(Curve { series, x: x.to_vec(), y, band, name })
}

/// What went in, came out and was lost; it closes, or says by how much not.
fn balance(step: &Step) -> Markup {
    let mut table = Table::new(
        "",
        vec![
            Column::words("matter", "of"),
            Column::words("name", "what"),
            Column::figures("in", "in", "", 1).reckoned(),
            Column::figures("out", "out", "", 1).reckoned(),
            Column::figures("lost", "lost", "", 1).reckoned(),
        ],
    );
    for matter in step.balance.matters() {
        for line in step.balance.lines.iter().filter(|l| l.matter == matter) {
            let on = |side| if line.side == side { Cell::from(line.amount) } else { Cell::blank() };
            table.row(vec![
                crate::places::called(matter.key()).into(),
                line.name.to_string().into(),
                on(Side::In),
                on(Side::Out),
                on(Side::Lost),
            ]);
        }
    }
    html! {
        @if !table.rows.is_empty() {
            details.how {
                summary { "Its balance" }
                div {
                    (table::draw(&table))
                    p.note {
                        @if step.balance.open().is_empty() { "Every column closes." }
                        @else { span.copper { "It does not close." } }
                    }
                }
            }
        }
    }
}
