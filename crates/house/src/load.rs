//! Reads a house from its four files, all faults at once.

use crate::barley::Barley;
use crate::check;
use crate::make::{Make, Makes};
use crate::plant::{CaskKind, Plant, Vessel};
use crate::problem::Problem;
use crate::season::Season;
use crate::source::Source;
use gauge::{Fault, Reader};
use std::path::Path;

/// Names of the files of a house, in the order they are read.
pub const FILES: [&str; 4] = ["plant.toml", "makes.toml", "barleys.toml", "season.toml"];

/// A house: what stands there, what it makes, of what, and when.
#[derive(Debug, Clone, PartialEq)]
pub struct House {
    /// Site, climate, vessels, kinds of cask.
    pub plant: Plant,
    /// Makes and the cost of changing between them.
    pub makes: Makes,
    /// Kinds of barley.
    pub barleys: Vec<Barley>,
    /// Calendar, watches, laydown.
    pub season: Season,
    /// The texts it was read from, in the order of [`FILES`], so that a plan can name its house.
    pub texts: [String; 4],
}

impl House {
    /// The make with this key, or with this name in whatever case.
    pub fn make(&self, name: &str) -> Option<&Make> {
        let by_key = self.makes.makes.iter().find(|m| m.key == name);
        by_key.or_else(|| {
            let mut all = self.makes.makes.iter();
            all.find(|m| m.name.eq_ignore_ascii_case(name) || m.key.eq_ignore_ascii_case(name))
        })
    }
    /// The vessel with this key.
    pub fn vessel(&self, key: &str) -> Option<&Vessel> {
        self.plant.vessels.iter().find(|v| v.key == key)
    }
    /// The vessels of a kind, as it is spelt in the file.
    pub fn vessels<'h>(&'h self, kind: &'h str) -> impl Iterator<Item = &'h Vessel> {
        let all = self.plant.vessels.iter();
        all.filter(move |v| v.what.kind() == kind)
    }
    /// What a vessel is called; the key itself when nobody knows it.
    pub fn called<'h>(&'h self, key: &'h str) -> &'h str {
        self.vessel(key).map_or(key, |v| v.name.as_str())
    }
    /// The kind of barley with this key.
    pub fn barley(&self, key: &str) -> Option<&Barley> {
        self.barleys.iter().find(|b| b.key == key)
    }
    /// The kind of cask with this key.
    pub fn cask(&self, key: &str) -> Option<&CaskKind> {
        self.plant.casks.iter().find(|c| c.key == key)
    }
    /// The families of makes that share their feints, each once.
    pub fn families(&self) -> Vec<&str> {
        let mut out: Vec<&str> = Vec::new();
        for make in &self.makes.makes {
            if !out.contains(&make.family.as_str()) {
                out.push(&make.family);
            }
        }
        out
    }
}

/// Reads the house in the folder `dir`.
pub fn load(dir: &Path) -> Result<House, Vec<Problem>> {
    let mut texts: [String; 4] = Default::default();
    let mut problems = Vec::new();
    for (file, text) in FILES.iter().zip(&mut texts) {
        match std::fs::read_to_string(dir.join(file)) {
            Ok(read) => *text = read,
            Err(error) => problems.push(Problem {
                file,
                place: Source::parse("").0.place(""),
                fault: Fault::Syntax { says: format!("the file cannot be read: {error}") },
            }),
        }
    }
    if problems.is_empty() { read(texts) } else { Err(problems) }
}

/// Reads a house from the texts of its files, in the order of [`FILES`].
pub fn read(texts: [String; 4]) -> Result<House, Vec<Problem>> {
    let mut problems = Vec::new();
    let sources: Vec<Source> = FILES
        .iter()
        .zip(&texts)
        .map(|(file, text)| {
            let (source, faults) = Source::parse(text);
            problems.extend(faults.into_iter().map(|(fault, place)| Problem {
                file,
                place,
                fault,
            }));
            source
        })
        .collect();
    // What a torn file lacks is no fault of the other files: the cross-checks wait until it is
    // mended.
    let whole = problems.is_empty();
    let torn: Vec<&str> = problems.iter().map(|p| p.file).collect();
    let plant = part(&sources[0], 0, Plant::read, &mut problems);
    let makes = part(&sources[1], 1, Makes::read, &mut problems);
    let barleys = part(&sources[2], 2, crate::barley::read, &mut problems);
    let season = part(&sources[3], 3, Season::read, &mut problems);
    let house = House { plant, makes, barleys, season, texts };
    if whole {
        let found = check::all(&house).into_iter().map(|(file, fault)| {
            let index = FILES.iter().position(|f| *f == file).unwrap_or(0);
            Problem::new(FILES[index], &sources[index], fault)
        });
        problems.extend(found);
    }
    // Nor is anything missing from a torn file until what is torn off has been read.
    let missing =
        |p: &Problem| matches!(p.fault, Fault::Missing { .. } | Fault::MissingPart { .. });
    problems.retain(|p| !(missing(p) && torn.contains(&p.file)));
    if problems.is_empty() {
        return Ok(house);
    }
    let order = |p: &Problem| (FILES.iter().position(|f| *f == p.file), p.place.span.start);
    problems.sort_by_key(order);
    problems.dedup();
    Err(problems)
}

fn part<T>(
    source: &Source,
    file: usize,
    read: impl FnOnce(&mut Reader<'_>) -> T,
    problems: &mut Vec<Problem>,
) -> T {
    let mut reader = Reader::new(&source.node);
    let value = read(&mut reader);
    if let Err(faults) = reader.finish(()) {
        problems.extend(faults.into_iter().map(|fault| Problem::new(FILES[file], source, fault)));
    }
    value
}

/// The demo house, built in, so that it needs no files.
pub fn quernholm() -> House {
    let texts = [
        include_str!("../../../houses/quernholm/plant.toml"),
        include_str!("../../../houses/quernholm/makes.toml"),
        include_str!("../../../houses/quernholm/barleys.toml"),
        include_str!("../../../houses/quernholm/season.toml"),
    ];
    read(texts.map(str::to_owned)).expect("a test reads the built-in house without a fault")
}
