//! What stands where at a moment, from the accounts and the acts.
//!
//! An account that is not empty says that something stands there; the last act that put something
//! in says what it is.

use crate::account::{Account, Commodity, Place};
use crate::amount::Amount;
use crate::derived::{Act, Derived};
use crate::journal::Book;
use crate::kind::{Subject, Way};
use crate::moment::Moment;
use crate::piece;
use crate::store::StoreFault;
use house::standing as stand;
use jiff::Timestamp;
use std::collections::BTreeMap;

pub(crate) type Balances = BTreeMap<(Account, Commodity), Amount>;

impl Book {
    /// What lies in every vessel and cask at a moment.
    pub fn standing(&self, at: Timestamp) -> Result<stand::Standing, StoreFault> {
        let mut standing = self.standing_without_casks(at)?;
        let inside = self.lock();
        let balances = inside.derived.balances(at)?;
        standing.casks = casks(&inside.derived, &balances, at)?;
        Ok(standing)
    }

    /// The same without the casks, which are many and seldom asked about.
    pub fn standing_without_casks(&self, at: Timestamp) -> Result<stand::Standing, StoreFault> {
        let serial = self.last().serial;
        let inside = self.lock();
        let derived = &inside.derived;
        let balances = derived.balances(at)?;
        let mut standing = stand::Standing {
            at,
            serial,
            lots: crate::lots::lots(derived, &balances, at)?,
            cuts: kept_cuts(derived, at)?,
            ..stand::Standing::default()
        };
        let mut vessels: Vec<&str> = balances
            .iter()
            .filter(|((account, _), held)| {
                account.place() == Place::Vessel && **held > Amount::ZERO
            })
            .map(|((account, _), _)| account.name())
            .collect();
        vessels.dedup();
        let stage = Stage { derived, balances: &balances, at };
        for vessel in vessels {
            stage.set(vessel, &mut standing)?;
        }
        stage.pieces(&mut standing)?;
        Ok(standing)
    }
}

/// The last decision for each make, in the order of their names.
fn kept_cuts(derived: &Derived, at: Timestamp) -> Result<Vec<house::KeptCuts>, StoreFault> {
    let mut out: Vec<house::KeptCuts> = Vec::new();
    // Acts come by name and then by time: the last of a make holds.
    for act in derived.acts_of_all(Subject::Make, at)? {
        let (Some(heart_from_min), Some(heart_to_pct)) =
            (act.figure("heart_from_min"), act.figure("heart_to_pct"))
        else {
            continue;
        };
        let kept = house::KeptCuts { make: act.name, since: act.at, heart_from_min, heart_to_pct };
        match out.last_mut().filter(|last| last.make == kept.make) {
            Some(last) => *last = kept,
            None => out.push(kept),
        }
    }
    Ok(out)
}

struct Stage<'a> {
    derived: &'a Derived,
    balances: &'a Balances,
    at: Timestamp,
}

/// The number of a piece, a mash or a run.
fn number(act: &Act, key: &str) -> u32 {
    act.figure(key).unwrap_or(0.0) as u32
}

impl Stage<'_> {
    fn holds(&self, vessel: &str, commodity: Commodity) -> Amount {
        let key = (Account::vessel(vessel), commodity);
        self.balances.get(&key).copied().unwrap_or_default()
    }

    /// Puts what stands in `vessel` into its place of the standing.
    fn set(&self, vessel: &str, standing: &mut stand::Standing) -> Result<(), StoreFault> {
        let last_in = self.derived.latest_way(Subject::Vessel, vessel, Way::In, self.at)?;
        let Some(act) = last_in else { return Ok(()) };
        let dry_kg = self.holds(vessel, Commodity::DryGrain).units();
        match act.kind.as_str() {
            "steep" => {
                // A second lot may have been drawn to the same piece: the first began it.
                let piece = number(&act, "piece");
                let first = self.first_steep(piece)?.unwrap_or(act);
                standing.steeps.push(stand::Steeping {
                    vessel: vessel.to_owned(),
                    piece,
                    lot: first.word("lot"),
                    make: first.word("make"),
                    since: first.at,
                    dry_kg,
                });
            }
            "lay" => standing.floors.push(self.piece(vessel, &act, dry_kg)?),
            "load" => {
                let make = self.of_steep(&act, "make")?;
                standing.kiln = Some(stand::Kilning {
                    vessel: vessel.to_owned(),
                    piece: number(&act, "piece"),
                    make,
                    since: act.at,
                    dry_kg,
                    air_off_c: self.readings(vessel, act.at, "air_off_c")?,
                });
            }
            "set" => standing.washbacks.push(self.washback(vessel, &act)?),
            "charge" => standing.stills.push(stand::Running {
                vessel: vessel.to_owned(),
                run: number(&act, "run"),
                make: act.word("make"),
                since: self.first_charge(&act)?,
                pure_alcohol_l: self.holds(vessel, Commodity::PureAlcohol).units(),
            }),
            _ if dry_kg > 0.0 => {
                let bin = self.bin(vessel)?;
                if !bin.layers.is_empty() {
                    standing.bins.push(bin);
                }
            }
            _ => standing.receivers.push(self.receiver(vessel, &act)?),
        }
        Ok(())
    }

    /// The pieces that were met, as they were noted, and what the kiln is set to for each.
    fn pieces(&self, standing: &mut stand::Standing) -> Result<(), StoreFault> {
        let mut numbers: Vec<u32> = standing.steeps.iter().map(|s| s.piece).collect();
        numbers.extend(standing.floors.iter().map(|f| f.piece));
        numbers.extend(standing.kiln.iter().map(|k| k.piece));
        numbers.sort_unstable();
        numbers.dedup();
        for number in numbers {
            standing.malted.extend(piece::malted(self.derived, number, self.at)?);
            standing.firings.extend(piece::firing(self.derived, number, self.at)?);
        }
        Ok(())
    }

    fn first_steep(&self, piece: u32) -> Result<Option<Act>, StoreFault> {
        let name = piece.to_string();
        let steeps = self.derived.acts_of(Subject::Piece, &name, &["steep"], self.at)?;
        Ok(steeps.into_iter().next())
    }

    fn of_steep(&self, act: &Act, key: &str) -> Result<String, StoreFault> {
        let steep = self.first_steep(number(act, "piece"))?;
        Ok(steep.map(|s| s.word(key)).unwrap_or_default())
    }

    fn piece(&self, vessel: &str, act: &Act, dry_kg: f64) -> Result<stand::Piece, StoreFault> {
        let piece = number(act, "piece");
        let acts = self.derived.acts(Subject::Piece, &piece.to_string(), act.at, self.at)?;
        let turned = acts.iter().filter(|a| a.kind == "turn").map(|a| a.at).max();
        let noted = acts.iter().filter_map(|a| {
            let value = a.figure("grain_c")?;
            Some(stand::Reading { at: a.at, value })
        });
        let read = self.readings(vessel, act.at, "grain_c")?;
        Ok(stand::Piece {
            vessel: vessel.to_owned(),
            piece,
            lot: self.of_steep(act, "lot")?,
            make: self.of_steep(act, "make")?,
            since: act.at,
            turned: turned.unwrap_or(act.at),
            dry_kg,
            grain_c: noted.chain(read).max_by_key(|r| r.at),
        })
    }

    /// The figures under `key` that were read off a vessel since a moment, oldest first.
    fn readings(
        &self,
        vessel: &str,
        since: Timestamp,
        key: &str,
    ) -> Result<Vec<stand::Reading>, StoreFault> {
        let acts = self.derived.acts(Subject::Vessel, vessel, since, self.at)?;
        Ok(acts
            .iter()
            .filter(|a| a.kind == "reading")
            .filter_map(|a| {
                let value = a.figure(key)?;
                Some(stand::Reading { at: a.at, value })
            })
            .collect())
    }

    /// The layers that are left, first in at the bottom and first out.
    fn bin(&self, vessel: &str) -> Result<stand::Bin, StoreFault> {
        let acts = self.derived.acts(Subject::Vessel, vessel, Timestamp::MIN, self.at)?;
        let filled: Vec<(Act, f64)> = acts
            .into_iter()
            .filter(|a| a.way == Way::In.key())
            .map(|act| {
                let moisture = act.figure("moisture_wet").unwrap_or(0.0);
                let dry_kg = act.figure("kg").unwrap_or(0.0) * (1.0 - moisture);
                (act, dry_kg)
            })
            .collect();
        // What is left is the last that came in: walk down from the top until it is used up.
        let mut left = self.holds(vessel, Commodity::DryGrain).units();
        let mut layers = Vec::new();
        for (act, dry_kg) in filled.iter().rev() {
            let here = dry_kg.min(left);
            if here <= 0.5e-6 {
                break;
            }
            left -= here;
            let piece = number(act, "piece");
            let known = piece::known(self.derived, piece, self.at)?;
            layers.push(stand::Layer {
                piece,
                make: act.word("make"),
                since: act.at,
                dry_kg: here,
                moisture_wet: act.figure("moisture_wet").unwrap_or(f64::NAN),
                phenols_mg_kg_dry: act.figure("phenols_mg_kg_dry").unwrap_or(0.0),
                parts: known.parts,
                analysis: known.analysis,
                held: known.held,
            });
        }
        layers.reverse();
        Ok(stand::Bin { vessel: vessel.to_owned(), layers })
    }

    fn washback(&self, vessel: &str, act: &Act) -> Result<stand::Washback, StoreFault> {
        let figure = |key| act.figure(key).unwrap_or(f64::NAN);
        Ok(stand::Washback {
            vessel: vessel.to_owned(),
            mash: number(act, "mash"),
            make: act.word("make"),
            set_at: act.at,
            bulk_l: figure("bulk_l"),
            set_c: figure("temperature_c"),
            original_gravity: figure("original_gravity"),
            yeast_kg: act.figure("yeast_kg"),
            gravity: self.readings(vessel, act.at, "gravity")?,
            temperature_c: self.readings(vessel, act.at, "temperature_c")?,
            ph: self.readings(vessel, act.at, "ph")?,
            declared_pct: None,
        })
    }

    /// When the run began: a charge may be made up from several vessels.
    fn first_charge(&self, act: &Act) -> Result<Timestamp, StoreFault> {
        let run = number(act, "run").to_string();
        let acts = self.derived.acts(Subject::Run, &run, Timestamp::MIN, self.at)?;
        let first = acts.iter().find(|a| a.kind == "charge");
        Ok(first.map_or(act.at, |a| a.at))
    }

    /// Litres and strength of what has flowed together since the vessel was last empty.
    fn receiver(&self, vessel: &str, last_in: &Act) -> Result<stand::Receiver, StoreFault> {
        let acts = self.derived.acts(Subject::Vessel, vessel, Timestamp::MIN, self.at)?;
        let held = self.holds(vessel, Commodity::PureAlcohol);
        let account = Account::vessel(vessel);
        let span = (Timestamp::MIN, self.at);
        let posted = self.derived.posted((&account, Commodity::PureAlcohol), span.0, span.1)?;
        let posted: BTreeMap<u64, Amount> = posted.into_iter().collect();
        let mix = crate::measure::Mix::of(acts.iter().map(|act| crate::measure::Flow {
            pure_alcohol_l: posted.get(&act.serial).map_or(0.0, |a| a.units()),
            volume_20_l: act.figure("volume_20_l"),
            water_kg: act.figure("water_kg"),
            // A dip of the whole vessel, not of what flowed; or of the remnant in it.
            dip: match act.kind.as_str() {
                "reduce" => act.figure("volume_20_l"),
                "receive" if act.way == Way::Out.key() => act.figure("remnant_20_l"),
                _ => None,
            },
        }));
        let pure_alcohol_l = held.units();
        let volume_20_l = mix.volume_20_l();
        let family = match last_in.word("family") {
            family if family.is_empty() => last_in.word("make"),
            family => family,
        };
        Ok(stand::Receiver {
            vessel: vessel.to_owned(),
            family,
            volume_20_l,
            strength_pct: if volume_20_l > 0.0 {
                100.0 * pure_alcohol_l / volume_20_l
            } else {
                f64::NAN
            },
            pure_alcohol_l,
        })
    }
}

fn casks(
    derived: &Derived,
    balances: &Balances,
    at: Timestamp,
) -> Result<Vec<stand::Cask>, StoreFault> {
    let mut out: Vec<stand::Cask> = Vec::new();
    for act in derived.acts_of_all(Subject::Cask, at)? {
        let entered = matches!(act.kind.as_str(), "fill" | "opening");
        if entered {
            let key = (Account::cask(&act.name), Commodity::PureAlcohol);
            let Some(held) = balances.get(&key) else {
                continue;
            };
            let filled = act.word("filled").parse::<Moment>();
            out.push(stand::Cask {
                cask: act.name.clone(),
                kind: act.word("cask_kind"),
                make: act.word("make"),
                filled: filled.map_or(act.at, Moment::timestamp),
                warehouse: act.word("warehouse"),
                volume_20_l: act.figure("volume_20_l").unwrap_or(f64::NAN),
                strength_pct: act.figure("strength_pct").unwrap_or(f64::NAN),
                pure_alcohol_l: held.units(),
                gauged: act.at,
            });
            continue;
        }
        // Acts come by name and then by time, so what follows a filling is of the same cask.
        let Some(cask) = out.last_mut().filter(|c| c.cask == act.name) else {
            continue;
        };
        match act.kind.as_str() {
            "place" => cask.warehouse = act.word("warehouse"),
            "regauge" => {
                cask.volume_20_l = act.figure("volume_20_l").unwrap_or(cask.volume_20_l);
                cask.strength_pct = act.figure("strength_pct").unwrap_or(cask.strength_pct);
                cask.gauged = act.at;
            }
            _ => {}
        }
    }
    Ok(out)
}
