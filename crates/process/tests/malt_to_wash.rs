//! Malt to wash through mill, mash, cooler and washback, held against the published accounting of
//! spirit yield. Nothing in it is tuned to meet these figures; each test prints what it got.

use process::{cool, ferment, mash, mill};

/// A batch of so many tonnes of malt as it is, of a given extract on dry matter.
struct Batch {
    mash: mash::Run,
    cool: cool::Run,
    wash: ferment::Run,
    malt_t: f64,
}

fn batch(extract_pct_dry: f64, hours: f64) -> Batch {
    let malt_t = 2.5;
    let malt = mill::Charge { dry_kg: 955.0 * malt_t, ..mill::Charge::default() };
    let rollers = mill::Programme {
        husk_fraction: Some(0.20),
        flour_fraction: Some(0.10),
        ..mill::Programme::default()
    };
    let grist = mill::run(&malt, &mill::Vessel::default(), &rollers, &mill::Constants::default())
        .expect("a customary batch runs");
    let water = |volume_l, temperature_c, to| mash::Water {
        liquor: mash::Liquor { volume_l, temperature_c, ..mash::Liquor::default() },
        how: mash::How::Displaced,
        to,
    };
    let programme = mash::Programme {
        mash_c: Some(64.2),
        waters: vec![
            water(10_000.0, None, mash::To::Washback),
            water(4_400.0, Some(76.0), mash::To::Washback),
            water(5_250.0, Some(85.0), mash::To::Next),
            water(4_000.0, Some(88.0), mash::To::Next),
        ],
    };
    let charge = mash::Charge {
        grist: mash::Grist {
            dry_kg: grist.dry_kg,
            moisture_wet: grist.moisture_wet,
            grist_c: grist.grist_c,
            extract_pct_dry,
            extract_recovery: grist.extract_recovery,
            ..mash::Grist::default()
        },
        weak_worts: mash::WeakWorts::default(),
    };
    let constants = mash::Constants::default();
    let mash = mash::steady(&charge, &mash::Vessel::default(), &programme, &constants)
        .expect("a customary batch runs");
    let worts = cool::Charge {
        volume_20_l: mash.worts.volume_20_l(),
        plato: mash.worts.plato(),
        temperature_c: mash.worts.temperature_c,
    };
    let cooling = cool::Programme::default();
    let cool = cool::run(&worts, &cool::Vessel::default(), &cooling, &cool::Constants::default())
        .expect("a customary batch runs");
    let charge = ferment::Charge { wort: mash.wort(), yeast: ferment::Yeast::default(), ph: 5.45 };
    let washback = ferment::Vessel { fill_l: cool.volume_20_l, ..ferment::Vessel::default() };
    let programme = ferment::Programme { set_c: cool.set_c, hours, every_h: 6.0 };
    let wash = ferment::run(&charge, &washback, &programme, &ferment::Constants::default())
        .expect("a customary batch runs");
    Batch { mash, cool, wash, malt_t }
}

/// The accounting of spirit yield with an extract of 77.0 % as it is, recovery 0.985 in the mash
/// and 0.998 in the pipes, fermentability 0.872 and Balling's alcohol forms 404.70 L of pure
/// alcohol a tonne of malt. The chain of stages, compared at the same point (what the gas carries
/// off counted), comes out 1.7 % lower: it recovers a little less extract, and at 84 h dextrin is
/// still opening.
/// Two per cent is the distance at which the accounting itself says to look for a fault.
#[test]
fn alcohol_a_tonne_against_the_published_accounting() {
    let batch = batch(77.0 / 0.955, 84.0);
    let end = &batch.wash.end;
    let carried_off = end.ethanol_lost_kg_m3 / end.ethanol_kg_m3;
    let a_tonne = batch.wash.wash.pure_alcohol_l * (1.0 + carried_off) / batch.malt_t;
    let recovered = 100.0 * batch.mash.worts.liquid.extract_kg / (770.0 * batch.malt_t);
    println!(
        "L/t {a_tonne:.1} (404.7 by the accounting); extract recovered {recovered:.2} % (98.30); \
         worts {:.1} L at {:.4}; set {:.2} °C; wash {:.2} % vol, gravity {:.4}, peak {:.1} °C",
        batch.mash.worts.volume_20_l(),
        batch.mash.worts.gravity(),
        batch.cool.set_c,
        batch.wash.wash.strength_pct,
        batch.wash.wash.gravity,
        batch.wash.peak_c,
    );
    assert!((a_tonne / 404.7 - 1.0).abs() < 0.02, "{a_tonne}");
    assert!((recovered - 98.3).abs() < 1.5, "{recovered}");
}

/// Common practice (no source): 380 to 420 L a tonne of modern malt before the stills' few per
/// cent, wash of 6 to 9 % vol, hot liquor from the cooler at 45 to 60 °C.
#[test]
fn a_batch_is_what_a_distiller_knows() {
    let batch = batch(79.5, 84.0);
    let a_tonne = batch.wash.wash.pure_alcohol_l / batch.malt_t;
    println!("{a_tonne:.1} L a tonne in the wash; hot liquor {:.1} °C", batch.cool.hot_liquor_c);
    assert!((380.0..420.0).contains(&a_tonne), "{a_tonne}");
    assert!((6.0..9.0).contains(&batch.wash.wash.strength_pct));
    assert!((45.0..60.0).contains(&batch.cool.hot_liquor_c), "{}", batch.cool.hot_liquor_c);
}

/// What one stage hands over is what the next one takes: extract and water, to a part in a billion.
#[test]
fn nothing_is_lost_between_the_stages() {
    let batch = batch(79.5, 84.0);
    let from_mash = batch.mash.worts.liquid.extract_kg;
    let in_washback = batch.wash.end.wort_extract_kg_m3 * batch.cool.volume_20_l / 1000.0;
    assert!((from_mash / in_washback - 1.0).abs() < 1e-9, "{from_mash} {in_washback}");
    let by_gravity = batch.mash.worts.gravity();
    assert!((by_gravity - batch.wash.end.original_gravity).abs() < 1e-9);
}
