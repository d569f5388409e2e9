//! A spirit run with a partial condenser and all twenty congeners, beside scipy's DOP853 on the
//! same equations over time (the peer with its four congeners only, which favours it); strengths,
//! litres of alcohol and the end of the heart of both are held against each other. Then the
//! settled circuit of two stills, alone.

use process::still::{
    CONGENERS, Charge, Conditions, Constants, Cut, Moles, Programme, Until, Vessel, run,
};
use process::{circuit, stage};

fn main() {
    let mut charge = Charge::of_moles(Moles { ethanol_mol: 33_500.0, water_mol: 284_000.0 });
    charge.congeners = CONGENERS.iter().map(|congener| (congener, 1.0)).collect();
    let vessel = Vessel { head_loss_w_k: 600.0, ..Vessel::default() };
    let cut = |name: &str, until| Cut { name: name.to_owned(), until };
    let programme = Programme {
        conditions: Conditions { heat_w: Some(250e3), ..Conditions::default() },
        heat: Vec::new(),
        cuts: vec![
            cut("foreshots", Until::TimeS(1200.0)),
            cut("heart", Until::StrengthPct(62.0)),
            cut("feints", Until::StrengthPct(1.0)),
        ],
    };
    let constants = Constants::default();
    let spirit = || run(&charge, &vessel, &programme, &constants).expect("a customary spirit run");
    let once = spirit();
    let answers: Vec<f64> = [
        once.start.distillate_strength_pct,
        once.cuts[1].end_s,
        once.cuts[1].distillate.pure_alcohol_l(),
        once.cuts[1].distillate.strength_pct(),
        once.cuts[2].end_s,
    ]
    .to_vec();
    let ours = bench::seconds(spirit);
    let peer = bench::peer("still");
    let against = peer.as_ref().map(|p| (p, answers.as_slice()));
    bench::report("still: a spirit run with reflux and 20 congeners", ours, Some(3e-3), against);

    let face = stage::face::<circuit::Circuit>();
    let case = case_of(face.example);
    let settle = || (face.run)(&case).expect("the example of the circuit");
    let what = "circuit: three stills settled, from its case";
    bench::report(what, bench::seconds(settle), None, None);
}

/// An example case as the tree a stage reads.
fn case_of(text: &str) -> gauge::Node {
    let table: toml::Table = text.parse().expect("an example is TOML");
    node(toml::Value::Table(table))
}

fn node(value: toml::Value) -> gauge::Node {
    use gauge::Node;
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
