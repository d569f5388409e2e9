//! The phases of a kilning, found from its run.

/// Relative humidity of the air-off above which the bed dries freely.
const FREE_ABOVE: f64 = 0.95;
/// Share of nitrogen oxides that a fire outside the air still lets in: what town air carries.
/// From memory; the oxides of indirect fires are usually not detectable.
const INDIRECT: f64 = 0.05;
/// What sulphur at 1 kg a tonne or more leaves of nitrosamines; from memory.
const SULPHURED: f64 = 0.3;

/// What the bed is doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PhaseKind {
    /// The air leaves nearly saturated: the bed gives water as fast as the air can carry it.
    Free,
    /// The dry layer comes through the top and the air-off rises.
    Break,
    /// Corns give water only as fast as it comes to their surface; down to 12 % in the mean.
    Falling,
    /// The hottest air on malt under 12 %.
    Curing,
    /// The wanted moisture is reached: it may be cooled and stripped.
    Ready,
}

impl PhaseKind {
    /// Its key in a result.
    pub fn key(self) -> &'static str {
        match self {
            Self::Free => "free",
            Self::Break => "break",
            Self::Falling => "falling",
            Self::Curing => "curing",
            Self::Ready => "ready",
        }
    }

    /// What it is called on a page.
    pub fn words(self) -> &'static str {
        match self {
            Self::Free => "free drying",
            Self::Break => "break",
            Self::Falling => "falling rate",
            Self::Curing => "curing",
            Self::Ready => "dry enough",
        }
    }
}

/// One phase.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Phase {
    /// What the bed is doing.
    pub kind: PhaseKind,
    /// From when, hours from lighting.
    pub from_h: f64,
    /// Until when.
    pub to_h: f64,
}

/// What of the course tells the phases.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Told {
    /// Hours with the air-off nearly saturated.
    pub(super) free_h: f64,
    /// When it last was, before the break.
    free_until: Option<f64>,
    /// When the air-on was first within a kelvin of its highest.
    hot_from: Option<f64>,
}

/// One step of the course.
#[derive(Debug, Clone, Copy)]
pub(super) struct Look {
    pub(super) from_h: f64,
    pub(super) to_h: f64,
    pub(super) air_off_humidity: f64,
    pub(super) broken: bool,
    pub(super) hot: bool,
}

/// When things happened, where they did.
#[derive(Debug, Clone, Copy)]
#[allow(clippy::struct_field_names, reason = "all are hours, and say so")]
pub(super) struct Marks {
    pub(super) start_h: f64,
    pub(super) end_h: f64,
    pub(super) broke_h: Option<f64>,
    /// The mean came to 12 %, wet basis.
    pub(super) dry_h: Option<f64>,
    pub(super) ready_h: Option<f64>,
}

impl Told {
    pub(super) fn see(&mut self, look: Look) {
        if look.air_off_humidity > FREE_ABOVE {
            self.free_h += look.to_h - look.from_h;
            if !look.broken {
                self.free_until = Some(look.to_h);
            }
        }
        if look.hot && self.hot_from.is_none() {
            self.hot_from = Some(look.from_h);
        }
    }

    /// The phases one after another; one that did not come is left out.
    pub(super) fn phases(&self, marks: &Marks) -> Vec<Phase> {
        let Marks { start_h, end_h, .. } = *marks;
        let free = self.free_until.unwrap_or(start_h);
        let broke = marks.broke_h.unwrap_or(end_h).max(free);
        let ready = marks.ready_h.unwrap_or(end_h).max(broke);
        let cure = marks.dry_h.unwrap_or(end_h).max(self.hot_from.unwrap_or(end_h));
        let cure = cure.clamp(broke, ready);
        let all = [
            (PhaseKind::Free, start_h, free),
            (PhaseKind::Break, free, broke),
            (PhaseKind::Falling, broke, cure),
            (PhaseKind::Curing, cure, ready),
            (PhaseKind::Ready, ready, end_h),
        ];
        let phases = all.map(|(kind, from_h, to_h)| Phase { kind, from_h, to_h: to_h.min(end_h) });
        phases.into_iter().filter(|p| p.to_h - p.from_h > 1e-6).collect()
    }
}

/// What the index of nitrosamines is reckoned from.
#[derive(Debug, Clone, Copy)]
pub(super) struct Nitrous {
    pub(super) nox_mg_m3: f64,
    pub(super) free_h: f64,
    pub(super) direct_fraction: f64,
    pub(super) sulphur_kg_t: f64,
}

/// The caution index of nitrosamines: mg/m³ times hours, an order between firings and no
/// prediction of what a laboratory will find.
///
/// `I = NOx × hours of free drying × (0.3 with sulphur) × (0.05 when indirect)`: most oxides are
/// taken up while the malt is wet. Between none and 1 kg/t of sulphur, and between a stove and an
/// open fire, on straight lines [design].
pub(super) fn ndma_index(of: &Nitrous) -> f64 {
    let sulphur = 1.0 - (1.0 - SULPHURED) * of.sulphur_kg_t.min(1.0);
    let direct = INDIRECT + (1.0 - INDIRECT) * of.direct_fraction;
    of.nox_mg_m3 * of.free_h * sulphur * direct
}
