//! A piece on the kiln: the whole run before it is lit, and beside it what is noted.
//!
//! The piece comes off its floor as it was followed there. The air-on is what was noted so far and
//! what is set from now on; the peat is what was burnt and the rest as set. The air through the bed
//! and the rate of drying are bent to the air-off noted so far, each with what was believed
//! before. The run is shown once at the best figures; its band is from runs with what is not known
//! exactly moved one by one.

mod bend;
mod laden;

pub(crate) use laden::{Laden, kiln_of, make_of};
pub use laden::{kept_firing, usual_firing};

use super::factor::Factor;
use super::seen::{Between, Noted, about, hours, later};
use crate::figure::{Band, Figure, Shown};
use bend::{Bent, bend};

use gauge::Fault;
use house::malted::{Kilned as OnKiln, Malted};
use house::standing::Reading;
use house::{House, KeptFiring, Standing};
use jiff::Timestamp;
use laden::{Grain, Moved};
use process::kiln::{Firing, Run};

/// How well the uptake of phenols is known: a factor of 1.0 with this standard uncertainty.
const UPTAKE_SD: f64 = 0.30;
/// Of the moisture as loaded, on dry matter; of the weather's relative humidity; of the slow tail,
/// to one side.
const MOISTURE_SD_DRY: f64 = 0.02;
const HUMIDITY_SD: f64 = 0.08;
const TAIL_SD: f64 = 0.2;
/// A kilning that is not dry when its firing ends is followed so much longer, h.
const LONGER_H: f64 = 12.0;

/// Air and drying as the air-off so far has shown them.
pub(crate) fn bent_of(laden: &Laden<'_>, malted: &Malted, now_h: f64) -> Moved {
    bend(laden, malted, now_h).moved()
}

/// A moment of a kilning.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moment {
    /// When.
    pub at: Timestamp,
    /// Hours from lighting.
    pub time_h: f64,
    /// Air-on.
    pub air_on_c: f64,
    /// Air-off.
    pub air_off_c: f64,
    /// Nine times in ten it is above this.
    pub air_off_low_c: f64,
    /// Nine times in ten it is below this.
    pub air_off_high_c: f64,
    /// Of the air-off, 0 to 1.
    pub air_off_relative_humidity: f64,
    /// Mean of the bed, wet basis, 0 to 1.
    pub moisture_wet: f64,
    /// A tenth up the bed, on dry matter.
    pub low_moisture_dry: f64,
    /// A tenth below the top, on dry matter.
    pub high_moisture_dry: f64,
    /// Phenols on dry malt, mean of the bed.
    pub phenols_mg_kg_dry: f64,
    /// Lost in bed, wire and ducts.
    pub pressure_drop_pa: f64,
    /// Oil burnt since lighting.
    pub oil_kg: f64,
    /// Air-dry peat burnt since lighting.
    pub peat_kg: f64,
}

/// A kilning, reckoned anew from what was noted.
#[derive(Debug, Clone, PartialEq)]
pub struct Kilned {
    /// The piece.
    pub piece: u32,
    /// The make, a key.
    pub make: String,
    /// The kiln, a key.
    pub vessel: String,
    /// When it was lit, or would be.
    pub lit_at: Timestamp,
    /// Whether it is lit.
    pub lit: bool,
    /// The moment it was reckoned for.
    pub at: Timestamp,
    /// Hours from lighting to then.
    pub now_h: f64,
    /// What it is fired with.
    pub firing: Firing,
    /// Whether that was decided for this piece; else it is the make's usual one.
    pub kept: bool,
    /// Turnings of the bed, h from lighting, done and to come.
    pub turns_h: Vec<f64>,
    /// Its course, quarter-hourly.
    pub points: Vec<Moment>,
    /// Noted air-on beside what was set.
    pub noted_on: Vec<Noted>,
    /// Noted air-off.
    pub noted_off: Vec<Noted>,
    /// Noted moistures of the bed, wet basis, 0 to 1.
    pub noted_moisture: Vec<Noted>,
    /// Peat noted, kg since lighting.
    pub noted_peat: Vec<Noted>,
    /// Oil noted, kg since lighting.
    pub noted_oil: Vec<Noted>,
    /// The run as the stage gives it: moisture by depth, phases, balance, warnings.
    pub run: Run,
    /// When the break comes, where it comes.
    pub broke: Option<Between>,
    /// When the mean moisture comes to the wanted one; beyond the end of the firing when it goes
    /// on as it ends.
    pub ready: Option<Between>,
    /// When the firing ends.
    pub ends: Timestamp,
    /// When it can be stripped: the end of the firing, or later where it is still moist then.
    pub finish: Between,
    /// Moisture wanted, wet basis, 0 to 1.
    pub wanted_moisture_wet: f64,
    /// As it comes off, by key, with bands: `moisture_pct`, `phenols_mg_kg_dry`, `break_h`,
    /// `ready_h`, `hours`, `malt_kg`, `oil_kg`, `peat_kg`, `fan_kwh`, `heat_gj_t`,
    /// `enzymes_at_risk_h`, `bed_dry_kg_m2`, `moisture_on_pct`.
    pub figures: Vec<Figure>,
    /// Air, drying and uptake beside the usual.
    pub factors: Vec<Factor>,
    /// Readings that bent them.
    pub used: usize,
    /// The piece as it came off its floor, where that is known.
    pub green: Option<process::floor::Out>,
    /// What to know.
    pub says: Vec<String>,
}

impl Kilned {
    /// How it stands at a moment, on the straight line between points.
    pub fn at(&self, at: Timestamp) -> Option<Moment> {
        let (a, b, share) = about(&self.points, |p| p.at, at)?;
        let mix = |of: fn(&Moment) -> f64| of(a) + share * (of(b) - of(a));
        Some(Moment {
            at,
            time_h: mix(|p| p.time_h),
            air_on_c: mix(|p| p.air_on_c),
            air_off_c: mix(|p| p.air_off_c),
            air_off_low_c: mix(|p| p.air_off_low_c),
            air_off_high_c: mix(|p| p.air_off_high_c),
            air_off_relative_humidity: mix(|p| p.air_off_relative_humidity),
            moisture_wet: mix(|p| p.moisture_wet),
            low_moisture_dry: mix(|p| p.low_moisture_dry),
            high_moisture_dry: mix(|p| p.high_moisture_dry),
            phenols_mg_kg_dry: mix(|p| p.phenols_mg_kg_dry),
            pressure_drop_pa: mix(|p| p.pressure_drop_pa),
            oil_kg: mix(|p| p.oil_kg),
            peat_kg: mix(|p| p.peat_kg),
        })
    }
    /// How it stands now; its first or last moment when now is outside the run.
    pub fn now(&self) -> Option<Moment> {
        let edge = if self.now_h > 0.0 { self.points.last() } else { self.points.first() };
        self.at(self.at).or(edge.copied())
    }
    /// The figure under `key`.
    pub fn figure(&self, key: &str) -> Option<&Figure> {
        self.figures.iter().find(|f| f.key == key)
    }
}

/// Gives a kilning as it is, was and will be; of a piece that is not on the kiln, as if it were
/// lit at `at`.
///
/// # Units
/// As each figure says.
/// # Range
/// A make and a kiln of the house; what a stage refuses is its fault.
/// # Error
/// The band of each figure, nine times in ten, for what the model knows of its own constants.
/// # Source
/// [`process::kiln`]; priors of air 1.00 ± 0.15 and of drying 1.0 ± 0.2, from memory.
pub fn kilning(
    house: &House,
    standing: &Standing,
    malted: &Malted,
    kept: Option<&KeptFiring>,
    at: Timestamp,
) -> Result<Kilned, Fault> {
    let laden = Laden::of(house, standing, malted, kept, at)?;
    let now_h = hours(laden.lit_at, at).max(0.0);
    let bent = bend(&laden, malted, now_h);
    let end_h = laden.firing.hours();
    let best = bent.moved();
    let (run, runs) = std::thread::scope(|scope| {
        let fine = scope.spawn(|| laden.run(Grain::Fine, &best, end_h));
        let runs = Runs::of(&laden, &bent, end_h + LONGER_H);
        (fine.join(), runs)
    });
    let run = match run {
        Ok(run) => run?,
        Err(panic) => std::panic::resume_unwind(panic),
    };
    let reckoned = Reckoned { laden, bent, run, runs: runs?, now_h };
    Ok(reckoned.told(malted, at))
}

/// The coarse runs: as believed before any reading, the best, and those moved.
struct Runs {
    before: Run,
    best: Run,
    moved: Vec<Run>,
}

impl Runs {
    fn of(laden: &Laden<'_>, bent: &Bent, hours: f64) -> Result<Self, Fault> {
        let best = bent.moved();
        let run = |moved: &Moved| laden.run(Grain::Coarse, moved, hours);
        let [along, across] = bent.directions();
        let moves = [
            along,
            across,
            Moved { tail: TAIL_SD, ..best },
            Moved { moisture_dry: MOISTURE_SD_DRY, ..best },
            Moved { humidity: HUMIDITY_SD, ..best },
        ];
        std::thread::scope(|scope| {
            let other = scope.spawn(|| moves[..3].iter().map(run).collect::<Vec<_>>());
            let best_run = run(&best)?;
            let before = match bent.used {
                0 => best_run.clone(),
                _ => run(&Moved::default())?,
            };
            let mut moved: Vec<_> = moves[3..].iter().map(run).collect();
            moved.extend(other.join().unwrap_or_default());
            // At the edge of what the kiln can do a moved run is refused; it is left out then.
            let moved = moved.into_iter().flatten().collect();
            Ok(Self { before, best: best_run, moved })
        })
    }

    /// Standard uncertainty of what `of` reads off a run.
    fn sd(&self, of: impl Fn(&Run) -> Option<f64>) -> f64 {
        let Some(best) = of(&self.best) else {
            return 0.0;
        };
        let squares = |run: &Run| of(run).map_or(0.0, |there| (there - best).powi(2));
        self.moved.iter().map(squares).sum::<f64>().sqrt()
    }
}

struct Reckoned<'h> {
    laden: Laden<'h>,
    bent: Bent,
    run: Run,
    runs: Runs,
    now_h: f64,
}

impl Reckoned<'_> {
    fn told(self, malted: &Malted, at: Timestamp) -> Kilned {
        let lit_at = self.laden.lit_at;
        let end_h = self.laden.firing.hours();
        let points = self.points();
        let broke = self.run.out.break_h.map(|h| {
            let sd = self.runs.sd(|run| run.out.break_h);
            Between::around(later(lit_at, h), sd)
        });
        let ready_sd = self.runs.sd(|run| run.out.ready_h);
        // Beyond the end of the firing only the coarse run knows.
        let ready_h = self.run.out.ready_h.or(self.runs.best.out.ready_h);
        let ready = ready_h.map(|h| Between::around(later(lit_at, h), ready_sd));
        let ends = later(lit_at, end_h);
        let finish =
            ready.map_or(Between { from: ends, likely: ends, to: later(ends, LONGER_H) }, |r| {
                Between { from: r.from.max(ends), likely: r.likely.max(ends), to: r.to.max(ends) }
            });
        let [air, drying] = self.bent.factors();
        let factors = vec![air, drying, Factor::believed("uptake", "uptake of phenols", UPTAKE_SD)];
        let mut kilned = Kilned {
            piece: malted.piece,
            make: malted.make.clone(),
            vessel: self.laden.kiln.key.clone(),
            lit_at,
            lit: malted.kiln.is_some(),
            at,
            now_h: self.now_h,
            firing: self.laden.firing.clone(),
            kept: self.laden.kept,
            turns_h: self.laden.setting.turns.iter().map(|turn| turn.at_h).collect(),
            noted_on: Vec::new(),
            noted_off: Vec::new(),
            noted_moisture: Vec::new(),
            noted_peat: Vec::new(),
            noted_oil: Vec::new(),
            broke,
            ready,
            ends,
            finish,
            wanted_moisture_wet: self.laden.setting.solve.ready_moisture_wet,
            figures: self.figures(ready_sd),
            factors,
            used: self.bent.used,
            green: self.laden.green.clone(),
            says: Vec::new(),
            points,
            run: self.run,
        };
        if let Some(on) = &malted.kiln {
            noted(&mut kilned, on, &self.runs.before, &self.laden);
        }
        kilned.says = says(&kilned, &self.laden);
        kilned
    }

    fn points(&self) -> Vec<Moment> {
        let curves = &self.run.curves;
        let times = curves.columns.first().map_or(&[][..], |c| c.values.as_slice());
        let area = self.laden.stage.area_m2;
        times
            .iter()
            .map(|h| {
                let of = |key: &str| curves.at(key, *h).unwrap_or(f64::NAN);
                let sd = self.runs.sd(|run| run.curves.at("air_off_c", *h));
                let off = of("air_off_c");
                let band = Band::around(off, sd);
                let dry = of("mean_moisture_dry");
                Moment {
                    at: later(self.laden.lit_at, *h),
                    time_h: *h,
                    air_on_c: of("air_on_c"),
                    air_off_c: off,
                    air_off_low_c: band.low,
                    air_off_high_c: band.high,
                    air_off_relative_humidity: of("air_off_relative_humidity").min(1.0),
                    moisture_wet: dry / (1.0 + dry),
                    low_moisture_dry: of("moisture_dry_10"),
                    high_moisture_dry: of("moisture_dry_90"),
                    phenols_mg_kg_dry: of("phenols_mg_kg_dry"),
                    pressure_drop_pa: of("pressure_drop_pa"),
                    oil_kg: of("oil_kg_m2") * area,
                    peat_kg: self.peat_kg(*h),
                }
            })
            .collect()
    }

    fn peat_kg(&self, time_h: f64) -> f64 {
        let Laden { firing, dry_kg, .. } = &self.laden;
        firing.peat_rate_kg_t_h() * time_h.min(firing.peat_h) * dry_kg / 1000.0
    }

    fn figures(&self, ready_sd: f64) -> Vec<Figure> {
        let out = &self.run.out;
        let end_h = out.hours;
        let banded = |shown: Shown, value: f64, sd: f64| {
            let band = (sd > 0.0 && value.is_finite()).then(|| Band::around(value, sd));
            Figure { band, ..shown.of(value) }
        };
        let wet_pct = |run: &Run| {
            let dry = run.curves.at("mean_moisture_dry", end_h)?;
            Some(100.0 * dry / (1.0 + dry))
        };
        let moist = self.runs.sd(wet_pct);
        let smoke = self.runs.sd(|run| run.curves.at("phenols_mg_kg_dry", end_h));
        let smoke = smoke.hypot(UPTAKE_SD * out.phenols_mg_kg_dry);
        let on = self.laden.charge.moisture_dry;
        let ready_h = out.ready_h.or(self.runs.best.out.ready_h).unwrap_or(f64::NAN);
        let break_sd = self.runs.sd(|run| run.out.break_h);
        let heat = Shown("heat_gj_t", "heat a tonne of malt", "GJ/t", 2).of(out.heat_gj_t);
        vec![
            banded(
                Shown("moisture_pct", "moisture of the malt", "%", 1),
                pct(out.moisture_wet),
                moist,
            ),
            banded(
                Shown("phenols_mg_kg_dry", "phenols on dry malt", "mg/kg", 1),
                out.phenols_mg_kg_dry,
                smoke,
            ),
            banded(Shown("break_h", "break", "h", 1), out.break_h.unwrap_or(f64::NAN), break_sd),
            banded(Shown("ready_h", "down to the wanted moisture", "h", 1), ready_h, ready_sd),
            Shown("hours", "kilning", "h", 1).of(out.hours),
            Shown("malt_kg", "malt, dressed", "kg", 0).of(out.mass_kg),
            Shown("oil_kg", "oil", "kg", 0).of(out.oil_kg),
            Shown("peat_kg", "peat", "kg", 0).of(out.peat_kg),
            Shown("fan_kwh", "fan", "kWh", 0).of(out.fan_kwh),
            heat,
            Shown("enzymes_at_risk_h", "enzymes at risk", "h", 1).of(out.enzymes_at_risk_h),
            Shown("bed_dry_kg_m2", "bed, dry matter", "kg/m²", 0)
                .of(self.laden.dry_kg / self.laden.stage.area_m2),
            Shown("moisture_on_pct", "moisture as loaded", "%", 1).of(pct(on / (1.0 + on))),
        ]
    }
}

fn pct(fraction: f64) -> f64 {
    100.0 * fraction
}

/// Readings beside the run that holds them and the run as it was believed before.
fn noted(kilned: &mut Kilned, on: &OnKiln, before: &Run, laden: &Laden<'_>) {
    let lit_at = kilned.lit_at;
    let set = laden.firing.programme(&laden.setting).on;
    let was = |key: &'static str| move |at: Timestamp| before.curves.at(key, hours(lit_at, at));
    let seen = |of: fn(&Moment) -> f64| {
        let kilned = &*kilned;
        move |at: Timestamp| kilned.at(at).map(|moment| of(&moment))
    };
    let set_c = |at| Some(laden::set_c(&set, hours(lit_at, at)));
    let wet = |at| was("mean_moisture_dry")(at).map(|dry| dry / (1.0 + dry));
    let same =
        |readings: &[Reading], of: fn(&Moment) -> f64| Noted::beside(readings, seen(of), seen(of));
    let air_on = Noted::beside(&on.air_on_c, set_c, set_c);
    let air_off = Noted::beside(&on.air_off_c, seen(|m| m.air_off_c), was("air_off_c"));
    let moisture = Noted::beside(&on.moisture_wet, seen(|m| m.moisture_wet), wet);
    let (peat, oil) = (same(&on.peat_kg, |m| m.peat_kg), same(&on.oil_kg, |m| m.oil_kg));
    kilned.noted_on = air_on;
    kilned.noted_off = air_off;
    kilned.noted_moisture = moisture;
    kilned.noted_peat = peat;
    kilned.noted_oil = oil;
}

fn says(k: &Kilned, laden: &Laden<'_>) -> Vec<String> {
    let mut says: Vec<String> = k
        .run
        .warnings
        .iter()
        // How finely it was reckoned is no news of the kiln.
        .filter(|w| w.code != "step divided")
        .map(|w| w.says.clone())
        .collect();
    if let Some(last) = k.noted_on.last() {
        let off = last.value - last.expected;
        if off.abs() > 2.0 {
            let way = if off > 0.0 { "above" } else { "below" };
            says.push(format!(
                "The air-on was noted at {:.1} °C, {:.1} K {way} what it is set to.",
                last.value,
                off.abs()
            ));
        }
    }
    for factor in k.factors.iter().filter(|f| f.learned > 0.2) {
        let off = factor.value.ln();
        if off.abs() > factor.before_sd {
            let (more, look) = match (factor.key, off > 0.0) {
                ("air", false) => ("less", "look at the fan, the dampers and leaks past the bed"),
                ("air", true) => ("more", "the bed may lie thinner than it was noted"),
                (_, false) => ("slower", "the bed may be wetter than reckoned, or it is matted"),
                (_, true) => ("faster", "the corns may be smaller or drier than reckoned"),
            };
            says.push(format!(
                "By its air-off the {} is {:.0} % {more} than usual: {look}.",
                factor.label,
                100.0 * (factor.value - 1.0).abs()
            ));
        }
    }
    if let Some(peat) = k.noted_peat.last() {
        let short = laden.firing.peat_h > 0.0 && k.now_h > laden.firing.peat_h + 1.0;
        if short && peat.value < 1.0 {
            says.push("No peat was noted, and its hours are over.".to_owned());
        }
    }
    says
}
