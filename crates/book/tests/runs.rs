//! Runs of stills: what is told of them comes back as it was noted, in the order of time, with
//! what was reversed left out; and what was charged is what was found, to the millionth.

// The helpers of a test may unwrap as the tests themselves do.
#![allow(clippy::unwrap_used)]

mod common;

use book::{Account, Book, BookFault, Commodity, Noted, Noting, Role};
use common::minute;
use house::Ran;
use jiff::Timestamp;
use proptest::prelude::*;

fn noting(line: &str, at: i64) -> Noting {
    let mut words = line.split_whitespace();
    let kind = words.next().unwrap();
    Noting::from_pairs(kind, words.map(|w| w.split_once('=').unwrap()))
        .unwrap()
        .id(format!("{at} {line}"))
        .at(minute(at))
        .noted(minute(9_999))
        .by("B. Holt", Role::Distiller)
}

fn tell(book: &Book, at: i64, line: &str) -> Result<Noted, BookFault> {
    book.note(&noting(line, at))
}

fn says(book: &Book, line: &str) -> String {
    tell(book, 5, line).unwrap_err().to_string()
}

/// A wash run, and a spirit run of its low wines with some feints of before.
const TOLD: &[(i64, &str)] = &[
    (0, "opening account=vessel/feints_receiver_1 family=pale bulk_l=1500 strength_pct=30"),
    (1, "opening account=vessel/bin_1 make=pale kg=5000 moisture_wet=0.045"),
    (2, "draw mash=1 vessel=bin_1 kg=2500"),
    (3, "mash mash=1 mash_c=64.2"),
    (
        10,
        "set mash=1 make=pale vessel=washback_1 bulk_l=12900 temperature_c=19 \
         original_gravity=1.055",
    ),
    (4_900, "attenuate mash=1 final_gravity=0.998"),
    (5_000, "charge run=1 from=washback_1 vessel=wash_still"),
    (5_120, "reading vessel=wash_still reading_pct=46.2 temperature_c=15.5 head_c=92.5"),
    (
        5_400,
        "run_off run=1 cut=low_wines vessel=low_wines_receiver bulk_l=4700 temperature_c=17 \
         strength_pct=20.5",
    ),
    (5_420, "discharge run=1 to=pot_ale bulk_l=8200 strength_pct=0.08"),
    (
        5_500,
        "charge run=2 from=low_wines_receiver vessel=spirit_still_1 make=pale bulk_l=3700 \
         strength_pct=20.5",
    ),
    (
        5_510,
        "charge run=2 from=feints_receiver_1 vessel=spirit_still_1 make=pale bulk_l=1400 \
         strength_pct=30",
    ),
    (5_560, "reading vessel=spirit_still_1 reading_pct=76.4 temperature_c=14 flow_l_min=9.5"),
    (5_565, "run_off run=2 cut=foreshots vessel=feints_receiver_1 bulk_l=90 strength_pct=75"),
    (
        5_640,
        "reading vessel=spirit_still_1 strength_pct=70.1 head_c=84.1 water_off_c=58 flow_l_min=9",
    ),
    (
        5_700,
        "run_off run=2 cut=heart vessel=spirit_receiver bulk_l=880 strength_pct=69.5 \
         transition=yes",
    ),
    (5_810, "run_off run=2 cut=feints vessel=feints_receiver_1 bulk_l=1400 strength_pct=31"),
    (5_830, "discharge run=2 to=spent_lees bulk_l=2700 strength_pct=0.1"),
    (5_840, "reading vessel=spirit_still_1 temperature_c=40"),
    (5_900, "nose run=2 marks.fruity=3.5 marks.feinty=1 remark=clean by=distiller"),
    (6_000, "nose run=2 cut=feints marks.sulphury=2"),
    (7_000, "analyse run=2 of=heart found_mg_l.phenols=1.5 found_mg_l.3_methyl_1_butanol=900"),
];

fn told() -> Book {
    let book = Book::in_memory().unwrap();
    for (at, line) in TOLD {
        assert_eq!(tell(&book, *at, line).unwrap().marks, Vec::<String>::new(), "{line}");
    }
    book
}

fn all(book: &Book) -> Vec<Ran> {
    book.runs(Timestamp::MIN, Timestamp::MAX, 99).unwrap()
}

#[test]
fn runs_are_what_was_noted_newest_first() {
    let book = told();
    let runs = all(&book);
    assert_eq!(runs.iter().map(|r| r.run).collect::<Vec<_>>(), [2, 1]);
    let (spirit, wash) = (&runs[0], &runs[1]);
    assert_eq!((wash.still.as_str(), wash.make.as_str()), ("wash_still", "pale"));
    // 4 990 minutes from setting to charging.
    assert!((wash.ferment_h.unwrap() - 4_990.0 / 60.0).abs() < 1e-9);
    // The washback was charged whole: its litres are those of the tun room.
    assert_eq!(wash.charged[0].volume_20_l, Some(12_900.0));
    assert!(wash.charged[0].strength_pct.unwrap() > 7.0);
    assert!((spirit.charged_l() - (3700.0 * 0.205 + 1400.0 * 0.3)).abs() < 1e-9);
    assert_eq!(spirit.charged_at, minute(5_500).timestamp());
    assert_eq!((spirit.ferment_h, spirit.transition, wash.transition), (None, true, false));
    let cuts: Vec<&str> = spirit.cuts.iter().map(|c| c.cut.as_str()).collect();
    assert_eq!(cuts, ["foreshots", "heart", "feints"]);
    assert_eq!(spirit.cut("heart").unwrap().pure_alcohol_l, 611.6);
    assert_eq!(spirit.left.as_ref().unwrap().pure_alcohol_l, 2.7);
    // What is read after the still was emptied is of no run.
    assert_eq!(spirit.readings.len(), 2);
    assert_eq!(spirit.readings[1].water_off_c, Some(58.0));
    assert_eq!(spirit.strengths()[1].value, 70.1);
    assert_eq!(spirit.nosings.len(), 2);
    assert_eq!(spirit.nosings[0].by, "distiller");
    assert_eq!(spirit.nosings[0].marks, [("fruity".into(), 3.5), ("feinty".into(), 1.0)]);
    assert_eq!(
        (spirit.nosings[1].by.as_str(), spirit.nosings[1].cut.as_str()),
        ("B. Holt", "feints")
    );
    assert_eq!(spirit.analyses[0].found_mg_l[1], ("3_methyl_1_butanol".into(), 900.0));
}

#[test]
fn a_run_is_asked_as_far_as_it_had_come() {
    let book = told();
    let at = |minutes| book.run(2, minute(minutes).timestamp()).unwrap();
    assert_eq!(at(5_499), None);
    let heart = at(5_650).unwrap();
    assert_eq!((heart.cuts.len(), heart.readings.len(), heart.ended()), (1, 2, false));
    assert!(at(5_830).unwrap().ended());
    assert_eq!(book.run(7, Timestamp::MAX).unwrap(), None);
    let latest = book.runs(Timestamp::MIN, Timestamp::MAX, 1).unwrap();
    assert_eq!(latest.len(), 1);
    let until = minute(5_450).timestamp();
    assert_eq!(book.runs(Timestamp::MIN, until, 9).unwrap()[0].run, 1);
    assert!(book.runs(minute(5_501).timestamp(), Timestamp::MAX, 9).unwrap().is_empty());
}

/// 60 % vol shown at 10 °C is 63.42 % vol at 20 °C (the formula of OIML R 22 with glass of
/// 25e-6 per K, as `gauge` is checked against printed tables of readings).
#[test]
fn a_hydrometer_read_cold_is_brought_to_20_degrees_and_kept() {
    let book = Book::in_memory().unwrap();
    let noted = tell(&book, 1, "reading vessel=s reading_pct=60 temperature_c=10").unwrap();
    let data = book.entry(noted.serial).unwrap().unwrap().data;
    let kept = data.get("strength_pct").and_then(gauge::Node::number).unwrap();
    assert!((kept - 63.4227).abs() < 1e-3, "{kept}");
    assert_eq!(data.get("reading_pct").and_then(gauge::Node::number), Some(60.0));
    // Noted beside it and the same by a printed table: it stands as it was written.
    let both = "reading vessel=s reading_pct=60 temperature_c=10 strength_pct=63.5";
    let both = tell(&book, 2, both).unwrap();
    let data = book.entry(both.serial).unwrap().unwrap().data;
    assert_eq!(data.get("strength_pct").and_then(gauge::Node::number), Some(63.5));
    // Without a temperature nothing can be reckoned; what was read is kept all the same.
    tell(&book, 3, "reading vessel=s reading_pct=60").unwrap();
    assert_eq!(
        says(&book, "reading vessel=s reading_pct=60 temperature_c=10 strength_pct=60"),
        "strength_pct is 60 % vol; at least 63.42 % vol, \
         what reading_pct 60 at temperature_c 10 gives"
    );
    let hot = says(&book, "reading vessel=s reading_pct=60 temperature_c=80");
    assert!(hot.starts_with("temperature_c is 80 °C"), "{hot}");
    let none = says(&book, "reading vessel=s reading_pct=0 temperature_c=-15");
    assert!(none.starts_with("reading_pct is 0 % vol"), "{none}");
}

#[test]
fn what_cannot_be_is_refused_for_each_kind() {
    let book = told();
    let range = |key: &str, unit: &str, low: &str, high: &str| {
        format!("{key}; allowed {low} to {high}{unit}")
    };
    for (line, says_) in [
        ("nose run=2 marks.fruity=6", range("marks.fruity is 6", "", "0", "5")),
        ("nose run=2 marks.fruity=NaN", range("marks.fruity is not a number", "", "0", "5")),
        (
            "nose run=2",
            "marks is missing; a mark for at least one word, or a remark is wanted".into(),
        ),
        (
            "analyse run=2 found_mg_l.phenol=-1",
            range("found_mg_l.phenol is \u{2212}1 mg/L", " mg/L", "0", "1000000"),
        ),
        (
            "analyse run=2",
            "found_mg_l is missing; at least one congener with its mg/L is wanted".into(),
        ),
        (
            "cuts make=pale heart_from_min=12 heart_to_pct=101",
            range("heart_to_pct is 101 % vol", " % vol", "1", "94"),
        ),
        (
            "cuts make=pale heart_from_min=NaN heart_to_pct=60",
            range("heart_from_min is not a number min", " min", "0", "600"),
        ),
        (
            "reading vessel=s flow_l_min=-1",
            range("flow_l_min is \u{2212}1 L/min", " L/min", "0", "1000"),
        ),
        (
            "reading vessel=s water_off_c=NaN",
            range("water_off_c is not a number °C", " °C", "\u{2212}5", "110"),
        ),
    ] {
        assert_eq!(says(&book, line), says_, "{line}");
    }
    assert!(says(&book, "nose run=1.5 marks.fruity=1").contains("a whole number"));
    assert!(says(&book, "nose run=2 cut=middling marks.fruity=1").contains("cut is"));
    assert!(
        says(&book, "cuts make= heart_from_min=12 heart_to_pct=60").contains("make is missing")
    );
    // A hand noses; cuts are the distiller's.
    let by = |line: &str, role| book.check(&noting(line, 5).by("A. Hand", role));
    assert_eq!(by("nose run=2 marks.fruity=1", Role::Hand), Ok(()));
    let cuts = "cuts make=pale heart_from_min=12 heart_to_pct=60";
    assert!(matches!(by(cuts, Role::Hand), Err(BookFault::NotYours { .. })));
    assert_eq!(by(cuts, Role::Distiller), Ok(()));
}

#[test]
fn a_contra_takes_a_nosing_a_cut_and_a_decision_back() {
    let book = told();
    let nosed = book.entries_after(0, 99).unwrap();
    let serial = |kind: &str| nosed.iter().find(|e| e.kind == kind).unwrap().serial;
    tell(&book, 100, "cuts make=pale heart_from_min=12 heart_to_pct=65").unwrap();
    let wrong = tell(&book, 200, "cuts make=pale heart_from_min=12 heart_to_pct=56").unwrap();
    tell(&book, 300, "cuts make=ember heart_from_min=20 heart_to_pct=59").unwrap();
    let kept = |at: i64| book.standing(minute(at).timestamp()).unwrap().cuts;
    assert_eq!(kept(400).len(), 2);
    assert_eq!((kept(150)[0].heart_to_pct, kept(250)[0].heart_to_pct), (65.0, 56.0));
    let before = all(&book);
    for serial in [wrong.serial, serial("nose"), serial("analyse"), serial("run_off")] {
        tell(&book, 9_000, &format!("contra of={serial} reason=wrong")).unwrap();
    }
    assert_eq!(kept(250)[0].heart_to_pct, 65.0);
    let after = all(&book);
    assert_eq!(after[0].nosings.len(), before[0].nosings.len() - 1);
    assert!(after[0].analyses.is_empty());
    assert_eq!(after[1].cuts.len(), 0);
    let rebuilt = book.rebuild().unwrap();
    assert_eq!(rebuilt.before, rebuilt.after);
    assert_eq!(all(&book), after);
}

#[test]
fn a_note_sent_twice_is_one() {
    let book = told();
    let before = (book.last(), book.digest().unwrap(), all(&book));
    for (at, line) in TOLD {
        assert!(tell(&book, *at, line).unwrap().again, "{line}");
    }
    assert_eq!((book.last(), book.digest().unwrap(), all(&book)), before);
}

/// Charged and found more is collected and left, to the millionth, whatever was measured.
fn balances(book: &Book) {
    let micro = |litres: f64| (litres * 1e6).round() as i64;
    let mut in_stills = 0;
    for ran in all(book) {
        let found: i64 = ran.cuts.iter().map(|c| micro(c.pure_alcohol_l)).sum::<i64>()
            + ran.left.as_ref().map_or(0, |left| micro(left.pure_alcohol_l));
        let charged: i64 = ran.charged.iter().map(|part| micro(part.pure_alcohol_l)).sum();
        let open = charged + micro(ran.difference_l) - found;
        assert!(open == 0 || !ran.ended(), "run {} leaves {open}", ran.run);
        in_stills += open;
    }
    let held = ["wash_still", "spirit_still_1"].map(|still| {
        let still = Account::vessel(still);
        book.balance(&still, Commodity::PureAlcohol, Timestamp::MAX).unwrap().micro()
    });
    assert_eq!(in_stills, held.iter().sum::<i64>());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn every_run_balances_at_every_hour(
        measured in (2000..5000_i64, 10..90_i64, 500..2500_i64, 20..40_i64, 0..400_i64),
        upto in 7..TOLD.len(),
    ) {
        let (litres, foreshots, heart, strength, lees) = measured;
        let book = Book::in_memory().unwrap();
        for (place, (at, line)) in TOLD.iter().enumerate().take(upto) {
            let line = line
                .replace("bulk_l=4700", &format!("bulk_l={litres}"))
                .replace("bulk_l=90 ", &format!("bulk_l={foreshots} "))
                .replace("bulk_l=880", &format!("bulk_l={heart}"))
                .replace("strength_pct=31", &format!("strength_pct={strength}"))
                .replace("bulk_l=2700", &format!("bulk_l={lees}"));
            tell(&book, *at, &line).unwrap();
            if place > 6 {
                balances(&book);
            }
        }
    }

    /// What is measured in full says the same in whatever order it is noted. (The discharge posts
    /// what the book holds at the time of noting, so it and the cuts keep their order.)
    #[test]
    fn late_notes_fall_into_their_place(shuffle in prop::collection::vec(0..1000_usize, 32)) {
        let (late, post): (Vec<&(i64, &str)>, Vec<_>) = TOLD.iter().partition(|(_, line)| {
            ["reading", "nose", "analyse"].iter().any(|kind| line.starts_with(kind))
        });
        let plain = told();
        let mut order: Vec<usize> = (0..late.len()).collect();
        order.sort_by_key(|&k| (shuffle[k], k));
        let book = Book::in_memory().unwrap();
        // Some before what they belong to, some after.
        let first = shuffle[31] % (late.len() + 1);
        for &k in &order[..first] {
            tell(&book, late[k].0, late[k].1).unwrap();
        }
        for (at, line) in post {
            tell(&book, *at, line).unwrap();
        }
        for &k in &order[first..] {
            tell(&book, late[k].0, late[k].1).unwrap();
        }
        prop_assert_eq!(all(&book), all(&plain));
        prop_assert!(book.questions(99).unwrap().is_empty());
    }
}

#[test]
fn a_remnant_stays_on_the_account_and_opens_the_next() {
    let book = told();
    let of = |account: &str| {
        let account: Account = account.parse().unwrap();
        book.balance(&account, Commodity::PureAlcohol, Timestamp::MAX).unwrap().units()
    };
    // 880 L at 69.5 % collected; 850 L pumped to the vat, 25 L stay, so 5 L are missing.
    let line = "receive from=spirit_receiver vessel=filling_vat bulk_l=850 strength_pct=69.5 \
                remnant_bulk_l=25";
    tell(&book, 6_000, line).unwrap();
    assert!((of("vessel/filling_vat") - 590.75).abs() < 1e-6);
    assert!((of("vessel/spirit_receiver") - 17.375).abs() < 1e-6);
    assert!((of("deficiency/spirit_receiver") - 3.475).abs() < 1e-6);
    let receivers = book.standing(Timestamp::MAX).unwrap().receivers;
    let remnant = receivers.iter().find(|r| r.vessel == "spirit_receiver").unwrap();
    assert!((remnant.volume_20_l - 25.0).abs() < 1e-6, "{remnant:?}");
    // Emptied with nothing left behind, the receiver gives its remnant up.
    let rest = "receive from=spirit_receiver vessel=filling_vat bulk_l=25 strength_pct=69.5";
    tell(&book, 6_100, rest).unwrap();
    assert!(of("vessel/spirit_receiver").abs() < 1e-9);
    assert!(book.questions(9).unwrap().is_empty());
    // A measure of more than there was is an increase, remnant and all.
    let more = "discharge run=2 to=spent_lees bulk_l=10 strength_pct=1 remnant_bulk_l=20";
    tell(&book, 6_200, more).unwrap();
    assert!((of("vessel/spirit_still_1") - 0.2).abs() < 1e-9);
    let asked = says(&book, "receive from=a vessel=b bulk_l=1 strength_pct=60 remnant_bulk_l=-1");
    assert!(asked.starts_with("remnant_bulk_l is"), "{asked}");
}

/// Low wines and feints through many fills and draws: litres and strength are those of alcohol and
/// water that flowed together (reckoned here by mass, apart from the book).
#[test]
fn litres_and_strength_of_a_receiver_hold_after_many_fills_and_draws() {
    use gauge::alcoholometry::kernel::{ETHANOL_KG_M3, density_kg_m3, mass_fraction_of_strength};
    let book = Book::in_memory().unwrap();
    let (mut ethanol_kg, mut mass_kg) = (0.0_f64, 0.0_f64);
    for place in 0..60_i64 {
        let strength = [75.0, 30.0, 22.0][(place % 3) as usize];
        let p = mass_fraction_of_strength(strength);
        let kg = 0.3 * density_kg_m3(p, 20.0);
        (ethanol_kg, mass_kg) = (ethanol_kg + kg * p, mass_kg + kg);
        let fill = format!("opening account=vessel/f bulk_l=300 strength_pct={strength}");
        tell(&book, 10 * place, &fill).unwrap();
        // Two thirds of it are charged at the strength it has.
        let litres = 1000.0 * mass_kg / density_kg_m3(ethanol_kg / mass_kg, 20.0);
        let pct = 1e5 * ethanol_kg / ETHANOL_KG_M3 / litres;
        let draw = format!("pump from=f vessel=g bulk_l={} strength_pct={pct}", litres * 0.667);
        tell(&book, 10 * place + 5, &draw).unwrap();
        (ethanol_kg, mass_kg) = (ethanol_kg * 0.333, mass_kg * 0.333);
    }
    let litres = 1000.0 * mass_kg / density_kg_m3(ethanol_kg / mass_kg, 20.0);
    let receivers = book.standing(Timestamp::MAX).unwrap().receivers;
    let held = receivers.iter().find(|r| r.vessel == "f").unwrap();
    assert!((held.volume_20_l - litres).abs() < 1e-3, "{} for {litres}", held.volume_20_l);
    let pct = 1e5 * ethanol_kg / ETHANOL_KG_M3 / litres;
    assert!((held.strength_pct - pct).abs() < 1e-4, "{} for {pct}", held.strength_pct);
}
