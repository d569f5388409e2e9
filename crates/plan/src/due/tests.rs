//! The work of one Wednesday in the built-in house.

use super::*;
use house::quernholm;
use house::standing::{
    Bin, Kilning, Layer, Piece, Reading, Receiver, Running, Standing, Steeping, Washback,
};
use std::sync::LazyLock;

fn now() -> Timestamp {
    "2026-11-25T09:00:00Z".parse().expect("an instant")
}

fn before(hours: f64) -> Timestamp {
    crate::clock::later(now(), -hours)
}

fn forecasts() -> &'static Forecasts {
    static ALL: LazyLock<Forecasts> =
        LazyLock::new(|| Forecasts::of(&quernholm(), now()).expect("the house is sound"));
    &ALL
}

fn back(number: u32, mash: u32, hours: f64) -> Washback {
    Washback {
        vessel: format!("washback_{number}"),
        mash,
        make: "pale".into(),
        set_at: before(hours),
        bulk_l: 12_500.0,
        set_c: 19.0,
        original_gravity: 1.0575,
        yeast_kg: None,
        gravity: vec![Reading { at: before(5.0), value: 1.03 }],
        temperature_c: Vec::new(),
        ph: Vec::new(),
        declared_pct: None,
    }
}

fn receiver(vessel: &str, family: &str, volume_20_l: f64, strength_pct: f64) -> Receiver {
    Receiver {
        vessel: vessel.into(),
        family: family.into(),
        volume_20_l,
        strength_pct,
        pure_alcohol_l: volume_20_l * strength_pct / 100.0,
    }
}

fn standing() -> Standing {
    Standing {
        at: now(),
        steeps: vec![Steeping {
            vessel: "steep_1".into(),
            piece: 31,
            lot: "a".into(),
            make: "pale".into(),
            since: before(20.0),
            dry_kg: 8_096.0,
        }],
        floors: vec![
            Piece {
                vessel: "floor_2".into(),
                piece: 29,
                lot: "a".into(),
                make: "pale".into(),
                since: before(70.0),
                turned: before(10.0),
                dry_kg: 8_000.0,
                grain_c: None,
            },
            Piece {
                vessel: "floor_3".into(),
                piece: 28,
                lot: "a".into(),
                make: "pale".into(),
                since: before(190.0),
                turned: before(3.0),
                dry_kg: 8_000.0,
                grain_c: None,
            },
        ],
        kiln: Some(Kilning {
            vessel: "kiln".into(),
            piece: 27,
            make: "ember".into(),
            since: before(50.0),
            dry_kg: 7_600.0,
            air_off_c: vec![Reading { at: before(2.0), value: 30.0 }],
        }),
        bins: vec![Bin {
            vessel: "bin_1".into(),
            layers: vec![Layer {
                piece: 20,
                make: "pale".into(),
                since: before(24.0 * 30.0),
                dry_kg: 14_000.0,
                moisture_wet: 0.045,
                phenols_mg_kg_dry: 0.0,
                parts: Vec::new(),
                analysis: None,
                held: false,
            }],
        }],
        washbacks: vec![back(1, 77, 87.0), back(2, 78, 76.0), back(3, 79, 20.0)],
        receivers: vec![
            receiver("low_wines_receiver", "pale", 9_000.0, 21.0),
            receiver("feints_receiver_1", "pale", 4_000.0, 32.0),
            receiver("filling_vat", "pale", 12_000.0, 71.0),
        ],
        stills: vec![Running {
            vessel: "spirit_still_2".into(),
            run: 51,
            make: "ember".into(),
            since: before(1.0),
            pure_alcohol_l: 1_200.0,
        }],
        ..Standing::default()
    }
}

fn work() -> Vec<Work> {
    due(&quernholm(), &standing(), forecasts(), now(), 36.0)
}

fn find<'w>(work: &'w [Work], kind: TaskKind, act: &str, vessel: &str) -> &'w Work {
    let found = work.iter().find(|w| w.kind == kind && w.act == act && w.vessel == vessel);
    found.unwrap_or_else(|| panic!("no {act} of {vessel}"))
}

fn number(work: &Work, key: &str) -> f64 {
    work.figures.iter().find(|n| n.key == key).map_or(f64::NAN, |n| n.value)
}

#[test]
fn a_day_of_work_is_shown() {
    for w in work() {
        let figures: Vec<String> = w
            .figures
            .iter()
            .map(|n| format!("{} {:.*} {}", n.label, usize::from(n.decimals), n.value, n.unit))
            .collect();
        println!(
            "{} {:4} {} {} {} [{}] {}",
            w.at,
            w.late_min,
            w.act,
            w.vessel_name,
            w.make_name.as_deref().unwrap_or(""),
            figures.join("; "),
            w.why.as_deref().unwrap_or("")
        );
    }
}

#[test]
fn a_number_says_whether_it_counts_pieces_mashes_or_runs() {
    let work = work();
    let word = |kind, act, vessel| find(&work, kind, act, vessel).lot_word;
    assert_eq!(word(TaskKind::Turn, "turn", "floor_2"), "piece");
    assert_eq!(word(TaskKind::Kiln, "strip", "kiln"), "piece");
    assert_eq!(word(TaskKind::Mash, "mash in", "mash_tun"), "mash");
    let note = "note gravity and temperature";
    assert_eq!(word(TaskKind::Reading, note, "washback_3"), "mash");
    assert_eq!(word(TaskKind::ChargeWash, "charge", "wash_still"), "mash");
    assert_eq!(word(TaskKind::Reading, "to feints", "spirit_still_2"), "run");
}

#[test]
fn an_empty_house_still_has_its_calendar() {
    let work = due(&quernholm(), &Standing::default(), forecasts(), now(), 36.0);
    let mash = find(&work, TaskKind::Mash, "mash in", "mash_tun");
    assert_eq!(mash.why.as_deref(), Some("no malt has rested long enough"));
    assert!(work.iter().all(|w| w.kind != TaskKind::ChargeWash));
}

#[test]
fn midwinter_has_neither_mashes_nor_filling() {
    let at = "2026-12-23T09:00:00Z".parse().expect("an instant");
    let work = due(&quernholm(), &Standing::default(), forecasts(), at, 36.0);
    assert!(work.is_empty(), "{work:?}");
}

#[test]
fn late_work_comes_first_and_says_how_late() {
    let work = work();
    let late: Vec<&Work> = work.iter().take_while(|w| w.late_min > 0).collect();
    assert!(work.iter().skip(late.len()).all(|w| w.late_min == 0));
    let turn = find(&work, TaskKind::Turn, "turn", "floor_2");
    assert_eq!(turn.late_min, 120);
    assert!(number(turn, "grain_c") > 10.0, "{turn:?}");
    // Washback 1 passed its usual hours three hours ago.
    let charge = find(&work, TaskKind::ChargeWash, "charge", "wash_still");
    assert_eq!((charge.lot, charge.late_min), (Some(77), 180));
    let latest = charge.latest.expect("a latest time");
    assert!(latest > now() && latest <= crate::clock::later(before(87.0), 120.0), "{latest}");
}

#[test]
fn the_second_washback_waits_for_the_still() {
    let work = work();
    let second = work.iter().find(|w| w.kind == TaskKind::ChargeWash && w.lot == Some(78));
    let second = second.expect("its charge");
    assert!(second.at > now() && second.at < crate::clock::later(now(), 12.0), "{}", second.at);
}

#[test]
fn a_mash_shows_its_striking_heat_and_sets_a_free_washback() {
    let work = work();
    let mash = find(&work, TaskKind::Mash, "mash in", "mash_tun");
    assert_eq!(mash.make.as_deref(), Some("pale"));
    assert!((66.0..73.0).contains(&number(mash, "strike_c")), "{mash:?}");
    assert!(number(mash, "first_water_l") > 9_000.0 && number(mash, "grist_kg") > 2_400.0);
    assert_eq!(mash.needs[0].key, "mash_c");
    let set = work.iter().find(|w| w.kind == TaskKind::FillWashback).expect("worts to set");
    assert_eq!(set.vessel, "washback_4");
    assert!((1.05..1.07).contains(&number(set, "original_gravity")));
}

#[test]
fn a_decided_mash_is_struck_as_decided_and_the_calendar_is_numbered() {
    let work = work();
    let mash = find(&work, TaskKind::Mash, "mash in", "mash_tun");
    let lot = mash.lot.expect("a number");
    let kept = house::KeptMash {
        mash: lot,
        since: before(1.0),
        mash_c: Some(62.2),
        waters_l: Vec::new(),
        waters_c: Vec::new(),
        set_c: None,
        yeast_kg: Some(72.0),
        hours: None,
    };
    let decided = Standing { sheets: vec![kept], ..standing() };
    let other = due(&quernholm(), &decided, forecasts(), now(), 36.0);
    let cooler = find(&other, TaskKind::Mash, "mash in", "mash_tun");
    assert!((number(cooler, "mash_c") - 62.2).abs() < 1e-9, "{cooler:?}");
    let apart = number(mash, "strike_c") - number(cooler, "strike_c");
    assert!((1.9..2.8).contains(&apart), "{apart}");
    let set = other.iter().find(|w| w.kind == TaskKind::FillWashback).expect("worts to set");
    assert!((number(set, "yeast_kg") - 72.0).abs() < 1e-9);
    let when = coming_mashes(&quernholm(), &standing(), now(), 36.0);
    assert_eq!(when[0].mash, lot);
    assert!(when.windows(2).all(|w| w[1].mash == w[0].mash + 1 && w[1].at > w[0].at));
}

#[test]
fn charges_come_in_order_and_none_overlaps_the_next() {
    let all = charges(&work());
    assert_eq!(all[0].mash, 77);
    assert!(all.len() >= 2 && all.windows(2).all(|c| c[0].at < c[1].at), "{all:?}");
}

#[test]
fn the_kiln_is_read_stripped_and_loaded_in_turn() {
    let work = work();
    let reading = find(&work, TaskKind::Reading, "note the air-off", "kiln");
    assert_eq!(reading.at, crate::clock::later(now(), 2.0));
    assert!(number(reading, "air_off_c") > 20.0);
    let strip = find(&work, TaskKind::Kiln, "strip", "kiln");
    assert_eq!(strip.at, crate::clock::later(before(50.0), 60.0));
    let load = find(&work, TaskKind::Kiln, "load", "kiln");
    assert_eq!(load.lot, Some(28));
    assert!(load.at >= crate::clock::later(strip.at, 5.0));
}

#[test]
fn a_run_shows_its_cuts_and_thursday_its_filling() {
    let work = work();
    let cut = find(&work, TaskKind::Reading, "to feints", "spirit_still_2");
    assert!((number(cut, "heart_to_pct") - 59.0).abs() < 0.1, "{cut:?}");
    let fill = find(&work, TaskKind::FillCasks, "reduce and fill", "filling_store");
    assert_eq!(fill.at.to_string(), "2026-11-26T08:00:00Z");
    // 12 000 L of 71 % to 62.8 %: pure alcohol stays, 8 520 L.
    assert!((number(fill, "volume_20_l") - 13_566.9).abs() < 0.1);
    assert!(number(fill, "water_kg") > 1_566.9 * 0.998, "spirit shrinks, so more than the gap");
}

/// What a hand is told of a run hangs on what was charged and on the cut the house keeps to now.
#[test]
fn a_kept_cut_and_the_real_charge_move_what_is_due() {
    let at = |standing: &Standing| {
        let work = due(&quernholm(), standing, forecasts(), now(), 36.0);
        let cut = find(&work, TaskKind::Reading, "to feints", "spirit_still_2");
        let charge = find(&work, TaskKind::ChargeSpirit, "charge", "spirit_still_1");
        (cut.at, number(cut, "heart_to_pct"), number(charge, "heart_to_pct"))
    };
    let usual = at(&standing());
    let kept = |make: &str, heart_to_pct| house::KeptCuts {
        make: make.into(),
        heart_from_min: 20.0,
        heart_to_pct,
        ..house::KeptCuts::default()
    };
    let cuts = vec![kept("ember", 63.0), kept("pale", 67.0)];
    let earlier = at(&Standing { cuts, ..standing() });
    assert_eq!((usual.1, usual.2), (59.0, 65.0));
    assert_eq!((earlier.1, earlier.2), (63.0, 67.0));
    assert!(earlier.0 < usual.0, "{} {}", earlier.0, usual.0);
    let mut more = standing();
    more.stills[0].pure_alcohol_l = 1_350.0;
    assert!(at(&more).0 > usual.0, "a larger charge runs longer");
}

#[test]
fn the_same_work_keeps_its_name_a_minute_later() {
    let later = crate::clock::later(now(), 1.0 / 60.0);
    let ids = |now| -> Vec<String> {
        let work = due(&quernholm(), &standing(), forecasts(), now, 36.0);
        work.into_iter().filter(|w| w.kind != TaskKind::Reading).map(|w| w.id).collect()
    };
    let (first, second) = (ids(now()), ids(later));
    let lost: Vec<&String> = first.iter().filter(|id| !second.contains(id)).collect();
    let late_turns = |id: &&String| !id.starts_with("turn") && !id.starts_with("charge_spirit");
    assert!(!lost.iter().copied().any(|id| late_turns(&id)), "{lost:?}");
    let mut all = first.clone();
    all.sort();
    all.dedup();
    assert_eq!(all.len(), first.len(), "two pieces of work have one name");
}

/// A piece that the book has followed: steeped 116 h ago, cast 70 h ago, turned every eight hours
/// until ten hours ago.
fn followed() -> house::Malted {
    use house::malted::{Drawn, Laid, Malted, Steeped, Turned, Turning};
    let turns = (1..=7)
        .map(|turn| Turned { at: before(70.0 - 60.0 / 7.0 * f64::from(turn)), how: Turning::Full });
    Malted {
        piece: 29,
        make: "pale".into(),
        parts: vec![Drawn {
            lot: "a".into(),
            barley: "two_row".into(),
            dry_kg: 8_096.0,
            moisture_wet: 0.12,
            at: before(116.0),
        }],
        steep: Steeped { vessel: "steep_1".into(), at: before(116.0), ..Steeped::default() },
        floor: Some(Laid {
            vessel: "floor_2".into(),
            at: before(70.0),
            dry_kg: 8_096.0,
            wet_cast: false,
            turns: turns.collect(),
            spreads: Vec::new(),
            grain_c: Vec::new(),
            acrospire: Vec::new(),
        }),
        ..Malted::default()
    }
}

#[test]
fn a_piece_unturned_for_ten_hours_is_flagged_before_it_felts() {
    let standing = Standing { malted: vec![followed()], ..standing() };
    let work = due(&quernholm(), &standing, forecasts(), now(), 36.0);
    let turn = find(&work, TaskKind::Turn, "turn", "floor_2");
    // The house felts at twelve hours: two are left.
    let latest = turn.latest.expect("a time by which it felts");
    assert!((crate::clock::hours(now(), latest) - 2.0).abs() < 0.01);
    assert!(turn.at <= now() && turn.why.as_deref().is_some_and(|why| why.contains("felts")));
    let grain = turn.figures.iter().find(|n| n.key == "grain_c").expect("what to expect");
    assert!(grain.band.is_some_and(|(low, high)| low < grain.value && grain.value < high));
    // The other pieces go by the forecast of their make, as before.
    find(&work, TaskKind::Turn, "turn", "floor_3");
}
