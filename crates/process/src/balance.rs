//! What went in, what came out and what was lost, for each thing that nature conserves.

use std::borrow::Cow;

use gauge::Node;

/// What a balance is kept in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Matter {
    /// Dry matter of grain, kg.
    DryMatter,
    /// Water, kg.
    Water,
    /// Extract in solution, kg.
    Extract,
    /// Pure alcohol, L at 20 °C.
    PureAlcohol,
    /// Energy above a stated reference, kJ.
    Energy,
    /// Any other conserved thing, in the unit of the stage (a congener, carbon dioxide).
    Other(&'static str),
}

impl Matter {
    /// The key in a result.
    pub fn key(self) -> &'static str {
        match self {
            Self::DryMatter => "dry_matter_kg",
            Self::Water => "water_kg",
            Self::Extract => "extract_kg",
            Self::PureAlcohol => "pure_alcohol_l",
            Self::Energy => "energy_kj",
            Self::Other(key) => key,
        }
    }
    /// How closely it must close, relative to what went in.
    pub fn tolerance(self) -> f64 {
        if self == Self::Energy { 1e-6 } else { 1e-9 }
    }
}

/// One line: a named amount of one thing on one side.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// What is counted.
    pub matter: Matter,
    /// Which side it stands on.
    pub side: Side,
    /// What the amount is: "worts", "draff", "condensate", or a stream by its own name.
    pub name: Cow<'static, str>,
    /// How much, never negative save for heat that may flow either way.
    pub amount: f64,
}

/// The side of a balance.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Brought in, or made here out of another thing (extract out of starch).
    In,
    /// Passed on, or turned into another thing here (extract into alcohol).
    Out,
    /// Gone: evaporated, vented, drained, left behind.
    Lost,
}

/// The balances of one run.
///
/// Each amount must be reckoned on its own. One taken as "what is left" makes the residual nought
/// whatever the physics did, and the balance worth nothing.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Balance {
    /// All lines.
    pub lines: Vec<Line>,
}

impl Balance {
    /// A balance with nothing in it.
    pub fn new() -> Self {
        Self::default()
    }
    /// Adds an amount brought in.
    pub fn input(
        &mut self,
        matter: Matter,
        name: impl Into<Cow<'static, str>>,
        amount: f64,
    ) -> &mut Self {
        self.line(matter, Side::In, name.into(), amount)
    }
    /// Adds an amount passed on.
    pub fn output(
        &mut self,
        matter: Matter,
        name: impl Into<Cow<'static, str>>,
        amount: f64,
    ) -> &mut Self {
        self.line(matter, Side::Out, name.into(), amount)
    }
    /// Adds an amount lost.
    pub fn lost(
        &mut self,
        matter: Matter,
        name: impl Into<Cow<'static, str>>,
        amount: f64,
    ) -> &mut Self {
        self.line(matter, Side::Lost, name.into(), amount)
    }
    fn line(
        &mut self,
        matter: Matter,
        side: Side,
        name: Cow<'static, str>,
        amount: f64,
    ) -> &mut Self {
        self.lines.push(Line { matter, side, name, amount });
        self
    }
    /// The things this balance counts.
    pub fn matters(&self) -> Vec<Matter> {
        let mut out: Vec<Matter> = self.lines.iter().map(|l| l.matter).collect();
        out.sort_unstable();
        out.dedup();
        out
    }
    /// The sum of one side for one thing.
    pub fn total(&self, matter: Matter, side: Side) -> f64 {
        self.lines.iter().filter(|l| l.matter == matter && l.side == side).map(|l| l.amount).sum()
    }
    /// In less out less lost.
    pub fn residual(&self, matter: Matter) -> f64 {
        self.total(matter, Side::In)
            - self.total(matter, Side::Out)
            - self.total(matter, Side::Lost)
    }
    /// The residual over the gross amount brought in (or passed on, where nothing was).
    pub fn relative_residual(&self, matter: Matter) -> f64 {
        let gross: f64 = self
            .lines
            .iter()
            .filter(|l| l.matter == matter)
            .map(|l| l.amount.abs())
            .fold(0.0, f64::max);
        if gross > 0.0 { self.residual(matter) / gross } else { self.residual(matter) }
    }
    /// Those that do not close within their tolerance, with the relative residual.
    pub fn open(&self) -> Vec<(Matter, f64)> {
        self.matters()
            .into_iter()
            .map(|m| (m, self.relative_residual(m)))
            .filter(|(m, r)| r.is_nan() || r.abs() > m.tolerance())
            .collect()
    }
    /// As a result: for each thing its named amounts on each side, and the residual.
    pub fn node(&self) -> Node {
        Node::part(self.matters().into_iter().map(|matter| {
            let side = |side| {
                Node::part(
                    self.lines
                        .iter()
                        .filter(|l| l.matter == matter && l.side == side)
                        .map(|l| (l.name.as_ref(), Node::from(l.amount))),
                )
            };
            let parts = [
                ("in", side(Side::In)),
                ("out", side(Side::Out)),
                ("lost", side(Side::Lost)),
                ("residual", Node::from(self.residual(matter))),
            ];
            (matter.key(), Node::part(parts))
        }))
    }
}
