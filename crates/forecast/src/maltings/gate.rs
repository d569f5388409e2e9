//! At the gate: accept, deduct or hold while the lorry waits, by the terms of the house.

use crate::chain::usual_weather;
use gauge::Fault;
use gauge::moist_air::kernel as air;
use house::barley::Contract;
use house::{Barley, House};
use jiff::Timestamp;
use process::kiln::{Air, Constants, Peat, Setting, Solve, StoreDry, Wet, store_dry};
use process::steep::intake::{Bought, clean_dry_kg, clean_kg, dried_kg};

/// What the nose says of a sample.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Nose {
    /// Clean straw.
    #[default]
    Sound,
    /// Damp and dull, or of mould.
    Musty,
    /// Sour.
    Sour,
    /// Of heating in the heap or the drier.
    Heated,
    /// Of smoke.
    Smoky,
}

impl Nose {
    /// Every one.
    pub const ALL: [Self; 5] = [Self::Sound, Self::Musty, Self::Sour, Self::Heated, Self::Smoky];
    /// As it is spelt in the book.
    pub fn word(self) -> &'static str {
        match self {
            Self::Sound => "sound",
            Self::Musty => "musty",
            Self::Sour => "sour",
            Self::Heated => "heated",
            Self::Smoky => "smoky",
        }
    }
    /// That of a word.
    pub fn named(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|nose| nose.word() == word)
    }
}

/// What was found at the gate. What was not looked for is none.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Weighed {
    /// Kind of barley, a key of the house.
    pub barley: String,
    /// Weighed in, kg.
    pub gross_kg: f64,
    /// Moisture on a wet basis, 0 to 1.
    pub moisture_wet: f64,
    /// Nitrogen, % of dry matter.
    pub nitrogen_pct_dry: Option<f64>,
    /// Share through the sieve, %.
    pub screenings_pct: Option<f64>,
    /// Share that is not barley, %.
    pub admixture_pct: Option<f64>,
    /// Germinative energy in 4 ml, %, where a test is there already.
    pub germinative_energy_4ml_pct: Option<f64>,
    /// Whether insects were seen.
    pub insects: bool,
    /// What the nose says.
    pub nose: Nose,
}

/// What is to be done with a lorry.
#[derive(Debug, Clone, PartialEq)]
pub enum Decision {
    /// Accepted as it is.
    Accept,
    /// Accepted with so much taken off its weight.
    Deduct {
        /// Of the weight, %.
        pct: f64,
    },
    /// Let stand until something is known.
    Hold {
        /// What is waited for.
        until: String,
    },
    /// Sent away.
    Refuse {
        /// Why.
        why: String,
    },
}

/// What one term does.
#[derive(Debug, Clone, PartialEq)]
pub enum Does {
    /// It is met.
    Passes,
    /// So much is taken off the weight.
    Deducts {
        /// Of the weight, %.
        pct: f64,
    },
    /// It must be dried before it is stored.
    Dries,
    /// Nothing is decided before it is known.
    Holds,
    /// It is not taken.
    Refuses,
    /// It is not known and not waited for.
    NotKnown,
}

/// One term beside what was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Key.
    pub key: &'static str,
    /// What it is called.
    pub term: &'static str,
    /// What was found; none where it was not looked for.
    pub found: Option<f64>,
    /// What is allowed.
    pub allowed: f64,
    /// Whether at most that, or at least.
    pub at_most: bool,
    /// Unit as shown.
    pub unit: &'static str,
    /// Decimals to show.
    pub decimals: u8,
    /// What it does.
    pub does: Does,
}

/// The answer at the gate.
#[derive(Debug, Clone, PartialEq)]
pub struct Gate {
    /// What to do.
    pub decision: Decision,
    /// Term by term.
    pub lines: Vec<Line>,
    /// Clean barley in it, kg as it is.
    pub clean_kg: f64,
    /// Dry matter of that.
    pub clean_dry_kg: f64,
    /// What is paid for, kg: the weight less what is deducted.
    pub paid_kg: f64,
    /// Whether it must be dried, and what it weighs after, kg clean.
    pub dried_kg: Option<f64>,
    /// How it is dried in the house's kiln: loads, hours, air-on, oil.
    pub dry: Option<StoreDry>,
    /// Whether it lies on hold until its germination is tested (three days).
    pub waits_for_test: bool,
    /// What to know.
    pub says: Vec<String>,
}

/// Gives the answer at the gate.
///
/// A part that is not barley, or falls through the sieve, above what is allowed is taken off weight
/// for weight; nitrogen by the house's scale.
///
/// # Units
/// As in [`Weighed`].
/// # Range
/// A kind of barley of the house; moisture 0.05 to 0.40.
/// # Error
/// Exact: arithmetic on the house's terms.
/// # Source
/// The terms are the house's own, [`Contract`].
pub fn gate(house: &House, weighed: &Weighed) -> Result<Gate, Fault> {
    let barley = house.barley(&weighed.barley).ok_or_else(|| Fault::NotAllowed {
        field: "barley".into(),
        found: weighed.barley.clone(),
        allowed: house.barleys.iter().map(|barley| barley.key.clone()).collect(),
    })?;
    let moisture = gauge::Field::new("moisture_wet", "").within(0.05, 0.40);
    moisture.check(weighed.moisture_wet)?;
    let lines = lines(&barley.contract, weighed);
    let decision = decide(weighed, &lines);
    let share = |pct: Option<f64>, usual: f64| pct.unwrap_or(usual) / 100.0;
    let bought = Bought {
        gross_kg: weighed.gross_kg,
        admixture_fraction: share(weighed.admixture_pct, barley.store.admixture_pct),
        screenings_fraction: share(weighed.screenings_pct, barley.store.screenings_pct),
        moisture_wet: weighed.moisture_wet,
    };
    let dries = lines.iter().any(|line| line.does == Does::Dries);
    let off = match decision {
        Decision::Deduct { pct } => pct / 100.0,
        _ => 0.0,
    };
    let tested = weighed.germinative_energy_4ml_pct.is_some();
    Ok(Gate {
        says: says(barley, weighed, &lines, dries),
        clean_kg: clean_kg(&bought),
        clean_dry_kg: clean_dry_kg(&bought),
        paid_kg: weighed.gross_kg * (1.0 - off),
        dry: None,
        dried_kg: dries.then(|| dried_kg(&bought, barley.contract.most_moisture_wet)),
        waits_for_test: !tested && !matches!(decision, Decision::Refuse { .. }),
        decision,
        lines,
    })
}

/// What the terms do: moisture, nitrogen, screenings, admixture, germinative energy.
fn does(terms: &Contract, w: &Weighed) -> [Does; 5] {
    let over = |found: f64, allowed: f64| found > allowed + 1e-9;
    let moisture = match w.moisture_wet {
        m if over(m, terms.most_to_dry_wet) => Does::Refuses,
        m if over(m, terms.most_moisture_wet) => Does::Dries,
        _ => Does::Passes,
    };
    let nitrogen = match w.nitrogen_pct_dry {
        None => Does::Holds,
        Some(n) if over(n, terms.refused_nitrogen_pct_dry) => Does::Refuses,
        Some(n) if over(n, terms.most_nitrogen_pct_dry) => Does::Deducts {
            pct: 10.0 * (n - terms.most_nitrogen_pct_dry) * terms.nitrogen_deducts_pct,
        },
        Some(_) => Does::Passes,
    };
    let weight_for_weight = |found: Option<f64>, allowed: f64| match found {
        None => Does::NotKnown,
        Some(found) if over(found, allowed) => Does::Deducts { pct: found - allowed },
        Some(_) => Does::Passes,
    };
    let energy = match w.germinative_energy_4ml_pct {
        None => Does::NotKnown,
        Some(found) if found < terms.least_energy_pct => Does::Holds,
        Some(_) => Does::Passes,
    };
    [
        moisture,
        nitrogen,
        weight_for_weight(w.screenings_pct, terms.most_screenings_pct),
        weight_for_weight(w.admixture_pct, terms.most_admixture_pct),
        energy,
    ]
}

fn lines(terms: &Contract, w: &Weighed) -> Vec<Line> {
    let [moisture, nitrogen, screenings, admixture, energy] = does(terms, w);
    let line = |key, term, found, allowed, decimals, does| Line {
        key,
        term,
        found,
        allowed,
        at_most: true,
        unit: "%",
        decimals,
        does,
    };
    vec![
        line(
            "moisture_pct",
            "moisture",
            Some(100.0 * w.moisture_wet),
            100.0 * terms.most_moisture_wet,
            1,
            moisture,
        ),
        line(
            "nitrogen_pct_dry",
            "nitrogen on dry matter",
            w.nitrogen_pct_dry,
            terms.most_nitrogen_pct_dry,
            2,
            nitrogen,
        ),
        line(
            "screenings_pct",
            "through the sieve",
            w.screenings_pct,
            terms.most_screenings_pct,
            1,
            screenings,
        ),
        line(
            "admixture_pct",
            "not barley",
            w.admixture_pct,
            terms.most_admixture_pct,
            1,
            admixture,
        ),
        Line {
            at_most: false,
            ..line(
                "germinative_energy_4ml_pct",
                "germinative energy, 4 ml",
                w.germinative_energy_4ml_pct,
                terms.least_energy_pct,
                0,
                energy,
            )
        },
    ]
}

fn decide(w: &Weighed, lines: &[Line]) -> Decision {
    if w.insects {
        return Decision::Refuse { why: "insects were seen in it".to_owned() };
    }
    if let Some(line) = lines.iter().find(|line| line.does == Does::Refuses) {
        let found = line.found.unwrap_or(f64::NAN);
        let decimals = usize::from(line.decimals);
        let why = format!("{} is {found:.decimals$} {}", line.term, line.unit);
        return Decision::Refuse { why };
    }
    match w.nose {
        Nose::Sound => {}
        // Smoke stays in the malt of a make that wants none.
        Nose::Smoky => return Decision::Refuse { why: "it smells of smoke".to_owned() },
        Nose::Musty | Nose::Sour | Nose::Heated => {
            let until = format!("a sample is looked at, for it smells {}", w.nose.word());
            return Decision::Hold { until };
        }
    }
    if let Some(line) = lines.iter().find(|line| line.does == Does::Holds) {
        let until = match line.found {
            None => format!("{} is known", line.term),
            Some(_) => "its germination is tested again".to_owned(),
        };
        return Decision::Hold { until };
    }
    let deducted = |line: &Line| match line.does {
        Does::Deducts { pct } => pct,
        _ => 0.0,
    };
    match lines.iter().map(deducted).sum::<f64>() {
        pct if pct > 0.0 => Decision::Deduct { pct: pct.min(100.0) },
        _ => Decision::Accept,
    }
}

fn says(barley: &Barley, w: &Weighed, lines: &[Line], dries: bool) -> Vec<String> {
    let mut says = Vec::new();
    if dries {
        says.push(format!(
            "At {:.1} % it is too wet to lie: it is dried to {:.0} % in the kiln first.",
            100.0 * w.moisture_wet,
            100.0 * barley.contract.most_moisture_wet
        ));
    }
    for line in lines.iter().filter(|line| line.does == Does::NotKnown && line.at_most) {
        says.push(format!("{} was not looked for: its kind's usual figure stands in.", line.term));
    }
    if w.germinative_energy_4ml_pct.is_none() {
        says.push("It lies on hold until its three-day germination test.".to_owned());
    }
    says
}

/// Gives the answer at the gate with the drying of what is too wet to store.
///
/// # Units
/// As in [`gate`].
/// # Range
/// As in [`gate`]; without a kiln that can dry it, no drying is told.
/// # Error
/// As [`gate`] and [`drying`].
/// # Source
/// As there.
pub fn gate_on(house: &House, weighed: &Weighed, at: Timestamp) -> Result<Gate, Fault> {
    let mut gate = gate(house, weighed)?;
    if let Some(barley) = house.barley(&weighed.barley).filter(|_| gate.dried_kg.is_some()) {
        let terms = &barley.contract;
        gate.dry = drying(house, weighed.gross_kg, weighed.moisture_wet, terms, at).ok();
    }
    Ok(gate)
}

/// Gives how barley too wet to store is dried in the house's kiln.
///
/// # Units
/// kg as it is, wet basis.
/// # Range
/// 10 to 30 % moisture; a kiln in the house.
/// # Error
/// That of [`process::kiln::store_dry`].
/// # Source
/// As there.
pub fn drying(
    house: &House,
    mass_kg: f64,
    moisture_wet: f64,
    terms: &Contract,
    at: Timestamp,
) -> Result<StoreDry, Fault> {
    let (_, _, stage) = super::kilning::kiln_of(house, "")?;
    let weather = usual_weather(house, at);
    let pressure_pa = house.plant.site.pressure_pa;
    let vapour_pa = weather.relative_humidity * air::saturation_pa(weather.air_c);
    let setting = Setting {
        air: Air { pressure_pa, ambient_c: weather.air_c, ..Air::default() },
        humidity_ratio: air::humidity_ratio(vapour_pa, pressure_pa),
        peat: Peat::default(),
        turns: Vec::new(),
        solve: Solve::default(),
    };
    let wet = Wet {
        mass_kg,
        moisture_wet,
        // A little under what may lie, for no load comes out even.
        to_moisture_wet: terms.most_moisture_wet - DRIER,
        temperature_c: weather.air_c.clamp(0.0, 40.0),
        ..Wet::default()
    };
    store_dry(&wet, stage, &setting, &Constants::default())
}

/// Barley is dried so far below what may lie, wet basis.
const DRIER: f64 = 0.01;
