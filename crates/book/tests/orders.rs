//! Random sequences of entries: the order in which they are noted does not matter where it should
//! not, and what is derived is what a naive recount gives.

// The helpers of a test may unwrap as the tests themselves do.
#![allow(clippy::unwrap_used)]

mod common;

use book::{Account, Book, Commodity, Noting, Role};
use common::minute;
use proptest::prelude::*;
use std::collections::BTreeMap;

/// One thing that tells its own amounts, so that it means the same whenever it is noted.
fn told() -> impl Strategy<Value = (String, i64)> {
    let line = prop_oneof![
        (1..3, 1..30_000).prop_map(|(lot, kg)| format!(
            "intake lot=row_{lot} barley=two_row kg={kg} moisture_wet=0.12"
        )),
        (1..5, 1..3, 1..3, 1..9_000).prop_map(|(piece, steep, lot, kg)| format!(
            "steep piece={piece} vessel=steep_{steep} lot=row_{lot} make=pale kg={kg} \
             moisture_wet=0.13"
        )),
        (1..5, 1..3).prop_map(|(piece, floor)| format!("turn piece={piece} vessel=floor_{floor}")),
        (1..3, 10..40).prop_map(|(v, c)| format!("reading vessel=steep_{v} temperature_c={c}")),
        (1..9, 1..3000, 0..90).prop_map(|(run, l, s)| format!(
            "run_off run={run} cut=heart from=still vessel=receiver bulk_l={l} strength_pct={s}"
        )),
        (1..6, 50..300).prop_map(|(cask, l)| format!(
            "fill cask=c{cask} cask_kind=barrel make=pale from=vat bulk_l={l} strength_pct=62.8"
        )),
        (1..6, 1..3).prop_map(|(cask, w)| format!("place cask=c{cask} warehouse=store_{w}")),
    ];
    (line, 0..5_000_i64)
}

fn noting(line: &str, at: i64, id: usize) -> Noting {
    let mut words = line.split_whitespace();
    let kind = words.next().unwrap();
    Noting::from_pairs(kind, words.map(|w| w.split_once('=').unwrap()))
        .unwrap()
        .id(format!("{id}"))
        .at(minute(at))
        .noted(minute(10_000))
        .by("A. Hand", Role::Distiller)
}

fn book_of(told: &[(String, i64)], order: &[usize]) -> Book {
    let book = Book::in_memory().unwrap();
    let notings: Vec<Noting> = order.iter().map(|&k| noting(&told[k].0, told[k].1, k)).collect();
    book.note_all(&notings).unwrap();
    book
}

/// Two that happen to one vessel in the same minute have no order but that of noting.
fn at_times_of_their_own(mut told: Vec<(String, i64)>) -> Vec<(String, i64)> {
    for (k, one) in told.iter_mut().enumerate() {
        one.1 = one.1 * 100 % 5_000 + i64::try_from(k).unwrap();
    }
    told
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn the_order_of_noting_does_not_matter(
        told in prop::collection::vec(told(), 1..40).prop_map(at_times_of_their_own),
        shuffle in prop::collection::vec(0..1000_usize, 40),
    ) {
        let plain: Vec<usize> = (0..told.len()).collect();
        let mut mixed = plain.clone();
        mixed.sort_by_key(|&k| (shuffle[k], k));
        let (one, two) = (book_of(&told, &plain), book_of(&told, &mixed));
        for at in [1_000, 2_500, 6_000] {
            let at = minute(at).timestamp();
            prop_assert_eq!(one.holdings(at).unwrap(), two.holdings(at).unwrap());
            // By its text: a figure that is unknown is not a number, and not equal to itself.
            let (a, b) = (one.standing(at).unwrap(), two.standing(at).unwrap());
            prop_assert_eq!(format!("{a:?}"), format!("{b:?}"));
        }
        let asked = |book: &Book| {
            let mut asked: Vec<String> =
                book.questions(99).unwrap().into_iter().map(|q| q.says).collect();
            asked.sort();
            asked
        };
        prop_assert_eq!(asked(&one), asked(&two));
    }

    #[test]
    fn what_is_derived_is_what_a_recount_gives(
        told in prop::collection::vec(told(), 1..40),
        wrong in prop::collection::vec(any::<prop::sample::Index>(), 0..6),
        until in 0..6_000_i64,
    ) {
        let plain: Vec<usize> = (0..told.len()).collect();
        let book = book_of(&told, &plain);
        for (k, index) in wrong.iter().enumerate() {
            let of = index.index(told.len()) + 1;
            // One that is reversed already is refused; that is as it should be.
            let _ = book.note(&noting(&format!("contra of={of} reason=test"), 9_000, 1000 + k));
        }
        let until = minute(until).timestamp();
        let mut recount: BTreeMap<(Account, Commodity), i128> = BTreeMap::new();
        for entry in book.entries_after(0, 9_999).unwrap() {
            let mut sums: BTreeMap<Commodity, i128> = BTreeMap::new();
            for posting in entry.postings {
                let micro = i128::from(posting.amount.micro());
                *sums.entry(posting.commodity).or_default() += micro;
                if entry.heading.happened_at.timestamp() <= until {
                    let key = (posting.account, posting.commodity);
                    *recount.entry(key).or_default() += micro;
                }
            }
            prop_assert!(sums.values().all(|s| *s == 0), "entry {} is open", entry.serial);
        }
        recount.retain(|_, micro| *micro != 0);
        let derived: BTreeMap<(Account, Commodity), i128> = book
            .holdings(until)
            .unwrap()
            .into_iter()
            .map(|h| ((h.account, h.commodity), i128::from(h.amount.micro())))
            .collect();
        prop_assert_eq!(derived, recount);
        let rebuilt = book.rebuild().unwrap();
        prop_assert_eq!(rebuilt.before, rebuilt.after);
    }
}
