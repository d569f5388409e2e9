//! A case or house file once its syntax is behind us: a tree of figures, words and parts, and the
//! reader that takes it apart field by field and keeps every fault.
//!
//! The same reading code, run on no file at all ([`Reader::describe`]), tells which fields a case
//! has. Schemas and forms come from that, so a range is written once.

use crate::fault::Fault;
use crate::field::Field;

/// One value of a case, a house file or a result. Parts keep the order they were written in.
#[derive(Debug, Clone, PartialEq)]
pub enum Node {
    /// A figure.
    Number(f64),
    /// A word.
    Text(String),
    /// Yes or no.
    Flag(bool),
    /// Named values.
    Part(Vec<(String, Node)>),
    /// Several of a kind.
    List(Vec<Node>),
    /// Nothing: a figure that could not be had. Only in results.
    Blank,
}

impl Node {
    /// A part from its entries: for results.
    pub fn part<K: Into<String>>(entries: impl IntoIterator<Item = (K, Node)>) -> Self {
        Self::Part(entries.into_iter().map(|(k, v)| (k.into(), v)).collect())
    }
    /// The value under `key` of a part.
    pub fn get(&self, key: &str) -> Option<&Self> {
        match self {
            Self::Part(entries) => entries.iter().find(|(k, _)| k == key).map(|(_, v)| v),
            _ => None,
        }
    }
    /// The value at a path such as `charge.congeners.phenol` or `cut[1].until_time_s`.
    pub fn at(&self, path: &str) -> Option<&Self> {
        let mut node = self;
        for step in path.split('.') {
            let (key, places) = step.split_once('[').unwrap_or((step, ""));
            node = node.get(key)?;
            for place in places.split('[').filter(|p| !p.is_empty()) {
                let index: usize = place.trim_end_matches(']').parse().ok()?;
                node = match node {
                    Self::List(items) => items.get(index)?,
                    _ => return None,
                };
            }
        }
        Some(node)
    }
    /// The value at a path, to change it; the last key is made when it is not there.
    pub fn at_mut(&mut self, path: &str) -> Option<&mut Self> {
        let mut node = self;
        for step in path.split('.') {
            let (key, places) = step.split_once('[').unwrap_or((step, ""));
            let Self::Part(entries) = node else {
                return None;
            };
            let found = entries.iter().position(|(k, _)| k == key);
            let index = found.unwrap_or_else(|| {
                entries.push((key.to_owned(), Self::Part(Vec::new())));
                entries.len() - 1
            });
            node = &mut entries[index].1;
            for place in places.split('[').filter(|p| !p.is_empty()) {
                let index: usize = place.trim_end_matches(']').parse().ok()?;
                node = match node {
                    Self::List(items) => items.get_mut(index)?,
                    _ => return None,
                };
            }
        }
        Some(node)
    }
    /// The figure, where it is one.
    pub fn number(&self) -> Option<f64> {
        match self {
            Self::Number(value) => Some(*value),
            _ => None,
        }
    }
    pub(crate) fn found(&self) -> String {
        match self {
            Self::Number(value) => crate::fault::plain(*value),
            Self::Text(text) => format!("\"{text}\""),
            Self::Flag(flag) => flag.to_string(),
            Self::Part(_) => "a part".to_owned(),
            Self::List(_) => "a list".to_owned(),
            Self::Blank => "blank".to_owned(),
        }
    }
}

impl From<f64> for Node {
    fn from(value: f64) -> Self {
        if value.is_finite() { Self::Number(value) } else { Self::Blank }
    }
}
impl From<&str> for Node {
    fn from(value: &str) -> Self {
        Self::Text(value.to_owned())
    }
}
impl From<String> for Node {
    fn from(value: String) -> Self {
        Self::Text(value)
    }
}
impl From<bool> for Node {
    fn from(value: bool) -> Self {
        Self::Flag(value)
    }
}

/// What sort of value a described key takes.
#[derive(Debug, Clone, PartialEq)]
pub enum Sort {
    /// A figure that must be given, or has a default.
    Figure(Field),
    /// A figure that may be left out.
    Optional(Field),
    /// A word from a few, the first being the default where there is one.
    Choice {
        /// What may be given.
        allowed: Vec<&'static str>,
        /// What is taken when nothing is.
        default: Option<&'static str>,
    },
    /// A free word; `true` when it must be given.
    Word(bool),
    /// Yes or no, and the default.
    Flag(bool),
    /// Free names, each with a figure of this field.
    Named(Field),
    /// A list of parts; the keys under it follow with `[]` in their path.
    List,
    /// A part; the keys under it follow.
    Part,
}

/// One key that a case may hold. In a path, `[]` stands for any member of a list.
#[derive(Debug, Clone, PartialEq)]
pub struct Described {
    /// Path of the key.
    pub path: String,
    /// What it takes.
    pub sort: Sort,
}

/// Takes a tree apart, noting every fault with its path and never stopping at the first.
#[derive(Debug)]
pub struct Reader<'a> {
    entries: &'a [(String, Node)],
    path: String,
    seen: Vec<String>,
    faults: Vec<Fault>,
    described: Option<Vec<Described>>,
}

impl<'a> Reader<'a> {
    /// A reader over a whole case. Anything but a part is read as an empty one.
    pub fn new(node: &'a Node) -> Self {
        let entries: &[(String, Node)] = match node {
            Node::Part(entries) => entries,
            _ => &[],
        };
        Self { entries, path: String::new(), seen: Vec::new(), faults: Vec::new(), described: None }
    }

    /// Runs reading code on nothing and gives the keys it asked for.
    pub fn describe<T>(read: impl FnOnce(&mut Reader<'_>) -> T) -> Vec<Described> {
        let mut reader = Reader {
            entries: &[],
            path: String::new(),
            seen: Vec::new(),
            faults: Vec::new(),
            described: Some(Vec::new()),
        };
        let _ = read(&mut reader);
        reader.described.unwrap_or_default()
    }

    /// Ends the reading: the value when nothing was at fault, else every fault.
    pub fn finish<T>(mut self, value: T) -> Result<T, Vec<Fault>> {
        self.note_unread();
        if self.faults.is_empty() { Ok(value) } else { Err(self.faults) }
    }

    /// Notes a fault of the reading code's own; its path is taken from the part being read.
    pub fn fault(&mut self, fault: Fault) {
        if self.described.is_none() {
            self.faults.push(if self.path.is_empty() { fault } else { fault.within(&self.path) });
        }
    }

    /// Whether `key` is given here.
    pub fn has(&self, key: &str) -> bool {
        self.entries.iter().any(|(k, _)| k == key)
    }

    /// Whether this is only asking what the keys are.
    pub fn describing(&self) -> bool {
        self.described.is_some()
    }

    /// The path of the part being read; empty at the top.
    pub fn path(&self) -> &str {
        &self.path
    }

    /// A figure that must be there unless its field has a default.
    pub fn number(&mut self, field: &Field) -> f64 {
        self.tell(field.key, || Sort::Figure(*field));
        match self.figure(field) {
            Some(value) => value,
            None => field.default.unwrap_or_else(|| {
                self.fault(Fault::Missing {
                    field: field.key.into(),
                    unit: field.unit,
                    low: field.low,
                    high: field.high,
                });
                f64::NAN
            }),
        }
    }

    /// A figure that may be left out; its default, where it has one, stands in.
    pub fn optional(&mut self, field: &Field) -> Option<f64> {
        self.tell(field.key, || Sort::Optional(*field));
        self.figure(field).or(field.default)
    }

    fn figure(&mut self, field: &Field) -> Option<f64> {
        match self.take(field.key)? {
            Node::Number(value) => match field.check(*value) {
                Ok(value) => Some(value),
                Err(fault) => {
                    self.fault(fault);
                    Some(f64::NAN)
                }
            },
            other => {
                self.fault(Fault::NotAFigure {
                    field: field.key.into(),
                    found: other.found(),
                    unit: field.unit,
                });
                Some(f64::NAN)
            }
        }
    }

    /// A free word that must be given.
    pub fn word(&mut self, key: &'static str) -> String {
        self.tell(key, || Sort::Word(true));
        self.text(key).unwrap_or_else(|| {
            self.fault(Fault::MissingPart { field: key.into(), wanted: "a name" });
            String::new()
        })
    }

    /// A free word that may be left out.
    pub fn optional_word(&mut self, key: &'static str) -> Option<String> {
        self.tell(key, || Sort::Word(false));
        self.text(key)
    }

    fn text(&mut self, key: &'static str) -> Option<String> {
        match self.take(key)? {
            Node::Text(text) => Some(text.clone()),
            other => {
                let found = other.found();
                self.fault(Fault::NotAllowed {
                    field: key.into(),
                    found,
                    allowed: vec!["a word in quotes".to_owned()],
                });
                Some(String::new())
            }
        }
    }

    /// A word from a few.
    pub fn choice(
        &mut self,
        key: &'static str,
        allowed: &[&'static str],
        default: Option<&'static str>,
    ) -> &'static str {
        self.tell(key, || Sort::Choice { allowed: allowed.to_vec(), default });
        let fallback = default.or(allowed.first().copied()).unwrap_or_default();
        let Some(text) = self.text(key) else {
            if default.is_none() {
                self.fault(Fault::MissingPart { field: key.into(), wanted: "a word" });
            }
            return fallback;
        };
        if let Some(word) = allowed.iter().find(|w| **w == text) {
            return word;
        }
        if !text.is_empty() {
            let allowed = allowed.iter().map(|w| (*w).to_owned()).collect();
            self.fault(Fault::NotAllowed { field: key.into(), found: text, allowed });
        }
        fallback
    }

    /// Yes or no.
    pub fn flag(&mut self, key: &'static str, default: bool) -> bool {
        self.tell(key, || Sort::Flag(default));
        match self.take(key) {
            None => default,
            Some(Node::Flag(flag)) => *flag,
            Some(other) => {
                let found = other.found();
                let allowed = vec!["true".to_owned(), "false".to_owned()];
                self.fault(Fault::NotAllowed { field: key.into(), found, allowed });
                default
            }
        }
    }

    /// Free names under `key`, each with a figure of `field` (whose own key is not used).
    pub fn named(&mut self, key: &'static str, field: &Field) -> Vec<(String, f64)> {
        self.tell(key, || Sort::Named(*field));
        let Some(node) = self.take(key) else {
            return Vec::new();
        };
        let Node::Part(entries) = node else {
            self.fault(Fault::MissingPart { field: key.into(), wanted: "a part of names" });
            return Vec::new();
        };
        let mut out = Vec::with_capacity(entries.len());
        for (name, value) in entries {
            let path = format!("{key}.{name}");
            match value {
                Node::Number(value) => {
                    match Fault::check(path, *value, field.unit, field.low..=field.high) {
                        Ok(value) => out.push((name.clone(), value)),
                        Err(fault) => self.fault(fault),
                    }
                }
                other => {
                    let found = other.found();
                    self.fault(Fault::NotAFigure { field: path.into(), found, unit: field.unit });
                }
            }
        }
        out
    }

    /// The names that stand under `key` as parts, for parts whose names the writer chooses.
    pub fn names(&self, key: &str) -> Vec<String> {
        match self.entries.iter().find(|(k, _)| k == key) {
            Some((_, Node::Part(entries))) => entries.iter().map(|(k, _)| k.clone()).collect(),
            _ => Vec::new(),
        }
    }

    /// A part under `key`; when it is not given, an empty one is read and its defaults stand.
    pub fn section<T>(&mut self, key: &str, read: impl FnOnce(&mut Reader<'_>) -> T) -> T {
        self.tell(key, || Sort::Part);
        let entries = match self.take(key) {
            Some(Node::Part(entries)) => entries.as_slice(),
            None => &[],
            Some(_) => {
                let field = key.to_owned().into();
                self.fault(Fault::MissingPart { field, wanted: "a part" });
                &[]
            }
        };
        let path = self.below(key);
        self.inside(entries, path, read)
    }

    /// A list of parts under `key`; when it is not given, it is empty.
    pub fn list<T>(&mut self, key: &str, mut read: impl FnMut(&mut Reader<'_>) -> T) -> Vec<T> {
        self.tell(key, || Sort::List);
        if self.describing() {
            let path = self.below(&format!("{key}[]"));
            let _ = self.inside(&[], path, read);
            return Vec::new();
        }
        let items = match self.take(key) {
            Some(Node::List(items)) => items.as_slice(),
            None => return Vec::new(),
            Some(_) => {
                let field = key.to_owned().into();
                self.fault(Fault::MissingPart { field, wanted: "a list of parts" });
                return Vec::new();
            }
        };
        let mut out = Vec::with_capacity(items.len());
        for (index, item) in items.iter().enumerate() {
            let path = self.below(&format!("{key}[{index}]"));
            let Node::Part(entries) = item else {
                let field = format!("{key}[{index}]").into();
                self.fault(Fault::MissingPart { field, wanted: "a part" });
                continue;
            };
            out.push(self.inside(entries, path, &mut read));
        }
        out
    }

    /// A list of figures under `key`, each within `field`.
    pub fn numbers(&mut self, key: &'static str, field: &Field) -> Vec<f64> {
        self.tell(key, || Sort::Named(*field));
        let Some(node) = self.take(key) else {
            return Vec::new();
        };
        let Node::List(items) = node else {
            self.fault(Fault::MissingPart { field: key.into(), wanted: "a list of figures" });
            return Vec::new();
        };
        let mut out = Vec::with_capacity(items.len());
        for (index, item) in items.iter().enumerate() {
            let path = format!("{key}[{index}]");
            if let Some(value) = item.number() {
                match Fault::check(path, value, field.unit, field.low..=field.high) {
                    Ok(value) => out.push(value),
                    Err(fault) => self.fault(fault),
                }
            } else {
                let found = item.found();
                self.fault(Fault::NotAFigure { field: path.into(), found, unit: field.unit });
            }
        }
        out
    }

    /// A list of words under `key`.
    pub fn words(&mut self, key: &'static str) -> Vec<String> {
        self.tell(key, || Sort::Word(false));
        let Some(node) = self.take(key) else {
            return Vec::new();
        };
        let Node::List(items) = node else {
            self.fault(Fault::MissingPart { field: key.into(), wanted: "a list of words" });
            return Vec::new();
        };
        let mut out = Vec::with_capacity(items.len());
        for (index, item) in items.iter().enumerate() {
            if let Node::Text(text) = item {
                out.push(text.clone());
            } else {
                let field = format!("{key}[{index}]").into();
                self.fault(Fault::MissingPart { field, wanted: "a word in quotes" });
            }
        }
        out
    }

    fn inside<'b, T>(
        &mut self,
        entries: &'b [(String, Node)],
        path: String,
        read: impl FnOnce(&mut Reader<'b>) -> T,
    ) -> T {
        let mut reader = Reader {
            entries,
            path,
            seen: Vec::new(),
            faults: std::mem::take(&mut self.faults),
            described: self.described.take(),
        };
        let value = read(&mut reader);
        reader.note_unread();
        self.faults = reader.faults;
        self.described = reader.described;
        value
    }

    fn take(&mut self, key: &str) -> Option<&'a Node> {
        if !self.seen.iter().any(|k| k == key) {
            self.seen.push(key.to_owned());
        }
        self.entries.iter().find(|(k, _)| k == key).map(|(_, v)| v)
    }

    fn tell(&mut self, key: &str, sort: impl FnOnce() -> Sort) {
        let path = self.below(key);
        if let Some(described) = &mut self.described {
            described.push(Described { path, sort: sort() });
        }
    }

    fn below(&self, key: &str) -> String {
        if self.path.is_empty() { key.to_owned() } else { format!("{}.{key}", self.path) }
    }

    fn note_unread(&mut self) {
        let unread: Vec<String> = self
            .entries
            .iter()
            .filter(|(key, _)| !self.seen.contains(key))
            .map(|(key, _)| key.clone())
            .collect();
        for key in unread {
            let near = nearest(&key, self.seen.iter().map(String::as_str)).map(str::to_owned);
            self.fault(Fault::Unknown { field: key.into(), near });
        }
    }
}

/// Gives the known word nearest to `word`, when it is near enough to be a slip of the hand.
pub fn nearest<'k>(word: &str, known: impl IntoIterator<Item = &'k str>) -> Option<&'k str> {
    let most = (word.chars().count() / 3).max(1);
    known
        .into_iter()
        .map(|k| (distance(word, k), k))
        .filter(|(d, _)| *d <= most)
        .min_by_key(|(d, _)| *d)
        .map(|(_, k)| k)
}

/// Single-letter changes between two words (Levenshtein's distance).
fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, ca) in a.chars().enumerate() {
        let mut corner = row[0];
        row[0] = i + 1;
        for (j, cb) in b.iter().enumerate() {
            let change = corner + usize::from(ca != *cb);
            corner = row[j + 1];
            row[j + 1] = change.min(row[j] + 1).min(corner + 1);
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Record;

    crate::record! {
        /// A part to read in the tests.
        struct Pot {
            /// Heat to the pot.
            heat_w: f64 = Field::new("W").within(0.0, 1e6),
            /// Head loss, nought where none is given.
            head_loss_w_k: f64 = Field::new("W/K").within(0.0, 5e3).or(0.0),
            /// Barometer, where it was read.
            pressure_pa: Option<f64> = Field::new("Pa").within(8e4, 1.1e5),
        }
    }

    fn number(v: f64) -> Node {
        Node::Number(v)
    }

    #[test]
    fn every_fault_of_a_part_is_told_at_once_with_its_path() {
        let pot = Node::part([("heat_w", Node::from("much")), ("head_los_w_k", number(9e3))]);
        let case = Node::part([("still", pot), ("cut", Node::List(vec![number(1.0)]))]);
        let mut reader = Reader::new(&case);
        reader.section("still", Pot::read);
        reader.list("cut", |_| ());
        let faults = reader.finish(()).expect_err("three faults");
        let told: Vec<String> = faults.iter().map(ToString::to_string).collect();
        assert_eq!(
            told,
            [
                "still.heat_w is \"much\"; a figure in W is wanted",
                "nothing reads still.head_los_w_k; is it head_loss_w_k?",
                "cut[0] is missing; a part is wanted",
            ]
        );
    }

    #[test]
    fn defaults_stand_in_and_missing_figures_are_asked_for() {
        let empty = Node::part::<&str>([]);
        let mut reader = Reader::new(&empty);
        let pot = Pot::read(&mut reader);
        assert_eq!(pot.head_loss_w_k, 0.0);
        assert_eq!(pot.pressure_pa, None);
        let faults = reader.finish(()).expect_err("heat_w must be given");
        assert_eq!(faults[0].to_string(), "heat_w is missing; give 0 to 1000000 W");
    }

    #[test]
    fn describing_tells_lists_and_parts_with_their_fields() {
        let described = Reader::describe(|r| {
            r.section("still", Pot::read);
            r.list("cut", |r| r.word("name"));
        });
        let paths: Vec<&str> = described.iter().map(|d| d.path.as_str()).collect();
        assert_eq!(
            paths,
            [
                "still",
                "still.heat_w",
                "still.head_loss_w_k",
                "still.pressure_pa",
                "cut",
                "cut[].name"
            ]
        );
    }

    #[test]
    fn not_a_number_is_out_of_range() {
        let case = Node::part([("heat_w", number(f64::NAN))]);
        let mut reader = Reader::new(&case);
        Pot::read(&mut reader);
        let faults = reader.finish(()).expect_err("not a number");
        assert_eq!(faults[0].to_string(), "heat_w is not a number W; allowed 0 to 1000000 W");
    }

    #[test]
    fn a_path_reaches_into_lists() {
        let cut = Node::part([("until_time_s", number(5.0))]);
        let mut case = Node::part([("cut", Node::List(vec![cut]))]);
        assert_eq!(case.at("cut[0].until_time_s").and_then(Node::number), Some(5.0));
        *case.at_mut("cut[0].until_time_s").expect("it is there") = number(6.0);
        assert_eq!(case.at("cut[0].until_time_s").and_then(Node::number), Some(6.0));
        assert_eq!(case.at("cut[1].until_time_s"), None);
    }

    #[test]
    fn a_slip_of_the_hand_finds_its_word() {
        assert_eq!(nearest("heat_v", ["heat_w", "wash"]), Some("heat_w"));
        assert_eq!(nearest("zzz", ["heat_w", "wash"]), None);
    }
}
