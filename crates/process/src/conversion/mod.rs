//! Conversion: starch to sugars in the tun.
//!
//! The mash is held and nothing seems to happen. In it the starch of the grist swells and goes
//! into solution, faster the hotter it is, and two enzymes cut it: alpha-amylase anywhere, into
//! pieces of all sizes, beta-amylase from the ends, into maltose. Both die of the heat, beta-
//! amylase first: at 65 °C most of it is gone in half an hour, while more than half of the alpha-
//! amylase outlives an hour. So a mash a degree too hot gives all its extract and less of it
//! ferments; a mash too cool leaves starch. What survives in the drained worts goes on working in
//! the washback, because a malt distiller's wort is not boiled.
//!
//! # Equations
//! Carbohydrate is kept as anhydroglucose, kg in 100 kg of starch, so that its sum stays 100.
//! With s starch, d dextrin, g glucose, m maltose, n maltotriose, e the surviving share of each
//! enzyme times the malt's strength, `A = a_alpha(T) e_alpha`, `B = a_beta(T) e_beta`:
//! ```text
//! s' = -k_g(T) s
//! d' = f_d k_g s - (q_g A + q_m A + q_b B + q_n A) d
//! g' = f_g k_g s + q_g A d    m' = f_m k_g s + (q_m A + q_b B) d    n' = f_n k_g s + q_n A d
//! e_alpha' = -k_alpha(T) e_alpha  e_beta' = -f_beta k_beta(T) e_beta
//! ```
//! The shares f are those of starch cut as soon as it dissolves (`enzymes.rs`). Rates follow
//! Arrhenius from the temperature at which each is stated; gelatinisation has one line below its
//! split temperature and one above.
//!
//! # Units
//! Minutes, °C, kg.
//! # Range
//! 45 to 75 °C and 10 to 120 min; beyond that the run stands with a warning. No pH, no thickness of
//! mash save through the protection of beta-amylase, no inhibition by maltose.
//! # Error
//! About 5 % of total fermentable sugar with the malt fitted and 10 % without: the errors of a
//! like model against mashes (Koljonen and others, 1995: +0.6 to -5.6 %, -1.1 to -9.9 %, +4.6 to
//! -2.6 %).
//! # Source
//! Structure and activity curves: C. Brandam, X. M. Meyer, J. Proth, P. Strehaiano, H. Pingaud,
//! An original kinetic model for the enzymatic hydrolysis of starch during mashing, Biochem. Eng.
//! J. 13 (2003) 43. Its rate constants stand from memory. Protection of beta-amylase in a thick
//! mash: from R. Muller's survival figures at 65 °C (1990). T. Koljonen, J. J. Hämäläinen, K.
//! Sjöholm, K. Pietilä, J. Food Eng. 26 (1995) 329.

mod enzymes;
#[cfg(test)]
mod tests;

use crate::sound::{no_step, row_times, sound, step_to};
use crate::{Balance, Curves, Matter, Report, Stage};
use enzymes::Rates;
use gauge::{Fault, Field, Grade, Node, Reader, Record, Warning};
use numeric::runge_kutta::{DormandPrince, Tolerance};
use std::convert::Infallible;

const BRANDAM: &str = "Brandam and others, Biochem. Eng. J. 13 (2003) 43; value from memory";

gauge::record! {
    /// What goes in: starch, and how strong the malt's enzymes are against a fresh standard malt.
    pub struct Charge {
        /// Starch mashed in, as anhydroglucose.
        pub starch_kg: f64 = Field::new("kg").label("Starch").within(0.001, 1e6).or(100.0)
            .extensive(),
        /// Alpha-amylase, a standard malt being 1.
        pub enzyme_alpha: f64 = Field::new("").label("Alpha-amylase").within(0.0, 5.0).or(1.0)
            .from(Grade::Design, "a fresh standard malt is 1"),
        /// Beta-amylase, a standard malt being 1: follows the diastatic power.
        pub enzyme_beta: f64 = Field::new("").label("Beta-amylase").within(0.0, 5.0).or(1.0)
            .from(Grade::Design, "a fresh standard malt is 1"),
    }
}

gauge::record! {
    /// One knot of the temperature history; straight lines between, the ends held.
    pub struct Knot {
        /// When.
        pub at_min: f64 = Field::new("min").label("At").within(0.0, 2880.0),
        /// Temperature of the mash then.
        pub temperature_c: f64 = Field::new("°C").label("Temperature").within(10.0, 100.0),
    }
}

gauge::record! {
    /// The vessel has no figure of its own here: its heat is reckoned by the mash.
    pub struct Vessel {}
}

/// What the hand decides: the temperature of the mash over time.
#[derive(Debug, Clone, PartialEq)]
pub struct Programme {
    /// Knots, rising in time; the run goes from 0 to the last.
    pub temperature: Vec<Knot>,
    /// Rows of the curves.
    pub every_min: f64,
}

const EVERY_MIN: Field = Field::new("every_min", "min")
    .label("A row every")
    .within(0.05, 1440.0)
    .or(5.0)
    .from(Grade::Design, "rows only; the reckoning does not change");

gauge::record! {
    /// The free constants.
    pub struct Constants {
        /// Where gelatinisation changes from its cool to its hot line; a warm harvest raises it.
        pub gelatinise_split_c: f64 = Field::new("°C").label("Gelatinisation split")
            .within(50.0, 75.0).or(60.0).from(Grade::Memory, BRANDAM).fitted(1.5),
        /// Rate of gelatinisation at the split, on the cool line.
        pub gelatinise_cool_per_min: f64 = Field::new("1/min").within(1e-4, 10.0)
            .or(0.08807827196365277).from(Grade::Memory, BRANDAM),
        /// Its energy of activation.
        pub gelatinise_cool_kj_mol: f64 = Field::new("kJ/mol").within(10.0, 600.0).or(220.6)
            .from(Grade::Memory, BRANDAM),
        /// Rate of gelatinisation at the split, on the hot line.
        pub gelatinise_hot_per_min: f64 = Field::new("1/min").within(1e-4, 10.0)
            .or(0.1943237661040271).from(Grade::Memory, BRANDAM),
        /// Its energy of activation.
        pub gelatinise_hot_kj_mol: f64 = Field::new("kJ/mol").within(10.0, 600.0).or(108.3)
            .from(Grade::Memory, BRANDAM),
        /// Loss of alpha-amylase at 65 °C.
        pub alpha_loss_65_per_min: f64 = Field::new("1/min").within(1e-5, 1.0)
            .or(0.00961991862474858).from(Grade::Memory, BRANDAM).fitted(0.002),
        /// Its energy of activation.
        pub alpha_loss_kj_mol: f64 = Field::new("kJ/mol").within(50.0, 800.0).or(224.2)
            .from(Grade::Memory, BRANDAM),
        /// Loss of beta-amylase at 65 °C in a thin mash.
        pub beta_loss_65_per_min: f64 = Field::new("1/min").within(1e-5, 5.0)
            .or(0.16409836025772828).from(Grade::Memory, BRANDAM),
        /// Its energy of activation.
        pub beta_loss_kj_mol: f64 = Field::new("kJ/mol").within(50.0, 800.0).or(410.7)
            .from(Grade::Memory, BRANDAM),
        /// Factor on the loss of beta-amylase: 0.36 in a mash of 2.5 to 4.5 l/kg, 1 in a
        /// thin laboratory mash.
        pub beta_protection: f64 = Field::new("").label("Protection of beta-amylase")
            .within(0.05, 1.5).or(0.36)
            .from(Grade::Computed, "Muller's survival at 65 °C, 2.5 l/kg, over the thin-mash rate")
            .fitted(0.08),
        /// Share weight of glucose in starch cut by alpha-amylase.
        pub split_glucose: f64 = Field::new("").within(0.0, 1e3).or(5.06)
            .from(Grade::Memory, BRANDAM),
        /// The same of maltose.
        pub split_maltose: f64 = Field::new("").within(0.0, 1e3).or(85.58)
            .from(Grade::Memory, BRANDAM),
        /// The same of maltotriose.
        pub split_maltotriose: f64 = Field::new("").within(0.0, 1e3).or(25.74)
            .from(Grade::Memory, BRANDAM),
        /// The same of dextrin.
        pub split_dextrin: f64 = Field::new("").within(0.0, 1e3).or(69.74)
            .from(Grade::Memory, BRANDAM),
        /// Share weight of maltose in starch cut by beta-amylase.
        pub split_maltose_beta: f64 = Field::new("").within(0.0, 1e3).or(56.17)
            .from(Grade::Memory, BRANDAM),
        /// Dextrin to glucose by alpha-amylase.
        pub cut_glucose_per_min: f64 = Field::new("1/min").within(0.0, 1.0).or(3.828e-4)
            .from(Grade::Memory, BRANDAM),
        /// Dextrin to maltose by alpha-amylase.
        pub cut_maltose_per_min: f64 = Field::new("1/min").within(0.0, 1.0).or(1.584e-3)
            .from(Grade::Memory, BRANDAM),
        /// Dextrin to maltotriose by alpha-amylase.
        pub cut_maltotriose_per_min: f64 = Field::new("1/min").within(0.0, 1.0).or(1.98e-4)
            .from(Grade::Memory, BRANDAM),
        /// Dextrin to maltose by beta-amylase.
        pub cut_maltose_beta_per_min: f64 = Field::new("1/min").within(0.0, 1.0).or(2.0664e-3)
            .from(Grade::Memory, BRANDAM),
    }
}

/// How far the conversion has come: kg of anhydroglucose in 100 kg of starch, and enzymes left.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct State {
    /// Starch not yet dissolved.
    pub starch: f64,
    /// Dextrin.
    pub dextrin: f64,
    /// Glucose.
    pub glucose: f64,
    /// Maltose.
    pub maltose: f64,
    /// Maltotriose.
    pub maltotriose: f64,
    /// Alpha-amylase left, a fresh standard malt being 1.
    pub enzyme_alpha: f64,
    /// Beta-amylase left, the same.
    pub enzyme_beta: f64,
}

/// Mass of a sugar over the anhydroglucose in it, from molar masses (162.141, 180.156, 342.297,
/// 504.438 g/mol): the difference is water bound by the cut.
pub const GLUCOSE_KG_KG: f64 = 180.156 / 162.141;
/// The same for maltose.
pub const MALTOSE_KG_KG: f64 = 342.297 / (2.0 * 162.141);
/// The same for maltotriose.
pub const MALTOTRIOSE_KG_KG: f64 = 504.438 / (3.0 * 162.141);

impl State {
    /// The state when the grist meets the water.
    pub fn fresh(charge: &Charge) -> Self {
        Self {
            starch: 100.0,
            dextrin: 0.0,
            glucose: 0.0,
            maltose: 0.0,
            maltotriose: 0.0,
            enzyme_alpha: charge.enzyme_alpha,
            enzyme_beta: charge.enzyme_beta,
        }
    }
    /// Share of the dissolved starch that yeast can take as it is.
    pub fn fermentable(&self) -> f64 {
        let dissolved = 100.0 - self.starch;
        if dissolved > 0.0 {
            (self.glucose + self.maltose + self.maltotriose) / dissolved
        } else {
            0.0
        }
    }
    /// Extract of 100 kg of starch: the dissolved carbohydrate with the water bound in it.
    pub fn extract(&self) -> f64 {
        GLUCOSE_KG_KG * self.glucose
            + MALTOSE_KG_KG * self.maltose
            + MALTOTRIOSE_KG_KG * self.maltotriose
            + self.dextrin
    }
    fn from_slice(y: &[f64]) -> Self {
        Self {
            starch: y[0],
            dextrin: y[1],
            glucose: y[2],
            maltose: y[3],
            maltotriose: y[4],
            enzyme_alpha: y[5],
            enzyme_beta: y[6],
        }
    }
    fn slice(&self) -> [f64; 7] {
        [
            self.starch,
            self.dextrin,
            self.glucose,
            self.maltose,
            self.maltotriose,
            self.enzyme_alpha,
            self.enzyme_beta,
        ]
    }
}

/// What comes out.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// The state at the end.
    pub end: State,
    /// Extract made of the starch.
    pub extract_kg: f64,
    /// Water bound in it.
    pub hydrolysis_water_kg: f64,
    /// The course.
    pub curves: Curves,
    /// Anhydroglucose in and out.
    pub balance: Balance,
    /// Where the run left the range of the model.
    pub warnings: Vec<Warning>,
}

/// Follows the conversion from fresh grist along the temperature history.
pub fn run(
    charge: &Charge,
    _vessel: &Vessel,
    programme: &Programme,
    constants: &Constants,
) -> Result<Run, Fault> {
    sound("", charge)?;
    let start = State::fresh(charge);
    let mut curves = new_curves();
    let end = follow(&start, programme, constants, |time_min, at_c, state| {
        let y = state.slice();
        let row = [time_min, at_c, y[0], y[1], y[2], y[3], y[4], y[5], y[6]];
        curves.push(&row);
    })?;
    let share = charge.starch_kg / 100.0;
    let mut balance = Balance::new();
    let agu = Matter::Other("anhydroglucose_kg");
    balance.input(agu, "starch", charge.starch_kg);
    balance.output(agu, "starch_left", share * end.starch);
    balance.output(agu, "dextrin", share * end.dextrin);
    balance.output(agu, "glucose", share * end.glucose);
    balance.output(agu, "maltose", share * end.maltose);
    balance.output(agu, "maltotriose", share * end.maltotriose);
    let extract_kg = share * end.extract();
    Ok(Run {
        extract_kg,
        hydrolysis_water_kg: extract_kg - share * (100.0 - end.starch),
        end,
        curves,
        balance,
        warnings: warnings(programme),
    })
}

/// Carries a conversion on from `state` along the temperature history, and gives its end.
pub fn resume(state: &State, programme: &Programme, constants: &Constants) -> Result<State, Fault> {
    follow(state, programme, constants, |_, _, _| {})
}

fn new_curves() -> Curves {
    let agu = "kg/100 kg starch";
    Curves::new([
        ("time_min", "min"),
        ("temperature_c", "°C"),
        ("starch", agu),
        ("dextrin", agu),
        ("glucose", agu),
        ("maltose", agu),
        ("maltotriose", agu),
        ("enzyme_alpha", ""),
        ("enzyme_beta", ""),
    ])
}

fn warnings(programme: &Programme) -> Vec<Warning> {
    let beyond = |k: &Knot| k.temperature_c < 45.0 || k.temperature_c > 75.0;
    if programme.temperature.iter().any(beyond) {
        vec![Warning {
            code: "beyond the model",
            says: "The mash leaves 45 to 75 °C, where the rates were found.".to_owned(),
        }]
    } else {
        Vec::new()
    }
}

fn check(programme: &Programme, constants: &Constants) -> Result<f64, Fault> {
    EVERY_MIN.check(programme.every_min)?;
    sound("constants", constants)?;
    let mut before: Option<f64> = None;
    for (index, knot) in programme.temperature.iter().enumerate() {
        sound(&format!("temperature[{index}]"), knot)?;
        if let Some(before) = before.filter(|b| knot.at_min <= *b) {
            return Err(Fault::NotInOrder {
                field: format!("temperature[{index}].at_min").into(),
                value: knot.at_min,
                before,
                unit: "min",
            });
        }
        before = Some(knot.at_min);
    }
    before.filter(|end| *end > 0.0).ok_or(Fault::MissingPart {
        field: "temperature".into(),
        wanted: "a list of knots that ends after 0 min",
    })
}

/// Temperature at `t` on the straight lines between knots.
fn temperature(knots: &[Knot], t: f64) -> f64 {
    let next = knots.partition_point(|k| k.at_min < t);
    match (next.checked_sub(1).map(|i| &knots[i]), knots.get(next)) {
        (None, Some(first)) => first.temperature_c,
        (Some(a), Some(b)) => {
            let share = (t - a.at_min) / (b.at_min - a.at_min);
            a.temperature_c + share * (b.temperature_c - a.temperature_c)
        }
        (Some(last), None) => last.temperature_c,
        (None, None) => f64::NAN,
    }
}

/// The times at which a rate has a kink: the knots, and where the temperature passes one of theirs.
fn kink_times(knots: &[Knot], end: f64, constants: &Constants) -> Vec<f64> {
    let mut times = vec![0.0, end];
    times.extend(knots.iter().map(|k| k.at_min));
    for pair in knots.windows(2) {
        let (a, b) = (&pair[0], &pair[1]);
        for kink in enzymes::kinks(constants) {
            let share = (kink - a.temperature_c) / (b.temperature_c - a.temperature_c);
            if share > 0.0 && share < 1.0 {
                times.push(a.at_min + share * (b.at_min - a.at_min));
            }
        }
    }
    times.sort_by(f64::total_cmp);
    // Two kinks a rounding apart are one: a stretch that short cannot be stepped over.
    times.dedup_by(|later, earlier| *later - *earlier < 1e-9 * end);
    if let Some(last) = times.last_mut() {
        *last = end;
    }
    times
}

const TOLERANCE: Tolerance = Tolerance { relative: 1e-8, absolute: 1e-9 };

fn follow(
    start: &State,
    programme: &Programme,
    constants: &Constants,
    mut row: impl FnMut(f64, f64, &State),
) -> Result<State, Fault> {
    const WHAT: &str = "conversion of the mash";
    let end = check(programme, constants)?;
    let knots = &programme.temperature;
    let rows = row_times(programme.every_min, end);
    let mut rows = rows.into_iter().peekable();
    let mut y = start.slice().to_vec();
    for stretch in kink_times(knots, end, constants).windows(2) {
        let (from, to) = (stretch[0], stretch[1]);
        let hot = temperature(knots, 0.5 * (from + to)) >= constants.gelatinise_split_c;
        let mut slope = |t: f64, y: &[f64], dy: &mut [f64]| -> Result<(), Infallible> {
            Rates::at(temperature(knots, t), hot, constants).slopes(constants, y, dy);
            Ok(())
        };
        let mut course = DormandPrince::start(TOLERANCE, from, &y, &mut slope)
            .map_err(|stop| no_step(WHAT, &stop))?;
        while let Some(at) = rows.next_if(|at| *at <= to) {
            step_to(&mut course, at, WHAT, &mut slope)?;
            row(at, temperature(knots, at), &State::from_slice(course.state()));
        }
        step_to(&mut course, to, WHAT, &mut slope)?;
        y.copy_from_slice(course.state());
    }
    Ok(State::from_slice(&y))
}

/// The stage by case file.
#[derive(Debug, Clone, Copy)]
pub struct Conversion;

/// A whole case.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// What goes in.
    pub charge: Charge,
    /// The temperature history.
    pub programme: Programme,
    /// The free constants.
    pub constants: Constants,
}

impl Stage for Conversion {
    const KEY: &'static str = "conversion";
    const TITLE: &'static str = "Conversion";
    const DOES: &'static str =
        "Follows starch, sugars and the two enzymes of a mash along its temperature.";
    const EXAMPLE: &'static str = "\
# The enzymes along a given temperature history.
starch_kg = 100.0
enzyme_alpha = 1.0
enzyme_beta = 1.0
every_min = 5.0
[[temperature]]            # knots, straight lines between
at_min = 0.0
temperature_c = 64.0
[[temperature]]
at_min = 60.0
temperature_c = 64.0
";
    type Case = Case;

    fn read(reader: &mut Reader<'_>) -> Case {
        Case {
            charge: Charge::read(reader),
            programme: Programme {
                every_min: reader.number(&EVERY_MIN),
                temperature: reader.list("temperature", Knot::read),
            },
            constants: reader.section("constants", Constants::read),
        }
    }

    fn report(case: &Case) -> Result<Report, Vec<Fault>> {
        let run = run(&case.charge, &Vessel {}, &case.programme, &case.constants)
            .map_err(|fault| vec![fault])?;
        let end = &run.end;
        let result = Node::part([
            ("starch", Node::from(end.starch)),
            ("dextrin", Node::from(end.dextrin)),
            ("glucose", Node::from(end.glucose)),
            ("maltose", Node::from(end.maltose)),
            ("maltotriose", Node::from(end.maltotriose)),
            ("enzyme_alpha", Node::from(end.enzyme_alpha)),
            ("enzyme_beta", Node::from(end.enzyme_beta)),
            ("fermentable_share", Node::from(end.fermentable())),
            ("extract_kg", Node::from(run.extract_kg)),
            ("hydrolysis_water_kg", Node::from(run.hydrolysis_water_kg)),
        ]);
        Ok(Report { result, curves: run.curves, balance: run.balance, warnings: run.warnings })
    }
}
