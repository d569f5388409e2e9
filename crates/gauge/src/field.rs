//! A field: one number, said once. House files, case files, forms, schemas and faults read it.

use crate::tree::Reader;

/// Where a figure comes from, and so how far to trust it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Grade {
    /// Printed in a published source that was read.
    Published,
    /// Reckoned from published figures.
    Computed,
    /// General knowledge of the trade, not checked against a source.
    Memory,
    /// Chosen by us so that a model has a shape; wants fitting.
    Design,
    /// The house decides or measures it; there is no right value elsewhere.
    House,
}

impl Grade {
    /// The word a page shows.
    pub fn word(self) -> &'static str {
        match self {
            Self::Published => "published",
            Self::Computed => "computed",
            Self::Memory => "from memory",
            Self::Design => "design",
            Self::House => "the house's own",
        }
    }
}

/// Whether a figure doubles when the whole batch doubles.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scale {
    /// Doubles with charge, vessel, heat and losses: a mass, a volume, a power.
    Extensive,
    /// Stays: a temperature, a strength, a time, a fraction.
    Intensive,
}

/// One number that a person may decide, note or fit: its key, unit, range, default and source.
///
/// The key is the spelling everywhere: struct field, TOML, JSON, CSV column.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Field {
    /// Spelling, with the unit as its ending.
    pub key: &'static str,
    /// What it is called on a page, in the trade's words.
    pub label: &'static str,
    /// Unit as shown; empty for a pure number.
    pub unit: &'static str,
    /// Least allowed.
    pub low: f64,
    /// Most allowed.
    pub high: f64,
    /// Taken when nothing is given; `None` means it must be given.
    pub default: Option<f64>,
    /// Standard uncertainty of the default, in the field's unit; 0 where it is decided or exact.
    pub sd: f64,
    /// How far the default is to be trusted.
    pub grade: Grade,
    /// Where default and range come from.
    pub source: &'static str,
    /// Whether a house may fit it to its own records.
    pub fitted: bool,
    /// Whether it doubles with the batch.
    pub scale: Scale,
}

impl Field {
    /// A field with a key and a unit, any finite value allowed, nothing taken for granted.
    pub const fn new(key: &'static str, unit: &'static str) -> Self {
        Self {
            key,
            label: "",
            unit,
            low: f64::MIN,
            high: f64::MAX,
            default: None,
            sd: 0.0,
            grade: Grade::House,
            source: "the house decides",
            fitted: false,
            scale: Scale::Intensive,
        }
    }
    /// With the name shown on a page.
    #[must_use]
    pub const fn label(mut self, label: &'static str) -> Self {
        self.label = label;
        self
    }
    /// With its allowed range, ends included.
    #[must_use]
    pub const fn within(mut self, low: f64, high: f64) -> Self {
        self.low = low;
        self.high = high;
        self
    }
    /// With the value taken when none is given.
    #[must_use]
    pub const fn or(mut self, default: f64) -> Self {
        self.default = Some(default);
        self
    }
    /// With where the default comes from and how far to trust it.
    #[must_use]
    pub const fn from(mut self, grade: Grade, source: &'static str) -> Self {
        self.grade = grade;
        self.source = source;
        self
    }
    /// As a free constant that a house may fit, with the standard uncertainty of its default.
    #[must_use]
    pub const fn fitted(mut self, sd: f64) -> Self {
        self.fitted = true;
        self.sd = sd;
        self
    }
    /// With the standard uncertainty of a figure that is not fitted (a reading, an analysis).
    #[must_use]
    pub const fn sd(mut self, sd: f64) -> Self {
        self.sd = sd;
        self
    }
    /// As one that doubles with the batch.
    #[must_use]
    pub const fn extensive(mut self) -> Self {
        self.scale = Scale::Extensive;
        self
    }
    /// Gives `value` back when it is allowed, else the fault that names this field.
    pub fn check(&self, value: f64) -> Result<f64, crate::Fault> {
        crate::Fault::check(self.key, value, self.unit, self.low..=self.high)
    }
}

/// A value that one field of a [`record!`](crate::record) holds: `f64`, or `Option<f64>`.
pub trait Figure: Sized {
    /// Reads it, or notes the fault and gives a stand-in that is never used.
    fn take(reader: &mut Reader<'_>, field: &Field) -> Self;
    /// The value, where there is one.
    fn value(&self) -> Option<f64>;
    /// The default of `field`.
    fn unset(field: &Field) -> Self;
}

impl Figure for f64 {
    fn take(reader: &mut Reader<'_>, field: &Field) -> Self {
        reader.number(field)
    }
    fn value(&self) -> Option<f64> {
        Some(*self)
    }
    fn unset(field: &Field) -> Self {
        field.default.unwrap_or(f64::NAN)
    }
}

impl Figure for Option<f64> {
    fn take(reader: &mut Reader<'_>, field: &Field) -> Self {
        reader.optional(field)
    }
    fn value(&self) -> Option<f64> {
        *self
    }
    fn unset(field: &Field) -> Self {
        field.default
    }
}

/// A plain struct of figures whose fields are [`Field`]s.
pub trait Record: Sized {
    /// The fields, in order.
    const FIELDS: &'static [Field];
    /// Reads it from a part of a case or house file; faults gather in the reader.
    fn read(reader: &mut Reader<'_>) -> Self;
    /// Its figures by key; an optional one that is not given is `None`.
    fn figures(&self) -> Vec<(&'static Field, Option<f64>)>;
    /// The figure under `key`, to change it (for sensitivities and fits).
    fn set(&mut self, key: &str, value: f64) -> bool;
    /// All faults of the figures as they stand: a struct filled by hand is checked like a file.
    fn faults(&self) -> Vec<crate::Fault> {
        self.figures()
            .into_iter()
            .filter_map(|(field, value)| value.and_then(|v| field.check(v).err()))
            .collect()
    }
}

/// Declares a struct of figures. The name of each is its key, so nothing is spelt twice.
///
/// ```
/// use gauge::{Grade, Record};
/// gauge::record! {
///     /// What stands in the tun room.
///     pub struct Washback {
///         /// Working volume.
///         pub fill_l: f64 = Field::new("L").within(100.0, 100_000.0).extensive(),
///         /// Heat lost to the room.
///         pub heat_loss_w_k: f64 = Field::new("W/K").within(0.0, 1e4).or(60.0)
///             .from(Grade::Memory, "fermentation.md 4").fitted(10.0),
///     }
/// }
/// assert_eq!(Washback::FIELDS[0].key, "fill_l");
/// ```
#[macro_export]
macro_rules! record {
    ($(#[$meta:meta])* $vis:vis struct $name:ident {
        $($(#[$doc:meta])* $fvis:vis $field:ident : $ty:ty
            = Field::new($unit:expr) $(.$method:ident($($arg:expr),* $(,)?))* ,)*
    }) => {
        $(#[$meta])*
        #[derive(Debug, Clone, PartialEq)]
        $vis struct $name { $($(#[$doc])* $fvis $field: $ty,)* }

        impl $crate::Record for $name {
            const FIELDS: &'static [$crate::Field] = &[
                $($crate::Field::new(stringify!($field), $unit)$(.$method($($arg),*))*,)*
            ];
            fn read(reader: &mut $crate::Reader<'_>) -> Self {
                let mut fields = <Self as $crate::Record>::FIELDS.iter();
                Self {
                    $($field: $crate::field::Figure::take(
                        reader,
                        {
                            let _ = stringify!($field);
                            fields.next().expect("one Field for each figure")
                        },
                    ),)*
                }
            }
            fn figures(&self) -> Vec<(&'static $crate::Field, Option<f64>)> {
                let values = [$($crate::field::Figure::value(&self.$field),)*];
                <Self as $crate::Record>::FIELDS.iter().zip(values).collect()
            }
            fn set(&mut self, key: &str, value: f64) -> bool {
                $(if key == stringify!($field) {
                    self.$field = value.into();
                    return true;
                })*
                let _ = value;
                false
            }
        }

        impl Default for $name {
            /// Every figure at its field's default; those that must be given are not a number.
            fn default() -> Self {
                let mut fields = <Self as $crate::Record>::FIELDS.iter();
                Self {
                    $($field: $crate::field::Figure::unset({
                        let _ = stringify!($field);
                        fields.next().expect("one Field for each figure")
                    }),)*
                }
            }
        }
    };
}
