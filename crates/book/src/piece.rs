//! A piece as it was noted, from steep to bin, and what is known of a lot and of a layer of malt.
//! Entries that a contra reversed are left out, and one noted late falls into its place.

use crate::account::{Account, Commodity};
use crate::derived::{Act, Derived};
use crate::journal::Book;
use crate::kind::Subject;
use crate::store::StoreFault;
use gauge::Node;
use house::malted::{
    Act as Watered, Drawn, KeptFiring, Kilned, Laid, MaltAnalysis, Malted, Spread, Stripped,
    Turned, Turning, Water,
};
use house::standing::{Reading, Share};
use jiff::Timestamp;

impl Book {
    /// The piece with this number as far as it had come at a moment; none where nothing of it had
    /// been noted.
    pub fn piece(&self, piece: u32, at: Timestamp) -> Result<Option<Malted>, StoreFault> {
        malted(&self.lock().derived, piece, at)
    }

    /// The latest `most` pieces begun between two moments, newest first, each as far as it had
    /// come at `until`.
    pub fn pieces(
        &self,
        from: Timestamp,
        until: Timestamp,
        most: usize,
    ) -> Result<Vec<Malted>, StoreFault> {
        let inside = self.lock();
        let mut out = Vec::new();
        for name in inside.derived.pieces(from, until, most)? {
            let Ok(piece) = name.parse() else { continue };
            out.extend(malted(&inside.derived, piece, until)?);
        }
        Ok(out)
    }

    /// What the kiln was set to for a piece at a moment.
    pub fn firing(&self, piece: u32, at: Timestamp) -> Result<Option<KeptFiring>, StoreFault> {
        firing(&self.lock().derived, piece, at)
    }
}

/// From act to act of one piece.
struct Tale<'a> {
    derived: &'a Derived,
    piece: Malted,
    begun: bool,
}

pub(crate) fn malted(
    derived: &Derived,
    piece: u32,
    at: Timestamp,
) -> Result<Option<Malted>, StoreFault> {
    let mut tale = Tale { derived, piece: Malted { piece, ..Malted::default() }, begun: false };
    for act in derived.acts(Subject::Piece, &piece.to_string(), Timestamp::MIN, at)? {
        match act.kind.as_str() {
            "steep" => tale.steep(&act)?,
            "water" => tale.water(&act),
            "lay" => tale.lay(&act)?,
            "turn" => tale.turn(&act),
            "thin" => tale.thin(&act),
            "load" => tale.load(&act)?,
            "strip" => tale.strip(&act),
            "laboratory" => tale.piece.analyses.push(analysis(&act)),
            _ => {}
        }
    }
    if !tale.begun {
        return Ok(None);
    }
    tale.read(at)?;
    Ok(Some(tale.piece))
}

impl Tale<'_> {
    /// Where no steep was noted, the piece began with what was noted first.
    fn meet(&mut self, act: &Act) {
        if !self.begun {
            self.piece.steep.at = act.at;
        }
        self.begun = true;
        if self.piece.make.is_empty() {
            self.piece.make = act.word("make");
        }
    }

    /// Dry grain that an entry put into a vessel.
    fn put(&self, act: &Act) -> Result<f64, StoreFault> {
        let vessel = Account::vessel(act.word("vessel"));
        let postings = self.derived.postings(act.serial)?;
        let grain = postings.iter().filter(|p| p.commodity == Commodity::DryGrain);
        Ok(grain.filter(|p| p.account == vessel).map(|p| p.amount.units()).sum())
    }

    fn steep(&mut self, act: &Act) -> Result<(), StoreFault> {
        self.meet(act);
        if self.piece.steep.vessel.is_empty() {
            self.piece.steep.vessel = act.word("vessel");
        }
        if let Some(value) = act.figure("water_c") {
            self.piece.steep.temperature_c.push(Reading { at: act.at, value });
        }
        self.piece.parts.push(drawn(self.derived, act)?);
        Ok(())
    }

    fn water(&mut self, act: &Act) {
        let how = match act.word("act").as_str() {
            "fill" => Watered::Fill,
            "drain" => Watered::Drain,
            _ => Watered::Spray,
        };
        let water_c = act.figure("water_c");
        self.piece.steep.waters.push(Water { at: act.at, act: how, water_c });
    }

    fn lay(&mut self, act: &Act) -> Result<(), StoreFault> {
        self.meet(act);
        let dry_kg = self.put(act)?;
        self.piece.floor = Some(Laid {
            vessel: act.word("vessel"),
            at: act.at,
            dry_kg,
            wet_cast: flag(act, "wet"),
            turns: Vec::new(),
            spreads: Vec::new(),
            grain_c: Vec::new(),
            acrospire: Vec::new(),
        });
        Ok(())
    }

    /// A turn of the bed where the piece lies on the kiln, else one of the floor.
    fn turn(&mut self, act: &Act) {
        let grain_c = act.figure("grain_c").map(|value| Reading { at: act.at, value });
        if let Some(kiln) = &mut self.piece.kiln
            && act.word("vessel") == kiln.vessel
        {
            kiln.turns.push(act.at);
            kiln.bed_c.extend(grain_c);
        } else if let Some(floor) = &mut self.piece.floor {
            let how = if act.word("how") == "plough" { Turning::Plough } else { Turning::Full };
            floor.turns.push(Turned { at: act.at, how });
            floor.grain_c.extend(grain_c);
        }
    }

    fn thin(&mut self, act: &Act) {
        let Some(floor) = &mut self.piece.floor else { return };
        if let Some(covered_fraction) = act.figure("covered_fraction") {
            floor.spreads.push(Spread { at: act.at, covered_fraction });
        }
        let grain_c = act.figure("grain_c").map(|value| Reading { at: act.at, value });
        floor.grain_c.extend(grain_c);
    }

    fn load(&mut self, act: &Act) -> Result<(), StoreFault> {
        self.meet(act);
        let dry_kg = self.put(act)?;
        self.piece.kiln = Some(Kilned {
            vessel: act.word("vessel"),
            at: act.at,
            dry_kg,
            air_on_c: Vec::new(),
            air_off_c: Vec::new(),
            bed_c: Vec::new(),
            moisture_wet: Vec::new(),
            peat_kg: Vec::new(),
            oil_kg: Vec::new(),
            turns: Vec::new(),
        });
        Ok(())
    }

    fn strip(&mut self, act: &Act) {
        self.meet(act);
        self.piece.stripped.push(Stripped {
            bin: act.word("vessel"),
            at: act.at,
            kg: act.figure("kg").unwrap_or(f64::NAN),
            moisture_wet: act.figure("moisture_wet").unwrap_or(f64::NAN),
            phenols_mg_kg_dry: act.figure("phenols_mg_kg_dry").unwrap_or(0.0),
        });
    }

    /// What was read off the vessels while the piece lay in them.
    fn read(&mut self, at: Timestamp) -> Result<(), StoreFault> {
        let stripped = self.piece.stripped.last().map_or(at, |strip| strip.at);
        let loaded = self.piece.kiln.as_ref().map_or(stripped, |kiln| kiln.at);
        let cast = self.piece.floor.as_ref().map_or(loaded, |floor| floor.at);
        let steep = &self.piece.steep;
        let read = self.readings(&steep.vessel, "steep", (steep.at, cast))?;
        let steep = &mut self.piece.steep;
        steep.moisture_wet = of(&read, "moisture_wet");
        steep.temperature_c.extend(of(&read, "temperature_c"));
        steep.temperature_c.sort_by_key(|reading| reading.at);
        if let Some(mut floor) = self.piece.floor.take() {
            let read = self.readings(&floor.vessel, "lay", (floor.at, loaded))?;
            floor.grain_c.extend(of(&read, "grain_c"));
            floor.grain_c.sort_by_key(|reading| reading.at);
            floor.acrospire = of(&read, "acrospire");
            self.piece.floor = Some(floor);
        }
        if let Some(mut kiln) = self.piece.kiln.take() {
            let read = self.readings(&kiln.vessel, "load", (kiln.at, stripped))?;
            kiln.air_on_c = of(&read, "air_on_c");
            kiln.air_off_c = of(&read, "air_off_c");
            kiln.bed_c.extend(of(&read, "bed_c"));
            kiln.bed_c.sort_by_key(|reading| reading.at);
            kiln.moisture_wet = of(&read, "moisture_wet");
            kiln.peat_kg = of(&read, "peat_kg");
            kiln.oil_kg = of(&read, "oil_kg");
            self.piece.kiln = Some(kiln);
        }
        Ok(())
    }

    /// The readings of a vessel between two moments, until another piece was put into it where
    /// the taking out was never noted.
    fn readings(
        &self,
        vessel: &str,
        put_by: &str,
        (from, until): (Timestamp, Timestamp),
    ) -> Result<Vec<Act>, StoreFault> {
        if vessel.is_empty() {
            return Ok(Vec::new());
        }
        let own = f64::from(self.piece.piece);
        let other = |act: &Act| {
            act.kind == put_by && act.figure("piece").is_some_and(|piece| (piece - own).abs() > 0.5)
        };
        let acts = self.derived.acts(Subject::Vessel, vessel, from, until)?;
        let mine = acts.into_iter().take_while(|act| !other(act));
        Ok(mine.filter(|act| act.kind == "reading").collect())
    }
}

fn of(read: &[Act], key: &str) -> Vec<Reading> {
    let one = |act: &Act| Some(Reading { at: act.at, value: act.figure(key)? });
    read.iter().filter_map(one).collect()
}

fn flag(act: &Act, key: &str) -> bool {
    matches!(act.data.get(key), Some(Node::Flag(true)))
}

fn drawn(derived: &Derived, act: &Act) -> Result<Drawn, StoreFault> {
    let lot = act.word("lot");
    let came = derived.latest(Subject::Lot, &lot, &["intake", "opening"], act.at)?;
    let moisture_wet = act.figure("moisture_wet").unwrap_or(f64::NAN);
    Ok(Drawn {
        barley: came.map(|came| came.word("barley")).unwrap_or_default(),
        lot,
        dry_kg: act.figure("kg").unwrap_or(0.0) * (1.0 - moisture_wet),
        moisture_wet,
        at: act.at,
    })
}

/// Yes, no, or nothing said.
pub(crate) fn release(act: &Act) -> Option<bool> {
    match act.word("release").as_str() {
        "yes" => Some(true),
        "no" => Some(false),
        _ => None,
    }
}

fn analysis(act: &Act) -> MaltAnalysis {
    MaltAnalysis {
        at: act.at,
        moisture_wet: act.figure("moisture_wet"),
        phenols_mg_kg_dry: act.figure("phenols_mg_kg_dry"),
        method: act.word("method"),
        extract_pct_dry: act.figure("extract_pct_dry"),
        fermentability: act.figure("fermentability"),
        nitrogen_pct_dry: act.figure("nitrogen_pct_dry"),
        ndma_ug_kg: act.figure("ndma_ug_kg"),
        release: release(act),
    }
}

/// The later analysis, with what it did not look for from the earlier one.
fn over(earlier: Option<MaltAnalysis>, later: MaltAnalysis) -> MaltAnalysis {
    let Some(earlier) = earlier else { return later };
    MaltAnalysis {
        at: later.at,
        moisture_wet: later.moisture_wet.or(earlier.moisture_wet),
        method: if later.phenols_mg_kg_dry.is_some() { later.method } else { earlier.method },
        phenols_mg_kg_dry: later.phenols_mg_kg_dry.or(earlier.phenols_mg_kg_dry),
        extract_pct_dry: later.extract_pct_dry.or(earlier.extract_pct_dry),
        fermentability: later.fermentability.or(earlier.fermentability),
        nitrogen_pct_dry: later.nitrogen_pct_dry.or(earlier.nitrogen_pct_dry),
        ndma_ug_kg: later.ndma_ug_kg.or(earlier.ndma_ug_kg),
        release: later.release.or(earlier.release),
    }
}

/// What is known of the malt of a piece: its lots by share, what was found, whether it waits.
#[derive(Debug, Default)]
pub(crate) struct Known {
    pub(crate) parts: Vec<Share>,
    pub(crate) analysis: Option<MaltAnalysis>,
    pub(crate) held: bool,
}

/// What is known of the malt of a piece.
pub(crate) fn known(derived: &Derived, piece: u32, at: Timestamp) -> Result<Known, StoreFault> {
    let mut out = Known::default();
    let kinds = &["steep", "strip", "laboratory"];
    for act in derived.acts_of(Subject::Piece, &piece.to_string(), kinds, at)? {
        match act.kind.as_str() {
            "steep" => {
                let part = drawn(derived, &act)?;
                match out.parts.iter_mut().find(|share| share.lot == part.lot) {
                    Some(share) => share.share += part.dry_kg,
                    None => out.parts.push(Share { lot: part.lot, share: part.dry_kg }),
                }
            }
            // What is held is let go by the laboratory alone.
            "strip" => out.held |= flag(&act, "hold"),
            _ => {
                out.held = release(&act).map_or(out.held, |released| !released);
                out.analysis = Some(over(out.analysis.take(), analysis(&act)));
            }
        }
    }
    let whole: f64 = out.parts.iter().map(|part| part.share).sum();
    for part in &mut out.parts {
        part.share /= whole;
    }
    Ok(out)
}

/// What the kiln was set to for a piece at a moment.
pub(crate) fn firing(
    derived: &Derived,
    piece: u32,
    at: Timestamp,
) -> Result<Option<KeptFiring>, StoreFault> {
    let act = derived.latest(Subject::Piece, &piece.to_string(), &["firing"], at)?;
    Ok(act.map(|act| {
        let figure = |key| act.figure(key).unwrap_or(f64::NAN);
        KeptFiring {
            piece,
            since: act.at,
            peat_h: figure("peat_h"),
            peat_kg_t: figure("peat_kg_t"),
            peat_c: figure("peat_c"),
            peat_flow_kg_s: figure("peat_flow_kg_s"),
            dry_c: figure("dry_c"),
            dry_h: figure("dry_h"),
            flow_kg_s: figure("flow_kg_s"),
            cure_c: figure("cure_c"),
            cure_h: figure("cure_h"),
            returned: figure("returned"),
            ramp_h: figure("ramp_h"),
            wanted_phenols_mg_kg_dry: act.figure("wanted_phenols_mg_kg_dry"),
            wanted_moisture_wet: act.figure("wanted_moisture_wet"),
        }
    }))
}
