//! The picture of a run: strength, flow and head over its congeners, the two cuts across them.

use super::view::{Asked, Followed, View};
use crate::app::App;
use crate::chart::{
    Curve, Heart as Kept, Mark, Mover, Movers, Panel, Plot, Point, RunPicture, Series, Strip,
    hour_ticks, nice_ticks,
};
use crate::when;
use forecast::stillhouse::{Expected, Heart, Known};
use forecast::{Figure, stillhouse::Cuts};
use house::ran::Safe;
use maud::{Markup, html};
use process::still::Congener;
use sheets::figure;

/// What does not change while cuts are moved.
#[derive(Debug, Clone)]
pub(super) struct Curves {
    panels: Vec<Panel>,
    strips: Vec<(usize, Strip)>,
    last: f64,
}

/// What is drawn of the congeners, and what each brings.
const SHOWN: [(&str, &str, &str); 7] = [
    ("ethyl_acetate", "ethyl acetate", "solvent, fruit"),
    ("ethyl_octanoate", "ethyl octanoate", "fruit, soap"),
    ("3_methyl_1_butanol", "isoamyl alcohol", "body"),
    ("2_phenylethanol", "phenylethanol", "rose, late"),
    ("furfural", "furfural", "grain, late"),
    ("phenol", "phenol", "smoke"),
    ("guaiacol", "guaiacol", "smoke, sweet"),
];

/// How many places of the run are drawn.
const PLACES: usize = 120;

/// What a congener is called on a page.
pub(super) fn called(key: &str) -> String {
    SHOWN.iter().find(|(k, _, _)| *k == key).map_or_else(|| key.replace('_', " "), |s| s.1.into())
}

fn curves(run: &Expected, by_litres: bool) -> Curves {
    let last_s = run.trace.end_s();
    let times: Vec<f64> = (0..=PLACES).map(|i| last_s * i as f64 / PLACES as f64).collect();
    let place = |s: f64| if by_litres { run.trace.point(s).over_l } else { s / 60.0 };
    let x: Vec<f64> = times.iter().map(|s| place(*s)).collect();
    let panel = |height, unit: &str, from_zero, of: &dyn Fn(f64) -> Figure| {
        let figures: Vec<Figure> = times.iter().map(|s| of(*s)).collect();
        let band = |f: &Figure| f.band.as_ref().map(|b| (b.low, b.high));
        let curve = Curve {
            x: x.clone(),
            y: figures.iter().map(|f| f.value).collect(),
            band: figures.iter().filter_map(band).collect(),
            ..Curve::default()
        };
        Panel { height, unit: unit.to_owned(), curves: vec![curve], from_zero, ..Panel::default() }
    };
    let mut panels = vec![
        panel(250, "% vol", true, &|s| run.strength_at(s)),
        panel(56, "flow, L/min", true, &|s| run.flow_at(s)),
        panel(56, "head, °C", false, &|s| run.head_at(s)),
    ];
    "expected, with band".clone_into(&mut panels[0].curves[0].name);
    let points: Vec<_> = times.iter().map(|s| run.trace.point(*s)).collect();
    let strips = SHOWN.iter().filter_map(|shown| {
        let at = run.trace.congeners().iter().position(|(c, g)| c.key == shown.0 && *g > 0.0)?;
        let mut y: Vec<f64> = points
            .windows(2)
            .zip(x.windows(2))
            .map(|(p, x)| {
                let came = p[1].congeners_over[at] - p[0].congeners_over[at];
                if x[1] > x[0] { came / (x[1] - x[0]) } else { 0.0 }
            })
            .collect();
        y.push(y.last().copied().unwrap_or(0.0));
        let strip =
            Strip { name: shown.1.to_owned(), brings: shown.2, x: x.clone(), y, parts: None };
        Some((at, strip))
    });
    Curves { last: x.last().copied().unwrap_or(1.0), panels, strips: strips.collect() }
}

/// The picture with the cuts that are asked for.
pub(super) fn picture(
    app: &App,
    view: &View,
    followed: &Followed,
    asked: &Asked,
    heart: Option<&Heart>,
) -> RunPicture {
    let run = &followed.run;
    let which = usize::from(asked.by_litres);
    let drawn = followed.curves[which].get_or_init(|| curves(run, asked.by_litres)).clone();
    let mut panels = drawn.panels;
    noted(view, followed, asked, &mut panels);
    let now_s = followed.since(view.now);
    let mut marks = Vec::new();
    if view.under_way() && now_s > 0.0 && now_s < run.trace.end_s() {
        let x = asked.place(run, now_s);
        marks.push(Mark { x, name: "now".to_owned(), now: true });
    }
    let mut picture = RunPicture {
        plot: Plot {
            says: says(view, heart),
            from: 0.0,
            to: drawn.last,
            ticks: ticks(app, view, followed, asked, drawn.last),
            marks,
            panels,
        },
        strips: drawn.strips.into_iter().map(|(at, strip)| parted(run, heart, at, strip)).collect(),
        strips_say: String::new(),
        heart: Kept::default(),
        wanted: Vec::new(),
        movers: None,
    };
    if !picture.strips.is_empty() {
        "Congeners, % of the charge before, in and after the heart"
            .clone_into(&mut picture.strips_say);
    }
    if let Some(heart) = heart {
        cut(app, view, followed, (asked, heart), &mut picture);
    }
    picture
}

fn says(view: &View, heart: Option<&Heart>) -> String {
    let cut = heart.map_or("", |_| ", the heart between two cuts that can be moved");
    format!(
        "Run {}: strength, flow and head temperature on one axis, with congeners beneath{cut}",
        view.ran.run
    )
}

type Pick = fn(&Safe) -> Option<f64>;

/// Lays what was noted over what was expected; outside its band it wants a hand.
fn noted(view: &View, followed: &Followed, asked: &Asked, panels: &mut [Panel]) {
    let run = &followed.run;
    let picks: [Pick; 3] = [|s| s.strength_pct, |s| s.flow_l_min, |s| s.head_c];
    for (panel, (which, pick)) in panels.iter_mut().zip(picks.iter().enumerate()) {
        for safe in &view.ran.readings {
            let time_s = followed.since(safe.at);
            let (Some(y), true) = (pick(safe), (0.0..=run.trace.end_s()).contains(&time_s)) else {
                continue;
            };
            let expected = match which {
                0 => run.strength_at(time_s),
                1 => run.flow_at(time_s),
                _ => run.head_at(time_s),
            };
            let far = outside(&expected, y, which);
            let x = asked.place(run, time_s);
            panel.points.push(Point { series: Series::First, x, y, far });
        }
    }
}

/// How unsure a reading itself is, beside the band: hydrometer, watch and jug, thermometer.
const READ_SD: [f64; 3] = [0.15, 0.4, 0.5];

/// Whether a noted figure lies outside what was expected of it.
fn outside(expected: &Figure, noted: f64, which: usize) -> bool {
    let sd = expected.band.as_ref().map_or(0.0, |band| band.sd);
    let both = sd.hypot(READ_SD[which]);
    (noted - expected.value).abs() > forecast::figure::NINE_IN_TEN * both
}

/// The strip with its figures, where its group is known by figures.
fn parted(run: &Expected, heart: Option<&Heart>, at: usize, mut strip: Strip) -> Strip {
    let congener: Option<&Congener> = run.trace.congeners().get(at).map(|(c, _)| *c);
    let known = congener.is_some_and(|c| run.known(c.group) == Known::Fitted);
    let found = heart.and_then(|h| h.congeners.get(at)).filter(|_| known);
    strip.parts = found.map(|one| {
        [one.before, one.within, one.after]
            .map(|share| format!("{}\u{202f}%", figure::fixed(100.0 * share, 0)))
    });
    strip
}

fn ticks(
    app: &App,
    view: &View,
    followed: &Followed,
    asked: &Asked,
    last: f64,
) -> Vec<(f64, String)> {
    if asked.by_litres {
        let (at, decimals) = nice_ticks(0.0, last);
        let count = at.len();
        let word = |(i, v): (usize, f64)| {
            let text = figure::fixed(v, decimals);
            (v, if i + 1 == count { format!("{text}\u{202f}L") } else { text })
        };
        return at.into_iter().enumerate().map(word).collect();
    }
    if !view.under_way() {
        return hour_ticks(last / 60.0).into_iter().map(|(h, word)| (h * 60.0, word)).collect();
    }
    // Under way: whole hours of the clock.
    let begins = app.clock.local(followed.first);
    let into = f64::from(begins.minute()) + f64::from(begins.second()) / 60.0;
    let step = if last > 60.0 * 7.0 { 120.0 } else { 60.0 };
    let first = 60.0 - into;
    let count = ((last - first) / step).floor().max(0.0) as usize + 1;
    (0..count)
        .map(|i| first + step * i as f64)
        .filter(|at| *at < last)
        .map(|at| (at, when::clock(&app.clock.local(followed.at(at * 60.0)))))
        .collect()
}

/// Puts the heart and the marks that move it into the picture.
fn cut(
    app: &App,
    view: &View,
    followed: &Followed,
    (asked, heart): (&Asked, &Heart),
    picture: &mut RunPicture,
) {
    let run = &followed.run;
    let Cuts { from_min, to_pct } = heart.cuts;
    let to_s = super::view::reached(run, to_pct).unwrap_or(run.trace.end_s());
    let (from, to) = (asked.place(run, from_min * 60.0), asked.place(run, to_s));
    let strength = |s: f64| figure::unit(&figure::fixed(s, 1), "% vol");
    let litres = |l: f64| figure::unit(&figure::fixed(l, 0), "L");
    picture.heart = Kept {
        from,
        to,
        says: vec![
            format!(
                "heart {} at {}",
                litres(heart.heart.volume_20_l),
                strength(heart.heart.strength_pct)
            ),
            format!(
                "{} pure alcohol",
                litres(heart.heart.volume_20_l * heart.heart.strength_pct / 100.0)
            ),
        ],
        after: format!("feints {}", litres(heart.feints.volume_20_l)),
    };
    let begins = run.trace.point(from_min * 60.0).strength_pct;
    let ends = if view.under_way() {
        when::clock(&app.clock.local(followed.at(to_s)))
    } else {
        figure::unit(&figure::fixed(to_s / 3600.0, 1), "h")
    };
    let minutes = figure::unit(&figure::fixed(from_min, 0), "min");
    picture.movers = Some(Movers {
        height: picture.depth(),
        first: Mover {
            field: "from_min",
            name: "to heart",
            share: picture.plot.share_of(from),
            value: crate::form::bare_digits(from_min),
            low: crate::form::bare_digits(asked.from_field.low),
            high: crate::form::bare_digits(asked.from_field.high),
            step: "1",
            falls: false,
            says: format!("{minutes}, {}", strength(begins)),
        },
        second: Mover {
            field: "to_pct",
            name: "to feints",
            share: picture.plot.share_of(to),
            value: crate::form::bare_digits(to_pct),
            low: crate::form::bare_digits(asked.to_field.low),
            high: crate::form::bare_digits(asked.to_field.high),
            step: "0.5",
            falls: true,
            says: format!("{ends}, {}", strength(to_pct)),
        },
    });
}

/// The hairline at a place; none where nothing is pointed at.
pub(super) fn hair(
    app: &App,
    view: &View,
    followed: &Followed,
    asked: &Asked,
    time_s: Option<f64>,
) -> Markup {
    let picture = picture(app, view, followed, asked, None);
    if let Some(time_s) = time_s {
        picture.hair(asked.place(&followed.run, time_s))
    } else {
        html! { svg { svg id="hair" data-part {} } }
    }
}

/// The line of figures above the plot: at a place, or now, or at the first running.
pub(super) fn readout(app: &App, view: &View, followed: &Followed, time_s: Option<f64>) -> Markup {
    let run = &followed.run;
    let now_s = followed.since(view.now);
    let at = time_s.unwrap_or(if view.under_way() { now_s } else { 0.0 });
    let at = at.clamp(0.0, run.trace.end_s());
    let clock = if view.under_way() {
        when::clock(&app.clock.local(followed.at(at)))
    } else {
        figure::unit(&figure::fixed(at / 60.0, 0), "min")
    };
    let one = |name: &str, f: &Figure, unit: &str| {
        html! {
            span {
                (name) " " i { (figure::fixed(f.value, f.decimals)) }
                span.u { "\u{202f}" (unit) }
            }
        }
    };
    html! {
        p.readout id="readout" data-part {
            span { (clock) }
            (one("strength", &run.strength_at(at), "% vol"))
            (one("flow", &run.flow_at(at), "L/min"))
            (one("head", &run.head_at(at), "°C"))
            (one("over so far", &run.over_at(at), "L"))
        }
    }
}
