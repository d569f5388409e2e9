//! The kiln and its queue.

use super::*;
use crate::maltings::queue::Load;
use std::sync::LazyLock;

/// Lit 204 h after casting.
const LIT_H: f64 = 250.0;

fn on_kiln(make: &str) -> Malted {
    let mut malted = malted(make, LIT_H);
    malted.kiln = Some(OnKiln {
        vessel: "kiln".into(),
        at: h(LIT_H),
        dry_kg: 8096.0,
        air_on_c: Vec::new(),
        air_off_c: Vec::new(),
        moisture_wet: Vec::new(),
        bed_c: Vec::new(),
        peat_kg: Vec::new(),
        oil_kg: Vec::new(),
        turns: Vec::new(),
    });
    malted
}

fn dried(malted: &Malted, after_h: f64) -> Kilned {
    kilning(&HOUSE, &standing(), malted, None, h(LIT_H + after_h)).expect("a usual kilning")
}

fn pale() -> &'static Kilned {
    static PALE: LazyLock<Kilned> = LazyLock::new(|| dried(&on_kiln("pale"), 22.0));
    &PALE
}

fn with_off(by_dk: f64) -> Kilned {
    let mut malted = on_kiln("pale");
    // About the break, where the air-off says most.
    let noted = [18.0, 20.0, 21.5].map(|at_h| {
        let off = pale().at(h(LIT_H + at_h)).expect("within the run").air_off_c;
        reading(LIT_H + at_h, off + by_dk)
    });
    malted.kiln.as_mut().expect("lit").air_off_c = noted.to_vec();
    dried(&malted, 22.0)
}

#[test]
fn a_colder_air_off_than_expected_means_a_later_break_and_finish() {
    let (cold, same) = (with_off(-6.0), with_off(0.0));
    let broke = |k: &Kilned| hours(k.lit_at, k.broke.expect("it breaks").likely);
    let ready = |k: &Kilned| hours(k.lit_at, k.ready.expect("it comes to it").likely);
    println!(
        "break {:.2} h, colder {:.2} h; dry {:.2} h, colder {:.2} h",
        broke(pale()),
        broke(&cold),
        ready(pale()),
        ready(&cold)
    );
    assert!(broke(&cold) > broke(&same) + 0.1, "{} {}", broke(&cold), broke(&same));
    assert!(ready(&cold) > ready(&same));
    assert!((broke(&same) - broke(pale())).abs() < 0.6, "{} {}", broke(&same), broke(pale()));
    assert!(cold.factors[0].value * cold.factors[1].value < 0.99, "{:?}", cold.factors);
    assert_eq!((pale().used, cold.used), (0, 3));
    let reach = |k: &Kilned| k.ready.expect("ready").reach_h();
    assert!(reach(&same) < reach(pale()), "{} {}", reach(&same), reach(pale()));
}

#[test]
fn a_colder_fire_than_set_dries_later() {
    let mut malted = on_kiln("pale");
    malted.kiln.as_mut().expect("lit").air_on_c =
        vec![reading(LIT_H + 2.0, 51.0), reading(LIT_H + 10.0, 51.0)];
    let cold = dried(&malted, 11.0);
    let on = |k: &Kilned, at_h: f64| k.at(h(LIT_H + at_h)).expect("within").air_on_c;
    assert!((on(&cold, 6.0) - 51.0).abs() < 0.05 && (on(pale(), 6.0) - 55.0).abs() < 0.05);
    assert!((on(&cold, 11.0) - 55.0).abs() < 0.05, "it is brought back");
    assert!(cold.ready.expect("ready").likely > pale().ready.expect("ready").likely);
    assert!((cold.noted_on[0].expected - 55.0).abs() < 1e-9);
}

#[test]
fn a_kilning_is_what_the_house_says_of_it() {
    let ember = dried(&on_kiln("ember"), 0.0);
    let value = |key: &str| ember.figure(key).map_or(f64::NAN, |f| f.value);
    // The make's aim is 34 mg/kg; its firing is set to it.
    assert!((25.0..45.0).contains(&value("phenols_mg_kg_dry")), "{}", value("phenols_mg_kg_dry"));
    let band = ember.figure("phenols_mg_kg_dry").and_then(|f| f.band.clone()).expect("a band");
    assert!(band.sd > 0.29 * value("phenols_mg_kg_dry"), "uptake is known to a third");
    let last = ember.points.last().expect("points");
    assert!((last.oil_kg - value("oil_kg")).abs() < 0.03 * value("oil_kg"), "{}", last.oil_kg);
    assert!((last.peat_kg - value("peat_kg")).abs() < 1e-6 * value("peat_kg"));
    assert!((value("hours") - 60.0).abs() < 1e-9);
    // The bed is what the floor left, not what was steeped.
    let bed = value("bed_dry_kg_m2") * 52.0;
    assert!(bed < 7900.0 && bed > 7200.0, "{bed}");
}

#[test]
fn peat_noted_is_peat_burnt() {
    let mut malted = on_kiln("feather");
    malted.kiln.as_mut().expect("lit").peat_kg = vec![reading(LIT_H + 4.0, 100.0)];
    let less = dried(&malted, 5.0);
    let peat = less.figure("peat_kg").map_or(f64::NAN, |f| f.value);
    assert!((peat - 100.0).abs() < 0.5, "{peat}");
    let usual = dried(&on_kiln("feather"), 5.0);
    let smoke = |k: &Kilned| k.figure("phenols_mg_kg_dry").map_or(f64::NAN, |f| f.value);
    assert!(smoke(&less) < 0.7 * smoke(&usual));
}

#[test]
fn the_piece_that_waits_costs_more_the_longer_it_waits() {
    let (first, mut second) = (of(&malted("pale", 90.0), 90.0), malted("pale", 90.0));
    second.piece = 62;
    let second = of(&second, 90.0);
    let queue = queue(&HOUSE, &standing(), &[first.clone(), second], None, h(90.0));
    assert_eq!(queue.len(), 2);
    assert_eq!(queue[0].load, Load::Piece(61));
    assert!(queue[0].costs_l == 0.0 && queue[0].waits_h == 0.0);
    let waiting = &queue[1];
    // The kiln is taken for 28 h and 5 h of turnaround.
    assert!((waiting.waits_h - 33.0).abs() < 0.01, "{}", waiting.waits_h);
    assert!(waiting.too_long && waiting.says[0].contains("Piece 62 waits 33 h"));
    println!("{:.1} kg, {:.1} L, {:.2} L/h", waiting.lost_kg, waiting.costs_l, waiting.costs_l_h);
    // Ready malt breathes some half a per cent a day, and its rootlets take more than half as much.
    let share = waiting.lost_kg / 7300.0 / (33.0 / 24.0);
    assert!((0.002..0.012).contains(&share), "{share}");
    assert!(waiting.costs_l > 0.38 * waiting.lost_kg, "litres a tonne or more");
    assert!(waiting.overgrown_more_pct > 0.0);
    let cooler = waiting.cooler_c.expect("a cooler floor avoids it");
    assert!(cooler < first.now.grain_c && cooler > 8.0, "{cooler}");
}

#[test]
fn a_wet_lot_takes_the_kiln_where_it_would_stand_idle() {
    let mut standing = standing();
    standing.lots.push(super::store::lot("wet 4", "two_row_wet", 20_000.0, 0.165));
    let piece = of(&malted("pale", 100.0), 100.0);
    let queue = queue(&HOUSE, &standing, &[piece], None, h(100.0));
    let lot = queue.iter().find(|w| w.load == Load::Lot("wet 4".into())).expect("in the queue");
    let dried = lot.dried.as_ref().expect("it can be dried");
    println!("{dried:?}");
    assert!(dried.air_on_c < 45.0 && dried.hours > 1.0 && dried.loads >= 1);
    assert!(lot.kiln_at >= h(100.0));
    let others = queue.iter().filter(|w| w.load != lot.load);
    for other in others {
        let (a, b) = (lot.kiln_at, later(lot.kiln_at, lot.kiln_h));
        assert!(b <= other.kiln_at || a >= later(other.kiln_at, other.kiln_h));
    }
}
