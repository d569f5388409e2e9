//! A whole mash: striking heat, four waters on the bed, the conversion along the bed's temperature
//! and that of the laboratory's mash, sugars and balances. Beside it the conversion alone of one
//! hour at 64 °C, and scipy's implicit solver on the same slopes.

use process::{Stage, conversion, mash};

fn example() -> mash::Case {
    let table: toml::Table = mash::Mash::EXAMPLE.parse().expect("the example is TOML");
    let node = node(toml::Value::Table(table));
    let mut reader = gauge::Reader::new(&node);
    let case = mash::Mash::read(&mut reader);
    reader.finish(case).expect("the example is sound")
}

fn node(value: toml::Value) -> gauge::Node {
    match value {
        toml::Value::Float(v) => gauge::Node::Number(v),
        toml::Value::Integer(v) => gauge::Node::Number(v as f64),
        toml::Value::Boolean(v) => gauge::Node::Flag(v),
        toml::Value::String(v) => gauge::Node::Text(v),
        toml::Value::Datetime(v) => gauge::Node::Text(v.to_string()),
        toml::Value::Array(items) => gauge::Node::List(items.into_iter().map(node).collect()),
        toml::Value::Table(t) => gauge::Node::part(t.into_iter().map(|(k, v)| (k, node(v)))),
    }
}

fn main() {
    let case = example();
    let whole = || {
        mash::run(&case.charge, &case.vessel, &case.programme, &case.constants)
            .expect("a customary mash runs")
    };
    bench::report("mash: four waters", bench::seconds(whole), Some(5e-3), None);

    let knot = |at_min| conversion::Knot { at_min, temperature_c: 64.0 };
    let programme =
        conversion::Programme { temperature: vec![knot(0.0), knot(60.0)], every_min: 5.0 };
    let charge = conversion::Charge::default();
    let constants = conversion::Constants::default();
    let hour = || {
        conversion::run(&charge, &conversion::Vessel {}, &programme, &constants)
            .expect("an hour at 64 °C runs")
    };
    let end = hour().end;
    let answers =
        [end.dextrin, end.glucose, end.maltose, end.maltotriose, end.enzyme_alpha, end.enzyme_beta];
    let ours = bench::seconds(hour);
    let peer = bench::peer("conversion");
    let against = peer.as_ref().map(|p| (p, answers.as_slice()));
    bench::report("conversion: one hour at 64 °C", ours, Some(1e-3), against);
}
