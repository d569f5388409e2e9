//! The picture of a kilning: moisture by depth and time over air-on and air-off, and phenols.

use crate::app::App;
use crate::chart::{Bed, Curve, KilnPicture, Mark, Panel, Plot, Point, Series, hour_ticks};
use crate::when;
use forecast::maltings::{Kilned, Noted};
use process::kiln::Run;

/// The picture of a kilning as it was, is and will be.
pub(super) fn picture(app: &App, kilned: &Kilned) -> KilnPicture {
    let last_h = kilned.points.last().map_or(1.0, |p| p.time_h).max(1.0);
    let mut panels = vec![air(kilned)];
    if kilned.points.iter().any(|p| p.phenols_mg_kg_dry > 0.05) {
        panels.push(smoke(kilned));
    }
    KilnPicture {
        beds: beds(&kilned.run),
        plot: Plot {
            says: format!(
                "Piece {} on the kiln: moisture by depth and time with the break front; beneath it \
                 air-on and air-off as expected and as noted",
                kilned.piece
            ),
            from: 0.0,
            to: last_h,
            ticks: hour_ticks(last_h),
            marks: marks(app, kilned, last_h),
            panels,
        },
    }
}

fn marks(app: &App, kilned: &Kilned, last_h: f64) -> Vec<Mark> {
    let mut marks = Vec::new();
    let hours = |at| when::ago(kilned.lit_at, at) as f64 / 3600.0;
    if kilned.firing.peat_h > 0.0 && kilned.firing.peat_h < last_h {
        marks.push(Mark { x: kilned.firing.peat_h, name: "peat out".to_owned(), now: false });
    }
    if kilned.lit && kilned.now_h < last_h {
        marks.push(Mark { x: kilned.now_h, name: "now".to_owned(), now: true });
    }
    let finish = hours(kilned.finish.likely).min(last_h);
    let clock = when::clock(&app.clock.local(kilned.finish.likely));
    marks.push(Mark { x: finish, name: format!("finish {clock}"), now: false });
    marks
}

/// The bed over time, as it lies and sinks.
fn beds(run: &Run) -> Vec<Bed> {
    let depths = &run.depths;
    let rows = depths.times_h.iter().zip(&depths.moisture_dry);
    rows.map(|(&x, row)| {
        let height = |share: f64| 100.0 * depths.height_m(share, x).unwrap_or(f64::NAN);
        Bed {
            x,
            height_cm: depths.shares.iter().map(|share| height(*share)).collect(),
            moisture_pct: row.iter().map(|dry| 100.0 * dry / (1.0 + dry)).collect(),
            top_cm: height(1.0),
        }
    })
    .collect()
}

fn air(kilned: &Kilned) -> Panel {
    let x: Vec<f64> = kilned.points.iter().map(|p| p.time_h).collect();
    let band = kilned.points.iter().map(|p| (p.air_off_low_c, p.air_off_high_c));
    let mut points = noted(kilned, &kilned.noted_on, Series::Second, |_| 4.0);
    points.extend(noted(kilned, &kilned.noted_off, Series::First, |p| {
        let reach = (p.air_off_high_c - p.air_off_low_c) / 2.0;
        // What the thermometer itself is unsure by, nine times in ten.
        reach.hypot(0.8)
    }));
    Panel {
        height: 120,
        unit: "air, °C".to_owned(),
        curves: vec![
            Curve {
                series: Series::Second,
                x: x.clone(),
                y: kilned.points.iter().map(|p| p.air_on_c).collect(),
                name: "air-on".to_owned(),
                ..Curve::default()
            },
            Curve {
                x,
                y: kilned.points.iter().map(|p| p.air_off_c).collect(),
                band: band.collect(),
                name: "air-off".to_owned(),
                ..Curve::default()
            },
        ],
        points,
        ..Panel::default()
    }
}

/// Noted points; one that lies farther from the line than `reach` is told.
fn noted(
    kilned: &Kilned,
    all: &[Noted],
    series: Series,
    reach: impl Fn(&forecast::maltings::Moment) -> f64,
) -> Vec<Point> {
    let point = |one: &Noted| {
        let x = when::ago(kilned.lit_at, one.at) as f64 / 3600.0;
        let far = kilned
            .at(one.at)
            .is_some_and(|p| (one.value - one.expected).abs() > reach(&p).max(0.1));
        Point { series, x, y: one.value, far }
    };
    all.iter().map(point).collect()
}

fn smoke(kilned: &Kilned) -> Panel {
    let share = kilned
        .figure("phenols_mg_kg_dry")
        .and_then(|f| Some((f.band.as_ref()?.sd / f.value).abs()))
        .filter(|s| s.is_finite())
        .unwrap_or(0.0);
    let x = kilned.points.iter().map(|p| p.time_h).collect();
    let y: Vec<f64> = kilned.points.iter().map(|p| p.phenols_mg_kg_dry).collect();
    let reach = forecast::figure::NINE_IN_TEN * share;
    let band = y.iter().map(|v| (v * (1.0 - reach).max(0.0), v * (1.0 + reach))).collect();
    Panel {
        height: 70,
        unit: "phenols on dry malt, mg/kg".to_owned(),
        curves: vec![Curve { x, y, band, ..Curve::default() }],
        from_zero: true,
        ..Panel::default()
    }
}
