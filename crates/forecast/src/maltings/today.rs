//! Everything of the maltings that is under way, reckoned side by side for one moment.

use super::kilning::{Kilned, kilning};
use super::piece::{Floored, piece};
use super::queue::{Waiting, queue};
use super::steeping::{Steeped, steeping};
use house::{House, Malted, Standing};
use jiff::Timestamp;

/// Steeps, pieces, the kiln and its queue at one moment. What cannot be reckoned is left out.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Today {
    /// Pieces in their steeps.
    pub steeps: Vec<Steeped>,
    /// Pieces on their floors, in the order of their numbers.
    pub pieces: Vec<Floored>,
    /// What lies on the kiln.
    pub kilned: Option<Kilned>,
    /// What waits for it.
    pub queue: Vec<Waiting>,
}

impl Today {
    /// Gives all of it.
    ///
    /// # Units
    /// As the fields say.
    /// # Range
    /// The pieces of `standing.malted` that are not stripped.
    /// # Error
    /// As each reckoning.
    /// # Source
    /// As each reckoning.
    pub fn of(house: &House, standing: &Standing, at: Timestamp) -> Self {
        let under_way = || standing.malted.iter().filter(|m| m.stripped.is_empty());
        let laid: Vec<&Malted> =
            under_way().filter(|m| m.kiln.is_none() && m.floor.is_some()).collect();
        let lit = under_way().rfind(|m| m.kiln.is_some());
        let (kilned, pieces) = std::thread::scope(|scope| {
            let kilned = scope.spawn(|| {
                let lit = lit?;
                let kept = standing.firings.iter().rfind(|kept| kept.piece == lit.piece);
                kilning(house, standing, lit, kept, at).ok()
            });
            let pieces: Vec<Floored> =
                laid.iter().filter_map(|m| piece(house, standing, m, at).ok()).collect();
            (kilned.join().ok().flatten(), pieces)
        });
        let steeps = under_way()
            .filter(|m| m.floor.is_none() && m.kiln.is_none())
            .filter_map(|m| steeping(house, standing, m, at).ok())
            .collect();
        let queue = queue(house, standing, &pieces, kilned.as_ref(), at);
        Self { steeps, pieces, kilned, queue }
    }

    /// The piece of a number on its floor.
    pub fn piece(&self, number: u32) -> Option<&Floored> {
        self.pieces.iter().find(|piece| piece.piece == number)
    }
}
