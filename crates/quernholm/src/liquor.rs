//! A liquid as it truly is: pure alcohol and water. Litres follow from the two.

use gauge::alcoholometry::kernel;

/// Pure alcohol and water.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Liquor {
    pub(crate) alcohol_l: f64,
    pub(crate) water_kg: f64,
}

impl Liquor {
    /// So many litres at 20 °C of this strength.
    pub(crate) fn of(volume_20_l: f64, strength_pct: f64) -> Self {
        let alcohol_l = volume_20_l * strength_pct / 100.0;
        let p = kernel::mass_fraction_of_strength(strength_pct);
        let mass_kg = volume_20_l / 1000.0 * kernel::density_kg_m3(p, 20.0);
        Self { alcohol_l, water_kg: mass_kg * (1.0 - p) }
    }
    fn alcohol_kg(self) -> f64 {
        self.alcohol_l * kernel::ETHANOL_KG_M3 / 1000.0
    }
    fn fraction(self) -> f64 {
        let mass = self.alcohol_kg() + self.water_kg;
        if mass > 0.0 { self.alcohol_kg() / mass } else { 0.0 }
    }
    /// Litres at a temperature.
    pub(crate) fn litres_at(self, temperature_c: f64) -> f64 {
        let mass = self.alcohol_kg() + self.water_kg;
        1000.0 * mass / kernel::density_kg_m3(self.fraction(), temperature_c)
    }
    /// Litres at 20 °C.
    pub(crate) fn litres(self) -> f64 {
        self.litres_at(20.0)
    }
    /// Strength, % vol.
    pub(crate) fn strength_pct(self) -> f64 {
        let litres = self.litres();
        if litres > 0.0 { 100.0 * self.alcohol_l / litres } else { 0.0 }
    }
    /// A share of it.
    pub(crate) fn share(self, share: f64) -> Self {
        Self { alcohol_l: self.alcohol_l * share, water_kg: self.water_kg * share }
    }
    /// Pours another in.
    pub(crate) fn add(&mut self, other: Self) {
        self.alcohol_l += other.alcohol_l;
        self.water_kg += other.water_kg;
    }
    /// Draws so many litres at 20 °C, or all there is.
    pub(crate) fn draw(&mut self, litres: f64) -> Self {
        let all = self.litres();
        let share = if all > 0.0 { (litres / all).clamp(0.0, 1.0) } else { 0.0 };
        let drawn = self.share(share);
        *self = self.share(1.0 - share);
        drawn
    }
}
