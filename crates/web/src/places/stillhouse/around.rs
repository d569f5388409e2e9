//! The circuit as a picture: who charges whom, and what goes round.

use super::circuit::still_name;
use crate::app::Working;
use crate::chart::{Flow, Node, Stream};
use forecast::stillhouse::circuit::{self, LEES, POT_ALE, SPIRIT, Settled, WASH};
use sheets::figure;

/// The circuit as a picture: a pass that takes returns has its charge before it.
pub(super) fn flow(open: &Working, now: &Settled, mashes: f64) -> Flow {
    let litres = |l: f64| figure::fixed(l * mashes, 0);
    let mut nodes = Vec::new();
    let mut streams: Vec<Stream> = Vec::new();
    let wash = now.stream("wash").map_or(0.0, circuit::Stream::pure_alcohol_l);
    let node = |key: &str, name: &str, l: f64| Node {
        key: key.to_owned(),
        name: name.to_owned(),
        figure: litres(l),
        says: Vec::new(),
    };
    nodes.push(node(WASH, "washes", wash));
    let of_wash = |pass: &str| now.flows.iter().any(|f| f.to == pass && f.from == WASH);
    let entry = |pass: &str| if of_wash(pass) { pass.to_owned() } else { format!("{pass} charge") };
    for pass in &now.passes {
        let charge = now.stream(&format!("{}.charge", pass.pass));
        let charge_l = charge.map_or(0.0, circuit::Stream::pure_alcohol_l);
        if !of_wash(&pass.pass) {
            let key = entry(&pass.pass);
            nodes.push(node(&key, "charge", charge_l));
            streams.push(Stream {
                from: key,
                to: pass.pass.clone(),
                amount: charge_l * mashes,
                ..Stream::default()
            });
        }
        let mut still = node(&pass.pass, &crate::form::lower(&still_name(open, pass)), 0.0);
        still.figure.clear();
        for flow in now.flows.iter().filter(|f| f.from == pass.pass) {
            if [POT_ALE, LEES].contains(&flow.to.as_str()) {
                still.says.push(format!("{} {}", flow.to, litres(flow.pure_alcohol_l)));
            }
        }
        nodes.push(still);
    }
    for flow in &now.flows {
        if [POT_ALE, LEES].contains(&flow.to.as_str()) {
            continue;
        }
        let to = if flow.to == SPIRIT { SPIRIT.to_owned() } else { entry(&flow.to) };
        let amount = flow.pure_alcohol_l * mashes;
        let alike = streams
            .iter_mut()
            .find(|s| s.from == flow.from && s.to == to && s.returns == flow.returns);
        match alike {
            Some(alike) => alike.amount += amount,
            None => streams.push(Stream {
                from: flow.from.clone(),
                to,
                amount,
                returns: flow.returns,
                ..Stream::default()
            }),
        }
    }
    label(&mut streams, now, mashes);
    let spirit = now.spirit().map_or(0.0, circuit::Stream::pure_alcohol_l);
    nodes.push(node(SPIRIT, "new spirit", spirit));
    Flow {
        says: format!(
            "A week in pure alcohol: washes {} litres, new spirit {}; foreshots and feints go \
             back to the charge they came of",
            litres(wash),
            litres(spirit)
        ),
        nodes,
        streams,
    }
}

/// What is written on the streams: what skips, what goes back and how much of it stands.
fn label(streams: &mut [Stream], now: &Settled, mashes: f64) {
    let held = figure::fixed(now.feints_held.pure_alcohol_l(), 0);
    let first = now.passes.first().map_or("", |pass| pass.pass.as_str()).to_owned();
    for stream in streams.iter_mut() {
        let litres = figure::fixed(stream.amount, 0);
        if stream.returns {
            stream.label = format!("feints back {litres}");
            stream.stock = Some(format!("{held} stand"));
        } else if let Some(skip) = now.skip
            && stream.from == first
            && mashes > 0.0
        {
            // Of the streams of low wines the one that skips goes to the last charge.
            let last = now.passes.last().map_or("", |pass| pass.pass.as_str());
            stream.label = if stream.to.starts_with(last) {
                format!("{}\u{202f}% skips, {litres}", figure::fixed(100.0 * skip, 0))
            } else {
                format!("low wines {litres}")
            };
        } else if stream.from == first {
            stream.label = format!("low wines {litres}");
        }
    }
}
