//! Pieces of malt: what is told of them comes back as it was noted, in the order of time, with
//! what was reversed left out; lots, layers and what stands know what was found of them.

// The helpers of a test may unwrap as the tests themselves do.
#![allow(clippy::unwrap_used)]

mod common;

use book::derived::Derived;
use book::store::Disk;
use book::{Account, Amount, Book, BookFault, Commodity, Entry, Heading, Last, Noted, Noting};
use book::{Posting, Role};
use common::minute;
use gauge::Node;
use house::malted::{Act, Malted, Turning};
use jiff::Timestamp;

fn tell(book: &Book, at: i64, line: &str) -> Result<Noted, BookFault> {
    let mut words = line.split_whitespace();
    let kind = words.next().unwrap();
    let noting = Noting::from_pairs(kind, words.map(|w| w.split_once('=').unwrap()))?
        .id(format!("{at} {line}"))
        .at(minute(at))
        .noted(minute(99_999))
        .by("B. Holt", Role::Distiller);
    book.note(&noting)
}

/// A piece of two lots to two bins, and the steeping of the next. Minutes are hours here.
const TOLD: &[(i64, &str)] = &[
    (
        0,
        "intake lot=a barley=two_row vessel=silo_1 kg=25000 moisture_wet=0.12 \
         nitrogen_pct_dry=1.5 corn_weight_g=46 germinative_energy_4ml_pct=97 decision=hold \
         reason=to_be_tested",
    ),
    (
        1,
        "intake lot=a barley=two_row vessel=silo_1 kg=25000 moisture_wet=0.12 \
         nitrogen_pct_dry=1.6 corn_weight_g=44",
    ),
    (2, "intake lot=b barley=two_row_old kg=12500 moisture_wet=0.12"),
    (
        60,
        "germination lot=a germinative_energy_4ml_pct=98 germinative_energy_8ml_pct=90 \
          release=yes",
    ),
    (100, "steep piece=1 vessel=steep_1 lot=a make=ember kg=6000 water_c=13.5"),
    (101, "steep piece=1 vessel=steep_1 lot=b make=ember kg=3000"),
    (109, "water piece=1 act=drain"),
    (112, "reading vessel=steep_1 moisture_wet=0.34 temperature_c=14.1"),
    (119, "water piece=1 act=fill water_c=13"),
    (145, "reading vessel=steep_1 moisture_wet=0.45"),
    (146, "lay piece=1 vessel=floor_1 wet=yes"),
    (150, "steep piece=2 vessel=steep_1 lot=a make=ember kg=9200"),
    (151, "reading vessel=steep_1 moisture_wet=0.2 temperature_c=12"),
    (154, "turn piece=1 how=plough grain_c=14"),
    (160, "thin piece=1 covered_fraction=0.9 grain_c=15"),
    (162, "turn piece=1"),
    (163, "reading vessel=floor_1 grain_c=14.5 acrospire=0.4"),
    (
        300,
        "firing piece=1 flow_kg_s=3.5 dry_c=52 dry_h=25 cure_c=68 cure_h=5 peat_h=30 \
           peat_kg_t=310 peat_flow_kg_s=4 peat_c=42 wanted_phenols_mg_kg_dry=34",
    ),
    (346, "load piece=1"),
    (350, "reading vessel=kiln air_on_c=42 air_off_c=24 peat_kg=240 oil_kg=110"),
    (
        360,
        "firing piece=1 flow_kg_s=3.5 dry_c=54 dry_h=25 cure_c=68 cure_h=5 peat_h=28 \
           peat_kg_t=300",
    ),
    (370, "turn piece=1 grain_c=30"),
    (380, "reading vessel=kiln air_off_c=40 bed_c=45 moisture_wet=0.12"),
    (406, "strip piece=1 vessel=bin_1 kg=4775 moisture_wet=0.045 phenols_mg_kg_dry=33 hold=yes"),
    (407, "strip piece=1 vessel=bin_2 kg=2865 moisture_wet=0.045 phenols_mg_kg_dry=33 hold=yes"),
    (408, "reading vessel=kiln air_off_c=19"),
    (500, "laboratory piece=1 moisture_wet=0.046 phenols_mg_kg_dry=31 method=colour release=no"),
    (600, "laboratory piece=1 extract_pct_dry=79.4 release=yes"),
];

fn told() -> Book {
    let book = Book::in_memory().unwrap();
    for (at, line) in TOLD {
        assert_eq!(tell(&book, *at, line).unwrap().marks, Vec::<String>::new(), "{line}");
    }
    book
}

fn at(minutes: i64) -> Timestamp {
    minute(minutes).timestamp()
}

fn piece(book: &Book, number: u32) -> Malted {
    book.piece(number, Timestamp::MAX).unwrap().unwrap()
}

#[test]
fn a_piece_is_what_was_noted_from_steep_to_bin() {
    let piece = piece(&told(), 1);
    assert_eq!((piece.piece, piece.make.as_str()), (1, "ember"));
    let parts: Vec<_> = piece.parts.iter().map(|p| (p.lot.as_str(), p.barley.as_str())).collect();
    assert_eq!(parts, [("a", "two_row"), ("b", "two_row_old")]);
    assert!((piece.parts[0].dry_kg - 5_280.0).abs() < 1e-9);
    let steep = &piece.steep;
    assert_eq!((steep.vessel.as_str(), steep.at), ("steep_1", at(100)));
    let waters: Vec<_> = steep.waters.iter().map(|w| (w.act, w.water_c)).collect();
    assert_eq!(waters, [(Act::Drain, None), (Act::Fill, Some(13.0))]);
    let found = |of: &[house::standing::Reading]| of.iter().map(|r| r.value).collect::<Vec<_>>();
    // What was read in the same steep of the next piece is not of this one.
    assert_eq!(found(&steep.moisture_wet), [0.34, 0.45]);
    assert_eq!(found(&steep.temperature_c), [13.5, 14.1]);
    let floor = piece.floor.as_ref().unwrap();
    assert!(floor.wet_cast && floor.at == at(146));
    assert!((floor.dry_kg - 9_000.0 * 0.88).abs() < 1e-6);
    let turns: Vec<_> = floor.turns.iter().map(|t| (t.at, t.how)).collect();
    assert_eq!(turns, [(at(154), Turning::Plough), (at(162), Turning::Full)]);
    assert_eq!(floor.spreads[0].covered_fraction, 0.9);
    assert_eq!(found(&floor.grain_c), [14.0, 15.0, 14.5]);
    assert_eq!(found(&floor.acrospire), [0.4]);
    let kiln = piece.kiln.as_ref().unwrap();
    assert_eq!((kiln.vessel.as_str(), kiln.at), ("kiln", at(346)));
    assert_eq!(kiln.turns, [at(370)]);
    assert_eq!((found(&kiln.air_on_c), found(&kiln.air_off_c)), (vec![42.0], vec![24.0, 40.0]));
    assert_eq!((found(&kiln.peat_kg), found(&kiln.oil_kg)), (vec![240.0], vec![110.0]));
    assert_eq!((found(&kiln.bed_c), found(&kiln.moisture_wet)), (vec![30.0, 45.0], vec![0.12]));
    let bins: Vec<_> = piece.stripped.iter().map(|s| (s.bin.as_str(), s.kg)).collect();
    assert_eq!(bins, [("bin_1", 4_775.0), ("bin_2", 2_865.0)]);
    assert_eq!(piece.analyses[0].method, "colour");
    assert_eq!((piece.analyses[0].release, piece.analyses[1].release), (Some(false), Some(true)));
}

#[test]
fn a_piece_is_asked_as_far_as_it_had_come_newest_first() {
    let book = told();
    assert_eq!(book.piece(1, at(99)).unwrap(), None);
    assert_eq!(book.piece(9, Timestamp::MAX).unwrap(), None);
    let wet = book.piece(1, at(120)).unwrap().unwrap();
    assert!(wet.floor.is_none() && wet.steep.waters.len() == 2);
    let pieces = book.pieces(Timestamp::MIN, Timestamp::MAX, 9).unwrap();
    assert_eq!(pieces.iter().map(|p| p.piece).collect::<Vec<_>>(), [2, 1]);
    assert_eq!(book.pieces(at(120), Timestamp::MAX, 9).unwrap().len(), 1);
    assert_eq!(book.pieces(Timestamp::MIN, Timestamp::MAX, 1).unwrap()[0].piece, 2);
    assert_eq!(book.pieces(Timestamp::MIN, at(120), 9).unwrap(), [wet]);
}

#[test]
fn the_firing_that_was_kept_last_holds() {
    let book = told();
    assert_eq!(book.firing(1, at(299)).unwrap(), None);
    let first = book.firing(1, at(350)).unwrap().unwrap();
    assert_eq!((first.peat_flow_kg_s, first.peat_c), (4.0, 42.0));
    assert_eq!(first.wanted_phenols_mg_kg_dry, Some(34.0));
    let last = book.firing(1, at(400)).unwrap().unwrap();
    assert_eq!((last.since, last.peat_h, last.peat_flow_kg_s), (at(360), 28.0, 3.5));
}

#[test]
fn what_is_reversed_is_left_out_and_what_is_noted_late_falls_into_its_place() {
    let book = told();
    let turn = book.acts(book::kind::Subject::Piece, "1", (at(154), at(154))).unwrap()[0].serial;
    tell(&book, 170, &format!("contra of={turn} reason=floor_2")).unwrap();
    tell(&book, 156, "turn piece=1 grain_c=14.4").unwrap();
    let floor = piece(&book, 1).floor.unwrap();
    let turns: Vec<_> = floor.turns.iter().map(|t| (t.at, t.how)).collect();
    assert_eq!(turns, [(at(156), Turning::Full), (at(162), Turning::Full)]);
    assert_eq!(floor.grain_c.iter().map(|r| r.value).collect::<Vec<_>>(), [14.4, 15.0, 14.5]);
}

#[test]
fn a_piece_whose_steeping_was_never_noted_is_a_piece_all_the_same() {
    let book = Book::in_memory().unwrap();
    let noted = tell(&book, 10, "lay piece=7 vessel=floor_2").unwrap();
    assert_eq!(noted.marks, ["no steep of piece 7 is noted before it"]);
    tell(&book, 18, "turn piece=7 grain_c=15").unwrap();
    let piece = piece(&book, 7);
    assert_eq!((piece.steep.at, piece.parts.len()), (at(10), 0));
    assert_eq!(piece.floor.unwrap().turns.len(), 1);
}

#[test]
fn what_stands_is_told_piece_by_piece() {
    let book = told();
    let pieces = |minutes| {
        let standing = book.standing(at(minutes)).unwrap();
        let malted: Vec<u32> = standing.malted.iter().map(|m| m.piece).collect();
        let firings: Vec<u32> = standing.firings.iter().map(|f| f.piece).collect();
        (malted, firings)
    };
    assert_eq!(pieces(120), (vec![1], vec![]));
    assert_eq!(pieces(320), (vec![1, 2], vec![1]));
    assert_eq!(pieces(420), (vec![2], vec![]));
    let steeped = &book.standing(at(130)).unwrap().steeps[0];
    assert_eq!((steeped.since, steeped.lot.as_str()), (at(100), "a"));
    assert!((steeped.dry_kg - 9_000.0 * 0.88).abs() < 1e-6);
}

#[test]
fn a_layer_knows_its_lots_by_share_what_was_found_and_whether_it_waits() {
    let book = told();
    let layer = |minutes| book.standing(at(minutes)).unwrap().bins[0].layers[0].clone();
    let fresh = layer(450);
    assert!(fresh.held && fresh.analysis.is_none());
    let shares: Vec<_> = fresh.parts.iter().map(|p| (p.lot.as_str(), p.share)).collect();
    assert_eq!(shares, [("a", 2.0 / 3.0), ("b", 1.0 / 3.0)]);
    assert!(layer(550).held);
    let released = layer(650);
    let found = released.analysis.unwrap();
    assert!(!released.held);
    // The second letter looked for the extract alone.
    assert_eq!((found.phenols_mg_kg_dry, found.extract_pct_dry), (Some(31.0), Some(79.4)));
    assert_eq!(found.method, "colour");
}

#[test]
fn a_lot_is_the_mean_of_its_lorries_and_held_until_a_test_releases_it() {
    let book = told();
    let lot = |minutes| book.standing(at(minutes)).unwrap().lots[0].clone();
    let before = lot(30);
    assert_eq!(before.held.as_deref(), Some("to_be_tested"));
    assert_eq!((before.silo.as_str(), before.since), ("silo_1", at(0)));
    assert!((before.nitrogen_pct_dry.unwrap() - 1.55).abs() < 1e-12);
    assert!((before.analysis.corn_weight_g.unwrap() - 45.0).abs() < 1e-12);
    assert_eq!(before.analysis.tested, Some(at(0)));
    let after = lot(70);
    assert_eq!(after.held, None);
    assert_eq!(after.analysis.germinative_energy_4ml_pct, Some(98.0));
    assert_eq!(after.analysis.germinative_energy_8ml_pct, Some(90.0));
    tell(
        &book,
        80,
        "germination lot=a germinative_energy_8ml_pct=64 release=no retest_days=10 \
                     reason=water-sensitive",
    )
    .unwrap();
    assert_eq!(lot(90).held.as_deref(), Some("water-sensitive; test again from 11 March"));
    assert_eq!(lot(90).analysis.germinative_energy_4ml_pct, Some(98.0));
}

/// 25 000 kg at 16.5 %: 4 125 kg of water with 20 875 kg of dry grain. A batch of 9 000 kg takes
/// 1 485 kg of water with it and brings back 8 500 kg with 1 020 kg.
#[test]
fn a_lot_dried_in_batches_has_the_moisture_of_its_heap() {
    let book = Book::in_memory().unwrap();
    tell(&book, 0, "intake lot=w barley=two_row kg=25000 moisture_wet=0.165").unwrap();
    let moisture = |book: &Book| {
        let standing = book.standing(Timestamp::MAX).unwrap();
        standing.lots[0].moisture_wet
    };
    assert!((moisture(&book) - 0.165).abs() < 1e-12);
    let batch = "dry lot=w hours=12 air_on_c=40 from_kg=9000 kg=8500 moisture_wet=0.12";
    tell(&book, 1, batch).unwrap();
    let (water, dry) = (4_125.0 - 1_485.0 + 1_020.0, 20_875.0 - 7_515.0 + 7_480.0);
    assert!((moisture(&book) - water / (water + dry)).abs() < 1e-12);
    // The whole of what is left, dried to the same.
    tell(&book, 2, "dry lot=w hours=20 air_on_c=40 kg=23600 moisture_wet=0.12").unwrap();
    assert!((moisture(&book) - 0.12).abs() < 1e-3);
}

/// A journal of the first shapes of these kinds, sealed as they were then.
#[test]
fn entries_of_the_first_shapes_still_tell_their_piece() {
    let part = |pairs: &[(&str, f64)], words: &[(&str, &str)]| {
        let figures = pairs.iter().map(|(k, v)| ((*k).to_owned(), Node::Number(*v)));
        let words = words.iter().map(|(k, v)| ((*k).to_owned(), Node::from(*v)));
        Node::Part(figures.chain(words).collect())
    };
    let grain = |account: &str, kg: f64| Posting {
        account: account.parse::<Account>().unwrap(),
        commodity: Commodity::DryGrain,
        amount: Amount::round(kg).unwrap(),
    };
    let moved = |from: &str, to: &str, kg: f64| vec![grain(from, -kg), grain(to, kg)];
    let old = [
        (
            "intake",
            part(
                &[("kg", 25_000.0), ("moisture_wet", 0.12)],
                &[("lot", "a"), ("barley", "two_row")],
            ),
            moved("outside/intake", "lot/a", 22_000.0),
        ),
        (
            "steep",
            part(
                &[("piece", 1.0), ("kg", 9_200.0), ("moisture_wet", 0.12)],
                &[("vessel", "steep_1"), ("lot", "a"), ("make", "pale")],
            ),
            moved("lot/a", "vessel/steep_1", 8_096.0),
        ),
        (
            "lay",
            part(&[("piece", 1.0)], &[("from", "steep_1"), ("vessel", "floor_1")]),
            moved("vessel/steep_1", "vessel/floor_1", 8_096.0),
        ),
        ("turn", part(&[("piece", 1.0), ("grain_c", 15.5)], &[("vessel", "floor_1")]), vec![]),
        (
            "load",
            part(&[("piece", 1.0)], &[("from", "floor_1"), ("vessel", "kiln")]),
            moved("vessel/floor_1", "vessel/kiln", 8_096.0),
        ),
        ("reading", part(&[("air_off_c", 31.0)], &[("vessel", "kiln")]), vec![]),
        (
            "strip",
            part(
                &[("piece", 1.0), ("kg", 7_600.0), ("moisture_wet", 0.045)],
                &[("from", "kiln"), ("vessel", "bin_1"), ("make", "pale")],
            ),
            vec![
                grain("vessel/kiln", -8_096.0),
                grain("vessel/bin_1", 7_258.0),
                grain("outside/malting_loss", 838.0),
            ],
        ),
    ];
    let (mut last, mut sealed) = (Last::NONE, Vec::new());
    for (hour, (kind, data, postings)) in (0..).zip(old) {
        let moment = minute(hour * 60);
        let heading = Heading {
            id: format!("old-{hour}"),
            happened_at: moment,
            noted_at: moment,
            writer: "hand".into(),
            role: Role::Hand,
        };
        let entry = Entry::new(heading, kind, 1, data).with(postings).balance().unwrap();
        let one = entry.seal(last);
        last = Last { serial: one.serial, hash: one.hash };
        sealed.push(one);
    }
    let disk = Disk::new();
    disk.tamper(|journal| *journal = sealed);
    let book = Book::over(Box::new(disk.open()), Derived::in_memory().unwrap()).unwrap();
    assert_eq!(book.verify().unwrap().broken, None);
    assert_eq!(book.questions(9).unwrap(), []);
    let piece = piece(&book, 1);
    let (floor, kiln) = (piece.floor.unwrap(), piece.kiln.unwrap());
    assert_eq!((floor.turns[0].how, floor.wet_cast), (Turning::Full, false));
    assert_eq!((floor.dry_kg, kiln.dry_kg, kiln.air_off_c[0].value), (8_096.0, 8_096.0, 31.0));
    assert_eq!((piece.stripped[0].kg, piece.stripped[0].phenols_mg_kg_dry), (7_600.0, 0.0));
    let standing = book.standing(Timestamp::MAX).unwrap();
    let layer = &standing.bins[0].layers[0];
    assert_eq!((layer.dry_kg, layer.held, layer.parts[0].share), (7_258.0, false, 1.0));
    let lot = &standing.lots[0];
    assert_eq!((lot.moisture_wet, lot.held.as_ref()), (0.12, None));
}
