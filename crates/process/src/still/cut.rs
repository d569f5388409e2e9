//! Cuts and the changes of the fire: what the stillman decides.

use gauge::{Fault, Field, Reader};

/// Where a cut ends. Times, litres and shares are counted from the first running.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Until {
    /// Seconds since the first running.
    TimeS(f64),
    /// The distillate has fallen to this strength at 20 °C, % vol.
    StrengthPct(f64),
    /// Litres at 20 °C in all receivers together.
    VolumeL(f64),
    /// Share of the charge's moles that has come over.
    ChargeFraction(f64),
}

const TIME: Field =
    Field::new("until_time_s", "s").label("until, from the first running").within(1.0, 1e6);
const STRENGTH: Field = Field::new("until_strength_pct", "% vol")
    .label("until the distillate falls to")
    .within(0.05, 95.0);
const VOLUME: Field = Field::new("until_volume_l", "L at 20 °C")
    .label("until so much has come over")
    .within(1e-3, 1e7)
    .extensive();
const FRACTION: Field = Field::new("until_charge_fraction", "")
    .label("until this share of the charge's moles has come over")
    .within(1e-4, 0.95);
const KEYS: [&str; 5] = [
    "until_time_s",
    "until_strength_pct",
    "until_volume_l",
    "until_charge_fraction",
    "until_demisted",
];

impl Until {
    fn field(self) -> &'static Field {
        match self {
            Self::TimeS(_) => &TIME,
            Self::StrengthPct(_) => &STRENGTH,
            Self::VolumeL(_) => &VOLUME,
            Self::ChargeFraction(_) => &FRACTION,
        }
    }
    /// Its figure.
    pub fn value(self) -> f64 {
        match self {
            Self::TimeS(v) | Self::StrengthPct(v) | Self::VolumeL(v) | Self::ChargeFraction(v) => v,
        }
    }
    /// The unit of its figure.
    pub fn unit(self) -> &'static str {
        self.field().unit
    }
    /// Its key in a case.
    pub fn key(self) -> &'static str {
        self.field().key
    }
    /// The path of its figure in a case, for the cut at `place`.
    pub(crate) fn path(self, place: usize) -> String {
        format!("cut[{place}].{}", self.field().key)
    }
    /// Gives it back when its figure is allowed.
    pub(crate) fn check(self, place: usize) -> Result<(), Fault> {
        let checked = self.field().check(self.value());
        checked.map(|_| ()).map_err(|fault| fault.within(&format!("cut[{place}]")))
    }
}

/// One cut: its name and its end.
#[derive(Debug, Clone, PartialEq)]
pub struct Cut {
    /// What the stillman calls it: foreshots, heart, feints.
    pub name: String,
    /// Where it ends.
    pub until: Until,
}

/// How the foreshots come clear: litres that wash old oils out of the worm, in e-foldings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Demisting {
    /// Litres at 20 °C that thin the film by a factor e; none given: demisting is not known.
    pub film_20_l: Option<f64>,
    /// Oil at the first running over what still stays clear.
    pub haze_ratio: f64,
}

impl Cut {
    /// Reads one cut of a case or of a make. Without `demisting` there is none to cut by.
    pub fn read(reader: &mut Reader<'_>, demisting: Option<Demisting>) -> Self {
        let name = reader.word("name");
        let time = reader.optional(&TIME);
        let strength = reader.optional(&STRENGTH);
        let volume = reader.optional(&VOLUME);
        let fraction = reader.optional(&FRACTION);
        let demisted = reader.flag("until_demisted", false);
        let demisted = demisted.then(|| Self::demisted(reader, demisting));
        let given = [
            time.map(Until::TimeS),
            strength.map(Until::StrengthPct),
            volume.or(demisted).map(Until::VolumeL),
            fraction.map(Until::ChargeFraction),
        ];
        let mut marks = given.into_iter().flatten();
        let until = marks.next();
        let more = marks.count() + usize::from(volume.is_some() && demisted.is_some());
        if until.is_none() || more > 0 {
            reader.fault(Fault::OneOf {
                field: "".into(),
                keys: KEYS.to_vec(),
                given: usize::from(until.is_some()) + more,
            });
        }
        Self { name, until: until.unwrap_or(Until::TimeS(f64::NAN)) }
    }

    /// c = c0 exp(-V/V_film) has come down to what stays clear.
    fn demisted(reader: &mut Reader<'_>, demisting: Option<Demisting>) -> f64 {
        if let Some(Demisting { film_20_l: Some(film), haze_ratio }) = demisting {
            return film * haze_ratio.ln();
        }
        reader.fault(Fault::MissingPart {
            field: "until_demisted".into(),
            wanted: "still.film_20_l, the litres that wash the worm,",
        });
        f64::NAN
    }
}

impl Cut {
    /// The fault of a mark that lies behind when the cut begins, `at` being where the run stands
    /// then in the unit of the mark.
    pub(crate) fn crosses(&self, place: usize, before: Option<&Cut>, at: f64) -> Fault {
        let until = self.until;
        let (unit, name) = (until.unit(), &self.name);
        let shown = |value: f64| plain(value, unit);
        let wanted = shown(until.value());
        let (trouble, remedy) = match before {
            Some(before) => (
                format!(
                    "{name} would end at {wanted}, but {} before it ends at {}",
                    before.name,
                    shown(at)
                ),
                format!("end {name} after that, or {} sooner", before.name),
            ),
            None => (
                format!("{name} would end at {wanted}, but the run begins at {}", shown(at)),
                format!("end {name} after that"),
            ),
        };
        Fault::Unworkable { field: until.path(place).into(), trouble, remedy }
    }
}

/// Refuses cuts whose marks, of one kind, do not follow one another.
pub(crate) fn in_order(cuts: &[Cut]) -> Result<(), Fault> {
    for (place, cut) in cuts.iter().enumerate() {
        for before in &cuts[..place] {
            let crossed = match (before.until, cut.until) {
                (Until::StrengthPct(a), Until::StrengthPct(b)) => b > a,
                (Until::TimeS(a), Until::TimeS(b))
                | (Until::VolumeL(a), Until::VolumeL(b))
                | (Until::ChargeFraction(a), Until::ChargeFraction(b)) => b <= a,
                _ => false,
            };
            if crossed {
                return Err(cut.crosses(place, Some(before), before.until.value()));
            }
        }
    }
    Ok(())
}

/// A figure of a mark with its unit, without needless digits.
fn plain(value: f64, unit: &str) -> String {
    let digits = if value.abs() < 1.0 { 4 } else { 2 };
    let text = format!("{value:.digits$}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if unit.is_empty() { text.to_owned() } else { format!("{text} {unit}") }
}

/// The fire from a time on.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatStep {
    /// From when, seconds since the first running.
    pub from_s: f64,
    /// Heat into the liquid, W.
    pub heat_w: f64,
    /// Open steam let into the charge, kg/s.
    pub steam_kg_s: f64,
    /// Its place in the list of changes; none for the fire the run begins with.
    pub place: Option<usize>,
}

impl HeatStep {
    pub(crate) fn path(&self) -> String {
        let key = if self.steam_kg_s > 0.0 && self.heat_w <= 0.0 { "steam_kg_s" } else { "heat_w" };
        match self.place {
            Some(place) => format!("heat[{place}].{key}"),
            None => format!("still.{key}"),
        }
    }
}
