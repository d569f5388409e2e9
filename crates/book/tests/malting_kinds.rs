//! The entries of the maltings: what each keeps, what it posts, and what it refuses in words.

// The helpers of a test may unwrap as the tests themselves do.
#![allow(clippy::unwrap_used)]

mod common;

use book::{Account, Book, BookFault, Commodity, Noted, Noting, Role};
use common::minute;
use gauge::Node;
use jiff::Timestamp;

fn tell(book: &Book, at: i64, line: &str) -> Result<Noted, BookFault> {
    let mut words = line.split_whitespace();
    let kind = words.next().unwrap();
    let noting = Noting::from_pairs(kind, words.map(|w| w.split_once('=').unwrap()))?
        .id(format!("{at} {line}"))
        .at(minute(at))
        .noted(minute(9_999))
        .by("B. Holt", Role::Distiller);
    book.note(&noting)
}

fn told(lines: &[&str]) -> Book {
    let book = Book::in_memory().unwrap();
    for (at, line) in (0..).zip(lines) {
        assert_eq!(tell(&book, at, line).unwrap().marks, Vec::<String>::new(), "{line}");
    }
    book
}

fn says(book: &Book, line: &str) -> String {
    tell(book, 90, line).unwrap_err().to_string()
}

fn held(book: &Book, account: &str) -> f64 {
    let account: Account = account.parse().unwrap();
    book.balance(&account, Commodity::DryGrain, Timestamp::MAX).unwrap().units()
}

fn kept(book: &Book, serial: u64, key: &str) -> Node {
    book.entry(serial).unwrap().unwrap().data.get(key).unwrap().clone()
}

#[test]
fn a_lorry_with_a_deduction_is_paid_for_less_and_lies_in_the_silo_whole() {
    let book =
        told(&["intake lot=a barley=two_row vessel=barley_store kg=25000 moisture_wet=0.12 \
                       nitrogen_pct_dry=1.72 corn_weight_g=44 screenings_pct=4 admixture_pct=1.5 \
                       insects=no nose=sound decision=deduct deducted_pct=1.5 reason=nitrogen"]);
    assert!((held(&book, "lot/a") - 22_000.0).abs() < 1e-6);
    assert_eq!(kept(&book, 1, "paid_kg"), Node::Number(24_625.0));
    let lorry = "intake lot=b barley=two_row kg=100 moisture_wet=0.12";
    for (more, wanted) in [
        ("decision=deduct", "how many per cent"),
        ("deducted_pct=2", "deduct, where something is taken off"),
        ("nose=smokey", "smoky"),
        ("screenings_pct=120", "0 to 100 %"),
        ("decision=perhaps", "hold"),
        ("germinative_energy_4ml_pct=-1", "0 to 100 %"),
    ] {
        let said = says(&book, &format!("{lorry} {more}"));
        assert!(said.contains(wanted), "{more}: {said}");
    }
    let said = says(&book, "intake lot=b barley=two_row kg=100 moisture_wet=12");
    assert!(said.contains("0.12"), "{said}");
}

#[test]
fn a_lot_dried_whole_loses_what_the_scale_misses() {
    let book = told(&[
        "intake lot=a barley=two_row kg=25000 moisture_wet=0.165 decision=hold",
        "dry lot=a hours=14 air_on_c=42 kg=23650 moisture_wet=0.12",
    ]);
    // 25 000 · 0.835 = 20 875 kg of dry grain before, 23 650 · 0.88 = 20 812 after.
    assert!((held(&book, "lot/a") - 20_812.0).abs() < 1e-6);
    assert!((held(&book, "outside/drying_loss") - 63.0).abs() < 1e-6);
    assert_eq!(kept(&book, 2, "vessel"), Node::Text("kiln".into()));
    let said = says(&book, "dry lot=a hours=14 air_on_c=42 kg=9000 moisture_wet=0.2");
    assert!(said.contains("the barley before it was dried"), "{said}");
    let said = says(&book, "dry lot=z hours=14 air_on_c=42 from_kg=9500 kg=9000 moisture_wet=0.12");
    assert!(said.contains("which the book does not know"), "{said}");
    let said = says(&book, "dry lot=a hours=14 air_on_c=142 kg=9000 moisture_wet=0.12");
    assert!(said.contains("10 to 90 °C"), "{said}");
}

#[test]
fn a_batch_dried_takes_its_own_part_of_the_lot() {
    let book = told(&[
        "intake lot=a barley=two_row kg=25000 moisture_wet=0.165",
        "dry lot=a hours=14 air_on_c=42 from_kg=9000 kg=8500 moisture_wet=0.12",
    ]);
    // 9 000 · 0.835 = 7 515 kg go on the kiln and 8 500 · 0.88 = 7 480 come off it.
    assert!((held(&book, "lot/a") - (20_875.0 - 35.0)).abs() < 1e-6);
    assert!((held(&book, "outside/drying_loss") - 35.0).abs() < 1e-6);
}

#[test]
fn a_test_or_an_analysis_without_a_figure_says_what_it_wants() {
    let book = told(&["intake lot=a barley=two_row kg=25000 moisture_wet=0.12"]);
    let said = says(&book, "germination lot=a remark=none");
    assert!(said.contains("at least one figure of the test, or release yes or no"), "{said}");
    let said = says(&book, "laboratory piece=1 method=none");
    assert!(said.contains("at least one figure that was found"), "{said}");
    let said = says(&book, "laboratory piece=1 release=maybe");
    assert!(said.contains("yes") && said.contains("no"), "{said}");
    let said = says(&book, "laboratory piece=1 extract_pct_dry=0.79");
    assert!(said.contains("40 to 95"), "{said}");
    tell(&book, 5, "germination lot=a release=yes").unwrap();
    // The malt of a piece that was never stripped: asked about, not refused.
    let noted = tell(&book, 6, "laboratory piece=1 phenols_mg_kg_dry=33 method=colour").unwrap();
    assert_eq!(noted.marks, ["no strip of piece 1 is noted before it"]);
}

#[test]
fn a_turn_and_a_water_find_the_vessel_of_their_piece() {
    let book = told(&[
        "intake lot=a barley=two_row kg=25000 moisture_wet=0.12",
        "steep piece=1 vessel=steep_2 lot=a make=pale kg=9200 water_c=13.5",
        "water piece=1 act=drain",
        "water piece=1 act=spray water_c=12",
        "lay piece=1 vessel=floor_3",
        "turn piece=1 how=plough grain_c=15.5 expected.grain_c=15.1 expected_sd.grain_c=0.6",
        "thin piece=1 covered_fraction=0.8",
        "load piece=1",
        "turn piece=1",
    ]);
    let vessels = [(3, "steep_2"), (4, "steep_2"), (6, "floor_3"), (7, "floor_3"), (9, "kiln")];
    for (serial, vessel) in vessels {
        assert_eq!(kept(&book, serial, "vessel"), Node::Text(vessel.into()), "{serial}");
    }
    for (line, wanted) in [
        ("water piece=1", "act"),
        ("water piece=1 act=soak", "fill, drain, spray"),
        ("turn piece=1 how=shovel", "turn, plough"),
        ("turn piece=1 expected.grian_c=15", "grain_c"),
        ("thin piece=1", "covered_fraction"),
        ("thin piece=1 covered_fraction=80", "0.1 to 1"),
    ] {
        let said = says(&book, line);
        assert!(said.contains(wanted), "{line}: {said}");
    }
}

#[test]
fn a_firing_keeps_what_it_took_for_granted() {
    let book = told(&[
        "intake lot=a barley=two_row kg=25000 moisture_wet=0.12",
        "steep piece=1 vessel=steep_2 lot=a make=pale kg=9200",
        "firing piece=1 flow_kg_s=5.4 dry_c=55 dry_h=23 cure_c=68 cure_h=5",
    ]);
    for (key, value) in
        [("peat_h", 0.0), ("peat_flow_kg_s", 5.4), ("returned", 0.0), ("ramp_h", 0.5)]
    {
        assert_eq!(kept(&book, 3, key), Node::Number(value), "{key}");
    }
    let said = says(&book, "firing piece=1 flow_kg_s=5.4 dry_c=255 dry_h=23 cure_c=68 cure_h=5");
    assert!(said.contains("15 to 90 °C"), "{said}");
    let said = says(&book, "firing piece=1");
    for key in ["flow_kg_s", "dry_c", "dry_h", "cure_c", "cure_h"] {
        assert!(said.contains(key), "{key}: {said}");
    }
}

/// 9 200 kg at 12 % are 8 096 kg of dry grain; 4 775 and 2 865 kg at 4.5 % are 4 560.125 and
/// 2 736.075 kg: 799.8 kg lost in all, and nothing found too much.
#[test]
fn a_piece_stripped_to_two_bins_is_weighed_as_one() {
    let book = told(&[
        "intake lot=a barley=two_row kg=25000 moisture_wet=0.12",
        "steep piece=1 vessel=steep_1 lot=a make=pale kg=9200",
        "lay piece=1 vessel=floor_1",
        "load piece=1",
        "strip piece=1 vessel=bin_1 kg=4775 moisture_wet=0.045",
        "strip piece=1 vessel=bin_2 kg=2865 moisture_wet=0.045 hold=yes",
    ]);
    assert!((held(&book, "vessel/bin_1") - 4_560.125).abs() < 1e-6);
    assert!((held(&book, "vessel/bin_2") - 2_736.075).abs() < 1e-6);
    assert!((held(&book, "outside/malting_loss") - 799.8).abs() < 1e-6);
    assert_eq!(held(&book, "increase/kiln"), 0.0);
    assert_eq!(held(&book, "vessel/kiln"), 0.0);
    // A third bin with more than was ever steeped: the rest was found too much.
    tell(&book, 50, "strip piece=1 vessel=bin_3 kg=1000 moisture_wet=0.045").unwrap();
    assert_eq!(held(&book, "outside/malting_loss"), 0.0);
    assert!((held(&book, "increase/kiln") + (955.0 - 799.8)).abs() < 1e-6);
}
