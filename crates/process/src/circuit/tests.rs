//! The circuit beside its reference, closed forms of the chain, and what it must refuse.

use super::passes::Chain;
use super::*;
use crate::still::{Constants, Until};

const RUNS: &str = include_str!("../../../../tests/reference/rayleigh_reference.csv");

fn cut(name: &str, until: Until) -> Cut {
    Cut { name: name.to_owned(), until }
}

fn from(streams: &[(&str, f64)]) -> Vec<Source> {
    let source =
        |(from, fraction): &(&str, f64)| Source { from: (*from).to_owned(), fraction: *fraction };
    streams.iter().map(source).collect()
}

fn still(name: &str, charge: &[(&str, f64)], cuts: Vec<Cut>) -> Place {
    Place { charge: from(charge), cuts, ..Place::named(name) }
}

fn wash() -> Charge {
    let congener = |key| (Congener::named(key).unwrap(), 1.0);
    Charge {
        wash: Wash { ethanol_mol: 13_700.0, water_mol: 514_000.0 },
        congeners: vec![congener("3_methyl_1_butanol"), congener("phenol")],
    }
}

fn double() -> Vessel {
    let low_wines = vec![cut("low_wines", Until::StrengthPct(1.0))];
    let spirit = vec![
        cut("foreshots", Until::ChargeFraction(0.01)),
        cut("heart", Until::StrengthPct(60.0)),
        cut("feints", Until::StrengthPct(1.0)),
    ];
    let charge = [("wash.low_wines", 1.0), ("spirit.foreshots", 1.0), ("spirit.feints", 1.0)];
    let stills = vec![still("wash", &[("wash", 1.0)], low_wines), still("spirit", &charge, spirit)];
    Vessel { stills, stocks: Vec::new() }
}

fn programme(cycles: f64) -> Programme {
    let turn = Turn { cycles, ..Turn::default() };
    Programme { turn, energy: false, product: "spirit.heart".to_owned() }
}

fn settled(vessel: &Vessel) -> Run {
    run(&wash(), vessel, &programme(0.0), &Constants::default()).unwrap()
}

/// Every row of the settled double distillation, at the table's own 1e-4 relative. One row, the
/// fusel alcohol left in the lees, is a millionth of what was charged and agrees likewise.
#[test]
fn the_reference_circuit_is_met() {
    let run = settled(&double());
    let (mut seen, mut worst) = (0, 0.0_f64);
    for line in RUNS.lines().filter_map(|line| line.strip_prefix("CD,")) {
        let row: Vec<&str> = line.split(',').collect();
        let wanted: f64 = row[1].parse().unwrap();
        let got = match row[0] {
            "mean_passes_incl_recycle" => run.passes_with_recycle,
            "mean_distinct_stills_no_recycle" => run.distinct_stills,
            "lpa_heart_per_lpa_wash" => run.product_per_wash_alcohol,
            "lpa_recycled_fraction_of_spirit_charge" => run.recycled_fraction[1].1,
            other => {
                let (name, quantity) = other.split_once('_').unwrap();
                let name = if name == "lees" { "residue" } else { name };
                let stream = run.stream(&format!("spirit.{name}")).unwrap();
                match quantity {
                    "volume20" => stream.moles.volume_20_l(),
                    "abv" => stream.moles.strength_pct(),
                    "nE" => stream.moles.ethanol_mol,
                    "3_methylbutanol" => stream.congeners[0].1,
                    "phenol" => stream.congeners[1].1,
                    other => panic!("{other}"),
                }
            }
        };
        let miss = (got / wanted - 1.0).abs();
        assert!(miss < 1e-4, "{}: {got}, wanted {wanted}", row[0]);
        worst = worst.max(miss);
        seen += 1;
    }
    println!("{seen} rows, worst {worst:e}, {} cycles, {:e} left", run.cycles, run.residual);
    assert_eq!(seen, 29);
    assert_eq!(run.balance.open(), vec![]);
}

/// Feints held and hearts made by the first eight cycles from empty: computed beside the
/// reference circuit, printed to 0.1 L of pure alcohol.
#[test]
fn a_season_begins_by_filling_the_feints_receiver() {
    let run = run(&wash(), &double(), &programme(8.0), &Constants::default()).unwrap();
    let receiver = [440.7, 587.7, 634.8, 650.0, 654.8, 656.4, 656.9, 657.0];
    let hearts = [352.7, 646.1, 745.7, 777.7, 787.9, 791.2, 792.3, 792.6];
    for (streams, (held, heart)) in run.history.iter().zip(receiver.into_iter().zip(hearts)) {
        let litres =
            |name: &str| streams.iter().find(|s| s.name == name).unwrap().moles.pure_alcohol_l();
        let got = litres("spirit.foreshots") + litres("spirit.feints");
        assert!((got - held).abs() < 0.06, "{got} {held}");
        let got = litres("spirit.heart");
        assert!((got - heart).abs() < 0.06, "{got} {heart}");
    }
    assert_eq!(run.history.len(), 8);
    assert_eq!(run.balance.open(), vec![]);
}

/// Closed forms of the chain: computed, m = e (I-P)⁻² s / e (I-P)⁻¹ s.
#[test]
fn passes_of_known_chains() {
    let two = Chain {
        entry: vec![1.0, 0.0],
        onward: vec![vec![0.0, 0.99], vec![0.0, 0.45]],
        made: vec![0.0, 0.545],
    };
    assert!((two.mean_passes(false) - 2.818182).abs() < 1e-6);
    assert!((two.mean_passes(true) - 2.0).abs() < 1e-12);
    let three = Chain {
        entry: vec![1.0, 0.0, 0.0],
        onward: vec![vec![0.0, 0.79, 0.20], vec![0.0, 0.0, 0.995], vec![0.0, 0.0, 0.30]],
        made: vec![0.0, 0.0, 0.695],
    };
    assert!((three.mean_passes(false) - 3.225742).abs() < 1e-6);
    assert!((three.mean_passes(true) - 2.797171).abs() < 1e-6);
}

#[test]
fn two_and_a_half_times_lies_between_two_and_three() {
    let mut vessel = double();
    let all = vec![cut("all", Until::StrengthPct(1.0))];
    vessel.stills.insert(1, still("middle", &[("wash.low_wines", 0.4)], all));
    vessel.stills[2].charge[0].fraction = 0.6;
    vessel.stills[2].charge.push(Source { from: "middle.all".to_owned(), fraction: 1.0 });
    let run = settled(&vessel);
    // Three less the share of alcohol that passes the middle still by, but for its small loss.
    assert!((run.distinct_stills - 2.4).abs() < 0.005, "{}", run.distinct_stills);
    assert_eq!(run.balance.open(), vec![]);
}

#[test]
fn with_energy_the_heads_send_alcohol_back_and_energy_closes() {
    let mut vessel = double();
    for (still, heat_w) in vessel.stills.iter_mut().zip([400e3, 250e3]) {
        still.hearth.heat_w = Some(heat_w);
        still.hearth.head_loss_w_k = 300.0;
    }
    let mut programme = programme(0.0);
    programme.energy = true;
    let run = run(&wash(), &vessel, &programme, &Constants::default()).unwrap();
    assert_eq!(run.balance.open(), vec![]);
    assert!(run.balance.total(crate::Matter::Energy, crate::balance::Side::Lost) > 0.0);
    let heart = |run: &Run| run.stream("spirit.heart").unwrap().moles.strength_pct();
    assert!(heart(&run) > heart(&settled(&double())));
}

#[test]
fn a_stock_may_take_what_does_not_go_round() {
    let mut vessel = double();
    vessel.stills[1].charge[2].fraction = 0.9;
    let refused = run(&wash(), &vessel, &programme(0.0), &Constants::default());
    let fault = refused.expect_err("a tenth goes nowhere");
    assert_eq!(fault.field(), Some("still[1].charge[2].fraction"), "{fault}");
    let source = Source { from: "spirit.feints".to_owned(), fraction: 0.1 };
    vessel.stocks.push(Stock { name: "old feints".to_owned(), source });
    assert_eq!(settled(&vessel).balance.open(), vec![]);
}

#[test]
fn what_is_not_there_is_refused_by_name() {
    let fault = |vessel: &Vessel, programme: &Programme| {
        run(&wash(), vessel, programme, &Constants::default()).expect_err("a refusal")
    };
    let mut vessel = double();
    vessel.stills[1].charge[1].from = "spirit.forshots".to_owned();
    assert_eq!(fault(&vessel, &programme(0.0)).field(), Some("still[1].charge[1].from"));
    let mut none = programme(0.0);
    none.product = "heart".to_owned();
    assert_eq!(fault(&double(), &none).field(), Some("product"));
    let mut warm = programme(0.0);
    warm.energy = true;
    assert_eq!(fault(&double(), &warm).field(), Some("still[0].heat_w"));
    let mut twice = double();
    twice.stills[1].name = "wash".to_owned();
    assert_eq!(fault(&twice, &programme(0.0)).field(), Some("still[1].name"));
    let mut nan = double();
    nan.stills[0].charge[0].fraction = f64::NAN;
    assert_eq!(fault(&nan, &programme(0.0)).field(), Some("still[0].charge[0].fraction"));
}
