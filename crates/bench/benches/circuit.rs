//! The partial triple circuit settled to 1e-8; and a season of three hundred cycles from empty
//! receivers through two changes of make to its close, without and with fires and heads.

use gauge::Node;
use process::{circuit, stage};

fn main() {
    let face = stage::face::<circuit::Circuit>();
    let settled = case_of(face.example);
    let settle = || (face.run)(&settled).expect("the example of the circuit");
    let what = "circuit: three stills settled to 1e-8, from its case";
    bench::report(what, bench::seconds(settle), Some(15e-3), None);

    let case = case_of(&season(face.example));
    let run = || (face.run)(&case).expect("a season of the same stills");
    let what = "circuit: a season of 300 cycles and its close";
    bench::report(what, bench::seconds(run), Some(1.0), None);

    let case = case_of(&with_fires(&season(face.example)));
    let run = || (face.run)(&case).expect("the same with fires");
    let what = "circuit: the same with fires, heads and time";
    bench::report(what, bench::seconds(run), Some(1.0), None);
}

/// The example over three phases of a hundred cycles.
fn season(example: &str) -> String {
    let phase =
        |name: &str, more: &str| format!("\n[[phase]]\nname = \"{name}\"\ncycles = 100\n{more}");
    let changed = "change_h = 48.0\ntransition_runs = 2\nfeints = \"worked_off\"\n";
    let phases = [phase("pale", ""), phase("ember", changed), phase("pale", changed)].concat();
    let example = example.replace("cycles = 0\n", "close = true\n");
    let least = "name = \"spirit\"\nleast_charge_20_l = 500.0\n";
    example.replace("name = \"spirit\"\n", least) + &phases
}

fn with_fires(case: &str) -> String {
    let fire = "heat_w = 250000.0\nhead_loss_w_k = 200.0\n";
    let lit = case.replace("[[still]]\n", &format!("[[still]]\n{fire}"));
    lit.replace("energy = false", "energy = true")
}

/// A case as the tree a stage reads.
fn case_of(text: &str) -> Node {
    let table: toml::Table = text.parse().expect("an example is TOML");
    node(toml::Value::Table(table))
}

fn node(value: toml::Value) -> Node {
    match value {
        toml::Value::Float(v) => Node::Number(v),
        toml::Value::Integer(v) => Node::Number(v as f64),
        toml::Value::Boolean(v) => Node::Flag(v),
        toml::Value::String(v) => Node::Text(v),
        toml::Value::Datetime(v) => Node::Text(v.to_string()),
        toml::Value::Array(items) => Node::List(items.into_iter().map(node).collect()),
        toml::Value::Table(table) => Node::part(table.into_iter().map(|(k, v)| (k, node(v)))),
    }
}
