//! The one crossing from a book's figures into `gauge`.

use gauge::Fault;

/// A liquid at 20 °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct At20 {
    pub(crate) volume_20_l: f64,
    pub(crate) pure_alcohol_l: f64,
}

impl At20 {
    pub(crate) const UNKNOWN: Self = Self { volume_20_l: 0.0, pure_alcohol_l: 0.0 };
}

/// Litres at a temperature to litres at 20 °C and litres of pure alcohol.
///
/// Until the density formula is in `gauge`, by a straight line: thermal expansion grows from that
/// of water, 2.1e-4 /K, to that of ethanol, 1.09e-3 /K, with strength (from memory; within 0.1 %
/// of the volume between 10 and 30 °C).
pub(crate) fn at_20(bulk_l: f64, temperature_c: f64, strength_pct: f64) -> Result<At20, Fault> {
    let expansion = 2.1e-4 + (1.09e-3 - 2.1e-4) * strength_pct / 100.0;
    let volume_20_l = bulk_l * (1.0 - expansion * (temperature_c - 20.0));
    Fault::check("bulk_l", volume_20_l, "L", 0.0..=2e6)?;
    Ok(At20 { volume_20_l, pure_alcohol_l: volume_20_l * strength_pct / 100.0 })
}

/// Degrees Plato of a gravity (20/20): cubic of the American Society of Brewing Chemists.
fn plato(gravity: f64) -> f64 {
    ((135.997 * gravity - 630.272) * gravity + 1111.14) * gravity - 616.868
}

/// Extract in worts, kg.
pub(crate) fn extract_kg(bulk_l: f64, gravity: f64) -> f64 {
    bulk_l / 1000.0 * 998.20 * gravity * plato(gravity) / 100.0
}

/// What wash of these gravities holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Wash {
    pub(crate) pure_alcohol_l: f64,
    pub(crate) strength_pct: f64,
    pub(crate) extract_fermented_kg: f64,
}

/// Alcohol of wash by Balling: 2.0665 g of extract give 1 g of alcohol (and 0.11 g of yeast).
pub(crate) fn wash(bulk_l: f64, original_gravity: f64, final_gravity: f64) -> Wash {
    let original = plato(original_gravity);
    let real = 0.1808 * original + 0.8192 * plato(final_gravity);
    let alcohol_pct_mass = ((original - real) / (2.0665 - 0.010665 * original)).max(0.0);
    let strength_pct = alcohol_pct_mass * final_gravity * 998.20 / 789.239;
    Wash {
        pure_alcohol_l: bulk_l * strength_pct / 100.0,
        strength_pct,
        // By mass of the worts before they worked: what the saccharometer no longer finds.
        extract_fermented_kg: extract_kg(bulk_l, original_gravity) * (1.0 - real / original),
    }
}

/// One thing that happened to a vessel of spirit: what the book posted, and what was measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Flow {
    /// Into it, or negative out of it.
    pub(crate) pure_alcohol_l: f64,
    /// Litres that flowed, at 20 °C.
    pub(crate) volume_20_l: Option<f64>,
    /// Water added.
    pub(crate) water_kg: Option<f64>,
    /// Litres of the whole, where it was dipped.
    pub(crate) dip: Option<f64>,
}

/// What has flowed together in a vessel: litres of pure alcohol, and of all.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Mix {
    pure_alcohol_l: f64,
    volume_20_l: f64,
}

impl Mix {
    /// Lets things flow together in order. What flows out has the strength of the whole.
    pub(crate) fn of(flows: impl IntoIterator<Item = Flow>) -> Self {
        let mut mix = Self { pure_alcohol_l: 0.0, volume_20_l: 0.0 };
        for flow in flows {
            mix.take(&flow);
        }
        mix
    }

    fn take(&mut self, flow: &Flow) {
        let after = self.pure_alcohol_l + flow.pure_alcohol_l;
        if let Some(dip) = flow.dip {
            self.volume_20_l = dip;
        } else if flow.pure_alcohol_l < 0.0 {
            self.volume_20_l *= (after / self.pure_alcohol_l).clamp(0.0, 1.0);
        } else {
            self.volume_20_l += flow.volume_20_l.or(flow.water_kg).unwrap_or(0.0);
        }
        self.pure_alcohol_l = after;
        if self.pure_alcohol_l < 1e-6 {
            self.volume_20_l = 0.0;
        }
    }

    /// Litres of the whole when the book says that it holds so much alcohol.
    pub(crate) fn volume_20_l(&self, pure_alcohol_l: f64) -> f64 {
        if self.pure_alcohol_l > 0.0 {
            self.volume_20_l * pure_alcohol_l / self.pure_alcohol_l
        } else {
            0.0
        }
    }
}
