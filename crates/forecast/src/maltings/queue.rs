//! The queue for the kiln: which piece waits, how long, what each hour of it costs, and what
//! would avoid it.
//!
//! A ready piece goes on growing. It breathes starch away and its rootlets take more of it, and
//! corns outgrow their husks; its softening beyond ready is not credited, for it was soft enough.
//! The cost is told in litres of pure alcohol that the malt's analysis would have promised.

use super::kilning::{Kilned, kiln_of, make_of, usual_firing};
use super::piece::{Floored, Point};
use super::seen::{Between, hours, later};
use house::{House, Make, Standing};
use jiff::Timestamp;
use process::bin::{AnalysisConstants, Making, analysis};

/// Coldest that a floor is asked to be kept, °C.
const COLDEST_C: f64 = 11.0;
/// A wait shorter than this is none.
const NO_WAIT_H: f64 = 0.25;
/// Litres by which another order must be better to be told.
const WORTH_L: f64 = 2.0;
/// Moisture of the malt for which litres are told, wet basis, and hours of curing.
const MALT_WET: f64 = 0.045;
const CURE: (f64, f64) = (68.0, 4.0);

/// What waits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Load {
    /// A piece.
    Piece(u32),
    /// A lot of barley too wet to store.
    Lot(String),
}

/// How a lot is dried for store.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dried {
    /// Loads of the kiln.
    pub loads: u32,
    /// Safe air-on.
    pub air_on_c: f64,
    /// Hours of fire of one load.
    pub hours: f64,
    /// Oil for all of them.
    pub oil_kg: f64,
}

/// A load that waits for the kiln.
#[derive(Debug, Clone, PartialEq)]
pub struct Waiting {
    /// What.
    pub load: Load,
    /// The make, a key; empty for barley to be dried.
    pub make: String,
    /// Where it lies, a key; empty for barley in store.
    pub vessel: String,
    /// When it is ready.
    pub ready: Between,
    /// When the kiln is free for it.
    pub kiln_at: Timestamp,
    /// Hours on the kiln, with stripping and loading.
    pub kiln_h: f64,
    /// Hours that it waits.
    pub waits_h: f64,
    /// Whether that is longer than the floor may hold it.
    pub too_long: bool,
    /// Dry matter breathed and gone into rootlets while it waits, kg of malt.
    pub lost_kg: f64,
    /// What that costs, litres of pure alcohol.
    pub costs_l: f64,
    /// The same for the last hour of the wait, or the first of one.
    pub costs_l_h: f64,
    /// Corns outgrown when it is loaded, %.
    pub overgrown_pct: f64,
    /// Points of that by the wait.
    pub overgrown_more_pct: f64,
    /// Temperature between turns at which it would be ready just when the kiln is free, °C.
    pub cooler_c: Option<f64>,
    /// The piece it should go before.
    pub before: Option<u32>,
    /// How barley too wet to store is dried.
    pub dried: Option<Dried>,
    /// What would avoid it.
    pub says: Vec<String>,
}

/// Gives the queue, in the order in which the kiln is loaded.
///
/// # Units
/// As the fields say.
/// # Range
/// Pieces on floors; lots above their contract's moisture are dried where the kiln would stand
/// idle, else after the last piece.
/// # Error
/// Loss by the constants of the floor and of the analysis, both designs.
/// # Source
/// [`process::floor`], [`process::bin::analysis`].
pub fn queue(
    house: &House,
    standing: &Standing,
    pieces: &[Floored],
    kilned: Option<&Kilned>,
    at: Timestamp,
) -> Vec<Waiting> {
    let turnaround_h = turnaround_h(house);
    let free = kilned.map_or(at, |kilned| later(kilned.finish.likely, turnaround_h)).max(at);
    let mut order: Vec<&Floored> = pieces.iter().collect();
    order.sort_by_key(|piece| (piece.ready.likely, piece.piece));
    let plain = line(house, &order, free);
    let mut out: Vec<Waiting> =
        order.iter().zip(&plain).map(|(piece, slot)| waiting(house, piece, slot)).collect();
    for place in 1..order.len() {
        swap(house, &order, place, free, &plain, &mut out);
    }
    dry(house, standing, free, turnaround_h, &mut out);
    out.sort_by_key(|waiting| waiting.kiln_at);
    out
}

/// When a piece is loaded, and how long the kiln is taken by it.
#[derive(Debug, Clone, Copy)]
struct Slot {
    at: Timestamp,
    hours: f64,
}

/// One after another, each when it is ready and the kiln free.
fn line(house: &House, order: &[&Floored], free: Timestamp) -> Vec<Slot> {
    let mut free = free;
    order
        .iter()
        .map(|piece| {
            let at = free.max(piece.ready.likely);
            let hours = kiln_h(house, &piece.make);
            free = later(at, hours);
            Slot { at, hours }
        })
        .collect()
}

fn kiln_h(house: &House, make: &str) -> f64 {
    let firing = make_of(house, make).ok().map(|make: &Make| {
        let area = kiln_of(house, "").map_or(1.0, |(_, _, stage)| stage.area_m2);
        usual_firing(make, area).hours()
    });
    firing.unwrap_or(30.0) + turnaround_h(house)
}

/// Hours to strip and load a kiln again.
pub(crate) fn turnaround_h(house: &House) -> f64 {
    kiln_of(house, "").map_or(0.0, |(_, own, _)| own.turnaround_h)
}

fn waiting(house: &House, piece: &Floored, slot: &Slot) -> Waiting {
    let ready = piece.ready.likely;
    let waits_h = hours(ready, slot.at).max(0.0);
    let waits_h = if waits_h < NO_WAIT_H { 0.0 } else { waits_h };
    let potential = Potential::of(house, piece);
    let cost = |wait_h: f64| potential.litres(0.0) - potential.litres(wait_h);
    let (from_h, to_h) = ((waits_h - 1.0).max(0.0), waits_h.max(1.0));
    let over = |wait_h: f64| 100.0 * potential.after(wait_h).overgrown_fraction;
    let hold_h = hours(ready, piece.hold_until);
    let cooler_c = (waits_h > 0.0).then(|| cooler(piece, slot.at)).flatten();
    let mut says = Vec::new();
    let too_long = waits_h > hold_h + 0.01;
    if too_long {
        says.push(format!(
            "Piece {} waits {waits_h:.0} h, longer than its floor may hold it ({hold_h:.0} h).",
            piece.piece
        ));
    }
    if let Some(c) = cooler_c {
        says.push(format!(
            "Piece {} kept at {c:.1} °C from now on is ready just when the kiln is free.",
            piece.piece
        ));
    }
    Waiting {
        load: Load::Piece(piece.piece),
        make: piece.make.clone(),
        vessel: piece.vessel.clone(),
        ready: piece.ready,
        kiln_at: slot.at,
        kiln_h: slot.hours,
        waits_h,
        too_long,
        lost_kg: potential.after(0.0).malt_dry_kg - potential.after(waits_h).malt_dry_kg,
        costs_l: cost(waits_h),
        costs_l_h: (cost(to_h) - cost(from_h)) / (to_h - from_h),
        overgrown_pct: over(waits_h),
        overgrown_more_pct: over(waits_h) - over(0.0),
        cooler_c,
        before: None,
        dried: None,
        says,
    }
}

/// The mean temperature at which what is left of the growth takes until `at`: growth doubles each
/// ten kelvin.
fn cooler(piece: &Floored, at: Timestamp) -> Option<f64> {
    let (left_h, given_h) = (hours(piece.at, piece.ready.likely), hours(piece.at, at));
    if left_h < 6.0 {
        return None;
    }
    let ahead = piece.points.iter().filter(|p| p.at >= piece.at && p.at <= piece.ready.likely);
    let (sum, count) = ahead.fold((0.0, 0_u32), |(sum, n), p| (sum + p.grain_c, n + 1));
    let mean_c = sum / f64::from(count.max(1));
    let cooler = mean_c + 10.0 * (left_h / given_h).log2();
    (count > 0 && cooler >= COLDEST_C).then_some(cooler)
}

/// What a piece is worth, hour by hour after it was ready.
struct Potential<'p> {
    piece: &'p Floored,
    barley_dry_kg: f64,
    constants: AnalysisConstants,
}

impl<'p> Potential<'p> {
    fn of(house: &House, piece: &'p Floored) -> Self {
        let landrace = house
            .make(&piece.make)
            .and_then(|make| house.barley(make.barleys.first()?))
            .is_some_and(|barley| barley.kind == "landrace");
        let usual = AnalysisConstants::default();
        let constants = if landrace {
            AnalysisConstants { extract_most_pct_dry: 77.5, ..usual }
        } else {
            usual
        };
        let green = &piece.green;
        let malt_kg = green.dry_kg * (1.0 - green.rootlet_fraction);
        let barley_dry_kg = malt_kg / (1.0 - green.malting_loss_fraction);
        Self { piece, barley_dry_kg, constants }
    }

    /// The piece so many hours after it was ready; beyond what was followed, as it went on last.
    fn after(&self, wait_h: f64) -> Point {
        let at = later(self.piece.ready.likely, wait_h);
        if let Some(point) = self.piece.at(at) {
            return point;
        }
        let points = &self.piece.points;
        let last = points[points.len() - 1];
        let before = self.piece.at(later(last.at, -4.0)).unwrap_or(last);
        let steps = hours(last.at, at) / hours(before.at, last.at).max(0.1);
        let on = |a: f64, b: f64| b + steps * (b - a);
        Point {
            malt_dry_kg: on(before.malt_dry_kg, last.malt_dry_kg),
            overgrown_fraction: on(before.overgrown_fraction, last.overgrown_fraction).min(1.0),
            acrospire: on(before.acrospire, last.acrospire),
            ..last
        }
    }

    /// Litres of pure alcohol that its malt would promise.
    fn litres(&self, wait_h: f64) -> f64 {
        let kg = self.after(wait_h).malt_dry_kg;
        let making = Making {
            nitrogen_pct_dry: self.piece.green.nitrogen_pct_dry,
            modification: self.after(0.0).modification,
            malting_loss_fraction: 1.0 - kg / self.barley_dry_kg,
            germinating_fraction: self.piece.green.germinating_fraction,
            cure_c: CURE.0,
            cure_h: CURE.1,
        };
        let l_t = analysis::expected(&making, &self.constants)
            .predicted_spirit_yield_l_t(MALT_WET, &self.constants);
        kg / (1.0 - MALT_WET) / 1000.0 * l_t
    }
}

/// Tries a piece before the one ahead of it, and tells it where all together that costs less.
fn swap(
    house: &House,
    order: &[&Floored],
    place: usize,
    free: Timestamp,
    plain: &[Slot],
    out: &mut [Waiting],
) {
    if out[place].waits_h <= 0.0 {
        return;
    }
    let mut other = order.to_vec();
    other.swap(place - 1, place);
    let slots = line(house, &other, free);
    let cost = |order: &[&Floored], slots: &[Slot]| -> f64 {
        let one = |(piece, slot): (&&Floored, &Slot)| waiting(house, piece, slot).costs_l;
        order.iter().zip(slots).map(one).sum()
    };
    let saves_l = cost(order, plain) - cost(&other, &slots);
    let (ahead, waits) =
        (order[place - 1].piece, hours(order[place].ready.likely, slots[place - 1].at));
    if saves_l > WORTH_L {
        out[place].before = Some(ahead);
        out[place].says.push(format!(
            "Piece {} kilned before piece {ahead} waits {:.0} h, and all together cost \
             {saves_l:.0} L less.",
            order[place].piece,
            waits.max(0.0)
        ));
    }
}

/// Lots too wet to store, where the kiln would stand idle.
fn dry(
    house: &House,
    standing: &Standing,
    free: Timestamp,
    turnaround_h: f64,
    out: &mut Vec<Waiting>,
) {
    for lot in &standing.lots {
        let Some(barley) = house.barley(&lot.barley) else { continue };
        if lot.dry_kg < 1.0 || lot.moisture_wet <= barley.contract.most_moisture_wet + 1e-9 {
            continue;
        }
        let mass_kg = lot.dry_kg / (1.0 - lot.moisture_wet);
        let dried = super::gate::drying(house, mass_kg, lot.moisture_wet, &barley.contract, free);
        let Ok(dried) = dried else { continue };
        let hours = dried.all_hours + f64::from(dried.loads) * turnaround_h;
        let at = gap(out, free, hours);
        out.push(Waiting {
            load: Load::Lot(lot.lot.clone()),
            make: String::new(),
            vessel: lot.silo.clone(),
            ready: Between { from: lot.since, likely: lot.since, to: lot.since },
            kiln_at: at,
            kiln_h: hours,
            waits_h: super::seen::hours(lot.since, at).max(0.0),
            too_long: false,
            lost_kg: 0.0,
            costs_l: 0.0,
            costs_l_h: 0.0,
            overgrown_pct: 0.0,
            overgrown_more_pct: 0.0,
            cooler_c: None,
            before: None,
            dried: Some(Dried {
                loads: dried.loads,
                air_on_c: dried.air_on_c,
                hours: dried.hours,
                oil_kg: dried.oil_kg,
            }),
            says: vec![format!(
                "{:.1} t of {} at {:.1} % are too wet to lie: {} at {:.0} °C air-on, {:.0} h each.",
                mass_kg / 1000.0,
                lot.lot,
                100.0 * lot.moisture_wet,
                if dried.loads == 1 { "one load".into() } else { format!("{} loads", dried.loads) },
                dried.air_on_c,
                dried.hours
            )],
        });
        out.sort_by_key(|waiting| waiting.kiln_at);
    }
}

/// The first stretch of so many hours in which the kiln is idle, else the end of the queue.
fn gap(taken: &[Waiting], free: Timestamp, wanted_h: f64) -> Timestamp {
    let mut from = free;
    for waiting in taken {
        if hours(from, waiting.kiln_at) >= wanted_h {
            break;
        }
        from = from.max(later(waiting.kiln_at, waiting.kiln_h));
    }
    from
}
