//! What is in the maltings now, in a line.

use crate::app::{App, Working};
use crate::layout::Live;
use crate::places::today::expect::Outlook;
use crate::when;
use house::Standing;
use jiff::Timestamp;
use maud::{Markup, html};
use plan::{TaskKind, Work};
use sheets::figure;
use std::sync::Arc;

/// The line beneath the name of the place: what wants a hand, else what is on.
pub(in crate::places) fn live(app: &App, open: &Arc<Working>) -> Live {
    let now = app.clock.now();
    let Ok(outlook) = Outlook::at(open, now) else { return Live::default() };
    let late = outlook.due(now);
    let late = late.iter().find(|work| work.late_min > 0 && is_here(work));
    if let Some(work) = late {
        let what = match work.kind {
            TaskKind::Turn => "turn",
            TaskKind::Reading => "reading",
            TaskKind::Steep => "steep",
            TaskKind::Floor => "casting",
            _ => work.act,
        };
        let place = crate::form::lower(&crate::places::vessel(open, &work.vessel));
        return Live { says: format!("{what} due, {place}"), wanted: true };
    }
    let standing = &outlook.standing;
    let says = match (&standing.kiln, standing.floors.len()) {
        (Some(kiln), _) => format!("kiln, hour {}", hour(kiln.since, now)),
        (None, 1) => "1 on floors".to_owned(),
        (None, pieces) => format!("{pieces} on floors"),
    };
    Live { says, wanted: false }
}

/// Whether a piece of work is done in the maltings.
pub(super) fn is_here(work: &Work) -> bool {
    let kinds = [TaskKind::Steep, TaskKind::Floor, TaskKind::Turn, TaskKind::Kiln];
    kinds.contains(&work.kind) || (work.kind == TaskKind::Reading && work.lot_word == "piece")
}

/// Which hour of a kilning it is; the first is 1.
pub(super) fn hour(lit: Timestamp, now: Timestamp) -> i64 {
    when::ago(lit, now).max(0) / 3600 + 1
}

/// The line beside the name of the place.
pub(super) fn line(app: &App, open: &Working, standing: &Standing) -> Markup {
    let now = app.clock.now();
    let kg: f64 = standing.bins.iter().flat_map(|b| &b.layers).map(layer_kg).sum();
    let steeps = match standing.steeps.len() {
        0 => None,
        1 => Some("1 in steep".to_owned()),
        many => Some(format!("{many} in steep")),
    };
    let floors = match standing.floors.len() {
        0 => "no piece on the floors".to_owned(),
        1 => "1 piece on the floors".to_owned(),
        many => format!("{many} pieces on the floors"),
    };
    let kiln = standing.kiln.as_ref().map_or_else(
        || "the kiln is empty".to_owned(),
        |k| format!("the kiln holds piece {}, hour {}", k.piece, hour(k.since, now)),
    );
    let tonnes = figure::unit(&figure::fixed(kg / 1000.0, 1), "t");
    let bins = format!("{tonnes} in {}", bins_word(open));
    let all: Vec<String> =
        [steeps, Some(floors), Some(kiln), Some(bins)].into_iter().flatten().collect();
    html! { (all.join(" · ")) }
}

fn bins_word(open: &Working) -> String {
    match open.house.vessels("bin").count() {
        1 => "the bin".to_owned(),
        many => format!("{many} bins"),
    }
}

/// A layer as it lies, kg.
pub(super) fn layer_kg(layer: &house::standing::Layer) -> f64 {
    layer.dry_kg / (1.0 - layer.moisture_wet).max(0.1)
}
