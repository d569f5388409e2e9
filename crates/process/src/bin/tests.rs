//! The bin and the malt analysis beside their printed values.

use super::analysis::{LaboratoryWort, expected, laboratory_fermentability};
use super::*;

fn layer(age_d: f64, dry_kg: f64, phenols: f64) -> Layer {
    Layer { age_d, dry_kg, phenols_mg_kg_dry: phenols, ..Layer::default() }
}

fn bin(emptying: Emptying) -> Vessel {
    Vessel { measures: Measures { holds_kg: 16_000.0, area_m2: 7.0 }, emptying }
}

fn two() -> Charge {
    Charge {
        layers: vec![layer(40.0, 6000.0, 40.0), layer(25.0, 6000.0, 0.0)],
        ..Charge::default()
    }
}

fn unmixed() -> AllConstants {
    AllConstants {
        bin: Constants { mixing: 0.0, ..Constants::default() },
        analysis: AnalysisConstants::default(),
    }
}

/// Values reckoned from the formulas; 0.01 as given with them.
#[test]
fn analysis_and_yield_give_their_printed_values() {
    let wort = LaboratoryWort { original_excess: 31.3, final_excess: -2.0 };
    assert!((100.0 * laboratory_fermentability(&wort) - 86.60_f64).abs() < 0.01);

    let c = AnalysisConstants::default();
    let given = Analysis { extract_pct_dry: 78.0, fermentability: 0.87 };
    assert!((given.extract_pct(0.0) * 0.87 - 67.86).abs() < 0.01);
    assert!((given.predicted_spirit_yield_l_t(0.0, &c) - 411.23).abs() < 0.01);
    let newer = AnalysisConstants { spirit_factor: 6.11, ..c.clone() };
    assert!((given.predicted_spirit_yield_l_t(0.0, &newer) - 414.62).abs() < 0.01);

    let modern = Making { germinating_fraction: 1.0, ..Making::default() };
    let a = expected(&modern, &c);
    assert!((a.extract_pct_dry - 81.951).abs() < 0.01, "{a:?}");
    assert!((100.0 * a.fermentability - 86.90_f64).abs() < 0.01, "{a:?}");
    assert!((a.extract_pct(0.045) - 78.263).abs() < 0.01);
    assert!((a.predicted_spirit_yield_l_t(0.045, &c) - 412.14).abs() < 0.01);

    let landrace = Making {
        nitrogen_pct_dry: 1.9,
        modification: 0.90,
        malting_loss_fraction: 0.11,
        germinating_fraction: 0.95,
        ..Making::default()
    };
    let small = AnalysisConstants { extract_most_pct_dry: 77.5, ..c };
    let a = expected(&landrace, &small);
    assert!((a.extract_pct_dry - 72.192).abs() < 0.01, "{a:?}");
    assert!((100.0 * a.fermentability - 86.30_f64).abs() < 0.01, "{a:?}");
    assert!((a.extract_pct(0.045) - 68.944).abs() < 0.01);
    assert!((a.predicted_spirit_yield_l_t(0.045, &small) - 360.56).abs() < 0.01);
}

/// A trade balance: 1 t barley at 12 % gives 830 kg malt at 5 %, so 10.40 % of the dry matter is
/// lost; at 410 L a tonne of malt that is 340.3 L a tonne of barley. And the dry matter of a floor
/// of eight days at 16 °C, by the floor's own laws: 0.8376 t of malt at 4.5 %.
#[test]
fn the_trade_balance_of_malting() {
    use crate::floor::growth::vigour;
    use crate::steep::intake::{Bought, clean_dry_kg};
    let barley = Bought {
        gross_kg: 1000.0,
        admixture_fraction: 0.0,
        screenings_fraction: 0.0,
        moisture_wet: 0.12,
    };
    let dry_kg = clean_dry_kg(&barley);
    let malt = Layer { dry_kg: 830.0 * 0.95, moisture_wet: 0.05, ..layer(0.0, 1.0, 0.0) };
    assert!((100.0 * (1.0 - malt.dry_kg / dry_kg) - 10.40).abs() < 0.01);
    assert!((malt.mass_kg() / 1000.0 * 410.0 - 340.3).abs() < 0.1);

    let floor = crate::floor::Constants::default();
    let days = (0..80_000).map(|i| (f64::from(i) + 0.5) * 1e-4);
    let breathed: f64 = days.map(|day| 1e-4 * floor.respiration_1_d * vigour(day)).sum();
    let left = (-breathed).exp();
    let rootlets = floor.rootlet_share * (1.0 - left);
    // 1.0 % is lost in the steep.
    let malt_t = 0.99 * (left - rootlets) * dry_kg / (1.0 - 0.045) / 1000.0;
    assert!((malt_t - 0.8376).abs() < 0.0005, "{malt_t}");
}

#[test]
fn malt_on_hold_is_not_drawn() {
    let draw = |emptying, held: Vec<usize>, constants: &AllConstants| {
        let charge = Charge { held, ..two() };
        let programme = Programme { draw_kg: 2500.0, ..Programme::default() };
        run(&charge, &bin(emptying), &programme, constants)
    };
    // The upper layer on hold: a cone gives the lower, a flat bottom would give the upper.
    assert!(draw(Emptying::Sinking, vec![1], &unmixed()).is_ok());
    let fault = draw(Emptying::Funnel, vec![1], &unmixed()).unwrap_err();
    assert_eq!(fault.field(), Some("draw.draw_kg"));
    assert!(fault.to_string().contains("layer[1]"), "{fault}");
    // Layers smear as they sink, and a tenth of the draw would come of all of them.
    assert!(draw(Emptying::Sinking, vec![1], &AllConstants::default()).is_err());
    assert!(draw(Emptying::Sinking, vec![], &AllConstants::default()).is_ok());
}

/// From memory: slack above 6 %, milling refused above 7 to 8 %.
#[test]
fn slack_malt_is_warned_of_and_wet_malt_refused() {
    let draw = |moisture_wet| {
        let layers = vec![Layer { moisture_wet, ..layer(40.0, 6000.0, 0.0) }];
        let programme = Programme { draw_kg: 2500.0, ..Programme::default() };
        let charge = Charge { layers, ..Charge::default() };
        run(&charge, &bin(Emptying::Sinking), &programme, &unmixed())
    };
    assert!(draw(0.045).unwrap().warnings.iter().all(|w| w.code != "slack"));
    assert!(draw(0.065).unwrap().warnings.iter().any(|w| w.code == "slack"));
    let fault = draw(0.085).unwrap_err();
    assert_eq!(fault.field(), Some("draw.most_wet"));
}

#[test]
fn a_hot_cure_costs_fermentability() {
    let c = AnalysisConstants::default();
    let at = |cure_c| expected(&Making { cure_c, ..Making::default() }, &c).fermentability;
    assert!((at(60.0) - at(68.0)).abs() < 1e-15);
    // 0.0003 × 12^1.5 for four hours at 80 °C.
    assert!((at(68.0) - at(80.0) - 0.0003 * 12.0_f64.powf(1.5)).abs() < 1e-12);
}

#[test]
fn the_first_in_comes_first_from_a_cone_and_last_from_a_flat_bottom() {
    let programme = Programme { draw_kg: 2500.0, ..Programme::default() };
    let from = |emptying| run(&two(), &bin(emptying), &programme, &unmixed()).unwrap();
    let (cone, flat) = (from(Emptying::Sinking), from(Emptying::Funnel));
    let (cone, flat) = (cone.out.drawn.unwrap(), flat.out.drawn.unwrap());
    assert!((cone.phenols_mg_kg_dry - 40.0).abs() < 1e-9);
    assert!((cone.mean_age_d - 40.0).abs() < 1e-9);
    assert!(flat.phenols_mg_kg_dry.abs() < 1e-9);
    assert!((flat.mean_age_d - 25.0).abs() < 1e-9);
    assert!((cone.mass_kg - 2500.0).abs() < 1e-9);
}

#[test]
fn a_draw_across_the_seam_is_mixed_by_mass() {
    // 7000 kg as it is: 6000/0.955 of the first, the rest of the second.
    let programme = Programme { draw_kg: 7000.0, ..Programme::default() };
    let run = run(&two(), &bin(Emptying::Sinking), &programme, &unmixed()).unwrap();
    let lot = run.out.drawn.unwrap();
    assert!((lot.phenols_mg_kg_dry - 40.0 * 6000.0 / (7000.0 * 0.955)).abs() < 1e-9);
    assert!((lot.youngest_d - 25.0).abs() < 1e-9);
    assert_eq!(run.out.left.len(), 1);
    assert!(run.balance.open().is_empty(), "{:?}", run.balance.open());
}

#[test]
fn all_of_it_can_be_drawn_and_no_more() {
    let whole = 12_000.0 / 0.955;
    let draw = |draw_kg| {
        let programme = Programme { draw_kg, ..Programme::default() };
        run(&two(), &bin(Emptying::Sinking), &programme, &AllConstants::default())
    };
    let all = draw(whole).unwrap();
    assert!(all.out.left.is_empty());
    assert!((all.out.drawn.unwrap().dry_kg - 12_000.0).abs() < 1e-6);
    assert!(all.balance.open().is_empty(), "{:?}", all.balance.open());
    assert_eq!(draw(whole + 1.0).unwrap_err().field(), Some("draw.draw_kg"));
    assert_eq!(draw(f64::NAN).unwrap_err().field(), Some("draw.draw_kg"));
    let nothing = draw(0.0).unwrap();
    assert!(nothing.out.drawn.is_none());
    assert_eq!(nothing.out.left.len(), 2);
}

#[test]
fn a_month_takes_a_tenth_of_the_smoke_and_two_stays_are_one() {
    let c = Constants::default();
    let month = 1.0 - phenols_left(&c, 0.0, 30.0);
    // Remembered: 5 to 15 % in the first month.
    assert!((0.05..0.15).contains(&month), "{month}");
    let twice = phenols_left(&c, 0.0, 10.0) * phenols_left(&c, 10.0, 20.0);
    assert!((twice - (1.0 - month)).abs() < 1e-12);
}

#[test]
fn only_the_top_feels_the_air() {
    let programme = Programme { days: 60.0, air_relative_humidity: 0.90, ..Programme::default() };
    let run = run(&two(), &bin(Emptying::Sinking), &programme, &unmixed()).unwrap();
    let [below, top] = &run.out.left[..] else { panic!("two layers") };
    assert!((below.moisture_wet - 0.045).abs() < 1e-12);
    assert!(top.moisture_wet > 0.045, "{}", top.moisture_wet);
    assert!(run.balance.open().is_empty(), "{:?}", run.balance.open());
    // Between the curves for gaining and drying nothing moves.
    let at_rest = |humidity| {
        let programme =
            Programme { days: 60.0, air_relative_humidity: humidity, ..Programme::default() };
        let run = super::run(&two(), &bin(Emptying::Sinking), &programme, &unmixed()).unwrap();
        let still = crate::kiln::moisture_at_rest(
            &crate::kiln::Constants::default(),
            programme.air_c,
            humidity,
        );
        (run.out.left[1].moisture_wet, still)
    };
    let (same, still) = at_rest(0.105);
    let lies_between = 0.9 * still < 0.045 / 0.955 && 0.045 / 0.955 < still;
    assert!(lies_between && (same - 0.045).abs() < 1e-12, "{same} {still}");
    assert!(at_rest(0.05).0 < 0.045);
}

#[test]
fn young_malt_is_drawn_with_a_warning() {
    let charge = Charge { layers: vec![layer(10.0, 6000.0, 0.0)], ..Charge::default() };
    let programme = Programme { days: 5.0, draw_kg: 1000.0, ..Programme::default() };
    let run = run(&charge, &bin(Emptying::Sinking), &programme, &unmixed()).unwrap();
    assert_eq!(run.warnings[0].code, "young");
}

#[test]
fn more_than_the_bin_holds_is_refused() {
    let charge = Charge { layers: vec![layer(10.0, 16_000.0, 0.0)], ..Charge::default() };
    let programme = Programme::default();
    let fault = run(&charge, &bin(Emptying::Sinking), &programme, &unmixed()).unwrap_err();
    assert_eq!(fault.field(), Some("layer"));
    let none = Charge::default();
    let fault = run(&none, &bin(Emptying::Sinking), &programme, &unmixed()).unwrap_err();
    assert_eq!(fault.field(), Some("layer"));
}
