//! One batch from barley to cask by entries alone: postings, standing, statement, correction.

// The helpers of a test may unwrap as the tests themselves do.
#![allow(clippy::unwrap_used)]

use book::{Account, Amount, Book, BookFault, Commodity, Moment, Noted, Noting, Role};
use jiff::Timestamp;

fn at(text: &str) -> Moment {
    format!("2026-03-{text}:00+00:00").parse().unwrap()
}

fn tell(book: &Book, when: &str, line: &str) -> Result<Noted, BookFault> {
    let mut words = line.split(' ');
    let kind = words.next().unwrap();
    let pairs = words.map(|w| w.split_once('=').unwrap());
    let noting = Noting::from_pairs(kind, pairs)?
        .id(format!("{when} {line}"))
        .at(at(when))
        .by("A. Hand", Role::Distiller);
    book.note(&noting)
}

fn held(book: &Book, account: &str, commodity: Commodity) -> f64 {
    let account: Account = account.parse().unwrap();
    book.balance(&account, commodity, Timestamp::MAX).unwrap().units()
}

const BATCH: &[(&str, &str)] = &[
    ("01T08:00", "intake lot=row_1 barley=two_row kg=25000 moisture_wet=0.12 nitrogen_pct_dry=1.5"),
    ("02T06:30", "steep piece=1 vessel=steep_1 lot=row_1 make=pale kg=9200"),
    ("04T06:30", "lay piece=1 vessel=floor_1"),
    ("04T14:30", "turn piece=1 grain_c=15.5"),
    ("12T06:30", "load piece=1 vessel=kiln"),
    ("12T09:30", "reading vessel=kiln air_off_c=31.5 expected.air_off_c=30.9"),
    ("13T16:30", "strip piece=1 vessel=bin_1 kg=7600 moisture_wet=0.045"),
    ("20T06:30", "draw mash=1 vessel=bin_1 kg=2500"),
    ("20T08:30", "mash mash=1 mash_c=64.2 water_l=10000"),
    (
        "20T16:30",
        "set mash=1 vessel=washback_1 bulk_l=12900 temperature_c=19 original_gravity=1.055",
    ),
    ("21T16:30", "reading vessel=washback_1 gravity=1.018 temperature_c=29.5"),
    ("24T04:30", "attenuate mash=1 final_gravity=0.998"),
    ("24T05:00", "charge run=1 from=washback_1 vessel=wash_still"),
    (
        "24T11:00",
        "run_off run=1 cut=low_wines vessel=low_wines_receiver bulk_l=4200 strength_pct=22",
    ),
    ("24T11:30", "discharge run=1 to=pot_ale bulk_l=8600 strength_pct=0.05"),
    (
        "24T12:00",
        "charge run=2 from=low_wines_receiver vessel=spirit_still_1 bulk_l=4000 strength_pct=22",
    ),
    ("24T17:00", "run_off run=2 cut=heart vessel=spirit_receiver bulk_l=900 strength_pct=68"),
    ("24T18:00", "run_off run=2 cut=feints vessel=feints_receiver_1 bulk_l=600 strength_pct=40"),
    ("24T18:30", "discharge run=2 to=spent_lees bulk_l=2500 strength_pct=0.1"),
    ("25T08:00", "receive from=spirit_receiver vessel=filling_vat bulk_l=899 strength_pct=68"),
    ("25T09:00", "reduce vessel=filling_vat water_kg=76 bulk_l=973.4 strength_pct=62.8"),
    (
        "26T09:00",
        "fill cask=2026-0001 cask_kind=barrel make=pale \
         from=filling_vat bulk_l=195 strength_pct=62.8",
    ),
    ("26T11:00", "place cask=2026-0001 warehouse=low_store stow=3-2"),
];

fn batch(upto: &str) -> Book {
    let book = Book::in_memory().unwrap();
    for (when, line) in BATCH.iter().filter(|(when, _)| *when <= upto) {
        let noted = tell(&book, when, line).unwrap_or_else(|e| panic!("{line}: {e}"));
        assert_eq!(noted.marks, Vec::<String>::new(), "{line}");
    }
    book
}

#[test]
fn a_batch_hangs_together_from_barley_to_cask() {
    let book = batch("31");
    // By hand: 25 000 kg less 9 200 kg, both at 12 %.
    assert!((held(&book, "lot/row_1", Commodity::DryGrain) - 15_800.0 * 0.88).abs() < 1e-6);
    // 7 600 kg less 2 500 kg of malt at 4.5 %.
    assert!((held(&book, "vessel/bin_1", Commodity::DryGrain) - 5_100.0 * 0.955).abs() < 1e-6);
    // What malting lost: 9 200 kg at 12 % less 7 600 kg at 4.5 %.
    let lost = 9_200.0 * 0.88 - 7_600.0 * 0.955;
    assert!((held(&book, "outside/malting_loss", Commodity::DryGrain) - lost).abs() < 1e-6);
    // 195 L at 62.8 % vol at 20 °C.
    assert!((held(&book, "cask/2026-0001", Commodity::PureAlcohol) - 122.46).abs() < 1e-6);
    // One litre at 68 % was missing from the receiver.
    assert!(
        (held(&book, "deficiency/spirit_receiver", Commodity::PureAlcohol) - 0.68).abs() < 1e-6
    );
    for commodity in Commodity::ALL {
        let all = book.holdings(Timestamp::MAX).unwrap();
        let sum: i64 =
            all.iter().filter(|h| h.commodity == commodity).map(|h| h.amount.micro()).sum();
        assert_eq!(sum, 0, "{commodity:?}");
    }
}

#[test]
fn standing_tells_what_lies_where_at_any_hour() {
    let book = batch("31");
    let standing = |when: &str| book.standing(at(when).timestamp()).unwrap();
    let steep = standing("03T00:00");
    assert_eq!((steep.steeps[0].piece, steep.steeps[0].make.as_str()), (1, "pale"));
    let floor = standing("05T00:00");
    assert!(floor.steeps.is_empty());
    assert_eq!(floor.floors[0].lot, "row_1");
    assert_eq!(floor.floors[0].turned, at("04T14:30").timestamp());
    assert_eq!(floor.floors[0].grain_c.unwrap().value, 15.5);
    let kiln = standing("12T12:00").kiln.unwrap();
    assert_eq!(kiln.air_off_c.len(), 1);
    let tun = standing("22T00:00");
    assert_eq!(tun.washbacks[0].gravity[0].value, 1.018);
    assert_eq!(tun.bins[0].layers.len(), 1);
    assert_eq!(standing("24T14:00").stills[0].run, 2);
    let end = standing("30T00:00");
    assert_eq!(end.casks.len(), 1);
    assert_eq!(end.casks[0].warehouse, "low_store");
    assert!(end.stills.is_empty() && end.washbacks.is_empty());
    let vat = end.receivers.iter().find(|r| r.vessel == "filling_vat").unwrap();
    // 973.4 L found at 62.8 %, of which 195 L went into the cask; the alcohol is the book's.
    assert!((vat.pure_alcohol_l - (899.0 * 0.68 - 122.46)).abs() < 1e-6);
    assert!((vat.volume_20_l - (973.4 - 195.0)).abs() < 0.5, "{}", vat.volume_20_l);
}

#[test]
fn a_statement_runs_in_the_order_things_happened() {
    let book = batch("31");
    let low_wines = Account::vessel("low_wines_receiver");
    let span = (at("24T00:00").timestamp(), at("25T00:00").timestamp());
    let statement = book.statement(&low_wines, Commodity::PureAlcohol, span).unwrap();
    assert_eq!(statement.opening, Amount::ZERO);
    assert_eq!(statement.receipts().units(), 924.0);
    assert_eq!(statement.issues().units(), 880.0);
    assert_eq!(statement.closing.units(), 44.0);
    assert_eq!(statement.movements[1].others, [Account::vessel("spirit_still_1")]);
}

#[test]
fn a_contra_and_the_right_entry_leave_every_other_balance_as_it_was() {
    let book = batch("26T09:00");
    let wrong = tell(
        &book,
        "26T09:10",
        "fill cask=2026-0020 cask_kind=barrel make=pale \
         from=filling_vat bulk_l=195 strength_pct=62.8",
    )
    .unwrap();
    let before = held(&book, "vessel/filling_vat", Commodity::PureAlcohol);
    let contra = format!("contra of={} reason=wrong_cask", wrong.serial);
    let contra = tell(&book, "27T09:00", &contra).unwrap();
    tell(
        &book,
        "27T09:01",
        "fill cask=2026-0002 cask_kind=barrel make=pale \
         from=filling_vat bulk_l=195 strength_pct=62.8",
    )
    .unwrap();
    assert_eq!(held(&book, "vessel/filling_vat", Commodity::PureAlcohol), before);
    assert_eq!(held(&book, "cask/2026-0020", Commodity::PureAlcohol), 0.0);
    let seen = book.entry(wrong.serial).unwrap().unwrap();
    assert_eq!(seen.contra_by, Some(contra.serial));
    // It stands on the day of what it reverses: that cask never held anything on any day.
    let noon = at("26T12:00").timestamp();
    let cask = Account::cask("2026-0020");
    assert_eq!(book.balance(&cask, Commodity::PureAlcohol, noon).unwrap(), Amount::ZERO);
    let casks = book.standing(Timestamp::MAX).unwrap().casks;
    assert_eq!(casks.len(), 2);
    let again = format!("contra of={} reason=x", wrong.serial);
    assert!(matches!(tell(&book, "28T09:00", &again), Err(BookFault::AlreadyReversed { .. })));
    let twice = format!("contra of={} reason=x", contra.serial);
    assert!(matches!(tell(&book, "28T09:01", &twice), Err(BookFault::ContraOfContra { .. })));
    let none = tell(&book, "28T09:02", "contra of=999 reason=x");
    assert!(matches!(none, Err(BookFault::NoSuchEntry { serial: 999 })));
}

#[test]
fn an_entry_whose_forerunner_is_missing_is_taken_and_asked_about_until_it_comes() {
    let book = Book::in_memory().unwrap();
    let turn = tell(&book, "05T03:00", "turn piece=4").unwrap();
    assert_eq!(turn.marks, ["no lay of piece 4 is noted before it"]);
    let over = "charge run=9 from=low_wines_receiver vessel=wash_still bulk_l=100 strength_pct=20";
    let over = tell(&book, "05T04:00", over).unwrap();
    assert_eq!(over.marks.len(), 1);
    assert_eq!(book.questions(10).unwrap().len(), 2);
    // The steep and the casting are noted in the morning, and one question is answered.
    let late = |line: &str, id: &str| {
        let mut words = line.split(' ');
        let kind = words.next().unwrap();
        Noting::from_pairs(kind, words.map(|w| w.split_once('=').unwrap()))
            .unwrap()
            .id(id)
            .noted(at("05T08:00"))
            .by("B. Hand", Role::Hand)
    };
    let steep = late("steep piece=4 vessel=steep_2 lot=row_9 make=pale kg=9200", "l1");
    book.note(&steep.at(at("02T06:00"))).unwrap();
    let lay = late("lay piece=4 vessel=floor_2", "l2").at(at("04T06:00"));
    assert_eq!(book.note(&lay).unwrap().marks, Vec::<String>::new());
    let left = book.questions(10).unwrap();
    assert!(left.iter().all(|q| q.serial != turn.serial), "{left:?}");
    assert!(left.iter().any(|q| q.serial == over.serial), "{left:?}");
}

#[test]
fn what_cannot_be_true_of_itself_is_refused_with_its_range() {
    let book = batch("20T08:30");
    let say = |line: &str| tell(&book, "20T16:30", line).unwrap_err().to_string();
    assert_eq!(
        say("set mash=1 vessel=washback_1 bulk_l=12900 temperature_c=95 original_gravity=1.055"),
        "temperature_c is 95 °C; allowed \u{2212}20 to 40 °C"
    );
    assert_eq!(
        say("set mash=1.5 vessel=washback_1 bulk_l=x temperature_c=19 original_gravity=1.055"),
        "mash is \"1.5\"; allowed a whole number\nbulk_l is \"x\"; a figure in L is wanted"
    );
    assert_eq!(
        say("attenuate mash=1 bulk_l=12900 original_gravity=1.05 final_gravity=1.06"),
        "final_gravity is 1.06; at most 1.05, the original gravity"
    );
    assert_eq!(
        say("reading vessel=washback_1 gravty=1.01"),
        "vessel is missing; at least one figure read off it is wanted\n\
         nothing reads gravty; is it gravity?"
    );
    let early = Noting::from_pairs("turn", [("piece", "1")])
        .unwrap()
        .id("e")
        .at(at("20T10:00"))
        .noted(at("20T09:00"))
        .by("A. Hand", Role::Hand);
    assert!(matches!(book.note(&early), Err(BookFault::BeforeItHappened { .. })));
    let auditor = Noting::from_pairs("turn", [("piece", "1")])
        .unwrap()
        .id("f")
        .at(at("20T10:00"))
        .by("C. Clerk", Role::Auditor);
    assert!(matches!(book.note(&auditor), Err(BookFault::NotYours { .. })));
}

#[test]
fn a_thing_sent_twice_is_one_entry() {
    let book = batch("24T05:00");
    let before = book.last();
    let digest = book.digest().unwrap();
    for (when, line) in BATCH.iter().filter(|(when, _)| *when <= "24T05:00") {
        assert!(tell(&book, when, line).unwrap().again, "{line}");
    }
    assert_eq!((book.last(), book.digest().unwrap()), (before, digest));
}

#[test]
fn a_rebuild_gives_the_same_digest() {
    let book = batch("31");
    let rebuilt = book.rebuild().unwrap();
    assert_eq!(rebuilt.before, rebuilt.after);
    assert_eq!(rebuilt.entries, BATCH.len() as u64);
    assert_eq!(book.verify().unwrap().broken, None);
}
