//! A make's route in the house as a settled circuit: what flows where, what goes round, how often
//! a litre was distilled, and what a week asks of each still.
//!
//! All amounts are for one mash, in the mean of many: a still takes them in charges of its usual
//! size, with its own fire and head. Congeners are carried in grams.

use super::circuit_route::{self, Route};
use super::congeners::in_wash;
use crate::batch::Asked;
use crate::chain::{self, begin};
use gauge::{Fault, Warning};
use house::make::Make;
use house::{House, KeptCuts};
use jiff::Timestamp;
use process::circuit::{self, Dilution, Turn, Wash, Week, Weekly, weekly};
use process::still::{Charge, Congener, Constants, Moles};

/// What is asked of a circuit, in place of what the house's files say.
#[derive(Debug, Clone, PartialEq)]
pub struct CircuitAsked {
    /// Share of the low wines that skips the middle still; that of the make when not given.
    pub skip: Option<f64>,
    /// Mashes a week.
    pub mashes_a_week: f64,
    /// The cuts the house keeps to now; those of the make when not given.
    pub cuts: Option<KeptCuts>,
    /// The wash of one mash; foretold from mash and ferment when not given ([`wash`]).
    pub wash: Option<Moles>,
    /// Congeners of the wash, g for each litre of its pure alcohol; none given, those of the make
    /// ([`in_wash`]).
    pub congeners: Vec<(&'static Congener, f64)>,
    /// The still's constants, as fitted.
    pub constants: Constants,
    /// Factor on the heat lost by every head, as fitted.
    pub head_loss: f64,
}

impl CircuitAsked {
    /// As the house is worked: its mashes a week, its files' cuts and shares.
    pub fn usual(house: &House) -> Self {
        Self {
            skip: None,
            mashes_a_week: house.season.calendar.week_mashes,
            cuts: None,
            wash: None,
            congeners: Vec::new(),
            constants: Constants::default(),
            head_loss: 1.0,
        }
    }
}

/// One stream of one mash.
#[derive(Debug, Clone, PartialEq)]
pub struct Stream {
    /// `spirit.charge`, `spirit.heart`, `spirit.residue`; `wash`.
    pub name: String,
    /// Ethanol and water.
    pub moles: Moles,
    /// Congeners, g.
    pub congeners_g: Vec<(&'static Congener, f64)>,
}

impl Stream {
    /// Litres of pure alcohol at 20 °C.
    pub fn pure_alcohol_l(&self) -> f64 {
        self.moles.pure_alcohol_l()
    }
    /// Litres at 20 °C.
    pub fn volume_20_l(&self) -> f64 {
        self.moles.volume_20_l()
    }
    /// Strength at 20 °C, % vol.
    pub fn strength_pct(&self) -> f64 {
        self.moles.strength_pct()
    }
    /// Phenols, mg for each litre of it as it is.
    pub fn phenols_mg_l(&self) -> f64 {
        let smoke = self.congeners_g.iter().filter(|(congener, _)| congener.phenol());
        let grams: f64 = smoke.map(|(_, grams)| grams).sum();
        if grams > 0.0 { 1000.0 * grams / self.volume_20_l() } else { 0.0 }
    }
    fn times(&self, by: f64) -> Self {
        let congeners = self.congeners_g.iter().map(|(congener, grams)| (*congener, by * grams));
        Self {
            name: self.name.clone(),
            moles: self.moles.times(by),
            congeners_g: congeners.collect(),
        }
    }
}

/// One flow of the picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Flow {
    /// The stream: `wash.low_wines`.
    pub stream: String,
    /// Where it comes from: a pass, or [`WASH`].
    pub from: String,
    /// Where it goes: a pass, or [`SPIRIT`], [`POT_ALE`], [`LEES`].
    pub to: String,
    /// Its share of the stream.
    pub fraction: f64,
    /// Litres of pure alcohol of one mash.
    pub pure_alcohol_l: f64,
    /// Whether it goes back: foreshots and feints.
    pub returns: bool,
}

/// Where the wash of the picture comes from.
pub const WASH: &str = "washback";
/// Where the spirit goes.
pub const SPIRIT: &str = "new spirit";
/// What is left of wash.
pub const POT_ALE: &str = "pot ale";
/// What is left of any other charge.
pub const LEES: &str = "spent lees";

/// One pass of the route as it is worked.
#[derive(Debug, Clone, PartialEq)]
pub struct PassWork {
    /// The pass: `wash`, `middle`, `spirit`.
    pub pass: String,
    /// The vessels it may be run in, the usual one first.
    pub stills: Vec<String>,
    /// Charges a mash, in the mean.
    pub charges: f64,
    /// Litres at 20 °C of a charge.
    pub charge_20_l: f64,
    /// Temperature at which it comes in, °C.
    pub charge_c: f64,
    /// Strength of the charge, % vol.
    pub charge_pct: f64,
    /// Hours of one charge: to the first running, the run, and charging and discharging.
    pub charge_h: f64,
    /// Hours a week, of all stills that share the pass.
    pub week_h: f64,
}

/// A make's circuit, settled.
#[derive(Debug, Clone, PartialEq)]
pub struct Settled {
    /// The make.
    pub make: String,
    /// The wash, then every charge, cut and residue, of one mash.
    pub streams: Vec<Stream>,
    /// The flows of the picture.
    pub flows: Vec<Flow>,
    /// The passes in order.
    pub passes: Vec<PassWork>,
    /// The stream that is the spirit: `spirit.heart`.
    pub product: String,
    /// Share of the low wines that skips the middle still, where there is one.
    pub skip: Option<f64>,
    /// Mean distillations of the spirit's alcohol, each return of feints counted.
    pub passes_with_recycle: f64,
    /// Mean distinct stills on the way: what the trade calls twice or three times distilled.
    pub distinct_stills: f64,
    /// Pure alcohol of the spirit over that of the wash.
    pub product_per_wash_alcohol: f64,
    /// Foreshots and feints that stand in the receiver between two charges.
    pub feints_held: Stream,
    /// Litres of pure alcohol that each pass leaves in its pot, of one mash.
    pub residue_l: Vec<(String, f64)>,
    /// Phenols in the heart, mg/L as it runs.
    pub phenols_mg_l: f64,
    /// Strength of the heart, % vol.
    pub heart_pct: f64,
    /// Hours a week of all stills together.
    pub still_hours_week: f64,
    /// The week's charges in whole numbers, and what stands over.
    pub weekly: Weekly,
    /// Charges above their still's ceiling, with the water that brings them down (one mash).
    pub dilutions: Vec<Dilution>,
    /// Largest change from one mash to the next over the amount in the wash.
    pub residual: f64,
    /// What to know.
    pub warnings: Vec<Warning>,
}

impl Settled {
    /// The stream called `name`.
    pub fn stream(&self, name: &str) -> Option<&Stream> {
        self.streams.iter().find(|stream| stream.name == name)
    }
    /// The spirit of one mash.
    pub fn spirit(&self) -> Option<&Stream> {
        self.stream(&self.product)
    }
    /// The pass called `name`.
    pub fn pass(&self, name: &str) -> Option<&PassWork> {
        self.passes.iter().find(|pass| pass.pass == name)
    }
}

/// Settles the circuit of a make: `make` by key or name.
///
/// # Units
/// mol, L at 20 °C, g, h; for one mash, and for a week where it says so.
/// # Range
/// A make of the house; a share that skips from 0 to 1.
/// # Error
/// That of [`process::circuit`], settled to 1e-6; the bands of a run are the run's own.
/// # Source
/// As of [`process::circuit`].
pub fn settle(house: &House, make: &str, asked: &CircuitAsked) -> Result<Settled, Fault> {
    let make = circuit_route::make_of(house, make)?;
    let wash = asked.wash.map_or_else(|| wash_of(house, make), Ok)?;
    let route = circuit_route::route(house, make, asked)?;
    let charge = wash_charge(wash, &congeners_of(house, make, asked));
    let run = circuit::run(&charge, &route.vessel, &programme(house, &route), &asked.constants)?;
    let week = Week { washes: asked.mashes_a_week, ..Week::default() };
    let weekly = weekly(&run, &route.vessel, &route.product, &week)?;
    let streams = streams(&run, &charge);
    let passes = passes(&run, &route, asked.mashes_a_week);
    let find = |name: &str| streams.iter().find(|stream| stream.name == name);
    let heart = find(&route.product).cloned().unwrap_or_else(|| streams[0].times(0.0));
    Ok(Settled {
        make: make.key.clone(),
        flows: flows(&streams, &route),
        product: route.product.clone(),
        skip: route.skip,
        passes_with_recycle: run.passes_with_recycle,
        distinct_stills: run.distinct_stills,
        product_per_wash_alcohol: run.product_per_wash_alcohol,
        feints_held: held(&streams, &passes, &route),
        residue_l: passes
            .iter()
            .map(|pass| {
                let left = find(&format!("{}.residue", pass.pass));
                (pass.pass.clone(), left.map_or(0.0, Stream::pure_alcohol_l))
            })
            .collect(),
        phenols_mg_l: heart.phenols_mg_l(),
        heart_pct: heart.strength_pct(),
        still_hours_week: passes.iter().map(|pass| pass.week_h).sum(),
        weekly,
        dilutions: run.dilutions,
        residual: run.residual,
        warnings: run.warnings,
        passes,
        streams,
    })
}

/// One charge of a pass of a settled circuit, with its congeners in grams: what a run begins with.
pub fn charge_of(settled: &Settled, pass: &str) -> Result<Charge, Fault> {
    let name = format!("{pass}.charge");
    let (Some(work), Some(stream)) = (settled.pass(pass), settled.stream(&name)) else {
        return Err(Fault::NotAllowed {
            field: "pass".into(),
            found: pass.to_owned(),
            allowed: settled.passes.iter().map(|pass| pass.pass.clone()).collect(),
        });
    };
    let one = stream.times(1.0 / work.charges);
    let mut charge = Charge::of_moles(one.moles);
    charge.filling.temperature_c = Some(work.charge_c);
    charge.congeners = one.congeners_g;
    Ok(charge)
}

/// Foretells the wash of one mash of a make: its usual barley, malted, mashed and fermented as the
/// house does, at the house's mean weather.
pub fn wash(house: &House, make: &str) -> Result<Moles, Fault> {
    wash_of(house, circuit_route::make_of(house, make)?)
}

pub(super) fn wash_of(house: &House, make: &Make) -> Result<Moles, Fault> {
    // The middle of spring is near the mean of the year.
    const SPRING: f64 = 110.0;
    let weather = Some(house.plant.climate.on(SPRING));
    let asked = Asked { weather, ..Asked::usual(&make.key, Timestamp::UNIX_EPOCH) };
    let first = |faults: Vec<Fault>| {
        let none = Fault::MissingPart { field: "make".into(), wanted: "a make of the house" };
        faults.into_iter().next().unwrap_or(none)
    };
    let frame = begin::frame(house, &asked).map_err(first)?;
    let carry = chain::to_wash(&frame)?;
    Ok(Moles { ethanol_mol: carry.wash_ethanol_mol, water_mol: carry.wash_water_mol })
}

/// Congeners of the wash as asked for, else as the make's wash carries them.
pub(super) fn congeners_of(
    house: &House,
    make: &Make,
    asked: &CircuitAsked,
) -> Vec<(&'static Congener, f64)> {
    if asked.congeners.is_empty() { in_wash(house, make) } else { asked.congeners.clone() }
}

/// A wash with its congeners in grams.
pub(super) fn wash_charge(wash: Moles, g_l: &[(&'static Congener, f64)]) -> circuit::Charge {
    let litres = wash.pure_alcohol_l();
    circuit::Charge {
        wash: Wash { ethanol_mol: wash.ethanol_mol, water_mol: wash.water_mol },
        congeners: g_l.iter().map(|(congener, g_l)| (*congener, g_l * litres)).collect(),
    }
}

/// How closely a circuit is settled here: far below what a dip reads.
const TOLERANCE: f64 = 1e-6;

pub(super) fn programme(house: &House, route: &Route) -> circuit::Programme {
    let pressure_pa = house.plant.site.pressure_pa;
    circuit::Programme {
        turn: Turn { pressure_pa, tolerance: TOLERANCE, ..Turn::default() },
        energy: true,
        product: route.product.clone(),
    }
}

/// The streams in grams, the wash before them.
fn streams(run: &circuit::Run, charge: &circuit::Charge) -> Vec<Stream> {
    let wash = Stream {
        name: WASH_STREAM.to_owned(),
        moles: run.wash,
        congeners_g: charge.congeners.clone(),
    };
    let grams = |stream: &circuit::Stream| {
        let shares = stream.congeners.iter().zip(&charge.congeners);
        Stream {
            name: stream.name.clone(),
            moles: stream.moles,
            congeners_g: shares.map(|((c, share), (_, grams))| (*c, share * grams)).collect(),
        }
    };
    std::iter::once(wash).chain(run.streams.iter().map(grams)).collect()
}

const WASH_STREAM: &str = "wash";

fn passes(run: &circuit::Run, route: &Route, mashes_a_week: f64) -> Vec<PassWork> {
    let works = run.work.iter().filter_map(|work| {
        let kept = route.kept.iter().find(|kept| kept.pass == work.still)?;
        let run_h = work.heat_up_h.unwrap_or(0.0) + work.run_h.unwrap_or(0.0);
        let charge_h = run_h + kept.turnaround_h;
        Some(PassWork {
            pass: work.still.clone(),
            stills: kept.stills.clone(),
            charges: work.charges,
            charge_20_l: work.charge_20_l,
            charge_c: kept.charge_c,
            charge_pct: work.charge_pct,
            charge_h,
            week_h: mashes_a_week * work.charges * charge_h,
        })
    });
    works.collect()
}

/// Every flow of the picture: charges, returns, spirit and what is left.
fn flows(streams: &[Stream], route: &Route) -> Vec<Flow> {
    let alcohol = |name: &str| {
        let stream = streams.iter().find(|stream| stream.name == name);
        stream.map_or(0.0, Stream::pure_alcohol_l)
    };
    let stills = &route.vessel.stills;
    let maker = |stream: &str| {
        let (still, _) = stream.split_once('.')?;
        stills.iter().position(|place| place.name == still)
    };
    let mut out = Vec::new();
    for (place, still) in stills.iter().enumerate() {
        for part in &still.charge {
            let by = maker(&part.from);
            out.push(Flow {
                stream: part.from.clone(),
                from: by.map_or(WASH, |by| stills[by].name.as_str()).to_owned(),
                to: still.name.clone(),
                fraction: part.fraction,
                pure_alcohol_l: part.fraction * alcohol(&part.from),
                returns: by.is_some_and(|by| by >= place),
            });
        }
        let takes_wash = still.charge.iter().any(|part| part.from == WASH_STREAM);
        let left = format!("{}.residue", still.name);
        let mut ends = vec![(left, if takes_wash { POT_ALE } else { LEES })];
        if maker(&route.product) == Some(place) {
            ends.insert(0, (route.product.clone(), SPIRIT));
        }
        for (stream, to) in ends {
            out.push(Flow {
                pure_alcohol_l: alcohol(&stream),
                stream,
                from: still.name.clone(),
                to: to.to_owned(),
                fraction: 1.0,
                returns: false,
            });
        }
    }
    out
}

/// What returns from one charge of each still: it stands until the next.
fn held(streams: &[Stream], passes: &[PassWork], route: &Route) -> Stream {
    let mut sum = streams[0].times(0.0);
    "feints".clone_into(&mut sum.name);
    for (place, still) in route.vessel.stills.iter().enumerate() {
        for part in &still.charge {
            let Some((by, _)) = part.from.split_once('.') else { continue };
            let maker = route.vessel.stills.iter().position(|s| s.name == by);
            let charges = passes.iter().find(|pass| pass.pass == by).map_or(1.0, |p| p.charges);
            let stream = streams.iter().find(|stream| stream.name == part.from);
            let (Some(stream), true) = (stream, maker.is_some_and(|m| m >= place)) else {
                continue;
            };
            // Of several charges a mash only the last one's feints stand at a time.
            let one = stream.times(part.fraction / charges.max(1.0));
            sum.moles = sum.moles.plus(one.moles);
            for ((_, sum), (_, grams)) in sum.congeners_g.iter_mut().zip(&one.congeners_g) {
                *sum += grams;
            }
        }
    }
    sum
}
