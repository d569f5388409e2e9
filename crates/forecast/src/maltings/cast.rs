//! What a piece was made of and how it was steeped, put together from what was noted.

use gauge::{Fault, Grade, record};
use house::malted::{Act, Drawn, Malted};
use house::{Barley, Equipment, House, Standing};
use jiff::Timestamp;
use process::steep::{self, Charge, Kind, Phase, Programme, Stretch};

use super::seen::hours;

record! {
    /// How much less sure a piece is whose corns do not keep step.
    pub(crate) struct Uneven {
        /// Hours that a point of water sensitivity above ten spreads the growth by.
        pub(crate) sensitive_h: f64 = Field::new("h").label("for a point of water sensitivity")
            .within(0.0, 2.0).or(0.25)
            .from(Grade::Design, "corns that were checked by water start late"),
        /// Hours that two barleys in one piece spread it by, or a landrace.
        pub(crate) mixed_h: f64 = Field::new("h").label("for a mixed piece")
            .within(0.0, 48.0).or(5.0).from(Grade::Design, "a mixture ripens at two times"),
    }
}

/// Points of water sensitivity that do no harm.
const HARMLESS: f64 = 10.0;
/// A stretch shorter than this is a slip of the pen.
const SHORTEST_H: f64 = 0.1;

/// What went into the steep.
#[derive(Debug, Clone)]
pub(crate) struct Made<'h> {
    /// The kind of barley most of it is.
    pub(crate) barley: &'h Barley,
    /// The mixture as the steep takes it.
    pub(crate) charge: Charge,
    /// Whether barleys of two kinds lie in it, or a landrace.
    pub(crate) mixed: bool,
    /// Germinative energies in 4 and 8 ml, the difference, points.
    pub(crate) sensitivity: f64,
    /// The lots in words.
    pub(crate) lots: String,
}

impl<'h> Made<'h> {
    /// The mixture a piece was made of. A lot of which the book knows no analysis has that of its
    /// kind.
    pub(crate) fn of(
        house: &'h House,
        standing: &Standing,
        malted: &Malted,
    ) -> Result<Self, Fault> {
        let whole: f64 = malted.parts.iter().map(|part| part.dry_kg).sum();
        let usual = house.make(&malted.make).and_then(|make| make.barleys.first());
        let barley_of = |part: &Drawn| house.barley(&part.barley);
        let most = malted.parts.iter().max_by(|a, b| a.dry_kg.total_cmp(&b.dry_kg));
        let barley = most
            .and_then(barley_of)
            .or_else(|| house.barley(usual?))
            .ok_or(Fault::MissingPart { field: "barley".into(), wanted: "a kind of the house" })?;
        if whole <= 0.0 {
            let wanted = "barley drawn from a lot";
            return Err(Fault::MissingPart { field: "parts".into(), wanted });
        }
        let mut charge = Charge { dry_kg: 0.0, ..Charge::default() };
        let mut water_kg = 0.0;
        let mut sums = [0.0; 4];
        for part in &malted.parts {
            let own = analysis(standing, part, barley_of(part).unwrap_or(barley));
            charge.dry_kg += part.dry_kg;
            water_kg += part.dry_kg * part.moisture_wet / (1.0 - part.moisture_wet);
            let figures = [
                own.corn_weight_g,
                own.nitrogen_pct_dry,
                own.germinative_energy_4ml_pct,
                own.germinative_energy_8ml_pct,
            ];
            for (sum, figure) in sums.iter_mut().zip(figures) {
                *sum += part.dry_kg / whole * figure;
            }
        }
        charge.moisture_wet = water_kg / (water_kg + whole);
        charge.corn_weight_g = sums[0];
        charge.nitrogen_pct_dry = sums[1];
        charge.germinative_energy_4ml_pct = sums[2];
        charge.germinative_energy_8ml_pct = sums[3];
        let mut kinds: Vec<&str> = malted.parts.iter().map(|p| p.barley.as_str()).collect();
        kinds.sort_unstable();
        kinds.dedup();
        Ok(Self {
            barley,
            mixed: kinds.len() > 1 || barley.kind == "landrace",
            sensitivity: sums[2] - sums[3],
            lots: words(&malted.parts),
            charge,
        })
    }

    /// Hours by which its corns are out of step beyond what the constants know of themselves.
    pub(crate) fn uneven_h(&self) -> f64 {
        let u = Uneven::default();
        let sensitive = u.sensitive_h * (self.sensitivity - HARMLESS).max(0.0);
        let mixed = if self.mixed { u.mixed_h } else { 0.0 };
        sensitive.hypot(mixed)
    }

    /// Why its band is wide, where it is.
    pub(crate) fn why_uneven(&self) -> Option<String> {
        let sensitive = (self.sensitivity > HARMLESS)
            .then(|| format!("the barley is water-sensitive by {:.0} points", self.sensitivity));
        let mixed = self.mixed.then(|| {
            let one = self.barley.kind == "landrace" && !self.lots.contains(" and ");
            if one { "a landrace ripens unevenly" } else { "two barleys ripen at two times" }
                .to_owned()
        });
        match (sensitive, mixed) {
            (Some(a), Some(b)) => Some(format!("{a}, and {b}")),
            (a, b) => a.or(b),
        }
    }
}

/// The figures of a part: its lot's, and for what was not looked for those of its kind.
fn analysis(standing: &Standing, part: &Drawn, kind: &Barley) -> Charge {
    let mut out = kind.analysis.clone();
    let Some(lot) = standing.lots.iter().find(|lot| lot.lot == part.lot) else {
        return out;
    };
    let found = &lot.analysis;
    let set = |to: &mut f64, from: Option<f64>| *to = from.unwrap_or(*to);
    set(&mut out.corn_weight_g, found.corn_weight_g);
    set(&mut out.nitrogen_pct_dry, lot.nitrogen_pct_dry);
    set(&mut out.germinative_energy_4ml_pct, found.germinative_energy_4ml_pct);
    set(&mut out.germinative_energy_8ml_pct, found.germinative_energy_8ml_pct);
    out
}

fn words(parts: &[Drawn]) -> String {
    let mut names: Vec<&str> = parts.iter().map(|part| part.lot.as_str()).collect();
    names.dedup();
    match names.split_last() {
        Some((last, before)) if !before.is_empty() => format!("{} and {last}", before.join(", ")),
        Some((last, _)) => (*last).to_owned(),
        None => String::new(),
    }
}

/// The figures of a steep of the house; its first one when the piece's own is not known.
pub(crate) fn steep_of<'h>(
    house: &'h House,
    key: &str,
) -> Result<(&'h house::vessel::Steep, &'h steep::Vessel), Fault> {
    let mut own = house.vessel(key).into_iter().chain(house.vessels("steep"));
    own.find_map(|vessel| match &vessel.what {
        Equipment::Steep(own, stage) => Some((own, stage)),
        _ => None,
    })
    .ok_or(Fault::MissingPart { field: "vessel".into(), wanted: "a steep" })
}

/// The waters and air rests of a piece: those noted, then what its barley's usual steeping has
/// after as many, to `until` where that is known (the casting).
pub(crate) fn programme(barley: &Barley, malted: &Malted, until: Option<Timestamp>) -> Programme {
    let begun = malted.steep.at;
    let usual = &barley.steep.phases;
    let mut phases = noted(barley, malted);
    // The stretch that runs now is the last; it lasts as long as the usual one of its place.
    let running = phases.len() - 1;
    let place = usual
        .iter()
        .enumerate()
        .skip(running)
        .find(|(_, phase)| phase.kind == phases[running].kind)
        .map(|(place, _)| place);
    if let Some(place) = place {
        phases[running].stretch.hours = usual[place].stretch.hours;
        phases.extend(usual[place + 1..].iter().cloned());
    }
    let Some(end_h) = until.map(|until| hours(begun, until)) else {
        return Programme { phases, wet_cast: false };
    };
    let mut from_h = 0.0;
    phases.retain_mut(|phase| {
        phase.stretch.hours = phase.stretch.hours.min(end_h - from_h);
        from_h += phase.stretch.hours.max(0.0);
        phase.stretch.hours >= SHORTEST_H
    });
    match phases.last_mut() {
        Some(last) => last.stretch.hours += (end_h - from_h).max(0.0),
        None => phases.push(wet(barley, SHORTEST_H)),
    }
    let wet_cast = malted.floor.as_ref().is_some_and(|floor| floor.wet_cast);
    Programme { phases, wet_cast }
}

fn wet(barley: &Barley, hours: f64) -> Phase {
    Phase { kind: Kind::Wet, stretch: Stretch { hours, temperature_c: like(barley, Kind::Wet) } }
}

/// Temperature of the first usual stretch of a kind.
fn like(barley: &Barley, kind: Kind) -> f64 {
    let of_kind = barley.steep.phases.iter().find(|phase| phase.kind == kind);
    of_kind.map_or(15.0, |phase| phase.stretch.temperature_c)
}

/// The stretches as they were noted; the last has no end yet.
fn noted(barley: &Barley, malted: &Malted) -> Vec<Phase> {
    let mut phases = vec![wet(barley, SHORTEST_H)];
    let mut from_h = 0.0;
    for water in &malted.steep.waters {
        let at_h = hours(malted.steep.at, water.at);
        let kind = match water.act {
            Act::Fill => Kind::Wet,
            Act::Drain => Kind::Rest,
            Act::Spray => Kind::Spray,
        };
        let warm = water.water_c.filter(|_| kind != Kind::Rest);
        let stretch = Stretch {
            hours: SHORTEST_H,
            temperature_c: warm.unwrap_or_else(|| like(barley, kind)),
        };
        let Some(last) = phases.last_mut() else { break };
        // The first filling may be noted again with its temperature.
        if at_h - from_h < SHORTEST_H {
            *last = Phase { kind, stretch };
            continue;
        }
        last.stretch.hours = at_h - from_h;
        from_h = at_h;
        phases.push(Phase { kind, stretch });
    }
    phases
}
