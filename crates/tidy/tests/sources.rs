//! Lengths, words and headings of the sources, and the heads of the reference tables.

use tidy::measure;

const WIDEST_LINE: usize = 100;
const LONGEST_FILE: usize = 500;
const LONGEST_FUNCTION: usize = 70;

/// Files over the limit, each with its reason.
const LONG_FILES: [(&str, &str); 1] =
    [("crates/gauge/src/tree.rs", "one reader, whose kinds of value belong side by side")];

/// Functions over the limit, each with its reason.
const LONG_FUNCTIONS: [(&str, &str, &str); 2] = [
    ("crates/gauge/src/fault.rs", "fmt", "one arm a fault; the wording is read in one place"),
    ("crates/numeric/src/roots.rs", "brent", "one published method"),
];

#[test]
fn lines_are_no_wider_than_the_page() {
    let mut strays = Vec::new();
    for source in tidy::sources() {
        for (n, line) in source.text.lines().enumerate() {
            if line.chars().count() > WIDEST_LINE {
                strays.push(format!("{}:{}", source.path, n + 1));
            }
        }
    }
    assert!(strays.is_empty(), "{strays:#?}");
}

#[test]
fn files_can_be_read_in_one_sitting() {
    let mut strays = Vec::new();
    for source in tidy::sources() {
        let lines = source.product().lines().count();
        let listed = LONG_FILES.iter().any(|(path, _)| *path == source.path);
        if lines > LONGEST_FILE && !source.is_test() && !listed {
            strays.push(format!("{}: {lines} lines", source.path));
        }
        assert!(
            !listed || lines > LONGEST_FILE,
            "{} is short enough now; take it off the list",
            source.path
        );
    }
    assert!(strays.is_empty(), "{strays:#?}");
}

#[test]
fn functions_fit_a_page() {
    let mut strays = Vec::new();
    for source in tidy::sources().iter().filter(|s| !s.is_test()) {
        for function in measure::functions(&source.text) {
            let listed = LONG_FUNCTIONS
                .iter()
                .any(|(path, name, _)| *path == source.path && *name == function.name);
            if function.lines > LONGEST_FUNCTION && !listed {
                strays.push(format!(
                    "{}:{} {}: {} lines",
                    source.path, function.line, function.name, function.lines
                ));
            }
        }
    }
    assert!(strays.is_empty(), "{strays:#?}");
}

#[test]
fn a_float_is_not_compared_for_equality() {
    // Against nought it is a question of sign or of nothing given, and exact.
    let mut strays = Vec::new();
    for source in tidy::sources().iter().filter(|s| !s.is_test()) {
        for (n, line) in source.product().lines().enumerate() {
            let code = line.split("//").next().unwrap_or_default();
            for sign in [" == ", " != "] {
                if let Some((_, right)) = code.split_once(sign) {
                    let word: String = right
                        .trim_start_matches('-')
                        .chars()
                        .take_while(|c| c.is_ascii_digit() || *c == '.' || *c == '_')
                        .collect();
                    let float = word.contains('.') && word.starts_with(|c: char| c.is_numeric());
                    if float && !word.trim_matches(['0', '.']).is_empty() {
                        strays.push(format!("{}:{}: {}", source.path, n + 1, line.trim()));
                    }
                }
            }
        }
    }
    assert!(strays.is_empty(), "{strays:#?}");
}

#[test]
fn every_measure_says_its_units_range_and_source() {
    const MEASURES: [&str; 3] =
        ["crates/gauge/src/alcoholometry", "crates/gauge/src/wort", "crates/gauge/src/moist_air"];
    let mut strays = Vec::new();
    for source in tidy::sources().iter().filter(|s| !s.is_test()) {
        if !MEASURES.iter().any(|m| source.path.starts_with(m)) {
            continue;
        }
        for function in measure::functions(&source.text) {
            if !function.public || function.arguments == 0 {
                continue;
            }
            for heading in ["# Units", "# Range", "# Source"] {
                if !function.doc.contains(heading) {
                    let at = format!("{}:{}", source.path, function.line);
                    strays.push(format!("{at} {}: no {heading}", function.name));
                }
            }
        }
    }
    assert!(strays.is_empty(), "{strays:#?}");
}

#[test]
fn every_reference_table_says_where_it_is_from() {
    let tables = tidy::files_below(&tidy::top().join("tests/reference"), "csv");
    assert!(!tables.is_empty(), "no reference tables");
    let mut strays = Vec::new();
    for path in tables {
        let text = std::fs::read_to_string(&path).expect("a table is readable text");
        let head: String = text.lines().take_while(|l| l.starts_with('#')).collect();
        let head = head.to_lowercase();
        for word in ["source", "grade"] {
            if !head.contains(word) {
                strays.push(format!("{}: no {word} in its head", path.display()));
            }
        }
    }
    assert!(strays.is_empty(), "{strays:#?}");
}

#[test]
fn nothing_names_the_machine_it_was_written_on() {
    // Spelt in parts, so that this file does not find itself.
    let banned = [["/work", "/"].concat(), ["/root", "/"].concat(), ["sha", "red/models"].concat()];
    let top = tidy::top();
    let mut strays = Vec::new();
    for ending in ["rs", "toml", "md", "css", "js", "csv", "py", "sh"] {
        for path in tidy::files_below(&top, ending) {
            let Ok(text) = std::fs::read_to_string(&path) else { continue };
            for word in &banned {
                if text.contains(word.as_str()) {
                    strays.push(format!("{}: {word}", path.display()));
                }
            }
        }
    }
    assert!(strays.is_empty(), "{strays:#?}");
}
