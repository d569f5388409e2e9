//! The kinds of work, as they are spelt in plans and entries.

/// What a piece of work is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum TaskKind {
    /// Fill, drain or cast a steep.
    Steep,
    /// Lay a piece on a floor.
    Floor,
    /// Turn a piece.
    Turn,
    /// Load, strip or stoke the kiln.
    Kiln,
    /// Malt resting in a bin.
    Rest,
    /// Grind.
    Mill,
    /// Mash.
    Mash,
    /// Set worts in a washback.
    FillWashback,
    /// A washback at work.
    Ferment,
    /// Charge the wash still.
    ChargeWash,
    /// Charge a middle run.
    ChargeMiddle,
    /// Charge a spirit still.
    ChargeSpirit,
    /// Work off the feints of a family.
    WorkOffFeints,
    /// Clean.
    Clean,
    /// Fill casks.
    FillCasks,
    /// Note a reading.
    Reading,
}

impl TaskKind {
    /// The word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Steep => "steep",
            Self::Floor => "floor",
            Self::Turn => "turn",
            Self::Kiln => "kiln",
            Self::Rest => "rest",
            Self::Mill => "mill",
            Self::Mash => "mash",
            Self::FillWashback => "fill_washback",
            Self::Ferment => "ferment",
            Self::ChargeWash => "charge_wash",
            Self::ChargeMiddle => "charge_middle",
            Self::ChargeSpirit => "charge_spirit",
            Self::WorkOffFeints => "work_off_feints",
            Self::Clean => "clean",
            Self::FillCasks => "fill_casks",
            Self::Reading => "reading",
        }
    }
}
