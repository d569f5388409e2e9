//! What is to be noted, before the book has seen it.

use crate::entry::{Heading, Role};
use crate::fault::BookFault;
use crate::kind::{self, Kind};
use crate::moment::Moment;
use gauge::{Node, Sort};

/// A thing that happened, as a person or a program tells it.
#[derive(Debug, Clone, PartialEq)]
pub struct Noting {
    kind: &'static str,
    fields: Node,
    id: String,
    happened_at: Option<Moment>,
    noted_at: Option<Moment>,
    writer: String,
    role: Role,
}

impl Noting {
    /// From a tree of figures and words.
    pub fn new(kind: &str, fields: Node) -> Result<Self, BookFault> {
        Ok(Self {
            kind: kind::kind(kind)?.key,
            fields,
            id: String::new(),
            happened_at: None,
            noted_at: None,
            writer: String::new(),
            role: Role::Hand,
        })
    }

    /// From pairs of key and text, as a form or a command line gives them. A text becomes a
    /// figure, a word or a yes-or-no by what its field is; an empty one counts as not given.
    /// `expected.gravity` is the key `gravity` of the part `expected`.
    pub fn from_pairs<K: AsRef<str>, V: AsRef<str>>(
        kind: &str,
        pairs: impl IntoIterator<Item = (K, V)>,
    ) -> Result<Self, BookFault> {
        let kind = kind::kind(kind)?;
        let mut fields = Node::Part(Vec::new());
        for (key, text) in pairs {
            let (key, text) = (key.as_ref().trim(), text.as_ref().trim());
            if text.is_empty() {
                continue;
            }
            if let Some(place) = fields.at_mut(key) {
                *place = typed(kind, key, text);
            }
        }
        Self::new(kind.key, fields)
    }

    /// With the id that the client made for it.
    #[must_use]
    pub fn id(mut self, id: impl Into<String>) -> Self {
        self.id = id.into();
        self
    }
    /// With when it happened, which is also when it was noted unless that is told apart.
    #[must_use]
    pub fn at(mut self, happened_at: Moment) -> Self {
        self.happened_at = Some(happened_at);
        self
    }
    /// With when it was noted.
    #[must_use]
    pub fn noted(mut self, noted_at: Moment) -> Self {
        self.noted_at = Some(noted_at);
        self
    }
    /// With who writes it, in which role.
    #[must_use]
    pub fn by(mut self, writer: impl Into<String>, role: Role) -> Self {
        self.writer = writer.into();
        self.role = role;
        self
    }

    pub(crate) fn id_text(&self) -> &str {
        &self.id
    }
    /// Its kind.
    pub fn kind(&self) -> &'static str {
        self.kind
    }
    /// Its figures and words as they were told.
    pub fn fields(&self) -> &Node {
        &self.fields
    }

    /// The heading, when nothing of it is missing or untrue of itself.
    pub(crate) fn heading(&self) -> Result<Heading, BookFault> {
        let missing = |field: &'static str, wanted: &'static str| {
            BookFault::Figures(vec![gauge::Fault::MissingPart { field: field.into(), wanted }])
        };
        if self.id.is_empty() {
            return Err(missing("id", "an id made for this entry"));
        }
        if self.writer.trim().is_empty() {
            return Err(missing("writer", "a name"));
        }
        let happened_at =
            self.happened_at.or(self.noted_at).ok_or_else(|| missing("happened_at", "a time"))?;
        let noted_at = self.noted_at.unwrap_or(happened_at);
        if happened_at.timestamp() > noted_at.timestamp() {
            return Err(BookFault::BeforeItHappened {
                happened_at: happened_at.to_string(),
                noted_at: noted_at.to_string(),
            });
        }
        Ok(Heading {
            id: self.id.clone(),
            happened_at,
            noted_at,
            writer: self.writer.trim().to_owned(),
            role: self.role,
        })
    }
}

/// A text as its field wants it. What does not fit stays a word, and the field says so.
fn typed(kind: &Kind, key: &str, text: &str) -> Node {
    let described = kind.describe();
    let top = key.split('.').next().unwrap_or(key);
    let sort = described
        .iter()
        .find(|d| d.path == key)
        .or_else(|| described.iter().find(|d| d.path == top))
        .map(|d| &d.sort);
    match sort {
        Some(Sort::Word(_) | Sort::Choice { .. }) => Node::Text(text.to_owned()),
        Some(Sort::Flag(_)) => match text {
            "true" | "yes" | "on" => Node::Flag(true),
            "false" | "no" | "off" => Node::Flag(false),
            _ => Node::Text(text.to_owned()),
        },
        _ => text
            .replace('\u{2212}', "-")
            .parse::<f64>()
            .map_or_else(|_| Node::Text(text.to_owned()), Node::Number),
    }
}
