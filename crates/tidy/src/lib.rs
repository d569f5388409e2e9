//! The house style, held by tests: reads the sources of every room as text and as syntax, and
//! says where they stray. It checks files, never behaviour.

use std::path::{Path, PathBuf};

pub mod measure;

/// One Rust source of a room.
#[derive(Debug)]
pub struct Source {
    /// The room it belongs to.
    pub room: String,
    /// Path from the top of the repository, with `/`.
    pub path: String,
    /// Its text.
    pub text: String,
}

impl Source {
    /// Whether it is a test, by where it lies.
    pub fn is_test(&self) -> bool {
        self.path.contains("/tests/")
            || self.path.ends_with("/tests.rs")
            || self.path.ends_with("_tests.rs")
            || self.path.contains("/benches/")
    }
    /// Its text without the `#[cfg(test)]` module at its end.
    pub fn product(&self) -> &str {
        self.text.split("\n#[cfg(test)]\nmod ").next().unwrap_or(&self.text)
    }
}

/// The top of the repository.
pub fn top() -> PathBuf {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.ancestors().nth(2).expect("this crate lies two folders below the top").to_path_buf()
}

/// Every Rust source of every room.
pub fn sources() -> Vec<Source> {
    let top = top();
    let mut out = Vec::new();
    for path in files_below(&top.join("crates"), "rs") {
        let below = path.strip_prefix(&top).expect("found below the top");
        let path_text = below.to_string_lossy().replace('\\', "/");
        let room = path_text.split('/').nth(1).unwrap_or_default().to_owned();
        let text = std::fs::read_to_string(&path).expect("a source is readable text");
        out.push(Source { room, path: path_text, text });
    }
    out
}

/// Every file below `folder` whose name ends in `.ending`, in order of path.
pub fn files_below(folder: &Path, ending: &str) -> Vec<PathBuf> {
    let mut out = Vec::new();
    let mut left = vec![folder.to_path_buf()];
    while let Some(folder) = left.pop() {
        let Ok(entries) = std::fs::read_dir(&folder) else { continue };
        for entry in entries.flatten() {
            let path = entry.path();
            if path.is_dir() {
                if path.file_name().is_some_and(|n| n != "target") {
                    left.push(path);
                }
            } else if path.extension().is_some_and(|e| e == ending) {
                out.push(path);
            }
        }
    }
    out.sort();
    out
}
