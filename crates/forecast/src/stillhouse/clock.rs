//! When the first spirit ran: nobody notes it to the minute, and every strength hangs on it.

use super::head::moved;
use super::run::Expected;
use house::Ran;
use jiff::Timestamp;
use numeric::least_squares::{Belief, Unknown, fit};

impl Expected {
    /// When the first spirit ran, as nearly as the notes say without its strengths: so many
    /// minutes before the foreshots were turned to heart, else so long after the charge.
    pub(crate) fn clock(&self, ran: &Ran) -> Timestamp {
        let turned = ran.cuts.first().filter(|cut| cut.cut == "foreshots");
        if let (Some(cut), Some(kept)) = (turned, self.kept) {
            return moved(cut.at, -60.0 * kept.from_min);
        }
        let lit = ran.charged.iter().map(|part| part.at).max().unwrap_or(ran.charged_at);
        moved(lit, self.heat_up_s)
    }

    /// When the first spirit ran: by the clock, put right by the strengths noted since.
    pub fn first_running_at(&self, ran: &Ran) -> Timestamp {
        const CLOCK_S: f64 = 360.0;
        const READING_PCT: f64 = 0.3;
        let clock = self.clock(ran);
        let end_s = self.trace.end_s();
        let since = |at: Timestamp| 1e-3 * (at.as_millisecond() - clock.as_millisecond()) as f64;
        let noted: Vec<(f64, f64)> =
            ran.strengths().iter().map(|r| (since(r.at), r.value)).collect();
        let noted: Vec<(f64, f64)> =
            noted.into_iter().filter(|(s, _)| *s > 0.0 && *s < end_s).collect();
        let late = Unknown::believed(Belief { mean: 0.0, sd: CLOCK_S });
        let found = fit(&[late.within(-1800.0..=1800.0)], |t| {
            let off = |(s, pct): &(f64, f64)| {
                (self.trace.point(s - t[0]).strength_pct - pct) / READING_PCT
            };
            Ok::<_, std::convert::Infallible>(noted.iter().map(off).collect())
        });
        found.map_or(clock, |found| moved(clock, found.found[0].value))
    }
}
