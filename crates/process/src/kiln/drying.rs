//! How one cell of the bed dries: equilibrium with moist air, the rate, the air that leaves it.

use gauge::moist_air::kernel::{MASS_RATIO, enthalpy_j_kg, saturation_pa};

use super::cubics::{CubicPairs, Cubics, Span};
use super::figures::{Charge, Constants};

/// Heat capacity of dry air.
pub(super) const AIR_HEAT_J_KG_K: f64 = 1006.0;
/// Heat capacity of water vapour.
pub(super) const VAPOUR_HEAT_J_KG_K: f64 = 1860.0;
/// Heat capacity of water.
pub(super) const WATER_HEAT_J_KG_K: f64 = 4186.0;
/// Heat of evaporation at 0 °C.
pub(super) const EVAPORATION_J_KG: f64 = 2.501e6;
/// Moisture below which the tail of drying slows, where a house says it does.
const TAIL_DRY: f64 = 0.14;
/// Bound on the search for the surface moisture; bisection alone would end within it.
const MOST_STEPS: u32 = 60;
/// Longest step of that search, kg/kg: the curve is flat where the surface is wet.
const LONGEST_STEP: f64 = 0.3;
/// Newton's last step when the search ends, kg/kg; what is left goes as its square.
const CLOSE: f64 = 1e-5;
/// A guess this near the surface moisture, kg/kg, is mended in one step.
const NEAR: f64 = 1e-3;

/// The laws of drying with their constants filled in.
#[derive(Debug, Clone)]
pub struct Laws {
    c: Constants,
    dry_bulk_kg_m3: f64,
    pressure_pa: f64,
    /// Vapour pressure at saturation, Pa, and `k`, 1/s, over temperature.
    warmth: CubicPairs,
    /// `e^(−y)`.
    fade: Cubics,
    /// `(100 M)^N` over moisture.
    power: Cubics,
    /// `(L0 A/B)(1 − e^(−B M))` over moisture, J/kg.
    bound: Cubics,
}

/// Temperatures for which the laws are laid out; half a kelvin a piece holds them to 1e-8.
const WARMTHS: Span = Span { low: 0.5, high: 120.5, pieces: 240 };
/// `e^(−y)` for which it is; 2e-8 of it.
const FADES: Span = Span { low: 0.0, high: 36.0, pieces: 720 };
/// Moistures for which they are; below, the power is too bent for a cubic.
const MOISTURES: Span = Span { low: 0.0, high: 1.5, pieces: 768 };
const BENT_DRY: f64 = 0.02;

/// Air entering or leaving a cell.
#[derive(Debug, Clone, Copy)]
pub(super) struct AirState {
    pub(super) temperature_c: f64,
    pub(super) humidity_ratio: f64,
    /// J a kilogram of dry air.
    pub(super) enthalpy: f64,
}

impl AirState {
    pub(super) fn new(temperature_c: f64, humidity_ratio: f64) -> Self {
        let enthalpy = enthalpy_j_kg(temperature_c, humidity_ratio);
        Self { temperature_c, humidity_ratio, enthalpy }
    }
}

/// What depends on the flow and the cell's thickness alone.
#[derive(Debug, Clone, Copy)]
pub(super) struct Flow {
    /// Dry air, kg/(m² s).
    pub(super) g: f64,
    /// Dry matter of a cell over the flow, s.
    pub(super) ds_g: f64,
    /// `h_s`, W/(kg K).
    pub(super) film: f64,
    /// `β`, kg dry air/(s kg).
    pub(super) beta: f64,
}

/// The grain of a cell.
#[derive(Debug, Clone, Copy)]
pub(super) struct Grain {
    pub(super) moisture: f64,
    pub(super) temperature_c: f64,
    /// Where the search for the surface moisture begins.
    pub(super) surface_guess: f64,
    /// How far the mean air of the cell lies below the middle of its two ends, from the bend of
    /// the air's course as it last was.
    pub(super) bend: Bend,
}

/// A bend of the air's course through a cell: a twelfth of the second difference.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Bend {
    pub(super) temperature_dk: f64,
    pub(super) humidity_ratio: f64,
}

/// What one cell does at one moment.
#[derive(Debug, Clone, Copy)]
pub(super) struct CellRate {
    /// `r`, 1/s.
    pub(super) drying: f64,
    /// `dH_g/dt`, W/kg.
    pub(super) heating: f64,
    /// `M_s`.
    pub(super) surface: f64,
    /// Fastest rate at which the cell's temperature answers, 1/s; nought where it is not asked.
    pub(super) stiffness: f64,
    pub(super) off: AirState,
}

impl Laws {
    /// The laws for this bed and these constants.
    pub fn new(constants: &Constants, charge: &Charge, pressure_pa: f64) -> Self {
        let dry_bulk_kg_m3 = charge.dry_bulk_kg_m3;
        let c = constants.clone();
        let heat = EVAPORATION_J_KG * c.binding;
        let fade = c.binding_fade;
        Self {
            dry_bulk_kg_m3,
            pressure_pa,
            warmth: CubicPairs::new(WARMTHS, |t| {
                let slope = (saturation_pa(t + 1e-3) - saturation_pa(t - 1e-3)) / 2e-3;
                let k = rate_1_s(&c, t);
                [(saturation_pa(t), slope), (k, k * c.rate_k / (t + 273.15).powi(2))]
            }),
            fade: Cubics::new(FADES, |y| ((-y).exp(), -(-y).exp())),
            power: Cubics::new(MOISTURES, |m| {
                let below = (100.0 * m).powf(c.emc_n - 1.0);
                (100.0 * m * below, 100.0 * c.emc_n * below)
            }),
            bound: Cubics::new(MOISTURES, |m| {
                (-heat / fade * (-fade * m).exp_m1(), heat * (-fade * m).exp())
            }),
            c,
        }
    }

    /// Gives the water activity of grain.
    ///
    /// `a_w = 1 − exp[−K (T + C) (100 M)^N]`
    /// # Units
    /// Moisture kg/kg dry matter, °C, result 0 to 1.
    /// # Range
    /// 0 to 1.3 kg/kg, 0 to 110 °C.
    /// # Error
    /// 0.01 in activity for barley; malt lies lower when it gains.
    /// # Source
    /// ASAE D245, modified Henderson equation, barley.
    pub fn water_activity(&self, moisture_dry: f64, temperature_c: f64) -> f64 {
        let power = (100.0 * moisture_dry.max(0.0)).powf(self.c.emc_n);
        -(-self.c.emc_k * (temperature_c + self.c.emc_c) * power).exp_m1()
    }

    /// Gives the moisture at rest with air of a relative humidity.
    ///
    /// The inverse of [`Laws::water_activity`].
    /// # Units
    /// °C, relative humidity 0 to 1, result kg/kg dry matter.
    /// # Range
    /// Relative humidity 0 to 0.99.
    /// # Error
    /// As [`Laws::water_activity`].
    /// # Source
    /// ASAE D245, modified Henderson equation, barley.
    pub fn moisture_at_rest(&self, temperature_c: f64, relative_humidity: f64) -> f64 {
        moisture_at_rest(&self.c, temperature_c, relative_humidity)
    }

    /// Gives the rate constant of drying within the corn.
    ///
    /// `k = k0 exp[−E/(T + 273.15)]`
    /// # Units
    /// °C, result 1/s.
    /// # Range
    /// 20 to 100 °C.
    /// # Error
    /// About −40 to +10 % beside Sasaki and Kanzaki, J. Jap. Soc. Agric. Mach. 34 (1972) 252.
    /// # Source
    /// J. R. O'Callaghan, D. J. Menzies and P. H. Bailey, J. Agric. Eng. Res. 16 (1971) 223.
    pub fn rate_1_s(&self, temperature_c: f64) -> f64 {
        rate_1_s(&self.c, temperature_c)
    }

    /// Gives the heat that binds water to grain, over its heat of evaporation.
    ///
    /// `q = L0 A exp(−B M)`
    /// # Units
    /// Moisture kg/kg dry matter, result J/kg.
    /// # Range
    /// 0 to 1.3 kg/kg.
    /// # Error
    /// Not stated.
    /// # Source
    /// B. K. Bala and J. L. Woods, J. Agric. Eng. Res. 30 (1984) 235.
    pub fn binding_j_kg(&self, moisture_dry: f64) -> f64 {
        EVAPORATION_J_KG * self.c.binding * (-self.c.binding_fade * moisture_dry).exp()
    }

    /// The figures of a flow through cells of `ds` kg dry matter a square metre.
    pub(super) fn flow(&self, flow_kg_m2_s: f64, ds: f64) -> Flow {
        let film = film_w_kg_k(&self.c, self.dry_bulk_kg_m3, flow_kg_m2_s);
        // Lewis number 1: the wet bulb is then the adiabatic saturation temperature.
        Flow { g: flow_kg_m2_s, ds_g: ds / flow_kg_m2_s, film, beta: film / AIR_HEAT_J_KG_K }
    }

    /// `H_g`, J a kilogram of dry matter.
    pub(super) fn grain_enthalpy(&self, moisture: f64, temperature_c: f64) -> f64 {
        self.heat_capacity(moisture) * temperature_c - self.bound(moisture)
    }

    /// The temperature of grain of that enthalpy.
    pub(super) fn grain_c(&self, moisture: f64, enthalpy: f64) -> f64 {
        (enthalpy + self.bound(moisture)) / self.heat_capacity(moisture)
    }

    fn heat_capacity(&self, moisture: f64) -> f64 {
        self.c.dry_heat_j_kg_k + WATER_HEAT_J_KG_K * moisture
    }

    /// `(L0 A/B)(1 − e^(−B M))`, J a kilogram of dry matter.
    fn bound(&self, moisture: f64) -> f64 {
        self.bound.at(moisture).unwrap_or_else(|| {
            let fade = self.c.binding_fade;
            -EVAPORATION_J_KG * self.c.binding / fade * (-fade * moisture).exp_m1()
        })
    }

    /// Vapour pressure at saturation, Pa, and `k`, 1/s.
    fn warmth(&self, temperature_c: f64) -> [f64; 2] {
        self.warmth
            .at(temperature_c)
            .unwrap_or_else(|| [saturation_pa(temperature_c), rate_1_s(&self.c, temperature_c)])
    }

    /// `(100 M)^N`
    fn power(&self, moisture: f64) -> f64 {
        let laid = if moisture > BENT_DRY { self.power.at(moisture) } else { None };
        laid.unwrap_or_else(|| (100.0 * moisture).powf(self.c.emc_n))
    }

    /// The tail's share of the rate.
    fn tail(&self, moisture: f64) -> f64 {
        1.0 - self.c.tail_share * (1.0 - (moisture / TAIL_DRY).min(1.0))
    }

    /// What a cell does in air that enters it so.
    ///
    /// Solves `β [W_eq(M_s, T_g) − W] = k (M − M_s)(1 + β ds/(2G))` for `M_s`, then
    /// `r = k (M − M_s)`, `W_o = W + r ds/G`,
    /// `T_ao = [h + (ds/G) r (L0 + c_v T_g) + a (T_g − T_a/2) − L0 W_o]/(c_a + c_v W_o + a/2)`
    /// with `a = h_s ds/G`: the cell's air at its mid-point.
    ///
    /// All that hangs on the grain alone comes first, at the guess: a processor reckons it for the
    /// next cell while the air is still on its way there.
    #[inline]
    pub(super) fn cell<const STIFF: bool>(
        &self,
        grain: Grain,
        on: AirState,
        flow: &Flow,
    ) -> CellRate {
        let Grain { moisture: m, temperature_c: t_g, surface_guess, bend } = grain;
        let [saturation, k] = self.warmth(t_g);
        let k = if self.c.tail_share > 0.0 { k * self.tail(m) } else { k };
        let balance = Balance {
            m,
            warm: self.c.emc_k * (t_g + self.c.emc_c),
            beta: flow.beta,
            inner: k * (1.0 + 0.5 * flow.beta * flow.ds_g),
            saturation,
        };
        let guess = if surface_guess > 0.0 { surface_guess } else { 0.5 * m };
        let over = self.over(&balance, guess);
        let inverse = 1.0 / (balance.inner + flow.beta * over.slope);
        let nearer = (balance.inner * (m - guess) - flow.beta * over.ratio) * inverse;
        let by_air = flow.beta * inverse;
        let bends = 0.5 * flow.beta * over.curve * inverse;
        let at_guess = k * (m - guess);
        let a = flow.film * flow.ds_g;
        let heated = a * (t_g + bend.temperature_dk);

        // From here on it hangs on the air below.
        let w = on.humidity_ratio - bend.humidity_ratio;
        let step = nearer + by_air * w;
        let (surface, r) = if step.abs() < NEAR {
            // Newton's step and what the bend of the curve takes from it: the third power is left.
            let step = step * (1.0 - bends * step);
            (guess + step, at_guess - k * step)
        } else {
            let surface = self.surface(&balance, w, guess);
            (surface, k * (m - surface))
        };
        let w_o = on.humidity_ratio + flow.ds_g * r;
        // The enthalpy of the air without what its own vapour took at 0 °C.
        let per_k = 1.0 / (AIR_HEAT_J_KG_K + VAPOUR_HEAT_J_KG_K * w_o + 0.5 * a);
        let kept = (AIR_HEAT_J_KG_K + VAPOUR_HEAT_J_KG_K * on.humidity_ratio - 0.5 * a) * per_k;
        let given = (VAPOUR_HEAT_J_KG_K * t_g * flow.ds_g * r + heated) * per_k;
        let t_o = kept * on.temperature_c + given;
        let mean = 0.5 * (on.temperature_c + t_o) - bend.temperature_dk;
        let vapour = EVAPORATION_J_KG + VAPOUR_HEAT_J_KG_K * t_g;
        let heating = flow.film * (mean - t_g) - r * vapour;
        let stiffness = if STIFF {
            // Evaporation answers a warmer grain through the steep rise of saturation (some 6 % a
            // kelvin), held back by whatever of the resistance lies inside the corn.
            let answer = flow.beta * balance.inner * inverse * over.ratio * 0.065 * vapour;
            (flow.film + answer) / self.heat_capacity(m)
        } else {
            0.0
        };
        CellRate {
            drying: r,
            heating,
            surface,
            stiffness,
            off: AirState {
                temperature_c: t_o,
                humidity_ratio: w_o,
                enthalpy: on.enthalpy - flow.ds_g * heating,
            },
        }
    }

    /// The air at rest with a surface of moisture `x`, its slope and its bend in `x`.
    #[inline]
    fn over(&self, at: &Balance, x: f64) -> Over {
        let per_x = 1.0 / x;
        let y = at.warm * self.power(x);
        // Beyond, the corn is as wet as water to the last digit.
        let dry = self.fade.at(y).unwrap_or(0.0);
        let (y1, y2) = (self.c.emc_n * y * per_x, (self.c.emc_n - 1.0) * per_x);
        let pressed = (1.0 - dry) * at.saturation;
        // A trial surface may be wetter than boiling; the root never is.
        let rest = 1.0 / (self.pressure_pa - pressed).max(0.01 * self.pressure_pa);
        let by_activity = MASS_RATIO * at.saturation * self.pressure_pa * rest * rest;
        let activity = dry * y1;
        Over {
            ratio: MASS_RATIO * pressed * rest,
            slope: by_activity * activity,
            curve: by_activity * activity * (y2 - y1 + 2.0 * at.saturation * rest * activity),
        }
    }

    /// `M_s` by Newton's rule inside a bracket, from a guess that is not near.
    #[cold]
    fn surface(&self, at: &Balance, w: f64, guess: f64) -> f64 {
        // The left side rises with `M_s` and is below nought at nought; no upper end is known,
        // since the air may be wetter than this corn.
        let (mut low, mut high) = (0.0, f64::INFINITY);
        let mut x = guess;
        for _ in 0..MOST_STEPS {
            let over = self.over(at, x);
            let f = at.beta * (over.ratio - w) - at.inner * (at.m - x);
            if f > 0.0 {
                high = x;
            } else {
                low = x;
            }
            let mut next = (x - f / (at.inner + at.beta * over.slope)).min(x + LONGEST_STEP);
            if next <= low || next >= high {
                next = 0.5 * (low + high.min(x + LONGEST_STEP));
            }
            let moved = (next - x).abs();
            x = next;
            if moved < CLOSE {
                break;
            }
        }
        x
    }
}

/// `k = k0 exp[−E/(T + 273.15)]`, 1/s.
fn rate_1_s(c: &Constants, temperature_c: f64) -> f64 {
    c.rate_1_s * (-c.rate_k / (temperature_c + 273.15)).exp()
}

/// `h_s = h_cv(G)/ρ_d`, W/(kg K).
pub(super) fn film_w_kg_k(c: &Constants, dry_bulk_kg_m3: f64, flow_kg_m2_s: f64) -> f64 {
    c.film_w_m3_k * flow_kg_m2_s.powf(c.film_power) / dry_bulk_kg_m3
}

/// Gives the moisture of barley at rest with air of a relative humidity.
///
/// The inverse of [`Laws::water_activity`].
/// # Units
/// °C, relative humidity 0 to 1, result kg/kg dry matter.
/// # Range
/// Relative humidity 0 to 0.99.
/// # Error
/// As [`Laws::water_activity`].
/// # Source
/// ASAE D245, modified Henderson equation, barley.
pub fn moisture_at_rest(constants: &Constants, temperature_c: f64, relative_humidity: f64) -> f64 {
    let log = -(-relative_humidity).ln_1p();
    let warm = constants.emc_k * (temperature_c + constants.emc_c);
    (log / warm).powf(1.0 / constants.emc_n) / 100.0
}

/// The corn's side of the film and the two conductances.
struct Balance {
    m: f64,
    /// `K (T + C)`.
    warm: f64,
    beta: f64,
    /// `k (1 + β ds/(2G))`.
    inner: f64,
    saturation: f64,
}

/// `W_eq` at a surface, with its first and second slope in the surface's moisture.
struct Over {
    ratio: f64,
    slope: f64,
    curve: f64,
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The laid-out laws beside their formulas, at points that are no knots of either.
    #[test]
    fn laid_out_laws_are_the_formulas() {
        let charge =
            Charge { depth_m: 0.4, moisture_dry: 0.8, temperature_c: 20.0, ..Charge::default() };
        let constants = Constants::default();
        let laws = Laws::new(&constants, &charge, 101_325.0);
        let close = |fast: f64, plain: f64, what: &str, at: f64| {
            assert!((fast - plain).abs() <= 2e-8 * plain.abs(), "{what} at {at}: {fast} {plain}");
        };
        for i in 0..4000 {
            let t = -5.0 + 0.0327 * f64::from(i);
            let [saturation, k] = laws.warmth(t);
            close(saturation, saturation_pa(t), "saturation", t);
            close(k, rate_1_s(&constants, t), "rate", t);
            let m = 1e-4 + 0.000_411 * f64::from(i);
            close(laws.power(m), (100.0 * m).powf(constants.emc_n), "power", m);
            let fade = constants.binding_fade;
            let bound = -EVAPORATION_J_KG * constants.binding / fade * (-fade * m).exp_m1();
            assert!((laws.bound(m) - bound).abs() < 1e-2, "bound at {m}");
        }
    }
}
