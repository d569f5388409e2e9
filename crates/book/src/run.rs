//! A run of a still as it was noted: charge, cuts, what was left, and what was read, nosed and
//! analysed. Entries that a contra reversed are left out, and one noted late falls into its place.

use crate::account::{Account, Commodity, Place};
use crate::amount::Amount;
use crate::derived::{Act, Derived};
use crate::entry::Posting;
use crate::journal::Book;
use crate::kind::{Subject, Way};
use crate::store::StoreFault;
use gauge::Node;
use house::ran::{Analysis, Collected, Drawn, Left, Nosing, Ran, Safe};
use jiff::Timestamp;

impl Book {
    /// The run with this number as far as it had come at a moment; none where nothing of it had
    /// been noted.
    pub fn run(&self, run: u32, at: Timestamp) -> Result<Option<Ran>, StoreFault> {
        ran(&self.lock().derived, &run.to_string(), at)
    }

    /// The latest `most` runs begun between two moments, newest first, each as far as it had come
    /// at `until`.
    pub fn runs(
        &self,
        from: Timestamp,
        until: Timestamp,
        most: usize,
    ) -> Result<Vec<Ran>, StoreFault> {
        let inside = self.lock();
        let mut out = Vec::new();
        for name in inside.derived.runs(from, until, most)? {
            out.extend(ran(&inside.derived, &name, until)?);
        }
        Ok(out)
    }
}

/// From act to act of one run.
struct Tale<'a> {
    derived: &'a Derived,
    ran: Ran,
    /// Pure alcohol found more (plus) or less (minus).
    difference: Amount,
    begun: bool,
}

fn ran(derived: &Derived, name: &str, at: Timestamp) -> Result<Option<Ran>, StoreFault> {
    let Ok(run) = name.parse() else { return Ok(None) };
    let ran = Ran { run, ..Ran::default() };
    let mut tale = Tale { derived, ran, difference: Amount::ZERO, begun: false };
    for act in derived.acts(Subject::Run, name, Timestamp::MIN, at)? {
        match act.kind.as_str() {
            "charge" => tale.charge(&act)?,
            "run_off" => tale.run_off(&act)?,
            "discharge" => tale.discharge(&act)?,
            "nose" => tale.nose(&act)?,
            "analyse" => tale.ran.analyses.push(Analysis {
                at: act.at,
                of: or(act.word("of"), "heart"),
                found_mg_l: named(&act, "found_mg_l"),
            }),
            _ => {}
        }
    }
    if !tale.begun {
        return Ok(None);
    }
    tale.ran.difference_l = tale.difference.units();
    tale.ran.readings = tale.readings(at)?;
    Ok(Some(tale.ran))
}

fn or(word: String, otherwise: &str) -> String {
    if word.is_empty() { otherwise.to_owned() } else { word }
}

/// Names with a figure each, as they stand under `key`.
fn named(act: &Act, key: &str) -> Vec<(String, f64)> {
    match act.data.get(key) {
        Some(Node::Part(entries)) => {
            entries.iter().filter_map(|(name, node)| Some((name.clone(), node.number()?))).collect()
        }
        _ => Vec::new(),
    }
}

/// Pure alcohol that came into accounts of these places.
fn into(postings: &[Posting], which: impl Fn(&Account) -> bool) -> Amount {
    let alcohol = postings.iter().filter(|p| p.commodity == Commodity::PureAlcohol);
    let micro = alcohol.filter(|p| which(&p.account)).map(|p| p.amount.micro());
    Amount::from_micro(micro.sum())
}

fn flag(act: &Act, key: &str) -> bool {
    matches!(act.data.get(key), Some(Node::Flag(true)))
}

impl Tale<'_> {
    /// What the acts of a run say of it in common.
    fn meet(&mut self, act: &Act, still: &str) {
        if !self.begun {
            self.ran.charged_at = act.at;
        }
        self.begun = true;
        if self.ran.still.is_empty() {
            self.ran.still = act.word(still);
        }
        if self.ran.make.is_empty() {
            self.ran.make = act.word("make");
        }
        self.ran.transition |= flag(act, "transition");
    }

    fn charge(&mut self, act: &Act) -> Result<(), StoreFault> {
        // What is noted first of a run is usually its charge; where a cut was noted for an
        // earlier hour the charge says when it began all the same.
        if self.ran.charged.is_empty() {
            self.begun = false;
        }
        self.meet(act, "vessel");
        let postings = self.derived.postings(act.serial)?;
        let still = Account::vessel(act.word("vessel"));
        let pure_alcohol_l = into(&postings, |account| *account == still).units();
        let from = act.word("from");
        let mut part = Drawn {
            at: act.at,
            volume_20_l: act.figure("volume_20_l"),
            strength_pct: act.figure("strength_pct"),
            pure_alcohol_l,
            from,
        };
        if let Some(set) = self.washback(&part.from, act.at)? {
            let hours = (act.at.as_microsecond() - set.at.as_microsecond()) as f64 / 3.6e9;
            self.ran.ferment_h = Some(self.ran.ferment_h.map_or(hours, |h| h.max(hours)));
            if part.volume_20_l.is_none() {
                self.whole_wash(&set, &mut part)?;
            }
        }
        self.ran.charged.push(part);
        Ok(())
    }

    /// The setting of the wash that was drawn from a vessel: a washback, or a charger that a
    /// washback was pumped to.
    fn washback(&self, vessel: &str, at: Timestamp) -> Result<Option<Act>, StoreFault> {
        let (mut vessel, mut at) = (vessel.to_owned(), at);
        for _ in 0..4 {
            let last = self.derived.latest_way(Subject::Vessel, &vessel, Way::In, at)?;
            match last {
                Some(act) if act.kind == "set" => return Ok(Some(act)),
                Some(act) if act.kind == "pump" => (vessel, at) = (act.word("from"), act.at),
                _ => return Ok(None),
            }
        }
        Ok(None)
    }

    /// A washback charged whole was measured in the tun room, when it was set and when it was
    /// worked out.
    fn whole_wash(&self, set: &Act, part: &mut Drawn) -> Result<(), StoreFault> {
        let back = set.word("vessel");
        let ready = self.derived.latest(Subject::Vessel, &back, &["attenuate"], part.at)?;
        let Some(ready) = ready.filter(|ready| ready.at >= set.at) else { return Ok(()) };
        part.volume_20_l = ready.figure("bulk_l");
        part.strength_pct = ready.figure("strength_pct");
        Ok(())
    }

    fn run_off(&mut self, act: &Act) -> Result<(), StoreFault> {
        self.meet(act, "from");
        let postings = self.derived.postings(act.serial)?;
        let to = act.word("vessel");
        let receiver = Account::vessel(to.as_str());
        let found = into(&postings, |account| *account == receiver);
        self.differ(&postings);
        self.ran.cuts.push(Collected {
            cut: act.word("cut"),
            to,
            at: act.at,
            volume_20_l: act.figure("volume_20_l").unwrap_or(f64::NAN),
            strength_pct: act.figure("strength_pct").unwrap_or(f64::NAN),
            pure_alcohol_l: found.units(),
        });
        Ok(())
    }

    fn discharge(&mut self, act: &Act) -> Result<(), StoreFault> {
        self.meet(act, "from");
        let postings = self.derived.postings(act.serial)?;
        self.differ(&postings);
        let found = into(&postings, |account| account.place() == Place::Outside).units();
        let (bulk_l, strength_pct) =
            (act.figure("bulk_l").unwrap_or(0.0), act.figure("strength_pct").unwrap_or(0.0));
        let left = match self.ran.left.take() {
            None => Left { at: act.at, bulk_l, strength_pct, pure_alcohol_l: found },
            // Emptied in two goes: what lay there is the sum, its strength that of the two mixed.
            Some(one) => {
                let whole_l = one.bulk_l + bulk_l;
                let mixed = (one.bulk_l * one.strength_pct + bulk_l * strength_pct) / whole_l;
                Left {
                    at: act.at,
                    bulk_l: whole_l,
                    strength_pct: if whole_l > 0.0 { mixed } else { strength_pct },
                    pure_alcohol_l: one.pure_alcohol_l + found,
                }
            }
        };
        self.ran.left = Some(left);
        Ok(())
    }

    fn differ(&mut self, postings: &[Posting]) {
        let out = into(postings, |account| {
            matches!(account.place(), Place::Increase | Place::Deficiency)
        });
        self.difference = Amount::from_micro(self.difference.micro() - out.micro());
    }

    fn nose(&mut self, act: &Act) -> Result<(), StoreFault> {
        let by = match act.word("by") {
            by if by.is_empty() => self.derived.writer(act.serial)?,
            by => by,
        };
        self.ran.nosings.push(Nosing {
            at: act.at,
            by,
            cut: or(act.word("cut"), "heart"),
            marks: named(act, "marks"),
            remark: act.word("remark"),
        });
        Ok(())
    }

    /// What was read off the still from the charge until it was emptied, or until another run was
    /// charged to it where the emptying was never noted.
    fn readings(&self, at: Timestamp) -> Result<Vec<Safe>, StoreFault> {
        let until = self.ran.left.as_ref().map_or(at, |left| left.at.min(at));
        let acts =
            self.derived.acts(Subject::Vessel, &self.ran.still, self.ran.charged_at, until)?;
        let own = f64::from(self.ran.run);
        let other = |act: &Act| {
            act.kind == "charge" && act.figure("run").is_some_and(|run| (run - own).abs() > 0.5)
        };
        let mine = acts.iter().take_while(|act| !other(act));
        Ok(mine.filter(|act| act.kind == "reading").map(safe).collect())
    }
}

fn safe(act: &Act) -> Safe {
    Safe {
        at: act.at,
        strength_pct: act.figure("strength_pct"),
        reading_pct: act.figure("reading_pct"),
        temperature_c: act.figure("temperature_c"),
        head_c: act.figure("head_c"),
        flow_l_min: act.figure("flow_l_min"),
        water_off_c: act.figure("water_off_c"),
    }
}
