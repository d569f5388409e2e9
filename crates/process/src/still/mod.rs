//! The pot still: a charge boils, its vapour is condensed, and the stillman cuts.
//!
//! What the distiller does. The charge (wash, or low wines with the foreshots and feints of the
//! run before) is let in over the coils and heated until the head is hot and the first spirit
//! runs at the safe. From then on the pot gives vapour richer in alcohol than itself and so grows
//! weaker: the strength at the safe falls without a stop. In a wash still all is kept until it
//! hardly pays for its steam, at about 1 % vol. In a spirit still the first running (foreshots)
//! is strong but carries what is most volatile and what lay in the worm; the heart is kept; when
//! the strength has fallen to its mark the rest is turned back as feints. What stays in the pot is
//! pot ale or spent lees. A tall or cold head condenses part of the vapour, which runs back: the
//! spirit is stronger and cleaner of heavy oils and smoke, and the run longer.
//!
//! # Equations
//! `dn/dt = -D`, `dn_E/dt = -D y_D`, with `D` from the heat balance of pot and head ([`head`]),
//! equilibrium by NRTL and Wagner vapour pressures ([`equilibrium`]), heats of the pure liquids
//! ([`heat`]), congeners as passengers ([`congener`]). Cuts are located events ([`pot`]).
//! Condensed distillate is gauged at 20 °C by the general formula of OIML R 22.
//!
//! # Units and range
//! mol, W, Pa, °C, s; 20 to 110 kPa; a charge of up to 0.70 mole fraction ethanol (88 % vol). The
//! pot is called dry at 2 % of its charge. No residence lag in condenser and safe, no entrainment,
//! no solids, no action of copper.
//!
//! # Error
//! Against the measured boiling curves 0.15 K and 0.004 in the vapour (36 rows at 101.3 kPa);
//! below mole fraction 0.02 the volatility of alcohol is sure to some 8 %, which is 0.4 % vol in
//! low wines. Congeners: see [`congener`]; they are no measurements.
//!
//! # Source
//! Lord Rayleigh, Phil. Mag. 4 (1902) 521, for the boiling pot; the partial condenser and the
//! constants at their places. Tables under `tests/reference/`.

mod amount;
mod boil;
pub(crate) mod case;
mod congener;
mod cut;
mod drops;
mod equilibrium;
pub(crate) mod fittings;
mod head;
pub(crate) mod heat;
pub(crate) mod pot;
pub(crate) mod proposal;
pub(crate) mod result;
mod setup;
#[cfg(test)]
mod tests;
mod trace;

pub use amount::{Moles, Spirit, mole_fraction, strength_pct};
pub use case::{Case, Still};
pub use congener::{CONGENERS, Congener, Group};
pub use cut::{Cut, Demisting, HeatStep, Until};
pub use equilibrium::{Bubble, ETHANOL_G_MOL, Mixture, WATER_G_MOL};
pub use fittings::{Head, Switch};
pub use proposal::case::ProposeCut;
pub use proposal::{Limit, Proposal, Tradeoff, Wanted, propose};
pub use result::{CutRun, Run, Start};
pub use trace::{Point, Reading, Trace};

use gauge::fault::Side;
use gauge::{Fault, Grade, Record};

const MEASURED: &str = "least squares to 56 measured points of boiling ethanol-water: Carey & \
    Lewis 1932, Kamihama et al. 2012, Voutsas et al. 2011, Pemberton & Mash 1978";

gauge::record! {
    /// How much liquid is let in, by moles or by litres and strength.
    pub struct Filling {
        /// Ethanol in the charge.
        pub ethanol_mol: Option<f64> = Field::new("mol").label("ethanol")
            .within(0.0, 1e8).extensive(),
        /// Water in the charge.
        pub water_mol: Option<f64> = Field::new("mol").label("water").within(1e-3, 1e8).extensive(),
        /// Litres of the charge at 20 °C; with a strength instead of moles.
        pub volume_20_l: Option<f64> = Field::new("L at 20 °C").label("volume at 20 °C")
            .within(0.01, 1e6).extensive(),
        /// Strength of the charge at 20 °C.
        pub strength_pct: Option<f64> = Field::new("% vol").label("strength").within(0.0, 88.0),
        /// Temperature at which it is let in; not given, it starts at its boiling point.
        pub temperature_c: Option<f64> = Field::new("°C").label("temperature of the charge")
            .within(0.0, 100.0),
    }
}

/// What goes in.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Charge {
    /// The liquid.
    pub filling: Filling,
    /// Congeners and their amounts, in any unit.
    pub congeners: Vec<(&'static Congener, f64)>,
}

gauge::record! {
    /// The fixed facts of a still.
    pub struct Vessel {
        /// Heat lost by head, neck and lyne arm for each kelvin above the air; 0 is no reflux.
        pub head_loss_w_k: f64 = Field::new("W/K").label("heat lost by the head")
            .within(0.0, 1e5).or(0.0).from(
                Grade::Memory,
                "11 W/m2/K of bare dull copper in still air: 160 to 330 W/K for 15 to 30 m2",
            ).extensive(),
        /// Copper that warms and cools with the charge.
        pub copper_kg: f64 = Field::new("kg").label("copper that is heated")
            .within(0.0, 1e5).or(0.0).extensive(),
        /// Most that may be charged.
        pub most_charge_20_l: Option<f64> = Field::new("L at 20 °C").label("most charge")
            .within(0.01, 1e6).extensive(),
        /// Least that covers the coils.
        pub least_charge_20_l: Option<f64> = Field::new("L at 20 °C").label("least over the coils")
            .within(0.0, 1e6).extensive(),
        /// How the head condenses: all in one stage, or drop by drop along a long neck.
        pub head: Head = Field::new("").label("how the head condenses"),
        /// Copper of head and neck, warmed from the air's temperature before the first running.
        pub head_copper_kg: f64 = Field::new("kg").label("copper of head and neck")
            .within(0.0, 1e5).or(0.0).extensive(),
        /// Litres that stand in condenser and tail: the safe shows their mixture.
        pub residence_l: f64 = Field::new("L at 20 °C").label("held in condenser and tail")
            .within(0.0, 1e4).or(0.0).extensive(),
        /// Share of the vapour that leaves the head and is never condensed.
        pub vapour_loss: f64 = Field::new("").label("vapour lost, share")
            .within(0.0, 0.2).or(0.0)
            .from(Grade::Memory, "0.001 to 0.005 of the alcohol is customary; 0 leaves it out"),
        /// Furfural that forms in the heat, per litre of a full pot.
        pub furfural_mg_l_h: f64 = Field::new("mg/L/h").label("furfural formed in the heat")
            .within(0.0, 5.0).or(0.0)
            .from(Grade::Memory, "0.05 to 0.2 in a wash still, most over open fire; calibrate"),
        /// Temperature at which the spirit leaves the condenser.
        pub distillate_c: f64 = Field::new("°C").label("spirit from the condenser")
            .within(0.0, 60.0).or(20.0)
            .from(Grade::Memory, "kept below 20 to 25"),
        /// Cooling water on.
        pub water_on_c: f64 = Field::new("°C").label("cooling water on")
            .within(0.0, 40.0).or(12.0).from(Grade::Design, "a burn in a mild season"),
        /// Cooling water off.
        pub water_off_c: f64 = Field::new("°C").label("cooling water off")
            .within(1.0, 98.0).or(45.0).from(Grade::Design, "hand-warm and above; no source"),
        /// Litres of distillate that thin the film of old oils in the worm by a factor e.
        pub film_20_l: Option<f64> = Field::new("L at 20 °C").label("litres that wash the worm")
            .within(1e-3, 1e5).extensive(),
    }
}

gauge::record! {
    /// Air, and the fire the run begins with.
    pub struct Conditions {
        /// Pressure in the pot: barometer and the still's own back pressure.
        pub pressure_pa: f64 = Field::new("Pa").label("pressure").within(2e4, 1.1e5).or(101_325.0)
            .from(Grade::Published, "standard atmosphere, ISO 2533"),
        /// Heat into the liquid; may be left out when the heat steps begin at 0 s.
        pub heat_w: Option<f64> = Field::new("W").label("heat").within(1.0, 1e8).extensive(),
        /// Open steam let into the charge; may stand in the place of heat.
        pub steam_kg_s: f64 = Field::new("kg/s").label("open steam")
            .within(0.0, 100.0).or(0.0).extensive(),
        /// Heat of that steam over liquid water at 0 °C.
        pub steam_kj_kg: f64 = Field::new("kJ/kg").label("heat of the open steam")
            .within(2500.0, 3500.0).or(2725.0)
            .from(Grade::Memory, "saturated at 3 bar, steam tables"),
        /// Whether the heat of mixing of spirit and water is reckoned.
        pub heat_of_mixing: Switch = Field::new("").label("heat of mixing"),
        /// Air about the head.
        pub ambient_c: f64 = Field::new("°C").label("air in the still house")
            .within(-20.0, 45.0).or(20.0),
    }
}

/// What the hand decides.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Programme {
    /// Air and first fire.
    pub conditions: Conditions,
    /// Changes of the fire, in order of time.
    pub heat: Vec<HeatStep>,
    /// The cuts, in order; the last ends the run.
    pub cuts: Vec<Cut>,
}

gauge::record! {
    /// Free constants.
    pub struct Constants {
        /// NRTL, ethanol to water.
        pub nrtl_a12: f64 = Field::new("").label("NRTL a12").within(-3.0, 1.0).or(-1.16337)
            .from(Grade::Computed, MEASURED),
        /// NRTL, its part over temperature.
        pub nrtl_b12_k: f64 = Field::new("K").label("NRTL b12").within(0.0, 800.0).or(367.339)
            .from(Grade::Computed, MEASURED),
        /// NRTL, water to ethanol: it sets the volatility of little alcohol in much water.
        pub nrtl_a21: f64 = Field::new("").label("NRTL a21").within(3.5, 4.8).or(4.13606)
            .from(Grade::Computed, MEASURED).fitted(0.05),
        /// NRTL, its part over temperature.
        pub nrtl_b21_k: f64 = Field::new("K").label("NRTL b21").within(-1200.0, -400.0)
            .or(-814.560).from(Grade::Computed, MEASURED),
        /// NRTL, non-randomness.
        pub nrtl_alpha: f64 = Field::new("").label("NRTL alpha").within(0.2, 0.47).or(0.3)
            .from(Grade::Computed, MEASURED),
        /// Factor on the volatility of acetaldehyde, ethyl acetate, acetal and methanol.
        pub solvent_volatility: f64 = Field::new("").label("volatility of the solvents, factor")
            .within(0.1, 10.0).or(1.0)
            .from(Grade::Design, "1 leaves the model as it is; fit to analyses of one run's cuts")
            .fitted(0.2),
        /// Factor on the volatility of isoamyl acetate and the ethyl esters of fatty acids.
        pub fruit_volatility: f64 = Field::new("").label("volatility of the fruit esters, factor")
            .within(0.1, 10.0).or(1.0)
            .from(Grade::Design, "1 leaves the model as it is; fit to analyses of one run's cuts")
            .fitted(0.45),
        /// Factor on the volatility of propanol, 2-methylpropanol and the methylbutanols.
        pub oil_volatility: f64 = Field::new("").label("volatility of the higher alcohols, factor")
            .within(0.1, 10.0).or(1.0)
            .from(Grade::Design, "1 leaves the model as it is; fit to analyses of one run's cuts")
            .fitted(0.15),
        /// Factor on the volatility of furfural, acetic acid and 2-phenylethanol.
        pub late_volatility: f64 = Field::new("").label("volatility of what comes late, factor")
            .within(0.1, 10.0).or(1.0)
            .from(Grade::Design, "1 leaves the model as it is; fit to analyses of one run's cuts")
            .fitted(0.3),
        /// Factor on the volatility of the phenols.
        pub phenol_volatility: f64 = Field::new("").label("volatility of the phenols, factor")
            .within(0.1, 10.0).or(1.0)
            .from(Grade::Design, "1 leaves the model as it is; fit to phenols in pot ale")
            .fitted(0.3),
        /// Heat capacity of copper.
        pub copper_kj_kg_k: f64 = Field::new("kJ/kg/K").label("heat capacity of copper")
            .within(0.3, 0.5).or(0.385).from(Grade::Memory, "handbook value near 20 °C"),
        /// Oil in the first running over what still stays clear at 45.7 % vol.
        pub haze_ratio: f64 = Field::new("").label("oil in the first running over what stays clear")
            .within(1.01, 1e4).or(20.0)
            .from(Grade::Design, "no source; fit to when the foreshots clear").fitted(10.0),
    }
}

impl Charge {
    /// A charge of so many moles, at its boiling point.
    pub fn of_moles(moles: Moles) -> Self {
        let filling = Filling {
            ethanol_mol: Some(moles.ethanol_mol),
            water_mol: Some(moles.water_mol),
            ..Filling::default()
        };
        Self { filling, congeners: Vec::new() }
    }

    /// A charge of litres at 20 °C and a strength, at its boiling point.
    pub fn of_spirit(spirit: Spirit) -> Self {
        let filling = Filling {
            volume_20_l: Some(spirit.volume_20_l),
            strength_pct: Some(spirit.strength_pct),
            ..Filling::default()
        };
        Self { filling, congeners: Vec::new() }
    }

    /// Gives the moles of ethanol and water in it.
    ///
    /// # Units
    /// mol.
    /// # Range
    /// Up to a mole fraction of 0.70; moles or litres with strength, not both.
    /// # Error
    /// Litres and strength to moles: that of OIML R 22 at 20 °C.
    /// # Source
    /// OIML R 22, 1975.
    pub fn moles(&self) -> Result<Moles, Fault> {
        let Filling { ethanol_mol, water_mol, volume_20_l, strength_pct, .. } = self.filling;
        let moles = match (ethanol_mol, water_mol, volume_20_l, strength_pct) {
            (Some(ethanol_mol), Some(water_mol), None, None) => Moles { ethanol_mol, water_mol },
            (None, None, Some(volume_20_l), Some(strength_pct)) => {
                Moles::of_spirit(Spirit { volume_20_l, strength_pct })
            }
            (Some(_), None, None, None) => return Err(missing("water_mol")),
            (None, Some(_), None, None) => return Err(missing("ethanol_mol")),
            (None, None, Some(_), None) => return Err(missing("strength_pct")),
            (None, None, None, Some(_)) => return Err(missing("volume_20_l")),
            _ => {
                let given = usize::from(ethanol_mol.is_some() || water_mol.is_some())
                    + usize::from(volume_20_l.is_some() || strength_pct.is_some());
                return Err(Fault::OneOf {
                    field: "charge".into(),
                    keys: vec!["ethanol_mol with water_mol", "volume_20_l with strength_pct"],
                    given,
                });
            }
        };
        not_too_rich(moles)?;
        Ok(moles)
    }
}

/// Refuses a charge near where vapour and liquid are alike.
pub(crate) fn not_too_rich(moles: Moles) -> Result<(), Fault> {
    let limit = RICHEST_CHARGE / (1.0 - RICHEST_CHARGE) * moles.water_mol;
    if moles.ethanol_mol <= limit {
        return Ok(());
    }
    Err(Fault::Unworkable {
        field: "charge".into(),
        trouble: format!(
            "{:.1} % vol is stronger than any wash, low wines or feints, and hardly boils apart",
            moles.strength_pct()
        ),
        remedy: "charge at most 88 % vol: water it down".into(),
    })
}

/// Highest mole fraction of ethanol in a charge: well short of where vapour and liquid are alike.
const RICHEST_CHARGE: f64 = 0.70;

fn missing(key: &'static str) -> Fault {
    let field = Filling::FIELDS.iter().find(|f| f.key == key);
    Fault::Missing {
        field: format!("charge.{key}").into(),
        unit: field.map_or("", |f| f.unit),
        low: field.map_or(f64::MIN, |f| f.low),
        high: field.map_or(f64::MAX, |f| f.high),
    }
}

impl Constants {
    /// Factor on K of each group of congeners, in the order of [`Group`].
    pub(crate) fn volatility(&self) -> [f64; 5] {
        [
            self.solvent_volatility,
            self.fruit_volatility,
            self.oil_volatility,
            self.late_volatility,
            self.phenol_volatility,
        ]
    }
}

impl Programme {
    /// The fire over the run, the first step from the first running on.
    pub(crate) fn steps(&self) -> Result<Vec<HeatStep>, Fault> {
        let mut steps = Vec::with_capacity(self.heat.len() + 1);
        let begins = self.heat.first().is_some_and(|h| h.from_s <= 0.0);
        let Conditions { heat_w, steam_kg_s, .. } = self.conditions;
        if !begins {
            if heat_w.is_none() && steam_kg_s <= 0.0 {
                let field = Conditions::FIELDS.iter().find(|f| f.key == "heat_w");
                return Err(Fault::Missing {
                    field: "still.heat_w".into(),
                    unit: "W",
                    low: field.map_or(f64::MIN, |f| f.low),
                    high: field.map_or(f64::MAX, |f| f.high),
                });
            }
            let heat_w = heat_w.unwrap_or(0.0);
            steps.push(HeatStep { from_s: 0.0, heat_w, steam_kg_s, place: None });
        }
        steps.extend(self.heat.iter().cloned());
        for step in &steps {
            let path = |key: &str| match step.place {
                Some(place) => format!("heat[{place}].{key}"),
                None => format!("still.{key}"),
            };
            Fault::check(path("heat_w"), step.heat_w, "W", 0.0..=1e8)?;
            Fault::check(path("steam_kg_s"), step.steam_kg_s, "kg/s", 0.0..=100.0)?;
        }
        for pair in steps.windows(2) {
            if pair[1].from_s <= pair[0].from_s {
                return Err(Fault::NotInOrder {
                    field: format!("heat[{}].from_s", pair[1].place.unwrap_or(0)).into(),
                    value: pair[1].from_s,
                    before: pair[0].from_s,
                    unit: "s",
                });
            }
        }
        Ok(steps)
    }
}

/// Every fault of the four as they stand, save what only the run can tell.
fn check(
    charge: &Charge,
    vessel: &Vessel,
    programme: &Programme,
    constants: &Constants,
) -> Result<Moles, Fault> {
    let faults = [
        (charge.filling.faults(), "charge"),
        (vessel.faults(), "still"),
        (programme.conditions.faults(), "still"),
        (constants.faults(), "constants"),
    ];
    for (faults, part) in faults {
        if let Some(fault) = faults.into_iter().next() {
            return Err(fault.within(part));
        }
    }
    for (congener, amount) in &charge.congeners {
        let field = format!("charge.congeners.{}", congener.key);
        Fault::check(field, *amount, "any unit", 0.0..=case::MOST_CONGENER)?;
    }
    for (place, cut) in programme.cuts.iter().enumerate() {
        cut.until.check(place)?;
    }
    cut::in_order(&programme.cuts)?;
    if programme.cuts.is_empty() {
        return Err(Fault::MissingPart {
            field: "cut".into(),
            wanted: "a list of at least one cut",
        });
    }
    let moles = charge.moles()?;
    covers(moles.volume_20_l(), vessel)?;
    Ok(moles)
}

/// The charge must cover the coils and leave room to boil.
fn covers(volume_20_l: f64, vessel: &Vessel) -> Result<(), Fault> {
    let beyond = |side, limit, sets: &'static str| Fault::Beyond {
        field: "charge.volume_20_l".into(),
        value: volume_20_l,
        unit: "L at 20 °C",
        side,
        limit,
        sets: sets.into(),
    };
    match (vessel.least_charge_20_l, vessel.most_charge_20_l) {
        (Some(least), _) if volume_20_l < least => {
            Err(beyond(Side::AtLeast, least, "the charge that covers the coils"))
        }
        (_, Some(most)) if volume_20_l > most => {
            Err(beyond(Side::AtMost, most, "the most the still is charged with"))
        }
        _ => Ok(()),
    }
}

/// Runs a still from its charge to the end of its last cut.
///
/// # Units
/// mol, L at 20 °C, % vol, s, °C, W, kJ; congeners as shares of the charge.
/// # Range
/// See the page above; a figure outside its field's range is `Fault::OutOfRange`, a charge that
/// leaves the coils bare `Fault::Beyond`, a mark never come to `Fault::NeverReached`.
/// # Error
/// Followed to 1e-8; the models' own errors are on the page above.
/// # Source
/// As on the page above.
/// # Example
/// ```
/// use process::still::{Charge, Conditions, Constants, Cut, Moles, Programme, Until, Vessel, run};
/// let charge = Charge::of_moles(Moles { ethanol_mol: 13_700.0, water_mol: 514_000.0 });
/// let conditions = Conditions { heat_w: Some(400e3), ..Conditions::default() };
/// let until = Until::StrengthPct(1.0);
/// let cuts = vec![Cut { name: "low_wines".to_owned(), until }];
/// let programme = Programme { conditions, heat: vec![], cuts };
/// let run = run(&charge, &Vessel::default(), &programme, &Constants::default())?;
/// assert!((run.cuts[0].distillate.strength_pct() - 20.652).abs() < 0.001);
/// # Ok::<(), gauge::Fault>(())
/// ```
pub fn run(
    charge: &Charge,
    vessel: &Vessel,
    programme: &Programme,
    constants: &Constants,
) -> Result<Run, Fault> {
    let setup = setup::Setup::of(charge, vessel, programme, constants)?;
    let pot = setup.pot();
    let course = pot::distil(&pot, &programme.cuts)?;
    result::gather(&pot, &course, charge, vessel, programme, constants)
}
