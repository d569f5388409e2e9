//! The kinds of entry: one small file each, with its fields, its postings and what it touches.
//!
//! A form, `shiel note` and a fault read the same fields, by [`Kind::describe`]. A new kind is a
//! file here and its line in [`kinds`]; none is ever taken away, since the journal keeps entries
//! of it. When a kind changes its shape it gets a higher version, and the fold reads both.

mod analyse;
mod barley;
mod cask;
mod correct;
mod cuts;
mod fields;
mod floor;
mod laboratory;
mod legs;
mod malt;
mod nose;
mod reading;
mod scene;
mod spirit;
mod stock;
mod wort;

pub use legs::Legs;
pub use reading::measures;
pub use scene::Scene;

use crate::body;
use crate::entry::{Posting, Role};
use crate::fault::BookFault;
use gauge::{Described, Node, Reader};

/// What an entry can be about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Subject {
    /// A lot of barley.
    Lot,
    /// A vessel.
    Vessel,
    /// A piece, from steep to bin.
    Piece,
    /// A mash, from mill to washback.
    Mash,
    /// A run of a still.
    Run,
    /// A cask.
    Cask,
    /// A make.
    Make,
    /// Whatever the account named in the field stands for.
    Account,
}

impl Subject {
    /// The word in the derived state.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Lot => "lot",
            Self::Vessel => "vessel",
            Self::Piece => "piece",
            Self::Mash => "mash",
            Self::Run => "run",
            Self::Cask => "cask",
            Self::Make => "make",
            Self::Account => "account",
        }
    }
}

/// Which way a thing goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Way {
    /// Into it.
    In,
    /// Out of it.
    Out,
    /// Neither.
    At,
}

impl Way {
    /// The word in the derived state.
    pub const fn key(self) -> &'static str {
        match self {
            Self::In => "in",
            Self::Out => "out",
            Self::At => "at",
        }
    }
}

/// A subject that an entry touches: which, under which key of its data, and which way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Touch {
    /// The sort of subject.
    pub subject: Subject,
    /// The key of the data that names it.
    pub key: &'static str,
    /// The way things go.
    pub way: Way,
}

/// An earlier entry that should be there. When it is missing the entry is marked, not refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct After {
    /// About the same subject,
    pub subject: Subject,
    /// named under this key,
    pub key: &'static str,
    /// of one of these kinds.
    pub kinds: &'static [&'static str],
}

/// One kind of entry.
#[derive(Clone, Copy)]
pub struct Kind {
    /// The word in the journal and on the command line.
    pub key: &'static str,
    /// What a distiller calls it.
    pub title: &'static str,
    /// What it notes, in one sentence.
    pub does: &'static str,
    /// The version of its shape.
    pub version: u32,
    /// Who may write it.
    pub writers: &'static [Role],
    /// What it touches.
    pub touches: &'static [Touch],
    /// What should have gone before.
    pub after: Option<After>,
    draft: fn(&mut Reader<'_>, &Scene<'_>, &mut Legs),
}

impl std::fmt::Debug for Kind {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_tuple("Kind").field(&self.key).finish()
    }
}

/// Data and postings of an entry, worked out from what was written.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Drafted {
    pub(crate) data: Node,
    pub(crate) postings: Vec<Posting>,
}

/// Whoever notes what was done.
const HANDS: &[Role] = &[Role::Hand, Role::FillingStore, Role::Distiller];
/// Whoever fills casks.
const FILLERS: &[Role] = &[Role::FillingStore, Role::Distiller];
/// Whoever corrects.
const CORRECTORS: &[Role] = &[Role::Distiller];

const fn touch(subject: Subject, key: &'static str, way: Way) -> Touch {
    Touch { subject, key, way }
}

impl Kind {
    /// The keys that its data may hold, with range and unit.
    pub fn describe(&self) -> Vec<Described> {
        let scene = Scene::nowhere();
        Reader::describe(|reader| (self.draft)(reader, &scene, &mut Legs::new()))
    }

    /// Checks what was written and works out the postings; every fault at once.
    pub(crate) fn draft(&self, given: &Node, scene: &Scene<'_>) -> Result<Drafted, BookFault> {
        let mut reader = Reader::new(given);
        let mut legs = Legs::new();
        (self.draft)(&mut reader, scene, &mut legs);
        reader.finish(()).map_err(BookFault::Figures)?;
        scene.trouble()?;
        legs.drafted(given)
    }

    /// The subjects that stored data of this kind touches.
    pub(crate) fn touched(&self, data: &Node) -> Vec<(Subject, String, Way)> {
        let mut out = Vec::with_capacity(self.touches.len());
        for touch in self.touches {
            let Some(name) = data.get(touch.key).and_then(named) else {
                continue;
            };
            if touch.subject != Subject::Account {
                out.push((touch.subject, name, touch.way));
            } else if let Ok(account) = name.parse::<crate::Account>() {
                let subject = match account.place() {
                    crate::Place::Lot => Subject::Lot,
                    crate::Place::Vessel => Subject::Vessel,
                    crate::Place::Cask => Subject::Cask,
                    _ => continue,
                };
                out.push((subject, account.name().to_owned(), touch.way));
            }
        }
        out
    }
}

/// A word, or a number as a name: piece 12 is "12".
pub(crate) fn named(node: &Node) -> Option<String> {
    match node {
        Node::Text(text) if !text.is_empty() => Some(text.clone()),
        Node::Number(figure) => Some(body::value(&Node::Number(*figure)).to_string())
            .map(|text| text.trim_end_matches(".0").to_owned()),
        _ => None,
    }
}

/// Every kind, in the order in which barley becomes whisky.
pub fn kinds() -> &'static [Kind] {
    static KINDS: &[Kind] = &[
        stock::OPENING,
        barley::INTAKE,
        barley::DRY,
        barley::GERMINATION,
        malt::STEEP,
        floor::WATER,
        malt::LAY,
        floor::TURN,
        floor::THIN,
        floor::FIRING,
        malt::LOAD,
        malt::STRIP,
        laboratory::LABORATORY,
        wort::DRAW,
        wort::MASH,
        wort::SET,
        wort::ATTENUATE,
        spirit::CHARGE,
        spirit::RUN_OFF,
        spirit::DISCHARGE,
        spirit::PUMP,
        spirit::RECEIVE,
        spirit::REDUCE,
        cask::FILL,
        cask::PLACE,
        cask::REGAUGE,
        cask::DISPATCH,
        reading::READING,
        nose::NOSE,
        analyse::ANALYSE,
        cuts::CUTS,
        stock::SAMPLE,
        stock::LOSS,
        stock::CLEAN,
        correct::CONTRA,
    ];
    KINDS
}

/// The kind under `key`.
pub fn kind(key: &str) -> Result<&'static Kind, BookFault> {
    kinds().iter().find(|k| k.key == key).ok_or_else(|| {
        let known = kinds().iter().map(|k| k.key);
        BookFault::UnknownKind { kind: key.to_owned(), near: gauge::tree::nearest(key, known) }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use gauge::Sort;

    #[test]
    fn every_kind_touches_only_keys_it_has() {
        for kind in kinds() {
            let keys: Vec<String> = kind.describe().into_iter().map(|d| d.path).collect();
            for touch in kind.touches {
                assert!(keys.iter().any(|k| k == touch.key), "{}: {}", kind.key, touch.key);
            }
            if let Some(after) = kind.after {
                assert!(after.kinds.iter().all(|k| super::kind(k).is_ok()), "{}", kind.key);
                assert!(kind.touches.iter().any(|t| t.key == after.key), "{}", kind.key);
            }
        }
    }

    #[test]
    fn every_figure_has_a_range_a_label_and_one_key() {
        for kind in kinds() {
            let described = kind.describe();
            let mut keys: Vec<&str> = described.iter().map(|d| d.path.as_str()).collect();
            keys.sort_unstable();
            let all = keys.len();
            keys.dedup();
            assert_eq!(keys.len(), all, "{} asks for a key twice", kind.key);
            for one in &described {
                if let Sort::Figure(field) | Sort::Optional(field) = &one.sort {
                    assert!(field.low > f64::MIN && field.high < f64::MAX, "{}", one.path);
                    assert!(!field.label.is_empty(), "{} {}", kind.key, one.path);
                }
            }
        }
    }

    #[test]
    fn a_slip_of_the_hand_gets_the_near_kind() {
        assert_eq!(
            kind("steap").unwrap_err(),
            BookFault::UnknownKind { kind: "steap".into(), near: Some("steep") }
        );
    }
}
