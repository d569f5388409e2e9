//! A TOML text taken apart into a [`Node`] tree, with the place of every key and value in it, and
//! with every fault of its syntax at once. House files and case files both come in by this door.

use gauge::{Fault, Node};
use std::collections::BTreeMap;
use std::ops::Range;
use toml::de::{DeTable, DeValue};

/// Where a thing stands in a text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// Its bytes.
    pub span: Range<usize>,
    /// Its line, the first being 1.
    pub line: usize,
    /// Its column in characters, the first being 1.
    pub column: usize,
}

/// A text read as TOML.
#[derive(Debug, Clone, PartialEq)]
pub struct Source {
    /// The tree. Parts keep the order they were written in; dates and times are text.
    pub node: Node,
    marks: BTreeMap<String, Mark>,
    line_starts: Vec<usize>,
    text: String,
}

#[derive(Debug, Clone, PartialEq)]
struct Mark {
    key: Range<usize>,
    value: Range<usize>,
}

impl Source {
    /// Reads `text`. What could be read stands in the tree even when some lines are at fault, so
    /// that the faults of the figures can be told along with those of the syntax.
    pub fn parse(text: &str) -> (Self, Vec<(Fault, Place)>) {
        let (table, errors) = DeTable::parse_recoverable(text);
        let mut source = Self {
            node: Node::Blank,
            marks: BTreeMap::new(),
            line_starts: std::iter::once(0)
                .chain(text.match_indices('\n').map(|(at, _)| at + 1))
                .collect(),
            text: text.to_owned(),
        };
        source.node = source.part(table.get_ref(), "");
        let faults = errors
            .iter()
            .map(|error| {
                let says = sentence(error.message());
                (Fault::Syntax { says }, source.at(error.span().unwrap_or(0..0)))
            })
            .collect();
        (source, faults)
    }

    /// The text itself.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The place of the value at `path` (`vessel.washback_1.fill_l`, `cut[1].until_time_s`). When
    /// nothing stands there, the place of the nearest part around it, which lacks it.
    pub fn place(&self, path: &str) -> Place {
        self.find(path, |mark, exact| if exact { mark.value.clone() } else { mark.key.clone() })
    }

    /// The place that `fault` points at: the key when nobody reads it, else the value.
    pub fn place_of(&self, fault: &Fault) -> Place {
        let path = fault.field().unwrap_or_default();
        match fault {
            Fault::Unknown { .. } => self.find(path, |mark, _| mark.key.clone()),
            _ => self.place(path),
        }
    }

    fn find(&self, path: &str, pick: impl Fn(&Mark, bool) -> Range<usize>) -> Place {
        let mut around = path;
        loop {
            if let Some(mark) = self.marks.get(around) {
                return self.at(pick(mark, around.len() == path.len()));
            }
            let Some(cut) = around.rfind(['.', '[']) else {
                return self.at(0..0);
            };
            around = &around[..cut];
        }
    }

    fn at(&self, span: Range<usize>) -> Place {
        let start = span.start.min(self.text.len());
        let line = self.line_starts.partition_point(|at| *at <= start).max(1);
        let from = self.line_starts[line - 1];
        let column = self.text.get(from..start).map_or(1, |before| before.chars().count() + 1);
        Place { span, line, column }
    }

    fn part(&mut self, table: &DeTable<'_>, path: &str) -> Node {
        let mut entries: Vec<_> = table.iter().collect();
        entries.sort_by_key(|(key, _)| key.span().start);
        let mut part = Vec::with_capacity(entries.len());
        for (key, value) in entries {
            let name = key.get_ref().to_string();
            let path = if path.is_empty() { name.clone() } else { format!("{path}.{name}") };
            let mark = Mark { key: key.span(), value: value.span() };
            self.marks.insert(path.clone(), mark);
            let value = self.value(value.get_ref(), &path);
            part.push((name, value));
        }
        Node::Part(part)
    }

    fn value(&mut self, value: &DeValue<'_>, path: &str) -> Node {
        match value {
            DeValue::String(text) => Node::Text(text.to_string()),
            DeValue::Integer(integer) => {
                let digits = integer.as_str();
                match i128::from_str_radix(digits, integer.radix()) {
                    Ok(whole) => Node::Number(whole as f64),
                    Err(_) => Node::Text(digits.to_owned()),
                }
            }
            DeValue::Float(float) => match float.as_str().parse() {
                Ok(value) => Node::Number(value),
                Err(_) => Node::Text(float.as_str().to_owned()),
            },
            DeValue::Boolean(flag) => Node::Flag(*flag),
            DeValue::Datetime(when) => Node::Text(when.to_string()),
            DeValue::Array(items) => {
                let mut list = Vec::with_capacity(items.len());
                for (index, item) in items.iter().enumerate() {
                    let path = format!("{path}[{index}]");
                    let mark = Mark { key: item.span(), value: item.span() };
                    self.marks.insert(path.clone(), mark);
                    list.push(self.value(item.get_ref(), &path));
                }
                Node::List(list)
            }
            DeValue::Table(table) => self.part(table, path),
        }
    }
}

/// What the parser says, as one line.
fn sentence(message: &str) -> String {
    let line = message
        .lines()
        .map(str::trim)
        .filter(|line| !line.is_empty())
        .collect::<Vec<_>>()
        .join("; ");
    if line.is_empty() { "this is not TOML".to_owned() } else { line }
}

#[cfg(test)]
mod tests {
    use super::*;

    const CASE: &str = "# a case\n[still]\nheat_w = 250_000\nname = \"wéé\"\n\n[[cut]]\n\
        until_time_s = 1.2e3\n[[cut]]\nuntil_strength_pct = 62.0\nwhen = 2026-03-01\n";

    #[test]
    fn a_path_leads_to_its_bytes_and_line() {
        let (source, faults) = Source::parse(CASE);
        assert!(faults.is_empty());
        let place = source.place("cut[1].until_strength_pct");
        assert_eq!(&CASE[place.span.clone()], "62.0");
        assert_eq!((place.line, place.column), (9, 22));
        let lacking = source.place("cut[0].name");
        assert_eq!(lacking.line, 6);
        assert_eq!(source.node.at("still.heat_w"), Some(&Node::Number(250e3)));
        let date = source.node.at("cut[1].when");
        assert_eq!(date, Some(&Node::Text("2026-03-01".to_owned())));
    }

    #[test]
    fn an_unknown_key_is_pointed_at_itself() {
        let (source, _) = Source::parse(CASE);
        let fault = Fault::Unknown { field: "still.name".into(), near: None };
        assert_eq!(&CASE[source.place_of(&fault).span], "name");
    }

    #[test]
    fn all_faults_of_syntax_come_at_once_and_the_rest_is_read() {
        let text = "a = 1\nb = = 2\nc = 3\nd = [1, \ne = 5\nf 6\n";
        let (source, faults) = Source::parse(text);
        assert!(faults.len() >= 2, "{faults:?}");
        assert_eq!(source.node.at("a"), Some(&Node::Number(1.0)));
        assert_eq!(source.node.at("c"), Some(&Node::Number(3.0)));
        assert_eq!(faults[0].1.line, 2);
    }

    #[test]
    fn parts_keep_the_order_they_were_written_in() {
        let (source, _) = Source::parse("[z]\n[a]\n[m]\n");
        let Node::Part(entries) = &source.node else {
            panic!("a part");
        };
        let names: Vec<&str> = entries.iter().map(|(k, _)| k.as_str()).collect();
        assert_eq!(names, ["z", "a", "m"]);
    }

    #[test]
    fn no_text_makes_the_reader_fall_over() {
        proptest::proptest!(|(text in "[ -~\n\"\\[\\]={}.#']{0,80}")| {
            let (source, faults) = Source::parse(&text);
            for (_, place) in faults {
                proptest::prop_assert!(place.line >= 1);
            }
            let _ = source.place("a.b[0].c");
        });
    }
}
