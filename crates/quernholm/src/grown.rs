//! What truly becomes of a piece in steep, on floor and on the kiln, by the stages of `process`
//! with hidden constants, and beside it what the forecast would have said.

use crate::truth;
use gauge::Fault;
use gauge::moist_air::kernel as air;
use house::plant::Weather;
use house::{Barley, Equipment, House};
use process::kiln::{Air, Charge as Bed, Firing, Setting, Solve, Turn as BedTurn};
use process::{floor, kiln, steep};
use std::collections::BTreeMap;

type Faults = Vec<Fault>;

/// One stretch of a steeping as the hands did it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Stretch {
    pub(crate) wet: bool,
    pub(crate) hours: f64,
}

/// What the hands did with a piece; hours from steeping for waters, from casting for turns.
#[derive(Debug, Clone)]
pub(crate) struct Handled<'h> {
    pub(crate) barley: &'h str,
    pub(crate) stretches: Vec<Stretch>,
    pub(crate) turns: Vec<floor::Turn>,
    pub(crate) spreads: Vec<floor::Spread>,
    pub(crate) floor_h: f64,
    /// Barley as it is, kg.
    pub(crate) kg: f64,
    /// Of it, wet basis.
    pub(crate) moisture_wet: f64,
}

/// The steep and the floor of a piece.
#[derive(Debug, Clone)]
pub(crate) struct Grown {
    pub(crate) steep: steep::Run,
    pub(crate) floor: floor::Run,
}

/// A kilning on the whole wire.
#[derive(Debug, Clone)]
pub(crate) struct Dried {
    pub(crate) run: kiln::Run,
    area_m2: f64,
}

/// True, and as the forecast has it.
#[derive(Debug, Clone)]
pub(crate) struct Pair<T> {
    pub(crate) truly: T,
    pub(crate) foretold: T,
}

/// The house, and kilnings that were reckoned once.
pub(crate) struct Grounds {
    pub(crate) house: House,
    dried: BTreeMap<(String, i64), Pair<Dried>>,
}

fn missing(wanted: &'static str) -> Faults {
    vec![Fault::MissingPart { field: "vessel".into(), wanted }]
}

/// Cells and longest step of a kilning: its page gives the error of so many.
const CELLS: f64 = 32.0;
const STEP_S: f64 = 90.0;
/// Kilnings are reckoned anew for every so many kelvin of weather.
const WEATHER_STEP_K: f64 = 3.0;
/// A floor on the ground is a little colder than the air over it.
const FLOOR_COLDER_DK: f64 = 1.0;

impl Grounds {
    pub(crate) fn new() -> Self {
        Self { house: house::quernholm(), dried: BTreeMap::new() }
    }

    /// The weather of a day of the year.
    pub(crate) fn weather(&self, day_of_year: i16) -> Weather {
        self.house.plant.climate.on(f64::from(day_of_year))
    }

    fn stage<T>(
        &self,
        kind: &'static str,
        pick: impl Fn(&Equipment) -> Option<T>,
    ) -> Result<T, Faults> {
        self.house.plant.vessels.iter().find_map(|v| pick(&v.what)).ok_or_else(|| missing(kind))
    }

    fn barley(&self, key: &str) -> Result<&Barley, Faults> {
        self.house.barley(key).ok_or_else(|| missing("a barley of the house"))
    }

    /// From the first water to the load.
    pub(crate) fn grow(
        &self,
        handled: &Handled<'_>,
        weather: &Weather,
    ) -> Result<Pair<Grown>, Faults> {
        let usual = (steep::Constants::default(), floor::Constants::default());
        let own = (truth::steep(&usual.0), truth::floor(&usual.1));
        Ok(Pair {
            truly: self.grow_by(handled, weather, &own).map_err(|fault| vec![fault])?,
            foretold: self.grow_by(handled, weather, &usual).map_err(|fault| vec![fault])?,
        })
    }

    fn grow_by(
        &self,
        handled: &Handled<'_>,
        weather: &Weather,
        (soaking, growing): &(steep::Constants, floor::Constants),
    ) -> Result<Grown, Fault> {
        let first = |faults: Faults| {
            faults
                .into_iter()
                .next()
                .unwrap_or(Fault::MissingPart { field: "vessel".into(), wanted: "a maltings" })
        };
        let barley = self.barley(handled.barley).map_err(first)?;
        let tank = self
            .stage("a steep", |what| match what {
                Equipment::Steep(_, stage) => Some(stage.clone()),
                _ => None,
            })
            .map_err(first)?;
        let (ground, least_c) = self
            .stage("a malting floor", |what| match what {
                Equipment::Floor(own, stage) => Some((stage.clone(), own.least_air_c)),
                _ => None,
            })
            .map_err(first)?;
        let charge = steep::Charge {
            dry_kg: handled.kg * (1.0 - handled.moisture_wet),
            moisture_wet: handled.moisture_wet,
            ..barley.analysis.clone()
        };
        let steeped = steep::run(&charge, &tank, &waters(barley, &handled.stretches), soaking)?;
        let usual = &barley.floor;
        let air_c = weather.air_c.max(least_c);
        let programme = floor::Programme {
            hand: floor::Hand {
                air_c,
                air_relative_humidity: weather.relative_humidity,
                floor_c: air_c - FLOOR_COLDER_DK,
                hours: Some(handled.floor_h),
                pressure_pa: self.house.plant.site.pressure_pa,
                ..usual.hand.clone()
            },
            turns: handled.turns.clone(),
            spreads: handled.spreads.clone(),
            ..usual.clone()
        };
        let cast = floor::Charge::cast(&steeped.out);
        let uneven = floor::Constants { acrospire_sd: 0.25, ..growing.clone() };
        let growing = if barley.kind == "landrace" { &uneven } else { growing };
        let grown = floor::run(&cast, &ground, &programme, growing)?;
        Ok(Grown { steep: steeped, floor: grown })
    }

    /// A make's kilning in this weather, of this green malt. One of each make and weather is
    /// reckoned: piece differs from piece by chance alone.
    pub(crate) fn dry(
        &mut self,
        make: &str,
        green: &Pair<Grown>,
        weather: &Weather,
    ) -> Result<Pair<Dried>, Faults> {
        let step = (weather.air_c / WEATHER_STEP_K).round() as i64;
        let key = (make.to_owned(), step);
        if let Some(known) = self.dried.get(&key) {
            return Ok(known.clone());
        }
        let one = |faults| vec![faults];
        let usual = kiln::Constants::default();
        let (own, fan) = (truth::kiln(&usual), truth::FAN);
        let pair = Pair {
            truly: self.dry_by(make, &green.truly.floor.out, weather, (&own, fan)).map_err(one)?,
            foretold: self
                .dry_by(make, &green.foretold.floor.out, weather, (&usual, 1.0))
                .map_err(one)?,
        };
        self.dried.insert(key, pair.clone());
        Ok(pair)
    }

    fn dry_by(
        &self,
        make: &str,
        green: &floor::Out,
        weather: &Weather,
        (constants, fan): (&kiln::Constants, f64),
    ) -> Result<Dried, Fault> {
        let wanted = "a make and a kiln of the house";
        let none = || Fault::MissingPart { field: "kiln".into(), wanted };
        let kilning = &self.house.make(make).ok_or_else(none)?.kiln;
        let vessel = self
            .stage("a kiln", |what| match what {
                Equipment::Kiln(_, stage) => Some(stage.clone()),
                _ => None,
            })
            .map_err(|_| none())?;
        let firing = firing(kilning).ok_or_else(none)?;
        let area_m2 = vessel.area_m2;
        let fired = Firing {
            flow_kg_m2_s: fan * firing.flow_kg_s / area_m2,
            peat_flow_kg_m2_s: Some(fan * firing.peat_flow_kg_s / area_m2),
            ..firing.of
        };
        let pressure_pa = self.house.plant.site.pressure_pa;
        let vapour_pa = weather.relative_humidity * air::saturation_pa(weather.air_c);
        let programme = fired.programme(&Setting {
            air: Air { pressure_pa, ambient_c: weather.air_c, ..Air::default() },
            humidity_ratio: air::humidity_ratio(vapour_pa, pressure_pa),
            peat: kilning.peat.clone(),
            turns: kilning.turns_h.iter().map(|at_h| turn(*at_h)).collect(),
            solve: Solve {
                cells: CELLS,
                step_s: STEP_S,
                ready_moisture_wet: kilning.ready_moisture_wet,
                ..Solve::default()
            },
        });
        let run = kiln::run(&Bed::spread(green, area_m2), &vessel, &programme, constants)?;
        Ok(Dried { run, area_m2 })
    }
}

fn turn(at_h: f64) -> BedTurn {
    let mut turn = BedTurn::default();
    gauge::Record::set(&mut turn, "at_h", at_h);
    turn
}

fn waters(barley: &Barley, stretches: &[Stretch]) -> steep::Programme {
    let like = |kind| {
        let usual = barley.steep.phases.iter().find(|phase| phase.kind == kind);
        usual.map_or(15.0, |phase| phase.stretch.temperature_c)
    };
    let phases = stretches.iter().map(|stretch| {
        let kind = if stretch.wet { steep::Kind::Wet } else { steep::Kind::Rest };
        let stretch = steep::Stretch { hours: stretch.hours, temperature_c: like(kind) };
        steep::Phase { kind, stretch }
    });
    steep::Programme { phases: phases.collect(), wet_cast: false }
}

/// A make's kilning as it is kept on an entry: with the air of the whole bed, kg/s.
#[derive(Debug, Clone)]
pub(crate) struct Fired {
    pub(crate) of: Firing,
    pub(crate) flow_kg_s: f64,
    pub(crate) peat_flow_kg_s: f64,
}

/// Smoke, drying and cure of a house's kilning: the cure is its last phase, and a phase before
/// the drying is of smoke.
pub(crate) fn firing(kilning: &house::make::Kilning) -> Option<Fired> {
    let (smoke, rest) = match kilning.phases.as_slice() {
        [smoke, rest @ ..] if rest.len() == 2 => (Some(smoke), rest),
        rest => (None, rest),
    };
    let [dry, cure] = rest else { return None };
    let of = Firing {
        peat_h: smoke.map_or(0.0, |s| s.figures.hours_h),
        peat_kg_t: smoke.map_or(0.0, |_| kilning.peat.peat_kg_t),
        peat_c: smoke.map_or(45.0, |s| s.temperature_c),
        dry_h: dry.figures.hours_h,
        dry_c: dry.temperature_c,
        cure_h: cure.figures.hours_h,
        cure_c: cure.temperature_c,
        returned: kilning.returned,
        ..Firing::default()
    };
    let flow_kg_s = dry.figures.flow_kg_s;
    let peat_flow_kg_s = smoke.map_or(flow_kg_s, |s| s.figures.flow_kg_s);
    Some(Fired { of, flow_kg_s, peat_flow_kg_s })
}

impl Dried {
    /// A figure of the curves after so many hours.
    pub(crate) fn at(&self, key: &str, hours: f64) -> f64 {
        self.run.curves.at(key, hours).unwrap_or(f64::NAN)
    }
    /// Oil burnt since lighting.
    pub(crate) fn oil_kg(&self, hours: f64) -> f64 {
        self.at("oil_kg_m2", hours) * self.area_m2
    }
    /// Peat burnt since lighting, evenly over its hours.
    pub(crate) fn peat_kg(&self, hours: f64, peat_h: f64) -> f64 {
        if peat_h > 0.0 { self.run.out.peat_kg * (hours / peat_h).min(1.0) } else { 0.0 }
    }
}
