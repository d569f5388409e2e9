//! The circuit beside its reference, closed forms of the chain, and what it must refuse.

use super::passes::Chain;
use super::*;
use crate::still::{Constants, Until};
use gauge::Fault;

const RUNS: &str = include_str!("../../../../tests/reference/rayleigh_reference.csv");

pub(super) fn cut(name: &str, until: Until) -> Cut {
    Cut { name: name.to_owned(), until }
}

fn from(streams: &[(&str, f64)]) -> Vec<Source> {
    let source =
        |(from, fraction): &(&str, f64)| Source { from: (*from).to_owned(), fraction: *fraction };
    streams.iter().map(source).collect()
}

pub(super) fn still(name: &str, charge: &[(&str, f64)], cuts: Vec<Cut>) -> Place {
    Place { charge: from(charge), cuts, ..Place::named(name) }
}

pub(super) fn wash() -> Charge {
    let congener = |key| (Congener::named(key).unwrap(), 1.0);
    Charge {
        wash: Wash { ethanol_mol: 13_700.0, water_mol: 514_000.0 },
        congeners: vec![congener("3_methyl_1_butanol"), congener("phenol")],
    }
}

pub(super) fn double() -> Vessel {
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

pub(super) fn programme(cycles: f64) -> Programme {
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
    for (stands, held) in run.receivers.iter().zip(receiver) {
        let sum: f64 = stands.iter().map(|stream| stream.moles.pure_alcohol_l()).sum();
        assert!((sum - held).abs() < 0.06, "{sum} {held}");
    }
    assert_eq!(run.receivers.len(), 8);
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

fn refusal(vessel: &Vessel) -> Fault {
    run(&wash(), vessel, &programme(0.0), &Constants::default()).expect_err("a refusal")
}

#[test]
fn a_route_that_never_returns_its_feints_is_told_what_would_work() {
    let mut vessel = double();
    let _ = vessel.stills[1].charge.pop();
    let fault = refusal(&vessel);
    assert_eq!(fault.field(), Some("still[1].cut[2]"));
    let says = fault.to_string();
    assert!(says.contains("spirit.feints goes nowhere"), "{says}");
    assert!(says.contains("{ from = \"spirit.feints\" }") && says.contains("[[stock]]"), "{says}");
    // Either remedy works.
    let source = Source { from: "spirit.feints".to_owned(), fraction: 1.0 };
    vessel.stocks.push(Stock { name: "feints sold".to_owned(), source });
    let run = settled(&vessel);
    assert_eq!(run.balance.open(), vec![]);
    assert!(run.balance.lines.iter().any(|line| line.name == "feints sold"));
    assert!(run.balance.lines.iter().any(|line| line.name == "spirit.heart"));
}

#[test]
fn a_still_that_no_wash_comes_to_is_named() {
    let mut vessel = double();
    let charge = from(&[("odd.heads", 1.0)]);
    let cuts = vec![cut("heads", Until::StrengthPct(40.0))];
    vessel.stills.push(Place { charge, cuts, ..Place::named("odd") });
    let fault = refusal(&vessel);
    assert_eq!(fault.field(), Some("still[2].charge"));
    let says = fault.to_string();
    assert!(says.contains("no wash ever comes to odd"), "{says}");
    assert!(says.contains("\"wash.low_wines\"") && !says.contains("odd.heads\""), "{says}");
}

#[test]
fn a_circuit_from_which_too_little_leaves_is_told_in_words() {
    for mark in [60.0, 76.0, 82.0, 84.0, 86.0, 88.0, 90.0, 94.0] {
        let mut vessel = double();
        vessel.stills[1].cuts[1].until = Until::StrengthPct(mark);
        match run(&wash(), &vessel, &programme(0.0), &Constants::default()) {
            Ok(run) => {
                let returns = run.recycled_fraction[1].1;
                assert!(mark < 85.0, "{mark} settles at {returns}");
                let warned = run.warnings.iter().any(|w| w.code == "much returns");
                assert_eq!(warned, returns > 0.9, "{mark}: {returns}");
            }
            Err(fault) => {
                let says = fault.to_string();
                assert!(says.contains("more than 20 washes"), "{mark}: {says}");
                assert!(says.contains(&format!("run lower than {mark} % vol")), "{says}");
                assert_eq!(fault.field(), Some("still[1].cut[1].until_strength_pct"));
                assert!(mark > 85.0, "{mark}: {says}");
            }
        }
    }
}

#[test]
fn shares_over_one_are_refused() {
    let mut vessel = double();
    vessel.stills[1].charge.push(Source { from: "wash.low_wines".to_owned(), fraction: 0.2 });
    let says = refusal(&vessel).to_string();
    assert!(says.contains("is 1.2; at most 1") && says.contains("wash.low_wines"), "{says}");
}

/// A middle still and a usual charge for each: whole charges come back to the stock they began
/// with, and until then alcohol in = spirit + what is left in the pots + what stands over.
#[test]
fn whole_charges_carry_their_remainders_as_stock() {
    let mut vessel = double();
    let all = vec![cut("all", Until::StrengthPct(1.0))];
    vessel.stills.insert(1, still("middle", &[("wash.low_wines", 0.4)], all));
    vessel.stills[2].charge[0].fraction = 0.6;
    vessel.stills[2].charge.push(Source { from: "middle.all".to_owned(), fraction: 1.0 });
    vessel.stills[1].hearth.charge_20_l = Some(2300.0);
    vessel.stills[2].hearth.charge_20_l = Some(3100.0);
    let run = settled(&vessel);
    for slack in [0.02, 0.0] {
        let week = Week { washes: 7.0, slack, ..Week::default() };
        let weekly = weekly(&run, &vessel, "spirit.heart", &week).expect("a settled circuit");
        assert_eq!(weekly.period_weeks.is_some(), slack > 0.0);
        let litres = |name: &str| run.stream(name).expect("a stream").moles.pure_alcohol_l();
        let weeks = weekly.period_weeks.unwrap_or(26);
        let mut made = [0_u32; 3];
        for (number, end) in weekly.weeks.iter().enumerate() {
            for (sum, (_, charges)) in made.iter_mut().zip(&end.charges) {
                *sum += charges;
            }
            let washes = 7.0 * (number + 1) as f64;
            // A cycle's worth of a still is its whole charges over those it makes of a cycle.
            let worth = |at: usize| {
                let still = &weekly.stills[at];
                let a_week = if slack > 0.0 {
                    f64::from(still.whole) / f64::from(weeks)
                } else {
                    still.charges_a_week
                };
                f64::from(made[at]) * 7.0 / a_week
            };
            let charged = washes * run.wash.pure_alcohol_l();
            let left = worth(0) * litres("wash.residue")
                + worth(1) * litres("middle.residue")
                + worth(2) * (litres("spirit.residue") + litres("spirit.heart"));
            let stands: f64 = end.over.iter().map(|over| over.moles.pure_alcohol_l()).sum();
            let gap = (charged - left - stands) / charged;
            assert!(gap.abs() < 1e-7, "week {}: {gap:e}", end.week);
            assert!(end.over.iter().all(|over| over.moles.ethanol_mol > 0.0));
            let least = end.charges[2].1;
            assert!((9..=15).contains(&least), "{least}");
        }
        if slack > 0.0 {
            assert!(weekly.weeks.last().expect("a week").over.is_empty());
            for still in &weekly.stills[1..] {
                let usual = if still.still == "middle" { 2300.0 } else { 3100.0 };
                assert!((still.charge_20_l / usual - 1.0).abs() <= slack);
            }
        }
    }
}

/// A charge above its ceiling: water is proposed, or added, counted, and the circuit still closes.
#[test]
fn a_strong_charge_is_brought_down_with_water_that_is_counted() {
    let mut vessel = double();
    vessel.stills[1].hearth.charge_ceiling_pct = Some(22.0);
    let plain = settled(&vessel);
    let proposed = &plain.dilutions[0];
    assert!(!proposed.added && (proposed.strength_pct - 23.996).abs() < 0.001);
    assert!(plain.warnings[0].says.contains("would bring it down"), "{:?}", plain.warnings);
    // The same alcohol in more litres, and fewer of them than charge and water together.
    let charge = plain.stream("spirit.charge").expect("a charge").moles;
    let weaker_l = charge.pure_alcohol_l() / 0.22;
    assert!((proposed.charge_20_l / weaker_l - 1.0).abs() < 1e-6, "{}", proposed.charge_20_l);
    vessel.stills[1].dilute = true;
    let weak = settled(&vessel);
    let added = &weak.dilutions[0];
    let charge = weak.stream("spirit.charge").expect("a charge").moles;
    assert!(added.added && (charge.strength_pct() - 22.0).abs() < 1e-6);
    assert!((charge.volume_20_l() / added.charge_20_l - 1.0).abs() < 1e-6);
    assert_eq!(weak.balance.open(), vec![]);
    assert!(weak.balance.lines.iter().any(|line| line.name == "water to spirit"));
}

/// Fire by steps, copper, a worm to be washed and the temperature of the charge, as `run still`
/// takes them.
#[test]
fn a_still_of_the_circuit_takes_what_a_still_alone_takes() {
    use crate::still::{Charge as Filled, Conditions, HeatStep, Programme as Alone};
    let mut vessel = double();
    let steps = vec![
        HeatStep { from_s: 0.0, heat_w: 200e3, steam_kg_s: 0.0, place: Some(0) },
        HeatStep { from_s: 9000.0, heat_w: 320e3, steam_kg_s: 0.0, place: Some(1) },
    ];
    for still in &mut vessel.stills {
        still.heat.clone_from(&steps);
        still.hearth.head_loss_w_k = 250.0;
        still.hearth.copper_kg = 2000.0;
        still.hearth.temperature_c = Some(25.0);
    }
    let mut asked = programme(0.0);
    asked.energy = true;
    let run = run(&wash(), &vessel, &asked, &Constants::default()).expect("it settles");
    assert_eq!(run.balance.open(), vec![]);
    let charge = run.stream("spirit.charge").expect("a charge").moles;
    let mut filled = Filled::of_moles(charge);
    filled.filling.temperature_c = Some(25.0);
    let alone = crate::still::run(
        &filled,
        &crate::still::Vessel {
            head_loss_w_k: 250.0,
            copper_kg: 2000.0,
            ..crate::still::Vessel::default()
        },
        &Alone {
            conditions: Conditions::default(),
            heat: steps,
            cuts: vessel.stills[1].cuts.clone(),
        },
        &Constants::default(),
    )
    .expect("the same still alone");
    let work = &run.work[1];
    let hours = |s: f64| s / 3600.0;
    assert!((work.run_h.expect("a fire") / hours(alone.end_s()) - 1.0).abs() < 1e-6);
    let heat_up_h = hours(alone.start.heat_up_s.expect("a temperature"));
    assert!((work.heat_up_h.expect("a temperature") / heat_up_h - 1.0).abs() < 1e-6);
    let heart = run.stream("spirit.heart").expect("a heart").moles;
    let same = alone.cut("heart").expect("a heart").distillate;
    assert!((heart.ethanol_mol / same.ethanol_mol - 1.0).abs() < 1e-6);
}

/// Published operating figures: foreshots and feints together about 30 % vol, spirit charge 24 to
/// 28 % vol (*That's the Spirit*, Whisky Magazine 73, 2008); ends at 1 % vol leave about 0.1 % vol
/// in the pot (*Let's Talk Partial Triple Distillation*, 2017). The reference circuit stands at
/// the lower edge: its wash is 8 % vol and its stills have no reflux.
#[test]
fn a_settled_double_runs_as_published() {
    let run = settled(&double());
    let moles = |name: &str| run.stream(name).expect("a stream").moles;
    let returned = moles("spirit.foreshots").plus(moles("spirit.feints"));
    assert!((29.0..31.0).contains(&returned.strength_pct()), "{}", returned.strength_pct());
    let charge = moles("spirit.charge").strength_pct();
    assert!((23.9..28.0).contains(&charge), "{charge}");
    for residue in ["wash.residue", "spirit.residue"] {
        let left = moles(residue).strength_pct();
        assert!((0.05..0.12).contains(&left), "{residue} {left}");
    }
    // Common practice, no source: new spirit of a second distillation at 66 to 73 % vol.
    let heart = moles("spirit.heart").strength_pct();
    assert!((66.0..73.0).contains(&heart), "{heart}");
}
