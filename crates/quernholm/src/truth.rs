//! What is true at Quernholm and nobody there knows: the constants by which its malt, yeast and
//! stills really go, and by how much its instruments are off. All of it is invented.

/// Weeks are counted from the first mash, the first being 1.
pub const HYDROMETER_OFF_FROM_WEEK: i64 = 5;
/// By how much the stillhouse hydrometer then reads high, % vol.
pub const HYDROMETER_OFF_PCT: f64 = 0.4;
/// The week in which the filling meter begins to gain.
pub const METER_GAINS_FROM_WEEK: i64 = 8;
/// By how much, as a share of what it counts.
pub const METER_GAINS: f64 = 0.003;
/// The mash whose washback was set too warm.
pub const WARM_MASH: u32 = 41;
/// How warm, °C.
pub const WARM_SET_C: f64 = 23.6;
/// The piece that lay too long under water.
pub const LONG_STEEP_PIECE: u32 = 20;
/// By how long, h.
pub const LONG_STEEP_H: f64 = 1.0;

/// What the wash carries of higher alcohols and of smoke, 1 in the forecast.
pub const OIL_LEVEL: f64 = 1.22;
/// The smoke.
pub const SMOKE_LEVEL: f64 = 0.84;
/// How readily phenols boil out, 1 in the forecast.
pub const PHENOL_VOLATILITY: f64 = 1.12;

/// The kiln's fan gives this share of what is believed of it.
pub const FAN: f64 = 0.955;
/// How fast corns drink beside what is believed.
pub const DRINKING: f64 = 0.97;
/// How hard a piece breathes beside what is believed: the floors lie a little warmer.
pub const BREATHING: f64 = 1.06;
/// Of the warmth above the air, what a turn takes; believed 0.6.
pub const TURN_COOLS: f64 = 0.56;
/// How much slower the last water leaves the malt; believed 0.
pub const TAIL: f64 = 0.42;
/// What the bed keeps of the smoke beside what is believed.
pub const SMOKE_KEPT: f64 = 0.95;

/// The true constants of the steeps.
pub(crate) fn steep(usual: &process::steep::Constants) -> process::steep::Constants {
    let diffusion_m2_s = DRINKING * usual.diffusion_m2_s;
    process::steep::Constants { diffusion_m2_s, ..usual.clone() }
}

/// The true constants of the floors.
pub(crate) fn floor(usual: &process::floor::Constants) -> process::floor::Constants {
    process::floor::Constants {
        respiration_1_d: BREATHING * usual.respiration_1_d,
        turn_cools: TURN_COOLS,
        ..usual.clone()
    }
}

/// The true constants of the kiln.
pub(crate) fn kiln(usual: &process::kiln::Constants) -> process::kiln::Constants {
    process::kiln::Constants {
        tail_share: TAIL,
        smoke_kept: SMOKE_KEPT * usual.smoke_kept,
        ..usual.clone()
    }
}

/// Constants that differ from those of the forecast.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Truth {
    /// Dry matter that malting loses, as a share, for a make's barley.
    pub malting_loss: f64,
    /// Extract that the mash gives, as a share of the dry malt.
    pub extract: f64,
    /// Vigour of the yeast, 1 in the forecast.
    pub vigour: f64,
    /// Ethanol a kg of hexose, 0.448 in the forecast.
    pub ethanol_kg_kg: f64,
    /// Heat that reaches a still's charge, as a share of what the plant file says.
    pub heat: f64,
    /// Heat lost by a still's head, as a multiple of what the plant file says.
    pub head_loss: f64,
    /// Alcohol that leaves by vents and safes at each run, as a share.
    pub vents: f64,
}

impl Truth {
    /// What is true of a make.
    pub fn of(make: &str) -> Self {
        let (malting_loss, extract) = match make {
            "feather" => (0.121, 0.738),
            "ember" => (0.098, 0.789),
            _ => (0.093, 0.797),
        };
        Self {
            malting_loss,
            extract,
            vigour: 0.93,
            ethanol_kg_kg: 0.446,
            heat: 0.97,
            head_loss: 1.12,
            vents: 0.004,
        }
    }
}

impl Truth {
    /// The constants of a still that differ.
    pub(crate) fn volatility() -> process::still::Constants {
        process::still::Constants {
            phenol_volatility: PHENOL_VOLATILITY,
            ..process::still::Constants::default()
        }
    }
}

/// What the stillhouse hydrometer adds to a strength in a week, % vol.
pub fn hydrometer_pct(week: i64) -> f64 {
    if week >= HYDROMETER_OFF_FROM_WEEK { HYDROMETER_OFF_PCT } else { 0.0 }
}

/// What the filling meter counts of a litre in a week.
pub fn meter(week: i64) -> f64 {
    if week >= METER_GAINS_FROM_WEEK { 1.0 + METER_GAINS } else { 1.0 }
}
