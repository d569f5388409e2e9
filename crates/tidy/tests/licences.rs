//! Licences of everything that is built in, and that all of it comes from a registry and is pinned.

use serde_json::Value;
use std::collections::BTreeSet;
use std::process::Command;

/// Licences that go with MIT OR Apache-2.0 in a binary.
const TAKEN: [&str; 14] = [
    "MIT",
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "ISC",
    "Zlib",
    "Unicode-3.0",
    "CC0-1.0",
    "0BSD",
    "BSL-1.0",
    "Unlicense",
    "MIT-0",
    "bzip2-1.0.6",
];

fn metadata() -> Value {
    let out = Command::new(env!("CARGO"))
        .args(["metadata", "--format-version", "1", "--locked"])
        .current_dir(tidy::top())
        .output()
        .expect("cargo is what runs this test");
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    serde_json::from_slice(&out.stdout).expect("cargo prints JSON")
}

/// Whether one of the choices that an SPDX expression offers is taken.
fn is_taken(expression: &str) -> bool {
    let plain = expression.replace(['(', ')'], " ").replace('/', " OR ");
    plain.split(" OR ").any(|choice| choice.split(" AND ").all(|l| TAKEN.contains(&l.trim())))
}

#[test]
fn every_licence_goes_with_ours() {
    let metadata = metadata();
    let mut strays = BTreeSet::new();
    for package in metadata["packages"].as_array().expect("a list of packages") {
        let name = package["name"].as_str().unwrap_or_default();
        match package["license"].as_str() {
            Some(licence) if is_taken(licence) => {}
            Some(licence) => {
                strays.insert(format!("{name}: {licence}"));
            }
            None => {
                strays.insert(format!("{name}: no licence"));
            }
        }
    }
    assert!(strays.is_empty(), "{strays:#?}");
}

#[test]
fn everything_comes_from_the_registry_and_is_pinned() {
    let text = std::fs::read_to_string(tidy::top().join("Cargo.lock")).expect("a lock file");
    let lock: toml::Table = text.parse().expect("cargo wrote it");
    for package in lock["package"].as_array().expect("a list of packages") {
        let name = package["name"].as_str().unwrap_or_default();
        // Our own rooms have no source; everything else has one and a checksum.
        if let Some(source) = package.get("source").and_then(toml::Value::as_str) {
            assert!(source.starts_with("registry+"), "{name} comes from {source}");
            assert!(package.get("checksum").is_some(), "{name} has no checksum");
        }
    }
}
