//! A case file: its text, its tree, and its faults shown in place.

use gauge::Fault;
use house::source::{Place, Source};
use miette::{GraphicalReportHandler, GraphicalTheme, LabeledSpan, MietteDiagnostic, NamedSource};
use std::io::Read;

/// A case that has been read.
pub(crate) struct Case {
    name: String,
    /// Its tree and where each part stands.
    pub(crate) source: Source,
    /// What is wrong with it as TOML.
    pub(crate) syntax: Vec<(Fault, Place)>,
}

/// Reads a case file, or standard input when `name` is `-`.
pub(crate) fn read(name: &str) -> Result<Case, String> {
    let bytes = if name == "-" {
        let mut bytes = Vec::new();
        std::io::stdin().lock().read_to_end(&mut bytes).map(|_| bytes)
    } else {
        std::fs::read(name)
    };
    let bytes = bytes.map_err(|e| format!("{name} cannot be read: {e}"))?;
    let text = String::from_utf8(bytes).map_err(|e| {
        format!("{name} is not UTF-8 text from byte {}", e.utf8_error().valid_up_to())
    })?;
    let (source, syntax) = Source::parse(&text);
    Ok(Case { name: name.to_owned(), source, syntax })
}

impl Case {
    /// All faults at once, each with its line marked.
    pub(crate) fn told(&self, faults: &[Fault]) -> String {
        let syntax = self.syntax.iter().map(|(f, p)| (f.to_string(), p.span.clone()));
        let figures = faults.iter().map(|f| (f.to_string(), self.source.place_of(f).span));
        let all: Vec<_> = syntax.chain(figures).collect();
        marked(&self.name, self.source.text(), &all)
    }
}

/// Shows faults in a text, each sentence above its marked line.
pub(crate) fn marked(
    name: &str,
    text: &str,
    faults: &[(String, std::ops::Range<usize>)],
) -> String {
    let handler = GraphicalReportHandler::new_themed(GraphicalTheme::unicode_nocolor());
    let mut out = String::new();
    for (says, span) in faults {
        let label = LabeledSpan::at(span.clone(), "here");
        let shown = MietteDiagnostic::new(says.clone()).with_label(label);
        let shown =
            miette::Report::new(shown).with_source_code(NamedSource::new(name, text.to_owned()));
        // Writing to a string cannot fail.
        let _ = handler.render_report(&mut out, shown.as_ref());
    }
    out
}
