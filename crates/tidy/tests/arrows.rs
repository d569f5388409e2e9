//! Arrows between rooms: a room may lean only on those written here, which are those of
//! ARCHITECTURE.md. Dependencies for tests alone are free.

use std::collections::BTreeMap;

const ROOMS: [(&str, &[&str]); 16] = [
    ("numeric", &[]),
    ("gauge", &["numeric"]),
    ("process", &["numeric", "gauge"]),
    ("house", &["gauge", "process"]),
    ("forecast", &["numeric", "gauge", "process", "house"]),
    ("plan", &["numeric", "gauge", "house", "forecast"]),
    ("book", &["numeric", "gauge", "house"]),
    ("sheets", &["gauge"]),
    ("quernholm", &["numeric", "gauge", "process", "house", "forecast", "plan", "book", "sheets"]),
    (
        "web",
        &[
            "numeric",
            "gauge",
            "process",
            "house",
            "forecast",
            "plan",
            "book",
            "sheets",
            "quernholm",
        ],
    ),
    (
        "cli",
        &[
            "numeric",
            "gauge",
            "process",
            "house",
            "forecast",
            "plan",
            "book",
            "sheets",
            "quernholm",
            "web",
        ],
    ),
    ("checks", &[]),
    ("tidy", &[]),
    ("bench", &["numeric", "gauge", "process", "house", "forecast", "plan", "book", "quernholm"]),
    ("face-tests", &["gauge"]),
    ("fuzz", &["gauge", "house", "book"]),
];

/// Rooms that may write a thing in an outside format. Everything else hands over plain structs.
const MAY_SERIALIZE: [&str; 5] = ["web", "cli", "book", "tidy", "face-tests"];

fn manifests() -> BTreeMap<String, toml::Table> {
    let crates = tidy::top().join("crates");
    let mut out = BTreeMap::new();
    for path in tidy::files_below(&crates, "toml") {
        if path.file_name().is_some_and(|n| n == "Cargo.toml") {
            let text = std::fs::read_to_string(&path).expect("a manifest is readable");
            let table: toml::Table = text.parse().expect("cargo takes it, so it parses");
            let name = table["package"]["name"].as_str().expect("a package has a name").to_owned();
            out.insert(name, table);
        }
    }
    out
}

fn leans_on(manifest: &toml::Table) -> Vec<String> {
    manifest
        .get("dependencies")
        .and_then(toml::Value::as_table)
        .map(|t| t.keys().cloned().collect())
        .unwrap_or_default()
}

#[test]
fn every_arrow_is_written_down() {
    let allowed: BTreeMap<_, _> = ROOMS.into_iter().collect();
    let mut strays = Vec::new();
    for (room, manifest) in manifests() {
        let Some(may) = allowed.get(room.as_str()) else {
            strays.push(format!("{room} is a room without arrows written down"));
            continue;
        };
        for other in leans_on(&manifest) {
            if allowed.contains_key(other.as_str()) && !may.contains(&other.as_str()) {
                strays.push(format!("{room} leans on {other}"));
            }
        }
    }
    assert!(strays.is_empty(), "{strays:#?}");
}

#[test]
fn only_the_edges_serialize() {
    let strays: Vec<String> = manifests()
        .into_iter()
        .filter(|(room, _)| !MAY_SERIALIZE.contains(&room.as_str()))
        .filter(|(_, m)| leans_on(m).iter().any(|d| d == "serde" || d == "serde_json"))
        .map(|(room, _)| room)
        .collect();
    assert!(strays.is_empty(), "{strays:?} lean on serde");
}

#[test]
fn a_room_below_the_faces_reads_no_clock_and_prints_nothing() {
    const SILENT: [&str; 9] =
        ["numeric", "gauge", "process", "house", "forecast", "plan", "book", "sheets", "quernholm"];
    const BANNED: [&str; 9] = [
        "SystemTime::now",
        "Timestamp::now",
        "Zoned::now",
        "Instant::now",
        "env::var",
        "home_dir",
        "println!",
        "eprintln!",
        "print!(",
    ];
    let mut strays = Vec::new();
    for source in tidy::sources() {
        if !SILENT.contains(&source.room.as_str()) || source.is_test() {
            continue;
        }
        for word in BANNED {
            for (n, line) in source.product().lines().enumerate() {
                if line.contains(word) && !line.trim_start().starts_with("//") {
                    strays.push(format!("{}:{}: {word}", source.path, n + 1));
                }
            }
        }
    }
    assert!(strays.is_empty(), "{strays:#?}");
}
