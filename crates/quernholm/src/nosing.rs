//! What the nose says of each heart: by how deep it was cut, how long the wash had worked, and
//! what was made.

use crate::chance::Chance;
use crate::stillhouse::House;
use crate::told::{Hours, field, to};
use gauge::Node;

/// What a heart owes its smell to.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Heart {
    pub(crate) run: u32,
    pub(crate) make: &'static str,
    /// Where it was truly cut, % vol.
    pub(crate) to_pct: f64,
    pub(crate) from_min: f64,
    /// Hours its wash had worked.
    pub(crate) ferment_h: f64,
    /// How many runs of this family went before since the other.
    pub(crate) since_change: u32,
    pub(crate) transition: bool,
}

/// Every so many hearts the distiller noses as well, in the morning.
const DISTILLER_EVERY: u32 = 4;

/// Tells the stillman's note, and now and then the distiller's of the next morning.
pub(crate) fn tell(house: &mut House<'_>, heart: Heart, end_h: Hours) {
    let at_h = end_h + 0.4;
    let fields = heart.note(0.45, &mut house.diary.chance);
    house.diary.tell_late(at_h, at_h + 0.1, "nose", fields);
    if heart.run.is_multiple_of(DISTILLER_EVERY) || heart.transition {
        let morning_h = (end_h / 24.0).floor() * 24.0 + 24.0 + 9.2;
        let mut fields = heart.note(0.3, &mut house.diary.chance);
        let remark = heart.remark();
        if !remark.is_empty() {
            fields.push(field("remark", remark));
        }
        house.diary.tell_as_distiller(morning_h, "nose", fields);
    }
}

impl Heart {
    /// Words and marks; `sd` is how unsure a nose it is.
    fn note(&self, sd: f64, chance: &mut Chance) -> Vec<(String, Node)> {
        let deep = ((69.0 - self.to_pct) / 4.0).max(0.0);
        let early = ((12.0 - self.from_min) / 3.0).max(0.0);
        let smoke = match (self.make, self.transition) {
            ("ember", _) => 4.2 - 1.2 / f64::from(self.since_change + 1),
            (_, true) => 2.4 - f64::from(self.since_change),
            ("feather", _) => 1.3,
            _ => 0.0,
        };
        let short = ((92.0 - self.ferment_h) / 7.0).clamp(0.0, 4.0);
        let long = ((self.ferment_h - 76.0) / 14.0).clamp(0.0, 3.5);
        let sulphury = 0.4 + 0.8 * chance.part();
        let grassy = if self.make == "feather" { 1.8 } else { 0.7 };
        let words = [
            ("clean", 4.2 - deep - 0.5 * sulphury - 0.4 * early),
            ("fruity", 0.8 + long - 0.3 * smoke),
            ("grassy", grassy),
            ("cereal", 0.4 + short),
            ("peated", smoke),
            ("feinty", 0.2 + deep),
            ("sulphury", sulphury),
            ("soapy", early),
        ];
        let mut marks: Vec<(&str, Node)> = Vec::new();
        for (word, mark) in words {
            // Nobody finds smoke where there never was any.
            let sd = if mark > 0.0 { sd } else { 0.0 };
            let mark = to((mark + chance.about(sd)) * 2.0, 0) / 2.0;
            // What is hardly there is left out, but feints are always asked about.
            if mark >= 0.5 || word == "feinty" {
                marks.push((word, mark.clamp(0.0, 5.0).into()));
            }
        }
        vec![
            field("run", f64::from(self.run)),
            field("cut", "heart"),
            field("marks", Node::part(marks)),
        ]
    }

    fn remark(&self) -> &'static str {
        match self {
            Self { transition: true, .. } => "smoke of the run before; to the transition receiver",
            Self { ferment_h, .. } if *ferment_h > 100.0 => "round, the wash stood over Sunday",
            Self { ferment_h, .. } if *ferment_h < 82.0 => "porridge; a short wash",
            _ => "",
        }
    }
}
