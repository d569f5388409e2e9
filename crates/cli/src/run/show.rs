//! A result for reading on a terminal: every figure by its key, then the balance, then warnings.

use gauge::Node;
use process::{Face, Report};
use std::fmt::Write as _;

/// Gives the whole report as text.
pub(super) fn report(face: &Face, report: &Report) -> String {
    let mut text = format!("{}\n", face.title);
    lines(&mut text, &report.result, 1);
    text.push_str("  balance\n");
    lines(&mut text, &report.balance.node(), 2);
    for warning in &report.warnings {
        let _ = writeln!(text, "  {}: {}", warning.code, warning.says);
    }
    text
}

fn lines(text: &mut String, node: &Node, depth: usize) {
    let Node::Part(entries) = node else { return };
    let indent = "  ".repeat(depth);
    for (key, value) in entries {
        match value {
            Node::Part(inner) if inner.is_empty() => {}
            Node::Part(_) => {
                let _ = writeln!(text, "{indent}{key}");
                lines(text, value, depth + 1);
            }
            Node::List(items) => {
                for (i, item) in items.iter().enumerate() {
                    let name = match item.get("name") {
                        Some(Node::Text(name)) => name.clone(),
                        _ => (i + 1).to_string(),
                    };
                    if let Some(figure) = plain(item) {
                        let _ = writeln!(text, "{indent}{key} {name}  {figure}");
                    } else {
                        let _ = writeln!(text, "{indent}{key} {name}");
                        lines(text, item, depth + 1);
                    }
                }
            }
            _ => {
                let _ = writeln!(text, "{indent}{key:<34} {}", plain(value).unwrap_or_default());
            }
        }
    }
}

fn plain(node: &Node) -> Option<String> {
    match node {
        Node::Number(value) => Some(figure(*value)),
        Node::Text(word) => Some(word.clone()),
        Node::Flag(flag) => Some(if *flag { "yes" } else { "no" }.to_owned()),
        Node::Blank => Some(String::new()),
        Node::Part(_) | Node::List(_) => None,
    }
}

/// Seven figures: what a person compares; `--json` has them all.
fn figure(value: f64) -> String {
    if value != 0.0 && (value.abs() < 1e-4 || value.abs() >= 1e9) {
        return format!("{value:.6e}");
    }
    let whole = value.abs().max(1.0).log10().floor() as usize;
    format!("{value:.*}", 6_usize.saturating_sub(whole))
}
