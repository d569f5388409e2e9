//! The bins: which malt lies where, of which age and smoke, what may be used and what must wait.
//!
//! The first in is the lowest. A make is drawn from one bin at a time, the oldest first; malt
//! rests before it is mashed, and what waits for a laboratory is not drawn.

use super::seen::{hours, later};
use crate::chain::usual_weather;
use house::malted::MaltAnalysis;
use house::standing::{Bin, Layer, Share};
use house::vessel::Bin as Own;
use house::{Equipment, House, Standing};
use jiff::Timestamp;
use process::bin::{self, AllConstants, Constants, Emptying, Vessel, phenols_left};

/// A layer smaller than this share of a usual piece has been drawn from.
const BROKEN: f64 = 0.85;
/// Above this malt is slack and grinds badly, wet basis; above the next it is not ground at all.
const SLACK_WET: f64 = 0.06;
const REFUSED_WET: f64 = 0.08;
/// It is told so long before malt must be used, d.
const USE_SOON_D: f64 = 14.0;

/// What may be done with a bin.
#[derive(Debug, Clone, PartialEq)]
pub enum State {
    /// Nothing lies in it.
    Empty,
    /// It has been begun and is drawn before any other of its make.
    InUse,
    /// Rested, and the oldest of its make.
    UseNow,
    /// Rested, and the next of its make.
    UseNext,
    /// Rested; older malt of its make goes first.
    Waits,
    /// It must rest so many days more.
    Rests {
        /// Days.
        days: f64,
    },
    /// It may not be drawn.
    Held {
        /// Why.
        why: String,
    },
}

impl State {
    /// The same in words: "use now", "rests 8 d".
    pub fn word(&self) -> String {
        match self {
            Self::Empty => "empty".to_owned(),
            Self::InUse => "in use".to_owned(),
            Self::UseNow => "use now".to_owned(),
            Self::UseNext => "use next".to_owned(),
            Self::Waits => "waits for older malt".to_owned(),
            Self::Rests { days } => format!("rests {:.0} d", days.ceil()),
            Self::Held { why } => format!("held: {why}"),
        }
    }
    /// Whether malt may be drawn.
    pub fn may_draw(&self) -> bool {
        matches!(self, Self::InUse | Self::UseNow | Self::UseNext | Self::Waits)
    }
}

/// A layer of a bin.
#[derive(Debug, Clone, PartialEq)]
pub struct LayerSeen {
    /// The piece it came from.
    pub piece: u32,
    /// The make, a key.
    pub make: String,
    /// When it was stripped.
    pub since: Timestamp,
    /// Weeks since then.
    pub weeks: f64,
    /// Tonnes as it is.
    pub t: f64,
    /// Moisture now, wet basis, 0 to 1; the top layer takes up some from the air.
    pub moisture_wet: f64,
    /// Phenols on dry malt when stripped.
    pub phenols_then_mg_kg_dry: f64,
    /// Phenols on dry malt now: they fade a little in the first month.
    pub phenols_mg_kg_dry: f64,
    /// The barley lots it came from.
    pub parts: Vec<Share>,
    /// What a laboratory found.
    pub analysis: Option<MaltAnalysis>,
    /// Whether it waits for a laboratory's release.
    pub held: bool,
    /// Days it must rest yet; 0 when it has rested.
    pub rests_d: f64,
}

/// A bin.
#[derive(Debug, Clone, PartialEq)]
pub struct BinSeen {
    /// The bin, a key.
    pub bin: String,
    /// What it holds when full, kg as it is.
    pub holds_kg: f64,
    /// What lies in it, kg as it is.
    pub lies_kg: f64,
    /// Room, kg as it is.
    pub room_kg: f64,
    /// The make that lies in it, a key; none when it is empty.
    pub make: Option<String>,
    /// Layers, lowest first.
    pub layers: Vec<LayerSeen>,
    /// Whether the lowest comes out first.
    pub lowest_first: bool,
    /// What may be done with it.
    pub state: State,
    /// When the oldest malt in it must be used.
    pub use_by: Option<Timestamp>,
    /// The piece on the kiln, if this is where it goes.
    pub for_piece: Option<u32>,
    /// What to know.
    pub says: Vec<String>,
}

/// Gives the bins of the house, in the order of its files.
///
/// # Units
/// As the fields say.
/// # Range
/// Every bin of the house, standing or empty.
/// # Error
/// Fading and moisture are designs; see [`process::bin`].
/// # Source
/// Rest and keeping are the house's.
pub fn bins(house: &House, standing: &Standing, at: Timestamp) -> Vec<BinSeen> {
    let piece_kg = usual_piece_kg(house);
    let mut out: Vec<BinSeen> = house
        .vessels("bin")
        .filter_map(|vessel| match &vessel.what {
            Equipment::Bin(own, stage) => Some((vessel, own, stage)),
            _ => None,
        })
        .map(|(vessel, own, stage)| {
            let stands = standing.bins.iter().find(|bin| bin.vessel == vessel.key);
            seen(house, &vessel.key, (own, stage), stands, at)
        })
        .collect();
    for make in &house.makes.makes {
        rank(&mut out, &make.key, piece_kg);
    }
    if let Some(kiln) = &standing.kiln {
        let malt_kg = 0.97 * kiln.dry_kg / (1.0 - 0.045);
        if let Some(bin) = place_for(&mut out, &kiln.make, malt_kg) {
            bin.for_piece = Some(kiln.piece);
        }
    }
    out
}

/// Dry malt of a usual piece.
fn usual_piece_kg(house: &House) -> f64 {
    let kilns = house.vessels("kiln");
    let beds = kilns.filter_map(|vessel| match &vessel.what {
        Equipment::Kiln(own, stage) => Some(own.bed_dry_kg_m2 * stage.area_m2),
        _ => None,
    });
    0.96 * beds.fold(0.0, f64::max)
}

fn seen(
    house: &House,
    key: &str,
    (own, stage): (&Own, &Vessel),
    stands: Option<&Bin>,
    at: Timestamp,
) -> BinSeen {
    let layers = stands.map_or(&[][..], |bin| bin.layers.as_slice());
    let layers = layers_seen(house, own, stage, layers, at);
    let lies_kg = 1000.0 * layers.iter().map(|layer| layer.t).sum::<f64>();
    let holds_kg = stage.measures.holds_kg;
    let mut makes: Vec<&str> = layers.iter().map(|layer| layer.make.as_str()).collect();
    makes.dedup();
    let mut says = Vec::new();
    if makes.len() > 1 {
        let names: Vec<&str> = makes
            .iter()
            .map(|make| house.make(make).map_or(*make, |make| make.name.as_str()))
            .collect();
        says.push(format!("Malt of {} lies in one bin.", names.join(" and ")));
    }
    if lies_kg > holds_kg * 1.001 {
        says.push(format!("It is booked {:.1} t over what it holds.", (lies_kg - holds_kg) / 1e3));
    }
    let oldest = layers.iter().map(|layer| layer.since).min();
    let use_by = oldest.map(|since| later(since, 168.0 * own.keep_weeks));
    if let Some(use_by) = use_by {
        let left_d = hours(at, use_by) / 24.0;
        if left_d < 0.0 {
            says.push(format!("It has lain {:.0} days beyond its keeping.", -left_d));
        } else if left_d < USE_SOON_D {
            says.push(format!("Use it within {left_d:.0} days."));
        }
    }
    if let Some(top) = layers.last() {
        let pct = 100.0 * top.moisture_wet;
        if top.moisture_wet > REFUSED_WET {
            says.push(format!("The top has {pct:.1} % moisture: dry it before it is ground."));
        } else if top.moisture_wet > SLACK_WET {
            says.push(format!("The top has drawn moisture to {pct:.1} % and grinds badly."));
        }
    }
    let lowest_first = stage.emptying == Emptying::Sinking;
    let state = alone(&layers, lowest_first);
    BinSeen {
        bin: key.to_owned(),
        holds_kg,
        lies_kg,
        room_kg: (holds_kg - lies_kg).max(0.0),
        make: layers.first().map(|layer| layer.make.clone()),
        lowest_first,
        state,
        use_by,
        for_piece: None,
        says,
        layers,
    }
}

/// The layers as they are now: faded, and the top one as the air has left it.
fn layers_seen(
    house: &House,
    own: &Own,
    stage: &Vessel,
    layers: &[Layer],
    at: Timestamp,
) -> Vec<LayerSeen> {
    let constants = Constants::default();
    let top = top_moisture(house, stage, layers, at);
    let last = layers.len().saturating_sub(1);
    layers
        .iter()
        .enumerate()
        .map(|(place, layer)| {
            let age_d = (hours(layer.since, at) / 24.0).max(0.0);
            let wet =
                if place == last { top.unwrap_or(layer.moisture_wet) } else { layer.moisture_wet };
            LayerSeen {
                piece: layer.piece,
                make: layer.make.clone(),
                since: layer.since,
                weeks: age_d / 7.0,
                t: layer.dry_kg / (1.0 - wet) / 1000.0,
                moisture_wet: wet,
                phenols_then_mg_kg_dry: layer.phenols_mg_kg_dry,
                phenols_mg_kg_dry: layer.phenols_mg_kg_dry * phenols_left(&constants, 0.0, age_d),
                parts: layer.parts.clone(),
                analysis: layer.analysis.clone(),
                held: layer.held,
                rests_d: (7.0 * own.rest_weeks - age_d).max(0.0),
            }
        })
        .collect()
}

/// Moisture of the top layer after its days in the bin, by the stage.
fn top_moisture(house: &House, stage: &Vessel, layers: &[Layer], at: Timestamp) -> Option<f64> {
    let top = layers.last()?;
    let days = hours(top.since, at) / 24.0;
    if days <= 0.0 {
        return Some(top.moisture_wet);
    }
    let weather = usual_weather(house, later(top.since, 12.0 * days));
    let layer = bin::Layer {
        dry_kg: top.dry_kg,
        moisture_wet: top.moisture_wet.clamp(0.01, 0.16),
        ..bin::Layer::default()
    };
    let stay = bin::Programme {
        days: days.min(365.0),
        draw_kg: 0.0,
        air_c: weather.air_c,
        air_relative_humidity: weather.relative_humidity,
        rest_d: 0.0,
        ..bin::Programme::default()
    };
    let charge = bin::Charge { layers: vec![layer], ..bin::Charge::default() };
    let run = bin::run(&charge, stage, &stay, &AllConstants::default()).ok()?;
    run.out.left.last().map(|layer| layer.moisture_wet)
}

/// What a bin is by itself, before it is ranked among those of its make.
fn alone(layers: &[LayerSeen], lowest_first: bool) -> State {
    let next = if lowest_first { layers.first() } else { layers.last() };
    let Some(next) = next else {
        return State::Empty;
    };
    let said_no = next.analysis.as_ref().is_some_and(|found| found.release == Some(false));
    if said_no {
        return State::Held { why: "the laboratory has not released it".to_owned() };
    }
    if next.held {
        return State::Held { why: "it waits for the laboratory".to_owned() };
    }
    if next.rests_d > 0.0 {
        return State::Rests { days: next.rests_d };
    }
    State::Waits
}

/// Oldest first among the bins of a make that may be drawn; one that is begun before all others.
fn rank(bins: &mut [BinSeen], make: &str, piece_kg: f64) {
    let mut ready: Vec<usize> = (0..bins.len())
        .filter(|i| bins[*i].make.as_deref() == Some(make) && bins[*i].state == State::Waits)
        .collect();
    let next = |bin: &BinSeen| {
        let layer = if bin.lowest_first { bin.layers.first() } else { bin.layers.last() };
        layer.map(|layer| (layer.since, 1000.0 * layer.t * (1.0 - layer.moisture_wet)))
    };
    let begun = |bin: &BinSeen| next(bin).is_some_and(|(_, dry_kg)| dry_kg < BROKEN * piece_kg);
    ready.sort_by_key(|i| (!begun(&bins[*i]), next(&bins[*i]).map(|(since, _)| since)));
    for (place, i) in ready.into_iter().enumerate() {
        bins[i].state = match place {
            0 if begun(&bins[i]) => State::InUse,
            0 => State::UseNow,
            1 => State::UseNext,
            _ => State::Waits,
        };
    }
}

/// Where malt of a make goes: on its own kind where there is room, and not on what is being drawn;
/// else into an empty bin.
fn place_for<'b>(bins: &'b mut [BinSeen], make: &str, malt_kg: f64) -> Option<&'b mut BinSeen> {
    let fits = |bin: &BinSeen| {
        let own = bin.make.as_deref() == Some(make) && !matches!(bin.state, State::InUse);
        own && bin.room_kg >= malt_kg
    };
    let place = bins
        .iter()
        .position(fits)
        .or_else(|| bins.iter().position(|bin| bin.state == State::Empty))?;
    bins.get_mut(place)
}
