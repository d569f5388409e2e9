//! Seasons: what goes in comes out or stands, whatever makes follow one another.

use super::tests::{cut, double, programme, still, wash};
use super::*;
use crate::Matter;
use crate::still::{Constants, Moles, Until};
use proptest::prelude::*;

fn phase(name: &str, cycles: f64, feints: Option<Feints>) -> Phase {
    let mut vessel = double();
    vessel.stills[1].hearth.least_charge_20_l = Some(1500.0);
    Phase {
        name: name.to_owned(),
        family: name.to_owned(),
        charge: wash(),
        vessel,
        product: "spirit.heart".to_owned(),
        figures: PhaseFigures { cycles, ..PhaseFigures::default() },
        feints,
    }
}

fn of(phases: Vec<Phase>, close: bool) -> Season {
    Season { phases, pressure_pa: 101_325.0, energy: false, close }
}

fn ran(asked: &Season) -> SeasonRun {
    season(asked, &Constants::default()).unwrap_or_else(|fault| panic!("{fault}"))
}

fn litres(moles: Moles) -> f64 {
    moles.pure_alcohol_l()
}

/// Alcohol in less what was made, what was left in the pots, what left by a stock and what stands;
/// counted from the rows, not from the balance.
fn gap(asked: &Season, run: &SeasonRun) -> f64 {
    let charged = asked.phases.iter().map(|phase| {
        let wash = &phase.charge.wash;
        let moles = Moles { ethanol_mol: wash.ethanol_mol, water_mol: wash.water_mol };
        phase.figures.cycles.floor() * litres(moles)
    });
    let charged: f64 = charged.sum();
    let mut out = litres(run.transition.moles);
    out += run.products.iter().map(|stream| litres(stream.moles)).sum::<f64>();
    out += run.stock.iter().map(|held| litres(held.stream.moles)).sum::<f64>();
    for row in &run.rows {
        let phase = asked.phases.iter().find(|phase| phase.name == row.make).expect("its phase");
        for stream in &row.streams {
            let stocked = phase.vessel.stocks.iter().filter(|s| s.source.from == stream.name);
            let stocked: f64 = stocked.map(|stock| stock.source.fraction).sum();
            let left = if stream.name.ends_with(".residue") { 1.0 } else { stocked };
            out += left * litres(stream.moles);
        }
    }
    (charged - out) / charged
}

#[test]
fn feints_apart_wait_for_their_family() {
    let mut ember = phase("ember", 10.0, Some(Feints::Apart));
    ember.vessel.stills[1].cuts[1].until = Until::StrengthPct(55.0);
    let asked = of(vec![phase("pale", 12.0, None), ember, phase("pale", 3.0, None)], false);
    let run = ran(&asked);
    // While Ember runs, Pale's feints stand as they were left.
    let stands = |row: &Row, family: &str| -> f64 {
        let own = row.receivers.iter().filter(|held| held.family == family);
        own.map(|held| litres(held.stream.moles)).sum()
    };
    let left = stands(&run.rows[11], "pale");
    assert!((left - 657.0).abs() < 0.5, "{left}");
    for row in &run.rows[12..22] {
        assert!((stands(row, "pale") / left - 1.0).abs() < 1e-12);
    }
    // When Pale comes again its first heart is that of a settled circuit, not of an empty one.
    assert!((litres(run.rows[22].product) - 792.6).abs() < 0.5);
    assert!(litres(run.rows[12].product) < 0.75 * litres(run.rows[21].product));
    assert!(stands(&run.rows[24], "ember") > 0.0);
    assert!(gap(&asked, &run).abs() < 1e-9 && run.balance.open().is_empty());
}

#[test]
fn the_first_runs_after_a_change_have_their_own_account() {
    let mut pale = phase("pale", 6.0, Some(Feints::WorkedOff));
    pale.figures.transition_runs = 2.0;
    pale.figures.change_h = 48.0;
    let asked = of(vec![phase("ember", 8.0, None), pale], false);
    let run = ran(&asked);
    let worked = run.rows.iter().filter(|row| row.kind == Kind::WorkedOff).count();
    assert_eq!(run.changes[0].worked_off as usize, worked);
    assert!(worked >= 1, "the feints of a settled circuit cover the coils once");
    for row in &run.rows {
        let first = row.make == "pale" && row.cycle <= 8 + worked as u32 + 2;
        let apart = row.kind == Kind::WorkedOff || first;
        assert_eq!(litres(row.transition) > 0.0, apart, "cycle {}", row.cycle);
        assert!(litres(row.transition) == 0.0 || litres(row.product) == 0.0);
    }
    let transition: f64 = run.rows.iter().map(|row| litres(row.transition)).sum();
    assert!((transition / litres(run.transition.moles) - 1.0).abs() < 1e-12);
    assert!((run.change_h() - 48.0).abs() < 1e-12);
    // What was worked off no longer covers the coils.
    let ember = run.stock.iter().filter(|held| held.family == "ember");
    let all = ember.fold(Moles::default(), |sum, held| sum.plus(held.stream.moles));
    assert!(all.volume_20_l() < 1500.0 && all.volume_20_l() > 0.0);
    assert!(gap(&asked, &run).abs() < 1e-9 && run.balance.open().is_empty());
}

#[test]
fn at_the_close_feints_outlast_low_wines_until_the_coils_are_bare() {
    let asked = of(vec![phase("pale", 15.0, None)], true);
    let run = ran(&asked);
    let closing: Vec<&Row> = run.rows.iter().filter(|row| row.kind == Kind::Close).collect();
    assert!(!closing.is_empty());
    let charge = |row: &Row| {
        let stream = row.streams.iter().find(|stream| stream.name == "spirit.charge");
        stream.expect("a charge").moles.volume_20_l()
    };
    // Each charge covers the coils, and is smaller than the one before.
    assert!(closing.iter().all(|row| charge(row) >= 1500.0));
    assert!(closing.windows(2).all(|pair| charge(pair[1]) < charge(pair[0])));
    // No wash was boiled, and some heart was still made.
    for row in &closing {
        let wash = row.streams.iter().find(|stream| stream.name == "wash.charge");
        assert_eq!(wash.expect("a charge").moles, Moles::default());
    }
    assert!(litres(closing[0].product) > 0.0);
    let stands = run.stock.iter().fold(Moles::default(), |sum, held| sum.plus(held.stream.moles));
    assert!(stands.volume_20_l() < 1500.0 && litres(stands) > 0.0);
    assert!(gap(&asked, &run).abs() < 1e-9 && run.balance.open().is_empty());
}

#[test]
fn a_season_of_three_hundred_cycles_closes() {
    let mut pale = phase("pale", 60.0, Some(Feints::WorkedOff));
    pale.figures.transition_runs = 2.0;
    let phases = vec![
        phase("pale", 90.0, None),
        phase("ember", 80.0, Some(Feints::Apart)),
        pale,
        phase("ember", 70.0, Some(Feints::Apart)),
    ];
    let asked = of(phases, true);
    let run = ran(&asked);
    assert!(run.rows.len() >= 300, "{}", run.rows.len());
    let gap = gap(&asked, &run);
    println!("{} cycles, open by {gap:e}", run.rows.len());
    assert!(gap.abs() < 1e-9);
    assert_eq!(run.balance.open(), vec![]);
    for congener in ["phenol", "3_methyl_1_butanol"] {
        assert!(run.balance.relative_residual(Matter::Other(congener)).abs() < 1e-9);
    }
}

/// With fires the heads send alcohol back, cuts may be by time, and the heat closes too.
#[test]
fn a_season_with_fires_closes_in_energy() {
    let heated = |name: &str, feints| {
        let mut phase = phase(name, 6.0, feints);
        for (still, heat_w) in phase.vessel.stills.iter_mut().zip([400e3, 250e3]) {
            still.hearth.heat_w = Some(heat_w);
            still.hearth.head_loss_w_k = 250.0;
            still.hearth.copper_kg = 1500.0;
        }
        phase.vessel.stills[1].cuts[0].until = Until::TimeS(900.0);
        phase
    };
    let phases = vec![heated("pale", None), heated("ember", Some(Feints::WorkedOff))];
    let asked = Season { energy: true, ..of(phases, true) };
    let run = ran(&asked);
    assert_eq!(run.balance.open(), vec![]);
    assert!(run.balance.total(Matter::Energy, crate::balance::Side::Lost) > 0.0);
    assert!(gap(&asked, &run).abs() < 1e-9);
    assert!(run.rows.iter().flat_map(|row| &row.work).all(|work| work.run_h > Some(0.5)));
}

/// Every make is warned of, not only the last.
#[test]
fn a_make_whose_charge_is_above_the_ceiling_is_named() {
    let mut strong = phase("strong", 12.0, None);
    strong.vessel.stills[1].hearth.charge_ceiling_pct = Some(22.0);
    let asked = of(vec![strong, phase("weak", 3.0, Some(Feints::Apart))], false);
    let says: Vec<String> = ran(&asked).warnings.into_iter().map(|w| w.says).collect();
    assert_eq!(says.len(), 1, "{says:?}");
    assert!(says[0].starts_with("strong: spirit is charged at 24.0 % vol"), "{says:?}");
}

#[test]
fn a_charge_that_does_not_cover_the_coils_waits() {
    let mut pale = phase("pale", 6.0, None);
    pale.vessel.stills[1].hearth.least_charge_20_l = Some(5000.0);
    let asked = of(vec![pale], false);
    let run = ran(&asked);
    // The first low wines, 3849 L, wait for the second; from then on there are feints with them.
    assert_eq!(run.rows[0].work.len(), 1);
    assert!(litres(run.rows[0].product) == 0.0 && litres(run.rows[1].product) > 700.0);
    assert!(gap(&asked, &run).abs() < 1e-9 && run.balance.open().is_empty());
}

#[test]
fn feints_cannot_be_mixed_into_a_make_that_does_not_take_them() {
    let mut old = phase("old", 2.0, None);
    old.vessel.stills[1].name = "low_still".to_owned();
    old.vessel.stills[1].charge[1].from = "low_still.foreshots".to_owned();
    old.vessel.stills[1].charge[2].from = "low_still.feints".to_owned();
    old.product = "low_still.heart".to_owned();
    let asked = of(vec![old, phase("new", 2.0, Some(Feints::Mixed))], false);
    let fault = season(&asked, &Constants::default()).expect_err("nothing takes them");
    assert_eq!(fault.field(), Some("phase[1].feints"));
    let says = fault.to_string();
    assert!(says.contains("low_still.f") && says.contains("worked_off"), "{says}");
}

#[test]
fn working_off_wants_to_know_what_covers_the_coils() {
    let mut pale = phase("pale", 2.0, Some(Feints::WorkedOff));
    pale.vessel.stills[1].hearth.least_charge_20_l = None;
    let asked = of(vec![phase("ember", 2.0, None), pale], false);
    let fault = season(&asked, &Constants::default()).expect_err("no least charge");
    assert_eq!(fault.field(), Some("phase[1].still[1].least_charge_20_l"), "{fault}");
}

/// A route of two to four stills: the wash still, middle stills that take a share of what the one
/// before sends on, a spirit still that takes all the rest; foreshots and feints of the spirit
/// still return to it or, in part, to the middle still or to a stock.
fn route(middles: &[f64], mark_pct: f64, back: f64, stock: bool) -> Vessel {
    let all = || vec![cut("all", Until::StrengthPct(1.0))];
    let mut stills = vec![still("wash", &[("wash", 1.0)], all())];
    let mut onward: Vec<(String, f64)> = vec![("wash.all".to_owned(), 1.0)];
    for (number, share) in middles.iter().enumerate() {
        let name = format!("middle{number}");
        let (from, whole) = onward.pop().expect("something goes on");
        stills.push(still(&name, &[(from.as_str(), whole * share)], all()));
        onward.push((from, whole * (1.0 - share)));
        onward.push((format!("{name}.all"), 1.0));
    }
    let feints = if middles.is_empty() || stock { "stock" } else { "middle" };
    let mut charge: Vec<(&str, f64)> = onward.iter().map(|(s, f)| (s.as_str(), *f)).collect();
    charge.push(("spirit.foreshots", 1.0));
    charge.push(("spirit.feints", back));
    let cuts = vec![
        cut("foreshots", Until::ChargeFraction(0.01)),
        cut("heart", Until::StrengthPct(mark_pct)),
        cut("feints", Until::StrengthPct(1.0)),
    ];
    stills.push(still("spirit", &charge, cuts));
    let rest = Source { from: "spirit.feints".to_owned(), fraction: 1.0 - back };
    let mut vessel = Vessel { stills, stocks: Vec::new() };
    if feints == "middle" {
        vessel.stills[1].charge.push(rest);
    } else {
        vessel.stocks.push(Stock { name: "old feints".to_owned(), source: rest });
    }
    for still in &mut vessel.stills {
        still.hearth.least_charge_20_l = Some(40.0);
    }
    vessel
}

prop_compose! {
    fn some_phase(name: &'static str)(
        middles in prop::collection::vec(0.2..0.9_f64, 0..3),
        mark_pct in 55.0..66.0_f64,
        back in 0.5..0.95_f64,
        stock in any::<bool>(),
        ethanol_mol in 10_000.0..17_000.0_f64,
        cycles in 2..9_u32,
        transition in 0..4_u32,
    ) -> Phase {
        let vessel = route(&middles, mark_pct, back, stock);
        let mut charge = wash();
        charge.wash.ethanol_mol = ethanol_mol;
        let figures = PhaseFigures {
            cycles: f64::from(cycles),
            transition_runs: f64::from(transition),
            ..PhaseFigures::default()
        };
        let (name, family) = (name.to_owned(), name.to_owned());
        let product = "spirit.heart".to_owned();
        Phase { name, family, charge, vessel, product, figures, feints: None }
    }
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 24,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    /// Alcohol in = out + change of stock, for random routes and orders of makes; likewise every
    /// congener by the balance.
    #[test]
    fn alcohol_in_is_alcohol_out_and_what_stands(
        mut first in some_phase("first"),
        mut second in some_phase("second"),
        mut third in some_phase("third"),
        how in prop::collection::vec(0..2_usize, 2),
        close in any::<bool>(),
    ) {
        // Mixing needs routes alike; apart and worked off do for any.
        let words = [Feints::Apart, Feints::WorkedOff];
        first.feints = None;
        second.feints = Some(words[how[0]]);
        third.feints = Some(words[how[1]]);
        let asked = of(vec![first, second, third], close);
        let run = season(&asked, &Constants::default());
        let run = run.map_err(|fault| TestCaseError::fail(fault.to_string()))?;
        let gap = gap(&asked, &run);
        prop_assert!(gap.abs() < 1e-9, "open by {gap:e}");
        prop_assert_eq!(run.balance.open(), vec![]);
    }

    /// The settled circuit of a random route closes, and is met as closely as was asked.
    #[test]
    fn a_random_route_settles(phase in some_phase("one")) {
        let charge = &phase.charge;
        let run = run(charge, &phase.vessel, &programme(0.0), &Constants::default());
        let run = run.map_err(|fault| TestCaseError::fail(fault.to_string()))?;
        prop_assert!(run.residual <= 1e-8, "{:e}", run.residual);
        prop_assert_eq!(run.balance.open(), vec![]);
        prop_assert!(run.distinct_stills >= 2.0 && run.distinct_stills < run.passes_with_recycle);
    }
}
