//! What the house's own runs and analyses have taught of its heads and of its congeners.
//!
//! Two figures a group: how much of it the wash carries, and how readily it boils out, each as a
//! factor on the model. An analysis of a heart alone speaks of both at once; one of what was left
//! beside one of the heart tells them apart. Until an analysis has spoken a group is a shape
//! against the run and no figure.

use super::congeners::{GROUPS, Smoke, level_sds};
use super::route;
use process::still::{Constants, Group};

/// Whether a group of congeners is known by figures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Known {
    /// Never fitted: to be drawn against the run only.
    Shape,
    /// Fitted to so many analyses.
    Fitted,
}

/// What is known of one group.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GroupFit {
    /// The group.
    pub group: Group,
    /// Whether by figures.
    pub known: Known,
    /// Factor on the level in the wash.
    pub level: f64,
    /// Standard uncertainty of its logarithm.
    pub level_sd: f64,
    /// Factor on the volatility.
    pub volatility: f64,
    /// Standard uncertainty of its logarithm.
    pub volatility_sd: f64,
    /// Correlation of the two logarithms.
    pub correlation: f64,
    /// Analyses that spoke of it.
    pub analyses: usize,
}

/// The head of one still as it was fitted.
#[derive(Debug, Clone, PartialEq)]
pub struct Head {
    /// The still, a key of the house.
    pub still: String,
    /// Heat lost by its head, W/K.
    pub head_loss_w_k: f64,
    /// Its standard uncertainty.
    pub sd: f64,
}

/// All that has been fitted.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitted {
    /// Heads, at most one a still.
    pub heads: Vec<Head>,
    /// Groups, in the order of [`GROUPS`].
    pub groups: [GroupFit; 5],
}

impl Default for Fitted {
    /// Nothing fitted: levels and volatilities as the model has them.
    fn default() -> Self {
        let levels = level_sds(&Smoke::default());
        let groups = std::array::from_fn(|at| GroupFit {
            group: GROUPS[at],
            known: Known::Shape,
            level: 1.0,
            level_sd: levels[at],
            volatility: 1.0,
            volatility_sd: volatility_sd(GROUPS[at]),
            correlation: 0.0,
            analyses: 0,
        });
        Self { heads: Vec::new(), groups }
    }
}

impl Fitted {
    /// The head of a still, where it has been fitted.
    pub fn head(&self, still: &str) -> Option<&Head> {
        self.heads.iter().find(|head| head.still == still)
    }
    /// What is known of a group.
    pub fn group(&self, group: Group) -> &GroupFit {
        &self.groups[super::congeners::place(group)]
    }
    /// Constants of the still with the volatilities as fitted.
    pub fn constants(&self) -> Constants {
        route::volatile(self.groups.map(|g| g.volatility))
    }
    /// The same, every volatility one standard uncertainty higher: no congener is in two groups,
    /// so one run shows them all.
    pub(crate) fn constants_moved(&self) -> Constants {
        route::volatile(self.groups.map(|g| g.volatility * g.volatility_sd.exp()))
    }
}

/// Standard uncertainty of the logarithm of a group's volatility before anything is fitted.
fn volatility_sd(group: Group) -> f64 {
    use gauge::Record;
    let field = Constants::FIELDS.iter().find(|f| f.key == group.factor_key());
    field.map_or(0.0, |f| f.sd)
}
