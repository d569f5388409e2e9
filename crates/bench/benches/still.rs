//! A spirit run with a partial condenser and all twenty congeners, beside scipy's DOP853 on the
//! same equations over time (the peer with its four congeners only, which favours it); strengths,
//! litres of alcohol and the end of the heart of both are held against each other. Then the same
//! run kept, and cut again: what a mark that is moved on the page costs.

use process::still::{
    CONGENERS, Charge, Conditions, Constants, Cut, Moles, Programme, Trace, Until, Vessel, run,
};

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

    let trace = Trace::of(&charge, &vessel, &programme, &constants).expect("the same run");
    let mut ends = (40..72).cycle();
    let again = || {
        let mut cuts = programme.cuts.clone();
        let end = ends.next().unwrap_or(62);
        cuts[1].until = Until::StrengthPct(f64::from(end));
        trace.read(&cuts).expect("a heart that ends above the feints")
    };
    let what = "still: three cuts of a kept run read again, the heart's end moved";
    bench::report(what, bench::seconds(again), Some(1e-4), None);
}
