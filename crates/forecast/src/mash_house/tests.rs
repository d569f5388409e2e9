//! The mash house on the built-in house.

use super::*;
use crate::maltings::seen::later;
use house::mashed::{Mashed, MashedIn, Water};
use house::standing::Standing;
use house::{House, KeptMash, quernholm};
use jiff::Timestamp;
use std::sync::LazyLock;

static HOUSE: LazyLock<House> = LazyLock::new(quernholm);

fn now() -> Timestamp {
    "2026-10-22T06:00:00Z".parse().expect("an instant")
}

fn when(mash: u32, after_h: f64) -> When {
    When { mash, make: "pale".into(), at: later(now(), after_h) }
}

fn standing() -> Standing {
    Standing { at: now(), ..Standing::default() }
}

fn next() -> Wished {
    let all = coming(&HOUSE, &standing(), &[when(84, 0.5), when(85, 8.5)], now());
    all[1].clone()
}

fn begun(strike_c: f64, mash_c: Option<f64>) -> Mashed {
    Mashed {
        mash: 84,
        make: "pale".into(),
        mashed_in: Some(MashedIn {
            vessel: "mash_tun".into(),
            at: now(),
            dry_kg: 2382.7,
            moisture_wet: 0.045,
            grist_c: None,
            tun_c: None,
            strike_c: Some(strike_c),
            water_l: Some(10_000.0),
            water_gravity: None,
            mash_c,
        }),
        ..Mashed::default()
    }
}

#[test]
fn a_sheet_has_its_striking_heat_over_the_mash_and_its_sum_closes() {
    let fitted = TunFitted::believed(&HOUSE);
    let sheet = sheet(&HOUSE, &standing(), &fitted, &next()).expect("it can be drawn");
    assert!((sheet.mash.value - 64.2).abs() < 1e-6, "{:?}", sheet.mash);
    assert!(sheet.strike.value > sheet.mash.value + 2.0, "{:?}", sheet.strike);
    let (given, asked) = sheet.heat.split_last().expect("lines");
    let whole: f64 = asked.iter().map(|line| line.mj).sum();
    assert!((whole - given.mj).abs() < 0.005 * given.mj, "{whole} {}", given.mj);
    let sd = sheet.strike.band.as_ref().expect("a band").sd;
    assert!((0.05..2.0).contains(&sd), "{sd}");
    let alone = striking_heat(&HOUSE, &standing(), &fitted, &next()).expect("it can be reckoned");
    assert!((alone.value - sheet.strike.value).abs() < 1e-6, "{alone:?}");
    assert!((alone.band.expect("a band").sd - sd).abs() < 0.05 * sd);
    assert!((0.7..1.0).contains(&sheet.moves_c), "{}", sheet.moves_c);
    let shares: f64 = sheet.heat_by.iter().map(|(_, share)| share).sum();
    assert!(shares > 0.95 && shares < 1.0 + 1e-9, "{shares}");
}

#[test]
fn the_extract_goes_somewhere_to_the_last_kilogram() {
    let fitted = TunFitted::believed(&HOUSE);
    let sheet = sheet(&HOUSE, &standing(), &fitted, &next()).expect("it can be drawn");
    let kg = |i: usize| sheet.chain[i].kg;
    let last = sheet.chain.len() - 1;
    let between: f64 = (1..last).map(kg).sum();
    assert!((kg(0) - between - kg(last)).abs() < 1.0, "{:?}", sheet.chain);
    // Common practice, no source: 97 to 99.5 % of the laboratory's extract.
    assert!((97.0..99.5).contains(&sheet.recovery_pct), "{}", sheet.recovery_pct);
    assert_eq!(sheet.waters.len(), 4);
    assert_eq!(sheet.waters[2].to, "mash 86");
    assert!(sheet.points.windows(2).all(|p| p[0].run_off_l <= p[1].run_off_l));
}

#[test]
fn a_mash_noted_cooler_re_reckons_what_follows() {
    let fitted = TunFitted::believed(&HOUSE);
    let at = later(now(), 3.0);
    let as_asked = begun(70.0, Some(64.2));
    let cool = begun(69.2, Some(63.4));
    let of = |mashed: &Mashed| {
        let standing = Standing { mashed: vec![mashed.clone()], ..standing() };
        under_way(&HOUSE, &standing, &fitted, mashed, at).expect("it can be reckoned")
    };
    let (asked, found) = (of(&as_asked), of(&cool));
    assert!((found.now.mash.value - 63.4).abs() < 1e-6, "{:?}", found.now.mash);
    assert!((found.asked.mash.value - 64.2).abs() < 1e-6, "{:?}", found.asked.mash);
    assert!(found.says.contains("0.8 °C under"), "{}", found.says);
    assert!(asked.says.contains("as asked"), "{}", asked.says);
    // A cooler mash keeps more beta-amylase: it ferments out further.
    let line = found.lines.iter().find(|l| l.what == "Mash").expect("a line");
    assert!(line.follows.contains("further"), "{line:?}");
    assert!((line.apart + 0.8).abs() < 1e-9, "{line:?}");
    assert!(found.now.waters[1].bed_c < found.asked.waters[1].bed_c - 0.2);
}

#[test]
fn a_second_water_noted_cooler_cools_the_bed_after_it() {
    let fitted = TunFitted::believed(&HOUSE);
    let mut mashed = begun(70.0, Some(64.2));
    let (volume_l, temperature_c) = (Some(4_400.0), Some(70.0));
    mashed.waters.push(Water { water: 2, at: later(now(), 2.2), volume_l, temperature_c });
    let standing = Standing { mashed: vec![mashed.clone()], ..standing() };
    let at = later(now(), 3.0);
    let found = under_way(&HOUSE, &standing, &fitted, &mashed, at).expect("it can be reckoned");
    let bed = |sheet: &Sheet, i: usize| sheet.waters[i].bed_c;
    assert!(bed(&found.now, 1) < bed(&found.asked, 1) - 1.0);
    assert!(bed(&found.now, 2) < bed(&found.asked, 2));
    assert!(found.now.waters[1].noted && !found.asked.waters[1].noted);
}

#[test]
fn mashes_that_struck_too_cool_teach_the_heat_of_the_tun() {
    // A tun that takes 40 % more heat than the file says, told by six mashes.
    let mut heavy = TunFitted::believed(&HOUSE);
    heavy.vessel.tun_kj_k *= 1.4;
    let past: Vec<Mashed> = (0..6)
        .map(|n| {
            let mut one = begun(70.0 + 0.3 * f64::from(n), None);
            one.mash = 70 + n;
            let others = Others { mashed: &[], sheets: &[] };
            let run = as_noted(&HOUSE, others, &heavy, &one).and_then(|s| s.mash());
            let mash_c = run.expect("it runs").mash_c;
            one.mashed_in.as_mut().expect("begun").mash_c = Some(mash_c);
            one
        })
        .collect();
    let fitted = tun(&HOUSE, &past);
    assert_eq!(fitted.mashes, 6);
    let found = &fitted.factors[0];
    // The prior holds it back; six mashes of 0.4 K each are a good part of the way.
    let way = found.value.ln() / 1.4_f64.ln();
    assert!((0.2..1.05).contains(&way), "{found:?}");
    assert!(found.sd < found.before_sd, "{found:?}");
    let believed = TunFitted::believed(&HOUSE);
    let strike = |f: &TunFitted| {
        sheet(&HOUSE, &standing(), f, &next()).expect("it can be drawn").strike.value
    };
    let apart = |f: &TunFitted| (strike(f) - strike(&heavy)).abs();
    assert!(apart(&fitted) < 0.8 * apart(&believed) + 1e-9);
}

#[test]
fn a_decision_for_a_mash_holds_and_a_stop_drains_the_last_worts() {
    let kept = KeptMash {
        mash: 85,
        since: now(),
        mash_c: Some(62.5),
        waters_l: Vec::new(),
        waters_c: vec![74.0],
        set_c: Some(20.0),
        yeast_kg: None,
        hours: Some(72.0),
    };
    let standing = Standing { sheets: vec![kept], ..standing() };
    let calendar = [when(84, 0.5), when(85, 8.5), when(86, 72.0)];
    let all = coming(&HOUSE, &standing, &calendar, now());
    assert!(!all[0].decided && all[1].decided);
    assert_eq!(all[1].mash_c, 62.5);
    assert_eq!(all[1].waters[1].temperature_c, Some(74.0));
    assert_eq!(all[0].stops.map(|s| s.0), Some(85));
    assert!(!all[2].on_weak_worts && all[1].on_weak_worts);
    let fitted = TunFitted::believed(&HOUSE);
    let sheet = sheet(&HOUSE, &standing, &fitted, &all[1]).expect("it can be drawn");
    let stop = sheet.stop.expect("a stop");
    assert!(stop.lost_kg > 20.0 && stop.lost_l > 10.0, "{stop:?}");
    assert_eq!(sheet.waters[3].to, "drain");
}

#[test]
fn the_pit_fills_with_each_mash_until_a_farm_lifts() {
    let calendar = [when(84, 0.5), when(85, 8.5), when(86, 24.5)];
    let standing = Standing { draff_dry_kg: 4_600.0, ..standing() };
    let all = coming(&HOUSE, &standing, &calendar, now());
    let full = pit(&HOUSE, &standing, &all, 3.1, &[], now()).expect("a pit");
    assert!((full.t - 20.0).abs() < 1e-9);
    assert_eq!(full.full_in, Some(85));
    let lifted = [Uplift { at: later(now(), 10.0), t: 14.0 }];
    let eased = pit(&HOUSE, &standing, &all, 3.1, &lifted, now()).expect("a pit");
    assert_eq!(eased.full_at, None);
}

#[test]
fn every_make_has_a_sheet_and_a_done_mash_shows_what_ran_off_and_how_long_it_was_set() {
    let fitted = TunFitted::believed(&HOUSE);
    for make in &HOUSE.makes.makes {
        let when = [When { mash: 85, make: make.key.clone(), at: later(now(), 8.5) }];
        let wished = coming(&HOUSE, &standing(), &when, now()).remove(0);
        let sheet = sheet(&HOUSE, &standing(), &fitted, &wished).expect("it can be drawn");
        // Common practice, no source: worts of 1.040 to 1.070, set at 16 to 22 °C.
        assert!((1.040..1.070).contains(&sheet.gravity.value), "{:?}", sheet.gravity);
        assert!((16.0..=22.0).contains(&sheet.set.value), "{:?}", sheet.set);
    }
    let mut past = begun(70.0, Some(63.9));
    let others = Others { mashed: &[], sheets: &[] };
    let run = as_noted(&HOUSE, others, &fitted, &past).and_then(|s| s.mash()).expect("it runs");
    let set_at = later(now(), 3.5 + 41.0 / 60.0);
    past.set = Some(house::mashed::Set {
        vessel: "washback_3".into(),
        at: set_at,
        bulk_l: run.worts.volume_20_l(),
        set_c: 20.0,
        original_gravity: run.worts.gravity(),
        yeast_kg: None,
    });
    let value = run.steps[0].run_off.gravity();
    past.run_off_gravity.push(house::standing::Reading { at: later(now(), 1.0), value });
    past.set_bed.push(later(now(), 1.4));
    let done = done(&HOUSE, &fitted, &[], &past).expect("it was mashed in");
    assert!((done.recovered_pct.expect("set") - done.expected_pct).abs() < 0.2, "{done:?}");
    assert!((done.set_bed.expect("set") - 41.0).abs() < 0.5, "{:?}", done.set_bed);
    assert!((done.mash_apart_c.expect("noted") + 0.3).abs() < 1e-9);
    let (hour, noted) = done.noted[0];
    let near = done.points.iter().min_by(|a, b| (a.0 - hour).abs().total_cmp(&(b.0 - hour).abs()));
    assert!((near.expect("points").1 - noted).abs() < 1e-6);
}
