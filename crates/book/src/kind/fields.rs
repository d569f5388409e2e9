//! Figures that several kinds of entry share. A range here says what can be true at all, not what
//! is good practice.

use gauge::{Fault, Field, Reader};

pub(super) const PIECE: Field = Field::new("piece", "").label("Piece").within(0.0, 1e6);
pub(super) const MASH: Field = Field::new("mash", "").label("Mash").within(1.0, 1e6);
pub(super) const RUN: Field = Field::new("run", "").label("Run").within(1.0, 1e6);
pub(super) const KG: Field = Field::new("kg", "kg").label("Weight as it lies").within(0.0, 1e6);
pub(super) const GRAIN_MOISTURE: Field =
    Field::new("moisture_wet", "").label("Moisture, wet basis").within(0.02, 0.60);
pub(super) const MALT_MOISTURE: Field =
    Field::new("moisture_wet", "").label("Moisture, wet basis").within(0.005, 0.20);
pub(super) const NITROGEN: Field =
    Field::new("nitrogen_pct_dry", "% of dry matter").label("Nitrogen").within(0.5, 4.0);
pub(super) const PHENOLS: Field = Field::new("phenols_mg_kg_dry", "mg/kg")
    .label("Phenols on dry malt")
    .within(0.0, 500.0)
    .or(0.0);
pub(super) const BULK_L: Field =
    Field::new("bulk_l", "L").label("Litres as they lie").within(0.0, 1e6);
pub(super) const TEMPERATURE_C: Field = Field::new("temperature_c", "°C")
    .label("Temperature of the liquid")
    .within(-20.0, 40.0)
    .or(20.0);
pub(super) const STRENGTH_PCT: Field =
    Field::new("strength_pct", "% vol").label("Strength at 20 °C").within(0.0, 100.0);
pub(super) const ORIGINAL_GRAVITY: Field =
    Field::new("original_gravity", "").label("Original gravity").within(1.0, 1.2);
pub(super) const FINAL_GRAVITY: Field =
    Field::new("final_gravity", "").label("Final gravity").within(0.95, 1.2);

/// A number of a piece, a mash or a run: whole.
pub(super) fn whole(reader: &mut Reader<'_>, field: &Field) -> f64 {
    let figure = reader.number(field);
    if figure.fract().abs() > 0.0 {
        reader.fault(Fault::NotAllowed {
            field: field.key.into(),
            found: figure.to_string(),
            allowed: vec!["a whole number".to_owned()],
        });
    }
    figure
}

/// The same, where it may be left out.
pub(super) fn whole_if_given(reader: &mut Reader<'_>, field: &Field) -> Option<f64> {
    if reader.has(field.key) || reader.describing() {
        let open = Field { default: Some(field.low), ..*field };
        return Some(whole(reader, &open));
    }
    None
}

/// The word for what was not looked at or not decided.
pub(super) const UNSAID: &str = "unsaid";

/// Yes, no, or nothing said.
pub(super) fn said(reader: &mut Reader<'_>, key: &'static str) -> &'static str {
    reader.choice(key, &[UNSAID, "yes", "no"], Some(UNSAID))
}

/// A number as a name.
pub(super) fn name(number: f64) -> String {
    format!("{number:.0}")
}

/// Litres, their temperature and their strength.
#[derive(Debug, Clone, Copy)]
pub(super) struct Liquid {
    pub(super) bulk_l: f64,
    pub(super) temperature_c: f64,
    pub(super) strength_pct: f64,
}

impl Liquid {
    pub(super) fn read(reader: &mut Reader<'_>) -> Self {
        Self {
            bulk_l: reader.number(&BULK_L),
            temperature_c: reader.number(&TEMPERATURE_C),
            strength_pct: reader.number(&STRENGTH_PCT),
        }
    }
    /// `None` when nothing of it is given: the whole, by the book, is meant.
    pub(super) fn read_or_whole(reader: &mut Reader<'_>) -> Option<Self> {
        let given = reader.has("strength_pct") || reader.has("bulk_l");
        if given {
            return Some(Self::read(reader));
        }
        let _ = reader.optional(&BULK_L);
        let _ = reader.optional(&TEMPERATURE_C);
        let _ = reader.optional(&STRENGTH_PCT);
        None
    }
    /// Litres at 20 °C; faults go to the reader.
    pub(super) fn at_20(&self, reader: &mut Reader<'_>) -> crate::measure::At20 {
        crate::measure::at_20(self.bulk_l, self.temperature_c, self.strength_pct).unwrap_or_else(
            |fault| {
                if ![self.bulk_l, self.temperature_c, self.strength_pct].iter().any(|v| v.is_nan())
                {
                    reader.fault(fault);
                }
                crate::measure::At20::UNKNOWN
            },
        )
    }
}
