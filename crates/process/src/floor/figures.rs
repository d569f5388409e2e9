//! The figures of a piece: what was cast, the floor, what the hand does, the constants.

use gauge::{Fault, Field, Grade, Record};

gauge::record! {
    /// What was cast from the steep.
    pub struct Charge {
        /// Dry matter.
        pub dry_kg: f64 = Field::new("kg").label("dry matter").within(1.0, 1e6).extensive(),
        /// Dry matter of the barley it came from; as cast when not given.
        pub barley_dry_kg: Option<f64> = Field::new("kg").label("dry matter of the barley")
            .within(1.0, 1e6).extensive(),
        /// Moisture of the corn, wet basis.
        pub moisture_wet: f64 = Field::new("kg/kg").label("moisture, wet basis")
            .within(0.25, 0.55).sd(0.005),
        /// Water clinging outside; the heap drinks it.
        pub surface_water_dry: f64 = Field::new("kg/kg").label("water clinging")
            .within(0.0, 0.25).or(0.0),
        /// Grain temperature at casting.
        pub temperature_c: f64 = Field::new("°C").label("grain temperature").within(0.0, 30.0),
        /// Share of the corns that grow.
        pub germinating_fraction: f64 = Field::new("").label("corns that grow")
            .within(0.0, 1.0).or(0.97).sd(0.015),
        /// Delay from hours without air in the steep.
        pub lag_h: f64 = Field::new("h").label("delay").within(0.0, 48.0).or(0.0),
        /// Nitrogen, % of dry matter.
        pub nitrogen_pct_dry: f64 = Field::new("%").label("nitrogen on dry matter")
            .within(0.8, 3.5).or(1.5).sd(0.03)
            .from(Grade::Published, "about 1.5 % best for pot-still malt, cereals note of 2019"),
        /// Hours after casting in which a piece cast with its water breathes less.
        pub held_back_h: f64 = Field::new("h").label("held back by a wet cast").within(0.0, 72.0)
            .or(0.0),
        /// Points by which fewer grew in 8 ml of water than in 4 ml: such grain comes on unevenly.
        pub sensitivity_pct: f64 = Field::new("%").label("water sensitivity").within(0.0, 100.0)
            .or(0.0),
        /// Lots in the piece.
        pub lots: f64 = Field::new("").label("lots in it").within(1.0, 9.0).or(1.0),
    }
}

gauge::record! {
    /// The floor.
    pub struct Vessel {
        /// Area a piece may cover.
        pub area_m2: f64 = Field::new("m²").label("floor").within(0.1, 1e4).extensive(),
    }
}

gauge::record! {
    /// What the hand and the weather do.
    pub struct Hand {
        /// Air over the piece.
        pub air_c: f64 = Field::new("°C").label("air").within(-10.0, 35.0).or(12.0),
        /// Its relative humidity.
        pub air_relative_humidity: f64 = Field::new("").label("relative humidity")
            .within(0.2, 1.0).or(0.85),
        /// The floor below.
        pub floor_c: f64 = Field::new("°C").label("floor").within(-5.0, 30.0).or(11.0),
        /// Share of the floor the piece covers when laid.
        pub covered_fraction: f64 = Field::new("").label("floor covered").within(0.05, 1.0)
            .or(1.0),
        /// Longest time between turns.
        pub turn_every_h: f64 = Field::new("h").label("turn every").within(1.0, 48.0).or(8.0)
            .from(Grade::Published, "at least twice a day, Wright, c. 1907"),
        /// Grain temperature at which it is turned at once.
        pub turn_above_c: f64 = Field::new("°C").label("turn above").within(8.0, 60.0).or(18.0),
        /// Modification at which it is ready.
        pub ready_modification: f64 = Field::new("").label("ready at modification")
            .within(0.3, 0.99).or(0.93)
            .from(Grade::Design, "an age of 7 to 8 days at 16 °C"),
        /// Hours it lies; until it is ready when not given.
        pub hours: Option<f64> = Field::new("h").label("hours").within(1.0, 500.0),
        /// Turning of its own accord begins; at casting when not given, unless turns are written
        /// down one by one.
        pub turn_from_h: Option<f64> = Field::new("h").label("turned as above from")
            .within(0.0, 500.0),
        /// Turning of its own accord ends.
        pub turn_until_h: Option<f64> = Field::new("h").label("turned as above until")
            .within(0.0, 500.0),
        /// Hours without a turn after which rootlets felt.
        pub felt_h: f64 = Field::new("h").label("felts after").within(3.0, 72.0).or(12.0)
            .from(Grade::Design, "turned at least twice a day, Wright, c. 1907"),
        /// Barometer.
        pub pressure_pa: f64 = Field::new("Pa").label("pressure").within(7e4, 1.1e5)
            .or(101_325.0).from(Grade::Published, "standard atmosphere"),
    }
}

gauge::record! {
    /// Water sprinkled on.
    pub struct Sprinkle {
        /// Hours from casting.
        pub at_h: f64 = Field::new("h").label("at").within(0.0, 500.0),
        /// Water for a tonne of dry matter cast.
        pub water_kg_t: f64 = Field::new("kg/t").label("water a tonne").within(0.0, 200.0),
        /// Its temperature.
        pub temperature_c: f64 = Field::new("°C").label("water").within(0.0, 40.0).or(12.0),
    }
}

gauge::record! {
    /// A thinning or thickening.
    pub struct Spread {
        /// Hours from casting.
        pub at_h: f64 = Field::new("h").label("at").within(0.0, 500.0),
        /// Share of the floor covered from here on.
        pub covered_fraction: f64 = Field::new("").label("floor covered").within(0.05, 1.0),
    }
}

/// How a piece is turned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum How {
    /// By shovel or turner: all of it through the air.
    Turn,
    /// With a plough: furrows, half of it.
    Plough,
}

impl How {
    /// The word in a case, a house file and the book.
    pub fn word(self) -> &'static str {
        match self {
            Self::Turn => "turn",
            Self::Plough => "plough",
        }
    }
    /// That of a word.
    pub fn named(word: &str) -> Option<Self> {
        [Self::Turn, Self::Plough].into_iter().find(|how| how.word() == word)
    }
}

/// One turn, done or meant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turn {
    /// Hours from casting.
    pub at_h: f64,
    /// With what.
    pub how: How,
}

gauge::record! {
    /// The air over the piece from a moment on: weather, or shutters moved. Between two the
    /// straight line; before the first and after the last, as they stand.
    pub struct AirKnot {
        /// Hours from casting.
        pub at_h: f64 = Field::new("h").label("at").within(0.0, 500.0),
        /// Air over the piece.
        pub air_c: f64 = Field::new("°C").label("air").within(-10.0, 35.0),
        /// Its relative humidity.
        pub air_relative_humidity: f64 = Field::new("").label("relative humidity")
            .within(0.2, 1.0).or(0.85),
    }
}

impl Charge {
    /// A steeping cast on to the floor.
    pub fn cast(steeping: &crate::steep::Out) -> Self {
        Self {
            dry_kg: steeping.dry_kg,
            barley_dry_kg: Some(steeping.barley_dry_kg),
            moisture_wet: steeping.moisture_wet,
            surface_water_dry: steeping.surface_water_dry,
            temperature_c: steeping.temperature_c,
            germinating_fraction: steeping.germinating_fraction,
            lag_h: steeping.lag_h,
            nitrogen_pct_dry: steeping.nitrogen_pct_dry,
            held_back_h: steeping.held_back_h,
            sensitivity_pct: steeping.sensitivity_pct,
            lots: 1.0,
        }
    }
}

/// What the hand does over the days.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Programme {
    /// Turning, weather, when it is ready.
    pub hand: Hand,
    /// Turns one by one. Where there are any, the piece is not turned of its own accord, unless
    /// `hand.turn_from_h` or `hand.turn_until_h` says when it is.
    pub turns: Vec<Turn>,
    /// The air over the days; `hand` says it for all of them when this is empty.
    pub air: Vec<AirKnot>,
    /// Sprinklings.
    pub sprinkles: Vec<Sprinkle>,
    /// Thinnings and thickenings.
    pub spreads: Vec<Spread>,
}

impl Programme {
    pub(super) fn check(&self) -> Result<(), Fault> {
        if let Some(fault) = self.hand.faults().into_iter().next() {
            return Err(fault.within("hand"));
        }
        let turns = self.turns.iter().map(|t| (t.at_h, AT.check(t.at_h).err()));
        follow("turn", turns)?;
        follow("air", self.air.iter().map(|a| (a.at_h, first(a))))?;
        follow("sprinkle", self.sprinkles.iter().map(|s| (s.at_h, first(s))))?;
        follow("spread", self.spreads.iter().map(|s| (s.at_h, first(s))))
    }

    /// Hours between which it is turned of its own accord.
    pub(super) fn unasked(&self) -> Option<(f64, f64)> {
        let (from, until) = (self.hand.turn_from_h, self.hand.turn_until_h);
        if !self.turns.is_empty() && from.is_none() && until.is_none() {
            return None;
        }
        Some((from.unwrap_or(0.0), until.unwrap_or(f64::INFINITY)))
    }

    /// Temperature and relative humidity of the air at an hour.
    pub(super) fn air_at(&self, time_h: f64) -> (f64, f64) {
        let next = self.air.partition_point(|knot| knot.at_h < time_h);
        let said = |knot: &AirKnot| (knot.air_c, knot.air_relative_humidity);
        match (next.checked_sub(1).map(|i| &self.air[i]), self.air.get(next)) {
            (None, None) => (self.hand.air_c, self.hand.air_relative_humidity),
            (Some(one), None) | (None, Some(one)) => said(one),
            (Some(a), Some(b)) => {
                let share = (time_h - a.at_h) / (b.at_h - a.at_h);
                let between = |x: f64, y: f64| x + share * (y - x);
                let ((t0, h0), (t1, h1)) = (said(a), said(b));
                (between(t0, t1), between(h0, h1))
            }
        }
    }
}

/// When a turn falls.
pub(super) const AT: Field = Field::new("at_h", "h").label("at").within(0.0, 500.0);

fn first<R: Record>(record: &R) -> Option<Fault> {
    record.faults().into_iter().next()
}

/// Refuses the first of a list that is at fault itself, or does not come after the one before.
fn follow(list: &str, items: impl Iterator<Item = (f64, Option<Fault>)>) -> Result<(), Fault> {
    let mut before = f64::NEG_INFINITY;
    for (i, (at_h, fault)) in items.enumerate() {
        let place = format!("{list}[{i}]");
        if let Some(fault) = fault {
            return Err(fault.within(&place));
        }
        if at_h <= before {
            let field = format!("{place}.at_h").into();
            return Err(Fault::NotInOrder { field, value: at_h, before, unit: "h" });
        }
        before = at_h;
    }
    Ok(())
}

gauge::record! {
    /// The free constants.
    pub struct Constants {
        /// Dry matter breathed away at the height, 16 °C.
        pub respiration_1_d: f64 = Field::new("1/d").within(0.0, 0.03).or(0.008)
            .from(Grade::Design, "tuned to a published balance of 6.6 % breathed and leached")
            .fitted(0.001),
        /// Breathing of a dead corn beside a live one.
        pub dead_respiration: f64 = Field::new("").within(0.0, 1.0).or(0.1)
            .from(Grade::Design, "moulds and damaged corns").fitted(0.05),
        /// Most that water adds to growth.
        pub wettest_growth: f64 = Field::new("").within(1.0, 1.5).or(1.1).sd(0.05)
            .from(Grade::Design, "growth hardly gains above 45 %"),
        /// Rootlets grown for each kilogram breathed.
        pub rootlet_share: f64 = Field::new("kg/kg").within(0.1, 1.5).or(0.60)
            .from(Grade::Design, "meets 2.9 to 3.6 % of dry matter").fitted(0.06),
        /// Fastest modification.
        pub modification_1_d: f64 = Field::new("1/d").within(0.1, 1.5).or(0.56)
            .from(Grade::Design, "fully modified at 8 days and 16 °C").fitted(0.06),
        /// What a per cent of nitrogen above 1.5 slows it by.
        pub nitrogen_slows: f64 = Field::new("1/%").within(0.0, 0.6).or(0.25)
            .from(Grade::Design, "steely corns soften slowly").fitted(0.08),
        /// Spread of acrospires about their mean.
        pub acrospire_sd: f64 = Field::new("").within(0.02, 0.6).or(0.15)
            .from(Grade::Design, "0.25 for an uneven piece or a mixed landrace").fitted(0.05),
        /// Dry matter in a cubic metre of the piece.
        pub dry_bulk_kg_m3: f64 = Field::new("kg/m³").within(200.0, 500.0).or(330.0)
            .from(Grade::Memory, "45 to 60 kg/m² at 12 to 17 cm").fitted(20.0),
        /// Heat from the top of the piece to the air.
        pub surface_w_m2_k: f64 = Field::new("W/(m² K)").within(2.0, 30.0).or(8.0)
            .from(Grade::Design, "still air and radiation").fitted(2.0),
        /// Conduction of moist grain.
        pub conduction_w_m_k: f64 = Field::new("W/(m K)").within(0.1, 1.0).or(0.35)
            .from(Grade::Design, "moist stirred grain").fitted(0.1),
        /// Resistance of the floor.
        pub floor_m2_k_w: f64 = Field::new("m² K/W").within(0.02, 3.0).or(0.25)
            .from(Grade::Design, "stone or concrete on the ground").fitted(0.1),
        /// Of the warmth above the air, what a turn takes.
        pub turn_cools: f64 = Field::new("").within(0.0, 1.0).or(0.6)
            .from(Grade::Design, "a full turn").fitted(0.15),
        /// The same of a plough.
        pub plough_cools: f64 = Field::new("").within(0.0, 1.0).or(0.3)
            .from(Grade::Design, "half of a full turn").fitted(0.1),
        /// Water a turn dries off in air of 80 %.
        pub turn_dries_dry: f64 = Field::new("kg/kg").within(0.0, 0.02).or(0.002)
            .from(Grade::Design, "1 to 3 points of moisture over a floor").fitted(0.001),
        /// Drying of the crust between turns beside an open wet face.
        pub crust: f64 = Field::new("").within(0.0, 1.0).or(0.25)
            .from(Grade::Design, "the top dries and shields the rest").fitted(0.1),
        /// Breathing of a piece held back by a wet cast, beside one that is not.
        pub held_back_share: f64 = Field::new("").within(0.3, 1.0).or(0.74)
            .from(Grade::Published, "Davidson and Jangaard, J. ASBC 36 (1978) 51"),
    }
}
