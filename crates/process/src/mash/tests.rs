use super::washing::{drain, left_in_bed};
use super::*;
use crate::reference::rows;
use crate::{Report, Stage};

fn mash_in() -> MashIn {
    MashIn {
        malt_kg: 1000.0,
        moisture_wet: 0.045,
        malt_c: 15.0,
        liquor_kg: 4000.0,
        liquor_kj_kg_k: 4.10,
        tun_kj_k: 1000.0,
        tun_c: 50.0,
        loss_kj: 0.0,
    }
}

#[test]
fn striking_heat_of_the_two_worked_mashes() {
    let k = Constants::default();
    rows("strike_A")[0].holds(strike_c(&mash_in(), 64.0, &k));
    let b = MashIn { malt_c: 5.0, liquor_kg: 3500.0, tun_c: 20.0, loss_kj: 5000.0, ..mash_in() };
    rows("strike_B")[0].holds(strike_c(&b, 63.5, &k));
}

#[test]
fn mash_temperature_and_striking_heat_undo_each_other() {
    let k = Constants::default();
    for wanted in [45.0, 62.0, 64.2, 70.0] {
        let strike = strike_c(&mash_in(), wanted, &k);
        assert!((mash_c(&mash_in(), strike, &k) - wanted).abs() < 1e-12);
    }
}

/// The handbook's own example by its own form, I = (S T_g + M T)/(M + S) + S_c, and by ours: 2 %
/// moisture, 2.68 hL in 100 kg at 69 °C, malt of 27 °C. Ours rests on two fits of its table.
#[test]
fn the_handbook_example_is_met_by_the_heat_balance() {
    let row = &rows("strike_PW")[0];
    row.holds((0.39 * 27.0 + 2.68 * 69.0) / (2.68 + 0.39) + 2.3);
    let ours = MashIn {
        malt_kg: 100.0,
        moisture_wet: 0.02,
        malt_c: 27.0,
        liquor_kg: 268.0,
        liquor_kj_kg_k: 4.1868,
        tun_kj_k: 0.0,
        tun_c: 20.0,
        loss_kj: 0.0,
    };
    let got = mash_c(&ours, 69.0, &Constants::default());
    assert!((got - row.value).abs() < 0.1, "{got}");
}

/// Specific heat over water's and slaking at 2.7 hL in 100 kg, as the handbook prints them, against
/// the two fits. At 3 % moisture the specific heat is 0.0051 off where half a printed digit is
/// 0.005; all other rows hold.
#[test]
fn heat_of_malt_against_the_handbook() {
    let k = Constants::default();
    let water = 4.1868;
    for row in rows("malt_heat") {
        let moisture = row.at_number();
        let c = k.malt_kj_kg_k(moisture / 100.0) / water;
        if row.quantity == "specific_heat_rel_water" {
            let misses = (c - row.value).abs() > row.allows();
            assert_eq!(misses, moisture == 3.0, "{moisture} %: {c}");
            assert!((c - row.value).abs() < 0.0052);
        } else {
            row.holds(k.slaking_kj_kg(moisture / 100.0) / ((2.7 + c) * water));
        }
    }
}

/// The worked chain a tonne: waters 4000, 1750, 2100, 1600; held 1500, 1100, 1000, 800; extract
/// 770; 45 kg of water in the malt, 34 bound; weak worts steady.
fn chain(how: How, tanks: f64) -> (Vec<f64>, f64, f64) {
    let waters = [4000.0, 1750.0, 2100.0, 1600.0];
    let holds = [1500.0, 1100.0, 1000.0, 800.0];
    let mut recycled = 0.0;
    loop {
        let mut bed = Liquid { water_kg: 45.0 - 34.0, extract_kg: 770.0 };
        let mut drains = Vec::new();
        for (index, (water_kg, held)) in waters.into_iter().zip(holds).enumerate() {
            let extract_kg = if index == 0 { recycled } else { 0.0 };
            let how = if index == 0 { How::Mixed } else { how };
            let got = drain(bed, Liquid { water_kg, extract_kg }, how, held, tanks);
            drains.push(got.run_off.extract_kg);
            bed = got.held;
        }
        let weak = drains[2] + drains[3];
        if (weak - recycled).abs() < 1e-9 {
            return (drains, bed.extract_kg, weak);
        }
        recycled = weak;
    }
}

#[test]
fn washing_meets_the_worked_chain_to_a_gram() {
    let cases = [
        ("waters_mix", How::Mixed, 1.0),
        ("waters_disp1", How::Displaced, 1.0),
        ("waters_disp3", How::Displaced, 3.0),
    ];
    for (case, how, tanks) in cases {
        let (drains, draff, weak) = chain(how, tanks);
        for row in rows(case) {
            row.holds(match row.quantity.as_str() {
                "drain1_extract" => drains[0],
                "drain2_extract" => drains[1],
                "drain3_extract" => drains[2],
                "drain4_extract" => drains[3],
                "wort_extract" => drains[0] + drains[1],
                "draff_liquid_extract" => draff,
                "recycled_extract" => weak,
                other => panic!("{other}"),
            });
        }
        assert!((drains[0] + drains[1] + draff - 770.0).abs() < 1e-9 * 770.0);
    }
}

/// Tanks in series: exp(−1) at one, 5 exp(−3) × ... = 0.22404 at three, and toward plug flow.
#[test]
fn more_layers_wash_better() {
    assert!((left_in_bed(1.0, 1.0) - 0.36788).abs() < 5e-6);
    assert!((left_in_bed(1.0, 3.0) - 0.22404).abs() < 5e-6);
    let half_way = 0.5 * (left_in_bed(1.0, 1.0) + left_in_bed(1.0, 2.0));
    assert!((left_in_bed(1.0, 1.5) - half_way).abs() < 1e-15);
    assert!(left_in_bed(1.3, 20.0) < left_in_bed(1.3, 5.0));
    assert_eq!(left_in_bed(0.0, 4.0), 1.0);
}

/// The worts of the mixed chain: 759.42 kg of extract in 4661 kg of water is 14.010 °P, gravity
/// 1.05689, 5138 L at 20 °C (worked apart, with another form of the gravity: within 1e-4 and 1 L).
#[test]
fn worts_of_the_worked_chain() {
    let worts =
        Worts { liquid: Liquid { water_kg: 4661.0, extract_kg: 759.418 }, temperature_c: 64.0 };
    assert!((worts.plato() - 14.010).abs() < 5e-4);
    assert!((worts.gravity() - 1.05689).abs() < 1e-4);
    assert!((worts.volume_20_l() - 5138.0).abs() < 1.0);
    assert!(worts.bulk_l() > worts.volume_20_l());
}

fn case() -> Case {
    let table: toml::Table = Mash::EXAMPLE.parse().unwrap();
    let node = node(toml::Value::Table(table));
    let mut reader = gauge::Reader::new(&node);
    let case = Mash::read(&mut reader);
    reader.finish(case).unwrap()
}

fn node(value: toml::Value) -> gauge::Node {
    match value {
        toml::Value::Float(v) => gauge::Node::Number(v),
        toml::Value::String(v) => gauge::Node::Text(v),
        toml::Value::Array(items) => gauge::Node::List(items.into_iter().map(node).collect()),
        toml::Value::Table(t) => gauge::Node::part(t.into_iter().map(|(k, v)| (k, node(v)))),
        other => panic!("{other}"),
    }
}

fn run_of(case: &Case) -> Run {
    run(&case.charge, &case.vessel, &case.programme, &case.constants).unwrap()
}

#[test]
fn the_mash_comes_to_what_was_wanted_and_back() {
    let mut case = case();
    let wanted = run_of(&case);
    assert!((wanted.mash_c - 64.2).abs() < 1e-8, "{}", wanted.mash_c);
    case.programme.mash_c = None;
    case.programme.waters[0].liquor.temperature_c = Some(wanted.strike_c);
    let got = run_of(&case);
    assert!((got.mash_c - 64.2).abs() < 1e-8);
    assert!((got.worts.liquid.extract_kg - wanted.worts.liquid.extract_kg).abs() < 1e-6);
}

/// Common practice, as ranges with nothing tuned to them: first liquor six to eight degrees above
/// the mash when the tun is cold (the example's tun is rinsed hot); draff of 70 to 80 % water
/// (a feed table) at about a tonne a tonne; first worts 1.066 to 1.074, second 8 to 10 °P, third 2
/// to 4 °P, fourth 0.5 to 1 °P, together 1.050 to 1.060.
#[test]
fn the_example_is_a_mash_a_distiller_knows() {
    let mut case = case();
    let run = steady(&case.charge, &case.vessel, &case.programme, &case.constants).unwrap();
    assert!(run.balance.open().is_empty(), "{:?}", run.balance.open());
    let plato: Vec<f64> = run.steps.iter().map(|s| s.run_off.plato()).collect();
    println!("strike {:.2} plato {plato:.2?} worts {:.4}", run.strike_c, run.worts.gravity());
    assert!((1.050..1.060).contains(&run.worts.gravity()), "{}", run.worts.gravity());
    assert!((7.0..12.0).contains(&plato[1]) && plato[2] < 4.5 && plato[3] < 1.5, "{plato:?}");
    assert!((0.70..0.82).contains(&run.draff.moisture_wet()), "{}", run.draff.moisture_wet());
    let per_tonne = run.draff.mass_kg() / 2500.0;
    assert!((0.9..1.1).contains(&per_tonne), "{per_tonne}");
    case.vessel.tun_c = 15.0;
    let cold = steady(&case.charge, &case.vessel, &case.programme, &case.constants).unwrap();
    let above = cold.strike_c - cold.mash_c;
    assert!((5.0..8.0).contains(&above), "{above}");
}

/// Hough and others (1981): sweet wort of brewing malt is 43.9 % maltose, 13.6 maltotriose, 26.2
/// dextrin and other. The model is of a strong malt mashed cool and does not come there: with half
/// the beta-amylase, unprotected, it moves toward that table and maltose is still 13 points above
/// it. The test holds the direction and keeps the miss in sight.
#[test]
fn a_weak_malt_moves_toward_the_printed_sweet_wort() {
    let mut case = case();
    let strong = run_of(&case).sugars;
    case.charge.grist.enzyme_beta = 0.5;
    case.constants.enzymes.beta_protection = 1.0;
    let weak = run_of(&case).sugars;
    let table = rows("sweet_wort_all_malt");
    let printed = |name: &str| table.iter().find(|r| r.quantity == name).unwrap().value / 100.0;
    let above = |s: &Sugars| s.maltose - printed("maltose");
    assert!(above(&weak) < above(&strong) - 0.01);
    assert!((0.12..0.14).contains(&above(&weak)), "{}", above(&weak));
    assert!((weak.maltotriose - printed("maltotriose")).abs() < 0.02);
    assert!(weak.dextrin + weak.residual > strong.dextrin + strong.residual);
}

/// Hamilton and Lewis (1974), abstract: hotter mashes give extract that ferments less.
#[test]
fn a_hotter_mash_ferments_less() {
    let mut case = case();
    let mut at = |mash_c| {
        case.programme.mash_c = Some(mash_c);
        run_of(&case).sugars.fermentability()
    };
    assert!(at(64.0) > at(67.0) && at(67.0) > at(70.0));
}

/// At the laboratory's own mash the wort has the laboratory's own fermentability.
#[test]
fn fermentability_is_the_laboratory_s_at_its_mash() {
    let mut case = case();
    case.constants.enzymes.beta_protection = 1.0;
    case.vessel.loss_w_k = 0.0;
    case.programme.mash_c = Some(65.0);
    case.programme.waters[0].liquor.stand_min = 59.5;
    case.programme.waters[0].liquor.drain_min = 1.0;
    let first = run_of(&case).steps[0].state;
    let potential = make_up::Potential::of(&case.charge.grist, &case.constants).unwrap();
    let got = potential.sugars(&first).fermentability();
    assert!((got - 0.872).abs() < 1e-6, "{got}");
    let sugars = potential.sugars(&first);
    let all =
        sugars.glucose + sugars.maltose + sugars.maltotriose + sugars.dextrin + sugars.residual;
    assert!((all - 1.0).abs() < 1e-12);
}

#[test]
fn waters_that_cannot_be_are_refused_by_name() {
    let fault = |change: &dyn Fn(&mut Case)| {
        let mut case = case();
        change(&mut case);
        let got = run(&case.charge, &case.vessel, &case.programme, &case.constants);
        got.unwrap_err().field().unwrap_or_default().to_owned()
    };
    let waters = |c: &mut Case, f: &dyn Fn(&mut Water)| f(&mut c.programme.waters[1]);
    assert_eq!(fault(&|c| waters(c, &|w| w.liquor.temperature_c = None)), "water[1].temperature_c");
    assert_eq!(fault(&|c| waters(c, &|w| w.liquor.volume_l = f64::NAN)), "water[1].volume_l");
    assert_eq!(fault(&|c| c.programme.waters[0].liquor.volume_l = 3000.0), "weak_worts.water_kg");
    assert_eq!(fault(&|c| c.programme.waters.truncate(1)), "water");
    assert_eq!(fault(&|c| c.programme.mash_c = None), "");
    assert_eq!(fault(&|c| c.charge.grist.dry_kg = -1.0), "grist.dry_kg");
    assert_eq!(fault(&|c| c.constants.fitted.tanks = 0.0), "constants.tanks");
    // A cold tun of great weight cannot be brought to the mash by any water.
    let heavy = |c: &mut Case| {
        c.vessel.tun_kj_k = 90_000.0;
        c.vessel.tun_c = 0.0;
    };
    assert_eq!(fault(&heavy), "mash_c");
    let sponge = |c: &mut Case| {
        c.charge.weak_worts = WeakWorts::default();
        c.programme.waters[0].liquor.volume_l = 3000.0;
        c.programme.mash_c = None;
        c.programme.waters[0].liquor.temperature_c = Some(70.0);
        c.constants.fitted.held_first_kg_kg = 4.0;
    };
    assert_eq!(fault(&sponge), "water[0].volume_l");
}

#[test]
fn the_first_mash_of_a_season_is_weaker_than_one_in_the_week() {
    let mut case = case();
    case.charge.weak_worts = WeakWorts::default();
    let first = run_of(&case);
    let later = steady(&case.charge, &case.vessel, &case.programme, &case.constants).unwrap();
    assert!(later.worts.gravity() > first.worts.gravity());
    let report: Report = Mash::report(&case).unwrap();
    assert!(report.balance.open().is_empty());
}
