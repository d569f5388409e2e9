//! The cases that the outside relies on, as they are written there, with no further keys.

use gauge::Node;
use process::{Report, faces};

fn node(value: toml::Value) -> Node {
    match value {
        toml::Value::Float(v) => Node::Number(v),
        toml::Value::Integer(v) => Node::Number(v as f64),
        toml::Value::Boolean(v) => Node::Flag(v),
        toml::Value::String(v) => Node::Text(v),
        toml::Value::Datetime(v) => Node::Text(v.to_string()),
        toml::Value::Array(items) => Node::List(items.into_iter().map(node).collect()),
        toml::Value::Table(t) => Node::part(t.into_iter().map(|(k, v)| (k, node(v)))),
    }
}

fn run(key: &str, case: &str) -> Report {
    let table: toml::Table = case.parse().expect("the case is TOML");
    let face = faces().into_iter().find(|f| f.key == key).expect("a stage");
    (face.run)(&node(toml::Value::Table(table))).unwrap_or_else(|faults| panic!("{faults:?}"))
}

const CONVERSION: &str = "
enzyme_alpha = 1.0
enzyme_beta = 1.0
every_min = 5.0
[[temperature]]
at_min = 0.0
temperature_c = 64.0
[[temperature]]
at_min = 60.0
temperature_c = 64.0
";

#[test]
fn conversion_has_exactly_its_columns_every_five_minutes() {
    let curves = run("conversion", CONVERSION).curves;
    let keys: Vec<&str> = curves.columns.iter().map(|c| c.key.as_str()).collect();
    let wanted = [
        "time_min",
        "temperature_c",
        "starch",
        "dextrin",
        "glucose",
        "maltose",
        "maltotriose",
        "enzyme_alpha",
        "enzyme_beta",
    ];
    assert_eq!(keys, wanted);
    let times: Vec<f64> = (0..=12).map(|i| 5.0 * f64::from(i)).collect();
    assert_eq!(curves.get("time_min"), Some(times.as_slice()));
    let starch = curves.get("starch").expect("a column");
    assert!((starch[0] - 100.0).abs() < 1e-12 && starch[12] < 1e-5);
}

const FERMENT: &str = "
[wort]
glucose_kg_m3 = 11.0
maltose_kg_m3 = 76.0
maltotriose_kg_m3 = 20.0
dextrin_kg_m3 = 18.0
residual_kg_m3 = 18.0
[yeast]
dry_kg_m3 = 1.10
active_fraction = 0.3
bacteria_kg_m3 = 0.002
[washback]
set_c = 19.0
room_c = 12.0
heat_loss_kj_m3_h_k = 14.4
pressure_pa = 101325.0
ph = 5.45
hours = 120.0
every_h = 6.0
";

#[test]
fn ferment_has_at_least_its_columns_every_six_hours() {
    let report = run("ferment", FERMENT);
    let curves = &report.curves;
    for key in [
        "time_h",
        "temperature_c",
        "gravity",
        "gravity_reference",
        "ethanol_kg_m3",
        "alcohol_pct",
        "glucose_kg_m3",
        "maltose_kg_m3",
        "maltotriose_kg_m3",
        "dextrin_kg_m3",
        "residual_kg_m3",
        "yeast_active_kg_m3",
        "yeast_dead_kg_m3",
        "carbon_dioxide_kg_m3",
        "lactic_kg_m3",
        "ethanol_lost_kg_m3",
        "ph",
    ] {
        assert!(curves.get(key).is_some(), "no {key}");
    }
    let times: Vec<f64> = (0..=20).map(|i| 6.0 * f64::from(i)).collect();
    assert_eq!(curves.get("time_h"), Some(times.as_slice()));
    // A cubic metre unless told otherwise.
    let litres = report.result.at("volume_20_l").and_then(Node::number).expect("a figure");
    assert!((litres - 1000.0).abs() < 2.0, "{litres}");
}
