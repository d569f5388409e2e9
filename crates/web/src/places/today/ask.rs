//! What is asked for when a piece of work is noted: which figures, in which range, what is expected
//! of them, and which hazard stands beside the act.
//!
//! The book keeps a gravity as a ratio (1.0520); hands read degrees (1 052.0), and may type 52 or
//! 1.052 for it. Ranges here are those of the vessel; the book holds the outer ones.

use super::expect::Outlook;
use crate::app::Working;
use crate::caution::Hazard;
use book::kind::Kind;
use gauge::{Field, Sort};
use jiff::Timestamp;
use sheets::figure;

/// How a figure is typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::places) enum Scale {
    /// As the book keeps it.
    Plain,
    /// A gravity in degrees, kept as a ratio.
    Degrees,
    /// Per cent, kept as a fraction.
    Percent,
}

impl Scale {
    /// The figure as a hand reads it.
    pub(in crate::places) fn shown(self, kept: f64) -> f64 {
        match self {
            Self::Plain => kept,
            Self::Degrees => kept * 1000.0,
            Self::Percent => kept * 100.0,
        }
    }
    /// The figure as the book keeps it.
    pub(in crate::places) fn kept(self, shown: f64) -> f64 {
        match self {
            Self::Plain => shown,
            Self::Degrees => shown / 1000.0,
            Self::Percent => shown / 100.0,
        }
    }
    /// What was meant by a typed figure: 52 and 1.052 are 1 052 degrees.
    pub(in crate::places) fn meant(self, typed: f64) -> f64 {
        if self != Self::Degrees {
            typed
        } else if (0.9..1.2).contains(&typed) {
            typed * 1000.0
        } else if (-15.0..=130.0).contains(&typed) {
            1000.0 + typed
        } else {
            typed
        }
    }
}

/// One figure asked for.
#[derive(Debug, Clone)]
pub(in crate::places) struct Wanted {
    /// As it is typed: key, label, unit, range.
    pub(in crate::places) field: Field,
    /// How it is typed.
    pub(in crate::places) scale: Scale,
    /// Whether it must be given.
    pub(in crate::places) needed: bool,
    /// What is expected, with its standard uncertainty, as it is typed.
    pub(in crate::places) expected: Option<(f64, f64)>,
    /// Decimals of the instrument.
    pub(in crate::places) decimals: u8,
}

/// A word asked for.
#[derive(Debug, Clone)]
pub(in crate::places) struct Word {
    /// Key.
    pub(in crate::places) key: String,
    /// What may be given; empty when any word may.
    pub(in crate::places) allowed: Vec<&'static str>,
    /// Whether it must be given.
    pub(in crate::places) needed: bool,
}

/// All that is asked for to note one thing.
#[derive(Debug, Clone)]
pub(in crate::places) struct Ask {
    /// The kind of entry.
    pub(in crate::places) kind: &'static Kind,
    /// What is known already: vessel, piece, mash.
    pub(in crate::places) about: Vec<(String, String)>,
    /// Figures.
    pub(in crate::places) figures: Vec<Wanted>,
    /// Words.
    pub(in crate::places) words: Vec<Word>,
    /// The hazard of the work.
    pub(in crate::places) hazard: Option<Hazard>,
}

impl Ask {
    /// What is asked for to note `kind` of what `about` names.
    pub(in crate::places) fn of(
        open: &Working,
        outlook: &Outlook,
        kind: &str,
        about: &[(String, String)],
        now: Timestamp,
    ) -> Option<Self> {
        let kind = book::kind(kind).ok()?;
        let vessel = about.iter().find(|(k, _)| k == "vessel").map(|(_, v)| v.as_str());
        let what = vessel.and_then(|v| open.house.vessel(v)).map(|v| v.what.kind());
        let mut ask = Self {
            kind,
            about: about.to_vec(),
            figures: Vec::new(),
            words: Vec::new(),
            hazard: hazard(kind.key, what),
        };
        if kind.key == "reading" {
            ask.figures = readable(what?);
            ask.expecting(outlook, vessel?, now);
        } else {
            ask.described();
            if let ("turn", Some(vessel)) = (kind.key, vessel) {
                ask.expecting(outlook, vessel, now);
            }
        }
        Some(ask)
    }

    /// What is expected of each figure now.
    fn expecting(&mut self, outlook: &Outlook, vessel: &str, now: Timestamp) {
        for wanted in &mut self.figures {
            let expected = outlook.expected(vessel, wanted.field.key, now);
            let scale = wanted.scale;
            wanted.expected =
                expected.map(|(v, sd)| (scale.shown(v), scale.shown(sd) - scale.shown(0.0)));
        }
    }

    /// Asks for all that the kind describes and that is not known yet.
    fn described(&mut self) {
        for described in self.kind.describe() {
            let path = described.path;
            if self.about.iter().any(|(k, _)| *k == path) || path.contains(['.', '[']) {
                continue;
            }
            match described.sort {
                Sort::Figure(field) => {
                    let needed = field.default.is_none();
                    self.figures.push(plain(field, needed));
                }
                Sort::Optional(field) => self.figures.push(plain(field, false)),
                Sort::Word(needed) => {
                    self.words.push(Word { key: path, allowed: Vec::new(), needed });
                }
                Sort::Choice { allowed, default } => {
                    self.words.push(Word { key: path, allowed, needed: default.is_none() });
                }
                Sort::Flag(_) | Sort::Named(_) | Sort::List | Sort::Part => {}
            }
        }
    }

    /// What the main act says it will note.
    pub(in crate::places) fn act(&self) -> String {
        match (self.kind.key, self.figures.len()) {
            ("reading", 1) => format!("Note {}", lower(self.figures[0].field.label)),
            ("reading", 2) => "Note both".to_owned(),
            ("reading", _) => "Note these".to_owned(),
            ("turn", _) => "Note the turn".to_owned(),
            _ => format!("Note: {}", lower(self.kind.title)),
        }
    }
}

fn lower(text: &str) -> String {
    crate::form::lower(text)
}

/// A figure of any kind of entry; gravities are typed in degrees, moistures in per cent.
fn plain(field: Field, needed: bool) -> Wanted {
    let scale = if field.key.ends_with("gravity") {
        Scale::Degrees
    } else if field.key.ends_with("moisture_wet") {
        Scale::Percent
    } else {
        Scale::Plain
    };
    let unit = match scale {
        Scale::Plain => field.unit,
        Scale::Degrees => "degrees",
        Scale::Percent => "%",
    };
    let shown = Field {
        unit,
        low: scale.shown(field.low),
        high: scale.shown(field.high),
        default: field.default.map(|d| scale.shown(d)),
        ..field
    };
    Wanted { field: shown, scale, needed, expected: None, decimals: 1 }
}

fn reading(key: &'static str, range: (f64, f64)) -> Option<Wanted> {
    let field = *book::kind::measures().iter().find(|m| m.key == key)?;
    let mut wanted = plain(field, false);
    wanted.field.low = range.0;
    wanted.field.high = range.1;
    wanted.decimals = match key {
        "bulk_l" | "peat_kg" | "oil_kg" => 0,
        "acrospire" => 2,
        _ => 1,
    };
    Some(wanted)
}

/// What can be read of a vessel, each in the range that this vessel can show.
fn readable(what: &str) -> Vec<Wanted> {
    let all = match what {
        "washback" => {
            vec![reading("gravity", (985.0, 1120.0)), reading("temperature_c", (5.0, 45.0))]
        }
        "floor" => vec![reading("grain_c", (0.0, 40.0)), reading("acrospire", (0.0, 1.5))],
        "kiln" => {
            vec![
                reading("air_off_c", (0.0, 110.0)),
                reading("air_on_c", (10.0, 120.0)),
                reading("bed_c", (0.0, 120.0)),
                reading("moisture_wet", (2.0, 50.0)),
                reading("peat_kg", (0.0, 20_000.0)),
                reading("oil_kg", (0.0, 20_000.0)),
            ]
        }
        "steep" => {
            vec![reading("temperature_c", (0.0, 30.0)), reading("moisture_wet", (10.0, 55.0))]
        }
        "mash_tun" => vec![reading("temperature_c", (30.0, 98.0))],
        "still" => {
            vec![
                reading("reading_pct", (0.0, 90.0)),
                reading("temperature_c", (0.0, 40.0)),
                reading("strength_pct", (0.0, 90.0)),
                reading("head_c", (20.0, 105.0)),
                reading("flow_l_min", (0.0, 60.0)),
                reading("water_off_c", (0.0, 99.0)),
            ]
        }
        "bin" => {
            vec![reading("moisture_wet", (2.0, 12.0)), reading("grain_c", (0.0, 45.0))]
        }
        "receiver" | "vat" | "charger" => vec![
            reading("bulk_l", (0.0, 100_000.0)),
            reading("temperature_c", (-5.0, 40.0)),
            reading("strength_pct", (0.0, 96.0)),
        ],
        _ => Vec::new(),
    };
    all.into_iter().flatten().collect()
}

/// Whether anything can be read of a vessel.
pub(in crate::places) fn is_readable(what: &str) -> bool {
    !readable(what).is_empty()
}

/// The hazard of the work, by what is done and where.
fn hazard(kind: &str, what: Option<&str>) -> Option<Hazard> {
    match kind {
        "clean" => return Some(Hazard::Caustic),
        "fill" | "place" | "dispatch" => return Some(Hazard::Lifting),
        "reduce" | "receive" | "pump" | "regauge" => return Some(Hazard::Spirit),
        "mash" => return Some(Hazard::HotLiquor),
        "draw" | "intake" => return Some(Hazard::Dust),
        "strip" => return Some(Hazard::Mould),
        _ => {}
    }
    match what? {
        "washback" => Some(Hazard::Washback),
        "floor" | "steep" => Some(Hazard::Grain),
        "kiln" => Some(Hazard::Kiln),
        "mash_tun" | "cooler" => Some(Hazard::HotLiquor),
        "still" => Some(Hazard::Still),
        "receiver" | "vat" | "charger" => Some(Hazard::Spirit),
        "bin" => Some(Hazard::Bin),
        "mill" => Some(Hazard::Dust),
        _ => None,
    }
}

/// What a typed figure is taken as, where that is not what was typed.
pub(in crate::places) fn echo(wanted: &Wanted, typed: &str) -> Option<String> {
    let value = figure::typed(typed)?;
    let meant = wanted.scale.meant(value);
    let same = (meant - value).abs() < 1e-9;
    (!same).then(|| {
        let shown = figure::fixed(meant, wanted.decimals);
        format!("Taken as {}.", figure::unit(&shown, wanted.field.unit))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_gravity_is_understood_in_each_way_a_hand_types_it() {
        for typed in [1052.0, 52.0, 1.052] {
            let meant = Scale::Degrees.meant(typed);
            assert!((meant - 1052.0).abs() < 1e-9, "{typed} is {meant}");
            assert!((Scale::Degrees.kept(meant) - 1.052).abs() < 1e-12);
        }
        assert!((Scale::Degrees.meant(-1.5) - 998.5).abs() < 1e-9);
        assert!((Scale::Degrees.meant(0.9985) - 998.5).abs() < 1e-9);
        assert!((Scale::Plain.meant(52.0) - 52.0).abs() < 1e-12);
    }
}
