//! Beside the nose: cuts proposed, and whether a heart is what its cuts should have given.

use super::after::Foretold;
use super::heart::Cuts;
use super::run::Expected;
use gauge::Fault;
use house::Ran;
use numeric::roots::{Bracket, brent};
use process::still::{Proposal, Wanted, propose};

/// How far from what the last runs had the smoke may be taken without being asked, as a share.
const ABOUT: f64 = 0.10;
/// Runs whose analyses say what the smoke has been.
const LAST: usize = 6;

impl Expected {
    /// Gives the cuts that keep the most pure alcohol within what is wanted, and what each step
    /// of it would cost. It replaces no cut by itself.
    ///
    /// # Units
    /// mg/L, % vol, g/hL of pure alcohol.
    /// # Range
    /// A run that is cut.
    /// # Error
    /// That of the run, without its band.
    /// # Source
    /// [`process::still::propose`].
    pub fn proposal(&self, wanted: &Wanted) -> Result<Proposal, Fault> {
        let present = self.kept.map(|cuts| (60.0 * cuts.from_min, cuts.to_pct));
        propose(&self.trace, wanted, present)
    }

    /// What is wanted when the house says nothing else: smoke as the last runs had it, a heart no
    /// weaker than the present one by more than 1 % vol.
    ///
    /// `last` are runs of the still, newest first; without an analysis among the last six the smoke
    /// is that of the present cut.
    pub fn usual_wanted(&self, last: &[Ran]) -> Result<Wanted, Fault> {
        let Some(kept) = self.kept else {
            return Ok(Wanted::default());
        };
        let heart = self.heart(kept)?;
        let own = last.iter().filter(|ran| ran.make == self.make).take(LAST);
        let found: Vec<f64> = own
            .flat_map(|ran| &ran.analyses)
            .filter(|analysis| analysis.of == "heart")
            .flat_map(|analysis| &analysis.found_mg_l)
            .filter(|(key, _)| key == "phenols")
            .map(|(_, mg_l)| *mg_l)
            .collect();
        let reckoned = heart.figure("smoke_mg_l").map_or(0.0, |figure| figure.value);
        let smoke = if found.is_empty() {
            reckoned
        } else {
            found.iter().sum::<f64>() / found.len() as f64
        };
        // A make without smoke has no wish about it.
        let about = |by: f64| (reckoned > 0.0).then_some(smoke * by);
        Ok(Wanted {
            most_phenols_mg_l: about(1.0 + ABOUT),
            least_phenols_mg_l: about(1.0 - ABOUT),
            least_strength_pct: Some(heart.heart.strength_pct - 1.0),
            ..Wanted::default()
        })
    }

    /// What the heart of a run should have held by the cut that is kept to, for the account after
    /// it ([`super::after()`]); nothing of a run that is not cut or whose heart is not collected.
    pub fn foretold(&self, ran: &Ran) -> Option<Foretold> {
        const WEAKEST_PCT: f64 = 5.0;
        let kept = self.kept?;
        let found_l = ran.cut("heart")?.pure_alcohol_l;
        let heart = self.heart(kept).ok()?;
        let figure = heart.figure("heart_pure_l")?;
        let more = |to_pct: f64| {
            let cuts = Cuts { to_pct, ..kept };
            self.heart_pure_l(cuts).map_or(f64::NAN, |litres| litres - found_l)
        };
        let from_pct = heart.figure("heart_from_pct").map_or(70.0, |f| f.value);
        let high = from_pct - 0.1;
        let bracket = Bracket { low: WEAKEST_PCT, high, tolerance: 0.01 };
        Some(Foretold {
            heart_pure_l: figure.value,
            sd_l: figure.band.as_ref().map_or(0.0, |band| band.sd),
            to_pct: kept.to_pct,
            found_to_pct: brent(bracket, more).ok(),
            fitted: self.head_fitted,
        })
    }
}

#[cfg(test)]
mod tests;
