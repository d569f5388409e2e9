//! One batch of a make, from barley to cask.

use crate::figure::{Band, Figure, Step};
use gauge::Node;
use house::plant::Weather;
use house::{House, KeptCuts};
use jiff::Timestamp;

/// What is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// The make, by key or name.
    pub make: String,
    /// When its barley goes under water.
    pub start: Timestamp,
    /// The kind of barley, a key of the house; the make's usual one when not given.
    pub barley: Option<String>,
    /// The weather of maltings and mash house; the usual of the season when not given.
    pub weather: Option<Weather>,
    /// Years the casks lie.
    pub cask_years: f64,
    /// The cuts the house keeps to, in place of those of its files.
    pub cuts: Vec<KeptCuts>,
}

impl Asked {
    /// A batch of `make` begun at `start`, all else as usual in that house; twelve years in cask.
    pub fn usual(make: &str, start: Timestamp) -> Self {
        let (barley, weather, cuts) = (None, None, Vec::new());
        Self { make: make.to_owned(), start, barley, weather, cask_years: 12.0, cuts }
    }
}

/// Where some of the alcohol that the malt promised went.
#[derive(Debug, Clone, PartialEq)]
pub struct Loss {
    /// Key.
    pub key: &'static str,
    /// What it is called.
    pub label: &'static str,
    /// Litres of pure alcohol of one mash.
    pub pure_alcohol_l: f64,
    /// The same for a tonne of malt as it is, with its band.
    pub l_t: Figure,
}

/// One batch.
#[derive(Debug, Clone, PartialEq)]
pub struct Batch {
    /// Key of the make.
    pub make: String,
    /// What the make is called.
    pub title: String,
    /// Key of the barley.
    pub barley: String,
    /// When it begins.
    pub start: Timestamp,
    /// The steps in order. Malting counts one piece, all from the mill on one mash of it.
    pub steps: Vec<Step>,
    /// What it comes to.
    pub totals: Vec<Figure>,
    /// What the malt's extract could have given by Balling's sum, litres of pure alcohol a tonne
    /// of malt as it is: the spirit and all losses add up to it.
    pub ceiling: Figure,
    /// Where the rest went, in order of the work; the last is what no row accounts for.
    pub losses: Vec<Loss>,
}

impl Batch {
    /// The first step of a stage.
    pub fn step(&self, stage: &str) -> Option<&Step> {
        self.steps.iter().find(|s| s.stage == stage)
    }
    /// The figure `key` of the first step of `stage`.
    pub fn figure(&self, stage: &str, key: &str) -> Option<&Figure> {
        self.step(stage)?.figure(key)
    }
    /// The run of the route that is done in `vessel`: the one usual there, else one that may be.
    pub fn run_in(&self, house: &House, vessel: &str) -> Option<&Step> {
        let runs = || self.steps.iter().filter(|s| s.stage == "still");
        let passes = &house.make(&self.make)?.route.passes;
        let may = passes
            .iter()
            .zip(runs())
            .filter(|(pass, _)| pass.stills.iter().any(|still| still == vessel));
        runs().find(|s| s.vessel == vessel).or_else(|| may.last().map(|(_, step)| step))
    }
    /// The total under `key`.
    pub fn total(&self, key: &str) -> Option<&Figure> {
        self.totals.iter().find(|f| f.key == key)
    }
    /// As it leaves the house.
    pub fn node(&self) -> Node {
        let losses = self.losses.iter().map(|loss| {
            Node::part([
                ("key", loss.key.into()),
                ("label", loss.label.into()),
                ("pure_alcohol_l", loss.pure_alcohol_l.into()),
                ("pure_alcohol_l_t", loss.l_t.value.into()),
            ])
        });
        Node::part([
            ("make", self.make.as_str().into()),
            ("title", self.title.as_str().into()),
            ("barley", self.barley.as_str().into()),
            ("start", self.start.to_string().into()),
            ("steps", Node::List(self.steps.iter().map(step_node).collect())),
            ("totals", figures_node(&self.totals)),
            ("ceiling", figure_node(&self.ceiling)),
            ("losses", Node::List(losses.collect())),
        ])
    }
}

fn step_node(step: &Step) -> Node {
    Node::part([
        ("stage", step.stage.into()),
        ("title", step.title.as_str().into()),
        ("vessel", step.vessel.as_str().into()),
        ("start_h", step.start_h.into()),
        ("end_h", step.end_h.into()),
        ("figures", figures_node(&step.figures)),
        ("balance", step.balance.node()),
    ])
}

fn figures_node(figures: &[Figure]) -> Node {
    Node::part(figures.iter().map(|figure| (figure.key, figure_node(figure))))
}

fn figure_node(figure: &Figure) -> Node {
    Node::part([
        ("label", figure.label.into()),
        ("unit", figure.unit.into()),
        ("value", figure.value.into()),
        ("band", figure.band.as_ref().map_or(Node::Blank, band_node)),
        ("decimals", f64::from(figure.decimals).into()),
    ])
}

fn band_node(band: &Band) -> Node {
    let because = band.because.iter().map(|(label, share)| {
        Node::part([("what", label.as_str().into()), ("share", (*share).into())])
    });
    Node::part([
        ("low", band.low.into()),
        ("high", band.high.into()),
        ("sd", band.sd.into()),
        ("because", Node::List(because.collect())),
    ])
}
