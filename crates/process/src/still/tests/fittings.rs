//! Head, lag, loss, steam and what forms in the heat: each beside figures worked out elsewhere or
//! beside a plain reckoning, and all of them together in balance.

use super::super::drops::Drops;
use super::super::equilibrium::Equilibrium;
use super::super::head::Boiling;
use super::super::*;
use super::trace::{Dice, all_congeners, drawn};
use super::{cut, programme, spirit_cuts};
use crate::Matter;
use numeric::roots::{Bracket, brent};

const AIR_PA: f64 = 101_325.0;

/// The pot of a vapour of 0.446495: that of reference run S1 at its beginning.
fn pot(mixture: &Mixture) -> Boiling {
    let bracket = Bracket { low: 0.05, high: 0.2, tolerance: 1e-14 };
    let y = |x: f64| mixture.boil(x, AIR_PA, 360.0).vapour - 0.446_495;
    let x = brent(bracket, y).unwrap();
    Boiling { x, bubble: mixture.boil(x, AIR_PA, 360.0), heat: 0.0, slope: 0.0 }
}

/// Both heads at the same share of reflux, 0.15: computed beside the reference runs and printed
/// to four or six places.
#[test]
fn both_heads_meet_their_printed_cases() {
    let mixture = Mixture::new(&Constants::default());
    let pot = pot(&mixture);
    let kinds = ["3_methyl_1_butanol", "phenol"].map(|name| Congener::named(name).unwrap());
    // One stage: y = 0.15 x_R + 0.85 y_D.
    let bracket = Bracket { low: pot.x, high: 0.4, tolerance: 1e-14 };
    let miss = |x: f64| 0.15 * x + 0.85 * mixture.boil(x, AIR_PA, 357.0).vapour - 0.446_495;
    let liquor = brent(bracket, miss).unwrap();
    let head = mixture.boil(liquor, AIR_PA, 357.0);
    assert!((liquor - 0.145_372).abs() < 1e-6, "{liquor}");
    assert!((head.vapour - 0.499_634).abs() < 1e-6, "{}", head.vapour);
    assert!((strength_pct(head.vapour) - 78.589).abs() < 1e-3);
    assert!((head.boiling_k - 273.15 - 84.2911).abs() < 1e-4);
    for (kind, wanted) in kinds.iter().zip([0.9447, 0.4252]) {
        let got = 0.85 / (0.85 + 0.15 * (-kind.ln_volatility(liquor)).exp());
        assert!((got - wanted).abs() < 6e-5, "{}: {got}", kind.key);
    }
    // Drop by drop.
    let drops = |last: f64| {
        let bubble = mixture.boil(last, AIR_PA, 357.0);
        Drops::of(&mixture, AIR_PA, &pot, (last, &bubble))
    };
    let last = brent(bracket, |last| drops(last).passing() - 0.85).unwrap();
    let leaves = mixture.boil(last, AIR_PA, 357.0).vapour;
    assert!((leaves - 0.503_776).abs() < 1e-6, "{leaves}");
    assert!((strength_pct(leaves) - 78.881).abs() < 1e-3);
    for (kind, wanted) in kinds.iter().zip([0.9585, 0.3832]) {
        let got = drops(last).passes(kind, 1.0);
        assert!((got - wanted).abs() < 6e-5, "{}: {got}", kind.key);
    }
    // The vapour of what is left and of what ran back is what came up: by the same five places
    // for ethanol, whose K is y/x.
    let ethanol = {
        let steps = 20_000;
        let (mut ln_v, mut ethanol_back) = (0.0_f64, 0.0);
        for i in 0..steps {
            let at = |j: f64| pot.x + (last - pot.x) * j / f64::from(steps);
            let x = at(f64::from(i) + 0.5);
            let bubble = mixture.boil(x, AIR_PA, 357.0);
            let width = at(f64::from(i) + 1.0) - at(f64::from(i));
            let fall = bubble.vapour_slope * width / (bubble.vapour - x);
            ethanol_back += (ln_v - 0.5 * fall).exp() * fall * x;
            ln_v -= fall;
        }
        assert!((ln_v.exp() - drops(last).passing()).abs() < 1e-7, "{}", ln_v.exp());
        ethanol_back + ln_v.exp() * leaves
    };
    assert!((ethanol - 0.446_495).abs() < 1e-7, "{ethanol}");
}

/// The heat of mixing has analytic slopes, and the vapour's too.
#[test]
fn slopes_of_mixing_and_vapour_agree_with_differences() {
    let mixture = Mixture::new(&Constants::default());
    for (x, t) in [(0.02, 300.0), (0.1, 360.0), (0.5, 350.0), (0.8, 330.0)] {
        let [_, by_x, by_t] = heat::mixing(x, t);
        let dx = (heat::of_mixing(x + 1e-6, t) - heat::of_mixing(x - 1e-6, t)) / 2e-6;
        let dt = (heat::of_mixing(x, t + 1e-3) - heat::of_mixing(x, t - 1e-3)) / 2e-3;
        assert!((by_x - dx).abs() < 1e-5 * dx.abs().max(1.0), "{x} {t}: {by_x} {dx}");
        assert!((by_t - dt).abs() < 1e-6 * dt.abs().max(1.0), "{x} {t}: {by_t} {dt}");
        let vapour = |x: f64| mixture.boil(x, AIR_PA, t).vapour;
        let dy = (vapour(x + 1e-6) - vapour(x - 1e-6)) / 2e-6;
        let told = mixture.boil(x, AIR_PA, t).vapour_slope;
        assert!((told / dy - 1.0).abs() < 1e-6, "{x}: {told} {dy}");
    }
}

fn spirit(vessel: &Vessel) -> Run {
    let charge = all_congeners(33_500.0, 284_000.0);
    run(&charge, vessel, &programme(250e3, spirit_cuts()), &Constants::default()).unwrap()
}

fn heart(run: &Run) -> &CutRun {
    run.cut("heart").unwrap()
}

#[test]
fn a_long_neck_makes_stronger_spirit_and_holds_more_smoke_back() {
    let cold = |head| Vessel { head_loss_w_k: 600.0, head, ..Vessel::default() };
    let (one, long) = (spirit(&cold(Head::Single)), spirit(&cold(Head::Differential)));
    let first = |run: &Run| run.start.distillate_strength_pct;
    assert!(first(&long) > first(&one) + 0.1, "{} {}", first(&long), first(&one));
    // Over the first litres; later the pot is weak, and both heads pass phenol much alike.
    let smoke = |head| {
        let charge = all_congeners(33_500.0, 284_000.0);
        let plain = programme(250e3, spirit_cuts());
        let trace = Trace::of(&charge, &cold(head), &plain, &Constants::default()).unwrap();
        let over = trace.find(&Until::VolumeL(300.0)).unwrap().congeners_over;
        over[trace.congeners().iter().position(|(c, _)| c.key == "phenol").unwrap()]
    };
    let (by_one, by_long) = (smoke(Head::Single), smoke(Head::Differential));
    assert!(by_long < 0.95 * by_one, "{by_long} {by_one}");
    assert_eq!(long.balance.open(), vec![]);
    // Without loss there is no head to speak of.
    let bare = |head| spirit(&Vessel { head, ..Vessel::default() });
    let apart = first(&bare(Head::Single)) - first(&bare(Head::Differential));
    assert!(apart.abs() < 1e-9, "{apart}");
}

#[test]
fn what_stands_in_the_tail_lags_and_is_counted() {
    let plain = spirit(&Vessel { head_loss_w_k: 600.0, ..Vessel::default() });
    let held = spirit(&Vessel { head_loss_w_k: 600.0, residence_l: 40.0, ..Vessel::default() });
    assert_eq!(held.balance.open(), vec![]);
    assert!((held.held.volume_20_l() / 40.0 - 1.0).abs() < 1e-6, "{}", held.held.volume_20_l());
    // The safe shows what left the head a while ago, which was stronger.
    let (a, b) = (heart(&plain), heart(&held));
    assert!(b.pot_mole_fraction < a.pot_mole_fraction);
    // By about the time that 40 L take at the rate at the cut.
    let rates = plain.curves.get("flow_l_min").unwrap();
    let at = plain.curves.get("time_s").unwrap().iter().position(|t| *t >= a.end_s).unwrap();
    let lag_s = 60.0 * 40.0 / rates[at];
    let late = b.end_s - a.end_s;
    assert!((0.2..1.2).contains(&(late / lag_s)), "{late} {lag_s}");
    let none = spirit(&Vessel { residence_l: 0.1, ..Vessel::default() });
    assert_eq!(none.warnings[0].code, "no lag");
}

/// A lag washes a step out as exp(-V/V_held): with pot and head held still by a large charge, the
/// strength at the safe nears that of the head so.
#[test]
fn the_lag_is_that_of_a_well_mixed_vessel() {
    let vessel = Vessel { head_loss_w_k: 600.0, residence_l: 60.0, ..Vessel::default() };
    let mut programme = programme(250e3, vec![cut("all", Until::TimeS(4000.0))]);
    // Less heat from 600 s on: the head makes stronger spirit at once, the safe shows it later.
    let less = HeatStep { from_s: 600.0, heat_w: 120e3, steam_kg_s: 0.0, place: Some(0) };
    programme.heat.push(less);
    let charge = all_congeners(335_000.0, 2_840_000.0);
    let trace = Trace::of(&charge, &vessel, &programme, &Constants::default()).unwrap();
    let (before, after) = (trace.point(599.0), trace.point(4000.0));
    let all_l = |time_s: f64| trace.point(time_s).over_l;
    for time_s in [700.0, 900.0, 1200.0] {
        let washed = ((all_l(time_s) - all_l(600.0)) / 60.0).min(20.0);
        let wanted =
            after.strength_pct + (before.strength_pct - after.strength_pct) * (-washed).exp();
        let got = trace.point(time_s).strength_pct;
        // Pot and strength drift a little meanwhile, and mole fractions mix, not strengths.
        let scale = after.strength_pct - before.strength_pct;
        assert!(scale > 2.0 && (got - wanted).abs() < 0.06 * scale, "{time_s}: {got} {wanted}");
    }
}

#[test]
fn vapour_lost_is_a_line_of_its_own_and_no_cut_hides_it() {
    let plain = spirit(&Vessel::default());
    let leaky = spirit(&Vessel { vapour_loss: 0.004, ..Vessel::default() });
    assert_eq!(leaky.balance.open(), vec![]);
    let over = |run: &Run| run.cuts.iter().map(|c| c.distillate.pure_alcohol_l()).sum::<f64>();
    let lost = leaky.vapour_lost.pure_alcohol_l();
    assert!((lost / (0.004 * over(&plain)) - 1.0).abs() < 1e-6, "{lost}");
    let told = leaky.balance.total(Matter::PureAlcohol, crate::balance::Side::Lost);
    assert!((told - lost).abs() < 1e-12 * lost.max(1.0));
}

/// Open steam alone: what the pot boils off is what its heat gives, and the pot hardly falls.
#[test]
fn open_steam_boils_the_pot_and_stays_in_it() {
    let mut programme = programme(250e3, vec![cut("low_wines", Until::StrengthPct(1.0))]);
    programme.conditions.heat_w = None;
    programme.conditions.steam_kg_s = 0.15;
    let charge = all_congeners(13_700.0, 514_000.0);
    let steamed = run(&charge, &Vessel::default(), &programme, &Constants::default()).unwrap();
    assert_eq!(steamed.balance.open(), vec![]);
    assert!((steamed.steam_kg / (0.15 * steamed.end_s()) - 1.0).abs() < 1e-6);
    let dry = super::wash();
    // The condensed steam keeps the pot full, so it takes more distillate to strip it.
    assert!(steamed.residue.volume_20_l() > 1.4 * dry.residue.volume_20_l());
    let strength = |run: &Run| run.cuts[0].distillate.strength_pct();
    assert!(strength(&steamed) < strength(&dry));
    let weak = steamed.residue.strength_pct();
    assert!((0.05..0.11).contains(&weak), "{weak}");
    let kept = Trace::of(&charge, &Vessel::default(), &programme, &Constants::default()).unwrap();
    let read = kept.read(&programme.cuts).unwrap();
    let miss =
        read.cuts[0].distillate.pure_alcohol_l() / steamed.cuts[0].distillate.pure_alcohol_l();
    assert!((miss - 1.0).abs() < 1e-6);
}

/// Furfural forms while the pot is hot: grams as the rate says over litres and hours.
#[test]
fn furfural_forms_by_litres_and_hours() {
    let mut charge = Charge::of_moles(Moles { ethanol_mol: 13_700.0, water_mol: 514_000.0 });
    charge.congeners.push((Congener::named("furfural").unwrap(), 0.5));
    let vessel = Vessel { furfural_mg_l_h: 0.1, ..Vessel::default() };
    let programme = programme(400e3, vec![cut("low_wines", Until::StrengthPct(1.0))]);
    let run = run(&charge, &vessel, &programme, &Constants::default()).unwrap();
    assert_eq!(run.balance.open(), vec![]);
    let formed: f64 =
        run.balance.lines.iter().filter(|l| l.name == "formed").map(|l| l.amount).sum();
    // The rate belongs to the litres in the pot: of a full pot less what has come over, by moles.
    let (full_l, hours) = (charge.moles().unwrap().volume_20_l(), run.end_s() / 3600.0);
    let most = 1e-4 * full_l * hours;
    assert!(formed < most && formed > 0.6 * most, "{formed} {most}");
    // Much of what forms late stays, for little comes over after it.
    let in_all = run.cuts[0].congener("furfural").unwrap() * 0.5;
    assert!(in_all > 0.5 * formed && in_all < 0.5 + formed, "{in_all} {formed}");
    let none = Charge::of_moles(Moles { ethanol_mol: 13_700.0, water_mol: 514_000.0 });
    let fault = super::super::run(&none, &vessel, &programme, &Constants::default());
    assert_eq!(fault.expect_err("no furfural").field(), Some("still.furfural_mg_l_h"));
}

#[test]
fn head_copper_and_a_tail_to_fill_delay_the_first_running() {
    let mut charge = all_congeners(33_500.0, 284_000.0);
    charge.filling.temperature_c = Some(40.0);
    let first = |vessel: Vessel| {
        let programme = programme(250e3, spirit_cuts());
        let run = run(&charge, &vessel, &programme, &Constants::default()).unwrap();
        run.start.heat_up_s.unwrap()
    };
    let plain = first(Vessel { head_loss_w_k: 300.0, ..Vessel::default() });
    let copper = Vessel { head_loss_w_k: 300.0, head_copper_kg: 800.0, ..Vessel::default() };
    // 800 kg, 0.385 kJ/kg/K, from 20 to some 84 °C, at 250 kW.
    let wanted = 800.0 * 0.385 * 64.0 / 250.0;
    assert!((first(copper) - plain - wanted).abs() < 0.03 * wanted);
    let tail = Vessel { head_loss_w_k: 300.0, residence_l: 30.0, ..Vessel::default() };
    assert!(first(tail) > plain + 60.0);
}

/// Condenser and cooling water, by hand: the heat of the vapour over the liquid, 4.18 kJ/kg/K.
#[test]
fn the_cooling_water_carries_what_the_condenser_takes() {
    let vessel = Vessel { water_on_c: 10.0, water_off_c: 50.0, ..Vessel::default() };
    let run = spirit(&vessel);
    let water_kj = run.cooling_water_m3 * 1000.0 * 4.18 * 40.0;
    assert!((water_kj / run.condenser_kj - 1.0).abs() < 1e-12);
    let over_mol: f64 = run.cuts.iter().map(|c| c.distillate.total_mol()).sum();
    let each_kj = run.condenser_kj / over_mol;
    // 41 to 44 kJ/mol and the cooling of the liquid, 5 to 6.
    assert!((45.0..50.0).contains(&each_kj), "{each_kj}");
    let curve = run.curves.get("condenser_kw").unwrap();
    let time = run.curves.get("time_s").unwrap();
    let sum: f64 =
        (1..time.len()).map(|i| 0.5 * (curve[i] + curve[i - 1]) * (time[i] - time[i - 1])).sum();
    assert!((sum / run.condenser_kj - 1.0).abs() < 2e-3, "{sum} {}", run.condenser_kj);
    let wrong = Vessel { water_on_c: 30.0, ..Vessel::default() };
    let charge = all_congeners(33_500.0, 284_000.0);
    let plain = programme(250e3, spirit_cuts());
    let fault = super::super::run(&charge, &wrong, &plain, &Constants::default());
    assert_eq!(fault.expect_err("colder than its water").field(), Some("still.distillate_c"));
}

/// All options at once, drawn by lot: matter to 1e-9, energy to 1e-6, and a kept run reads as a
/// run does.
#[test]
fn with_every_option_on_the_balances_close_and_readings_agree() {
    let mut dice = Dice(11);
    let mut worst_energy: f64 = 0.0;
    let mut worst = 0.0;
    for round in 0..24 {
        let (mut charge, mut vessel, mut programme) = drawn(&mut dice);
        charge.filling.temperature_c = None;
        let charge_l = charge.moles().unwrap().volume_20_l();
        vessel.head = if round % 2 == 0 { Head::Differential } else { Head::Single };
        vessel.residence_l = charge_l * dice.between(0.002, 0.02);
        vessel.vapour_loss = dice.between(0.0, 0.02);
        vessel.furfural_mg_l_h = dice.between(0.0, 0.2);
        programme.conditions.heat_of_mixing = Switch(round % 3 != 0);
        let heat_w = programme.conditions.heat_w.unwrap();
        programme.conditions.steam_kg_s = heat_w / 2.7e6 * dice.between(0.0, 0.5);
        for step in &mut programme.heat {
            step.steam_kg_s = heat_w / 2.7e6 * dice.between(0.0, 0.5);
        }
        let constants = Constants::default();
        programme.cuts = vec![
            cut("foreshots", Until::ChargeFraction(0.005)),
            cut("heart", Until::StrengthPct(dice.between(5.0, 20.0))),
            cut("feints", Until::StrengthPct(1.5)),
        ];
        let run = run(&charge, &vessel, &programme, &constants)
            .unwrap_or_else(|fault| panic!("{round}: {fault}"));
        assert_eq!(run.balance.open(), vec![], "{round}");
        worst_energy = worst_energy.max(run.balance.relative_residual(Matter::Energy).abs());
        let cuts =
            std::mem::replace(&mut programme.cuts, vec![cut("all", Until::StrengthPct(1.0))]);
        let trace = Trace::of(&charge, &vessel, &programme, &constants).unwrap();
        let read = trace.read(&cuts).unwrap();
        worst = super::trace::apart(&read, &run).max(worst);
    }
    println!("energy {worst_energy:e}, readings {worst:e}");
}
